"""The cells of a workbook: one sheet of an XLSX, ODS or XLS file."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from reef_calc.errors import InputError
from reef_calc.log.foreign.file_limits import FileKind, unusable
from reef_calc.log.foreign.grid import Cell, column_letter
from reef_calc.log.foreign.invisible import CellTexts
from reef_calc.log.foreign.outcome import Answers, Choice, Question
from reef_calc.log.foreign.parts_of_ods import scan_ods
from reef_calc.log.foreign.parts_of_xlsx import scan_xlsx
from reef_calc.log.foreign.workbook_parts import (
    SheetParts,
    measured_parts,
    packed_anew,
    walk_xml,
)
from reef_calc.log.foreign.workbook_process import read_sheet
from reef_calc.messages import Message

KEY = "sheet/file"
# All texts of all cells together, with a text that many cells share counted for each of them.
_MOST_TEXT = 400 * 1024**2
_AGAIN = "Open it in a spreadsheet, save it again as XLSX, and bring that in."


@dataclass
class WorkbookTable:
    """One sheet of a workbook.

    Attributes
    ----------
    rows : tuple of tuple of Cell
        Its cells, from the first row and column on.
    merged : tuple of (int, int, int, int)
        Merged cells: first row, first column, last row, last column (index from 0).
    sheet : str
        Its name.
    sheets : tuple of str
        Names of all sheets that hold something.
    notes : list of Message
        How it was read.
    questions : list of Question
        Which sheet, where several hold something.
    """

    rows: tuple[tuple[Cell, ...], ...] = ()
    merged: tuple[tuple[int, int, int, int], ...] = ()
    sheet: str = ""
    sheets: tuple[str, ...] = ()
    notes: list[Message] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)


def read_workbook(
    file: str, content: bytes, kind: FileKind, sheet: str, answers: Answers
) -> WorkbookTable:
    """Return one sheet of a workbook. No formula is run: only results that are stored are read.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    content : bytes
        The whole file.
    kind : {"xlsx", "ods", "xls"}
        What it is.
    sheet : str
        Name of the sheet; empty for the first that holds something, or the answer ``sheet/file``.
    answers : dict of str to str
        Answers of the keeper.

    Returns
    -------
    WorkbookTable
        The sheet, and how it was read.

    Raises
    ------
    InputError
        If the workbook is too large, damaged, protected or empty, or has no such sheet.

    Examples
    --------
    >>> import io, openpyxl
    >>> book, target = openpyxl.Workbook(), io.BytesIO()
    >>> book.active.append(["KH", 8.3])
    >>> book.save(target)
    >>> read_workbook("log.xlsx", target.getvalue(), "xlsx", "", {}).rows
    (('KH', 8.3),)
    """
    table = WorkbookTable()
    wanted = sheet or answers.get(KEY, "")
    known: dict[str, SheetParts] = {}
    if kind != "xls":
        content, from_1904, sheets = _safe(file, content, kind)
        known = {one.name: one for one in sheets}
        wanted = wanted or next((one.name for one in sheets if one.rows), "")
        if from_1904:
            words = "The workbook counts its days from 1904; its dates were read that way."
            table.notes.append(Message("DATE_SYSTEM", words))
    read = read_sheet(file, content, wanted)
    table.sheets = read.sheets
    table.sheet = _chosen(file, table, wanted)
    parts = known.get(table.sheet, SheetParts(table.sheet))
    table.merged = read.merged or tuple(parts.merged)
    texts = CellTexts()
    table.rows = tuple(_row(row, texts, at, parts) for at, row in enumerate(read.rows))
    _tell(table, parts, set(read.hidden), answers.get(KEY, ""))
    table.notes += texts.notes()
    return table


def _safe(file: str, content: bytes, kind: FileKind) -> tuple[bytes, bool, tuple[SheetParts, ...]]:
    """Return a workbook of measured parts, whether days count from 1904, and its sheets."""
    parts = measured_parts(file, content)
    if b"encryption-data" in parts.get("META-INF/manifest.xml", b""):
        repair = "Save a copy without the password, and bring that in."
        raise unusable(file, "a workbook protected by a password", repair)
    large = ("content.xml", "xl/sharedStrings.xml", "mimetype")
    for name, part in parts.items():
        # The large ones are walked once below; the others only so that none declares a bomb.
        if name not in large and not name.startswith("xl/worksheets/sheet"):
            walk_xml(file, part, lambda name, attributes: None)
    if kind == "ods":
        return packed_anew(parts), False, scan_ods(file, parts["content.xml"], _MOST_TEXT)
    sheets, from_1904 = scan_xlsx(file, parts, _MOST_TEXT)
    return packed_anew(parts), from_1904, sheets


def _chosen(file: str, table: WorkbookTable, wanted: str) -> str:
    if not table.sheets:
        raise unusable(file, "an empty workbook", "Take another file.")
    if wanted and wanted not in table.sheets:
        needed = "a sheet that holds something: " + ", ".join(table.sheets)
        raise InputError(needed, wanted, "Choose one of them.", file)
    return wanted or table.sheets[0]


def _row(row: list[Any], texts: CellTexts, at: int, parts: SheetParts) -> tuple[Cell, ...]:
    cells: list[Cell] = []
    for column, cell in enumerate(row):
        kind = type(cell)
        if kind is str:
            if not cell and parts.texts:
                cell = parts.texts.get((at, column), "")
            cells.append(texts.clean(cell) if cell else "")
        elif kind is float:
            # A number that is none would be no cell that a spreadsheet could show.
            cells.append(cell if math.isfinite(cell) else "#NUM!")
        else:
            cells.append(_other(cell))
    return tuple(cells)


def _other(cell: Any) -> Cell:
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, dt.timedelta):
        seconds = round(cell.total_seconds())
        sign, seconds = ("-", -seconds) if seconds < 0 else ("", seconds)
        return f"{sign}{seconds // 3600}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
    if isinstance(cell, dt.datetime):
        # Days are stored as fractions of a day: the last digits are noise.
        nearest = cell.replace(microsecond=0) + dt.timedelta(seconds=round(cell.microsecond / 1e6))
        return nearest if abs(nearest - cell) <= dt.timedelta(milliseconds=5) else cell
    if isinstance(cell, dt.date | dt.time):
        return cell
    if isinstance(cell, int):
        return float(cell)
    return "" if cell is None else str(cell)


def _listed(items: Iterable[str], most: int = 10) -> str:
    found = list(items)
    return ", ".join(found[:most]) + (f" and {len(found) - most} more" if len(found) > most else "")


def _tell(table: WorkbookTable, parts: SheetParts, hidden: set[str], answer: str) -> None:
    """Add notes on the sheet that was taken, and on what it does not show."""
    say = table.notes.append
    others = [name for name in table.sheets if name != table.sheet]
    if others:
        words = f"The sheet “{table.sheet}” is read. Not read: {_listed(others)}."
        say(Message("SHEETS", words))
        choices = tuple(
            Choice(name, name, "Hidden in the workbook." if name in hidden else "")
            for name in table.sheets
        )
        text = "Which sheet of the workbook is to be read?"
        table.questions.append(Question(KEY, text, choices, assumed=table.sheet, answered=answer))
    if table.sheet in hidden:
        say(Message("HIDDEN", f"The sheet “{table.sheet}” is hidden in the workbook; it is read."))
    rows = sorted(row for row in parts.hidden_rows if row < parts.rows)
    if rows:
        words = _listed(str(row + 1) for row in rows)
        say(Message("HIDDEN", f"Hidden rows are read like the others: {words}."))
    columns = sorted(column for column in parts.hidden_columns if column < parts.columns)
    if columns:
        words = _listed(column_letter(column) for column in columns)
        say(Message("HIDDEN", f"Hidden columns are read like the others: {words}."))
    missing = parts.without_result
    if missing:
        words = _listed(f"{column_letter(column)}{row + 1}" for row, column in missing)
        text = f"Formulas without a stored result count as empty cells: {words}. {_AGAIN}"
        say(Message("FORMULAS", text, "qualified"))
    if parts.formulas > len(missing):
        count = parts.formulas - len(missing)
        cells = "1 cell holds a formula" if count == 1 else f"{count} cells hold formulas"
        say(Message("FORMULAS", f"{cells}; stored results are read, nothing is worked out again."))
