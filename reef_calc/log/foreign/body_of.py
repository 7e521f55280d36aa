"""From a grid and its layout to rows whose cells are understood."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass

from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.cell_times import read_times
from reef_calc.log.foreign.column_guess import is_date
from reef_calc.log.foreign.columns import Column, with_keys
from reef_calc.log.foreign.dose_words import CLOCK_HEADINGS
from reef_calc.log.foreign.grid import Cell, Grid, text_of
from reef_calc.log.foreign.laboratory import date_question
from reef_calc.log.foreign.layout import Layout
from reef_calc.log.foreign.meanings import column_meanings
from reef_calc.log.foreign.native import table_of_headings
from reef_calc.log.foreign.numbers_side_by_side import columns_of_numbers
from reef_calc.log.foreign.outcome import Answers, CellNumber, CellTime, Mark, Question, Said
from reef_calc.log.tables import NUMBERS, TIMES
from reef_calc.messages import Message

_OF_READINGS = ("value", "upper", "salinity", "temperature")
# Doses, changes and volumes are written in many ways; their own readers take the texts.
_NUMBER_ROLES: dict[str, tuple[str, ...]] = {
    "additions": (),
    "water changes": ("salinity",),
    "volumes": (),
}
_SAMPLES = 200
# Rows of a table without a column of dates in which its date may stand.
_LINES_WITH_DATES = 200
_DIGITS = re.compile("[0-9]")

# A log by hand of a thousand rows a year does not reach this in centuries; memory does.
MOST_NUMBERS, MOST_OF_A_LOGGER = 500_000, 2_000_000


def too_much(kind: str, rows: int, columns: int) -> str:
    """Return why a table is too large to be brought in at once, empty where it is not.

    Parameters
    ----------
    kind : str
        What its rows are.
    rows, columns : int
        Number of its rows and of its columns of numbers.

    Returns
    -------
    str
        A sentence with what to do.

    Examples
    --------
    >>> too_much("readings", 100_000, 4), too_much("readings", 400_000, 4)[:44]
    ('', '1,600,000 numbers are more than the 500,000 ')
    """
    most = MOST_OF_A_LOGGER if kind == "logger" else MOST_NUMBERS
    if rows * columns <= most:
        return ""
    return (
        f"{rows * columns:,} numbers are more than the {most:,} that are taken in at once. Split the "
        "file by year, or delete columns that are not needed, and bring the parts in one by one."
    )


@dataclass(frozen=True)
class ReadBody:
    """The rows of a table with their cells understood, and what has to be said of them.

    Attributes
    ----------
    kind : str
        What the rows are, as ``Column`` kinds.
    table : str
        Table of a tank folder that this is a copy of; empty for a foreign table.
    body : Body
        Rows, columns, times and numbers.
    made : Made
        Marks, notes and questions so far; no entries.
    refusal : str
        Why no row can be read; empty where rows can be read.
    """

    kind: str
    table: str
    body: Body
    made: Made
    refusal: str = ""

    @property
    def columns(self) -> tuple[Column, ...]:
        """The columns."""
        return self.body.columns


def body_of(
    grid: Grid, layout: Layout, tank: Description, answers: Answers, *, now: dt.datetime
) -> ReadBody:
    """Return the data rows of a table with every cell understood.

    Parameters
    ----------
    grid : Grid
        The table as it stands.
    layout : Layout
        Where headings and data rows are.
    tank : Description
        The tank: its zone, supplements and kits.
    answers : dict of str to str
        Answers so far.
    now : datetime.datetime
        Present time with zone.

    Returns
    -------
    ReadBody
        Rows that are refused as a whole are not among those of the body.

    Raises
    ------
    InputError
        If an answer cannot be used.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.layout import find_layout
    >>> grid = Grid("a.csv", (("date", "KH dKH"), ("2026-02-01", "8.3")))
    >>> now = dt.datetime(2026, 3, 1, tzinfo=dt.UTC)
    >>> read = body_of(grid, find_layout(grid, {}), example_tank(), {}, now=now)
    >>> read.kind, read.body.rows, read.body.numbers[1][0].value
    ('readings', (2,), 8.3)
    """
    whole = {mark.row for mark in layout.marks if mark.said.fate == "refused"}
    positions = [at for at in layout.data_rows if at + 1 not in whole]
    rows = tuple(at + 1 for at in positions)
    cells = {index: _column(grid, positions, index) for index in layout.columns}
    texts = {index: _texts(column) for index, column in cells.items()}
    table = table_of_headings(layout.headings)
    notes: list[Message] = []
    questions: list[Question] = []
    if table:
        columns = with_keys(
            tuple(
                Column(i, layout.headings[i].strip(), layout.headings[i].strip().lower())
                for i in layout.columns
                if layout.headings[i].strip()
            )
        )
        kind = {"additions.csv": "additions", "water_changes.csv": "water changes"}.get(
            table, "readings"
        )
        notes.append(Message("OWN_TABLE", f"This is the table {table} of a tank folder."))
    else:
        samples = {index: _sample(column) for index, column in texts.items()}
        found = column_meanings(layout, samples, tank, answers, rows=len(rows))
        columns, kind = found.columns, found.kind
        notes += found.notes
        questions += found.questions
    wanted = NUMBERS[table] if table else _NUMBER_ROLES.get(kind, _OF_READINGS)
    filled_columns = [column for column in columns if column.role in wanted]
    much = too_much(kind, len(rows), max(1, len(filled_columns)))
    if much:
        told = Made((), (), tuple(notes), tuple(questions))
        return ReadBody(kind, table, Body(grid.file, columns, (), ()), told, much)
    marks: list[Mark] = []
    first = TIMES[table][0] if table else "date"
    if kind == "volumes":
        times, refusal = (CellTime(),) * len(rows), ""
    else:
        times, refusal = _times(
            first, columns, cells, grid, layout, rows, tank, answers, now, marks, notes, questions
        )
    ends: tuple[CellTime, ...] = ()
    last = [column for column in columns if column.role == "end"]
    if last and not refusal:
        read = read_times(
            cells[last[0].index], None, rows, zone=tank.zone, now=now, key=last[0].key,
            column=last[0].index, clock_column=None, answers=answers, empty="none",
        )  # fmt: skip
        ends, refusal = read.times, read.refusal
        notes += read.notes
        questions += read.questions
        written = texts[last[0].index]
        # A dose that still runs has no end, so an empty cell is nothing to speak of.
        marks += [
            Mark(row, last[0].index, said)
            for row, time, text in zip(rows, ends, written, strict=True)
            for said in time.said
            if text
        ]
    for column in columns:
        clocks = kind == "additions" and column.heading.casefold().strip() in CLOCK_HEADINGS
        if column.role == "unknown" and not clocks:
            said = Said(
                "asked", "WHICH_COLUMN", f"What is the column {column.key}?", "",
                f"meaning/{column.key}",
            )  # fmt: skip
            filled = zip(rows, texts[column.index], strict=True)
            marks += [Mark(row, column.index, said) for row, text in filled if text]
    numbers: dict[int, tuple[CellNumber, ...]] = {}
    side_by_side = columns_of_numbers(filled_columns, cells, rows, grid.separator, answers)
    for column, one in zip(filled_columns, side_by_side, strict=True):
        numbers[column.index] = one.numbers
        notes += one.notes
        questions += one.questions
        marks += [
            Mark(row, column.index, said)
            for row, number in zip(rows, one.numbers, strict=True)
            for said in number.said
        ]
    body = Body(grid.file, columns, rows, times, numbers, texts, ends, grid.separator)
    return ReadBody(
        kind, table, body, Made((), tuple(marks), tuple(notes), tuple(questions)), refusal
    )


def _times(
    role: str,
    columns: tuple[Column, ...],
    cells: dict[int, list[Cell]],
    grid: Grid,
    layout: Layout,
    rows: tuple[int, ...],
    tank: Description,
    answers: Answers,
    now: dt.datetime,
    marks: list[Mark],
    notes: list[Message],
    questions: list[Question],
) -> tuple[tuple[CellTime, ...], str]:
    dates = [column for column in columns if column.role == role]
    clocks = [column for column in columns if column.role == "time" and role != "time"]
    if not dates:
        lines = [*(at for at, _ in layout.not_read), *(row - 1 for row in rows)]
        above = [" ".join(map(text_of, grid.rows[at])).strip() for at in lines[:_LINES_WITH_DATES]]
        question, time = date_question(above, rows, tank.zone, now, answers)
        questions.append(question)
        if question.open:
            said = Said("asked", "NO_DATE", "No column says when.", "", question.key)
            marks += [Mark(row, None, said) for row in rows]
        return (time,) * len(rows), ""
    # Of weekdays or numbers and dates side by side, the dates are meant.
    dates.sort(key=lambda column: _no_dates(_sample(_texts(cells[column.index]))))
    if len(dates) > 1:
        others = ", ".join(column.key for column in dates[1:])
        notes.append(
            Message("ONE_DATE", f"{dates[0].key} is taken as the time; {others} is not used.")
        )
    date, clock = dates[0], clocks[0] if clocks else None
    read = read_times(
        cells[date.index], None if clock is None else cells[clock.index], rows, zone=tank.zone,
        now=now, key=date.key, column=date.index,
        clock_column=None if clock is None else clock.index, answers=answers,
        hints=_hints(grid, layout),
    )  # fmt: skip
    notes += read.notes
    questions += read.questions
    marks += _marks(read.times, rows, date.index)
    return read.times, read.refusal


def _hints(grid: Grid, layout: Layout) -> list[tuple[int, str]]:
    """Return lines outside the rows, the sheet and the file: a year may stand there."""
    lines = [(at + 1, " ".join(map(text_of, grid.rows[at])).strip()) for at, _ in layout.not_read]
    return [*lines, (0, grid.sheet), (0, grid.file)]


def _no_dates(texts: Sequence[str]) -> int:
    return 0 if any(map(is_date, texts)) else 1 if any(map(_DIGITS.search, texts)) else 2


def _marks(times: Sequence[CellTime], rows: Sequence[int], column: int) -> list[Mark]:
    return [
        Mark(row, column, said) for row, time in zip(rows, times, strict=True) for said in time.said
    ]


def _column(grid: Grid, positions: Sequence[int], index: int) -> list[Cell]:
    rows = grid.rows
    return [rows[at][index] if index < len(rows[at]) else "" for at in positions]


def _texts(cells: Sequence[Cell]) -> tuple[str, ...]:
    return tuple(cell if isinstance(cell, str) else text_of(cell) for cell in cells)


def _sample(texts: Sequence[str]) -> list[str]:
    step = max(1, len(texts) // _SAMPLES)
    return [text for text in texts[::step] if text][:_SAMPLES]
