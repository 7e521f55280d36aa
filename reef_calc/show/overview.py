"""The entrance of the review: one table, grouped by what there is to decide."""

from __future__ import annotations

from collections.abc import Sequence

from reef_calc.errors import InputError
from reef_calc.plan.decision import GROUP_TITLES, NO_READING, SIGNS
from reef_calc.show.level_wording import aim_words, level_words
from reef_calc.show.marks import beyond
from reef_calc.show.rate_wording import dose_number, rate_words
from reef_calc.show.standing import Standing
from reef_calc.show.strips import level_strip, use_bar
from reef_calc.show.wording import (
    CANNOT_TELL,
    count_words,
    day_words,
    element_name,
    escape,
    is_known,
    month_words,
)

_CAPTION = (
    "Sorted by what needs a decision. Shaded: the aim. Dot and bar: use with its 95 % interval, on "
    "one scale from 60 to 140 % of the dose; upright line: the dose now."
)


def overview_title(standings: Sequence[Standing]) -> str:
    """Return the answer of the month in one line.

    Parameters
    ----------
    standings : sequence of Standing
        The elements of one tank and month.

    Returns
    -------
    str
        Such as "September 2026: raise two doses, look into nitrate, test two again".

    Raises
    ------
    InputError
        If there is no standing.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> quiet = S(element="calcium", month="2026-09", decision=S(action="keep"))
    >>> overview_title([quiet])
    'September 2026: leave everything as it is'
    """
    if not standings:
        raise InputError("at least one element", "none", "Enter a reading or set an aim first.")
    names = {action: [s.element for s in standings if s.decision.action == action]
             for action in SIGNS}  # fmt: skip
    parts = []
    for action in ("raise", "lower"):
        # A correction of a level that is not dosed daily is an advice of its own, so the element is
        # named unless several share the verb.
        if len(names[action]) == 1:
            parts.append(f"{action} {names[action][0]}")
        elif names[action]:
            parts.append(f"{action} {count_words(len(names[action]))} doses")
    if names["look"]:
        parts.append("look into " + " and ".join(names["look"]))
    if names["test"]:
        tests = names["test"]
        first = any(s.decision.headline == NO_READING for s in standings)
        named = tests[0] if len(tests) == 1 else count_words(len(tests))
        parts.append(f"test {named}{'' if first else ' again'}")
    answer = ", ".join(parts) or "leave everything as it is"
    return f"{month_words(standings[0].month)}: {answer}"


def overview_subline(standings: Sequence[Standing]) -> str:
    """Return whose readings these are and how many of the month were used.

    Parameters
    ----------
    standings : sequence of Standing
        The elements of one tank and month.

    Returns
    -------
    str
        Such as "Classroom reef. 61 readings used, 2 doubted, 4 beyond a kit’s limit."

    Examples
    --------
    >>> overview_subline([])
    'No readings.'
    """
    if not standings:
        return "No readings."
    counts = {"used": 0, "doubted": 0, "beyond limit": 0, "left out": 0}
    for s in standings:
        local = s.readings["time"].dt.tz_convert(s.zone).dt.strftime("%Y-%m")
        for mark, number in s.readings.loc[local == s.month, "mark"].value_counts().items():
            counts[str(mark)] = counts.get(str(mark), 0) + int(number)
    words = {"beyond limit": "beyond a kit’s limit"}
    used = counts.pop("used")
    parts = [f"{used} reading{'s' if used != 1 else ''} used"]
    parts += [f"{number} {words.get(mark, mark)}" for mark, number in counts.items() if number]
    return f"{standings[0].tank}. {', '.join(parts)}."


def overview_html(title: str, subline: str, standings: Sequence[Standing]) -> str:
    """Return the grouped table of all elements.

    Parameters
    ----------
    title : str
        The answer of the month, from ``overview_title``; plain text.
    subline : str
        Line below it, from ``overview_subline``; plain text.
    standings : sequence of Standing
        The elements, in the order wanted inside each group.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` on the page.

    Examples
    --------
    >>> "<h2>All quiet</h2>" in overview_html("All quiet", "No readings.", [])
    True
    """
    heads = ("Element", "Level, 90 days", "Last reading", "", "What to do")
    scale = (
        '<span>Use against dose</span><span class="rc-scale" aria-hidden="true">'
        "<span>less</span><span>|</span><span>more</span></span>"
    )
    head = "".join(
        f'<th scope="col" role="columnheader">{escape(text) or scale}</th>' for text in heads
    )
    groups = [
        _group_html(words, [s for s in standings if s.decision.group == group])
        for group, words in GROUP_TITLES.items()
    ]
    return (
        f'<section class="rc rc-overview" aria-label="Overview"><h2>{escape(title)}</h2>'
        f'<p class="rc-sub">{escape(subline)}</p>'
        f'<table role="table"><caption>{_CAPTION}</caption>'
        f'<thead role="rowgroup"><tr role="row">{head}</tr></thead>{"".join(groups)}</table></section>'
    )


