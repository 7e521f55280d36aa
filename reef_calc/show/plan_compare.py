"""Two plans side by side: what is set, what comes of it, what it leaves and what it takes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

import numpy as np

from reef_calc.errors import InputError
from reef_calc.numbers_in_words import fixed
from reef_calc.plan.forecast import Forecast
from reef_calc.plan.ph_of_doses import PhOfDoses
from reef_calc.plan.residue import Residue
from reef_calc.plan.solved import SolvedPlan
from reef_calc.show.plan_words import (
    amount_words,
    date_words,
    lasts_words,
    level_decimals,
    level_words,
    phase_spans,
)
from reef_calc.show.wording import element_name, escape

_SEEN = 0.1  # half-bands: the smallest difference of two levels that is worth words


@dataclass(frozen=True)
class PlanToCompare:
    """One of two plans, with what was worked out for it.

    Attributes
    ----------
    name : str
        What it is called on the page.
    solved : SolvedPlan
        The plan.
    start : datetime.date
        Its first day.
    ahead : Forecast or None
        Where it leads.
    residue : Residue or None
        What it leaves over months.
    ph : PhOfDoses or None
        What its doses do to pH.
    """

    name: str
    solved: SolvedPlan
    start: date
    ahead: Forecast | None = None
    residue: Residue | None = None
    ph: PhOfDoses | None = None


def plans_side_by_side_html(first: PlanToCompare, second: PlanToCompare) -> str:
    """Return two plans as one table, led by what differs first.

    Parameters
    ----------
    first, second : PlanToCompare
        The plans, of one tank.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` and ``plan_style.STYLE`` on the page.

    Raises
    ------
    InputError
        If the plans share no element.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem
    >>> none = np.zeros((0, 1))
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, low=7.0, aim=8.0, high=9.0)
    >>> problem = PlanProblem((kh,), (), 2)
    >>> levels, band = np.full((1, 3), 8.0), {"alkalinity": 0}
    >>> one = SolvedPlan(problem, (0,), none, none, none, levels, (), None, band, 0.0)
    >>> plan = PlanToCompare("A", one, date(2026, 10, 1))
    >>> "set the same" in plans_side_by_side_html(plan, plan)
    True
    """
    shared = [e.name for e in first.solved.problem.elements if e.name in _elements(second.solved)]
    if not shared:
        raise InputError(
            "two plans of one tank", f"{first.name} and {second.name}", "Choose plans of one tank."
        )
    pair = (first, second)
    lengths = [f"{p.solved.problem.days} days from {date_words(p.start, 0)}" for p in pair]
    rows: list[tuple[str, str, str]] = [("Length", lengths[0], lengths[1])]
    for name in _supplements(pair):
        told = [_setting(plan, name) for plan in pair]
        rows.append((f"{name}, a day", told[0], told[1]))
    for name in shared:
        if any(name in plan.solved.in_band_from for plan in pair):
            told = [_band_words(plan, name) for plan in pair]
            rows.append((f"{element_name(name)} within its aims", told[0], told[1]))
    for name in shared:
        told = [_end_words(plan, name) for plan in pair]
        rows.append((f"{element_name(name)} at the end", told[0], told[1]))
    rows += _left_rows(pair)
    rows += _ph_rows(pair)
    for name in _supplements(pair):
        told = [_cost(plan, name) for plan in pair]
        rows.append((f"{name}, in all", told[0], told[1]))
    body = "".join(
        f'<tr{"" if a != b else " class=rc-unchanged"}><th scope="row">{escape(head)}</th>'
        f'<td data-head="{escape(first.name)}">{escape(a)}</td>'
        f'<td data-head="{escape(second.name)}">{escape(b)}</td>'
        f'<td data-head="same or not">{"differs" if a != b else "same"}</td></tr>'
        for head, a, b in rows
    )
    return (
        '<section class="rc" data-view="two plans" aria-label="Two plans side by side">'
        f"<h2>{escape(first.name)} against {escape(second.name)}</h2>"
        f'<p class="rc-plan-then">{escape(what_differs_first(first, second))}</p>'
        '<div class="rc-scroll" tabindex="0" role="group" aria-label="Two plans side by side">'
        '<table class="rc-plan-set rc-plan-pair"><thead><tr><th scope="col">What</th>'
        f'<th scope="col">{escape(first.name)}</th><th scope="col">{escape(second.name)}</th>'
        f'<th scope="col">Same?</th></tr></thead><tbody>{body}</tbody></table></div></section>'
    )


def what_differs_first(first: PlanToCompare, second: PlanToCompare) -> str:
    """Return the first difference of two plans in words.

    Parameters
    ----------
    first, second : PlanToCompare
        The plans.

    Returns
    -------
    str
        A sentence: the element and the day on which the levels part by a tenth of its half-band.

    Examples
    --------
    See :func:`plans_side_by_side_html`.
    """
    by_date = [
        {plan.start.toordinal() + day: day for day in range(plan.solved.problem.days + 1)}
        for plan in (first, second)
    ]
    common = sorted(by_date[0].keys() & by_date[1].keys())
    if not common:
        return "The two plans share no day."
    parted: list[tuple[int, float, str]] = []
    for element in first.solved.problem.elements:
        if element.name not in _elements(second.solved):
            continue
        rows = [plan.solved.problem.element(element.name) for plan in (first, second)]
        scale = element.half if element.aim is not None else abs(element.start) * 0.1 or 1.0
        for when in common:
            a, b = (
                float(plan.solved.levels[row, days[when]])
                for plan, row, days in zip((first, second), rows, by_date, strict=True)
            )
            if abs(a - b) > _SEEN * scale:
                words = (
                    f"{element.name}: {fixed(a, level_decimals(element) + 1)} against "
                    f"{fixed(b, level_decimals(element) + 1)} {element.unit}"
                )
                parted.append((when, -abs(a - b) / scale, words))
                break
    if not parted:
        if _same_settings(first, second):
            return "Both plans set the same doses."
        return "What is set differs, but no level parts by as much as a kit could see."
    when, _, words = min(parted)
    day = date_words(first.start, by_date[0][when])
    return f"They part first, on {day}, in {words}."


def _same_settings(first: PlanToCompare, second: PlanToCompare) -> bool:
    names = _supplements((first, second))
    return all(_setting(first, name) == _setting(second, name) for name in names)


def _elements(solved: SolvedPlan) -> set[str]:
    return {one.name for one in solved.problem.elements}


def _supplements(pair: tuple[PlanToCompare, PlanToCompare]) -> list[str]:
    """Return what either plan uses or could use, in order."""
    names = [s.name for plan in pair for s in plan.solved.problem.supplements]
    return list(dict.fromkeys(names))


def _place(plan: PlanToCompare, name: str) -> int | None:
    names = [one.name for one in plan.solved.problem.supplements]
    return names.index(name) if name in names else None


def _setting(plan: PlanToCompare, name: str) -> str:
    j = _place(plan, name)
    if j is None:
        return "not in this plan"
    supplement = plan.solved.problem.supplements[j]
    parts: list[tuple[int, str]] = []
    for (first, end), amount in zip(phase_spans(plan.solved), plan.solved.amounts[j], strict=True):
        words = f"{amount_words(float(amount), supplement)} {supplement.unit}" if amount else "none"
        if parts and parts[-1][1] == words:
            parts[-1] = (parts[-1][0] + end - first, words)
        else:
            parts.append((end - first, words))
    if len(parts) == 1:
        return parts[0][1]
    told = [f"{words} for {n} day{'s' if n > 1 else ''}" for n, words in parts[:-1]]
    return f"{', '.join(told)}, then {parts[-1][1]}"


def _band_words(plan: PlanToCompare, name: str) -> str:
    since = plan.solved.in_band_from.get(name)
    if since is None:
        return f"not by {date_words(plan.start, plan.solved.problem.days)}"
    return "from the start" if since == 0 else f"from {date_words(plan.start, since)}"


def _end_words(plan: PlanToCompare, name: str) -> str:
    row = plan.solved.problem.element(name)
    one = plan.solved.problem.elements[row]
    level = float(plan.solved.levels[row, -1])
    if level < 0.0:
        return "used up"
    ends = (
        (float(plan.ahead.low[row, -1]), float(plan.ahead.high[row, -1]))
        if plan.ahead is not None
        else (None, None)
    )
    return f"{level_words(one, level, *ends)} {one.unit}"


def _left_rows(pair: tuple[PlanToCompare, PlanToCompare]) -> list[tuple[str, str, str]]:
    first, second = (plan.residue for plan in pair)
    if first is None or second is None or first.months != second.months:
        return []
    after = f"after {first.months} month{'s' if first.months > 1 else ''}"
    return [
        (f"{head} {after}", fixed(float(a[-1]), 2), fixed(float(b[-1]), 2))
        for head, a, b in (
            ("Salinity", first.salinity, second.salinity),
            ("Chloride : sulfate", first.mass_ratio, second.mass_ratio),
        )
    ]


def _ph_rows(pair: tuple[PlanToCompare, PlanToCompare]) -> list[tuple[str, str, str]]:
    if any(plan.ph is None for plan in pair):
        return []
    rows = []
    for head, name, decimals in (
        ("Highest pH right after a dose (NBS)", "ph_nbs", 2),
        ("Highest saturation of aragonite right after a dose", "aragonite", 1),
    ):
        told = []
        for plan in pair:
            states = [d.right_after for d in plan.ph.doses] if plan.ph is not None else []
            states = states or ([plan.ph.states] if plan.ph is not None else [])
            told.append(fixed(max(float(np.max(getattr(s, name))) for s in states), decimals))
        rows.append((head, told[0], told[1]))
    return rows


def _cost(plan: PlanToCompare, name: str) -> str:
    j = _place(plan, name)
    if j is None:
        return "not in this plan"
    supplement = plan.solved.problem.supplements[j]
    total = float(plan.solved.daily()[j].sum())
    if total <= 0.0:
        return "none"
    days = plan.solved.problem.days
    words = f"{amount_words(total, supplement)} {supplement.unit} in {days} days"
    if not math.isfinite(supplement.stock):
        return words
    return f"{words}; what is at hand lasts {lasts_words(plan.solved, j, plan.start)}"
