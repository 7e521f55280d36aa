"""Which single readings do not belong to a steady balance: gross errors by their evidence."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reef_calc.balance.steady_use import DAY_TO_DAY, DAY_TO_DAY_WEIGHTS, MEASURED_SD_WORTH
from reef_calc.errors import InputError

Floats = NDArray[np.float64]
GROSS_PRIOR = 0.03
GROSS_SDS = 7.0


def walk_covariance(g: ArrayLike, p: ArrayLike) -> Floats:
    """Return the covariance of the walk of the level at the readings, for unit scatter a day.

    P_ij = P_i·Π g over the intervals from i to j, P_i the walk's variance at reading i.

    Parameters
    ----------
    g, p : array_like, shape (n,)
        Contraction and walk variance (days) of each interval, first entry for the first reading.

    Returns
    -------
    numpy.ndarray, shape (n, n)
        Covariance in days.

    Examples
    --------
    >>> walk_covariance([1, 1, 0.5], [0, 2, 1]).tolist()
    [[0.0, 0.0, 0.0], [0.0, 2.0, 1.0], [0.0, 1.0, 1.5]]
    """
    contraction, variance = np.asarray(g, dtype=float), np.asarray(p, dtype=float)
    n = contraction.size
    cov = np.zeros((n, n))
    for i in range(1, n):
        cov[i, :i] = cov[:i, i] = contraction[i] * cov[i - 1, :i]
        cov[i, i] = contraction[i] ** 2 * cov[i - 1, i - 1] + variance[i]
    return cov


def gross_error_probabilities(
    z: ArrayLike,
    columns: ArrayLike,
    g: ArrayLike,
    p: ArrayLike,
    *,
    reading_sd: float,
    rate_scale: float,
    noise: ArrayLike | None = None,
    prior_u: ArrayLike | None = None,
    sd_worth: float = MEASURED_SD_WORTH,
) -> Floats:
    """Return for each reading the probability that it alone is a gross error.

    A gross error adds variance κ²·s0² to one reading: with M = V⁻¹ − V⁻¹X(X′V⁻¹X)⁻¹X′V⁻¹ the evidence
    changes by (1+κ²M_ii)^−½ and RSS by −κ²(Mz)_i²/(1+κ²M_ii), for each assumed day-to-day variation.

    Parameters
    ----------
    z : array_like, shape (n,)
        Levels less doses (concentration).
    columns : array_like, shape (n, q)
        Columns of the balance.
    g, p : array_like, shape (n,)
        Contraction and walk variance (days) of the intervals.
    reading_sd : float
        s0, SD of one reading with its step (concentration).
    rate_scale : float
        k0 (concentration per day).
    noise : array_like, shape (n,), optional
        Relative variance of the readings.
    prior_u : array_like, shape (q,), optional
        Standard uncertainty of what is expected of a factor; infinite where nothing is.
    sd_worth : float, optional
        Number of readings the stated SD is worth.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Probabilities; they and "none" add up to 1.

    Raises
    ------
    InputError
        With more than 1500 readings: the matrix would not fit in reasonable time; choose a period.

    Notes
    -----
    One gross error at a time: set the likeliest aside and ask again. Prior 3 % a reading, size 7 SD.

    Examples
    --------
    >>> t = np.arange(8.0)
    >>> y = 8 - t; y[4] += 1.5
    >>> x = np.column_stack([np.ones(8), -t])
    >>> p = gross_error_probabilities(y, x, np.ones(8), np.r_[0, np.ones(7)],
    ...                               reading_sd=0.15, rate_scale=1.0)
    >>> int(np.argmax(p)), bool(p[4] > 0.95)
    (4, True)
    """
    y, X = np.asarray(z, dtype=float), np.asarray(columns, dtype=float)
    n, q = X.shape
    if n > 1500:
        raise InputError("at most 1500 readings", n, "Choose a shorter period.", "doubts")
    r = np.ones(n) if noise is None else np.asarray(noise, dtype=float)
    expected = np.full(q, np.inf) if prior_u is None else np.asarray(prior_u, dtype=float)
    walk = walk_covariance(g, p)
    told = np.isfinite(expected)
    from_priors = (X[:, told] * (expected[told] / reading_sd) ** 2) @ X[:, told].T
    free = X[:, ~told]
    df = sd_worth + n - free.shape[1]
    start = sd_worth * reading_sd**2
    logs = np.empty((len(DAY_TO_DAY), n + 1))
    for j, (cv, prior) in enumerate(zip(DAY_TO_DAY, DAY_TO_DAY_WEIGHTS, strict=True)):
        V = np.diag(r) + (cv * rate_scale / reading_sd) ** 2 * walk + from_priors
        root = np.linalg.cholesky(V)
        white = np.linalg.solve(root, np.column_stack([free, np.eye(n)]))
        orthogonal, upper = np.linalg.qr(white[:, : free.shape[1]])
        inverse = white[:, free.shape[1] :]
        projected = inverse - orthogonal @ (orthogonal.T @ inverse)
        M = projected.T @ projected
        e = M @ y
        rss = float(y @ e)
        log_det = np.log(np.diag(root)).sum() + np.log(np.abs(np.diag(upper))).sum()
        grown = 1 + GROSS_SDS**2 * np.diag(M)
        left = np.maximum(rss - GROSS_SDS**2 * e**2 / grown, 0.0)
        logs[j, 0] = np.log(prior) - log_det - df / 2 * np.log(start + rss)
        logs[j, 1:] = (
            np.log(prior * GROSS_PRIOR / (1 - GROSS_PRIOR))
            - log_det
            - 0.5 * np.log(grown)
            - df / 2 * np.log(start + left)
        )
    weight = np.exp(logs - logs.max()).sum(axis=0)
    return weight[1:] / weight.sum()
