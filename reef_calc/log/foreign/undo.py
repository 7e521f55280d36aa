"""Undoing what was brought in from a file: exactly its rows, and nothing else."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from reef_calc.errors import InputError
from reef_calc.log.atomic import folder_held, in_place_of
from reef_calc.log.foreign.undo_list import (
    AddedBefore,
    AddedRows,
    imports_before,
    list_file,
    rows_written,
    with_undone,
)
from reef_calc.log.toml_files import file_bytes

Record = tuple[str, ...]


@dataclass(frozen=True)
class Undone:
    """What was taken away again.

    Attributes
    ----------
    when : str
        Moment of the import.
    file : str
        Name of the foreign file.
    tables : dict of str to int
        Number of rows taken away, by table.
    left : dict of str to tuple of tuple of str
        By table: rows that were edited or deleted meanwhile, as they had been written. They were
        not touched.
    """

    when: str
    file: str
    tables: dict[str, int]
    left: dict[str, tuple[Record, ...]]


def undo_last(folder: str | Path, name: str = "", *, now: dt.datetime | None = None) -> Undone:
    """Return what was taken away: the rows of the last import that is not undone yet.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    name : str, optional
        Name of the undo list; all lists when not given.
    now : datetime.datetime, optional
        Present time with zone; the clock's when not given.

    Returns
    -------
    Undone
        What was taken away and what was left.

    Raises
    ------
    InputError
        If there is nothing to undo, or as ``undo``.

    Examples
    --------
    >>> undo_last("no such folder")
    Traceback (most recent call last):
        ...
    reef_calc.errors.InputError: undo: needed an import that is not undone yet, given “none”. There
    is nothing to undo.
    """
    if name:
        list_file(name)
    open_ = [one for one in imports_before(folder)[0] if not one.undone and name in ("", one.name)]
    if not open_:
        raise InputError(
            "an import that is not undone yet", name or "none", "There is nothing to undo.", "undo"
        )
    return undo(folder, open_[-1].when, now=now)


def undo(folder: str | Path, when: str, *, now: dt.datetime | None = None) -> Undone:
    """Return what was taken away: the rows of one import, as far as they stand as they were written.

    Each table is replaced whole or not at all, and the one before is kept in ``.previous``. Rows that
    were edited or deleted meanwhile are named and left. The import stays in the list, marked.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    when : str
        Moment of the import, as ``Added.undo``.
    now : datetime.datetime, optional
        Present time with zone; the clock's when not given.

    Returns
    -------
    Undone
        What was taken away and what was left.

    Raises
    ------
    InputError
        If there is no such import, it is undone already, its list of rows is gone, a table cannot be
        read, or the folder cannot be written. Nothing is changed then.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> from reef_calc.log.foreign.add import add_entries
    >>> from reef_calc.log.foreign.outcome import Entry
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> entry = Entry(2, None, "water_changes.csv", {"time": "2026-02-13", "litres": "40"})
    >>> added = add_entries(place, file="log.csv", content=b"", entries=[entry], name="log")
    >>> undo(place, added.undo).tables
    {'water_changes.csv': 1}
    """
    place = Path(folder)
    one = _found(place, when)
    listed = list_file(one.name)
    with folder_held(place, listed) as replace:
        one = _found(place, when)  # another program may have undone it before the lock was ours
        tables: dict[str, int] = {}
        left: dict[str, tuple[Record, ...]] = {}
        numbers: dict[str, list[int]] = {}
        shorter: dict[str, tuple[bytes | None, bytes]] = {}
        for added in one.added:
            old = file_bytes(place / added.table)
            written = rows_written(place, one.name, added)
            new, lost = _without(old or b"", added, written)
            numbers[added.table] = _numbers(lost, written)
            tables[added.table] = added.count - len(lost)
            left |= {added.table: lost} if lost else {}
            shorter[added.table] = old, new
        moment = (now or dt.datetime.now(dt.UTC)).astimezone(dt.UTC)
        list_before = file_bytes(place / listed)
        marked = with_undone(
            listed,
            list_before,
            when,
            moment.isoformat(timespec="seconds").replace("+00:00", "Z"),
            numbers,
        )
        for table, (old, new) in shorter.items():
            if new != (old or b""):
                replace(table, in_place_of(old, new, table))
        replace(listed, in_place_of(list_before, marked, listed))
    return Undone(when, one.file, tables, left)


def rows_still_there(folder: str | Path, one: AddedBefore) -> dict[str, int]:
    """Return how many rows of an import stand in the tank as they were written.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.
    one : AddedBefore
        The import.

    Returns
    -------
    dict of str to int
        Number of rows by table; 0 where a program was killed before it added them.

    Raises
    ------
    InputError
        If its list of rows is gone, or a table cannot be read.

    Examples
    --------
    >>> rows_still_there("none", AddedBefore("2026-02-01", "log", "log.csv", "", "", ()))
    {}
    """
    place = Path(folder)
    there: dict[str, int] = {}
    for added in one.added:
        content = file_bytes(place / added.table) or b""
        lost = _without(content, added, rows_written(place, one.name, added))[1]
        there[added.table] = added.count - len(lost)
    return there


def _found(place: Path, when: str) -> AddedBefore:
    imports, problems = imports_before(place)
    one = next((one for one in imports if one.when == when), None)
    if one is None:
        repair = (
            f"{problems[0].file} cannot be read: repair it." if problems else "Look at the list."
        )
        raise InputError("the moment of an import", when, repair, "undo")
    if one.undone:
        raise InputError(
            "an import that is not undone yet", when, f"It was undone on {one.undone}.", "undo"
        )
    return one


def _without(
    content: bytes, added: AddedRows, written: tuple[Record, ...]
) -> tuple[bytes, tuple[Record, ...]]:
    """Return a table without rows that stand in it as written, and those that do not stand in it."""
    whole = content.decode("utf-8", "surrogateescape")
    text = whole.lstrip("\ufeff")
    mark = whole[: len(whole) - len(text)]
    lines = list(io.StringIO(text, newline=""))
    pieces: list[tuple[Record, int, int]] = []
    reader, start = csv.reader(lines, strict=True), 0
    try:
        for record in reader:
            pieces.append((tuple(record), start, reader.line_num))
            start = reader.line_num
    except csv.Error as err:
        raise InputError(
            "a table that can be read as it stands",
            f"row {len(pieces) + 1}",
            "Close the quote there, or delete it. Nothing was changed.",
            added.table,
        ) from err
    header = _names(pieces[0][0]) if pieces else []
    wanted = Counter[Record]()
    original: dict[Record, Record] = {}
    lost: list[Record] = []
    names = _names(written[0])
    for row in written[1:]:
        cells = dict(zip(names, row, strict=True))
        now = row if names == header else tuple([cells.get(name, "") for name in header])
        # A column that is gone took its cells with it: such a row was edited.
        if names != header and any(cell and name not in header for name, cell in cells.items()):
            lost.append(row)
        else:
            wanted[now] += 1
            original[now] = row
    gone: set[int] = set()
    for there, first, last in reversed(pieces[1:]):
        if wanted[there] > 0:
            wanted[there] -= 1
            gone.update(range(first, last))
    lost += [original[record] for record in wanted.elements()]
    kept = mark + "".join([line for number, line in enumerate(lines) if number not in gone])
    return kept.encode("utf-8", "surrogateescape"), tuple(lost)


def _numbers(lost: tuple[Record, ...], written: tuple[Record, ...]) -> list[int]:
    """Return which of the rows as they were written, counted from 1, are the lost ones."""
    wanted = Counter(lost)
    found = []
    for number, row in enumerate(written[1:], start=1):
        if wanted[row] > 0:
            wanted[row] -= 1
            found.append(number)
    return found


def _names(header: Record) -> list[str]:
    return [name.strip().lower() for name in header]
