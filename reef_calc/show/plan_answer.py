"""The plan as an answer: what to set, until when, and what stands in the way."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date

from reef_calc.messages import Message
from reef_calc.plan.forecast import Forecast
from reef_calc.plan.solved import Limit, SolvedPlan
from reef_calc.plan.when_to_test import NextTest
from reef_calc.show.plan_sentences import (
    chances_sentence,
    next_tests_sentence,
    outcome_sentence,
    settings_sentence,
)
from reef_calc.show.plan_words import (
    amount_words,
    date_words,
    lasts_words,
    phase_spans,
    phase_words,
    same_amount,
)
from reef_calc.show.tables import folded
from reef_calc.show.wording import count_words, escape

_LIMITS_SHOWN = 4


def plan_answer_html(
    solved: SolvedPlan,
    start: date,
    *,
    tests: Mapping[str, NextTest] | None = None,
    messages: Sequence[Message] = (),
    tank: str = "",
    kept: Mapping[str, str] | None = None,
    lasts: Mapping[str, str] | None = None,
    ahead: Forecast | None = None,
) -> str:
    """Return the decision, the settings, and what stands in the way, in this order.

    Parameters
    ----------
    solved : SolvedPlan
        The plan.
    start : datetime.date
        Its first day.
    tests : mapping of str to NextTest, optional
        When to test next, by element.
    messages : sequence of Message, optional
        What to know besides ``solved.messages``.
    tank : str, optional
        Name of the tank.
    kept : mapping of str to str, optional
        Containers that stay as they are, with the amount a day in words.
    lasts : mapping of str to str, optional
        How long a container lasts, in words, where the plan itself knows no amount at hand.
    ahead : Forecast, optional
        Where the plan leads, for how sure it is.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` and ``plan_style.STYLE`` on the page.

    Examples
    --------
    >>> from reef_calc.plan.problem import PlanProblem
    >>> import numpy as np
    >>> none = np.zeros((0, 1))
    >>> empty = SolvedPlan(PlanProblem((), (), 30), (0,), none, none, none, none, (), None, {}, 0.0)
    >>> "Give nothing" in plan_answer_html(empty, date(2026, 10, 1))
    True
    """
    lead = settings_sentence(solved)
    name = f"{tank}, " if tank else ""
    since = (
        f"{name}{date_words(start, 0, year=True)} to {date_words(start, solved.problem.days - 1)}"
    )
    sure = "" if ahead is None else chances_sentence(solved, ahead)
    then = [outcome_sentence(solved, start), sure, next_tests_sentence(tests or {}, start)]
    outcome = " ".join(text for text in then if text)
    return (
        '<section class="rc" data-view="plan" aria-label="The plan">'
        f'<h2 class="rc-plan-lead">{escape(lead)}</h2>'
        f'<p class="rc-plan-then">{escape(outcome)} '
        f'<span class="rc-sub">{escape(since)}.</span></p>'
        f"{conflict_html(solved)}{settings_html(solved, start, kept, lasts)}"
        f"{limits_html(solved)}{messages_html((*solved.messages, *messages))}</section>"
    )


def settings_html(
    solved: SolvedPlan,
    start: date,
    kept: Mapping[str, str] | None = None,
    lasts: Mapping[str, str] | None = None,
) -> str:
    """Return the table of what to set, phase by phase.

    Parameters
    ----------
    solved : SolvedPlan
        The plan.
    start : datetime.date
        Its first day.
    kept : mapping of str to str, optional
        Containers that stay as they are, with the amount a day in words.
    lasts : mapping of str to str, optional
        How long a container lasts, in words, where the plan itself knows no amount at hand.

    Returns
    -------
    str
        HTML; empty without containers.

    Examples
    --------
    See :func:`plan_answer_html`.
    """
    supplements = solved.problem.supplements
    if not supplements and not kept:
        return ""
    spans = phase_spans(solved)
    heads = ["now", *(_phase_head(start, *span, last=span is spans[-1]) for span in spans)]
    heads.append("lasts")
    rows = []
    for j, supplement in enumerate(supplements):
        now = amount_words(supplement.set_now, supplement) if supplement.set_now > 0.0 else "none"
        cells = [_cell(heads[0], f"<b>{now}</b>{_unit(supplement.unit, supplement.set_now)}")]
        for p, head in enumerate(heads[1:-1]):
            amount, doses = float(solved.amounts[j, p]), int(solved.doses_a_day[j, p])
            cells.append(_cell(head, _amount_cell(solved, j, amount, doses)))
        until = lasts_words(solved, j, start)
        if not math.isfinite(supplement.stock):
            until = (lasts or {}).get(supplement.name, until)
        cells.append(_cell("lasts", f"<span>{escape(until)}</span>"))
        same = all(same_amount(float(v), supplement.set_now, supplement) for v in solved.amounts[j])
        kind = ' class="rc-unchanged"' if same else ""
        note = "<span>as now</span>" if same and supplement.set_now > 0.0 else ""
        rows.append(
            f'<tr{kind}><th scope="row">{escape(supplement.name)}{note}</th>{"".join(cells)}</tr>'
        )
    rows += [
        f'<tr class="rc-unchanged"><th scope="row">{escape(name)}<span>stays as it is</span></th>'
        f'<td data-head="now"><b>{escape(amount)}</b><span>a day</span></td>'
        + "".join(_cell(h, "<span>as now</span>") for h in heads[1:-1])
        + _cell("lasts", f"<span>{escape((lasts or {}).get(name, 'not known'))}</span>")
        + "</tr>"
        for name, amount in (kept or {}).items()
    ]
    head = "".join(f'<th scope="col">{h}</th>' for h in ["Container", *heads])
    return (
        '<div class="rc-scroll" tabindex="0" role="group" aria-label="What to set">'
        '<table class="rc-plan-set"><caption>What to set on each pump, or to give by hand. '
        "Amounts are for a whole day; below them, in how many doses.</caption>"
        f"<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table></div>"
    )


def _phase_head(start: date, first: int, end: int, *, last: bool) -> str:
    name = ("then, from day " + str(first + 1)) if last and first else phase_words(first, end)
    dates = (
        date_words(start, first)
        if end == first + 1
        else f"{date_words(start, first)} to {date_words(start, end - 1)}"
    )
    return f"{name}<small>{escape(dates)}</small>"


def _cell(head: str, inner: str) -> str:
    return f'<td data-head="{escape(head.partition("<")[0])}">{inner}</td>'


def _unit(unit: str, amount: float) -> str:
    return f"<span>{escape(unit)}&nbsp;a&nbsp;day</span>" if amount > 0.0 else ""


def _amount_cell(solved: SolvedPlan, j: int, amount: float, doses: int) -> str:
    supplement = solved.problem.supplements[j]
    if amount <= 0.0:
        return "<b>none</b>"
    change = _change_words(amount, supplement.set_now)
    split = (
        f"{doses} × {amount_words(amount / doses, supplement)} {supplement.unit}" if doses else ""
    )
    return (
        f"<b>{amount_words(amount, supplement)}</b> {escape(supplement.unit)}"
        f"<span>{escape(split)}</span>" + (f"<span>{change}</span>" if change else "")
    )


def _change_words(amount: float, now: float) -> str:
    """Return a change with its sign in words, so that no colour is needed."""
    if now <= 0.0 or abs(amount - now) < 0.005 * now:
        return ""
    share = 100.0 * (amount / now - 1.0)
    more = "▲" if share > 0 else "▼"
    return f"{more} {abs(share):.0f} % {'more' if share > 0 else 'less'} than now"


def conflict_html(solved: SolvedPlan) -> str:
    """Return why not everything asked for can be had, and what would do.

    Parameters
    ----------
    solved : SolvedPlan
        The plan.

    Returns
    -------
    str
        HTML; empty without a conflict.

    Examples
    --------
    See :func:`plan_answer_html`.
    """
    conflict = solved.conflict
    if conflict is None:
        return ""
    offers = "".join(f"<li>{escape(text)}</li>" for text in conflict.offers)
    choose = f"<p>What would do, one of:</p><ul>{offers}</ul>" if offers else ""
    return (
        '<div class="rc-caution" role="note" aria-label="Stands in the way">'
        f"<strong>Not all of it can be had</strong><p>{escape(conflict.words)}</p>{choose}</div>"
    )


def limits_html(solved: SolvedPlan) -> str:
    """Return the limits that the plan reaches, in words.

    Parameters
    ----------
    solved : SolvedPlan
        The plan.

    Returns
    -------
    str
        HTML; empty when no limit is reached.

    Examples
    --------
    See :func:`plan_answer_html`.
    """
    priced = [limit for limit in solved.limits if limit.priced]
    also = [limit for limit in solved.limits if not limit.priced]
    parts = []
    if priced:
        items = "".join(
            f"<li>{_limit_words(limit, solved)}</li>" for limit in priced[:_LIMITS_SHOWN]
        )
        more = len(priced) - _LIMITS_SHOWN
        rest = "; ".join(escape(limit.words) for limit in priced[_LIMITS_SHOWN:])
        parts.append(
            f"<h3>What stands in the way</h3><ul>{items}"
            + (f"<li>And {count_words(more)} more: {rest}.</li>" if more > 0 else "")
            + "</ul>"
        )
    if also:
        told = "; ".join(escape(limit.words) for limit in also)
        parts.append(f'<p class="rc-small">Also reached, without loss: {told}.</p>')
    return "".join(parts)


def _limit_words(limit: Limit, solved: SolvedPlan) -> str:
    text = escape(limit.words[:1].upper() + limit.words[1:])
    if limit.gain > 0.0 and solved.distance > 0.0:
        share = 100.0 * limit.gain / solved.distance
        # The price of a limit holds for a little more of it, so a large one is not told in figures.
        nearer = "hardly" if share < 1.5 else f"about {share:.0f} %" if share < 50.0 else "much"
        text += f". With a tenth more of it the levels would lie {nearer} nearer to the aims"
    return f"{text.rstrip('.')}."


def messages_html(messages: Sequence[Message]) -> str:
    """Return what to know about the plan: what limits it first, what was assumed folded.

    Parameters
    ----------
    messages : sequence of Message
        Messages, in order of weight.

    Returns
    -------
    str
        HTML; empty without messages.

    Examples
    --------
    >>> messages_html([Message("OLD", "The last reading is 12 days old.", "qualified")])[:31]
    '<h3>What limits this plan</h3><'
    """
    seen: dict[str, Message] = {}
    for message in messages:
        seen.setdefault(message.text, message)
    refused = [m.text for m in seen.values() if m.kind == "refused"]
    limited = [m.text for m in seen.values() if m.kind == "qualified"]
    told = [m.text for m in seen.values() if m.kind == "told"]
    parts = []
    if refused or limited:
        items = [f"<li><b>Left out:</b> {escape(text)}</li>" for text in refused]
        items += [f"<li>{escape(text)}</li>" for text in limited]
        parts.append(f"<h3>What limits this plan</h3><ul>{''.join(items)}</ul>")
    if told:
        items = [f"<li>{escape(text)}</li>" for text in told]
        parts.append(folded(f"What this plan assumes ({len(told)})", f"<ul>{''.join(items)}</ul>"))
    return "".join(parts)
