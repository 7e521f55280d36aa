"""The bench day as HTML, as a table and as files: headline, picture, what to do in turn."""

from __future__ import annotations

from typing import Any

import pandas as pd

from reef_calc.bench.kits import Kit
from reef_calc.bench.timetable import Timetable
from reef_calc.show.bench_day_words import ShownDay, clock_words, saved_words
from reef_calc.show.bench_test import GENERAL_CAUTIONS
from reef_calc.show.page import page_html
from reef_calc.show.times import records
from reef_calc.show.timetable_picture import timetable_svg
from reef_calc.show.wording import escape

STYLE = """
.rc .rc-day-lead{font-size:26px;line-height:1.25;max-width:none}
.rc .rc-day-sub{font-size:17px}
.rc .rc-day-now{font-size:30px;line-height:1.25;font-weight:650;max-width:none;margin:4px 0 6px}
.rc .rc-day-now small{display:block;font-size:17px;font-weight:400;color:var(--rc-muted)}
.rc .rc-day-table{font-size:15px}
.rc .rc-day-table td,.rc .rc-day-table th{white-space:normal;padding:8px 16px 8px 0}
.rc .rc-day-table tbody th{font-weight:650}
.rc .rc-day-table tr[aria-current] td,.rc .rc-day-table tr[aria-current] th{
 border-top:2px solid var(--rc-ink);border-bottom:2px solid var(--rc-ink)}
.rc .rc-hazard{display:block;font-weight:650;font-size:16px}
.rc .rc-day-table .rc-hazard{font-size:inherit}
.rc-tick label,.rc-tick .widget-label-basic{font-size:15px;white-space:normal}
.rc .rc-day-box{display:inline-block;width:18px;height:18px;border:1.5px solid var(--rc-ink)}
"""


def day_html(shown: ShownDay) -> str:
    """Return the timetable: how long it takes, the picture, the table, what was assumed.

    Parameters
    ----------
    shown : ShownDay
        The day.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` and ``STYLE`` on the page.

    Examples
    --------
    >>> from reef_calc.bench.timetable import BenchTest, order_search
    >>> "<h2" in day_html(ShownDay(order_search([BenchTest("a", (2,))])))
    True
    """
    if shown.day is None:
        head = headline_html(shown.timetable)
    else:
        end = clock_words(shown, shown.timetable.end)
        head = f'<h2>The whole day</h2><p class="rc-day-sub">All is done at about {end}.</p>'
    return (
        '<section class="rc" data-view="Bench day" aria-label="Bench day">'
        f"{head}{_pictures(shown)}{_key(shown)}"
        f"<h3>What to do, in turn</h3>{_cautions()}{_table(shown)}{_notes(shown)}</section>"
    )


def headline_html(timetable: Timetable) -> str:
    """Return how long the day takes, what that saves and what is left to gain.

    Parameters
    ----------
    timetable : Timetable
        The day (minutes).

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.bench.timetable import BenchTest, order_search
    >>> "All is done after 2 min." in headline_html(order_search([BenchTest("a", (2,))]))
    True
    """
    lead, _, rest = timetable.in_words.partition(". ")
    return (
        f'<h2 class="rc-day-lead">{escape(lead)}.</h2>'
        f'<p class="rc-day-sub">{escape(saved_words(timetable))} {escape(rest)}</p>'
    )


def hazard_html(kit: Kit) -> str:
    """Return a kit's own cautions, as they stand with its first step.

    Parameters
    ----------
    kit : Kit
        The kit; its hazards are typed from its label.

    Returns
    -------
    str
        HTML; says so when none are typed.

    Examples
    --------
    >>> "read its label" in hazard_html(Kit("probe", "pH", "meter", "pH"))
    True
    """
    hazards = "; ".join(kit.hazards) or "no hazards are typed for this kit; read its label"
    return f'<span class="rc-hazard">Caution: {escape(hazards)}.</span>'


def timetable_csv(shown: ShownDay) -> str:
    """Return the timetable as CSV: one row a step in the order of work, minutes from the start.

    Parameters
    ----------
    shown : ShownDay
        The day.

    Returns
    -------
    str
        CSV text.

    Examples
    --------
    >>> from reef_calc.bench.timetable import BenchTest, order_search
    >>> print(timetable_csv(ShownDay(order_search([BenchTest("a", (2,))]))))
    number,start_min,end_min,kit,step,do,next_from_min,next_until_min
    1,0.0,2.0,a,1,,,
    """
    table = shown.timetable.summary.rename(
        columns={
            "start": "start_min",
            "end": "end_min",
            "test": "kit",
            "text": "do",
            "earliest_next": "next_from_min",
            "latest_next": "next_until_min",
        }
    ).round(3)
    table.insert(0, "number", range(1, len(table) + 1))
    if shown.start is not None:
        clock = [clock_words(shown, minute) for minute in table["start_min"]]
        table.insert(1, "clock", clock)
    return table.to_csv(index=False, lineterminator="\n")


