"""What the comparison page hands to each of its views."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass

import ipywidgets as widgets
import pandas as pd

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
        Reads the tank folder again, after something was saved.
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
    reload: Callable[[], None]

    def now(self) -> pd.Timestamp:
        """Return the present time in the tank's zone, to the minute."""
        return pd.Timestamp.now(tz=self.tank.zone).floor("min")


class KitView(ABC):
    """One view of the comparison page.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown; made once.
    """

    box: widgets.Widget

    @abstractmethod
    def show(self, comparing: Comparing) -> None:
        """Show a comparison: called when the view is chosen and after every change.

        Parameters
        ----------
        comparing : Comparing
            Tank, element and kits.
        """
