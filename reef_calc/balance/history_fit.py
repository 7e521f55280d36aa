"""Fits of one element's record: steady, month by month, and with gross errors set aside."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from reef_calc.balance.additions import moment
from reef_calc.balance.doubts import gross_error_probabilities
from reef_calc.balance.given_doses import mean_dose
from reef_calc.balance.months import MonthlyUse, month_spans
from reef_calc.balance.reading_noise import hour_and_date_noise
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.steady_use import (
    DEFAULT_SD_WORTH,
    MEASURED_SD_WORTH,
    KnownColumn,
    SteadyUse,
    steady_use,
)
from reef_calc.balance.water_balance import BalanceColumns
from reef_calc.errors import CannotTellError
from reef_calc.log.tank import Tank

DOUBTED = 0.8
# Correlation of readings within a sitting (MEMORY): a duplicate counts 1/0.75, not 2.
SHARED_IN_A_SITTING = 0.5
MONTH_COLUMNS = [
    "month",
    "start",
    "stop",
    "rate",
    "low",
    "high",
    "dosed",
    "readings",
    "difference",
    "difference_low",
    "difference_high",
    "verdict",
]


def fit_record(
    record: ElementRecord, sd_worth: float, spans: np.ndarray | None = None
) -> tuple[SteadyUse, list[KnownColumn], BalanceColumns]:
    """Return the averaged fit of a record, with the columns it used.

    Parameters
    ----------
    record : ElementRecord
        Sessions, doses and water changes of one element.
    sd_worth : float
        Number of readings the kit's SD is worth.
    spans : array, shape (j, 2), optional
        Give for one rate a span.

    Returns
    -------
    tuple
        SteadyUse, its further columns, and the balance.

    Raises
    ------
    CannotTellError
        If the readings cannot tell the unknowns apart.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> fit, columns, _ = fit_record(record, sd_worth=20.0)
    >>> fit.names, len(columns)
    (('start', 'use', 'new water'), 0)
    >>> round(fit.rate, 2)
    1.03
    """
    sessions = record.sessions
    last = sessions.iloc[-1]
    reference = float(np.hypot(last["sd"], last["resolution"] / np.sqrt(12)))
    own = np.hypot(sessions["sd"], sessions["resolution"] / np.sqrt(12)).to_numpy(float)
    columns = [*record.offset_columns(), *record.gap_columns()]
    balance = record.balance(() if spans is None else spans)
    noise = (own / reference) ** 2 * _mean_of(sessions["n"].to_numpy(float))
    options: dict[str, Any] = {
        "sd": float(last["sd"]),
        "resolution": float(last["resolution"]),
        "columns": columns,
        "spans": spans,
        "new_water_u": record.new_water.u,
        "sd_worth": sd_worth,
        "balance": balance,
    }
    times, levels = sessions["day"].to_numpy(float), sessions["level"].to_numpy(float)
    fit = steady_use(times, levels, record.events, noise=noise, **options)
    extra = hour_and_date_noise(record, fit.rate_scale)
    if np.any(extra > 0):
        noise = noise + extra / reference**2
        fit = steady_use(times, levels, record.events, noise=noise, **options)
    return fit, columns, balance


def _mean_of(n: np.ndarray) -> np.ndarray:
    """Variance of a sitting's mean over that of one reading: half of it is shared by the sitting."""
    return SHARED_IN_A_SITTING + (1 - SHARED_IN_A_SITTING) / n


def sd_worth(tank: Tank, record: ElementRecord) -> float:
    """Return how many readings the kits' SD is worth: few where one is a default.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    record : ElementRecord
        Sessions of one element.

    Returns
    -------
    float
        4 or 20 readings.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> tank = example_tank()
    >>> record = element_record(tank, "alkalinity", "dKH", until)
    >>> sd_worth(tank, record)  # the SD of its kit comes from replicates
    20.0
    """
    used = set(record.sessions["kit"])
    default = any(k not in tank.kits or tank.kits[k].sd_is_default for k in used)
    return DEFAULT_SD_WORTH if default else MEASURED_SD_WORTH


def _monthly(record: ElementRecord, sd_worth: float) -> MonthlyUse | None:
    months, spans = month_spans(record.sessions["day"].to_numpy(float), record.zone)
    try:
        return MonthlyUse(months, fit_record(record, sd_worth, spans)[0])
    except CannotTellError:
        return None


