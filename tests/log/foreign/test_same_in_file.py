"""Copies of rows, and rows that only look like copies."""

from __future__ import annotations

from tests.log.foreign.bring import bring


def test_rows_under_different_dates_are_no_copies() -> None:
    text = "date;KH dKH\n1.2.2026;8,3\n;8,1\n14.2.2026;8,4\n;8,1\n"
    found = bring(text)
    assert [(entry.cells["time"], entry.cells["value"]) for entry in found.entries] == [
        ("2026-02-01", "8.3"), ("2026-02-01", "8.1"), ("2026-02-14", "8.4"), ("2026-02-14", "8.1"),
    ]  # fmt: skip
    assert not [mark for mark in found.marks if mark.said.code == "SAME_ROW"]


def test_the_same_row_below_one_date_is_a_copy() -> None:
    found = bring("date;KH dKH\n1.2.2026;8,3\n;8,1\n;8,1\n14.2.2026;8,4\n")
    copies = [mark for mark in found.marks if mark.said.code == "SAME_ROW"]
    assert [mark.row for mark in copies] == [4]
    assert "row 3" in copies[0].said.reason


def test_a_remark_makes_another_row() -> None:
    found = bring("date;KH dKH;note\n1.2.2026;8,3;\n1.2.2026;8,3;again\n14.2.2026;8,4;\n")
    assert [entry.cells.get("replicate") for entry in found.entries] == ["1", "2", None]


def test_equal_rows_may_be_tests_of_their_own() -> None:
    text = "date;KH dKH\n1.2.2026;8,3\n1.2.2026;8,3\n14.2.2026;8,4\n"
    found = bring(text, {"same row twice/file": "count each"})
    assert [entry.cells.get("replicate") for entry in found.entries] == ["1", "2", None]


def test_the_same_water_change_twice_is_counted_once() -> None:
    text = "date;water change L\n1.2.2026;40\n1.2.2026;40\n8.2.2026;40\n"
    found = bring(text)
    assert len(found.entries) == 2
    assert [mark.row for mark in found.marks if mark.said.code == "SAME_ROW"] == [3]
