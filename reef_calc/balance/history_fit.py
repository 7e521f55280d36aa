"""Fits of one element's record: steady, month by month, and with gross errors set aside."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from reef_calc.balance.additions import moment
from reef_calc.balance.given_doses import mean_dose
from reef_calc.balance.joined_fit import scale_of_use
from reef_calc.balance.mixture_priors import session_noise
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
    record: ElementRecord,
    sd_worth: float,
    spans: np.ndarray | None = None,
    extra: tuple[KnownColumn, ...] = (),
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
    extra : tuple of KnownColumn, optional
        Further columns.

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
    columns = [*record.offset_columns(), *record.gap_columns(), *extra]
    balance = record.balance(() if spans is None else spans)
    noise = (own / reference) ** 2 * session_noise(sessions["n"].to_numpy(float))
    options: dict[str, Any] = {
        "sd": float(last["sd"]),
        "resolution": float(last["resolution"]),
        "columns": columns,
        "spans": spans,
        "new_water_u": record.new_water.u,
        "sd_worth": sd_worth,
        "balance": balance,
        "rate_scale": scale_of_use(record, balance, columns, reference),
    }
    times, levels = sessions["day"].to_numpy(float), sessions["level"].to_numpy(float)
    fit = steady_use(times, levels, record.events, noise=noise, **options)
    hours = hour_and_date_noise(record, fit.rate_scale)
    if np.any(hours > 0):
        noise = noise + hours / reference**2
        fit = steady_use(times, levels, record.events, noise=noise, **options)
    return fit, columns, balance


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


def monthly_use(
    record: ElementRecord, sd_worth: float, extra: tuple[KnownColumn, ...] = ()
) -> MonthlyUse | None:
    """Return one rate for each calendar month from a joint fit, or None when it cannot be told.

    Parameters
    ----------
    record : ElementRecord
        Sittings without gross errors.
    sd_worth : float
        Number of readings the kit's SD is worth.
    extra : tuple of KnownColumn, optional
        Columns for steps that were found.

    Returns
    -------
    MonthlyUse or None
        The months.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> [m.name for m in monthly_use(record, 20.0).months]
    ['2026-01', '2026-02']
    """
    months, spans = month_spans(record.sessions["day"].to_numpy(float), record.zone)
    try:
        return MonthlyUse(months, fit_record(record, sd_worth, spans, extra)[0])
    except CannotTellError:
        return None


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
    >>> frame = months_frame(monthly_use(record, sd_worth=20.0), record)
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
