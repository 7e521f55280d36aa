"""The view "Make a stock": grams for a wanted strength, its label, its lines, and the shelf."""

from __future__ import annotations

import math
from typing import Any

import ipywidgets as widgets

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.salt_mixtures import sea_water_magnesium
from reef_calc.chem.salts import find_salt, salts
from reef_calc.chem.stock_solutions import StockSolution, stock_solution
from reef_calc.chem.stock_words import SaltPart, salt_part
from reef_calc.chem.substances import adds_per_gram
from reef_calc.chem.units import convert
from reef_calc.errors import CannotTellError, InputError, ReefError
from reef_calc.log.supplements_file import add_supplement, supplement_toml
from reef_calc.numbers_in_words import fixed
from reef_calc.plan.change_also import USED
from reef_calc.plan.dose_plan import DosePlan
from reef_calc.show.panels.common import download_html, guarded
from reef_calc.show.panels.plan_change_new import salt_options, share, usual_rise, usual_salt
from reef_calc.show.panels.plan_fields import day_in
from reef_calc.show.panels.plan_result import Offered, PlanResult, framed
from reef_calc.show.panels.plan_stock_shelf import Shelf
from reef_calc.show.panels.plan_view import Planning, PlanView
from reef_calc.show.panels.standard_fields import (
    button,
    choice_field,
    fill,
    number,
    row,
    text_field,
    units_per_litre,
)
from reef_calc.show.stock_label import stock_label_page
from reef_calc.show.stock_on_tank import (
    Need,
    clashing,
    container_in_use,
    dosed_elements,
    need_of,
    salts_in_use,
    strongest_rise,
    volumes_set,
)
from reef_calc.show.stock_recipe_view import STYLE, limewater_html, stock_html
from reef_calc.show.wording import element_name

VIEW = "Make a stock"
BY_DAYS, BY_TANK, BY_100_L = "it lasts so many days", "1 mL raises this tank", "1 mL raises 100 L"
LIME = "calcium hydroxide"
MIXTURE = "magnesium chloride and sulfate as in sea water"
LITRES, _DAYS = 5.0, "30"


