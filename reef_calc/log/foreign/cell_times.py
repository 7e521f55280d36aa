"""When the rows of a foreign table were: dates and times of day in one column or in two."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from reef_calc.log.foreign.clock_times import NO_CLOCK, Clock, clock_of
from reef_calc.log.foreign.columns_of_dates import DatesOfRows, dates_of_rows
from reef_calc.log.foreign.date_forms import EARLIEST, LATEST
from reef_calc.log.foreign.grid import Cell
from reef_calc.log.foreign.local_times import LocalTimes
from reef_calc.log.foreign.midnights import with_midnights
from reef_calc.log.foreign.outcome import Answers, CellTime, Question, Said, worst
from reef_calc.log.foreign.parts_of_day import PartsOfDay
from reef_calc.log.foreign.repeated_hour import Twice, repeated_hours
from reef_calc.log.foreign.rows_in_words import rows_in_words
from reef_calc.log.foreign.rows_without_year import Hints
from reef_calc.log.foreign.slipped_years import year_doubts
from reef_calc.log.foreign.zone_words import ZoneWords
from reef_calc.messages import Message

_MIDNIGHT = dt.time(0)
_UNKNOWN = Said("read", "TIME_UNKNOWN", "No time of day: read as a date only.")


@dataclass(frozen=True)
class TimeColumn:
    """The times of a column.

    Attributes
    ----------
    times : tuple of CellTime
        One for each row; without ``iso`` where a row is asked or refused.
    notes : tuple of Message
        What was assumed.
    questions : tuple of Question
        What is asked.
    refusal : str
        Why no row can be read; empty where rows can be read.
    """

    times: tuple[CellTime, ...]
    notes: tuple[Message, ...] = ()
    questions: tuple[Question, ...] = ()
    refusal: str = ""


def read_times(
    dates: Sequence[Cell],
    clocks: Sequence[Cell] | None,
    rows: Sequence[int],
    *,
    zone: dt.tzinfo,
    now: dt.datetime,
    key: str,
    column: int,
    clock_column: int | None,
    answers: Answers,
    empty: Literal["above", "none"] = "above",
    hints: Hints = (),
) -> TimeColumn:
    """Return when each row was.

    Parameters
    ----------
    dates : sequence of Cell
        Cells of the column of dates, perhaps with times of day.
    clocks : sequence of Cell or None
        Cells of a column of times of day; None where there is none.
    rows : sequence of int
        Their rows, counted from 1.
    zone : datetime.tzinfo
        Zone of the tank.
    now : datetime.datetime
        Present time with zone.
    key : str
        Key of the column, its heading.
    column : int
        Column of the dates, an index from 0.
    clock_column : int or None
        Column of the times of day, an index from 0.
    answers : dict of str to str
        Answers so far.
    empty : {"above", "none"}, optional
        What an empty cell means: the date above it, or that there is no date, as where a dose has no
        end.
    hints : sequence of (int, str), optional
        Lines outside the rows, and names, that may hold a year; rows counted from 1, 0 for a name.

    Returns
    -------
    TimeColumn
        Times that the tank's own reading takes, questions, and what was assumed.

    Notes
    -----
    The order of day and month is decided once for the column. A time without a zone is on the tank's
    clock. Years 1900 to 2199.

    Examples
    --------
    >>> read = read_times(["3/2/2026", "3/16/2026"], ["12:15 AM", ""], [2, 3], zone=dt.UTC,
    ...     now=dt.datetime(2026, 4, 1, tzinfo=dt.UTC), key="date", column=0, clock_column=1, answers={})
    >>> [time.iso for time in read.times]
    ['2026-03-02T00:15', '2026-03-16']
    """
    today = now.astimezone(zone).date()
    dates, midnights = with_midnights(dates, rows, key) if clocks is None else (dates, ())
    found = dates_of_rows(
        dates, rows, key=key, column=column, today=today, answers=answers, empty=empty, hints=hints
    )  # fmt: skip
    notes = [*found.notes, *midnights]
    questions = list(found.questions)
    beside = [clock_of(cell) for cell in clocks] if clocks is not None else None
    bare = _without_midnights(found, dates, beside, rows, key, notes)
    local, words = LocalTimes(zone), ZoneWords(key, column, zone, answers)
    parts = PartsOfDay(key, column if clock_column is None else clock_column, answers)
    times: list[CellTime] = []
    twice: list[Twice] = []
    for at, (day, clock, said) in enumerate(zip(found.days, found.clocks, found.said, strict=True)):
        if isinstance(day, dt.datetime):
            times.append(local.of_moment(day))
            continue
        if bare and clock.time is not None:
            clock = NO_CLOCK
        other = beside[at] if beside is not None else None
        if day is None:
            times.append(CellTime(said=(said,) if said else ()))
            continue
        if clock.part:
            clock = _in_hours(clock, rows[at], parts)
        if other is not None and other.part:
            other = _in_hours(other, rows[at], parts)
        time = _time(day, clock, other, said, local, words)
        word = (other.zone if other else "") or clock.zone
        if word:
            words.used(word, rows[at])
        if not time.iso and worst(one.fate for one in time.said) in ("read", "flagged"):
            chosen = other.time if other and other.time is not None else clock.time
            shift = dt.timedelta(days=(other if other and other.time else clock).days)
            twice.append(Twice(at, rows[at], dt.datetime.combine(day, chosen or _MIDNIGHT) + shift))
        times.append(time)
    if twice:
        folded, asked = repeated_hours(
            twice, times, local, key=key, column=column, answers=answers
        )  # fmt: skip
        for at, time in folded.items():
            times[at] = replace(time, said=(*times[at].said, *time.said))
        questions += asked
    questions += words.questions() + parts.questions()
    times = _doubted(times, today)
    notes += _notes(times, rows, beside is not None, key, zone, found, words.offsets)
    refusal = found.refusal if empty == "above" or found.contradiction else ""
    return TimeColumn(tuple(times), tuple(notes), tuple(questions), refusal)


def _single(said: Said | None) -> tuple[Said, ...]:
    return () if said is None else (said,)


def _in_hours(clock: Clock, row: int, parts: PartsOfDay) -> Clock:
    """Return the hour of a clock that says morning or evening; without one where none is wanted."""
    return Clock(parts.time_of(clock.part, row)) if clock.part else clock


def _without_midnights(
    found: DatesOfRows,
    dates: Sequence[Cell],
    beside: Sequence[Clock] | None,
    rows: Sequence[int],
    key: str,
    notes: list[Message],
) -> bool:
    """Return whether 00:00 in every row only says that the cells hold days."""
    having = [
        at
        for at, (day, clock) in enumerate(zip(found.days, found.clocks, strict=True))
        if day is not None and clock.time is not None
    ]
    if not having or any(
        found.clocks[at].time != _MIDNIGHT or found.clocks[at].days for at in having
    ):
        return False
    typed = all(isinstance(dates[at], dt.datetime) for at in having)
    if len(having) < 2 and not typed and beside is None:
        return False
    if not typed and beside is None:
        text = (
            f"{key}: 00:00 in {rows_in_words([rows[at] for at in having])} is read as a date only."
        )
        notes.append(Message("MIDNIGHT", text))
    return True


def _time(
    day: dt.date,
    clock: Clock,
    other: Clock | None,
    said: Said | None,
    local: LocalTimes,
    words: ZoneWords,
) -> CellTime:
    """Return the time of a day and its clocks, without ``iso`` where the clock showed it twice."""
    marks = [] if said is None else [said]
    chosen = other if other is not None and other.time is not None else clock
    if chosen is other and clock.time is not None and clock.time != chosen.time:
        reason = (
            f"The date says {clock.time:%H:%M}, the time of day beside it {chosen.time:%H:%M}. The "
            "second is used."
        )
        marks.append(Said("flagged", "TWO_CLOCKS", reason, "Check the time."))
    if chosen.time is None:
        problem = (other.problem if other is not None else "") or clock.problem
        if problem:
            reason = f"{problem} Read as a date only."
            marks.append(Said("flagged", "TIME_UNREADABLE", reason, "Write it as 14:30."))
        elif other is not None:
            marks.append(_UNKNOWN)
        return replace(local.day(day), said=tuple(marks)) if marks else local.day(day)
    if chosen.days:
        day = day + dt.timedelta(days=1)
    moment = dt.datetime.combine(day, chosen.time)
    offset = chosen.offset
    if chosen.zone:
        answer = words.offset_of(chosen.zone)
        if isinstance(answer, Said):
            return CellTime(said=(*marks, answer))
        offset = answer
    if offset is None:
        time = local.at(moment) if day.year <= LATEST else CellTime(said=(_outside(day),))
    else:
        words.offsets = True
        time = local.of_moment((moment - offset).replace(tzinfo=dt.UTC))
    # At the ends an offset may carry a day over into a year outside.
    near_end = not EARLIEST < day.year < LATEST
    if near_end and time.iso and not EARLIEST <= int(time.iso[:4]) <= LATEST:
        return CellTime(said=(_outside(day),))
    return replace(time, said=(*marks, *time.said)) if marks else time


def _outside(day: dt.date) -> Said:
    reason = f"{day.isoformat()} lies outside the years {EARLIEST} to {LATEST}."
    return Said("refused", "YEAR_OUTSIDE", reason, "Check the year.")


def _doubted(times: list[CellTime], today: dt.date) -> list[CellTime]:
    texts = [time.iso[:10] for time in times]
    days = {text: dt.date.fromisoformat(text) for text in dict.fromkeys(texts) if text}
    doubts = year_doubts([days[text] for text in texts if text], today)
    if not doubts:
        return times
    by_text = {day.isoformat(): said for day, said in doubts.items()}
    return [
        replace(time, said=(*time.said, by_text[text])) if text in by_text else time
        for time, text in zip(times, texts, strict=True)
    ]


def _notes(
    times: Sequence[CellTime],
    rows: Sequence[int],
    beside: bool,
    key: str,
    zone: dt.tzinfo,
    found: DatesOfRows,
    offsets: bool,
) -> list[Message]:
    notes = []
    unknown = [row for row, time in zip(rows, times, strict=True) if time.iso and time.date_only]
    if unknown and (beside or len(unknown) < sum(bool(time.iso) for time in times)):
        words = "has no time of day and is" if len(unknown) == 1 else "have no time of day and are"
        text = f"{key}: {rows_in_words(unknown)} {words} read as a date only."
        notes.append(Message("TIME_UNKNOWN", text))
    if offsets:
        name = getattr(zone, "key", str(zone))
        text = f"{key}: times that state an offset or UTC are put on the tank's clock, {name}."
        notes.append(Message("OFFSETS", text))
    doubtful = ("FUTURE", "LONG_AGO", "YEAR_ALONE", "YEAR_BEHIND")
    sure = [
        (row, time)
        for row, time in zip(rows, times, strict=True)
        if time.iso and not any(one.code in doubtful for one in time.said)
    ]
    pairs = [(row, _order(a, b)) for (_, a), (row, b) in pairwise(sure)]
    back = [row for row, step in pairs if step < 0]
    if len(back) > 1 and not any(step > 0 for _, step in pairs):
        notes.append(Message("NEWEST_FIRST", f"{key}: the newest row comes first."))
    elif back:
        verb = "is earlier than the row" if len(back) == 1 else "are earlier than the rows"
        text = f"{key}: {rows_in_words(back)} {verb} above. Rows are put in the order of time."
        notes.append(Message("OUT_OF_ORDER", text))
    return notes


def _order(first: CellTime, second: CellTime) -> int:
    """Return 1 where the second is later, -1 where it is earlier; days are compared as days."""
    if first.date_only or second.date_only or first.utc is None or second.utc is None:
        a, b = first.iso[:10], second.iso[:10]
        return (b > a) - (b < a)
    return (second.utc > first.utc) - (second.utc < first.utc)
