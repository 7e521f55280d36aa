"""Headings of two rows, groups above parts, and rows of units beside them."""

from __future__ import annotations

from dataclasses import dataclass

from reef_calc.log.foreign.cell_forms import are_units, forms_of, is_ruled, texts_of
from reef_calc.log.foreign.grid import Grid


@dataclass(frozen=True)
class Header:
    """The headings of a table.

    Attributes
    ----------
    rows : tuple of int
        Positions (index from 0) of the rows of headings, upper ones first.
    unit_rows : tuple of int
        Positions (index from 0) of rows of units beside them.
    headings, groups, parts : tuple of str
        By column, as in ``Layout``.
    unit_texts : tuple of str
        By column.
    width : int
        Number of fields of the headings, empty ones at the end counted.
    """

    rows: tuple[int, ...] = ()
    unit_rows: tuple[int, ...] = ()
    headings: tuple[str, ...] = ()
    groups: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    unit_texts: tuple[str, ...] = ()
    width: int = 0

    @property
    def end(self) -> int:
        """Position (index from 0) of the first row below the headings."""
        return max(self.rows + self.unit_rows, default=-1) + 1


def _merged(grid: Grid, at: int) -> dict[int, int]:
    """Columns that a merged cell of a row covers beyond its first, and that first column."""
    found = {}
    for first, left, last, right in grid.merged:
        if first <= at <= last:
            found.update(dict.fromkeys(range(left + 1, min(right, 2000) + 1), left))
    return found


def spans(grid: Grid, upper: int, lower: int) -> bool:
    """Return whether a row of headings names groups of the columns of the row below it.

    Parameters
    ----------
    grid : Grid
        The table.
    upper, lower : int
        Positions of the two rows, an index from 0 each.

    Returns
    -------
    bool
        True where a cell of the upper row stands above two or more columns of the lower one.

    Examples
    --------
    >>> above = ("", "alkalinity", "", "calcium", "")
    >>> spans(Grid("a.csv", (above, ("date", "A", "B", "A", "B"))), 0, 1)
    True
    >>> spans(Grid("a.csv", (("Tank 3", "", ""), ("date", "KH", "Ca"))), 0, 1)
    False
    """
    if not (0 <= upper < lower < len(grid.rows)) or {upper, lower} & set(grid.broken):
        return False
    above, below = texts_of(grid.rows[upper]), texts_of(grid.rows[lower])
    if not all(f in ("", "text", "word") for f in forms_of(grid.rows[lower])) or not any(above):
        return False
    if sum(map(bool, below)) < 2 or are_units(below) or are_units(above):
        return False
    if any(form == "date" for form in forms_of(grid.rows[upper])):
        return False
    width = max(len(above), len(below))
    above += [""] * (width - len(above))
    below += [""] * (width - len(below))
    merged = _merged(grid, upper)
    wide = [
        c for c, left in merged.items() if c < width and below[c] and above[left] and not above[c]
    ]
    if wide and any(above[c] and c not in merged for c in range(merged[wide[-1]] + 1, width)):
        return True
    if wide and any(below[c] or above[c] for c in range(min(wide) - 1)):
        return True
    names = [text for text in below if text]
    twice = len(set(names)) < len(names)
    first = next(column for column in range(width) if above[column] or below[column])
    if above[first] and below[first] and not twice:
        return False
    pairs = list(zip(above, below, strict=True))
    alone = any(
        not above[c] and below[c] and above[c - 1] and below[c - 1] for c in range(first + 2, width)
    )
    repeated = [text for text in above if text]
    both = twice and len(set(repeated)) < len(repeated) and len(set(pairs)) > len(set(below))
    return alone or both


def _spread(grid: Grid, at: int, lower: list[str], width: int) -> list[str]:
    """Fill an upper row, its groups written above every column that they stand over."""
    texts = texts_of(grid.rows[at])
    texts += [""] * (width - len(texts))
    merged = _merged(grid, at)
    known = any(left < width and texts[left] for left in merged.values())
    for column in range(1, width):
        if texts[column]:
            continue
        if column in merged:
            texts[column] = texts[merged[column]]
        elif not known and lower[column] and lower[column - 1]:
            texts[column] = texts[column - 1]
    return texts


def header_at(grid: Grid, at: int, *, alone: bool = False) -> Header:
    """Return the headings of which one row is known: with groups above or parts below, and units.

    Parameters
    ----------
    grid : Grid
        The table.
    at : int
        Position of the row, an index from 0.
    alone : bool, optional
        Whether this row is the last one of the headings, because the keeper said so.

    Returns
    -------
    Header
        The headings.

    Examples
    --------
    >>> rows = (("", "alkalinity", ""), ("date", "kit A", "kit B"), ("", "dKH", "dKH"))
    >>> header_at(Grid("a.csv", rows), 0).headings
    ('date', 'alkalinity kit A', 'alkalinity kit B')
    """
    low = at + 1 if not alone and spans(grid, at, at + 1) else at
    rows = [low]
    while len(rows) < 3 and spans(grid, rows[0] - 1, rows[0]):
        rows.insert(0, rows[0] - 1)
    width = max(len(grid.rows[row]) for row in rows)
    lower = texts_of(grid.rows[low])
    lower += [""] * (width - len(lower))
    parts, upper = list(lower), [""] * width
    for row in reversed(rows[:-1]):
        spread = _spread(grid, row, lower, width)
        upper = [_joined(above, below) for above, below in zip(spread, upper, strict=True)]
        lower = [a or b for a, b in zip(lower, spread, strict=True)]
    headings = [_joined(a, b) for a, b in zip(upper, parts, strict=True)]
    unit_rows = [row for row in (rows[0] - 1, _under(grid, low)) if _is_unit_row(grid, row, width)]
    units = [""] * width
    for row in unit_rows:
        for column, text in enumerate(texts_of(grid.rows[row])[:width]):
            units[column] = units[column] or text
    two = len(rows) > 1
    return Header(
        tuple(rows),
        tuple(unit_rows),
        tuple(headings),
        tuple(upper) if two else ("",) * width,
        tuple(parts) if two else ("",) * width,
        tuple(units),
        width,
    )


def _joined(above: str, below: str) -> str:
    return below if above == below else f"{above} {below}".strip()


def _under(grid: Grid, at: int) -> int:
    """Find the next row that is no ruled line."""
    at += 1
    while at < len(grid.rows) and is_ruled(forms_of(grid.rows[at])):
        at += 1
    return at


def _is_unit_row(grid: Grid, at: int, width: int) -> bool:
    if not 0 <= at < len(grid.rows) or at in grid.broken:
        return False
    texts = texts_of(grid.rows[at])
    return are_units(texts) and not any(texts[width:])
