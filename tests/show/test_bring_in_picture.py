"""The figure of what a file would bring in: odd numbers of readings, limits, doubts, years apart."""

from __future__ import annotations

import re

import pytest

from reef_calc.show.bring_in_picture import picture_html
from tests.log.foreign.bring import berlin, bring

MANY = "".join(
    f"{2012 + k // 300}-{k % 12 + 1:02}-{k % 25 + 1:02} {k % 24:02}:{k % 60:02},8.{k % 5}\n"
    for k in range(1500)
)
TEN = "Ca mg/L,Mg mg/L,NO3 mg/L,PO4 mg/L,Sr mg/L,B mg/L,F mg/L,K mg/L,KH dKH,Si mg/L"
FILES = {
    "one reading": "date,KH dKH\n2026-02-01,8.3\n",
    "only limits": "date,PO4 mg/L\n2026-02-01,<0.02\n2026-02-09,<0.02\n2026-03-01,<0.02\n",
    "equal values": "date,KH dKH\n" + "".join(f"2026-02-{d:02},8\n" for d in range(1, 20)),
    "years apart": "date,KH dKH\n1999-02-01,8.3\n2026-02-01,8.1\n",
    "same moment": "date,KH dKH\n2026-02-01,8.3\n2026-02-01,8.1\n2026-02-01,8.2\n",
    "many": "date,KH dKH\n" + MANY,
    "ten elements": f"date,{TEN}\n2026-02-01,420,1300,5,0.03,8,4.5,1.3,400,8,0.1\n",
}


@pytest.mark.parametrize("name", FILES)
def test_the_figure_holds_numbers_only(name: str) -> None:
    found = bring(FILES[name])
    text = picture_html(found, berlin())
    assert "<svg" in text
    assert not re.search(r"\b(nan|inf)\b", text.lower())
    assert text.count("<svg") == 2
    assert len(text) < 400_000


def test_a_doubt_about_a_row_marks_its_readings() -> None:
    text = "date,KH dKH,Ca mg/L\n" + "".join(f"2026-02-{d:02},8,420\n" for d in range(1, 9))
    found = bring(text + "2026-02-08,8,420\n2026-02-09,8,420\n")
    rows = {m.row for m in found.marks if m.column is None and m.said.fate == "flagged"}
    assert rows
    crosses = picture_html(found, berlin()).count("l9 9m0 -9l-9 9")
    drawn = sum(e.row in rows for e in found.entries)
    assert crosses == 2 * drawn


def test_elements_that_are_not_drawn_are_counted() -> None:
    text = picture_html(bring(FILES["ten elements"]), berlin())
    lanes = len(re.findall(r": 1 reading", text)) // 2
    assert lanes == 8
    assert "2 more elements are not drawn" in text


def test_nothing_to_draw_is_no_figure() -> None:
    assert picture_html(bring("date,WW litres\n2026-02-01,40\n"), berlin()) == ""
