"""Where the table lies in files as keepers keep them; the expected rows are counted by eye."""

from __future__ import annotations

import csv
import datetime as dt
import io
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.log.foreign.grid import Grid
from reef_calc.log.foreign.layout import Layout, find_layout, grid_turned
from reef_calc.messages import codes


def table(text: str, separator: str = ",", broken: tuple[int, ...] = ()) -> Grid:
    """A text as the standard library's reader parts it."""
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    return Grid("log.csv", tuple(map(tuple, rows)), separator=separator, broken=broken)


def found(text: str, separator: str = ",", **answers: str) -> Layout:
    """The layout of a text."""
    return find_layout(table(text, separator), answers)


def rows_of(layout: Layout) -> list[int]:
    """Every row that the layout knows of."""
    not_read = [row for row, _ in layout.not_read]
    return sorted([*layout.heading_rows, *layout.data_rows, *not_read, *layout.blank])


HEADERS = [
    ("Datum;KH;Ca\n01.02.2026;8,3;420\n13.02.2026;8,1;415,5\n", (0,), (1, 2)),
    ("date;KH\n46054;8.4\n46055.5;8.2\n", (0,), (1, 2)),
    ("Kuupäev;Leelisus\n01.02.2026;8,3\n02.02.2026;8,3\n", (0,), (1, 2)),
    ("date;KH\n28.02.2026;8.4\n31.04.2026;7.9\n", (0,), (1, 2)),
    ("date;KH\nlast week;8.4\nsunday;7.9\n", (0,), (1, 2)),
    ("tank;volume\n1;380 L\n4;\n7;75 x 50 x 50 cm\n", (0,), (1, 2, 3)),
    ("Element;Value;Unit\nTotal alkalinity;8.3;dKH\nLithium;180;ug/L\n", (0,), (1, 2)),
    ("Product;Amount;Date\nPart A;20 mL;2026-02-01\nPart B;5;2026-02-02\n", (0,), (1, 2)),
    ("date;NO3\n2026-02-01;>50\n2026-02-08;5-10\n2026-02-22;HI\n", (0,), (1, 2, 3)),
    # Headings of numbers: two tanks, or the counted columns of a program.
    ("date;1;2\n2026-02-01;8.3;8.5\n2026-02-02;8.3;8.5\n", (0,), (1, 2)),
    ("0;1;2\n2026-02-01;8.3;420\n2026-02-02;8.3;420\n", (0,), (1, 2)),
    ("2026-02-01;8.3;420\n2026-02-02;8.3;420\n", (), (0, 1)),
    ("46054;8.3\n46055;8.1\n", (), (0, 1)),
    ("yesterday;8.3;420\n2026-02-02;8.3;420\n2026-02-03;8.3;420\n", (), (0, 1, 2)),
    ("KH\n8.3\n8.1\n", (0,), (1, 2)),
]


@pytest.mark.parametrize(("text", "heading_rows", "data_rows"), HEADERS)
@pytest.mark.parametrize("separator", [";", "\t", "|"])
def test_headings_are_found(
    text: str, heading_rows: tuple[int, ...], data_rows: tuple[int, ...], separator: str
) -> None:
    layout = found(text.replace(";", separator), separator)
    assert (layout.heading_rows, layout.data_rows) == (heading_rows, data_rows)
    assert layout.refusal == "" and layout.marks == ()
    assert ("NO_HEADINGS" in codes(layout.notes)) == (not heading_rows)


PREAMBLES = [
    "Tank 3, 420 L\nexported 01.03.2026\n\n",
    "Tank;Nano 3;\nVolume;420 L;\nexported;01.03.2026;\n",
    "Becken;420 Liter\n\n\n",
    "Log of the marine room\n-----\n420 l net\n",
]


