"""What a supplement adds: a recipe or a label becomes mg or meq per mL or per gram."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from reef_calc.chem.elements import element as find_element
from reef_calc.chem.numbers import parse_number
from reef_calc.chem.recipe_lines import ReadRecipe, RecipeLine, read_recipe
from reef_calc.chem.salts import LABEL_FIRST
from reef_calc.chem.toml_values import number_in, numbers_in, only_keys, table_in, texts_in
from reef_calc.chem.units import convert
from reef_calc.errors import InputError, UnitError

# Taken where the folder says nothing, and then said; common practice, no source.
UNMEASURED_DELIVERY_U = 0.04
RECIPE_STRENGTH_U = 0.02
LABEL_STRENGTH_U = 0.05
DELAYED_DAYS = 1.0

_KEYS = ("recipe", "label", "delivered_over_set", "strength_u", "container_L", "limits",
         "keep_apart", "linked", "lag_days", "hazards")  # fmt: skip
_TO_OWN_UNIT = {
    "mL": {"mL": 1.0, "ml": 1.0, "L": 1000.0, "l": 1000.0},
    "g": {"g": 1.0, "kg": 1000.0},
}


class Delivered(NamedTuple):
    """What a pump gives over what it is set to.

    Attributes
    ----------
    value : float
        Delivered over set volume (no unit).
    u : float
        Its standard uncertainty (no unit).
    """

    value: float
    u: float


_UNMEASURED = Delivered(1.0, UNMEASURED_DELIVERY_U)


@dataclass(frozen=True)
class Supplement:
    """One container of something that is dosed.

    Attributes
    ----------
    name : str
        As in the tank folder.
    adds : dict of str to float
        What one mL (or gram) adds, by element: mg, alkalinity in meq.
    unit : {"mL", "g"}
        What ``adds`` is per.
    delivered_over_set : Delivered
        Pump: delivered volume over set volume, value and standard uncertainty (no unit).
    strength_u : float
        Relative standard uncertainty of ``adds`` (no unit).
    container_L : float or None
        Size of the container (L).
    limits : dict of str to float
        As typed: ``mL_per_day``, ``mL_per_dose``, ``step_mL`` (mL), or with ``g`` for a dry one.
    keep_apart : tuple of str
        Supplements never dosed at the same time nor kept in one container.
    linked : dict of str to float
        Supplements dosed in a fixed ratio to this one (no unit).
    lag_days : float
        Days until the alkalinity appears.
    hazards : tuple of str
        Cautions, in plain words.
    dissolved_salt_mg : float or None
        Dissolved salt that one mL (or gram) brings (mg); None where only a label is known.
    assumed : tuple of str
        What the folder did not say and what was taken instead, in sentences.
    recipe : tuple of RecipeLine
        Its salts; empty where only a label is known.
    """

    name: str
    adds: dict[str, float]
    unit: str = "mL"
    delivered_over_set: Delivered = _UNMEASURED
    strength_u: float = LABEL_STRENGTH_U
    container_L: float | None = None
    limits: dict[str, float] = field(default_factory=dict)
    keep_apart: tuple[str, ...] = ()
    linked: dict[str, float] = field(default_factory=dict)
    lag_days: float = 0.0
    hazards: tuple[str, ...] = (LABEL_FIRST,)
    dissolved_salt_mg: float | None = None
    assumed: tuple[str, ...] = ()
    recipe: tuple[RecipeLine, ...] = ()


def supplement_from_table(name: str, table: Mapping[str, Any], where: str = "") -> Supplement:
    """Return the supplement that a ``[supplement.NAME]`` table of TOML describes.

    Recipe: Σ grams per litre × what a gram adds / 1000. Label: rise × litres / amount.

    Parameters
    ----------
    name : str
        Name of the supplement.
    table : mapping
        Keys ``recipe`` or ``label``, and ``delivered_over_set``, ``strength_u``, ``container_L``,
        ``limits``, ``keep_apart``, ``linked``, ``lag_days``, ``hazards``.
    where : str, optional
        File, for messages; the table's name is added.

    Returns
    -------
    Supplement
        Strengths in mg or meq per mL or gram; what was assumed stands in ``assumed``.

    Raises
    ------
    InputError
        For an unknown key (a typo would change a result), a missing or impossible value, salts
        that fall out together, or both or neither of recipe and label.
    UnitError, NumberError
        If a unit or a number cannot be read.

    Notes
    -----
    A recipe is grams made up to one litre at room temperature. The solubility is not checked here.

    Examples
    --------
    >>> stock = supplement_from_table("soda", {"recipe": [{"salt": "sodium carbonate", "hydrate": 0,
    ...     "assay": 0.995, "grams_per_L": 60.0}], "strength_u": 0.02, "container_L": 5.0})
    >>> round(stock.adds["alkalinity"], 4), stock.unit
    (1.1265, 'mL')
    >>> typed = supplement_from_table("calcium", {"label": {"amount": 10, "unit": "mL",
    ...     "litres": 100, "raises": {"calcium": "3.5 mg/L"}}})
    >>> typed.adds
    {'calcium': 35.0}
    >>> typed.assumed[0]
    'delivered_over_set is not written: 1.00 ± 0.04 is assumed; measure the pump into a cylinder.'
    """
    place = f"{where}, supplement.{name}".removeprefix(", ")
    only_keys(table, _KEYS, place)
    if ("recipe" in table) == ("label" in table):
        given = "both" if "recipe" in table else "neither"
        raise InputError("either a recipe or a label", given, "Write one of the two.", place)
    assumed: list[str] = []
    read: ReadRecipe | None = None
    if "recipe" in table:
        read = read_recipe(table["recipe"], f"{place}, recipe")
        adds, unit = read.adds, "mL"
    else:
        adds, unit = _from_label(table_in(table["label"], f"{place}, label"), f"{place}, label")
    delayed = read is not None and read.delayed
    delivered = _UNMEASURED
    if "delivered_over_set" in table:
        part = f"{place}, delivered_over_set"
        pair = table_in(table["delivered_over_set"], part)
        only_keys(pair, ("value", "u"), part)
        delivered = Delivered(number_in(pair, "value", part), number_in(pair, "u", part, 0.0))
        if not 0.3 < delivered.value < 3.0:
            raise InputError("delivered over set near 1", delivered.value, "94 % is 0.94.", part)
    else:
        assumed.append(
            f"delivered_over_set is not written: 1.00 ± {UNMEASURED_DELIVERY_U:.2f} is assumed; "
            "measure the pump into a cylinder."
        )
    strength_u = RECIPE_STRENGTH_U if read else LABEL_STRENGTH_U
    if "strength_u" in table:
        strength_u = number_in(table, "strength_u", place, 0.0, 1.0)
    else:
        assumed.append(f"strength_u is not written: {strength_u:.2f} of the strength is assumed.")
    lag_days = DELAYED_DAYS if delayed else 0.0
    if "lag_days" in table:
        lag_days = number_in(table, "lag_days", place, 0.0, 60.0)
    elif delayed:
        assumed.append(f"lag_days is not written: {DELAYED_DAYS:g} day until the alkalinity shows.")
    return Supplement(
        name,
        adds,
        unit,
        delivered,
        strength_u,
        number_in(table, "container_L", place) if "container_L" in table else None,
        numbers_in(table, "limits", place, (f"{unit}_per_day", f"{unit}_per_dose", f"step_{unit}")),
        texts_in(table, "keep_apart", place),
        numbers_in(table, "linked", place),
        lag_days,
        (*texts_in(table, "hazards", place), *(read.hazards if read else ()), LABEL_FIRST),
        read.dissolved_salt_mg if read else None,
        tuple(assumed),
        read.lines if read else (),
    )


def _from_label(label: Mapping[str, Any], where: str) -> tuple[dict[str, float], str]:
    """Return what a mL or gram adds, and which of the two."""
    only_keys(label, ("amount", "unit", "litres", "raises"), where)
    amount, litres = number_in(label, "amount", where), number_in(label, "litres", where)
    typed_unit = str(label.get("unit", "")).strip()
    unit = next((own for own, words in _TO_OWN_UNIT.items() if typed_unit in words), "")
    if not unit:
        raise _no_amount_unit("mL, L, g or kg", typed_unit, f"{where}, unit")
    amount *= _TO_OWN_UNIT[unit][typed_unit]
    raises = table_in(label.get("raises"), f"{where}, raises")
    if not raises:
        raise InputError(
            "what it raises", "nothing", "Write raises = { alkalinity = “0.5 dKH” }.", where
        )
    adds = {}
    for typed, text in raises.items():
        place = f"{where}, raises {typed}"
        described = find_element(typed, place)
        if described.behaviour == "state":
            raise InputError(
                "an element that is added in an amount", typed, "Leave this line out.", place
            )
        number, _, word = str(text).strip().partition(" ")
        if not isinstance(text, str) or not word:
            raise InputError("a number and a unit", text, "Write it as “0.5 dKH”.", place)
        rise = convert(
            parse_number(number, place), word, described.store_unit, described.name, where=place
        )
        if rise <= 0.0:
            raise InputError("a rise above 0", text, "Check sign and number.", place)
        adds[described.name] = rise * litres / amount
    return adds, unit


def level_rise(
    supplement: Supplement, amount: float, unit: str, element: str, net_L: float, to_unit: str
) -> float:
    """Return by how much an amount of a supplement raises a level.

    Δ = amount·adds/V

    Parameters
    ----------
    supplement : Supplement
        What is dosed.
    amount : float
        Amount that reaches the water, in ``unit``; 0 or more. For a pump: set × delivered over set.
    unit : str
        mL or L for a liquid, g or kg for a dry one.
    element : str
        Element.
    net_L : float
        Net volume (L), above 0.
    to_unit : str
        Unit of the rise, per litre.

    Returns
    -------
    float
        Rise in ``to_unit``; 0 where the supplement does not add the element.

    Raises
    ------
    UnitError
        For drops, spoons, and any unit that does not fit the supplement.
    InputError
        If the amount is negative or the volume not above 0.

    Examples
    --------
    >>> stock = Supplement("calcium", {"calcium": 35.0})
    >>> round(level_rise(stock, 10.0, "mL", "calcium", 100.0, "mg/L"), 3)
    3.5
    """
    factor = _own_unit_factor(unit, supplement.unit, supplement.name)
    if not 0.0 <= amount < math.inf:
        raise InputError(
            "an amount of 0 or more", amount, "Check sign and number.", supplement.name
        )
    if not 0.0 < net_L < math.inf:
        raise InputError(
            "a net volume above 0 L", net_L, "Write the water's volume without rock and sand.", ""
        )
    described = find_element(element)
    rise = amount * factor * supplement.adds.get(described.name, 0.0) / net_L
    return convert(rise, described.store_unit, to_unit, described.name)


def _own_unit_factor(word: str, own: str, where: str) -> float:
    factor = _TO_OWN_UNIT[own].get(str(word).strip())
    if factor is None:
        raise _no_amount_unit("mL or L" if own == "mL" else "g or kg", str(word).strip(), where)
    return factor


def _no_amount_unit(needed: str, word: str, where: str) -> UnitError:
    small = word.casefold()
    if small.rstrip("s") in ("drop", "gtt"):
        repair = "Drops differ in size: count how many make 1 mL and write mL."
    elif "spoon" in small or small.rstrip("s") in ("tsp", "tbsp", "scoop", "cap", "capful"):
        repair = "Spoons and caps differ: weigh or measure one and write g or mL."
    elif any(word in words for words in _TO_OWN_UNIT.values()):
        repair = "This supplement is counted in the other kind of unit: a mL is not a gram."
    else:
        repair = "Write one of these units."
    return UnitError(needed, word, repair, where)
