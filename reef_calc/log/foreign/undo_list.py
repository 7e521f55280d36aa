"""The list of what was brought in from files, kept in the tank folder so that it can be undone."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import AoT

from reef_calc.errors import InputError
from reef_calc.log.descriptions import changed_toml
from reef_calc.log.problems import Problem
from reef_calc.log.tables import COLUMNS, records
from reef_calc.log.toml_files import file_bytes, read_each, table_of

FOLDER = "imports"
KEY = "added"
_NAME = re.compile(r'[^\x00-\x1f/\\:*?"<>|. ][^\x00-\x1f/\\:*?"<>|]{0,79}')
_NOT_A_FILE = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.IGNORECASE)


@dataclass(frozen=True)
class AddedRows:
    """Rows that were added to one table.

    Attributes
    ----------
    table : str
        Name of the table.
    count : int
        Number of rows.
    rows : str
        File in ``imports`` that holds them as they were written.
    left : tuple of int
        Which of them, counted from 1, were edited or deleted when the import was undone.
    """

    table: str
    count: int
    rows: str
    left: tuple[int, ...] = ()


@dataclass(frozen=True)
class AddedBefore:
    """One file that was brought in.

    Attributes
    ----------
    when : str
        Moment in UTC, ISO 8601; no two are the same.
    name : str
        Name of the list: ``imports/NAME.toml``.
    file, sheet, sha256 : str
        Name of the foreign file, its sheet and the checksum of what it held.
    added : tuple of AddedRows
        What was added, for each table.
    undone : str
        Moment it was undone; empty where it was not.
    """

    when: str
    name: str
    file: str
    sheet: str
    sha256: str
    added: tuple[AddedRows, ...]
    undone: str = ""


def list_file(name: str) -> str:
    """Return the file of the tank folder in which the imports of one name are listed.

    Parameters
    ----------
    name : str
        Name, such as that of the kind of file.

    Returns
    -------
    str
        ``imports/NAME.toml``.

    Raises
    ------
    InputError
        If it cannot be a file's name everywhere.

    Examples
    --------
    >>> list_file("club log")
    'imports/club log.toml'
    """
    if not _NAME.fullmatch(name) or name[-1] in " ." or _NOT_A_FILE.fullmatch(name):
        raise InputError(
            '1 to 80 characters without / \\ : * ? " < > |, and no dot at its ends',
            name,
            "Choose another name.",
            "name of the import",
        )
    return f"{FOLDER}/{name}.toml"


def imports_before(folder: str | Path) -> tuple[tuple[AddedBefore, ...], tuple[Problem, ...]]:
    """Return what was brought in from files, the oldest first, and which lists cannot be read.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder.

    Returns
    -------
    tuple of AddedBefore
        In order of time; what was undone is among them.
    tuple of Problem
        One for each list, or entry of one, that cannot be used.

    Examples
    --------
    >>> import tempfile
    >>> imports_before(tempfile.mkdtemp())
    ((), ())
    """
    lists, problems = read_each(Path(folder), FOLDER, imports_in)
    found = [one for listed in lists for one in listed]
    return tuple(sorted(found, key=lambda one: one.when)), tuple(problems)


def imports_in(file: str, content: bytes) -> list[AddedBefore]:
    """Return what one list holds.

    Parameters
    ----------
    file : str
        ``imports/NAME.toml``.
    content : bytes
        What it holds.

    Returns
    -------
    list of AddedBefore
        In the order of the file; rows of one moment belong to one import.

    Raises
    ------
    InputError
        If it is not TOML, or an entry lacks something.

    Examples
    --------
    >>> imports_in("imports/club.toml", b'kind = "readings"')
    []
    """
    by_moment: dict[str, AddedBefore] = {}
    for entry in _entries(file, table_of(file, content)):
        text = {key: str(entry.get(key, "")) for key in ("when", "table", "file", "rows", "undone")}
        count = entry.get("count")
        plain = Path(text["rows"]).name == text["rows"]
        whole = text["table"] in COLUMNS and text["when"] and text["rows"]
        if not isinstance(count, int) or isinstance(count, bool) or count < 0 or not whole:
            raise InputError(
                "when, table, count and rows", str(dict(entry)), "Correct the entry.", file
            )
        if not plain:
            raise InputError("a file beside the list", text["rows"], "Write its name only.", file)
        left = entry.get("left_rows", [])
        if not isinstance(left, list) or not all(type(n) is int and 1 <= n <= count for n in left):
            needed = f"numbers of rows from 1 to {count} in left_rows"
            raise InputError(needed, str(left), "Correct the entry.", file)
        rows = AddedRows(text["table"], count, text["rows"], tuple(map(int, left)))
        known = by_moment.get(text["when"])
        name, added = Path(file).name.removesuffix(".toml"), (known.added if known else ())
        sheet, sha256 = str(entry.get("sheet", "")), str(entry.get("sha256", ""))
        by_moment[text["when"]] = AddedBefore(
            text["when"], name, text["file"], sheet, sha256, (*added, rows), text["undone"]
        )
    return list(by_moment.values())


def with_import(file: str, old: bytes | None, one: AddedBefore) -> bytes:
    """Return the content of a list with one import more.

    Parameters
    ----------
    file : str
        ``imports/NAME.toml``.
    old : bytes or None
        What it holds; None when there is no such file.
    one : AddedBefore
        What is added.

    Returns
    -------
    bytes
        What it shall hold; other keys and comments stay.

    Raises
    ------
    InputError
        If the list as it stands cannot be read.

    Examples
    --------
    >>> one = AddedBefore("2026-02-01T10:00:00Z", "club", "log.csv", "", "", (
    ...     AddedRows("readings.csv", 3, "club rows.csv"),))
    >>> imports_in("imports/club.toml", with_import("imports/club.toml", None, one)) == [one]
    True
    """

    def change(document: tomlkit.TOMLDocument) -> None:
        _entries(file, document)
        entries = document.get(KEY)
        if not isinstance(entries, AoT):
            # An empty list in one line is as good as none.
            document.pop(KEY, None)
            entries = tomlkit.aot()
            document.append(KEY, entries)
        for rows in one.added:
            table = tomlkit.table()
            table.update({"when": one.when, "file": one.file})
            if one.sheet:
                table.add("sheet", one.sheet)
            table.update(
                {"sha256": one.sha256, "table": rows.table, "count": rows.count, "rows": rows.rows}
            )
            entries.append(table)

    start = b"# What was brought in from files. The lists of rows stand beside this file.\n"
    imports_in(file, old or b"")  # a list that could not be undone from is not added to
    return changed_toml(file, start if old is None else old, change)


def with_undone(
    file: str, old: bytes | None, when: str, undone: str, left: Mapping[str, Sequence[int]]
) -> bytes:
    """Return the content of a list with one import marked as undone.

    Parameters
    ----------
    file : str
        ``imports/NAME.toml``.
    old : bytes or None
        What it holds.
    when : str
        Moment of the import.
    undone : str
        Moment of the undoing.
    left : dict of str to sequence of int
        By table, which of its rows (counted from 1) were not there any more as they were written.

    Returns
    -------
    bytes
        What it shall hold.

    Raises
    ------
    InputError
        If the list as it stands cannot be read.

    Examples
    --------
    >>> one = AddedBefore("2026-02-01T10:00:00Z", "club", "log.csv", "", "", (
    ...     AddedRows("readings.csv", 3, "club rows.csv"),))
    >>> text = with_import("imports/club.toml", None, one)
    >>> b"left = 1" in with_undone("imports/club.toml", text, one.when, "2026-02-02", {"readings.csv": [2]})
    True
    """

    def change(document: tomlkit.TOMLDocument) -> None:
        for entry in _entries(file, document):
            if str(entry.get("when")) == when:
                entry["undone"] = undone
                numbers = list(left.get(str(entry.get("table")), ()))
                if numbers:
                    entry["left"] = len(numbers)
                    entry["left_rows"] = numbers

    return changed_toml(file, old or b"", change)


def rows_written(folder: Path, name: str, added: AddedRows) -> tuple[tuple[str, ...], ...]:
    """Return the rows of one import as they were written, the header first.

    Parameters
    ----------
    folder : pathlib.Path
        Tank folder.
    name : str
        Name of the list.
    added : AddedRows
        Which rows.

    Returns
    -------
    tuple of tuple of str
        Records.

    Raises
    ------
    InputError
        If the file is gone, or does not hold as many rows as the list says.

    Examples
    --------
    >>> rows_written(Path("none"), "club", AddedRows("readings.csv", 3, "club rows.csv"))
    Traceback (most recent call last):
        ...
    reef_calc.errors.InputError: imports/club.toml: needed the 3 rows that were added, given
    “imports/club rows.csv”. Put the file back as it was; nothing was changed.
    """
    content = file_bytes(folder / FOLDER / added.rows)
    text = (content or b"").decode("utf-8", "surrogateescape")
    found, broken = records(text)
    whole = len(found) == added.count + 1 and len({len(row) for row in found}) == 1
    if content is None or broken or not whole:
        raise InputError(
            f"the {added.count} rows that were added",
            f"{FOLDER}/{added.rows}",
            "Put the file back as it was; nothing was changed.",
            list_file(name),
        )
    return found


def _entries(file: str, document: Mapping[str, Any]) -> list[Any]:
    entries = document.get(KEY, [])
    if not isinstance(entries, list) or not all(isinstance(one, dict) for one in entries):
        raise InputError(f"tables [[{KEY}]]", str(entries), "Head each one so.", file)
    return list(entries)
