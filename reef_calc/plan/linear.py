"""One linear programme, with its status read and its failures put into words."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.optimize import linprog

from reef_calc.errors import CannotTellError


def feasible(
    matrix: np.ndarray,
    most: np.ndarray,
    low: np.ndarray,
    high: np.ndarray,
    equal: np.ndarray | None = None,
) -> bool:
    """Return whether some amounts keep every row.

    Parameters
    ----------
    matrix : ndarray, shape (rows, unknowns)
        Coefficients of ``matrix · x ≤ most``.
    most : ndarray, shape (rows,)
        Right-hand sides.
    low, high : ndarray, shape (unknowns,)
        Bounds.
    equal : ndarray, optional
        Rows that must be 0.

    Returns
    -------
    bool
        Whether there is a plan.

    Raises
    ------
    CannotTellError
        If the numbers are too far apart to be solved.

    Examples
    --------
    >>> feasible(np.array([[1.0], [-1.0]]), np.array([1.0, -2.0]), np.zeros(1), np.full(1, 9.0))
    False
    """
    if matrix.shape[1] == 0:
        return bool(np.all(most >= -1e-9))
    return least(np.zeros(matrix.shape[1]), matrix, most, low, high, equal) is not None


def least(
    cost: np.ndarray,
    matrix: np.ndarray,
    most: np.ndarray,
    low: np.ndarray,
    high: np.ndarray,
    equal: np.ndarray | None = None,
    values: np.ndarray | None = None,
) -> Any:
    """Return the answer of one linear programme, or None where there is no solution.

    Parameters
    ----------
    cost : ndarray, shape (unknowns,)
        Price of each unknown.
    matrix : ndarray or sparse array, shape (rows, unknowns)
        Coefficients of ``matrix · x ≤ most``.
    most : ndarray, shape (rows,)
        Right-hand sides.
    low, high : ndarray, shape (unknowns,)
        Bounds.
    equal, values : ndarray or sparse array, optional
        Rows that must be equal to ``values`` (0 when not given).

    Returns
    -------
    OptimizeResult or None
        With ``x`` and the marginals of rows and bounds.

    Raises
    ------
    CannotTellError
        If the numbers are too far apart to be solved.

    Examples
    --------
    >>> float(least(np.ones(1), -np.ones((1, 1)), np.array([-2.0]), np.zeros(1), np.full(1, 9.0)).fun)
    2.0
    """
    if equal is not None and values is None:
        values = np.zeros(equal.shape[0])
    answer = linprog(
        cost,
        A_ub=matrix if matrix.shape[0] else None,
        b_ub=most if matrix.shape[0] else None,
        A_eq=equal,
        b_eq=values,
        bounds=np.column_stack([low, high]),
        method="highs",
    )
    if answer.status == 0 and answer.x is not None:
        return answer
    if answer.status == 2:
        return None
    raise CannotTellError(
        "No plan could be worked out from these numbers: they are too far apart. Look for a strength, "
        "a limit or a band that is a thousand times too large or too small."
    )
