"""Jars on the shelf, and the stocks that they allow for the present plan."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import ipywidgets as widgets

from reef_calc.chem.salts import salts
from reef_calc.chem.shelf import SaltOnShelf, recipes_from_shelf
from reef_calc.chem.stock_solutions import StockSolution
from reef_calc.show.panels.common import guarded
from reef_calc.show.panels.plan_change_new import salt_options, share
from reef_calc.show.panels.plan_result import PlanResult
from reef_calc.show.panels.plan_view import Planning
from reef_calc.show.panels.standard_fields import choice_field, number, row, text_field
from reef_calc.show.shelf_recipes_view import HEAD, shelf_html, to_buy_html
from reef_calc.show.stock_on_tank import Need

_NONE = "– nothing –"
# Wanted daily volume where none is set today (own choice): small errors of a pump do not matter.
USUAL_ML = 50.0


class Shelf:
    """Type what is in the jars; read what it makes and how long it lasts.

    Parameters
    ----------
    words : callable
        Takes an element and returns what the tank is to get of it.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown.
    """

    def __init__(self, words: Callable[[str], Need]) -> None:
        self._need = words
        self.result = PlanResult("What I have on the shelf")
        self.jars: list[tuple[widgets.Dropdown, widgets.Text, widgets.Text]] = []
        self.rows = widgets.VBox([])
        self.elements: tuple[str, ...] = ()
        self.set_mL: Mapping[str, float] = {}
        self.coldest_C = 20.0
        self.stock: StockSolution | None = None
        intro = (
            f'<div class="rc">{HEAD}<p>Choose each salt with its water of crystallisation, and type '
            "how many grams are left. Hydrates differ by a third and more: look at the formula.</p></div>"
        )
        self.box = widgets.VBox([widgets.HTML(intro), self.rows, self.result.box])
        self._act = guarded(self.result.fail, self._work_out)
        for _ in range(2):
            self._add()

    def show(
        self,
        planning: Planning,
        elements: tuple[str, ...],
        set_mL: Mapping[str, float],
    ) -> None:
        """Show what the shelf allows for a tank.

        Parameters
        ----------
        planning : Planning
            Tank and plan.
        elements : tuple of str
            Elements that the plan doses.
        set_mL : mapping of str to float
            Volume that is set today by element (mL a day), wanted for a new stock too.
        """
        self.result.planning = planning
        self.elements, self.set_mL = elements, set_mL
        self._act()

    def for_stock(self, stock: StockSolution | None, coldest_C: float) -> None:
        """Take the stock above, for what is to buy, and the coldest place.

        Parameters
        ----------
        stock : StockSolution or None
            The stock.
        coldest_C : float
            Coldest temperature of the containers (°C).
        """
        self.stock, self.coldest_C = stock, coldest_C
        if self.result.planning is not None:
            self._act()

    def _add(self) -> None:
        place = len(self.jars) + 1
        jar = (
            choice_field(f"Jar {place}", "Salt as its label names it", [_NONE]),
            text_field("Grams", "What is left in it"),
            text_field("Assay (%)", "How much of the powder is this salt", "100"),
        )
        jar[0].options = [(_NONE, ""), *salt_options(salts())]
        jar[0].value = ""
        self.jars.append(jar)
        for control in jar:
            control.observe(self._changed, names="value")
        self.rows.children = tuple(row(*one) for one in self.jars)

    def _changed(self, _change: Any) -> None:
        if all(salt.value for salt, _, _ in self.jars):
            self._add()
        if self.result.planning is not None:
            self._act()

    def read(self) -> list[SaltOnShelf]:
        """Return the jars that are filled in.

        Returns
        -------
        list of SaltOnShelf
            Each with its grams and assay.

        Raises
        ------
        NumberError, InputError
            If a number cannot be read.
        """
        return [
            SaltOnShelf(salts()[salt.value], number(grams), share(assay))
            for salt, grams, assay in self.jars
            if salt.value and grams.value.strip()
        ]

    def _work_out(self) -> None:
        planning, jars = self.result.planning, self.read()
        if planning is None:
            return
        open_still = "".join(
            f"<p>! Jar {place}: {'type how many grams are left' if salt.value else 'choose its salt'}.</p>"
            for place, (salt, grams, _) in enumerate(self.jars, start=1)
            if bool(salt.value) != bool(grams.value.strip())
        )
        buy = "" if self.stock is None else to_buy_html(self.stock, jars)
        if not jars:
            self.result.show(f"{open_still or '<p>Nothing is typed yet.</p>'}{buy}")
            return
        needs = {name: self._need(name) for name in self.elements}
        answers = [
            recipes_from_shelf(
                jars, name, one.per_day, one.unit, one.net_L,
                mL_per_day=self.set_mL.get(name, 0.0) or USUAL_ML, coldest_C=self.coldest_C,
            )
            for name, one in needs.items()
            if one.per_day is not None and one.per_day > 0.0
        ]  # fmt: skip
        days = 30 if planning.plan is None else planning.plan.days
        told = (
            ""
            if answers
            else "<p>How much the tank is to get a day is not known: there is no plan.</p>"
        )
        self.result.show(open_still + shelf_html(answers, needs, jars, days) + told + buy)
