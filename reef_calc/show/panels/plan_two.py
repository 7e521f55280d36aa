"""Two plans side by side: one kept, one as the fields have it now."""

from __future__ import annotations

import ipywidgets as widgets

from reef_calc.show.panels.plan_view import Planning, PlanView
from reef_calc.show.plan_compare import PlanToCompare, plans_side_by_side_html
from reef_calc.show.plan_results import PlanResults, ph_of_plan, residue_ahead


class TwoPlansView(PlanView):
    """Keep a plan, change the fields, and see what differs."""

    def __init__(self) -> None:
        self._planning: Planning | None = None
        self.keep = widgets.Button(
            description="Keep this plan to compare with",
            tooltip="The present plan becomes the first of the two",
            layout=widgets.Layout(width="auto"),
        )
        self.keep.on_click(lambda _: self._keep())
        self._shown = widgets.HTML()
        self.box = widgets.VBox([self.keep, self._shown])

    def show(self, planning: Planning) -> None:
        """Show both plans.

        Parameters
        ----------
        planning : Planning
            Tank, plan, and the plan that was kept.
        """
        self._planning = planning
        self.keep.disabled = planning.results is None
        self.act(planning, self._work_out)

    def _keep(self) -> None:
        if self._planning is not None:
            self._planning.keep()

    def _work_out(self) -> None:
        planning = self._planning
        if planning is None or planning.results is None:
            self._shown.value = ""
            return
        if planning.kept is None:
            inner = (
                "<h2>Two plans side by side</h2><p>Keep this plan, then change aims, supplements, "
                "limits or days above: both then stand here.</p>"
            )
        else:
            inner = plans_side_by_side_html(
                _compared("plan kept", planning.kept), _compared("plan now", planning.results)
            )
        self._shown.value = f'<div class="rc" data-view="Two plans">{inner}</div>'


def _compared(name: str, results: PlanResults) -> PlanToCompare:
    ph = ph_of_plan(results)
    return PlanToCompare(
        name,
        results.plan.solved,
        results.plan.start,
        results.ahead,
        residue_ahead(results),
        None if isinstance(ph, str) else ph,
    )
