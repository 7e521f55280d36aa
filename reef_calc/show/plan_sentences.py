"""The plan in two sentences: what to set, and what comes of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date

from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
from reef_calc.plan.solved import SolvedPlan
from reef_calc.plan.when_to_test import NextTest
from reef_calc.show.plan_words import amount_words, date_words, joined, phase_spans, same_amount
from reef_calc.show.wording import count_words

_SAME = 1e-6  # mL: nothing a pump could set


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
    firsts, lasts, units = [], [], set()
    for j, supplement in enumerate(solved.problem.supplements):
        first, last = (float(v) for v in solved.amounts[j])
        now = supplement.set_now
        if same_amount(first, now, supplement) and same_amount(last, now, supplement):
            continue
        units.add(supplement.unit)
        say = [amount_words(v, supplement) if v > _SAME else "none" for v in (first, last)]
        firsts.append(f"{supplement.name} {say[0]}")
        as_now = " as now" if same_amount(last, now, supplement) and now > _SAME else ""
        lasts.append(f"{supplement.name} {say[1]}{as_now}")
    days = solved.phases[1]
    span = "For a day" if days == 1 else f"For {days} days"
    unit = f" {units.pop()}" if len(units) == 1 else ""
    return f"{span} {joined(firsts)}{unit} a day, then {joined(lasts)}"


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
    first = [
        (days, amount)
        for amount, (a, b) in zip(amounts[:-1], phase_spans(solved)[:-1], strict=True)
        if not same_amount(amount, last, supplement) and (days := b - a)
    ]
    if same_amount(last, now, supplement) and not first:
        return ""

    def say(amount: float) -> str:
        return amount_words(amount, supplement)

    before = joined(
        [f"{say(x)} for {days} day{'s' if days > 1 else ''}" if x > _SAME
         else f"none for {days} day{'s' if days > 1 else ''}" for days, x in first]
    )  # fmt: skip
    if same_amount(last, now, supplement):
        after = f"{say(now)} as now" if now > _SAME else "no more"
        return f"give {before} of {supplement.name} ({unit} a day), then {after}"
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
        if since == 0:
            rest = "should stay within {its} aims all the time"
        elif since is not None:
            rest = f"should be within {{its}} aims from {date_words(start, since)}"
        elif _inside(element, element.start):
            rest = f"would not stay within {{its}} aims until {end}"
        else:
            rest = f"would not be back within {{its}} aims by {end}"
        groups.setdefault(rest, []).append(element.name)
    # What goes wrong stands first.
    order = sorted(groups, key=lambda rest: "would not" not in rest)
    parts = [
        f"{joined(groups[rest])} {rest.format(its='their' if len(groups[rest]) > 1 else 'its')}"
        for rest in order
    ]
    return " ".join(f"{part[:1].upper()}{part[1:]}." for part in parts)


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


def _inside(element: ElementToPlan, level: float) -> bool:
    low = -math.inf if element.low is None else element.low
    high = math.inf if element.high is None else element.high
    return low <= level <= high
