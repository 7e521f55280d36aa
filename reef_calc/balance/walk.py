"""Parts of the fit: a robust first rate, and freeing readings of the walk they share."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def huber_rate(z: ArrayLike, columns: ArrayLike, scale_floor: float) -> Floats:
    """Return the factors of a robust straight fit: six reweighted least-squares steps.

    Weights min(1, 1.345·σ/|e|) with σ = max(1.4826·median|e|, scale floor).

    Parameters
    ----------
    z : array_like, shape (n,)
        Levels less doses (concentration).
    columns : array_like, shape (n, q)
        Columns of the balance.
    scale_floor : float
        SD of one reading (concentration), below which σ does not fall.

    Returns
    -------
    numpy.ndarray, shape (q,)
        Factors.

    Examples
    --------
    >>> x = np.column_stack([np.ones(5), -np.arange(5.0)])
    >>> [round(float(b), 6) for b in huber_rate([8, 7, 6, 5, 4], x, 0.15)]
    [8.0, 1.0]

    References
    ----------
    P. J. Huber, Ann. Math. Statist. 35 (1964) 73–101; constant 1.345 for 95 % efficiency (MEMORY).
    """
    y, X = np.asarray(z, dtype=float), np.asarray(columns, dtype=float)
    beta = np.linalg.lstsq(X, y, rcond=None)[0]
    for _ in range(6):
        e = np.abs(y - X @ beta)
        sigma = max(1.4826 * float(np.median(e)), scale_floor)
        root = np.sqrt(np.minimum(1.0, 1.345 * sigma / np.maximum(e, 1e-300)))
        beta = np.linalg.lstsq(X * root[:, None], y * root, rcond=None)[0]
    return beta


def whiten(
    columns: Floats, g: Floats, p: Floats, ratios: Floats, noise: Floats
) -> tuple[Floats, Floats]:
    """Return columns freed of the correlation of V = diag(R) + λP, and ln|V|, for several λ.

    The walk w_i = g_i·w_{i−1} + √(λ p_i)·ε makes V the covariance of a scalar state, so its
    innovations do the work of a Cholesky factor in one pass, without an n × n matrix.

    Parameters
    ----------
    columns : array (n, q)
        Anything to be freed, in any unit.
    g, p : array (n,)
        Contraction and walk variance of each interval (days).
    ratios : array (m,)
        Walk variance per day over reading variance, λ.
    noise : array (n,)
        Variance of each reading relative to the reference, R.

    Returns
    -------
    tuple of numpy.ndarray
        Whitened columns (m, n, q) and ln|V| (m,).

    Examples
    --------
    >>> one, still = np.ones((3, 1)), np.array([0.0, 1.0, 1.0])
    >>> white, log_det = whiten(one, np.ones(3), still, np.array([0.0, 1.0]), np.ones(3))
    >>> white[0, :, 0].tolist()  # no walk: nothing to free
    [1.0, 1.0, 1.0]
    >>> V = np.eye(3) + [[0, 0, 0], [0, 1, 1], [0, 1, 2]]  # walk variance 1 a day
    >>> round(log_det[1].item(), 6), round(float(np.log(np.linalg.det(V))), 6)
    (1.609438, 1.609438)
    """
    n, q = columns.shape
    mean, var = np.zeros((ratios.size, q)), np.zeros(ratios.size)
    white, log_det = np.empty((ratios.size, n, q)), np.zeros(ratios.size)
    for i in range(n):
        var = g[i] ** 2 * var + ratios * p[i]
        mean = g[i] * mean
        total = var + noise[i]
        innovation = columns[i] - mean
        white[:, i] = innovation / np.sqrt(total)[:, None]
        log_det += np.log(total)
        mean = mean + (var / total)[:, None] * innovation
        var = var * noise[i] / total
    return white, log_det
