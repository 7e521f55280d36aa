"""Times as typed in a tank folder: ISO 8601 only, in the tank's zone, kept in UTC."""

from __future__ import annotations

import calendar
import datetime as dt
import difflib
import re
import zoneinfo
from dataclasses import dataclass

import pandas as pd

from reef_calc.errors import InputError

_ISO = re.compile(
    r"([0-9]{4})-([0-9]{2})-([0-9]{2})"
    r"(?:[T ]([0-9]{2}):([0-9]{2})(?::([0-9]{2})(?:\.([0-9]{1,6}))?)?"
    r"(Z|[+-][0-9]{2}(?::?[0-9]{2})?)?)?"
)
_FORM = "a time such as 2026-02-13T19:30, or a date such as 2026-02-13"
_EARLIEST, _LATEST = 1900, 2199
_DOUBTED_BEFORE = 1980
_FAR_AHEAD = dt.timedelta(days=366)


@dataclass(frozen=True)
class Moment:
    """One time as typed.

    Attributes
    ----------
    utc : datetime.datetime
        The time in UTC; of a date alone, 12:00 in the tank's zone.
    date_only : bool
        Whether only a date was typed.
    doubt : str
        Why the year may be a slip; empty when it is not doubted.
    """

    utc: dt.datetime
    date_only: bool = False
    doubt: str = ""


def tank_zone(name: str, where: str = "") -> zoneinfo.ZoneInfo:
    """Return the time zone of a name.

    Parameters
    ----------
    name : str
        Name in the IANA time-zone database, such as ``Europe/Berlin``.
    where : str, optional
        Place of the text, for the message.

    Returns
    -------
    zoneinfo.ZoneInfo
        The zone.

    Raises
    ------
    InputError
        If there is no such zone; names the closest one.

    Examples
    --------
    >>> tank_zone("Asia/Kolkata").key
    'Asia/Kolkata'
    """
    try:
        if (name.isascii() and "/" in name) or name == "UTC":
            return zoneinfo.ZoneInfo(name)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        pass
    by_lower = {zone.lower(): zone for zone in sorted(zoneinfo.available_timezones())}
    near = difflib.get_close_matches(name.lower(), by_lower, n=1)
    hint = f"Is “{by_lower[near[0]]}” meant?" if near else "Write it as Europe/Berlin."
    raise InputError("a time zone of the IANA database", name, hint, where)


def parse_time(
    text: str, zone: dt.tzinfo, where: str = "", *, now: dt.datetime | None = None
) -> Moment:
    """Return the moment that a text names.

    Parameters
    ----------
    text : str
        ISO 8601: date; date and time in the tank's zone; or date and time with offset.
    zone : datetime.tzinfo
        Zone of the tank.
    where : str, optional
        Place of the text, for the message.
    now : datetime.datetime, optional
        Present time with zone, to doubt years far ahead; today when not given.

    Returns
    -------
    Moment
        Time in UTC, whether it was only a date, and a doubt in words.

    Raises
    ------
    InputError
        If the text is not in this form, the day does not exist, or the clock showed that time twice
        or not at all and no offset says which is meant.

    Notes
    -----
    Years from 1900 to 2199. A year before 1980 or more than a year ahead is doubted, not refused.

    Examples
    --------
    >>> berlin = tank_zone("Europe/Berlin")
    >>> parse_time("2026-02-13T19:30", berlin).utc.isoformat()
    '2026-02-13T18:30:00+00:00'
    >>> parse_time("2026-02-13", berlin).date_only
    True

    References
    ----------
    ISO 8601-1:2019, 5.4.2; the repeated and the missing hour as in PEP 495.
    """
    found = _ISO.fullmatch(text.strip())
    if found is None:
        raise InputError(_FORM, text, _repair(text.strip()), where)
    year, month, day, hour, minute, second, fraction, offset = found.groups()
    date = _date(int(year), int(month), int(day), text, where)
    if hour is None:
        utc = dt.datetime.combine(date, dt.time(12), zone).astimezone(dt.UTC)
        return Moment(utc, True, _doubt(utc, now))
    try:
        clock = dt.time(
            int(hour), int(minute), int(second or 0), int((fraction or "0").ljust(6, "0"))
        )
    except ValueError:
        raise InputError("a time from 00:00 to 23:59", text, "Check the hour.", where) from None
    local = dt.datetime.combine(date, clock)
    if offset is None:
        utc = _utc_of_local(local, zone, text, where)
    else:
        utc = (local - _offset(offset, text, where)).replace(tzinfo=dt.UTC)
    return Moment(utc, False, _doubt(utc, now))


