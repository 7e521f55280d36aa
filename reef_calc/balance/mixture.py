"""Quantiles of a weighted mixture of Student t distributions."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtr

from reef_calc.errors import InputError


def mixture_quantiles(
    probabilities: ArrayLike,
    weights: ArrayLike,
    centres: ArrayLike,
    scales: ArrayLike,
    degrees_of_freedom: ArrayLike,
) -> NDArray[np.float64]:
    """Return quantiles of a mixture of t distributions by bisection of its distribution function.

    F(x) = Σ w_j·T_ν((x − m_j)/s_j). A component without scale is a step at its centre.

    Parameters
    ----------
    probabilities : array_like, shape (q,)
        Probabilities between 0 and 1, exclusive.
    weights : array_like, shape (m,)
        Weights, not negative, any sum above 0.
    centres, scales : array_like, shape (m,)
        Centres and scales of the components, in the unit of the quantity.
    degrees_of_freedom : array_like, shape (m,) or ()
        Degrees of freedom, above 0.

    Returns
    -------
    numpy.ndarray, shape (q,)
        Quantiles in the unit of the quantity.

    Raises
    ------
    InputError
        If weights, centres or scales are not finite, no weight is above 0, or a scale is negative.

    Notes
    -----
    Components beyond a cumulative weight of 1 − 10⁻⁴ are left out, since they cannot move the
    2.5 % and 97.5 % points by more than their own weight.

    Examples
    --------
    >>> [round(float(x), 4) for x in mixture_quantiles([0.025, 0.5], [1.0], [0.0], [1.0], 10)]
    [-2.2281, 0.0]

    References
    ----------
    Student t distribution function: ``scipy.special.stdtr``.
    """
    w, m, s = (np.atleast_1d(np.asarray(a, dtype=float)) for a in (weights, centres, scales))
    df = np.broadcast_to(np.asarray(degrees_of_freedom, dtype=float), w.shape)
    if not (np.all(np.isfinite(w)) and np.all(np.isfinite(m)) and np.all(np.isfinite(s))):
        raise InputError("finite weights, centres and scales", (w, m, s), "Check the fit.")
    if w.sum() <= 0 or np.any(w < 0) or np.any(s < 0):
        raise InputError("weights above 0 and scales from 0", (w, s), "Check the fit.")
    order = np.argsort(-w, kind="stable")
    keep = order[: 1 + int(np.searchsorted(np.cumsum(w[order]) / w.sum(), 1 - 1e-4))]
    w, m, s, df = w[keep] / w[keep].sum(), m[keep], s[keep], df[keep]
    floor = np.maximum(s, 1e-300)
    wanted = np.atleast_1d(np.asarray(probabilities, dtype=float))
    spread = max(float(np.max(s)), 1e-12 * max(1.0, float(np.max(np.abs(m)))))
    low = np.full(wanted.shape, np.min(m) - 12 * spread)
    high = np.full(wanted.shape, np.max(m) + 12 * spread)
    while True:
        below = ((low[:, None] - m) / floor, (high[:, None] - m) / floor)
        low_enough = (w * stdtr(df, below[0])).sum(axis=1) <= wanted
        high_enough = (w * stdtr(df, below[1])).sum(axis=1) >= wanted
        if np.all(low_enough) and np.all(high_enough):
            break
        low = np.where(low_enough, low, low - 12 * spread)
        high = np.where(high_enough, high, high + 12 * spread)
        spread *= 4
    for _ in range(200):
        middle = (low + high) / 2
        under = (w * stdtr(df, (middle[:, None] - m) / floor)).sum(axis=1) < wanted
        low, high = np.where(under, middle, low), np.where(under, high, middle)
        if np.all(high - low <= 1e-13 * np.maximum(1e-300, np.abs(high) + np.abs(low))):
            break
    return (low + high) / 2
