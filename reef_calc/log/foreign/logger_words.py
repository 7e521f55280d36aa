"""What is said of a logger's days, and what is asked of them."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence

from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.logger_days import LoggerDay
from reef_calc.log.foreign.outcome import Answers, Choice, Question, Said
from reef_calc.messages import Message

KEY = "each day"
# Nothing is worked out from these, so that lowest and highest of a day mislead nobody.
_EXTREMES_TOO = ("pH", "temperature")


def thinning_question(
    column: Column, element: str, days: Sequence[LoggerDay], answers: Answers
) -> Question:
    """Return the question what of each day becomes a reading.

    Parameters
    ----------
    column : Column
        The logger's column.
    element : str
        What it logs.
    days : sequence of LoggerDay
        Its days.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Question
        Three readings are assumed for pH and temperature, the mean alone for everything else.

    Examples
    --------
    >>> column = Column(1, "S", "value", "salinity", key="S")
    >>> thinning_question(column, "salinity", (), {}).assumed
    'mean'
    """
    key = f"{KEY}/{column.key}" if column.element else f"{KEY}/{element}"
    number = len(days)
    choices = (
        Choice(
            "three", "Lowest, mean and highest",
            f"Up to {3 * number} readings; lowest and highest at their own times.",
        ),
        Choice(
            "mean", "The mean only",
            f"{number} readings; lowest and highest stand in their notes.",
        ),
    )  # fmt: skip
    text = f"What of each day of {element} goes into the log?"
    given = answers.get(key, "")
    if given and given not in ("three", "mean"):
        text += f" The answer “{given[:60]}” is none of these."
        given = ""
    assumed = "three" if element in _EXTREMES_TOO else "mean"
    return Question(key, text, choices, (), column.index, assumed=assumed, answered=given)


def day_note(
    day: LoggerDay, body: Body, kept: Sequence[int], decimals: int, zone: dt.tzinfo
) -> str:
    """Return what the note of a day's readings says.

    Parameters
    ----------
    day : LoggerDay
        The day.
    body : Body
        The rows.
    kept : sequence of int
        Position in the body (index from 0) of each row that was counted.
    decimals : int
        Decimals that the logger shows.
    zone : datetime.tzinfo
        Zone of the tank.

    Returns
    -------
    str
        Lowest and highest with their times of day, and gaps.

    Examples
    --------
    >>> from reef_calc.log.foreign.outcome import CellTime
    >>> body = Body("a.csv", (), (2, 3), (CellTime("2026-02-01T06:10"), CellTime("2026-02-01T17:40")))
    >>> day = LoggerDay("2026-02-01", 0, 0, 1, 2, math.nan, 8.1, 8.0, 8.2, math.nan, math.nan)
    >>> day_note(day, body, (0, 1), 2, dt.UTC)
    'daily minimum 8.00 at 06:10, maximum 8.20 at 17:40, 2 readings'
    """
    words = []
    for name, value, at in (
        ("daily minimum", day.lowest, day.lowest_at),
        ("maximum", day.highest, day.highest_at),
    ):
        clock = body.times[kept[at]].iso[11:16]
        words.append(f"{name} {value:.{decimals}f}" + (f" at {clock}" if clock else ""))
    words.append(f"{day.rows} reading{'' if day.rows == 1 else 's'}")
    if day.rows < 0.5 * day.expected:
        words.append(f"of about {day.expected:.0f}")
    if not math.isnan(day.gap_hours):
        begin = dt.datetime.fromtimestamp(day.gap_from, zone)
        words.append(f"no rows for {day.gap_hours:.1f} hours from {begin:%H:%M}")
    return ", ".join(words)


def days_message(
    column: Column,
    element: str,
    found: int,
    counted: int,
    days: Sequence[LoggerDay],
    whole: int,
) -> Message:
    """Return the sentence that says how a logger was thinned.

    Parameters
    ----------
    column : Column
        The logger's column.
    element : str
        What it logs.
    found, counted : int
        Numbers of rows with a number, and of those counted in a day.
    days : sequence of LoggerDay
        Its days.
    whole : int
        Number of days whose lowest and highest become readings too.

    Returns
    -------
    Message
        Rows that went in, days that come out, gaps and days that are not whole.

    Examples
    --------
    >>> day = LoggerDay("2026-02-01", 0, 0, 1, 2, math.nan, 8.1, 8.0, 8.2, math.nan, math.nan)
    >>> days_message(Column(1, "pH", "value", key="pH"), "pH", 2, 2, (day,), 1).text
    'pH: 2 rows of pH are thinned to 1 day: its lowest, mean and highest.'
    """
    of_day = "its lowest, mean and highest" if whole == len(days) else "its mean"
    number = f"{len(days):,} day" + (": " if len(days) == 1 else "s, of each ")
    text = f"{column.key}: {found:,} rows of {element} are thinned to {number}{of_day}."
    if 0 < whole < len(days):
        text += (
            f" Lowest and highest of {whole:,} of them are readings too; the notes hold the others."
        )
    if counted < found:
        text += f" {found - counted:,} rows are not counted: no level of a reef tank."
    copies = counted - sum(day.rows for day in days)
    if copies:
        text += (
            f" {copies:,} {'row' if copies == 1 else 'rows'} with a time and value that stood there "
            "before: counted once."
        )
    partial = [day.day for day in days if day.rows < 0.5 * day.expected]
    if partial:
        text += f" Less than half of the usual rows: {_list(partial)}."
    gaps = [day.day for day in days if not math.isnan(day.gap_hours) and day.day not in partial]
    if gaps:
        text += f" Gaps of more than two hours: {_list(gaps)}."
    return Message("THINNED", text)


def stuck_said(day: LoggerDay) -> Said:
    """Return what is said of a day on which a sensor did not move.

    Parameters
    ----------
    day : LoggerDay
        The day.

    Returns
    -------
    Said
        A flag.

    Examples
    --------
    >>> day = LoggerDay("2026-02-01", 0, 0, 0, 144, 144.0, 8.2, 8.2, 8.2, math.nan, math.nan)
    >>> stuck_said(day).code
    'STUCK'
    """
    return Said(
        "flagged", "STUCK",
        f"All {day.rows} rows of {day.day} say {day.lowest:g}: a sensor that stands still?",
        "Check it in a standard. It is counted as it stands.",
    )  # fmt: skip


def _list(days: Sequence[str]) -> str:
    more = f" and {len(days) - 5} more" if len(days) > 5 else ""
    return ", ".join(days[:5]) + more
