"""Test water of known strength: recipes by weight, dilutions and spikes, each with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pandas as pd

from reef_calc.bench.standard_salts import care_of, check_dissolves, standard_salts
from reef_calc.bench.weighing import (
    budget_of,
    check_above_zero,
    check_not_negative,
    combined_u,
)
from reef_calc.chem.elements import element
from reef_calc.chem.salts import LABEL_FIRST, Salt, find_salt
from reef_calc.chem.seawater import absolute_from_practical_salinity, density_kg_per_L
from reef_calc.chem.substances import adds_per_gram, mass_for
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.numbers_in_words import decimals_for, fixed

# Above this share of the mass the balance spoils the standard (common practice, no source).
_TOO_COARSE = 0.03
KEEP_SAFE = (
    "Label the bottle with its name, strength and date. Keep standards, nitrates and acids locked "
    "away, out of reach of children and animals. Test water never goes into the tank, and nobody "
    "drinks it. An oven for salts is not for food. In a school the teacher's risk assessment and "
    "local rules come first."
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
        If the salt does not hold the element, a number cannot be used, the mass is too small for
        the balance, or more is asked for than dissolves.

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
    if salt is None:
        cared = standard_salts(described.name)[0]
    else:
        cared = care_of(find_salt(salt, hydrate))
    found = cared.salt
    half_width = cared.half_width if purity_half_width is None else purity_half_width
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
    check_dissolves(found, mass, flask_mL)
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
    steps = [cared.drying]
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
    cautions = (LABEL_FIRST, hazard_of(found), KEEP_SAFE)
    return StandardWater(
        described.name, unit, added + blank, combined_u(budget), 0.0, flask_mL, budget,
        tuple(steps), cautions,
    )  # fmt: skip


def hazard_of(salt: Salt) -> str:
    """Return what is dangerous about a salt, in a sentence.

    Parameters
    ----------
    salt : Salt
        The salt.

    Returns
    -------
    str
        What the tables know of its hazard, and what to keep it away from.

    Examples
    --------
    >>> hazard_of(find_salt("potassium sulfate"))
    'Potassium sulfate: not classified as dangerous. Keep it away from calcium, strontium, barium.'
    """
    hazard = salt.hazard.replace("not classified", "not classified as dangerous")
    hot = [part for part in salt.assay_note.split("; ") if "gets hot" in part]
    sentence = f"{salt.name[:1].upper()}{salt.name[1:]}: {'; '.join((hazard, *hot))}."
    apart = ", ".join(salt.never_with)
    return f"{sentence} Keep it away from {apart}." if apart else sentence


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
