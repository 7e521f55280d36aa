"""The rows of a CSV file as they stand there, and reading them cell by cell without guessing."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from reef_calc.log.problems import Problem, Severity
from reef_calc.log.rows import Row

COLUMNS: dict[str, tuple[str, ...]] = {
    "readings.csv": (
        "time", "water", "element", "value", "unit", "u", "limit", "upper", "kit", "lot", "raw",
        "replicate", "salinity", "temperature", "by", "source", "note",
    ),
    "additions.csv": ("start", "end", "supplement", "amount", "unit", "how", "times", "note"),
    "water_changes.csv": ("time", "litres", "salinity", "note"),
    "events.csv": ("time", "kind", "element", "refers_to", "value", "unit", "note"),
}  # fmt: skip
NEEDED: dict[str, tuple[str, ...]] = {
    "readings.csv": ("time", "water", "element", "value", "unit"),
    "additions.csv": ("start", "end", "supplement", "amount", "unit", "how"),
    "water_changes.csv": ("time", "litres"),
    "events.csv": ("time", "kind"),
}

# What stands for a byte that is not UTF-8.
_NOT_UTF8 = re.compile("[\udc80-\udcff]")

# Columns that hold numbers, so that a table written in a comma country comes back.
NUMBERS: dict[str, tuple[str, ...]] = {
    "readings.csv": ("value", "u", "upper", "salinity", "temperature"),
    "additions.csv": ("amount",),
    "water_changes.csv": ("litres", "salinity"),
    "events.csv": ("value",),
}
TIMES: dict[str, tuple[str, ...]] = {
    "readings.csv": ("time",),
    "additions.csv": ("start", "end"),
    "water_changes.csv": ("time",),
    "events.csv": ("time",),
}


@dataclass
class RawTable:
    """A file as it stands: all cells verbatim, and the rows that can be read further.

    Attributes
    ----------
    file : str
        Name of the file.
    cells : tuple of tuple of str
        All records, the header first, verbatim.
    rows : list of Row
        Data rows with the right number of fields.
    problems : list of Problem
        What was wrong so far.
    count : int
        Data rows that are not empty.
    refused_whole : bool
        Whether no row of the file can be read.
    """

    file: str
    cells: tuple[tuple[str, ...], ...] = ()
    rows: list[Row] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    count: int = 0
    refused_whole: bool = False

    def say(
        self, row: int | None, column: str, text: str, severity: Severity, reason: str, repair: str
    ) -> None:
        """Add one problem of this file.

        Parameters
        ----------
        row : int or None
            Row as a spreadsheet shows it; None for the file.
        column, text : str
            Column and text of the cell.
        severity : {"refused", "flagged", "note"}
            How grave.
        reason, repair : str
            Why, and what to do.
        """
        self.problems.append(Problem(self.file, row, column, text, severity, reason, repair))


def records(text: str) -> tuple[tuple[tuple[str, ...], ...], tuple[int, ...]]:
    r"""Return the records of a CSV text, and the positions of those with a broken quote.

    Parameters
    ----------
    text : str
        The whole file. LF, CRLF and CR end a line.

    Returns
    -------
    tuple
        All records with their cells verbatim; positions of records that are a single line which is
        not CSV. With one broken quote each line counts as a record, so that a quote left open
        cannot swallow the rows below it.

    Examples
    --------
    >>> records('a,b\r\n1,"x, y"\r\n')
    ((('a', 'b'), ('1', 'x, y')), ())
    """
    try:
        return tuple(map(tuple, csv.reader(io.StringIO(text, newline=""), strict=True))), ()
    except csv.Error:
        pass
    found: list[tuple[str, ...]] = []
    broken: list[int] = []
    for line in io.StringIO(text, newline=None):
        line = line.removesuffix("\n")
        try:
            found.append(tuple(next(csv.reader([line], strict=True), [])))
        except csv.Error:
            broken.append(len(found))
            found.append((line,))
    return tuple(found), tuple(broken)


def read_table(file: str, content: bytes | None) -> RawTable:
    r"""Return the rows of one table of the tank folder as text.

    Parameters
    ----------
    file : str
        Name of the file; a key of ``COLUMNS``.
    content : bytes or None
        What the file holds; None when there is no such file.

    Returns
    -------
    RawTable
        Cells verbatim, rows ready to be read, and what was wrong.

    Examples
    --------
    >>> read_table("water_changes.csv", b"time,litres\n2026-02-13,40\n").rows[0]["litres"]
    '40'
    """
    table = RawTable(file)
    if content is None:
        table.say(None, "", "", "note", "There is no such file; the table is empty.", "")
        return table
    text = content.decode("utf-8", "surrogateescape").lstrip("\ufeff")
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        text = content.decode("utf-16", "replace").lstrip("\ufeff")
        table.refused_whole = True
        table.say(None, "", "", "refused", "The file is UTF-16 text.", "Save it as CSV in UTF-8.")
    table.cells, broken = records(text)
    full = [i for i, cells in enumerate(table.cells) if i > 0 and any(c.strip() for c in cells)]
    table.count = len(full)
    if not table.refused_whole:
        _check_header(table)
    if table.refused_whole:
        return table
    _note_blank_rows(table, full)
    header = [name.strip().lower() for name in table.cells[0]]
    for i in full:
        row = _row(table, i, header, i in broken)
        if row is not None:
            table.rows.append(row)
    return table


def _check_header(table: RawTable) -> None:
    wanted, needed = COLUMNS[table.file], NEEDED[table.file]
    header = [name.strip().lower() for name in table.cells[0]] if table.cells else []
    missing = [name for name in needed if name not in header]
    twice = sorted({name for name in header if name and header.count(name) > 1})
    if missing or twice:
        table.refused_whole = True
    if missing:
        only = header[0] if len(header) == 1 else ""
        if ";" in only or "\t" in only:
            repair = "The columns are not separated by commas. Save the file with commas."
        elif not header:
            repair = "The file is empty. Its first row names the columns: " + ",".join(wanted)
        else:
            repair = "The first row names the columns: " + ",".join(wanted)
        words = "column " + ", ".join(missing)
        table.say(
            1, "", ",".join(header), "refused", f"The {words} is missing; no row is read.", repair
        )
        return
    for name in twice:
        table.say(
            1, name, name, "refused", "This column is there twice; no row is read.", "Delete one."
        )
    if twice:
        return
    absent = [name for name in wanted if name not in header]
    if absent:
        table.say(
            1, "", "", "note", f"No column {', '.join(absent)}: its cells count as empty.", ""
        )
    for name in header:
        if name and name not in wanted:
            table.say(
                1, name, name, "note", "This column is kept in the file and not used.",
                "Check its spelling: " + ", ".join(wanted) + ".",
            )  # fmt: skip


def _note_blank_rows(table: RawTable, full: list[int]) -> None:
    last = full[-1] if full else 0
    blank = sorted(set(range(1, last)) - set(full))
    if blank:
        rows = ", ".join(str(i + 1) for i in blank[:10]) + (" and more" if len(blank) > 10 else "")
        table.say(None, "", "", "note", f"Empty rows are passed over: {rows}.", "")


def _row(table: RawTable, position: int, header: list[str], broken: bool) -> Row | None:
    cells, number = table.cells[position], position + 1

    def refuse(text: str, reason: str, repair: str) -> None:
        table.say(number, "", text, "refused", reason, repair)

    line = ",".join(cells)
    if broken:
        refuse(line, "A quote is opened and not closed.", "Close it, or delete it.")
    elif _NOT_UTF8.search(line):
        refuse(line, "The row is not UTF-8 text.", "Save the file as CSV in UTF-8.")
    elif len(cells) != len(header):
        refuse(
            line,
            f"The row has {len(cells)} fields and the header {len(header)}.",
            "A decimal comma? Write 8.3, not 8,3, and put a note with commas in quotes."
            if len(cells) > len(header)
            else "A comma left out? Every column needs its comma, also when it is empty.",
        )
    else:
        found = {name: c.strip() for name, c in zip(header, cells, strict=True) if name}
        return Row(table.file, number, found)
    return None


# Short texts looked at one by one: plain Python texts, also where pyarrow happens to be installed.
TEXT = pd.StringDtype("python", na_value=np.nan)


def frame(kinds: dict[str, str], rows: list[dict[str, Any]]) -> pd.DataFrame:
    """Return rows as a DataFrame whose columns have the same types with and without rows.

    Parameters
    ----------
    kinds : dict of str to str
        Type by column: a pandas type, or ``time`` for times in UTC.
    rows : list of dict
        Values by column.

    Returns
    -------
    pandas.DataFrame
        One row each, numbered from 0.

    Examples
    --------
    >>> frame({"time": "time", "litres": "float64"}, []).dtypes.astype(str).tolist()
    ['datetime64[ns, UTC]', 'float64']
    """
    columns: dict[str, pd.Series] = {}
    for name, kind in kinds.items():
        values = [row[name] for row in rows]
        if kind == "time":
            series = pd.Series(pd.DatetimeIndex(pd.to_datetime(values, utc=True)))
            columns[name] = series.astype("datetime64[ns, UTC]")
        else:
            columns[name] = pd.Series(values, dtype=TEXT if kind == "str" else kind)
    return pd.DataFrame(columns)
