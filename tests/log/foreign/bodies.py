"""Little tables whose cells are given as texts, times in UTC, for the tests of this folder."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.columns import Column, with_keys
from reef_calc.log.foreign.outcome import CellNumber, CellTime
from reef_calc.log.other_rows import addition_from, water_change_from
from reef_calc.log.reading_rows import ReadingRows
from reef_calc.log.rows import Row

FIRST = dt.datetime(2026, 2, 1, 11, 0, tzinfo=dt.UTC)


def table(
    columns: Sequence[tuple[str, str]],
    rows: Sequence[Sequence[str]],
    *,
    days: Sequence[float] | None = None,
    ends: Sequence[float | None] | None = None,
    numbers: Sequence[int] = (),
) -> Body:
    """Return a body; ``days`` are days after 1 February 2026, noon in Berlin, one a row."""
    made = with_keys(tuple(Column(i, head, role) for i, (head, role) in enumerate(columns)))  # type: ignore[arg-type]
    when = days if days is not None else range(len(rows))
    texts = {i: tuple(row[i] for row in rows) for i in range(len(columns))}
    read = {
        i: tuple(CellNumber(float(text)) if text else CellNumber() for text in texts[i])
        for i in numbers
    }
    return Body(
        "a.csv", made, tuple(range(2, len(rows) + 2)), tuple(map(_time, when)), read, texts,
        tuple(map(_time, ends)) if ends is not None else (),
    )  # fmt: skip


def _time(day: float | None) -> CellTime:
    if day is None:
        return CellTime()
    utc = FIRST + dt.timedelta(days=day)
    local = utc + dt.timedelta(hours=1)
    whole = float(day).is_integer()
    return CellTime(f"{local:%Y-%m-%d}" if whole else f"{local:%Y-%m-%dT%H:%M}", utc, whole)


def taken_by_the_tank(made: Made, tank: Description) -> None:
    """Read every entry with the tank's own strict reader, which raises where it refuses one."""
    now = dt.datetime(2027, 1, 1, tzinfo=dt.UTC)
    readings = ReadingRows(tank, now)
    readers = {
        "readings.csv": readings,
        "additions.csv": lambda row: addition_from(row, tank, now),
        "water_changes.csv": lambda row: water_change_from(row, tank, now),
    }
    for entry in made.entries:
        readers[entry.table](Row(entry.table, entry.row, dict(entry.cells)))


def codes_of(made: Made, row: int) -> list[str]:
    """Return what is said of one row."""
    return [mark.said.code for mark in made.marks if mark.row == row]


def told_of(made: Made) -> set[int]:
    """Return the rows that gave an entry or have a mark."""
    return {entry.row for entry in made.entries} | {mark.row for mark in made.marks}
