"""Kept parts of an understanding: the same as one made anew, whatever was answered before."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.errors import InputError
from reef_calc.log.example import example_tank
from reef_calc.log.foreign.kept import Kept, Looked
from reef_calc.log.foreign.reader import read_grid_and_questions
from reef_calc.log.foreign.understand import understand_grid
from reef_calc.log.foreign.understood import Understood

_NOW = dt.datetime(2026, 3, 1, 12, tzinfo=dt.UTC)
_LOGS = (
    b"Tag;Uhr;KH;Ca;Mg;Bemerkung\n3.2.2026;9:00;8,3;421;1320;\n;18:00;8,1;418;1310;WW 40 L\n"
    b"4.2.2026;;84;420;-;\n4.2.2026;;84;420;-;\n1/2/26;;<7;;1.290;x\n",
    b"date,element,result,what,tank\n02/03/2026,KH,8.3,2,A\n03/04/2026,Foo,8.1,-99,B\n,NO3,<0.2,,A\n",
    b"KH;8,3\nCa;421\nMg;1320\n",
)
_ANSWERS = (
    ("decimal/Mg", (".", ",")),
    ("day or month/date", ("day first", "month first")),
    ("empty dates/Tag", ("above", "none")),
    ("same row twice/file", ("count each", "count once")),
    ("meaning/what", ("ignore", "note", "value")),
    ("meaning/KH", ("ignore", "amount")),
    ("unit/Mg", ("mg/L", "ppm")),
    ("unit/KH", ("dKH", "meq/L", "nonsense")),
    ("missing/result", ("missing", "number")),
    ("tank/file", ("A", "B")),
    ("kind/file", ("additions", "readings", "water changes", "logger")),
    ("header row/file", ("none", "1", "2")),
    ("turn/file", ("no", "yes")),
    ("date/file", ("13.02.2026",)),
    ("row:leave out", ("3", "3-5")),
)
_ONE = st.sampled_from([(key, text) for key, texts in _ANSWERS for text in (*texts, "")])


def _understood(content: bytes, steps: list[tuple[str, str]], kept: Kept | None) -> list[object]:
    tank = example_tank()
    grid, asked = read_grid_and_questions("log.csv", content)
    answers: dict[str, str] = {}
    found: list[object] = []
    for key, answer in steps:
        answers[key] = answer
        try:
            found.append(understand_grid(grid, tank, answers, asked, now=_NOW, kept=kept))
        except InputError as error:
            found.append(str(error))
    return found


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(_LOGS), st.lists(_ONE, min_size=2, max_size=6))
def test_what_is_kept_is_what_would_be_made_anew(
    content: bytes, steps: list[tuple[str, str]]
) -> None:
    anew, kept = _understood(content, steps, None), _understood(content, steps, Kept())
    # Numbers that are not there are NaN, equal to nothing but in their words.
    assert list(map(repr, kept)) == list(map(repr, anew))


def test_another_tank_another_day_and_another_table_are_understood_anew() -> None:
    kept, tank = Kept(), example_tank()
    grid, asked = read_grid_and_questions("a.csv", b"date;KH dKH\n5.3.2026;8,3\n")

    def read(moment: dt.datetime) -> Understood:
        return understand_grid(grid, tank, {}, asked, now=moment, kept=kept)

    assert read(_NOW).entries == read(_NOW).entries
    later = dt.datetime(2028, 3, 6, tzinfo=dt.UTC)
    fresh = understand_grid(grid, tank, {}, asked, now=later)
    assert repr(read(later)) == repr(fresh)
    other, asked_too = read_grid_and_questions("a.csv", b"date;KH dKH\n5.2.2026;8,9\n")
    found = understand_grid(other, tank, {}, asked_too, now=_NOW, kept=kept)
    assert [entry.cells["value"] for entry in found.entries] == ["8.9"]


def test_answers_gone_through_as_a_whole_count_as_a_whole() -> None:
    looked = Looked({"a": "1"})
    assert dict(looked) == {"a": "1"}
    assert looked.holds_for({"a": "1"})
    assert not looked.holds_for({"a": "1", "b": "2"})


def test_an_answer_that_was_missing_counts_once_it_is_there() -> None:
    looked = Looked({})
    assert "a" not in looked
    assert looked.get("b") is None
    assert looked.holds_for({"c": "1"})
    assert not looked.holds_for({"b": "1"})


def test_an_error_leaves_what_was_kept() -> None:
    kept, made = Kept(), []

    def make(answers: object) -> int:
        made.append(answers)
        return len(made)

    def fail(answers: object) -> int:
        raise InputError("a number", "x", "Type one.", "here")

    assert kept.part("one", ("2026-03-01",), {}, make) == 1
    with pytest.raises(InputError):
        kept.part("one", ("2026-03-02",), {}, fail)
    assert kept.part("one", ("2026-03-01",), {}, make) == 1
