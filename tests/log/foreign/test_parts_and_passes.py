"""Parts of the day in headings, other passes in long tables, ± in cells, single blanks, edits kept."""

from __future__ import annotations

from pathlib import Path

import pytest

from reef_calc.log.foreign.add import add_entries
from reef_calc.log.foreign.changed_since import changed_since
from reef_calc.log.foreign.outcome import Entry
from reef_calc.log.foreign.understood import Understood
from reef_calc.log.foreign.undo import undo_last
from reef_calc.log.tank import open_tank
from tests.folders import make_folder
from tests.log.foreign.bring import bring, notes, read, said

LONG = (
    "date;parameter;value;unit\n2026-02-01;KH;8,3;dKH\n2026-02-02;Wasserwechsel;40;L\n"
    "2026-02-03;dose KH;20;mL\n2026-02-04;Ca;420;mg/L\n2026-02-05;Fish;2;\n"
)


@pytest.mark.parametrize(
    "headings", ["pH am,pH pm", "pH (morning),pH evening", "pH früh,pH abends", "AM pH,PM pH"]
)
def test_parts_of_the_day_are_times_and_no_kits(headings: str) -> None:
    text = f"Date,{headings},Ca\n2026-02-01,8.0,8.3,420\n2026-02-14,8.1,8.2,418\n"
    found = bring(text)
    assert read(found)[:3] == [
        ("2026-02-01T08:00", "pH", 8.0), ("2026-02-01T20:00", "pH", 8.3),
        ("2026-02-01", "calcium", 420.0),
    ]  # fmt: skip
    assert not any("kit" in entry.cells for entry in found.entries)
    asked = {q.key: q.assumed for q in found.questions if q.key.startswith("part of day/")}
    assert asked == {"part of day/morning": "08:00", "part of day/evening": "20:00"}
    chosen = bring(text, {"part of day/morning": "07:15", "part of day/evening": "none"})
    assert [time for time, _, _ in read(chosen)][:2] == ["2026-02-01T07:15", "2026-02-01"]


def test_the_heading_is_preferred_to_the_time_of_the_row_and_that_is_said() -> None:
    found = bring("Date,Time,pH am,pH\n2026-02-01,10:30,8.0,8.2\n")
    assert [time for time, _, _ in read(found)] == ["2026-02-01T08:00", "2026-02-01T10:30"]
    assert "the time of day of row 2 is not used for them" in notes(found)


def test_each_pass_takes_its_own_rows_of_a_long_table() -> None:
    levels = bring(LONG)
    assert read(levels) == [("2026-02-01", "alkalinity", 8.3), ("2026-02-04", "calcium", 420.0)]
    assert "Row 3 is a water change: bring the file in once more as water changes." in notes(levels)
    assert "“dose KH” is a dose, no level. It is taken when the rows are additions." in said(
        levels, 4
    )
    assert [q.key for q in levels.questions if q.open] == ["which element/Fish"]
    changes = bring(LONG, {"kind/file": "water changes"})
    assert [(e.row, e.cells["litres"]) for e in changes.entries] == [(3, "40")]
    assert "Rows 2 and 5 are levels" in notes(changes)
    assert "says nothing of a water change" in said(changes, 6)
    doses = bring(LONG, {"kind/file": "additions"})
    (waits,) = [q for q in doses.questions if q.key.startswith("supplement/")]
    assert (waits.key, waits.rows) == ("supplement/KH", (4,)) and not doses.entries


def test_the_volume_may_stand_in_the_name() -> None:
    found = bring(
        "date;parameter;value;unit\n2026-02-01;KH;8,3;dKH\n2026-02-02;WW 40 L;x;\n",
        {"kind/file": "water changes"},
    )
    assert [e.cells["litres"] for e in found.entries] == ["40"]
    assert "the volume is taken from the name, “WW 40 L”" in notes(found)


