"""Invented histories of one element with a known truth, as the log would hold them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pandas as pd

from reef_calc.balance.additions import AdditionHistory, moment
from reef_calc.balance.extra_columns import dose_events
from reef_calc.balance.record import ElementRecord, NewWater
from reef_calc.balance.water_balance import WaterEvents, balance_columns

START = 20455.0  # Friday 2 January 2026, 00:00 UTC
STEPS = ("start", "stop", "rate", "supplement", "u", "at_times", "lag_days")
SHOTS = ("day", "rise", "supplement", "u", "standing", "date_only", "lag_days")
SD, RESOLUTION = 0.15, 0.1


def doses(
    shots: Sequence[tuple[float, float]] = (),
    steps: Sequence[tuple[float, float, float]] = (),
    *,
    supplement: str = "hand dose",
    lag: float = 0.0,
    date_only: bool = False,
    gaps: tuple[tuple[float, float], ...] = (),
) -> AdditionHistory:
    """Doses given at once (day, rise) and standing (start, stop, rate), days from 0."""
    return AdditionHistory(
        pd.DataFrame(
            [(START + a, START + b, r, supplement, 0.0, False, lag) for a, b, r in steps],
            columns=STEPS,
        ),
        pd.DataFrame(
            [(START + d, x, supplement, 0.0, False, date_only, lag) for d, x in shots],
            columns=SHOTS,
        ),
        tuple((START + a, START + b) for a, b in gaps),
    )


def events(log: AdditionHistory, length: float) -> WaterEvents:
    """Doses with a tenth changed every week in new water of 8."""
    given = dose_events(log)
    changes = START + np.arange(3.5, length, 7.0)
    return WaterEvents(
        given.dose_times,
        given.dose_rises,
        given.rate_starts,
        given.rate_stops,
        given.rates,
        changes,
        np.full(changes.size, 0.1),
        np.full(changes.size, 8.0),
    )


def record(
    times: np.ndarray,
    levels: np.ndarray,
    log: AdditionHistory,
    *,
    date_only: bool = False,
    zone: str = "UTC",
) -> ElementRecord:
    """The log of one element; times in days from 0."""
    n = times.size
    stamps = pd.DatetimeIndex([moment(START + t) for t in times])
    sessions = pd.DataFrame(
        {
            "time": stamps,
            "day": START + times,
            "level": levels,
            "as_read": levels,
            "sd": SD,
            "resolution": RESOLUTION,
            "n": 1,
            "kit": "drops",
            "lot": "",
            "rows": [(i + 2,) for i in range(n)],
            "date_only": date_only,
            "hour": stamps.hour + stamps.minute / 60,
        }
    )
    left_out = pd.DataFrame(columns=["time", "row", "level", "why", "mark"])
    left_out["time"] = left_out["time"].astype("datetime64[ns, UTC]")
    held = events(log, float(times[-1]))
    water = NewWater(held.change_levels, 0.0, "measured", frozenset())
    return ElementRecord("alkalinity", "dKH", zone, sessions, left_out, log, water, held)


def truth(
    times: np.ndarray,
    given: AdditionHistory,
    use: Callable[[np.ndarray], np.ndarray],
    rng: np.random.Generator,
    *,
    cv: float = 0.1,
    start: float = 8.0,
) -> tuple[np.ndarray, float]:
    """True levels at the times, and the mean use: ``use`` by day number, scattering by the day."""
    length = float(times[-1])
    day = np.arange(0.0, np.ceil(length) + 1)
    daily = use(START + day) * (1 + cv * rng.standard_normal(day.size))
    moved = events(given, length)
    spans = np.column_stack([START + day, START + day + 1])
    c = balance_columns(START + times, moved, spans)
    return start * c.G + c.D - c.S @ daily, float(np.mean(use(START + day)))


def read(levels: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Readings with the kit's scatter and step."""
    return np.round((levels + SD * rng.standard_normal(levels.size)) / RESOLUTION) * RESOLUTION
