"""Dates without a year: asked once, counted on, and never set in silence."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.log.foreign.dates_without_year import Step, years_of
from reef_calc.log.foreign.outcome import Question
from reef_calc.log.foreign.profiles import Profile, matching_profile, write_profile
from reef_calc.log.foreign.understood import Understood
from tests.folders import make_folder
from tests.log.foreign.bring import bring, notes, said

YEAR = {"year/Date": "2025"}
MONTH_FIRST = "Date,KH\n5/14,8.3\n5/21,8.1\n12/28,8.0\n1/4,8.2\n"


def days(found: Understood) -> list[str]:
    return [entry.cells["time"] for entry in found.entries]


def question(found: Understood, key: str = "year/Date") -> Question:
    return next(one for one in found.questions if one.key == key)


@pytest.mark.parametrize(
    "text",
    [
        "Date;KH\n1.2.;8,3\n8.2.;8,1\n",
        "Date;KH\n01.02;8,3\n08.02;8,1\n",
        "Date;KH\n1 Feb;8,3\nSun 8 Feb;8,1\n",
        "Date;KH\nFeb 1;8,3\nFeb 8;8,1\n",
        "Date;KH\n1. Februar;8,3\n8. Februar;8,1\n",
        "Date;KH\n1er février;8,3\n8 févr.;8,1\n",
    ],
)
def test_the_year_is_asked_and_then_read(text: str) -> None:
    found = bring(text)
    assert found.counts.asked == 2 and question(found).open and question(found).typed
    assert days(bring(text, YEAR)) == ["2025-02-01", "2025-02-08"]


def test_from_december_to_january_the_year_goes_on_and_that_is_said() -> None:
    found = bring(MONTH_FIRST, YEAR)
    assert days(found) == ["2025-05-14", "2025-05-21", "2025-12-28", "2026-01-04"]
    assert "Row 2 is of 2025; from row 5, “1/4”, 2026." in notes(found)
    back = bring("Date,KH\n1/4,8.3\n12/28,8.1\n12/14,8.2\n", {"year/Date": "2026"})
    assert days(back) == ["2026-01-04", "2025-12-28", "2025-12-14"]


def test_a_row_of_the_old_year_behind_the_turn_stays_there() -> None:
    found = bring("Date,KH\n12/28,8.3\n1/2,8.1\n12/31,8.2\n1/5,8.0\n", YEAR)
    assert days(found) == ["2025-12-28", "2026-01-02", "2025-12-31", "2026-01-05"]


def test_years_of_titles_and_names_are_offered_with_their_days() -> None:
    found = bring("2025\nDate;KH\n1.2.;8,3\n8.2.;8,1\n", file="KH 2024.csv")
    first, second = question(found).choices[:2]
    assert (first.answer, second.answer) == ("2025", "2024")
    assert first.consequence == (
        "It stands in row 1, “2025”. From 1 February 2025 to 8 February 2025."
    )
    assert second.consequence.startswith("It stands in the name “KH 2024.csv”.")


def test_without_a_hint_the_latest_year_that_is_possible_is_offered() -> None:
    (only,) = question(bring(MONTH_FIRST)).choices
    assert only.answer == "2025" and "From 14 May 2025 to 4 January 2026." in only.consequence


@pytest.mark.parametrize("answer", ["last year", "25", "20255", "1776", "²025"])
def test_what_is_no_year_is_said(answer: str) -> None:
    found = bring(MONTH_FIRST, {"year/Date": answer})
    assert question(found).open and f"“{answer}” is no year" in question(found).text


def test_both_orders_are_shown_with_the_years_they_give() -> None:
    text = "Date,KH\n5/6,8.3\n7/6,8.1\n9/8,8.0\n1/4,8.2\n"
    found = bring(text, YEAR)
    choices = {
        choice.answer: choice.consequence for choice in question(found, "day or month/Date").choices
    }
    assert "From 6 May 2025 to 4 January 2026." in choices["month first"]
    assert "1 of 4 rows earlier" in choices["day first"]
    chosen = bring(text, YEAR | {"day or month/Date": "month first"})
    assert days(chosen) == ["2025-05-06", "2025-07-06", "2025-09-08", "2026-01-04"]


def test_a_year_between_the_rows_is_a_title_and_sets_nothing() -> None:
    text = "Date,KH\n2025-02-14,8.3\n2026,\n2025-02-21,8.1\n"
    found = bring(text)
    assert days(found) == ["2025-02-14", "2025-02-21"] and found.counts.not_read == 1
    wrong = bring("Date,KH\n14 Feb,8.3\n2026,\n21 Feb,8.1\n28 Feb,8.0\n", YEAR)
    assert days(wrong) == ["2025-02-14", "2025-02-21", "2025-02-28"]
    assert "Row 3 above says 2026; the dates count on to 2025." in said(wrong, 4)
    right = bring("Date,KH\n14 Feb,8.3\n28 Dec,8.3\n2026,\n2 Jan,8.1\n", YEAR)
    assert days(right)[-1] == "2026-01-02" and not said(right, 5)


def test_a_year_that_is_written_once_goes_on() -> None:
    text = "Date;KH\n1.12.2025;8,3\n8.12.;8,2\n3.1.;8,1\n"
    found = bring(text)
    assert days(found) == ["2025-12-01", "2025-12-08", "2026-01-03"]
    assert question(found).assumed == "above" and "from row 4, “3.1.”, 2026" in notes(found)
    assert days(bring(text, {"year/Date": "none"})) == ["2025-12-01"]
    before = bring("Date;KH\n8.12.;8,2\n3.1.;8,1\n12.1.2026;8,0\n")
    assert days(before) == ["2025-12-08", "2026-01-03", "2026-01-12"]


def test_a_level_among_the_dates_is_not_taken_for_a_day_in_silence() -> None:
    found = bring("Date;KH\n13.05.2026;8,2\n8.3;8,1\n20.05.2026;8,0\n")
    assert days(found) == ["2026-05-13", "2026-05-20"] and found.counts.asked == 1


def test_months_of_a_year_are_no_days() -> None:
    for text in ("Feb 26;8,2\nMar 26;8,1\nApr 26;8,0\n", "Feb-26;8,2\nMar-26;8,1\n"):
        found = bring("Date;KH\n" + text)
        assert not found.entries and not found.counts.asked


def test_clocks_and_parts_of_the_day_stay_with_the_day() -> None:
    text = "Date;KH\n8.12. 8:30;8,2\n;8,25\n3.1. abends;8,1\n12.1. 20:15;8,0\n"
    assert days(bring(text, YEAR)) == [
        "2025-12-08T08:30", "2025-12-08", "2026-01-03T20:00", "2026-01-12T20:15",
    ]  # fmt: skip


def test_a_day_that_the_year_does_not_have_is_refused() -> None:
    found = bring("Date,KH\n28 Feb,8.3\n29 Feb,8.3\n", YEAR)
    assert days(found) == ["2025-02-28"] and "February 2025 has 28 days" in said(found, 3)


def test_the_year_is_not_remembered_for_the_next_file(tmp_path: Path) -> None:
    profile = Profile("log", ("Date", "KH"), "readings", {"year/Date": "2025", "decimal/KH": ","})
    folder = make_folder(tmp_path / "tank")
    write_profile(folder, profile)
    again = matching_profile(folder, ["Date", "KH"])
    assert again is not None and dict(again.answers) == {"decimal/KH": ","}


@given(st.lists(st.integers(1, 150), min_size=2, max_size=40), st.integers(0, 365), st.booleans())
@settings(max_examples=50, deadline=None)
def test_a_log_without_gaps_gets_its_years_back(
    gaps: list[int], start: int, newest_first: bool
) -> None:
    day = dt.date(2020, 1, 1) + dt.timedelta(days=start)
    true = [day]
    for gap in gaps:
        true.append(true[-1] + dt.timedelta(days=gap))
    if all(a.year != b.year for a, b in pairwise(true)):
        return
    if newest_first:
        true.reverse()
    steps = [Step(at, "", one.month, one.day) for at, one in enumerate(true)]
    assert years_of(steps, true[0].year) == [one.year for one in true]
