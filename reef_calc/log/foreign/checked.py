"""Entries against the tank's own strict reading: what is added is never refused when it is read."""

from __future__ import annotations

import datetime as dt
from bisect import bisect_left
from collections.abc import Sequence
from typing import Any

from reef_calc.log.description import Description
from reef_calc.log.foreign.outcome import Entry, Mark, Said
from reef_calc.log.other_rows import addition_from, event_from, water_change_from
from reef_calc.log.problems import Problem
from reef_calc.log.reading_rows import ReadingRows
from reef_calc.log.rows import Row, RowRefused
from reef_calc.log.tables import COLUMNS

# What changes nothing in how a row is judged; without it equal rows are judged once.
_OF_NO_MATTER = ("note", "source", "by", "raw", "replicate")
_JUDGED = tuple(name for name in COLUMNS["readings.csv"] if name not in (*_OF_NO_MATTER, "time"))
_DAY = dt.timedelta(days=1)


def checked(
    entries: Sequence[Entry], tank: Description, now: dt.datetime | None
) -> tuple[tuple[Entry, ...], tuple[Mark, ...]]:
    """Return the entries that the tank's tables would take, and what would be said of them.

    Parameters
    ----------
    entries : sequence of Entry
        Rows that would be added.
    tank : Description
        The tank they are for.
    now : datetime.datetime or None
        Present time with zone.

    Returns
    -------
    tuple
        Entries that are taken; marks of what is flagged or refused, in the place of the file.

    Notes
    -----
    Of two readings that differ only in their times, both from days between the same changes of the
    tank's water and the same ends of lots, one is judged.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> cells = {"time": "2026-02-01", "water": "tank", "element": "alkalinity", "value": "-8.1",
    ...     "unit": "dKH"}
    >>> kept, marks = checked([Entry(4, 1, "readings.csv", cells)], example_tank(), None)
    >>> kept, marks[0].said.reason
    ((), 'A level below zero does not exist.')
    """
    readings = ReadingRows(tank, now)
    changes = _changes(tank)
    periods: dict[str, int] = {}
    seen: dict[Any, tuple[tuple[Said, ...], bool]] = {}
    kept: list[Entry] = []
    marks: list[Mark] = []
    time, period = "", -1
    for entry in entries:
        cells = entry.cells
        if entry.table == "readings.csv":
            if cells["time"] is not time:
                time = cells["time"]
                day = time[:10]
                if day not in periods:
                    periods[day] = _period(day, changes)
                period = periods[day]
            key: Any = (period if period >= 0 else cells["time"], *map(cells.get, _JUDGED))
        else:
            key = (entry.table, *cells.items())
        judged = seen.get(key)
        if judged is None:
            judged = seen[key] = _judged(entry, tank, readings, now)
        said, good = judged
        if said:
            marks += [Mark(entry.row, entry.column, one) for one in said]
        if good:
            kept.append(entry)
    return tuple(kept), tuple(marks)


def _changes(tank: Description) -> list[dt.date]:
    """Return the days on which the same reading may begin to be judged otherwise."""
    ends = {lot.expires for kit in tank.kits.values() for lot in kit.lots if lot.expires}
    return sorted({water.start.date() for water in tank.waters} | ends)


def _period(day: str, changes: Sequence[dt.date]) -> int:
    """Return how many changes came before a day; -1 near a change, or where there is no such day."""
    try:
        date = dt.date.fromisoformat(day)
    except ValueError:
        return -1
    # The day of a text with an offset may be the next or the last one in the tank's zone.
    if not 1900 <= date.year <= 2199 or any(abs(date - change) <= _DAY for change in changes):
        return -1
    return bisect_left(changes, date)


def _judged(
    entry: Entry, tank: Description, readings: ReadingRows, now: dt.datetime | None
) -> tuple[tuple[Said, ...], bool]:
    cells = {name: entry.cells.get(name, "") for name in COLUMNS[entry.table]}
    row = Row(entry.table, entry.row, cells)
    try:
        if entry.table == "readings.csv":
            readings(row)
        elif entry.table == "additions.csv":
            addition_from(row, tank, now)
        elif entry.table == "water_changes.csv":
            water_change_from(row, tank, now)
        else:
            event_from(row, tank, now)
    except RowRefused as refused:
        return (*map(_said, row.problems), _said(refused.problem)), False
    # The kit's and the year's own flags are told elsewhere, once.
    return tuple(_said(p) for p in row.problems if p.column not in ("kit", "time", "start")), True


def _said(problem: Problem) -> Said:
    likely = ""
    if "Perhaps " in problem.reason and " is meant" in problem.reason:
        likely = problem.reason.split("Perhaps ")[1].split(" is meant")[0]
    fate = "refused" if problem.severity == "refused" else "flagged"
    code = f"TANK_{problem.column.upper()}"
    return Said(fate, code, problem.reason, problem.repair, likely=likely)  # type: ignore[arg-type]
