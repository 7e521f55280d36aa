"""Every row below the headings of a foreign table: data, a summary, the headings again, or blank."""

from __future__ import annotations

from dataclasses import dataclass, field

from reef_calc.log.foreign.cell_forms import (
    are_units,
    form_of,
    forms_of,
    is_date_word,
    is_heading_word,
    is_ruled,
    is_text_only,
    texts_of,
)
from reef_calc.log.foreign.footers import (
    AGAIN,
    LINE,
    REMARK,
    TITLE,
    YEAR_TITLE,
    is_month_title,
    is_remark,
    is_starred,
    is_year_title,
    summary_named,
)
from reef_calc.log.foreign.grid import Cell, Grid
from reef_calc.log.foreign.heading_groups import Header
from reef_calc.log.foreign.yearless_cells import yearless_date

# Below this many rows from the end a remark may stand.
_FOOT = 200


@dataclass
class Rows:
    """The rows below the headings, by what they are; positions, an index from 0 each.

    Attributes
    ----------
    data : list of int
        Data rows, those of other tables and broken ones with them.
    not_read : list of (int, str)
        Rows that are no data, and why.
    blank : list of int
        Empty rows.
    odd : list of int
        Data rows of this table whose number of fields is not that of the headings.
    other : list of int
        Data rows that stand below other headings.
    tables : list of int
        Rows of those other headings.
    filled : set of int
        Columns that hold something in a data row of this table.
    """

    data: list[int] = field(default_factory=list)
    not_read: list[tuple[int, str]] = field(default_factory=list)
    blank: list[int] = field(default_factory=list)
    odd: list[int] = field(default_factory=list)
    other: list[int] = field(default_factory=list)
    tables: list[int] = field(default_factory=list)
    filled: set[int] = field(default_factory=set)


def is_blank(row: tuple[Cell, ...]) -> bool:
    """Return whether a row is empty.

    Parameters
    ----------
    row : tuple of Cell
        The row.

    Returns
    -------
    bool
        True where no cell holds more than blanks.

    Examples
    --------
    >>> is_blank(("", " ")), is_blank((0.0,))
    (True, False)
    """
    return not any(not isinstance(cell, str) or cell.strip() for cell in row)


def _same(row: tuple[Cell, ...]) -> tuple[str, ...]:
    """Texts of a row to compare it by, empty cells at the end left out."""
    texts = [text.casefold() for text in texts_of(row)]
    while texts and not texts[-1]:
        texts.pop()
    return tuple(texts)


def _begins_other_table(grid: Grid, at: int, date_column: int | None) -> bool:
    """Whether a row of texts among the data is the headings of another table."""
    row = grid.rows[at]
    if not is_text_only(row):
        return False
    following = next((some for some in grid.rows[at + 1 : at + 5] if not is_blank(some)), ())
    if are_units(texts_of(following)):
        after = grid.rows[at + 2 : at + 8]
        following = next((s for s in after if not is_blank(s) and not are_units(texts_of(s))), ())
    under = forms_of(following)
    named = [column for column, cell in enumerate(row) if form_of(cell) == "text"]
    values = [c for c in named if c < len(under) and under[c] in ("number", "date")]
    if any(is_date_word(row[column]) for column in named):
        return bool(values) or not any(under)
    apart = at > 0 and is_blank(grid.rows[at - 1])
    undated = date_column is None or date_column >= len(under) or under[date_column] != "date"
    known = sum(is_heading_word(row[column]) for column in named)
    return apart and undated and bool(values) and (known >= 2 or 2 * len(values) >= len(named))


