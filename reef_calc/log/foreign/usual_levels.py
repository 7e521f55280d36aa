"""What reef tanks usually hold, and scales on which levels are compared as ratios."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.units import convert
from reef_calc.errors import InputError

Floats = NDArray[np.float64]
# The trade states whole salts and gravities at this salinity; only per-kilogram units feel it.
_SALINITY, _WARMTH_C = 35.0, 25.0


@dataclass(frozen=True)
class Usual:
    """What tanks usually hold of one element.

    Attributes
    ----------
    low, high : float
        Ends, in the unit of ``usual_range``; wide on purpose.
    jump : float
        Largest ratio of a reading to those around it that is still no surprise.
    """

    low: float
    high: float
    jump: float


# In display units. *Common practice, no source*: the aims of the trade, widened by about a third.
# Nutrients and traces are absent: they differ a hundredfold from one healthy tank to another.
_USUAL = {
    "alkalinity": Usual(4.6, 15.0, 1.35),
    "calcium": Usual(300.0, 600.0, 1.25),
    "magnesium": Usual(900.0, 1800.0, 1.25),
    "potassium": Usual(280.0, 560.0, 1.25),
    "strontium": Usual(3.0, 20.0, 1.6),
    "boron": Usual(2.0, 10.0, 1.5),
    "bromide": Usual(40.0, 110.0, 1.4),
    "fluoride": Usual(0.6, 2.5, 1.5),
    "sulfate": Usual(1800.0, 3800.0, 1.3),
    "chloride": Usual(14000.0, 25000.0, 1.2),
    "sodium": Usual(8000.0, 14000.0, 1.2),
    "salinity": Usual(22.0, 41.0, 1.2),
    "temperature": Usual(17.0, 33.0, 1.2),
    "pH": Usual(7.0, 9.0, 1.08),
}


def is_gravity(unit: str) -> bool:
    """Return whether a unit counts from the density of pure water, so that ratios mean nothing.

    Parameters
    ----------
    unit : str
        Unit word of salinity.

    Returns
    -------
    bool
        True for specific gravities and densities.

    Examples
    --------
    >>> is_gravity("SG 25/25"), is_gravity("PSU")
    (True, False)
    """
    return unit.startswith(("SG", "g/cm3"))


@cache
def usual_range(
    name: str, unit: str, low: float = math.nan, high: float = math.nan
) -> Usual | None:
    """Return what tanks usually hold of an element, in a unit of it.

    Parameters
    ----------
    name : str
        Element of the closed list.
    unit : str
        Unit word of the element; empty for the usual one.
    low, high : float, optional
        Aims of this tank (display unit) that widen the range; left out where they are far from it,
        because then their unit is another.

    Returns
    -------
    Usual or None
        None for what has no usual level, and for what is not in the closed list.

    Examples
    --------
    >>> found = usual_range("alkalinity", "meq/L")
    >>> round(found.low, 2), round(found.high, 2)
    (1.64, 5.35)
    >>> usual_range("nitrate", "mg/L") is None
    True
    """
    usual = _USUAL.get(name)
    if usual is None:
        return None
    start, end = usual.low, usual.high
    if start < low * usual.jump and high < end * usual.jump:
        start, end = min(start, low), max(end, high)
    ends = [in_unit(one, "", unit, name) for one in (start, end)]
    if not all(map(math.isfinite, ends)):
        return None
    return Usual(min(ends), max(ends), usual.jump)


def in_unit(value: float, start: str, end: str, name: str) -> float:
    """Return a level in another unit of water as tanks have it, NaN where there is none.

    Parameters
    ----------
    value : float
        Level in ``start``.
    start, end : str
        Unit words of the element; empty for the usual one.
    name : str
        Element of the closed list.

    Returns
    -------
    float
        Level in ``end``.

    Examples
    --------
    >>> in_unit(77.0, "°F", "°C", "temperature"), in_unit(500.0, "PSU", "SG 25/25", "salinity")
    (25.0, nan)
    """
    usual = ELEMENTS[name].display_unit
    try:
        return float(
            convert(
                value, start or usual, end or usual, name,
                salinity=_SALINITY, temperature_C=_WARMTH_C,
            )
        )  # fmt: skip
    except InputError:
        return math.nan


def on_ratio_scale(values: Floats, unit: str) -> Floats:
    """Return logarithms whose differences are ratios of what is dissolved.

    y = ln x; of gravities y = ln(1000·(x − 1)).

    Parameters
    ----------
    values : numpy.ndarray
        Levels (unit), any shape.
    unit : str
        Unit word.

    Returns
    -------
    numpy.ndarray
        Logarithms (no unit); NaN where nothing is dissolved.

    Examples
    --------
    >>> on_ratio_scale(np.array([1.0, 0.0]), "mg/L").tolist()
    [0.0, nan]
    """
    shifted = 1000.0 * (values - 1.0) if is_gravity(unit) else values
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(shifted > 0, np.log(np.where(shifted > 0, shifted, 1.0)), np.nan)
