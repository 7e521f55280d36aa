"""Three numbers of a date in one order or another, and what would follow from each."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from reef_calc.log.foreign.date_forms import Written, day_of, full_year, shortened
from reef_calc.log.foreign.month_names import day_words
from reef_calc.log.foreign.outcome import Said
from reef_calc.log.foreign.rows_in_words import in_words

# Where day, month and year stand in each order.
ORDERS = {"day first": (0, 1, 2), "month first": (1, 0, 2), "year first": (2, 1, 0)}
ORDER_WORDS = {
    "day first": "day, month, year", "month first": "month, day, year",
    "year first": "year, month, day",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Ordered:
    """A row whose date has to be put in order.

    Attributes
    ----------
    row : int
        Row, counted from 1.
    text : str
        Its cell as written.
    written : Written
        What it says.
    """

    row: int
    text: str
    written: Written


def fits(written: Written, order: str) -> bool:
    """Return whether three numbers can be a date in an order.

    Parameters
    ----------
    written : Written
        A cell with three numbers.
    order : str
        The order.

    Returns
    -------
    bool
        True where the month is at most 12 and the day at most 31; whether the day exists is another
        question, asked when the order is known.

    Examples
    --------
    >>> slash = Written(parts=(16, 3, 2026), separator="/")
    >>> fits(slash, "day first"), fits(slash, "month first"), fits(slash, "year first")
    (True, False, False)
    """
    day, month, year = (written.parts[at] for at in ORDERS[order])
    if order == "year first" and not written.short:
        return False
    return 1 <= month <= 12 and 1 <= day <= 31 and (year > 99) != written.short


def date_in_order(written: Written, order: str, text: str) -> dt.date | Said:
    """Return the day of three numbers in an order.

    Parameters
    ----------
    written : Written
        A cell with three numbers.
    order : str
        The order.
    text : str
        As written.

    Returns
    -------
    datetime.date or Said
        The day, or why it is refused.

    Examples
    --------
    >>> date_in_order(Written(parts=(3, 16, 26), short=True), "month first", "3/16/26")
    datetime.date(2026, 3, 16)
    """
    known = _day_of_parts(written.parts, written.short, order)
    if known is not None:
        return known
    if not fits(written, order):
        reason = f"“{shortened(text)}” is no date in the order {ORDER_WORDS[order]}."
        return Said("refused", "OTHER_ORDER", reason, "Write year-month-day, such as 2026-02-01.")
    day, month, year = (written.parts[at] for at in ORDERS[order])
    return day_of(full_year(year, written.short), month, day, text)


@lru_cache(maxsize=65_536)
def _day_of_parts(parts: tuple[int, ...], short: bool, order: str) -> dt.date | None:
    written = Written(parts=parts, short=short)
    if not fits(written, order):
        return None
    day, month, year = (parts[at] for at in ORDERS[order])
    found = day_of(full_year(year, short), month, day, "")
    return None if isinstance(found, Said) else found


def both_readings(written: Written, text: str) -> str:
    """Return what a date may mean, in words.

    Parameters
    ----------
    written : Written
        A cell with three numbers.
    text : str
        As written.

    Returns
    -------
    str
        A sentence with every day that it may be.

    Examples
    --------
    >>> both_readings(Written(parts=(3, 2, 2026), separator="/"), "3/2/2026")
    '“3/2/2026” may be 3 February 2026 or 2 March 2026.'
    """
    one = Ordered(0, text, written)
    ways = list(dict.fromkeys(day_in_order(one, order) for order in ORDERS if fits(written, order)))
    verb = "may be" if len(ways) > 1 else "can only be"
    return f"“{shortened(text)}” {verb} {in_words(ways, 'or')}."


def kind_of(one: Ordered) -> tuple[object, ...]:
    """Return what decides the order of a row, the same for rows that are written alike.

    Parameters
    ----------
    one : Ordered
        A row.

    Returns
    -------
    tuple
        Its numbers, whether its year is short, and its separator.

    Examples
    --------
    >>> kind_of(Ordered(2, "3/2/2026", Written(parts=(3, 2, 2026), separator="/")))
    ((3, 2, 2026), False, '/')
    """
    return one.written.parts, one.written.short, one.written.separator


def day_in_order(one: Ordered, order: str) -> str:
    """Return the day of a row in one order, in words.

    Parameters
    ----------
    one : Ordered
        A row.
    order : str
        The order.

    Returns
    -------
    str
        The day, or that it does not exist.

    Examples
    --------
    >>> day_in_order(Ordered(2, "3/2/2026", Written(parts=(3, 2, 2026))), "month first")
    '2 March 2026'
    """
    day = date_in_order(one.written, order, one.text)
    return "a day that does not exist" if isinstance(day, Said) else day_words(day)


def days_in_order(found: Sequence[Ordered], order: str) -> list[dt.date]:
    """Return the days of rows in one order, without those that do not exist.

    Parameters
    ----------
    found : sequence of Ordered
        Rows.
    order : str
        The order.

    Returns
    -------
    list of datetime.date
        Days in the order of the file.

    Examples
    --------
    >>> days_in_order([Ordered(2, "3/2/2026", Written(parts=(3, 2, 2026)))], "day first")
    [datetime.date(2026, 2, 3)]
    """
    known: dict[tuple[object, ...], dt.date | Said] = {}
    for one in found:
        if kind_of(one) not in known:
            known[kind_of(one)] = date_in_order(one.written, order, one.text)
    days = (known[kind_of(one)] for one in found)
    return [day for day in days if isinstance(day, dt.date)]


def consequence(found: Sequence[Ordered], order: str, today: dt.date) -> str:
    """Return what would follow from an order, in numbers of the file.

    Parameters
    ----------
    found : sequence of Ordered
        Rows.
    order : str
        The order.
    today : datetime.date
        The present day.

    Returns
    -------
    str
        The first days, and how many rows would not exist, lie in the future or go back in time.

    Examples
    --------
    >>> rows = [Ordered(2, text, Written(parts=parts)) for text, parts in
    ...     (("3/2/2026", (3, 2, 2026)), ("9/3/2026", (9, 3, 2026)))]
    >>> consequence(rows, "day first", dt.date(2026, 4, 1))
    '3 February 2026, then 9 March 2026: 34 days apart.'
    """
    days = days_in_order(found, order)
    if not days:
        return "No row would be a day that exists."
    said = [_first_days(days)]
    if (lost := len(found) - len(days)) > 0:
        said.append(f"{lost} {'row' if lost == 1 else 'rows'} would be no day that exists.")
    if ahead := sum(day > today for day in days):
        said.append(f"{ahead} of {len(days)} {'row' if len(days) == 1 else 'rows'} in the future.")
    if len(days) > 2:
        back = sum(b < a for a, b in pairwise(days))
        said.append(f"{back} of {len(days)} rows earlier than the row above.")
        said.append(f"From {day_words(min(days))} to {day_words(max(days))}.")
    return " ".join(said)


def _first_days(days: Sequence[dt.date]) -> str:
    after = next((day for day in days if day != days[0]), None)
    if after is None:
        return f"{day_words(days[0])}."
    apart = abs((after - days[0]).days)
    return (
        f"{day_words(days[0])}, then {day_words(after)}: {apart} {'day' if apart == 1 else 'days'} "
        "apart."
    )
