"""Times: against the IANA database's published transitions and ISO 8601."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.errors import InputError, ReefError
from reef_calc.log.times import parse_time, tank_zone, window_edge

BERLIN = tank_zone("Europe/Berlin")
NEW_YORK = tank_zone("America/New_York")
KOLKATA = tank_zone("Asia/Kolkata")
NOW = dt.datetime(2026, 11, 25, tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("text", "zone", "utc"),
    [
        # PUBLISHED: offsets of the IANA time-zone database (Berlin +1/+2, New York −5/−4, Kolkata
        # +5:30 without summer time).
        ("2026-02-13T19:30", BERLIN, "2026-02-13T18:30:00+00:00"),
        ("2026-07-13 19:30", BERLIN, "2026-07-13T17:30:00+00:00"),
        ("2026-02-13T19:30", NEW_YORK, "2026-02-14T00:30:00+00:00"),
        ("2026-07-13T19:30:15", NEW_YORK, "2026-07-13T23:30:15+00:00"),
        ("2026-02-13T05:00", KOLKATA, "2026-02-12T23:30:00+00:00"),
        ("2026-02-13T19:30Z", KOLKATA, "2026-02-13T19:30:00+00:00"),
        ("2026-02-13T19:30+0530", BERLIN, "2026-02-13T14:00:00+00:00"),
        ("2026-02-13T19:30-05:00", BERLIN, "2026-02-14T00:30:00+00:00"),
        ("2026-02-13T19:30+01", BERLIN, "2026-02-13T18:30:00+00:00"),
    ],
)
def test_time_is_kept_in_utc(text, zone, utc):
    moment = parse_time(text, zone, now=NOW)
    assert moment.utc.isoformat() == utc
    assert not moment.date_only
    assert moment.doubt == ""


def test_date_alone_is_noon_in_the_tanks_zone_and_marked():
    for zone, hour in ((BERLIN, 11), (NEW_YORK, 17)):
        moment = parse_time("2026-02-13", zone, now=NOW)
        assert moment.date_only
        assert moment.utc == dt.datetime(2026, 2, 13, hour, tzinfo=dt.UTC)
    assert parse_time("2026-02-13", KOLKATA).utc.isoformat() == "2026-02-13T06:30:00+00:00"


@pytest.mark.parametrize(
    ("zone", "text", "both"),
    [
        # PUBLISHED: EU summer time ends on the last Sunday of October at 01:00 UTC (2000/84/EC);
        # US daylight time ends on the first Sunday of November at 02:00 local (15 U.S.C. 260a).
        (BERLIN, "2026-10-25T02:30", ("02:30+02:00", "02:30+01:00")),
        (NEW_YORK, "2026-11-01T01:30", ("01:30-04:00", "01:30-05:00")),
    ],
)
def test_repeated_hour_is_refused_and_both_readings_are_shown(zone, text, both):
    with pytest.raises(InputError, match="clocks went back") as caught:
        parse_time(text, zone, "readings.csv, row 2")
    for one in both:
        assert one in str(caught.value)
    first, second = (parse_time(text[:11] + one, zone).utc for one in both)
    assert second - first == dt.timedelta(hours=1)


@pytest.mark.parametrize(
    ("zone", "text"), [(BERLIN, "2026-03-29T02:30"), (NEW_YORK, "2026-03-08T02:30")]
)
def test_missing_hour_is_refused(zone, text):
    with pytest.raises(InputError, match=r"(?s)clocks went forward.*01:30.*03:30"):
        parse_time(text, zone)


def test_kolkata_has_neither():
    for text in ("2026-10-25T02:30", "2026-03-29T02:30"):
        assert parse_time(text, KOLKATA).utc is not None


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("13.2.2026", "Write 2026-02-13"),
        ("3.2.2026", "order of day and month"),
        ("2/13/26", "order of day and month"),
        ("2026-2-13", "two digits"),
        ("2026-02-30", "February 2026 has 28 days"),
        ("2026-13-01", "month comes after"),
        ("2026-02-13T24:10", "Check the hour"),
        ("2026-02-13T19:30+19:00", "Check the offset"),
        ("46054", "day number"),
        ("", "Fill in"),
        ("yesterday", "year-month-day"),
        ("0026-02-13", "Check the year"),
        ("20260213", "year-month-day"),
        ("２０２６-02-13", "year-month-day"),
    ],
)
def test_what_is_not_iso_is_refused_with_a_sentence(text, hint):
    with pytest.raises(InputError, match=hint):
        parse_time(text, BERLIN)


def test_odd_years_are_doubted_not_refused():
    assert "very long ago" in parse_time("1926-02-22", BERLIN, now=NOW).doubt
    assert "ahead" in parse_time("2062-02-08", BERLIN, now=NOW).doubt
    assert parse_time("2027-02-08", BERLIN, now=NOW).doubt == ""


@pytest.mark.parametrize(
    "name", ["Europe/Berln", "europe/berlin", "CEST", "", "../etc/passwd", "a/\0"]
)
def test_unknown_zone_is_refused(name):
    with pytest.raises(InputError, match="time zone"):
        tank_zone(name)


def test_close_zone_is_named():
    with pytest.raises(InputError, match="Europe/Berlin"):
        tank_zone("Europe/Berln")


def test_window_counts_whole_days():
    start = window_edge("2026-03-29", BERLIN, end=False)
    stop = window_edge(dt.date(2026, 3, 29), BERLIN, end=True)
    # A day on which the clocks go forward has 23 hours.
    assert stop - start == pd.Timedelta(hours=23) - pd.Timedelta(microseconds=1)
    assert window_edge(None, BERLIN, end=True) is None
    assert window_edge(pd.Timestamp("2026-02-13 12:00"), BERLIN, end=True).hour == 11
    assert window_edge("2026-02-13T12:00Z", BERLIN, end=False).hour == 12


@settings(max_examples=200, deadline=None, derandomize=True)
@given(
    st.one_of(
        st.text(max_size=25),
        st.from_regex(r"[0-9]{4}-[0-9]{2}-[0-9]{2}(T[0-9]{2}:[0-9]{2}([+-][0-9]{2}:[0-9]{2})?)?"),
    )
)
def test_any_text_is_read_or_refused(text):
    try:
        moment = parse_time(text, NEW_YORK, now=NOW)
    except ReefError:
        return
    pd.Timestamp(moment.utc)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(st.datetimes(dt.datetime(1980, 1, 1), dt.datetime(2040, 1, 1), timezones=st.just(dt.UTC)))
def test_written_with_its_offset_every_time_comes_back(time):
    for zone in (BERLIN, NEW_YORK, KOLKATA):
        assert parse_time(time.astimezone(zone).isoformat(), BERLIN).utc == time
