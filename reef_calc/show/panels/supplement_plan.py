"""The plan page: one tank folder, what is wished, and the views of what follows."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from reef_calc.errors import ReefError
from reef_calc.log.tank import Tank, open_tank
from reef_calc.plan.dose_plan import DosePlan, dose_plan
from reef_calc.plan.from_tank import tank_question
from reef_calc.show.panels.common import (
    can_write,
    guarded,
    is_demonstration,
    message_html,
    style_widget,
)
from reef_calc.show.panels.folder_choice import folder_field, tank_in
from reef_calc.show.panels.plan_view import Planning, PlanView
from reef_calc.show.panels.plan_wishes import WishesForm
from reef_calc.show.plan_results import PlanResults, plan_results
from reef_calc.show.plan_style import STYLE
from reef_calc.show.wording import escape

# Older readings are offered to look at, not to follow (own choice).
OLD_DAYS = 21
VIEWS: dict[str, tuple[str, str, str]] = {
    "Plan": ("plan_main", "PlanMainView", "What to set, why, and where it leads"),
    "pH and residue": ("plan_water", "PlanWaterView", "What it does to the rest of the water"),
    "Safety": ("plan_safety", "PlanSafetyView", "If everything ran in at once; cautions"),
    "Two plans": ("plan_two", "TwoPlansView", "This plan beside one kept before"),
    "Change a supplement": (
        "plan_change",
        "ChangeSupplementView",
        "From one supplement to another, step by step; whether it worked",
    ),
    "Make a stock": ("plan_stock", "MakeStockView", "Recipes, labels, what the shelf allows"),
    "Planned and done": ("plan_done", "PlannedAndDoneView", "Stored plans beside the log"),
    "Take away": ("plan_away", "TakeAwayView", "The page to hang by the tank, tables, storing"),
}


PAGE_STYLE = """
.rc-plan-page .jupyter-widget-Collapse-header,.rc-plan-page .jupyter-widget-Collapse-header span{
 color:var(--jp-ui-font-color0)}
