"""What could go wrong with a plan: everything at once, and the cautions where the risk stands."""

from __future__ import annotations

import ipywidgets as widgets

from reef_calc.chem.limewater import limewater
from reef_calc.chem.numbers import parse_typed_number
from reef_calc.plan.containers import Container, container_of
from reef_calc.show.panels.plan_view import Planning, PlanView
from reef_calc.show.plan_results import cautions_of_plan, emptied_of_plan
from reef_calc.show.plan_safety import cautions_html, emptied_html


class PlanSafetyView(PlanView):
    """If everything ran in at once; cautions."""

    def __init__(self) -> None:
        self._planning: Planning | None = None
        self._filling = False
        self.fresh = self._field("Top-off reservoir, L", "Fresh water that tops up evaporation")
        self.lime = self._field("Limewater reservoir, L", "Saturated limewater that tops up")
        self._shown = widgets.HTML()
        self.box = widgets.VBox(
            [
                widgets.HBox([self.fresh, self.lime], layout=widgets.Layout(flex_flow="row wrap")),
                self._shown,
            ]
        )

    def show(self, planning: Planning) -> None:
        """Show the worst case of each container, and the cautions.

        Parameters
        ----------
        planning : Planning
            Tank and plan.
        """
        before, self._planning = self._planning, planning
        if before is not None and before.tank.folder != planning.tank.folder:
            # Reservoirs stand beside one tank.
            self._filling = True
            try:
                self.fresh.value = self.lime.value = ""
            finally:
                self._filling = False
        self._draw()

    def _draw(self) -> None:
        if self._planning is not None and not self._filling:
            self.act(self._planning, self._work_out)

    def _work_out(self) -> None:
        results = self._planning.results if self._planning else None
        self._shown.value = ""
        if results is None:
            return
        extra = []
        for field, reservoir in (
            (self.fresh, Container("top-off reservoir", reservoir=True)),
            (self.lime, None),
        ):
            if not field.value.strip():
                continue
            litres = parse_typed_number(field.value, field.description)
            if reservoir is None:
                water = limewater(results.plan.temperature_C)
                extra.append(container_of(water, litres=litres, reservoir=True))
            else:
                extra.append(Container(reservoir.name, full=1000.0 * litres, reservoir=True))
        found, ph_then = emptied_of_plan(results, tuple(extra))
        self._shown.value = (
            '<div class="rc" data-view="Safety"><h2>If everything ran in at once</h2>'
            f"{emptied_html(found, ph_then=ph_then)}"
            f"<h2>Cautions</h2>{cautions_html(cautions_of_plan(results))}</div>"
        )

    def _field(self, description: str, tooltip: str) -> widgets.Text:
        found = widgets.Text(
            description=description,
            tooltip=tooltip,
            placeholder="none",
            continuous_update=False,
            style={"description_width": "12em"},
            layout=widgets.Layout(width="min(100%, 20em)"),
        )
        found.observe(lambda _: self._draw(), names="value")
        return found
