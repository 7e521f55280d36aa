"""What readings of two kits in one history are worth, counted in tests of one water with both."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reef_calc.errors import InputError

# Walk over this many variances of a reading: what lies further off tells nothing of a difference.
REACH = 10.0
# How many tests with both kits pay when a kit is replaced, and of which water.
OVERLAPS = {"alkalinity": 3, "calcium": 5, "magnesium": 3, "potassium": 3}
USUAL_OVERLAPS = 3


def worth_of_reading(walk_ratio: ArrayLike) -> NDArray[np.float64]:
    """Return how many pairs one reading of kit B midway between readings of kit A is worth.

    n = 2/(1 + (P + λ/2)/2) with P = (−λ + √(λ² + 4λ))/2 and λ = (cv·k)²·Δ/s0².

    Parameters
    ----------
    walk_ratio : array_like
        λ (ratio): variance of the walk between two readings of A over that of one reading.

    Returns
    -------
    numpy.ndarray
        Number of pairs, below 2.

    Raises
    ------
    InputError
        If a ratio is below 0 or no number.

    Notes
    -----
    Above 1 because the neighbours of A are averaged. For both kits of one SD, steady sampling and a
    known mean use; m readings are worth about m times as much while they lie apart.

    Examples
    --------
    >>> worth_of_reading([0.01, 1.0, 10.0]).round(2).tolist()
    [1.9, 1.28, 0.51]

    References
    ----------
    Steady state of the random-walk-plus-noise filter; textbook (MEMORY).
    """
    ratio = np.asarray(walk_ratio, dtype=float)
    if not (np.all(np.isfinite(ratio)) and np.all(ratio >= 0)):
        raise InputError("ratios from 0", ratio, "Give SDs above 0 and days from 0.", "walk_ratio")
    filtered = (-ratio + np.sqrt(ratio**2 + 4 * ratio)) / 2
    return np.asarray(2 / (1 + (filtered + ratio / 2) / 2))


def days_in_reach(sd: float, walk: float) -> float:
    """Return how many days a reading of the other kit may lie away and still tell.

    10·(s0/(cv·k))².

    Parameters
    ----------
    sd : float
        SD of one reading with its step, s0 (unit).
    walk : float
        Day-to-day variation of the use, cv·k (unit per root day), from 0.

    Returns
    -------
    float
        Days; infinite for a use without variation.

    Notes
    -----
    The factor is *common practice, no source*.

    Examples
    --------
    >>> round(days_in_reach(0.15, 0.1), 1), days_in_reach(0.15, 0.0)
    (22.5, inf)
    """
    return REACH * (sd / walk) ** 2 if walk > 0 else math.inf


def half_after_pairs(half: float, worth: float, pairs: int) -> float:
    """Return what a half-width would be after further tests of one water with both kits.

    h/√(1 + m/n): precisions add.

    Parameters
    ----------
    half : float
        Half-width now (unit).
    worth : float
        Number of pairs that it is worth, n, above 0.
    pairs : int
        Number of further pairs, m.

    Returns
    -------
    float
        Half-width in the unit.

    Examples
    --------
    >>> half_after_pairs(0.3, 3.0, 9)
    0.15
    """
    return half / math.sqrt(1 + pairs / worth)
