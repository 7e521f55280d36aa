"""Rows of a foreign table that are no data: averages, remarks, ruled lines, text above the table."""

from __future__ import annotations

import re
from collections.abc import Iterable

from reef_calc.log.foreign.cell_forms import form_of, forms_of, is_date_word, plain_words, texts_of
from reef_calc.log.foreign.grid import Cell, Grid, text_of
from reef_calc.log.foreign.layout_words import AVERAGE_WORDS, SUM_WORDS
from reef_calc.log.foreign.month_names import month_named
from reef_calc.messages import Message

_VOLUME = re.compile(
    r"(?<![\w.,])(\d{1,6}(?:[.,]\d{1,3})?)\s*"
    r"(litres?|liters?|litros|litri|liter|l|us gallons?|gallons?|gal)(?![\w/])",
    re.IGNORECASE,
)
_COUNTED = re.compile(r"\(?\s*[nN]\s*=\s*\d+\s*\)?")
AVERAGE = "an average, not a reading"
SUM = "a sum, a count or another summary, not a reading"
REMARK = "a remark below the table"
ABOVE = "text above the table"
LINE = "a ruled line"
AGAIN = "the headings again"
TITLE = "a month as a title between the rows"
YEAR_TITLE = "a year as a title between the rows"


def summary_named(row: tuple[Cell, ...], date_column: int | None) -> str:
    """Return what a row sums up, empty where its words do not say that it does.

    Parameters
    ----------
    row : tuple of Cell
        The row.
    date_column : int or None
        Column of the dates, an index from 0; None where there is none.

    Returns
    -------
    str
        Why it is not read. Where a date stands, the row is a reading whatever else it says; where
        there are no dates, the whole cell has to be such a word: "Total alkalinity" is an element.

    Examples
    --------
    >>> summary_named(("Mittelwert:", "8,2"), 0)
    'an average, not a reading'
    >>> summary_named(("Total alkalinity", "8.2"), None), summary_named(("2026-02-01", "mean"), 0)
    ('', '')
    """
    dated = None
    if date_column is not None and date_column < len(row):
        dated = row[date_column]
        if form_of(dated) in ("date", "number"):
            return ""
    first = next((cell for cell in row if form_of(cell)), "")
    if form_of(first) != "text" or not isinstance(first, str) or len(first) > 60:
        return ""
    words = plain_words(_COUNTED.sub(" ", first))
    if not words or (dated is not first and len(words) > 1):
        return ""
    if words[0] == "n" and dated is not first:
        # Nitrogen of a report.
        return ""
    if words[0] in AVERAGE_WORDS:
        return AVERAGE
    return SUM if words[0] in SUM_WORDS else ""


def is_starred(text: str) -> bool:
    """Return whether a text begins with the sign of a footnote.

    Parameters
    ----------
    text : str
        Text of a cell.

    Returns
    -------
    bool
        True for a star, a dagger and the like; a number after ``#`` counts rows.

    Examples
    --------
    >>> is_starred("* changed salt"), is_starred("#12"), is_starred("")
    (True, False, False)
    """
    plain = text.strip()
    return (
        plain[:1] in ("*", "†", "‡", "#", "¹", "²") and plain[:1] != "" and not plain[1:2].isdigit()
    )


def is_month_title(row: tuple[Cell, ...]) -> bool:
    """Return whether a row holds the name of a month and nothing else.

    Parameters
    ----------
    row : tuple of Cell
        The row.

    Returns
    -------
    bool
        True for a month, with or without its year, alone in its row.

    Examples
    --------
    >>> is_month_title(("Februar 2026", "")), is_month_title(("2 Feb 2026",)), is_month_title(("May", "8"))
    (True, False, False)
    """
    filled = [cell for cell in row if form_of(cell)]
    if len(filled) != 1 or not isinstance(filled[0], str) or len(filled[0]) > 30:
        return False
    words = filled[0].strip(" -–:#*").split()
    year = words[1:] == [] or (len(words) == 2 and words[1].isdigit() and len(words[1]) == 4)
    return bool(words) and year and month_named(words[0]) > 0


