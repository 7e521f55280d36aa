"""The panel of the monthly review."""

from __future__ import annotations

import threading
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import ipywidgets as widgets
import pandas as pd

from reef_calc.errors import CannotTellError
from reef_calc.log.decisions import Decision, decide_finding, idle_decisions
from reef_calc.log.tank import Tank, open_tank
from reef_calc.show.comparison_words import compare_months_html
from reef_calc.show.findings_view import (
    changed_words,
    finding_choices,
    findings_html,
    leave_out_choices,
    leave_out_html,
)
from reef_calc.show.panels.common import (
    WIDE_LABEL,
    guarded,
    message_html,
    style_widget,
)
from reef_calc.show.panels.findings_controls import FindingsControls, folder_notice
from reef_calc.show.panels.folder_choice import folder_field, tank_in
from reef_calc.show.panels.many_tanks import INTRO, ManyTanks
from reef_calc.show.panels.take_away import take_away_html
from reef_calc.show.panels.work_ahead import work_ahead
from reef_calc.show.review import MonthReview, review_month
from reef_calc.show.review_months import default_month, months_with_readings
from reef_calc.show.standing import Standing
from reef_calc.show.times import month_end
from reef_calc.show.wording import element_name, month_words

VIEWS = (
    "Overview", "One element", "Findings", "When to test", "Readings to doubt", "Take away",
    "All tanks",
)  # fmt: skip
PERIODS = {"90 days": 90, "1 year": 365, "everything": None}
WIDTHS = {"wide": 980, "narrow": 600}


