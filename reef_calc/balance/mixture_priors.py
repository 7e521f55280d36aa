"""What is believed before the readings speak: how use varies, what may happen, and how often."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reef_calc.balance.steady_use import DAY_TO_DAY, DAY_TO_DAY_WEIGHTS, MEASURED_SD_WORTH
from reef_calc.errors import InputError

Floats = NDArray[np.float64]
NOTHING, GROSS, CHANGE, DOSE, LOT, SLIP_AND_CHANGE = range(6)
BRANCHES = (
    "nothing",
    "gross error",
    "rate change",
    "unlogged dose",
    "lot or kit offset",
    "gross error at a rate change",
)
SLIPS, CHANGES, STEPS = (GROSS, SLIP_AND_CHANGE), (CHANGE, SLIP_AND_CHANGE), (DOSE, LOT)
DECLARED = 0.5
LEAST_NOTHING = 0.01


@dataclass(frozen=True)
class Priors:
    """Beliefs of the mixture before it sees a reading.

    Attributes
    ----------
    day_to_day, day_to_day_weights : tuple of float
        Variation of use from day to day (share of the use) and its weights.
    drift, drift_weights : tuple of float
        Slow drift of the use (share of the use per root day) and its weights.
    gross_share : float
        Share of readings that are gross errors.
    gross_sds : float
        SD of a gross error, in SDs of a reading.
    change_per_day, dose_per_day, lot_per_day : float
        How often a day brings a change of use, an unlogged dose, a lot or kit offset.
    change_size : float
        SD of a change of use, as a share of the use.
    dose_sds, lot_sds : float
        SDs of an unlogged dose and of an offset, in SDs of a reading.
    sd_worth : float
        Number of readings that the stated SD is worth: 20 measured, 4 a default.
    slip_at_change : bool
        Whether one reading may be a gross error and close an interval with a change of use as well.
        With a slip at the first reading after a change of 25 % ten days ago that covered 92.5 % in
        place of 88 % (COMPUTED, 200 series), and changed nothing elsewhere.
    """

    day_to_day: tuple[float, ...] = DAY_TO_DAY
    day_to_day_weights: tuple[float, ...] = DAY_TO_DAY_WEIGHTS
    drift: tuple[float, ...] = (0.0, 0.01)
    drift_weights: tuple[float, ...] = (0.93, 0.07)
    gross_share: float = 0.03
    gross_sds: float = 7.0
    change_per_day: float = 1 / 250
    change_size: float = 0.30
    dose_per_day: float = 1 / 900
    dose_sds: float = 8.0
    lot_per_day: float = 1 / 900
    lot_sds: float = 4.0
    sd_worth: float = MEASURED_SD_WORTH
    slip_at_change: bool = False

    def __post_init__(self) -> None:
        for values, weights in (
            (self.day_to_day, self.day_to_day_weights),
            (self.drift, self.drift_weights),
        ):
            if len(values) != len(weights) or not values:
                raise InputError(
                    "one weight for each value", (values, weights), "Give both.", "Priors"
                )
            if min(values) < 0 or min(weights) <= 0 or not np.all(np.isfinite([values, weights])):
                raise InputError(
                    "values from 0 and weights above 0",
                    (values, weights),
                    "Leave out what is impossible.",
                    "Priors",
                )
        sizes = (self.gross_sds, self.change_size, self.dose_sds, self.lot_sds)
        often = (self.change_per_day, self.dose_per_day, self.lot_per_day)
        if not (0 <= self.gross_share < 1 and min(often) >= 0 and np.all(np.isfinite(often))):
            raise InputError(
                "a share from 0 to 1 and frequencies from 0",
                (self.gross_share, *often),
                "Correct the prior.",
                "Priors",
            )
        if not (min(sizes) >= 0 and np.all(np.isfinite(sizes)) and self.sd_worth > 0):
            raise InputError(
                "sizes from 0 and an SD worth more than 0 readings",
                (*sizes, self.sd_worth),
                "Correct the prior.",
                "Priors",
            )

    def grid(self) -> tuple[Floats, Floats, Floats]:
        """Return every pair of day-to-day variation and drift.

        Returns
        -------
        tuple of numpy.ndarray, each (pairs,)
            Variation (share), drift (share per root day), weight (sums to 1).
        """
        cv, mu = np.meshgrid(self.day_to_day, self.drift, indexing="ij")
        weight = np.outer(self.day_to_day_weights, self.drift_weights)
        return cv.ravel(), mu.ravel(), (weight / weight.sum()).ravel()


def branch_probabilities(
    times: Floats, priors: Priors, declared_changes: Floats, declared_lots: Floats
) -> Floats:
    """Return how likely each branch is at each reading before it is read.

    Change 1 − exp(−h·Δ), dose and lot likewise; ½ where declared; nothing and gross error share the
    rest, which is floored at 0.01 before all are divided by their sum.

    Parameters
    ----------
    times : array (n,)
        Reading times (d), not decreasing.
    priors : Priors
        Beliefs.
    declared_changes : array (a,)
        Times (d) at which the use may have changed. At equal times the reading came first.
    declared_lots : array (b,)
        Times (d) from which on another lot or kit was read, that reading included.

    Returns
    -------
    numpy.ndarray, shape (n, 6)
        Probabilities in the order of ``BRANCHES``; 0 where a branch is not open.

    Notes
    -----
    No change and no dose at the first two readings, which only place level and use; no offset at the
    first four, where it cannot be told from the use, unless a lot change is declared from the third on.

    Examples
    --------
    >>> p = branch_probabilities(np.arange(5.0), Priors(), np.array([3.5]), np.empty(0))
    >>> [round(float(x), 4) for x in p[4]]
    [0.4828, 0.0149, 0.5, 0.0011, 0.0011, 0.0]

    References
    ----------
    Multi-process model, P. J. Harrison and C. F. Stevens, J. R. Stat. Soc. B 38 (1976) 205–247 (MEMORY).
    """
    n = times.size
    apart = np.diff(times, prepend=times[:1])
    change = -np.expm1(-priors.change_per_day * apart)
    dose = -np.expm1(-priors.dose_per_day * apart)
    lot = -np.expm1(-priors.lot_per_day * apart)
    # A change at the very time of a reading comes after it; a lot opened then was already read.
    told_change = _holding(times, declared_changes, "right")
    told_lot = _holding(times, declared_lots, "left")
    change[told_change] = DECLARED
    lot[:4] = 0.0
    lot[told_lot] = DECLARED
    for p in (change, dose, lot):
        p[:2] = 0.0
    rest = np.maximum(1 - change - dose - lot, LEAST_NOTHING)
    slip = priors.gross_share if priors.slip_at_change else 0.0
    p = np.empty((n, len(BRANCHES)))
    p[:, NOTHING] = (1 - priors.gross_share) * rest
    p[:, GROSS] = priors.gross_share * rest
    p[:, CHANGE], p[:, SLIP_AND_CHANGE] = change * (1 - slip), change * slip
    p[:, DOSE], p[:, LOT] = dose, lot
    return p / p.sum(axis=1, keepdims=True)


def ruled_out(p: Floats, times: Floats, believed: NDArray[np.bool_], quiet: ArrayLike) -> Floats:
    """Return the branch probabilities with what the keeper ruled out set to nothing.

    Parameters
    ----------
    p : array (n, 6)
        Probabilities in the order of ``BRANCHES``.
    times : array (n,)
        Reading times (d).
    believed : array (n,) of bool
        Readings that are no gross error.
    quiet : array_like, shape (k, 2)
        Spans (d) in which nothing happened; intervals that reach into one are closed.

    Returns
    -------
    numpy.ndarray, shape (n, 6)
        Probabilities that add up to 1 at every reading.

    Examples
    --------
    >>> t = np.arange(5.0)
    >>> p = branch_probabilities(t, Priors(), np.empty(0), np.empty(0))
    >>> q = ruled_out(p, t, t == 2.0, [(2.5, 3.0)])
    >>> float(q[2, GROSS]), float(q[3, CHANGE]), bool(np.allclose(q.sum(axis=1), 1))
    (0.0, 0.0, True)
    """
    kept = p.copy()
    kept[np.ix_(np.flatnonzero(believed), np.array(SLIPS))] = 0.0
    before = np.concatenate([times[:1], times[:-1]])
    for start, stop in np.asarray(quiet, dtype=float).reshape(-1, 2):
        inside = (before < stop) & (times > start)
        kept[np.ix_(np.flatnonzero(inside), np.array([*CHANGES, *STEPS]))] = 0.0
    return kept / kept.sum(axis=1, keepdims=True)


def session_noise(readings: ArrayLike, correlation: float = 0.5) -> Floats:
    """Return the variance of a session's mean relative to that of a single reading.

    R = ρ + (1 − ρ)/m: what replicates share (the sample, the hands, the light) does not average out.

    Parameters
    ----------
    readings : array_like of int
        Number of readings m in each session.
    correlation : float, optional
        Correlation ρ of the errors within a session (share).

    Returns
    -------
    numpy.ndarray
        Factors R, for ``noise`` of :func:`reef_calc.balance.rate_mixture.current_rate`.

    Raises
    ------
    InputError
        If a number is below 1 or the correlation outside 0 to 1.

    Examples
    --------
    >>> session_noise([1, 2, 3]).round(4).tolist()
    [1.0, 0.75, 0.6667]

    References
    ----------
    Variance of a mean of equally correlated values; textbook, *common practice, no source*.
    """
    m = np.asarray(readings, dtype=float)
    if not (np.all(m >= 1) and 0 <= correlation <= 1):
        raise InputError(
            "at least one reading a session and a correlation from 0 to 1",
            f"{m.tolist()}, {correlation:g}",
            "Correct them.",
            "session_noise",
        )
    return np.asarray(correlation + (1 - correlation) / m)


def _holding(times: Floats, moments: Floats, side: str) -> NDArray[np.intp]:
    """Return the readings that close an interval in which one of the moments lies."""
    inside = moments[(moments >= times[0]) & (moments <= times[-1])]
    index = np.searchsorted(times, inside, side=side)  # type: ignore[call-overload]
    return np.unique(index[index < times.size])
