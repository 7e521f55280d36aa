"""Two columns of numbers from any table: one a kit, one row a water."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.chem.numbers import parse_number
from reef_calc.compare.difference_words import plain
from reef_calc.compare.pairs import ON_GRID, Pairs, pairs_of
from reef_calc.errors import InputError, NumberError
from reef_calc.messages import Message

_SEPARATORS = {"\t": "tabs", ";": "semicolons", ",": "commas"}
_WHERE = "the two columns"
_NUMBER_OR_SO = re.compile(r"[-+−]?[0-9]*[.,]?[0-9]+")
_THREE_AFTER = re.compile(r"[-+−]?[1-9][0-9]{0,2}[.,][0-9]{3}")
# More rows than anyone tests; beyond it, it is another kind of table.
MOST_ROWS = 5000
# A few numbers may all be even by chance.
_ENOUGH_FOR_STEPS = 8


@dataclass(frozen=True)
class TwoColumns:
    """Two columns as they were understood.

    Attributes
    ----------
    names : (str, str)
        What stands above the columns; "first column" and "second column" where nothing does.
    a, b : tuple of float
        The numbers of complete rows (unit of the table).
    rows : tuple of int
        Row of each, as a spreadsheet counts them.
    steps : tuple of float
        Step that the numbers of each column suggest (unit of the table), to be confirmed; 0 where
        they suggest none.
    messages : tuple of Message
        How it was read, and what was left out: READ_AS, LEFT_OUT.
    """

    names: tuple[str, str]
    a: tuple[float, ...]
    b: tuple[float, ...]
    rows: tuple[int, ...]
    steps: tuple[float, float]
    messages: tuple[Message, ...]


def read_two_columns(text: str) -> TwoColumns:
    r"""Return the two columns of a text, as they were understood.

    Separator and decimal mark are decided for the whole text; nothing is guessed row by row.

    Parameters
    ----------
    text : str
        Rows of two numbers parted by tabs, semicolons or commas; a first row of names may stand
        above them.

    Returns
    -------
    TwoColumns
        Numbers, suggested steps, and messages to show before they are used.

    Raises
    ------
    InputError
        If there are not two columns, both decimal marks are in use, a comma may mean decimals or
        thousands, a cell is no number, or no row is complete.

    Examples
    --------
    >>> found = read_two_columns("drops;syringe\n8,2;8,45\n7,9;8,25\n")
    >>> found.names, found.a, found.b, found.steps
    (('drops', 'syringe'), (8.2, 7.9), (8.45, 8.25), (0.1, 0.01))
    """
    lines = [
        (number, line)
        for number, line in enumerate(text.lstrip("\ufeff").splitlines(), start=1)
        if line.strip(" \t;,")
    ]
    if not lines:
        raise InputError("rows of two numbers", "an empty text", "Copy both columns.", _WHERE)
    if len(lines) > MOST_ROWS:
        raise InputError(
            f"{MOST_ROWS} rows or fewer", f"{len(lines)} rows", "Copy the rows you need.", _WHERE
        )
    separator = _separator([line for _, line in lines])
    table = [(number, _cells(line, separator, number)) for number, line in lines]
    names, table = _names(table)
    comma = _decimal_comma([cell for _, cells in table for cell in cells])
    rows, left_out = [], []
    for number, cells in table:
        if "" in cells:
            left_out.append(number)
            continue
        first, second = (
            _number(cell, comma, f"row {number}, {side} column")
            for cell, side in zip(cells, ("first", "second"), strict=True)
        )
        rows.append((number, first, second))
    if not rows:
        raise InputError("rows with two numbers", "none", "Copy both columns.", _WHERE)
    numbers, a, b = (tuple(column) for column in zip(*rows, strict=True))
    return TwoColumns(
        names, a, b, numbers, (_step(a), _step(b)),
        _messages(separator, comma, names, rows, left_out),
    )  # fmt: skip


def pairs_from_two_columns(
    text: str | TwoColumns,
    *,
    element: str,
    unit: str,
    resolution_a: float,
    resolution_b: float,
    kit_a: str = "",
    kit_b: str = "",
) -> Pairs:
    r"""Return pairs of readings from two columns; each row is one water.

    Parameters
    ----------
    text : str or TwoColumns
        As for ``read_two_columns``, or what it returned.
    element, unit : str
        Element, and unit of both columns.
    resolution_a, resolution_b : float
        Steps of the scales (``unit``); 0 for none. A table does not say them.
    kit_a, kit_b : str, optional
        Names of the kits; what stands above the columns when not given.

    Returns
    -------
    Pairs
        Waters are named "row 2" and so on; what could not be used stands in ``dropped``.

    Raises
    ------
    InputError
        As ``read_two_columns`` and ``pairs_of``, or if the unit is empty.

    Examples
    --------
    >>> pairs = pairs_from_two_columns("8.2\t8.4\n7.9\t8.2\n", element="alkalinity", unit="dKH",
    ...     resolution_a=0.1, resolution_b=0.1)
    >>> pairs.kit_a, pairs.differences.round(1).tolist()
    ('first column', [0.2, 0.3])
    """
    if not unit.strip():
        raise InputError("the unit of both columns", "nothing", "Type it, such as dKH.", _WHERE)
    found = text if isinstance(text, TwoColumns) else read_two_columns(text)
    first, second = (
        given.strip() or name for given, name in zip((kit_a, kit_b), found.names, strict=True)
    )
    if first == second:
        raise InputError("two different kits", first, "Name the columns differently.", _WHERE)
    readings = pd.DataFrame(
        {
            "water": [f"row {row}" for row in found.rows for _ in range(2)],
            "kit": [first, second] * len(found.rows),
            "value": np.column_stack([found.a, found.b]).ravel(),
        }
    )
    pairs = pairs_of(
        readings, first, second, element=element, unit=unit, resolution_a=resolution_a,
        resolution_b=resolution_b,
    )  # fmt: skip
    told = tuple(one.text for one in found.messages if one.code == "LEFT_OUT")
    return Pairs(**{**vars(pairs), "dropped": told + pairs.dropped})


def _separator(lines: list[str]) -> str:
    for separator in _SEPARATORS:
        counts = [line.rstrip().count(separator) for line in lines]
        if separator == "," and max(counts) > 1:
            raise InputError(
                "two columns",
                lines[counts.index(max(counts))],
                "Commas as decimals and between columns cannot be told apart. Part the columns by "
                "semicolons or tabs, and copy only the two columns of the kits.",
                _WHERE,
            )
        if separator == "," and all(_THREE_AFTER.fullmatch(line.strip()) for line in lines):
            raise InputError(
                "two columns",
                lines[0],
                "This may be two numbers, or one with a comma inside. Part the columns by semicolons "
                "or tabs, or write a name above each.",
                _WHERE,
            )
        if max(counts) > 0:
            return separator
    raise InputError(
        "two columns parted by tabs, semicolons or commas",
        lines[0],
        "Copy both columns, or put a semicolon between the two numbers of a row.",
        _WHERE,
    )


def _cells(line: str, separator: str, number: int) -> tuple[str, str]:
    cells = [cell.strip().strip('"').strip() for cell in line.split(separator)]
    while len(cells) > 2 and cells[-1] == "":
        cells.pop()
    if len(cells) != 2:
        raise InputError(
            "two columns",
            line,
            f"Row {number} has {len(cells)}. Copy only the columns of the two kits.",
            _WHERE,
        )
    return cells[0], cells[1]


def _names(
    table: list[tuple[int, tuple[str, str]]],
) -> tuple[tuple[str, str], list[tuple[int, tuple[str, str]]]]:
    head = table[0][1]
    if any(_NUMBER_OR_SO.fullmatch(cell) for cell in head) or not all(head):
        return ("first column", "second column"), table
    return head, table[1:]


def _decimal_comma(cells: list[str]) -> bool:
    """Return whether commas are decimal marks, or refuse what can be read in two ways."""
    with_comma = [cell for cell in cells if "," in cell]
    with_point = [cell for cell in cells if "." in cell]
    if with_comma and with_point:
        raise InputError(
            "one decimal mark in the whole table",
            f"{with_comma[0]} and {with_point[0]}",
            "Write all numbers with a point, or all with a comma, and none with thousands separators.",
            _WHERE,
        )
    marked = with_comma or with_point
    if marked and all(_THREE_AFTER.fullmatch(cell) for cell in marked):
        mark = "comma" if with_comma else "point"
        raise InputError(
            "numbers that can be read in one way",
            marked[0],
            f"Its {mark} may be a decimal mark or part thousands. Write {marked[0]}0 if it is a "
            f"decimal mark, or the number without the {mark}.",
            _WHERE,
        )
    return bool(with_comma)


def _number(cell: str, comma: bool, where: str) -> float:
    if comma and cell.count(",") == 1:
        cell = cell.replace(",", ".")
    try:
        return parse_number(cell, where)
    except NumberError as error:
        if cell[:1] in "<>≤≥":
            raise NumberError(
                "a number alone",
                cell,
                "A reading beyond the scale cannot be compared: leave its row out.",
                where,
            ) from error
        raise


def _step(values: tuple[float, ...]) -> float:
    """Return the step that the numbers suggest: wider than their last decimal only with many."""
    leads = (5, 2, 1) if len(values) >= _ENOUGH_FOR_STEPS else (1,)
    highest = 1 if len(values) >= _ENOUGH_FOR_STEPS else 0
    for power in range(highest, -7, -1):
        for lead in leads:
            step = float(f"{lead}e{power}")
            counts = np.asarray(values) / step
            if np.abs(counts - np.round(counts)).max() <= ON_GRID:
                return step
    return 0.0


def _messages(
    separator: str,
    comma: bool,
    names: tuple[str, str],
    rows: list[tuple[int, float, float]],
    left_out: list[int],
) -> tuple[Message, ...]:
    number, first, second = rows[0]
    mark = ", decimal commas" if comma else ""
    count = "1 water" if len(rows) == 1 else f"{len(rows)} waters"
    said = [
        Message(
            "READ_AS",
            f"{count}, columns parted by {_SEPARATORS[separator]}{mark}. Row {number}: {names[0]} "
            f"{plain(first, 10)}, {names[1]} {plain(second, 10)}.",
        )
    ]
    if left_out:
        which = ", ".join(map(str, left_out[:10])) + (" and more" if len(left_out) > 10 else "")
        rows_word = "Row" if len(left_out) == 1 else "Rows"
        verb = "has" if len(left_out) == 1 else "have"
        said.append(
            Message(
                "LEFT_OUT",
                f"{rows_word} {which} {verb} one number only and cannot be used.",
                "qualified",
            )
        )
    return tuple(said)