def _group_html(title: str, members: list[Standing]) -> str:
    if not members:
        return ""
    shared = _shared_cautions(members)
    note = f"<p><strong>Before you dose:</strong> {escape(' '.join(shared))}</p>" if shared else ""
    return (
        '<tbody role="rowgroup"><tr class="rc-group" role="row">'
        '<th colspan="5" scope="rowgroup" role="rowheader" aria-colspan="5">'
        f'{escape(title)} <span class="rc-small">{len(members)}</span>{note}</th></tr>'
        + "".join(_row_html(s, shared) for s in members)
        + "</tbody>"
    )


def _shared_cautions(members: list[Standing]) -> tuple[str, ...]:
    """Return the cautions that every advice to dose of a group carries, to be said once."""
    advised = [s.decision.cautions for s in members if s.decision.cautions]
    if len(advised) < 2:
        return ()
    return tuple(c for c in advised[0] if all(c in other for other in advised[1:]))


def _row_html(standing: Standing, shared: tuple[str, ...]) -> str:
    decision = standing.decision
    quiet = " rc-quiet" if decision.group == "leave" else ""
    strip = level_strip(standing) or '<span class="rc-small">no reading in 90 days</span>'
    return (
        f'<tr class="rc-row{quiet}" role="row">'
        f'<th class="rc-el" scope="row" role="rowheader">{escape(element_name(standing.element))}'
        f'<span class="rc-small">{escape(standing.unit)}</span></th>'
        f'<td class="rc-sp" role="cell">{strip}</td>'
        f'<td class="rc-lv" role="cell">{last_reading_html(standing)}</td>'
        f'<td class="rc-us" role="cell">{_use_html(standing)}</td>'
        f'<td class="rc-say" role="cell"><span class="rc-verb">'
        f'<span class="rc-sign" aria-hidden="true">{SIGNS[decision.action]}</span>'
        f"<b>{escape(decision.headline)}</b></span>"
        f'<span class="rc-why">{escape(decision.reason)}</span>'
        f"{_own_cautions(decision.cautions, shared)}</td></tr>"
    )


def _own_cautions(cautions: tuple[str, ...], shared: tuple[str, ...]) -> str:
    own = " ".join(text for text in cautions if text not in shared)
    return f'<span class="rc-before"><b>Before you dose:</b> {escape(own)}</span>' if own else ""


def last_reading_html(standing: Standing) -> str:
    """Return the last believed reading, its day, and where it lies against the aim.

    Parameters
    ----------
    standing : Standing
        The element.

    Returns
    -------
    str
        HTML of a cell's inside.

    Examples
    --------
    >>> import pandas as pd
    >>> from types import SimpleNamespace as S
    >>> none = pd.DataFrame({"mark": [], "limit": []})
    >>> last_reading_html(S(readings=none, low=7.0, high=8.5, decimals=1))
    '<b>–</b><span>no reading yet</span><span class=rc-aim>aim 7.0–8.5</span>'
    """
    table = standing.readings
    told = table[(table["mark"] == "used") | beyond(table, "<") | beyond(table, ">")]
    aim = aim_words(standing.low, standing.high, standing.decimals)
    if not len(told):
        none = "no reading that can be used" if len(table) else "no reading yet"
        return f"<b>–</b><span>{none}</span><span class=rc-aim>{escape(aim)}</span>"
    last = told.iloc[-1]
    level = level_words(last["level"], standing.decimals, last["limit"], last["upper"])
    place = _place(standing, float(last["level"]), last["limit"], last["upper"])
    words = f"{place} {aim}" if place and aim != "no aim set" else aim
    day = day_words(last["time"], standing.zone, year=False)
    return f"<b>{escape(level)}</b> <small>{escape(day)}</small><span class=rc-aim>{escape(words)}</span>"


def _place(standing: Standing, level: float, limit: str, upper: float) -> str:
    """Return where a reading lies against the aim; empty when it cannot say."""
    low = -float("inf") if standing.low is None else standing.low
    high = float("inf") if standing.high is None else standing.high
    least = 0.0 if limit == "<" else level
    most = {"<": level, ">": float("inf"), "between": upper}.get(limit, level)
    if most < low or (limit == "<" and most <= low):
        return "below"
    if least > high or (limit == ">" and least >= high):
        return "above"
    return "in" if low <= least and most <= high else ""


def _use_html(standing: Standing) -> str:
    use = standing.use
    if use is None:
        return "<span>not used up</span>"
    dosed = use.dose_now is not None and is_known(use.dose_now) and use.dose_now > 0
    # A rise or fall is small by the day; over 30 days it can be held against the aim.
    days = 30 if use.behaviour == "net" and not dosed else 1
    words = rate_words(use.rate, use.low, use.high, use.behaviour, days=days)
    if not dosed:
        dose = "dose unknown" if use.dose_now is None else "not dosed"
        return f"<span>{escape(words)}; {dose}</span>"
    shown = use.low is not None and use.high is not None and not use.low <= 0 <= use.high
    bar = use_bar(use.rate, use.low, use.high, use.dose_now, dot=shown)
    if not is_known(use.rate) or use.dose_now is None:
        dose = f"dosed {dose_number(use, use.dose_now or 0.0)} a day"
        return f"<span>{CANNOT_TELL}; {dose}</span>"
    return f"{bar}<span>{escape(words)}</span>"
