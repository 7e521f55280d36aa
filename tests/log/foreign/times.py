"""Reads columns of dates on the clock of Berlin, for tests."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from reef_calc.log.foreign.cell_times import TimeColumn, read_times
from reef_calc.log.foreign.grid import Cell
from reef_calc.log.foreign.outcome import worst
from reef_calc.log.times import parse_time, tank_zone

BERLIN = tank_zone("Europe/Berlin")
NOW = dt.datetime(2026, 11, 28, 12, tzinfo=dt.UTC)


def times_of(
    dates: Sequence[Cell],
    clocks: Sequence[Cell] | None = None,
    answers: dict[str, str] | None = None,
    *,
    zone: dt.tzinfo = BERLIN,
    first_row: int = 2,
    **more: str,
) -> TimeColumn:
    """What is read of a column; every time must be one that the tank's own reading takes."""
    rows = range(first_row, first_row + len(dates))
    found = read_times(
        dates, clocks, rows, zone=zone, now=NOW, key="date", column=0,
        clock_column=None if clocks is None else 1, answers=answers or {}, **more,
    )  # fmt: skip
    assert len(found.times) == len(dates)
    for time in found.times:
        if time.iso:
            moment = parse_time(time.iso, zone, now=NOW)
            assert (moment.utc, moment.date_only) == (time.utc, time.date_only)
            assert worst(said.fate for said in time.said) in ("read", "flagged")
        else:
            assert time.utc is None
            if more.get("empty") != "none":
                assert worst(said.fate for said in time.said) in ("asked", "refused")
    return found


def isos(found: TimeColumn) -> list[str]:
    return [time.iso for time in found.times]


def fates(found: TimeColumn) -> list[str]:
    return [worst(said.fate for said in time.said) for time in found.times]


def codes(found: TimeColumn, at: int) -> list[str]:
    return [said.code for said in found.times[at].said]


def told(found: TimeColumn) -> str:
    return " ".join(note.text for note in found.notes)
