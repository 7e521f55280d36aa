"""The standards view of the bench: test water, dilutions, spikes, blanks."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from reef_calc.bench.standards import StandardWater
from reef_calc.show.bench_standards import STYLE
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.standards_blank import Blank
from reef_calc.show.panels.standards_make import MakeWater
from reef_calc.show.panels.standards_series import DilutionSeries
from reef_calc.show.panels.standards_spike import Spikes

_PARTS = {
    "Make test water": "A recipe by weight, its uncertainty, and saving it as a standard",
    "Dilution series": "Several levels from one known solution",
    "Spikes": "Does the kit find what was added to the tank's own water?",
    "Blank": "What a kit reads on purified water",
}


class StandardsView:
    """Test water of known strength: made, diluted, added, and none at all.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown.
    """

    def __init__(self) -> None:
        self._bench: Bench | None = None
        self.part = widgets.ToggleButtons(
            options=list(_PARTS),
            description="What to do",
            tooltips=list(_PARTS.values()),
            style={"description_width": "8.5em", "button_width": "auto"},
        )
        self.make = MakeWater(self._just_made)
        self.series, self.spikes, self.blank = DilutionSeries(), Spikes(), Blank()
        self._parts: dict[str, Any] = dict(
            zip(_PARTS, (self.make, self.series, self.spikes, self.blank), strict=True)
        )
        self._place = widgets.VBox([self.make.box])
        self.box = widgets.VBox(
            [
                widgets.HTML(STYLE, layout=widgets.Layout(height="0", margin="0")),
                self.part,
                self._place,
            ]
        )
        self.box.add_class("rc-standards")
        self.part.observe(self._choose, names="value")

    def show(self, bench: Bench) -> None:
        """Show a tank: called when the view is chosen and after every reading of the folder.

        Parameters
        ----------
        bench : Bench
            Tank and person.
        """
        self._bench = bench
        self._choose(None)

    def _choose(self, change: Any) -> None:
        part = self._parts[self.part.value]
        if change is not None and self._bench is not None:
            self._bench.say("", "told")
        self._place.children = [part.box]
        if self._bench is not None:
            part.show(self._bench)

    def _just_made(self, waters: dict[str, StandardWater]) -> None:
        # Offered when the part is shown: nothing is worked out, or told, for a part not on the page.
        for one in (self.series, self.spikes):
            one.solution.just_made = waters
