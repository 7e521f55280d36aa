"""Parts of the day in headings, such as “pH am” and “pH pm”: two readings of one day, not two kits."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.local_times import LocalTimes
from reef_calc.log.foreign.outcome import Answers, Entry, Mark, Question, Said
from reef_calc.log.foreign.parts_of_day import PartsOfDay, part_of_day
from reef_calc.log.foreign.plain_words import plain
from reef_calc.log.foreign.rows_in_words import rows_in_words
from reef_calc.messages import Message

_HALVES = {"am": "morning", "a m": "morning", "pm": "evening", "p m": "evening"}


def part_in_heading(words: str) -> str:
    """Return the part of the day that words beside an element name.

    Parameters
    ----------
    words : str
        Words of the heading without the element.

    Returns
    -------
    str
        As ``part_of_day``; empty where they name none. The first half of the day is its morning, the
        second its evening.

    Examples
    --------
    >>> part_in_heading("pm"), part_in_heading("a.m"), part_in_heading("am Morgen"), part_in_heading("lab")
    ('evening', 'morning', 'morning', '')
    """
    text = plain(words)
    return _HALVES.get(text) or part_of_day(text) or part_of_day(text.removeprefix("am "))


def at_parts_of_day(
    entries: Sequence[Entry], body: Body, zone: dt.tzinfo, answers: Answers
) -> Made:
    """Return readings at the time of day that their heading names.

    Parameters
    ----------
    entries : sequence of Entry
        The readings, at the time of their row.
    body : Body
        The rows they come from.
    zone : datetime.tzinfo
        Zone of the tank.
    answers : dict of str to str
        Answers so far; the keys are those of ``PartsOfDay``.

    Returns
    -------
    Made
        The readings, and the question for each part of the day.

    Examples
    --------
    >>> from reef_calc.log.foreign.columns import Column
    >>> from reef_calc.log.foreign.outcome import CellTime
    >>> column = Column(1, "pH am", "value", "pH", part="morning", key="pH am")
    >>> body = Body("a.csv", (column,), (2,), (CellTime("2026-02-01", date_only=True),))
    >>> entry = Entry(2, 1, "readings.csv", {"time": "2026-02-01", "value": "8.1"})
    >>> at_parts_of_day([entry], body, dt.UTC, {}).entries[0].cells["time"]
    '2026-02-01T08:00'
    """
    parts = {column.index: column for column in body.columns if column.part}
    if not parts:
        return Made(tuple(entries))
    times = dict(zip(body.rows, body.times, strict=True))
    local = LocalTimes(zone)
    asked: dict[str, PartsOfDay] = {}
    with_clock: dict[int, None] = {}
    found: list[Entry] = []
    marks: list[Mark] = []
    for entry in entries:
        column = parts.get(entry.column) if entry.column is not None else None
        if column is None:
            found.append(entry)
            continue
        if column.part not in asked:
            asked[column.part] = PartsOfDay(column.key, column.index, answers)
        clock = asked[column.part].time_of(column.part, entry.row)
        day = times[entry.row].iso[:10]
        if not times[entry.row].date_only:
            with_clock[entry.row] = None
        time = day
        if clock is not None:
            time = local.at(dt.datetime.combine(dt.date.fromisoformat(day), clock)).iso
            if not time:
                reason = f"The clock did not show {clock:%H:%M} just once on {day}. Only the day is kept."
                said = Said("flagged", "TIME_UNKNOWN", reason, "Write the time with its offset.")
                marks.append(Mark(entry.row, entry.column, said))
                time = day
        found.append(replace(entry, cells=entry.cells | {"time": time}))
    notes = []
    if with_clock:
        names = ", ".join(column.key for column in parts.values())
        text = (
            f"{names}: the heading says the part of the day; the time of day of "
            f"{rows_in_words(list(with_clock))} is not used for them."
        )
        notes.append(Message("PART_OF_DAY", text))
    questions: dict[str, Question] = {}
    for one in asked.values():
        for question in one.questions():
            text = question.text.replace(
                "some times are only words for", "the heading says no more than"
            )
            questions[question.key] = replace(question, text=text)
    return Made(tuple(found), tuple(marks), tuple(notes), tuple(questions.values()))
