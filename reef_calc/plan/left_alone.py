"""What a plan leaves alone: levels that nobody knows any more, and doses that nothing speaks against."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from reef_calc.balance.uncertainty import HALF_WIDTH
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed
from reef_calc.plan.limits import LevelLimits, held_aim
from reef_calc.plan.starting_point import StartingPoint
from reef_calc.plan.wishes import PlanWishes

# Nine tenths of a normal distribution lie below: a level this far from an end is called inside.
NINETY = 1.2816


def left_alone(
    points: Mapping[str, StartingPoint],
    limits: Mapping[str, LevelLimits],
    followed: set[str],
    wishes: PlanWishes,
    start: dt.date,
    exchanged: Sequence[float] = (),
    new_water: Mapping[str, float] | None = None,
) -> tuple[set[str], tuple[Message, ...]]:
    """Return the elements whose doses stay as they are set, and why.

    Left alone is a level whose 95 % interval is wider than the aims on both sides of it together,
    1.96·u > high − low; and one inside its aims, with a chance of less than 10 % to be outside either
    end or not to be told from its aim, that stays inside with the doses of today, while use and dose
    cannot be told from each other.

    Parameters
    ----------
    points : mapping of str to StartingPoint
        Level and use by element.
    limits : mapping of str to LevelLimits
        Aims of the same elements.
    followed : set of str
        Elements the plan could follow.
    wishes : PlanWishes
        Whoever types an aim, a use or a level wants it followed.
    start : datetime.date
        First day of the plan.
    exchanged : sequence of float, optional
        Share of the water changed on each day of the plan (no unit).
    new_water : mapping of str to float, optional
        Level of the new water by element, in its unit.

    Returns
    -------
    set of str
        Elements that are only shown, with their aims.
    tuple of Message
        ``LEVEL_NOT_KNOWN`` or ``NO_DIFFERENCE``, one for each.

    Notes
    -----
    A correction from a level that nobody knows can do harm in both directions. The monthly review
    leaves the same doses as they are.

    Examples
    --------
    See ``tests/plan/test_left_alone.py``.
    """
    found: set[str] = set()
    told: list[Message] = []
    for name, point in points.items():
        own = limits[name]
        if name not in followed or own.low is None or own.high is None or own.aim is None:
            continue
        half = HALF_WIDTH * point.u_level
        if point.read and half > own.high - own.low:
            found.add(name)
            told.append(_not_known(point, own, half, start))
        elif (
            not _asked(name, wishes)
            and _no_difference(point, own)
            and _stays_inside(point, own, exchanged, (new_water or {}).get(name, point.level))
        ):
            found.add(name)
            told.append(_leave(point))
    return found, tuple(told)


def _asked(name: str, wishes: PlanWishes) -> bool:
    return any(name in typed for typed in (wishes.aims, wishes.uses, wishes.levels))


def _no_difference(point: StartingPoint, limits: LevelLimits) -> bool:
    estimate = point.estimate
    if estimate is None or estimate.against_dose is None or not estimate.dose_now:
        return False
    if limits.low is None or limits.high is None:
        return False
    low, high = estimate.against_dose
    room = min(point.level - limits.low, limits.high - point.level)
    _, held = held_aim(point.name, point.unit, limits, point.level, point.u_level)
    inside = room >= NINETY * point.u_level or bool(held)
    return inside and low <= estimate.dose_now <= high


def _stays_inside(
    point: StartingPoint, limits: LevelLimits, exchanged: Sequence[float], new_water: float
) -> bool:
    dose = point.estimate.dose_now if point.estimate is not None else None
    level = point.level
    for share in exchanged:
        level = (1.0 - share) * level + share * new_water + (dose or 0.0) - (point.use or 0.0)
        if limits.low is None or limits.high is None or not limits.low <= level <= limits.high:
            return False
    return True


def _not_known(point: StartingPoint, limits: LevelLimits, half: float, start: dt.date) -> Message:
    decimals = max(decimals_for(half), 0)
    lowest = fixed(max(point.level - half, 0.0), decimals)
    text = (
        f"{point.name.capitalize()} is not planned: on {start.day} {start:%b %Y} it could lie anywhere "
        f"from {lowest} to {fixed(point.level + half, decimals)} {point.unit}, wider than its aims, "
        f"{limits.low:g} to {limits.high:g}. Test it first, or type the level. Its doses stay as they "
        "are set."
    )
    return Message("LEVEL_NOT_KNOWN", text, "refused")


def _leave(point: StartingPoint) -> Message:
    text = (
        f"{point.name.capitalize()}: its doses stay as they are set. The level lies inside its aims, and "
        "readings cannot tell the use from the dose. Type an aim to have it followed all the same."
    )
    return Message("NO_DIFFERENCE", text)
