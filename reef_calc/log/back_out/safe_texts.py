"""Texts that a spreadsheet would run as a formula, written so that it shows them, and back."""

from __future__ import annotations

import re

from reef_calc.errors import InputError
from reef_calc.log.tables import NUMBERS

# Also the wide forms, which some programs take for the narrow ones.
_STARTS = "=+-@＝＋－＠"
_CONTROL = ("\t", "\r", "\n")
_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+([eE][+-]?[0-9]+)?")
_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?")


def looks_like_formula(text: str) -> bool:
    r"""Return whether a spreadsheet may run a text instead of showing it.

    Parameters
    ----------
    text : str
        Text of a cell.

    Returns
    -------
    bool
        True where it begins, after blanks, with an equals, plus, minus or at sign, or with a tab or
        line end.

    Examples
    --------
    >>> [looks_like_formula(text) for text in ("=1+1", " @x", "8.3", "\tx", "a=b")]
    [True, True, False, True, False]
    """
    start = text.lstrip()[:1]
    return text.startswith(_CONTROL) or (start != "" and start in _STARTS)


def number_columns(file: str, header: tuple[str, ...]) -> frozenset[int]:
    """Return which columns of a table hold numbers.

    Parameters
    ----------
    file : str
        Name of the table.
    header : tuple of str
        Its first record.

    Returns
    -------
    frozenset of int
        Columns, counted from 0.

    Examples
    --------
    >>> sorted(number_columns("water_changes.csv", ("time", " Litres", "salinity")))
    [1, 2]
    """
    names = [name.strip().lower() for name in header]
    return frozenset(i for i, name in enumerate(names) if name in NUMBERS[file])


def written_out(text: str, decimal: str, number: bool) -> str:
    """Return a cell as it goes out.

    Parameters
    ----------
    text : str
        The cell as it stands in the tank folder.
    decimal : {".", ","}
        Decimal mark that is written.
    number : bool
        Whether its column holds numbers.

    Returns
    -------
    str
        A number with that mark; any other text that a spreadsheet might run, or that would come back
        otherwise, with an apostrophe before it.

    Examples
    --------
    >>> written_out("8.30", ",", True), written_out("=1+1", ".", False), written_out("'x", ".", False)
    ('8,30', "'=1+1", "''x")
    """
    if number and _NUMBER.fullmatch(text):
        return text.replace(".", decimal)
    return "'" + text if _apostrophe_before(text, number and decimal == ",") else text


def taken_back(text: str, decimal: str, number: bool) -> str:
    """Return a cell as it stood in the tank folder: the inverse of ``written_out``.

    Parameters
    ----------
    text : str
        The cell as it went out.
    decimal : {".", ","}
        Decimal mark that was written.
    number : bool
        Whether its column holds numbers.

    Returns
    -------
    str
        The cell. An apostrophe that ``written_out`` would not have put there stays.

    Examples
    --------
    >>> taken_back("8,30", ",", True), taken_back("'=1+1", ".", False), taken_back("''x", ".", False)
    ('8.30', '=1+1', "'x")
    """
    if text.startswith("'") and _apostrophe_before(text[1:], number and decimal == ","):
        return text[1:]
    if number and decimal == "," and _COMMA.fullmatch(text):
        return text.replace(",", ".")
    return text


def _apostrophe_before(text: str, comma: bool) -> bool:
    comes_back_otherwise = comma and _COMMA.fullmatch(text) is not None
    return text.startswith("'") or comes_back_otherwise or looks_like_formula(text)


def check_marks(decimal: str, separator: str) -> None:
    """Refuse marks that no spreadsheet opens rightly.

    Parameters
    ----------
    decimal : str
        Decimal mark.
    separator : str
        What parts the cells.

    Raises
    ------
    InputError
        If they are not known, or the same.

    Examples
    --------
    >>> check_marks(",", ";")
    """
    if decimal not in (".", ",") or separator not in (",", ";", "\t") or decimal == separator:
        raise InputError(
            "a point or comma as decimal mark, and a comma, semicolon or tab between the cells",
            f"{decimal!r} and {separator!r}",
            "With a decimal comma, take the semicolon or the tab.",
            "export",
        )
