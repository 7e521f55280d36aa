"""Spikes: how much of a known solution to add, and what the readings say."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from reef_calc.bench.glassware import u_of_filling
from reef_calc.bench.kits import Kit, usual_sd
from reef_calc.bench.spikes import mean_reading, spike_mL_for, spike_recovery
from reef_calc.chem.units import convert
from reef_calc.show.bench_series import recovery_html, spike_html
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import guarded
from reef_calc.show.panels.known_solution import KnownSolution
from reef_calc.show.panels.standard_fields import (
    choice_field,
    fill,
    number,
    numbers,
    optional_number,
    row,
    text_field,
)
from reef_calc.show.panels.standard_result import Shown

_NO_KIT = ("no kit of the tank: usual scatter", "")


class Spikes:
    """Add a known solution to tank water and see how much of it a kit finds again."""

    def __init__(self) -> None:
        self.shown = Shown("Spikes")
        self.solution = KnownSolution()
        self.kit = choice_field("Kit", "The kit that reads both waters; its scatter is used")
        self.before = text_field(
            "Read without", "Reading of the tank water, in the unit of the kit; several with ;"
        )
        self.rise = text_field("Wanted rise", "About as much as is there, in the unit of the kit")
        self.water = text_field("Tank water (mL)", "How much goes into the cup", "100")
        self.water_within = text_field("Tank water ± (mL)", "Of the cylinder", "0.5")
        self.spike = text_field("Added (mL)", "What you really added; empty: what is said above")
        self.spike_within = text_field("Added ± (mL)", "Of the pipette or syringe", "0.01")
        self.after = text_field(
            "Read with", "Reading of the water with the addition; several with ; between"
        )
        self.box = widgets.VBox(
            [
                self.solution.box,
                row(self.kit),
                row(self.before, self.rise),
                row(self.water, self.water_within),
                row(self.spike, self.spike_within),
                row(self.after),
                self.shown.box,
            ]
        )
        for control in (
            *self.solution.controls, self.kit, self.before, self.rise, self.water,
            self.water_within, self.spike, self.spike_within, self.after,
        ):  # fmt: skip
            control.observe(self._changed, names="value")

    def show(self, bench: Bench) -> None:
        """Show a tank; what was typed stays.

        Parameters
        ----------
        bench : Bench
            Tank and person.
        """
        self.shown.bench = bench
        self.solution.offer(bench.tank)
        self._changed(None)

    def _changed(self, _change: Any) -> None:
        if self.shown.bench is not None:
            guarded(self.shown.say, self._work_out)()

    def _work_out(self) -> None:
        bench = self.shown.bench
        stock = self.solution.stock()
        kits = {} if bench is None else bench.tank.kits
        fit = [(name, name) for name, kit in kits.items() if kit.element == stock.element]
        fill(self.kit, [*fit, _NO_KIT])
        kit: Kit | None = kits.get(self.kit.value)
        unit = stock.unit if kit is None else kit.unit
        if not self.before.value.strip() or not (self.rise.value + self.spike.value).strip():
            self.shown.show(
                "<h2>Does this kit read right in this water?</h2><p>Test the tank water, and write "
                f"the reading ({unit}) and the rise that you want. Then add the known solution to a "
                "second cup of the same water and test that.</p>"
            )
            return

        def to_stock(value: float) -> float:
            water = None if bench is None else bench.tank.waters[-1]
            return convert(
                value, unit, stock.unit, stock.element,
                salinity=35.0 if water is None else water.salinity,
                temperature_C=25.0 if water is None else water.temperature_C,
            )  # fmt: skip

        def mean(readings: list[float]) -> tuple[float, float]:
            level = sum(readings) / len(readings)
            sd = usual_sd(stock.element, level, unit) if kit is None else kit.sd(level)
            step = 0.0 if kit is None else kit.resolution
            return mean_reading([to_stock(one) for one in readings], to_stock(sd), to_stock(step))

        before, u_before = mean(numbers(self.before))
        water_mL = number(self.water)
        wanted = optional_number(self.rise)
        parts, said = "", None
        if wanted is not None:
            said = spike_mL_for(to_stock(wanted), before, stock, water_mL)
            parts = spike_html(stock, said, water_mL, to_stock(wanted))
        added = optional_number(self.spike)
        spike_mL = said if added is None else added
        if self.after.value.strip() and spike_mL is not None:
            after, u_after = mean(numbers(self.after))
            found = spike_recovery(
                before, after, stock, spike_mL, water_mL, u_read=u_before, u_read_after=u_after,
                u_spike_mL=u_of_filling(spike_mL, number(self.spike_within)),
                u_water_mL=u_of_filling(water_mL, number(self.water_within)),
            )  # fmt: skip
            parts = recovery_html(found, stock.unit, before, after) + parts
        self.shown.show(parts or "<p>Now write the reading with the addition.</p>")