@pytest.mark.parametrize(
    ("cell", "u"),
    [
        ("421 ± 12", "12"), ("421±5%", "21.05"), ("421 mg/L ± 12", "12"), ("421 +/- 12 mg/L", "12"),
        ("421 ± 12 (k=2)", "6"), ("421 ± 12 mg/L, k = 2", "6"), ("421 ± 0", None), ("421", None),
    ],
)  # fmt: skip
def test_an_uncertainty_in_the_cell_is_kept_in_its_column(cell: str, u: str | None) -> None:
    (entry,) = bring(f"date;Ca mg/L\n2026-02-01;{cell}\n").entries
    assert (entry.cells["value"], entry.cells.get("u")) == ("421", u)


def test_expanded_uncertainties_in_cells_are_halved_when_the_keeper_says_so() -> None:
    """JCGM 100:2008, 6.2.1: U = k u."""
    text = "date;KH dKH\n2026-02-01;8,3 ± 0,4\n2026-02-08;8,1 ± 0,2 (k=2)\n"
    assert [e.cells["u"] for e in bring(text).entries] == ["0.4", "0.1"]
    found = bring(text, {"coverage/KH dKH": "2"})
    assert [e.cells["u"] for e in found.entries] == ["0.2", "0.1"]


REPORT = (
    "Report\nSampled: 2026-02-01\n\nParameter            Result   Unit\n"
    "Total alkalinity     8.2      dKH\nCalcium              421      mg/L\nIodine               < 20\n"
)


def elements(found: Understood) -> list[str]:
    return [entry.cells["element"] for entry in found.entries]


def test_a_report_parted_by_several_blanks_is_read() -> None:
    answers = {"date/file": "2026-02-01"}
    assert elements(bring(REPORT, answers))[:2] == ["alkalinity", "calcium"]
    bare = bring("Calcium  421  mg/L\nIron  3  µg/L\nNitrate  4,2  mg/L\n", answers)
    assert elements(bare) == ["calcium", "Fe", "nitrate"]
    assert [e.cells["unit"] for e in bare.entries] == ["mg/L", "µg/L", "mg/L"]


@pytest.mark.parametrize(
    "text",
    [
        "Report\nDate: 2026-02-01\n\nElement Result Unit\nCa 421 mg/L\nMg 1300 mg/L\nNO3 4.2 mg/L\n",
        "Total alkalinity 8,2 dKH\nCa 421,5 mg/L\nMg 1300,2 mg/L\n",
        "2026-02-01 KH 8.3 Ca 420\n2026-02-08 KH 8.1 Ca 418 new salt\n",
    ],
)
def test_single_blanks_are_refused_in_words(text: str) -> None:
    found = bring(text)
    assert not found.entries and "single blanks" in found.refusal and "two blanks" in found.refusal


def test_a_plain_log_with_single_blanks_and_decimal_commas_is_read() -> None:
    found = bring("Datum KH\n01.02.2026 8,3\n13.02.2026 8,1\n")
    assert read(found) == [("2026-02-01", "alkalinity", 8.3), ("2026-02-13", "alkalinity", 8.1)]


def test_an_edited_row_that_an_undo_left_is_known_when_the_file_comes_again(tmp_path: Path) -> None:
    def reading(value: str, day: int) -> Entry:
        cells = {"time": f"2026-02-{day:02d}T19:00", "water": "tank", "element": "alkalinity"}
        return Entry(day, 1, "readings.csv", cells | {"value": value, "unit": "dKH"})

    wanted = [reading("83", 1), reading("8.2", 8), reading("8.2", 15)]
    folder = make_folder(tmp_path / "tank")
    add_entries(folder, file="log.csv", content=b"x", entries=wanted, name="log")
    path = folder / "readings.csv"
    path.write_text(path.read_text().replace(",83,", ",8.3,"))
    assert undo_last(folder).tables == {"readings.csv": 2}
    assert changed_since(open_tank(folder), wanted) == (True, False, False)
    add_entries(folder, file="log.csv", content=b"x", entries=wanted[1:], name="log")
    undo_last(folder)
    assert changed_since(open_tank(folder), wanted) == (True, False, False)
