"""Did it work: what readings say of a supplement since it was first given."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from reef_calc.plan.did_it_work import did_it_work
from reef_calc.show.changes_in_log import LoggedChange, logged_changes
from reef_calc.show.panels.common import guarded
from reef_calc.show.panels.plan_result import PlanResult
from reef_calc.show.panels.plan_view import Planning
from reef_calc.show.panels.standard_fields import choice_field, fill, row
from reef_calc.show.supplement_change_tables import day_text
from reef_calc.show.supplement_change_view import outcome_html
from reef_calc.show.wording import element_name

NONE_YET = (
    "<h2>Did it work?</h2><p>The log tells of no change of supplement yet. Once a new one was logged "
    "for a week, with tests before and after, choose it here.</p>"
)
CHOOSE = (
    "<h2>Did it work?</h2><p>Choose a change of the log to see what the readings say of it.</p>"
)


class DidItWork:
    """Choose a change that the log tells of; read what arrives of the new supplement.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown.
    """

    def __init__(self) -> None:
        self.result = PlanResult("Did it work")
        self._filling = False
        self.change = choice_field("Change", "A supplement that began, and what ended about then")
        self.element = choice_field("Element", "What its readings are asked about")
        self.fields = row(self.change, self.element)
        self.box = widgets.VBox([self.result.box, self.fields])
        self._act = guarded(self._fail, self._look)
        self.change.observe(self._chosen, names="value")
        self.element.observe(self._changed, names="value")

    def show(self, planning: Planning) -> None:
        """Show the changes of a tank; one that was chosen stays.

        Parameters
        ----------
        planning : Planning
            Tank and plan.
        """
        before = self.result.planning
        same = before is not None and before.tank is planning.tank
        self.result.planning = planning
        if same:
            return
        changes = logged_changes(planning.tank)
        self._filling = True
        try:
            self.fields.layout.display = "" if changes else "none"
            options: list[tuple[str, LoggedChange | None]] = [("choose a change", None)]
            fill(self.change, options + [(_words(one), one) for one in changes])
            self._fit()
        finally:
            self._filling = False
        if changes:
            self._draw()
        else:
            self.result.show(NONE_YET)

    def _fit(self) -> None:
        one: LoggedChange | None = self.change.value
        names = one.elements if one is not None else ()
        fill(self.element, [(element_name(name), name) for name in names])

    def _chosen(self, _change: Any) -> None:
        if self._filling:
            return
        self._filling = True
        try:
            self._fit()
        finally:
            self._filling = False
        self._draw()

    def _changed(self, _change: Any) -> None:
        if not self._filling:
            self._draw()

    def _draw(self) -> None:
        if self.change.value is None:
            self.result.show(CHOOSE)
        else:
            self._act()

    def _fail(self, text: str, kind: str) -> None:
        self.result.fail(text, kind)

    def _look(self) -> None:
        planning, one = self.result.planning, self.change.value
        if planning is None or one is None or self.element.value is None:
            return
        since = one.date.isoformat() if one.given_before else None
        found = did_it_work(planning.tank, self.element.value, one.new, since=since)
        self.result.show(f"<h2>Did it work?</h2>{outcome_html(found)}")


def _words(one: LoggedChange) -> str:
    place = f" in place of {' and '.join(one.ended)}" if one.ended else " begins"
    return f"{day_text(one.date)}: {one.new}{place}"
