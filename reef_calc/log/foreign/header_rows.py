"""Finding the row of headings of a foreign table among the text above it and the data below."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from reef_calc.log.foreign.cell_forms import (
    Form,
    are_units,
    form_of,
    forms_of,
    is_date_word,
    is_heading_word,
    is_ruled,
    is_text_only,
    texts_of,
)
from reef_calc.log.foreign.grid import Cell, Grid
from reef_calc.log.foreign.heading_groups import spans
from reef_calc.log.foreign.names import element_named

# Only the first rows are looked at closely; no preamble is longer.
LOOKED_AT = 60
_BELOW = 12
_WIDEST = 300


def _rows_below(grid: Grid, at: int, count: int) -> list[tuple[tuple[Cell, ...], list[Form]]]:
    """Find the next rows that hold something, rows of units and ruled lines left out."""
    found = []
    for row in grid.rows[at + 1 : at + 1 + 3 * count]:
        forms = forms_of(row)
        if any(forms) and not is_ruled(forms) and not are_units(texts_of(row)):
            found.append((row, forms))
        if len(found) == count:
            break
    return found


def _score(grid: Grid, at: int) -> float:
    """How much a row looks like headings of what stands below it; above zero it does."""
    row = grid.rows[at]
    forms = forms_of(row)
    filled = [column for column, form in enumerate(forms) if form]
    valued = "number" in forms or "date" in forms
    if (
        not filled
        or is_ruled(forms)
        or (valued and not _rows_below(grid, at, 1))
        or are_units(texts_of(row))
        or at in grid.broken
    ):
        return -9.0
    below = _rows_below(grid, at, _BELOW)
    if valued and below and forms == below[0][1] and element_named(texts_of(row)[filled[0]]):
        # “Calcium 421 mg/L” above “Magnesium 1300 mg/L”: a report without headings.
        return -9.0
    score, uncovered = 0.0, 0
    for column in range(max([len(row), *(len(other) for other, _ in below)])):
        form = forms[column] if column < len(forms) else ""
        under = [some[column] for _, some in below if column < len(some) and some[column]]
        values = sum(one in ("number", "date") for one in under)
        dates = under.count("date")
        mostly = under and 2 * values >= len(under)
        if form == "text":
            score += 2.0 if mostly else 0.0
        elif form == "number" and under and 2 * dates >= len(under):
            score += 1.0
        elif form in ("number", "date"):
            score -= 3.0 if mostly else 1.0
        elif mostly:
            uncovered += 1
    known = [cell for cell in row if is_heading_word(cell)]
    score += 2.0 * min(len(known), 4)
    score += 2.0 if any(is_date_word(cell) for cell in known) else 0.0
    score -= 0.5 * min(uncovered, 4)
    score -= 2.0 * sum(isinstance(cell, str) and len(cell) > 40 for cell in row)
    widest = max((sum(map(bool, some)) for _, some in below), default=1)
    if len(filled) == 1 and widest > 1:
        score -= 4.0
    # Another row of texts lower down is likelier to be the headings, unless this one stands above it.
    lower = [other for other in _texts_first(below) if other != row]
    score -= 3.0 * min(len(lower), 2) if not lower or not spans(grid, at, at + 1) else 0.0
    return score - _skipped(grid, at, below)


def _is_dated(row: tuple[Cell, ...]) -> bool:
    """Tell whether a row holds a date and a value."""
    forms = forms_of(row)
    return "date" in forms and ("number" in forms or "word" in forms)


def _texts_first(
    below: list[tuple[tuple[Cell, ...], list[Form]]],
) -> list[tuple[Cell, ...]]:
    """Find the rows of texts that stand before the first row with dates, or the first with values."""
    dated = any("date" in forms for _, forms in below)
    found = []
    for row, forms in below:
        if ("date" if dated else "number") in forms:
            break
        if is_text_only(row):
            found.append(row)
    return found


def _skipped(grid: Grid, at: int, below: list[tuple[tuple[Cell, ...], list[Form]]]) -> float:
    """Weigh that rows above look the same as the rows below."""
    if not below:
        return 0.0
    usual = [column for column, form in enumerate(below[0][1]) if form in ("number", "date")]
    same = 0
    for row in grid.rows[max(0, at - LOOKED_AT) : at]:
        forms = forms_of(row)
        same += bool(usual) and all(
            column < len(forms) and forms[column] == below[0][1][column] for column in usual
        )
    return 3.0 * same


def _is_counted(grid: Grid, at: int) -> bool:
    """Whether a row of numbers is headings: 0, 1, 2 or years, where dates stand below the first."""
    texts = [text for text in texts_of(grid.rows[at]) if text]
    below = [forms for _, forms in _rows_below(grid, at, _BELOW) if forms]
    if len(texts) < 2 or not below:
        return False
    dates = sum(forms[0] == "date" for forms in below)
    named = form_of(grid.rows[at][0]) in ("text", "")
    numbers = texts[1:] if form_of(grid.rows[at][0]) == "text" else texts
    if 5 * dates < 4 * len(below) or not all(
        text.isdecimal() and len(text) < 5 for text in numbers
    ):
        return False
    steps = {int(b) - int(a) for a, b in pairwise(numbers)}
    return steps == {1} or (named and len(numbers) == 1 and is_date_word(texts[0]))


def heading_row(grid: Grid) -> int | None:
    """Return the row that looks most like the headings of the table, or None where none does.

    Parameters
    ----------
    grid : Grid
        The table.

    Returns
    -------
    int or None
        Position, an index from 0. The first rows are looked at only.

    Examples
    --------
    >>> heading_row(Grid("a.csv", (("Tank 3", ""), ("date", "KH"), ("2026-02-01", "8.3"))))
    1
    >>> heading_row(Grid("a.csv", (("2026-02-01", "8.3"), ("2026-02-08", "8.1")))) is None
    True
    """
    near = grid.rows[: LOOKED_AT + 4 * _BELOW]
    grid = replace(grid, rows=tuple(row[:_WIDEST] for row in near))
    best, found = 0.0, None
    for at in range(min(len(grid.rows), LOOKED_AT)):
        # Headings below data of their own kind are those of another table.
        if found is not None and _is_dated(grid.rows[at - 1]):
            break
        score = _score(grid, at)
        if score <= best and score > -9.0 and found is None and _is_counted(grid, at):
            score = 1.0
        if score > best:
            best, found = score, at
    return found
