"""One number out of one cell: a decimal point, nothing guessed, nothing corrected."""

from __future__ import annotations

import math
import re

from reef_calc.errors import NumberError

_NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?")
_DECIMAL_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")
_THOUSANDS = re.compile(r"[+-]?[0-9]{1,3}([.,'’_][0-9]{3})+([.,][0-9]*)?")
_COMMA_AND_THREE = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
_LIMIT = re.compile(r"([<>≤≥])\s*(.*)", re.DOTALL)
_RANGE = re.compile(r"([0-9.]+)\s*[-–]\s*([0-9.]+)")
_WITH_UNIT = re.compile(r"([+-]?[0-9]+(?:[.,][0-9]+)?)\s*([^0-9.,\s_x].*)", re.DOTALL)
_WORDS_FOR_NOTHING = {"nan", "na", "n/a", "none", "null", "-", "–", "inf", "+inf", "-inf",
                      "infinity", "+infinity", "-infinity"}  # fmt: skip


def parse_number(text: str, where: str = "") -> float:
    """Return the number that a cell holds.

    Only plain decimal numbers are read (``8.3``, ``-0.2``, ``1e-3``). Everything that could be
    read in two ways is refused.

    Parameters
    ----------
    text : str
        Text of the cell; spaces at its ends do not matter, the Unicode minus is a minus.
    where : str, optional
        File, row and column, for the message.

    Returns
    -------
    float
        A finite number, in whatever unit the row states.

    Raises
    ------
    NumberError
        With a sentence of its own for: an empty cell, a decimal comma, thousands separators,
        blanks inside, "not a number" and infinity, a unit in the cell, a ``<`` or ``>``, a range.

    Notes
    -----
    Valid for numbers a double can hold; more than about 15 digits are rounded by the machine.

    Examples
    --------
    >>> parse_number(" 8.3 "), parse_number("−0.25")
    (8.3, -0.25)
    >>> parse_number("8,3", "readings.csv row 4, value")
    Traceback (most recent call last):
        ...
    reef_calc.errors.NumberError: readings.csv row 4, value: needed a number with a decimal
    point, given “8,3”. This looks like a decimal comma: write 8.3.

    References
    ----------
    Decimal marks and grouping: ISO 80000-1:2022, 7.2; the strictness is our own choice.
    """
    if not isinstance(text, str):
        raise NumberError(
            "the text of a number", text, "Pass text; a number needs no reading.", where
        )
    cell = text.strip().replace("−", "-")
    if _NUMBER.fullmatch(cell):
        number = float(cell)
        if math.isfinite(number):
            return number
    needed, repair = _what_is_wrong(cell)
    raise NumberError(needed, text, repair, where)


def parse_typed_number(text: str, where: str = "") -> float:
    """Return the number that a person typed into a field, where a decimal comma is as good.

    Parameters
    ----------
    text : str
        Text of the field.
    where : str, optional
        Label of the field, for the message.

    Returns
    -------
    float
        A finite number.

    Raises
    ------
    NumberError
        As ``parse_number``; also for a comma before three digits, which may mean thousands.

    Examples
    --------
    >>> parse_typed_number("8,3"), parse_typed_number("8.3"), parse_typed_number("0,250")
    (8.3, 8.3, 0.25)
    >>> parse_typed_number("1,250", "Display")
    Traceback (most recent call last):
        ...
    reef_calc.errors.NumberError: Display: needed a number with a decimal point, given “1,250”.
    The comma may be a decimal comma or a thousands separator: write 1.250 or 1250.
    """
    return parse_number(with_decimal_point(text), where)


def with_decimal_point(text: str) -> str:
    """Return a typed text with its one decimal comma as a point; any other text as it is.

    Parameters
    ----------
    text : str
        Text of a field.

    Returns
    -------
    str
        The text.

    Examples
    --------
    >>> with_decimal_point(" 8,3 "), with_decimal_point("1,250"), with_decimal_point("x")
    ('8.3', '1,250', 'x')
    """
    cell = text.strip()
    if _DECIMAL_COMMA.fullmatch(cell) and not _COMMA_AND_THREE.fullmatch(cell):
        return cell.replace(",", ".")
    return text


def _what_is_wrong(cell: str) -> tuple[str, str]:
    """Say what was needed and what to write instead."""
    if not cell:
        return "a number", "The cell is empty: write the number, or delete the row."
    if cell.casefold() in _WORDS_FOR_NOTHING or _NUMBER.fullmatch(cell):
        return "a finite number", "Write a number; a row without one is left out of the file."
    limit = _LIMIT.fullmatch(cell)
    if limit:
        sign = "<" if limit[1] in "<≤" else ">"
        return "a number alone", f"Put {sign} in the limit column and only the number here."
    if _COMMA_AND_THREE.fullmatch(cell):
        return (
            "a number with a decimal point",
            f"The comma may be a decimal comma or a thousands separator: write "
            f"{cell.replace(',', '.')} or {cell.replace(',', '')}.",
        )
    if _DECIMAL_COMMA.fullmatch(cell):
        return (
            "a number with a decimal point",
            f"This looks like a decimal comma: write {cell.replace(',', '.')}.",
        )
    if _THOUSANDS.fullmatch(cell):
        return "a number without separators", "Write it without thousands separators."
    span = _RANGE.fullmatch(cell)
    if span:
        return (
            "one number",
            f"This looks like a range: write between in the limit column, {span[1]} here and "
            f"{span[2]} in the upper column.",
        )
    if re.fullmatch(r"[-+0-9.,\s]+", cell) and re.search(r"\s", cell):
        return "a number without blanks inside", "Delete the blanks inside the number."
    with_unit = _WITH_UNIT.fullmatch(cell)
    if with_unit:
        return (
            "a number alone",
            f"Leave {with_unit[1].replace(',', '.')} here and put “{with_unit[2].strip()}” where "
            "it belongs: a unit in the unit column, a remark in the note column.",
        )
    return "a number with a decimal point", "Write digits only, such as 8.3."
