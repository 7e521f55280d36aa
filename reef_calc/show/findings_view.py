"""The findings of all elements in words, and what a decision or a reading left out changes."""

from __future__ import annotations

from collections.abc import Sequence

from reef_calc.balance.consumption import estimate_consumption
from reef_calc.balance.findings import FoundEvent
from reef_calc.balance.mixture_answer import as_percent
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.log.decisions import Decision
from reef_calc.log.tank import Tank
from reef_calc.show.level_wording import level_words
from reef_calc.show.marks import kit_names
from reef_calc.show.rate_wording import rate_words, refusal_words
from reef_calc.show.standing import Standing
from reef_calc.show.tables import table_html
from reef_calc.show.times import records
from reef_calc.show.wording import (
    CANNOT_TELL,
    count_words,
    day_words,
    element_name,
    escape,
    with_interval,
)

KINDS = {
    "rate change": "change of the rate",
    "level step": "step of the level",
    "gross error": "doubted reading",
}
DECIDED = {"accepted": "it is so", "explained": "it is so", "rejected": "it is not so"}
HOW_SURE = (
    "“Found” is said from 95 %, “likely” from 80 %, “possible” from 50 %. What fits is a list, not a "
    "cause. A change that is only days old cannot show yet."
)


def findings_html(
    standings: Sequence[Standing], idle: Sequence[tuple[str, Decision]] = (), notice: str = ""
) -> str:
    """Return what was found in the histories of all elements, with what the keeper said of it.

    Parameters
    ----------
    standings : sequence of Standing
        The elements.
    idle : sequence of (str, Decision), optional
        Element and decision, where a decision bears on no finding of these standings.
    notice : str, optional
        What to know about the folder before a decision is written there; plain text.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` on the page.

    Examples
    --------
    >>> "Nothing found" in findings_html([])
    True
    """
    found = [(s, event) for s in standings if s.use is not None for event in s.use.findings]
    parts = [
        f'<section class="rc" aria-label="Findings"><h2>{_title([event for _, event in found])}</h2>'
        f'<p class="rc-sub">{escape(HOW_SURE)}</p>'
    ]
    for s in standings:
        items = "".join(_item(event) for of, event in found if of is s)
        if items:
            parts.append(_block(element_name(s.element), f"<ul>{items}</ul>"))
    blind = [s for s in standings if s.use is not None and s.use.rate is None]
    if blind:
        items = "".join(
            f"<li>{escape(element_name(s.element))}: {escape(refusal_words(s.use))}</li>"
            for s in blind
            if s.use is not None
        )
        parts.append(_block("Could not be searched whole", f"<ul>{items}</ul>"))
    if idle:
        zone = standings[0].zone if standings else "UTC"
        rows = [
            (
                element_name(element) or "no element",
                key_words(one.key),
                DECIDED[one.decision],
                one.note,
                day_words(one.time, zone),
            )
            for element, one in idle
        ]
        heads = ("Element", "What", "You said", "Your note", "On")
        words = (
            "These bear on no finding of this month: what you agreed to is counted as you said, or the "
            "row names no finding. Change your mind below."
        )
        parts.append(_block("Decided before", table_html(words, heads, rows, texts=(1, 3))))
    if notice:
        parts.append(f'<p class="rc-small">{escape(notice)}</p>')
    return "".join(parts) + "</section>"


def _title(found: Sequence[FoundEvent]) -> str:
    if not found:
        return "Nothing found"
    open_ = sum(not event.decision for event in found)
    words = f"{count_words(len(found))} finding{'s' * (len(found) != 1)}"
    waits = f"{count_words(open_)} to decide" if open_ else "all decided"
    return f"{words[0].upper()}{words[1:]}, {waits}"


def _item(event: FoundEvent) -> str:
    sure = f"{event.word.capitalize()}, {as_percent(event.probability)}."
    small = " ".join(part for part in (sure, event.fits, event.coincidence) if part)
    said = ""
    if event.decision:
        note = f" Your note: “{event.note}”." if event.note else ""
        said = f"<br>You said: {DECIDED[event.decision]}.{escape(note)}"
    return f'<li><b>{escape(event.text)}</b><br><span class="rc-small">{escape(small)}</span>{said}</li>'


def _block(title: str, inner: str) -> str:
    return f'<div class="rc-block"><h3>{escape(title)}</h3>{inner}</div>'


def key_words(key: str) -> str:
    """Return the name of a finding as a keeper reads it.

    Parameters
    ----------
    key : str
        Such as ``rate change 2026-08-17 to 2026-08-21``.

    Returns
    -------
    str
        Plain text; a text that names no finding stays as it is.

    Examples
    --------
    >>> key_words("rate change 2026-08-17 to 2026-08-21")
    'change of the rate 2026-08-17 to 2026-08-21'
    """
    kind = next((kind for kind in KINDS if key.startswith(f"{kind} ")), "")
    return KINDS[kind] + key.removeprefix(kind) if kind else key


