"""From the bytes of a foreign file to what would be added, what is asked, and the sums."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Made
from reef_calc.log.foreign.body_of import body_of
from reef_calc.log.foreign.changes import changes_from
from reef_calc.log.foreign.checked import checked
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.dated_reports import log_from
from reef_calc.log.foreign.doses import additions_from
from reef_calc.log.foreign.grid import Grid, text_of
from reef_calc.log.foreign.kept import Kept
from reef_calc.log.foreign.laboratory import laboratory_from
from reef_calc.log.foreign.layout import Layout, find_layout, grid_turned
from reef_calc.log.foreign.left_out import left_out
from reef_calc.log.foreign.limit_columns import settled_by_limit
from reef_calc.log.foreign.logger import logger_from
from reef_calc.log.foreign.native import native_entries
from reef_calc.log.foreign.outcome import FATES, Answers, Entry, Fate, Mark, Question, Said, worst
from reef_calc.log.foreign.passes import rows_of_pass
from reef_calc.log.foreign.reader import read_grid_and_questions
from reef_calc.log.foreign.remarks import rows_without_entries
from reef_calc.log.foreign.same_in_file import once_only
from reef_calc.log.foreign.series import doubts_in, with_doubts, without_guesses
from reef_calc.log.foreign.single_blanks import parted_by_single_blanks
from reef_calc.log.foreign.tanks import RowsOfTank, rows_of_tank
from reef_calc.log.foreign.understood import Counts, Understood
from reef_calc.log.foreign.uninterrupted import uninterrupted
from reef_calc.log.foreign.unused_answers import unused_answers
from reef_calc.log.foreign.volumes import volumes_from

_MAKERS = {
    "readings": log_from,
    "logger": logger_from,
    "additions": additions_from,
    "water changes": changes_from,
    "volumes": volumes_from,
    "laboratory report": laboratory_from,
}
_WHOLE = Said("refused", "WHOLE_FILE", "No row of this file can be read.", "See above.")


def understand(
    file: str,
    content: bytes,
    tank: Description,
    answers: Answers | None = None,
    *,
    sheet: str = "",
    now: dt.datetime | None = None,
) -> Understood:
    r"""Return a foreign file as it was understood.

    The same file with the same answers gives the same result; nothing is written.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    content : bytes
        What it holds: text in any usual encoding, or a workbook.
    tank : Description
        The tank that it is for.
    answers : dict of str to str, optional
        Answers of the keeper by the key of the question.
    sheet : str, optional
        Sheet of a workbook; the first that holds something when not given.
    now : datetime.datetime, optional
        Present time with zone; the clock's when not given.

    Returns
    -------
    Understood
        Every row read, flagged, asked or refused; the counts add up to the rows of the file.

    Raises
    ------
    InputError
        If there is no table in it at all, or an answer cannot be used.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> found = understand("log.csv", b"Datum;KH\n01.02.2026;8,3\n13.02.2026;8,1\n", example_tank())
    >>> [entry.cells["value"] for entry in found.entries], found.counts.read
    (['8.3', '8.1'], 2)
    """
    given = answers or {}
    with uninterrupted():
        grid, asked = read_grid_and_questions(file, content, sheet=sheet, answers=given)
        return understand_grid(grid, tank, given, asked, now=now)


def understand_grid(
    grid: Grid,
    tank: Description,
    answers: Answers,
    asked: Sequence[Question] = (),
    *,
    now: dt.datetime | None = None,
    kept: Kept | None = None,
) -> Understood:
    """Return a table that was read already as it was understood.

    Parameters
    ----------
    grid : Grid
        The table as it stands.
    tank : Description
        The tank that it is for.
    answers : dict of str to str
        Answers of the keeper.
    asked : sequence of Question, optional
        What the reading of the file asks or rests on.
    now : datetime.datetime, optional
        Present time with zone; the clock's when not given.
    kept : Kept, optional
        What was understood of the same table before, and holds where other answers are new.

    Returns
    -------
    Understood
        As ``understand``.

    Raises
    ------
    InputError
        If an answer cannot be used.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> grid = Grid("a.csv", (("date", "KH dKH"), ("2026-02-01", "8.3")))
    >>> understand_grid(grid, example_tank(), {}).counts.data
    1
    """
    now = now or dt.datetime.now(dt.UTC)
    kept = kept or Kept()
    layout, grid = kept.part("layout", (grid,), answers, partial(_laid_out, grid))
    if layout.refusal:
        return _refused(grid, layout, parted_by_single_blanks(grid) or layout.refusal, asked)
    if blanks := parted_by_single_blanks(grid):
        return _refused(grid, layout, blanks, asked)
    # Cells are read with the day in mind; each entry is checked below against the very moment.
    moment, today = now, f"{now.astimezone(tank.zone).date()}"
    read = kept.part(
        "body", (grid, layout, tank, today), answers,
        lambda looked: body_of(grid, layout, tank, looked, now=moment),
    )  # fmt: skip
    if read.refusal:
        return _refused(grid, layout, read.refusal, asked, read.columns, read.made)
    body = read.body
    if read.table:
        made = native_entries(read.table, body)
    else:
        here = RowsOfTank(()) if read.kind == "volumes" else rows_of_tank(body, tank, answers)
        body = body.only(here.of_it) if here.of_it else body
        body, others = rows_of_pass(body, read.kind, tank)
        made = kept.part(
            "made", (body, tank), answers, lambda looked: _MAKERS[read.kind](body, tank, looked)
        )
        made = replace(
            made,
            marks=(*here.marks, *others.marks, *made.marks),
            notes=(*others.notes, *made.notes),
            questions=(*here.questions, *made.questions),
        )
    one_value = read.kind == "readings" and len(body.having("value")) == 1
    stated = not read.table and (read.kind == "laboratory report" or one_value)
    settled = settled_by_limit(body) if stated else frozenset()
    of_cells = [
        mark
        for mark in read.made.marks
        if (mark.row, mark.column) not in settled or mark.said.fate not in ("asked", "refused")
    ]
    marks = [*layout.marks, *of_cells, *made.marks]
    bare = rows_without_entries(read.kind, body, made.entries, marks)
    marks += bare.marks
    questions = {
        q.key: q for q in (*asked, *layout.questions, *read.made.questions, *made.questions)
    }
    entries: Sequence[Entry] = (*made.entries, *bare.entries)
    entries, said = checked(entries, tank, now)
    marks += said
    once = once_only(entries, partial(_texts, grid), answers)
    questions |= {q.key: q for q in once.questions}
    marks += once.marks
    if read.kind in ("readings", "laboratory report"):
        doubts = doubts_in(once.entries, body, tank)
        marks = [*without_guesses(marks, doubts), *doubts]
    chosen = left_out(
        with_doubts(once.entries, marks), marks, _waited_for(questions, marks), answers,
        [at + 1 for at in layout.data_rows],
    )  # fmt: skip
    notes = (
        *grid.notes,
        *layout.notes,
        *read.made.notes,
        *made.notes,
        *bare.notes,
        *once.notes,
        *chosen.notes,
        *unused_answers(answers, list(questions.values()), body.columns, chosen.questions),
    )
    return _understood(
        grid, layout, read.kind, _with_units(body.columns, chosen.entries),
        Made(chosen.entries, chosen.marks, notes, chosen.questions),
    )  # fmt: skip


def _laid_out(grid: Grid, answers: Answers) -> tuple[Layout, Grid]:
    """Return where the table lies, and the table as it is read from there on."""
    layout = find_layout(grid, answers)
    return layout, grid_turned(grid) if layout.turned else grid


def _with_units(columns: tuple[Column, ...], entries: Sequence[Entry]) -> tuple[Column, ...]:
    """Say the unit that was found for a column whose heading names none."""
    used: dict[int | None, set[str]] = {}
    for entry in entries:
        used.setdefault(entry.column, set()).add(entry.cells.get("unit", ""))
    return tuple(
        replace(column, unit=next(iter(used[column.index])))
        if column.role == "value" and not column.unit and len(used.get(column.index, ())) == 1
        else column
        for column in columns
    )


def _waited_for(questions: dict[str, Question], marks: Sequence[Mark]) -> list[Question]:
    """Leave away open questions that no row waits for any more."""
    keys = {mark.said.question for mark in marks if mark.said.fate == "asked"}
    return [question for key, question in questions.items() if not question.open or key in keys]


def _texts(grid: Grid, row: int) -> tuple[str, ...]:
    return tuple(map(text_of, grid.rows[row - 1]))


def _refused(
    grid: Grid,
    layout: Layout,
    refusal: str,
    asked: Sequence[Question],
    columns: tuple[Column, ...] = (),
    made: Made | None = None,
) -> Understood:
    made = made or Made()
    told = {mark.row for mark in made.marks if mark.said.fate == "refused"}
    told |= {mark.row for mark in layout.marks if mark.said.fate == "refused"}
    marks = tuple(Mark(at + 1, None, _WHOLE) for at in layout.data_rows if at + 1 not in told)
    whole = Made(
        (), (*layout.marks, *made.marks, *marks), (*grid.notes, *layout.notes, *made.notes),
        (*asked, *layout.questions, *made.questions),
    )  # fmt: skip
    return replace(_understood(grid, layout, "readings", columns, whole), refusal=refusal)


def _understood(
    grid: Grid, layout: Layout, kind: str, columns: tuple[Column, ...], made: Made
) -> Understood:
    data = tuple(at + 1 for at in layout.data_rows)
    fates: dict[int, Fate] = dict.fromkeys(data, "read")
    for mark in made.marks:
        if mark.row in fates:
            fates[mark.row] = worst((fates[mark.row], mark.said.fate))
    by_fate = Counter(fates.values())
    not_read = tuple((at + 1, why) for at, why in layout.not_read)
    counts = Counts(
        len(grid.rows),
        len(layout.heading_rows),
        len(not_read),
        len(layout.blank),
        *(by_fate[fate] for fate in FATES),
    )
    asked = [question for question in made.questions if question.open]
    return Understood(
        grid,
        kind,
        columns,
        tuple(at + 1 for at in layout.heading_rows),
        data,
        not_read,
        fates,
        made.marks,
        made.notes,
        (*asked, *(question for question in made.questions if not question.open)),
        made.entries,
        counts,
    )
