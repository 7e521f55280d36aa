"""Workbooks: typed cells, both date systems, sheets, formulas, and what they hide."""

from __future__ import annotations

import datetime as dt
import io
from typing import Any

import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from reef_calc.errors import InputError
from reef_calc.log.foreign.reader import read_grid, read_grid_and_questions
from tests.log.foreign.workbooks_made import ods, ods_number, ods_row, ods_text, xlsx


def saved(book: Any) -> bytes:
    target = io.BytesIO()
    book.save(target)
    return target.getvalue()


def told(notes: Any, code: str) -> str:
    return " ".join(note.text for note in notes if note.code == code)


@pytest.mark.parametrize("mac", [False, True])
def test_typed_cells_in_both_date_systems(mac: bool) -> None:
    book = openpyxl.Workbook()
    if mac:
        book.epoch = CALENDAR_MAC_1904
    cells = [
        dt.date(2026, 2, 1), dt.datetime(2026, 2, 1, 12, 15, 7), dt.time(7, 59, 59), 8.3, True,
        dt.timedelta(hours=36), "0012", "=1+1 as text",
    ]  # fmt: skip
    for column, cell in enumerate(cells, start=1):
        book.active.cell(1, column, cell)
    book.active.cell(1, 8).data_type = "s"
    grid = read_grid("log.xlsx", saved(book))
    assert grid.rows == (
        (dt.date(2026, 2, 1), dt.datetime(2026, 2, 1, 12, 15, 7), dt.time(7, 59, 59), 8.3, "TRUE",
         "36:00:00", "0012", "=1+1 as text"),
    )  # fmt: skip
    assert bool(told(grid.notes, "DATE_SYSTEM")) is mac


def test_sheets_are_offered_and_chosen_and_empty_ones_passed_over() -> None:
    book = openpyxl.Workbook()
    book.create_sheet("log").append(["date", "KH"])
    book.create_sheet("old").append(["date", "Ca"])
    book["old"].sheet_state = "hidden"
    content = saved(book)
    grid, questions = read_grid_and_questions("log.csv", content)
    assert grid.sheet == "log" and grid.sheets == ("log", "old")
    assert "Not read: old" in told(grid.notes, "SHEETS") and told(grid.notes, "KIND")
    assert questions[0].assumed == "log" and "Hidden" in questions[0].choices[1].consequence
    old = read_grid("log.xlsx", content, answers={"sheet/file": "old"})
    assert old.rows == (("date", "Ca"),) and "hidden" in told(old.notes, "HIDDEN")
    assert read_grid("log.xlsx", content, sheet="old").rows == old.rows
    with pytest.raises(InputError, match="log, old"):
        read_grid("log.xlsx", content, sheet="new")


def test_formulas_errors_and_hidden_rows_are_told() -> None:
    rows = (
        '<row r="1"><c r="A1"><v>1</v></c><c r="B1"><f>A1*2</f><v>2</v></c></row>'
        '<row r="2" hidden="1"><c r="A2" t="e"><f>1/0</f><v>#DIV/0!</v></c>'
        '<c r="B2"><f>A1</f><v></v></c></row>'
    )
    grid = read_grid("log.xlsx", xlsx(rows))
    assert grid.rows == ((1.0, 2.0), ("#DIV/0!", ""))
    assert "B2" in told(grid.notes, "FORMULAS") and "2 cells" in told(grid.notes, "FORMULAS")
    assert told(grid.notes, "HIDDEN") == "Hidden rows are read like the others: 2."


def test_a_table_that_starts_further_down_keeps_its_place() -> None:
    grid = read_grid("log.xlsx", xlsx('<row r="3"><c r="C3"><v>8.3</v></c></row>'))
    assert grid.rows == (("", "", ""), ("", "", ""), ("", "", 8.3))


def test_ods_with_repeated_empty_rows_merged_cells_and_errors() -> None:
    date = '<table:table-cell office:value-type="date" office:date-value="2026-02-01"/>'
    span = 'table:number-columns-spanned="2" table:number-rows-spanned="1"'
    table = (
        ods_row(ods_text("alkalinity", span), "<table:covered-table-cell/>")
        + ods_row(date, ods_number(8.3))
        + ods_row('<table:table-cell table:number-columns-repeated="1024"/>', times=2)
        + ods_row(
            ods_text("#DIV/0!", 'table:formula="of:=1/0"'), '<table:table-cell table:formula="x"/>'
        )
        + ods_row('<table:table-cell table:number-columns-repeated="1024"/>', times=1_048_000)
    )
    grid = read_grid("log.ods", ods(table))
    assert grid.rows[0][0] == "alkalinity" and grid.rows[1] == (dt.date(2026, 2, 1), 8.3)
    assert grid.merged == ((0, 0, 0, 1),)
    assert grid.rows[4][0] == "#DIV/0!"
    assert "B5" in told(grid.notes, "FORMULAS")


def test_merged_cells_of_xlsx() -> None:
    book = openpyxl.Workbook()
    book.active.append(["date", "alkalinity", None])
    book.active.append([None, "kit A", "kit B"])
    book.active.merge_cells("B1:C1")
    grid = read_grid("log.xlsx", saved(book))
    assert grid.merged == ((0, 1, 0, 2),) and grid.rows[1] == ("", "kit A", "kit B")
