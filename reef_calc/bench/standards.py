"""Test water of known strength: recipes by weight, dilutions and spikes, each with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pandas as pd

from reef_calc.bench.weighing import (
    budget_of,
    check_above_zero,
    check_not_negative,
    combined_u,
)
from reef_calc.chem.elements import element
from reef_calc.chem.salts import LABEL_FIRST, find_salt
from reef_calc.chem.seawater import absolute_from_practical_salinity, density_kg_per_L
from reef_calc.chem.substances import adds_per_gram, mass_for
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.numbers_in_words import decimals_for, fixed

# Salt, half-width of its purity (common practice, no source) and how to treat it (from memory).
_USUAL_SALTS: dict[str, tuple[str, float, str]] = {
    "alkalinity": (
        "sodium carbonate anhydrous", 0.005,
        "Use it dried: two hours at 250 °C, cooled in a closed jar. Damp powder gives weak water.",
    ),
    "calcium": (
        "calcium chloride dihydrate", 0.02,
        "Take it from a jar that was kept closed. It draws water and cannot be dried at home.",
    ),
    "magnesium": (
        "magnesium chloride hexahydrate", 0.02,
        "Take it from a jar that was kept closed. It draws water and cannot be dried at home.",
    ),
    "potassium": (
        "potassium chloride", 0.005, "Use it dried: two hours at 110 °C, cooled in a closed jar.",
    ),
    "nitrate": (
        "potassium nitrate", 0.005,
        "Use it dried: one day at 105 °C in clean glass, never on paper. Cool it in a closed jar.",
    ),
    "phosphate": (
        "potassium dihydrogen phosphate", 0.005,
        "Use it dried: one hour at 105 °C, cooled in a closed jar.",
    ),
}  # fmt: skip
_OTHER_HALF_WIDTH = 0.02
# Above this share of the mass the balance spoils the standard (common practice, no source).
_TOO_COARSE = 0.03
KEEP_SAFE = (
    "Label the bottle with its name, strength and date. Keep standards, nitrates and acids locked "
    "away, out of reach of children and animals. Test water never goes into the tank. An oven for "
    "salts is not for food. In a school the teacher's risk assessment and local rules come first."
)


@dataclass(frozen=True)
class StandardWater:
    """Test water of known strength.

    Attributes
    ----------
    element, unit : str
        What it is a standard for, and the unit of its level.
    level : float
        Level in ``unit``.
    u : float
        Standard uncertainty of the level in ``unit``.
    u_stock : float
        The part of ``u`` that all dilutions of one stock share, in ``unit``; 0 when weighed.
    volume_mL : float
        How much there is (mL).
    budget : pandas.DataFrame
        One row a source: value, u, sensitivity, contribution (in ``unit``) and share of u².
    steps, cautions : tuple of str
        How to make it, and what to take care of.
    """

    element: str
    unit: str
    level: float
    u: float
    u_stock: float
    volume_mL: float
    budget: pd.DataFrame
    steps: tuple[str, ...]
    cautions: tuple[str, ...]


def weighed_standard(
    name: str,
    level: float,
    unit: str,
    flask_mL: float,
    *,
    u_balance_g: float,
    u_flask_mL: float,
    salt: str | None = None,
    hydrate: int | None = None,
    mass_g: float | None = None,
    purity: float = 1.0,
    purity_half_width: float | None = None,
    matching_salinity: float | None = None,
    blank: float = 0.0,
    u_blank: float = 0.0,
) -> StandardWater:
    """Return the recipe of a standard made by weight, with its level and uncertainty.

    C = 1000·m·P·a/V + blank; u² = Σ (sensitivity·u)²

    Parameters
    ----------
    name : str
        Element.
    level : float
        Wanted level in ``unit``; the level reached when ``mass_g`` is not given.
    unit : str
        Unit of the level, per litre.
    flask_mL : float
        Volume of the flask (mL).
    u_balance_g : float
        Standard uncertainty of the mass (g); see ``u_of_weighing``.
    u_flask_mL : float
        Standard uncertainty of the volume (mL); see ``u_of_flask``.
    salt : str, optional
        Salt; when not given the usual one of the element.
    hydrate : int, optional
        Molecules of water per formula.
    mass_g : float, optional
        What was really weighed (g); the level then follows from it.
    purity, purity_half_width : float, optional
        Share of the mass that is the salt, and ± how much (no unit; rectangular).
    matching_salinity : float, optional
        Practical salinity of the sodium chloride solution (no unit); purified water when not given.
    blank, u_blank : float, optional
        What the water itself holds of the element, in ``unit``, and its standard uncertainty.

    Returns
    -------
    StandardWater
        Level and uncertainty in ``unit``; mass and volumes in the steps.

    Raises
    ------
    InputError
        If the salt does not hold the element, a number cannot be used, or the mass is too small
        for the balance.

    Notes
    -----
    Sodium chloride is no sea water: other ions are missing, and a kit may read it differently.
    Its salt is matched by mass, not by ionic strength. Molar masses are taken as exact.

    Examples
    --------
    >>> water = weighed_standard("potassium", 400.0, "mg/L", 1000.0, u_balance_g=0.001,
    ...                          u_flask_mL=0.6)
    >>> round(water.level, 1), round(water.u, 2), water.steps[1]
    (400.0, 1.3, 'Weigh 0.763 g of potassium chloride.')

    References
    ----------
    Eurachem/CITAC (2012), example A1.
    """
    described = element(name)
    check_above_zero("the volume of the flask (mL)", flask_mL)
    for label, one in (
        ("the uncertainty of the balance (g)", u_balance_g),
        ("the uncertainty of the flask (mL)", u_flask_mL),
        ("the blank", blank),
        ("the uncertainty of the blank", u_blank),
    ):
        check_not_negative(label, one)
    usual, half_width, drying = _USUAL_SALTS.get(described.name, ("", _OTHER_HALF_WIDTH, ""))
    if salt is None and not usual:
        raise InputError(
            f"a salt for {described.name} (there is no usual one)", "nothing", "Name the salt."
        )
    found = find_salt(salt or usual, hydrate)
    if found.name != usual:
        half_width, drying = _OTHER_HALF_WIDTH, "Do not heat it; use a fresh, closed jar."
    half_width = half_width if purity_half_width is None else purity_half_width
    check_not_negative("the half-width of the purity", half_width)
    if not (math.isfinite(level) and level > blank):
        raise InputError(
            f"a level above what the water itself holds ({blank:g} {unit})",
            level,
            "Choose a higher level or purer water.",
        )
    wanted = mass_for(
        found.name, described.name, level - blank, unit, flask_mL / 1000.0,
        hydrate=found.hydrate, assay=purity,
    )  # fmt: skip
    mass = wanted if mass_g is None else mass_g
    check_above_zero("a mass of salt (g)", mass)
    if u_balance_g > _TOO_COARSE * mass:
        raise InputError(
            f"a mass the balance can weigh (± {u_balance_g:g} g is more than 3 % of it)",
            f"{mass:.4g} g",
            "Weigh for a stock 10 to 1000 times stronger and dilute it, or use a larger flask.",
        )
    per_gram = adds_per_gram(found.name, hydrate=found.hydrate, assay=purity)[described.name]
    scale = convert(1.0, described.store_unit, unit, described.name)
    added = per_gram * mass / (flask_mL / 1000.0) * scale
    budget = budget_of(
        {
            "mass of salt, g": (mass, u_balance_g, added / mass),
            "purity, share": (purity, half_width / math.sqrt(3), added / purity),
            "volume of flask, mL": (flask_mL, u_flask_mL, -added / flask_mL),
            f"the water itself, {unit}": (blank, u_blank, 1.0),
        }
    )
    steps = [drying] if drying else []
    weighing = decimals_for(u_balance_g) if u_balance_g > 0 else 4
    steps.append(f"Weigh {fixed(mass, weighing)} g of {found.name}.")
    if matching_salinity is not None:
        litres = flask_mL / 1000.0
        sodium_chloride = sodium_chloride_g_per_L(matching_salinity) * litres
        steps.append(f"Weigh {fixed(sodium_chloride, 1)} g of sodium chloride without additives.")
        steps.append("Read the same sodium chloride solution without the salt: that is the blank.")
    steps.append(
        f"Dissolve in purified water and fill to the mark of {flask_mL:g} mL near 20 °C. Mix."
    )
    cautions = (LABEL_FIRST, f"{found.name}: {found.hazard}.", KEEP_SAFE)
    return StandardWater(
        described.name, unit, added + blank, combined_u(budget), 0.0, flask_mL, budget,
        tuple(steps), cautions,
    )  # fmt: skip


def sodium_chloride_g_per_L(salinity: float, temperature_C: float = 20.0) -> float:
    """Return how much sodium chloride a litre needs to hold the salt of sea water, by mass.

    m = S_A·ρ(S, t)

    Parameters
    ----------
    salinity : float
        Practical salinity to match (no unit), 0–42.
    temperature_C : float, optional
        Temperature of the solution (°C).

    Returns
    -------
    float
        Grams per litre.

    Raises
    ------
    InputError
        Outside the range of the salinity scale.

    Notes
    -----
    The density of sea water stands for that of the solution; that is right to about 0.2 %.

    Examples
    --------
    >>> round(sodium_chloride_g_per_L(35.0), 1)
    36.0

    References
    ----------
    Density: IOC, SCOR and IAPSO (2010). Matching by mass: *common practice, no source*.
    """
    absolute = float(absolute_from_practical_salinity(salinity))
    return absolute * float(density_kg_per_L(salinity, temperature_C))