def settle(
    record: ElementRecord, sd_worth: float
) -> tuple[ElementRecord, pd.DataFrame, MonthlyUse | None]:
    """Return the record with gross errors set aside, judged with a rate of its own for each month.

    Parameters
    ----------
    record : ElementRecord
        Sessions, doses and water changes.
    sd_worth : float
        Number of readings the stated SD is worth.

    Returns
    -------
    tuple
        The record without them, the readings set aside, and the monthly fit (None if none).

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> record.sessions.loc[5, "level"] += 1.5  # a slip of the pen
    >>> kept, set_aside, _ = settle(record, sd_worth=20.0)
    >>> len(kept.sessions), set_aside[["row", "level"]].values.tolist()
    (11, [[8.0, 9.0]])
    """
    found_so_far = record.left_out.iloc[:0]
    monthly = _monthly(record, sd_worth)
    while monthly is not None and len(found_so_far) < max(1, len(record.sessions) // 5):
        spans = month_spans(record.sessions["day"].to_numpy(float), record.zone)[1]
        balance = record.balance(spans)
        columns = [*record.offset_columns(), *record.gap_columns()]
        new_water = record.new_water.u
        fixed = np.full(1 + balance.S.shape[1], np.inf)
        own = np.hypot(
            record.sessions["sd"].to_numpy(float),
            record.sessions["resolution"].to_numpy(float) / 12**0.5,
        )
        p = gross_error_probabilities(
            record.sessions["level"].to_numpy(float) - balance.D,
            np.column_stack([balance.G, -balance.S, *(c.values for c in columns), balance.W])
            if np.any(balance.W)
            else np.column_stack([balance.G, -balance.S, *(c.values for c in columns)]),
            balance.g,
            balance.p,
            reading_sd=float(own[-1]),
            rate_scale=monthly.fit.rate_scale,
            noise=(own / own[-1]) ** 2 * _mean_of(record.sessions["n"].to_numpy(float)),
            prior_u=np.r_[
                fixed,
                [np.inf if c.u is None else c.u for c in columns],
                [np.inf if new_water is None else max(new_water, 1e-9)]
                if np.any(balance.W)
                else [],
            ],
            sd_worth=sd_worth,
        )
        worst = int(np.argmax(p))
        if p[worst] < DOUBTED:
            break
        row = record.sessions.iloc[worst]
        word = "found" if p[worst] >= 0.95 else "likely"
        found = pd.DataFrame(
            {
                "time": [row["time"]],
                "row": [row["rows"][0]],
                "level": [row["level"]],
                "why": [f"does not fit the readings around it (gross error {word}): not used"],
                "mark": ["doubted"],
            }
        )
        found_so_far = (
            pd.concat([found_so_far, found], ignore_index=True) if len(found_so_far) else found
        )
        record = record.without(frozenset(row["rows"]))
        monthly = _monthly(record, sd_worth)
    return record, found_so_far, monthly


def months_frame(monthly: MonthlyUse, record: ElementRecord) -> pd.DataFrame:
    """Return use and dose month by month, each month against the one before.

    Parameters
    ----------
    monthly : MonthlyUse
        Joint fit of the months.
    record : ElementRecord
        Sessions and doses.

    Returns
    -------
    pandas.DataFrame
        Columns ``MONTH_COLUMNS``; NaN where it cannot be told.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> kept, _, monthly = settle(record, sd_worth=20.0)
    >>> frame = months_frame(monthly, kept)
    >>> frame[["month", "rate", "dosed", "readings"]].round(2).values.tolist()
    [['2026-01', 1.03, 1.0, 8], ['2026-02', 1.03, 1.0, 4]]
    """
    rows = []
    before = ""
    nothing = (np.nan, np.nan, np.nan)
    for month in monthly.months:
        told = monthly.told(month.name)
        compare = bool(before) and told and monthly.told(before)
        rate = monthly.rate(month.name) if told else nothing
        difference = monthly.difference(month.name, before) if compare else nothing
        dosed = (
            mean_dose(record.doses, month.start, month.stop) if month.stop > month.start else None
        )
        rows.append(
            (
                month.name,
                moment(month.start),
                moment(month.stop),
                *rate,
                np.nan if dosed is None else dosed,
                month.readings,
                *difference,
                monthly.verdict(month.name, before) if before else "cannot tell",
            )
        )
        before = month.name
    return pd.DataFrame(rows, columns=MONTH_COLUMNS)
