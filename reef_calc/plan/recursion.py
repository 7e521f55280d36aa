"""Levels day by day: water change first, then use and doses."""

from __future__ import annotations

import numpy as np

from reef_calc.plan.problem import PlanProblem


def levels_day_by_day(problem: PlanProblem, daily: np.ndarray) -> np.ndarray:
    """Return the levels at the start of each day when these amounts are given.

    C(d+1) = (1 − f_d)·C(d) + f_d·C_new + Σ effect·amount − use

    Parameters
    ----------
    problem : PlanProblem
        Levels, uses, supplements and water changes.
    daily : ndarray, shape (supplements, days)
        Amount set on each day (mL or g).

    Returns
    -------
    ndarray, shape (elements, days + 1)
        Levels in each element's unit; the last column is the end of the last day.

    Notes
    -----
    Alkalinity that appears late is spread over two days so that its mean delay is ``lag_days``.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.36, aim=8.0)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.012})
    >>> levels_day_by_day(PlanProblem((kh,), (soda,), 3), np.full((1, 3), 30.0)).round(6)
    array([[8., 8., 8., 8.]])
    """
    share = problem.shares()
    given = _arrivals(problem, np.asarray(daily, dtype=float))
    use = np.array([e.use for e in problem.elements])
    new = np.array([e.new_water for e in problem.elements])
    levels = np.empty((len(problem.elements), problem.days + 1))
    levels[:, 0] = [e.start for e in problem.elements]
    for day in range(problem.days):
        f = share[day]
        levels[:, day + 1] = (1 - f) * levels[:, day] + f * new + given[:, day] - use
    return levels


def _arrivals(problem: PlanProblem, daily: np.ndarray) -> np.ndarray:
    """Return what reaches each element on each day, from the plan's doses and from earlier ones."""
    effects = problem.effects()
    given = effects @ daily
    names = [e.name for e in problem.elements]
    if "alkalinity" in names:
        row = names.index("alkalinity")
        given[row] = sum(
            (
                effects[row, j] * delayed(daily[j], one.lag_days)
                for j, one in enumerate(problem.supplements)
            ),
            np.zeros(problem.days),
        )
    for row, element in enumerate(problem.elements):
        early = np.array(element.arriving[: problem.days], dtype=float)
        given[row, : len(early)] += early
    return given


def delayed(amounts: np.ndarray, lag_days: float) -> np.ndarray:
    """Return amounts of each day as they arrive after a delay.

    Parameters
    ----------
    amounts : ndarray, shape (days,)
        Amounts given.
    lag_days : float
        Mean delay in days.

    Returns
    -------
    ndarray, shape (days,)
        What arrives on each day; what would arrive after the last day is left out.

    Examples
    --------
    >>> delayed(np.array([1.0, 1.0, 1.0]), 1.5)
    array([0. , 0.5, 1. ])
    """
    if lag_days <= 0.0:
        return amounts
    whole = int(lag_days)
    part = lag_days - whole
    found = np.zeros(len(amounts))
    for shift, weight in ((whole, 1.0 - part), (whole + 1, part)):
        if weight > 0.0 and shift < len(amounts):
            found[shift:] += weight * amounts[: len(amounts) - shift]
    return found


def responses(problem: PlanProblem, phases: tuple[int, ...], lag_days: float = 0.0) -> np.ndarray:
    """Return the response of a level to one unit a day given in each phase.

    g(d+1) = (1 − f_d)·g(d) + 1 while d lies in the phase.

    Parameters
    ----------
    problem : PlanProblem
        For days and water changes.
    phases : tuple of int
        First day of each phase, the first 0.
    lag_days : float, optional
        Mean delay in days.

    Returns
    -------
    ndarray, shape (phases, days + 1)
        Rise at the start of each day for one unit a day.

    Examples
    --------
    >>> responses(PlanProblem((), (), 3), (0, 2))
    array([[0., 1., 2., 2.],
           [0., 0., 0., 1.]])
    """
    share = problem.shares()
    found = np.zeros((len(phases), problem.days + 1))
    ends = (*phases[1:], problem.days)
    for p, (first, last) in enumerate(zip(phases, ends, strict=True)):
        inside = np.zeros(problem.days)
        inside[first:last] = 1.0
        arrive = delayed(inside, lag_days)
        for day in range(problem.days):
            found[p, day + 1] = (1 - share[day]) * found[p, day] + arrive[day]
    return found
