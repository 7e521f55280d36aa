"""Use month by month, from one fit with one rate for each calendar month."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reef_calc.balance.steady_use import SteadyUse

Floats = NDArray[np.float64]
NEAR_ENOUGH = 3.0


@dataclass(frozen=True)
class MonthSpan:
    """One calendar month of the history, as day numbers.

    Attributes
    ----------
    name : str
        Text such as ``2026-09``.
    start, stop : float
        Part of the month that the readings span.
    readings : int
        Readings inside.
    told : bool
        Whether readings lie inside, or within three days of both its ends.
    column : int
        Index of the rate that stands for it; months without a reading share one with a neighbour.
    """

    name: str
    start: float
    stop: float
    readings: int
    told: bool
    column: int


def month_spans(reading_days: Floats, zone: str) -> tuple[tuple[MonthSpan, ...], Floats]:
    """Return the calendar months of a history and the spans their rates are fitted over.

    A month with no reading inside has no rate of its own: it shares the span of the month before it.

    Parameters
    ----------
    reading_days : array, shape (n,)
        Reading times as day numbers since 1970 (UTC), increasing.
    zone : str
        IANA zone that the calendar follows.

    Returns
    -------
    tuple
        Months, and spans as an array (j, 2) of day numbers.

    Examples
    --------
    >>> months, spans = month_spans(np.array([0.5, 20.0, 40.0]), "UTC")
    >>> [(m.name, m.readings, m.told) for m in months]
    [('1970-01', 2, True), ('1970-02', 1, True)]
    >>> spans.tolist()
    [[0.5, 31.0], [31.0, 40.0]]
    """
    t = np.asarray(reading_days, dtype=float)
    epoch, day = pd.Timestamp("1970-01-01", tz="UTC"), pd.Timedelta(days=1)
    first = (epoch + pd.Timedelta(days=float(t[0]))).tz_convert(zone).tz_localize(None)
    last = (epoch + pd.Timedelta(days=float(t[-1]))).tz_convert(zone).tz_localize(None)
    periods = pd.period_range(first, last, freq="M")
    edges = periods.start_time.append(pd.DatetimeIndex([periods[-1].end_time.ceil("D")]))
    bounds = np.asarray((edges.tz_localize(zone).tz_convert("UTC") - epoch) / day, dtype=float)
    months: list[MonthSpan] = []
    spans: list[list[float]] = []
    for j, period in enumerate(periods):
        start, stop = max(bounds[j], t[0]), min(bounds[j + 1], t[-1])
        if stop <= start and len(periods) > 1:
            continue
        inside = int(((t >= bounds[j]) & (t < bounds[j + 1])).sum())
        near = all(np.min(np.abs(t - edge)) <= NEAR_ENOUGH for edge in (start, stop))
        informs = int(((t > start) & (t <= stop)).sum())
        if informs or not spans:
            spans.append([start, stop])
        else:
            spans[-1][1] = stop
        months.append(
            MonthSpan(str(period), start, stop, inside, bool(inside or near), len(spans) - 1)
        )
    return tuple(months), np.array(spans)


@dataclass(frozen=True)
class MonthlyUse:
    """Rates of the months with their joint fit.

    Attributes
    ----------
    months : tuple of MonthSpan
        The months in order.
    fit : SteadyUse
        Fit whose factors 1 to j are the rates of the spans.
    """

    months: tuple[MonthSpan, ...]
    fit: SteadyUse

    def _contrast(self, name: str) -> Floats:
        month = next(m for m in self.months if m.name == name)
        contrast = np.zeros(len(self.fit.names))
        contrast[1 + month.column] = 1.0
        return contrast

    def told(self, name: str) -> bool:
        """Return whether the readings tell the rate of a month.

        Parameters
        ----------
        name : str
            Month, text ``2026-09``.

        Returns
        -------
        bool
            False also for a month outside the history.
        """
        found = [m for m in self.months if m.name == name]
        if not found or not found[0].told:
            return False
        shared = [m for m in self.months if m.column == found[0].column]
        return all(m.told for m in shared)

    def rate(self, name: str) -> tuple[float, float, float]:
        """Return median, low and high end of the use in a month.

        Parameters
        ----------
        name : str
            Month, text ``2026-09``.

        Returns
        -------
        tuple of float
            Unit per day.
        """
        return self.fit.interval(self._contrast(name))

    def difference(
        self, name: str, against: str, probability: float = 0.95
    ) -> tuple[float, float, float]:
        """Return the use of one month less that of another, with its joint interval.

        Parameters
        ----------
        name, against : str
            Months, text ``2026-09``.
        probability : float, optional
            Coverage of the interval (a share, 0 to 1).

        Returns
        -------
        tuple of float
            Median, low and high, unit per day.
        """
        return self.fit.interval(self._contrast(name) - self._contrast(against), probability)

    def verdict(self, name: str, against: str) -> str:
        """Return what can be said of a change: changed at 99 %, perhaps at 95 %.

        Parameters
        ----------
        name, against : str
            Months, text ``2026-09``.

        Returns
        -------
        str
            ``changed``, ``perhaps changed``, ``no change shown`` or ``cannot tell``.
        """
        if not (self.told(name) and self.told(against)):
            return "cannot tell"
        for probability, word in ((0.99, "changed"), (0.95, "perhaps changed")):
            _, low, high = self.difference(name, against, probability)
            if low > 0 or high < 0:
                return word
        return "no change shown"
