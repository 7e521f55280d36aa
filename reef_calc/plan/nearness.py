"""How far levels are from their aims, and from when on they stay inside."""

from __future__ import annotations

import numpy as np

from reef_calc.plan.problem import PlanProblem


def mean_distance(problem: PlanProblem, levels: np.ndarray) -> float:
    """Return the mean distance of levels from their aims over the days and elements.

    Parameters
    ----------
    problem : PlanProblem
        Aims.
    levels : ndarray, shape (elements, days + 1)
        Levels, each in its unit.

    Returns
    -------
    float
        In halves of the aim band (no unit); 0 where nothing has an aim.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, low=7.5, aim=8.0, high=8.5)
    >>> mean_distance(PlanProblem((kh,), (), 2), np.array([[7.0, 7.5, 8.0]]))
    0.5
    """
    off = [
        np.abs(levels[e, 1:] - one.aim) / one.half
        for e, one in enumerate(problem.elements)
        if one.aim is not None
    ]
    return float(np.mean(off)) if off else 0.0


def first_days_inside(problem: PlanProblem, levels: np.ndarray) -> dict[str, int | None]:
    """Return the first day from which each level stays inside its aims.

    Parameters
    ----------
    problem : PlanProblem
        Aims.
    levels : ndarray, shape (elements, days + 1)
        Levels, each in its unit.

    Returns
    -------
    dict of str to (int or None)
        Days; None where the level is outside at the end. Elements with an aim and a band.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, low=7.5, aim=8.0, high=8.5)
    >>> first_days_inside(PlanProblem((kh,), (), 2), np.array([[7.0, 7.5, 8.0]]))
    {'alkalinity': 1}
    """
    found: dict[str, int | None] = {}
    for e, one in enumerate(problem.elements):
        if one.aim is None or (one.low is None and one.high is None):
            continue
        low = one.low if one.low is not None else -np.inf
        high = one.high if one.high is not None else np.inf
        near = 1e-6 * one.half
        outside = np.flatnonzero((levels[e] < low - near) | (levels[e] > high + near))
        first = int(outside[-1]) + 1 if len(outside) else 0
        found[one.name] = first if first <= problem.days else None
    return found
