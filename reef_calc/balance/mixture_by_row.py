"""Quantiles of many weighted mixtures of Student t distributions at once, by guarded Newton steps."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln, stdtr, stdtrit

from reef_calc.errors import InputError

Floats = NDArray[np.float64]
LEFT_OUT = 1e-4


def quantiles_by_row(
    probabilities: ArrayLike,
    weights: ArrayLike,
    centres: ArrayLike,
    scales: ArrayLike,
    degrees_of_freedom: ArrayLike,
) -> Floats:
    """Return quantiles of one mixture of t distributions for each row.

    F(x) = Σ w_j·T_ν((x − m_j)/s_j) = probability, by Newton steps in the log odds that never leave a bracket.

    Parameters
    ----------
    probabilities : array_like, shape (q,)
        Probabilities between 0 and 1, exclusive.
    weights : array_like, shape (r, m) or (m,)
        Shares, not negative, with any sum above 0 in a row.
    centres, scales : array_like, shape (r, m)
        Centres and scales, in the unit of the quantity.
    degrees_of_freedom : array_like, shape (r,) or ()
        Degrees of freedom ν of each row.

    Returns
    -------
    numpy.ndarray, shape (r, q)
        Quantiles in the unit of the quantity.

    Raises
    ------
    InputError
        If a number is not finite, a row has no weight, or a scale is negative.

    Notes
    -----
    With a single row the components beyond a cumulative weight of 1 − 10⁻⁴ are left out, as
    :func:`reef_calc.balance.mixture.mixture_quantiles` does.

    Examples
    --------
    >>> q = quantiles_by_row([0.025, 0.5], [[1.0], [1.0]], [[0.0], [5.0]], [[1.0], [2.0]], 10)
    >>> [[round(float(x), 4) for x in row] for row in q]
    [[-2.2281, 0.0], [0.5437, 5.0]]

    References
    ----------
    Student t distribution function: ``scipy.special.stdtr``.
    """
    m, s = np.atleast_2d(np.asarray(centres, float)), np.atleast_2d(np.asarray(scales, float))
    w = np.broadcast_to(np.asarray(weights, float), m.shape)
    sums = w.sum(axis=1)
    if not (np.isfinite(m).all() and np.isfinite(s).all() and np.isfinite(sums).all()):
        raise InputError("finite weights, centres and scales", (w, m, s), "Check the fit.")
    if np.any(sums <= 0) or np.any(w < 0) or np.any(s < 0):
        raise InputError("weights above 0 and scales from 0", (w, s), "Check the fit.")
    if len(m) == 1:
        order = np.argsort(-w[0], kind="stable")
        keep = order[: 1 + int(np.searchsorted(np.cumsum(w[0, order]) / sums[0], 1 - LEFT_OUT))]
        w, m, s = w[:, keep], m[:, keep], s[:, keep]
    w = (w / w.sum(axis=1, keepdims=True))[:, None]
    m = m[:, None]
    s = np.maximum(s, 1e-13 * np.abs(m[:, 0]).max(axis=1, keepdims=True) + 1e-290)[:, None]
    df = np.broadcast_to(np.asarray(degrees_of_freedom, float), len(m))[:, None, None]
    wanted = np.atleast_1d(np.asarray(probabilities, float))[None]
    peak = np.exp(gammaln((df + 1) / 2) - gammaln(df / 2)) / np.sqrt(df * np.pi)

    # The quantile of a mixture lies between the least and the greatest of its components' own.
    own = m + s * stdtrit(df[:, :, 0], wanted)[:, :, None]
    low, high = own.min(axis=2), own.max(axis=2)
    x = (w * own).sum(axis=2)
    tolerance = 1e-12 * np.maximum(np.abs(low), np.abs(high)) + 1e-290
    odds = np.log(wanted / (1 - wanted))
    row = np.arange(len(m))
    for _ in range(200):
        u = (x[row][:, :, None] - m[row]) / s[row]
        bell = np.exp(-(df[row] + 1) / 2 * np.log1p(u * u / df[row]))
        density = (w[row] * peak[row] / s[row] * bell).sum(axis=2)
        below = (w[row] * stdtr(df[row], u)).sum(axis=2)
        under, now = below < wanted, x[row]
        low[row], high[row] = np.where(under, now, low[row]), np.where(under, high[row], now)
        # In the log odds of the share the tails are nearly straight, and few steps do.
        inside = np.clip(below, 1e-300, 1 - 1e-16)
        gap = odds - np.log(inside / (1 - inside))
        step = gap * inside * (1 - inside) / np.maximum(density, 1e-290)
        done = (np.abs(step) <= tolerance[row]) | (high[row] - low[row] <= tolerance[row])
        new = now + step
        within = (new > low[row]) & (new < high[row])
        x[row] = np.where(done, now, np.where(within, new, (low[row] + high[row]) / 2))
        row = row[~done.all(axis=1)]
        if not row.size:
            break
    return np.asarray(x)
