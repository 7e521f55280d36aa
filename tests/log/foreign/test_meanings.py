"""What columns mean, what has to be asked, and what rows are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.log.example import example_tank
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.layout import Layout
from reef_calc.log.foreign.meanings import Meanings, column_meanings
from reef_calc.messages import codes

TANK = example_tank()


def meanings(
    table: Sequence[Sequence[str]], answers: Mapping[str, str] | None = None, *, rows: int = 0,
    parts: tuple[str, ...] = (), units: tuple[str, ...] = (),
) -> Meanings:  # fmt: skip
    heads, *body = table
    layout = Layout(
        headings=tuple(heads), columns=tuple(range(len(heads))), parts=parts, unit_texts=units
    )
    samples = {i: [row[i] for row in body if row[i]] for i in range(len(heads))}
    return column_meanings(layout, samples, TANK, answers or {}, rows=rows or len(body))


def column(found: Meanings, key: str) -> Column:
    return next(one for one in found.columns if one.key == key)


def test_wide_with_other_names() -> None:
    found = meanings(
        [["Date", "Alk", "Calcium", "Mg (ppm)", "NO3", "PO4-P (ppb)"],
         ["2026-02-01", "8.3", "420", "1300", "5", "22"]]
    )  # fmt: skip
    assert [one.element for one in found.columns] == [
        "", "alkalinity", "calcium", "magnesium", "nitrate", "phosphate"
    ]  # fmt: skip
    assert found.columns[3].unit == "mg/L"
    assert found.columns[5].unit == "µg/L PO4-P"
    assert found.kind == "readings"


def test_units_below_the_heading_count_first() -> None:
    found = meanings(
        [["date", "KH", "PO4"], ["2026-02-01", "8.3", "22"]], units=("", "dKH", "µg/L P")
    )
    assert [one.unit for one in found.columns] == ["", "dKH", "µg/L P"]


def test_groups_with_kits_below() -> None:
    found = meanings(
        [["date", "alkalinity kit A", "alkalinity Blue"], ["2026-02-01", "8.1", "8.5"]],
        parts=("", "kit A", "Blue"),
    )
    assert [one.kit for one in found.columns] == ["", "kit A", "Blue"]
    assert "KEPT_APART" in codes(found.notes)


def test_two_columns_alike_stay_apart() -> None:
    found = meanings([["date", "KH", "KH"], ["2026-02-01", "8.1", "8.5"]])
    assert [one.kit for one in found.columns] == ["", "column B", "column C"]
    words = meanings([["date", "KH (school)", "KH (club)"], ["2026-02-01", "8.1", "8.5"]])
    assert [one.kit for one in words.columns] == ["", "school", "club"]


def test_a_word_beside_the_element_is_asked_and_not_taken() -> None:
    table = [["date", "KH Wunsch"], ["2026-02-01", "8.1"]]
    found = meanings(table)
    assert found.columns[1].role == "unknown"
    (question,) = found.questions
    assert question.key == "meaning/KH Wunsch" and question.open
    assert question.choices[0].answer == "alkalinity"
    taken = meanings(table, {"meaning/KH Wunsch": "alkalinity"})
    assert (taken.columns[1].role, taken.columns[1].kit) == ("value", "Wunsch")
    assert meanings(table, {"meaning/KH Wunsch": "not used"}).columns[1].role == "not used"


@pytest.mark.parametrize("heading", ["KH Soll", "KH target", "Average KH", "KH per day", "KH min"])
def test_what_is_no_level_is_said(heading: str) -> None:
    table = [["date", "KH", heading], ["2026-02-01", "8.1", "8.0"]]
    found = meanings(table)
    assert found.columns[2].role in ("not used", "average")
    assert any(heading in note.text for note in found.notes)
    # Where nothing else is there, it is asked.
    alone = meanings([[row[0], row[2]] for row in table])
    assert alone.columns[1].role == "unknown" and alone.questions[0].open


@pytest.mark.parametrize("heading", ["GH", "TDS", "ORP (mV)", "Redox", "CO2"])
def test_wrong_friends_are_said(heading: str) -> None:
    found = meanings([["date", "KH", heading], ["2026-02-01", "8.1", "20"]])
    assert found.columns[2].role == "not used"
    assert any(heading in note.text for note in found.notes)


def test_unknown_numbers_are_asked_and_a_slip_only_offered() -> None:
    found = meanings([["date", "Calcuim"], ["2026-02-01", "420"]])
    (question,) = found.questions
    assert found.columns[1].role == "unknown" and question.open
    assert question.choices[0].answer == "calcium"
    again = meanings([["date", "Calcuim"], ["2026-02-01", "420"]], {"meaning/Calcuim": "cheese"})
    assert again.columns[1].role == "unknown" and "cheese" in again.questions[0].text


def test_two_tanks_in_two_columns_are_asked() -> None:
    found = meanings([["date", "Tank 1 KH", "Tank 2 KH"], ["2026-02-01", "8.1", "9.0"]])
    assert [one.role for one in found.columns[1:]] == ["unknown", "unknown"]


def test_time_alone_is_the_date_and_beside_a_date_the_clock() -> None:
    assert meanings([["time", "pH"], ["2026-02-01 08:00", "8.1"]]).columns[0].role == "date"
    both = meanings([["date", "time", "pH"], ["2026-02-01", "08:00", "8.1"]])
    assert [one.role for one in both.columns] == ["date", "time", "value"]


def test_no_headings() -> None:
    found = meanings(
        [["", "", "", ""], ["1", "2026-02-01", "8.3", "fed"], ["2", "2026-02-08", "8.1", ""]]
    )
    assert [one.role for one in found.columns] == ["not used", "date", "unknown", "note"]
    assert [one.key for one in found.columns][2] == "column C"


def test_a_long_table_and_a_laboratory_report() -> None:
    long = meanings([["date", "test", "result", "unit"], ["2026-02-01", "Calcium", "420", "mg/L"]])
    assert [one.role for one in long.columns] == ["date", "element", "value", "unit"]
    assert long.kind == "readings"
    report = meanings(
        [["Element", "Result", "Unit", "Target", "± (k=2)"], ["Fe", "3", "µg/L", "2", "1"]]
    )
    assert report.kind == "laboratory report"
    assert [one.role for one in report.columns[3:]] == ["not used", "u"]


@pytest.mark.parametrize(
    ("table", "kind"),
    [
        ([["tank", "volume"], ["1", "380 L"]], "volumes"),
        ([["date", "product", "ml"], ["2026-02-01", "part one", "60"]], "additions"),
        ([["date", "Ca mL", "part one"], ["2026-02-01", "60", "40"]], "additions"),
        ([["date", "Wasserwechsel (L)"], ["2026-02-01", "40"]], "water changes"),
        ([["date", "litres", "salinity"], ["2026-02-01", "40", "35"]], "water changes"),
    ],
)
def test_kinds(table: list[list[str]], kind: str) -> None:
    assert meanings(table).kind == kind


def test_readings_with_water_changes_beside_say_what_is_left() -> None:
    found = meanings([["date", "KH", "water change (L)"], ["2026-02-01", "8.1", "40"]])
    assert found.kind == "readings" and "OTHER_KIND" in codes(found.notes)
    table = [["date", "KH", "water change (L)"], ["2026-02-01", "8.1", "40"]]
    assert meanings(table, {"kind/file": "water changes"}).kind == "water changes"
    assert "ANSWER_NOT_USED" in codes(meanings(table, {"kind/file": "poem"}).notes)


def test_loggers() -> None:
    hourly = [[f"2026-02-{d:02d} {h:02d}:00", "8.1"] for d in range(1, 9) for h in range(24)]
    assert meanings([["time", "pH"], *hourly], rows=5000).kind == "logger"
    daily = [[f"2026-02-{d:02d}", "25.1"] for d in range(1, 20)]
    assert meanings([["date", "temp"], *daily]).kind == "readings"
    with_kh = [["time", "pH", "KH"], *([*row, "8"] for row in hourly)]
    assert meanings(with_kh).kind == "readings"
    serial = [[f"{46054 + i / 144:.5f}", "8.1"] for i in range(200)]
    assert meanings([["time", "pH"], *serial]).kind == "logger"


def test_answers_correct_everything() -> None:
    table = [["date", "X", "KH"], ["2026-02-01", "420", "8.3"]]
    answers = {
        "role/X": "value", "element/X": "calcium", "unit/X": "mg/kg", "kit/X": "old", "lot/X": "7",
        "water/X": "new water", "role/KH": "note",
    }  # fmt: skip
    found = meanings(table, answers)
    assert column(found, "X") == Column(
        1, "X", "value", "calcium", "mg/kg", "", "old", "7", "new water", "X"
    )
    assert column(found, "KH").role == "note" and not found.questions


def test_answers_that_do_not_fit_are_said() -> None:
    answers = {"role/KH": "cheese", "element/KH": "cheddar", "unit/KH": "parsec"}
    found = meanings([["date", "KH"], ["2026-02-01", "8.3"]], answers)
    assert column(found, "KH").element == "alkalinity"
    assert codes(found.notes).count("ANSWER_NOT_USED") == 3


@given(
    st.lists(st.tuples(st.text(max_size=15), st.text(max_size=8)), min_size=1, max_size=5),
    st.text(max_size=8),
)
@settings(max_examples=50, deadline=None)
def test_any_headings_and_cells(pairs: list[tuple[str, str]], answer: str) -> None:
    table = [[head for head, _ in pairs], [cell for _, cell in pairs]]
    first = meanings(table)
    answers = {
        f"{what}/{one.key}": answer
        for one in first.columns
        for what in ("role", "element", "unit", "meaning", "kit")
    }
    for found in (first, meanings(table, answers)):
        assert len({one.key for one in found.columns}) == len(found.columns) == len(pairs)
        asked = {question.key for question in found.questions if question.open}
        for one in found.columns:
            assert one.role != "unknown" or f"meaning/{one.key}" in asked or answer
