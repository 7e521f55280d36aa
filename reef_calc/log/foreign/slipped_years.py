"""Years that can hardly be right: ahead of today, long ago, or a year off at the turn of the year."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from itertools import pairwise
from statistics import median_low

from reef_calc.log.foreign.outcome import Said

_LONG_AGO = 1980
_ALONE = dt.timedelta(days=3 * 365)
_AROUND = 400
_HALF_YEAR = dt.timedelta(days=180)
_RUN = 20
_RUN_AT_THE_END = 5


def year_doubts(days: Sequence[dt.date], today: dt.date) -> dict[dt.date, Said]:
    """Return what is said of days whose year is doubtful.

    Parameters
    ----------
    days : sequence of datetime.date
        Days in the order of the file.
    today : datetime.date
        The present day.

    Returns
    -------
    dict of datetime.date to Said
        Flags, with the year that is likely meant; the days stay as they are.

    Notes
    -----
    Doubted: ahead of today, before 1980, alone and three years from all others, and a run of rows
    that go back by more than half a year where one year more puts them in order.

    Examples
    --------
    >>> days = [dt.date(2026, 2, 1), dt.date(2062, 2, 8), dt.date(2026, 2, 15)]
    >>> found = year_doubts(days, dt.date(2026, 3, 1))
    >>> found[dt.date(2062, 2, 8)].likely
    '2026-02-08'
    """
    distinct = sorted(set(days))
    good = [day for day in distinct if day <= today and day.year >= _LONG_AGO]
    alone = _alone(good)
    good = [day for day in good if day not in alone]
    found: dict[dt.date, Said] = {}
    for day in distinct:
        if day > today:
            code, why = "FUTURE", f"{day.isoformat()} is in the future."
        elif day.year < _LONG_AGO:
            code, why = "LONG_AGO", f"The year {day.year} is very long ago."
        elif day in alone:
            code, why = "YEAR_ALONE", f"No other row is within three years of {day.isoformat()}."
        else:
            continue
        found[day] = _flag(code, why, _likely(day, good, today))
    steady = [day for day in days if day not in found]
    for day in _year_behind(steady):
        later = _in_year(day, day.year + 1)
        if later and later <= today:
            why = f"{day.isoformat()} is a year earlier than the rows around it."
            found[day] = _flag("YEAR_BEHIND", why, later.isoformat())
    return found


def _flag(code: str, why: str, likely: str) -> Said:
    repair = f"Is {likely} meant?" if likely else "Check the year."
    return Said("flagged", code, why, repair, likely=likely)


def _alone(good: list[dt.date]) -> set[dt.date]:
    if len(good) < 4:
        return set()
    found = set()
    for at, day in enumerate(good):
        beside = good[max(0, at - 1) : at] + good[at + 1 : at + 2]
        if all(abs(other - day) > _ALONE for other in beside):
            found.add(day)
    # Where readings are years apart as a habit, none of them is doubtful.
    return found if len(found) * 4 <= len(good) else set()


def _likely(day: dt.date, good: Sequence[dt.date], today: dt.date) -> str:
    digits = str(day.year)
    years = {int(digits[:2] + digits[3] + digits[2]), int("20" + digits[2:])}
    for at in range(4):
        years |= {int(digits[:at] + str(one) + digits[at + 1 :]) for one in range(10)}
    first, last = (good[0], good[-1]) if good else (today, today)
    edge = dt.timedelta(days=_AROUND)
    ways = [_in_year(day, year) for year in years if 1900 <= year <= 2199 and year != day.year]
    fitting = [way for way in ways if way and way <= today and first - edge <= way <= last + edge]
    if not fitting:
        return ""
    middle = median_low(good) if good else today
    return min(fitting, key=lambda way: (_outside(way, first, last), abs(way - middle))).isoformat()


def _outside(day: dt.date, first: dt.date, last: dt.date) -> dt.timedelta:
    # Within the log, or near its ends; a month outside is as good as inside.
    return max(first - day, day - last, dt.timedelta(days=31))


def _in_year(day: dt.date, year: int) -> dt.date | None:
    try:
        return day.replace(year=year)
    except ValueError:
        return None


def _year_behind(days: Sequence[dt.date]) -> list[dt.date]:
    """Return days that follow later ones and fit between them with one year more."""
    if sum((b > a) - (b < a) for a, b in pairwise(days)) < 0:
        days = days[::-1]
    found: list[dt.date] = []
    at = 1
    while at < len(days):
        if days[at] >= days[at - 1] - _HALF_YEAR:
            at += 1
            continue
        end = at
        good = False
        last = days[at - 1]
        while end < len(days) and end - at < _RUN:
            later = _in_year(days[end], days[end].year + 1)
            if later is None or later < last:
                good = days[end] >= last
                break
            if days[end] >= last:
                good = True
                break
            last = later
            end += 1
        if end > at and (good or (end == len(days) and end - at <= _RUN_AT_THE_END)):
            found += days[at:end]
        at = max(end, at + 1)
    return found
