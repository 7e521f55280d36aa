"""What one cell says of a date, before its column has decided on the order of day and month."""

from __future__ import annotations

import calendar
import datetime as dt
import math
import re
from dataclasses import dataclass
from functools import lru_cache

from reef_calc.log.foreign.clock_times import NO_CLOCK, Clock, clock_of_text
from reef_calc.log.foreign.grid import Cell, text_of
from reef_calc.log.foreign.month_names import ENGLISH, is_weekday, month_named
from reef_calc.log.foreign.outcome import Said

EARLIEST, LATEST = 1900, 2199
_SAME = (
    dict.fromkeys(map(ord, "\u2010\u2011\u2012\u2013\u2014\u2212"), "-")
    | dict.fromkeys(map(ord, "\u2044\u2215\uff0f"), "/")
    | dict.fromkeys(map(ord, "\u200e\u200f\u200b\ufeff"), None)
    | {0xFF0E: "."}
)
_NUMERIC = re.compile(
    r"([0-9]{1,4})\s?([./-])\s?([0-9]{1,2})\s?\2\s?'?([0-9]{1,4})(?![0-9])(.*)", re.DOTALL
)
_DAY_MONTH = re.compile(
    r"([0-9]{1,2})(?:(?:st|nd|rd|th|er|e|º|ª|:e)(?![^\W\d_]))?[\s./-]*(?:(?:de|of)\s+|d['’])?([^\W\d_]+)[\s.,/-]*"
    r"(?:(?:de|del|of)\s+)?['’]?([0-9]{4}|[0-9]{2})(?![0-9:])(.*)",
    re.DOTALL | re.IGNORECASE,
)
_MONTH_DAY = re.compile(
    r"([^\W\d_]+)[\s./-]*([0-9]{1,2})(?:st|nd|rd|th)?[\s.,/-]+['’]?([0-9]{4}|[0-9]{2})(?![0-9:])(.*)",
    re.DOTALL | re.IGNORECASE,
)
_YEAR_MONTH = re.compile(
    r"([0-9]{4})[\s./-]*(?:年\s*([0-9]{1,2})\s*月|([^\W\d_]+))[\s./-]*([0-9]{1,2})日?(?![0-9:])(.*)",
    re.DOTALL,
)
_COMPACT = re.compile(
    r"((?:19|20|21)[0-9]{2})(0[0-9]|1[0-9])([0-3][0-9])(?:[T ,_-]+([^ ].*)|([0-9]{4,6}.*))?"
)
_NUMBER = re.compile(r"[0-9]{5}(?:[.,][0-9]+)?|[0-9]{10}(?:[.,][0-9]+)?|[0-9]{13}")
_NO_YEAR = re.compile(r"[0-9]{1,2}\s?[./-]\s?[0-9]{1,2}[.-]?")
_NO_DAY = re.compile(r"[0-9]{1,2}[./-][0-9]{4}|[0-9]{4}[./-][0-9]{1,2}")
_CLOCK_ONLY = re.compile(r"[0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?(?:\s?[ap]\.?m\.?)?", re.IGNORECASE)
_DITTO = frozenset(
    ('"', "''", "”", "“", "„", "″", "〃", "'", "ditto", "dito", "idem", "id.", "id", "ebd.", "do.",
     "-\"-", "-”-", "-//-", '" "', "same", "same day")
)  # fmt: skip
_LONGEST = 80


@dataclass(frozen=True, slots=True)
class Written:
    """What one cell says of a date.

    Attributes
    ----------
    date : datetime.date or None
        The day, where the cell says it without a doubt.
    parts : tuple of int
        Three numbers whose order the column decides; empty where there is nothing to decide.
    short : bool
        Whether the year is written with two digits.
    separator : str
        What parts those numbers.
    number : float
        A number that counts days or seconds; NaN where it is none.
    clock : Clock
        Time of day in the same cell.
    ditto : bool
        Whether the cell is empty or repeats the one above.
    said : Said or None
        Why it is refused.
    """

    date: dt.date | None = None
    parts: tuple[int, ...] = ()
    short: bool = False
    separator: str = ""
    number: float = math.nan
    clock: Clock = NO_CLOCK
    ditto: bool = False
    said: Said | None = None


DITTO = Written(ditto=True)


