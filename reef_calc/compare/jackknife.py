"""Standard errors from leaving one water out at a time."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reef_calc.errors import InputError

Floats = NDArray[np.float64]


class JackknifeErrors(NamedTuple):
    """How well several numbers of one fit are known.

    Attributes
    ----------
    standard_errors : numpy.ndarray
        One for each number, in its own unit, shape (p,).
    covariance : numpy.ndarray
        Between the numbers, shape (p, p).
    pseudo_values : numpy.ndarray
        One row a water, shape (n, p).
    """

    standard_errors: Floats
    covariance: Floats
    pseudo_values: Floats


def jackknife_errors(estimate: ArrayLike, without_one: ArrayLike) -> JackknifeErrors:
    """Return standard errors and covariance from the fits without one water each.

    θ*ᵢ = n·θ − (n − 1)·θ₋ᵢ, V = cov(θ*)/n

    Parameters
    ----------
    estimate : array_like
        The p numbers found with all waters, each in its own unit, shape (p,).
    without_one : array_like
        The same numbers without water 1, 2, … n, in the same units, shape (n, p).

    Returns
    -------
    JackknifeErrors
        Standard errors, covariance (divisor n − 1), pseudo-values.

    Raises
    ------
    InputError
        If the shapes do not fit, there are fewer than three waters, or a number is not finite.

    Notes
    -----
    A whole water is left out, never one of its repeats. Intervals use t with n − 2 degrees of
    freedom for a line. Not for what jumps when one water goes, such as the median of few values.

    Examples
    --------
    >>> left_out = np.array([[2.5], [2.0], [1.5]])   # means of 1, 2, 3 without one each
    >>> jackknife_errors([2.0], left_out).standard_errors.round(4).tolist()
    [0.5774]

    References
    ----------
    Tukey 1958, Annals of Mathematical Statistics 29, 614 (MEMORY). Linnet 1990, Statistics in
    Medicine 9, 1463, for lines between two methods (MEMORY).
    """
    whole = np.atleast_1d(np.asarray(estimate, dtype=float))
    parts = np.asarray(without_one, dtype=float)
    if whole.ndim != 1 or parts.ndim != 2 or parts.shape[1] != len(whole):
        raise InputError(
            f"a table of {whole.size} columns, one row for each water left out",
            f"shape {parts.shape}",
            "Give one fit for each water left out.",
            "jackknife_errors",
        )
    n = len(parts)
    if n < 3:
        raise InputError(
            "at least three waters", n, "Test another water with both.", "jackknife_errors"
        )
    if not (np.isfinite(whole).all() and np.isfinite(parts).all()):
        raise InputError(
            "finite numbers",
            "a fit without one of the waters that has no value",
            "Test more waters, so that no single one decides.",
            "jackknife_errors",
        )
    pseudo = n * whole - (n - 1) * parts
    # The spread of the fits themselves: the same number with less rounding than through θ*.
    around = parts - parts.mean(axis=0)
    covariance = (n - 1) / n * (around.T @ around)
    return JackknifeErrors(np.sqrt(np.diag(covariance)), covariance, pseudo)