@pytest.mark.parametrize("preamble", PREAMBLES)
@pytest.mark.parametrize("heading", ["date;KH;Ca", "Kuupäev;Leelisus;Kaltsium", "KH;Datum;Ca"])
def test_text_above_the_table(preamble: str, heading: str) -> None:
    rows = [["2026-02-01", "8.3", "420"], ["2026-02-08", "8.1", "415"]]
    if heading.startswith("KH"):
        rows = [[row[1], row[0], row[2]] for row in rows]
    layout = found(preamble + heading + "\n" + "\n".join(map(";".join, rows)) + "\n", ";")
    above = preamble.count("\n")
    assert layout.headings == tuple(heading.split(";"))
    assert layout.heading_rows == (above,) and layout.data_rows == (above + 1, above + 2)
    offered = [note.text for note in layout.notes if note.code == "VOLUME_OFFERED"]
    assert len(offered) == 1 and "says 420" in offered[0] and "not taken" in offered[0]
    assert layout.questions[0].assumed == str(above + 1)


def test_merged_headings_of_a_workbook() -> None:
    rows = (
        ("date", "alkalinity", "", "calcium", ""),
        ("", "kit A", "kit B", "kit A", "kit B"),
        (dt.datetime(2026, 2, 1), 8.1, 8.5, 420.0, 430.0),
        (dt.datetime(2026, 2, 8), 7.9, 8.2, "", 425.0),
    )
    merged = ((0, 1, 0, 2), (0, 3, 0, 4), (0, 0, 1, 0))
    layout = find_layout(Grid("a.xlsx", rows, merged=merged), {})
    assert layout.headings == (
        "date", "alkalinity kit A", "alkalinity kit B", "calcium kit A", "calcium kit B",
    )  # fmt: skip
    assert layout.groups[1:] == ("alkalinity", "alkalinity", "calcium", "calcium")
    assert layout.parts[1:] == ("kit A", "kit B", "kit A", "kit B")
    assert layout.data_rows == (2, 3)


GROUPED = [
    ";alkalinity;;calcium;\ndate;A;B;A;B\n",
    ";alkalinity;alkalinity;calcium;calcium\ndate;A;B;A;B\n",
    "date;alkalinity;;calcium;\n;A;B;A;B\n",
]


@pytest.mark.parametrize("head", GROUPED)
@pytest.mark.parametrize("units", ["", ";dKH;dKH;mg/L;mg/L\n", "unit;[dKH];[meq/l];ppm;µg/L Ca\n"])
def test_two_rows_of_headings_and_one_of_units(head: str, units: str) -> None:
    layout = found(head + units + "01.02.2026;8,1;8,5;420;430\n", ";")
    assert layout.headings == ("date", "alkalinity A", "alkalinity B", "calcium A", "calcium B")
    assert len(layout.data_rows) == 1
    assert layout.unit_texts[1:] == (tuple(units.strip().split(";")[1:]) if units else ("",) * 4)


def test_three_rows_of_headings() -> None:
    head = ";Tank 1;;Tank 2;\n;KH;Ca;KH;Ca\ndate;A;A;A;A\n"
    layout = found(head + "2026-02-01;8;420;8;420\n", ";")
    assert layout.headings[1:] == ("Tank 1 KH A", "Tank 1 Ca A", "Tank 2 KH A", "Tank 2 Ca A")


def test_a_title_is_no_group() -> None:
    layout = found("Tank 3;;;\ndate;KH;Ca;note\n2026-02-01;8.1;420;x\n", ";")
    assert layout.headings == ("date", "KH", "Ca", "note") and layout.not_read[0][0] == 0
    rows = (("Tank 3", "", ""), ("date", "KH", "Ca"), (dt.date(2026, 2, 1), 8.0, 420.0))
    layout = find_layout(Grid("a.xlsx", rows, merged=((0, 0, 0, 2),)), {})
    assert layout.headings == ("date", "KH", "Ca")


