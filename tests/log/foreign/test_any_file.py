"""Whatever the file: only our own refusal, right sums, rows that the tank takes, the same each time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reef_calc.errors import InputError
from reef_calc.log.foreign.checked import checked
from reef_calc.log.foreign.plain_numbers import number_text
from reef_calc.log.foreign.understood import Understood
from tests.log.foreign.any_files import ANSWERS, NUMBERS, Table, as_text, tables
from tests.log.foreign.bring import MESSY, NOW, asked, berlin, bring, notes, read, said

quick = settings(
    max_examples=40, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
)
ENCODINGS = ["utf-8", "utf-8-sig", "utf-16", "cp1252"]
FILES = sorted(MESSY.glob("M*.csv"))


def brought(content: str | bytes, answers: dict[str, str] | None = None) -> Understood | None:
    """What is understood, twice the same; None where the file is refused in words."""
    try:
        found = bring(content, answers)
    except InputError:
        return None
    assert repr(found) == repr(bring(content, answers))
    kept, _ = checked(found.entries, berlin(), NOW)
    assert kept == found.entries
    waiting = {mark.said.question for mark in found.marks if mark.said.fate == "asked"}
    assert waiting <= {question.key for question in found.questions} | {""}
    return found


@quick
@given(tables(), st.sampled_from(ENCODINGS), st.data())
def test_any_table_with_any_answers(table: Table, encoding: str, data: st.DataObject) -> None:
    content = as_text(*table).encode(encoding, "replace")
    answers: dict[str, str] = {}
    for _ in range(3):
        found = brought(content, answers)
        if found is None or not found.questions:
            return
        question = data.draw(st.sampled_from(found.questions))
        offered = [choice.answer for choice in question.choices]
        answers[question.key] = data.draw(st.sampled_from(offered + ANSWERS[:4] or ANSWERS))


@quick
@given(st.binary(max_size=300) | st.text(max_size=200).map(lambda text: text.encode("utf-8")))
def test_any_bytes(content: bytes) -> None:
    brought(content)


@quick
@given(
    st.sampled_from(FILES).map(lambda path: path.read_bytes()),
    st.lists(
        st.tuples(
            st.integers(0, 2000), st.integers(0, 20),
            st.sampled_from([b"", b"\x00", b'"', b"\r", b"\n\n", b";;;", b",", b"\xff", b"1e400", b"="]),
        ),
        min_size=1, max_size=5,
    ),
)  # fmt: skip
def test_damaged_files(content: bytes, damages: list[tuple[int, int, bytes]]) -> None:
    for at, length, instead in damages:
        start = at % max(1, len(content))
        content = content[:start] + instead + content[start + length :]
    brought(content)


def readings(found: Understood | None) -> list[tuple[str, ...]]:
    assert found is not None
    left_out = ("note", "replicate")
    return sorted(
        tuple(f"{k}={v}" for k, v in sorted(entry.cells.items()) if k not in left_out)
        for entry in found.entries
        if entry.table == "readings.csv"
    )


@st.composite
def plain_tables(draw: st.DrawFn) -> tuple[list[str], list[list[str]]]:
    """A log of two elements with one row a day, cells as messy as they come."""
    form = draw(st.sampled_from(["%Y-%m-%d", "%d.%m.%Y"]))
    count = draw(st.integers(2, 7))
    first = dt.date(2026, 2, 1)
    cells = st.sampled_from(NUMBERS) | st.floats(6, 11).map(lambda x: f"{x:.1f}")
    columns = [draw(st.lists(cells, min_size=count, max_size=count)) for _ in range(2)]
    days = [(first + dt.timedelta(days=5 * at)).strftime(form) for at in range(count)]
    return ["date", "KH dKH", "Ca mg/L"], [list(row) for row in zip(days, *columns, strict=True)]


def as_file(headings: Sequence[str], rows: Sequence[list[str]]) -> str:
    return as_text(list(headings), list(rows), [], [], ";")


@quick
@given(plain_tables(), st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_no_reading(table: tuple[list[str], list[list[str]]], random) -> None:  # type: ignore[no-untyped-def]  # fmt: skip
    headings, rows = table
    other = rows.copy()
    random.shuffle(other)
    first, second = brought(as_file(headings, rows)), brought(as_file(headings, other))
    assert (first is None) == (second is None)
    if first is not None:
        assert readings(first) == readings(second)


@quick
@given(plain_tables())
def test_a_column_of_notes_changes_no_reading(table: tuple[list[str], list[list[str]]]) -> None:
    headings, rows = table
    more = [[*row, f"fed number {at}"] for at, row in enumerate(rows)]
    first, second = brought(as_file(headings, rows)), brought(as_file([*headings, "remarks"], more))
    assert (first is None) == (second is None)
    if first is not None:
        assert readings(first) == readings(second)


def test_a_column_without_an_element_refuses_its_own_cells_only() -> None:
    text = "date;KH dKH;Wert;value\n2026-02-01;8.3;420;5\n2026-02-13;8.1;;\n"
    found = bring(text)
    assert read(found) == [("2026-02-01", "alkalinity", 8.3), ("2026-02-13", "alkalinity", 8.1)]
    assert {(mark.row, mark.column) for mark in found.marks} == {(2, 2), (2, 3)}
    assert found.fates[3] == "read"


def test_a_date_in_no_order_among_dates_that_wait() -> None:
    rows = "02/14/2026;8.2\n13/02/2026;8.2\n0/14/2026;8.1\n02/03/2026;8.0\n"
    found = bring("date;KH dKH\n" + rows)
    assert not found.entries
    assert found.refusal or "no date in any order" in said(found, 4)


def test_marks_that_contradict_each_other_are_asked_with_what_follows() -> None:
    found = bring("date;KH dKH\n2026-02-01;1,234.5\n2026-02-03;8,3\n")
    question = asked(found, 2)
    assert "both ways" not in question.text and "thousands in others" in question.text
    assert [choice.consequence for choice in question.choices] == [
        "1,234.5 is 1234.5; 8,3 does not fit and is not read",
        "1,234.5 does not fit and is not read; 8,3 is 8.3",
    ]
    assert "read as written" not in notes(found)
    for choice in question.choices:
        again = bring(
            "date;KH dKH\n2026-02-01;1,234.5\n2026-02-03;8,3\n", {question.key: choice.answer}
        )
        assert len(again.entries) == 1


@pytest.mark.parametrize("value", [1.23456789012345e-05, 3.0e-07, 1e-9 * 1.5])
def test_no_digit_of_a_small_number_is_lost(value: float) -> None:
    assert float(number_text(value)) == value
