"""Doses: long and wide tables, drops, spoons, rhythms, names."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem.supplements import Supplement
from reef_calc.log.example import example_tank
from reef_calc.log.foreign.dose_amounts import dose_cell
from reef_calc.log.foreign.doses import additions_from
from tests.log.foreign.bodies import codes_of, table, taken_by_the_tank, told_of

BASE = example_tank()
TANK = replace(
    BASE.description if hasattr(BASE, "description") else BASE,
    supplements={
        "part one": Supplement("part one", {"alkalinity": 1.8}),
        "part two": Supplement("part two", {"calcium": 35.0}),
        "powder": Supplement("powder", {"calcium": 270.0}, "g"),
    },
)
LONG = (
    ("date", "date"),
    ("product", "supplement"),
    ("dose", "amount"),
    ("unit", "unit"),
    ("how", "how"),
)


def long(*rows: tuple[str, str, str, str], answers: dict[str, str] | None = None):
    return additions_from(table(LONG, [("", *row) for row in rows]), TANK, answers or {})


@pytest.mark.parametrize(
    ("text", "amount", "unit", "how"),
    [
        ("25 mL", "25", "mL", ""),
        ("10 ml/day", "10", "mL", "per day"),
        ("daily 25", "25", "", "per day"),
        ("20ml täglich", "20", "mL", "per day"),
        ("0,5 L", "0,5", "L", ""),
        ("10 g", "10", "g", ""),
        ("5 Tropfen", "5", "drops", ""),
        ("einmalig 30 ml", "30", "mL", "once"),
        ("10 ml par jour", "10", "mL", "per day"),
    ],
)
def test_cell_of_a_dose(text: str, amount: str, unit: str, how: str) -> None:
    found = dose_cell(text)
    assert (found.number, found.unit, found.how, found.doses, found.days) == (
        amount,
        unit,
        how,
        1,
        1,
    )


@pytest.mark.parametrize(
    ("text", "doses", "days"),
    [
        ("2 x 10 mL", 2, 1), ("10 mL x 2", 2, 1), ("10 mL 2x daily", 2, 1), ("10 mL twice daily", 2, 1),
        ("10 mL every 2 days", 1, 2), ("alle 3 Tage 10 ml", 1, 3), ("10 mL/week", 1, 7),
        ("3x 10 mL per week", 3, 7), ("10 ml every other day", 1, 2), ("2×10 mL", 2, 1),
    ],
)  # fmt: skip
def test_several_doses_and_days(text: str, doses: int, days: int) -> None:
    found = dose_cell(text)
    assert (found.number, found.doses, found.days) == ("10", doses, days)


@pytest.mark.parametrize(
    "text", ["1 tsp", "2 caps", "a pinch", "1 Teelöffel", "2 bouchons", "half a scoop", "1 łyżka"]
)
def test_a_spoon_is_no_measure(text: str) -> None:
    made = long(("part one", text, "", "once"))
    assert made.entries == () and codes_of(made, 2) == ["SPOON"]
    assert "Weigh" in made.marks[0].said.repair


def test_long_table() -> None:
    made = long(
        ("part one", "60", "mL", "per day"),
        ("Part  Two", "12,5", "ml", "once"),
        ("powder", "500", "mg", "once"),
    )
    cells = [entry.cells for entry in made.entries]
    assert [one["supplement"] for one in cells] == ["part one", "part two", "powder"]
    assert [(one["amount"], one["unit"], one["how"]) for one in cells] == [
        ("60", "mL", "per day"), ("12.5", "mL", "once"), ("0.5", "g", "once"),
    ]  # fmt: skip
    taken_by_the_tank(made, TANK)


def test_wide_table_asks_names_and_how() -> None:
    columns = (("date", "date"), ("Ca mL", "amount"), ("part one (mL)", "amount"), ("note", "note"))
    body = table(columns, [("", "20", "60", "new pump"), ("", "", "60", "")], days=[0, 7])
    made = additions_from(body, TANK, {})
    asked = {question.key: question for question in made.questions}
    assert set(asked) == {"supplement/Ca", "how/file"} and made.entries == ()
    daily, once = (choice.consequence for choice in asked["how/file"].choices)
    # 60 mL every day are 420 mL in a week; 60 mL once in seven days are 60.
    assert "420 mL a week" in daily and "60 mL a week" in once and "120 mL in all" in once
    answers = {"supplement/Ca": "part two", "how/file": "once"}
    made = additions_from(body, TANK, answers)
    assert [(e.row, e.column, e.cells["supplement"]) for e in made.entries] == [
        (2, 1, "part two"), (2, 2, "part one"), (3, 2, "part one"),
    ]  # fmt: skip
    assert made.entries[0].cells["note"] == "new pump"
    taken_by_the_tank(made, TANK)


def test_a_supplement_is_never_invented() -> None:
    made = long(("mystery", "5", "mL", "once"))
    assert made.entries == () and made.questions[0].key == "supplement/mystery"
    assert {choice.answer for choice in made.questions[0].choices} == {
        *TANK.supplements,
        "leave out",
    }
    left = long(("mystery", "5", "mL", "once"), answers={"supplement/mystery": "leave out"})
    assert codes_of(left, 2) == ["LEFT_OUT"]
    again = long(("mystery", "5", "mL", "once"), answers={"supplement/mystery": "nonsense"})
    assert "none of these" in again.questions[0].text and again.questions[0].open


def test_drops_need_their_volume() -> None:
    made = long(("part one", "5 drops", "", "once"))
    assert made.entries == () and made.questions[0].typed == "mL per drop"
    made = long(("part one", "5 drops", "", "once"), answers={"mL per drop/part one": "0,05"})
    assert made.entries[0].cells["amount"] == "0.25" and made.entries[0].cells["unit"] == "mL"
    assert made.entries[0].cells["note"] == "written as 5 drops"
    for nonsense in ("5", "0", "-1", "many", "nan", "1e999"):
        again = long(
            ("part one", "5 drops", "", "once"), answers={"mL per drop/part one": nonsense}
        )
        assert again.entries == () and again.questions[0].open


def test_sums_and_parts_keep_what_was_written() -> None:
    made = long(
        ("part one", "2 x 10 mL daily", "", ""), ("part two", "3 mL every 2 days", "", ""),
    )  # fmt: skip
    assert [entry.cells["amount"] for entry in made.entries] == ["20", "1.5"]
    assert made.entries[1].cells["note"] == "written as 3 mL every 2 days"
    assert codes_of(made, 3) == ["WORKED_OUT"]
    each = long(("part one", "10", "mL", "2x daily"))
    assert each.entries == () and codes_of(each, 2) == ["EACH_OR_IN_ALL"]


def test_units() -> None:
    made = long(
        ("part one", "5", "g", "once"), ("powder", "5", "mL", "once"), ("powder", "5", "oz", "once")
    )
    assert made.entries == ()
    assert [codes_of(made, row) for row in (2, 3, 4)] == [["OTHER_KIND"], ["OTHER_KIND"], ["OUNCE"]]
    bare = long(("part one", "5", "", "once"))
    assert bare.entries[0].cells["unit"] == "mL" and bare.questions[0].assumed == "mL"
    mixed = long(("part one", "5", "", "once"), ("powder", "5", "", "once"))
    assert mixed.questions[0].open and mixed.entries == ()


@pytest.mark.parametrize(("text", "code"), [("-5", "BELOW_ZERO"), ("<5", "NO_SINGLE_AMOUNT"),
                                            ("5-10 mL", "NO_SINGLE_AMOUNT"), ("", "NO_AMOUNT")])  # fmt: skip
def test_no_amount(text: str, code: str) -> None:
    made = long(("part one", text, "mL", "once"))
    assert made.entries == () and code in codes_of(made, 2)


def test_two_doses_a_day_at_once_are_refused() -> None:
    body = table(LONG, [("", "part one", "5", "mL", "daily")] * 2, days=[0, 0])
    made = additions_from(body, TANK, {})
    assert len(made.entries) == 1 and codes_of(made, 3) == ["TWO_AT_ONCE"]
    body = table(LONG, [("", "part one", "5", "mL", "daily")] * 2, days=[0, 3], ends=[5, None])
    assert codes_of(additions_from(body, TANK, {}), 3) == ["TWO_AT_ONCE"]
    body = table(LONG, [("", "part one", "5", "mL", "once")], ends=[5])
    assert codes_of(additions_from(body, TANK, {}), 2) == ["ONCE_HAS_NO_END"]
    body = table(LONG, [("", "part one", "5", "mL", "")], ends=[5])
    made = additions_from(body, TANK, {})
    assert made.questions[0].assumed == "per day" and made.entries[0].cells["end"] == "2026-02-06"


def test_an_end_that_cannot_be_read_does_not_run_on() -> None:
    columns = (*LONG, ("until", "end"))
    rows = [
        ("", "part one", "5", "mL", "daily", "31.04."),
        ("", "part two", "5", "mL", "daily", ""),
    ]
    made = additions_from(table(columns, rows, ends=[None, None]), TANK, {})
    assert [entry.cells["supplement"] for entry in made.entries] == ["part two"]


def test_clock_times() -> None:
    columns = (*LONG, ("Uhrzeiten", "unknown"))
    body = table(
        columns,
        [
            ("", "part one", "5", "mL", "daily", "6:00; 18:00"),
            ("", "part two", "5", "mL", "daily", "dawn"),
        ],
    )
    made = additions_from(body, TANK, {})
    assert made.entries[0].cells["times"] == "06:00;18:00"
    assert "times" not in made.entries[1].cells and "dawn" in made.entries[1].cells["note"]
    taken_by_the_tank(made, TANK)


WORDS = st.sampled_from(
    ["2 x", "10", "mL", "daily", "every", "0", "days", "g", "drops", "tsp", ",", "1.5", "<", "-", "L",
     "per week", "3x", "nan", "½", "12,5", "\x00", "once", "99999", "e9"]
)  # fmt: skip
CELL = st.one_of(st.lists(WORDS, max_size=5).map(" ".join), st.text(max_size=12))


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.tuples(st.just(""), st.sampled_from(["part one", "powder", "x", ""]), CELL, CELL, CELL),
             min_size=1, max_size=6),
    st.dictionaries(st.sampled_from(["how/file", "supplement/x", "unit of doses/dose",
                                     "mL per drop/part one"]), CELL),
)  # fmt: skip
def test_every_row_is_told_of_and_every_entry_can_be_read(rows, answers) -> None:
    made = additions_from(table(LONG, rows), TANK, answers | {"how/file": "once"})
    taken_by_the_tank(made, TANK)
    waiting = {row for question in made.questions for row in question.rows}
    # What a number cannot be read of is told by the numbers; see read_numbers.
    assert told_of(made) | waiting == set(range(2, len(rows) + 2))
