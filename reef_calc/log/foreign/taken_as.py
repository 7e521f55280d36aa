"""The same number taken as another quantity: in another unit of its element, or as another scale."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.foreign.usual_levels import in_unit

Floats = NDArray[np.float64]
# What numbers of an element are also written in: unit word, and what the number would be.
_OTHER_UNITS: dict[str, tuple[tuple[str, str], ...]] = {
    "alkalinity": (
        ("dKH", "dKH"),
        ("meq/L", "meq/L"),
        ("mg/L as CaCO3", "mg/L as CaCO3"),
        ("mg/L as HCO3", "mg/L as HCO3"),
        ("µeq/L", "µmol/L or µeq/L"),
    ),
    "calcium": (("mg/L", "mg/L of calcium"), ("mg/L as CaCO3", "mg/L as CaCO3"),
                ("mmol/L", "mmol/L")),
    "magnesium": (("mg/L", "mg/L of magnesium"), ("mg/L as CaCO3", "mg/L as CaCO3"),
                  ("mmol/L", "mmol/L")),
    "nitrate": (("mg/L", "mg/L of nitrate"), ("mg/L NO3-N", "nitrate-nitrogen"),
                ("µmol/L", "µmol/L")),
    "nitrite": (("mg/L", "mg/L of nitrite"), ("mg/L NO2-N", "nitrite-nitrogen")),
    "ammonia": (("mg/L", "mg/L of ammonia"), ("mg/L NH3-N", "ammonia-nitrogen")),
    "phosphate": (
        ("mg/L", "mg/L of phosphate"),
        ("mg/L P", "mg/L of phosphorus"),
        ("µg/L", "µg/L of phosphate"),
        ("µg/L P", "µg/L of phosphorus"),
    ),
    "strontium": (("mg/L", "mg/L"), ("µg/L", "µg/L")),
    "iodine": (("mg/L", "mg/L"), ("µg/L", "µg/L")),
    "boron": (("mg/L", "mg/L of boron"), ("mg/L H3BO3", "mg/L of boric acid"), ("µg/L", "µg/L")),
    "sulfate": (("mg/L", "mg/L of sulfate"), ("mg/L S", "mg/L of sulfur")),
    "salinity": (
        ("PSU", "a salinity"),
        ("SG 25/25", "a specific gravity or a density"),
        ("mS/cm at 25 °C", "mS/cm"),
    ),
    "temperature": (("°C", "°C"), ("°F", "°F")),
}  # fmt: skip
# Salinities at which the scales of salinity are worked out; between them they are nearly straight.
_GRID = np.linspace(0.0, 42.0, 169)


@dataclass(frozen=True)
class TakenAs:
    """Numbers of a column taken in another unit.

    Attributes
    ----------
    word : str
        Unit they are taken in.
    words : str
        What they would be, as in "looks like …".
    levels : numpy.ndarray
        What that is in the unit of the column; NaN where it is nothing.
    """

    word: str
    words: str
    levels: Floats


def taken_as(values: Floats, name: str, unit: str) -> tuple[TakenAs, ...]:
    """Return numbers of a column taken in every other unit that they may have been written in.

    Parameters
    ----------
    values : numpy.ndarray, shape (n,)
        Numbers as they stand in the column.
    name : str
        Element of the closed list.
    unit : str
        Unit word of the column; empty for the usual one.

    Returns
    -------
    tuple of TakenAs
        In the column's unit; empty where nothing else is usual.

    Examples
    --------
    >>> [(t.words, round(float(t.levels[0]), 2)) for t in taken_as(np.array([2.9]), "alkalinity", "dKH")]
    ... # doctest: +NORMALIZE_WHITESPACE
    [('meq/L', 8.13), ('mg/L as CaCO3', 0.16), ('mg/L as HCO3', 0.13), ('µmol/L or µeq/L', 0.01)]
    """
    unit = unit or ELEMENTS[name].display_unit
    found = []
    for word, words in _OTHER_UNITS.get(name, ()):
        # The same scale under another name would explain nothing.
        alike = in_unit(1.0, word, unit, name) if name != "salinity" else math.nan
        if word == unit or abs(alike - 1.0) < 0.05 or _same_scale(word, unit):
            continue
        found.append(TakenAs(word, words, _levels(values, name, word, unit)))
    return tuple(found)


@cache
def unit_factors(name: str, unit: str) -> tuple[tuple[str, float], ...]:
    """Return by what factor levels change where another unit of an element takes over.

    Parameters
    ----------
    name : str
        Element of the closed list.
    unit : str
        Unit word of the column; empty for the usual one.

    Returns
    -------
    tuple of (str, float)
        What the numbers would be then, and their factor (no unit) to those before.

    Examples
    --------
    >>> [(words, round(factor, 3)) for words, factor in unit_factors("nitrate", "mg/L")]
    [('nitrate-nitrogen', 0.226), ('µmol/L', 16.128)]
    """
    if name in ("salinity", "temperature") or name not in ELEMENTS:
        return ()
    one = taken_as(np.array([1.0]), name, unit)
    return tuple((taken.words, 1.0 / float(taken.levels[0])) for taken in one)


def _same_scale(word: str, unit: str) -> bool:
    groups = (("SG", "g/cm3"), ("PSU", "g/kg"))
    return any(word.startswith(group) and unit.startswith(group) for group in groups)


def _levels(values: Floats, name: str, word: str, unit: str) -> Floats:
    if name != "salinity":
        zero, one = in_unit(0.0, word, unit, name), in_unit(1.0, word, unit, name)
        levels: Floats = zero + (one - zero) * values
        return levels
    here, there = _salinity_scale(word), _salinity_scale(unit)
    return np.interp(values, here, there, left=np.nan, right=np.nan)


@cache
def _salinity_scale(unit: str) -> Floats:
    try:
        return np.asarray(convert(_GRID, "PSU", unit, "salinity"), dtype=float)
    except InputError:
        return np.array([in_unit(float(one), "PSU", unit, "salinity") for one in _GRID])
