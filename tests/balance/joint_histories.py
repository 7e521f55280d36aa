"""A deterministic pair of histories, alkalinity every second day and calcium every week; own example."""

from __future__ import annotations

import numpy as np

from reef_calc.balance.joint_readings import ElementReadings
from reef_calc.balance.water_balance import WaterEvents, balance_columns

from .histories import PATTERN

CHANGES = np.arange(3.5, 60.0, 7.0)
ALKALINITY_DAYS = np.arange(0.0, 61.0, 2.0)
CALCIUM_DAYS = np.arange(1.0, 58.0, 7.0)


def events(rate: float, new_water: float) -> WaterEvents:
    return WaterEvents(
        rate_starts=[0.0],
        rate_stops=[65.0],
        rates=[rate],
        change_times=CHANGES,
        change_fractions=np.full(CHANGES.size, 0.1),
        change_levels=np.full(CHANGES.size, new_water),
    )


def true_levels(
    days: np.ndarray, log: WaterEvents, start: float, use: float, later: float, turn: float
) -> np.ndarray:
    c = balance_columns(np.r_[0.0, days], log, [(0.0, turn), (turn, 65.0)])
    return (start * c.G + c.D - use * c.S[:, 0] - later * c.S[:, 1])[1:]


def pair(
    *,
    alkalinity: float = 1.0,
    calcium: float = 7.0,
    factor_later: float = 1.0,
    later_from: float = 64.0,
    calcium_step: float = 0.0,
) -> tuple[ElementReadings, ElementReadings]:
    """Sixty days at doses of 1 dKH and 7 mg/L a day, a tenth of the water changed every week."""
    log = events(1.0, 8.0)
    a = true_levels(ALKALINITY_DAYS, log, 8.0, alkalinity, factor_later * alkalinity, later_from)
    a += np.resize(PATTERN, a.size)
    log_calcium = events(7.0, 420.0)
    c = true_levels(CALCIUM_DAYS, log_calcium, 420.0, calcium, factor_later * calcium, later_from)
    c += 50 * np.resize(PATTERN, c.size) + calcium_step * (CALCIUM_DAYS >= 30)
    return (
        ElementReadings(ALKALINITY_DAYS, a, log, 0.15, 0.1),
        ElementReadings(CALCIUM_DAYS, c, log_calcium, 7.0, 5.0),
    )
