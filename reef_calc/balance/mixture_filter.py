"""One pass over the readings: many small Kalman filters, each with its own idea of what happened.

Levels are in SDs of a reading, and covariances in units of the unknown error variance, so that one
inverse gamma distribution in each component takes care of how well the stated SD fits.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reef_calc.balance.mixture_events import EventTable, EventTree
from reef_calc.balance.mixture_priors import (
    BRANCHES,
    CHANGE,
    DOSE,
    GROSS,
    LOT,
    SLIP_AND_CHANGE,
    Priors,
)

Floats = NDArray[np.float64]
DIFFUSE = 1e5
LEVEL, USE, OFFSET, STATES = 0, 1, 2, 3
KEPT = 240
WORST_KEPT = 16.0


@dataclass(frozen=True)
class ScaledSeries:
    """Readings and what moved the water between them, levels in SDs of a reading.

    Attributes
    ----------
    times : array (n,)
        Reading times (d).
    y : array (n,)
        Readings less the expected part of the known columns (SDs).
    g, h, d, p : array (n,)
        Contraction, response to a unit use, to doses (SDs), to unit daily scatter, by interval.
    noise : array (n,)
        Variance of each reading relative to that of the reference, R.
    columns : array (n, m)
        Known columns whose factors (SDs) are estimated.
    column_variances : array (m,)
        Prior variances of these factors (SDs squared).
    use : float
        Scale k0 of the use (SDs per day).
    counts : array (n,)
        1 where a reading tells of the error variance, 0 where it is spent on placing a factor.
    branch_p : array (n, 6)
        Prior probabilities of the branches.
    """

    times: Floats
    y: Floats
    g: Floats
    h: Floats
    d: Floats
    p: Floats
    noise: Floats
    columns: Floats
    column_variances: Floats
    use: float
    counts: Floats
    branch_p: Floats

    @property
    def apart(self) -> Floats:
        """Days between each reading and the one before, 0 at the first."""
        return np.diff(self.times, prepend=self.times[:1])

    def start(self) -> tuple[Floats, Floats]:
        """Return mean and covariance of the state before the first reading.

        Returns
        -------
        tuple of numpy.ndarray, (d,) and (d, d)
            In SDs of a reading.
        """
        m = self.column_variances.size
        mean, variance = np.zeros(STATES + m), np.zeros(STATES + m)
        mean[LEVEL], mean[USE] = self.y[0], self.use
        variance[LEVEL], variance[USE] = DIFFUSE, max(100 * self.use**2, 1e-3)
        variance[STATES:] = self.column_variances
        return mean, np.diag(variance)

    def observation(self) -> Floats:
        """Return what each reading sees of the state, (n, d): level, offset and known columns."""
        n = self.times.size
        return np.column_stack([np.ones(n), np.zeros(n), np.ones(n), self.columns])

    def walk(self) -> Floats:
        """Return what day-to-day scatter and drift add to (aa, ab, ba, bb), shape (n, 4, 2)."""
        h, apart = self.h, self.apart
        added = np.zeros((self.times.size, 4, 2))
        added[:, 0, 0] = np.maximum(self.p, 0.0)
        added[:, 0, 1] = h**2 * apart / 3
        added[:, 1, 1] = added[:, 2, 1] = -h * apart / 2
        added[:, 3, 1] = apart
        return added

    def branch_variances(self, priors: Priors) -> Floats:
        """Return what each branch adds to (aa, ab, ba, bb, cc, reading).

        Parameters
        ----------
        priors : Priors
            Beliefs.

        Returns
        -------
        numpy.ndarray, shape (n, 6, 6)
            Variances (SDs squared, with days where the use takes part); the last axis is the branch.
        """
        # The moments of a change of the use at a time that is uniform within the interval.
        jump = (priors.change_size * self.use) ** 2
        added = np.zeros((self.times.size, 6, len(BRANCHES)))
        added[:, 0, CHANGE] = jump * self.h**2 / 3
        added[:, 1, CHANGE] = added[:, 2, CHANGE] = -jump * self.h / 2
        added[:, 3, CHANGE] = jump
        added[:, 0, DOSE] = priors.dose_sds**2
        added[:, 4, LOT] = priors.lot_sds**2
        added[:, 5, GROSS] = priors.gross_sds**2
        added[:, :, SLIP_AND_CHANGE] = added[:, :, CHANGE] + added[:, :, GROSS]
        return added


@dataclass(frozen=True)
class FilteredMixture:
    """Components that survived the last reading.

    Attributes
    ----------
    weights : array (m,)
        Shares, adding up to 1.
    means : array (m, d)
        State: level, use, reading offset, then the factors of the known columns (SDs, SDs per day).
    covariances : array (m, d, d)
        Their covariances in units of the error variance.
    squares : array (m,)
        S; the error variance is S/ν.
    degrees_of_freedom : float
        ν.
    events : EventTable
        What each component believes has happened.
    log_evidence : float
        Logarithm of how well the readings were foretold, but for a constant of their number: only
        differences between fits of the same readings with the same SD mean something.
    """

    weights: Floats
    means: Floats
    covariances: Floats
    squares: Floats
    degrees_of_freedom: float
    events: EventTable
    log_evidence: float


def filter_mixture(
    series: ScaledSeries, priors: Priors, kept: int = KEPT, worst_kept: float = WORST_KEPT
) -> FilteredMixture:
    """Return the mixture after the last reading.

    Each component meets each reading in up to six branches. log weight += log prior − ½·log(F·S)
    − ½(ν+1)·log(1 + e²/(F·S)); S += e²/F; ν += 1. The likeliest ``kept`` candidates live on.

    Parameters
    ----------
    series : ScaledSeries
        Readings and intervals.
    priors : Priors
        Beliefs.
    kept : int, optional
        Number of components kept at most.
    worst_kept : float, optional
        Logarithm of the ratio of weights to the best component, beyond which none is kept.

    Returns
    -------
    FilteredMixture
        Levels in SDs of a reading.

    Examples
    --------
    See :func:`reef_calc.balance.rate_mixture.current_rate`, which prepares the series.

    References
    ----------
    Multi-process model, P. J. Harrison and C. F. Stevens, J. R. Stat. Soc. B 38 (1976) 205–247 (MEMORY).
    """
    mean, covariance = series.start()
    size = mean.size
    cv, mu, prior = priors.grid()
    m = prior.size
    # One array for everything a component carries: survivors are then picked by one call. After the
    # state and its covariance come S, the two strengths of the walk, the gains and the error.
    at_squares = size + size * size
    rows = np.empty((at_squares + 3 + size + 1, m))
    rows[:size], rows[size:at_squares] = mean[:, None], covariance.reshape(-1, 1)
    rows[at_squares] = priors.sd_worth
    rows[at_squares + 1], rows[at_squares + 2] = (cv * series.use) ** 2, (mu * series.use) ** 2
    log_weights, leaves, tree = np.log(prior), np.arange(m), EventTree(m)
    walk, observe = series.walk(), series.observation()
    added = series.branch_variances(priors)
    plain = size == STATES
    nu, log_evidence = priors.sd_worth, 0.0
    with np.errstate(divide="ignore"):
        log_p = np.log(series.branch_p)
    for i in range(series.y.size):
        x = rows[:size]
        P = rows[size:at_squares].reshape(size, size, -1)
        if i:
            _predict(x, P, series, i, walk[i] @ rows[at_squares + 1 : at_squares + 3])
        gains, error, seen = rows[at_squares + 3 : -1], rows[-1], observe[i]
        if plain:
            np.add(P[LEVEL], P[OFFSET], out=gains)
            F = gains[LEVEL] + gains[OFFSET]
            np.subtract(series.y[i] - x[LEVEL], x[OFFSET], out=error)
        else:
            gains[:] = np.tensordot(seen, P, axes=1)
            F = seen @ gains
            np.subtract(series.y[i], seen @ x, out=error)
        F += series.noise[i]

        open_now = np.flatnonzero(series.branch_p[i])
        to_F = added[i, 0] + added[i, 4] + added[i, 5]
        candidate_F = F + to_F[open_now, None]
        spread = candidate_F * rows[at_squares]
        candidates = np.log(spread + error * error)
        candidates *= -0.5 * (nu + 1)
        candidates += (0.5 * nu) * np.log(spread)
        candidates += log_weights + log_p[i, open_now, None]
        flat = candidates.ravel()
        best = flat.max()
        floor = best - worst_kept
        if flat.size > kept:
            floor = max(floor, np.partition(flat, flat.size - kept)[flat.size - kept])
        # By index and not by rank: the order is then the same whatever sorts the weights.
        index = np.flatnonzero(flat >= floor)
        branch, parent = np.divmod(index, log_weights.size)
        branch = open_now[branch]

        rows = rows.take(parent, axis=1)
        log_weights = flat[index] - best
        log_evidence += float(best)
        leaves = leaves[parent]
        tree.grow(i, branch, leaves)
        F = candidate_F.ravel()[index]
        x, P = rows[:size], rows[size:at_squares].reshape(size, size, -1)
        gains, error = rows[at_squares + 3 : -1], rows[-1]
        extra = added[i].take(branch, axis=1)
        P[:2, :2] += extra[:4].reshape(2, 2, -1)
        P[OFFSET, OFFSET] += extra[4]
        gains[:2] += extra[:2]
        gains[OFFSET] += extra[4]
        scaled = gains / F
        x += scaled * error
        P -= scaled[:, None] * gains
        rows[at_squares] += error * error / F
        nu += series.counts[i]
    weights = np.exp(log_weights)
    return FilteredMixture(
        weights=weights / weights.sum(),
        means=rows[:size].T.copy(),
        covariances=np.moveaxis(rows[size:at_squares].reshape(size, size, -1), 2, 0).copy(),
        squares=rows[at_squares].copy(),
        degrees_of_freedom=float(nu),
        events=tree.table(leaves),
        log_evidence=log_evidence + float(np.log(weights.sum())),
    )


def _predict(x: Floats, P: Floats, series: ScaledSeries, i: int, added: Floats) -> None:
    """Carry the states over one interval, in place: a ← g·a + d − h·b."""
    g, h = series.g[i], series.h[i]
    if g != 1.0:
        x[LEVEL] *= g
        P[LEVEL] *= g
        P[:, LEVEL] *= g
    if h != 0.0:
        x[LEVEL] -= h * x[USE]
        P[LEVEL] -= h * P[USE]
        P[:, LEVEL] -= h * P[:, USE]
    x[LEVEL] += series.d[i]
    P[:2, :2] += added.reshape(2, 2, -1)
