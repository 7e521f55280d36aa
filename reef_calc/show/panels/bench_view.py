"""What the bench page hands to each of its views."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass

import ipywidgets as widgets
import pandas as pd

from reef_calc.log.tank import Tank


@dataclass(frozen=True)
class Bench:
    """The tank on the bench and the person before it.

    Attributes
    ----------
    tank : Tank
        As read just now.
    by : str
        Who tests; empty where nothing was written.
    say : callable
        Shows a text of a kind (``told`` or ``error``) on the page's message line.
    reload : callable
        Reads the tank folder again, after something was saved.
    """

    tank: Tank
    by: str
    say: Callable[[str, str], None]
    reload: Callable[[], None]

    def now(self) -> pd.Timestamp:
        """Return the present time in the tank's zone, to the minute."""
        return pd.Timestamp.now(tz=self.tank.zone).floor("min")


class BenchView(ABC):
    """One view of the bench page.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown; made once.
    """

    box: widgets.Widget

    @abstractmethod
    def show(self, bench: Bench) -> None:
        """Show a tank: called when the view is chosen and after every reading of the folder.

        Parameters
        ----------
        bench : Bench
            The tank on the bench.
        """
