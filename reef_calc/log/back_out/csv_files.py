"""One table as a CSV file that a spreadsheet opens rightly, in a country of the point or the comma."""

from __future__ import annotations

import csv
import io

from reef_calc.errors import InputError
from reef_calc.log.back_out.safe_texts import (
    check_marks,
    number_columns,
    taken_back,
    written_out,
)
from reef_calc.log.tables import COLUMNS
from reef_calc.log.tank import Tank

Records = tuple[tuple[str, ...], ...]
_MARK = "\ufeff"


def export_csv(tank: Tank, table: str, *, decimal: str = ".", separator: str = ",") -> bytes:
    r"""Return one table as a CSV file for a spreadsheet, refused rows too.

    UTF-8 with its mark, lines that end with CR LF, times in ISO 8601, headings as in the tank folder.
    Only numbers in columns of numbers take the decimal mark. A text that a spreadsheet might run as a
    formula has an apostrophe before it, and so has one that begins with an apostrophe.

    Parameters
    ----------
    tank : Tank
        The tank.
    table : str
        ``readings``, ``additions``, ``water_changes`` or ``events``.
    decimal : {".", ","}, optional
        Decimal mark.
    separator : {",", ";", "\t"}, optional
        What parts the cells.

    Returns
    -------
    bytes
        The file. ``read_csv_back`` gives every cell as it was.

    Raises
    ------
    InputError
        If there is no such table, or the marks do not fit together.

    Notes
    -----
    A spreadsheet may still show a text such as ``1-2`` as a date. The workbook keeps every text.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> export_csv(example_tank(), "water_changes", decimal=",", separator=";")[:35]
    b'\xef\xbb\xbftime;litres\r\n2026-01-04T10:00;30'
    """
    check_marks(decimal, separator)
    file = table_file(table)
    records = tank.raw[file] or (COLUMNS[file],)
    numbers = number_columns(file, records[0])
    lines = [_MARK]
    for record in records:
        cells = [written_out(cell, decimal, i in numbers) for i, cell in enumerate(record)]
        lines.append(_line(cells, separator))
    return "".join(lines).encode("utf-8", "surrogateescape")


def read_csv_back(
    content: bytes, table: str, *, decimal: str = ".", separator: str = ","
) -> Records:
    r"""Return the records of a table out of a file that ``export_csv`` wrote.

    Parameters
    ----------
    content : bytes
        The file.
    table : str
        Name of the table.
    decimal, separator : str, optional
        As it was written.

    Returns
    -------
    tuple of tuple of str
        Every cell as it stood in the tank folder, the header first.

    Raises
    ------
    InputError
        If there is no such table, or the file is not CSV.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> tank = example_tank()
    >>> content = export_csv(tank, "readings", decimal=",", separator="\t")
    >>> read_csv_back(content, "readings", decimal=",", separator="\t") == tank.raw["readings.csv"]
    True
    """
    check_marks(decimal, separator)
    file = table_file(table)
    text = content.decode("utf-8", "surrogateescape").removeprefix(_MARK)
    try:
        found = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error as err:
        raise InputError("a CSV file", str(err), "Write it out again.", file) from err
    header = [taken_back(cell, decimal, False) for cell in found[0]] if found else []
    numbers = number_columns(file, tuple(header))
    return tuple(
        tuple(taken_back(cell, decimal, i in numbers) for i, cell in enumerate(record))
        for record in found
    )


def table_file(table: str) -> str:
    """Return the file of a table.

    Parameters
    ----------
    table : str
        Its name, with or without ``.csv``.

    Returns
    -------
    str
        Name of the file.

    Raises
    ------
    InputError
        If there is no such table.

    Examples
    --------
    >>> table_file("readings")
    'readings.csv'
    """
    file = table if table.endswith(".csv") else f"{table}.csv"
    if file not in COLUMNS:
        raise InputError(
            "one of " + ", ".join(name.removesuffix(".csv") for name in COLUMNS),
            table,
            "Write one of these.",
            "export",
        )
    return file


def _line(cells: list[str], separator: str) -> str:
    # Own quoting: the csv module of Python 3.11 leaves a carriage return bare, which ends the row.
    quoted = [
        '"' + cell.replace('"', '""') + '"'
        if any(mark in cell for mark in (separator, '"', "\r", "\n"))
        else cell
        for cell in cells
    ]
    return (separator.join(quoted) if cells != [""] else '""') + "\r\n"
