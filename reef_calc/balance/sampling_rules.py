"""Rules of thumb for testing: scatter, span and number of readings on one line each."""

from __future__ import annotations

import numpy as np
from scipy.special import stdtrit

from reef_calc.errors import InputError


def even_half_width(readings: int, span: float, sd: float, resolution: float = 0.0) -> float:
    """Return the half-width of the 95 % interval of a steady use from evenly spaced readings.

    h = t(0.975, n−2)·s_e·√(12(n−1)/(n(n+1)))/T with s_e² = s² + r²/12

    Parameters
    ----------
    readings : int
        Number of readings n, 3 or more.
    span : float
        Days from the first to the last, T.
    sd, resolution : float
        Repeatability SD and step of the kit (concentration).

    Returns
    -------
    float
        Half-width (concentration per day).

    Raises
    ------
    InputError
        With fewer than 3 readings or a span that is not above 0.

    Notes
    -----
    White noise only: no variation from day to day, no water change. The span counts squared against
    the number of readings.

    Examples
    --------
    >>> round(even_half_width(9, 28.0, 0.15, 0.1), 4)
    0.0133

    References
    ----------
    Variance of a least-squares slope, any textbook of regression; *common practice, no source*.
    """
    if readings < 3 or not span > 0:
        raise InputError(
            "3 or more readings over more than 0 days",
            f"{readings} readings over {span:g} days",
            "Plan more readings.",
            "even_half_width",
        )
    n, error = readings, np.hypot(sd, resolution / np.sqrt(12))
    spacing = np.sqrt(12 * (n - 1) / (n * (n + 1))) / span
    return float(stdtrit(n - 2, 0.975) * error * spacing)


def readings_rule(
    rate: float, span: float, sd: float, resolution: float = 0.0, *, share: float = 0.1
) -> float:
    """Return how many readings over a span bring a steady use to ± a share of itself.

    n·T² ≥ 12·(2·s_e/(share·k))²

    Parameters
    ----------
    rate : float
        Use k (concentration per day), not 0.
    span : float
        Days from the first to the last reading, T.
    sd, resolution : float
        Repeatability SD and step of the kit (concentration).
    share : float, optional
        Wanted half-width as a share of the use.

    Returns
    -------
    float
        Number of readings, not rounded.

    Raises
    ------
    InputError
        If rate, span or share is not above 0.

    Examples
    --------
    >>> round(readings_rule(7.0, 28.0, 7.0, 5.0), 1)  # calcium within four weeks
    6.4

    References
    ----------
    Own derivation from :func:`even_half_width` with t = 2 and many readings.
    """
    if not (rate > 0 and span > 0 and share > 0):
        raise InputError(
            "rate, span and share above 0", (rate, span, share), "Give sizes.", "readings_rule"
        )
    return float(12 * (2 * np.hypot(sd, resolution / np.sqrt(12)) / (share * rate * span)) ** 2)


def least_span(day_to_day: float = 0.10, share: float = 0.1) -> float:
    """Return the days that variation from day to day alone asks for, however many the readings.

    T ≥ (1.96·cv/share)²

    Parameters
    ----------
    day_to_day : float, optional
        Variation of the use from day to day (share of the use).
    share : float, optional
        Wanted half-width as a share of the use.

    Returns
    -------
    float
        Days.

    Examples
    --------
    >>> round(least_span(0.10), 2), round(least_span(0.20), 1)
    (3.84, 15.4)

    References
    ----------
    The mean of T independent days has the SD cv/√T; own derivation.
    """
    return (1.96 * day_to_day / share) ** 2


def replicates_help(sd: float, resolution: float) -> bool:
    """Return whether reading twice helps: only while the scatter is a third of the step or more.

    s ≥ r/3

    Parameters
    ----------
    sd, resolution : float
        Repeatability SD and step of the kit (concentration).

    Returns
    -------
    bool
        False where a finer kit or a longer span is the remedy.

    Examples
    --------
    >>> replicates_help(0.15, 0.1), replicates_help(1.0, 5.0)
    (True, False)

    References
    ----------
    *Common practice, no source*.
    """
    return sd >= resolution / 3
