"""The days of a logger: how many rows each has, its lowest, mean and highest, and its gaps."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

# A gap is told when it is longer than this, and than so many usual steps.
_GAP_SECONDS, _GAP_STEPS = 7200.0, 6.0


@dataclass(frozen=True, slots=True)
class LoggerDay:
    """One day of a logger, in the tank's zone.

    Attributes
    ----------
    day : str
        ISO date.
    first, lowest_at, highest_at : int
        Positions of its first row in the file, its lowest and its highest (index from 0).
    rows : int
        Number of its rows, each time once.
    expected : float
        Number of rows that a whole day of this length has at the usual step; NaN where none is known.
    mean, lowest, highest : float
        In the logger's unit.
    gap_hours : float
        Longest time without a row, from midnight to midnight; NaN where the day has no gap.
    gap_from : float
        When the gap begins, seconds since 1970 (UTC).
    """

    day: str
    first: int
    lowest_at: int
    highest_at: int
    rows: int
    expected: float
    mean: float
    lowest: float
    highest: float
    gap_hours: float
    gap_from: float


def usual_step(seconds: np.ndarray) -> float:
    """Return the usual time between two rows.

    Parameters
    ----------
    seconds : numpy.ndarray, shape (n,)
        Times of the rows, seconds since 1970 (UTC), in any order.

    Returns
    -------
    float
        Median of the steps above 0 (s); NaN with fewer than two times.

    Examples
    --------
    >>> usual_step(np.array([0.0, 600.0, 1200.0, 9000.0]))
    600.0
    """
    steps = np.diff(np.unique(seconds))
    return float(np.median(steps)) if steps.size else math.nan


def logger_days(
    days: Sequence[str],
    seconds: np.ndarray,
    values: np.ndarray,
    timed: np.ndarray,
    zone: dt.tzinfo,
) -> list[LoggerDay]:
    """Return the days of a logger in order.

    Parameters
    ----------
    days : sequence of str
        ISO date of each row in the tank's zone, n of them.
    seconds : numpy.ndarray, shape (n,)
        Times, seconds since 1970 (UTC).
    values : numpy.ndarray, shape (n,)
        What was logged, in one unit, no NaN.
    timed : numpy.ndarray of bool, shape (n,)
        Whether a time of day is known.
    zone : datetime.tzinfo
        Zone of the tank, for days of 23 and 25 hours.

    Returns
    -------
    list of LoggerDay
        A row that stands there twice with the same time and value counts once.

    Examples
    --------
    >>> found = logger_days(["2026-02-01"] * 3, np.array([0.0, 600.0, 600.0]),
    ...     np.array([8.0, 8.2, 8.2]), np.ones(3, bool), dt.UTC)
    >>> found[0].rows, round(found[0].mean, 3), found[0].highest_at
    (2, 8.1, 1)
    """
    step = usual_step(seconds[timed])
    names, number = np.unique(np.asarray(days), return_inverse=True)
    order = np.lexsort((np.arange(len(values)), values, seconds, number))
    fresh = np.ones(len(order), bool)
    same = (
        (np.diff(number[order]) == 0)
        & (np.diff(seconds[order]) == 0.0)
        & (np.diff(values[order]) == 0.0)
        & timed[order][1:]
    )
    fresh[1:] = ~same
    order = order[fresh]
    starts = np.searchsorted(number[order], np.arange(len(names)))
    ends = np.append(starts[1:], len(order))
    found = []
    for name, start, end in zip(names.tolist(), starts, ends, strict=True):
        rows = order[start:end]
        of_day = values[rows]
        begin, length = _day_seconds(name, zone)
        clear = timed[rows].all() and not math.isnan(step)
        gap, gap_from = (
            _longest_gap(seconds[rows], begin, length, step) if clear else (math.nan,) * 2
        )
        found.append(
            LoggerDay(
                name,
                int(rows.min()),
                int(rows[of_day.argmin()]),
                int(rows[of_day.argmax()]),
                len(rows),
                length / step if clear else math.nan,
                math.fsum(of_day) / len(rows),
                float(of_day.min()),
                float(of_day.max()),
                gap,
                gap_from,
            )
        )
    return found


def single_jumps(seconds: np.ndarray, values: np.ndarray, smallest: float) -> np.ndarray:
    """Return the rows that leap away from both their neighbours, which agree with each other.

    Parameters
    ----------
    seconds : numpy.ndarray, shape (n,)
        Times, seconds since 1970 (UTC).
    values : numpy.ndarray, shape (n,)
        What was logged.
    smallest : float
        Smallest leap that is told, above 0, in the unit of the values.

    Returns
    -------
    numpy.ndarray of int
        Positions (index from 0). A leap is larger than ``smallest`` and than ten times the usual
        step between rows; the neighbours differ by less than a quarter of it.

    Examples
    --------
    >>> single_jumps(np.arange(6.0), np.array([8.1, 8.1, 4.0, 8.1, 8.2, 8.2]), 0.2).tolist()
    [2]
    """
    if len(values) < 3:
        return np.array([], dtype=int)
    order = np.argsort(seconds, kind="stable")
    sorted_values = values[order]
    usual = float(np.median(np.abs(np.diff(sorted_values))))
    before, here, after = sorted_values[:-2], sorted_values[1:-1], sorted_values[2:]
    leap = np.minimum(np.abs(here - before), np.abs(here - after))
    same_way = (here - before) * (here - after) > 0.0
    agree = np.abs(after - before) < leap / 4.0
    return np.sort(order[1:-1][same_way & agree & (leap > max(smallest, 10.0 * usual))])


def _day_seconds(day: str, zone: dt.tzinfo) -> tuple[float, float]:
    date = dt.date.fromisoformat(day)
    begin = dt.datetime.combine(date, dt.time(0), zone).timestamp()
    end = dt.datetime.combine(date + dt.timedelta(days=1), dt.time(0), zone).timestamp()
    return begin, end - begin


def _longest_gap(
    seconds: np.ndarray, begin: float, length: float, step: float
) -> tuple[float, float]:
    edges = np.concatenate(([begin], np.unique(seconds), [begin + length]))
    gaps = np.diff(edges)
    at = int(gaps.argmax())
    if gaps[at] <= max(_GAP_SECONDS, _GAP_STEPS * step):
        return math.nan, math.nan
    return float(gaps[at]) / 3600.0, float(edges[at])
