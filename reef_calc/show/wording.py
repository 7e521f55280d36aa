"""Numbers, dates and changes in words: rounded by their uncertainty, refused when unknown."""

from __future__ import annotations

import html
import re
from typing import Any
from zoneinfo import ZoneInfo

import pandas as pd

from reef_calc.errors import InputError
from reef_calc.numbers_in_words import (  # noqa: F401 - said here too
    CANNOT_TELL,
    decimals_for,
    fixed,
    is_known,
    upper_bound,
    with_interval,
)

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_COUNTS = (
    "no", "one", "two", "three", "four", "five", "six",
    "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip


def escape(text: object) -> str:
    """Return a text that is safe inside HTML and SVG; a missing value gives an empty text.

    Parameters
    ----------
    text : object
        Anything a person may have typed.

    Returns
    -------
    str
        Escaped text; control characters, which no SVG may hold, become a replacement mark.

    Examples
    --------
    >>> escape('<b> "kit" & co')
    '&lt;b&gt; &quot;kit&quot; &amp; co'
    """
    clean = re.sub(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\ufffd", typed(text))
    return html.escape(clean, quote=True)


def typed(text: object) -> str:
    """Return what a person typed, or an empty text when the cell was left empty.

    Parameters
    ----------
    text : object
        A cell: text, or one of the marks of a missing value.

    Returns
    -------
    str
        Plain text, not escaped.

    Examples
    --------
    >>> typed(float("nan")), typed("lot B7")
    ('', 'lot B7')
    """
    return "" if text is None or text is pd.NA or text != text else str(text)


def day_words(time: Any, zone: str, *, clock: bool = False, year: bool = True) -> str:
    """Return a moment as a date in the tank's zone.

    Parameters
    ----------
    time : pandas.Timestamp or anything it reads
        The moment; taken as UTC when it names no zone.
    zone : str
        IANA zone of the tank.
    clock, year : bool
        Whether to add the time of day, and the year.

    Returns
    -------
    str
        "24 Sep 2026", "24 Sep 2026, 18:05", "24 Sep", or "no date".

    Examples
    --------
    >>> day_words("2026-09-24T23:30Z", "Europe/London", clock=True)
    '25 Sep 2026, 00:30'
    """
    moment = pd.Timestamp(time)
    if pd.isna(moment):
        return "no date"
    moment = moment.tz_localize("UTC") if moment.tzinfo is None else moment
    moment = moment.tz_convert(ZoneInfo(zone))
    text = f"{moment.day} {MONTHS[moment.month - 1][:3]}" + (f" {moment.year}" if year else "")
    return text + (f", {moment:%H:%M}" if clock else "")


def month_words(month: str) -> str:
    """Return a month in words.

    Parameters
    ----------
    month : str
        Text such as ``2026-09``.

    Returns
    -------
    str
        Such as "September 2026".

    Raises
    ------
    InputError
        If the text is not a year and a month.

    Examples
    --------
    >>> month_words("2026-09")
    'September 2026'
    """
    found = re.fullmatch(r"(\d{4})-(0[1-9]|1[0-2])", month)
    if not found:
        raise InputError("a month such as 2026-09", month, "Write year and month.")
    return f"{MONTHS[int(found[2]) - 1]} {found[1]}"


def element_name(element: str) -> str:
    """Return an element's name as it begins a line.

    Parameters
    ----------
    element : str
        Name as in the tank folder.

    Returns
    -------
    str
        With a capital, except pH, which keeps its own.

    Examples
    --------
    >>> element_name("calcium"), element_name("pH")
    ('Calcium', 'pH')
    """
    return element if element == "pH" else element[:1].upper() + element[1:]


def count_words(number: int) -> str:
    """Return a count in words up to twelve, in figures above.

    Parameters
    ----------
    number : int
        The count.

    Returns
    -------
    str
        Such as "two" or "13".

    Examples
    --------
    >>> count_words(2), count_words(13)
    ('two', '13')
    """
    return _COUNTS[number] if 0 <= number < len(_COUNTS) else str(number)
