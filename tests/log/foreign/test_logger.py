"""Loggers: thousands of rows thinned by day."""

from __future__ import annotations

import datetime as dt
import math
import time
import zoneinfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.log.example import example_tank
from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.logger import logger_from
from reef_calc.log.foreign.logger_days import logger_days, single_jumps
from reef_calc.log.foreign.outcome import CellNumber, CellTime
from reef_calc.log.history import replicate_sessions
from tests.log.foreign.bodies import codes_of, taken_by_the_tank

TANK = example_tank()
BERLIN = zoneinfo.ZoneInfo("Europe/Berlin")
BEGIN = dt.datetime(2026, 1, 31, 23, 0, tzinfo=dt.UTC)


def body_of(values, *, element="pH", unit="pH", minutes=10, begin=BEGIN, left_out=()) -> Body:
    moments = [begin + dt.timedelta(minutes=minutes * i) for i in range(len(values))]
    kept = [i for i in range(len(values)) if i not in set(left_out)]
    times = tuple(
        CellTime(f"{moments[i].astimezone(BERLIN):%Y-%m-%dT%H:%M}", moments[i]) for i in kept
    )
    cells = {float(v): CellNumber(float(v)) for v in values}
    columns = (
        Column(0, "time", "date", key="time"),
        Column(1, element, "value", element, unit, key=element),
    )
    return Body(
        "log.csv", columns, tuple(range(2, len(kept) + 2)), times,
        {1: tuple(cells[float(values[i])] for i in kept)},
        {0: tuple(time.iso for time in times), 1: tuple(f"{values[i]:.2f}" for i in kept)},
    )  # fmt: skip


