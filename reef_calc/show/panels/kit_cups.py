"""How the cups of a study are mixed: for whoever mixes them, not for whoever reads the kits."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets

from reef_calc.bench.dilutions import stated_stock
from reef_calc.chem.numbers import parse_typed_number
from reef_calc.compare.study_waters import cups_to_mix
from reef_calc.log.studies import StoredStudy
from reef_calc.show.panels.common import guarded
from reef_calc.show.wording import escape

# Relative standard uncertainty taken for a typed solution: the mix itself hardly hangs on it.
SOLUTION_SHARE = 0.02


class CupsToMix:
    """What goes into each cup, from one water, a solution and thinning water.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown; folded, since it tells the levels.
    """

    def __init__(self) -> None:
        self._study: StoredStudy | None = None
        self._say: Callable[[str, str], None] | None = None
        self.water = self._field("Level of the water", "Level of the water all cups are mixed from")
        self.cup = self._field("Cup, mL", "Volume of each cup, enough for all its tests")
        self.solution = self._field("Solution", "Level of the spiking solution, unit of the study")
        self.thinning = self._field("Thinning water", "Its level; 0 for water free of the element")
        self.cup.value, self.thinning.value = "100", "0"
        self._shown = widgets.HTML()
        inner = widgets.VBox(
            [_row([self.water, self.cup]), _row([self.solution, self.thinning]), self._shown]
        )
        self.box = widgets.Accordion(
            [inner], titles=("Mix the cups (tells the levels)",), selected_index=None
        )

    def show(self, study: StoredStudy | None, say: Callable[[str, str], None]) -> None:
        """Take the study whose cups are mixed.

        Parameters
        ----------
        study : StoredStudy or None
            The study; hidden without one, or where all cups hold tank water as it is.
        say : callable
            Shows a text of a kind on the page's message line.
        """
        self._study, self._say = study, say
        mixed = study is not None and any(cup.level is not None for cup in study.cups)
        self.box.layout.display = "" if mixed else "none"
        if self.water.value.strip():
            self._draw()
        else:
            self._shown.value = ""

    def _draw(self) -> None:
        if self._say is not None:
            guarded(self._say, self._work_out)()

    def _work_out(self) -> None:
        self._shown.value = ""
        study = self._study
        if study is None or not self.water.value.strip():
            return
        solution = None
        if self.solution.value.strip():
            level = parse_typed_number(self.solution.value, "Solution")
            solution = stated_stock(study.element, level, study.unit, SOLUTION_SHARE * level)
        thinning = self.thinning.value.strip() or "0"
        cups, cautions = cups_to_mix(
            study,
            water_level=parse_typed_number(self.water.value, "Level of the water"),
            cup_mL=parse_typed_number(self.cup.value, "Cup, mL"),
            solution=solution,
            thinning_level=parse_typed_number(thinning, "Thinning water"),
        )
        items = "".join(f"<li>{escape(cup.sentence)}</li>" for cup in cups)
        told = "".join(f"<li>{escape(text)}</li>" for text in cautions)
        self._shown.value = (
            f'<div class="rc"><ul>{items}</ul><div class="rc-caution"><ul>{told}</ul></div></div>'
        )

    def _field(self, description: str, tooltip: str) -> widgets.Text:
        found = widgets.Text(
            description=description,
            tooltip=tooltip,
            continuous_update=False,
            style={"description_width": "10em"},
            layout=widgets.Layout(width="min(100%, 22em)"),
        )
        found.observe(lambda _: self._draw(), names="value")
        return found


def _row(controls: list[widgets.Widget]) -> widgets.HBox:
    return widgets.HBox(controls, layout=widgets.Layout(flex_flow="row wrap"))
