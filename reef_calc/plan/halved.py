"""Only half of the first correction, where a reading surprises."""

from __future__ import annotations

import numpy as np

from reef_calc.messages import Message
from reef_calc.plan.condensed import Condensed
from reef_calc.plan.limit_rows import limit_rows
from reef_calc.plan.ordered_aims import solve_near
from reef_calc.plan.rounding import neighbours


def halved(condensed: Condensed, amounts: np.ndarray, z: float, dead: float) -> np.ndarray:
    """Return the amounts with only half of the first correction.

    first = (first + last) / 2; the later ones are never more than planned, for nothing is made up for
    before a new test, and less where the lower level would let a water change lift it too fast.

    Parameters
    ----------
    condensed : Condensed
        Levels as functions of the amounts.
    amounts : ndarray, shape (supplements, phases)
        mL (or g) a day, as they can be set.
    z : float
        Quantile of the normal distribution kept from rises and ceilings (no unit).
    dead : float
        Dead band, a share of half a band (no unit).

    Returns
    -------
    ndarray, shape (supplements, phases)
        mL (or g) a day, in whole steps.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, use=0.3, aim=8.0, rise_per_day=0.5)
    >>> model = condense(PlanProblem((kh,), (SupplementToPlan("soda", {"alkalinity": 0.01}),), 9), (0, 2))
    >>> halved(model, np.array([[80.0, 30.0]]), 0.0, 0.0).round(6)
    array([[55., 30.]])
    """
    found = amounts.copy()
    most = amounts.max(axis=1)
    half = _settable(condensed, (amounts[:, 0] + amounts[:, -1]) / 2, most)
    less = np.minimum(half, amounts[:, 0])
    nothing = np.zeros_like(half)
    # In this order: half of it; at most that; falls let go, which is told; and what is true at any
    # level. A rise or a highest level is never let go.
    for first, least, with_falls, at_any_level in (
        (half, half, True, False),
        (less, nothing, True, False),
        (less, nothing, False, False),
        (less, nothing, False, True),
    ):
        found[:, 0] = first
        near = condensed.base if at_any_level else condensed.levels(condensed.scaled(found))
        rows = limit_rows(condensed, near, z)
        if not with_falls:
            rows = rows.where(np.array([tag[0] != "fall" for tag in rows.tags], dtype=bool))
        low = np.zeros_like(amounts)
        low[:, 0] = least
        answer = solve_near(
            condensed,
            rows,
            condensed.scaled(low),
            condensed.scaled(found),
            condensed.scaled(found),
            dead=dead,
        )
        if answer is not None:
            exact = condensed.amounts(answer)
            return np.column_stack([_settable(condensed, x, most) for x in exact.T])
    return found


HALVED = Message(
    "HALVED",
    "The last reading surprises, so only half of the first correction is given. Test again before the "
    "rest.",
    "qualified",
)


def _settable(condensed: Condensed, amounts: np.ndarray, most: np.ndarray) -> np.ndarray:
    """Return the nearest amounts below that can be set."""
    supplements = condensed.problem.supplements
    return np.array(
        [
            neighbours(one, float(x), float(top))[0]
            for one, x, top in zip(supplements, amounts, most, strict=True)
        ]
    ).reshape(len(supplements))
