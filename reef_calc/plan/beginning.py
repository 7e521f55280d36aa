"""The first day of a plan, and the rows of the log that could not be read."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import Tank
from reef_calc.log.times import window_edge
from reef_calc.messages import Message

_FILES = ("additions.csv", "water_changes.csv", "readings.csv")


def beginning(
    tank: Tank, start: str | dt.date | None
) -> tuple[dt.date, pd.Timestamp, tuple[Message, ...]]:
    """Return the first day of a plan, its beginning, and what was taken for it.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    start : str or datetime.date or None
        First day; the day after the last reading when not given.

    Returns
    -------
    tuple of (datetime.date, pandas.Timestamp, tuple of Message)
        Day in the tank's zone, its beginning (UTC), and the day in words where it was not given.

    Raises
    ------
    InputError
        For a day that cannot be read.
    CannotTellError
        If the tank has no reading and no day is given.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> day, at, told = beginning(example_tank(), None)
    >>> day.isoformat(), told[0].code
    ('2026-02-16', 'START')
    """
    messages: tuple[Message, ...] = ()
    if start is None:
        own = tank.readings.loc[tank.readings["water"] == "tank", "time"]
        if own.empty:
            raise CannotTellError(
                "There is no reading of this tank yet. Test alkalinity, calcium and salinity first."
            )
        last = own.max().tz_convert(tank.zone).date()
        first = last + dt.timedelta(days=1)
        words = f"The plan begins on {first.day} {first:%b %Y}, the day after the last reading."
        messages = (Message("START", words),)
    else:
        try:
            edge = window_edge(start, tank.zone, end=False)
        except InputError as error:
            raise InputError(
                "the day on which the plan begins", error.given, "Write it as 2026-03-01.", "start"
            ) from error
        first = edge.tz_convert(tank.zone).date() if edge is not None else dt.date.min
    at = pd.Timestamp(first).tz_localize(tank.zone).tz_convert("UTC")
    return first, at.as_unit("ns"), messages


def refused_rows(tank: Tank) -> tuple[Message, ...]:
    """Return that rows of the log could not be read, where there are any.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.

    Returns
    -------
    tuple of Message
        ``ROWS_REFUSED``, or nothing.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> refused_rows(example_tank())
    ()
    """
    lost = [
        f"{p.file}, row {p.row}"
        for p in tank.problems
        if p.severity == "refused" and p.file in _FILES and p.row is not None
    ]
    lost = list(dict.fromkeys(lost))
    if not lost:
        return ()
    more = f" and {len(lost) - 1} more" if len(lost) > 1 else ""
    words = (
        f"{lost[0]}{more} could not be read and is not counted: use and level may be wrong. "
        "Repair it first."
    )
    return (Message("ROWS_REFUSED", words, "qualified"),)
