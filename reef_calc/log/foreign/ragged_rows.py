"""Rows with more or fewer fields than the headings, and the comma inside a number that makes them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from reef_calc.log.foreign.cell_forms import form_of, is_date_word
from reef_calc.log.foreign.grid import Grid, column_letter, text_of
from reef_calc.log.foreign.layout_words import NOTE_WORDS
from reef_calc.log.foreign.outcome import Mark, Said
from reef_calc.messages import Message

_WHOLE = re.compile(r"[<>~±+−-]?\s*\d{1,4}")
_AFTER = re.compile(r"\d{1,3}(?:\s*[A-Za-zµμ°%].{0,15})?[?*]?")
_QUOTES = "Export it with semicolons, or with the numbers in quotes."


@dataclass(frozen=True)
class Ragged:
    """What is said of rows whose number of fields is not that of the headings.

    Attributes
    ----------
    marks : tuple of Mark
        Rows refused as a whole.
    notes : tuple of Message
        Rows with fewer fields.
    refusal : str
        Why no row of the file can be read; empty where rows can.
    """

    marks: tuple[Mark, ...] = ()
    notes: tuple[Message, ...] = ()
    refusal: str = ""


def named_rows(rows: Sequence[int], most: int = 4) -> str:
    """Return a list of rows in words.

    Parameters
    ----------
    rows : sequence of int
        Positions, an index from 0 each.
    most : int, optional
        Number of rows named before the rest is counted.

    Returns
    -------
    str
        Rows as a spreadsheet counts them.

    Examples
    --------
    >>> named_rows([1, 2]), named_rows([4]), named_rows(range(9))
    ('rows 2 and 3', 'row 5', 'rows 1, 2, 3, 4 and 5 more')
    """
    numbers = [str(row + 1) for row in rows[: most if len(rows) > most + 1 else most + 1]]
    if len(rows) == 1:
        return f"row {numbers[0]}"
    if len(rows) > len(numbers):
        return f"rows {', '.join(numbers)} and {len(rows) - len(numbers)} more"
    return f"rows {', '.join(numbers[:-1])} and {numbers[-1]}"


def _pairs(texts: Sequence[str]) -> list[tuple[str, str]]:
    """Neighbouring fields that one number with a comma in it would leave."""
    found, column = [], 0
    while column + 1 < len(texts):
        left, right = texts[column], texts[column + 1]
        if _WHOLE.fullmatch(left) and _AFTER.fullmatch(right):
            found.append((left, right))
            column += 1
        column += 1
    return found


def _is_split(texts: Sequence[str], width: int) -> bool:
    """Whether the fields too many are what commas inside numbers would make."""
    filled = list(texts)
    while filled and not filled[-1]:
        filled.pop()
    over = len(filled) - width
    pairs = _pairs(filled)
    if over > 0:
        return len(pairs) >= over
    # Empty fields at the end were cells of their own, if every number was cut in two.
    short = [pair for pair in pairs if len(pair[1]) <= 2]
    return len(texts) - width == len(short) > 0


def ragged_rows(grid: Grid, rows: Sequence[int], data: Sequence[int], width: int) -> Ragged:
    """Return what is said of rows whose number of fields is not that of the headings.

    Parameters
    ----------
    grid : Grid
        The table.
    rows : sequence of int
        Positions (index from 0) of the data rows with another number of fields.
    data : sequence of int
        Positions (index from 0) of all data rows.
    width : int
        Number of fields of the headings.

    Returns
    -------
    Ragged
        Marks, notes, or a refusal of the whole file. Never a number put together again: ``8,3`` in a
        file parted by commas may be 8.3, and may be two numbers.

    Examples
    --------
    >>> rows = (("date", "KH"), ("2026-02-01", "8", "3"))
    >>> ragged_rows(Grid("a.csv", rows, separator=","), [1], [1], 2).refusal.split(":")[0]
    'Row 2 has 3 fields, the header has 2'
    """
    long = [row for row in rows if len(grid.rows[row]) > width]
    over = [row for row in long if any(map(text_of, grid.rows[row][width:]))]
    comma = grid.separator == ","
    near = long if over else long[:1000]
    texts = {row: [text_of(cell) for cell in grid.rows[row]] for row in near}
    split = [row for row in near if comma and _is_split(texts[row], width)]
    # Where nothing but empty fields is too many, nearly every row has to look cut to be taken so.
    only_ends = not over and 5 * len(split) * len(long) < 4 * len(near) * len(data)
    if (
        split
        and not only_ends
        and 5 * len(split) >= 4 * len(over)
        and 10 * len(split) * len(long) >= len(near) * len(data)
    ):
        return Ragged(refusal=_refusal(texts, split, width))
    if comma and over and split:
        over = sorted({*over, *split})
    marks = tuple(
        Mark(row + 1, None, _too_many(len(grid.rows[row]), width, comma, row in split))
        for row in over
    )
    short = [row for row in rows if len(grid.rows[row]) < width]
    return Ragged(marks, _short_note(short, width))


def _refusal(texts: dict[int, list[str]], split: Sequence[int], width: int) -> str:
    sizes = sorted({len(texts[row]) for row in split})
    size = str(sizes[0]) if len(sizes) == 1 else f"{sizes[0]} to {sizes[-1]}"
    has = "has" if len(split) == 1 else "have"
    thousands = all(
        len(right) == 3 and right.isdecimal() for row in split for _, right in _pairs(texts[row])
    )
    cause = "a comma between thousands" if thousands else "a decimal comma"
    rows = named_rows(split)
    text = f"{rows} {has} {size} fields, the header has {width}: {cause} in a file separated by commas "
    return text[0].upper() + text[1:] + "is the likely cause. " + _QUOTES


def _too_many(fields: int, width: int, comma: bool, split: bool) -> Said:
    reason = f"This row has {fields} fields, the header has {width}."
    if split:
        reason += " A decimal comma in a file separated by commas is the likely cause."
        return Said("refused", "TOO_MANY_FIELDS", reason, _QUOTES)
    repair = (
        "Put the text that holds a comma in quotes, or give every column a heading."
        if comma
        else "Give every column a heading, or put a text that holds the separator in quotes."
    )
    return Said("refused", "TOO_MANY_FIELDS", reason, repair)


def _short_note(short: Sequence[int], width: int) -> tuple[Message, ...]:
    if not short:
        return ()
    rows = named_rows(short)
    verb, fields = ("has", "its") if len(short) == 1 else ("have", "their")
    text = f"{rows} {verb} fewer fields than the {width} of the header: {fields} last cells count as empty."
    return (Message("FEWER_FIELDS", text[0].upper() + text[1:]),)


def digits_as_notes(grid: Grid, data: Sequence[int], headings: tuple[str, ...]) -> str:
    """Return why a file cannot be read whose notes are the digits behind a decimal comma.

    Parameters
    ----------
    grid : Grid
        The table.
    data : sequence of int
        Positions (index from 0) of some data rows.
    headings : tuple of str
        Headings by column.

    Returns
    -------
    str
        The reason and the repair; empty where notes are notes, and in files with another separator.

    Examples
    --------
    >>> rows = (("date", "KH", "note"), ("2026-02-01", "8", "3"), ("2026-02-08", "8", "1"))
    >>> digits_as_notes(Grid("a.csv", rows, separator=","), [1, 2], rows[0]).split(":")[0]
    'Column C (note) holds nothing but digits'
    """
    if grid.separator != ",":
        return ""
    for column, heading in enumerate(headings):
        if column < 2 or heading.casefold().strip(" :") not in NOTE_WORDS:
            continue
        rows = [grid.rows[row] for row in data if len(grid.rows[row]) > column]
        cells = [text_of(row[column]) for row in rows]
        filled = [cell for cell in cells if cell]
        cut = sum(bool(_pairs(list(map(text_of, row[1 : column + 1])))) for row in rows)
        if len(filled) > 1 and cut == len(rows) and all(map(_AFTER.fullmatch, filled)):
            return (
                f"Column {column_letter(column)} ({heading}) holds nothing but digits: a decimal comma "
                f"in a file separated by commas is the likely cause. {_QUOTES}"
            )
    return ""


def broken_said() -> Said:
    """Return what is said of a row that is not CSV.

    Returns
    -------
    Said
        It is refused.

    Examples
    --------
    >>> broken_said().code
    'BROKEN_QUOTE'
    """
    return Said(
        "refused",
        "BROKEN_QUOTE",
        "A quote is left open in this row, so its cells cannot be told apart.",
        "Close the quote or delete it, then bring the file in again.",
    )


def row_names_beside(grid: Grid, data: Sequence[int], headings: tuple[str, ...]) -> bool:
    """Return whether every row begins with a number that the headings leave out.

    Parameters
    ----------
    grid : Grid
        The table.
    data : sequence of int
        Positions (index from 0) of the first data rows.
    headings : tuple of str
        Headings by column.

    Returns
    -------
    bool
        True where each row has one field more, and dates stand one column beside their heading.

    Examples
    --------
    >>> rows = (("date", "KH"), ("1", "2026-02-01", "8.3"), ("2", "2026-02-08", "8.1"))
    >>> row_names_beside(Grid("a.csv", rows, separator=","), [1, 2], ("date", "KH"))
    True
    """
    dated = next((c for c, heading in enumerate(headings) if is_date_word(heading)), None)
    if dated is None or not data or not grid.separator:
        return False
    for row in data:
        cells = grid.rows[row]
        if len(cells) != len(headings) + 1 or form_of(cells[dated + 1]) != "date":
            return False
    names = [text_of(grid.rows[row][0]) for row in data]
    # Counted from 0 or 1: anything else may be the first half of a number with a decimal comma.
    return any(names == [str(at + start) for at in range(len(names))] for start in (0, 1))
