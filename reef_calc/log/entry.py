"""Appending rows to a table of the tank folder: all of them or none, whatever happens meanwhile."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from itertools import chain, starmap, zip_longest
from operator import ne
from pathlib import Path

from reef_calc.errors import InputError
from reef_calc.log.atomic import replace_file
from reef_calc.log.tables import COLUMNS, NEEDED, read_table, records

_BOM = b"\xef\xbb\xbf"
# Rows that are written at once; their lines are in memory together.
_AT_ONCE = 10_000
_LINE_END = re.compile(rb"\r\n|\n|\r")


def append_rows(folder: str | Path, file: str, rows: Sequence[Mapping[str, str]]) -> int:
    r"""Return how many rows were appended to a table; they are on the disk when this returns.

    Under a lock the file is read, the longer one is written beside it, flushed to the disk and moved
    into its place; the one before is kept in ``.previous``. What the file held stays as it was, byte
    for byte, line ends and byte order mark too.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    file : str
        Name of the table: ``readings.csv``, ``additions.csv``, ``water_changes.csv``, ``events.csv``.
    rows : sequence of dict of str to str
        Cells by column; columns a row does not name stay empty. The order is that of the file.

    Returns
    -------
    int
        Number of rows appended.

    Raises
    ------
    InputError
        If the table, a column or a cell cannot be used, the file as it stands cannot be read, another
        program holds the lock or changes the file meanwhile, or the folder cannot be written. Nothing
        is appended then, unless the disk fails after the move.

    Notes
    -----
    A program that does not know the lock, such as a spreadsheet, is seen only if it saved before the
    move. Save and close it first.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> append_rows(place, "water_changes.csv", [{"time": "2026-02-13", "litres": "40"}])
    1
    >>> (place / "water_changes.csv").read_text()
    'time,litres,salinity,note\n2026-02-13,40,,\n'
    """
    folder = Path(folder)
    if file not in COLUMNS:
        raise InputError("one of " + ", ".join(COLUMNS), file, "Write one of these.", "append_rows")
    if rows:
        replace_file(folder, file, lambda old: longer_table(file, old, rows))
    return len(rows)


def longer_table(
    file: str,
    old: bytes | None,
    rows: Sequence[Mapping[str, str]],
    otherwise: Mapping[str, str] | None = None,
) -> bytes:
    r"""Return the content of a table with rows below it, after reading it back.

    Parameters
    ----------
    file : str
        Name of the table.
    old : bytes or None
        What it holds; None when there is no such file.
    rows : sequence of dict of str to str
        Cells by column, as ``append_rows`` takes them.
    otherwise : dict of str to str, optional
        What stands in a column of the file where a row does not name it; empty when not given.

    Returns
    -------
    bytes
        What it shall hold.

    Raises
    ------
    InputError
        As ``append_rows``, of the content and the rows.

    Examples
    --------
    >>> longer_table("water_changes.csv", b"time,litres", [{"time": "2026-02-13", "litres": "40"}])
    b'time,litres\n2026-02-13,40\n'
    """
    content = (",".join(COLUMNS[file]) + "\n").encode() if old is None else old
    table = read_table(file, content)
    whole = [p for p in table.problems if p.severity == "refused" and table.refused_whole]
    unclosed = [p for p in table.problems if p.reason.startswith("A quote is opened")]
    if whole or unclosed:
        raise InputError(
            "a file that can be read as it stands",
            (whole + unclosed)[0].reason,
            f"{(whole + unclosed)[0].repair} Nothing was written.",
            file,
        )
    header = [name.strip().lower() for name in table.cells[0]]
    places = frozenset(header)
    blanks = [(otherwise or {}).get(name, "") for name in header]
    cells = [_cells(file, header, places, blanks, row) for row in rows]
    found = _LINE_END.search(content)
    end = found[0] if found else b"\n"
    parts = [content if content.endswith((b"\n", b"\r")) else content + end]
    for first in range(0, len(cells), _AT_ONCE):
        parts.append(_csv_text(cells[first : first + _AT_ONCE], file, end))
    new = b"".join(parts)
    del parts
    if not _reads_as(new, table.cells, cells):
        raise InputError(
            "cells that are the same when they are read again",
            ", ".join(cell for record in cells for cell in record if cell),
            "Leave out unusual characters; nothing was written.",
            file,
        )
    return new


def _reads_as(
    content: bytes, before: Sequence[tuple[str, ...]], added: Sequence[tuple[str, ...]]
) -> bool:
    """Return whether a table holds these records and no others; one at a time is in memory."""
    bare = content
    while bare.startswith(_BOM):
        bare = bare.removeprefix(_BOM)
    lines = io.TextIOWrapper(io.BytesIO(bare), "utf-8", "surrogateescape", newline="")
    found = map(tuple, csv.reader(lines, strict=True))
    try:
        # To the very end: where a quote is broken further below, each line is a record instead.
        return not sum(starmap(ne, zip_longest(found, chain(before, added))))
    except csv.Error:
        after, _ = records(bare.decode("utf-8", "surrogateescape"))
        return after == (*before, *added)


def _cells(
    file: str,
    header: list[str],
    places: frozenset[str],
    blanks: list[str],
    row: Mapping[str, str],
) -> tuple[str, ...]:
    known = COLUMNS[file]
    for name, cell in () if _all_plain(places, row) else row.items():
        if name in places and isinstance(cell, str):
            continue
        if not isinstance(cell, str):
            raise InputError("text in every cell", cell, "Write it as text.", f"{file}, {name}")
        if name not in header and (cell or name not in known):
            raise InputError(
                "a column of the file: " + ", ".join(header),
                name,
                "Add the column to the file, and a comma to every row, or leave the cell out."
                if name in known
                else "Use one of these.",
                file,
            )
    # “start” and “amount” of a dose have rules of their own; a row without its time is never right.
    first = NEEDED[file][0]
    if not row.get(first, "").strip():
        raise InputError(f"a {first} in every row", row, "Fill it in.", file)
    return tuple(map(row.get, header, blanks))


def _all_plain(places: frozenset[str], row: Mapping[str, str]) -> bool:
    """Return whether a row names columns of the file only, and all its cells are text."""
    try:
        "".join(row.values())
    except TypeError:
        return False
    return row.keys() <= places


def _csv_text(cells: Sequence[tuple[str, ...]], file: str, end: bytes) -> bytes:
    """Return records as CSV, each with the line end of the file."""
    text = "\n".join([*map(",".join, cells), ""])
    commas = sum(map(len, cells)) - len(cells)
    # Cells without commas, quotes and line ends stand as they are; an empty line would be no record.
    bare = commas and text.count(",") == commas and text.count("\n") == len(cells)
    if bare and '"' not in text and "\r" not in text:
        with suppress(UnicodeEncodeError):
            return text.encode().replace(b"\n", end)
    return end.join([*csv_lines(cells, file), b""])


def csv_lines(cells: Sequence[tuple[str, ...]], file: str) -> list[bytes]:
    """Return each record as CSV, without a line end.

    Parameters
    ----------
    cells : sequence of tuple of str
        Records.
    file : str
        Name of the table, for the message.

    Returns
    -------
    list of bytes
        UTF-8, one for each record.

    Raises
    ------
    InputError
        If a cell cannot be written as UTF-8.

    Examples
    --------
    >>> csv_lines([("2026-02-13", "40, about")], "water_changes.csv")
    [b'2026-02-13,"40, about"']
    """
    written = _Lines()
    # With this line end the writer puts both a carriage return and a line feed in quotes.
    csv.writer(written, lineterminator="\r\n").writerows(cells)
    try:
        return [line[:-2].encode() for line in written.lines]
    except UnicodeEncodeError:
        lines = []
    for record, line in zip(cells, written.lines, strict=True):
        try:
            lines.append(line.removesuffix("\r\n").encode("utf-8"))
        except UnicodeEncodeError as err:
            raise InputError(
                "text that can be written as UTF-8", repr(record), "Type it again.", file
            ) from err
    return lines


class _Lines:
    """What the writer of CSV writes: each record at once."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.write = self.lines.append