"""


class SupplementPlanPanel:
    """Choose a tank folder, say what is wished, and see what to dose.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder shown first.
    places : sequence of pathlib.Path, optional
        Folders whose tanks are offered in the list.

    Attributes
    ----------
    tank : Tank or None
        As read just now.
    results : PlanResults or None
        The plan with where it leads.
    """

    def __init__(self, folder: str | Path, places: tuple[str | Path, ...] = ()) -> None:
        self.tank: Tank | None = None
        self.results: PlanResults | None = None
        self._kept: PlanResults | None = None
        self._failed = ""
        self.views: dict[str, PlanView] = {}
        self.folder = folder_field(folder, places)
        self.form = WishesForm(guarded(self.say, self._work_out))
        self.view = widgets.ToggleButtons(
            options=list(VIEWS),
            description="Show",
            tooltips=[words for _, _, words in VIEWS.values()],
            style={"description_width": "8.5em", "button_width": "auto"},
        )
        self.notice = widgets.HTML()
        self.message = widgets.HTML(message_html(""))
        self.place = widgets.VBox([])
        self.box = widgets.VBox(
            [
                style_widget(),
                widgets.HTML(
                    f"<style>{STYLE}{PAGE_STYLE}</style>", layout=widgets.Layout(height="0")
                ),
                self.folder,
                self.form.box,
                self.view,
                self.notice,
                self.message,
                self.place,
            ]
        )
        self.box.add_class("rc-plan-page")
        self._watch(self.folder, self._open)
        self._watch(self.view, self._switch)
        guarded(self.say, self._open)()

    @property
    def plan(self) -> DosePlan | None:
        """The plan as the fields have it; None while there is none."""
        return None if self.results is None else self.results.plan

    def say(self, text: str, kind: str = "told") -> None:
        """Show a text on the message line.

        Parameters
        ----------
        text : str
            Plain text.
        kind : {"told", "error"}
            An error is announced at once.
        """
        self.message.value = message_html(text, kind)

    def _watch(self, control: widgets.Widget, action: Callable[[], None]) -> None:
        control.observe(lambda _: guarded(self.say, action)(), names="value")

    def _open(self) -> None:
        self.tank = self.results = self._kept = None
        self.place.children = ()
        self.notice.value = self._failed = ""
        self.tank = tank_in(self.folder)
        self.form.offer(self.tank, first_day(self.tank, self._today()))
        self._work_out()

    def _today(self) -> dt.date:
        zone = None if self.tank is None else self.tank.zone
        return dt.datetime.now(zone).date()

    def _work_out(self) -> None:
        if self.tank is None:
            return
        self.say("")
        self.results, self._failed = None, ""
        try:
            start, days, wishes = self.form.read()
            told = _notice(self.tank.folder)
            self.notice.value = _paragraphs(old_notice(start, self._today()), told)
            question = tank_question(self.tank, days, start, wishes=wishes)
            plan = dose_plan(self.tank, question)
            self.results = plan_results(self.tank, question, plan)
        except ReefError as error:
            self._failed = str(error)
            self._show()
            raise
        self._show()

    def _switch(self) -> None:
        """Show another view: what the last one told goes with it, what the plan lacks stays."""
        self.say(self._failed, "error" if self._failed else "told")
        self._show()

    def _keep(self) -> None:
        self._kept = self.results
        self._show()
        self.say("Kept. Change the fields now: both plans then stand side by side.")

    def _reload(self) -> None:
        if self.tank is not None:
            self.tank = open_tank(self.tank.folder)
            self._work_out()

    def _show(self) -> None:
        """Show the chosen view; made when it is first asked for."""
        if self.tank is None:
            self.place.children = ()
            return
        begun = time.perf_counter()
        name = self.view.value
        if name not in self.views:
            module, kind, _ = VIEWS[name]
            made = import_module(f"reef_calc.show.panels.{module}")
            self.views[name] = getattr(made, kind)()
        view = self.views[name]
        view.show(Planning(self.tank, self.results, self._kept, self.say, self._keep, self._reload))
        if self.place.children != (view.box,):
            self.place.children = (view.box,)
        self.shown_in = time.perf_counter() - begun

    def _repr_mimebundle_(self, **_options: Any) -> dict[str, Any]:
        data: dict[str, Any] = dict(self.box._repr_mimebundle_())
        data["text/plain"] = "Supplement plan: press Run, then Run All Cells."
        return data


def first_day(tank: Tank, today: dt.date) -> dt.date:
    """Return the first day a plan is offered from: tomorrow, or where an old log ends.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    today : datetime.date
        Today in the tank's zone.

    Returns
    -------
    datetime.date
        Day in the tank's zone.

    Notes
    -----
    From readings older than three weeks nothing can be planned for tomorrow: a plan from the end of
    the log shows what would have followed, and the page says so.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> first_day(example_tank(), dt.date(2026, 2, 20)).isoformat()
    '2026-02-21'
    >>> first_day(example_tank(), dt.date(2026, 7, 1)).isoformat()
    '2026-02-16'
    """
    own = tank.readings.loc[tank.readings["water"] == "tank", "time"]
    if len(own):
        last: dt.date = own.max().tz_convert(tank.zone).date()
        if today - last > dt.timedelta(days=OLD_DAYS):
            return last + dt.timedelta(days=1)
    return today + dt.timedelta(days=1)


def old_notice(first: dt.date, today: dt.date) -> str:
    """Return what to say of a plan that begins in the past; nothing of another.

    Parameters
    ----------
    first : datetime.date
        First day of the plan.
    today : datetime.date
        Today in the tank's zone.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> old_notice(dt.date(2026, 2, 16), dt.date(2026, 7, 1))
    'This plan begins on 16 February 2026, 135 days ago: look at it, but do not follow it. Test
    first, then plan from tomorrow.'
    >>> old_notice(dt.date(2026, 7, 2), dt.date(2026, 7, 1))
    ''
    """
    ago = (today - first).days
    if ago < 1:
        return ""
    day = f"{first.day} {first:%B %Y}"
    past = "yesterday" if ago == 1 else f"{ago} days ago"
    return (
        f"This plan begins on {day}, {past}: look at it, but do not follow it. Test first, then plan "
        "from tomorrow."
    )


def _notice(folder: Path) -> str:
    if is_demonstration(folder):
        words = (
            "This is the demonstration tank of the workbench: what you store is written into it, so "
            "a copy is better to play with; the start page makes one."
        )
    elif not can_write(folder):
        words = "This folder cannot be written, so no plan can be stored in it."
    else:
        return ""
    return words


def _paragraphs(old: str, notice: str) -> str:
    caution = f'<p class="rc-caution">{escape(old)}</p>' if old else ""
    small = f'<p class="rc-small">{escape(notice)}</p>' if notice else ""
    return f'<div class="rc">{caution}{small}</div>' if old or notice else ""
