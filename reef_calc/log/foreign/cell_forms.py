"""What a cell looks like at first sight: empty, a number, a date, a ruled line, or text."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Literal

from reef_calc.log.foreign.grid import Cell, text_of
from reef_calc.log.foreign.layout_words import (
    DATE_WORDS,
    HEADING_WORDS,
    MONTHS,
    UNIT_ROW_WORDS,
    UNIT_WORDS,
    VALUE_WORDS,
)

# "word": a text in the place of a value, such as n.d.; it tells nothing about its row.
Form = Literal["", "number", "date", "line", "word", "text"]

_LINE = re.compile(r"[-=_+:|~*─━═┼│\s]{2,}")
_NUMBER = re.compile(r"[-+−~≈<>≤≥±=(\s]*[.,]?\d")
# Three groups of digits, after nothing but a short name of a weekday.
_DATE = re.compile(
    r"(?:[^\W\d]{1,4}[.,]{0,2}\s+|[^\W\d]+(?:day|tag|dag|di|feira),?\s+)?"
    r"\d{1,4}\s?([./-])\s?\d{1,2}\s?\1\s?\d{1,4}(?!\d)",
    re.IGNORECASE,
)
_COMPACT = re.compile(r"(?:19|20)\d\d(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])(?!\d)|\d{1,4}[年]")
_DAY_MONTH = re.compile(r"\d{1,2}(?:st|nd|rd|th)?\.?[\s-]+(?:de\s+)?([^\W\d]{3,})", re.IGNORECASE)
_MONTH_DAY = re.compile(
    r"([^\W\d]{3,12})\.?\s+\d{1,2}(?:st|nd|rd|th)?,?\s+\d{2,4}\b", re.IGNORECASE
)
_RATIO = re.compile(r"[mµun]?(?:g|mol|eq|val|l|s)\s?/\s?(?:l|kg|ml|cm|m|d|day|tag|100\s?l)")


@lru_cache(maxsize=65536)
def _form_of_text(text: str) -> Form:
    plain = text.strip()
    if not plain:
        return ""
    folded = plain.casefold()
    if folded in VALUE_WORDS:
        return "line" if folded in ("--", "——") else "word"
    if _DATE.match(plain) or _COMPACT.match(plain):
        return "date"
    month = _DAY_MONTH.match(plain) or _MONTH_DAY.match(plain)
    if month and (month[1][:3].casefold() in MONTHS or month[1][:4].casefold() in MONTHS):
        return "date"
    if _NUMBER.match(plain):
        return "number"
    return "line" if _LINE.fullmatch(plain) else "text"


def form_of(cell: Cell) -> Form:
    """Return what a cell looks like.

    Parameters
    ----------
    cell : Cell
        The cell.

    Returns
    -------
    str
        Empty, ``number`` (with whatever stands around it), ``date`` (also one that does not exist),
        ``line`` (ruled), ``word`` (a text in the place of a value) or ``text``.

    Examples
    --------
    >>> [form_of(cell) for cell in ("8,3 dKH", "31.04.2026", "1 Feb 26", "---", "n.d.", "KH", " ")]
    ['number', 'date', 'date', 'line', 'word', 'text', '']
    """
    if isinstance(cell, str):
        return _form_of_text(cell) if len(cell) < 200 else "text"
    return "date" if isinstance(cell, dt.date | dt.time) else "number"


def plain_words(text: str) -> list[str]:
    """Return the words of a heading in small letters, without brackets and punctuation.

    Parameters
    ----------
    text : str
        A heading.

    Returns
    -------
    list of str
        Its words.

    Examples
    --------
    >>> plain_words("Alkalinity [dKH]:")
    ['alkalinity', 'dkh']
    """
    return [word for part in text.casefold().split() if (word := part.strip("[]():;,.*\"'"))]


def is_heading_word(cell: Cell) -> bool:
    """Return whether a cell is a heading as keepers write them.

    Parameters
    ----------
    cell : Cell
        The cell.

    Returns
    -------
    bool
        True for a few words of which one is a known heading.

    Examples
    --------
    >>> is_heading_word("KH (dKH)"), is_heading_word("Datum"), is_heading_word("moved rock")
    (True, True, False)
    """
    if not isinstance(cell, str) or len(cell) > 60:
        return False
    words = plain_words(cell.replace("_", " ").replace("/", " ")) + plain_words(cell)
    return len(words) <= 10 and any(word in HEADING_WORDS for word in words)


def is_date_word(cell: Cell) -> bool:
    """Return whether a cell is a heading of dates or times.

    Parameters
    ----------
    cell : Cell
        The cell.

    Returns
    -------
    bool
        True for such as ``Datum``.

    Examples
    --------
    >>> is_date_word("Date (UTC)"), is_date_word("KH")
    (True, False)
    """
    if not isinstance(cell, str) or len(cell) > 60:
        return False
    return any(word in DATE_WORDS for word in plain_words(cell.replace("_", " ").replace("/", " ")))


def is_unit(text: str) -> bool:
    """Return whether a text is nothing but a unit, perhaps with what it is counted as.

    Parameters
    ----------
    text : str
        Text of a cell.

    Returns
    -------
    bool
        True for such as ``dKH`` or ``µg/L P``.

    Examples
    --------
    >>> is_unit("µg/L P"), is_unit("[mg/l]"), is_unit("ppm CaCO3"), is_unit("KH reading"), is_unit("Ca")
    (True, True, True, False, False)
    """
    plain = text.casefold().replace("μ", "µ").replace("µ", "u").strip("[]() ")
    words = plain.split()
    if not words or len(words) > 3:
        return False
    if plain in UNIT_WORDS or bool(_RATIO.fullmatch(plain)):
        return True
    known = words[0] in UNIT_WORDS or bool(_RATIO.fullmatch(words[0]))
    return known and len(words[0]) > 2 and len(plain) <= 24


def are_units(cells: list[str]) -> bool:
    """Return whether the texts of a row are units only.

    Parameters
    ----------
    cells : list of str
        Texts of its cells.

    Returns
    -------
    bool
        True where every one is empty, a unit, or what stands beside units above a date column, and at
        least one is a unit.

    Examples
    --------
    >>> are_units(["", "dKH", "mg/L"]), are_units(["Unit", "ppm", "-"]), are_units(["date", "KH"])
    (True, True, False)
    """
    filled = [text for text in cells if text]
    units = sum(map(is_unit, filled))
    beside = sum(text.casefold().strip("[]()") in UNIT_ROW_WORDS for text in filled)
    return units > 0 and units + beside >= len(filled)


def texts_of(row: tuple[Cell, ...]) -> list[str]:
    """Return the texts of a row.

    Parameters
    ----------
    row : tuple of Cell
        The row.

    Returns
    -------
    list of str
        One for each cell.

    Examples
    --------
    >>> texts_of((" KH", 8.0))
    ['KH', '8']
    """
    return [text_of(cell) for cell in row]


def forms_of(row: tuple[Cell, ...]) -> list[Form]:
    """Return what the cells of a row look like.

    Parameters
    ----------
    row : tuple of Cell
        The row.

    Returns
    -------
    list of str
        One form for each cell.

    Examples
    --------
    >>> forms_of(("2026-02-01", 8.3, ""))
    ['date', 'number', '']
    """
    return [form_of(cell) for cell in row]


def is_ruled(forms: Sequence[Form]) -> bool:
    """Return whether a row is a ruled line.

    Parameters
    ----------
    forms : sequence of str
        Forms of its cells.

    Returns
    -------
    bool
        True where lines are all that it holds.

    Examples
    --------
    >>> is_ruled(["line", "line", ""]), is_ruled(["", ""])
    (True, False)
    """
    return "line" in forms and all(form in ("", "line") for form in forms)


def is_text_only(row: tuple[Cell, ...]) -> bool:
    """Return whether a row holds two texts or more, and no number or date.

    Parameters
    ----------
    row : tuple of Cell
        The row.

    Returns
    -------
    bool
        As headings do.

    Examples
    --------
    >>> is_text_only(("date", "KH")), is_text_only(("Mean", "8.2")), is_text_only(("date", ""))
    (True, False, False)
    """
    forms = forms_of(row)
    return forms.count("text") >= 2 and all(form in ("", "text", "word") for form in forms)
