"""Typed look-ups in one table of a TOML file; what nobody asked for is refused by name."""

from __future__ import annotations

import datetime as dt
import difflib
import math
from collections.abc import Collection
from typing import Any

from reef_calc.errors import InputError


class Keys:
    """One TOML table, read key by key, that remembers which keys were asked for.

    Parameters
    ----------
    table : object
        What ``tomllib`` gave; anything but a table is refused.
    where : str
        File and table, such as ``kits.toml, kit.drops``, for the messages.

    Raises
    ------
    InputError
        If ``table`` is not a table. Each look-up raises it for a value of the wrong kind.

    Examples
    --------
    >>> keys = Keys({"net_L": 300.0}, "tank.toml, water 1")
    >>> keys.number("net_L", above=0.0)
    300.0
    >>> keys.finish()
    """

    def __init__(self, table: object, where: str) -> None:
        if not isinstance(table, dict):
            raise InputError("a table of keys", table, "Write the keys below a [name] line.", where)
        self._table: dict[str, Any] = table
        self._asked: set[str] = set()
        self.where = where

    def __contains__(self, key: str) -> bool:
        return key in self._table

    def value(self, key: str) -> Any:
        """Return the value of a key as TOML gave it, or None when it is not there.

        Parameters
        ----------
        key : str
            Name of the key.

        Returns
        -------
        Any
            The value.
        """
        self._asked.add(key)
        return self._table.get(key)

    def refuse(self, key: str, needed: str, repair: str) -> InputError:
        """Return (not raise) the error for one key, naming file, table, key and text.

        Parameters
        ----------
        key : str
            Name of the key.
        needed, repair : str
            What would have been right, and what to do.

        Returns
        -------
        InputError
            Ready to raise.
        """
        given = self._table.get(key, "nothing")
        return InputError(needed, given, repair, f"{self.where}, {key}")

    def needed(self, key: str) -> None:
        """Refuse the table if a key is missing.

        Parameters
        ----------
        key : str
            Name of the key.

        Raises
        ------
        InputError
            If it is missing.
        """
        if key not in self._table:
            raise self.refuse(key, f"the key {key}", f"Add a line “{key} = …”.")

    def number(
        self, key: str, *, above: float = -math.inf, at_least: float = -math.inf
    ) -> float | None:
        """Return a finite number, or None when the key is not there.

        Parameters
        ----------
        key : str
            Name of the key.
        above, at_least : float, optional
            Bounds in the key's own unit: larger than the first, not smaller than the second.

        Returns
        -------
        float or None
            The number in the key's own unit.

        Raises
        ------
        InputError
            If it is not a number within the bounds; a number in quotes is text.
        """
        given = self.value(key)
        if given is None:
            return None
        if isinstance(given, bool) or not isinstance(given, int | float):
            raise self.refuse(key, "a number", "Write it with a decimal point, without quotes.")
        try:
            number = float(given)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise self.refuse(key, "a finite number", "Leave the line out if it is not known.")
        if number <= above:
            raise self.refuse(key, f"a number above {above:g}", "Check the number.")
        if number < at_least:
            raise self.refuse(key, f"a number of {at_least:g} or more", "Check the number.")
        return number

    def text(self, key: str, default: str = "") -> str:
        """Return a text without spaces at its ends.

        Parameters
        ----------
        key : str
            Name of the key.
        default : str, optional
            Returned when the key is not there.

        Returns
        -------
        str
            The text.

        Raises
        ------
        InputError
            If the value is not text.
        """
        given = self.value(key)
        if given is None:
            return default
        if not isinstance(given, str):
            raise self.refuse(key, "a text in quotes", "Put it in quotes.")
        return given.strip()

    def choice(self, key: str, choices: Collection[str], default: str = "") -> str:
        """Return a word of a closed list.

        Parameters
        ----------
        key : str
            Name of the key.
        choices : collection of str
            The words.
        default : str, optional
            Returned when the key is not there.

        Returns
        -------
        str
            The word.

        Raises
        ------
        InputError
            If it is another word.
        """
        given = self.text(key, default)
        if given not in choices and (given != default or key in self._table):
            raise self.refuse(key, "one of: " + ", ".join(choices), "Write one of these.")
        return given

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of texts, empty when the key is not there.

        Parameters
        ----------
        key : str
            Name of the key.

        Returns
        -------
        tuple of str
            The texts.

        Raises
        ------
        InputError
            If it is not a list of texts.
        """
        given = self.value(key)
        if given is None:
            return ()
        if not isinstance(given, list) or not all(isinstance(item, str) for item in given):
            raise self.refuse(key, "a list of texts", 'Write it as ["one", "two"].')
        return tuple(given)

    def day(self, key: str) -> dt.date | None:
        """Return a date, or None when the key is not there.

        Parameters
        ----------
        key : str
            Name of the key.

        Returns
        -------
        datetime.date or None
            The day; a quoted ISO date is read too.

        Raises
        ------
        InputError
            If it is not a day without a time.
        """
        given = self.value(key)
        if given is None:
            return None
        if isinstance(given, str):
            try:
                given = dt.date.fromisoformat(given) if len(given) == 10 else None
            except ValueError:
                given = None
        if isinstance(given, dt.datetime) or not isinstance(given, dt.date):
            raise self.refuse(key, "a date", "Write it as 2026-02-13, without a time.")
        return given

    def table(self, key: str) -> Keys | None:
        """Return the table below a key, or None when the key is not there.

        Parameters
        ----------
        key : str
            Name of the key.

        Returns
        -------
        Keys or None
            The table.

        Raises
        ------
        InputError
            If it is not a table.
        """
        given = self.value(key)
        return None if given is None else Keys(given, f"{self.where}, {key}")

    def tables(self, key: str) -> list[Keys]:
        """Return the tables of a ``[[list]]``, empty when the key is not there.

        Parameters
        ----------
        key : str
            Name of the key.

        Returns
        -------
        list of Keys
            The tables in their order.

        Raises
        ------
        InputError
            If it is not a list of tables.
        """
        given = self.value(key)
        if given is None:
            return []
        if not isinstance(given, list):
            raise self.refuse(key, "a list of tables", f"Head each one with [[…{key}]].")
        return [Keys(one, f"{self.where}, {key} {i}") for i, one in enumerate(given, start=1)]

    def unknown(self) -> list[str]:
        """Return the keys that nobody asked for, in the order of the file.

        Returns
        -------
        list of str
            Their names.
        """
        return [key for key in self._table if key not in self._asked]

    def finish(self) -> None:
        """Refuse the table if it holds a key that nobody asked for.

        Raises
        ------
        InputError
            Naming the key and, where one is close, the key that may be meant.
        """
        for key in self.unknown():
            near = difflib.get_close_matches(key, self._asked, n=1)
            hint = f"Is “{near[0]}” meant?" if near else "Delete it, or check its spelling."
            raise InputError(
                "only keys of this table: " + ", ".join(sorted(self._asked)), key, hint, self.where
            )
