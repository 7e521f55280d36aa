"""Numbers as a person reads them: rounded by their uncertainty, with their unit."""

from __future__ import annotations

import math


def decimals_for(uncertainty: float) -> int:
    """Return the decimals a number deserves: its uncertainty at one digit, two when that is a 1.

    Parameters
    ----------
    uncertainty : float
        Half-width or standard uncertainty, in the unit of the number.

    Returns
    -------
    int
        Decimals, never below 0 and at most 6.

    Examples
    --------
    >>> decimals_for(0.04), decimals_for(0.013), decimals_for(7.0)
    (2, 3, 0)

    References
    ----------
    Rounding of uncertainties: JCGM 100:2008, 7.2.6.
    """
    if not uncertainty > 0 or not math.isfinite(uncertainty):
        return 2
    exponent = math.floor(math.log10(uncertainty))
    leading = uncertainty / 10**exponent
    return min(max(0, -exponent + (1 if leading < 1.95 else 0)), 6)


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
    return f"{level:.{decimals}f} {unit}".strip().replace("-", "−")


def rate_text(value: float, low: float | None, high: float | None, unit: str) -> str:
    """Return a rate rounded by the half-width of its interval, with the unit and no interval.

    Parameters
    ----------
    value : float
        Rate in unit per day.
    low, high : float or None
        Interval of the rate that sets the rounding; without one, three digits.
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
    decimals = decimals_for(half)
    return f"{value:.{decimals}f} {unit}".strip().replace("-", "−")
