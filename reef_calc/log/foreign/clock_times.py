"""A time of day as it is written: on a clock of 24 or 12 hours, or as a share of a day."""

from __future__ import annotations

import datetime as dt
import math
import re
from dataclasses import dataclass
from functools import lru_cache

from reef_calc.log.foreign.grid import Cell, text_of
from reef_calc.log.foreign.parts_of_day import part_of_day

_DAY = 86_400_000_000
_CLOCK = re.compile(
    r"([0-9]{1,2})\s?(?:(?P<mark>:|\.|h|u|uhr|時|时)\s?([0-9]{2})(?:\s?(?:[:.]|m|min|分)\s?([0-9]{2})"
    r"(?:[.,]([0-9]{1,9}))?)?(?:\s?(?:m|min|s|sec|分|秒)\b)?)?"
    r"\s?(?P<half>[ap]\s?\.?\s?m\b\.?)?\s?(?P<word>uhr|h|hrs|hours|u|o'clock)?\.?"
    r"\s?(?P<zone>z|(?:utc|gmt)?\s?[+-][0-9]{1,2}(?::?[0-9]{2})?|\(?[a-z]{3,5}\)?)?"
)
_DIGITS = re.compile(
    r"([0-9]{2})([0-9]{2})([0-9]{2})?(?:[.,]([0-9]{1,9}))?\s?(?:uhr|h|hrs|hours)?"
    r"\s?(?P<zone>z|utc|gmt|[+-][0-9]{2}(?::?[0-9]{2})?)?"
)
_SHARE = re.compile(r"[01]?[.,][0-9]+")
_BEFORE = re.compile(
    r"[\s,;_|]*(?:(?:t(?=[0-9])|um|gegen|at|à|kl\.?|alle|ore|godz\.?|o|om|a las|às)\s*)*[\s,;_|]*"
)
_NAMED = {"noon": 720, "12 noon": 720, "midday": 720, "mittag": 720, "mittags": 720, "midi": 720}
_ZERO_ZONES = ("z", "utc", "gmt")
_OFFSET = re.compile(r"([+-])([0-9]{1,2}):?([0-9]{2})?")


@dataclass(frozen=True, slots=True)
class Clock:
    """A time of day.

    Attributes
    ----------
    time : datetime.time or None
        On the clock; None where none is known.
    days : int
        1 for 24:00, the end of the day; else 0.
    offset : datetime.timedelta or None
        From UTC, where it is written.
    zone : str
        Word for a zone that does not say its offset, such as ``CET``.
    problem : str
        Why it is not known though something is written, a sentence.
    part : str
        Part of the day where that is written, such as ``morning``; empty otherwise.
    """

    time: dt.time | None = None
    days: int = 0
    offset: dt.timedelta | None = None
    zone: str = ""
    problem: str = ""
    part: str = ""


NO_CLOCK = Clock()


def clock_of(cell: Cell) -> Clock:
    """Return the time of day that a cell holds.

    Parameters
    ----------
    cell : Cell
        Text, a time of a workbook, or a share of a day.

    Returns
    -------
    Clock
        Without a time where the cell is empty; with a problem where it cannot be read.

    Examples
    --------
    >>> clock_of("12:15 AM").time, clock_of("14h30").time, clock_of(0.5).time, clock_of("24:00").days
    (datetime.time(0, 15), datetime.time(14, 30), datetime.time(12, 0), 1)
    """
    if isinstance(cell, str):
        return clock_of_text(cell.strip()) if cell and not cell.isspace() else NO_CLOCK
    if isinstance(cell, dt.datetime):
        return Clock(cell.time(), offset=cell.utcoffset())
    if isinstance(cell, dt.time):
        return Clock(cell.replace(tzinfo=None), offset=cell.utcoffset())
    if isinstance(cell, dt.date):
        return Clock(problem=f"“{cell.isoformat()}” is a date, not a time of day.")
    if 0 <= cell < 1:
        return clock_of_share(cell)
    return clock_of_text(text_of(cell) if math.isfinite(cell) else str(cell))


