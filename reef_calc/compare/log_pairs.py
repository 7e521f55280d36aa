"""Readings of two kits in one history, paired by time, with what moved the water in between taken out."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtrit

from reef_calc.balance.water_balance import BalanceColumns
from reef_calc.errors import InputError

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
PAIR_DAYS = 4.0
# A movement beyond this share of a reading's SD is no longer small beside the scatter.
STILL = 0.25


@dataclass(frozen=True)
class MeanDifference:
    """Mean of paired differences.

    Attributes
    ----------
    difference, low, high : float
        Mean and 95 % interval of B − A (unit of the levels).
    """

    difference: float
    low: float
    high: float


@dataclass(frozen=True)
class LogPairs:
    """Pairs of readings of two kits, no reading used twice.

    Attributes
    ----------
    index_a, index_b : array (m,) of int
        Which readings were paired, in the order of time.
    days_apart : array (m,)
        Time of B less time of A (days).
    movement : array (m,)
        Expected level at B less that at A (unit).
    plain : array (m,)
        B − A as read (unit).
    corrected : MeanDifference or None
        With the movement taken out; None below two pairs or where all agree to the last digit.
    uncorrected : MeanDifference or None
        As read; None too where a movement is not small beside the scatter of a reading.
    largest_movement : float
        Largest size of a movement (unit); 0 without pairs.
    """

    index_a: Indices
    index_b: Indices
    days_apart: Floats
    movement: Floats
    plain: Floats
    corrected: MeanDifference | None
    uncorrected: MeanDifference | None
    largest_movement: float

    @property
    def n(self) -> int:
        """Number of pairs."""
        return self.index_a.size

    @property
    def differences(self) -> Floats:
        """B − A with the movement taken out, in the unit, shape (m,)."""
        return self.plain - self.movement


def nearest_pairs(
    times_a: ArrayLike, times_b: ArrayLike, within: float = PAIR_DAYS
) -> tuple[Indices, Indices]:
    """Return the nearest readings of two kits, each used once at most.

    The two that lie nearest are paired first, then the nearest of the rest.

    Parameters
    ----------
    times_a, times_b : array_like
        Times (days).
    within : float, optional
        Days beyond which readings are no pair.

    Returns
    -------
    tuple of numpy.ndarray of int
        Indices of A and of B, in the order of B's times.

    Examples
    --------
    >>> a, b = nearest_pairs([0.0, 7.0], [0.1, 0.2, 6.0])  # 0.2 finds its neighbour taken
    >>> a.tolist(), b.tolist()
    ([0, 1], [0, 2])
    """
    a, b = np.asarray(times_a, dtype=float), np.asarray(times_b, dtype=float)
    apart = np.abs(a[:, None] - b[None, :])
    near_a, near_b = np.nonzero(apart <= within)
    free_a, free_b = np.ones(a.size, bool), np.ones(b.size, bool)
    found: list[tuple[int, int]] = []
    for k in np.argsort(apart[near_a, near_b], kind="stable"):
        i, j = near_a[k], near_b[k]
        if free_a[i] and free_b[j]:
            free_a[i] = free_b[j] = False
            found.append((int(i), int(j)))
    found.sort(key=lambda pair: (b[pair[1]], a[pair[0]]))
    both = np.array(found, dtype=np.intp).reshape(-1, 2)
    return both[:, 0], both[:, 1]


def expected_movement(
    balance: BalanceColumns,
    levels: ArrayLike,
    use: ArrayLike,
    index_a: Indices,
    index_b: Indices,
    shift: ArrayLike | float = 0.0,
) -> Floats:
    """Return by how much the water should have moved from the reading of A to the one of B.

    Forward C_j = r·C_i + (D_j − r·D_i) − k·(H_j − r·H_i) with r = G_j/G_i; where B came first the
    same is solved for C_i, so that only A's own reading enters.

    Parameters
    ----------
    balance : BalanceColumns
        At all readings.
    levels : array_like, shape (n,)
        Levels as read (unit); those of A are looked at.
    use : array_like, shape (n,)
        Use at each reading, k (unit per day).
    index_a, index_b : array (m,) of int
        The pairs.
    shift : array_like, shape (n,) or float, optional
        What the difference of the kits did to D at each reading (unit), taken off it.

    Returns
    -------
    numpy.ndarray, shape (m,)
        Movement from A to B in the unit; where B came first, how much higher the level was then.

    Examples
    --------
    >>> from reef_calc.balance.water_balance import WaterEvents, balance_columns
    >>> still = balance_columns([0, 1, 2], WaterEvents())
    >>> expected_movement(still, [8, 7.9, 6], [1, 1, 1], np.array([0, 2]), np.array([1, 1])).tolist()
    [-1.0, 1.0]
    """
    y = np.asarray(levels, dtype=float)
    k = np.broadcast_to(np.asarray(use, dtype=float), y.shape)
    D = balance.D - np.broadcast_to(np.asarray(shift, dtype=float), y.shape)
    first, last = np.minimum(index_a, index_b), np.maximum(index_a, index_b)
    kept = np.array([np.prod(balance.g[i + 1 : j + 1]) for i, j in zip(first, last, strict=True)])
    mean_use = (k[first] + k[last]) / 2
    added = D[last] - kept * D[first] - mean_use * (balance.H[last] - kept * balance.H[first])
    at_a = y[index_a]
    forward = kept * at_a + added - at_a
    backward = (at_a - added) / kept - at_a
    return np.where(index_a <= index_b, forward, backward)


def log_pairs(
    balance: BalanceColumns,
    levels: ArrayLike,
    use: ArrayLike,
    of_a: ArrayLike,
    of_b: ArrayLike,
    sd: float,
    *,
    shift: ArrayLike | float = 0.0,
    within: float = PAIR_DAYS,
    unusable: ArrayLike = (),
) -> LogPairs:
    """Return the paired differences of two kits, corrected by the mass balance, and as read.

    d = B − A − expected movement; mean ± t(m − 1)·SD/√m.

    Parameters
    ----------
    balance : BalanceColumns
        At all readings.
    levels : array_like, shape (n,)
        Levels as read (unit).
    use : array_like, shape (n,)
        Use at each reading (unit per day).
    of_a, of_b : array_like of bool, shape (n,)
        Which readings are of A and of B.
    sd : float
        SD of one reading of the finer kit (unit): what a movement is judged by.
    shift : array_like, shape (n,) or float, optional
        What the difference did to D at each reading (unit).
    within : float, optional
        Days beyond which readings are no pair.
    unusable : array_like, shape (q, 2), optional
        Spans (days) that no pair may reach into: gaps of the log.

    Returns
    -------
    LogPairs
        Full precision.

    Raises
    ------
    InputError
        If the SD is not above 0.

    Notes
    -----
    A check in plain terms, unbiased but wider than the common fit of all readings. As read it is
    biased by the whole movement: half a day's use where A is read before a daily dose and B after.

    Examples
    --------
    >>> from reef_calc.balance.water_balance import WaterEvents, balance_columns
    >>> still = balance_columns([0, 0.5, 4, 4.5, 9, 9.5], WaterEvents())
    >>> a = np.array([True, False] * 3)
    >>> found = log_pairs(still, [8, 7.8, 4, 3.9, -1, -1.3], 1.0, a, ~a, 0.15)
    >>> round(found.corrected.difference, 3), found.uncorrected is None, found.n
    (0.3, True, 3)

    References
    ----------
    Mean of paired differences with Student's interval; textbook, *common practice, no source*.
    """
    if not (math.isfinite(sd) and sd > 0):
        raise InputError("an SD above 0", sd, "Give the kits a repeatability.", "log_pairs")
    y = np.asarray(levels, dtype=float)
    a, b = np.flatnonzero(np.asarray(of_a, bool)), np.flatnonzero(np.asarray(of_b, bool))
    near_a, near_b = nearest_pairs(balance.times[a], balance.times[b], within)
    index_a, index_b = a[near_a], b[near_b]
    start = np.minimum(balance.times[index_a], balance.times[index_b])
    stop = np.maximum(balance.times[index_a], balance.times[index_b])
    clear = np.ones(index_a.size, dtype=bool)
    for since, until in np.asarray(unusable, dtype=float).reshape(-1, 2):
        clear &= (stop <= since) | (start >= until)
    index_a, index_b = index_a[clear], index_b[clear]
    movement = expected_movement(balance, y, use, index_a, index_b, shift)
    plain = y[index_b] - y[index_a]
    largest = float(np.abs(movement).max(initial=0.0))
    return LogPairs(
        index_a,
        index_b,
        balance.times[index_b] - balance.times[index_a],
        movement,
        plain,
        _mean(plain - movement),
        _mean(plain) if largest <= STILL * sd else None,
        largest,
    )


def _mean(d: Floats) -> MeanDifference | None:
    if d.size < 2 or np.ptp(d) < 1e-9 * max(1.0, float(np.abs(d).max())):
        return None
    middle = float(d.mean())
    half = float(stdtrit(d.size - 1, 0.975) * d.std(ddof=1) / math.sqrt(d.size))
    return MeanDifference(middle, middle - half, middle + half)
