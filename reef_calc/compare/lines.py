"""Lines between two kits by least squares and by Deming's method, plain and weighted."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from reef_calc.compare.fitted_line import (
    SAME,
    Floats,
    Line,
    checked,
    checked_ratio,
    line_of_estimates,
)
from reef_calc.compare.jackknife import jackknife_errors
from reef_calc.compare.no_line import NoLineError, hangs_on_one, not_rising
from reef_calc.errors import InputError

TOLERANCE = 1e-12
MOST_ROUNDS = 1000


def ols_line(
    x: ArrayLike, y: ArrayLike, *, weights: ArrayLike | None = None, confidence: float = 0.95
) -> Line:
    """Return the least-squares line of y on x; all error is taken to be in y.

    slope = Sxy/Sxx, V = s²·(X'WX)⁻¹, s² = Σ w·r²/(n − 2)

    Parameters
    ----------
    x, y : array_like
        Levels (one unit), shape (n,), n ≥ 3.
    weights : array_like, optional
        Weight of each water, above zero: 1 over the variance of y, in any unit; shape (n,). Equal
        when not given.
    confidence : float, optional
        Probability of the intervals (fraction).

    Returns
    -------
    Line
        Method "ols", or "wls" with weights.

    Raises
    ------
    InputError
        If the columns cannot be used, or a weight is not above zero.
    NoLineError
        If all x are the same.

    Notes
    -----
    Between two kits the slope comes out too small, since x has error too. For known levels x it is
    the right one.

    Examples
    --------
    >>> found = ols_line([4.0, 6.0, 8.0, 10.0], [4.1, 6.3, 8.1, 10.3])
    >>> round(found.intercept, 4), round(found.slope, 4), round(found.se_slope, 4)
    (0.06, 1.02, 0.0283)

    References
    ----------
    Checked against NIST StRD Norris, certified values.
    """
    x, y = checked("line", 3, x, y)
    w = np.ones_like(x)
    if weights is not None:
        _, w = checked("weights of a line", 3, x, weights)
        if (w <= 0).any():
            raise InputError(
                "weights above zero", float(w.min()), "Leave that water out.", "weights of a line"
            )
        w = w / w.mean()
    mean_x, mean_y = np.average(x, weights=w), np.average(y, weights=w)
    from_mean = x - mean_x
    spread = float(w @ from_mean**2)
    if _flat(spread, x):
        raise NoLineError(
            "DEGENERATE",
            f"All {len(x)} waters have the same level, so there is no line. Test waters whose "
            "levels lie further apart.",
        )
    slope = float((w * from_mean) @ (y - mean_y)) / spread
    residual = (y - mean_y) - slope * from_mean
    variance = float(w @ residual**2) / (len(x) - 2)
    v_slope = variance / spread
    covariance = np.array(
        [
            [variance / w.sum() + mean_x**2 * v_slope, -mean_x * v_slope],
            [-mean_x * v_slope, v_slope],
        ]
    )
    return line_of_estimates(
        "ols" if weights is None else "wls",
        x,
        mean_y - slope * mean_x,
        slope,
        covariance,
        confidence,
        scatter=math.sqrt(variance) if weights is None else None,
    )


def deming_line(
    x: ArrayLike, y: ArrayLike, *, error_ratio: float, confidence: float = 0.95
) -> Line:
    """Return Deming's line, errors in both kits, with standard errors by leaving out one water.

    Minimises Σ (x − ξ)²/λ + (y − a − b·ξ)²; with D = Sxx − λ·Syy,
    b = 2·Sxy/(D + √(D² + 4·λ·Sxy²))

    Parameters
    ----------
    x, y : array_like
        Levels read with kit A and with kit B (one unit), means of a water; shape (n,), n ≥ 3.
    error_ratio : float
        λ, variance of x over variance of y (ratio), 0 or more; 0 is least squares of y on x.
    confidence : float, optional
        Probability of the intervals (fraction).

    Returns
    -------
    Line
        Method "deming".

    Raises
    ------
    InputError
        If the columns or the ratio cannot be used.
    NoLineError
        If the kits do not rise together (DEGENERATE), or the line hangs on one water.

    Notes
    -----
    Both variances are taken to be the same at every level. Where the waters hardly differ, the
    slope is that of the assumed ratio, not of the kits: see ``identifiability``.

    Examples
    --------
    >>> found = deming_line([7.0, 8.3, 10.5, 9.0, 5.1], [7.9, 8.2, 9.6, 9.0, 6.5], error_ratio=4.0)
    >>> round(found.intercept, 4), round(found.slope, 4)
    (3.6285, 0.5779)

    References
    ----------
    Linnet 1990, Statistics in Medicine 9, 1463 (MEMORY).
    """
    x, y = checked("Deming's line", 3, x, y)
    ratio = checked_ratio(error_ratio, "Deming's line")
    keep = _all_and_without_one(len(x))
    _refuse_degenerate(x, y, keep)
    found = _deming(x, y, keep, ratio)
    errors = jackknife_errors(found[0], found[1:])
    residual = y - found[0, 0] - found[0, 1] * x
    return line_of_estimates(
        "deming",
        x,
        found[0, 0],
        found[0, 1],
        errors.covariance,
        confidence,
        scatter=math.sqrt(float(residual @ residual) / (len(x) - 2)),
        error_ratio=ratio,
    )


def weighted_deming_line(
    x: ArrayLike, y: ArrayLike, *, error_ratio: float, confidence: float = 0.95
) -> Line:
    """Return Deming's line for kits whose scatter grows in proportion to the level.

    Weights 1/((ξ + λ·η)/(1 + λ))², (ξ, η) the point of the line nearest to a water; repeated
    until the line stands still.

    Parameters
    ----------
    x, y : array_like
        Levels read with kit A and with kit B (one unit), all above zero; shape (n,), n ≥ 3.
    error_ratio : float
        λ, variance of x over variance of y (ratio), 0 or more; (CV of A / CV of B)².
    confidence : float, optional
        Probability of the intervals (fraction).

    Returns
    -------
    Line
        Method "weighted_deming"; standard errors by leaving out one water, each iterated to the
        end.

    Raises
    ------
    InputError
        If the columns or the ratio cannot be used.
    NoLineError
        If a reading is not above zero (NEGATIVE_OR_ZERO), the weights do not settle
        (NOT_CONVERGED), or as ``deming_line``.

    Notes
    -----
    Iterated until the line moves by less than 1e-12 of the highest level, so that results do not
    depend on where one stops; tools that stop early differ in the fourth digit.

    Examples
    --------
    >>> found = weighted_deming_line([4.0, 6.0, 8.0, 10.0, 12.0], [4.1, 6.3, 8.1, 10.3, 12.1],
    ...                              error_ratio=1.0)
    >>> round(found.intercept, 4), round(found.slope, 4)
    (0.0864, 1.0125)

    References
    ----------
    Linnet 1990, Statistics in Medicine 9, 1463 (MEMORY).
    """
    x, y = checked("the weighted line", 3, x, y)
    ratio = checked_ratio(error_ratio, "the weighted line")
    low = min(float(x.min()), float(y.min()))
    if low <= 0.0:
        raise NoLineError(
            "NEGATIVE_OR_ZERO",
            f"A scatter that grows with the level needs readings above zero; the lowest is {low:g}."
            " Leave such waters out, or take the scatter as the same at all levels.",
        )
    keep = _all_and_without_one(len(x))
    _refuse_degenerate(x, y, keep)
    found = _settled(x, y, keep, ratio)
    errors = jackknife_errors(found[0], found[1:])
    return line_of_estimates(
        "weighted_deming",
        x,
        found[0, 0],
        found[0, 1],
        errors.covariance,
        confidence,
        error_ratio=ratio,
    )


def _all_and_without_one(n: int) -> Floats:
    """Return weights of n + 1 fits: all waters, then without each."""
    return np.vstack([np.ones(n), 1.0 - np.eye(n)])


def _deming(x: Floats, y: Floats, weights: Floats, ratio: float) -> Floats:
    """Return intercept and slope of each row of weights, shape (k, 2)."""
    total = weights.sum(axis=1)
    mean_x, mean_y = weights @ x / total, weights @ y / total
    dx, dy = x - mean_x[:, None], y - mean_y[:, None]
    sxx, syy, sxy = ((weights * one).sum(axis=1) for one in (dx * dx, dy * dy, dx * dy))
    difference = sxx - ratio * syy
    root = np.hypot(difference, 2.0 * math.sqrt(ratio) * sxy)
    # Of the two equal forms, the one that does not subtract two nearly equal numbers.
    first = difference >= 0.0
    slope = np.where(first, 2.0 * sxy, root - difference) / np.where(
        first, difference + root, 2.0 * ratio * sxy
    )
    return np.column_stack([mean_y - slope * mean_x, slope])


def _settled(x: Floats, y: Floats, keep: Floats, ratio: float) -> Floats:
    found = _deming(x, y, keep, ratio)
    for _ in range(MOST_ROUNDS):
        a, b = found[:, :1], found[:, 1:]
        distance = (y - a - b * x) / (1.0 + ratio * b**2)
        level = ((x + ratio * b * distance) + ratio * (y - distance)) / (1.0 + ratio)
        if (level[keep > 0.0] <= 0.0).any():
            break
        now = _deming(x, y, keep / np.where(keep > 0.0, level, 1.0) ** 2, ratio)
        moved = np.abs((now[:, :1] - a) + (now[:, 1:] - b) * x).max()
        found = now
        if moved <= TOLERANCE * np.abs(y).max():
            return found
    raise NoLineError(
        "NOT_CONVERGED",
        "The weighted line does not settle on these waters: their readings scatter too much, or lie "
        "too near zero. Take the scatter as the same at all levels, or test more waters.",
    )


def _flat(spread: float, values: Floats) -> bool:
    return spread <= len(values) * (SAME * float(np.abs(values).max())) ** 2


def _refuse_degenerate(x: Floats, y: Floats, keep: Floats) -> None:
    """Refuse waters on which the kits do not rise together, or only because of one water."""
    total = keep.sum(axis=1)[:, None]
    dx = x - (keep @ x)[:, None] / total
    dy = y - (keep @ y)[:, None] / total
    sxy = (keep * dx * dy).sum(axis=1)
    still = len(x) * SAME * float(np.abs(x).max()) * SAME * float(np.abs(y).max())
    sxx, syy = (keep * dx**2).sum(axis=1), (keep * dy**2).sum(axis=1)
    if sxy[0] <= still or _flat(sxx[0], x) or _flat(syy[0], y):
        raise not_rising(len(x))
    for water in range(len(x)):
        if _flat(sxx[water + 1], x) or _flat(syy[water + 1], y) or abs(sxy[water + 1]) <= still:
            raise hangs_on_one(water)
