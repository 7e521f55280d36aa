"""Six linear states for two elements: a pruned mixture of Kalman filters with closed-form evidence.

States: level and use of alkalinity, offset of its kit, level of calcium, deviation of its use from
ratio × alkalinity use, offset of its kit. As the calcium use is r·b + u, no product of unknowns is
left and every branch of the mixture is one linear filter.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reef_calc.balance.joint_priors import (
    ALKALINITY_ONLY,
    BRANCHES,
    CALCIFICATION,
    CALCIUM_ONLY,
    GROSS,
    OFFSET,
    PRECIPITATION,
    STEP,
    JointPriors,
    branch_probabilities,
)
from reef_calc.balance.joint_readings import JointSequence

Floats = NDArray[np.float64]
STATES = 6
A, USE, A_KIT, C, DEVIATION, C_KIT = range(STATES)
DIFFUSE = 1e5
KEPT = 240
# Five scales of the calcium kit are five times the classes: with 240, accounts of a change that hold
# a tenth of the weight fall to a third of it.
KEPT_WITH_SCALES = 360
WORST_KEPT = 16.0


@dataclass(frozen=True)
class JointComponents:
    """The surviving components after the last reading, in units of the kits' SDs.

    Attributes
    ----------
    weights : array (m,)
        Weights (sum 1), the heaviest first.
    means : array (6, m)
        State means.
    covariances : array (6, 6, m)
        State covariances in units of the unknown variance σ².
    squares : array (m,)
        S, the sum of squares; σ² is about S/ν.
    degrees_of_freedom : float
        ν of every component.
    classes : array (m,) of int
        Row of the static grid.
    branches : array (n, m) of int8
        What each component believes happened at each reading.
    """

    weights: Floats
    means: Floats
    covariances: Floats
    squares: Floats
    degrees_of_freedom: float
    classes: NDArray[np.intp]
    branches: NDArray[np.int8]


def spread_of_change(h: Floats, levels: tuple[float, float], rates: tuple[float, float]) -> Floats:
    """Return the covariance that a unit change of use, anywhere in an interval, leaves behind.

    W = vv′·h²/3 on the levels, −vw′·h/2 between levels and uses, ww′ on the uses: the moments of a
    change at a time uniform in the interval.

    Parameters
    ----------
    h : array (n,)
        Response of the level to a unit use over each interval (d).
    levels, rates : tuple of two floats
        v, factors (no unit) on the levels of alkalinity and calcium; w, on use and deviation.

    Returns
    -------
    numpy.ndarray, shape (n, 6, 6)
        Covariances for a unit variance of the change.

    Examples
    --------
    >>> W = spread_of_change(np.array([3.0]), (1.0, 7.0), (1.0, 0.0))[0]
    >>> W[A, A].item(), W[A, C].item(), W[C, USE].item(), W[USE, USE].item()
    (3.0, 21.0, -10.5, 1.0)

    References
    ----------
    Own derivation.
    """
    v, w = np.zeros(STATES), np.zeros(STATES)
    v[[A, C]], w[[USE, DEVIATION]] = levels, rates
    cross = np.outer(v, w)
    return (
        np.multiply.outer(h**2 / 3, np.outer(v, v))
        - np.multiply.outer(h / 2, cross + cross.T)
        + np.outer(w, w)
    )


def _added_by_branch(sequence: JointSequence, r: float, k: float, priors: JointPriors) -> Floats:
    """Return the covariance that each branch adds before the update, (n, 8, 6, 6)."""
    n, h = sequence.times.size, sequence.h
    added = np.zeros((n, len(BRANCHES), STATES, STATES))
    change = (priors.change_size * k) ** 2
    added[:, CALCIFICATION] = change * spread_of_change(h, (1.0, r), (1.0, 0.0))
    added[:, ALKALINITY_ONLY] = change * spread_of_change(h, (1.0, 0.0), (1.0, -r))
    added[:, CALCIUM_ONLY] = change * spread_of_change(h, (0.0, r), (0.0, r))
    for flag, level, offset in ((False, A, A_KIT), (True, C, C_KIT)):
        own = sequence.is_calcium == flag
        added[own, STEP, level, level] = priors.step_sds**2
        added[own, OFFSET, offset, offset] = priors.offset_sds**2
    both = np.zeros(STATES)
    both[[A, C]] = 1.0, r
    added[:, PRECIPITATION] = priors.step_sds**2 * np.outer(both, both)
    return added


def filter_jointly(
    sequence: JointSequence,
    ratio: float,
    use: float,
    priors: JointPriors,
    kept: int | None = None,
    worst_kept: float = WORST_KEPT,
) -> JointComponents:
    """Return the mixture of filters after the last reading.

    A ← gA + d_A − h·b, C ← gC + d_C − h·(r·b + u); reading = level + offset + e, e ~ σ²R. Evidence
    of a reading: −½ ln(F·S) − ½(ν + 1)·ln(1 + e²/(F·S)); then S += e²/F.

    Parameters
    ----------
    sequence : JointSequence
        Readings in units of the kits' SDs.
    ratio : float
        Expected ratio r of the uses, in those units.
    use : float
        Scale k of the alkalinity use (SDs per day).
    priors : JointPriors
        Beliefs.
    kept : int, optional
        Number of components kept after each reading; 240, or 360 where the calcium kit's SD has
        several scales.
    worst_kept : float, optional
        Components further below the best in log weight (no unit) are dropped.

    Returns
    -------
    JointComponents
        Sorted by weight.

    Notes
    -----
    A dropped weight is a lost possibility, so probabilities near 0 are only known to be small.

    Examples
    --------
    >>> from reef_calc.balance.joint_readings import ElementReadings, joint_sequence
    >>> from reef_calc.balance.water_balance import WaterEvents
    >>> a = ElementReadings(range(0, 42, 7), np.linspace(60, 25, 6), WaterEvents(), 1.0)
    >>> c = ElementReadings(range(0, 42, 7), np.linspace(60, 25, 6), WaterEvents(), 1.0)
    >>> found = filter_jointly(joint_sequence(a, c), 1.0, 1.0, JointPriors())
    >>> found.degrees_of_freedom, round(found.means[USE, 0].item(), 2)
    (29.0, 1.0)

    References
    ----------
    P. J. Harrison and C. F. Stevens, J. R. Stat. Soc. B 38 (1976) 205–247 (MEMORY).
    """
    r, k, n = ratio, use, sequence.times.size
    grid = priors.grid()
    if kept is None:
        kept = KEPT_WITH_SCALES if len(priors.calcium_kit_scale) > 1 else KEPT
    added = _added_by_branch(sequence, r, k, priors)
    probability = branch_probabilities(
        sequence.apart,
        sequence.apart_same_kit,
        sequence.seen,
        sequence.is_calcium,
        sequence.declared_change,
        sequence.declared_offset,
        priors,
    )
    own = 1 + priors.own_part**2
    levels, scatter = np.ix_([A, C], [A, C]), np.array([[own, r], [r, own * r**2]])
    drift = sequence.apart[:, None, None] * spread_of_change(sequence.h, (1.0, r), (1.0, 0.0))

    m = grid["weight"].size
    x, P = np.zeros((STATES, m)), np.zeros((STATES, STATES, m))
    x[A] = sequence.y[~sequence.is_calcium][0]
    x[C] = sequence.y[sequence.is_calcium][0]
    x[USE] = k
    P[A, A] = P[C, C] = DIFFUSE
    P[USE, USE] = max(100 * k**2, 1e-3)
    P[DEVIATION, DEVIATION] = (grid["ratio_u"] * r * k) ** 2
    classes = np.arange(m)
    S, nu, log_w = np.full(m, priors.sd_worth), priors.sd_worth, np.log(grid["weight"])
    scatter_class, drift_class = (grid["day_to_day"] * k) ** 2, (grid["drift"] * k) ** 2
    kit_class = grid["kit_scale"] ** 2
    parents: list[NDArray[np.intp]] = []
    branches: list[NDArray[np.int8]] = []
    for i in range(n):
        if i and sequence.apart[i] > 0:
            _predict(x, P, r, sequence.g[i], sequence.h[i], sequence.doses[i])
            P[levels] += (sequence.p[i] * scatter)[:, :, None] * scatter_class[classes]
            drifts = np.flatnonzero(drift_class[classes])
            P[:, :, drifts] += drift[i][:, :, None] * drift_class[classes[drifts]]
        calcium = bool(sequence.is_calcium[i])
        level, offset = (C, C_KIT) if calcium else (A, A_KIT)
        R = sequence.noise[i] * (kit_class[classes] if calcium else 1.0)
        F0 = P[level, level] + 2 * P[level, offset] + P[offset, offset] + R
        e = sequence.y[i] - x[level] - x[offset]
        is_open = np.flatnonzero(probability[i])
        B = added[i, is_open]
        wider = B[:, level, level] + B[:, offset, offset] + priors.gross_sds**2 * (is_open == GROSS)
        F = F0 + wider[:, None]
        FS = F * S
        candidates = (
            log_w
            + np.log(probability[i, is_open])[:, None]
            - 0.5 * np.log(FS)
            - 0.5 * (nu + 1) * np.log1p(e**2 / FS)
        ).ravel()
        best = _heaviest(candidates, kept, worst_kept)
        which, parent = np.divmod(best, x.shape[1])
        log_w = candidates[best] - candidates[best[0]]
        F_kept, e_kept = F.ravel()[best], e[parent]
        x, classes = x.take(parent, axis=1), classes[parent]
        S = S[parent] + e_kept**2 / F_kept
        P = P.take(parent, axis=2)
        moved = np.flatnonzero(is_open[which] > GROSS)
        P[:, :, moved] += B[which[moved]].transpose(1, 2, 0)
        v = P[level] + P[offset]
        gain = v / F_kept
        x += gain * e_kept
        P -= v[:, None] * gain
        counted = sequence.seen[int(calcium)][i] >= (1 if calcium else 2)
        nu += float(counted)
        parents.append(parent)
        branches.append(is_open[which].astype(np.int8))
    w = np.exp(log_w)
    return JointComponents(w / w.sum(), x, P, S, nu, classes, _histories(parents, branches))


def _predict(x: Floats, P: Floats, r: float, g: float, h: float, doses: Floats) -> None:
    """Move states and covariances over one interval, in place."""
    for array in (x, P, P.swapaxes(0, 1)):
        array[A] = g * array[A] - h * array[USE]
        array[C] = g * array[C] - h * (r * array[USE] + array[DEVIATION])
    x[A] += doses[0]
    x[C] += doses[1]


def _heaviest(log_weights: Floats, kept: int, worst_kept: float) -> NDArray[np.intp]:
    """Return the indices of the heaviest candidates, the best first; ties in order of their index."""
    near = np.flatnonzero(log_weights >= log_weights.max() - worst_kept)
    order = np.argsort(-log_weights[near], kind="stable")[:kept]
    return near[order].astype(np.intp)


def _histories(
    parents: list[NDArray[np.intp]], branches: list[NDArray[np.int8]]
) -> NDArray[np.int8]:
    """Follow each survivor back through its parents."""
    at = np.arange(parents[-1].size)
    found = np.empty((len(parents), at.size), dtype=np.int8)
    for i in range(len(parents) - 1, -1, -1):
        found[i] = branches[i][at]
        at = parents[i][at]
    return found
