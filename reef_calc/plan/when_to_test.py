"""The day to test next: when a level may have left its aims, and when a reading tells most."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

import numpy as np

from reef_calc.errors import CannotTellError, InputError
from reef_calc.numbers_in_words import decimals_for, fixed, level_text
from reef_calc.plan.decision import TRACE_DAYS, USUAL_TEST_DAYS
from reef_calc.plan.forecast import Forecast

# The chance of being outside the aims that asks for a test, and how many times its own scatter a
# kit's reading must resolve to tell much (both common practice, no source).
CHANCE = 0.10
SHARP = 2.0


@dataclass(frozen=True)
class NextTest:
    """When to test an element next.

    Attributes
    ----------
    element : str
        Element.
    day : int
        Day to test, counted from the start of the plan; 0 means before it starts.
    chance_on_day : float
        Probability that the level lies outside its aims on that day (no unit).
    leaves_on : int or None
        First day on which that probability passes a tenth; None if it never does.
    then_on : int or None
        Where ``day`` is 0: the day to test after that.
    tells_most_from : int or None
        First day whose forecast is twice as wide as the kit scatters; None if there is none, or
        nothing is known of the kit.
    usual_days : float
        Usual number of days between tests of this element.
    words : str
        All of this in words.
    """

    element: str
    day: int
    chance_on_day: float
    leaves_on: int | None
    then_on: int | None
    tells_most_from: int | None
    usual_days: float
    words: str


def when_to_test(
    forecast: Forecast, element: str, *, kit_sd: float | None = None, start: dt.date | None = None
) -> NextTest:
    """Return the day to test an element next, in words.

    The first day on which the chance of being outside the aims passes 10 %; if it never does, the
    usual interval or the last day of the plan, whichever comes first.

    Parameters
    ----------
    forecast : Forecast
        Where the plan leads.
    element : str
        Element with aims.
    kit_sd : float, optional
        Repeatability of the kit as a standard deviation, element's unit.
    start : datetime.date, optional
        Date of the first day, for the words.

    Returns
    -------
    NextTest
        The day and why.

    Raises
    ------
    CannotTellError
        If the element has no aims to leave.
    InputError
        If the plan does not hold the element, or the kit's scatter is not above 0.

    Notes
    -----
    What no forecast holds, a stopped pump or a dying coral, shows only in a test: where the usual
    interval is shorter, the words say so. Usual intervals are *common practice, no source*.

    Examples
    --------
    >>> from reef_calc.plan.forecast import forecast_if_nothing_changes
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=1.0, low=7.5, aim=8.0, high=8.5,
    ...     u_start=0.1, u_use=0.08)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, set_now=100.0)
    >>> ahead = forecast_if_nothing_changes(PlanProblem((kh,), (soda,), 30))
    >>> when_to_test(ahead, "alkalinity", kit_sd=0.15).words
    'Test alkalinity in 4 days: 8.0 dKH (7.3 to 8.7) is expected then, and the chance that it lies
    outside its aims, 7.5 to 8.5 dKH, has grown to 14 %. Every 3 days is usual: only a test shows a
    stopped pump, an empty container or a coral in trouble.'

    References
    ----------
    *Common practice, no source.*
    """
    row = forecast.problem.element(element)
    one = forecast.problem.elements[row]
    chance = forecast.outside[row]
    if one.low is None and one.high is None:
        raise CannotTellError(
            f"{element.capitalize()} has no aims, so there is no day on which it leaves them. Write "
            f"low and high under [aim.{element}] in tank.toml."
        )
    if kit_sd is not None and not 0.0 < kit_sd < math.inf:
        raise InputError(
            f"a scatter above 0 {one.unit}", kit_sd, "Leave it out if it is not known.", element
        )
    last = forecast.problem.days
    usual = USUAL_TEST_DAYS.get(element, TRACE_DAYS)
    leaves_on = _first(chance > CHANCE)
    told = _first(forecast.sd[row] >= SHARP * kit_sd) if kit_sd is not None else None
    day = leaves_on if leaves_on is not None else min(last, math.ceil(usual))
    then_on = None
    if day <= 1 and leaves_on is not None:
        day = 0
        then_on = _after_the_start(chance, min(last, math.ceil(usual)))
    words = _words(forecast, row, day, leaves_on, then_on, usual, start)
    words += _about_the_kit(forecast, row, then_on if then_on is not None else day, kit_sd)
    return NextTest(element, day, float(chance[day]), leaves_on, then_on, told, float(usual), words)


def _first(true: np.ndarray) -> int | None:
    found = np.flatnonzero(true)
    return int(found[0]) if len(found) else None


def _after_the_start(chance: np.ndarray, latest: int) -> int:
    """Return when to look again after the start: once it should be within its aims, or as usual."""
    inside = _first(chance[1:] <= CHANCE)
    return latest if inside is None else min(latest, inside + 1)


def _day_words(day: int, start: dt.date | None) -> str:
    words = "in 1 day" if day == 1 else f"in {day} days"
    if start is None:
        return words
    date = start + dt.timedelta(days=day)
    return f"on {date.day} {date:%b %Y} ({words})"


def _range_words(forecast: Forecast, row: int, day: int) -> str:
    unit = forecast.problem.elements[row].unit
    level, low, high = (float(x[row, day]) for x in (forecast.levels, forecast.low, forecast.high))
    half = (high - low) / 2
    if half <= 0.0:
        return f"{level:.4g} {unit}".replace("-", "−")
    decimals = decimals_for(half)
    return (
        f"{level_text(level, decimals, unit)} ({fixed(low, decimals)} to {fixed(high, decimals)})"
    )


def _aims_words(forecast: Forecast, row: int) -> str:
    one = forecast.problem.elements[row]
    if one.low is None:
        return f"at most {one.high:g} {one.unit}"
    if one.high is None:
        return f"at least {one.low:g} {one.unit}"
    return f"{one.low:g} to {one.high:g} {one.unit}"


def _percent(chance: float) -> str:
    if chance > 0.995:
        return "more than 99 %"
    return f"{100 * chance:.0f} %" if chance >= 0.01 else "less than 1 %"


def _words(
    forecast: Forecast,
    row: int,
    day: int,
    leaves_on: int | None,
    then_on: int | None,
    usual: float,
    start: dt.date | None,
) -> str:
    name = forecast.problem.elements[row].name
    aims, chance = _aims_words(forecast, row), forecast.outside[row]
    every = (
        f"Every {usual:g} days is usual: only a test shows a stopped pump, an empty container or "
    )
    every += "a coral in trouble."
    if then_on is not None:
        known = 0 if chance[0] > CHANCE else 1
        when = "today" if known == 0 else "after one day"
        return (
            f"Test {name} before you start: {when} {_range_words(forecast, row, known)} is "
            f"expected, and the chance that it lies outside its aims, {aims}, is "
            f"{_percent(chance[known])}. Then again {_day_words(then_on, start)}, when "
            f"{_range_words(forecast, row, then_on)} is expected."
        )
    expected = (
        f"Test {name} {_day_words(day, start)}: {_range_words(forecast, row, day)} is expected then"
    )
    if leaves_on is None:
        beyond = " That is the last day of the plan." if day == forecast.problem.days else ""
        return (
            f"{expected}. Through all {forecast.problem.days} days the chance that it lies outside "
            f"its aims, {aims}, stays at 10 % or less.{beyond} {every}"
        )
    grown = (
        f"{expected}, and the chance that it lies outside its aims, {aims}, has grown to "
        f"{_percent(chance[day])}."
    )
    return f"{grown} {every}" if usual < day else grown


def _about_the_kit(forecast: Forecast, row: int, day: int, kit_sd: float | None) -> str:
    if kit_sd is None or float(forecast.sd[row, day]) >= SHARP * kit_sd:
        return ""
    unit = forecast.problem.elements[row].unit
    if float(forecast.sd[row, day]) < kit_sd:
        return (
            f" The kit scatters by {kit_sd:.2g} {unit}, more than the forecast: a reading then tells "
            "little more than whether something went wrong."
        )
    return (
        f" The kit scatters by {kit_sd:.2g} {unit}, and the forecast is hardly wider by then: do the "
        "test twice and take the mean."
    )
