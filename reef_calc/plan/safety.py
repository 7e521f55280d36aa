"""Room kept below the limits that protect the animals, because use, strength and volume are unsure."""

from __future__ import annotations

from typing import Any

import numpy as np

from reef_calc.plan.problem import PlanProblem

# 95 % on one side: of twenty plans one may pass a limit somewhere.
ONE_SIDED_95 = 1.6449
# The spread of a forecast grows without bound, and a test ends it: what may gather between two tests
# counts against a highest level, not what may gather in months (common practice, no source).
DAYS_BETWEEN_TESTS = 7


def most_added(room: Any, relative: Any, spread: Any, z: float = ONE_SIDED_95) -> np.ndarray:
    """Return the most that may be added so that a limit holds with a stated confidence.

    The root of y + z·√((q·y)² + s²) = room, from (1 − z²q²)·y² − 2·room·y + room² − z²s² = 0;
    0 where even nothing would pass it.

    Parameters
    ----------
    room : float or ndarray
        Rise that would reach the limit, unit of the level.
    relative : float or ndarray
        q, relative standard uncertainty of what is added (no unit).
    spread : float or ndarray
        s, standard uncertainty of all the rest, unit of the level.
    z : float, optional
        Quantile of the normal distribution (no unit).

    Returns
    -------
    ndarray
        Rise that may be planned, unit of the level.

    Notes
    -----
    Written so that nothing cancels: y = K / (room + z·√(q²K + s²)) with K = room² − z²s².

    Examples
    --------
    >>> float(most_added(0.5 + 0.45, 0.03 * 2**0.5, 0.17 * 0.45).round(6))
    0.811994

    References
    ----------
    Chance constraint on a normal sum: Charnes & Cooper (1959), Management Science 6, 73 (MEMORY).
    """
    room, relative, spread = np.broadcast_arrays(
        np.asarray(room, dtype=float), np.asarray(relative), np.asarray(spread)
    )
    left = np.maximum(room, 0.0) ** 2 - (z * spread) ** 2
    possible = (room > 0.0) & (left > 0.0)
    kept = np.where(possible, left, 0.0)
    below = room + z * np.sqrt(relative**2 * kept + spread**2)
    return np.where(possible, kept / np.where(possible, below, 1.0), 0.0)


def most_given(
    problem: PlanProblem, row: int, room: Any, share: Any, z: float = ONE_SIDED_95
) -> np.ndarray:
    """Return the most that may be dosed of one element in a day so that its rise keeps the limit.

    Where the use was told under the doses of today, S, an error of pump, strength or volume moves
    both alike, and only the difference to today is unsure: the root of
    Δ + z·√((q·Δ)² + s²) = room − S, then S + Δ. Elsewhere ``most_added``.

    Parameters
    ----------
    problem : PlanProblem
        Uses, supplements and what is set now.
    row : int
        Index of the element.
    room : float or ndarray
        Dose of a day that would reach the limit if all were known, unit of the level.
    share : float or ndarray
        Share of the water changed on that day (no unit).
    z : float, optional
        Quantile of the normal distribution (no unit).

    Returns
    -------
    ndarray
        Rise by doses that may be planned, unit of the level.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=5.0, u_use=0.3, u_use_alone=0.05)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, u_effect=0.06, set_now=500.0)
    >>> float(most_given(PlanProblem((kh,), (soda,), 1), 0, 5.5, 0.0).round(3))
    5.409
    """
    one = problem.elements[row]
    q = relative_of_doses(problem, row)
    rest = one.u_day**2 + (np.asarray(share, dtype=float) * one.u_new_water) ** 2
    if one.u_use_alone is None or z * q >= 1.0:
        return most_added(room, q, np.sqrt(one.u_use**2 + rest), z)
    supply = sum(s.effect.get(one.name, 0.0) * s.set_now for s in problem.supplements)
    more = np.asarray(room, dtype=float) - supply
    left = 1.0 - (z * q) ** 2
    change = (more - z * np.sqrt((q * more) ** 2 + (one.u_use_alone**2 + rest) * left)) / left
    return np.maximum(supply + change, 0.0)


def relative_of_doses(problem: PlanProblem, row: int) -> float:
    """Return the relative standard uncertainty of what doses bring of one element.

    √(q² + q_V²) with q of the least certain supplement that raises it and may be given: never too small
    for a mixture, and exact for one.

    Parameters
    ----------
    problem : PlanProblem
        Supplements and volume.
    row : int
        Index of the element.

    Returns
    -------
    float
        Relative standard uncertainty (no unit).

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, u_effect=0.03)
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0)
    >>> round(relative_of_doses(PlanProblem((kh,), (soda,), 1, u_volume=0.04), 0), 6)
    0.05
    """
    name = problem.elements[row].name
    least = max(
        (
            one.u_effect
            for one in problem.supplements
            if one.effect.get(name, 0.0) > 0.0 and one.most_per_day > 0.0
        ),
        default=0.0,
    )
    return float(np.hypot(least, problem.u_volume))


def spread_of_a_day(problem: PlanProblem, row: int) -> np.ndarray:
    """Return the standard uncertainty of the change of a level in a day without doses.

    √(u_use² + u_day² + (f·u_new)²)

    Parameters
    ----------
    problem : PlanProblem
        Uses and water changes.
    row : int
        Index of the element.

    Returns
    -------
    ndarray, shape (days,)
        Unit of the level per day.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, u_use=0.03, u_day=0.04)
    >>> spread_of_a_day(PlanProblem((kh,), (), 1), 0)
    array([0.05])
    """
    one = problem.elements[row]
    return np.sqrt(one.u_use**2 + one.u_day**2 + (problem.shares() * one.u_new_water) ** 2)


def spread_of_level(problem: PlanProblem, row: int, days: np.ndarray) -> np.ndarray:
    """Return the standard uncertainty of a level without doses, as it grows between two tests.

    √(u_start² + (n·u_use)² + n·u_day²), n days since a test, at most ``DAYS_BETWEEN_TESTS``.

    Parameters
    ----------
    problem : PlanProblem
        Levels and uses.
    row : int
        Index of the element.
    days : ndarray of int
        Days of the plan.

    Returns
    -------
    ndarray
        Unit of the level.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, u_start=0.3, u_use=0.1)
    >>> spread_of_level(PlanProblem((kh,), (), 9), 0, np.array([0, 4, 7, 9])).round(3)
    array([0.3 , 0.5 , 0.762, 0.762])
    """
    one = problem.elements[row]
    n = np.minimum(days, DAYS_BETWEEN_TESTS)
    return np.sqrt(one.u_start**2 + (n * one.u_use) ** 2 + n * one.u_day**2)