def is_year_title(row: tuple[Cell, ...], date_column: int) -> bool:
    """Return whether a row holds a year and nothing else.

    Parameters
    ----------
    row : tuple of Cell
        The row.
    date_column : int
        Column of the dates, an index from 0.

    Returns
    -------
    bool
        True for a year of four digits, alone in its row, in the first column or that of the dates.

    Examples
    --------
    >>> is_year_title(("2025", ""), 0), is_year_title((2025.0,), 0), is_year_title(("", "2025"), 0)
    (True, True, False)
    """
    filled = [(at, cell) for at, cell in enumerate(row) if form_of(cell)]
    if len(filled) != 1 or filled[0][0] not in (0, date_column):
        return False
    text = text_of(filled[0][1]).strip(" -–:#*")
    return len(text) == 4 and text.isascii() and text.isdigit() and 1900 <= int(text) <= 2199


def is_remark(row: tuple[Cell, ...]) -> bool:
    """Return whether a row below the data is a remark.

    Parameters
    ----------
    row : tuple of Cell
        The row.

    Returns
    -------
    bool
        True for a single text, or where the first one begins with a star or another such sign.

    Examples
    --------
    >>> is_remark(("* changed salt on 5 Feb", "3 kg")), is_remark(("2026-02-01", "")), is_remark(("?", "8"))
    (True, False, False)
    """
    filled = [cell for cell in row if form_of(cell)]
    if not filled:
        return False
    first = filled[0]
    if isinstance(first, str) and is_starred(first):
        forms = forms_of(row)
        return "date" not in forms or "number" not in forms
    return len(filled) == 1 and form_of(first) == "text"


def dates_column(rows: Iterable[tuple[Cell, ...]], headings: tuple[str, ...]) -> int | None:
    """Return the column that holds the dates.

    Parameters
    ----------
    rows : iterable of tuple of Cell
        Some data rows.
    headings : tuple of str
        Headings by column.

    Returns
    -------
    int or None
        An index from 0: the column with the most dates, else one whose heading says so; None where
        there is none.

    Examples
    --------
    >>> dates_column([("8.3", "2026-02-01")], ("KH", "when")), dates_column([("46054",)], ("date",))
    (1, 0)
    """
    counts: dict[int, int] = {}
    total = 0
    for row in rows:
        forms = forms_of(row)
        total += any(forms)
        for column, form in enumerate(forms):
            counts[column] = counts.get(column, 0) + (form == "date")
    best = max(counts, key=lambda column: (counts[column], -column), default=None)
    if best is not None and 5 * counts[best] >= total > 0:
        return best
    return next((c for c, heading in enumerate(headings) if is_date_word(heading)), None)


def volume_offered(grid: Grid, rows: Iterable[int]) -> tuple[Message, ...]:
    """Return a note for every volume that stands in text outside the table.

    Parameters
    ----------
    grid : Grid
        The table.
    rows : iterable of int
        Positions of the rows, an index from 0 each.

    Returns
    -------
    tuple of Message
        Codes ``VOLUME_OFFERED``.

    Examples
    --------
    >>> volume_offered(Grid("a.csv", (("Tank 3, 420 L",),)), [0])[0].text
    'Row 1 says 420 L: not taken; the net volume stands in tank.toml.'
    """
    found: list[Message] = []
    for row in rows:
        if row in grid.broken or len(found) == 5:
            continue
        said = _VOLUME.search(" ".join(texts_of(grid.rows[row]))[:2000])
        if said:
            text = f"Row {row + 1} says {said[1]} {said[2]}: not taken; the net volume stands in tank.toml."
            found.append(Message("VOLUME_OFFERED", text))
    return tuple(found)
