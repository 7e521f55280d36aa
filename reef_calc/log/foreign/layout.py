"""Where the table of a foreign file lies: headings, units, data rows, and what is not read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest

from reef_calc.log.foreign.cell_forms import form_of, forms_of, is_ruled
from reef_calc.log.foreign.footers import ABOVE, LINE, REMARK, dates_column, volume_offered
from reef_calc.log.foreign.grid import Grid, text_of
from reef_calc.log.foreign.header_rows import LOOKED_AT, heading_row
from reef_calc.log.foreign.heading_groups import Header, header_at
from reef_calc.log.foreign.layout_said import (
    KEY,
    NONE,
    header_question,
    how_found,
    nothing_read,
    other_said,
)
from reef_calc.log.foreign.outcome import Answers, Mark, Question
from reef_calc.log.foreign.ragged_rows import (
    Ragged,
    broken_said,
    digits_as_notes,
    ragged_rows,
    row_names_beside,
)
from reef_calc.log.foreign.table_rows import Rows, is_blank, rows_below
from reef_calc.log.foreign.turned import row_of_dates, turn_question
from reef_calc.messages import Message


@dataclass(frozen=True)
class Layout:
    """Where the table of a foreign file lies.

    Every row of the grid is in exactly one of ``heading_rows``, ``data_rows``, ``not_read`` and
    ``blank``. A row that is refused as a whole stays in ``data_rows`` and has a mark.

    Attributes
    ----------
    heading_rows : tuple of int
        Positions (index from 0) of the headings and of the row of units, in order.
    headings : tuple of str
        By column; of two rows the upper and the lower one joined by a blank.
    groups, parts : tuple of str
        By column: upper and lower heading of a header of two rows; empty otherwise.
    unit_texts : tuple of str
        By column: what a row of units below the headings says; empty otherwise.
    columns : tuple of int
        Columns (index from 0) that hold something.
    data_rows : tuple of int
        Positions (index from 0) of the data rows.
    not_read : tuple of (int, str)
        Positions of rows that are no data, and why.
    blank : tuple of int
        Positions of empty rows.
    marks : tuple of Mark
        Rows that are refused as a whole.
    notes : tuple of Message
        How the table was found.
    questions : tuple of Question
        What is asked, or rests on an assumption.
    refusal : str
        Why no row can be read, with the repair; empty where rows can be read.
    turned : bool
        Whether the table runs from left to right: then all this speaks of ``grid_turned(grid)``.
    """

    heading_rows: tuple[int, ...] = ()
    headings: tuple[str, ...] = ()
    groups: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    unit_texts: tuple[str, ...] = ()
    columns: tuple[int, ...] = ()
    data_rows: tuple[int, ...] = ()
    not_read: tuple[tuple[int, str], ...] = ()
    blank: tuple[int, ...] = ()
    marks: tuple[Mark, ...] = ()
    notes: tuple[Message, ...] = ()
    questions: tuple[Question, ...] = ()
    refusal: str = ""
    turned: bool = False


def grid_turned(grid: Grid) -> Grid:
    """Return a table with rows and columns exchanged.

    Parameters
    ----------
    grid : Grid
        The table.

    Returns
    -------
    Grid
        What stood in column B is row 2.

    Examples
    --------
    >>> grid_turned(Grid("a.csv", (("", "2026-02-01"), ("KH", "8.3")))).rows
    (('', 'KH'), ('2026-02-01', '8.3'))
    """
    rows = tuple(zip_longest(*grid.rows, fillvalue=""))
    merged = tuple((left, top, right, bottom) for top, left, bottom, right in grid.merged)
    return replace(grid, rows=rows, merged=merged)


def find_layout(grid: Grid, answers: Answers) -> Layout:
    """Return where the table lies: every row is a heading, data, blank, or not read with the reason.

    Parameters
    ----------
    grid : Grid
        The table as it stands.
    answers : dict of str to str
        Answers of the keeper: ``header row/file`` and ``turn/file`` concern this.

    Returns
    -------
    Layout
        Headings, data rows and the rest.

    Examples
    --------
    >>> found = find_layout(Grid("a.csv", (("Tank 3",), ("date", "KH"), ("2026-02-01", "8.3"))), {})
    >>> found.headings, found.data_rows, found.not_read
    (('date', 'KH'), (2,), ((0, 'text above the table'),))
    """
    at = row_of_dates(grid)
    if at is None:
        return _downward(grid, answers)
    question = turn_question(grid, at, answers)
    if question.answered == "no":
        found = _downward(grid, answers)
        return replace(found, questions=(question, *found.questions))
    turned = grid_turned(grid)
    found = _downward(turned, answers)
    # What stood above the dates is beside them now, as columns without a row of data.
    text = [c for c in found.columns
            if c < at and not any(text_of(turned.rows[row][c]) for row in found.data_rows)]  # fmt: skip
    words = "; ".join(found.headings[column] for column in text)
    found = replace(found, columns=tuple(c for c in found.columns if c not in text))
    above = (Message("TEXT_ABOVE", f"Text above the dates is not read: {words}."),) if text else ()
    told = Message(
        "TURNED",
        f"Row {at + 1} holds the dates, so the table was turned: what is said here of row 2 stands in "
        "column B of the file.",
    )
    return replace(
        found,
        turned=True,
        notes=(told, *above, *found.notes),
        questions=(question, *found.questions),
    )


def _downward(grid: Grid, answers: Answers) -> Layout:
    """Find the layout of a table whose rows are days, or elements of one report."""
    filled = [at for at, row in enumerate(grid.rows) if not is_blank(row)]
    if not filled:
        text = "The file is empty: no cell holds anything. Export it again, with its rows."
        return Layout(blank=tuple(range(len(grid.rows))), refusal=text)
    given = answers.get(KEY, "").strip()
    fits = given == NONE or (given.isdecimal() and len(given) < 10 and int(given) - 1 in filled)
    if given and fits:
        at = None if given == NONE else int(given) - 1
    else:
        at = heading_row(grid)
    header = Header() if at is None else header_at(grid, at, alone=bool(given and fits))
    start = header.end if at is not None else _first_data(grid)
    near = list(range(start, min(len(grid.rows), start + LOOKED_AT)))
    sample = [grid.rows[row] for row in near if row in grid.broken or not is_blank(grid.rows[row])]
    header, beside = _beside_row_names(grid, header, near)
    width = header.width or _usual_width(grid, start)
    dated = dates_column(sample, header.headings)
    rows = rows_below(grid, start, header, width, dated)
    above = _above(grid, header, start, dated, rows)
    ragged = _ragged(grid, rows, width, header.headings)
    headings = header.headings + ("",) * (max(rows.filled, default=-1) + 1 - len(header.headings))
    full = len(headings)
    pad = ("",) * (full - len(header.headings))
    marks = [Mark(row + 1, None, broken_said()) for row in rows.data if row in set(grid.broken)]
    marks += [Mark(row + 1, None, other_said(row, rows, above)) for row in rows.other
              if row not in grid.broken]  # fmt: skip
    marks += ragged.marks
    not_read = tuple(sorted(rows.not_read))
    return Layout(
        tuple(sorted(header.rows + header.unit_rows)),
        headings,
        header.groups + pad,
        header.parts + pad,
        header.unit_texts + pad,
        tuple(c for c in range(full) if headings[c] or c in rows.filled or _unit(header, c)),
        tuple(sorted(rows.data)),
        not_read,
        tuple(sorted(rows.blank)),
        tuple(sorted(marks, key=lambda mark: mark.row)),
        (*beside, *how_found(header, rows, above), *ragged.notes,
         *volume_offered(grid, [row for row, why in not_read if why in (ABOVE, REMARK)])),
        header_question(grid, header, rows, above, given, fits),
        ragged.refusal or nothing_read(header, rows),
    )  # fmt: skip


def _unit(header: Header, column: int) -> str:
    return header.unit_texts[column] if column < len(header.unit_texts) else ""


def _first_data(grid: Grid) -> int:
    """Find the first row that holds a number or date beside another cell, where there are no headings."""
    widest = max(sum(map(bool, forms_of(row))) for row in grid.rows[:LOOKED_AT])
    for at, row in enumerate(grid.rows):
        forms = forms_of(row)
        if at in grid.broken:
            return at
        if ("number" in forms or "date" in forms) and (sum(map(bool, forms)) > 1 or widest == 1):
            return at
    return len(grid.rows)


def _usual_width(grid: Grid, start: int) -> int:
    """Count the most frequent number of fields, where no headings tell it."""
    counted = Counter(len(row) for row in grid.rows[start : start + 1000] if not is_blank(row))
    return counted.most_common(1)[0][0] if counted else 0


def _beside_row_names(
    grid: Grid, header: Header, near: Sequence[int]
) -> tuple[Header, tuple[Message, ...]]:
    """Headings moved by one where the rows begin with a number that the headings leave out."""
    rows = [row for row in near if not is_blank(grid.rows[row])]
    if not header.rows or not row_names_beside(grid, rows, header.headings):
        return header, ()
    text = (
        "The first field of every row counts the rows and has no heading: the headings belong to the "
        "columns from B on."
    )
    moved = replace(
        header,
        headings=("", *header.headings),
        groups=("", *header.groups),
        parts=("", *header.parts),
        unit_texts=("", *header.unit_texts),
        width=header.width + 1,
    )
    return moved, (Message("ROW_NAMES", text),)


def _above(grid: Grid, header: Header, start: int, dated: int | None, rows: Rows) -> list[int]:
    """Sort the rows above the headings into ``rows``; return those that look like data."""
    heads, data = set(header.rows + header.unit_rows), []
    for at in range(start):
        row = grid.rows[at]
        forms = forms_of(row)
        if at in heads:
            continue
        if is_blank(row):
            rows.blank.append(at)
        elif is_ruled(forms):
            rows.not_read.append((at, LINE))
        elif at in grid.broken or (
            dated is not None and dated < len(row) and form_of(row[dated]) == "date"
            and ("number" in forms or "word" in forms)
        ):  # fmt: skip
            data.append(at)
        else:
            rows.not_read.append((at, ABOVE))
    rows.data += data
    rows.other += data
    return data


def _ragged(grid: Grid, rows: Rows, width: int, headings: tuple[str, ...]) -> Ragged:
    other = set(rows.other)
    own = [row for row in rows.data if row not in other]
    ragged = ragged_rows(grid, rows.odd, own, width) if rows.odd else Ragged()
    cut = ragged.refusal or digits_as_notes(grid, own[:1000], headings)
    return replace(ragged, refusal=cut)
