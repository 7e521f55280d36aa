"""What the plan page hands to each of its views."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass

import ipywidgets as widgets
import pandas as pd

from reef_calc.log.tank import Tank
from reef_calc.plan.dose_plan import DosePlan
from reef_calc.show.panels.common import guarded
from reef_calc.show.plan_results import PlanResults


@dataclass(frozen=True)
class Planning:
    """The tank that is planned for, and the plan as the fields now have it.

    Attributes
    ----------
    tank : Tank
        As read just now.
    results : PlanResults or None
        None while the fields cannot be planned with; the message line says why.
    kept : PlanResults or None
        A plan that was kept beside, to compare with.
    say : callable
        Shows a text of a kind (``told`` or ``error``) on the page's message line.
    keep : callable
        Keeps the present plan beside.
    reload : callable
        Reads the tank folder again, after something was saved.
    """

    tank: Tank
    results: PlanResults | None
    kept: PlanResults | None
    say: Callable[[str, str], None]
    keep: Callable[[], None]
    reload: Callable[[], None]

    @property
    def plan(self) -> DosePlan | None:
        """The plan itself; None while there is none."""
        return None if self.results is None else self.results.plan

    def now(self) -> pd.Timestamp:
        """Return the present time in the tank's zone, to the minute."""
        return pd.Timestamp.now(tz=self.tank.zone).floor("min")


class PlanView(ABC):
    """One view of the plan page.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown; made once.
    """

    box: widgets.Widget
    _told_error = False

    def act(self, planning: Planning, action: Callable[[], None]) -> None:
        """Do something, tell what goes wrong, and take it back once it goes right.

        Parameters
        ----------
        planning : Planning
            Tank and plan.
        action : callable
            What to do.
        """
        failed = False

        def say(text: str, kind: str) -> None:
            nonlocal failed
            failed = True
            planning.say(text, kind)

        guarded(say, action)()
        if self._told_error and not failed and planning.results is not None:
            planning.say("", "told")
        self._told_error = failed

    @abstractmethod
    def show(self, planning: Planning) -> None:
        """Show the present plan: called when the view is chosen and after every change.

        Parameters
        ----------
        planning : Planning
            Tank and plan.
        """
