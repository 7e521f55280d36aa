"""Limewater: how strong it is by temperature, what a litre adds, how much of a demand it covers."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from reef_calc.chem.elements import element as find_element
from reef_calc.chem.recipe_lines import RecipeLine
from reef_calc.chem.salts import LABEL_FIRST, find_salt
from reef_calc.chem.substances import adds_per_gram
from reef_calc.chem.supplements import Delivered, Supplement, level_rise
from reef_calc.chem.units import convert
from reef_calc.errors import InputError

SALT = "calcium hydroxide"
# g/L of saturated solution: 0.165 g/100 g at 20 °C and 0.141 at 40 °C with the density of water at
# that temperature, 1.5 g/L at 25 °C (all PUBLISHED; the two sources differ by 5 % between 20 and 25).
# At 5 °C the line of 20 and 40 °C carried on, which handbook values fit within 2 % (MEMORY).
_POINTS_C = (5.0, 20.0, 25.0, 40.0)
_POINTS_G_PER_L = (1.83, 1.647, 1.5, 1.399)
# Two sources, a skin of carbonate, a reservoir not quite saturated: common practice, no source.
STRENGTH_U = 0.08
COLDEST_C, WARMEST_C = _POINTS_C[0], _POINTS_C[-1]
# More than this is milk of lime: lumps that go on dissolving in the tank.
STRONGEST_G_PER_L = 1.9


@dataclass(frozen=True)
class LimewaterShare:
    """How much of a demand limewater covers.

    Attributes
    ----------
    most_per_day : float
        What all of the evaporated water as limewater brings (unit of the demand, a day).
    covered : float
        What it brings of the demand (unit a day).
    short : float
        What another supplement must bring (unit a day); 0 where limewater does.
    share_of_strength : float
        Strength of the top-off water that covers the demand, of full strength (no unit); 1 at most.
    litres_per_day : float
        Or: limewater of full strength (L a day); the rest of the evaporation is topped off with
        fresh water.
    """

    most_per_day: float
    covered: float
    short: float
    share_of_strength: float
    litres_per_day: float


def limewater_g_per_L(temperature_C: float) -> float:
    """Return the calcium hydroxide in a litre of saturated, clear limewater.

    Straight lines through 1.647 g/L at 20 °C, 1.5 at 25 °C and 1.399 at 40 °C.

    Parameters
    ----------
    temperature_C : float
        Temperature at which it stood over the solid (°C), 5–40.

    Returns
    -------
    float
        Strength (g/L).

    Raises
    ------
    InputError
        If the temperature lies outside 5–40 °C.

    Notes
    -----
    It dissolves less when warm. Air turns it into inert carbonate: a skin, and weaker water. Below
    20 °C from memory.

    Examples
    --------
    >>> limewater_g_per_L(25.0), round(limewater_g_per_L(20.0), 2)
    (1.5, 1.65)

    References
    ----------
    Seidell and Linke, Solubilities of Inorganic Compounds (1.5 g/L at 25 °C, quoted by an
    encyclopaedia); 0.165 and 0.141 g per 100 g at 20 and 40 °C: published, source not at hand.
    """
    if not (math.isfinite(temperature_C) and COLDEST_C <= temperature_C <= WARMEST_C):
        raise InputError(
            f"a temperature of {COLDEST_C:g} to {WARMEST_C:g} °C",
            temperature_C,
            "Measure the reservoir.",
            "Limewater",
        )
    return float(np.interp(temperature_C, _POINTS_C, _POINTS_G_PER_L))


def limewater(
    temperature_C: float = 25.0,
    *,
    name: str = "limewater",
    evaporation_L_per_day: float | None = None,
    g_per_L: float | None = None,
    container_L: float | None = None,
    delivered_over_set: Delivered | None = None,
) -> Supplement:
    """Return limewater as a supplement; no more of it can be given than evaporates.

    Parameters
    ----------
    temperature_C : float, optional
        Temperature of the reservoir (°C), 5–40.
    name : str, optional
        Name.
    evaporation_L_per_day : float, optional
        What evaporates and is replaced by limewater (L a day): its largest amount a day.
    g_per_L : float, optional
        Strength, where it is known (g/L); saturated when not given.
    container_L : float, optional
        Size of the reservoir (L).
    delivered_over_set : Delivered, optional
        What the top-off pump gives over what it is set to (no unit), measured.

    Returns
    -------
    Supplement
        Per mL, alkalinity (meq) and calcium (mg).

    Raises
    ------
    InputError
        If evaporation is not above 0, or the strength is more than dissolves.

    Notes
    -----
    Clear part only. A mL of milk of lime holds many times as much, and a stirred reservoir gives it.

    Examples
    --------
    >>> lime = limewater(evaporation_L_per_day=4.0)
    >>> {name: round(amount, 4) for name, amount in lime.adds.items()}, lime.limits
    ({'alkalinity': 0.0405, 'calcium': 0.8114}, {'mL_per_day': 4000.0})
    """
    if evaporation_L_per_day is not None and not 0.0 < evaporation_L_per_day < math.inf:
        raise InputError(
            "an evaporation above 0 L a day", evaporation_L_per_day,
            "Mark the reservoir and measure a few days.", name,
        )  # fmt: skip
    saturated = limewater_g_per_L(temperature_C)
    strength = saturated if g_per_L is None else g_per_L
    if not 0.0 < strength <= STRONGEST_G_PER_L:
        raise InputError(
            f"a strength above 0 and up to {STRONGEST_G_PER_L:g} g/L",
            f"{strength} g/L",
            f"About {saturated:.2g} g/L is all that dissolves at {temperature_C:g} °C. The rest lies "
            "at the bottom and must stay there.",
            name,
        )
    assumed = [
        f"{strength:.3g} g/L of clear limewater"
        + (f", saturated at {temperature_C:g} °C, is assumed" if g_per_L is None else " as typed")
        + f"; ± {200 * STRENGTH_U:.0f} % is allowed for."
    ]
    if g_per_L is not None and g_per_L > 1.1 * saturated:
        assumed.append(
            f"At {temperature_C:g} °C only about {saturated:.2g} g/L dissolves: the typed strength "
            "is more than clear limewater holds."
        )
    if delivered_over_set is None:
        assumed.append(
            "delivered_over_set is not written: what evaporates is taken to be what is given."
        )
    salt = find_salt(SALT)
    per_gram = adds_per_gram(SALT)
    return Supplement(
        name,
        {element: amount * strength / 1000.0 for element, amount in per_gram.items()},
        "mL",
        delivered_over_set or Delivered(1.0, 0.04),
        STRENGTH_U,
        container_L,
        {} if evaporation_L_per_day is None else {"mL_per_day": 1000.0 * evaporation_L_per_day},
        hazards=(f"{salt.name}: {salt.hazard}", LABEL_FIRST),
        dissolved_salt_mg=strength,
        assumed=tuple(assumed),
        recipe=(RecipeLine(SALT, 0, 1.0, strength),),
    )


def demand_by_limewater(
    lime: Supplement, demand_per_day: float, unit: str, net_L: float, element: str = "alkalinity"
) -> LimewaterShare:
    """Return how much of a daily demand limewater covers, and how strong or how much it must be.

    most = (mL a day)·adds·delivered/V

    Parameters
    ----------
    lime : Supplement
        Limewater with its ``mL_per_day``.
    demand_per_day : float
        Use in ``unit`` a day, above 0.
    unit : str
        Unit of the use, per litre.
    net_L : float
        Net volume (L).
    element : str, optional
        Alkalinity or calcium.

    Returns
    -------
    LimewaterShare
        In the unit of the demand, a day.

    Raises
    ------
    InputError
        If a number is not above 0, or ``lime`` has no largest amount a day.

    Notes
    -----
    How much at once and how high the pH may go is another question: drip it, best at night.

    Examples
    --------
    >>> lime = limewater(evaporation_L_per_day=4.0, g_per_L=1.6)
    >>> found = demand_by_limewater(lime, 0.9, "dKH", 300.0)
    >>> round(found.most_per_day, 3), round(found.litres_per_day, 2), found.short
    (1.614, 2.23, 0.0)
    """
    if not 0.0 < demand_per_day < math.inf:
        raise InputError("a demand above 0", demand_per_day, "Estimate the use first.", lime.name)
    most_mL = lime.limits.get("mL_per_day", 0.0)
    described = find_element(element)
    if most_mL <= 0.0:
        raise InputError(
            "what evaporates (mL_per_day of its limits)", "nothing", "Type the evaporation.", lime.name
        )  # fmt: skip
    reaches = most_mL * lime.delivered_over_set.value
    most = level_rise(lime, reaches, "mL", described.name, net_L, unit)
    if most <= 0.0:
        raise InputError("alkalinity or calcium", element, "Choose one of these.", lime.name)
    part = min(1.0, demand_per_day / most)
    return LimewaterShare(
        most, most * part, max(0.0, demand_per_day - most), part, part * most_mL / 1000.0
    )


def rise_by_limewater(
    given_L: float, net_L: float, g_per_L: float, unit: str, element: str = "alkalinity"
) -> float:
    """Return by how much limewater raises a tank, however fast it runs in.

    Δ = litres·strength·(what a gram adds)/V

    Parameters
    ----------
    given_L : float
        Limewater (L), 0 or more; it replaces what has evaporated.
    net_L : float
        Net volume when topped off (L), above 0.
    g_per_L : float
        Strength (g/L).
    unit : str
        Unit of the rise, per litre.
    element : str, optional
        Alkalinity or calcium.

    Returns
    -------
    float
        Rise in ``unit``.

    Raises
    ------
    InputError
        If a number is negative, or the volume not above 0.

    Examples
    --------
    >>> round(rise_by_limewater(1.0, 100.0, 1.5, "dKH"), 4)
    1.1353
    >>> round(rise_by_limewater(20.0, 300.0, 1.6, "dKH"), 1)  # a reservoir that empties at once
    8.1
    """
    if not (0.0 <= given_L < math.inf and 0.0 < net_L < math.inf and 0.0 <= g_per_L < math.inf):
        raise InputError(
            "litres and a strength of 0 or more, and a net volume above 0 L",
            f"{given_L} L, {g_per_L} g/L, {net_L} L",
            "Check sign and number.",
            "Limewater",
        )
    described = find_element(element)
    rise = adds_per_gram(SALT).get(described.name, 0.0) * g_per_L * given_L / net_L
    return convert(rise, described.store_unit, unit, described.name)