def written_date(cell: Cell) -> Written:
    """Return what a cell says of a date.

    Parameters
    ----------
    cell : Cell
        Text, a number, or a date of a workbook.

    Returns
    -------
    Written
        A day, three numbers to be put in order, a number, nothing, or why it is refused.

    Examples
    --------
    >>> written_date("1. Februar 2026").date, written_date("3/2/2026").parts, written_date("5-10").said.code
    (datetime.date(2026, 2, 1), (3, 2, 2026), 'NO_YEAR')
    """
    if isinstance(cell, str):
        return _written_text(cell)
    if isinstance(cell, dt.datetime):
        return _typed(cell.date(), Clock(cell.time(), offset=cell.utcoffset()))
    if isinstance(cell, dt.date):
        return _typed(cell, NO_CLOCK)
    if isinstance(cell, dt.time):
        return Written(
            said=_refused("NO_DATE", cell.isoformat(), "is a time of day without a date")
        )
    return _written_text(text_of(cell) if math.isfinite(cell) else str(cell))


def day_of(year: int, month: int, day: int, text: str) -> dt.date | Said:
    """Return a day, or why there is no such day.

    Parameters
    ----------
    year, month, day : int
        Numbers of the year, the month and the day.
    text : str
        As written.

    Returns
    -------
    datetime.date or Said
        The day; or a refusal that says how long the month is.

    Examples
    --------
    >>> day_of(2026, 4, 31, "31.04.2026").reason
    '“31.04.2026” does not exist: April 2026 has 30 days.'
    """
    shown = shortened(text)
    if not EARLIEST <= year <= LATEST:
        reason = f"“{shown}” lies outside the years {EARLIEST} to {LATEST}."
        return Said("refused", "YEAR_OUTSIDE", reason, "Check the year.")
    if not 1 <= month <= 12:
        reason = f"“{shown}” does not exist: there is no month {month}."
        return Said("refused", "NO_SUCH_DAY", reason, "Correct the date.")
    last = calendar.monthrange(year, month)[1]
    if not 1 <= day <= last:
        reason = f"“{shown}” does not exist: {ENGLISH[month - 1]} {year} has {last} days."
        return Said("refused", "NO_SUCH_DAY", reason, "Correct the date.")
    return dt.date(year, month, day)


def full_year(year: int, short: bool) -> int:
    """Return a year with four digits.

    Parameters
    ----------
    year : int
        Number of the year as written.
    short : bool
        Whether it was written with two digits.

    Returns
    -------
    int
        00 to 69 are 2000 to 2069, 70 to 99 are 1970 to 1999 (*common practice, no source*).

    Examples
    --------
    >>> full_year(26, True), full_year(98, True), full_year(1926, False)
    (2026, 1998, 1926)
    """
    return year + (2000 if year < 70 else 1900) if short else year


def shortened(text: str) -> str:
    """Return a text short enough to be quoted.

    Parameters
    ----------
    text : str
        A text.

    Returns
    -------
    str
        At most 40 letters of it.

    Examples
    --------
    >>> shortened("x" * 100)[-5:]
    'xx...'
    """
    return text if len(text) <= 40 else text[:37] + "..."


def _written_text(text: str) -> Written:
    head, blank, rest = text.strip().partition(" ")
    if not blank and "T" in head:
        head, _, rest = head.partition("T")
    if len(rest) < 30 and len(head) < 12:
        first = _bare(head)
        # The day and the clock are read apart, for a logger writes few days and many clocks.
        if rest and first.clock is NO_CLOCK and (first.date or first.parts):
            clock = clock_of_text(rest.strip())
            if clock.time is not None:
                return _with_clock(first, clock)
        elif not rest:
            return first
    return _bare(text.strip())


def _with_clock(first: Written, clock: Clock) -> Written:
    return Written(first.date, first.parts, first.short, first.separator, clock=clock)


@lru_cache(maxsize=65_536)
def _bare(text: str) -> Written:
    plain = " ".join(text.translate(_SAME).split()).strip(" ;")
    if not plain or plain.casefold() in _DITTO:
        return DITTO
    if len(plain) > _LONGEST:
        return Written(said=_refused("NO_DATE", text, "is no date"))
    found = _read(plain, text)
    first, _, rest = plain.partition(" ")
    if found.said is not None and rest and is_weekday(first.strip(".,")):
        without = _read(rest, text)
        return without if without.said is None or without.said.code != "NO_DATE" else found
    return found


