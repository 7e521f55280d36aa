"""What cells of a column of numbers say; the tables are written from what a careful person reads."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence

import pytest
from babel.numbers import format_decimal
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.log.foreign.cell_numbers import NumberColumn, read_numbers
from reef_calc.log.foreign.grid import Cell
from reef_calc.log.foreign.outcome import CellNumber


def column(
    cells: Sequence[Cell], *, answers: dict[str, str] | None = None, separator: str = ";",
    heading: str = "KH",
) -> NumberColumn:  # fmt: skip
    rows = range(2, len(cells) + 2)
    found = read_numbers(
        cells, rows, key=heading, column=1, heading=heading, separator=separator,
        answers=answers or {},
    )  # fmt: skip
    assert len(found.numbers) == len(cells)
    keys = {question.key for question in found.questions}
    for number in found.numbers:
        for said in number.said:
            assert said.reason and (said.fate == "read" or said.repair)
            assert said.fate != "asked" or said.question in keys
            if said.fate in ("asked", "refused"):
                assert math.isnan(number.value)
    return found


def one(cell: Cell, **others: str) -> CellNumber:
    return column([cell], **others).numbers[0]  # type: ignore[arg-type]


def fate(number: CellNumber) -> str:
    return number.said[0].fate if number.said else "read"


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("8,3", 8.3), ("8.1", 8.1), ("0,123", 0.123), ("12,3456", 12.3456), ("1.234,5", 1234.5),
        ("1,234.5", 1234.5), ("1 234,5", 1234.5), ("1'234", 1234.0), ("1’234.5", 1234.5),
        ("1,23,456", 123456.0), ("1.234.567", 1234567.0), ("-8.1", -8.1), ("−8,1", -8.1),
        ("+8.3", 8.3), ("8.3E1", 83.0), (".5", 0.5), (",5", 0.5), ("5.", 5.0), ("8·3", 8.3),
        ("٨٫٣", 8.3), ("８．３", 8.3), ("0.00", 0.0), ("1\u202f300", 1300.0), (8.3, 8.3), (420.0, 420.0),
    ],
)  # fmt: skip
def test_numbers_of_many_countries(text: Cell, value: float) -> None:
    assert one(text) == CellNumber(value)


@pytest.mark.parametrize(
    "text",
    ["<0.02", "< 0,02", "≤ 0.02", "<=0.02", "&lt;0.02", "<.02", "under 0.02", "unter 0,02",
     "less than 0.02", "moins de 0,02", "menos de 0,02", "meno di 0,02", "minder dan 0,02",
     "＜0.02", "n.d. (<0.02)", "nd <0.02"],
)  # fmt: skip
def test_below_a_limit(text: str) -> None:
    found = one(text)
    assert (found.value, found.limit, fate(found)) == (0.02, "<", "read")


@pytest.mark.parametrize("text", [">50", "> 50", "≥50", "&gt;50", "over 50", "über 50", "50+"])
def test_above_a_limit(text: str) -> None:
    found = one(text)
    assert (found.value, found.limit) == (50.0, ">")


@pytest.mark.parametrize(
    "text",
    ["5-10", "5–10", "5 - 10", "5 to 10", "5 bis 10", "5 à 10", "5..10", "5…10", "between 5 and 10",
     "zwischen 5 und 10", "5,0-10,0", "5 tot 10"],
)  # fmt: skip
def test_intervals_are_never_dates(text: str) -> None:
    found = one(text)
    assert (found.value, found.limit, found.upper) == (5.0, "between", 10.0)


@pytest.mark.parametrize(
    "text",
    ["n.d.", "nd", "n/d", "ND", "not detected", "n.n.", "nicht nachweisbar", "BDL", "u.N.", "<LOD",
     "< BG", "trace", "LO", "Spuren", "non détecté", "no detectado", "niet aantoonbaar", "<"],
)  # fmt: skip
def test_below_a_limit_that_is_not_told(text: str) -> None:
    found = column([text, "0.05"], heading="PO4")
    assert fate(found.numbers[0]) == "asked" and found.questions[0].key == "limit/PO4"
    assert found.questions[0].typed and found.questions[0].rows == (2,)
    for answer in ("0,02", "0.02", "<0.02"):
        told = column([text, "0.05"], heading="PO4", answers={"limit/PO4": answer}).numbers[0]
        assert (told.value, told.limit) == (0.02, "<") and fate(told) == "read"
        assert told.said[0].chosen and text in told.remark
    unknown = column([text], heading="PO4", answers={"limit/PO4": "missing"}).numbers[0]
    assert math.isnan(unknown.value) and fate(unknown) == "read"
    for wrong in ("soft", "0", "-1", "1e999", "="):
        again = column([text], heading="PO4", answers={"limit/PO4": wrong})
        assert again.questions[0].open and wrong in again.questions[0].text


@pytest.mark.parametrize("text", ["HI", "high", "over", "OR", "max", "zu hoch", ">", "Over Range"])
def test_above_a_limit_that_is_not_told(text: str) -> None:
    found = column([text, ">50"], heading="NO3")
    assert fate(found.numbers[0]) == "asked" and text in found.numbers[0].said[0].reason
    assert found.questions[0].key == "highest/NO3"
    assert found.questions[0].choices[0].answer == "50"
    told = column([text], heading="NO3", answers={"highest/NO3": "50"}).numbers[0]
    assert (told.value, told.limit) == (50.0, ">")


@pytest.mark.parametrize(
    "text",
    ["~8.3", "ca. 8,3", "≈8.3", "8.3?", "(8.3)", "8.3*", "about 8.3", "8.3 (repeat)", "8.3 ok",
     "etwa 8,3", "environ 8,3", "8.3 after water change", "8.3!?", "KH 8.3", "KH: 8,3"],
)  # fmt: skip
def test_doubt_is_kept_in_the_note(text: str) -> None:
    if "!" in text:
        text = text.replace("!", "")
    found = one(text)
    assert (found.value, fate(found), found.remark) == (8.3, "flagged", f"written as {text}")
    assert found.unit == ""


def test_an_uncertainty_is_not_lost() -> None:
    for text in ("8±0.2", "8 +/- 0.2", "8 ± 0,2 dKH"):
        found = one(text)
        assert found.value == 8.0 and found.remark == f"written as {text}"
        assert found.unit == ("dKH" if "dKH" in text else "")


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [("8.3 dKH", 8.3, "dKH"), ("2,9 meq/l", 2.9, "meq/l"), ("420ppm", 420.0, "ppm"),
     ("22µg/L P", 22.0, "µg/L P"), ("145 ppm CaCO3", 145.0, "ppm CaCO3"), ("8 mg L-1", 8.0, "mg L-1"),
     ("26 °C", 26.0, "°C"), ("35 ‰", 35.0, "‰"), ("53.1 mS/cm at 25 °C", 53.1, "mS/cm at 25 °C"),
     ("77.7 degrees F", 77.7, "degrees F"), ("<0,02 mg/l", 0.02, "mg/l"), ("~8 dKH", 8.0, "dKH"),
     ("5-10 ppm", 5.0, "ppm"), ("380 L", 380.0, "L"), ("420 mg/l (kit A)", 420.0, "mg/l")],
)  # fmt: skip
def test_a_unit_in_the_cell_is_kept_as_written(text: str, value: float, unit: str) -> None:
    found = one(text)
    assert (found.value, found.unit) == (value, unit)


@pytest.mark.parametrize(
    "text",
    ["soft", "8. 3", "8 ,3", "8 3", "8,3 8,4", "8.3 / 8.4", "1.2.3", "=1+1", "@cmd", "+cmd", "-cmd",
     "1e999", "inf", "-inf", "1" * 400, "1" * 10_000, "x" * 10_000, "10²", "8½", "$5", "--8", "<<1",
     "420 415", "kit 2", "-5-10", "5-10-15x", "75 x 50 x 50 cm", "8:30", dt.time(8, 30),
     math.inf, math.nan, "2026-10-05", "5.10.2026"],
)  # fmt: skip
def test_what_is_no_number_is_refused_by_name(text: Cell) -> None:
    found = one(text)
    assert fate(found) == "refused" and math.isnan(found.value)
    assert len(found.said[0].reason) < 160
    if isinstance(text, str) and len(text) < 40:
        assert f"“{text}”" in found.said[0].reason


@pytest.mark.parametrize(
    "text",
    ["NA", "N/A", "NaN", "null", "none", "-", "--", ".", "?", "#N/A", "#DIV/0!", "missing", "fehlt",
     "k.A.", "x", "#NV"],
)  # fmt: skip
def test_words_for_missing_count_as_empty_and_are_listed(text: str) -> None:
    found = column(["8.3", text])
    assert math.isnan(found.numbers[1].value) and found.numbers[1].said == ()
    assert text in found.notes[0].text and "row 3" in found.notes[0].text


def test_an_empty_cell_is_nothing_to_speak_of() -> None:
    found = column(["", " ", "8.3"])
    assert found.numbers[0] == found.numbers[1] and found.notes == () == found.questions
    assert math.isnan(found.numbers[0].value) and found.numbers[0].said == ()


def test_both_marks_in_one_column_are_read_and_told() -> None:
    found = column(["8,3", "8.1", "8,0"])
    assert [number.value for number in found.numbers] == [8.3, 8.1, 8.0]
    assert found.decimal == "," and not found.questions
    assert all(words in found.notes[0].text for words in ("rows 2 and 4", "row 3", "mark"))


def test_a_column_that_cannot_tell_is_asked_with_both_readings() -> None:
    cells = ["1,234", "1,301"]
    found = column(cells, heading="Ca")
    question = found.questions[0]
    assert question.key == "decimal/Ca" and question.open and question.rows == (2, 3)
    assert [fate(number) for number in found.numbers] == ["asked", "asked"]
    assert "1,234 is 1234" in question.choices[0].consequence
    assert "1,234 is 1.234" in question.choices[1].consequence
    for answer, values in ((".", [1234.0, 1301.0]), (",", [1.234, 1.301])):
        told = column(cells, heading="Ca", answers={"decimal/Ca": answer})
        assert [number.value for number in told.numbers] == values
        assert told.questions[0].answered == answer
    wrong = column(cells, heading="Ca", answers={"decimal/Ca": "semicolon"})
    assert wrong.questions[0].open and "semicolon" in wrong.questions[0].text


@pytest.mark.parametrize(
    ("settles", "value"), [("8.5", 1234.0), ("8,5", 1.234), ("1,234.5", 1234.0), ("1.234,5", 1.234)]
)
def test_one_clear_cell_settles_the_column(settles: str, value: float) -> None:
    for cells in (["1,234", settles], [settles, "1,234"]):
        found = column(cells)
        assert found.numbers[cells.index("1,234")].value == value
        assert not found.questions and "“1,234” is read as" in found.notes[-1].text


def test_a_mark_that_is_grouping_elsewhere_is_refused_by_name() -> None:
    found = column(["1,234.5", "1,300.5", "8,3"])
    assert [fate(number) for number in found.numbers] == ["read", "read", "refused"]
    assert "“8,3”" in found.numbers[2].said[0].reason
    tie = column(["1,234.5", "8,3"])
    assert [fate(number) for number in tie.numbers] == ["asked", "asked"]
    told = column(["1,234.5", "8,3"], answers={"decimal/KH": ","})
    assert [fate(number) for number in told.numbers] == ["refused", "read"]


def test_a_gravity_and_a_comma_file_are_assumed_openly() -> None:
    gravity = column(["1,026", "1,025"], heading="SG")
    assert [number.value for number in gravity.numbers] == [1.026, 1.025]
    assert gravity.questions[0].assumed == "," and not gravity.questions[0].open
    point = column(["8.123"], separator=",")
    assert point.numbers[0].value == 8.123 and point.questions[0].assumed == "."
    other = column(["8.123"], separator=",", answers={"decimal/KH": ","})
    assert other.numbers[0].value == 8123.0


@pytest.mark.parametrize(
    ("cell", "answers"),
    [(dt.datetime(2026, 10, 5), {"5-10", "5.10", "10.5"}), (dt.date(2026, 3, 8), {"8.3", "3.8"}),
     ("5-Oct", {"5-10", "5.10"}), ("08. Mrz", {"8.3"}), ("Oct-05", {"5-10"}), ("8-mars", {"8.3"}),
     ("10-5", {"5-10"}), ("8.3-", {"-8.3", "8.3"}), ("0.02<", {"<0.02", ">0.02"}),
     ("5-5", {"5"})],
)  # fmt: skip
def test_what_may_have_been_a_number_is_asked(cell: Cell, answers: set[str]) -> None:
    found = column([cell])
    question = found.questions[0]
    assert fate(found.numbers[0]) == "asked" and math.isnan(found.numbers[0].value)
    offered = {choice.answer for choice in question.choices}
    assert answers | {"missing"} <= offered and question.key.startswith("row:")
    for answer in offered:
        told = column([cell], answers={question.key: answer})
        assert fate(told.numbers[0]) == "read" and told.questions[0].answered == answer
        assert math.isnan(told.numbers[0].value) == (answer == "missing")
    wrong = column([cell], answers={question.key: "soft"})
    assert wrong.questions[0].open and "soft" in wrong.questions[0].text


def test_a_column_of_dates_is_not_asked_cell_by_cell() -> None:
    found = column([dt.date(2026, 1, 1) + dt.timedelta(days=day) for day in range(200)])
    assert not found.questions and {fate(number) for number in found.numbers} == {"refused"}


def test_numbers_for_missing_values_are_asked_and_never_averaged_in() -> None:
    found = column(["8.3", "-999", "8.1", "9999"])
    question = found.questions[0]
    assert question.key == "missing/KH" and question.rows == (3, 5) and "missing" in question.text
    assert [fate(number) for number in found.numbers] == ["read", "asked", "read", "asked"]
    gone = column(["8.3", "-999"], answers={"missing/KH": "missing"}).numbers[1]
    assert math.isnan(gone.value) and fate(gone) == "read" and gone.said[0].chosen
    kept = column(["8.3", "-999"], answers={"missing/KH": "number"}).numbers[1]
    assert kept.value == -999.0
    assert column(["8.3", "-999"], answers={"missing/KH": "perhaps"}).questions[0].open


def test_levels_of_nines_are_levels() -> None:
    assert not column(["80", "99", "110"]).questions
    assert not column(["900", "999", "1050"]).questions
    assert not column(["-150", "-99", "-120"]).questions
    assert column(["420", "9999"]).questions and column(["-99", "8"]).questions


PLACES = {
    "en_US": ",",
    "de_DE": ";",
    "de_CH": ";",
    "fr_FR": "\t",
    "en_IN": ",",
    "pl_PL": ";",
    "sv_SE": ";",
}


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(sorted(PLACES)), st.integers(-10_000_000, 10_000_000))
def test_written_as_in_a_country_and_read_back(place: str, cents: int) -> None:
    """Against Babel, which writes numbers by the Unicode locale data."""
    # Rows of nines, such as 9999.99, are asked otherwise.
    value, real = cents / 100, {"missing/KH": "number"}
    text = format_decimal(value, format=None, locale=place, decimal_quantization=False)
    found = column(
        [text, format_decimal(12.34, locale=place)], separator=PLACES[place], answers=real
    )
    assert found.numbers[0].value == value


@settings(max_examples=50, deadline=None)
@given(st.lists(st.one_of(
    st.text(max_size=30),
    st.text("0123456789.,-+<>~?eE'()± x/", max_size=12),
    st.floats(), st.dates(), st.times(), st.datetimes(),
), max_size=12), st.text(max_size=5))  # fmt: skip
def test_any_cell_gives_a_number_or_words(cells: list[Cell], answer: str) -> None:
    found = column(cells)
    column(cells, answers={question.key: answer for question in found.questions})


CELLS = ["8,3", "8.1", "1,234", "1.234,5", "1,234.5", "<0,02", "n.d.", "HI", "-999", "~8", "soft",
         "5-10", "", "NA", "9999", "1.026", "420 mg/l", "10-5"]  # fmt: skip


@settings(max_examples=50, deadline=None)
@given(st.lists(st.sampled_from(CELLS), min_size=1, max_size=12), st.randoms())
def test_the_order_of_rows_changes_nothing(cells: list[str], random: object) -> None:
    before = dict(zip(cells, column(cells).numbers, strict=True))
    shuffled = list(cells)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    after = dict(zip(shuffled, column(shuffled).numbers, strict=True))
    assert repr(before) == repr({cell: after[cell] for cell in before})


@settings(max_examples=50, deadline=None)
@given(st.lists(st.sampled_from(CELLS), min_size=1, max_size=8), st.sampled_from(CELLS))
def test_one_more_cell_never_changes_a_number_unsaid(cells: list[str], more: str) -> None:
    first, second = column(cells), column([*cells, more])
    for before, after in zip(first.numbers, second.numbers, strict=False):
        same = before.value == after.value or math.isnan(before.value) or math.isnan(after.value)
        assert same and (repr(before) == repr(after) or after.said or before.said)