class MonthlyReviewPanel:
    """Choose a tank and a month; see where each element stands and what to do.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder shown first.
    places : sequence of pathlib.Path, optional
        Folders whose tanks are offered in the list.
    """

    def __init__(self, folder: str | Path, places: tuple[str | Path, ...] = ()) -> None:
        self.tank: Tank | None = None
        self.review: MonthReview | None = None
        self._checked: dict[str, Standing] = {}
        self._away = ""
        self._idle: list[tuple[str, Decision]] = []
        self._filling = False
        self._told = ""
        self.folder = folder_field(folder, places)
        self.month = self._choice("Month", "The month reviewed")
        self.against = self._choice("Compare with", "The month that this one is compared with")
        self.view = widgets.ToggleButtons(
            options=VIEWS,
            description="Show",
            tooltips=[
                "Every element, grouped by what to do",
                "Level, doses and use of one element on one time axis",
                "What probably happened, and what you know about it",
                "A calendar for the coming weeks, and what more readings would buy",
                "Doubted readings, and rows that were refused or flagged",
                "Save the page or the tables",
                "What every tank of a folder needs in this month",
            ],
            style={"description_width": "8.5em", "button_width": "auto"},
        )
        self.element = self._choice("Element", "The element shown")
        self.period = widgets.ToggleButtons(
            options=list(PERIODS),
            description="Period",
            tooltips=[f"Show {name} up to the end of the month" for name in PERIODS],
            style={"description_width": "8.5em", "button_width": "auto"},
        )
        self.width = widgets.ToggleButtons(
            options=list(WIDTHS),
            description="Picture",
            tooltips=["For a wide window", "For a narrow window or a tablet"],
            style={"description_width": "8.5em", "button_width": "auto"},
        )
        self.leave_out = self._choice("Leave out", "Try the use without one reading")
        self.findings = FindingsControls(self._decide)
        self.tanks = ManyTanks(lambda: self.month.value, places)
        self.message = widgets.HTML(message_html(""))
        self.progress = widgets.IntProgress(
            description="Working", layout=widgets.Layout(display="none")
        )
        self.shown = widgets.HTML()
        self._element_controls = widgets.VBox(
            [self.element, self.period, self.width, self.leave_out]
        )
        self.box = widgets.VBox(
            [
                style_widget(),
                self.folder,
                widgets.HBox(
                    [self.month, self.against], layout=widgets.Layout(flex_flow="row wrap")
                ),
                self.view,
                self._element_controls,
                self.progress,
                self.message,
                self.shown,
                self.findings.box,
                self.tanks.box,
            ]
        )
        self._watch(self.folder, self._open)
        self._watch(self.month, self._work_out)
        for control in (
            self.view, self.element, self.period, self.width, self.against, self.leave_out,
        ):  # fmt: skip
            self._watch(control, self._draw)
        guarded(self._say, self._open)()

    def _choice(self, description: str, tooltip: str) -> widgets.Dropdown:
        return widgets.Dropdown(
            description=description,
            tooltip=tooltip,
            style=WIDE_LABEL,
            layout=widgets.Layout(width="22em"),
        )

    def _watch(self, control: widgets.Widget, action: Any) -> None:
        act = guarded(self._say, action)

        def changed(_change: Any) -> None:
            if not self._filling:
                act()

        control.observe(changed, names="value")

    def _say(self, text: str, kind: str = "told") -> None:
        self.message.value = message_html(text, kind)
        if kind == "error":
            self.shown.value = ""

    def _fill(self, control: widgets.Dropdown, options: list[Any], value: Any) -> None:
        if (tuple(options), value) == (control.options, control.value):
            return
        self._filling = True
        try:
            control.options = options
            control.value = value
        finally:
            self._filling = False

    def _open(self) -> None:
        self.tank = self.review = None
        for control in (self.month, self.against, self.element, self.leave_out):
            self._fill(control, [], None)
        self.findings.offer([])
        self.tank = tank_in(self.folder)
        self.tanks.offer(self.folder.value.strip())
        months = months_with_readings(self.tank)
        month = default_month(self.tank)
        options = [(month_words(m), m) for m in reversed(self._calendar(months))]
        self._fill(self.month, options, month)
        self._work_out()

    @staticmethod
    def _calendar(months: tuple[str, ...]) -> list[str]:
        return [str(p) for p in pd.period_range(months[0], months[-1], freq="M")]

    def _work_out(self) -> None:
        if self.tank is None or self.month.value is None:
            return
        self.review, self._checked, self._told, self._away = None, {}, "", ""
        self._say("")
        self.progress.layout.display = ""
        self.month.disabled = True
        try:
            self.review = review_month(self.tank, self.month.value, progress=self._advance)
        finally:
            self.month.disabled = False
            self.progress.layout.display = "none"
        earlier = [m for _, m in self.month.options if m < self.month.value]
        self._fill(self.against, [(month_words(m), m) for m in earlier], next(iter(earlier), None))
        names = [s.element for s in self.review.standings]
        chosen = self.element.value if self.element.value in names else next(iter(names), None)
        self._fill(self.element, [(element_name(n), n) for n in names], chosen)
        found = {
            s.element: tuple(e.key for e in s.use.findings) for s in self.review.standings if s.use
        }
        self._idle = idle_decisions(self.tank, found)
        self.findings.offer(finding_choices(self.review.standings, self._idle))
        bad = [p for p in self.tank.problems if p.severity == "refused"]
        if bad:
            lines = "rows or entries" if len(bad) != 1 else "row or entry"
            self._told = (
                f"{len(bad)} {lines} of the folder could not be used; see “Readings to doubt”. What "
                "can be worked out is shown."
            )
        self._draw()
        review = self.review
        work = (review, self._checked, lambda: self.review is review)
        threading.Thread(target=work_ahead, args=work, daemon=True).start()

    def _advance(self, done: int, total: int, name: str) -> None:
        self.progress.max, self.progress.value = total, done
        self.progress.description = element_name(name)

    def standing(self, name: str) -> Standing:
        """Return one element's standing with its cross-checks, worked out when first shown.

        Parameters
        ----------
        name : str
            Element.

        Returns
        -------
        Standing
            With least squares and Huber.

        Raises
        ------
        CannotTellError
            If no tank folder is open.
        """
        if name not in self._checked:
            if self.tank is None or self.review is None:
                raise CannotTellError("Open a tank folder first.")
            self._checked[name] = self.review.full(name)
        return self._checked[name]

    def _draw(self) -> None:
        self.tanks.box.layout.display = "" if self.view.value == "All tanks" else "none"
        if self.review is None or self.tank is None:
            return
        start = time.perf_counter()
        view = self.view.value
        self._element_controls.layout.display = "" if view == "One element" else "none"
        self.findings.box.layout.display = "" if view == "Findings" else "none"
        if view == "Overview":
            inner = self.review.overview_html() + self.review.follows_html()
        elif view == "One element":
            inner = self._element_view()
        elif view == "Findings":
            notice = folder_notice(self.tank.folder)
            inner = findings_html(self.review.standings, self._idle, notice)
        elif view == "When to test":
            inner = self.review.calendar_html()
        elif view == "Readings to doubt":
            inner = self.review.doubts_html()
        elif view == "All tanks":
            inner = INTRO
        else:
            inner = self._take_away()
        spent = round(1000 * (time.perf_counter() - start))
        shown = self.element.value if view == "One element" else ""
        self.shown.value = (
            f'<div class="rc" data-view="{view}" data-element="{shown or ""}" '
            f'data-ms="{spent}">{inner}</div>'
        )
        self._say(self._told)

    def _element_view(self) -> str:
        if self.review is None or self.element.value is None:
            return "<p>No element has aims or readings yet.</p>"
        standing = self.standing(self.element.value)
        back = PERIODS[self.period.value]
        period = None
        if back is not None:
            end = standing.use.until if standing.use else month_end(standing.month, standing.zone)
            period = (end - pd.Timedelta(days=back), end)
        from reef_calc.show.lanes import element_html

        page = self._without_one(standing)
        page += element_html(standing, width=WIDTHS[self.width.value], period=period)
        if standing.use is None or self.against.value is None:
            return page
        return page + compare_months_html(standing, self.review.month, self.against.value)

    def _without_one(self, standing: Standing) -> str:
        choices = leave_out_choices(standing)
        row = self.leave_out.value if self.leave_out.value in [v for _, v in choices] else 0
        self._fill(self.leave_out, choices, row)
        return leave_out_html(self.tank, standing, row) if self.tank is not None and row else ""

    def _decide(self, element: str, key: str, decision: str, note: str) -> str:
        if self.tank is None or self.review is None:
            raise CannotTellError("Open a tank folder first.")
        before = self.review.standings
        decide_finding(self.tank, key, element, decision, note)
        guarded(self._say, self._reload)()
        after = self.review.standings if self.review is not None else ()
        return f"Kept in events.csv. {changed_words(before, after)}"

    def _reload(self) -> None:
        if self.tank is not None:
            self.tank = open_tank(self.tank.folder)
            self._work_out()

    def _take_away(self) -> str:
        if self.review is None:
            return ""
        if not self._away:
            standings = tuple(self.standing(s.element) for s in self.review.standings)
            self._away = take_away_html(replace(self.review, standings=standings))
        return self._away

    def _repr_mimebundle_(self, **_options: Any) -> dict[str, Any]:
        data: dict[str, Any] = dict(self.box._repr_mimebundle_())
        data["text/plain"] = "Monthly review: press Run, then Run All Cells."
        return data
