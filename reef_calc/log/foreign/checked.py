"""Entries against the tank's own strict reading: what is added is never refused when it is read."""

from __future__ import annotations

import datetime as dt
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
    Times were judged before; the water's salinity may depend on the day, so readings of salinity in
    another unit or with a salinity of their own are judged by day.

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
    seen: dict[Any, tuple[tuple[Said, ...], bool]] = {}
    kept: list[Entry] = []
    marks: list[Mark] = []
    for entry in entries:
        cells = entry.cells
        if entry.table == "readings.csv":
            day = cells["time"][:10]
            key: Any = (
                day,
                *((k, v) for k, v in cells.items() if k not in _OF_NO_MATTER + ("time",)),
            )
        else:
            key = (entry.table, *cells.items())
        if key not in seen:
            seen[key] = _judged(entry, tank, readings, now)
        said, good = seen[key]
        marks += [Mark(entry.row, entry.column, one) for one in said]
        if good:
            kept.append(entry)
    return tuple(kept), tuple(marks)


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
