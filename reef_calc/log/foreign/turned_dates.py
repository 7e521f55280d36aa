"""Dates in a column of numbers: a spreadsheet turns 5-10 or 8.3 into one without a word."""

from __future__ import annotations

import re

from reef_calc.log.foreign.form_of_number import NumberForm, refused, unclear
from reef_calc.log.foreign.words_for_nothing import MONTHS

_DAY = re.compile(
    r"(?:\d{1,4}[-/]\d{1,2}[-/]\d{1,4}|\d{1,2}\.\d{1,2}\.(?:\d\d|\d{4}))(?:[ T]\d{1,2}:\d\d.*)?"
)
_DAY_MONTH = re.compile(r"(\d{1,2})[.\- /]{1,2}([^\W\d_]{3,10})\.?(?:[.\- /]\d{2,4})?")
_MONTH_DAY = re.compile(r"([^\W\d_]{3,10})\.?[.\- /]{1,2}(\d{1,2})")


def turned_into_date(plain: str) -> NumberForm | None:
    """Return the form of a text that is a date.

    Parameters
    ----------
    plain : str
        Text of a cell.

    Returns
    -------
    NumberForm or None
        None where it is no date.

    Examples
    --------
    >>> turned_into_date("5-Oct").kind, turned_into_date("2026-10-05").kind, turned_into_date("5-10")
    ('unclear', 'refused', None)
    """
    if plain.replace(".", "", 2).replace(",", "").isdigit() and plain.count(".") < 2:
        return None
    if _DAY.fullmatch(plain):
        why = "is a date, not a number"
        repair = "A spreadsheet may have made it from a number. Write what was measured."
        return refused(plain, "DATE_IN_NUMBERS", why, repair)
    found = _DAY_MONTH.fullmatch(plain)
    day, name = (found[1], found[2]) if found else ("", "")
    if not found and (found := _MONTH_DAY.fullmatch(plain)):
        day, name = found[2], found[1]
    for month, beginnings in enumerate(MONTHS, start=1):
        if name and name.casefold().startswith(beginnings) and 1 <= int(day) <= 31:
            return date_form(plain, int(day), month)
    return None


def date_form(written: str, day: int, month: int) -> NumberForm:
    """Return the form of a date that a spreadsheet may have made from a number or an interval.

    Parameters
    ----------
    written : str
        The date in words.
    day, month : int
        Its day and month, each an index from 1.

    Returns
    -------
    NumberForm
        To be asked, with the numbers that spreadsheets of different countries turn into that date.

    Examples
    --------
    >>> [typed for typed, _ in date_form("5 October", 5, 10).meant]
    ['5-10', '5.10', '10.5', 'missing']
    """
    low, high = sorted((day, month))
    choices = [] if low == high else [(f"{low}-{high}", f"between {low} and {high}")]
    choices += [(f"{day}.{month}", f"the number {day}.{month}")]
    if day != month:
        choices += [(f"{month}.{day}", f"the number {month}.{day}")]
    why = "is a date. A spreadsheet may have made it from a number"
    return unclear(written, "DATE_IN_NUMBERS", why, *choices)
