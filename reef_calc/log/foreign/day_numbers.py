"""Numbers in the place of dates: a spreadsheet's day numbers, and seconds since 1970."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from reef_calc.log.foreign.clock_times import Clock, clock_of_share
from reef_calc.log.foreign.month_names import day_words
from reef_calc.log.foreign.outcome import Answers, Choice, Question
from reef_calc.log.foreign.rows_in_words import rows_in_words
from reef_calc.messages import Message

_DAY_ZERO = {"1900": dt.date(1899, 12, 30), "1904": dt.date(1904, 1, 1)}
_FIRST, _LAST = 20_000.0, 80_000.0


def is_day_number(number: float) -> bool:
    """Return whether a number can be a spreadsheet's day number.

    Parameters
    ----------
    number : float
        Number of days.

    Returns
    -------
    bool
        True from 20,000 to 80,000, the years 1954 to 2119.

    Examples
    --------
    >>> is_day_number(46054.0), is_day_number(8.3)
    (True, False)
    """
    return _FIRST <= number < _LAST


def day_of_number(
    number: float, system: str, *, with_clocks: bool = False
) -> tuple[dt.date, Clock]:
    """Return the day and the time of day of a day number.

    Parameters
    ----------
    number : float
        Number of days.
    system : {"1900", "1904"}
        Which day is 0: 1899-12-30, or 1904-01-01.
    with_clocks : bool, optional
        Whether a whole number is midnight, as in a column of times, and not a day alone.

    Returns
    -------
    tuple
        The day; the time of day to the second.

    Examples
    --------
    >>> day_of_number(46054.0, "1900")[0], day_of_number(46055.5, "1900")[1].time
    (datetime.date(2026, 2, 1), datetime.time(12, 0))
    """
    whole = int(number)
    day = _DAY_ZERO[system] + dt.timedelta(days=whole)
    if number == whole and not with_clocks:
        return day, Clock()
    clock = clock_of_share(number - whole)
    if clock.days:
        return day + dt.timedelta(days=1), Clock(clock.time)
    return day, clock


def moment_of_number(number: float) -> dt.datetime | None:
    """Return the moment of a number of seconds or milliseconds since 1970.

    Parameters
    ----------
    number : float
        Seconds (ten digits) or milliseconds (thirteen digits).

    Returns
    -------
    datetime.datetime or None
        In UTC; None where the number is neither.

    Examples
    --------
    >>> moment_of_number(1769904000.0).isoformat(), moment_of_number(8.3)
    ('2026-02-01T00:00:00+00:00', None)
    """
    if 1e12 <= number < 7e12:
        number = number / 1000
    elif not 1e9 <= number < 7e9:
        return None
    return dt.datetime(1970, 1, 1, tzinfo=dt.UTC) + dt.timedelta(microseconds=round(number * 1e6))


def are_clocks(numbers: Sequence[float]) -> bool:
    """Return whether whole numbers among day numbers are midnights and not days alone.

    Parameters
    ----------
    numbers : sequence of float
        Day numbers of a column, in days.

    Returns
    -------
    bool
        True where more than half of them are not whole, as in a column of times.

    Examples
    --------
    >>> are_clocks([46054.0, 46054.25, 46054.5]), are_clocks([46054.0, 46055.0, 46056.5])
    (True, False)
    """
    return 2 * sum(number % 1 != 0 for number in numbers) > len(numbers)


def day_number_question(
    numbers: Sequence[float], rows: Sequence[int], *, key: str, column: int, heading: str,
    answers: Answers,
) -> tuple[str, Question | None, tuple[Message, ...]]:  # fmt: skip
    """Return from which day the day numbers of a column count.

    Parameters
    ----------
    numbers : sequence of float
        Day numbers, at least one, in days.
    rows : sequence of int
        Their rows, counted from 1.
    key : str
        Key of the column.
    column : int
        Column, an index from 0.
    heading : str
        Name of the column in messages.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    tuple
        ``1900`` or ``1904``; the question; notes. The usual system holds until the other is chosen.

    Examples
    --------
    >>> day_number_question([46054.0], [2], key="date", column=0, heading="date", answers={})[0]
    '1900'
    """
    name = f"day numbers/{key}"
    given = answers.get(name, "")
    choices = tuple(
        Choice(system, f"Day 0 is {zero.isoformat()}", _from_to(numbers, system))
        for system, zero in _DAY_ZERO.items()
    )
    answered = given if given in _DAY_ZERO else ""
    text = f"From which day do the numbers in {heading} count?"
    if given and not answered:
        text = f"“{given[:40]}” is not one of the answers. {text}"
    question = Question(
        name, text, choices, tuple(rows), column, assumed="1900", answered=answered
    )  # fmt: skip
    system = answered or "1900"
    note = Message(
        "DAY_NUMBERS",
        f"{heading}: {rows_in_words(rows)} {'holds a day number' if len(rows) == 1 else 'hold day numbers'} "
        f"of a spreadsheet, counted from {_DAY_ZERO[system].isoformat()}: {_from_to(numbers, system)} "
        + (
            "A whole number is midnight."
            if are_clocks(numbers)
            else "A whole number is a day alone."
        ),
    )
    return system, question, (note,)


def _from_to(numbers: Sequence[float], system: str) -> str:
    first = day_of_number(min(numbers), system)[0]
    last = day_of_number(max(numbers), system)[0]
    if first == last:
        return f"{day_words(first)}."
    return f"{day_words(first)} to {day_words(last)}."
