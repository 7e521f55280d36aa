"""Workbooks are read in a process of their own: a fault in the reader cannot end the notebook."""

from __future__ import annotations

import datetime as dt
import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reef_calc.log.foreign.file_limits import COLUMNS, unusable

_SECONDS = 60
_KINDS: dict[str, Any] = {
    "date": dt.date.fromisoformat,
    "datetime": dt.datetime.fromisoformat,
    "time": dt.time.fromisoformat,
    "timedelta": lambda seconds: dt.timedelta(seconds=seconds),
}


@dataclass(frozen=True)
class SheetRead:
    """One sheet of a workbook, as its reader gives it.

    Attributes
    ----------
    sheets, hidden : tuple of str
        Names of all sheets that hold something; of those that are hidden.
    rows : list of list
        Cells of the sheet.
    merged : tuple of (int, int, int, int)
        Merged cells: first row, first column, last row, last column (index from 0).
    """

    sheets: tuple[str, ...]
    hidden: tuple[str, ...]
    rows: list[list[Any]]
    merged: tuple[tuple[int, int, int, int], ...]


def read_sheet(file: str, content: bytes, sheet: str) -> SheetRead:
    """Return one sheet of a workbook.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    content : bytes
        The whole file.
    sheet : str
        Name of the sheet; empty for the first that holds something.

    Returns
    -------
    SheetRead
        The sheet.

    Raises
    ------
    InputError
        If the workbook is damaged, or asks for more memory or time than a log of a tank can need.

    Examples
    --------
    >>> read_sheet("old.xls", b"cut short", "")
    Traceback (most recent call last):
    reef_calc.errors.InputError: old.xls: needed a text file or workbook with a table, given “a
    damaged or far too large workbook”. Open it in a spreadsheet, save it as XLSX, and bring
    that in.
    """
    again = "Open it in a spreadsheet, save it as XLSX, and bring that in."
    child = Path(__file__).with_name("workbook_child.py")
    command = [sys.executable, "-P", str(child), sheet.replace("\x00", "")]
    quiet = {**os.environ, "RUST_BACKTRACE": "0"}
    try:
        run = subprocess.run(
            command, input=content, capture_output=True, timeout=_SECONDS, env=quiet, check=True
        )
        answer = json.loads(run.stdout)
    except (subprocess.SubprocessError, OSError, ValueError) as error:
        raise unusable(file, "a damaged or far too large workbook", again) from error
    if "large" in answer:
        rows, columns = answer["large"]
        needed = f"a sheet of at most {COLUMNS} columns and 6,000,000 cells"
        raise unusable(file, f"{rows:,} rows and {columns:,} columns", again, needed)
    cells = [
        [_cell(cell) if type(cell) is list else cell for cell in row] for row in answer["rows"]
    ]
    merged = tuple((a, b, c, d) for a, b, c, d in answer["merged"])
    return SheetRead(tuple(answer["sheets"]), tuple(answer["hidden"]), cells, merged)


def _cell(cell: Any) -> Any:
    return _KINDS[cell[0]](cell[1])
