"""Phases of a plan that turned out alike after rounding are one phase."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from reef_calc.plan.solved import SolvedPlan


def without_equal_phases(solved: SolvedPlan) -> SolvedPlan:
    """Return a plan in which every phase sets something else than the one before.

    Parameters
    ----------
    solved : SolvedPlan
        A plan.

    Returns
    -------
    SolvedPlan
        The same amounts on every day, in as few phases as they need.

    Notes
    -----
    Nobody is told to change a pump to what it gives already. ``exact`` is that of the first of the
    phases put together.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01})
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0)
    >>> amounts, levels = np.array([[30.0, 30.0, 57.0]]), np.full((1, 31), 8.0)
    >>> plan = SolvedPlan(PlanProblem((kh,), (soda,), 30), (0, 2, 3), amounts, amounts,
    ...                   np.array([[2, 2, 2]]), levels, (), None, {}, 0.0)
    >>> merged = without_equal_phases(plan)
    >>> merged.phases, merged.amounts.tolist()
    ((0, 3), [[30.0, 57.0]])
    """
    kept = [
        p
        for p in range(len(solved.phases))
        if p == 0
        or not np.array_equal(solved.amounts[:, p], solved.amounts[:, p - 1])
        or not np.array_equal(solved.doses_a_day[:, p], solved.doses_a_day[:, p - 1])
    ]
    if len(kept) == len(solved.phases):
        return solved
    return replace(
        solved,
        phases=tuple(solved.phases[p] for p in kept),
        amounts=solved.amounts[:, kept],
        exact=solved.exact[:, kept],
        doses_a_day=solved.doses_a_day[:, kept],
    )
