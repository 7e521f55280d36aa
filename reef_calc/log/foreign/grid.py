"""A foreign table as it stands: cells in their places, before anything is understood."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from reef_calc.messages import Message

# Text files give texts only; workbooks also numbers, dates and times of day.
Cell = str | float | dt.datetime | dt.date | dt.time


@dataclass(frozen=True)
class Grid:
    """One table of a foreign file, every line of it, also the empty ones.

    Attributes
    ----------
    file : str
        Name of the file, for messages.
    rows : tuple of tuple of Cell
        Cells as they stand, empty ones as empty text. Row ``i`` is row ``i + 1`` of a spreadsheet
        that shows the file. Rows may differ in length.
    merged : tuple of (int, int, int, int)
        Merged cells of a workbook: first row, first column, last row, last column, counted from 0.
    sheet : str
        Name of the sheet; empty for a text file.
    sheets : tuple of str
        Names of all sheets that hold something.
    broken : tuple of int
        Rows (counted from 0) that are not CSV, such as a quote left open; each is one cell.
    separator : str
        What parts the cells of a text file; empty for a workbook.
    notes : tuple of Message
        How it was read, a sentence each: codes ``ENCODING``, ``SEPARATOR``, ``DATE_SYSTEM``, ...
    """

    file: str
    rows: tuple[tuple[Cell, ...], ...]
    merged: tuple[tuple[int, int, int, int], ...] = ()
    sheet: str = ""
    sheets: tuple[str, ...] = ()
    broken: tuple[int, ...] = ()
    separator: str = ""
    notes: tuple[Message, ...] = ()


def text_of(cell: Cell) -> str:
    """Return a cell as a person would read it.

    Parameters
    ----------
    cell : Cell
        The cell.

    Returns
    -------
    str
        Its text without blanks at the ends; whole numbers without a decimal point.

    Examples
    --------
    >>> text_of(420.0), text_of(" 8,3 "), text_of(dt.date(2026, 2, 1))
    ('420', '8,3', '2026-02-01')
    """
    if isinstance(cell, str):
        return cell.strip()
    if isinstance(cell, dt.datetime):
        return cell.isoformat(sep=" ")
    if isinstance(cell, dt.date | dt.time):
        return cell.isoformat()
    if not math.isfinite(cell):
        return repr(cell)
    return str(int(cell)) if cell == int(cell) and abs(cell) < 1e15 else repr(cell)


def column_letter(column: int) -> str:
    """Return the letters that a spreadsheet shows above a column.

    Parameters
    ----------
    column : int
        Column, counted from 0.

    Returns
    -------
    str
        A to Z, AA and so on.

    Examples
    --------
    >>> column_letter(0), column_letter(27)
    ('A', 'AB')
    """
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
