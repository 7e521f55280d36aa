"""Numbers, dates and changes in words: rounded by their uncertainty, refused when unknown."""

from __future__ import annotations

import html
import math
import re
from typing import Any
from zoneinfo import ZoneInfo

import pandas as pd

from reef_calc.balance.results import ConsumptionEstimate
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
    if text is None or (not isinstance(text, str) and bool(pd.isna(text))):  # type: ignore[call-overload]
        return ""
    clean = re.sub(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\ufffd", str(text))
    return html.escape(clean, quote=True)


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


def level_words(value: float | None, decimals: int, limit: str = "", upper: Any = None) -> str:
    """Return a level with the decimals its kit justifies.

    Parameters
    ----------
    value : float or None
        Level in its display unit; the kit's limit for a reading beyond it.
    decimals : int
        Decimals of the kit's step.
    limit : {'', '<', '>', 'between'}
        What the reading says about the value.
    upper : float, optional
        Upper end, same unit, for 'between'.

    Returns
    -------
    str
        "7.2", "below 0.02", "above 50", "0.02–0.05" or "no reading".

    Examples
    --------
    >>> level_words(0.02, 2, "<"), level_words(None, 1), level_words(8.0, 1)
    ('below 0.02', 'no reading', '8.0')
    """
    if value is None or not is_known(value):
        return "no reading"
    number = aim_number(value, decimals) if limit else fixed(value, decimals)
    if limit == "between":
        return f"{number}–{aim_number(upper, decimals)}" if is_known(upper) else number
    return {"<": "below ", ">": "above "}.get(limit, "") + number


def aim_number(value: float, decimals: int) -> str:
    """Return a limit as it was set: never with fewer digits than the person typed.

    Parameters
    ----------
    value : float
        Aim or limit in the display unit.
    decimals : int
        Decimals of the kit's step.

    Returns
    -------
    str
        The number.

    Examples
    --------
    >>> aim_number(7.0, 1), aim_number(0.025, 2)
    ('7.0', '0.025')
    """
    shown = fixed(value, decimals)
    if math.isclose(float(shown.replace("−", "-")), value, rel_tol=1e-9, abs_tol=1e-12):
        return shown
    return f"{value:.6g}".replace("-", "−")


def aim_words(low: float | None, high: float | None, decimals: int) -> str:
    """Return the aims as one short text.

    Parameters
    ----------
    low, high : float or None
        Ends of the aim in the display unit; None where not set.
    decimals : int
        Decimals of the kit's step.

    Returns
    -------
    str
        "aim 7.0–8.5", "aim from 7.0", "aim up to 0.10" or "no aim set".

    Examples
    --------
    >>> aim_words(7.0, 8.5, 1), aim_words(None, 0.1, 2), aim_words(None, None, 1)
    ('aim 7.0–8.5', 'aim up to 0.10', 'no aim set')
    """
    if low is not None and high is not None:
        return f"aim {aim_number(low, decimals)}–{aim_number(high, decimals)}"
    if low is not None:
        return f"aim from {aim_number(low, decimals)}"
    return f"aim up to {aim_number(high, decimals)}" if high is not None else "no aim set"


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


def rate_words(
    rate: float | None,
    low: float | None,
    high: float | None,
    behaviour: str,
    *,
    days: int = 1,
) -> str:
    """Return a rate as a keeper says it: used, rising, falling, or not shown.

    Parameters
    ----------
    rate, low, high : float or None
        Use and its interval, unit per day; a negative one is a rise.
    behaviour : {"used", "net"}
        ``used`` for what corals take up, ``net`` for what only rises or falls.
    days : int
        Days that the change is given for.

    Returns
    -------
    str
        "1.04 ± 0.04 a day", "rises 0.05 ± 0.02 a day", "no use shown: less than 3.2 a day",
        "no change shown: less than 0.9 in 30 days" or "cannot tell".

    Examples
    --------
    >>> rate_words(1.041, 1.003, 1.079, "used")
    '1.04 ± 0.04 a day'
    >>> rate_words(-0.05, -0.07, -0.03, "net")
    'rises 0.05 ± 0.02 a day'
    >>> rate_words(0.7, -1.8, 3.2, "used")
    'no use shown: less than 3.2 a day'
    """
    if rate is None or low is None or high is None or not is_known(rate, low, high):
        return CANNOT_TELL
    per = "a day" if days == 1 else f"in {days} days"
    rate, low, high = rate * days, low * days, high * days
    if high < 0:
        return f"rises {with_interval(-rate, -high, -low)} {per}"
    if low > 0:
        return f"{'falls ' if behaviour == 'net' else ''}{with_interval(rate, low, high)} {per}"
    if behaviour == "net":
        return f"no change shown: less than {upper_bound(max(-low, high))} {per}"
    if high == 0:
        return "no use shown"
    return f"no use shown: less than {upper_bound(high)} {per}"


def refusal_words(use: ConsumptionEstimate) -> str:
    """Return why there is no rate, in the estimate's own words.

    Parameters
    ----------
    use : ConsumptionEstimate
        The estimate.

    Returns
    -------
    str
        The first refusal; "cannot tell" when none is given.

    Examples
    --------
    >>> from types import SimpleNamespace as Use
    >>> refusal_words(Use(messages=()))
    'cannot tell'
    """
    refused = [m.text for m in use.messages if m.kind == "refused"]
    return refused[0] if refused else CANNOT_TELL
