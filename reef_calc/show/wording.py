"""Numbers, dates and changes in words: rounded by their uncertainty, refused when unknown."""

from __future__ import annotations

import html
import math
import re
from typing import Any
from zoneinfo import ZoneInfo

import pandas as pd

from reef_calc.errors import InputError

CANNOT_TELL = "cannot tell"
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_COUNTS = (
    "no", "one", "two", "three", "four", "five", "six",
    "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip


def is_known(*values: float | None) -> bool:
    """Return whether every value is a finite number.

    Parameters
    ----------
    *values : float or None
        Numbers in any unit.

    Returns
    -------
    bool
        False as soon as one is None, not a number or infinite.

    Examples
    --------
    >>> is_known(1.0, None)
    False
    """
    return all(value is not None and math.isfinite(value) for value in values)


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


def fixed(value: float | None, decimals: int) -> str:
    """Return a number with fixed decimals and a true minus sign.

    Parameters
    ----------
    value : float or None
        Number in any unit.
    decimals : int
        Decimals; negative rounds to tens, hundreds and so on.

    Returns
    -------
    str
        The number, or "cannot tell" when there is none.

    Examples
    --------
    >>> fixed(-0.046, 2), fixed(412.0, -1), fixed(None, 1)
    ('−0.05', '410', 'cannot tell')
    """
    if value is None or not math.isfinite(value):
        return CANNOT_TELL
    text = f"{round(value, decimals):.{max(decimals, 0)}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "−")


def decimals_for(uncertainty: float) -> int:
    """Return how many decimals an uncertainty justifies: one digit of it, two when it starts with 1.

    Parameters
    ----------
    uncertainty : float
        Half-width of an interval, above zero, in any unit.

    Returns
    -------
    int
        Decimals; negative for tens and more.

    Raises
    ------
    InputError
        If the uncertainty is not a number above zero.

    Notes
    -----
    *Common practice, no source*: one or two significant digits of an uncertainty are kept.

    Examples
    --------
    >>> decimals_for(0.043), decimals_for(0.14), decimals_for(31.0)
    (2, 2, -1)
    """
    if not (math.isfinite(uncertainty) and uncertainty > 0):
        raise InputError("an uncertainty above zero", uncertainty, "Give the half-width.")
    exponent = math.floor(math.log10(uncertainty))
    return (1 if uncertainty / 10**exponent < 1.95 else 0) - exponent


def with_interval(
    value: float | None, low: float | None, high: float | None, *, decimals: int | None = None
) -> str:
    """Return a number with its interval, rounded by it.

    Parameters
    ----------
    value, low, high : float or None
        Estimate and the ends of its interval, all in one unit.
    decimals : int, optional
        Decimals of a number it stands beside; by its own interval when not given.

    Returns
    -------
    str
        "1.04 ± 0.04"; "0.95 to 1.12" when the two arms differ by more than the last digit;
        "cannot tell" when a value is missing.

    Examples
    --------
    >>> with_interval(1.041, 1.003, 1.079), with_interval(1.0, 0.95, 1.12)
    ('1.04 ± 0.04', '0.95 to 1.12')
    >>> with_interval(float("nan"), 0.0, 1.0)
    'cannot tell'
    """
    if value is None or low is None or high is None or not is_known(value, low, high):
        return CANNOT_TELL
    arm = max(value - low, high - value)
    if arm <= 0:
        return f"{value:.3g}".replace("-", "−")
    # Never so few that the interval would read ± 0.
    decimals = max(decimals, decimals_for(arm) - 1) if decimals is not None else decimals_for(arm)
    if abs((high - value) - (value - low)) > 10.0**-decimals * (1 + 1e-9):
        return f"{fixed(low, decimals)} to {fixed(high, decimals)}"
    return f"{fixed(value, decimals)} ± {fixed(arm, decimals)}"


def upper_bound(value: float | None) -> str:
    """Return a bound rounded up to two digits, so that "less than" stays true.

    Parameters
    ----------
    value : float or None
        Upper end of an interval, in any unit.

    Returns
    -------
    str
        The bound, or "cannot tell".

    Examples
    --------
    >>> upper_bound(3.11), upper_bound(0.0201)
    ('3.2', '0.021')
    """
    if value is None or not is_known(value) or value <= 0:
        return CANNOT_TELL
    decimals = 1 - math.floor(math.log10(value))
    return fixed(math.ceil(value * 10.0**decimals - 1e-9) / 10.0**decimals, decimals)


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
