"""Rows and times of a standing on a drawing axis, and the period that a picture shows."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reef_calc.errors import InputError
from reef_calc.show.standing import Standing
from reef_calc.show.wording import month_words

PADDING_DAYS = 3.0
_SHORTEST_DAYS = 30.0


def records(table: pd.DataFrame) -> list[Any]:
    """Return the rows of a table, each with its columns as attributes.

    Parameters
    ----------
    table : pandas.DataFrame
        Any table of a standing.

    Returns
    -------
    list
        Named tuples, shape (n,).

    Examples
    --------
    >>> [row.level for row in records(pd.DataFrame({"level": [8.0, 7.9]}))]
    [8.0, 7.9]
    """
    return list(table.itertuples())


def month_end(month: str, zone: str) -> pd.Timestamp:
    """Return the first moment after a month in the tank's zone.

    Parameters
    ----------
    month : str
        Text such as ``2026-09``.
    zone : str
        IANA zone of the tank.

    Returns
    -------
    pandas.Timestamp
        The moment, in UTC.

    Raises
    ------
    InputError
        If the text is not a month.

    Examples
    --------
    >>> month_end("2026-09", "Europe/London")
    Timestamp('2026-09-30 23:00:00+0000', tz='UTC')
    """
    month_words(month)
    start = pd.Timestamp(f"{month}-01")
    return (start + pd.offsets.MonthBegin(1)).tz_localize(ZoneInfo(zone)).tz_convert("UTC")


def day_numbers(times: Any) -> NDArray[np.float64]:
    """Return moments as days since 1 January 1970, which is matplotlib's axis of dates.

    Parameters
    ----------
    times : pandas.Series or sequence, shape (n,)
        Moments, UTC; a missing one stays not a number.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Days.

    Examples
    --------
    >>> day_numbers([pd.Timestamp("1970-01-02T12:00Z")])
    array([1.5])
    """
    moments = pd.DatetimeIndex(pd.to_datetime(pd.Series(times), utc=True))
    return ((moments - pd.Timestamp(0, tz="UTC")) / pd.Timedelta(days=1)).to_numpy(dtype=float)


def shown_period(standing: Standing, period: tuple[Any, Any] | None) -> tuple[float, float]:
    """Return the days that a picture covers, before padding.

    Parameters
    ----------
    standing : Standing
        The element.
    period : (since, until) or None
        Moments asked for; None for the first reading to the end of the month.

    Returns
    -------
    (float, float)
        Days since 1970; at least 30 days apart when not asked for, so that one reading does not
        fill a picture.

    Raises
    ------
    InputError
        If the period does not end after it begins.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> shown_period(S(), (pd.Timestamp("1970-01-02T00Z"), pd.Timestamp("1970-03-03T00Z")))
    (1.0, 61.0)
    """
    if period is not None:
        since, until = (float(v) for v in day_numbers(list(period)))
        if not until > since:
            raise InputError(
                "a period that ends after it begins",
                f"{period[0]} to {period[1]}",
                "Choose a later end or an earlier beginning.",
            )
        return since, until
    until = float(day_numbers([month_end(standing.month, standing.zone)])[0])
    times = day_numbers(standing.readings["time"])
    since = float(np.nanmin(times)) if times.size else until
    return min(since, until - _SHORTEST_DAYS), until
