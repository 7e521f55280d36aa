"""The date of a report whose table has none: offered from the lines above it, never taken."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence

from reef_calc.errors import InputError
from reef_calc.log.foreign.outcome import Answers, CellTime, Choice, Question
from reef_calc.log.times import parse_time

KEY = "date/file"
_ISO = re.compile(r"(?<!\d)(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ](\d{1,2}):(\d{2})(?::\d{2})?)?(?!\d)")
_DAY_FIRST = re.compile(r"(?<![\d.])(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})(?!\d)")
_SLASHES = re.compile(r"(?<!\d)(\d{1,2})[/-](\d{1,2})[/-](\d{4})(?!\d)")
_LONGEST = 500


def dates_above(texts: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Return the dates in the lines above a table, each with its line.

    Parameters
    ----------
    texts : sequence of str
        Lines above and below the table.

    Returns
    -------
    tuple of (str, str)
        ISO date (with time where one stands there) and the line; of a date that is read in two ways
        both.

    Examples
    --------
    >>> dates_above(["Sampled: 13.02.2026", "Reported 2026-02-20"])
    (('2026-02-13', 'Sampled: 13.02.2026'), ('2026-02-20', 'Reported 2026-02-20'))
    >>> [date for date, _ in dates_above(["received 3/2/2026"])]
    ['2026-02-03', '2026-03-02']
    """
    found: list[tuple[str, str]] = []
    for line in texts:
        line = line.strip()[:_LONGEST]
        for match in _ISO.finditer(line):
            clock = f"T{int(match[4]):02d}:{match[5]}" if match[4] else ""
            found.append((_iso(match[1], match[2], match[3]) + clock, line))
        for match in _DAY_FIRST.finditer(line):
            found.append((_iso(match[3], match[2], match[1]), line))
        for match in _SLASHES.finditer(line):
            found.append((_iso(match[3], match[2], match[1]), line))
            found.append((_iso(match[3], match[1], match[2]), line))
    real = [(date, line) for date, line in found if date and not date.startswith("T")]
    return tuple(dict.fromkeys(real))


def date_question(
    above: Sequence[str],
    rows: tuple[int, ...],
    zone: dt.tzinfo,
    now: dt.datetime,
    answers: Answers,
) -> tuple[Question, CellTime]:
    """Return the question when the water was taken, and the answer as a time.

    Parameters
    ----------
    above : sequence of str
        Lines around the table; their dates are offered.
    rows : tuple of int
        Rows that wait for it, counted from 1.
    zone : datetime.tzinfo
        Zone of the tank.
    now : datetime.datetime
        Present time with zone.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    tuple
        Question, and the time; an empty time while it is not answered with a date that can be read.

    Examples
    --------
    >>> now = dt.datetime(2026, 3, 1, tzinfo=dt.UTC)
    >>> question, time = date_question(["Sampled 13.02.2026"], (3,), dt.UTC, now, {})
    >>> question.choices[0].answer, time.iso
    ('2026-02-13', '')
    >>> date_question([], (3,), dt.UTC, now, {"date/file": "13.02.2026"})[1].iso
    '2026-02-13'
    """
    choices = tuple(
        Choice(date, date.replace("T", " "), f"It stands in “{line[:80]}”.")
        for date, line in dates_above(above)
    )
    text = "When was the water taken? No column of the table says."
    given = answers.get(KEY, "").strip()
    time = CellTime()
    if given:
        time, why = _answered(given, zone, now)
        text += why
    question = Question(
        KEY, text, choices, rows, None, "date, such as 2026-02-13",
        answered=given if time.iso else "",
    )  # fmt: skip
    return question, time


def _answered(given: str, zone: dt.tzinfo, now: dt.datetime) -> tuple[CellTime, str]:
    slashes = _SLASHES.fullmatch(given)
    if slashes:
        first, second = int(slashes[1]), int(slashes[2])
        ways = dict.fromkeys(
            date
            for date in (_iso(slashes[3], second, first), _iso(slashes[3], first, second))
            if date
        )
        if len(ways) != 1:
            return CellTime(), f" “{given[:40]}” can be read in two ways: type {' or '.join(ways)}."
        given = next(iter(ways))
    day_first = _DAY_FIRST.fullmatch(given)
    if day_first:
        given = _iso(day_first[3], day_first[2], day_first[1]) or given
    try:
        moment = parse_time(given, zone, now=now)
    except InputError as error:
        return CellTime(), f" “{given[:40]}” cannot be used: {error.repair}"
    if moment.utc > now + dt.timedelta(days=1):
        return CellTime(), f" {given[:40]} is still to come."
    return CellTime(given.replace(" ", "T"), moment.utc, moment.date_only), ""


def _iso(year: str, month: str | int, day: str | int) -> str:
    try:
        date = dt.date(int(year), int(month), int(day))
    except ValueError:
        return ""
    return date.isoformat() if date.year >= 1900 else ""
