"""The unit of numbers that have none, by what the water of a reef tank can hold."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.units import convert
from reef_calc.errors import InputError


@dataclass(frozen=True)
class Possible:
    """A unit that numbers without one may have.

    Attributes
    ----------
    unit : str
        Unit word.
    low, high : float
        Between these (in that unit) half of the numbers or more would have to lie.
    """

    unit: str
    low: float
    high: float


# *Common practice, no source*: what healthy and neglected reef tanks hold, in the units in use.
_SG = tuple(Possible(f"SG {pair}", 1.003, 1.04) for pair in (
    "20/20", "25/25", "60F/60F", "15/15", "25/20", "25/60F", "20/4", "25/4"))  # fmt: skip
_DENSITY = tuple(Possible(f"g/cm3 at {warmth} °C", 1.003, 1.04) for warmth in (20, 25))
POSSIBLE: dict[str, tuple[Possible, ...]] = {
    "alkalinity": (
        Possible("dKH", 2.0, 21.0), Possible("meq/L", 1.2, 5.75),
        Possible("mg/L as CaCO3", 50.0, 400.0), Possible("mg/L as HCO3", 60.0, 460.0),
        Possible("µmol/kg", 1000.0, 6000.0), Possible("µeq/L", 1000.0, 6000.0),
    ),
    "calcium": (
        Possible("mg/L", 150.0, 750.0), Possible("mg/L as CaCO3", 751.0, 1600.0),
        Possible("mmol/L", 4.0, 19.0),
    ),
    "magnesium": (
        Possible("mg/L", 400.0, 2300.0), Possible("mg/L as CaCO3", 2301.0, 8000.0),
        Possible("mmol/L", 20.0, 95.0),
    ),
    "potassium": (Possible("mg/L", 100.0, 800.0), Possible("mmol/L", 5.0, 20.0)),
    "strontium": (
        Possible("mg/L", 1.0, 40.0), Possible("µg/L", 1000.0, 40000.0),
        Possible("µmol/L", 41.0, 400.0),
    ),
    "iodine": (Possible("mg/L", 0.0, 1.0), Possible("µg/L", 1.0, 1000.0)),
    "nitrate": (
        Possible("mg/L", 0.0, 300.0), Possible("mg/L NO3-N", 0.0, 68.0),
    ),
    "nitrite": (Possible("mg/L", 0.0, 10.0), Possible("mg/L NO2-N", 0.0, 3.0),
                Possible("µg/L", 10.0, 10000.0)),
    "ammonia": (Possible("mg/L", 0.0, 10.0), Possible("mg/L NH4", 0.0, 10.0),
                Possible("mg/L NH3-N", 0.0, 8.0)),
    "phosphate": (
        Possible("mg/L", 0.0, 5.0), Possible("mg/L PO4-P", 0.0, 1.6),
        Possible("µg/L", 1.0, 5000.0), Possible("µg/L P", 1.0, 1600.0),
    ),
    "silicate": (Possible("mg/L", 0.0, 10.0), Possible("mg/L Si", 0.0, 5.0),
                 Possible("µg/L", 10.0, 10000.0), Possible("µg/L Si", 10.0, 5000.0)),
    "boron": (Possible("mg/L", 0.5, 15.0), Possible("mg/L H3BO3", 15.1, 90.0),
              Possible("µg/L", 500.0, 15000.0)),
    "bromide": (Possible("mg/L", 10.0, 200.0),),
    "fluoride": (Possible("mg/L", 0.1, 10.0), Possible("µg/L", 100.0, 10000.0)),
    "sulfate": (Possible("mg/L", 1300.0, 5000.0), Possible("mg/L S", 300.0, 1299.0)),
    "chloride": (Possible("mg/L", 5000.0, 30000.0),),
    "sodium": (Possible("mg/L", 3000.0, 18000.0),),
    "salinity": (
        Possible("PSU", 3.0, 43.0), Possible("g/kg", 3.0, 42.2),
        Possible("mS/cm at 25 °C", 43.1, 61.0), *_SG, *_DENSITY,
    ),
    "temperature": (Possible("°C", 5.0, 40.0), Possible("°F", 55.0, 104.0)),
    "pH": (Possible("pH", 0.0, 14.0),),
}  # fmt: skip
# The first unit is taken, with the others offered, where these are what fits.
TAKEN_FIRST = ("nitrate", "nitrite", "ammonia", "silicate")


def middle_of(values: Sequence[float]) -> float:
    """Return the median of the finite numbers, of those above zero where there are such.

    Parameters
    ----------
    values : sequence of float
        Numbers of a column, in whatever unit it has.

    Returns
    -------
    float
        In the same unit; NaN where there is none.

    Examples
    --------
    >>> middle_of([8.3, float("nan"), 84.0, 8.1, -8.1])
    8.3
    """
    finite = [value for value in values if math.isfinite(value)]
    # What a kit shows as zero, and a sign too many, say nothing of the unit.
    above = [value for value in finite if value > 0.0] or finite
    return statistics.median_low(above) if above else math.nan


def units_that_fit(element: str, middle: float) -> tuple[str, ...]:
    """Return the units in which a number is a possible level, the most usual first.

    Parameters
    ----------
    element : str
        Element of the closed list.
    middle : float
        Median of the numbers, in the unit that is looked for.

    Returns
    -------
    tuple of str
        Unit words; none where the number is no level in any of them.

    Examples
    --------
    >>> units_that_fit("alkalinity", 8.3), units_that_fit("alkalinity", 2.9)
    (('dKH',), ('dKH', 'meq/L'))
    >>> units_that_fit("temperature", 77.7)
    ('°F',)
    """
    return tuple(one.unit for one in POSSIBLE[element] if one.low <= middle <= one.high)


@lru_cache(maxsize=4096)
def level_words(value: float, unit: str, element: str) -> str:
    """Return what a number in a unit is in the usual unit of its element.

    Parameters
    ----------
    value : float
        Number in ``unit``.
    unit : str
        Unit word.
    element : str
        Element of the closed list.

    Returns
    -------
    str
        Such as "2.9 meq/L = 8.131 dKH"; without the second part where both units are one, or there
        is no such level.

    Notes
    -----
    A litre of sea water is taken at salinity 35 and 25 °C.

    Examples
    --------
    >>> level_words(145.0, "mg/L as CaCO3", "alkalinity"), level_words(8.3, "dKH", "alkalinity")
    ('145 mg/L as CaCO3 = 8.124 dKH', '8.3 dKH')
    """
    usual = ELEMENTS[element].display_unit
    said = f"{value:.10g} {unit}"
    if unit == usual:
        return said
    try:
        level = convert(value, unit, usual, element, salinity=35.0, temperature_C=25.0)
    except InputError:
        return said
    if not math.isfinite(level):
        return said
    species = ELEMENTS[element].species if usual == "mg/L" and " " in unit else ""
    return f"{said} = {f'{level:.4g} {usual} {species}'.strip()}"
