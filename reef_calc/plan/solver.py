"""From a question to amounts that can be set: the plan that comes nearest to the aims."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.plan.binding_limits import binding_limits
from reef_calc.plan.condensed import Condensed, condense
from reef_calc.plan.halved import HALVED, halved
from reef_calc.plan.limit_rows import limit_rows
from reef_calc.plan.limit_words import days_text, short_number
from reef_calc.plan.nearness import first_days_inside, mean_distance
from reef_calc.plan.ordered_aims import DEAD_BAND
from reef_calc.plan.phases import (
    can_be_inside,
    corrections,
    days_to_aim,
    first_day_inside,
    highest_amounts,
)
from reef_calc.plan.problem import PlanProblem
from reef_calc.plan.recursion import levels_day_by_day
from reef_calc.plan.safety import ONE_SIDED_95
from reef_calc.plan.settable import coarse_steps, doses_a_day, settable
from reef_calc.plan.solved import Conflict, SolvedPlan
from reef_calc.plan.solver_messages import plan_messages
from reef_calc.plan.stands_in_way import find_conflict
from reef_calc.plan.within_limits import solve_within_limits

# More reasons than this help nobody at ten in the evening.
_MOST_CONFLICTS = 3


def solve_plan(
    problem: PlanProblem,
    *,
    phases: tuple[int, ...] | None = None,
    by_day: int | None = None,
    confidence_z: float = ONE_SIDED_95,
    dead: float = DEAD_BAND,
) -> SolvedPlan:
    """Return the amounts a day of each phase that come nearest to the aims within all limits.

    C(d+1) = (1 − f_d)·C(d) + f_d·C_new + Σ effect·amount − use. In this order: least mean distance
    beyond the dead band, least change of settings, least distance inside it, least salt left over;
    then whole steps, phase after phase, and the levels of the plain day-by-day loop.

    Parameters
    ----------
    problem : PlanProblem
        Levels, uses, supplements and limits.
    phases : tuple of int, optional
        First day of each phase, the first 0; the shortest correction when not given.
    by_day : int, optional
        Day from which the levels shall be inside their aims; the last of the plan when not given.
    confidence_z : float, optional
        Quantile of the normal distribution kept from rises and ceilings (no unit).
    dead : float, optional
        Share of half a band within which a level counts as on its aim (no unit).

    Returns
    -------
    SolvedPlan
        Amounts a day (mL or g as set), levels, limits reached, and what stands in the way.

    Raises
    ------
    InputError
        If phases, day, quantile or dead band cannot be used.
    CannotTellError
        If the numbers are too far apart to be solved.

    Notes
    -----
    Limits are never relaxed but for falls that use alone brings about; aims are wishes. Half a band is
    the scale of every distance, so a wide band is a weak wish.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, 0.3, low=7.0, aim=8.0, high=9.0, rise_per_day=0.5)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01})
    >>> plan = solve_plan(PlanProblem((kh,), (soda,), 10), dead=0.0)
    >>> plan.phases, plan.amounts.round(6), plan.in_band_from
    ((0, 2), array([[80., 30.]]), {'alkalinity': 0})
    """
    _check(problem, phases, by_day, confidence_z, dead)
    z = confidence_z
    wanted = [
        e
        for e, one in enumerate(problem.elements)
        if one.aim is not None and (one.low is not None or one.high is not None)
    ]
    start = condense(problem, (0,))
    days = [
        days_to_aim(problem, e, start.base[e], dead=dead, z=z) for e in range(len(problem.elements))
    ]
    known = [d for d in days if d is not None and d <= problem.days]
    lowest = min(max(known, default=0), problem.days)
    given = phases

    def phases_until(day: int) -> tuple[int, ...]:
        return given if given is not None else corrections(known, day, problem.days)

    able, inside_from = _reachable(problem, wanted, lowest, z, phases_until)
    phases = phases_until(inside_from)
    condensed = condense(problem, phases)
    rows, first, relaxed = solve_within_limits(condensed, able, max(inside_from, 1), z, dead)
    high = highest_amounts(condensed)
    exact = condensed.amounts(first.scaled)
    amounts, doses, notes = settable(condensed, rows, first, high, dead, relaxed)
    notes += coarse_steps(condensed, amounts, doses, exact)
    if problem.halve_first:
        whole, amounts = amounts, halved(condensed, amounts, z, dead)
        if not np.array_equal(whole, amounts):
            doses = doses_a_day(problem, amounts)
            notes = (HALVED, *notes)
    daily = np.repeat(amounts, condensed.lengths, axis=1)
    levels = levels_day_by_day(problem, daily)
    inside = first_days_inside(problem, levels)
    conflicts = _conflicts(
        condensed, condensed.levels(first.scaled), wanted, able, by_day, lowest, z, phases_until
    )
    notes = (
        *(Message("ALSO_IN_THE_WAY", one.words, "qualified") for one in conflicts[1:]),
        *_not_inside(problem, levels, inside, conflicts),
        *notes,
    )
    without_links = _without_links(problem, phases, able, inside_from, z, dead)
    return SolvedPlan(
        problem=problem,
        phases=phases,
        amounts=amounts,
        exact=exact,
        doses_a_day=doses,
        levels=levels,
        limits=binding_limits(condensed, rows, first, first.scaled, high),
        conflict=conflicts[0] if conflicts else None,
        in_band_from=inside,
        distance=mean_distance(problem, levels),
        messages=plan_messages(
            condensed,
            rows,
            amounts,
            levels,
            relaxed=relaxed,
            without_links=without_links,
            distance=mean_distance(problem, condensed.levels(first.scaled)),
            further=notes,
            unsure=z > 0.0,
        ),
    )


def _check(
    problem: PlanProblem,
    phases: tuple[int, ...] | None,
    by_day: int | None,
    z: float,
    dead: float,
) -> None:
    if phases is not None and not (
        len(phases) > 0
        and phases[0] == 0
        and all(a < b for a, b in itertools.pairwise(phases))
        and phases[-1] < problem.days
    ):
        raise InputError(
            f"rising first days from 0, below {problem.days}",
            phases,
            "Give (0, 3) or leave it out.",
        )
    if by_day is not None and not 1 <= by_day <= problem.days:
        raise InputError(f"a day from 1 to {problem.days}", by_day, "Choose a day of the plan.")
    unsure = [
        problem.u_volume,
        *(
            u
            for one in problem.elements
            for u in (one.u_start, one.u_use, one.u_day, one.u_new_water)
        ),
        *(one.u_effect for one in problem.supplements),
    ]
    for u in unsure:
        if not (math.isfinite(u) and u >= 0.0):
            raise InputError("uncertainties of 0 or more", u, "Correct the interval; 5 % is 0.05.")
    if not (0.0 <= z <= 6.0 and 0.0 <= dead < 1.0):
        raise InputError(
            "a quantile of 0 to 6 and a dead band below 1", (z, dead), "Take 1.645, 0.1."
        )


def _reachable(
    problem: PlanProblem,
    wanted: list[int],
    lowest: int,
    z: float,
    phases: Callable[[int], tuple[int, ...]],
) -> tuple[list[int], int]:
    """Return the elements that can be inside their aims together, and from which day."""
    horizon = problem.days
    day = first_day_inside(can_be_inside(problem, wanted, z, phases), lowest, horizon)
    if day is not None:
        return wanted, day
    able: list[int] = []
    # In the order of the elements: each that fits with those before it.
    for e in wanted:
        if can_be_inside(problem, [*able, e], z, phases)(horizon):
            able.append(e)
    if not able:
        return [], lowest
    day = first_day_inside(can_be_inside(problem, able, z, phases), lowest, horizon)
    return (able, day) if day is not None else ([], lowest)


def _conflicts(
    condensed: Condensed,
    reference: np.ndarray,
    wanted: list[int],
    able: list[int],
    by_day: int | None,
    lowest: int,
    z: float,
    phases: Callable[[int], tuple[int, ...]],
) -> tuple[Conflict, ...]:
    """Return why aims cannot be met, one conflict after the other."""
    problem = condensed.problem
    day = problem.days if by_day is None else by_day
    if by_day is None and len(able) == len(wanted):
        return ()
    # A boundary on that day: otherwise a phase that runs past it would stand in the way.
    boundaries = {0, *condensed.phases, *({day} if day < problem.days else ())}
    condensed = condense(problem, tuple(sorted(boundaries)))
    limits = limit_rows(condensed, reference, z)
    needed = None
    if by_day is not None and len(able) == len(wanted):
        ask = can_be_inside(problem, wanted, z, phases)
        if ask(day):
            return ()
        needed = first_day_inside(ask, max(lowest, day), problem.days)
    told: list[Conflict] = []
    relaxed: tuple[tuple[str, str], ...] = ()
    while len(told) < _MOST_CONFLICTS:
        found = find_conflict(condensed, limits, wanted, day, days_needed=needed, relaxed=relaxed)
        if found is None:
            break
        told.append(found)
        relaxed += tuple(
            (one.kind, one.name) for one in found.limits if one.kind in ("low", "high")
        )
    return tuple(told)


def _not_inside(
    problem: PlanProblem,
    levels: np.ndarray,
    inside: dict[str, int | None],
    conflicts: tuple[Conflict, ...],
) -> tuple[Message, ...]:
    """Return a sentence for each element that ends outside its aims and is in no conflict."""
    told = {limit.name for one in conflicts for limit in one.limits}
    found = []
    for e, one in enumerate(problem.elements):
        if one.name in inside and inside[one.name] is None and one.name not in told:
            text = (
                f"{one.name[0].upper()}{one.name[1:]} ends outside its aims, at "
                f"{short_number(float(levels[e, -1]))} {one.unit} after {days_text(problem.days)}."
            )
            found.append(Message("NOT_INSIDE", text, "qualified"))
    return tuple(found)


def _without_links(
    problem: PlanProblem,
    phases: tuple[int, ...],
    able: list[int],
    inside_from: int,
    z: float,
    dead: float,
) -> float | None:
    """Return the mean distance if linked supplements could be set one by one; None without links."""
    if not any(one.linked for one in problem.supplements):
        return None
    free = replace(
        problem, supplements=tuple(replace(one, linked={}) for one in problem.supplements)
    )
    condensed = condense(free, phases)
    _, answer, _ = solve_within_limits(condensed, able, max(inside_from, 1), z, dead)
    return mean_distance(free, condensed.levels(answer.scaled))
