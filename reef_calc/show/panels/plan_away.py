"""What can be taken away from a plan, and what the tank folder keeps of it."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets
import pandas as pd

from reef_calc.errors import CannotTellError
from reef_calc.log.entry import append_rows
from reef_calc.log.plan_rows import additions_for
from reef_calc.log.plans import store_plan
from reef_calc.show.page import page_html
from reef_calc.show.panels.common import can_write, download_html, guarded
from reef_calc.show.panels.plan_main import plan_html
from reef_calc.show.panels.plan_view import Planning, PlanView
from reef_calc.show.plan_containers import kept_words
from reef_calc.show.plan_results import PlanResults, cautions_of_plan
from reef_calc.show.plan_sheet import SheetOfPlan, plan_sheet_html
from reef_calc.show.plan_style import STYLE


class TakeAwayView(PlanView):
    """The page to hang by the tank, a table for a pump, the tables; storing and writing down."""

    def __init__(self) -> None:
        self._planning: Planning | None = None
        self.store = self._button(
            "Store this plan in the tank folder", "Into plans/, so that it can be compared later"
        )
        self.log = self._button(
            "I have set this on the pumps: write it into the log",
            "Adds the doses of the first phase to additions.csv, from the first day of the plan",
        )
        self.store.on_click(lambda _: self._press(self.store, self._store))
        self.log.on_click(lambda _: self._press(self.log, self._log))
        self._links = widgets.HTML()
        words = (
            '<div class="rc"><h2>Keep it</h2><p>A stored plan is a text file in <code>plans/</code>; '
            "nothing is overwritten. Doses go into the log only once they are really set.</p></div>"
        )
        self.box = widgets.VBox([self._links, widgets.HTML(words), self.store, self.log])

    def show(self, planning: Planning) -> None:
        """Offer what can be saved.

        Parameters
        ----------
        planning : Planning
            Tank and plan.
        """
        self._planning = planning
        writable = planning.results is not None and can_write(planning.tank.folder)
        self.store.disabled = self.log.disabled = not writable
        guarded(planning.say, self._offer)()

    def _offer(self) -> None:
        results = self._planning.results if self._planning else None
        self._links.value = "" if results is None else links_html(results)

    def _press(self, button: widgets.Button, action: Any) -> None:
        if self._planning is None:
            return
        button.disabled = True
        try:
            guarded(self._planning.say, action)()
        finally:
            button.disabled = self._planning.results is None

    def _made(self) -> tuple[Planning, PlanResults]:
        if self._planning is None or self._planning.results is None:
            raise CannotTellError("There is no plan to keep; the message above says why.")
        return self._planning, self._planning.results

    def _store(self) -> None:
        planning, results = self._made()
        path = store_plan(planning.tank.folder, results.plan.stored())
        planning.say(
            f"Stored as plans/{path.name}. “Planned and done” compares it with the log.", "told"
        )

    def _log(self) -> None:
        planning, results = self._made()
        rows = additions_for(results.plan.stored(), 0)
        if not rows:
            raise CannotTellError(
                "Nothing changes in the first phase, so nothing is added to the log."
            )
        taken = _already_there(planning, rows)
        if taken:
            raise CannotTellError(
                f"additions.csv has a row of {taken} that starts on that day already. Nothing was added."
            )
        count = append_rows(planning.tank.folder, "additions.csv", rows)
        planning.reload()
        planning.say(
            f"{count} row{'' if count == 1 else 's'} added to additions.csv, from "
            f"{results.plan.start.isoformat()} on. When the correction ends, make the plan again and "
            "write down the new setting.",
            "told",
        )

    @staticmethod
    def _button(description: str, tooltip: str) -> widgets.Button:
        return widgets.Button(
            description=description, tooltip=tooltip, layout=widgets.Layout(width="auto")
        )


def links_html(results: PlanResults) -> str:
    """Return links that save the page to hang up, the whole plan, and its tables.

    Parameters
    ----------
    results : PlanResults
        The plan with where it leads.

    Returns
    -------
    str
        HTML with everything inside the links.

    Examples
    --------
    See the tests: a plan is needed.
    """
    plan = results.plan
    name = f"plan_{plan.start.isoformat()}"
    whole = page_html(
        f"{plan.tank}: plan from {plan.start.isoformat()}",
        [f"<style>{STYLE}</style>{plan_html(results)}"],
    )
    tables = (
        ("pump.csv", plan.pump_csv(), "Settings for a dosing pump (CSV)"),
        ("days.csv", plan.table.to_csv(index=False), "Every dose with its time (CSV)"),
        (
            "levels.csv",
            _levels_csv(results),
            "Expected levels day by day, with 95 % interval (CSV)",
        ),
        ("shopping.csv", plan.shopping.to_csv(index=False), "What the plan needs (CSV)"),
        ("ions.csv", plan.ions.to_csv(index=False), "What a day's doses do to every ion (CSV)"),
    )
    links = [
        download_html(
            f"{name}_sheet.html", sheet_of(results), "The page to hang by the tank (one A4 page)"
        ),
        download_html(f"{name}.html", whole, "The whole plan (HTML)"),
    ]
    links += [
        download_html(f"{name}_{file}", text, words, "text/csv") for file, text, words in tables
    ]
    items = "".join(f"<li>{link}</li>" for link in links)
    return f'<section class="rc"><h2>Take away</h2><ul class="rc-links">{items}</ul></section>'


def sheet_of(results: PlanResults) -> str:
    """Return the page to hang by the tank.

    Parameters
    ----------
    results : PlanResults
        The plan with where it leads.

    Returns
    -------
    str
        A whole HTML document.

    Examples
    --------
    See the tests: a plan is needed.
    """
    plan = results.plan
    turns = {day: number for number, day in enumerate(sorted({p.date_from for p in plan.phases}))}
    times = {(one.container, turns[one.date_from]): one.times for one in plan.phases}
    cautions = tuple(one.text for one in cautions_of_plan(results))
    kept = {name: f"{words} a day" for name, words in kept_words(plan).items()}
    return plan_sheet_html(
        plan.solved,
        SheetOfPlan(plan.tank, plan.start, times, results.ahead, results.tests, cautions, kept),
    )


def _levels_csv(results: PlanResults) -> str:
    frames = [
        results.ahead.frame(one.name, results.plan.start).assign(element=one.name, unit=one.unit)
        for one in results.plan.problem.elements
    ]
    return str(pd.concat(frames, ignore_index=True).to_csv(index=False))


def _already_there(planning: Planning, rows: list[dict[str, str]]) -> str:
    """Return the name of a supplement whose row of that start is in the log already."""
    own = planning.tank.additions
    for row in rows:
        starts = own.loc[own["supplement"] == row["supplement"], "start"]
        days = {time.tz_convert(planning.tank.zone).date().isoformat() for time in starts}
        if row["start"][:10] in days:
            return row["supplement"]
    return ""
