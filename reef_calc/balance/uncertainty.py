"""What the interval of a rate is made of, and what the readings alone cannot show."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd

from reef_calc.balance.record import NEW_WATER_DEFAULT_U, ElementRecord
from reef_calc.balance.refusals import day_text
from reef_calc.balance.steady_use import SteadyUse, steady_use
from reef_calc.balance.water_balance import BalanceColumns
from reef_calc.chem.units import convert
from reef_calc.numbers_in_words import decimals_for, fixed

HALF_WIDTH = 1.959964


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

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> import pandas as pd
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> round(delivery_u(record), 4)  # strength 2 %, pump 4 % assumed: 4.47 % of 1.0 dKH a day
    0.0447
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
    return math.hypot(*parts.values()) / float(last - first) if parts else 0.0


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
        Unit per day; 0 when the same kit and lot read both, nothing was measured, or
        joins are stored, where the columns of the kits hold it.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> import pandas as pd
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> other_kit_bound(record)  # one kit read both waters
    0.0
    >>> record.sessions["kit"] = "another kit"
    >>> round(other_kit_bound(record), 4)  # 0.5 dKH × 6 × −ln(1 − 0.1) / 44 days
    0.0072
    """
    if record.joins:
        return 0.0  # every kit's new water is in its column
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
        Unit per day; see :func:`delivery_u` and :func:`other_kit_bound`.

    Returns
    -------
    pandas.DataFrame
        ``source``, ``u`` (unit per day), ``share`` of the variance, ``note``.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> from reef_calc.balance.history_fit import fit_record
    >>> fit, _, balance = fit_record(record, sd_worth=20.0)
    >>> lines = budget(record, fit, delivery_u(record), other_kit_bound(record))
    >>> lines.loc[lines["share"] > 0.05, ["source", "u"]].round(3).values.tolist()
    [['pump and strength', 0.045]]
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

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> from reef_calc.balance.history_fit import fit_record
    >>> fit, _, balance = fit_record(record, sd_worth=20.0)
    >>> arithmetic(record, balance, fit, fit.rate, fit.low, fit.high)[2]
    'By these two readings alone: (8.20 × 0.5314 + 37.767 − 7.00) ÷ 34.02 = 1.0325 dKH a day.'
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
        f"{fixed(two_point, digits)} {unit} a day.",
        f"By all {len(sessions)} readings, averaged over six assumptions of how much use varies from "
        f"day to day: {fixed(rate, digits)} ({fixed(low, digits)} to {fixed(high, digits)}) {unit} a day.",
    )