def window_edge(
    when: str | dt.date | pd.Timestamp | None, zone: dt.tzinfo, *, end: bool
) -> pd.Timestamp | None:
    """Return the edge of a window in UTC.

    Parameters
    ----------
    when : str, datetime.date, datetime.datetime, pandas.Timestamp or None
        A time, or a day in the tank's zone. A time without a zone is in the tank's zone.
    zone : datetime.tzinfo
        Zone of the tank.
    end : bool
        Whether the edge closes the window: a day then counts whole.

    Returns
    -------
    pandas.Timestamp or None
        UTC; None for None.

    Raises
    ------
    InputError
        If the text cannot be read.

    Examples
    --------
    >>> window_edge("2026-09-30", tank_zone("Europe/Berlin"), end=True).isoformat()
    '2026-09-30T21:59:59.999999+00:00'
    """
    if when is None:
        return None
    if isinstance(when, str):
        if len(when.strip()) > 10:
            return pd.Timestamp(parse_time(when, zone, "window").utc)
        when = parse_time(when, zone, "window").utc.astimezone(zone).date()
    if isinstance(when, dt.datetime):
        if when.tzinfo is not None:
            return pd.Timestamp(when).tz_convert("UTC")
        return pd.Timestamp(_utc_of_local(pd.Timestamp(when).to_pydatetime(), zone, str(when), ""))
    if end:
        after = dt.datetime.combine(when + dt.timedelta(days=1), dt.time(0), zone)
        return pd.Timestamp(after.astimezone(dt.UTC) - dt.timedelta(microseconds=1))
    return pd.Timestamp(dt.datetime.combine(when, dt.time(0), zone).astimezone(dt.UTC))


def _date(year: int, month: int, day: int, text: str, where: str) -> dt.date:
    if not _EARLIEST <= year <= _LATEST:
        raise InputError(f"a year from {_EARLIEST} to {_LATEST}", text, "Check the year.", where)
    try:
        return dt.date(year, month, day)
    except ValueError:
        pass
    if 1 <= month <= 12:
        last = calendar.monthrange(year, month)[1]
        repair = f"{calendar.month_name[month]} {year} has {last} days."
    else:
        repair = "The month comes after the year, then the day."
    raise InputError("a day that exists", text, repair, where) from None


def _offset(text: str, whole: str, where: str) -> dt.timedelta:
    if text == "Z":
        return dt.timedelta(0)
    hours, minutes = int(text[1:3]), int(text[3:].lstrip(":") or 0)
    if hours > 14 or minutes > 59:
        raise InputError("an offset from -14:00 to +14:00", whole, "Check the offset.", where)
    size = dt.timedelta(hours=hours, minutes=minutes)
    return -size if text[0] == "-" else size


def _utc_of_local(local: dt.datetime, zone: dt.tzinfo, text: str, where: str) -> dt.datetime:
    first = local.replace(tzinfo=zone, fold=0)
    second = local.replace(tzinfo=zone, fold=1)
    offset, other = first.utcoffset(), second.utcoffset()
    if offset == other or offset is None or other is None:
        return first.astimezone(dt.UTC)
    if offset > other:
        raise InputError(
            "the offset, because the clocks went back and showed this time twice",
            text,
            f"Write {_with_offset(first)} or {_with_offset(second)}.",
            where,
        )
    raise InputError(
        "a time that exists: the clocks went forward and jumped over this one",
        text,
        f"Perhaps {_with_offset(second.astimezone(dt.UTC).astimezone(zone))} or "
        f"{_with_offset(first.astimezone(dt.UTC).astimezone(zone))} is meant.",
        where,
    )


def _with_offset(time: dt.datetime) -> str:
    return time.isoformat(timespec="minutes")


def _doubt(utc: dt.datetime, now: dt.datetime | None) -> str:
    if utc.year < _DOUBTED_BEFORE:
        return f"The year {utc.year} is very long ago."
    if utc > (now or dt.datetime.now(dt.UTC)) + _FAR_AHEAD:
        return f"The year {utc.year} is more than a year ahead."
    return ""


def _repair(text: str) -> str:
    if not text:
        return "Fill in the time."
    if re.fullmatch(r"[0-9]{1,2}\.[0-9]{1,2}\.[0-9]{4}", text):
        day, month, year = text.split(".")
        if int(day) > 12 >= int(month):
            return f"Write {year}-{int(month):02d}-{int(day):02d}."
    if re.match(r"[0-9]{1,4}[./-][0-9]{1,2}[./-][0-9]{1,4}", text) and not re.match(
        r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text
    ):
        return "The order of day and month is not certain. Write year-month-day with two digits."
    if re.fullmatch(r"[0-9]{5}(\.[0-9]+)?", text):
        return "This is a spreadsheet's day number. Show the cell as a date, year-month-day."
    return "Write year-month-day, then T and the time of day."
