"""By how much the tank's level moved between two times, as log and use have it."""

from __future__ import annotations

import datetime as dt
from functools import lru_cache

import numpy as np
import pandas as pd

from reef_calc.balance.additions import days
from reef_calc.balance.consumption import estimate_consumption
from reef_calc.balance.record import element_record
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.water_balance import balance_columns
from reef_calc.compare.sittings import Movement
from reef_calc.errors import CannotTellError
from reef_calc.log.tank import Tank


def movement_in_log(tank: Tank, element: str, unit: str) -> Movement:
    """Return how far the level of an element moved from one time to another, by the mass balance.

    ΔC = (G − 1)·C + D − k·H, with the use k as it was known at the end; u = u(k)·H

    Parameters
    ----------
    tank : Tank
        The tank.
    element : str
        Element.
    unit : str
        Unit of the levels.

    Returns
    -------
    callable
        From two times (UTC) to change and standard uncertainty in ``unit``; it raises
        ``CannotTellError`` where the use is not known.

    Notes
    -----
    For days, not for weeks: the use counts as steady in between. C is the reading nearest to the
    start, so its scatter enters only by the share of water that was changed.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> moved = movement_in_log(example_tank(), "alkalinity", "dKH")
    >>> change, u = moved(pd.Timestamp("2026-02-10 12:00", tz="UTC"),
    ...                   pd.Timestamp("2026-02-12 12:00", tz="UTC"))
    >>> abs(change) < 0.3, 0 < u < 0.1
    (True, True)
    """
    record = element_record(tank, element, unit, tank.readings["time"].max())

    @lru_cache(maxsize=256)
    def use_on(day: dt.date) -> ConsumptionEstimate:
        return estimate_consumption(tank, element, str(day), unit=unit)

    def moved(start: pd.Timestamp, end: pd.Timestamp) -> tuple[float, float]:
        if end < start:
            change, u = moved(end, start)
            return -change, u
        use = use_on(end.tz_convert(tank.zone).date())
        if use.rate is None or use.low is None or use.high is None or record.sessions.empty:
            raise CannotTellError(
                f"How far {element} moved before {end.tz_convert(tank.zone).date()} cannot be told: its "
                "use is not known then. Keep to readings within an hour."
            )
        a, b = float(days(start)), float(days(end))
        columns = balance_columns([a, b], record.events)
        nearest = int(np.argmin(np.abs(record.sessions["day"].to_numpy(float) - a)))
        level = float(record.sessions["level"].iloc[nearest])
        change = (
            (float(columns.G[1]) - 1.0) * level
            + float(columns.D[1])
            - use.rate * float(columns.H[1])
        )
        if not np.isfinite(change):
            raise CannotTellError(
                f"How far {element} moved before {end.tz_convert(tank.zone).date()} cannot be told: the "
                "level of the new water is not known. Keep to readings within an hour."
            )
        return change, (use.high - use.low) / 3.92 * abs(float(columns.H[1]))

    return moved