class MakeStockView(PlanView):
    """Choose what a stock is for and of which salt; read what to weigh, print its label, keep it.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown.
    stock : StockSolution or None
        The stock as the fields have it; None where they cannot be used.
    """

    def __init__(self) -> None:
        self.result = PlanResult(VIEW)
        self.stock: StockSolution | None = None
        self._filling, self._offered = False, Offered()
        self.element = choice_field(
            "For", "What it is to raise", [(element_name(one), one) for one in USED]
        )
        self.salt = choice_field("Salt", "The salt in the jar, with its water of crystallisation")
        self.assay = text_field("Assay (%)", "How much of the powder is this salt", "100")
        self.way = choice_field("Strength", "What is fixed", [BY_DAYS, BY_TANK, BY_100_L])
        self.rise = text_field("By", "So much of the element")
        self.unit = choice_field("Unit", "Unit of the rise")
        self.days = text_field("Days", "How long it is to last", _DAYS)
        self.litres = text_field("Litres", "Volume of the finished stock")
        self.coldest = text_field(
            "Coldest place (°C)", "Where it stands, in the coldest night", "20"
        )
        self.density = text_field(
            "Density (kg/L)", "Of the finished stock, if measured; only for what dissolves", "1"
        )
        self.name = text_field("Name", "What stands on the label and in supplements.toml")
        self.made = text_field("Made on", "Day it is made, such as 2026-09-30")
        self.by = text_field("Made by", "Who makes it; empty: a line to write on")
        self.keep = button("Keep in supplements.toml", "Add it; what is described there stays")
        self.links = widgets.HTML()
        self.shelf = Shelf(self._need)
        self.box = widgets.VBox(
            [
                widgets.HTML(f"<style>{STYLE}</style>", layout=widgets.Layout(height="0")),
                row(self.element, self.salt, self.assay),
                row(self.way, self.rise, self.unit, self.days),
                row(self.litres, self.coldest, self.density),
                self.result.box,
                row(self.name, self.made, self.by, self.keep),
                self.links,
                self.shelf.box,
            ]
        )
        self._act = guarded(self._fail, self._work_out)
        self.element.observe(self._element_changed, names="value")
        self.way.observe(self._way_changed, names="value")
        self.salt.observe(self._salt_or_unit_changed, names="value")
        self.unit.observe(self._salt_or_unit_changed, names="value")
        for control in (
            self.assay, self.rise, self.days, self.litres, self.coldest,
            self.density, self.name, self.made, self.by,
        ):  # fmt: skip
            control.observe(self._changed, names="value")
        self.result.on_click(self.keep, self._keep)

    def show(self, planning: Planning) -> None:
        """Show a tank; what was typed stays.

        Parameters
        ----------
        planning : Planning
            Tank and plan.
        """
        before = self.result.planning
        first = before is None or before.tank.folder != planning.tank.folder
        self.result.planning = planning
        self._filling = True
        try:
            if first:
                dosed = dosed_elements(planning.plan)
                self.element.value = dosed[0] if dosed else USED[0]
                self._fit()
            if not self.made.value.strip():
                self.made.value = f"{planning.now():%Y-%m-%d}"
            self._offer_rise()
        finally:
            self._filling = False
        self._act()
        self.shelf.show(planning, dosed_elements(planning.plan), volumes_set(planning.plan))

    def _plan(self) -> DosePlan | None:
        return None if self.result.planning is None else self.result.planning.plan

    def _need(self, element: str) -> Need:
        planning = self.result.planning
        if planning is None:
            raise CannotTellError("Choose a tank first.")
        return need_of(planning.tank, planning.plan, element, planning.now())

    def _fit(self) -> None:
        """Offer salts, units and a name that fit the element."""
        element = self.element.value
        names = [
            name
            for name, one in salts().items()
            if adds_per_gram(name, hydrate=one.hydrate).get(element, 0.0) > 0.0
        ]
        options = salt_options(names)
        if element == "magnesium":
            options.append((MIXTURE, MIXTURE))
        recipe = salts_in_use(self._plan(), element)
        used = MIXTURE if len(recipe) > 1 else next(iter(recipe), usual_salt(element))
        fill(self.salt, options, used)
        need = self._need(element)
        fill(self.unit, units_per_litre(element), need.unit)
        self.way.value = BY_DAYS if need.per_day is not None else BY_100_L
        self._offered.renew(self.name, self._free_name(f"{element} stock"))
        self._offered.offer(self.litres, f"{container_in_use(self._plan(), element) or LITRES:g}")

    def _free_name(self, wanted: str) -> str:
        held = {} if self.result.planning is None else self.result.planning.tank.supplements
        names = [wanted, *(f"{wanted} {i}" for i in range(2, 100))]
        return next(name for name in names if name not in held)

    def _offer_rise(self) -> None:
        need = self._need(self.element.value)
        if self.way.value == BY_DAYS:
            text = ""
            if need.per_day is not None:
                per_day = convert(need.per_day, need.unit, self.unit.value, self.element.value)
                text = f"{per_day:.6g}"
        else:
            text = self._rise_of_a_mL(need)
        self._offered.offer(self.rise, text)
        self.rise.description = "By, a day" if self.way.value == BY_DAYS else "By"
        self.days.layout.display = "" if self.way.value == BY_DAYS else "none"

    def _rise_of_a_mL(self, need: Need) -> str:
        """Return a usual rise, or as much of it as dissolves well."""
        element, unit = self.element.value, self.unit.value
        if self.salt.value in (None, LIME):
            return ""
        facts = ELEMENTS[element]
        usual = convert(float(usual_rise(element)) / 10.0, facts.display_unit, unit, element)
        try:
            most = strongest_rise(self._parts(), element, unit, number(self.coldest))
        except ReefError:
            most = usual  # what is wrong with a field is told when the stock is worked out
        litres = need.net_L if self.way.value == BY_TANK else 100.0
        fitting = min(usual, most) * 100.0 / litres
        # Two digits, rounded down so that it stays below what dissolves well.
        decimals = 1 - math.floor(math.log10(fitting))
        return fixed(math.floor(fitting * 10.0**decimals + 1e-6) / 10.0**decimals, max(decimals, 0))

    def _element_changed(self, _change: Any) -> None:
        if self._filling or self.result.planning is None:
            return
        self._filling = True
        try:
            self._fit()
            self._offered.renew(self.rise, "")
            self._offer_rise()
        finally:
            self._filling = False
        self._act()

    def _salt_or_unit_changed(self, _change: Any) -> None:
        if self._filling or self.result.planning is None:
            return
        self._filling = True
        try:
            self._offer_rise()
        finally:
            self._filling = False
        self._act()

    def _way_changed(self, _change: Any) -> None:
        if self._filling or self.result.planning is None:
            return
        self._filling = True
        try:
            # A rise of the whole day is none of a mL.
            self._offered.renew(self.rise, "")
            self._offer_rise()
        finally:
            self._filling = False
        self._act()

    def _changed(self, _change: Any) -> None:
        if not self._filling and self.result.planning is not None:
            self._act()

    def _fail(self, text: str, kind: str) -> None:
        self.stock, self.links.value, self.keep.disabled = None, "", True
        self.shelf.for_stock(None, self.shelf.coldest_C)
        self.result.fail(text, kind)

    def _parts(self) -> list[SaltPart]:
        assay = share(self.assay)
        if self.salt.value == MIXTURE:
            chloride, sulfate = find_salt("magnesium chloride", 6), find_salt("Epsom salt")
            return list(sea_water_magnesium(chloride, sulfate, assay, assay))
        return [salt_part(self.salt.value, assay=assay)]

    def _work_out(self) -> None:
        element, need = self.element.value, self._need(self.element.value)
        if self.salt.value is None:
            raise CannotTellError(f"No salt of the list adds {element}.")
        if self.salt.value == LIME:
            self.stock, self.links.value, self.keep.disabled = None, "", True
            page = limewater_html(number(self.coldest), number(self.litres), need, element)
            self.result.show(page)
            self.shelf.for_stock(None, number(self.coldest))
            return
        litres, amount_mL, water_L = number(self.litres), 1.0, 100.0
        if self.way.value == BY_TANK:
            water_L = need.net_L
        elif self.way.value == BY_DAYS:
            days = number(self.days)
            if not days > 0.0:
                raise InputError("days above 0", f"{days:g}", "Type 30 for a month.", "Days")
            amount_mL, water_L = 1000.0 * litres / days, need.net_L
        if not self.rise.value.strip():
            raise InputError(
                f"how much {element} the tank is to get", "nothing",
                "The plan does not tell it. Type it.", self.rise.description,
            )  # fmt: skip
        stock = stock_solution(
            " ".join(self.name.value.split()) or f"{element} stock", self._parts(), litres,
            element=element, rise=number(self.rise), unit=self.unit.value, amount_mL=amount_mL,
            litres=water_L, coldest_C=number(self.coldest), density_kg_per_L=number(self.density),
        )  # fmt: skip
        self.stock = stock
        text = supplement_toml(stock.name, stock.recipe, **self._described(stock)).as_string()
        self.result.show(stock_html(stock, need, text))
        label = stock_label_page(stock, day_in(self.made), self.by.value)
        links = (
            download_html(f"label {stock.name}.html", label, "Label to print (HTML)"),
            download_html(f"{stock.name}.toml", text, "Its lines (TOML)", "text/plain"),
        )
        items = "".join(f"<li>{link}</li>" for link in links)
        self.links.value = framed(VIEW, f'<ul class="rc-links">{items}</ul>')
        self.keep.disabled = False
        self.shelf.for_stock(stock, number(self.coldest))

    def _described(self, stock: StockSolution) -> dict[str, Any]:
        by = f" by {self.by.value.strip()}" if self.by.value.strip() else ""
        planning = self.result.planning
        apart = [] if planning is None else clashing(planning.tank.supplements, stock.supplement)
        return {
            "container_L": stock.volume_L,
            "keep_apart": apart,
            "comment": f"Made on {day_in(self.made)}{by}; {stock.strength}.",
        }

    def _keep(self) -> None:
        planning, stock = self.result.planning, self.stock
        if planning is None or stock is None:
            raise CannotTellError("There is no stock to keep yet.")
        name = add_supplement(
            planning.tank.folder, stock.name, stock.recipe, **self._described(stock)
        )
        planning.reload()
        self.result.tell(
            f"Kept in supplements.toml: {name}. Its pump is not measured yet: ± 4 % is assumed until "
            "delivered_over_set is written."
        )
