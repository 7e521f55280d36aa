"""The days of a column of dates: one order for all rows, numbers, and dates given once for several."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from reef_calc.log.foreign.clock_times import NO_CLOCK, Clock
from reef_calc.log.foreign.date_forms import Written, shortened, written_date
from reef_calc.log.foreign.date_orders import ORDERS, Ordered, both_readings, date_in_order, fits
from reef_calc.log.foreign.day_numbers import (
    are_clocks,
    day_number_question,
    day_of_number,
    is_day_number,
    moment_of_number,
)
from reef_calc.log.foreign.grid import Cell, text_of
from reef_calc.log.foreign.month_names import day_words
from reef_calc.log.foreign.order_of_column import decide_order
from reef_calc.log.foreign.outcome import Answers, Choice, Question, Said
from reef_calc.log.foreign.rows_in_words import rows_in_words
from reef_calc.log.foreign.rows_without_year import Hints, without_year
from reef_calc.messages import Message

# A day, a moment in UTC, or nothing where the row is asked or refused.
Day = dt.date | dt.datetime | None
_ABOVE, _NONE = "above", "none"
_NO_DATE = Said("refused", "NO_DATE", "This row has no date.", "Write it as 2026-02-01.")
_INCOMPLETE = ("NO_DATE", "NO_YEAR", "NO_DAY")


@dataclass(frozen=True)
class DatesOfRows:
    """The days of a column.

    Attributes
    ----------
    days : tuple
        One for each row: a day, a moment in UTC, or None.
    clocks : tuple of Clock
        Time of day in the same cell.
    said : tuple of Said or None
        What is said of the cell.
    notes : tuple of Message
        What was assumed.
    questions : tuple of Question
        What is asked.
    refusal : str
        Why no row can be read.
    contradiction : bool
        Whether that is because rows contradict each other.
    """

    days: tuple[Day, ...]
    clocks: tuple[Clock, ...]
    said: tuple[Said | None, ...]
    notes: tuple[Message, ...]
    questions: tuple[Question, ...]
    refusal: str = ""
    contradiction: bool = False


def dates_of_rows(
    cells: Sequence[Cell], rows: Sequence[int], *, key: str, column: int, today: dt.date,
    answers: Answers, empty: Literal["above", "none"], hints: Hints = (),
) -> DatesOfRows:  # fmt: skip
    """Return the day of each row.

    Parameters
    ----------
    cells : sequence of Cell
        Cells of the column.
    rows : sequence of int
        Their rows, counted from 1.
    key : str
        Key of the column, its heading.
    column : int
        Column, an index from 0.
    today : datetime.date
        The present day.
    answers : dict of str to str
        Answers so far.
    empty : {"above", "none"}
        What an empty cell means: the date above it, or none.
    hints : sequence of (int, str), optional
        Lines outside the rows, and names, that may hold a year; rows counted from 1, 0 for a name.

    Returns
    -------
    DatesOfRows
        Days, times of day in the same cells, and what is said, assumed and asked.

    Examples
    --------
    >>> found = dates_of_rows(["01.02.2026", ""], [2, 3], key="date", column=0,
    ...     today=dt.date(2026, 3, 1), answers={}, empty="above")
    >>> found.days[1], found.questions[1].key
    (datetime.date(2026, 2, 1), 'empty dates/date')
    """
    cache: dict[Cell, Written] = {}
    for cell in cells:
        if cell not in cache:
            cache[cell] = written_date(cell)
    written = [cache[cell] for cell in cells]
    notes: list[Message] = []
    questions: list[Question] = []
    to_order = [
        Ordered(row, cell if isinstance(cell, str) else text_of(cell), one)
        for row, cell, one in zip(rows, cells, written, strict=True)
        if one.parts
    ]
    yearless = without_year(
        cells, written, rows, hints, key=key, column=column, today=today, answers=answers
    )  # fmt: skip
    if yearless.cells:
        to_order += yearless.to_order(written)
    order, waits, refusal = "", "", ""
    if to_order:
        decision = decide_order(
            to_order, key=key, column=column, heading=key, today=today, answers=answers
        )  # fmt: skip
        order, refusal = decision.order, decision.refusal
        notes += decision.notes
        if decision.question is not None:
            question = decision.question
            if yearless.cells:
                question = yearless.with_consequences(question, written)
            questions.append(question)
            waits = decision.question.key
    system = _day_numbers(written, rows, key, column, answers, notes, questions)
    clocks = are_clocks([one.number for one in written if is_day_number(one.number)])
    _seconds(written, rows, key, notes)
    settled = {
        cell: _settled(one, cell, order, waits, system, clocks) for cell, one in cache.items()
    }  # fmt: skip
    if any(one.short and settled[cell][0] is not None for cell, one in cache.items()):
        notes.append(
            Message("SHORT_YEARS", f"{key}: years of two digits are read as 1970 to 2069.")
        )
    found = [settled[cell] for cell in cells]
    if yearless.cells:
        yearless.fill(found, order, waits, notes, questions)
    if empty == _NONE:
        found = [
            (None, NO_CLOCK, None) if one.ditto else three
            for one, three in zip(written, found, strict=True)
        ]
    else:
        _from_above(found, written, rows, key, column, answers, questions)
    contradiction = bool(refusal)
    if not refusal:
        refusal = _no_date_at_all(found, written, rows, key)
    return DatesOfRows(
        tuple(three[0] for three in found), tuple(three[1] for three in found),
        tuple(three[2] for three in found), tuple(notes), tuple(questions), refusal, contradiction,
    )  # fmt: skip


def _settled(
    one: Written, cell: Cell, order: str, waits: str, system: str, clocks: bool
) -> tuple[Day, Clock, Said | None]:
    if one.said is not None or one.ditto:
        return None, NO_CLOCK, one.said
    if one.date is not None:
        return one.date, one.clock, None
    text = cell if isinstance(cell, str) else text_of(cell)
    if one.parts:
        if not order and not any(fits(one, other) for other in ORDERS):
            reason = f"“{shortened(text)}” is no date in any order of day, month and year."
            return None, NO_CLOCK, Said("refused", "NO_DATE", reason, "Write it as 2026-02-01.")
        if not order:
            reason = both_readings(one, text)
            return None, NO_CLOCK, Said("asked", "DATE_ORDER", reason, "", waits)
        day = date_in_order(one, order, text)
        return (None, NO_CLOCK, day) if isinstance(day, Said) else (day, one.clock, None)
    if is_day_number(one.number):
        return *day_of_number(one.number, system, with_clocks=clocks), None
    moment = moment_of_number(one.number)
    if moment is not None:
        return moment, NO_CLOCK, None
    reason = f"“{shortened(text)}” is no day number of a spreadsheet: they go from 20000 to 80000."
    return None, NO_CLOCK, Said("refused", "NO_DATE", reason, "Write it as 2026-02-01.")


def _day_numbers(
    written: Sequence[Written], rows: Sequence[int], key: str, column: int, answers: Answers,
    notes: list[Message], questions: list[Question],
) -> str:  # fmt: skip
    having = [
        (row, one.number)
        for row, one in zip(rows, written, strict=True)
        if is_day_number(one.number)
    ]
    if not having:
        return "1900"
    system, question, told = day_number_question(
        [number for _, number in having], [row for row, _ in having],
        key=key, column=column, heading=key, answers=answers,
    )  # fmt: skip
    if question is not None:
        questions.append(question)
    notes += told
    return system


def _seconds(
    written: Sequence[Written], rows: Sequence[int], key: str, notes: list[Message]
) -> None:
    having = [
        (row, moment)
        for row, one in zip(rows, written, strict=True)
        if not is_day_number(one.number) and (moment := moment_of_number(one.number)) is not None
    ]
    if not having:
        return
    first, last = (pick(moment for _, moment in having).date() for pick in (min, max))
    verb = "counts" if len(having) == 1 else "count"
    text = (
        f"{key}: {rows_in_words([row for row, _ in having])} {verb} seconds since 1970 in UTC: "
        f"{day_words(first)} to {day_words(last)}."
    )
    notes.append(Message("SECONDS", text))


def _from_above(
    found: list[tuple[Day, Clock, Said | None]], written: Sequence[Written], rows: Sequence[int],
    key: str, column: int, answers: Answers, questions: list[Question],
) -> None:  # fmt: skip
    name = f"empty dates/{key}"
    given = answers.get(name, "")
    above: tuple[Day, Clock, Said | None] = (None, NO_CLOCK, _NO_DATE)
    first = 0
    taken: list[int] = []
    example = ""
    for at, one in enumerate(written):
        if not one.ditto:
            above, first = found[at], rows[at]
            continue
        day, _, said = above
        if (
            first == 0
            or isinstance(day, dt.datetime)
            or (day is None and (said is None or said.fate == "refused"))
        ):
            found[at] = (None, NO_CLOCK, _NO_DATE)
            continue
        taken.append(rows[at])
        if given == _NONE:
            found[at] = (None, NO_CLOCK, _NO_DATE)
        elif day is None:
            found[at] = (None, NO_CLOCK, said)
        else:
            reason = f"No date of its own: {day_words(day)}, as in row {first}."
            example = example or f"Row {rows[at]} is of {day_words(day)}, as row {first}."
            found[at] = (day, NO_CLOCK, Said("read", "DATE_FROM_ABOVE", reason, "", name))
    if not taken:
        return
    count = f"{len(taken)} {'row is' if len(taken) == 1 else 'rows are'} not taken."
    verb = "has" if len(taken) == 1 else "have"
    text = f"{key}: {rows_in_words(taken)} {verb} no date. Does the date above hold for them?"
    if given and given not in (_ABOVE, _NONE):
        text = f"“{given[:40]}” is not one of the answers. {text}"
    choices = (
        Choice(_ABOVE, "The date above holds", example or "As the row above."),
        Choice(_NONE, "They have no date", count),
    )
    answered = given if given in (_ABOVE, _NONE) else ""
    questions.append(
        Question(name, text, choices, tuple(taken), column, assumed=_ABOVE, answered=answered)
    )


def _no_date_at_all(
    found: Sequence[tuple[Day, Clock, Said | None]], written: Sequence[Written],
    rows: Sequence[int], key: str,
) -> str:  # fmt: skip
    full = [
        (row, said)
        for row, one, (_, _, said) in zip(rows, written, found, strict=True)
        if not one.ditto
    ]
    if not full or not all(said is not None and said.code in _INCOMPLETE for _, said in full):
        return ""
    row, said = full[0]
    return (
        f"No cell of {key} is a whole date. Row {row}: {said.reason if said else ''} "
        "A date needs day, month and year."
    )