def finding_choices(
    standings: Sequence[Standing], idle: Sequence[tuple[str, Decision]] = ()
) -> list[tuple[str, tuple[str, str]]]:
    """Return what may be decided: the findings, then what was decided before.

    Parameters
    ----------
    standings : sequence of Standing
        The elements.
    idle : sequence of (str, Decision), optional
        Decisions that bear on no finding; those that name no element or no finding are passed over.

    Returns
    -------
    list of (str, (str, str))
        Words, and element with key.

    Examples
    --------
    >>> import pandas as pd
    >>> old = Decision("gross error 2026-04-15T11:57Z", "accepted", "", pd.Timestamp(0, tz="UTC"))
    >>> finding_choices([], [("calcium", old)])
    [('Calcium: doubted reading 2026-04-15T11:57Z, decided before', ('calcium', 'gross error ...'))]
    """
    choices = [
        (f"{element_name(s.element)}: {_short(event, s.zone)}", (s.element, event.key))
        for s in standings
        if s.use is not None
        for event in s.use.findings
    ]
    return choices + [
        (f"{element_name(element)}: {key_words(one.key)}, decided before", (element, one.key))
        for element, one in idle
        if element and key_words(one.key) != one.key
    ]


def _short(event: FoundEvent, zone: str) -> str:
    stop = day_words(event.stop, zone, clock=event.kind == "gross error")
    place = stop
    if event.kind != "gross error":
        other_year = event.start.year != event.stop.year
        place = f"{day_words(event.start, zone, year=other_year)} to {stop}"
    return f"{KINDS[event.kind]}, {place}, {event.word}"


def changed_words(before: Sequence[Standing], after: Sequence[Standing]) -> str:
    """Return which rates a decision changed.

    Parameters
    ----------
    before, after : sequence of Standing
        The elements before and after.

    Returns
    -------
    str
        Such as "Alkalinity: 1.18 ± 0.04 → 1.19 ± 0.03 dKH a day."; says so if none changed.

    Examples
    --------
    >>> changed_words([], [])
    'No rate changed.'
    """
    now = {s.element: s for s in after}
    lines = []
    for s in before:
        other = now.get(s.element)
        if other is None:
            lines.append(f"{element_name(s.element)} could not be worked out.")
        elif _rate(s.use) != _rate(other.use):
            unit = f" {s.unit} a day"
            told = f"{_rate(s.use)} → {_rate(other.use)}{unit}"
            if other.use is None or other.use.rate is None:
                told = f"{_rate(s.use)}{unit} → {CANNOT_TELL}"
            lines.append(f"{element_name(s.element)}: {told}.")
    return " ".join(lines) or "No rate changed."


def _rate(use: ConsumptionEstimate | None) -> str:
    return with_interval(use.rate, use.low, use.high) if use is not None else ""


def leave_out_choices(standing: Standing) -> list[tuple[str, int]]:
    """Return the readings that count for the rate, newest first, to try without one of them.

    Parameters
    ----------
    standing : Standing
        The element.

    Returns
    -------
    list of (str, int)
        Words and row of ``readings.csv``; the first is "nothing" with row 0.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> leave_out_choices(S(use=None))
    [('nothing', 0)]
    """
    choices = [("nothing", 0)]
    if standing.use is None:
        return choices
    counted = {row for rows in standing.use.used["rows"] for row in rows}
    kits = kit_names(standing.readings)
    for reading, kit in reversed(list(zip(records(standing.readings), kits, strict=True))):
        if reading.row in counted:
            level = level_words(reading.level, standing.decimals, reading.limit, reading.upper)
            day = day_words(reading.time, standing.zone, clock=not reading.date_only)
            words = f"{day}: {level} {standing.unit}".strip()
            choices.append((f"{words}, {kit}" if kit else words, int(reading.row)))
    return choices


def leave_out_html(tank: Tank, standing: Standing, row: int) -> str:
    """Return the rate with and without one reading.

    Parameters
    ----------
    tank : Tank
        The tank that the standing is of.
    standing : Standing
        The element.
    row : int
        Row of ``readings.csv`` to leave out.

    Returns
    -------
    str
        HTML section; empty for a property that is not used up.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.show.gather import gather
    >>> tank = example_tank()
    >>> html = leave_out_html(tank, gather(tank, "alkalinity", "2026-02"), 14)
    >>> "Without the reading of row 14" in html, "Nothing was written" in html
    (True, True)
    """
    use = standing.use
    if use is None:
        return ""
    without = estimate_consumption(
        tank, standing.element, use.until, unit=standing.unit, leave_out=(row,)
    )
    lines = "".join(
        f"<li>{name}: {escape(_rate_sentence(one))}</li>"
        for name, one in (("With it", use), ("Without it", without))
    )
    together = next((len(rows) for rows in use.used["rows"] if row in rows and len(rows) > 1), 0)
    note = "Only to try it: the reading still counts. Nothing was written."
    if together:
        note = f"The {count_words(together)} readings of that sitting go together. {note}"
    return (
        f'<section class="rc" aria-label="Without one reading"><h3>Without the reading of row {row}'
        f'</h3><ul>{lines}</ul><p class="rc-small">{escape(note)}</p></section>'
    )


def _rate_sentence(use: ConsumptionEstimate) -> str:
    if use.rate is None:
        return refusal_words(use)
    words = rate_words(use.rate, use.low, use.high, use.behaviour)
    return words.replace(" a day", f" {use.unit} a day") + "."
