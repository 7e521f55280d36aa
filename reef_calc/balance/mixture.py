"""Quantiles of a weighted mixture of Student t distributions."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reef_calc.balance.mixture_by_row import quantiles_by_row
from reef_calc.errors import InputError


def mixture_quantiles(
    probabilities: ArrayLike,
    weights: ArrayLike,
    centres: ArrayLike,
    scales: ArrayLike,
    degrees_of_freedom: float,
) -> NDArray[np.float64]:
    """Return quantiles of a mixture of t distributions from its distribution function.

    F(x) = Σ w_j·T_ν((x − m_j)/s_j). A component without scale is a step at its centre.

    Parameters
    ----------
    probabilities : array_like, shape (q,)
        Probabilities between 0 and 1, exclusive.
    weights : array_like, shape (m,)
        Weights, not negative, any sum above 0.
    centres, scales : array_like, shape (m,)
        Centres and scales of the components, in the unit of the quantity.
    degrees_of_freedom : float
        Degrees of freedom (number), above 0, the same for all components.

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
    df = np.unique(np.asarray(degrees_of_freedom, dtype=float))
    if df.size != 1:
        raise InputError("one number of degrees of freedom", df, "Use the fit's own.")
    return quantiles_by_row(probabilities, w[None], m[None], s[None], float(df[0]))[0]