def timetable_page(shown: ShownDay, title: str) -> str:
    """Return the timetable as one page for paper, with a box to tick beside each step.

    Parameters
    ----------
    shown : ShownDay
        The day.
    title : str
        Title of the page; plain text.

    Returns
    -------
    str
        A whole HTML document.

    Examples
    --------
    >>> from reef_calc.bench.timetable import BenchTest, order_search
    >>> timetable_page(ShownDay(order_search([BenchTest("a", (2,))])), "Today")[:15]
    '<!DOCTYPE html>'
    """
    inner = (
        f'<section class="rc"><style>{STYLE}</style>{headline_html(shown.timetable)}'
        f"{_pictures(shown)}{_key(shown)}</section>"
        f'<section class="rc"><h2>What to do, in turn</h2>{_cautions()}'
        f"{_table(shown, boxes=True)}{_notes(shown)}</section>"
    )
    return page_html(title, [inner])


def _pictures(shown: ShownDay) -> str:
    # Drawn twice, for a wide and for a narrow page: scaled down, its words could not be read.
    pair = [
        timetable_svg(shown.timetable, width=w, start=shown.start, day=shown.day, now=shown.now)
        for w in (920, 600)
    ]
    return f'<div class="rc-wide">{pair[0]}</div><div class="rc-narrow">{pair[1]}</div>'


def _key(shown: ShownDay) -> str:
    words = (
        "Filled blocks are work for the hands, numbered in their order. Lines are waits with their "
        "shortest and longest minutes; the bar below a line shows when the next step may begin."
    )
    if shown.day is not None:
        words += " Pale blocks with ✓ are done."
    return f'<p class="rc-small">{words}</p>'


def _cautions() -> str:
    lines = "".join(f"<li>{escape(text)}</li>" for text in GENERAL_CAUTIONS)
    return f'<div class="rc-caution" role="note" aria-label="Cautions"><ul>{lines}</ul></div>'


def _table(shown: ShownDay, *, boxes: bool = False) -> str:
    first = "Clock" if shown.start is not None else "Minute"
    heads = ["No.", first, "Kit", "What to do", "Then"] + (["Done"] if boxes else [])
    head = "".join(f'<th scope="col">{word}</th>' for word in heads)
    rows = []
    for number, row in enumerate(records(shown.timetable.summary), start=1):
        state, mark = _state(shown, row.test, row.step)
        do = escape(row.text or "Make the test")
        kit = shown.kits.get(row.test)
        if row.step == 1 and kit is not None:
            do = hazard_html(kit) + do
        do += f' <span class="rc-sub">({round(row.end - row.start, 1):g} min)</span>'
        box = '<td><span class="rc-day-box"></span></td>' if boxes else ""
        rows.append(
            f"<tr{mark}><td>{number}</td><td>{clock_words(shown, row.start)}{state}</td>"
            f'<th scope="row">{escape(row.test)}</th><td class="rc-text">{do}</td>'
            f"<td>{escape(_then(shown, row))}</td>{box}</tr>"
        )
    return (
        '<div class="rc-scroll" tabindex="0" role="group" aria-label="What to do, in turn">'
        f'<table class="rc-data rc-day-table"><thead><tr>{head}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def _state(shown: ShownDay, test: str, step: int) -> tuple[str, str]:
    if shown.day is None:
        return "", ""
    i = [one.name for one in shown.day.tests].index(test)
    if shown.day.in_hand == (i, step - 1):
        return " now", ' aria-current="step"'
    return (" ✓ done", "") if step <= len(shown.day.ended[i]) else ("", "")


def _then(shown: ShownDay, row: Any) -> str:
    end, earliest, latest = row.end, row.earliest_next, row.latest_next
    if pd.isna(earliest):
        return "This test is done."
    minute = "" if shown.start is not None else "minute "
    span = " to ".join(dict.fromkeys(f"{round(v - end, 1):g}" for v in (earliest, latest)))
    between = " to ".join(dict.fromkeys(clock_words(shown, v) for v in (earliest, latest)))
    return f"Wait {span} min: go on at {minute}{between}."


def _notes(shown: ShownDay) -> str:
    if not shown.notes:
        return ""
    lines = "".join(f"<li>{escape(note)}</li>" for note in shown.notes)
    return f"<h3>What was assumed</h3><ul>{lines}</ul>"
