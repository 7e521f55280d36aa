"""A table of a tank folder, brought in again: its own column names say what its columns are."""

from __future__ import annotations

from collections.abc import Sequence

from reef_calc.log.back_out.safe_texts import taken_back
from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.outcome import Entry
from reef_calc.log.foreign.plain_numbers import number_text
from reef_calc.log.tables import COLUMNS, NEEDED, TIMES


def table_of_headings(headings: Sequence[str]) -> str:
    """Return which table of a tank folder has these headings, or an empty text.

    Parameters
    ----------
    headings : sequence of str
        Headings, in the order of the file.

    Returns
    -------
    str
        Such as ``readings.csv``; empty for a foreign table.

    Examples
    --------
    >>> table_of_headings(["time", "litres", "salinity", "note"])
    'water_changes.csv'
    >>> table_of_headings(["date", "KH"])
    ''
    """
    names = [heading.strip().lower() for heading in headings if heading.strip()]
    for table, columns in COLUMNS.items():
        complete = set(NEEDED[table]) <= set(names) <= set(columns)
        # A time and litres are also what a keeper would write; the whole table is ours alone.
        ours = len(NEEDED[table]) > 2 or set(names) == set(columns)
        if complete and ours and len(set(names)) == len(names):
            return table
    return ""


def native_entries(table: str, body: Body) -> Made:
    """Return the rows of a table of a tank folder as they stand, times and numbers in its own form.

    Parameters
    ----------
    table : str
        Name of the table.
    body : Body
        Its rows; the roles of the columns are the table's column names.

    Returns
    -------
    Made
        One entry for each row whose time and numbers can be read.

    Examples
    --------
    >>> from reef_calc.log.foreign.columns import Column
    >>> from reef_calc.log.foreign.outcome import CellNumber, CellTime
    >>> columns = (Column(0, "time", "time"), Column(1, "litres", "litres"))
    >>> body = Body("a.csv", columns, (2,), (CellTime("2026-02-01"),), {1: (CellNumber(40.0),)},
    ...     {0: ("2026-02-01",), 1: ("40",)})
    >>> native_entries("water_changes.csv", body).entries[0].cells
    {'time': '2026-02-01', 'litres': '40'}
    """
    first = TIMES[table][0]
    entries = []
    for at, row in enumerate(body.rows):
        cells: dict[str, str] = {}
        good = bool(body.times[at].iso)
        for column in body.columns:
            text = taken_back(body.texts[column.index][at], ".", False)
            if column.role == first:
                text = body.times[at].iso
            elif column.role in TIMES[table] and body.ends:
                good = good and (bool(body.ends[at].iso) or not text)
                text = body.ends[at].iso
            elif column.index in body.numbers:
                number = body.numbers[column.index][at]
                good = good and all(one.fate in ("read", "flagged") for one in number.said)
                text = number_text(number.value, text)
            if text:
                cells[column.role] = text
        if good:
            entries.append(Entry(row, None, table, cells))
    return Made(tuple(entries))
