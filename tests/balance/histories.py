"""Deterministic reading histories used by several tests; all own examples, worked out by hand."""

from __future__ import annotations

import numpy as np

from reef_calc.balance.water_balance import WaterEvents, balance_columns

PATTERN = (0.10, -0.05, 0.0, -0.10, 0.05, 0.0, 0.15, -0.15)
KIT = {"sd": 0.15, "resolution": 0.1}


def base(
    *,
    scatter: bool = True,
    use: float = 1.0,
    use_later: float | None = None,
    later_from: float = 30.0,
    new_water: float = 8.0,
    bias: float = 0.0,
) -> tuple[np.ndarray, np.ndarray, WaterEvents]:
    """Sixty days, a reading every second day, dose 1 a day, a tenth changed every week."""
    times = np.arange(0.0, 61.0, 2.0)
    changes = np.arange(3.5, 60.0, 7.0)
    events = WaterEvents(
        rate_starts=[0.0],
        rate_stops=[60.0],
        rates=[1.0],
        change_times=changes,
        change_fractions=np.full(changes.size, 0.1),
        change_levels=np.full(changes.size, new_water),
    )
    truth = balance_columns(
        times,
        WaterEvents(
            rate_starts=[0.0],
            rate_stops=[60.0],
            rates=[1.0],
            change_times=changes,
            change_fractions=np.full(changes.size, 0.1),
            change_levels=np.full(changes.size, 8.0),
        ),
        [(0.0, later_from), (later_from, 61.0)],
    )
    later = use if use_later is None else use_later
    levels = 8.0 * truth.G + truth.D - use * truth.S[:, 0] - later * truth.S[:, 1] + bias
    if scatter:
        levels = levels + np.resize(PATTERN, times.size)
    return times, levels, events
