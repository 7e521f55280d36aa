"""What the page that brings in a log hands to each of its views."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass

import ipywidgets as widgets

from reef_calc.log.tank import Tank


@dataclass(frozen=True)
class BringIn:
    """The tank that a log is brought into.

    Attributes
    ----------
    tank : Tank
        As read just now.
    say : callable
        Shows a text of a kind (``told`` or ``error``) on the page's message line.
    reload : callable
        Reads the tank folder again and returns the tank.
    """

    tank: Tank
    say: Callable[[str, str], None]
    reload: Callable[[], Tank]


class BringInView(ABC):
    """One view of the page.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown; made once.
    """

    box: widgets.Widget

    @abstractmethod
    def show(self, bring_in: BringIn) -> None:
        """Show the tank as it is now: called when the view is chosen and after every change.

        Parameters
        ----------
        bring_in : BringIn
            The tank.
        """
