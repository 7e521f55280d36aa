"""Sea water of reference composition, and levels put on another salinity."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import NamedTuple

import numpy as np

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.elements import element as find_element
from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.seawater import (
    Number,
    absolute_from_practical_salinity,
    check_within,
    density_kg_per_L,
    plain_number,
)
from reef_calc.errors import InputError

# Charge that each species carries into the alkalinity (zero level of protons, Dickson 1981).
_ALKALINITY = {"HCO3": 1, "CO3": 2, "B(OH)4": 1, "OH": 1}


@dataclass(frozen=True)
class ReferenceLevel:
    """Level of one element in sea water of reference composition.

    Attributes
    ----------
    mmol_per_kg : float
        Amount (mmol/kg; alkalinity: meq/kg).
    mg_per_kg, mg_per_L : float or None
        Mass per kilogram and per litre; None for alkalinity.
    meq_per_L : float or None
        Alkalinity only (meq/L).
    """

    mmol_per_kg: float
    mg_per_kg: float | None
    mg_per_L: float | None
    meq_per_L: float | None = None


class _Species(NamedTuple):
    name: str
    mole_fraction: float
    molar_mass: float


@cache
def _species() -> dict[str, _Species]:
    """Return the species of the reference composition by formula."""
    path = files("reef_calc.chem") / "data" / "reference_seawater.csv"
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return {
        row["species"]: _Species(
            row["name"], int(row["mole_fraction_e7"]) * 1e-7, float(row["molar_mass"])
        )
        for row in rows
    }


def mean_molar_mass_of_sea_salt() -> float:
    """Return the mean molar mass of the salt in sea water of reference composition.

    M = Σ X·M(species)

    Returns
    -------
    float
        Mean molar mass (g/mol).

    Examples
    --------
    >>> round(mean_molar_mass_of_sea_salt(), 7)
    31.4038218

    References
    ----------
    Millero, Feistel, Wright and McDougall (2008), Deep-Sea Research I 55, 50, table 4, with the
    atomic weights of 2005 that define it: both from memory, checked against the published mass
    fractions.
    """
    return sum(one.mole_fraction * one.molar_mass for one in _species().values())


def reference_levels(
    salinity: float = 35.0, temperature_C: float = 25.0
) -> dict[str, ReferenceLevel]:
    """Return the levels of sea water of reference composition at a salinity.

    mmol/kg = X·S_A·1000/M(salt); everything is taken to follow salinity.

    Parameters
    ----------
    salinity : float, optional
        Practical salinity (no unit), 0–42.
    temperature_C : float, optional
        Temperature of the litre (°C).

    Returns
    -------
    dict of str to ReferenceLevel
        By element of the closed list; alkalinity is counted in meq.

    Raises
    ------
    InputError
        If salinity or temperature lies outside the range.

    Notes
    -----
    Alkalinity, carbonate and boron species of real water differ with its carbon dioxide. Corals
    do not need reference water: this is a yardstick.

    Examples
    --------
    >>> calcium = reference_levels()["calcium"]
    >>> round(calcium.mmol_per_kg, 2), round(calcium.mg_per_kg, 1), round(calcium.mg_per_L, 1)
    (10.28, 412.1, 421.7)

    References
    ----------
    Millero et al. (2008), Deep-Sea Research I 55, 50, table 4.
    """
    density = density_kg_per_L(salinity, temperature_C)
    salt = 1000.0 * absolute_from_practical_salinity(salinity) / mean_molar_mass_of_sea_salt()
    amounts = {formula: one.mole_fraction * salt for formula, one in _species().items()}
    levels = {}
    for formula, one in _species().items():
        # Carbon and boron species shift with pH: only their sums are levels of an element.
        if one.name in ELEMENTS:
            mass = amounts[formula] * one.molar_mass
            levels[one.name] = ReferenceLevel(amounts[formula], mass, mass * density)
    boron = amounts["B(OH)3"] + amounts["B(OH)4"]
    mass = boron * molar_mass("B")
    levels["boron"] = ReferenceLevel(boron, mass, mass * density)
    charge = sum(amounts[formula] * count for formula, count in _ALKALINITY.items())
    levels["alkalinity"] = ReferenceLevel(charge, None, None, charge * density)
    return levels


@dataclass(frozen=True)
class NormalisedLevel:
    """A level as it would be at another salinity; shown beside the measured one.

    Attributes
    ----------
    naive : float or numpy.ndarray
        By the ratio of salinities alone, unit of the level.
    density_corrected : float or numpy.ndarray
        Also by the ratio of densities, unit of the level.
    """

    naive: Number
    density_corrected: Number


def normalise_level(
    level: Number,
    element: str,
    salinity: Number,
    *,
    to_salinity: float = 35.0,
    temperature_C: float = 25.0,
) -> NormalisedLevel:
    """Return a level per litre as it would be at another salinity.

    naive = X·S₀/S; corrected = X·(S₀/S)·ρ(S₀)/ρ(S)

    Parameters
    ----------
    level : float or numpy.ndarray
        Level per litre of an element that follows salinity, any such unit.
    element : str
        Element of the closed list.
    salinity : float or numpy.ndarray
        Practical salinity of the sample (no unit), 5–42.
    to_salinity : float, optional
        Practical salinity to put it on (no unit), 5–42.
    temperature_C : float, optional
        Temperature of both (°C).

    Returns
    -------
    NormalisedLevel
        Both figures, in the unit of the level. Doses are not worked out on them in silence.

    Raises
    ------
    InputError
        If the element does not follow salinity, or a number lies outside the range.

    Examples
    --------
    >>> scaled = normalise_level(400.0, "calcium", 33.0)
    >>> round(scaled.naive, 2), round(scaled.density_corrected, 2)
    (424.24, 424.87)

    References
    ----------
    Definition; densities of TEOS-10.
    """
    described = find_element(element)
    if not described.scales_with_salinity:
        raise InputError(
            "an element that follows salinity",
            described.name,
            "Read this one as it is: living things change it faster than evaporation does.",
        )
    for number in (salinity, to_salinity):
        check_within(number, 5.0, 42.0, "a practical salinity", "Check the unit of the reading.")
    naive = np.asarray(level, dtype=float) * to_salinity / np.asarray(salinity, dtype=float)
    densities = density_kg_per_L(to_salinity, temperature_C) / density_kg_per_L(
        salinity, temperature_C
    )
    return NormalisedLevel(plain_number(naive), plain_number(naive * densities))
