"""Which supplement takes the place of the old one: one of the folder, limewater, or one typed here."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import ipywidgets as widgets

from reef_calc.chem.composition import reference_levels
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.limewater import limewater
from reef_calc.chem.salts import salts
from reef_calc.chem.substances import adds_per_gram
from reef_calc.chem.supplements import Supplement, supplement_from_table
from reef_calc.chem.units import convert
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import Tank
from reef_calc.plan.change_also import USED
from reef_calc.show.panels.plan_result import Offered
from reef_calc.show.panels.standard_fields import (
    choice_field,
    fill,
    number,
    row,
    text_field,
    units_per_litre,
)
from reef_calc.show.wording import element_name

LIME, RECIPE, LABEL = "limewater", "a recipe typed here", "a label typed here"
_TYPED = "new supplement"
# Of the net volume a day, offered where nobody measured it (common practice, no source).
EVAPORATION = 0.01
# As in a usual aim: the reference composition holds none (MEMORY).
IODINE_MG_PER_L = 0.06


class NewSupplement:
    """Choose the supplement that is changed to, and describe it where the folder does not.

    Parameters
    ----------
    changed : callable
        Called after a change of any field.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown.
    """

    def __init__(self, changed: Callable[[], None]) -> None:
        self._changed, self._filling, self._offered = changed, False, Offered()
        self._tank: Tank | None = None
        self.choice = choice_field("To", "What takes its place")
        self.name = text_field("Name", "What to call it in the tables", _TYPED)
        self.salt = choice_field("Salt", "The salt with its water of crystallisation", _salts())
        self.assay = text_field("Assay (%)", "How much of the powder is this salt", "100")
        self.grams = text_field("Grams per litre", "As sold, made up to one litre", "50")
        self.amount = text_field("Label: amount", "So much of it …", "10")
        self.amount_unit = choice_field("Unit of amount", "mL, or g of a dry one", ["mL", "g"])
        self.litres = text_field("… raises litres", "… raises so many litres of water …", "100")
        self.element = choice_field(
            "… of element", "What the label names", [(element_name(one), one) for one in USED]
        )
        self.rise = text_field("… by", "… by so much")
        self.unit = choice_field("Unit", "Unit of the rise", units_per_litre(USED[0]))
        self.evaporates = text_field(
            "Evaporates (L/day)", "Limewater can only take the place of this; measure it"
        )
        self.warmth = text_field("Reservoir (°C)", "Warm limewater is weaker", "25")
        self._parts = {
            RECIPE: row(self.name, self.salt, self.assay, self.grams),
            LABEL: row(
                self.name, self.element, self.amount, self.amount_unit, self.litres, self.rise,
                self.unit,
            ),
            LIME: row(self.evaporates, self.warmth),
        }  # fmt: skip
        self.typed = widgets.VBox([])
        self.box = widgets.VBox([row(self.choice), self.typed])
        self.choice.observe(self._fold, names="value")
        self.element.observe(self._units, names="value")
        for control in (
            self.choice, self.name, self.salt, self.assay, self.grams, self.amount, self.amount_unit,
            self.litres, self.element, self.rise, self.unit, self.evaporates, self.warmth,
        ):  # fmt: skip
            control.observe(self._tell, names="value")

    def offer(self, tank: Tank, old: Supplement | None) -> None:
        """Offer what can take the place of a supplement; a choice that is still there stays.

        Parameters
        ----------
        tank : Tank
            An opened tank folder.
        old : Supplement or None
            What is changed from.
        """
        self._filling, self._tank = True, tank
        try:
            others = [
                one for one in tank.supplements.values() if old is None or one.name != old.name
            ]
            # Those that could keep the supply come first, those of the main element before them.
            fitting = sorted(others, key=lambda one: _rank(old, one))
            options: list[Any] = [(one.name, ("folder", one.name)) for one in fitting]
            options += [(words, (words, "")) for words in (LIME, RECIPE, LABEL)]
            chosen = (
                options[0][1] if fitting and _rank(old, fitting[0]) < len(USED) else (RECIPE, "")
            )
            fill(self.choice, options, chosen)
            net = tank.waters[-1].net_L
            self._offered.offer(self.evaporates, f"{EVAPORATION * net:.1f}")
            if old is not None:
                mine = [one for one in USED if old.adds.get(one, 0.0) > 0.0]
                if mine and self.element.value not in mine:
                    self.element.value = mine[0]
                self._offered.offer(self.rise, usual_rise(self.element.value))
                self._offer_salt(mine)
        finally:
            self._filling = False
        self._fold()

    def _offer_salt(self, elements: list[str]) -> None:
        """Choose a salt that brings what the old one brings, unless the chosen one does."""
        adds = adds_per_gram(self.salt.value, hydrate=salts()[self.salt.value].hydrate)
        if elements and not any(adds.get(one, 0.0) > 0.0 for one in elements):
            self.salt.value = usual_salt(elements[0]) or self.salt.value

    def read(self) -> Supplement:
        """Return the supplement as the fields have it.

        Returns
        -------
        Supplement
            What is changed to.

        Raises
        ------
        InputError
            If a field cannot be used.
        """
        if self._tank is None or self.choice.value is None:
            raise CannotTellError("Choose what takes its place.")
        kind, name = self.choice.value
        if kind == "folder":
            return self._tank.supplements[name]
        if kind == LIME:
            return limewater(
                evaporation_L_per_day=number(self.evaporates), temperature_C=number(self.warmth)
            )
        typed = " ".join(self.name.value.split()) or _TYPED
        if typed in self._tank.supplements:
            raise InputError(
                "a name of its own", typed, "The folder has it: choose it from the list.", "Name"
            )
        if kind == RECIPE:
            salt = salts()[self.salt.value]
            line = {
                "salt": salt.salt, "hydrate": salt.hydrate, "assay": share(self.assay),
                "grams_per_L": number(self.grams),
            }  # fmt: skip
            return supplement_from_table(typed, {"recipe": [line]})
        label = {
            "amount": number(self.amount), "unit": self.amount_unit.value,
            "litres": number(self.litres),
            "raises": {self.element.value: f"{number(self.rise):.10g} {self.unit.value}"},
        }  # fmt: skip
        return supplement_from_table(typed, {"label": label})

    def _fold(self, _change: Any = None) -> None:
        kind = self.choice.value[0] if self.choice.value else ""
        part = self._parts.get(kind)
        self.typed.children = () if part is None else (part,)

    def _units(self, _change: Any) -> None:
        before, self._filling = self._filling, True
        try:
            unit = ELEMENTS[self.element.value].display_unit
            self.unit.options = units_per_litre(self.element.value)
            self.unit.value = unit
            self._offered.renew(self.rise, usual_rise(self.element.value))
        finally:
            self._filling = before

    def _tell(self, _change: Any) -> None:
        if not self._filling:
            self._changed()


def share(field: widgets.Text) -> float:
    """Return an assay that was typed in per cent.

    Parameters
    ----------
    field : ipywidgets.Text
        The field.

    Returns
    -------
    float
        Share of the mass (no unit).

    Raises
    ------
    InputError
        If it is not between 30 and 105 %.

    Examples
    --------
    >>> share(text_field("Assay (%)", "", "99,5"))
    0.995
    """
    percent = number(field)
    if not 30.0 <= percent <= 105.0:
        raise InputError(
            "an assay between 30 and 105 %", f"{percent:g} %",
            "Write it in per cent, such as 99.5.", field.description,
        )  # fmt: skip
    return percent / 100.0


def salt_options(names: Iterable[str]) -> list[tuple[str, str]]:
    """Return salts to choose from, each with its formula.

    Parameters
    ----------
    names : iterable of str
        Full names.

    Returns
    -------
    list of (str, str)
        Words and name.

    Examples
    --------
    >>> salt_options(["calcium chloride dihydrate"])[0][0]
    'calcium chloride dihydrate, CaCl2·2H2O'
    """
    return [(f"{name}, {salts()[name].full_formula.replace('.', '·')}", name) for name in names]


def _salts() -> list[tuple[str, str]]:
    return salt_options(name for name, one in salts().items() if one.salt != "calcium hydroxide")


def _rank(old: Supplement | None, new: Supplement) -> int:
    """Return how well one could take the other's place; the smaller the better."""
    for place, element in enumerate(USED):
        if old is not None and old.adds.get(element, 0.0) > 0.0 < new.adds.get(element, 0.0):
            return place
    return len(USED)


