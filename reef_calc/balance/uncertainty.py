"""What the interval of a rate is made of, and what the readings alone cannot show."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd

from reef_calc.balance.additions import moment
from reef_calc.balance.record import NEW_WATER_DEFAULT_U, ElementRecord
from reef_calc.balance.refusals import day_text
from reef_calc.balance.steady_use import SteadyUse, steady_use
from reef_calc.balance.water_balance import BalanceColumns
from reef_calc.chem.units import convert
from reef_calc.numbers_in_words import decimals_for

HALF_WIDTH = 1.959964
LIGHT_SHARE = 0.05
RECENT_DAYS = 10.0
FAST_ALKALINITY_DKH = 1.0


def hour_and_date_noise(record: ElementRecord, rate: float) -> np.ndarray:
    """Return variance to add to readings for the hour of day and for missing times.

    Uptake in the light is about twice that in the dark (MEMORY): 0.05·k in quadrature where readings
    spread over more than 3 hours and alkalinity use is above 1 dKH a day. A reading with a date only
    gains k²/12 when a dose at once or a water change fell on that date.

    Parameters
    ----------
    record : ElementRecord
        Sessions and events.
    rate : float
        Use, unit per day.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Variances in unit².
    """
    sessions = record.sessions
    extra = np.zeros(len(sessions))
    if hour_varies(record, rate):
        extra += (LIGHT_SHARE * rate) ** 2
    shots = record.doses.shots
    moved = [*record.events.change_times, *(shots["day"][~shots["standing"].astype(bool)])]
    dates = {day_text(moment(m), record.zone) for m in moved}
    on = [day_text(t, record.zone) in dates for t in sessions["time"]]
    extra[sessions["date_only"].to_numpy(bool) & np.array(on, dtype=bool)] += rate**2 / 12
    return extra


def hour_varies(record: ElementRecord, rate: float) -> bool:
    """Return whether the hour of the readings matters at this rate.

    Parameters
    ----------
    record : ElementRecord
        Sessions.
    rate : float
        Use, unit per day.

    Returns
    -------
    bool
        True for alkalinity above 1 dKH a day with readings spread over more than 3 hours.
    """
    if record.element != "alkalinity" or len(record.sessions) < 2:
        return False
    fast = float(convert(FAST_ALKALINITY_DKH, "dKH", record.unit, "alkalinity"))
    hours = record.sessions.loc[~record.sessions["date_only"].astype(bool), "hour"]
    return rate > fast and len(hours) > 1 and float(hours.max() - hours.min()) > 3


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
    return total / weights, 1 / math.sqrt(weights)


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


def delivery_u(record: ElementRecord) -> float:
    """Return the standard uncertainty of the use from strength and delivery of the doses.

    Each supplement passes 1:1 into the use: √Σ(u_j·mean dose_j)², over the span of the readings.

    Parameters
    ----------
    record : ElementRecord
        Sessions and doses.

    Returns
    -------
    float
        Unit per day; 0 when no uncertainty is described.
    """
    t = record.sessions["day"].to_numpy(float)
    first, last = t[0], t[-1]
    parts: dict[object, float] = {}
    for step in record.doses.steps.itertuples(index=False):
        overlap = max(0.0, min(step.stop, last) - max(step.start, first))
        parts[step.supplement] = parts.get(step.supplement, 0.0) + step.u * step.rate * overlap
    for shot in record.doses.shots.itertuples(index=False):
        if not shot.standing and first <= shot.day < last:
            parts[shot.supplement] = parts.get(shot.supplement, 0.0) + shot.u * shot.rise
    return math.hypot(*parts.values()) / (last - first) if parts else 0.0


def other_kit_bound(record: ElementRecord) -> float:
    """Return how far the use may be off because new water was read with another kit or lot.

    b·(−ln(1−f))/Δ with the kit bias bound b (MEMORY), fraction f, every Δ days.

    Parameters
    ----------
    record : ElementRecord
        Sessions and water changes.

    Returns
    -------
    float
        Unit per day; 0 when the same kit and lot read both, or nothing was measured.
    """
    own = set(zip(record.sessions["kit"], record.sessions["lot"], strict=True))
    if record.new_water.source != "measured" or own & record.new_water.kits:
        return 0.0
    if record.element not in NEW_WATER_DEFAULT_U:
        return 0.0
    t = record.sessions["day"].to_numpy(float)
    events = record.events
    inside = (events.change_times >= t[0]) & (events.change_times < t[-1])
    pace = float(-np.log1p(-events.change_fractions[inside]).sum() / (t[-1] - t[0]))
    return float(convert(*NEW_WATER_DEFAULT_U[record.element], record.unit, record.element)) * pace


def widened(
    rate: float, low: float, high: float, delivery: float, other_kit: float
) -> tuple[float, float]:
    """Return the interval with what the readings cannot show added in quadrature.

    Parameters
    ----------
    rate, low, high : float
        Median and 95 % interval, unit per day.
    delivery : float
        Standard uncertainty of strength and delivery, unit per day.
    other_kit : float
        Bound (rectangular) from new water read with another kit, unit per day.

    Returns
    -------
    tuple of float
        Low and high.

    Examples
    --------
    >>> widened(1.0, 0.9, 1.1, 0.0, 0.0)
    (0.9, 1.1)
    """
    more = HALF_WIDTH * math.hypot(delivery, other_kit / math.sqrt(3))
    if more == 0:
        return low, high
    return rate - math.hypot(rate - low, more), rate + math.hypot(high - rate, more)


def budget(
    record: ElementRecord, fit: SteadyUse, delivery: float, other_kit: float
) -> pd.DataFrame:
    """Return what the uncertainty of the rate is made of, one line a source.

    Each line is what the interval grows by, in quadrature, when its source is admitted.

    Parameters
    ----------
    record : ElementRecord
        The window.
    fit : SteadyUse
        Its averaged fit.
    delivery, other_kit : float
        See :func:`delivery_u` and :func:`other_kit_bound`.

    Returns
    -------
    pandas.DataFrame
        ``source``, ``u`` (unit per day), ``share`` of the variance, ``note``.
    """
    sessions = record.sessions
    own = np.hypot(sessions["sd"], sessions["resolution"] / math.sqrt(12)).to_numpy(float)
    columns = [*record.offset_columns(), *record.gap_columns()]
    steps: list[tuple[str, str, dict[str, Any]]] = [
        (
            "readings",
            "scatter and step of the kit",
            {"day_to_day": [0.0], "weights": [1.0]},
        ),
        ("use differs from day to day", "averaged over six assumptions", {}),
        ("kits, lots and gaps of the log", "unknown offsets and doses", {"columns": columns}),
        (
            "new water",
            {"measured": "scatter of its readings", "label": "typed from a label"}.get(
                record.new_water.source, "its level is not known"
            ),
            {"columns": columns, "new_water_u": record.new_water.u},
        ),
    ]
    rows, so_far = [], 0.0
    for source, note, options in steps:
        stage = steady_use(
            sessions["day"],
            sessions["level"],
            record.events,
            sd=float(own[-1]),
            noise=(own / own[-1]) ** 2,
            rate_scale=fit.rate_scale,
            **options,
        )
        half = (stage.high - stage.low) / 2 / HALF_WIDTH
        rows.append((source, math.sqrt(max(half**2 - so_far**2, 0.0)), note))
        so_far = max(so_far, half)
    rows += [
        (
            "pump and strength",
            delivery,
            "as described in supplements.toml; passes 1:1 into the use",
        ),
        ("new water read with another kit", other_kit / math.sqrt(3), "bound taken as rectangular"),
    ]
    frame = pd.DataFrame(rows, columns=["source", "u", "note"])
    variance = float((frame["u"] ** 2).sum())
    frame["share"] = frame["u"] ** 2 / variance if variance > 0 else 0.0
    return frame[["source", "u", "share", "note"]]


def arithmetic(
    record: ElementRecord,
    balance: BalanceColumns,
    fit: SteadyUse,
    rate: float,
    low: float,
    high: float,
) -> tuple[str, ...]:
    """Return the lines of arithmetic behind a rate, first by hand from two readings.

    Parameters
    ----------
    record : ElementRecord
        The window.
    balance : BalanceColumns
        Its columns.
    fit : SteadyUse
        Its averaged fit.
    rate, low, high : float
        Rate said, with its interval, unit per day.

    Returns
    -------
    tuple of str
        Sentences with numbers.
    """
    unit, sessions = record.unit, record.sessions
    first, last = sessions.iloc[0], sessions.iloc[-1]
    G, H, D = float(balance.G[-1]), float(balance.H[-1]), float(balance.D[-1])
    two_point = (float(first["level"]) * G + D - float(last["level"])) / H
    digits = max(decimals_for((high - low) / 2), 0) + 1
    level_digits = max(decimals_for(fit.reading_sd), 0)
    days_between = balance.times[-1] - balance.times[0]
    return (
        f"From {day_text(first['time'], record.zone)} to {day_text(last['time'], record.zone)} "
        f"({days_between:.1f} days): first reading {first['level']:.{level_digits}f}, last "
        f"{last['level']:.{level_digits}f} {unit}.",
        f"Water changes left {G:.4f} of the first level; doses and new water brought "
        f"{D:.{level_digits + 1}f} {unit}; a use of 1 {unit} a day would have taken "
        f"{H:.2f} {unit} (less than {days_between:.1f}, since changes also carry off what use left).",
        f"By these two readings alone: ({first['level']:.{level_digits}f} × {G:.4f} + "
        f"{D:.{level_digits + 1}f} − {last['level']:.{level_digits}f}) ÷ {H:.2f} = "
        f"{two_point:.{digits}f} {unit} a day.",
        f"By all {len(sessions)} readings, averaged over six assumptions of how much use varies from "
        f"day to day: {rate:.{digits}f} ({low:.{digits}f} to {high:.{digits}f}) {unit} a day.",
    )
