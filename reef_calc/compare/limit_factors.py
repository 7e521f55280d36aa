"""Factors for limits of agreement: how far the true limits may lie from the ones observed."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq
from scipy.special import chdtrc, chdtri, ndtr
from scipy.stats import nct

from reef_calc.errors import InputError

# Limits of agreement are printed with this factor, not with the quantile 1.959964.
LIMITS_FACTOR = 1.96
# Share of normal values between the limits, 0.9500042.
BETWEEN_LIMITS = float(2.0 * ndtr(LIMITS_FACTOR) - 1.0)
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(100)
# Beyond ten standard deviations the normal density is below 1e-22.
_Z = 5.0 * (_NODES + 1.0)
_DENSITY = 2.0 * 5.0 * _WEIGHTS * np.exp(-(_Z**2) / 2.0) / math.sqrt(2.0 * math.pi)


class Factors(NamedTuple):
    """How many standard deviations from the mean an interval of a limit starts and ends.

    Attributes
    ----------
    inner, outer : float
        The end nearer to the mean and the one further away (factors without unit).
    """

    inner: float
    outer: float


@lru_cache(maxsize=1024)
def tolerance_factor(df: float, se_over_sd: float, share: float, assurance: float) -> float:
    """Return the factor k for which mean ± k·s holds at least a share of all values.

    Solves P[Φ(m + k s) − Φ(m − k s) ≥ share] = assurance for a mean m of standard error
    ``se_over_sd`` and an s² with ``df`` degrees of freedom, by quadrature over m.

    Parameters
    ----------
    df : float
        Degrees of freedom of the standard deviation, a number of 1 or more.
    se_over_sd : float
        Ratio of the standard error of the mean to the standard deviation; 1/√n for n values.
    share : float
        Share of the values to hold, between 0 and 1.
    assurance : float
        Probability that it holds them, between 0 and 1.

    Returns
    -------
    float
        Factor without unit.

    Raises
    ------
    InputError
        If one of the numbers is out of its range.

    Notes
    -----
    The values must be normally distributed.

    Examples
    --------
    >>> round(tolerance_factor(9.0, 10**-0.5, 0.95, 0.95), 4)
    3.3934

    References
    ----------
    Wald & Wolfowitz (1946), Ann. Math. Statist. 17, 208 (from memory).
    """
    for name, number in {"share": share, "assurance": assurance}.items():
        if not 0.0 < number < 1.0:
            raise InputError("a share between 0 and 1", number, "Write 0.95 for 95 %.", name)
    if not (1.0 <= df < math.inf and 0.0 <= se_over_sd < math.inf):
        raise InputError(
            "1 degree of freedom or more and a ratio of 0 or more",
            f"{df}, {se_over_sd}",
            "Test at least two waters.",
            "tolerance factor",
        )
    scaled = df * _half_widths(se_over_sd * _Z, share) ** 2

    def lacking(log_k: float) -> float:
        return float(_DENSITY @ chdtrc(df, scaled * math.exp(-2.0 * log_k))) - assurance

    return math.exp(brentq(lacking, -25.0, 25.0, xtol=1e-13))


def pair_factors(
    df: float, se_over_sd: float, *, share: float = BETWEEN_LIMITS, confidence: float = 0.95
) -> Factors:
    """Return the factors of the exact interval of both limits as a pair.

    The outer one holds at least the share with a probability of (1 + confidence)/2, the inner one
    with only (1 − confidence)/2.

    Parameters
    ----------
    df : float
        Degrees of freedom of the standard deviation, a number of 1 or more.
    se_over_sd : float
        Ratio of the standard error of the mean to the standard deviation; 1/√n for n values.
    share : float, optional
        Share of the differences between the limits.
    confidence : float, optional
        Probability of the interval, between 0 and 1.

    Returns
    -------
    Factors
        Both without unit; the limits lie from mean ± inner·s to mean ± outer·s.

    Examples
    --------
    >>> [round(factor, 3) for factor in pair_factors(19.0, 20**-0.5)]
    [1.518, 2.945]

    References
    ----------
    Carkeet (2015), Optom. Vis. Sci. 92, e71.
    """
    return Factors(
        tolerance_factor(df, se_over_sd, share, (1.0 - confidence) / 2.0),
        tolerance_factor(df, se_over_sd, share, (1.0 + confidence) / 2.0),
    )


@lru_cache(maxsize=1024)
def single_limit_factors(df: float, se_over_sd: float, confidence: float = 0.95) -> Factors:
    """Return the factors of the exact interval of one limit alone, by the noncentral t.

    (limit − mean)/(c·s) follows t′(df, 1.96/c) with c = ``se_over_sd``.

    Parameters
    ----------
    df : float
        Degrees of freedom of the standard deviation, a number of 1 or more.
    se_over_sd : float
        Ratio of the standard error of the mean to the standard deviation; 1/√n for n values.
    confidence : float, optional
        Probability of the interval, between 0 and 1.

    Returns
    -------
    Factors
        Both without unit; the inner one may lie below 0 with very few waters.

    Raises
    ------
    InputError
        If one of the numbers is out of its range.

    Examples
    --------
    >>> [round(factor, 3) for factor in single_limit_factors(16.0, 17**-0.5)]
    [1.315, 3.148]

    References
    ----------
    Shieh (2018), BMC Med. Res. Methodol. 18, 45 (from memory).
    """
    check_confidence(confidence)
    if not (1.0 <= df < math.inf and 0.0 <= se_over_sd < math.inf):
        raise InputError(
            "1 degree of freedom or more and a ratio of 0 or more",
            f"{df}, {se_over_sd}",
            "Test at least two waters.",
            "factors of one limit",
        )
    tails = [(1.0 - confidence) / 2.0, (1.0 + confidence) / 2.0]
    if se_over_sd == 0.0:
        # The mean is exact, and only the standard deviation is uncertain.
        return Factors(*(LIMITS_FACTOR * math.sqrt(df / chdtri(df, tail)) for tail in tails))
    quantiles = nct.ppf(tails, df, LIMITS_FACTOR / se_over_sd) * se_over_sd
    return Factors(*map(float, quantiles))


def check_confidence(confidence: float) -> None:
    """Refuse a confidence that is no share.

    Parameters
    ----------
    confidence : float
        Probability, between 0 and 1.

    Raises
    ------
    InputError
        If it does not lie between 0 and 1.

    Examples
    --------
    >>> check_confidence(0.95)
    """
    if not 0.0 < confidence < 1.0:
        raise InputError(
            "a confidence between 0 and 1", confidence, "Write 0.95 for 95 %.", "confidence"
        )


def _half_widths(offsets: np.ndarray, share: float) -> np.ndarray:
    """Half-width r of the interval around each offset m with Φ(m + r) − Φ(m − r) = share."""
    low, high = np.zeros_like(offsets), offsets + 40.0
    for _ in range(70):
        middle = (low + high) / 2.0
        enough = ndtr(offsets + middle) - ndtr(offsets - middle) >= share
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return (low + high) / 2.0