@pytest.mark.parametrize(
    "word",
    [
        "Average",
        "Mittelwert:",
        "Ø",
        "moyenne",
        "Media",
        "gemiddelde",
        "średnia",
        "Mean (n=2)",
        "MEDEL",
    ],
)
@pytest.mark.parametrize(
    "end", ["", "\n* changed salt on 5 Feb;3 kg\n", "\nsigned by the keeper;\n"]
)
def test_averages_and_remarks_are_not_read(word: str, end: str) -> None:
    layout = found(f"date;KH\n2026-02-01;8.3\n2026-02-08;8.1\n\n{word};8.2{end}", ";")
    assert layout.data_rows == (1, 2) and layout.blank == (3,)
    assert layout.not_read[0] == (4, "an average, not a reading")
    assert len(layout.not_read) == 1 + bool(end)


def test_totals_only_where_they_are_totals() -> None:
    assert found("date;KH\n2026-02-01;8.3\nTotal;8.3\n", ";").data_rows == (1,)
    long = (
        "date;element;value\n2026-02-01;Total alkalinity;8.3\n;Total alkalinity;8.3\n;calcium;420\n"
    )
    assert found(long, ";").data_rows == (1, 2, 3)
    assert found("date;note;KH\n2026-02-01;mean;8.3\n", ";").data_rows == (1,)


def test_rows_with_a_bad_date_or_none_stay_data() -> None:
    text = "date;KH\n2026-02-01;8.3\nno idea;8.2\n;8.1\n2026-02-08;8.1\nsomeday;8.0\n?;n.d.\n"
    assert found(text, ";").data_rows == (1, 2, 3, 4, 5, 6)


def test_signs_and_symbols_that_are_no_footnotes() -> None:
    text = "no;date;KH\n#1;2026-02-01;8.3\n*;2026-02-02;8.2\n* not sure of it;2026-02-03;8.1\n"
    assert found(text, ";").data_rows == (1, 2, 3)
    report = found("Element;Value;Unit\nN;0.5;mg/L\nP;0.1;mg/L\nSm;0.1;ug/L\n", ";")
    assert report.data_rows == (1, 2, 3)


def test_headings_again_and_ruled_lines() -> None:
    text = "|date|KH|\n|:---|---:|\n|2026-02-01|8.3|\n\n|date|KH|\n|2026-02-08|8.1|\n"
    layout = found(text, "|")
    assert layout.columns == (1, 2) and layout.data_rows == (2, 5) and layout.blank == (3,)
    assert layout.not_read == ((1, "a ruled line"), (4, "the headings again"))


SECOND = "date,KH\n2026-02-01,8.3\n\ndate,NO3,PO4\n2026-02-08,5,0.1\n2026-02-09,5,0.1\n"


def test_another_table_below() -> None:
    layout = found(SECOND)
    assert layout.headings[:2] == ("date", "KH") and layout.data_rows == (1, 4, 5)
    assert [(mark.row, mark.said.fate) for mark in layout.marks] == [(5, "refused"), (6, "refused")]
    assert "row 4" in layout.marks[0].said.reason
    (question,) = layout.questions
    assert [choice.answer for choice in question.choices] == ["1", "4", "none"]
    assert [choice.consequence[:1] for choice in question.choices[:2]] == ["1", "2"]
    other = found(SECOND, **{"header row/file": "4"})
    assert other.headings == ("date", "NO3", "PO4") and other.questions[0].answered == "4"
    assert [mark.row for mark in other.marks] == [2] and other.data_rows == (1, 4, 5)


@pytest.mark.parametrize("answer", ["99", "0", "-1", "one", "3", "²", "1e9", "9" * 5000])
def test_an_answer_that_does_not_fit_is_asked_again(answer: str) -> None:
    layout = found(SECOND, **{"header row/file": answer})
    assert layout.headings[:2] == ("date", "KH") and layout.questions[0].answered == ""
    assert "is no row of this file" in layout.questions[0].text


def test_no_headings_can_be_said() -> None:
    layout = found("a;b\n2026-02-01;8.3\n", ";", **{"header row/file": "none"})
    assert layout.heading_rows == () and layout.data_rows == (1,)


