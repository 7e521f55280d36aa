"""Everything a tank folder holds as one workbook, with real numbers and dates, and no live formula."""

from __future__ import annotations

import io
import zipfile
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reef_calc.errors import InputError
from reef_calc.log.back_out.csv_files import Records
from reef_calc.log.back_out.safe_texts import number_columns
from reef_calc.log.back_out.typed_cells import (
    TypedCell,
    text_back,
    typed_number,
    typed_text,
    typed_time,
)
from reef_calc.log.tables import COLUMNS, TIMES
from reef_calc.log.tank import Tank
from reef_calc.log.toml_files import file_bytes

# Sheets beside those of the tables: the other files line by line, and what a sheet cannot say itself.
FILES, DETAILS = "files", "details"
# A sheet has no more rows, and a cell at most 32,767 characters, some of which count twice. Pieces are
# cut before they are escaped, which makes them up to seven times as long.
MOST_ROWS, LONGEST_TEXT, PIECE = 1_048_576, 16_000, 4_000
_SUBFOLDERS = ("", "plans", "studies", "imports")
_SUFFIXES = (".toml", ".csv")


@dataclass(frozen=True)
class FolderContent:
    """What a workbook says a tank folder held.

    Attributes
    ----------
    tables : dict of str to tuple of tuple of str
        By table, all records, the header first.
    files : dict of str to bytes
        What the other files held, by their place in the folder.
    """

    tables: dict[str, Records]
    files: dict[str, bytes]


def export_workbook(tank: Tank) -> bytes:
    """Return everything a tank folder holds as a workbook (XLSX).

    One sheet for each table, refused rows too: numbers and dates are numbers and dates where the text
    comes back from them, and texts otherwise. A text that looks like a formula is stored as a text
    that is shown. The sheet ``files`` holds the other files, plans and imports too, line by line.

    Parameters
    ----------
    tank : Tank
        The tank.

    Returns
    -------
    bytes
        The workbook.

    Raises
    ------
    InputError
        If a table has more rows than a sheet, or a file cannot be read.

    Notes
    -----
    Times with an offset stay texts, and so do numbers with more than 15 digits.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> tank = example_tank()
    >>> read_back(export_workbook(tank)).tables == tank.raw
    True
    """
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    details: list[tuple[str, ...]] = [("sheet", "row", "column", "detail", "text")]
    for file in COLUMNS:
        sheet = file.removesuffix(".csv")
        _write(book, sheet, _typed(file, tank.raw[file], details), details)
        if not tank.raw[file]:
            details.append((sheet, "", "", "no such file", ""))
    lines: list[tuple[str, ...]] = [("file", "line", "text")]
    for name, content in other_files(tank.folder).items():
        text = content.decode("utf-8", "surrogateescape")
        lines += [(name, str(i), line) for i, line in enumerate(text.split("\n"), start=1)]
    _write(book, FILES, ([typed_text(cell) for cell in line] for line in lines), details)
    # A text too long for one cell goes on here; these lines are short.
    _write(book, DETAILS, ([typed_text(cell) for cell in line] for line in details), [])
    target = io.BytesIO()
    book.save(target)
    return target.getvalue()


def other_files(folder: Path) -> dict[str, bytes]:
    """Return what the files of a tank folder hold that are no tables, plans and imports too.

    Parameters
    ----------
    folder : pathlib.Path
        Tank folder.

    Returns
    -------
    dict of str to bytes
        By their place in the folder, such as ``plans/2026-03-01.toml``.

    Raises
    ------
    InputError
        If one cannot be read.

    Examples
    --------
    >>> other_files(Path("no such folder"))
    {}
    """
    found: dict[str, bytes] = {}
    for place in _SUBFOLDERS:
        for path in sorted((folder / place).glob("*")):
            name = path.relative_to(folder).as_posix()
            ours = path.suffix in _SUFFIXES and not path.name.startswith(".")
            if ours and name not in COLUMNS and path.is_file():
                found[name] = file_bytes(path) or b""
    return found


