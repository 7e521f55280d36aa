"""What describes a tank: its water, aims, new water and standards, and what practice expects."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from dataclasses import dataclass, field
from pathlib import Path

from reef_calc.bench.kits import Kit
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.supplements import Supplement
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.joins import Join
from reef_calc.log.stated import Standard, Stated

# Levels that need a second confirmation (common practice, no source), in the display unit.
CAUTION_LEVELS: dict[str, tuple[float, float]] = {
    "alkalinity": (6.0, 12.0),
    "calcium": (350.0, 500.0),
    "magnesium": (1150.0, 1550.0),
    "potassium": (350.0, 450.0),
    "salinity": (31.0, 37.0),
    "pH": (7.7, 8.6),
}
# Largest change a day (common practice, no source), in the display unit.
USUAL_CHANGE_PER_DAY: dict[str, float] = {
    "alkalinity": 0.5,
    "calcium": 20.0,
    "magnesium": 50.0,
    "potassium": 10.0,
    "strontium": 0.5,
    "iodine": 0.01,
    "nitrate": 1.0,
    "phosphate": 0.02,
    "salinity": 1.0,
    "temperature": 1.0,
    "pH": 0.2,
}


@dataclass(frozen=True)
class Water:
    """The water of the tank from a day on.

    Attributes
    ----------
    start : datetime.datetime
        From when, UTC.
    net_L, net_u_L : float
        Net volume and its standard uncertainty, L.
    salinity : float
        Practical salinity.
    temperature_C : float
        Temperature, °C.
    air_co2_uatm : float
        Carbon dioxide of the room air, µatm.
    boron : float or None
        Boron, mg/L; None: as in sea water of this salinity.
    """

    start: dt.datetime
    net_L: float
    net_u_L: float
    salinity: float
    temperature_C: float
    air_co2_uatm: float
    boron: float | None = None


@dataclass(frozen=True)
class Aim:
    """Where one element should be.

    Attributes
    ----------
    unit : str
        Unit of everything below.
    low, aim, high : float
        Lower end, aim and upper end.
    rise_per_day, fall_per_day : float or None
        Largest change a day; None: neither written nor known from practice.
    never_below, never_above : float or None
        Levels that need a second confirmation.
    defaults : tuple of str
        Names of the attributes above that were taken from common practice.
    """

    unit: str
    low: float
    aim: float
    high: float
    rise_per_day: float | None = None
    fall_per_day: float | None = None
    never_below: float | None = None
    never_above: float | None = None
    defaults: tuple[str, ...] = ()


@dataclass(frozen=True)
class NewWater:
    """New salt water, as a label states it.

    Attributes
    ----------
    salinity : float or None
        Practical salinity; None where not stated.
    levels : dict of str to Stated
        By element.
    """

    salinity: float | None = None
    levels: dict[str, Stated] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Description:
    """Everything the folder's TOML files say about a tank.

    Attributes
    ----------
    folder : pathlib.Path
        Where it stands.
    name, state : str
        Name; ``settled`` or ``young or fast growing``.
    zone : zoneinfo.ZoneInfo
        Time zone.
    waters : tuple of Water
        Periods of the water, oldest first; at least one.
    aims : dict of str to Aim
        By element.
    new_water : NewWater
        What is stated of new salt water.
    kits, supplements, standards : dict
        By name.
    joins : tuple of Join
        Kits and lots that took over from one another, oldest first.
    """

    folder: Path
    name: str
    state: str
    zone: zoneinfo.ZoneInfo
    waters: tuple[Water, ...]
    aims: dict[str, Aim]
    new_water: NewWater
    kits: dict[str, Kit]
    supplements: dict[str, Supplement]
    standards: dict[str, Standard]
    joins: tuple[Join, ...]

    def water_at(self, time: dt.datetime) -> Water:
        """Return the water of a time.

        Parameters
        ----------
        time : datetime.datetime or pandas.Timestamp
            With a zone.

        Returns
        -------
        Water
            The latest that started by then; before the first one, the first.

        Raises
        ------
        InputError
            If the time has no zone.
        """
        if time.tzinfo is None:
            raise InputError("a time with a zone", str(time), "Add the zone.", "water_at")
        return next(
            (water for water in reversed(self.waters) if water.start <= time), self.waters[0]
        )


def usual_limits(name: str, unit: str) -> dict[str, float]:
    """Return the usual largest changes a day and caution levels of an element.

    Parameters
    ----------
    name : str
        Element.
    unit : str
        Unit of the result (per day for changes).

    Returns
    -------
    dict of str to float
        ``rise_per_day``, ``fall_per_day``, ``never_below``, ``never_above``, as far as practice
        has them (*common practice, no source*), in ``unit``.

    Raises
    ------
    InputError
        If the unit does not belong to the element.

    Examples
    --------
    >>> usual_limits("calcium", "mg/L")["rise_per_day"]
    20.0
    """
    shown = ELEMENTS[name].display_unit

    def to(value: float) -> float:
        if unit == shown:
            return value
        return convert(value, shown, unit, name, salinity=35.0, temperature_C=25.0)

    limits: dict[str, float] = {}
    change = USUAL_CHANGE_PER_DAY.get(name)
    if change is not None:
        middle = (ELEMENTS[name].lowest + ELEMENTS[name].highest) / 2
        if unit == shown:
            limits["rise_per_day"] = limits["fall_per_day"] = change
        else:
            base = convert(middle, ELEMENTS[name].store_unit, shown, name)
            limits["rise_per_day"] = limits["fall_per_day"] = abs(to(base + change) - to(base))
    if name in CAUTION_LEVELS:
        low, high = CAUTION_LEVELS[name]
        limits["never_below"], limits["never_above"] = to(low), to(high)
    return limits
