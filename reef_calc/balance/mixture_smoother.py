"""Looking back: the rate over time and the size of each event, for the components that matter.

The forward pass forgets its past to stay small. Here the heaviest components are filtered again along
their own histories, and an adjoint pass carries what later readings tell back to the earlier ones.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reef_calc.balance.mixture_filter import LEVEL, OFFSET, USE, FilteredMixture, ScaledSeries
from reef_calc.balance.mixture_priors import (
    BRANCHES,
    CHANGES,
    DOSE,
    GROSS,
    LOT,
    NOTHING,
    SLIPS,
    Priors,
)

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
ENOUGH_WEIGHT = 0.99
AT_MOST = 120


@dataclass(frozen=True)
class SmoothedComponents:
    """The heaviest components, seen from the last reading.

    Attributes
    ----------
    which : array (j,) of int
        Their places among the survivors.
    weights : array (j,)
        Shares among themselves, adding up to 1.
    covered : float
        Share of the whole mixture that they hold.
    branches : array (n, j) of int
        Branch of each at each reading.
    use, use_variance : array (n, j)
        Use at each reading (SDs per day) and its variance in units of the error variance.
    size, size_variance : array (n, j)
        Size of a change or step before a reading (SDs per day, or SDs) and its variance; 0 if none.
    slip, slip_variance : array (n, j)
        Size of a gross error (SDs) and its variance; 0 if none.
    error_variance : array (j,)
        S/ν.
    """

    which: Indices
    weights: Floats
    covered: float
    branches: Indices
    use: Floats
    use_variance: Floats
    size: Floats
    size_variance: Floats
    slip: Floats
    slip_variance: Floats
    error_variance: Floats


def smooth_components(
    series: ScaledSeries, mixture: FilteredMixture, prior: Priors
) -> SmoothedComponents:
    """Return the heaviest components with what all readings say of every moment.

    Backwards over the readings: λ ← Φ′(λ − H(e/F + K′λ)), Λ ← Φ′(HH′/F + C′ΛC)Φ, C = I − KH′;
    state = x − P·λ with covariance P − P·Λ·P; event = −Q·λ̃ with covariance Q − Q·Λ̃·Q.

    Parameters
    ----------
    series : ScaledSeries
        Readings in SDs.
    mixture : FilteredMixture
        Survivors.
    prior : Priors
        Beliefs.

    Returns
    -------
    SmoothedComponents
        In SDs of a reading; at most 120 components, or as many as hold 99 % of the weight.

    Examples
    --------
    See :attr:`reef_calc.balance.mixture_answer.CurrentRate.history`.

    References
    ----------
    Adjoint fixed-interval smoother: A. E. Bryson and M. Frazier (1963); disturbance smoother:
    S. J. Koopman, Biometrika 80 (1993) 117–126 (MEMORY).
    """
    by_weight = np.argsort(-mixture.weights, kind="stable")
    enough = 1 + int(np.searchsorted(np.cumsum(mixture.weights[by_weight]), ENOUGH_WEIGHT))
    which = by_weight[: min(enough, AT_MOST)]
    n, j = series.times.size, which.size
    events = mixture.events
    place = np.full(mixture.weights.size, -1)
    place[which] = np.arange(j)
    row = place[events.component] >= 0
    branches = np.zeros((n, j), dtype=np.intp)
    branches[events.reading[row], place[events.component[row]]] = events.branch[row]
    cv, mu, _ = prior.grid()
    roots = events.roots[which]
    strengths = np.stack([(cv[roots] * series.use) ** 2, (mu[roots] * series.use) ** 2])
    forward = _forward(series, prior, branches, strengths)
    use, use_variance, size, size_variance, slip, slip_variance = _backward(
        series, prior, branches, forward
    )
    weights = mixture.weights[which]
    return SmoothedComponents(
        which=which,
        weights=weights / weights.sum(),
        covered=float(weights.sum()),
        branches=branches,
        use=use,
        use_variance=use_variance,
        size=size,
        size_variance=size_variance,
        slip=slip,
        slip_variance=slip_variance,
        error_variance=mixture.squares[which] / mixture.degrees_of_freedom,
    )


@dataclass(frozen=True)
class _Forward:
    """Filtered means (n, j, d), covariances (n, j, d, d), errors e (n, j), variances F, gains K."""

    means: Floats
    covariances: Floats
    errors: Floats
    F: Floats
    gains: Floats


def _transition(series: ScaledSeries, i: int, size: int) -> Floats:
    phi = np.eye(size)
    phi[LEVEL, LEVEL], phi[LEVEL, USE] = series.g[i], -series.h[i]
    return phi


def _forward(series: ScaledSeries, prior: Priors, branches: Indices, strengths: Floats) -> _Forward:
    n, j = branches.shape
    mean, covariance = series.start()
    size = mean.size
    x, P = np.tile(mean, (j, 1)), np.tile(covariance, (j, 1, 1))
    walk, added, seen = series.walk(), series.branch_variances(prior), series.observation()
    kept = _Forward(
        np.empty((n, j, size)),
        np.empty((n, j, size, size)),
        np.empty((n, j)),
        np.empty((n, j)),
        np.empty((n, j, size)),
    )
    for i in range(n):
        extra = added[i][:, branches[i]]
        if i:
            phi = _transition(series, i, size)
            x = x @ phi.T
            x[:, LEVEL] += series.d[i]
            P = phi @ P @ phi.T
            P[:, :2, :2] += (walk[i] @ strengths).T.reshape(j, 2, 2)
        P[:, :2, :2] += extra[:4].T.reshape(j, 2, 2)
        P[:, OFFSET, OFFSET] += extra[4]
        gain = P @ seen[i]
        F = gain @ seen[i] + series.noise[i] + extra[5]
        e = series.y[i] - x @ seen[i]
        x = x + gain * (e / F)[:, None]
        P = P - gain[:, :, None] * (gain / F[:, None])[:, None, :]
        kept.means[i], kept.covariances[i], kept.errors[i], kept.F[i] = x, P, e, F
        kept.gains[i] = gain / F[:, None]
    return kept


def _backward(
    series: ScaledSeries, prior: Priors, branches: Indices, kept: _Forward
) -> tuple[Floats, ...]:
    n, j = branches.shape
    size = kept.means.shape[2]
    added, seen = series.branch_variances(prior), series.observation()
    # Row of the state that an event moves, for each branch; a gross error moves the reading alone.
    moved = np.zeros(len(BRANCHES), dtype=np.intp)
    moved[list(CHANGES)], moved[DOSE], moved[LOT] = USE, LEVEL, OFFSET
    use, use_variance, event, event_variance, slip, slip_variance = np.zeros((6, n, j))
    slips, moves = np.isin(branches, SLIPS), ~np.isin(branches, (NOTHING, GROSS))
    adjoint, information = np.zeros((j, size)), np.zeros((j, size, size))
    for i in range(n - 1, -1, -1):
        P, gain, F, H = kept.covariances[i], kept.gains[i], kept.F[i], seen[i]
        to_use = P[:, USE]
        use[i] = kept.means[i, :, USE] - np.einsum("ja,ja->j", to_use, adjoint)
        use_variance[i] = P[:, USE, USE] - np.einsum("ja,jab,jb->j", to_use, information, to_use)
        surprise = kept.errors[i] / F + np.einsum("ja,ja->j", gain, adjoint)
        gain_information = np.einsum("jab,jb->ja", information, gain)
        sharpness = 1 / F + np.einsum("ja,ja->j", gain, gain_information)
        gross = slips[i]
        wide = prior.gross_sds**2
        slip[i, gross] = wide * surprise[gross]
        slip_variance[i, gross] = wide - wide**2 * sharpness[gross]
        adjoint = adjoint - H * surprise[:, None]
        cross = gain_information[:, :, None] * H
        information = (
            information
            - cross
            - np.swapaxes(cross, 1, 2)
            + sharpness[:, None, None] * np.outer(H, H)
        )
        for k in np.flatnonzero(moves[i]):
            Q = np.zeros((size, size))
            extra, row = added[i][:, branches[i, k]], moved[branches[i, k]]
            Q[:2, :2], Q[OFFSET, OFFSET] = extra[:4].reshape(2, 2), extra[4]
            event[i, k] = -Q[row] @ adjoint[k]
            event_variance[i, k] = Q[row, row] - Q[row] @ information[k] @ Q[row]
        if i:
            phi = _transition(series, i, size)
            adjoint = adjoint @ phi
            information = phi.T @ information @ phi
    return (
        use,
        np.maximum(use_variance, 0),
        event,
        np.maximum(event_variance, 0),
        slip,
        np.maximum(slip_variance, 0),
    )
