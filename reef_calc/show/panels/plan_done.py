"""Stored plans beside what the log says was given and read since."""

from __future__ import annotations

import datetime as dt

import ipywidgets as widgets
import pandas as pd

from reef_calc.log.plan_files import stored_plans
from reef_calc.log.planned_and_done import PlannedAndDone, planned_and_done
from reef_calc.log.plans import StoredPlan
from reef_calc.numbers_in_words import decimals_for, fixed
from reef_calc.show.panels.common import download_html
from reef_calc.show.panels.plan_fields import typed_day
from reef_calc.show.panels.plan_view import Planning, PlanView
from reef_calc.show.plan_lane import short_date
from reef_calc.show.plan_words import plain_amount
from reef_calc.show.tables import table_html
from reef_calc.show.wording import day_words, element_name, escape


class PlannedAndDoneView(PlanView):
    """Choose a stored plan; see what was planned, given and read."""

    def __init__(self) -> None:
        self._planning: Planning | None = None
        self._plans: dict[str, StoredPlan] = {}
        self._filling = False
        self.plan = widgets.Dropdown(
            description="Stored plan",
            tooltip="From the folder plans/",
            style={"description_width": "8.5em"},
            layout=widgets.Layout(width="min(100%, 30em)"),
        )
        self.until = widgets.Text(
            description="Up to",
            tooltip="Last day that counts, year-month-day; empty for the end of the plan or today",
            placeholder="the plan's end, or today",
            continuous_update=False,
            style={"description_width": "8.5em"},
            layout=widgets.Layout(width="min(100%, 30em)"),
        )
        for control in (self.plan, self.until):
            control.observe(lambda _: self._draw(), names="value")
        self._shown = widgets.HTML()
        self.box = widgets.VBox([self.plan, self.until, self._shown])

    def show(self, planning: Planning) -> None:
        """Offer the stored plans of a tank.

        Parameters
        ----------
        planning : Planning
            Tank and plan.
        """
        before_tank, self._planning = self._planning, planning
        self._filling = True
        try:
            if before_tank is not None and before_tank.tank.folder != planning.tank.folder:
                self.until.value = ""
            found, self._problems = stored_plans(planning.tank.folder)
            self._plans = {plan.file: plan for plan in found}
            before = self.plan.value
            # Two plans stored within a minute have one title; the file tells them apart.
            names = [
                (f"{_title(plan)} ({plan.file.rpartition('/')[2]})", plan.file)
                for plan in reversed(found)
            ]
            if tuple(names) != tuple(self.plan.options):
                self.plan.options = names
                files = [file for _, file in names]
                self.plan.value = before if before in files else next(iter(files), None)
        finally:
            self._filling = False
        self._draw()

    def _draw(self) -> None:
        if self._planning is not None and not self._filling:
            self.act(self._planning, self._work_out)

    def _work_out(self) -> None:
        planning = self._planning
        self._shown.value = ""
        if planning is None:
            return
        bad = "".join(f"<li>{escape(p)}</li>" for p in self._problems)
        refused = f"<h3>Could not be read</h3><ul>{bad}</ul>" if bad else ""
        plan = self._plans.get(self.plan.value or "")
        if plan is None:
            inner = (
                "<h2>Planned and done</h2><p>No plan is stored in this folder yet. “Take away” stores "
                "one; a month later it stands here beside the log.</p>"
            )
        elif not self.until.value.strip() and plan.start > planning.now().date():
            inner = (
                f"<h2>{escape(_title(plan))}</h2><p>This plan has not begun: its first day is "
                f"{escape(short_date(plan.start))} {plan.start.year}.</p>"
            )
        else:
            found = planned_and_done(planning.tank, plan, self._until(plan))
            inner = done_html(found, str(planning.tank.zone))
        self._shown.value = f'<div class="rc" data-view="Planned and done">{inner}{refused}</div>'

    def _until(self, plan: StoredPlan) -> dt.date:
        text = self.until.value.strip()
        if text:
            return typed_day(text, "Up to")
        end = plan.start + dt.timedelta(days=plan.days - 1)
        today = self._planning.now().date() if self._planning else end
        return max(min(end, today), plan.start)


def done_html(found: PlannedAndDone, zone: str) -> str:
    """Return what was planned and what was done, sentences first.

    Parameters
    ----------
    found : PlannedAndDone
        Doses by week, levels by sitting.
    zone : str
        IANA zone of the tank.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    See the tests: a stored plan is needed.
    """
    said = "".join(f"<li>{escape(text)}</li>" for text in found.sentences)
    parts = [f"<h2>{escape(_title(found.plan))}</h2><ul>{said}</ul>"]
    doses, levels = found.doses, found.levels
    if len(doses):
        rows = [
            (
                row.container,
                _span(row.date_from, row.date_to),
                plain_amount(row.planned, row.unit),
                "not logged" if pd.isna(row.logged) else plain_amount(row.logged, row.unit),
                row.verdict,
            )
            for row in doses.itertuples()
        ]
        heads = ("Container", "Week", "Planned", "Logged", "Verdict")
        parts.append(f"<h3>Doses</h3>{table_html('', heads, rows, numbers=(2, 3))}")
    if len(levels):
        rows = [
            (
                element_name(row.element),
                day_words(row.time, zone),
                f"{_level(row.planned, row)} {row.unit}",
                f"{_level(row.read, row)} {row.unit}",
                row.verdict,
            )
            for row in levels.itertuples()
        ]
        heads = ("Element", "Read on", "Planned", "Read", "Verdict")
        parts.append(f"<h3>Levels</h3>{table_html('', heads, rows, numbers=(2, 3))}")
    links = [
        download_html(
            f"{name}_{found.plan.start.isoformat()}.csv",
            table.to_csv(index=False),
            words,
            "text/csv",
        )
        for name, table, words in (
            ("doses_planned_and_logged", doses, "Doses, planned and logged (CSV)"),
            ("levels_planned_and_read", levels, "Levels, planned and read (CSV)"),
        )
    ]
    parts.append(f'<ul class="rc-links">{"".join(f"<li>{one}</li>" for one in links)}</ul>')
    return "".join(parts)


def _title(plan: StoredPlan) -> str:
    made = f"made {plan.made.day} {plan.made:%b %Y %H:%M}"
    length = f"{plan.days} day{'' if plan.days == 1 else 's'}"
    return f"From {plan.start.isoformat()}, {length}, {made}"


def _span(first: dt.date, last: dt.date) -> str:
    return short_date(first) if first == last else f"{short_date(first)} to {short_date(last)}"


def _level(value: float, row: object) -> str:
    half = (row.high - row.low) / 2  # type: ignore[attr-defined]
    return fixed(value, max(decimals_for(half), 0) if half > 0 else 1)
