"""What the tank needs and gets now, and where that leads."""

from __future__ import annotations

import math
from collections.abc import Mapping

from reef_calc.chem.elements import ELEMENTS
from reef_calc.numbers_in_words import decimals_for, fixed, with_interval
from reef_calc.plan.forecast import HALF_WIDTH, Forecast
from reef_calc.plan.problem import ElementToPlan, PlanProblem
from reef_calc.show.plan_words import level_words
from reef_calc.show.tables import table_html
from reef_calc.show.wording import element_name


def needs_html(
    problem: PlanProblem,
    unchanged: Forecast,
    *,
    u_use_alone: Mapping[str, float] | None = None,
) -> str:
    """Return a table of level, use, present supply, their difference, and where that leads.

    Parameters
    ----------
    problem : PlanProblem
        Levels, uses and what is set now.
    unchanged : Forecast
        Levels when every dose stays as it is today.
    u_use_alone : mapping of str to float, optional
        Standard uncertainty of the use without pump and strength (unit per day), by element, where
        it was found while the present doses were given; it alone then blurs the difference.

    Returns
    -------
    str
        HTML; empty when no element has aims or a use.

    Examples
    --------
    >>> from reef_calc.plan.forecast import forecast_if_nothing_changes
    >>> from reef_calc.plan.problem import SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=1.1, low=7.0, aim=8.0, high=9.0, u_use=0.05)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, set_now=100.0)
    >>> problem = PlanProblem((kh,), (soda,), 10)
    >>> "short by 0.10 ± 0.10" in needs_html(problem, forecast_if_nothing_changes(problem))
    True
    """
    days = problem.days
    heads = ("Element", "Level now", "Uses a day", "Gets a day now", "Difference",
             f"After {days} days, nothing changed")  # fmt: skip
    rows = []
    for row, one in enumerate(problem.elements):
        if one.low is None and one.high is None and one.use == 0.0:
            continue
        # Salinity is a state of the water: nothing uses it, and it is told with what doses leave.
        if one.name in ELEMENTS and ELEMENTS[one.name].behaviour == "state":
            continue
        gets, u_gets = supply_set_now(problem, row)
        # What is known of the use alone holds only where it was met by the doses of today.
        alone = (u_use_alone or {}).get(one.name)
        spread = math.hypot(one.u_use, u_gets) if alone is None else alone
        rows.append(
            (
                element_name(one.name),
                f"{level_words(one, one.start, *_ends(one.start, one.u_start))} {one.unit}",
                _rate_words(one.use, one.u_use),
                _rate_words(gets, u_gets) if gets else "none",
                "rises by itself"
                if not gets and one.use < 0.0
                else difference_words(gets - one.use, spread),
                _end_words(one, unchanged, row),
            )
        )
    if not rows:
        return ""
    caption = (
        "What the tank needs and gets now, in the unit of the level; ± is the 95 % interval. Water "
        "changes are not in the difference, but in the last column."
    )
    return f'<div class="rc-plan-wrap">{table_html(caption, heads, rows)}</div>'


def supply_set_now(problem: PlanProblem, row: int) -> tuple[float, float]:
    """Return what the doses set today bring of one element a day, those that stay included.

    Parameters
    ----------
    problem : PlanProblem
        Supplements and what is set now.
    row : int
        Number of the element.

    Returns
    -------
    (float, float)
        Supply and its standard uncertainty, unit of the element per day.

    Examples
    --------
    >>> from reef_calc.plan.problem import SupplementToPlan
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, set_now=100.0, u_effect=0.03)
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0)
    >>> supply_set_now(PlanProblem((kh,), (soda,), 10), 0)
    (1.0, 0.03)
    """
    parts = [
        (one.effect.get(problem.elements[row].name, 0.0) * one.set_now, one.u_effect)
        for one in problem.supplements
    ]
    # What still arrives on the last day is what containers bring that stay as they are.
    early = problem.elements[row].arriving
    kept = early[problem.days - 1] if len(early) >= problem.days else 0.0
    total = sum(part for part, _ in parts) + kept
    u = math.hypot(*(part * share for part, share in parts), total * problem.u_volume)
    return total, u


def _ends(value: float, u: float) -> tuple[float, float]:
    return value - HALF_WIDTH * u, value + HALF_WIDTH * u


def _rate_words(rate: float, u: float) -> str:
    if rate < 0.0:
        return f"none: rises by {_rate_words(-rate, u)}"
    if u <= 0.0:
        return "none" if rate == 0.0 else f"{rate:.3g}, interval not known"
    return with_interval(rate, *_ends(rate, u))


def difference_words(difference: float, u: float) -> str:
    """Return supply less use in words.

    Parameters
    ----------
    difference : float
        Supply less use (unit of the element per day).
    u : float
        Standard uncertainty, same unit.

    Returns
    -------
    str
        Whether the tank is short, gets too much, or cannot be told apart from enough.

    Examples
    --------
    >>> difference_words(-0.16, 0.03), difference_words(0.01, 0.03), difference_words(0.3, 0.0)
    ('▼ short by 0.16 ± 0.06', '– no difference shown: 0.01 ± 0.06', '▲ too much by 0.3')
    """
    half = HALF_WIDTH * u
    if half <= 0.0:
        if difference == 0.0:
            return "– as much as it uses"
        return _side(difference) + f"{abs(difference):.3g}"
    if abs(difference) <= half:
        decimals = decimals_for(half)
        return f"– no difference shown: {fixed(difference, decimals)} ± {fixed(half, decimals)}"
    return _side(difference) + with_interval(
        abs(difference), abs(difference) - half, abs(difference) + half
    )


def _side(difference: float) -> str:
    return "▼ short by " if difference < 0.0 else "▲ too much by "


def _end_words(one: ElementToPlan, unchanged: Forecast, row: int) -> str:
    level = float(unchanged.levels[row, -1])
    if level < 0.0:
        return "used up"
    words = level_words(one, level, float(unchanged.low[row, -1]), float(unchanged.high[row, -1]))
    side = "within its aims"
    if one.low is not None and level < one.low:
        side = f"below {one.low:g}"
    elif one.high is not None and level > one.high:
        side = f"above {one.high:g}"
    elif one.low is None and one.high is None:
        side = ""
    return f"{words} {one.unit}" + (f", {side}" if side else "")