def swing(days: int, middle: float = 8.2, size: float = 0.15, minutes: int = 10) -> np.ndarray:
    """Lowest at 06:00, highest at 18:00."""
    hours = np.arange(days * 24 * 60 // minutes) * minutes / 60
    return np.round(middle - size * np.cos((hours - 6) / 24 * 2 * np.pi), 2)


def test_three_readings_a_day() -> None:
    values = swing(3)
    made = logger_from(body_of(values), TANK, {})
    assert len(made.entries) == 9
    low, middle, high = (entry.cells for entry in made.entries[:3])
    assert (low["value"], high["value"]) == ("8.05", "8.35")
    assert middle["time"] == "2026-02-01"
    assert float(middle["value"]) == pytest.approx(values[:144].mean(), abs=6e-4)
    assert low["time"] < "2026-02-01T07" < high["time"]
    assert "daily minimum 8.05 at" in middle["note"] and "144 readings" in middle["note"]
    said = next(note.text for note in made.notes if note.code == "THINNED")
    assert "432 rows" in said and "3 days" in said
    taken_by_the_tank(made, TANK)


def test_what_is_worked_with_gets_the_mean_alone() -> None:
    body = body_of(swing(2, 35.0, 0.2), element="salinity", unit="PSU")
    made = logger_from(body, TANK, {})
    assert [entry.cells["time"] for entry in made.entries] == ["2026-02-01", "2026-02-02"]
    assert len(logger_from(body, TANK, {"each day/salinity": "three"}).entries) == 6
    wrong = logger_from(body, TANK, {"each day/salinity": "all"})
    assert len(wrong.entries) == 2 and any("none of these" in q.text for q in wrong.questions)


def test_the_three_are_never_one_sitting() -> None:
    # The highest at noon, where a date alone would stand too.
    hours = np.arange(144) / 6
    made = logger_from(
        body_of(np.round(8.2 + 0.1 * np.cos((hours - 12) / 12 * np.pi), 3)), TANK, {}
    )
    import pandas as pd

    rows = [entry.cells for entry in made.entries]
    frame = pd.DataFrame(
        {
            "time": pd.to_datetime([row["time"] for row in rows], format="ISO8601", utc=True),
            "level": [float(row["value"]) for row in rows],
        }
    )
    frame["time"] += pd.to_timedelta([0 if "T" in row["time"] else 12 for row in rows], unit="h")
    constant = {
        "water": "tank", "kit": "", "lot": "", "limit": "", "outside": False, "replicate": "",
        "corrected": 0.0, "corrected_u": 0.0, "salinity": math.nan, "sd": 0.1, "resolution": 0.01,
        "date_only": False, "upper_level": math.nan, "corrected_upper": math.nan, "flag": "",
    }  # fmt: skip
    frame = frame.assign(**constant, row=range(len(frame))).sort_values("time")
    assert replicate_sessions(frame)["n"].tolist() == [1, 1, 1]


def test_extremes_on_both_sides_of_midnight_are_kept_apart() -> None:
    # A sawtooth: highest at 23:50, lowest at 00:00 of the next day.
    made = logger_from(body_of(np.tile(np.round(8.0 + np.arange(144) * 0.002, 3), 3)), TANK, {})
    assert [len([e for e in made.entries if e.cells["time"][:10] == f"2026-02-0{day}"])
            for day in (1, 2, 3)] == [3, 1, 3]  # fmt: skip
    assert "maximum 8.286 at 23:50" in made.entries[3].cells["note"]


def test_days_of_23_and_25_hours() -> None:
    for begin, rows in ((dt.datetime(2026, 3, 28, 23), 138), (dt.datetime(2026, 10, 24, 22), 150)):
        values = swing(2)[: rows + 10]
        made = logger_from(body_of(values, begin=begin.replace(tzinfo=dt.UTC)), TANK, {})
        assert f"mean of {rows} readings" in made.entries[1].cells["note"]
        assert not any(mark.said.code == "INCOMPLETE_DAY" and mark.row == 2 for mark in made.marks)


def test_gaps_and_days_cut_short() -> None:
    made = logger_from(body_of(swing(3), left_out=range(160, 260)), TANK, {})
    assert codes_of(made, 146) == ["INCOMPLETE_DAY"]
    note = made.entries[3].cells["note"]
    assert "44 readings, of about 144" in note and "no rows for 16.8 hours from 02:30" in note
    made = logger_from(body_of(swing(3), left_out=range(160, 190)), TANK, {})
    assert codes_of(made, 146) == [] and "no rows for 5.2 hours" in made.entries[3].cells["note"]
    assert "Gaps of more than two hours: 2026-02-02" in made.notes[0].text


def test_sentinels_jumps_and_still_sensors() -> None:
    values = swing(2)
    values[20], values[50] = -127.0, 4.0
    values[144:] = 8.2
    values[200] = 7.2
    made = logger_from(body_of(values), TANK, {})
    assert codes_of(made, 22) == ["NOT_OF_WATER"] and codes_of(made, 52) == ["NOT_OF_WATER"]
    assert codes_of(made, 202) == ["JUMP"]
    assert float(made.entries[0].cells["value"]) == 8.05
    assert "142 readings" in made.entries[1].cells["note"]
    values[200] = 8.2
    made = logger_from(body_of(values), TANK, {})
    assert codes_of(made, 146) == ["STUCK"] and len(made.entries) == 4


def test_fahrenheit_keeps_its_unit() -> None:
    body = body_of(swing(1, 77.0, 1.0), element="temperature", unit="°F")
    made = logger_from(body, TANK, {})
    assert [entry.cells["unit"] for entry in made.entries] == ["°F"] * 3
    assert made.marks == ()
    taken_by_the_tank(made, TANK)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 4000), st.integers(0, 30)), min_size=1, max_size=60))
def test_days_add_up(rows) -> None:
    seconds = np.array([60.0 * minute for minute, _ in rows])
    values = np.array([float(value) for _, value in rows])
    names = [f"1970-01-{1 + int(second // 86400):02d}" for second in seconds]
    days = logger_days(names, seconds, values, np.ones(len(rows), bool), dt.UTC)
    assert sum(day.rows for day in days) == len(set(zip(seconds, values, strict=True)))
    for day in days:
        own = {(s, v) for s, v, name in zip(seconds, values, names, strict=True) if name == day.day}
        levels = [value for _, value in own]
        assert (day.lowest, day.highest) == (min(levels), max(levels))
        assert day.mean == pytest.approx(sum(levels) / len(levels))
        assert names[day.lowest_at] == names[day.highest_at] == day.day
        assert names.index(day.day) == day.first


def test_a_lone_leap_is_found_and_a_lasting_step_is_not() -> None:
    values = np.full(100, 8.2) + np.arange(100) % 2 * 0.01
    values[40] += 0.5
    values[70:] += 0.5
    assert single_jumps(np.arange(100.0), values, 0.2).tolist() == [40]


def test_a_hundred_thousand_rows() -> None:
    april = dt.datetime(2026, 3, 31, 22, tzinfo=dt.UTC)
    body = body_of(np.tile(swing(1, minutes=1), 70), minutes=1, begin=april)
    begin = time.perf_counter()
    made = logger_from(body, TANK, {})
    assert len(made.entries) == 210
    # Some 0.3 s here; the bound only finds what grows faster than the rows.
    assert time.perf_counter() - begin < 5.0
