"""From a tank folder to the question a plan answers."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from reef_calc.chem.supplements import Supplement
from reef_calc.log.description import Water
from reef_calc.log.tank import Tank
from reef_calc.messages import Message
from reef_calc.numbers_in_words import with_interval
from reef_calc.plan.beginning import beginning, refused_rows
from reef_calc.plan.changes_ahead import changes_ahead, new_water_level
from reef_calc.plan.doses_set import DoseSetNow
from reef_calc.plan.followed import sorted_out, standing_of
from reef_calc.plan.left_alone import left_alone
from reef_calc.plan.limits import LevelLimits, held_aim, nearest_inside
from reef_calc.plan.problem import ElementToPlan, PlanProblem
from reef_calc.plan.recursion import delayed
from reef_calc.plan.salinity_ahead import salinity_ahead
from reef_calc.plan.starting_point import StartingPoint
from reef_calc.plan.supplements_of_tank import (
    allowed_names,
    effect_on,
    stopped_supplements,
    supplements_to_plan,
    usable_supplements,
)
from reef_calc.plan.surprise import surprise
from reef_calc.plan.wishes import PlanWishes


@dataclass(frozen=True)
class TankQuestion:
    """A plan's question with what it was made from.

    Attributes
    ----------
    problem : PlanProblem
        Levels, uses, supplements and limits.
    messages : tuple of Message
        What was taken, left out or refused, in order.
    start : datetime.date
        First day, in the tank's zone.
    at : pandas.Timestamp
        Its beginning (UTC).
    water : Water
        Water of the tank at the start.
    supplements : dict of str to Supplement
        Those the plan sets, in the order of ``problem.supplements``; last those that it stops.
    kept : dict of str to Supplement
        Those that stay as they are set, because nothing the plan follows tells how much is needed.
    now : dict of str to DoseSetNow
        What is set of each today.
    points : dict of str to StartingPoint
        Where each element stands.
    """

    problem: PlanProblem
    messages: tuple[Message, ...]
    start: dt.date
    at: pd.Timestamp
    water: Water
    supplements: dict[str, Supplement]
    kept: dict[str, Supplement]
    now: dict[str, DoseSetNow]
    points: dict[str, StartingPoint]


def plan_problem(
    tank: Tank,
    days: int = 30,
    start: str | dt.date | None = None,
    *,
    wishes: PlanWishes | None = None,
) -> tuple[PlanProblem, tuple[Message, ...]]:
    """Return the question that a plan for a tank answers, and what was taken for it.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    days : int, optional
        Length of the plan.
    start : str or datetime.date, optional
        First day; the day after the last reading when not given.
    wishes : PlanWishes, optional
        What differs from the folder.

    Returns
    -------
    PlanProblem
        Levels in the units of the aims.
    tuple of Message
        What was taken, left out or refused.

    Raises
    ------
    InputError
        For a day, a number of days or a wish that cannot be used.
    CannotTellError
        If the tank has no reading and no start is given.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> problem, told = plan_problem(example_tank(), 14)
    >>> [(e.name, e.unit, round(e.start, 2), e.rise_per_day) for e in problem.elements]
    [('alkalinity', 'dKH', 6.99, 0.5), ('salinity', 'PSU', 35.0, inf)]
    """
    found = tank_question(tank, days, start, wishes=wishes)
    return found.problem, found.messages


def tank_question(
    tank: Tank,
    days: int = 30,
    start: str | dt.date | None = None,
    *,
    wishes: PlanWishes | None = None,
) -> TankQuestion:
    """Return the question of a plan with everything it was made from.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    days : int, optional
        Length of the plan.
    start : str or datetime.date, optional
        First day; the day after the last reading when not given.
    wishes : PlanWishes, optional
        What differs from the folder.

    Returns
    -------
    TankQuestion
        As ``plan_problem``, with supplements, starting points and doses set now.

    Raises
    ------
    InputError
        For a day, a number of days or a wish that cannot be used.
    CannotTellError
        If the tank has no reading and no start is given.

    Notes
    -----
    Supplements whose elements are not planned stay as they are set: their doses go into the levels
    like doses that are still arriving, and the solver does not see them. An element inside its aims
    whose level cannot be told from the aim is held at its level, unless aims were typed for it.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> found = tank_question(example_tank(), 14)
    >>> found.start.isoformat(), found.now["part one"].amount
    ('2026-02-16', 60.0)
    """
    PlanProblem((), (), days)  # a span that cannot be used is refused before anything is worked out
    wishes = (wishes or PlanWishes()).by_own_names()
    messages: list[Message] = []
    first, at, began = beginning(tank, start)
    messages += began
    water = tank.water_at(at)
    every, now = usable_supplements(tank, at, wishes)
    allowed = allowed_names(every, now, wishes)
    messages += refused_rows(tank)
    standing = standing_of(tank, at, days, wishes)
    points, limits = standing.points, standing.limits
    followed, unraised = standing.followed([every[name] for name in allowed])
    exchanged, told = changes_ahead(tank, first, days, wishes.water_changes)
    new = {n: new_water_level(tank, n, p.unit, at, p.level).level for n, p in points.items()}
    alone, left = left_alone(points, limits, followed, wishes, first, exchanged, new)
    followed -= alone
    containers = sorted_out(every, allowed, now, followed)
    chosen, kept = containers.planned, containers.kept
    messages += [*standing.messages, *unraised, *left, *containers.messages]
    salinity, salt_told = salinity_ahead(tank, at, points, water, wishes)
    elements = [
        _element(
            tank,
            at,
            point,
            limits[name],
            name in followed,
            name in alone,
            name in wishes.aims,
            messages,
        )
        for name, point in points.items()
    ]
    elements.append(salinity)
    unknown = {name for name, point in points.items() if point.use is None}
    elements = [
        _with_kept(one, kept, every, now, water, days, one.name not in unknown) for one in elements
    ]
    units = {one.name: one.unit for one in elements}
    supplements, taken = supplements_to_plan(chosen, now, units, water, wishes, kept)
    supplements += stopped_supplements(containers.stopped, now, units, water)
    chosen = {**chosen, **containers.stopped}
    surprises = _surprises(tank, at, points, limits, followed, messages)
    problem = PlanProblem(
        tuple(elements),
        supplements,
        days,
        exchanged,
        u_volume=water.net_u_L / water.net_L,
        halve_first=surprises,
    )
    every_message = (*messages, *told, *salt_told, *taken)
    return TankQuestion(problem, every_message, first, at, water, chosen, kept, now, points)


def _element(
    tank: Tank,
    at: pd.Timestamp,
    point: StartingPoint,
    limits: LevelLimits,
    followed: bool,
    alone: bool,
    asked: bool,
    messages: list[Message],
) -> ElementToPlan:
    aim = limits.aim if followed else None
    if followed and not asked:
        aim, told = held_aim(point.name, point.unit, limits, point.level, point.u_level)
        if point.use_expected:
            aim, told = nearest_inside(point.name, point.unit, limits, point.level)
        messages += told
    new = new_water_level(tank, point.name, point.unit, at, point.level)
    if new.source == "unknown" and followed:
        words = (
            f"{point.name.capitalize()} of the new water is not known: the tank's own level, "
            f"{with_interval(point.level, point.level - 2 * new.u, point.level + 2 * new.u)} "
            f"{point.unit}, is taken. Test the new water once."
        )
        messages.append(Message("NEW_WATER_UNKNOWN", words))
    return ElementToPlan(
        point.name,
        point.unit,
        point.level,
        use=point.use or 0.0,
        new_water=new.level,
        low=limits.low if followed or alone else None,
        aim=aim,
        high=limits.high if followed or alone else None,
        rise_per_day=limits.rise_per_day,
        fall_per_day=limits.fall_per_day,
        ceiling=limits.ceiling if followed else None,
        u_start=point.u_level,
        u_use=point.u_use or 0.0,
        u_new_water=new.u,
        u_day=point.u_day,
        arriving=point.arriving,
        basis=point.basis,
        u_use_alone=point.u_use_alone,
    )


def _with_kept(
    one: ElementToPlan,
    kept: Mapping[str, Supplement],
    every: Mapping[str, Supplement],
    now: Mapping[str, DoseSetNow],
    water: Water,
    days: int,
    use_known: bool,
) -> ElementToPlan:
    """Return the element with what the kept doses bring, like doses that are still arriving.

    Where no use is known it is taken as what it gets today, anywhere from none to twice that.
    """
    brought, supply = np.zeros(days), 0.0
    brought[: len(one.arriving)] += one.arriving
    for name, supplement in every.items():
        effect, _ = effect_on(supplement, {one.name: one.unit}, water)
        daily = now[name].amount * effect.get(one.name, 0.0)
        supply += daily
        if name in kept:
            lag = supplement.lag_days if one.name == "alkalinity" else 0.0
            brought += delayed(np.full(days, daily), lag)
    with_doses = one
    if brought.any():
        with_doses = replace(one, arriving=tuple(float(x) for x in brought))
    if use_known or supply == 0.0:
        return with_doses
    return replace(with_doses, use=supply, u_use=supply / math.sqrt(3))


def _surprises(
    tank: Tank,
    at: pd.Timestamp,
    points: Mapping[str, StartingPoint],
    limits: Mapping[str, LevelLimits],
    followed: set[str],
    messages: list[Message],
) -> bool:
    """Return whether a followed element's last reading has to be confirmed first."""
    found = False
    for name, point in points.items():
        if name not in followed or point.estimate is None or not point.read:
            continue
        why = surprise(tank, point.estimate, at, limits[name].low, limits[name].high)
        if why:
            found = True
            words = (
                f"{name.capitalize()}: {why} Only half of the correction is given until a second "
                "test confirms it."
            )
            messages.append(Message("SURPRISE", words, "qualified"))
    return found
