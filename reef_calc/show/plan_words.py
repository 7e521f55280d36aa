"""Amounts, levels, days and containers of a plan in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta

from reef_calc.numbers_in_words import fixed, with_interval
from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
from reef_calc.plan.solved import SolvedPlan
from reef_calc.show.wording import MONTHS

_SAME = 1e-6  # mL: nothing a pump could set
_FAR = 3 * 366  # days; later dates of an empty container are not told


def decimals_of_step(step: float) -> int:
    """Return how many decimals tell multiples of a pump step apart.

    Parameters
    ----------
    step : float
        Step (mL or g); 0 for any amount.

    Returns
    -------
    int
        Decimals, at most 3.

    Examples
    --------
    >>> decimals_of_step(0.25), decimals_of_step(1.0), decimals_of_step(0.0)
    (2, 0, 1)
    """
    if step <= 0.0:
        return 1
    return next((d for d in range(3) if abs(round(step, d) - step) < 1e-9), 3)


def amount_words(amount: float, supplement: SupplementToPlan) -> str:
    """Return an amount as it is set, without its unit.

    Parameters
    ----------
    amount : float
        Amount (mL or g).
    supplement : SupplementToPlan
        Whose step sets the decimals.

    Returns
    -------
    str
        Such as "136" or "18.8".

    Examples
    --------
    >>> amount_words(136.0, SupplementToPlan("soda", {"alkalinity": 0.01}, step=0.1))
    '136'
    >>> amount_words(18.75, SupplementToPlan("soda", {"alkalinity": 0.01}, step=0.05))
    '18.75'
    """
    # What is set now need not be a multiple of the step, and is told as it is.
    decimals = max(decimals_of_step(supplement.step), 2 if abs(amount) < 100.0 else 1)
    text = fixed(amount, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def same_amount(one: float, other: float, supplement: SupplementToPlan) -> bool:
    """Return whether two amounts read the same, so that no one is told to change a dose to itself.

    Parameters
    ----------
    one, other : float
        Amounts (mL or g).
    supplement : SupplementToPlan
        Whose step sets the decimals.

    Returns
    -------
    bool
        True for amounts that no pump could tell apart.

    Examples
    --------
    >>> same_amount(136.0, 136.0000004, SupplementToPlan("soda", {"alkalinity": 0.01}))
    True
    """
    return amount_words(one, supplement) == amount_words(other, supplement)


def plain_amount(amount: float, unit: str) -> str:
    """Return an amount with its unit and no more decimals than it has.

    Parameters
    ----------
    amount : float
        Amount (``unit``).
    unit : str
        mL or g.

    Returns
    -------
    str
        Such as "28.5 mL".

    Examples
    --------
    >>> plain_amount(28.5, "mL"), plain_amount(20.0, "g")
    ('28.5 mL', '20 g')
    """
    text = fixed(amount, 2)
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {unit}"


def level_decimals(element: ElementToPlan) -> int:
    """Return the decimals of a level: about a twentieth of its aims is told apart.

    Parameters
    ----------
    element : ElementToPlan
        The element.

    Returns
    -------
    int
        Decimals, 0 or more.

    Examples
    --------
    >>> level_decimals(ElementToPlan("calcium", "mg/L", 420.0, low=400.0, aim=420.0, high=440.0))
    0
    >>> level_decimals(ElementToPlan("alkalinity", "dKH", 8.0, low=7.5, aim=8.0, high=8.5))
    1
    """
    scale = element.half
    if element.low is None or element.high is None:
        scale = max(0.15 * abs(v) for v in (element.start, element.low, element.high, 1e-6) if v)
    return max(-math.floor(math.log10(scale * 0.3)), 0)


def level_words(
    element: ElementToPlan, level: float, low: float | None = None, high: float | None = None
) -> str:
    """Return a level of the forecast with its interval, where there is one.

    Parameters
    ----------
    element : ElementToPlan
        The element.
    level, low, high : float or None
        Level and its 95 % interval (unit of the element).

    Returns
    -------
    str
        Such as "8.0 ± 0.3".

    Examples
    --------
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, low=7.5, aim=8.0, high=8.5)
    >>> level_words(kh, 8.02, 7.7, 8.34), level_words(kh, 8.02)
    ('8.0 ± 0.3', '8.0')
    """
    if low is None or high is None or not high > low:
        return fixed(level, level_decimals(element))
    return with_interval(level, low, high)


def date_words(start: date, day: int, *, year: bool = False) -> str:
    """Return a day of the plan as a date.

    Parameters
    ----------
    start : datetime.date
        Day 0.
    day : int
        Number of days after it.
    year : bool, optional
        Whether the year is told; it is anyway when it is another one than that of ``start``.

    Returns
    -------
    str
        Such as "4 October".

    Examples
    --------
    >>> date_words(date(2026, 10, 1), 3), date_words(date(2026, 12, 30), 3)
    ('4 October', '2 January 2027')
    """
    when = start + timedelta(days=day)
    told = year or when.year != start.year
    return f"{when.day} {MONTHS[when.month - 1]}" + (f" {when.year}" if told else "")


def phase_spans(solved: SolvedPlan) -> list[tuple[int, int]]:
    """Return the first day of each phase and the day after its last.

    Parameters
    ----------
    solved : SolvedPlan
        The plan.

    Returns
    -------
    list of (int, int)
        Day numbers from 0.

    Examples
    --------
    See :func:`phase_words`.
    """
    ends = (*solved.phases[1:], solved.problem.days)
    return list(zip(solved.phases, ends, strict=True))


def phase_words(first: int, end: int) -> str:
    """Return a phase as days counted from 1.

    Parameters
    ----------
    first, end : int
        First day from 0, and the day after the last.

    Returns
    -------
    str
        Such as "days 1–3".

    Examples
    --------
    >>> phase_words(0, 3), phase_words(0, 1)
    ('days 1–3', 'day 1')
    """
    return f"day {end}" if end == first + 1 else f"days {first + 1}–{end}"


def joined(parts: Sequence[str]) -> str:
    """Return parts as one list in words.

    Parameters
    ----------
    parts : sequence of str
        The parts.

    Returns
    -------
    str
        "a", "a and b" or "a, b and c".

    Examples
    --------
    >>> joined(["a", "b", "c"])
    'a, b and c'
    """
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else list(parts))


def lasts_days(solved: SolvedPlan, j: int) -> float:
    """Return for how many days the amount at hand lasts, the last phase carried on.

    Parameters
    ----------
    solved : SolvedPlan
        The plan.
    j : int
        Number of the supplement.

    Returns
    -------
    float
        Days; infinite where nothing is given or nothing is known of the amount at hand.

    Examples
    --------
    >>> from reef_calc.plan.problem import PlanProblem
    >>> import numpy as np
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, stock=1000.0)
    >>> two, none = np.array([[200.0, 100.0]]), np.zeros((0, 31))
    >>> lasts_days(
    ...     SolvedPlan(PlanProblem((), (soda,), 30), (0, 2), two, two, two, none, (), None, {}, 0), 0
    ... )
    8.0
    """
    left = solved.problem.supplements[j].stock
    spans = phase_spans(solved)
    for (first, end), amount in zip(spans, solved.amounts[j], strict=True):
        days = math.inf if (first, end) == spans[-1] else end - first
        if amount > _SAME and left < amount * days:
            return float(first + left / amount)
        left -= amount * days if amount > _SAME else 0.0
    return math.inf


def lasts_words(solved: SolvedPlan, j: int, start: date) -> str:
    """Return until when the amount at hand lasts.

    Parameters
    ----------
    solved : SolvedPlan
        The plan.
    j : int
        Number of the supplement.
    start : datetime.date
        First day of the plan.

    Returns
    -------
    str
        Such as "about 45 days, to 14 November".

    Examples
    --------
    >>> from reef_calc.plan.problem import PlanProblem
    >>> import numpy as np
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, stock=1000.0)
    >>> one, none = np.array([[100.0]]), np.zeros((0, 31))
    >>> lasts_words(
    ...     SolvedPlan(PlanProblem((), (soda,), 30), (0,), one, one, one, none, (), None, {}, 0.0),
    ...     0, date(2026, 10, 1),
    ... )
    '10 days, to 10 October'
    """
    supplement = solved.problem.supplements[j]
    if not (solved.amounts[j] > _SAME).any():
        return "not used"
    if not math.isfinite(supplement.stock):
        return "amount at hand not typed"
    days = lasts_days(solved, j)
    if days > _FAR:
        return "more than three years"
    whole = math.floor(days + 1e-9)
    if whole < 1:
        return "less than a day"
    return f"{whole} day{'s' if whole > 1 else ''}, to {date_words(start, whole - 1)}"
