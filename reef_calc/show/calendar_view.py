"""The test calendar: when to test in the coming six weeks, and what the readings will show."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from reef_calc.show.style import paint
from reef_calc.show.times import records
from reef_calc.show.wording import MONTHS, decimals_for, element_name, escape, fixed

WEEKS = 6
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MUCH = 0.9  # a remedy that leaves more than this share of the half-width buys little
_ADVICE = (
    "On these days a reading tells most about the use. They do not replace the daily look at the "
    "tank: test at once when something looks wrong."
)
_LIMITS = (
    "± is the 95 % interval of a use that stays steady. How well the strength of the doses and the "
    "new water are known is not in it."
)


def calendar_html(
    entries: pd.DataFrame,
    outlooks: Sequence[Any],
    *,
    start: pd.Timestamp | None = None,
    zone: str = "UTC",
) -> str:
    """Return when to test in six weeks, and what the planned readings will be able to show.

    Parameters
    ----------
    entries : pandas.DataFrame, shape (n, …)
        Proposed readings: ``time`` (days since 1 January 1970, UTC) and ``element``.
    outlooks : sequence
        One object an element, shape (m,): ``element`` (``name``, ``unit``, ``rate``, ``times`` in
        days as above), ``planned``, ``now``, ``after``, ``one_more``, ``finer_kit``,
        ``longer_span`` (half-widths, unit per day), ``one_more_at`` (day as above), ``text``.
    start : pandas.Timestamp, optional
        Moment from which the weeks are shown; by default the newest reading, or the first proposal
        without any.
    zone : str, optional
        IANA zone of the tank.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` on the page.

    Examples
    --------
    >>> entries = pd.DataFrame({"time": [20723.7], "element": ["alkalinity"]})
    >>> "next on Sun 27 Sep, alkalinity" in calendar_html(entries, [])
    True
    """
    days = [_local(time, zone) for time in entries["time"]]
    table = pd.DataFrame({"day": days, "element": list(entries["element"])})
    table = table.drop_duplicates().sort_values("day", kind="stable")
    monday = _first_monday(table, outlooks, start, zone)
    inner = (
        f"<h2>{escape(_title(table))}</h2>"
        f'<p class="rc-sub">{escape(_ADVICE)}</p>'
        f"{_weeks_html(table, outlooks, monday)}{_outlooks_html(outlooks, zone)}"
    )
    return f'<section class="rc" aria-label="How often to test">{inner}</section>'


def _local(day: float, zone: str) -> pd.Timestamp:
    """Return the midnight, without a zone, of the tank's day."""
    moment = pd.Timestamp(0, tz="UTC") + pd.Timedelta(days=float(day))
    return moment.tz_convert(ZoneInfo(zone)).tz_localize(None).normalize()


def _date(day: pd.Timestamp) -> str:
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1][:3]}"


def _first_monday(
    table: pd.DataFrame, outlooks: Sequence[Any], start: pd.Timestamp | None, zone: str
) -> pd.Timestamp:
    if start is not None:
        moment = start.tz_localize("UTC") if start.tzinfo is None else start
        first = moment.tz_convert(ZoneInfo(zone)).tz_localize(None).normalize()
    else:
        past = [np.max(o.element.times) for o in outlooks if np.size(o.element.times)]
        newest = max(past) if past else 0.0  # without anything to show, no week is shown either
        first = table["day"].iloc[0] if len(table) and not past else _local(newest, zone)
    return first - pd.Timedelta(days=first.weekday())


def _title(table: pd.DataFrame) -> str:
    if not len(table):
        return "How often to test: no day is proposed"
    day = table["day"].iloc[0]
    names = list(table.loc[table["day"] == day, "element"])
    listed = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
    return f"How often to test: next on {_date(day)}, {listed}"


def _weeks_html(table: pd.DataFrame, outlooks: Sequence[Any], monday: pd.Timestamp) -> str:
    names = list(dict.fromkeys([o.element.name for o in outlooks] + list(table["element"])))
    if not names:
        return "<p>Nothing to plan yet: no element has a use to follow.</p>"
    week = ((table["day"] - monday).dt.days // 7).to_numpy(dtype=int) if len(table) else np.empty(0)
    heads = []
    for i in range(WEEKS):
        first = monday + pd.Timedelta(days=7 * i)
        heads.append(f"<th scope=col>Week of<br>{first.day} {MONTHS[first.month - 1][:3]}</th>")
    rows = []
    for name in names:
        own = table["element"].to_numpy(dtype=object) == name
        cells = []
        for i in range(WEEKS):
            days = list(table["day"][own & (week == i)])
            words = "".join(f"<span>{escape(_date(day))}</span>" for day in days)
            cells.append(f"<td>{_strip(days)}{words}</td>")
        count = int((own & (week >= 0) & (week < WEEKS)).sum())
        told = "none proposed" if not count else f"{count} reading{'' if count == 1 else 's'}"
        rows.append(
            f"<tr><th scope=row>{escape(element_name(name))}<span>{told}</span></th>"
            f"{''.join(cells)}</tr>"
        )
    outside = table[(week < 0) | (week >= WEEKS)]
    more = [f"{e.element} on {_date(e.day)} {e.day.year}" for e in records(outside)]
    note = f'<p class="rc-small">Outside these weeks: {escape(", ".join(more))}.</p>'
    return (
        '<div class="rc-block rc-scroll" tabindex="0" role="group" aria-label="Six weeks">'
        '<table class="rc-calendar"><caption>Six weeks, Monday to Sunday. A large dot: test on that '
        f"day.</caption><thead><tr><th scope=col>Element</th>{''.join(heads)}</tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table></div>{note if more else ''}"
    )


def _strip(days: list[pd.Timestamp]) -> str:
    """Return the seven days of a week as dots; the dates stand below it in words."""
    chosen = {day.weekday() for day in days}
    dots = "".join(
        f'<circle cx="{5 + 11 * i}" cy="6" r="{4 if i in chosen else 1.5}" '
        f'fill="{paint("ink" if i in chosen else "line")}"/>'
        for i in range(7)
    )
    return f'<svg width="76" height="12" viewBox="0 0 76 12" aria-hidden="true">{dots}</svg>'


def _outlooks_html(outlooks: Sequence[Any], zone: str) -> str:
    if not outlooks:
        return ""
    heads = (
        "Element, use a day", "Now", "After the planned readings", "With one more reading",
        "With a kit twice as fine", "Over twice the time", "What buys most",
    )  # fmt: skip
    rows = []
    for o in outlooks:
        name = f"<th scope=row>{escape(element_name(o.element.name))}<span>{escape(o.element.unit)}"
        if not math.isfinite(o.after):
            rows.append(f"<tr>{name}</span></th><td colspan=6 class=rc-text>{escape(o.text)}</td>")
            continue
        best_day = f"on {_date(_local(o.one_more_at, zone))}"
        cells = [
            (_width(o, o.now), _share(o, o.now)),
            (_width(o, o.after), _share(o, o.after)),
            (_width(o, o.one_more), best_day),
            (_width(o, o.finer_kit), ""),
            (_width(o, o.longer_span), ""),
        ]
        rows.append(
            f"<tr>{name}</span></th>{''.join(_cell(*cell) for cell in cells)}"
            f"<td class=rc-buys>{escape(what_buys_most(o))}</td></tr>"
        )
    titles = "".join(f"<th scope=col>{escape(head)}</th>" for head in heads)
    return (
        '<div class="rc-block"><h3>What the readings will be able to show</h3>'
        '<div class="rc-scroll" tabindex="0" role="group" aria-label="What the readings will show">'
        f'<table class="rc-calendar rc-outlook"><caption>{escape(_LIMITS)}</caption>'
        f"<thead><tr>{titles}</tr></thead><tbody>{''.join(rows)}</tbody></table></div></div>"
    )


def _cell(words: str, below: str) -> str:
    return f"<td>{escape(words)}{f'<span>{escape(below)}</span>' if below else ''}</td>"


def _width(o: Any, half: float) -> str:
    # One digit more than the result deserves, so that small gains can be told apart.
    return (
        f"±\u00a0{fixed(half, decimals_for(o.after) + 1)}" if math.isfinite(half) else "no interval"
    )


def _share(o: Any, half: float) -> str:
    share = half / abs(o.element.rate)
    if not math.isfinite(half):
        return "too few readings"
    return f"{fixed(100 * share, 0)} % of the use" if share < 1 else "more than the use"


def what_buys_most(outlook: Any) -> str:
    r"""Return which remedy narrows the interval most.

    Parameters
    ----------
    outlook : object
        ``after``, ``one_more``, ``finer_kit`` and ``longer_span``: half-widths (unit per day).

    Returns
    -------
    str
        Such as "a kit twice as fine: 38 % narrower", or that none of them buys much.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> what_buys_most(S(after=0.57, one_more=0.50, finer_kit=0.46, longer_span=0.36))
    'twice the time: 37\xa0% narrower'
    """
    remedies = (
        (outlook.one_more, "one more reading"),
        (outlook.longer_span, "twice the time"),
        (outlook.finer_kit, "a kit twice as fine"),
    )
    half, words = min(remedies, key=lambda remedy: remedy[0])
    left = half / outlook.after
    if not left <= MUCH:
        return "none of these buys much"
    return f"{words}: {fixed(100 * (1 - left), 0)}\u00a0% narrower"
