"""The level at the last sitting: from the last few readings, and as the one before leads to expect."""

from __future__ import annotations

import math

import numpy as np

from reef_calc.balance.record import ElementRecord
from reef_calc.balance.steady_use import SteadyUse
from reef_calc.balance.uncertainty import HALF_WIDTH
from reef_calc.balance.water_balance import BalanceColumns

RECENT_DAYS = 10.0


def level_now(record: ElementRecord, balance: BalanceColumns, rate: float) -> tuple[float, float]:
    """Return the level at the last sitting from the last few, with its standard uncertainty.

    Each of the last sittings with the same kit and lot (at most four, ten days) is brought forward
    by the balance, y_i·g + d − k·h, and weighted with 1/(g²s² + (0.16·k)²·p).

    Parameters
    ----------
    record : ElementRecord
        The window.
    balance : BalanceColumns
        Its columns.
    rate : float
        Use, unit per day.

    Returns
    -------
    tuple of float
        Level and standard uncertainty, in the unit of the record.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> import pandas as pd
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> level, u = level_now(record, record.balance(), 1.03)
    >>> round(level, 2), round(u, 3)  # the last reading alone: 7.0 ± 0.104
    (7.0, 0.098)
    """
    sessions = record.sessions
    s = np.hypot(sessions["sd"], sessions["resolution"] / math.sqrt(12)).to_numpy(float)
    last = sessions.iloc[-1]
    level, weight = float(last["level"]), 1 / s[-1] ** 2
    total, weights = level * weight, weight
    kept, moved, walk = 1.0, 0.0, 0.0
    for i in range(len(sessions) - 2, max(len(sessions) - 5, -1), -1):
        g, h, d, p = (float(a[i + 1]) for a in (balance.g, balance.h, balance.d, balance.p))
        moved += kept * (d - rate * h)
        walk += kept**2 * p
        kept *= g
        row = sessions.iloc[i]
        same = (row["kit"], row["lot"]) == (last["kit"], last["lot"])
        if not same or last["day"] - row["day"] > RECENT_DAYS:
            break
        weight = 1 / (kept**2 * s[i] ** 2 + (0.16 * rate) ** 2 * walk)
        total += weight * (float(row["level"]) * kept + moved)
        weights += weight
    return float(total / weights), 1 / math.sqrt(weights)


def expected_last(
    record: ElementRecord, balance: BalanceColumns, fit: SteadyUse
) -> tuple[float, float] | None:
    """Return the range that the sitting before leads to expect for the last one.

    y_{n−1}·g + d − k·h ± 3·√(s²(1+g²) + u_k²·h² + (0.16·k)²·p), if both were read with one kit and
    lot: three standard deviations, since the tank is looked at again and again.

    Parameters
    ----------
    record : ElementRecord
        The window.
    balance : BalanceColumns
        Its columns.
    fit : SteadyUse
        Its averaged fit.

    Returns
    -------
    tuple of float or None
        Low and high in the unit of the level; None when kit or lot changed.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> import pandas as pd
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> from reef_calc.balance.history_fit import fit_record
    >>> fit, _, balance = fit_record(record, sd_worth=20.0)
    >>> low, high = expected_last(record, balance, fit)
    >>> round(low, 1), round(high, 1)  # the last reading was 7.0
    (6.0, 8.2)
    """
    before, last = record.sessions.iloc[-2], record.sessions.iloc[-1]
    if (before["kit"], before["lot"]) != (last["kit"], last["lot"]):
        return None
    rate, low, high = fit.factor("use")
    g, h, d, p = (float(a[-1]) for a in (balance.g, balance.h, balance.d, balance.p))
    middle = float(before["level"]) * g + d - rate * h
    u_rate = (high - low) / 2 / HALF_WIDTH
    variance = fit.reading_sd**2 * (1 + g**2) + (u_rate * h) ** 2 + (0.16 * rate) ** 2 * p
    half = 3 * math.sqrt(variance)
    return middle - half, middle + half