def usual_rise(element: str) -> str:
    """Return a rise of 100 L by 10 mL that is about a strong stock's.

    Parameters
    ----------
    element : str
        Element.

    Returns
    -------
    str
        One digit, in the usual unit: 1 % of sea water, of alkalinity 7 %.

    Examples
    --------
    >>> usual_rise("alkalinity"), usual_rise("calcium"), usual_rise("iodine")
    ('0.5', '4', '0.0006')
    """
    facts, level = ELEMENTS[element], reference_levels().get(element)
    if level is None:
        at = IODINE_MG_PER_L
    else:
        stored = level.meq_per_L if level.mg_per_L is None else level.mg_per_L
        at = convert(stored or 0.0, facts.store_unit, facts.display_unit, element)
    return f"{(0.07 if element == 'alkalinity' else 0.01) * at:.1g}"


def usual_salt(element: str) -> str | None:
    """Return a usual salt for an element, offered where nothing tells which one is at hand.

    Parameters
    ----------
    element : str
        Element.

    Returns
    -------
    str or None
        Full name; one that brings the element at once and is for households.

    Examples
    --------
    >>> usual_salt("calcium"), usual_salt("alkalinity")
    ('calcium chloride dihydrate', 'sodium hydrogen carbonate')
    """
    if element == "calcium":
        return "calcium chloride dihydrate"
    for name, one in salts().items():
        fit = adds_per_gram(name, hydrate=one.hydrate).get(element, 0.0) > 0.0
        if fit and not one.delayed_alkalinity and "hydroxide" not in one.salt:
            return name
    return None