def rows_below(grid: Grid, start: int, header: Header, width: int, date_column: int | None) -> Rows:
    """Return what every row from the first one below the headings is.

    Parameters
    ----------
    grid : Grid
        The table.
    start : int
        Position of the first row, an index from 0.
    header : Header
        The headings, to know them again.
    width : int
        Number of fields of the headings.
    date_column : int or None
        Column of the dates, an index from 0; None where there is none.

    Returns
    -------
    Rows
        Each row once.

    Examples
    --------
    >>> rows = (("date", "KH"), ("2026-02-01", "8.3"), ("", ""), ("Average", "8.3"))
    >>> found = rows_below(Grid("a.csv", rows), 1, Header((0,)), 2, 0)
    >>> found.data, found.blank, found.not_read
    ([1], [2], [(3, 'an average, not a reading')])
    """
    found = Rows()
    again = {_same(grid.rows[row]) for row in header.rows + header.unit_rows}
    broken, ragged = set(grid.broken), bool(grid.separator)
    longest = max(map(len, grid.rows), default=0)
    elsewhere = False
    for at in range(start, len(grid.rows)):
        row = grid.rows[at]
        lead = date_column if date_column is not None and date_column < len(row) else 0
        first = row[lead] if row else ""
        # A digit, or a workbook's number or date, where dates stand: data without a closer look.
        near = not isinstance(first, str) or not first[:1].isdigit() or len(first.strip()) == 4
        if at not in broken and near:
            if is_blank(row):
                found.blank.append(at)
                continue
            why, elsewhere, new = _closer(grid, at, again, date_column, elsewhere)
            if new:
                found.tables.append(at)
            if why:
                found.not_read.append((at, why))
                continue
        found.data.append(at)
        if elsewhere:
            found.other.append(at)
            continue
        if ragged and len(row) != width and at not in broken:
            found.odd.append(at)
        if len(found.filled) < longest and at not in broken:
            for column, cell in enumerate(row):
                if cell != "" and column not in found.filled and form_of(cell):
                    found.filled.add(column)
    _take_remarks(grid, found)
    return found


def _closer(
    grid: Grid, at: int, again: set[tuple[str, ...]], date_column: int | None, elsewhere: bool
) -> tuple[str, bool, bool]:
    """Why a row is not read, whether it stands below other headings, whether it is such headings."""
    row = grid.rows[at]
    first = next((cell for cell in row if form_of(cell)), "")
    form = form_of(first)
    if date_column is not None:
        title = _title(row, date_column)
        if title and _dated_below(grid, at, date_column):
            return title, elsewhere, False
    if form not in ("text", "line", "word"):
        return "", elsewhere, False
    if is_ruled(forms_of(row)):
        return LINE, elsewhere, False
    if _same(row) in again:
        return AGAIN, False, False
    if why := summary_named(row, date_column):
        return why, elsewhere, False
    if _begins_other_table(grid, at, date_column):
        return f"headings of another table: {', '.join(filter(None, texts_of(row)))}", True, True
    if elsewhere and at - 1 >= 0 and are_units(texts_of(row)):
        return "units of another table", True, False
    return "", elsewhere, False


def _title(row: tuple[Cell, ...], date_column: int) -> str:
    if is_month_title(row):
        return TITLE
    return YEAR_TITLE if is_year_title(row, date_column) else ""


def _dated_below(grid: Grid, at: int, date_column: int) -> bool:
    """Return whether the next row that is no title has a date of its own."""
    rows = (grid.rows[below] for below in range(at + 1, len(grid.rows)))
    filled = (row for row in rows if any(map(form_of, row)))
    below = next((row for row in filled if not _title(row, date_column)), ())
    if date_column >= len(below):
        return False
    cell = below[date_column]
    return form_of(cell) in ("date", "number") or yearless_date(cell) is not None


def _take_remarks(grid: Grid, found: Rows) -> None:
    """Move remarks at the end from the data rows to those that are not read."""
    broken, alone = set(grid.broken), len(found.filled) < 2
    end = max(found.data[-1:] + [row for row, _ in found.not_read[-1:]], default=0)
    while found.data and found.data[-1] > end - _FOOT and found.data[-1] not in broken:
        at = found.data[-1]
        row = grid.rows[at]
        if not is_remark(row) or (alone and not is_starred(str(row[0]))):
            break
        found.data.pop()
        found.not_read.append((at, REMARK))
        found.odd = [row for row in found.odd if row != at] if found.odd[-1:] == [at] else found.odd
        if found.other[-1:] == [at]:
            found.other.pop()
    found.not_read.sort()
