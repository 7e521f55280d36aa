"""What the comparison page hands to each of its views."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import ipywidgets as widgets
import pandas as pd

from reef_calc.chem.numbers import parse_typed_number
from reef_calc.errors import InputError, NumberError, ReefError
from reef_calc.log.tank import Tank


@dataclass(frozen=True)
class Comparing:
    """The tank, the element and the two kits that are compared.

    Attributes
    ----------
    tank : Tank
        As read just now.
    element, unit : str
        Element, and the unit of its levels.
    kit_a, kit_b : str
        Kits, or kit and lot as "kit A / lot A-2"; differences are B − A. Empty where fewer than two
        read this element.
    since, until : str or None
        First and last day looked at, as typed.
    allowed : float or None
        Difference that does not matter, in ``unit``; None where it was not typed.
    say : callable
        Shows a text of a kind (``told`` or ``error``) on the page's message line.
    reload : callable
        Reads the tank folder again, after something was saved; returns what the view could not show
        of it, or an empty text.
    """

    tank: Tank
    element: str
    unit: str
    kit_a: str
    kit_b: str
    since: str | None
    until: str | None
    allowed: float | None
    say: Callable[[str, str], None]
    reload: Callable[[], str]

    def now(self) -> pd.Timestamp:
        """Return the present time in the tank's zone, to the minute."""
        return pd.Timestamp.now(tz=self.tank.zone).floor("min")

    def not_used(self, *, days: bool = True) -> str:
        """Return a note on fields of the page that are filled in and that a view does not use.

        Parameters
        ----------
        days : bool, optional
            Whether the last day is among them.

        Returns
        -------
        str
            HTML; empty where nothing is typed.
        """
        typed = [("From", self.since), ("Up to", self.until if days else None)]
        typed.append(("May differ by", None if self.allowed is None else "set"))
        names = [f"“{name}”" for name, value in typed if value is not None]
        if not names:
            return ""
        are = "is" if len(names) == 1 else "are"
        listed = " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))
        return f'<p class="rc-small">{listed} {are} not used here.</p>'


def number_in(field: widgets.Text) -> float:
    """Return the number that stands in a field.

    Parameters
    ----------
    field : ipywidgets.Text
        The field.

    Returns
    -------
    float
        The number, in the unit of the field.

    Raises
    ------
    InputError
        If it is none; a comma before three digits is refused.

    Examples
    --------
    >>> number_in(widgets.Text(value="0,5", description="May differ by"))
    0.5
    >>> number_in(widgets.Text(value="5 ppm", description="May differ by"))
    Traceback (most recent call last):
    ...
    reef_calc.errors.InputError: May differ by: needed a number alone, given “5 ppm”. Write digits only...
    """
    text = field.value.strip()
    if not text:
        raise InputError("a number", "nothing", "Type it, such as 0.5.", field.description)
    try:
        return parse_typed_number(text, field.description)
    except NumberError as error:
        if "," in text:
            raise
        raise InputError(
            "a number alone", text, "Write digits only, such as 0.5, without a unit.",
            field.description,
        ) from error  # fmt: skip


def typed_number(field: widgets.Text) -> float | None:
    """Return the number that stands in a field, or None for an empty one.

    Parameters
    ----------
    field : ipywidgets.Text
        The field.

    Returns
    -------
    float or None
        The number, in the unit of the field.

    Raises
    ------
    InputError
        As ``number_in``.

    Examples
    --------
    >>> typed_number(widgets.Text(value=" ")) is None
    True
    """
    return number_in(field) if field.value.strip() else None


class KitView(ABC):
    """One view of the comparison page.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown; made once.
    """

    box: widgets.Widget
    _filling = False
    _typed_for: tuple[str, ...] | None = None

    def empty_typed(self, fields: Sequence[widgets.Text], *typed_for: str) -> str:
        """Empty fields that were typed for something else; a number without its unit is no number.

        Parameters
        ----------
        fields : sequence of ipywidgets.Text
            What was typed.
        *typed_for : str
            Tank folder, element, kits: what the fields are about now.

        Returns
        -------
        str
            Which fields are empty now, to be told; empty where none is.
        """
        before, self._typed_for = self._typed_for, typed_for
        filled = [field for field in fields if field.value.strip()]
        if before in (None, typed_for) or not filled:
            return ""
        self._filling = True
        try:
            for field in filled:
                field.value = ""
        finally:
            self._filling = False
        names = ", ".join(f"“{field.description}”" for field in filled)
        return f"Empty again, since typed for another comparison: {names}."

    @staticmethod
    def told_besides(comparing: Comparing, told: str, action: Callable[[], None]) -> None:
        """Do something, and tell a text besides whatever goes wrong.

        Parameters
        ----------
        comparing : Comparing
            Tank, element and kits.
        told : str
            The text; empty for none.
        action : callable
            What to do.
        """
        try:
            action()
        except ReefError as error:
            if not told:
                raise
            comparing.say(f"{error} {told}", "error")
        else:
            if told:
                comparing.say(told, "told")

    @abstractmethod
    def show(self, comparing: Comparing) -> None:
        """Show a comparison: called when the view is chosen and after every change.

        Parameters
        ----------
        comparing : Comparing
            Tank, element and kits.
        """
