"""The water changes to come, and what the new water holds."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.balance.record import NEW_WATER_DEFAULT_U
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.history import new_water_readings
from reef_calc.log.tank import Tank
from reef_calc.messages import Message
from reef_calc.plan.wishes import WaterChanges

LOOK_BACK = pd.Timedelta(days=60)
# Standard uncertainty of a new water nobody tested, as a share of the level (own choice).
UNKNOWN_SHARE = 0.05
UNKNOWN_SALINITY_U = 0.7


@dataclass(frozen=True)
class NewWaterLevel:
    """Level of the new water.

    Attributes
    ----------
    level, u : float
        Level and standard uncertainty, in the unit asked for.
    source : {"measured", "label", "unknown"}
        Where it comes from; unknown: the tank's own level is taken.
    """

    level: float
    u: float
    source: str


def changes_ahead(
    tank: Tank, start: dt.date, span: int, wishes: WaterChanges | None = None
) -> tuple[tuple[float, ...], tuple[Message, ...]]:
    """Return the share of the water changed on each day of a plan.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    start : datetime.date
        First day.
    span : int
        Number of days.
    wishes : WaterChanges, optional
        Changes to come; when not given, those of the last 60 days go on with their median litres
        and median interval.

    Returns
    -------
    tuple of float
        Shares (no unit), one a day.
    tuple of Message
        What was taken.

    Raises
    ------
    InputError
        If a change is as large as the tank.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> shares, told = changes_ahead(example_tank(), dt.date(2026, 2, 16), 14)
    >>> [day for day, share in enumerate(shares) if share], told[0].text
    ([6, 13], 'Water changes are taken to go on: 30 L (10 %) every 7 days, next on 22 Feb 2026.')
    """
    at = pd.Timestamp(start).tz_localize(tank.zone).tz_convert("UTC")
    net = tank.water_at(at).net_L
    if wishes is not None:
        first = wishes.first_day or start
        litres, every = wishes.litres, wishes.every_days
        if litres >= net:
            raise InputError(
                f"less than the {net:g} L of the tank", f"{litres:g} L", "Correct the litres.",
                "Water changes",
            )  # fmt: skip
        if litres == 0.0:
            return (0.0,) * span, (Message("NO_CHANGES", "No water changes, as wished."),)
        words = "Water changes as wished:"
    else:
        past = tank.water_changes
        past = past[(past["time"] < at) & (past["time"] >= at - LOOK_BACK)]
        dates = [time.tz_convert(tank.zone).date() for time in past["time"]]
        gaps = np.diff(sorted({date.toordinal() for date in dates}))
        if not len(gaps):
            told = "one is" if len(dates) else "none is"
            text = (
                f"No water changes are planned: {told} logged in the last 60 days. Type litres and "
                "days if they go on."
            )
            return (0.0,) * span, (Message("NO_CHANGES", text),)
        every = max(1, round(float(np.median(gaps))))
        litres = float(past["litres"].median())
        last = max(dates)
        if (start - last).days > 2 * every:
            text = (
                f"No water changes are planned: the last one was {(start - last).days} days before "
                "the plan begins. Type litres and days if they go on."
            )
            return (0.0,) * span, (Message("NO_CHANGES", text, "qualified"),)
        first = last + dt.timedelta(days=every)
        words = "Water changes are taken to go on:"
    shares = np.zeros(span)
    place = (first - start).days
    while place < 0:
        place += every
    shares[place::every] = litres / net
    day = start + dt.timedelta(days=place)
    text = (
        f"{words} {litres:g} L ({100 * litres / net:.3g} %) every {every} day{'s' * (every != 1)}, "
        f"next on {day.day} {day:%b %Y}."
    )
    return tuple(float(x) for x in shares), (Message("CHANGES", text),)


def new_water_level(
    tank: Tank, element: str, unit: str, at: pd.Timestamp, level: float
) -> NewWaterLevel:
    """Return what the new water holds of an element: measured, else from the label, else unknown.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element.
    unit : str
        Unit of the levels.
    at : pandas.Timestamp
        Moment before which readings count (UTC).
    level : float
        Level of the tank, in ``unit``, taken where nothing is known.

    Returns
    -------
    NewWaterLevel
        In ``unit``.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> at = pd.Timestamp("2026-02-16", tz="UTC")
    >>> found = new_water_level(example_tank(), "alkalinity", "dKH", at, 7.0)
    >>> found.level, found.source
    (8.0, 'measured')
    """
    read = new_water_readings(tank, element, unit, until=at - pd.Timedelta(seconds=1))
    read = read[(read["limit"] == "") & ~read["outside"].astype(bool)]
    if len(read):
        each = np.hypot(read["sd"], read["resolution"] / math.sqrt(12)) / math.sqrt(len(read))
        return NewWaterLevel(float(read["corrected"].iloc[-1]), float(np.mean(each)), "measured")
    water = tank.water_at(at)

    def to(value: float, word: str) -> float:
        return float(
            convert(
                value, word, unit, element,
                salinity=water.salinity, temperature_C=water.temperature_C,
            )
        )  # fmt: skip

    if element == "salinity":
        return _salinity(tank, at, level)
    default = NEW_WATER_DEFAULT_U.get(element)
    u = UNKNOWN_SHARE * abs(level) if default is None else to(*default)
    label = tank.new_water.levels.get(element)
    if label is None:
        return NewWaterLevel(level, u, "unknown")
    if label.u is not None:
        u = to(label.u, label.unit)
    return NewWaterLevel(to(label.value, label.unit), u, "label")


def _salinity(tank: Tank, at: pd.Timestamp, level: float) -> NewWaterLevel:
    past = tank.water_changes
    measured = past.loc[(past["time"] < at) & past["salinity"].notna(), "salinity"].tail(8)
    if len(measured):
        return NewWaterLevel(float(measured.median()), UNKNOWN_SALINITY_U / 2, "measured")
    stated = tank.new_water.salinity
    if stated is not None:
        return NewWaterLevel(stated, UNKNOWN_SALINITY_U, "label")
    return NewWaterLevel(level, UNKNOWN_SALINITY_U, "unknown")
