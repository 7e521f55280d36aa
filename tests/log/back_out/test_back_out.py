"""What goes out comes back cell for cell, and other programs read numbers as numbers."""

from __future__ import annotations

import csv
import datetime as dt
import io
import tempfile
import zipfile
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook
from python_calamine import CalamineWorkbook

from reef_calc.errors import InputError
from reef_calc.log.back_out.__main__ import main
from reef_calc.log.back_out.csv_files import export_csv, read_csv_back
from reef_calc.log.back_out.safe_texts import looks_like_formula, taken_back, written_out
from reef_calc.log.back_out.typed_cells import text_back, typed_number, typed_text, typed_time
from reef_calc.log.back_out.workbook import LONGEST_TEXT, export_workbook, other_files, read_back
from reef_calc.log.tables import COLUMNS
from reef_calc.log.tank import Tank, open_tank
from tests.folders import make_folder

DEMO = Path(__file__).parents[3] / "data_demo"
LOCALES = [(".", ","), (",", ";"), (".", "\t"), (",", "\t")]
TANKS = ["classroom_reef", "nursery"]
HEADER = "time,water,element,value,unit,u,limit,upper,kit,lot,note\n"


def tank_with(place: Path, readings: bytes) -> Tank:
    return open_tank(make_folder(place / "tank", readings_csv=readings))


@pytest.mark.parametrize("name", TANKS)
@pytest.mark.parametrize(("decimal", "separator"), LOCALES)
@pytest.mark.parametrize("table", COLUMNS)
def test_the_demo_tanks_come_back_in_every_locale(
    name: str, decimal: str, separator: str, table: str
) -> None:
    tank = open_tank(DEMO / name)
    content = export_csv(tank, table, decimal=decimal, separator=separator)
    assert read_csv_back(content, table, decimal=decimal, separator=separator) == tank.raw[table]


@pytest.mark.parametrize("name", TANKS)
def test_the_demo_tanks_come_back_from_a_workbook(name: str) -> None:
    tank = open_tank(DEMO / name)
    back = read_back(export_workbook(tank))
    assert back.tables == tank.raw
    assert back.files == other_files(tank.folder)
    assert {"tank.toml", "kits.toml"} <= set(back.files)


ODD = st.one_of(
    st.sampled_from(
        ["", "8.30", "8,30", "-1.50", "+2", "007", "-0.0", "1e-5", "0.1234567890123456", "=1+1", "'=1",
         "''", "@x", " =1", "\t=1", "2026-02-13", "2026-02-13T19:30", "2026-02-13 19:30:05",
         "2026-02-30", "1900-02-28", "1900-02-29T10:00", "2026-02-13T19:30+01:00", "9999-12-31",
         "_x0041_", "_x0041", "x005F_", "_x005F_x0041_", "TRUE", "#N/A", "a\r\nb", "\r", "\x00\x07",
         "\ufeff", "\uffff", "\udcff", "a;b\tc,d", '"', "1-2", "12345678901234567890", "𝟠"]
    ),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=6),
    st.decimals(-1000, 100000, places=3, allow_nan=False).map(str),
)  # fmt: skip


def as_csv(records: list[list[str]]) -> bytes:
    lines = [",".join('"' + cell.replace('"', '""') + '"' for cell in row) for row in records]
    return (HEADER + "".join(line + "\n" for line in lines)).encode("utf-8", "surrogateescape")


@given(st.lists(st.lists(ODD, max_size=13), max_size=5))
@example([[], [""], ["", ""], []])
@example([["_x0041\x07", "x" * (LONGEST_TEXT + 1), "\x07" * LONGEST_TEXT + "_x0041"]])
@settings(max_examples=25, deadline=None, derandomize=True)
def test_any_cells_come_back(records: list[list[str]]) -> None:
    with tempfile.TemporaryDirectory() as place:
        tank = tank_with(Path(place), as_csv(records))
        raw = tank.raw["readings.csv"]
        assert len(raw) == len(records) + 1
        assert read_back(export_workbook(tank)).tables == tank.raw
        for decimal, separator in LOCALES:
            content = export_csv(tank, "readings", decimal=decimal, separator=separator)
            assert read_csv_back(content, "readings", decimal=decimal, separator=separator) == raw


@given(ODD, st.booleans(), st.sampled_from([".", ","]))
@settings(max_examples=200, deadline=None, derandomize=True)
def test_no_cell_that_goes_out_is_live(text: str, number: bool, decimal: str) -> None:
    out = written_out(text, decimal, number)
    assert taken_back(out, decimal, number) == text
    if looks_like_formula(out):
        # Only a number may begin with a sign, and a number is what a spreadsheet makes of it.
        assert number
        assert float(out.replace(",", ".")) == float(text)
    for typed in (typed_number(text), typed_time(text), typed_text(text)):
        assert text_back(typed.value, typed.number_format) == text
        assert not isinstance(typed.value, str) or typed.shown == looks_like_formula(text)


