"""Midnights in a workbook, which hands them out as days without a time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from reef_calc.log.foreign.grid import Cell
from reef_calc.log.foreign.rows_in_words import rows_in_words
from reef_calc.messages import Message


def with_midnights(
    dates: Sequence[Cell], rows: Sequence[int], key: str
) -> tuple[Sequence[Cell], tuple[Message, ...]]:
    """Return the cells of a column of times, days among them as midnights, and what is told of it.

    Parameters
    ----------
    dates : sequence of Cell
        The cells.
    rows : sequence of int
        Their rows, counted from 1.
    key : str
        Name of the column in messages.

    Returns
    -------
    tuple
        The cells as they are where not more than half of the dates have a time of day.

    Examples
    --------
    >>> six = dt.datetime(2026, 2, 1, 6)
    >>> cells, notes = with_midnights([dt.date(2026, 2, 1), six, six.replace(hour=12)], [2, 3, 4], "t")
    >>> cells[0], notes[0].text
    (datetime.datetime(2026, 2, 1, 0, 0), 't: row 2 stands among times of day and is read as 00:00.')
    >>> with_midnights([dt.date(2026, 2, 1), six], [2, 3], "t")[1]
    ()
    """
    days = [at for at, cell in enumerate(dates) if type(cell) is dt.date]
    timed = sum(isinstance(cell, dt.datetime) for cell in dates)
    if not days or timed <= len(days):
        return dates, ()
    cells = list(dates)
    for at in days:
        day = cells[at]
        if isinstance(day, dt.date):
            cells[at] = dt.datetime.combine(day, dt.time(0))
    verb = "stands" if len(days) == 1 else "stand"
    text = (
        f"{key}: {rows_in_words([rows[at] for at in days])} {verb} among times of day and "
        f"{'is' if len(days) == 1 else 'are'} read as 00:00."
    )
    return cells, (Message("MIDNIGHTS", text),)
