"""The rate of the last month alone, where use was not steady over the window."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from reef_calc.balance.months import MonthlyUse
from reef_calc.balance.record import ElementRecord


def month_text(month: str) -> str:
    """Return a month in words.

    Parameters
    ----------
    month : str
        Text ``2026-09``.

    Returns
    -------
    str
        Text such as "September 2026".

    Examples
    --------
    >>> month_text("2026-09")
    'September 2026'
    """
    return f"{pd.Period(month, freq='M').start_time:%B %Y}"


@dataclass(frozen=True)
class MonthAlone:
    """The rate of the last month, where it differs from those before it in the window.

    Attributes
    ----------
    month : str
        The month, text ``2026-09``.
    rate, low, high : float
        Median and 95 % interval of its use, unit per day.
    basis : str
        What the rate is, in words.
    verdict : {"changed", "perhaps changed"}
        At 99 % and at 95 %.
    against : str
        The latest month before it that differs.
    difference : tuple of float
        Median, low and high of this month less that one, unit per day.
    """

    month: str
    rate: float
    low: float
    high: float
    basis: str
    verdict: str
    against: str
    difference: tuple[float, float, float]


def last_month_alone(monthly: MonthlyUse | None, record: ElementRecord) -> MonthAlone | None:
    """Return the last month's own rate when use was not steady over the window.

    Parameters
    ----------
    monthly : MonthlyUse or None
        Joint fit of the months.
    record : ElementRecord
        The window.

    Returns
    -------
    MonthAlone or None
        None when the months of the window do not differ at 95 %.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> tank = example_tank()
    >>> use = estimate_consumption(tank, "alkalinity")
    >>> last_month_alone(use.monthly, use.record) is None  # the months do not differ
    True
    >>> from reef_calc.balance.history_fit import settle
    >>> use.record.sessions.loc[8:, "level"] -= [1.2, 2.0, 2.6, 3.2]
    >>> _, _, monthly = settle(use.record, sd_worth=20.0)
    >>> alone = last_month_alone(monthly, use.record)
    >>> alone.basis, alone.verdict
    ('February 2026 alone, because use was not steady', 'changed')
    """
    if monthly is None:
        return None
    start = record.sessions["day"].iloc[0]
    inside = [m.name for m in monthly.months if m.stop - start > 5 and monthly.told(m.name)]
    if len(inside) < 2:
        return None
    last = inside[-1]
    differ = [m for m in inside[:-1] if monthly.verdict(last, m) in ("changed", "perhaps changed")]
    if not differ:
        return None
    against = differ[-1]
    rate, low, high = monthly.rate(last)
    return MonthAlone(
        last,
        rate,
        low,
        high,
        f"{month_text(last)} alone, because use was not steady",
        monthly.verdict(last, against),
        against,
        monthly.difference(last, against),
    )
