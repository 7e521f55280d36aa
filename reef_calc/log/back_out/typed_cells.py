"""Cells of a workbook: a number or a date where the text comes back from it, a text otherwise."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

from reef_calc.log.back_out.safe_texts import looks_like_formula

Value = str | int | float | dt.date | dt.datetime
_NUMBER = re.compile(r"-?(0|[1-9][0-9]{0,14})(?:\.([0-9]{1,12}))?")
_TIME = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}(?:([T ])[0-9]{2}:[0-9]{2}(:[0-9]{2})?)?")
# Earlier days have other numbers in some programs, which count a 29 February 1900.
_FIRST_DAY = dt.date(1900, 3, 1)
_DAY = "yyyy-mm-dd"
_BETWEEN = {"T": '"T"', " ": " "}
_TIME_FORMATS = {_DAY: "%Y-%m-%d"} | {
    f"{_DAY}{mark}hh:mm{seconds}": f"%Y-%m-%d{letter}%H:%M{code}"
    for letter, mark in _BETWEEN.items()
    for seconds, code in (("", ""), (":ss", ":%S"))
}
# What a file of this format may not hold as it is, and what would be read as such an escape.
_UNWRITABLE = re.compile("[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4})")
_ESCAPED = re.compile("_x([0-9A-Fa-f]{4})_")


@dataclass(frozen=True, slots=True)
class TypedCell:
    """What is written into one cell of a workbook.

    Attributes
    ----------
    value : str, int, float, datetime.date or datetime.datetime
        The value.
    number_format : str
        Format by which it is shown and read back; empty for a text.
    shown : bool
        Whether it is a text that must be shown and never run.
    """

    value: Value
    number_format: str = ""
    shown: bool = False


def typed_number(text: str) -> TypedCell:
    """Return a number with as many decimals as were written, or the text where digits would be lost.

    Parameters
    ----------
    text : str
        Text of a cell in a column of numbers.

    Returns
    -------
    TypedCell
        What is written.

    Examples
    --------
    >>> typed_number("8.30").value, typed_number("8.30").number_format
    (8.3, '0.00')
    >>> typed_number("8,3").value, typed_number("007").value
    ('8,3', '007')
    """
    found = _NUMBER.fullmatch(text)
    if found is not None:
        decimals = found[2] or ""
        number = float(text)
        exact = f"{number:.{len(decimals)}f}" == text
        # Fifteen digits are what every program keeps; a minus before zero is what few keep.
        if exact and len(found[1] + decimals) <= 15 and (number or text[0] != "-"):
            return TypedCell(number, "0." + "0" * len(decimals) if decimals else "0")
    return typed_text(text)


def typed_time(text: str) -> TypedCell:
    """Return a date, or date and time of day, or the text where there is an offset or another form.

    Parameters
    ----------
    text : str
        Text of a cell in a column of times.

    Returns
    -------
    TypedCell
        What is written.

    Examples
    --------
    >>> typed_time("2026-02-13T19:30").number_format
    'yyyy-mm-dd"T"hh:mm'
    >>> typed_time("2026-02-13T19:30+01:00").value
    '2026-02-13T19:30+01:00'
    """
    found = _TIME.fullmatch(text)
    if found is not None:
        try:
            moment = dt.datetime.fromisoformat(text)
        except ValueError:
            return typed_text(text)
        if moment.date() >= _FIRST_DAY:
            if found[1] is None:
                return TypedCell(moment.date(), _DAY)
            seconds = ":ss" if found[2] else ""
            return TypedCell(moment, f"{_DAY}{_BETWEEN[found[1]]}hh:mm{seconds}")
    return typed_text(text)


def typed_text(text: str) -> TypedCell:
    r"""Return a text as the format of workbooks can hold it.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    TypedCell
        What is written.

    Examples
    --------
    >>> typed_text("=1+1").shown, typed_text("bell\a").value
    (True, 'bell_x0007_')
    """
    written = _UNWRITABLE.sub(lambda found: f"_x{ord(found[0]):04X}_", text)
    return TypedCell(written, "", looks_like_formula(text))


def text_back(value: object, number_format: str) -> str:
    r"""Return the text that a cell was made from.

    Parameters
    ----------
    value : object
        What the cell holds.
    number_format : str
        Its format.

    Returns
    -------
    str
        The text.

    Examples
    --------
    >>> text_back(8.3, "0.00"), text_back(None, "General"), text_back("bell_x0007_", "General")
    ('8.30', '', 'bell\x07')
    """
    if value is None:
        return ""
    if isinstance(value, str):
        return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), value)
    if isinstance(value, dt.datetime | dt.date):
        # The fields of a format are the same in every program; the quotes around T are not.
        pattern = _TIME_FORMATS.get(number_format, "%Y-%m-%dT%H:%M:%S")
        return value.strftime(pattern)
    if isinstance(value, int | float) and not isinstance(value, bool):
        decimals = (
            len(number_format.partition(".")[2]) if number_format[:2] in ("0", "0.") else None
        )
        return repr(value) if decimals is None else f"{value:.{decimals}f}"
    return str(value)
