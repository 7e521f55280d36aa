"""What a plan does to the rest of the water: pH and saturation at once, residue over months."""

from __future__ import annotations

import ipywidgets as widgets

from reef_calc.chem.numbers import parse_typed_number
from reef_calc.errors import InputError
from reef_calc.messages import codes
from reef_calc.plan.left_over import left_each_day
from reef_calc.plan.residue import Residue
from reef_calc.plan.residue_words import residue_words
from reef_calc.plan.water_changes_that_hold import change_that_holds
from reef_calc.show.panels.plan_view import Planning, PlanView
from reef_calc.show.plan_ph_view import ph_html
from reef_calc.show.plan_residue_figure import residue_html
from reef_calc.show.plan_results import (
    MONTHS,
    PlanResults,
    doses_of_plan,
    ph_of_plan,
    residue_ahead,
)
from reef_calc.show.wording import escape

KINDS = ("not told by the label", "bicarbonate", "carbonate", "hydroxide")
# Bounds offered at first; how much is too much is the keeper's choice (own choice, no source).
SALINITY_WITHIN, RATIO_WITHIN = 1.0, 0.05
LONGEST = 24


class PlanWaterView(PlanView):
    """pH and aragonite saturation around a dose, and what months of dosing leave."""

    def __init__(self) -> None:
        self._planning: Planning | None = None
        self._filling = False
        self.air = self._field("Room air CO₂, µatm", "400 outdoors, 1000 in a closed room")
        self.ph = self._field(
            "pH now, NBS scale", "As a meter reads it; the air then comes from it"
        )
        self.months = self._field("Months ahead", f"1 to {LONGEST} months of 30 days")
        self.months.value = str(MONTHS)
        self.salinity = self._field("Salinity within", "Largest rise of salinity you accept")
        self.salinity.value = f"{SALINITY_WITHIN:g}"
        self.held = widgets.Checkbox(
            description="Salinity is held by swapping tank water for fresh water",
            tooltip="Every other ion is then thinned",
            indent=False,
            layout=widgets.Layout(width="auto"),
        )
        self.held.observe(lambda _: self._draw(), names="value")
        self.kinds: dict[str, widgets.Dropdown] = {}
        self._kinds = widgets.VBox([])
        self._ph, self._residue = widgets.HTML(), widgets.HTML()
        self.box = widgets.VBox(
            [
                widgets.HTML('<div class="rc"><h2>pH and saturation</h2></div>'),
                _row([self.air, self.ph]),
                self._kinds,
                self._ph,
                widgets.HTML('<div class="rc"><h2>What months of it leave</h2></div>'),
                _row([self.months, self.salinity, self.held]),
                self._residue,
            ]
        )

    def show(self, planning: Planning) -> None:
        """Show what the plan does to the water.

        Parameters
        ----------
        planning : Planning
            Tank and plan.
        """
        before, self._planning = self._planning, planning
        if before is None or before.tank.folder != planning.tank.folder:
            self._forget()
        if planning.results is not None:
            self.air.placeholder = f"{planning.results.plan.air_co2_uatm:g}"
        self._offer_kinds()
        self._draw()

    def _forget(self) -> None:
        """Empty what was measured in another tank."""
        self._filling = True
        try:
            self.air.value = self.ph.value = ""
            self.held.value = False
            self.kinds, self._kinds.children = {}, ()
        finally:
            self._filling = False

    def _offer_kinds(self) -> None:
        results = self._planning.results if self._planning else None
        unknown = [
            name
            for name, one in ({} if results is None else results.plan.supplements).items()
            if not one.recipe and one.adds.get("alkalinity", 0.0) > 0.0
        ]
        if list(self.kinds) == unknown:
            return
        self.kinds = {
            name: widgets.Dropdown(
                options=KINDS,
                description=f"{name} carries",
                tooltip="What carries its alkalinity; the safety data sheet tells",
                style={"description_width": "15em"},
                layout=widgets.Layout(width="min(100%, 32em)"),
            )
            for name in unknown
        }
        for control in self.kinds.values():
            control.observe(lambda _: self._draw(), names="value")
        self._kinds.children = tuple(self.kinds.values())

    def _draw(self) -> None:
        if self._planning is not None and not self._filling:
            self.act(self._planning, self._work_out)

    def _work_out(self) -> None:
        results = self._planning.results if self._planning else None
        self._ph.value = self._residue.value = ""
        if results is None:
            return
        found = ph_of_plan(
            results,
            air_uatm=_number(self.air),
            ph_now=_number(self.ph),
            kinds={n: c.value for n, c in self.kinds.items() if c.value != KINDS[0]},
        )
        inner = f"<p>{escape(found)}</p>" if isinstance(found, str) else ph_html(found, width=None)
        self._ph.value = f'<div class="rc" data-view="pH">{inner}</div>'
        self._residue.value = (
            f'<div class="rc" data-view="Residue">{self._residue_html(results)}</div>'
        )

    def _residue_html(self, results: PlanResults) -> str:
        months = _number(self.months)
        if months is None or months != int(months) or not 1 <= months <= LONGEST:
            raise InputError(
                f"1 to {LONGEST} whole months", self.months.value, "Write 6.", "Months ahead"
            )
        residue = residue_ahead(results, months=int(months), held=self.held.value)
        inner = residue_html(residue, residue_words(residue), width=None)
        return inner + self._holding(results, residue)

    def _holding(self, results: PlanResults, residue: Residue) -> str:
        within = _number(self.salinity)
        if within is None or residue.salt_per_day <= 0.0:
            return ""
        plan = results.plan
        told = "IONS_NOT_KNOWN" not in codes(residue.messages)
        left = left_each_day(
            doses_of_plan(results),
            plan.net_L,
            salinity=plan.salinity,
            temperature_C=plan.temperature_C,
        )
        holds = change_that_holds(
            left.rises,
            left.salt,
            every_days=residue.every_days,
            salinity_within=within,
            ratio_within=RATIO_WITHIN if told else None,
            salinity=plan.salinity,
            temperature_C=plan.temperature_C,
        )
        ratio = f", chloride : sulfate within {100 * RATIO_WITHIN:g} %" if told else ""
        bounds = f"salinity within {within:g}{ratio}"
        return (
            f"<h3>How much change holds it</h3><p>{escape(holds.words)} "
            f'<span class="rc-sub">For {bounds} of the new water, for ever. Where the bounds lie is '
            "your choice; no level at which it does harm is known.</span></p>"
        )

    def _field(self, description: str, tooltip: str) -> widgets.Text:
        found = widgets.Text(
            description=description,
            tooltip=tooltip,
            continuous_update=False,
            style={"description_width": "11em"},
            layout=widgets.Layout(width="min(100%, 21em)"),
        )
        found.observe(lambda _: self._draw(), names="value")
        return found


def _row(controls: list[widgets.Widget]) -> widgets.HBox:
    return widgets.HBox(controls, layout=widgets.Layout(flex_flow="row wrap"))


def _number(field: widgets.Text) -> float | None:
    return parse_typed_number(field.value, field.description) if field.value.strip() else None
