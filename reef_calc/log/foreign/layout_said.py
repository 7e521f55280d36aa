"""How a table was found in a foreign file, in words, and the question which row holds its headings."""

from __future__ import annotations

from collections.abc import Sequence

from reef_calc.log.foreign.footers import AGAIN
from reef_calc.log.foreign.grid import Grid, text_of
from reef_calc.log.foreign.header_rows import heading_row
from reef_calc.log.foreign.heading_groups import Header
from reef_calc.log.foreign.outcome import Choice, Question, Said
from reef_calc.log.foreign.ragged_rows import named_rows
from reef_calc.log.foreign.table_rows import Rows
from reef_calc.messages import Message

KEY = "header row/file"
NONE = "none"


def other_said(row: int, rows: Rows, above: Sequence[int]) -> Said:
    """Return what is said of a row that these headings do not tell about.

    Parameters
    ----------
    row : int
        Its position, an index from 0.
    rows : Rows
        All rows below the headings.
    above : sequence of int
        Positions (index from 0) of rows above the headings that look like data.

    Returns
    -------
    Said
        It is refused.

    Examples
    --------
    >>> other_said(5, Rows(tables=[4]), []).code
    'OTHER_TABLE'
    """
    if row in above:
        return Said(
            "refused",
            "ABOVE_HEADINGS",
            "This row stands above the headings, so they do not tell what its cells are.",
            "Say which row holds its headings, or move it below them.",
        )
    heads = max((table for table in rows.tables if table < row), default=row)
    return Said(
        "refused",
        "OTHER_TABLE",
        f"This row belongs to another table, whose headings stand in row {heads + 1}.",
        f"Bring the file in once more and say that row {heads + 1} holds the headings.",
    )


def how_found(header: Header, rows: Rows, above: Sequence[int]) -> tuple[Message, ...]:
    """Return how the table was found, where that is not plain.

    Parameters
    ----------
    header : Header
        The headings.
    rows : Rows
        All rows.
    above : sequence of int
        Positions (index from 0) of rows above the headings that look like data.

    Returns
    -------
    tuple of Message
        Codes ``NO_HEADINGS``, ``HEADER_ROW``, ``TWO_HEADER_ROWS`` and ``OTHER_TABLE``.

    Examples
    --------
    >>> how_found(Header((2,)), Rows(not_read=[(0, "text above the table")]), [])[0].text
    'Row 3 holds the headings.'
    """
    notes = []
    before = [row for row, why in rows.not_read if header.rows and row < header.rows[0]]
    if not header.rows and rows.data:
        text = f"There are no headings: row {min(rows.data) + 1} is data already. Say what each column is."
        notes.append(Message("NO_HEADINGS", text))
    elif before or above:
        where = named_rows(header.rows)
        hold = "holds" if len(header.rows) == 1 else "hold"
        notes.append(Message("HEADER_ROW", f"{where[0].upper()}{where[1:]} {hold} the headings."))
    if len(header.rows) > 1:
        text = f"The headings of {named_rows(header.rows)} are read together, upper with lower."
        notes.append(Message("TWO_HEADER_ROWS", text))
    if rows.tables:
        where = named_rows(rows.tables)
        other = [row for row in rows.other if row not in above]
        text = (
            f"Other headings stand in {where}: only the rows of the first table are read, "
            f"{len(other)} below the others are refused."
        )
        notes.append(Message("OTHER_TABLE", text))
    return tuple(notes)


def nothing_read(header: Header, rows: Rows) -> str:
    """Return why no row can be read, where there is no data row; empty otherwise.

    Parameters
    ----------
    header : Header
        The headings.
    rows : Rows
        All rows.

    Returns
    -------
    str
        The reason and the repair.

    Examples
    --------
    >>> nothing_read(Header((0,)), Rows())
    'There is a header and no row below it. Export the file again, with its rows.'
    """
    if rows.data and len(rows.data) > len(rows.other):
        return ""
    if rows.data:
        return "No data stand below these headings. Say which row holds the headings."
    if header.rows:
        return "There is a header and no row below it. Export the file again, with its rows."
    return (
        "There is no table in this file: no row holds a number or a date beside another cell. Bring in "
        "a table with a row of headings and a row for each reading."
    )


def header_question(
    grid: Grid, header: Header, rows: Rows, above: Sequence[int], given: str, fits: bool
) -> tuple[Question, ...]:
    """Return the question which row holds the headings, where that is not plain.

    Parameters
    ----------
    grid : Grid
        The table.
    header : Header
        The headings as they are taken.
    rows : Rows
        All rows.
    above : sequence of int
        Positions (index from 0) of rows above the headings that look like data.
    given : str
        Answer of the keeper.
    fits : bool
        Whether it is a row that holds something, or ``none``.

    Returns
    -------
    tuple of Question
        One, or none.

    Examples
    --------
    >>> grid = Grid("a.csv", (("2026-02-01", "8.3"),))
    >>> header_question(grid, Header(), Rows(data=[0]), [], "", False)[0].assumed
    'none'
    """
    found = str(header.rows[-1] + 1) if header.rows else NONE
    plain = header.rows and not any(row < header.rows[0] for row, _ in rows.not_read)
    if not given and (not rows.data or (plain and not rows.tables and not above)):
        return ()
    likely = heading_row(grid) if given else None
    heads = [*header.rows[-1:], *rows.tables] or [min(rows.data, default=0)]
    heads = sorted({*heads, heads[0] if likely is None else likely})
    offered = []
    for head in heads:
        named = ", ".join(text_of(cell) for cell in grid.rows[head] if text_of(cell))[:80]
        ends = [*heads, *(row for row, why in rows.not_read if why == AGAIN)]
        end = min((other for other in ends if other > head), default=len(grid.rows))
        count = sum(head < row < end for row in rows.data)
        if header.rows and head == header.rows[-1]:
            count = len(rows.data) - len(rows.other)
        what = f"{count} {'row' if count == 1 else 'rows'} below it would be read."
        offered.append(Choice(str(head + 1), f"Row {head + 1}: {named}", what))
    offered.append(Choice(NONE, "No row", "The columns have no headings; say what each one is."))
    text = "Which row holds the headings?"
    if given and not fits:
        text = f"“{given[:40]}” is no row of this file that holds something. {text}"
    return (
        Question(
            KEY,
            text,
            tuple(offered),
            typed="number of the row",
            assumed=found,
            answered=given if given and fits else "",
        ),
    )
