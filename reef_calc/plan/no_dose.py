"""Aims that no dose can meet: too high with nothing that lowers, too low with nothing that raises."""

from __future__ import annotations

import math

import numpy as np

from reef_calc.plan.condensed import Condensed
from reef_calc.plan.limit_words import (
    days_text,
    limit_in_words,
    rounded_up,
    short_number,
)
from reef_calc.plan.problem import ElementToPlan
from reef_calc.plan.solved import Conflict, Limit

# Beyond this a waiting time is no advice.
_LONGEST_WAIT = 366
# A larger share at once is a shock of its own (common practice, no source).
_LARGEST_CHANGE = 0.5


def no_dose_can(condensed: Condensed, row: int, by_day: int) -> Conflict | None:
    """Return why no dose brings one element inside its aims from a day on.

    Parameters
    ----------
    condensed : Condensed
        Levels without doses, and what doses do.
    row : int
        Index of the element.
    by_day : int
        From this day on.

    Returns
    -------
    Conflict or None
        None where some dose could.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.problem import PlanProblem
    >>> ca = ElementToPlan("calcium", "mg/L", 475.0, 2.5, low=380.0, aim=410.0, high=440.0)
    >>> no_dose_can(condense(PlanProblem((ca,), (), 5), (0,)), 0, 5).words
    'No dose can do this: calcium would still be 462 mg/L after 5 days, and nothing in this plan lowers
    it. Only time or a water change does: by use alone it reaches 440 mg/L after about 14 days.'
    """
    one = condensed.problem.elements[row]
    tail = condensed.base[row, by_day:]
    moves = condensed.per_amount[row, by_day:]
    tiny = 1e-9 * one.half
    if one.high is not None and not np.any(moves < 0.0) and np.any(tail > one.high + tiny):
        worst = int(np.argmax(tail))
        words = (
            f"No dose can do this: {one.name} would {_still(one, float(tail[worst]))} after "
            f"{days_text(by_day + worst)}, and nothing in this plan lowers it. "
        )
        offers = _ways_down(condensed, row, by_day)
        if offers:
            words += f"Only time or a water change does: {'; '.join(offers)}."
        else:
            words += _what_keeps_it_up(condensed, row)
        return _conflict(condensed, "high", one.name, offers, words)
    if one.low is not None and not np.any(moves > 0.0) and np.any(tail < one.low - tiny):
        worst = int(np.argmin(tail))
        offers = (f"add something that raises {one.name} to the plan",)
        words = (
            f"No dose can do this: {one.name} would be {short_number(float(tail[worst]))} {one.unit} after "
            f"{days_text(by_day + worst)}, and nothing in this plan raises it. "
            f"{offers[0][0].upper()}{offers[0][1:]}{_by_change(one)}."
        )
        return _conflict(condensed, "low", one.name, offers, words)
    return None


def _conflict(
    condensed: Condensed, kind: str, name: str, offers: tuple[str, ...], words: str
) -> Conflict:
    limit = Limit(kind, name, limit_in_words(condensed.problem, kind, name), True)
    return Conflict((limit,), offers, words)


def _still(one: ElementToPlan, level: float) -> str:
    verb = "still be" if one.high is not None and one.start > one.high else "be"
    return f"{verb} {short_number(level)} {one.unit}"


def _net_use(one: ElementToPlan, days: int) -> float:
    """Return what is used a day beyond what goes on arriving from outside the plan."""
    return one.use - (one.arriving[days - 1] if len(one.arriving) >= days else 0.0)


def _brought_by_changes(condensed: Condensed, row: int) -> bool:
    one = condensed.problem.elements[row]
    return one.new_water > float(one.high or 0.0) and bool(np.any(condensed.problem.shares() > 0))


def _ways_down(condensed: Condensed, row: int, by_day: int) -> tuple[str, ...]:
    one = condensed.problem.elements[row]
    high = float(one.high or 0.0)
    edge = f"{short_number(high)} {one.unit}"
    use = _net_use(one, condensed.problem.days)
    found = []
    # Use alone is no way down where water changes bring the element in all the while.
    if one.start > high and use > 0.0 and not _brought_by_changes(condensed, row):
        days = math.ceil((one.start - high) / use - 1e-9)
        if by_day < days <= _LONGEST_WAIT:
            found.append(f"by use alone it reaches {edge} after about {days_text(days)}")
    if one.start > high > one.new_water and one.new_water > 0.0:
        share = (one.start - high) / (one.start - one.new_water)
        if share <= _LARGEST_CHANGE:
            percent = short_number(rounded_up(100 * share))
            found.append(f"{percent} % of the water changed brings it to {edge} at once")
    return tuple(found)


def _what_keeps_it_up(condensed: Condensed, row: int) -> str:
    one = condensed.problem.elements[row]
    if _brought_by_changes(condensed, row):
        new = f"{short_number(one.new_water)} {one.unit}"
        return f"The water changes bring it in: the new water holds {new}."
    if one.use <= 0.0:
        return "It does not fall by itself either: look for what brings it in."
    if _net_use(one, condensed.problem.days) <= 0.0:
        return "What stays set brings as much as is used, or more: set that lower, or stop it."
    return f"Only time does: use takes {short_number(one.use)} {one.unit} a day."


def _by_change(one: ElementToPlan) -> str:
    low = float(one.low or 0.0)
    if one.new_water > max(low, one.start):
        return f", or change water: the new water holds {short_number(one.new_water)} {one.unit}"
    return ""
