"""Clocks, zones, changes of the clock, years that slipped, and dates that are given once."""

from __future__ import annotations

import datetime as dt
import time

import pytest

from reef_calc.log.foreign.clock_times import clock_of
from tests.log.foreign.times import codes, fates, isos, times_of, told


@pytest.mark.parametrize(
    ("cell", "clock"),
    [
        ("12:15 AM", "00:15"), ("12:15 PM", "12:15"), ("12 a.m.", "00:00"), ("2:30 p. m.", "14:30"),
        ("2pm", "14:00"), ("14h30", "14:30"), ("14h", "14:00"), ("14 h 30", "14:30"), ("14.30", "14:30"),
        ("8 Uhr", "08:00"), ("8 Uhr 30", "08:30"), ("8:05", "08:05"), ("0830", "08:30"),
        ("083015", "08:30:15"),
        (0.5, "12:00"), ("0.5", "12:00"), ("0,604166667", "14:30"), (0.0, "00:00"), ("23:59:59", "23:59:59"),
        (dt.time(14, 30), "14:30"), (dt.datetime(1899, 12, 30, 14, 30), "14:30"), (830.0, None),
        ("25:00", None), ("14:60", None), ("soon", None), ("someday", None), (8.0, None), ("13:00 AM", None),
        ("13:00 PM", "13:00"), ("0:15 PM", None), ("0.25", None), ("0.75", "18:00"), ("noon", "12:00"),
        (float("nan"), None), (float("inf"), None), ("-1:00", None), ("14:30 Uhr", "14:30"),
        ("10 o'clock", "10:00"), ("14:30:15.5", "14:30:15.500000"), ("um 14.30 Uhr", "14:30"),
        (1430.0, "14:30"), ("14:30h", "14:30"), ("7:05 a", None), ("14h30min", "14:30"),
    ],
)  # fmt: skip
def test_clocks(cell: object, clock: str | None) -> None:
    found = clock_of(cell)  # type: ignore[arg-type]
    if clock is None:
        assert found.time is None and found.problem
        row = times_of(["2026-02-01"], [cell])
        assert isos(row) == ["2026-02-01"] and codes(row, 0) == ["TIME_UNREADABLE"]
    else:
        assert found.time == dt.time.fromisoformat(clock)


def test_date_and_clock_apart() -> None:
    found = times_of(["2026-02-01", "2026-02-01", "2026-02-02"], ["12:15 AM", "12:15 PM", ""])
    assert isos(found) == ["2026-02-01T00:15", "2026-02-01T12:15", "2026-02-02"]
    assert found.times[2].date_only and codes(found, 2) == ["TIME_UNKNOWN"]
    assert "row 4 has no time of day" in told(found)
    midnight = dt.datetime(2026, 2, 1)
    assert isos(times_of([midnight, midnight], [0.25, ""])) == ["2026-02-01T06:00", "2026-02-01"]
    two = times_of(["2026-02-01 14:30"], ["15:00"])
    assert isos(two) == ["2026-02-01T15:00"] and codes(two, 0) == ["TWO_CLOCKS"]


def test_the_end_of_a_day_and_midnights() -> None:
    assert isos(times_of(["2026-12-31 24:00"]))[0] == "2027-01-01T00:00"
    assert isos(times_of(["2026-02-01"], ["24:00"])) == ["2026-02-02T00:00"]
    assert fates(times_of(["2199-12-31 24:00"])) == ["refused"]
    days = times_of(["2026-02-01 00:00:00", "2026-02-08 00:00:00"])
    assert isos(days) == ["2026-02-01", "2026-02-08"] and "00:00" in told(days)
    hours = times_of(["2026-02-01 00:00", "2026-02-01 01:00"])
    assert isos(hours) == ["2026-02-01T00:00", "2026-02-01T01:00"]


def test_offsets_and_words_for_zones() -> None:
    found = times_of(["2026-02-01T12:00Z", "2026-07-01 12:00 UTC", "2026-02-01 12:00-08:00"])
    assert isos(found) == ["2026-02-01T13:00", "2026-07-01T14:00", "2026-02-01T21:00"]
    assert "Europe/Berlin" in told(found)
    assert isos(times_of(["2026-10-25T00:30Z", "2026-10-25T01:30Z"])) == [
        "2026-10-25T02:30+02:00", "2026-10-25T02:30+01:00",
    ]  # fmt: skip
    asked = times_of(["2026-02-01 12:00 PST"])
    key = asked.questions[0].key
    assert fates(asked) == ["asked"] and "PST" in key and asked.questions[0].typed
    assert isos(times_of(["2026-02-01 12:00 PST"], answers={key: "-08:00"})) == ["2026-02-01T21:00"]
    assert isos(times_of(["2026-02-01 12:00 PST"], answers={key: "tank"})) == ["2026-02-01T12:00"]
    assert times_of(["2026-02-01 12:00 PST"], answers={key: "west"}).questions[0].open


