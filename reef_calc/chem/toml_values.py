"""Values of a TOML table, checked; what is not known is refused by name."""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from typing import Any

from reef_calc.errors import InputError


def only_keys(table: Mapping[str, Any], known: tuple[str, ...], where: str) -> None:
    """Refuse a table that holds any other key: a typo would change a result.

    Parameters
    ----------
    table : mapping
        The table.
    known : tuple of str
        Its keys.
    where : str
        File and table.

    Raises
    ------
    InputError
        Naming the key and, where one is close, the key that may be meant.

    Examples
    --------
    >>> only_keys({"litres": 2}, ("amount", "litres"), "supplements.toml")
    """
    for key in table:
        if key not in known:
            near = difflib.get_close_matches(key, known, n=1)
            hint = f"Is “{near[0]}” meant?" if near else "Delete it, or check its spelling."
            raise InputError("only keys of this table: " + ", ".join(known), key, hint, where)


def table_in(given: object, where: str) -> Mapping[str, Any]:
    """Return a value that must be a table.

    Parameters
    ----------
    given : object
        The value.
    where : str
        File, table and key.

    Returns
    -------
    mapping
        The same value.

    Raises
    ------
    InputError
        If it is not a table.

    Examples
    --------
    >>> table_in({"value": 1.0}, "supplements.toml")
    {'value': 1.0}
    """
    if not isinstance(given, Mapping):
        raise InputError(
            "a table of keys",
            "nothing" if given is None else given,
            "Write it as { key = value }.",
            where,
        )
    return given


def number_in(
    table: Mapping[str, Any], key: str, where: str, low: float | None = None, high: float = math.inf
) -> float:
    """Return a finite number: above 0, or from ``low`` on where that is given.

    Parameters
    ----------
    table : mapping
        The table.
    key : str
        Key of the number.
    where : str
        File and table.
    low : float, optional
        Smallest number allowed, in the key's own unit.
    high : float, optional
        Largest number allowed, in the key's own unit.

    Returns
    -------
    float
        The number in the key's own unit.

    Raises
    ------
    InputError
        If it is missing, not a number, or outside the bounds; a number in quotes is text.

    Examples
    --------
    >>> number_in({"litres": 2}, "litres", "supplements.toml")
    2.0
    """
    place = f"{where}, {key}"
    if key not in table:
        raise InputError(f"the key {key}", "nothing", f"Add {key} = …", place)
    given = table[key]
    is_number = isinstance(given, int | float) and not isinstance(given, bool)
    # Written as a comparison because it also turns away not-a-number and integers beyond a double.
    if not is_number or not -1e300 < given < 1e300:
        raise InputError("a number", given, "Write it with a point, without quotes.", place)
    if not (given > 0.0 if low is None else given >= low) or given > high:
        needed = "a number above 0" if low is None else f"a number of {low:g} or more"
        needed += f", at most {high:g}" if high < math.inf else ""
        raise InputError(needed, given, "Check the number and its unit.", place)
    return float(given)


def numbers_in(
    table: Mapping[str, Any], key: str, where: str, known: tuple[str, ...] | None = None
) -> dict[str, float]:
    """Return a table of numbers above 0, empty when the key is not there.

    Parameters
    ----------
    table : mapping
        The table.
    key : str
        Key of the table of numbers.
    where : str
        File and table.
    known : tuple of str, optional
        The only keys allowed in it.

    Returns
    -------
    dict of str to float
        The numbers, each in its key's own unit.

    Raises
    ------
    InputError
        If it is not a table, holds another key, or a number that is not above 0.

    Examples
    --------
    >>> numbers_in({"limits": {"step_mL": 0.5}}, "limits", "supplements.toml")
    {'step_mL': 0.5}
    """
    if key not in table:
        return {}
    place = f"{where}, {key}"
    part = table_in(table[key], place)
    if known is not None:
        only_keys(part, known, place)
    return {name: number_in(part, name, place) for name in part}


def texts_in(table: Mapping[str, Any], key: str, where: str) -> tuple[str, ...]:
    """Return a list of texts, empty when the key is not there.

    Parameters
    ----------
    table : mapping
        The table.
    key : str
        Key of the list.
    where : str
        File and table.

    Returns
    -------
    tuple of str
        The texts.

    Raises
    ------
    InputError
        If it is not a list of texts.

    Examples
    --------
    >>> texts_in({"keep_apart": ["calcium stock"]}, "keep_apart", "supplements.toml")
    ('calcium stock',)
    """
    given = table.get(key, [])
    if not isinstance(given, list) or not all(isinstance(item, str) for item in given):
        raise InputError("a list of texts", given, "Write it as [“one”, “two”].", f"{where}, {key}")
    return tuple(given)
