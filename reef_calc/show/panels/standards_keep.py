"""Keep test water: save it as a standard of the tank, print its recipe and labels."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from reef_calc.bench.recipes import Recipe
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.standards_file import add_standard
from reef_calc.show.bench_labels import budget_csv, recipe_page, stored_recipe
from reef_calc.show.bench_standards import MadeFrom, level_with_u
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import download_html
from reef_calc.show.panels.standard_fields import button, choice_field, fill, row, text_field
from reef_calc.show.panels.standard_result import Shown

_WATER, _STOCK = "the test water", "its stock"


class KeepStandard:
    """Name and day of what was made; save it, or take the recipe away.

    Parameters
    ----------
    shown : Shown
        Where the recipe is shown.
    """

    def __init__(self, shown: Shown) -> None:
        self.shown = shown
        self.recipe: Recipe | None = None
        self._from: MadeFrom | None = None
        self.name = text_field("Name", "A name of its own, such as: water 3")
        self.made = text_field("Made on", "Day it was made, such as 2026-09-30")
        self.which = choice_field("Save", "Which bottle this name is for", [_WATER])
        self.save = button("Save as a standard", "Add it to standards.toml of this tank")
        self.downloads = widgets.HTML()
        self.box = widgets.VBox([row(self.name, self.made, self.which, self.save), self.downloads])
        for control in (self.name, self.made):
            control.observe(self._links, names="value")
        shown.on_click(self.save, self._save)

    def show(self, bench: Bench) -> None:
        """Take today for the day it was made, where none is typed.

        Parameters
        ----------
        bench : Bench
            Tank and person.
        """
        if not self.made.value.strip():
            self.made.value = f"{bench.now():%Y-%m-%d}"

    def offer(self, recipe: Recipe | None, made_from: MadeFrom | None = None) -> None:
        """Offer a recipe for keeping, or nothing.

        Parameters
        ----------
        recipe : Recipe or None
            The recipe.
        made_from : MadeFrom, optional
            What it was worked out with.
        """
        self.recipe, self._from = recipe, made_from
        self.save.disabled = recipe is None
        if recipe is not None:
            fill(self.which, [_WATER, _STOCK] if recipe.stock is not None else [_WATER])
        self.which.layout.display = "" if len(self.which.options) > 1 else "none"
        self._links(None)

    def _links(self, _change: Any) -> None:
        if self.recipe is None or self._from is None:
            self.downloads.value = ""
            return
        name = self.name.value.strip()
        made = replace(self._from, name=name, made=self.made.value.strip())
        file = name or f"{self.recipe.water.element} test water"
        page, budget = recipe_page(self.recipe, made), budget_csv(self.recipe.water)
        links = (
            download_html(f"{file}.html", page, "Recipe and labels to print (HTML)"),
            download_html(f"{file} budget.csv", budget, "Budget (CSV)", "text/csv"),
        )
        items = "".join(f"<li>{link}</li>" for link in links)
        self.downloads.value = f'<div class="rc"><ul class="rc-links">{items}</ul></div>'

    def _save(self) -> None:
        bench, recipe, made_from = self.shown.bench, self.recipe, self._from
        if bench is None or recipe is None or made_from is None:
            raise CannotTellError("There is no recipe to save yet.")
        try:
            day = dt.date.fromisoformat(self.made.value.strip())
        except ValueError as err:
            raise InputError(
                "a day such as 2026-09-30", self.made.value, "Write year, month and day.", "Made on"
            ) from err
        if day > bench.now().date():
            raise InputError("a day that has come", str(day), "Save it once it is made.", "Made on")
        stock = recipe.stock if self.which.value == _STOCK else None
        water = stock or recipe.water
        name = add_standard(
            bench.tank.folder, self.name.value, water.element, water.level, water.unit, water.u,
            made=day, recipe=stored_recipe(recipe, made_from.step_g, of_stock=stock is not None),
        )  # fmt: skip
        bench.reload()
        told = f"“{name}” is saved: {level_with_u(water)} (k = 2)."
        if recipe.weighed_g is None:
            told += " It counts as weighed just as the recipe says."
        bench.say(f"{told} Readings of it name the water “standard {name}”.", "told")