HINT = "Export it with semicolons, or with the numbers in quotes."
CUT = [
    ("date,KH\n2026-02-01,8,3\n2026-02-02,8,1\n", "Rows 2 and 3 have 3 fields, the header has 2"),
    ("KH,Datum\n8,3,01.02.2026\n8,1,02.02.2026\n", "Rows 2 and 3 have 3 fields, the header has 2"),
    ("date,KH,Ca\n2026-02-01,8,3,420,5\n2026-02-02,8,1,415\n", "have 4 to 5 fields"),
    ("date,KH,note\n2026-02-01,8,3,\n2026-02-02,8,1,x\n", "have 4 fields, the header has 3"),
    # Empty fields at the end hide that every number was cut in two.
    ("date,KH,Ca\n2026-02-01,8,3,\n2026-02-02,8,1,\n", "have 4 fields, the header has 3"),
    ("date,KH,note\n2026-02-01,8,3\n2026-02-02,8,1\n", "Column C (note) holds nothing but digits"),
    ("date,Mg\n2026-02-01,1,300\n2026-02-02,1,310\n", "a comma between thousands"),
    ("date,KH\n2026-02-01,8,3 dKH\n2026-02-02,8\n", "Row 2 has 3 fields"),
]


@pytest.mark.parametrize(("text", "words"), CUT)
def test_a_decimal_comma_between_commas_refuses_the_file(text: str, words: str) -> None:
    layout = found(text)
    assert words in layout.refusal and layout.refusal.endswith(HINT)
    assert "comma" in layout.refusal and layout.data_rows == (1, 2)


def test_a_few_rows_with_too_many_fields_are_refused_alone() -> None:
    good = "".join(f"2026-02-{day:02d},8.3,\n" for day in range(1, 21))
    layout = found("date,KH,note\n" + good + "2026-03-01,8.1,moved, tired\n2026-03-02,8,3,tired\n")
    assert layout.refusal == "" and [mark.row for mark in layout.marks] == [22, 23]
    assert "quotes" in layout.marks[0].said.repair and layout.marks[1].said.repair == HINT
    assert len(layout.data_rows) == 22


def test_fields_that_are_missing_or_empty_at_the_end() -> None:
    layout = found("date;KH;Ca\n01.02.2026;8,3\n01.03.2026;8,1;400;;\n", ";")
    assert layout.marks == () and codes(layout.notes) == ("FEWER_FIELDS",)
    assert layout.notes[0].text.startswith("Row 2 has fewer fields than the 3 of the header")
    assert layout.columns == (0, 1, 2)
    assert found("date,KH\n2026-02-01,8.3,\n2026-02-02,8.1,\n").refusal == ""


def test_columns_without_heading_and_headings_twice() -> None:
    layout = found(",date,KH,KH,,x\n0,2026-02-01,8.3,8.4,,\n1,2026-02-08,8.1,8.2,,\n")
    assert layout.columns == (0, 1, 2, 3, 5)
    beside = found("date,KH\n1,2026-02-01,8.3\n2,2026-02-08,8.1\n")
    assert beside.headings == ("", "date", "KH") and codes(beside.notes) == ("ROW_NAMES",)


def test_a_quote_left_open() -> None:
    layout = find_layout(table("date,KH\n2026-02-01,8.3\nx\n2026-02-08,8.1\n", broken=(2,)), {})
    assert layout.data_rows == (1, 2, 3)
    assert [(mark.row, mark.said.code) for mark in layout.marks] == [(3, "BROKEN_QUOTE")]


