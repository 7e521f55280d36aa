"""Which known solution is diluted or added to tank water."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from reef_calc.bench.dilutions import stated_stock
from reef_calc.bench.standard_salts import elements_with_salts
from reef_calc.bench.standards import StandardWater
from reef_calc.chem.elements import ELEMENTS
from reef_calc.errors import CannotTellError
from reef_calc.log.tank import Tank
from reef_calc.show.panels.standard_fields import (
    choice_field,
    fill,
    number,
    row,
    text_field,
    units_per_litre,
)
from reef_calc.show.wording import element_name


class KnownSolution:
    """Which known solution is diluted or added: just made, a standard of the tank, or typed."""

    def __init__(self) -> None:
        self.just_made: dict[str, StandardWater] = {}
        self.tank: Tank | None = None
        self.choice = choice_field("Known solution", "What is diluted or added")
        self.element = choice_field(
            "Element", "What it holds", [(element_name(e), e) for e in elements_with_salts()]
        )
        self.level = text_field("Its level", "As on its label", "100")
        self.unit = choice_field("Unit", "Unit of its level", units_per_litre("alkalinity"))
        self.u = text_field("Its ± (k = 2)", "Expanded uncertainty of its level; half is used", "1")
        self.typed = row(self.element, self.level, self.unit, self.u)
        self.box = widgets.VBox([self.choice, self.typed])
        self.element.observe(self._units, names="value")
        self.choice.observe(self._fold, names="value")
        self.offer()

    @property
    def controls(self) -> tuple[widgets.Widget, ...]:
        """Every control that changes the solution."""
        return (self.choice, self.element, self.level, self.unit, self.u)

    def _units(self, _change: Any) -> None:
        fill(
            self.unit,
            units_per_litre(self.element.value),
            ELEMENTS[self.element.value].display_unit,
        )

    def _fold(self, _change: Any) -> None:
        self.typed.layout.display = "" if self.choice.value == ("typed", "") else "none"

    def offer(self, tank: Tank | None = None) -> None:
        """Refill the list from what was just made and from the tank.

        Parameters
        ----------
        tank : Tank, optional
            The tank; the one before where it is not given.
        """
        self.tank = tank or self.tank
        options: list[tuple[str, tuple[str, str]]] = [
            (f"just made: {words}", ("made", words)) for words in self.just_made
        ]
        for name in self.tank.standards if self.tank is not None else ():
            options.append((f"standard {name}", ("standard", name)))
        fill(self.choice, [*options, ("another one: type it", ("typed", ""))])
        self._fold(None)

    def stock(self) -> StandardWater:
        """Return the solution that is chosen.

        Returns
        -------
        StandardWater
            The solution.

        Raises
        ------
        CannotTellError
            If the standard has no uncertainty written down, or its unit is per kilogram.
        """
        kind, name = self.choice.value
        if kind == "made":
            return self.just_made[name]
        if kind == "typed":
            return stated_stock(
                self.element.value, number(self.level), self.unit.value, number(self.u) / 2
            )
        held = self.tank.standards[name] if self.tank is not None else None
        if held is None or held.u is None or "/kg" in held.unit:
            raise CannotTellError(
                f"The standard {name} needs a unit per litre and its standard uncertainty u in "
                "standards.toml before anything can be mixed from it."
            )
        return stated_stock(held.element, held.value, held.unit, held.u)
