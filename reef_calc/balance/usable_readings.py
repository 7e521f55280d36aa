"""Which readings of an element a fit can use, and their levels at one salinity."""

from __future__ import annotations

import numpy as np
import pandas as pd

from reef_calc.balance.additions import days
from reef_calc.chem.elements import ELEMENTS
from reef_calc.log.history import tank_readings
from reef_calc.log.tank import Tank

SALINITY_DAYS = 3.0
SALINITY_STEP = 0.5


def usable_readings(readings: pd.DataFrame, unit: str) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the readings that a fit can use, and those it cannot, with the reason.

    A reading between two levels counts as their middle, with a scatter of width/√12 more.

    Parameters
    ----------
    readings : pandas.DataFrame
        As ``tank_readings`` gives them.
    unit : str
        Unit of their levels, for the reason.

    Returns
    -------
    tuple of pandas.DataFrame
        Usable readings, and ``time``, ``row``, ``level``, ``why``, ``mark`` of the others.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> used, others = usable_readings(tank_readings(example_tank(), "alkalinity", "dKH"), "dKH")
    >>> len(used), len(others)
    (12, 0)
    """
    between = (readings["limit"] == "between").to_numpy(bool)
    if between.any():
        width = (readings["upper_level"] - readings["level"]).to_numpy(float)
        middle = readings["corrected"] + (readings["corrected_upper"] - readings["corrected"]) / 2
        readings = readings.assign(
            corrected=middle.where(between, readings["corrected"]),
            level=(readings["level"] + width / 2).where(between, readings["level"]),
            sd=np.where(between, np.hypot(readings["sd"], width / 12**0.5), readings["sd"]),
            limit=readings["limit"].where(~between, ""),
        )
    beyond = (readings["limit"] != "").to_numpy(bool)
    outside = ~beyond & readings["outside"].to_numpy(bool)
    out = readings[beyond | outside]
    why = [
        f"beyond the kit's limit ({row.limit} {row.level:g} {unit}): drawn, not fitted"
        if row.limit
        else f"not used: {row.flag}"
        for row in out.itertuples(index=False)
    ]
    left_out = out[["time", "row", "level"]].assign(
        why=pd.Series(why, index=out.index, dtype=object),
        mark=np.where(out["limit"] != "", "beyond limit", "left out"),
    )
    return readings[~beyond & ~outside].reset_index(drop=True), left_out.reset_index(drop=True)


def to_one_salinity(tank: Tank, sessions: pd.DataFrame, element: str) -> tuple[pd.DataFrame, bool]:
    """Return sittings at one salinity where it moved and each has one within three days.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    sessions : pandas.DataFrame
        Sittings with ``day``, ``level``, ``sd`` and ``salinity``.
    element : str
        Element.

    Returns
    -------
    tuple of pandas.DataFrame and bool
        The sittings, and whether they were scaled.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> to_one_salinity(example_tank(), pd.DataFrame(), "nitrate")[1]
    False
    """
    if not ELEMENTS[element].scales_with_salinity or sessions.empty:
        return sessions, False
    salt = tank_readings(tank, "salinity", "PSU")
    salt = salt[(salt["limit"] == "") & ~salt["outside"].astype(bool)]
    if salt.empty:
        return sessions, False
    at, own = days(salt["time"]), sessions["day"].to_numpy(float)
    nearest = np.min(np.abs(at[:, None] - own), axis=0)
    salinity = sessions["salinity"].to_numpy(float)
    salinity = np.where(
        np.isnan(salinity), np.interp(own, at, salt["level"].to_numpy(float)), salinity
    )
    known = (nearest <= SALINITY_DAYS) | ~np.isnan(sessions["salinity"].to_numpy(float))
    if not np.all(known) or np.ptp(salinity) <= SALINITY_STEP:
        return sessions, False
    factor = float(np.median(salinity)) / salinity
    return sessions.assign(level=sessions["level"] * factor, sd=sessions["sd"] * factor), True
