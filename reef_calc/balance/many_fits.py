"""Simple fits of many series side by side, on arrays with time first and series second.

Each step of a recursion then works on numbers that are neighbours in memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from reef_calc.balance.mixture_filter import DIFFUSE

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class RatesOfMany:
    """Rates of many series.

    Attributes
    ----------
    rate, low, high : array (m,)
        Estimate and 95 % interval (concentration per day).
    """

    rate: Floats
    low: Floats
    high: Floats


def added_up(g: Floats, h: Floats, d: Floats) -> tuple[Floats, Floats, Floats]:
    """Return G, H and D since the first reading from what each interval does.

    G ← g·G, H ← g·H + h, D ← g·D + d; the first row stands for the first reading itself.

    Parameters
    ----------
    g, h, d : array (n, m)
        Contraction (factor), response to a unit use (days), to doses (concentration).

    Returns
    -------
    tuple of numpy.ndarray, each (n, m)
        Factor, days, concentration.

    Examples
    --------
    >>> one = np.ones((3, 1))
    >>> [float(x[-1, 0]) for x in added_up(0.5 * one, one, 0 * one)]
    [0.25, 1.5, 0.0]
    """
    G, H, D = np.empty_like(g), np.empty_like(g), np.empty_like(g)
    G[0], H[0], D[0] = 1.0, 0.0, 0.0
    for i in range(1, len(g)):
        for total, part in ((H, h), (D, d)):
            np.multiply(g[i], total[i - 1], out=total[i])
            total[i] += part[i]
        np.multiply(g[i], G[i - 1], out=G[i])
    return G, H, D


def least_squares_rates(
    level: Floats, g: Floats, h: Floats, d: Floats, used: Floats | None = None
) -> RatesOfMany:
    """Return the straight least-squares rate of each series in closed form.

    z = y − D − y₁·G on [G, −H]; k = (S_GH·S_Gz − S_GG·S_Hz)/(S_GG·S_HH − S_GH²), and its standard
    error from residuals that are formed one by one.

    Parameters
    ----------
    level : array (n, m)
        Levels (concentration), time along the first axis.
    g, h, d : array (n, m)
        Contraction, response to a unit use (days), to doses (concentration), by interval.
    used : array (n, m), optional
        Weight of each reading (share of the reference's), 0 for none; all 1 when left out.

    Returns
    -------
    RatesOfMany
        Estimates with t intervals of n − 2 degrees of freedom; not a number where nothing can be told.

    Examples
    --------
    >>> level = np.array([[8.0], [7.0], [6.0], [5.1]])
    >>> one = np.ones((4, 1))
    >>> round(float(least_squares_rates(level, one, one, 0 * one).rate[0]), 4)
    0.97

    References
    ----------
    Normal equations of two columns; textbook, *common practice, no source*.
    """
    m = level.shape[1]
    # One pass with all running sums of a step still in the cache; D starts at y₁ and so holds y₁·G too.
    sums = np.zeros((3, m))
    sums[0], sums[2] = 1.0, level[0]
    GH, H, D = sums[:2], sums[1], sums[2]
    z, part, pair = np.zeros((len(level), m)), np.empty(m), np.empty((2, m))
    by_G, hh, by_z = np.zeros((2, m)), np.zeros(m), np.zeros((2, m))
    by_G[0] = 1.0 if used is None else used[0]
    for i in range(1, len(level)):
        sums *= g[i]
        H += h[i]
        D += d[i]
        np.subtract(level[i], D, out=z[i])
        weighted = GH if used is None else GH * used[i]
        by_G += np.multiply(weighted, sums[0], out=pair)
        hh += np.multiply(weighted[1], H, out=part)
        by_z += np.multiply(weighted, z[i], out=pair)
    (gg, gh), (gz, hz) = by_G, by_z
    determinant = gg * hh - gh * gh
    determinant = np.where(determinant > 1e-13 * gg * hh, determinant, np.nan)
    rate = (gh * gz - gg * hz) / determinant
    fitted = (hh * gz - gh * hz) / determinant
    squares = fitted**2 * (1.0 if used is None else used[0])
    for i in range(1, len(level)):
        fitted *= g[i]
        fitted -= np.multiply(rate, h[i], out=part)
        np.subtract(z[i], fitted, out=part)
        part *= part
        squares += part if used is None else part * used[i]
    n = len(level) if used is None else (used > 0).sum(axis=0)
    half = stdtrit(n - 2, 0.975) * np.sqrt(squares / (n - 2) * gg / determinant)
    return RatesOfMany(rate, rate - half, rate + half)


def walk_rates(
    level: Floats,
    g: Floats,
    h: Floats,
    d: Floats,
    p: Floats,
    used: Floats,
    s0: Floats,
    scale: Floats,
    day_to_day: float = 0.10,
    sd_worth: float = 20.0,
) -> RatesOfMany:
    """Return the rate of each series if use was steady but for one strength of daily variation.

    One Kalman filter of level and use a series, all series side by side; the error variance has an
    inverse gamma prior, so that the rate is t-distributed with ν0 + n − 2 degrees of freedom.

    Parameters
    ----------
    level : array (n, m)
        Levels (concentration), time along the first axis.
    g, h, d, p : array (n, m)
        What each interval does: factor, days, concentration, days.
    used : array (n, m)
        Weight of each reading (share of the reference's), 0 for none.
    s0 : array (m,)
        SD of one reading (concentration).
    scale : array (m,)
        Scale k0 of the use (concentration per day).
    day_to_day : float, optional
        Variation of use from day to day (share).
    sd_worth : float, optional
        Number of readings that the stated SD is worth.

    Returns
    -------
    RatesOfMany
        Estimates with 95 % intervals.

    Examples
    --------
    >>> level = np.array([[8.0], [7.0], [6.0], [5.0]])
    >>> one = np.ones((4, 1))
    >>> fit = walk_rates(level, one, one, 0 * one, one, one, np.array([0.15]), np.array([1.0]))
    >>> round(float(fit.rate[0]), 5)
    1.0

    References
    ----------
    Kalman filter with a conjugate variance prior: standard theory (MEMORY).
    """
    k0 = scale / s0
    a, b = level[0] / s0, k0.copy()
    aa, bb = np.full_like(k0, DIFFUSE), np.maximum(100 * k0**2, 1e-3)
    ab, S = np.zeros_like(k0), np.full_like(k0, sd_worth)
    walk = (day_to_day * k0) ** 2
    with np.errstate(divide="ignore"):
        noise = 1 / used
    for i in range(len(level)):
        if i:
            hb = h[i] * bb
            gab = g[i] * ab
            aa = g[i] ** 2 * aa + h[i] * (hb - 2 * gab) + walk * p[i]
            ab = gab - hb
            a = g[i] * a + d[i] / s0 - h[i] * b
        e = level[i] / s0 - a
        F = aa + noise[i]
        gain_a, gain_b = aa / F, ab / F
        a = a + gain_a * e
        b = b + gain_b * e
        bb = bb - gain_b * ab
        ab = ab - gain_a * ab
        aa = aa - gain_a * aa
        S += e * e / F
    nu = sd_worth + (used > 0).sum(axis=0) - 2
    half = stdtrit(nu, 0.975) * np.sqrt(np.maximum(bb, 0) * S / nu)
    half[np.isnan(scale)] = np.nan
    return RatesOfMany(b * s0, (b - half) * s0, (b + half) * s0)
