"""Dilution series from a known solution."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from reef_calc.bench.dilutions import dilution_series, levels_around
from reef_calc.bench.glassware import VESSELS, u_of_filling
from reef_calc.bench.standards import StandardWater, sodium_chloride_g_per_L
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.show.bench_series import series_frame, series_html
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import download_html, guarded
from reef_calc.show.panels.known_solution import KnownSolution
from reef_calc.show.panels.standard_fields import (
    TYPED_VESSEL,
    choice_field,
    number,
    numbers,
    row,
    text_field,
    vessel_u_mL,
)
from reef_calc.show.panels.standard_result import Shown

_SALT_WATER = "sodium chloride solution"
_BY_STEPS, _BY_LEVELS = "steps around one level", "levels I type"


class DilutionSeries:
    """Choose a known solution and levels; read how much of it to take for each."""

    def __init__(self) -> None:
        self.shown = Shown("Dilution series")
        self.solution = KnownSolution()
        self.how = choice_field("Levels from", "How the levels are set", (_BY_STEPS, _BY_LEVELS))
        self.middle = text_field("Around", "The tank's level, in the unit of the solution; "
                                 "empty: its last reading")  # fmt: skip
        self.span = text_field("Span ± (%)", "How far the levels reach to each side", "50")
        self.count = text_field("Number of levels", "Five for a kit study", "5")
        self.levels = text_field("Levels", "In the unit of the solution, with ; between")
        self.by_steps = row(self.middle, self.span, self.count)
        self.flask = text_field("Flask (mL)", "Size of the flask for each level", "100")
        self.vessel = choice_field("Kind of flask", "Kind and class", [*VESSELS, TYPED_VESSEL])
        self.vessel_within = text_field("Flask ± (mL)", "As written on it")
        self.pipette = text_field("Pipette ± (mL)", "Of the graduated pipette or syringe", "0.05")
        self.blank = text_field("Water itself holds", "The diluting water, in the same unit", "0")
        self.blank_within = text_field("Water itself ±", "k = 2, in the same unit", "0")
        self.medium = choice_field(
            "Diluted with", "The water in the flask",
            ("purified water", _SALT_WATER, "another water: type what it holds"),
        )  # fmt: skip
        self.study = text_field("Study name", "One word; it goes into readings.csv", "series")
        self.downloads = widgets.HTML()
        self.box = widgets.VBox(
            [
                self.solution.box,
                row(self.how),
                self.by_steps,
                self.levels,
                row(self.flask, self.vessel, self.vessel_within),
                row(self.pipette, self.medium),
                row(self.blank, self.blank_within, self.study),
                self.shown.box,
                self.downloads,
            ]
        )
        self._fold()
        for control in (self.how, self.vessel):
            control.observe(self._fold, names="value")
        for control in (
            *self.solution.controls, self.how, self.middle, self.span, self.count, self.levels,
            self.flask, self.vessel, self.vessel_within, self.pipette, self.blank,
            self.blank_within, self.medium, self.study,
        ):  # fmt: skip
            control.observe(self._changed, names="value")

    def _fold(self, _change: Any = None) -> None:
        steps = self.how.value == _BY_STEPS
        self.by_steps.layout.display = "" if steps else "none"
        self.levels.layout.display = "none" if steps else ""
        typed = self.vessel.value == TYPED_VESSEL
        self.vessel_within.layout.display = "" if typed else "none"

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
            guarded(self._fail, self._work_out)()

    def _fail(self, text: str, kind: str) -> None:
        self.downloads.value = ""
        self.shown.say(text, kind)

    def _work_out(self) -> None:
        stock = self.solution.stock()
        flask_mL = number(self.flask)
        tolerance = number(self.pipette)
        study = self.study.value.strip()
        if not study or study != "".join(study.split()):
            raise InputError("a name of one word", study, "Write one, such as: june.", "Study name")
        waters = dilution_series(
            stock, self._levels(stock), flask_mL,
            u_taken_mL=lambda taken: u_of_filling(taken, tolerance),
            u_flask_mL=vessel_u_mL(self.vessel.value, flask_mL, self.vessel_within),
            blank=number(self.blank), u_blank=number(self.blank_within) / 2.0,
        )  # fmt: skip
        frame = series_frame(waters, study)
        medium = self.medium.value
        if medium == _SALT_WATER:
            medium += f" ({sodium_chloride_g_per_L(35.0):.1f} g in a litre match salinity 35)"
        self.shown.show(series_html(waters, frame, stock, tolerance, medium))
        self.downloads.value = (
            '<div class="rc">'
            + download_html(
                f"{study} series.csv", frame.to_csv(index=False, float_format="%.6g"),
                "The series as a table (CSV)", "text/csv",
            )
            + "</div>"
        )  # fmt: skip

    def _levels(self, stock: StandardWater) -> list[float]:
        if self.how.value == _BY_LEVELS:
            return numbers(self.levels)
        middle = number(self.middle) if self.middle.value.strip() else self._last_level(stock)
        return levels_around(middle, number(self.span) / 100.0, number(self.count))

    def _last_level(self, stock: StandardWater) -> float:
        bench = self.shown.bench
        readings = bench.tank.readings if bench is not None else None
        if readings is not None:
            fits = (readings["element"] == stock.element) & (readings["water"] == "tank")
            known = readings[fits & (readings["limit"] == "") & readings["level"].notna()]
            if len(known):
                stored = ELEMENTS[stock.element].store_unit
                return convert(float(known["level"].iloc[-1]), stored, stock.unit, stock.element)
        raise InputError(
            f"the level of {stock.element} that the series goes around ({stock.unit})", "nothing",
            "Type it: the tank has no reading of it.", "Around",
        )  # fmt: skip
