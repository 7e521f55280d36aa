"""More than two kits, lots or persons at once."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from reef_calc.compare.lots_in_log import By, lots_in_log
from reef_calc.compare.movement import movement_in_log
from reef_calc.errors import ReefError
from reef_calc.show.comparison_lots_view import lots_html
from reef_calc.show.panels.common import guarded
from reef_calc.show.panels.kit_view import Comparing, KitView
from reef_calc.show.wording import escape

# Half a week to either side of a report.
SAME_WEEK_HOURS = 84.0
BY: dict[str, By] = {"lots": "lot", "kits": "kit", "persons": "person"}


class LotsView(KitView):
    """One model for all of them, with intervals that allow for every comparison."""

    def __init__(self) -> None:
        self._comparing: Comparing | None = None
        self.by = widgets.ToggleButtons(
            options=list(BY),
            description="Compare",
            tooltips=["Lots of kits", "Kits, whatever their lot", "Who read them"],
            style={"description_width": "8.5em", "button_width": "auto"},
        )
        self.by.observe(lambda _: self._changed(), names="value")
        self.week = widgets.Checkbox(
            description="Also readings of the same week, what moved in between taken out",
            tooltip="Such as a laboratory's report against the kit of that week",
            indent=False,
            layout=widgets.Layout(width="auto"),
        )
        self.week.observe(lambda _: self._changed(), names="value")
        self._shown = widgets.HTML()
        self.box = widgets.VBox([self.by, self.week, self._shown])

    def show(self, comparing: Comparing) -> None:
        """Show all lots, kits or persons of an element.

        Parameters
        ----------
        comparing : Comparing
            Tank and element.
        """
        self._comparing = comparing
        self._work_out()

    def _changed(self) -> None:
        if self._comparing is not None:
            self._comparing.say("", "told")
            guarded(self._comparing.say, self._work_out)()

    def _work_out(self) -> None:
        try:
            self._compare()
        except ReefError:
            self._shown.value = ""
            raise

    def _compare(self) -> None:
        self._shown.value = ""
        if self._comparing is None:
            return
        comparing = self._comparing
        unit = comparing.unit
        wider: dict[str, Any] = {}
        if self.week.value:
            words = "Working out what moved between the readings …"
            self._shown.value = f'<div class="rc"><p role="status">{words}</p></div>'
            movement = movement_in_log(comparing.tank, comparing.element, unit)
            wider = {"hours": SAME_WEEK_HOURS, "movement": movement}
        found = lots_in_log(comparing.tank, comparing.element, unit, by=BY[self.by.value], **wider)
        told = "".join(f"<li>{escape(m.text)}</li>" for m in found.messages)
        notes = f'<ul class="rc-small">{told}</ul>' if told else ""
        self._shown.value = (
            f'<div class="rc" data-view="Lots and persons"><h2>{self.by.value.capitalize()} of '
            f"{escape(self._comparing.element)}</h2>{lots_html(found.table)}{notes}"
            f"{self._comparing.not_used()}</div>"
        )