def read_back(content: bytes) -> FolderContent:
    """Return what a tank folder held, out of a workbook that ``export_workbook`` wrote.

    Parameters
    ----------
    content : bytes
        The workbook.

    Returns
    -------
    FolderContent
        Every cell of the tables and every byte of the other files.

    Raises
    ------
    InputError
        If it is no such workbook.

    Examples
    --------
    >>> read_back(b"no workbook")
    Traceback (most recent call last):
        ...
    reef_calc.errors.InputError: workbook: needed a workbook that was written from a tank folder, given
    “File is not a zip file”. Write it out again.
    """
    from openpyxl import load_workbook

    try:
        book = load_workbook(io.BytesIO(content), read_only=True)
        sheets = {sheet.title: list(_texts(sheet)) for sheet in book.worksheets}
        lengths, tails, missing = _details(sheets[DETAILS])
        for (sheet, row, column), text in tails.items():
            sheets[sheet][row][column] += text
        tables = {
            file: _records(file.removesuffix(".csv"), sheets, lengths, missing) for file in COLUMNS
        }
        lines: dict[str, list[str]] = defaultdict(list)
        for name, _, text in (_padded(row, 3) for row in sheets[FILES][1:]):
            lines[name].append(text)
        files = {
            name: "\n".join(texts).encode("utf-8", "surrogateescape")
            for name, texts in lines.items()
        }
    except (zipfile.BadZipFile, KeyError, ValueError, IndexError, TypeError, OSError) as err:
        raise InputError(
            "a workbook that was written from a tank folder",
            str(err),
            "Write it out again.",
            "workbook",
        ) from err
    return FolderContent(tables, files)


def _typed(
    file: str, records: Records, details: list[tuple[str, ...]]
) -> Iterator[list[TypedCell]]:
    if not records:
        return
    header = records[0]
    names = [name.strip().lower() for name in header]
    numbers = number_columns(file, header)
    times = {i for i, name in enumerate(names) if name in TIMES[file]}
    yield [typed_text(cell) for cell in header]
    if not header:
        details.append((file.removesuffix(".csv"), "0", "", "fields", "0"))
    for position, record in enumerate(records[1:], start=1):
        if len(record) != len(header) or not any(record):
            # An empty row at the end of a sheet is not kept by every program.
            where = file.removesuffix(".csv"), str(position)
            details.append((*where, "", "fields", str(len(record))))
        yield [
            typed_number(cell)
            if i in numbers
            else typed_time(cell)
            if i in times
            else typed_text(cell)
            for i, cell in enumerate(record)
        ]


def _write(
    book: Any, name: str, rows: Iterable[list[TypedCell]], details: list[tuple[str, ...]]
) -> None:
    from openpyxl.cell import WriteOnlyCell

    sheet = book.create_sheet(name)
    sheet.freeze_panes = "A2"
    sheet.column_dimensions["A"].width = 20
    for position, row in enumerate(rows):
        if position >= MOST_ROWS:
            raise InputError(
                f"at most {MOST_ROWS:,} rows in a sheet", name, "Write CSV files instead.", name
            )
        cells: list[Any] = []
        for column, typed in enumerate(row):
            value = typed.value
            if isinstance(value, str) and len(value) > LONGEST_TEXT:
                text = text_back(value, "")
                for start in range(PIECE, len(text), PIECE):
                    piece = text[start : start + PIECE]
                    details.append((name, str(position), str(column), "continued", piece))
                value = str(typed_text(text[:PIECE]).value)
            if value == "":
                cells.append(None)
                continue
            cell = WriteOnlyCell(sheet, value)
            if isinstance(value, str):
                cell.data_type = "s"
                if typed.shown:
                    cell.quotePrefix = True
            else:
                cell.number_format = typed.number_format
            cells.append(cell)
        sheet.append(cells)


def _texts(sheet: Any) -> Iterator[list[str]]:
    sheet.reset_dimensions()
    for row in sheet.iter_rows():
        yield [text_back(cell.value, getattr(cell, "number_format", "") or "") for cell in row]


def _details(
    rows: list[list[str]],
) -> tuple[dict[tuple[str, int], int], dict[tuple[str, int, int], str], set[str]]:
    lengths: dict[tuple[str, int], int] = {}
    tails: dict[tuple[str, int, int], str] = defaultdict(str)
    missing: set[str] = set()
    for sheet, row, column, detail, text in (_padded(row, 5) for row in rows[1:]):
        if detail == "fields":
            lengths[sheet, int(row)] = int(text)
        elif detail == "continued":
            tails[sheet, int(row), int(column)] += text
        else:
            missing.add(sheet)
    return lengths, tails, missing


def _records(
    sheet: str,
    sheets: dict[str, list[list[str]]],
    lengths: dict[tuple[str, int], int],
    missing: set[str],
) -> Records:
    if sheet in missing:
        return ()
    rows = sheets[sheet]
    last = max((row for name, row in lengths if name == sheet), default=0)
    rows += [[] for _ in range(last + 1 - len(rows))]
    fields = lengths.get((sheet, 0), len(rows[0]))
    return tuple(
        tuple(_padded(row, lengths.get((sheet, position), fields)))
        for position, row in enumerate(rows)
    )


def _padded(row: list[str], fields: int) -> list[str]:
    return row[:fields] + [""] * (fields - len(row))
