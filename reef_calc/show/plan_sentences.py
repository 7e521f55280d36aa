"""The plan in two sentences: what to set, and what comes of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date

import numpy as np

from reef_calc.plan.forecast import Forecast
from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
from reef_calc.plan.solved import SolvedPlan
from reef_calc.plan.when_to_test import NextTest
from reef_calc.show.plan_words import amount_words, date_words, joined, phase_spans, same_amount
from reef_calc.show.wording import count_words

_SAME = 1e-6  # mL: nothing a pump could set
_DOUBTFUL = (
    0.2  # chance of lying outside from which "should be within" alone is too much (own choice)
)


def settings_sentence(solved: SolvedPlan) -> str:
    """Return what to set, as the heading of the plan.

    Parameters
    ----------
    solved : SolvedPlan
        The plan.

    Returns
    -------
    str
        Such as "Raise soda from 136 to 150 mL a day".

    Examples
    --------
    >>> from reef_calc.plan.problem import PlanProblem
    >>> import numpy as np
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, set_now=136.0)
    >>> one, none = np.array([[150.0]]), np.zeros((0, 31))
    >>> settings_sentence(
    ...     SolvedPlan(PlanProblem((), (soda,), 30), (0,), one, one, one > 0, none, (), None, {}, 0.0)
    ... )
    'Raise soda from 136 to 150 mL a day'
    """
    told = [
        words
        for j, supplement in enumerate(solved.problem.supplements)
        if (words := _one_setting(solved, j, supplement))
    ]
    if len(told) == 2 and len(solved.phases) == 2:
        return _correction_first(solved)
    if len(told) > 2:
        return _many_settings(solved)
    if not told:
        if not any(s.set_now > 0.0 for s in solved.problem.supplements):
            return "Give nothing"
        return "Keep the doses as they are"
    sentence = joined(told)
    return sentence[:1].upper() + sentence[1:]


def _correction_first(solved: SolvedPlan) -> str:
    """Return the correction of several supplements, then what holds."""
    firsts, lasts = [], []
    for j, supplement in enumerate(solved.problem.supplements):
        first, last = (float(v) for v in solved.amounts[j])
        now = supplement.set_now
        if same_amount(first, now, supplement) and same_amount(last, now, supplement):
            continue
        firsts.append(_given(supplement, first))
        # An amount that stays must not seem to be said of the other one too.
        as_now = " (as now)" if same_amount(last, now, supplement) and now > _SAME else ""
        lasts.append(_given(supplement, last) + as_now)
    days = solved.phases[1]
    span = "For a day" if days == 1 else f"For {days} days"
    return f"{span} {joined(firsts)} a day, then {joined(lasts)}"


def _given(supplement: SupplementToPlan, amount: float) -> str:
    if amount <= _SAME:
        return f"no {supplement.name}"
    return f"{supplement.name} {amount_words(amount, supplement)} {supplement.unit}"


def _many_settings(solved: SolvedPlan) -> str:
    """Return the last settings alone: with three and more the correction stands in the table."""
    parts, corrected = [], False
    for j, supplement in enumerate(solved.problem.supplements):
        now, last = supplement.set_now, float(solved.amounts[j, -1])
        corrected |= not all(same_amount(float(v), last, supplement) for v in solved.amounts[j])
        if not same_amount(last, now, supplement):
            before, after = (
                amount_words(v, supplement) if v > _SAME else "none" for v in (now, last)
            )
            unit = f" {supplement.unit}" if last > _SAME else ""
            parts.append(f"{supplement.name} {before} to {after}{unit}")
    days = solved.phases[-1]
    more = f", after {'a day' if days == 1 else f'{days} days'} of correction" if corrected else ""
    if not parts:
        return f"Correct for {days} day{'s' if days > 1 else ''}, then the doses as they are now"
    doses = f"{count_words(len(parts))} dose{'s' if len(parts) > 1 else ''}"
    return f"Change {doses}: {joined(parts)} a day{more}"


def _one_setting(solved: SolvedPlan, j: int, supplement: SupplementToPlan) -> str:
    amounts = [float(v) for v in solved.amounts[j]]
    now, last, unit = supplement.set_now, amounts[-1], supplement.unit
    first: list[tuple[int, float]] = []
    for amount, (a, b) in zip(amounts[:-1], phase_spans(solved)[:-1], strict=True):
        if first and same_amount(amount, first[-1][1], supplement):
            first[-1] = (first[-1][0] + b - a, amount)
        else:
            first.append((b - a, amount))
    if first and same_amount(first[-1][1], last, supplement):
        first.pop()
    if same_amount(last, now, supplement) and not first:
        return ""

    def say(amount: float) -> str:
        return amount_words(amount, supplement)

    spans = [f"for {days} day{'s' if days > 1 else ''}" for days, _ in first]
    if same_amount(last, now, supplement):
        begin, *rest = [f"{say(x)} {unit}" if x > _SAME else "none" for _, x in first]
        head = f"no {supplement.name}" if begin == "none" else f"{begin} a day of {supplement.name}"
        given = [f"{head} {spans[0]}"]
        given += [f"{words} {span}" for words, span in zip(rest, spans[1:], strict=True)]
        after = f"{say(now)} {unit} as now" if now > _SAME else "no more"
        return f"give {joined(given)}, then {after}"
    before = joined(
        [
            f"{say(x) if x > _SAME else 'none'} {span}"
            for (_, x), span in zip(first, spans, strict=True)
        ]
    )
    if now <= _SAME:
        words = f"start {supplement.name} at {say(last)} {unit} a day"
    elif last <= _SAME:
        words = f"stop {supplement.name} ({say(now)} {unit} a day now)"
    else:
        verb = "raise" if last > now else "lower"
        words = f"{verb} {supplement.name} from {say(now)} to {say(last)} {unit} a day"
    return f"{words}, after {before}" if first else words


def outcome_sentence(solved: SolvedPlan, start: date) -> str:
    """Return what comes of the plan for every element that has aims.

    Parameters
    ----------
    solved : SolvedPlan
        The plan.
    start : datetime.date
        Its first day.

    Returns
    -------
    str
        Such as "Alkalinity should be within its aims from 4 October."; empty without aims.

    Examples
    --------
    >>> from reef_calc.plan.problem import PlanProblem
    >>> import numpy as np
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, low=7.5, aim=8.0, high=8.5)
    >>> problem, none = PlanProblem((kh,), (), 3), np.zeros((0, 1))
    >>> solved = SolvedPlan(problem, (0,), none, none, none, np.array([[7, 7.4, 7.8, 8.0]]), (),
    ...                     None, {"alkalinity": 2}, 0.5)
    >>> outcome_sentence(solved, date(2026, 10, 1))
    'Alkalinity should be within its aims from 3 October.'
    """
    days = solved.problem.days
    end = date_words(start, days)
    groups: dict[str, list[str]] = {}
    for element in solved.problem.elements:
        if element.name not in solved.in_band_from or element.aim is None:
            continue
        since = solved.in_band_from[element.name]
        empty = _used_up_on(solved, element)
        if empty is not None:
            # Levels below nothing do not exist; long before, animals suffer.
            rest = f"would be used up by {date_words(start, empty)}"
        elif since == 0:
            rest = "should stay within {its} aims all the time"
        elif since is not None:
            rest = f"should be within {{its}} aims from {date_words(start, since)}"
        elif _inside(element, element.start):
            rest = f"would not stay within {{its}} aims until {end}"
        elif (reached := _first_inside(solved, element)) is not None:
            rest = (
                f"would come within {{its}} aims on {date_words(start, reached)}, but not stay there "
                f"until {end}"
            )
        else:
            rest = f"would not be back within {{its}} aims by {end}"
        groups.setdefault(rest, []).append(element.name)
    # What goes wrong stands first.
    order = sorted(groups, key=lambda rest: ("used up" not in rest, "would" not in rest))
    parts = [
        f"{joined(groups[rest])} {rest.format(its='their' if len(groups[rest]) > 1 else 'its')}"
        for rest in order
    ]
    return " ".join(f"{part[:1].upper()}{part[1:]}." for part in parts)


def chances_sentence(solved: SolvedPlan, ahead: Forecast) -> str:
    """Return how likely a level lies outside its aims although the plan expects it inside.

    Parameters
    ----------
    solved : SolvedPlan
        The plan.
    ahead : Forecast
        Where it leads, with the chance of lying outside for each day.

    Returns
    -------
    str
        A sentence of those with a chance worth words; empty without any.

    Examples
    --------
    >>> import numpy as np
    >>> from reef_calc.plan.forecast import forecast
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.6, low=7.5, aim=8.0, high=8.5, u_start=0.2)
    >>> none = np.zeros((0, 1))
    >>> plan = SolvedPlan(PlanProblem((kh,), (), 2), (0,), none, none, none, np.full((1, 3), 7.6),
    ...                   (), None, {"alkalinity": 0}, 0.5)
    >>> print(chances_sentence(plan, forecast(plan)))
    The level is not known exactly: the chance that it lies outside all the same is up to 31 % for
    alkalinity.
    """
    told = []
    for row, element in enumerate(solved.problem.elements):
        since = solved.in_band_from.get(element.name)
        if since is None or element.aim is None:
            continue
        chance = float(np.max(ahead.outside[row, since:]))
        if chance >= _DOUBTFUL:
            told.append(f"{100 * chance:.0f} % for {element.name}")
    if not told:
        return ""
    what = "The level is" if len(told) == 1 else "The levels are"
    lies = "it lies" if len(told) == 1 else "they lie"
    return (
        f"{what} not known exactly: the chance that {lies} outside all the same is up to "
        f"{joined(told)}."
    )


def next_tests_sentence(tests: Mapping[str, NextTest], start: date) -> str:
    """Return when to test what next, the earliest first.

    Parameters
    ----------
    tests : mapping of str to NextTest
        By element.
    start : datetime.date
        First day of the plan.

    Returns
    -------
    str
        Such as "Test next: alkalinity before you start; calcium on 8 October."; empty without tests.

    Examples
    --------
    >>> next_tests_sentence({"calcium": NextTest("calcium", 7, 0.0, None, None, None, 7.0, "")},
    ...     date(2026, 10, 1))
    'Test next: calcium on 8 October.'
    """
    by_day: dict[int, list[str]] = {}
    for name, test in tests.items():
        by_day.setdefault(test.day, []).append(name)
    parts = [
        f"{joined(by_day[day])} {'before you start' if day == 0 else f'on {date_words(start, day)}'}"
        for day in sorted(by_day)
    ]
    return f"Test next: {'; '.join(parts)}." if parts else ""


def _used_up_on(solved: SolvedPlan, element: ElementToPlan) -> int | None:
    """Return the first day on which nothing would be left of an element."""
    levels = solved.levels[solved.problem.element(element.name)]
    return next((day for day, level in enumerate(levels) if level < 0.0), None)


def _first_inside(solved: SolvedPlan, element: ElementToPlan) -> int | None:
    """Return the first day within the aims of a level that ends outside them."""
    levels = solved.levels[solved.problem.element(element.name)]
    inside = [_inside(element, float(level)) for level in levels]
    return inside.index(True) if True in inside and not inside[-1] else None


def _inside(element: ElementToPlan, level: float) -> bool:
    low = -math.inf if element.low is None else element.low
    high = math.inf if element.high is None else element.high
    return low <= level <= high