def clock_of_share(share: float) -> Clock:
    """Return the time of day of a share of a day.

    Parameters
    ----------
    share : float
        Share, from 0 to 1.

    Returns
    -------
    Clock
        To the second: spreadsheets keep no more.

    Examples
    --------
    >>> clock_of_share(0.604166667).time
    datetime.time(14, 30)
    """
    seconds = round(share * 86_400)
    days, seconds = divmod(seconds, 86_400)
    minutes, second = divmod(seconds, 60)
    return Clock(dt.time(minutes // 60, minutes % 60, second), days)


@lru_cache(maxsize=131_072)
def clock_of_text(text: str) -> Clock:
    """Return the time of day that a text names.

    Parameters
    ----------
    text : str
        Text, without blanks at its ends.

    Returns
    -------
    Clock
        With a problem where it names none.

    Examples
    --------
    >>> clock_of_text("8 Uhr").time, clock_of_text("0830").time, clock_of_text("14:30+01:00").offset
    (datetime.time(8, 0), datetime.time(8, 30), datetime.timedelta(seconds=3600))
    >>> clock_of_text("0.25").problem
    '“0.25” may be 00:25 or a quarter of a day, 06:00.'
    """
    if len(text) > 60:
        return _problem(text)
    plain = text.casefold().replace("\u00a0", " ").replace("\u202f", " ").replace("−", "-")
    plain = plain[_BEFORE.match(plain).end() :].strip(" ,;")  # type: ignore[union-attr]
    if not plain:
        return NO_CLOCK
    if plain in _NAMED:
        return Clock(dt.time(_NAMED[plain] // 60))
    if _SHARE.fullmatch(plain):
        share = float(plain.replace(",", "."))
        if share <= 1 and len(plain.replace(",", ".").partition(".")[2]) != 2:
            return clock_of_share(share)
        if share < 1:
            return _two_ways(text, plain, share)
    found = _CLOCK.fullmatch(plain)
    if found is not None:
        hour, _, minute, second, fraction = found.groups()[:5]
        half, zone = found["half"], found["zone"]
        if minute is None and not half and not (found["word"] or found["mark"]):
            return _problem(text)
        return _clock(text, hour, minute, second, fraction, half, zone)
    found = _DIGITS.fullmatch(plain)
    if found is not None:
        hour, minute, second, fraction = found.groups()[:4]
        return _clock(text, hour, minute, second, fraction, None, found["zone"])
    return _problem(text)


def _clock(
    text: str,
    hour: str,
    minute: str | None,
    second: str | None,
    fraction: str | None,
    half: str | None,
    zone: str | None,
) -> Clock:
    hours, minutes, seconds = int(hour), int(minute or 0), int(second or 0)
    if half:
        afternoon = half[0] == "p"
        if not 1 <= hours <= 12 and not (hours == 0 and not afternoon):
            # 13:00 PM is said twice over and agrees; 13:00 AM does not.
            if not (afternoon and 12 < hours < 24):
                return _problem(text)
        else:
            hours = hours % 12 + (12 if afternoon else 0)
    days = 0
    if hours == 24 and minutes == seconds == 0:
        hours, days = 0, 1
    if hours > 23 or minutes > 59 or seconds > 59:
        return Clock(
            problem=f"“{_short(text)}” is no time of day: a day has 24 hours of 60 minutes."
        )
    micro = int((fraction or "0")[:6].ljust(6, "0"))
    offset, word, wrong = _offset(zone or "")
    if wrong:
        return Clock(problem=f"“{_short(text)}” has an offset that no zone has.")
    return Clock(dt.time(hours, minutes, seconds, micro), days, offset, word)


def _offset(zone: str) -> tuple[dt.timedelta | None, str, bool]:
    if not zone:
        return None, "", False
    if zone in _ZERO_ZONES:
        return dt.timedelta(0), "", False
    written = offset_of(zone.removeprefix("utc").removeprefix("gmt").strip())
    if written is not None:
        return written, "", False
    if any(letter.isdigit() for letter in zone):
        return None, "", True
    return (dt.timedelta(0), "", False) if zone.strip("()") in _ZERO_ZONES else (
        None, zone.strip("()").upper(), False,
    )  # fmt: skip


def offset_of(text: str) -> dt.timedelta | None:
    """Return an offset from UTC as it is written.

    Parameters
    ----------
    text : str
        Such as ``+01:00`` or ``-8``.

    Returns
    -------
    datetime.timedelta or None
        None where it is none, or none that a zone has: they go from -14 to +14 hours.

    Examples
    --------
    >>> offset_of("+0530"), offset_of("+15")
    (datetime.timedelta(seconds=19800), None)
    """
    found = _OFFSET.fullmatch(text.strip().replace("−", "-"))
    if found is None:
        return None
    hours, minutes = int(found[2]), int(found[3] or 0)
    if minutes > 59 or hours * 60 + minutes > 14 * 60:
        return None
    size = dt.timedelta(hours=hours, minutes=minutes)
    return -size if found[1] == "-" else size


def _two_ways(text: str, plain: str, share: float) -> Clock:
    minutes = int(plain[-2:])
    clock = clock_of_share(share).time
    if minutes > 59 or clock is None:
        return clock_of_share(share)
    part = "a quarter of a day" if share == 0.25 else f"{share:g} of a day"
    return Clock(problem=f"“{text}” may be 00:{minutes:02d} or {part}, {clock:%H:%M}.")


def _problem(text: str) -> Clock:
    return Clock(
        problem=f"“{_short(text)}” is no time of day that can be read.", part=part_of_day(text)
    )


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."
