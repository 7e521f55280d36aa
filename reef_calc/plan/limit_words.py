"""Limits and numbers of a plan as a person reads them."""

from __future__ import annotations

import math
from collections.abc import Callable

from reef_calc.numbers_in_words import fixed
from reef_calc.plan.phases import most_a_day
from reef_calc.plan.problem import PlanProblem, SupplementToPlan


def short_number(value: float) -> str:
    """Return a number with three digits and no needless zeros.

    Parameters
    ----------
    value : float
        Number in any unit.

    Returns
    -------
    str
        The number.

    Examples
    --------
    >>> short_number(0.5), short_number(0.63333), short_number(1462.0), short_number(0.0)
    ('0.5', '0.633', '1462', '0')
    """
    if value == 0.0 or not math.isfinite(value):
        return "0" if value == 0.0 else fixed(value, 0)
    decimals = max(0, 2 - math.floor(math.log10(abs(value))))
    text = fixed(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def rounded_up(value: float, digits: int = 2) -> float:
    """Return a number rounded up, so that what is offered is enough.

    Parameters
    ----------
    value : float
        Number above 0, in any unit.
    digits : int, optional
        Digits that are kept.

    Returns
    -------
    float
        The number, in the same unit.

    Examples
    --------
    >>> rounded_up(0.6333), rounded_up(2537.0), rounded_up(0.1)
    (0.64, 2600.0, 0.1)
    """
    return _rounded(value, digits, math.ceil, -1e-5)


def rounded_down(value: float, digits: int = 3) -> float:
    """Return a number rounded down, so that what is asked can be met.

    Parameters
    ----------
    value : float
        Number above 0, in any unit.
    digits : int, optional
        Digits that are kept.

    Returns
    -------
    float
        The number, in the same unit.

    Examples
    --------
    >>> rounded_down(8.4999), rounded_down(8.49999999)
    (8.49, 8.5)
    """
    return _rounded(value, digits, math.floor, 1e-5)


def _rounded(value: float, digits: int, towards: Callable[[float], int], nearly: float) -> float:
    if value <= 0.0:
        return value
    decimals = digits - 1 - math.floor(math.log10(value))
    return float(round(towards(value * 10.0**decimals + nearly) / 10.0**decimals, max(decimals, 0)))


def amount_text(supplement: SupplementToPlan, amount: float) -> str:
    """Return an amount with its unit.

    Parameters
    ----------
    supplement : SupplementToPlan
        For the unit.
    amount : float
        mL (or g).

    Returns
    -------
    str
        Text such as "13.5 mL".

    Examples
    --------
    >>> amount_text(SupplementToPlan("soda", {"alkalinity": 0.01}), 13.5)
    '13.5 mL'
    """
    return f"{short_number(amount)} {supplement.unit}"


def limit_in_words(problem: PlanProblem, kind: str, name: str) -> str:
    """Return a limit in words, with number and unit.

    Parameters
    ----------
    problem : PlanProblem
        The question.
    kind : {"rise", "fall", "ceiling", "low", "high", "most a day", "stock"}
        Kind of the limit.
    name : str
        Element or supplement.

    Returns
    -------
    str
        A clause that can follow "because".

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 7.0, aim=8.0, rise_per_day=0.5)
    >>> limit_in_words(PlanProblem((kh,), (), 5), "rise", "alkalinity")
    'alkalinity may rise by 0.5 dKH a day'
    """
    if kind in ("most a day", "stock"):
        one = next(s for s in problem.supplements if s.name == name)
        if kind == "stock":
            return f"{amount_text(one, one.stock)} of {name} are at hand"
        if one.most_doses * one.most_per_dose < one.most_per_day:
            times = "one dose" if one.most_doses == 1 else f"{one.most_doses} doses"
            return (
                f"{name} is given in at most {times} of {amount_text(one, one.most_per_dose)} a day"
            )
        return f"{amount_text(one, most_a_day(one))} of {name} a day is {one.why_most}"
    element = problem.elements[problem.element(name)]
    clauses = {
        "rise": ("may rise by", element.rise_per_day, " a day"),
        "fall": ("may fall by", element.fall_per_day, " a day"),
        "ceiling": ("must not pass", element.ceiling, ""),
        "low": ("should be at least", element.low, ""),
        "high": ("should be at most", element.high, ""),
    }
    verb, number, end = clauses[kind]
    return f"{name} {verb} {short_number(float(number or 0.0))} {element.unit}".strip() + end


def listed(parts: list[str]) -> str:
    """Return parts as one list in words.

    Parameters
    ----------
    parts : list of str
        At least one.

    Returns
    -------
    str
        "a", "a and b", "a, b and c".

    Examples
    --------
    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    if len(parts) == 1:
        return parts[0]
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def days_text(days: int) -> str:
    """Return a number of days in words.

    Parameters
    ----------
    days : int
        Days.

    Returns
    -------
    str
        "1 day" or "3 days".

    Examples
    --------
    >>> days_text(1), days_text(3)
    ('1 day', '3 days')
    """
    return "1 day" if days == 1 else f"{days} days"
