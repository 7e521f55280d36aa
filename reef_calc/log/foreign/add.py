"""Adding what was understood of a foreign file to the tank: once, at once, and so that it can be undone."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from reef_calc.errors import InputError
from reef_calc.log.atomic import folder_held, in_place_of
from reef_calc.log.entry import csv_lines, longer_table
from reef_calc.log.foreign.outcome import Entry
from reef_calc.log.foreign.same_rows import already_there, held_already, rows_as_cells
from reef_calc.log.foreign.undo_list import (
    FOLDER,
    AddedBefore,
    AddedRows,
    imports_before,
    list_file,
    with_import,
)
from reef_calc.log.foreign.uninterrupted import uninterrupted
from reef_calc.log.tables import COLUMNS, records
from reef_calc.log.toml_files import described, file_bytes

__all__ = ["Added", "add_entries", "already_there"]


@dataclass(frozen=True)
class Added:
    """What was added.

    Attributes
    ----------
    tables : dict of str to int
        Number of rows added, by table.
    already : int
        Number of entries that stood in the tank already and were left out.
    undo : str
        Moment under which it can be undone; empty where nothing was added.
    """

    tables: dict[str, int]
    already: int
    undo: str


@dataclass(frozen=True)
class _Longer:
    table: str
    old: bytes | None
    new: bytes
    rows: bytes
    count: int
    already: int


def add_entries(
    folder: str | Path,
    *,
    file: str,
    content: bytes,
    entries: Sequence[Entry],
    name: str,
    sheet: str = "",
    now: dt.datetime | None = None,
) -> Added:
    """Return what was added of a foreign file; it is on the disk when this returns.

    Under the lock of the tank folder: what stands in the tank already is left out, the rest is
    written into the undo list, and then each table is replaced by the longer one, whole or not at
    all. A program that is killed between leaves an undo list with rows that are not there.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    file : str
        Name of the foreign file.
    content : bytes
        What it holds.
    entries : sequence of Entry
        What is added.
    name : str
        Name of the undo list, ``imports/NAME.toml``.
    sheet : str, optional
        Sheet of a workbook.
    now : datetime.datetime, optional
        Present time with zone; the clock's when not given.

    Returns
    -------
    Added
        Rows added and left out, and the moment to undo it by.

    Raises
    ------
    InputError
        As ``append_rows``: a table or list that cannot be read, another program, a folder that cannot
        be written. No row is added then, unless the disk fails after a move.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> entry = Entry(2, None, "water_changes.csv", {"time": "2026-02-13", "litres": "40"})
    >>> add_entries(place, file="log.csv", content=b"", entries=[entry], name="log").tables
    {'water_changes.csv': 1}
    >>> add_entries(place, file="log.csv", content=b"", entries=[entry], name="log").already
    1
    """
    place, listed = Path(folder), list_file(name)
    by_table: dict[str, list[dict[str, str]]] = defaultdict(list)
    for entry in entries:
        by_table[entry.table].append(_named_source(entry))
    unknown = sorted(set(by_table) - set(COLUMNS))
    if unknown:
        raise InputError(
            "one of " + ", ".join(COLUMNS), unknown[0], "Write one of these.", "add_entries"
        )
    zone = described(place, []).zone
    with uninterrupted(), folder_held(place, listed) as replace:
        source = f"brought in from {file}"
        longer = [_longer(place, table, rows, zone, source) for table, rows in by_table.items()]
        already = sum(one.already for one in longer)
        longer = [one for one in longer if one.count]
        if not longer:
            return Added({}, already, "")
        before = file_bytes(place / listed)
        when = _moment(now, {one.when for one in imports_before(place)[0]})
        stamp = when.rstrip("Z").replace(":", "")
        added = tuple(
            AddedRows(one.table, one.count, f"{name}_{stamp}_{one.table}") for one in longer
        )
        digest = hashlib.sha256(content).hexdigest()
        done = AddedBefore(when, name, file, sheet, digest, added)
        listing = with_import(listed, before, done)
        (place / FOLDER).mkdir(exist_ok=True)
        for rows, one in zip(added, longer, strict=True):
            rows_file = f"{FOLDER}/{rows.rows}"
            replace(rows_file, in_place_of(file_bytes(place / rows_file), one.rows, rows_file))
        replace(listed, in_place_of(before, listing, listed))
        for one in longer:
            replace(one.table, in_place_of(one.old, one.new, one.table))
    return Added({one.table: one.count for one in longer}, already, when)


def _named_source(entry: Entry) -> dict[str, str]:
    """Return the cells of an entry, without a source that names none."""
    if "source" not in entry.cells or entry.cells["source"].strip():
        return entry.cells
    return {name: cell for name, cell in entry.cells.items() if name != "source"}


def _longer(
    place: Path, table: str, wanted: list[dict[str, str]], zone: dt.tzinfo, source: str
) -> _Longer:
    old = file_bytes(place / table)
    text = (old or b"").decode("utf-8", "surrogateescape").lstrip("\ufeff")
    cells = records(text)[0] or (COLUMNS[table],)
    header = [name.strip().lower() for name in cells[0]]
    if "source" not in header:
        # The file of the keeper has no such column; what we would add ourselves is not worth one.
        wanted = [
            row | {"source": ""} if row.get("source", "").startswith("brought in from ") else row
            for row in wanted
        ]
    known = held_already(table, rows_as_cells(cells), wanted, zone)
    rows = [row for row, there in zip(wanted, known, strict=True) if not there]
    already = len(wanted) - len(rows)
    if not rows:
        return _Longer(table, old, old or b"", b"", 0, already)
    # What a row does not say of its source is the same for all: it is not copied into each.
    otherwise = {"source": source} if table == "readings.csv" else {}
    new = longer_table(table, old, rows, otherwise)
    first = csv_lines([cells[0]], table)[0] + b"\n"
    tail = new[len(first if old is None else old) :].lstrip(b"\r\n")
    return _Longer(table, old, new, first + tail, len(rows), already)


def _moment(now: dt.datetime | None, taken: set[str]) -> str:
    """Return the present moment in UTC, a little later where the list has it already."""
    moment = (now or dt.datetime.now(dt.UTC)).astimezone(dt.UTC)
    while True:
        text = moment.isoformat(timespec="microseconds").replace("+00:00", "Z")
        if text not in taken:
            return text
        moment += dt.timedelta(microseconds=1)
