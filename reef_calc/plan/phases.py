"""Phases of a plan: the shortest correction that the limits allow, then one amount to hold."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from reef_calc.plan.condensed import Condensed, condense
from reef_calc.plan.limit_rows import LimitRows, band_rows, limit_rows
from reef_calc.plan.linear import feasible
from reef_calc.plan.links import links_between
from reef_calc.plan.ordered_aims import DEAD_BAND
from reef_calc.plan.problem import PlanProblem, SupplementToPlan
from reef_calc.plan.safety import most_given

# More phases only let the plan chase each water change, by less than a test kit can see.
# Where two corrections follow each other, a pump is not set again after a single day.
SHORTEST_OF_TWO = 2


def days_to_aim(
    problem: PlanProblem, row: int, base: np.ndarray, *, dead: float = DEAD_BAND, z: float = 0.0
) -> int | None:
    """Return the fewest days in which one element can come to its aim.

    Upwards D = ⌈(aim − C0 − dead·half) / largest rise⌉; downwards the first day on which the level
    without doses has fallen so far, for no dose makes it fall faster.

    Parameters
    ----------
    problem : PlanProblem
        Levels, uses and limits.
    row : int
        Index of the element.
    base : ndarray, shape (days + 1,)
        Its levels without doses.
    dead : float, optional
        Dead band, a share of half a band (no unit).
    z : float, optional
        Quantile of the normal distribution kept from the rise (no unit).

    Returns
    -------
    int or None
        Days; 0 where it is there, None where it does not fall so far within the plan.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, aim=8.0, rise_per_day=0.4)
    >>> days_to_aim(PlanProblem((kh,), (), 10), 0, np.full(11, 7.0), dead=0.0)
    3
    """
    one = problem.elements[row]
    if one.aim is None:
        return 0
    reach = dead * one.half
    gap = abs(one.aim - one.start) - reach
    if gap <= 1e-9 * one.half:
        return 0
    if one.start > one.aim:
        if np.any(problem.effects()[row] < 0.0):
            return int(np.clip(np.ceil(gap / one.fall_per_day - 1e-9), 1, problem.days))
        low = np.flatnonzero(base <= one.aim + reach + 1e-9 * one.half)
        return int(low[0]) if len(low) else None
    # Net rise left when use and doses are as unsure as they are.
    used = max(one.use, 0.0)
    rise = float(most_given(problem, row, one.rise_per_day + used, problem.shares()[0], z)) - used
    if not np.isfinite(one.rise_per_day):
        return 1
    return int(np.ceil(gap / rise - 1e-9)) if rise > 0.0 else None


def corrections(days: list[int], last: int, horizon: int) -> tuple[int, ...]:
    """Return the first day of each phase from the days in which each element comes to its aim.

    Parameters
    ----------
    days : list of int
        Fewest days of each element.
    last : int
        Day from which all of them can be held inside their aims.
    horizon : int
        Length of the plan (days).

    Returns
    -------
    tuple of int
        At most two corrections, then one phase to hold.

    Examples
    --------
    >>> corrections([2, 5, 5, 0], 5, 30), corrections([1, 4], 4, 30), corrections([0], 0, 30)
    ((0, 2, 5), (0, 4), (0,))
    """
    longest = max(days, default=0)
    ends = {max(last, longest)}
    # An element waits for the next boundary: the one that spares most waiting is taken. Where all of
    # them take longer than their limits alone would ask for, that is the day of the longest.
    if last > longest:
        ends.add(longest)
    else:
        earlier = sorted(d for d in days if SHORTEST_OF_TWO <= d <= longest - SHORTEST_OF_TWO)
        if earlier:
            ends.add(
                min(
                    earlier, key=lambda cut: sum((longest if d > cut else cut) - d for d in earlier)
                )
            )
    return (0, *sorted(d for d in ends if 0 < d < horizon))


def highest_amounts(condensed: Condensed) -> np.ndarray:
    """Return the largest scaled amounts a day: pump, chemistry or user, and the single doses.

    Parameters
    ----------
    condensed : Condensed
        For sizes and phases.

    Returns
    -------
    ndarray, shape (supplements·phases,)
        Scaled amounts; 0 for a supplement that moves nothing that is planned.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, aim=8.0, rise_per_day=0.5)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, most_per_dose=25.0, most_doses=2)
    >>> highest_amounts(condense(PlanProblem((kh,), (soda,), 5), (0,)))
    array([1.])
    """
    found = np.array(
        [
            size * most_a_day(one) if size > 0.0 else 0.0
            for one, size in zip(condensed.problem.supplements, condensed.size, strict=True)
        ]
    )
    return np.repeat(found, len(condensed.phases))


def most_a_day(supplement: SupplementToPlan) -> float:
    """Return the largest amount a day, with the single doses counted.

    Parameters
    ----------
    supplement : SupplementToPlan
        Its limits.

    Returns
    -------
    float
        mL (or g) a day.

    Examples
    --------
    >>> from reef_calc.plan.problem import SupplementToPlan
    >>> most_a_day(SupplementToPlan("soda", {"alkalinity": 0.01}, most_per_dose=25.0, most_doses=2))
    50.0
    """
    return min(supplement.most_per_day, supplement.most_doses * supplement.most_per_dose)


def can_be_inside(
    problem: PlanProblem, rows: list[int], z: float, phases: Callable[[int], tuple[int, ...]]
) -> Callable[[int], bool]:
    """Return what answers whether these elements can be inside their aims from a day on.

    Parameters
    ----------
    problem : PlanProblem
        The question.
    rows : list of int
        Index of each element.
    z : float
        Quantile of the normal distribution kept from the limits (no unit).
    phases : callable
        Takes the day, gives the first day of each phase of such a plan.

    Returns
    -------
    callable
        Takes the day, says whether it can be done.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, 0.3, low=8.9, aim=9.0, high=9.1, rise_per_day=0.5)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01})
    >>> inside = can_be_inside(PlanProblem((kh,), (soda,), 10), [0], 0.0, lambda day: (0, day))
    >>> inside(3), inside(4)
    (False, True)
    """

    def ask(day: int) -> bool:
        condensed = condense(problem, phases(day))
        band = band_rows(condensed, rows, max(day, 1))
        guesses = [first_reference(condensed)]
        # Guessed levels may leave too little room on a day of a large change; those without doses
        # always leave some.
        if np.any(problem.shares() > 0):
            guesses.append(condensed.base)
        return any(
            rows_feasible(condensed, limit_rows(condensed, near, z).and_also(band))
            for near in guesses
        )

    return ask


def rows_feasible(condensed: Condensed, rows: LimitRows) -> bool:
    """Return whether some amounts keep every row, the largest amounts and the links.

    Parameters
    ----------
    condensed : Condensed
        Levels as functions of the amounts.
    rows : LimitRows
        Limits.

    Returns
    -------
    bool
        Whether there is a plan.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, aim=8.0, rise_per_day=0.5)
    >>> model = condense(PlanProblem((kh,), (SupplementToPlan("soda", {"alkalinity": 0.01}),), 5), (0,))
    >>> rows_feasible(model, limit_rows(model, model.base, 0.0))
    True
    """
    high = highest_amounts(condensed)
    equal = links_between(condensed)
    return feasible(
        rows.matrix, rows.most, np.zeros(len(high)), high, equal if len(equal) else None
    )


def first_reference(condensed: Condensed) -> np.ndarray:
    """Return levels near those of a good plan: up to the aim at the largest rise, then held.

    Parameters
    ----------
    condensed : Condensed
        Levels without doses.

    Returns
    -------
    ndarray, shape (elements, days + 1)
        Levels in each element's unit.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, use=0.3, aim=8.0, rise_per_day=0.5)
    >>> model = condense(PlanProblem((kh,), (SupplementToPlan("soda", {"alkalinity": 0.01}),), 3), (0,))
    >>> first_reference(model)
    array([[7. , 7.5, 8. , 8. ]])
    """
    problem = condensed.problem
    found = condensed.base.copy()
    days = np.arange(problem.days + 1)
    for e, one in enumerate(problem.elements):
        if one.aim is None or not np.any(condensed.per_amount[e] > 0.0):
            continue
        rise = one.rise_per_day if np.isfinite(one.rise_per_day) else 2 * one.half
        found[e] = np.maximum(found[e], np.minimum(one.aim, one.start + rise * days))
    return found


def first_day_inside(ask: Callable[[int], bool], lowest: int, horizon: int) -> int | None:
    """Return the first day from which a plan can stay inside all aims.

    Steps of 1, 2, 4 … upwards, then halving back.

    Parameters
    ----------
    ask : callable
        Whether a day is possible.
    lowest : int
        No earlier day is possible.
    horizon : int
        Last day.

    Returns
    -------
    int or None
        Day; None where even the last day is not possible.

    Examples
    --------
    >>> first_day_inside(lambda day: day >= 7, 2, 30), first_day_inside(lambda day: False, 2, 30)
    (7, None)
    """
    lowest = min(lowest, horizon)
    if ask(lowest):
        return lowest
    if lowest == horizon or not ask(horizon):
        return None
    bad, step = lowest, 1
    while bad + step < horizon and not ask(bad + step):
        bad, step = bad + step, 2 * step
    good = min(bad + step, horizon)
    while good - bad > 1:
        middle = (good + bad) // 2
        if ask(middle):
            good = middle
        else:
            bad = middle
    return good