def test_the_repeated_hour() -> None:
    cells = ["2026-10-25 02:30", "2026-10-25 02:30", "2026-03-29 02:30"]
    found = times_of(cells)
    assert fates(found) == ["asked", "asked", "flagged"]
    assert isos(found)[2] == "2026-03-29T02:30+01:00"
    assert found.times[2].said[0].likely == "2026-03-29T03:30"
    question = found.questions[0]
    assert question.key == "repeated hour/date" and question.rows == (2, 3)
    before, after = "2026-10-25T02:30+02:00", "2026-10-25T02:30+01:00"
    for answer, times in (
        ("apart", [before, after]),
        ("before", [before] * 2),
        ("after", [after] * 2),
    ):
        assert isos(times_of(cells, answers={question.key: answer}))[:2] == times
    assert "One hour apart" in question.choices[0].consequence
    assert "same moment" in question.choices[1].consequence
    assert times_of(cells, answers={question.key: "both"}).questions[0].open
    both = times_of(["2026-10-25 14:00"], ["02:30"], {question.key: "after"})
    assert isos(both) == [after] and codes(both, 0) == ["TWO_CLOCKS"]
    alone = times_of(["2026-10-25 02:30"])
    assert [choice.answer for choice in alone.questions[0].choices] == ["before", "after"]
    assert fates(alone) == ["asked"]


@pytest.mark.parametrize("minutes", [1, 5, 15, 60])
@pytest.mark.parametrize("falling", [False, True])
def test_a_logger_through_the_night_of_the_change(minutes: int, falling: bool) -> None:
    from tests.log.foreign.times import BERLIN

    start = dt.datetime(2026, 10, 24, 22, tzinfo=dt.UTC)
    truth = [start + dt.timedelta(minutes=minutes * step) for step in range(360 // minutes)]
    if falling:
        truth.reverse()
    found = times_of([t.astimezone(BERLIN).strftime("%Y-%m-%d %H:%M") for t in truth])
    assert [time.utc for time in found.times] == truth
    assert found.questions[0].assumed == "apart" and not found.questions[0].open


def test_years_that_slipped() -> None:
    found = times_of(["2026-02-15", "2026-02-01", "2062-02-08", "1926-02-22"])
    assert fates(found) == ["read", "read", "flagged", "flagged"]
    assert [time.said[0].likely for time in found.times[2:]] == ["2026-02-08", "2026-02-22"]
    assert [codes(found, at) for at in (2, 3)] == [["FUTURE"], ["LONG_AGO"]]
    assert isos(found)[2:] == ["2062-02-08", "1926-02-22"]
    assert "row 3 is earlier" in told(found)
    january = times_of(["2025-12-21", "2025-12-28", "2025-01-04", "2025-01-11", "2026-01-18"])
    assert fates(january) == ["read", "read", "flagged", "flagged", "read"]
    assert january.times[2].said[0].likely == "2026-01-04"
    newest = times_of(["2025-12-31", "2026-01-01", "2025-01-02"])
    assert newest.times[2].said[0].likely == "2026-01-02"
    first = times_of(["2026-01-11", "2025-01-04", "2025-12-28", "2025-12-21", "2025-12-14"])
    assert fates(first) == ["read", "flagged", "read", "read", "read"]
    decade = times_of(["2026-02-01", "2026-02-08", "2016-02-15", "2026-02-22", "2026-03-01"])
    assert fates(decade)[2] == "flagged" and decade.times[2].said[0].likely == "2026-02-15"
    years = times_of(["2010-02-01", "2014-03-01", "2018-04-01", "2022-05-01", "2026-06-01"])
    assert set(fates(years)) == {"read"}
    assert fates(times_of(["2026-11-28", "2026-11-29"])) == ["read", "flagged"]


def test_newest_first_and_days_among_times() -> None:
    found = times_of(["2026-03-01", "2026-02-20", "2026-02-11"])
    assert "newest row comes first" in told(found) and "put in the order" not in told(found)
    assert "earlier" not in told(times_of(["2026-02-01", "2026-02-01T08:00", "2026-02-02"]))


@pytest.mark.parametrize("mark", ["", '"', "ditto", "idem", "″", "〃"])
def test_a_date_that_is_given_once(mark: str) -> None:
    found = times_of(["01.02.2026", mark, "08.02.2026", mark], ["8:00", "9:00", "", ""])
    assert isos(found) == ["2026-02-01T08:00", "2026-02-01T09:00", "2026-02-08", "2026-02-08"]
    question = next(q for q in found.questions if q.key == "empty dates/date")
    assert question.assumed == "above" and question.rows == (3, 5)
    none = times_of(["2026-02-01", mark], answers={"empty dates/date": "none"})
    assert fates(none) == ["read", "refused"]
    assert fates(times_of([mark, "2026-02-01"])) == ["refused", "read"]
    assert fates(times_of(["3/2/2026", mark])) == ["asked", "asked"]
    assert fates(times_of(["31.04.2026", mark])) == ["refused", "refused"]


def test_an_empty_end_of_a_dose() -> None:
    found = times_of(["2026-02-01", "", "until now"], empty="none")
    assert isos(found) == ["2026-02-01", "", ""]
    assert found.times[1].said == () and not found.questions and not found.refusal


def test_many_stamps_take_no_time_to_speak_of() -> None:
    start = dt.datetime(2025, 1, 1)
    cells = [f"{start + dt.timedelta(minutes=5 * step):%d.%m.%Y %H:%M}" for step in range(20_000)]
    begun = time.process_time()
    times_of(cells, zone=dt.UTC)
    # Most of it is the check of each time in the helper; a hundred thousand take about 1.4 s alone.
    assert time.process_time() - begun < 3.0
