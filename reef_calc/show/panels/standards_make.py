"""Make test water by weight, and save it as a standard of the tank."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from reef_calc.bench.glassware import PIPETTES, VESSELS, tolerances_mL, u_of_filling
from reef_calc.bench.recipes import WAYS, Recipe, plan_recipe
from reef_calc.bench.standard_salts import care_of, elements_with_salts, standard_salts
from reef_calc.bench.standards import StandardWater
from reef_calc.bench.weighing import u_of_weighing
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.show.bench_standards import (
    MadeFrom,
    level_with_u,
    recipe_html,
)
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import guarded
from reef_calc.show.panels.standard_fields import (
    TYPED_VESSEL,
    choice_field,
    fill,
    number,
    optional_number,
    row,
    text_field,
    units_per_litre,
    usual_level,
    vessel_u_mL,
)
from reef_calc.show.panels.standard_result import Shown
from reef_calc.show.panels.standards_keep import KeepStandard
from reef_calc.show.wording import element_name

_WATERS = {"purified water": False, "sodium chloride solution": True}


class MakeWater:
    """Choose element, salt, level and volume; read the recipe; save it as a standard.

    Parameters
    ----------
    made : callable
        Takes the waters of a new recipe by their words, for the other parts of the view.
    """

    def __init__(self, made: Callable[[dict[str, StandardWater]], None]) -> None:
        self._made = made
        self._filling = False
        self._offered, self._offered_for = "", ("", "", "")
        self.recipe: Recipe | None = None
        self.shown = Shown("Make test water")
        self.element = choice_field(
            "Element", "What the test water is for",
            [(element_name(one), one) for one in elements_with_salts()],
        )  # fmt: skip
        self.salt = choice_field("Salt", "The salt in the jar, with its water of crystallisation")
        self.level = text_field("Level", "The level that the test water should have")
        self.unit = choice_field("Unit", "Unit of the level", units_per_litre("alkalinity"))
        self.litres = text_field("Litres", "Size of the flask", "1")
        self.water = choice_field("Made in", "What the salt is dissolved in", list(_WATERS))
        self.salinity = text_field(
            "Salinity", "Practical salinity that the sodium chloride should match", "35"
        )
        self.weighed = text_field(
            "Weighed (g)", "What you really weighed; the level then follows from it"
        )
        self.more = widgets.ToggleButton(
            description="Balance, glass and assay", tooltip="Show what the recipe is worked out with",
            layout=widgets.Layout(width="auto", height="44px"),
        )  # fmt: skip
        self.step = text_field(
            "Balance step (g)", "Smallest step of the balance's display", "0.001"
        )
        self.linearity = text_field(
            "Balance ± (g)", "Its largest error from its leaflet; empty: one step"
        )
        self.assay = text_field(
            "Assay (%)", "How much of the powder is this salt; 100 if pure", "100"
        )
        self.assay_within = text_field(
            "Assay ± (%)", "Half-width; empty: the usual one of the salt"
        )
        self.vessel = choice_field("Flask", "Kind and class", [*VESSELS, TYPED_VESSEL])
        self.vessel_within = text_field("Flask ± (mL)", "As written on it")
        self.within_C = text_field("Water within ± °C", "Of the temperature on the flask", "4")
        self.way = choice_field("Way", "Weighed directly, or a stock that is diluted", WAYS)
        self.pipettes = choice_field("Pipettes", "Class of the bulb pipettes for a stock", PIPETTES)
        self.blank = text_field(
            "Water itself holds", "Of the element, in the unit of the level", "0"
        )
        self.blank_within = text_field("Water itself ±", "k = 2, in the unit of the level", "0")
        self.details = widgets.VBox(
            [
                row(self.step, self.linearity),
                row(self.assay, self.assay_within),
                row(self.vessel, self.vessel_within, self.within_C),
                row(self.way, self.pipettes),
                row(self.blank, self.blank_within),
            ]
        )
        self.keep = KeepStandard(self.shown)
        self.box = widgets.VBox(
            [
                row(self.element, self.salt),
                row(self.level, self.unit),
                row(self.litres, self.water, self.salinity),
                row(self.more),
                self.details,
                row(self.weighed),
                self.shown.box,
                self.keep.box,
            ]
        )
        self._fold()
        self.element.observe(self._element_changed, names="value")
        self.unit.observe(self._unit_changed, names="value")
        for control in (self.more, self.water, self.vessel, self.way):
            control.observe(self._fold, names="value")
        for control in self._controls():
            control.observe(self._changed, names="value")

    def _controls(self) -> tuple[widgets.Widget, ...]:
        return (
            self.salt, self.level, self.unit, self.litres, self.water, self.salinity, self.weighed,
            self.step, self.linearity, self.assay, self.assay_within, self.vessel,
            self.vessel_within, self.within_C, self.way, self.pipettes, self.blank,
            self.blank_within,
        )  # fmt: skip

    def show(self, bench: Bench) -> None:
        """Show a tank; what was typed stays.

        Parameters
        ----------
        bench : Bench
            Tank and person.
        """
        self.shown.bench = bench
        self.keep.show(bench)
        self._refill()

    def _fold(self, _change: Any = None) -> None:
        def display(control: widgets.Widget, on: bool) -> None:
            control.layout.display = "" if on else "none"

        display(self.details, self.more.value)
        display(self.salinity, _WATERS[self.water.value])
        display(self.vessel_within, self.vessel.value == TYPED_VESSEL)
        display(self.pipettes, self.way.value != WAYS[1])

    def _element_changed(self, _change: Any) -> None:
        self._filling = True
        try:
            # What was weighed belongs to the salt before.
            self.weighed.value = ""
        finally:
            self._filling = False
        self._refill()

    def _refill(self) -> None:
        """Refill what depends on tank and element, and keep what a person typed."""
        bench = self.shown.bench
        element = self.element.value
        offered, unit = usual_level(bench.tank if bench else None, element)
        self._filling = True
        try:
            fill(self.salt, _salt_options(element))
            if (element, offered, unit) != self._offered_for:
                fill(self.unit, units_per_litre(element), unit)
                untouched = self.level.value in ("", self._offered)
                if untouched or element != self._offered_for[0]:
                    self.unit.value, self.level.value = unit, offered
                    self._offered = offered
                self._offered_for = (element, offered, unit)
        finally:
            self._filling = False
        self._changed(None)

    def _unit_changed(self, change: Any) -> None:
        """Keep the offered level the same water in another unit; a typed one stays as typed."""
        if self._filling or not self._offered or self.level.value != self._offered:
            return
        level = convert(number(self.level), change["old"], change["new"], self.element.value)
        self._filling = True
        try:
            self.level.value = self._offered = f"{level:.4g}"
        finally:
            self._filling = False

    def _changed(self, _change: Any) -> None:
        if not self._filling and self.shown.bench is not None:
            guarded(self._fail, self._work_out)()

    def _fail(self, text: str, kind: str) -> None:
        self.recipe = None
        self._made({})
        self.keep.offer(None)
        self.shown.say(text, kind)

    def _work_out(self) -> None:
        litres = number(self.litres)
        if not litres > 0:
            raise InputError("a flask above 0 L", f"{litres:g} L", "Type its size.", "Litres")
        flask_mL = 1000.0 * litres
        step = number(self.step)
        if not step > 0:
            raise InputError(
                "a step above 0 g", f"{step:g} g", "Look at the last digit.", "Balance step"
            )
        typed = optional_number(self.linearity)
        within_C = number(self.within_C)
        salt, hydrate = self.salt.value
        half_width = optional_number(self.assay_within)
        if half_width is not None and not 0.0 <= half_width <= 30.0:
            raise InputError(
                "a half-width between 0 and 30 %", f"{half_width:g} %", "Write it in per cent.",
                self.assay_within.description,
            )  # fmt: skip
        pipettes = {
            size: u_of_filling(size, tolerance, within_C)
            for size, tolerance in tolerances_mL(self.pipettes.value).items()
        }
        self.recipe = plan_recipe(
            self.element.value, number(self.level), self.unit.value, flask_mL,
            u_balance_g=u_of_weighing(
                step if typed is None else typed, repeatability_g=step / 6**0.5
            ),
            u_flask_mL=vessel_u_mL(self.vessel.value, flask_mL, self.vessel_within, within_C),
            pipettes=pipettes, step_g=step, way=self.way.value, salt=salt, hydrate=hydrate,
            weighed_g=optional_number(self.weighed), purity=_share(self.assay),
            purity_half_width=None if half_width is None else half_width / 100.0,
            matching_salinity=number(self.salinity) if _WATERS[self.water.value] else None,
            blank=number(self.blank), u_blank=number(self.blank_within) / 2.0,
        )  # fmt: skip
        self.shown.show(recipe_html(self.recipe, self._made_from()))
        self.keep.offer(self.recipe, self._made_from())
        waters = {level_with_u(self.recipe.water): self.recipe.water}
        if self.recipe.stock is not None:
            waters = {f"stock {level_with_u(self.recipe.stock)}": self.recipe.stock, **waters}
        self._made({f"{water.element} {words}": water for words, water in waters.items()})

    def _made_from(self) -> MadeFrom:
        bench = self.shown.bench
        half = self.assay_within.value.strip()
        if not half and self.recipe is not None:
            half = f"{100 * care_of(self.recipe.salt).half_width:g}"
        glass = f"± {self.vessel_within.value} mL" if self.vessel.value == TYPED_VESSEL else ""
        words = (
            f"balance that shows {self.step.value} g, ± {self.linearity.value or self.step.value} g; "
            f"{self.vessel.value} {glass}".rstrip()
            + f", water within ± {self.within_C.value} °C; assay {self.assay.value} ± {half} %; "
            f"made in {self.water.value}"
            + (f" of salinity {self.salinity.value}." if _WATERS[self.water.value] else ".")
        )
        return MadeFrom(number(self.step), words, by=bench.by if bench is not None else "")


def _salt_options(element: str) -> list[tuple[str, tuple[str, int | None]]]:
    options: list[tuple[str, tuple[str, int | None]]] = []
    several = set()
    salts = [one.salt for one in standard_salts(element)]
    for salt in salts:
        formula = salt.full_formula.replace(".", "·")
        options.append((f"{salt.name}, {formula}", (salt.name, salt.hydrate)))
        if sum(other.salt == salt.salt for other in salts) > 1:
            several.add(salt.salt)
    options += [(f"{salt}, water not on the label", (salt, None)) for salt in sorted(several)]
    return options


def _share(field: widgets.Text) -> float:
    percent = number(field)
    if not 30.0 <= percent <= 105.0:
        raise InputError(
            "an assay between 30 and 105 %", f"{percent:g} %",
            "Write it in per cent, such as 99.5.", field.description,
        )  # fmt: skip
    return percent / 100.0