def test_another_reader_sees_numbers_dates_and_texts() -> None:
    """Read by an independent library; what the cells hold is what the file of the demo tank says."""
    tank = open_tank(DEMO / "classroom_reef")
    book = CalamineWorkbook.from_filelike(io.BytesIO(export_workbook(tank)))
    rows = book.get_sheet_by_name("readings").to_python()
    source = (DEMO / "classroom_reef" / "readings.csv").read_text(encoding="utf-8")
    with_texts = list(csv.reader(io.StringIO(source)))
    assert rows[0] == with_texts[0]
    assert len(rows) == len(with_texts)
    for cells, texts in zip(rows[1:], with_texts[1:], strict=True):
        # The hour that the clocks show twice has its offset, and such a time stays a text.
        known = dt.datetime.fromisoformat(texts[0])
        assert cells[0] == (known if known.tzinfo is None else texts[0])
        assert isinstance(cells[3], float)
        assert cells[3] == float(texts[3])
        assert cells[8:11] == texts[8:11]
    changes = book.get_sheet_by_name("water_changes").to_python()
    assert {type(row[1]) for row in changes[1:]} == {float}


def test_a_formula_is_a_text_in_the_workbook(tmp_path: Path) -> None:
    cells = (
        '2026-02-01,tank,alkalinity,8.30,dKH,,,,=cmd|\' /C calc\'!A0,@SUM(1),"=HYPERLINK(""x"")"\n'
    )
    content = export_workbook(tank_with(tmp_path, (HEADER + cells).encode()))
    row = next(load_workbook(io.BytesIO(content))["readings"].iter_rows(min_row=2))
    assert [cell.data_type for cell in row if cell.value is not None] == list("dssns" + "sss")
    assert [cell.quotePrefix for cell in row[8:11]] == [True, True, True]
    assert row[3].number_format == "0.00"
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        sheets = [book.read(name) for name in book.namelist() if "worksheets" in name]
    assert not any(b"<f" in sheet and b"<f>" in sheet for sheet in sheets)


def test_csv_of_a_comma_country(tmp_path: Path) -> None:
    cells = '2026-02-01,tank,alkalinity,8.30,dKH,-0.5,,,drops,1.5,"=1+1; 8.3"\n'
    cells += '2026-02-02,tank,alkalinity,"8,3",dKH,,,,,,\n'
    tank = tank_with(tmp_path, (HEADER + cells).encode())
    text = export_csv(tank, "readings", decimal=",", separator=";").decode("utf-8-sig")
    assert text.split("\r\n")[1:3] == [
        '2026-02-01;tank;alkalinity;8,30;dKH;-0,5;;;drops;1.5;"\'=1+1; 8.3"',
        "2026-02-02;tank;alkalinity;'8,3;dKH;;;;;;",
    ]


def test_plans_imports_and_bytes_that_are_no_text_go_out(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    files = {
        "plans/2026-03-01.toml": b"# a plan\r\nformat = 1\r\n",
        "imports/club.toml": b"",
        "imports/club_rows.csv": b"time\n=1+1\n\n",
        "studies/two.toml": b"\xef\xbb\xbfname = '\xff\xfe'",
    }
    for name, content in files.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(content)
    (folder / "imports" / ".club.toml.new").write_bytes(b"left by a killed program")
    (folder / "events.csv").unlink()
    tank = open_tank(folder)
    back = read_back(export_workbook(tank))
    assert files.items() <= back.files.items()
    assert not any(".new" in name for name in back.files)
    assert back.tables["events.csv"] == ()


@pytest.mark.parametrize(
    ("decimal", "separator"), [(",", ","), (".", "|"), ("", ";"), (";", ","), (".", "")]
)
def test_marks_that_do_not_fit(decimal: str, separator: str) -> None:
    tank = open_tank(DEMO / "nursery")
    with pytest.raises(InputError, match="take the semicolon"):
        export_csv(tank, "readings", decimal=decimal, separator=separator)


def test_other_tables_and_workbooks_are_refused() -> None:
    with pytest.raises(InputError, match="one of readings"):
        export_csv(open_tank(DEMO / "nursery"), "kits")
    whole = export_workbook(open_tank(DEMO / "nursery"))
    for content in (b"", whole[:-100], whole[:500]):
        with pytest.raises(InputError, match="written from a tank folder"):
            read_back(content)
    with pytest.raises(InputError, match="needed a CSV file"):
        read_csv_back(b'time,"litres', "water_changes")


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = str(DEMO / "nursery")
    assert main([source, str(tmp_path / "out" / "all.xlsx")]) == 0
    assert read_back((tmp_path / "out" / "all.xlsx").read_bytes()).tables["readings.csv"]
    assert main([source, str(tmp_path / "csv"), "--decimal-comma"]) == 0
    assert b";" in (tmp_path / "csv" / "readings.csv").read_bytes()
    before = (tmp_path / "csv" / "readings.csv").read_bytes()
    assert main([source, str(tmp_path / "csv")]) == 1
    assert "exists" in capsys.readouterr().err
    assert (tmp_path / "csv" / "readings.csv").read_bytes() == before
