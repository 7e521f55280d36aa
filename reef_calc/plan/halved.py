"""Only half of the correction, where a reading surprises."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from reef_calc.messages import Message
from reef_calc.plan.condensed import Condensed, condense
from reef_calc.plan.limit_rows import LimitRows, limit_rows
from reef_calc.plan.ordered_aims import solve_in_order, solve_near
from reef_calc.plan.phases import highest_amounts, most_a_day
from reef_calc.plan.problem import ElementToPlan
from reef_calc.plan.rounding import neighbours

# In shares of a limit; the solver keeps its rows to 1e-7.
_NEARLY = 1e-7
# Of a day's amount: a smaller difference is rounding, not a correction.
_NO_CORRECTION = 1e-3


def halved(condensed: Condensed, amounts: np.ndarray, z: float, dead: float) -> np.ndarray:
    """Return the amounts that correct by half, all through the plan.

    amount = (planned + holding)/2, with the amounts that hold every level where it is: levels are
    straight in the amounts, so that they come to lie half way between the two as well.

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
        mL (or g) a day, in whole steps; ``amounts`` where they correct nothing.

    Notes
    -----
    A correction that is longer than the plan, or that has two phases, is halved in all of them: nothing
    of the other half is given before a new test.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, use=0.3, aim=8.0, rise_per_day=0.5)
    >>> model = condense(PlanProblem((kh,), (SupplementToPlan("soda", {"alkalinity": 0.01}),), 9), (0, 2))
    >>> halved(model, np.array([[80.0, 30.0]]), 0.0, 0.0).round(6)
    array([[55., 30.]])
    """
    wished = (amounts + _holding(condensed, amounts, z)) / 2
    tiny = _NO_CORRECTION * np.maximum(wished, amounts) + 1e-9
    below, above = _around(condensed, wished)
    if np.all(np.abs(wished - amounts) <= np.maximum(tiny, above - below)):
        return amounts
    rows = limit_rows(condensed, condensed.levels(condensed.scaled(wished)), z)
    nearest = np.where(above - wished < wished - below, above, below)
    for limits in (rows, _without_falls(rows)):
        for found in (nearest, below):
            if np.all(limits.matrix @ condensed.scaled(found) <= limits.most + _NEARLY):
                return found
    return _less(condensed, amounts, below, z, dead)


HALVED = Message(
    "HALVED",
    "The last reading surprises, so only half of the correction is given. Test again before the rest.",
    "qualified",
)


def _holding(condensed: Condensed, amounts: np.ndarray, z: float) -> np.ndarray:
    """Return the amounts a day that hold every planned level where it is, within all limits."""
    problem = condensed.problem
    held = replace(problem, elements=tuple(_held(one) for one in problem.elements))
    rows = limit_rows(condensed, condensed.levels(condensed.scaled(amounts)), z)
    high = highest_amounts(condensed)
    still = condense(held, condensed.phases)
    for limits in (rows, _without_falls(rows)):
        answer = solve_in_order(still, limits, np.zeros_like(high), high, dead=0.0)
        if answer is not None:
            return still.amounts(answer.scaled)
    return np.zeros_like(amounts)


def _held(one: ElementToPlan) -> ElementToPlan:
    """Return the element with its level as its aim, and the same scales; limits come as rows."""
    if one.aim is None:
        return one
    banded = one.low is not None and one.high is not None and one.high > one.low
    low, high = (one.start - one.half, one.start + one.half) if banded else (None, None)
    top = None if one.ceiling is None else max(one.ceiling, one.start + one.half)
    return replace(one, low=low, aim=one.start, high=high, ceiling=top)


def _without_falls(rows: LimitRows) -> LimitRows:
    return rows.where(np.array([tag[0] != "fall" for tag in rows.tags], dtype=bool))


def _around(condensed: Condensed, amounts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the amounts below and above that can be set."""
    found = np.array(
        [
            [neighbours(one, float(x), most_a_day(one)) for x in row]
            for one, row in zip(condensed.problem.supplements, amounts, strict=True)
        ]
    ).reshape(*amounts.shape, 2)
    return found[..., 0], found[..., 1]


def _less(
    condensed: Condensed, amounts: np.ndarray, half: np.ndarray, z: float, dead: float
) -> np.ndarray:
    """Return amounts of at most the half that keep every limit but falls.

    The lower level may let a water change lift it too fast: then less is given, first with what is
    true at levels near those of the plan, then with what is true at any level.
    """
    most = np.minimum(half, amounts)
    for near in (condensed.levels(condensed.scaled(most)), condensed.base):
        rows = _without_falls(limit_rows(condensed, near, z))
        top = condensed.scaled(most)
        answer = solve_near(condensed, rows, np.zeros_like(top), top, top, dead=dead)
        if answer is not None:
            return _around(condensed, condensed.amounts(answer))[0]
    return np.zeros_like(amounts)
