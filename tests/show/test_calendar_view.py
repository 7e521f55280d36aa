"""The test calendar: every proposal on its day, and nothing lost outside the six weeks."""

from __future__ import annotations

import re
from types import SimpleNamespace

import pandas as pd
import pytest

from reef_calc.show.calendar_view import calendar_html, what_buys_most
from tests import standings as invented


@pytest.fixture(scope="module")
def page() -> str:
    entries, outlooks = invented.plans()
    return calendar_html(entries, outlooks, start=invented.END, zone=invented.ZONE)


def test_the_heading_is_the_answer(page: str) -> None:
    assert "How often to test: next on Fri 2 Oct, alkalinity</h2>" in page


def test_every_proposal_is_in_words(page: str) -> None:
    # 1, 4, 8, 12, 19 and 26 days after midnight of 1 October 2026, which is a Thursday.
    for day in ("Fri 2 Oct", "Mon 5 Oct", "Fri 9 Oct", "Tue 13 Oct", "Tue 20 Oct", "Mon 26 Oct"):
        assert f"<span>{day}</span>" in page
    assert page.count('r="4"') == 6 + 4 + 1


def test_one_row_an_element_and_six_weeks(page: str) -> None:
    weeks = page.split("</table>")[0]
    assert re.findall(r"<th scope=row>(\w+)<", weeks) == [
        "Alkalinity", "Calcium", "Magnesium", "Iodine",
    ]  # fmt: skip
    assert re.findall(r"Week of<br>([\w ]+)<", weeks) == [
        "28 Sep", "5 Oct", "12 Oct", "19 Oct", "26 Oct", "2 Nov",
    ]  # fmt: skip
    assert "none proposed" in weeks


def test_what_the_readings_show(page: str) -> None:
    table = page.split("What the readings will be able to show")[1]
    assert "±\u00a00.021" in table and "2 % of the use" in table
    assert "no interval" in table and "too few readings" in table
    assert "more than the use" in table and "none of these buys much" in table
    assert "The iodine readings are too few." in table
    assert not re.search(r"\bnan\b|\binf\b", page)


@pytest.mark.parametrize("days", [-20.0, 60.0])
def test_nothing_is_lost_outside_the_weeks(days: float) -> None:
    entries = invented.planned("calcium", "mg/L", 7.0, (1.0,) * 5, [3.0, days])[0]
    page = calendar_html(entries, [], start=invented.END, zone=invented.ZONE)
    assert "Outside these weeks: calcium on" in page


def test_days_are_the_tanks() -> None:
    # 23:30 UTC on 9 October is 10 October in London.
    moment = pd.Timestamp("2026-10-09T23:30Z")
    day = (moment - pd.Timestamp(0, tz="UTC")) / pd.Timedelta(days=1)
    entries = pd.DataFrame({"time": [day], "element": ["alkalinity"]})
    assert "Sat 10 Oct" in calendar_html(entries, [], zone="Europe/London")
    assert "Fri 9 Oct" in calendar_html(entries, [])


def test_two_elements_on_one_day() -> None:
    entries = pd.DataFrame({"time": [20000.1, 20000.9], "element": ["calcium", "<b>"]})
    assert "calcium and &lt;b&gt;</h2>" in calendar_html(entries, [])


def test_nothing_to_plan() -> None:
    page = calendar_html(pd.DataFrame({"time": [], "element": []}), [])
    assert "no day is proposed" in page and "Nothing to plan yet" in page


def test_more_readings_never_look_worse() -> None:
    same = SimpleNamespace(after=0.5, one_more=0.5, finer_kit=0.5, longer_span=0.5)
    assert what_buys_most(same) == "none of these buys much"
    unknown = SimpleNamespace(after=0.5, one_more=0.4, finer_kit=float("inf"), longer_span=0.6)
    assert what_buys_most(unknown) == "one more reading: 20\u00a0% narrower"
