"""What a plan leaves alone: levels that nobody knows any more, and doses that nothing speaks against."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from reef_calc.balance.uncertainty import HALF_WIDTH
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed
from reef_calc.plan.limits import LevelLimits, held_aim
from reef_calc.plan.starting_point import StartingPoint
from reef_calc.plan.wishes import PlanWishes


def left_alone(
    points: Mapping[str, StartingPoint],
    limits: Mapping[str, LevelLimits],
    followed: set[str],
    wishes: PlanWishes,
    start: dt.date,
) -> tuple[set[str], tuple[Message, ...]]:
    """Return the elements whose doses stay as they are set, and why.

    Left alone is a level whose 95 % interval is wider than the aims on both sides of it together,
    1.96·u > high − low; and one that cannot be told from its aim while use and dose cannot be told
    from each other either.

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
        elif not _asked(name, wishes) and _no_difference(point, own):
            found.add(name)
            told.append(_leave(point))
    return found, tuple(told)


def _asked(name: str, wishes: PlanWishes) -> bool:
    return any(name in typed for typed in (wishes.aims, wishes.uses, wishes.levels))


def _no_difference(point: StartingPoint, limits: LevelLimits) -> bool:
    estimate = point.estimate
    if estimate is None or estimate.against_dose is None or not estimate.dose_now:
        return False
    _, held = held_aim(point.name, point.unit, limits, point.level, point.u_level)
    low, high = estimate.against_dose
    return bool(held) and low <= estimate.dose_now <= high


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
        f"{point.name.capitalize()}: its doses stay as they are set. Readings cannot tell the level "
        "from its aim, nor the use from the dose. Type an aim to have it followed all the same."
    )
    return Message("NO_DIFFERENCE", text)
