"""What a stock is for on a tank: what the plan gives, what is dosed now, what must not meet it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.salts import salts
from reef_calc.chem.solubility import ADVISED_SHARE
from reef_calc.chem.stock_solutions import StockSolution, stock_solution
from reef_calc.chem.stock_words import SaltPart
from reef_calc.chem.substances import clashes
from reef_calc.chem.supplements import Supplement, level_rise
from reef_calc.chem.units import convert
from reef_calc.log.tank import Tank
from reef_calc.plan.change_also import USED
from reef_calc.plan.dose_plan import DosePlan

_METALS, _ALKALINE = ("calcium", "magnesium", "strontium"), ("alkalinity",)


@dataclass(frozen=True)
class Need:
    """What a stock is for on this tank.

    Attributes
    ----------
    net_L : float
        Net volume (L).
    per_day : float or None
        What the tank is to get of the element a day (``unit``); None where it is not known.
    unit : str
        Unit of the level.
    words : str
        Where that comes from.
    """

    net_L: float
    per_day: float | None
    unit: str
    words: str = ""


def mL_per_day(stock: StockSolution, need: Need) -> float | None:
    """Return what a tank takes of a stock a day.

    Parameters
    ----------
    stock : StockSolution
        The stock.
    need : Need
        The tank and what it is to get.

    Returns
    -------
    float or None
        As set, with a pump that gives what it is set to (mL a day); None where it is not known.

    Examples
    --------
    >>> from reef_calc.chem.stock_solutions import stock_solution
    >>> from reef_calc.chem.stock_words import salt_part
    >>> soda = stock_solution("soda", [salt_part("soda ash")], 1.0, element="alkalinity",
    ...     rise=1.0, unit="dKH", amount_mL=150.0, litres=400.0)
    >>> round(mL_per_day(soda, Need(400.0, 1.2, "dKH")))
    180
    """
    if need.per_day is None or need.per_day <= 0.0:
        return None
    rise = level_rise(stock.supplement, 1.0, "mL", stock.element, need.net_L, need.unit)
    return need.per_day / rise


def need_of(tank: Tank, plan: DosePlan | None, element: str, at: pd.Timestamp) -> Need:
    """Return what a tank is to get of an element.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    plan : DosePlan or None
        Its plan.
    element : str
        Element.
    at : pandas.Timestamp
        The moment, for the volume.

    Returns
    -------
    Need
        With the supply of the plan, where there is one.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> need_of(example_tank(), None, "alkalinity", pd.Timestamp("2026-02-16", tz="UTC")).unit
    'dKH'
    """
    net = tank.water_at(at).net_L
    if plan is not None:
        rows = plan.summary
        for one in rows[rows["element"] == element].itertuples():
            if one.supply_planned > 0.0:
                return Need(net, float(one.supply_planned), str(one.unit), "as planned")
    aim = tank.aims.get(element)
    return Need(net, None, aim.unit if aim is not None else ELEMENTS[element].display_unit)


def dosed_elements(plan: DosePlan | None) -> tuple[str, ...]:
    """Return the elements that a plan doses and corals use, in its order.

    Parameters
    ----------
    plan : DosePlan or None
        The plan.

    Returns
    -------
    tuple of str
        Names; empty without a plan.

    Examples
    --------
    >>> dosed_elements(None)
    ()
    """
    if plan is None:
        return ()
    rows = plan.summary[plan.summary["supply_planned"] > 0.0]
    return tuple(name for name in rows["element"] if name in USED)


def _dosed_now(plan: DosePlan | None) -> list[tuple[Supplement, float]]:
    if plan is None:
        return []
    every = {**plan.supplements, **plan.kept}
    return [(every[name], amount) for name, amount in plan.set_now.items() if amount > 0.0]


def volumes_set(plan: DosePlan | None) -> dict[str, float]:
    """Return the volume that is set today of the container that brings most of each element.

    Parameters
    ----------
    plan : DosePlan or None
        The plan.

    Returns
    -------
    dict of str to float
        By element (mL a day).

    Examples
    --------
    >>> volumes_set(None)
    {}
    """
    found: dict[str, tuple[float, float]] = {}
    for one, amount in _dosed_now(plan):
        for element, adds in one.adds.items():
            if one.unit == "mL":
                found[element] = max(found.get(element, (0.0, 0.0)), (amount * adds, amount))
    return {element: amount for element, (_, amount) in found.items()}


def salts_in_use(plan: DosePlan | None, element: str) -> tuple[str, ...]:
    """Return the salts of what is dosed of an element now.

    Parameters
    ----------
    plan : DosePlan or None
        The plan.
    element : str
        Element.

    Returns
    -------
    tuple of str
        Full names; empty where nothing is dosed, or no recipe is known.

    Examples
    --------
    >>> salts_in_use(None, "alkalinity")
    ()
    """
    for one, _ in _dosed_now(plan):
        if one.adds.get(element, 0.0) > 0.0 and one.recipe:
            return tuple(line.salt for line in one.recipe)
    return ()


def container_in_use(plan: DosePlan | None, element: str) -> float | None:
    """Return the size of the container that an element is dosed from now.

    Parameters
    ----------
    plan : DosePlan or None
        The plan.
    element : str
        Element.

    Returns
    -------
    float or None
        Litres; None where nothing is dosed, or the size is not known.

    Examples
    --------
    >>> container_in_use(None, "alkalinity") is None
    True
    """
    for one, _ in _dosed_now(plan):
        if one.adds.get(element, 0.0) > 0.0 and one.container_L is not None:
            return one.container_L
    return None


def strongest_rise(parts: Sequence[SaltPart], element: str, unit: str, coldest_C: float) -> float:
    """Return by how much 1 mL of a stock at the advised share of saturation raises 100 L.

    Parameters
    ----------
    parts : sequence of SaltPart
        Salts of the recipe.
    element : str
        Element.
    unit : str
        Unit of the rise.
    coldest_C : float
        Coldest temperature of the container (°C).

    Returns
    -------
    float
        In ``unit``; infinite where no table holds how much dissolves.

    Examples
    --------
    >>> from reef_calc.chem.stock_words import salt_part
    >>> soda = [salt_part("sodium hydrogen carbonate")]
    >>> round(strongest_rise(soda, "alkalinity", "dKH", 20.0), 4)
    0.0175
    """
    # Far below saturation: what dissolves grows with the rise in proportion.
    tiny = convert(1e-6, ELEMENTS[element].store_unit, unit, element)
    weak = stock_solution(
        "stock", parts, 1.0, element=element, rise=tiny, unit=unit, coldest_C=coldest_C
    )
    share = weak.share_of_saturation
    return math.inf if share is None else tiny * ADVISED_SHARE / share


def clashing(held: Mapping[str, Supplement], new: Supplement) -> list[str]:
    """Return the supplements that fall out with another one, or may do so.

    Parameters
    ----------
    held : mapping of str to Supplement
        Supplements of the tank.
    new : Supplement
        The other one.

    Returns
    -------
    list of str
        Names; those known by label only are told apart by what they add.

    Examples
    --------
    >>> from reef_calc.chem.stock_solutions import stock_solution
    >>> from reef_calc.chem.stock_words import salt_part
    >>> from reef_calc.log.example import example_tank
    >>> lime = stock_solution("c", [salt_part("calcium chloride", 2)], 1.0, element="calcium",
    ...     rise=0.4, unit="mg/L")
    >>> clashing(example_tank().supplements, lime.supplement)
    ['part one']
    """
    found = []
    for name, one in held.items():
        if name == new.name:
            continue
        if one.recipe and new.recipe:
            if clashes([salts()[line.salt] for line in (*one.recipe, *new.recipe)]):
                found.append(name)
        elif (_adds(one, _METALS) and _adds(new, _ALKALINE)) or (
            _adds(one, _ALKALINE) and _adds(new, _METALS)
        ):
            found.append(name)
    return found


def _adds(one: Supplement, elements: Sequence[str]) -> bool:
    return any(one.adds.get(element, 0.0) > 0.0 for element in elements)
