"""Lines whose cells are parted by single blanks, as the words of a name are: nothing can part them."""

from __future__ import annotations

import re
from itertools import pairwise

from reef_calc.log.foreign.grid import Cell, Grid

_NUMBER = re.compile(r"[<>≤≥~±]?[-−+]?[0-9]+(?:[.,][0-9]+)?")
_LEAST, _SHARE = 2, 0.4


def parted_by_single_blanks(grid: Grid) -> str:
    """Return why a text cannot be read that has words and numbers on each line and no separator.

    Parameters
    ----------
    grid : Grid
        The table.

    Returns
    -------
    str
        What to do, with an example of the file; empty where another reason would be needed.

    Examples
    --------
    >>> from reef_calc.messages import Message
    >>> told = (Message("SEPARATOR", "Each line is one cell."),)
    >>> rows = (("Element Result Unit",), ("Ca 421 mg/L",), ("Mg 1300 mg/L",))
    >>> parted_by_single_blanks(Grid("a.txt", rows, notes=told))[:58]
    'Row 2, “Ca 421 mg/L”, holds several cells with single blan'
    """
    if grid.separator not in ("", ",") or not any(note.code == "SEPARATOR" for note in grid.notes):
        return ""
    lines = list(map(_line, grid.rows))
    if None in lines:
        return ""
    filled = [(at, line.split()) for at, line in enumerate(lines) if line and line.strip()]
    several = [(at, words) for at, words in filled if _is_several(words)]
    if len(several) < _LEAST or len(several) < _SHARE * len(filled):
        return ""
    at, words = several[0]
    return (
        f"Row {at + 1}, “{' '.join(words)[:40]}”, holds several cells with single blanks between them. "
        "Names have blanks too, so nothing says where a cell ends. Put a tab, a semicolon or two "
        "blanks between the cells, or save the report as a table (CSV or XLSX)."
    )


def _line(row: tuple[Cell, ...]) -> str | None:
    """Return a line as it stood in the file, None where something else than a decimal comma parts it."""
    cells = [cell for cell in row if isinstance(cell, str)]
    while cells and not cells[-1]:
        cells.pop()
    if len(cells) > 1 and not all(a[-1:].isdigit() and b[:1].isdigit() for a, b in pairwise(cells)):
        return None
    return ",".join(cells)


def _is_several(words: list[str]) -> bool:
    """Return whether a line holds a number and words or numbers on both its sides, or a name before it."""
    numbers = [at for at, word in enumerate(words) if _NUMBER.fullmatch(word)]
    if not numbers or len(words) > 20:
        return False
    name = words[0][:1].isalpha() and numbers[0] > 0
    return (name and len(words) > 1) or (len(words) > 2 and len(numbers) > 1)
