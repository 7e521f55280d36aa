"""Numbers as a person reads them: rounded by their uncertainty, with their unit."""

from __future__ import annotations

import math

from reef_calc.errors import InputError

CANNOT_TELL = "cannot tell"


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
        Decimals, at most 12 or 13; negative for tens and more.

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
    # No kit, balance or clock knows more than twelve decimals, and smaller powers leave the range.
    if uncertainty < 1e-12:
        return 12
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


def level_text(level: float, decimals: int, unit: str) -> str:
    """Return a level with the decimals of its kit.

    Parameters
    ----------
    level : float
        Level in its unit.
    decimals : int
        Decimals the kit justifies.
    unit : str
        Unit; empty for none. ``pH`` and ``PSU`` follow the number like any other.

    Returns
    -------
    str
        Text such as "7.0 dKH".

    Examples
    --------
    >>> level_text(7.0, 1, "dKH")
    '7.0 dKH'
    """
    return f"{fixed(level, decimals)} {unit}".strip()


def rate_text(value: float, low: float | None, high: float | None, unit: str) -> str:
    """Return a rate rounded by the half-width of its interval, with the unit and no interval.

    Parameters
    ----------
    value : float
        Rate in unit per day.
    low, high : float or None
        Interval of the rate (unit per day) that sets the rounding; without one, 2 % of the rate.
    unit : str
        Unit of the level.

    Returns
    -------
    str
        Text such as "1.04 dKH".

    Examples
    --------
    >>> rate_text(1.0412, 1.00, 1.08, "dKH")
    '1.04 dKH'
    """
    half = (high - low) / 2 if low is not None and high is not None else abs(value) / 50
    return f"{fixed(value, decimals_for(half if half > 0 else 0.01))} {unit}".strip()