def _read(plain: str, text: str) -> Written:
    found = _NUMERIC.match(plain)
    if found is not None:
        return _numeric(found, text)
    found = _COMPACT.fullmatch(plain)
    if found is not None:
        day = day_of(int(found[1]), int(found[2]), int(found[3]), text)
        return _dated(day, found[4] or found[5] or "", text)
    if _NUMBER.fullmatch(plain):
        return Written(number=float(plain.replace(",", ".")))
    for pattern, order in ((_DAY_MONTH, (3, 2, 1)), (_MONTH_DAY, (3, 1, 2))):
        found = pattern.match(plain)
        month = month_named(found[order[1]]) if found else 0
        if found is not None and month:
            short = len(found[3]) == 2
            day = day_of(full_year(int(found[3]), short), month, int(found[order[2]]), text)
            return _dated(day, found[4], text, short)
    found = _YEAR_MONTH.match(plain)
    if found is not None and (month := int(found[2]) if found[2] else month_named(found[3])):
        return _dated(day_of(int(found[1]), month, int(found[4]), text), found[5], text)
    return Written(said=_why_not(plain, text))


def _numeric(found: re.Match[str], text: str) -> Written:
    first, separator, second, third, rest = found.groups()
    if len(first) == 3 or len(third) == 3 or (len(first) == 4 and len(third) > 2):
        return Written(said=_refused("NO_DATE", text, "is no date"))
    if len(first) == 4:
        day = day_of(int(first), int(second), int(third), text)
        return _dated(day, rest, text)
    clock, said = _clock_behind(rest, text)
    if said is not None:
        return Written(said=said)
    parts = (int(first), int(second), int(third))
    return Written(None, parts, len(third) < 4, separator, clock=clock)


def _dated(day: dt.date | Said, rest: str, text: str, short: bool = False) -> Written:
    if isinstance(day, Said):
        return Written(said=day)
    clock, said = _clock_behind(rest, text)
    return Written(said=said) if said is not None else Written(day, short=short, clock=clock)


def _clock_behind(rest: str, text: str) -> tuple[Clock, Said | None]:
    rest = rest.strip(" .,;")
    if not rest:
        return NO_CLOCK, None
    clock = clock_of_text(rest)
    if clock.problem and any(letter.isdigit() for letter in rest):
        # Digits behind a date may be a second date or a value; a part of it must not be lost.
        if "24 hours" in clock.problem:
            return NO_CLOCK, Said("refused", "NO_SUCH_CLOCK", clock.problem, "Correct the time.")
        reason = f"“{shortened(text)}” holds more than a date and a time of day."
        return NO_CLOCK, Said("refused", "MORE_THAN_A_DATE", reason, "Write one date in the cell.")
    return clock, None


def _typed(day: dt.date, clock: Clock) -> Written:
    checked = day_of(day.year, day.month, day.day, day.isoformat())
    return Written(said=checked) if isinstance(checked, Said) else Written(checked, clock=clock)


def _why_not(plain: str, text: str) -> Said:
    words = [part for part in re.split(r"[\s.,/-]+", plain) if part]
    named = any(month_named(word) for word in words if not word[0].isdigit())
    numbers = [word for word in words if word.isdigit()]
    if _NO_DAY.fullmatch(plain) or (named and len(numbers) == 1 and len(numbers[0]) == 4):
        return _refused("NO_DAY", text, "has no day")
    if _NO_YEAR.fullmatch(plain) or (named and len(numbers) == 1):
        return _refused("NO_YEAR", text, "has no year")
    if re.fullmatch(r"(?:19|20|21)[0-9]{2}", plain):
        return _refused("NO_DAY", text, "is only a year")
    if re.fullmatch(r"[0-9]{1,2}(?:\.0)?", plain):
        return _refused("NO_YEAR", text, "is only a day or a month: the year is missing")
    if _CLOCK_ONLY.fullmatch(plain):
        return _refused("NO_DATE", text, "is a time of day without a date")
    return _refused("NO_DATE", text, "is no date that can be read")


def _refused(code: str, text: str, why: str) -> Said:
    repair = "Write year-month-day, such as 2026-02-01."
    return Said("refused", code, f"“{shortened(text)}” {why}.", repair)