@pytest.mark.parametrize("separator", [",", ";"])
def test_dates_from_left_to_right(separator: str) -> None:
    text = "parameter,unit,2026-02-01,2026-02-08\nKH,dKH,8.3,8.1\nCa,mg/L,420,\n"
    grid = table(text.replace(",", separator), separator)
    layout = find_layout(grid, {})
    assert layout.turned and layout.headings == ("parameter", "KH", "Ca")
    assert layout.unit_texts == ("unit", "dKH", "mg/L") and layout.data_rows == (2, 3)
    assert rows_of(layout) == list(range(len(grid_turned(grid).rows)))
    assert layout.questions[0].assumed == "yes"
    as_it_is = find_layout(grid, {"turn/file": "no"})
    assert not as_it_is.turned and rows_of(as_it_is) == [0, 1, 2]
    assert find_layout(grid, {"turn/file": "perhaps"}).turned


def test_text_above_dates_from_left_to_right() -> None:
    layout = found("History,,\n,,\n,2026-02-01,2026-02-08\nKH,8.3,8.1\nCa,420,\n")
    assert layout.turned and layout.columns == (2, 3, 4)
    assert any(note.code == "TEXT_ABOVE" and "History" in note.text for note in layout.notes)


def test_a_report_of_one_day_is_not_turned() -> None:
    layout = found("Sampled;01.02.2026\n\nElement;Wert\nCalcium;420\nKalium;400\n", ";")
    assert not layout.turned and layout.headings == ("Element", "Wert")
    assert not found("date;end;mL\n2026-02-01;2026-02-03;20\n", ";").turned


@pytest.mark.parametrize("text", ["", "\n\n", ";;\n;;\n"])
def test_an_empty_file(text: str) -> None:
    assert found(text, ";").refusal.startswith("The file is empty")


def test_only_headings_or_only_words() -> None:
    text = "date,KH\n"
    assert found(text).refusal.startswith("There is a header and no row below it.")
    assert found("hello world\nno table here\n").refusal.startswith(
        "There is no table in this file"
    )


def test_a_million_cells_take_a_moment() -> None:
    rows = [
        (f"2026-02-{1 + row % 28:02d}", f"{row % 97}", "420", "", "x") for row in range(100_000)
    ]
    grid = Grid("a.csv", (("date", "KH", "Ca", "Mg", "note"), *rows), separator=",")
    start = time.perf_counter()
    assert len(find_layout(grid, {}).data_rows) == 100_000
    # Usually a third of a second; room for a busy machine.
    assert time.perf_counter() - start < 3.0


CELLS = st.one_of(
    st.sampled_from(
        ["", "", " ", "date", "KH", "Ca", "dKH", "mg/L", "8.3", "8,3", "3", "420", "2026-02-01",
         "13/02/2026", "Average", "Total", "* salt", "---", "-", "n.d.", "kit A", "420 L", "<0.02"]
    ),
    st.floats(-1e6, 1e6),
    st.dates().map(lambda day: day),
    st.text(max_size=6),
)  # fmt: skip


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.lists(CELLS, max_size=5).map(tuple), max_size=12),
    st.sampled_from([",", ";", ""]),
    st.sampled_from(["", "1", "3", "none", "x"]),
    st.sets(st.integers(0, 11), max_size=1),
)
def test_every_row_is_somewhere_once(
    rows: list[tuple[str | float | dt.date, ...]], separator: str, answer: str, broken: set[int]
) -> None:
    inside = tuple(row for row in broken if row < len(rows))
    grid = Grid("a.csv", tuple(rows), separator=separator, broken=inside)
    layout = find_layout(grid, {"header row/file": answer} if answer else {})
    count = len(grid_turned(grid).rows) if layout.turned else len(rows)
    assert rows_of(layout) == list(range(count))
    assert len(layout.headings) > max(layout.columns, default=-1)
    assert all(
        len(part) == len(layout.headings)
        for part in (layout.groups, layout.parts, layout.unit_texts)
    )
    assert {mark.row - 1 for mark in layout.marks} <= set(layout.data_rows)
    assert (
        layout.refusal
        or set(layout.data_rows) - {mark.row - 1 for mark in layout.marks}
        or (layout.marks)
    )
