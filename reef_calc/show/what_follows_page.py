"""What would follow, as a table: supply against need, the new setting, the month without it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pandas as pd

from reef_calc.numbers_in_words import decimals_for, fixed
from reef_calc.show.outlook import AHEAD, Outlook
from reef_calc.show.rate_wording import dose_number, rate_words
from reef_calc.show.standing import Standing
from reef_calc.show.what_follows import PLAN_PAGE, Following, NewSetting
from reef_calc.show.wording import day_words, element_name, escape, with_interval

_CAPTION = (
    "Use and dose a day, in the unit under the name. Intervals are 95 %; those against the dose leave "
    "out pump and strength, which move use and dose alike. The month ahead takes use, dose and water "
    "changes as they are; no interval holds a change of use still to come."
)
_HEADS = ("Element", "Supply against need", "What would change", f"{AHEAD} days without a change")
_PARTNER = {"alkalinity": "calcium", "calcium": "alkalinity"}


def what_follows_html(following: Sequence[Following]) -> str:
    """Return what would follow as one table, or an empty text without an element that is used.

    Parameters
    ----------
    following : sequence of Following
        From ``what_follows``.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` on the page.

    Examples
    --------
    >>> what_follows_html([])
    ''
    """
    if not following:
        return ""
    head = "".join(f'<th scope="col" role="columnheader">{words}</th>' for words in _HEADS)
    cautions = list(dict.fromkeys(text for one in following for text in one.cautions))
    before = (
        f'<p class="rc-caution"><b>Before you change a dose:</b> {escape(" ".join(cautions))}</p>'
        if cautions
        else ""
    )
    return (
        '<section class="rc rc-block rc-follows" aria-label="What would follow">'
        "<h2>What would follow</h2>"
        f'<p class="rc-sub">{escape(_lead(following))} For amounts day by day and every limit, open '
        f"{PLAN_PAGE}.</p>{before}"
        f'<table role="table"><caption>{_CAPTION}</caption><thead role="rowgroup">'
        f'<tr role="row">{head}</tr></thead><tbody role="rowgroup">'
        + "".join(_row_html(one) for one in following)
        + "</tbody></table></section>"
    )


def _lead(following: Sequence[Following]) -> str:
    changed = [one.standing.element for one in following if one.setting is not None]
    back = [one.standing.element for one in following if one.setting is None and one.first]
    if not changed and not back:
        return "No dose is changed on these readings."
    told = []
    if changed:
        told.append(f"A new setting follows for {' and '.join(changed)}")
    if back:
        told.append(f"{' and '.join(back)} {'is' if len(back) == 1 else 'are'} brought back first")
    words = "; ".join([*told, "no other dose is changed on these readings"])
    return f"{words[:1].upper()}{words[1:]}."


def _row_html(one: Following) -> str:
    standing = one.standing
    return (
        '<tr class="rc-row" role="row">'
        f'<th scope="row" role="rowheader">{escape(element_name(standing.element))}'
        f'<span class="rc-small">{escape(standing.unit)}</span></th>'
        + "".join(
            f'<td role="cell"><span class="rc-label">{head}</span>{cell}</td>'
            for head, cell in zip(
                _HEADS[1:], (_supply(one), _change(one), _month(one)), strict=True
            )
        )
        + "</tr>"
    )


def _lines(*texts: str) -> str:
    """Return sentences one below the other; the first carries the weight."""
    told = [text for text in texts if text]
    first, *rest = told if told else ["–"]
    return f"<b>{escape(first)}</b>" + "".join(f"<span>{escape(text)}</span>" for text in rest)


def _supply(one: Following) -> str:
    use = one.standing.use
    if use is None:
        return _lines("not used up")
    dose = "dose not in the log" if use.dose_now is None else "not dosed"
    if use.dose_now:
        dose = f"dosed {dose_number(use, use.dose_now)}"
    words = rate_words(use.rate, use.low, use.high, use.behaviour)
    used = f"used {words}" if words[0].isdigit() else words
    beside, water = "", ""
    if use.dose_now and use.against_dose and use.rate is not None:
        span = with_interval(use.rate, *use.against_dose)
        beside = f"against this dose: {span}"
    if one.outlook is not None and use.rate is not None and use.low is not None:
        brings, arm = one.outlook.changes_bring, max(use.rate - use.low, 1e-12)
        if abs(brings) >= 0.1 * arm:
            verb = "bring" if brings > 0 else "take"
            water = f"water changes {verb} {fixed(abs(brings), decimals_for(arm))} more a day"
            water = "" if float(fixed(abs(brings), decimals_for(arm))) == 0 else water
    return _lines(f"{dose}, {used}", beside, water)


def _change(one: Following) -> str:
    new = one.setting
    if new is None:
        why, _, reason = one.why_none.partition(". ")
        none = f"No new setting: {why[:1].lower()}{why[1:]}".rstrip(".")
        if one.first:
            # What is done first stands first, and is no small matter.
            return _lines(f"First {one.first[:1].lower()}{one.first[1:]}.", f"{none}.", reason)
        return _lines(none, reason)
    now, then, span = _amounts(new)
    unit = new.container.unit
    head = f"{new.container.supplement}: {now} to {then} {unit} a day"
    if new.amount == 0:
        head = f"{new.container.supplement}: stop, {now} {unit} a day now"
    steps = f"Go there {one.in_steps}." if one.in_steps else ""
    if one.first:
        head = f"First {one.first[:1].lower()}{one.first[1:]}. Then {head}"
    return _lines(head, span, steps, _doses(new), _beside(one, new))


def _amounts(new: NewSetting) -> tuple[str, str, str]:
    arm = max((new.high - new.low) / 2, 1e-12)
    digits = max(decimals_for(arm), 0) if new.high > new.low else 1
    now = f"{new.container.amount:.4g}"
    then = f"{new.amount:.4g}" if new.container.step > 0 else fixed(new.amount, digits)
    if new.high <= new.low:
        return now, then, ""
    exact, low, high = (fixed(x, digits) for x in (new.exact, new.low, new.high))
    span = f"The use asks for {exact} ({low} to {high})"
    if new.container.step > 0:
        span += f"; set in steps of {new.container.step:g} {new.container.unit} a day"
    if not new.low <= new.amount <= new.high:
        span += ". No step lies within that range: a finer setting is better"
    return now, then, f"{span}."


def _doses(new: NewSetting) -> str:
    container, count = new.container, new.container.doses_a_day
    if new.amount == 0 or container.even:
        return ""
    each, unit = new.amount / count, container.unit
    if each > new.most_per_dose * (1 + 1e-9):
        least = math.ceil(new.amount / new.most_per_dose - 1e-9)
        return (
            f"Give it in at least {least} doses a day: no more than {new.most_per_dose:.3g} {unit} at "
            "once."
        )
    if count < 2:
        return ""
    return f"{count} doses of {each:.4g} {unit}, at the times you have now."


def _beside(one: Following, new: NewSetting) -> str:
    """Return what else moves, and what does not though one might think so."""
    said = []
    if new.others:
        stay = "stays as it is" if len(new.others) == 1 else "stay as they are"
        said.append(f"{' and '.join(new.others)} {stay}.")
    for name, unit, change in new.moves:
        verb = "rises" if change > 0 else "falls"
        said.append(f"With it {name} {verb} by {abs(change):.2g} {unit} a day: see its row.")
    partner = _PARTNER.get(one.standing.element)
    if partner and partner not in [name for name, *_ in new.moves]:
        said.append(f"It does not move {partner}: see its own row.")
    if new.brings:
        said.append(f"It also brings {' and '.join(new.brings)}.")
    return " ".join(said)


def _month(one: Following) -> str:
    ahead, standing = one.outlook, one.standing
    if ahead is None:
        return _lines(f"Cannot tell: {one.why_no_outlook}")
    end = _day(ahead, AHEAD, standing)
    level = with_interval(float(ahead.level[-1]), float(ahead.low[-1]), float(ahead.high[-1]))
    number = f"{level} {standing.unit} on {end}"
    if ahead.caution is not None:
        when = "now" if ahead.caution == 0 else f"about {_day(ahead, ahead.caution, standing)}"
        number = f"Passes a caution level {when}"
        if ahead.caution == 0:
            number = "Beyond a caution level now"
    elif ahead.low[-1] < 0:
        number = f"below {fixed(float(ahead.high[-1]), standing.decimals)} {standing.unit} on {end}"
    return _lines(number, _leaving(ahead, standing), _although(one))


def _leaving(ahead: Outlook, standing: Standing) -> str:
    if standing.low is None and standing.high is None:
        return "No aim is set."
    side = "below" if ahead.side == "below" else "above"
    if ahead.leaves == 0:
        if ahead.returns is None:
            return f"It is {side} the aim now and does not come back by itself."
        return (
            f"It is {side} the aim now; inside again about {_day(ahead, ahead.returns, standing)}."
        )
    if ahead.leaves is not None:
        first = ahead.earliest or 0
        soon = "today" if first == 0 else f"from {_day(ahead, first, standing)}"
        perhaps = f", perhaps {soon}" if first < ahead.leaves else ""
        return f"{side.capitalize()} the aim about {_day(ahead, ahead.leaves, standing)}{perhaps}."
    if ahead.earliest is None:
        return "It stays inside the aim."
    if ahead.earliest == 0:
        return f"It may lie {side} the aim already."
    return f"It may be {side} the aim from {_day(ahead, ahead.earliest, standing)}."


def _although(one: Following) -> str:
    """Return how a decision to leave the dose goes with a level that leaves its aims."""
    ahead = one.outlook
    if ahead is None or one.standing.decision.group != "leave" or ahead.leaves is None:
        return ""
    when = _day(ahead, ahead.earliest or ahead.leaves, one.standing)
    return f"Use and dose are too close to change the dose now: test by {when} and look again."


def _day(ahead: Outlook, number: int, standing: Standing) -> str:
    return day_words(ahead.today + pd.Timedelta(days=number), standing.zone, year=False)
