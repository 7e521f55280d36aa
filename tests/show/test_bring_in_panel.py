"""The page that brings in a log, driven as a keeper does: files, answers, tanks, adding, undoing."""

from __future__ import annotations

import csv
import datetime as dt
import shutil
from pathlib import Path

import ipywidgets as widgets
import pytest

from reef_calc.show.bring_in_preview import COLUMNS_SHOWN
from reef_calc.show.panels.bring_in import BringInPanel
from tests.folders import KITS, TANK
from tests.log.foreign.bring import MESSY

PROJECT = Path(__file__).parents[2]
PLAIN = b"date,KH dKH\n2026-02-01,8.3\n2026-02-13,8.1\n"
LIMITS = b"Datum;KH;PO4 mg/l\r\n01.02.2026;8,3;n.d.\r\n13.02.2026;8,1;0,03\r\n"


def tank(place: Path, name: str = "reef") -> Path:
    folder = place / name
    folder.mkdir()
    (folder / "tank.toml").write_text(TANK.format(zone="Europe/Berlin"))
    (folder / "kits.toml").write_text(KITS)
    return folder


@pytest.fixture
def panel(tmp_path: Path) -> BringInPanel:
    return BringInPanel(tank(tmp_path))


def drop(panel: BringInPanel, name: str, content: bytes) -> None:
    file = {"name": name, "type": "", "size": len(content), "content": memoryview(content)}
    file["last_modified"] = dt.datetime(2026, 3, 1, tzinfo=dt.UTC)
    panel.shown.source.upload.value = (file,)


def switch(panel: BringInPanel, folder: Path) -> None:
    fields = [panel.folder, *getattr(panel.folder, "children", ())]
    field = next(one for one in fields if isinstance(one, widgets.Text | widgets.Combobox))
    field.value = str(folder)


def readings(folder: Path) -> list[list[str]]:
    file = folder / "readings.csv"
    return list(csv.reader(file.read_text("utf-8").splitlines()))[1:] if file.exists() else []


def page(panel: BringInPanel) -> str:
    view = panel.shown
    parts = (view._lead, view._why, view._picture, view._links, view.cells.cells, panel.message)
    return "".join(part.value for part in parts)


@pytest.mark.parametrize("file", sorted(MESSY.glob("M*.*")), ids=lambda path: path.stem)
def test_every_messy_file_is_shown_and_not_added_unasked(panel: BringInPanel, file: Path) -> None:
    panel.shown.source.path.value = str(file)
    assert panel.shown.found is not None
    assert panel.message.value.count("alert") == 0
    assert "NaN" not in page(panel)
    assert readings(panel.tank.folder) == []


def test_a_refused_answer_does_not_stand_in_the_way(panel: BringInPanel) -> None:
    drop(panel, "a.csv", LIMITS)
    key = next(q.key for q in panel.shown.found.questions if q.open)
    panel.shown._answered({"row:leave out": "soft"})
    assert "alert" in panel.message.value and "soft" in panel.message.value
    panel.shown.questions.controls[key].value = "missing"
    assert "alert" not in panel.message.value
    assert "row:leave out" not in panel.shown.answers


def test_an_answer_can_be_taken_back_and_rows_left_out(panel: BringInPanel) -> None:
    drop(panel, "a.csv", LIMITS)
    key = next(q.key for q in panel.shown.found.questions if q.open)
    for value in ("\0leave", "", "missing", ""):
        panel.shown.questions.controls[key].value = value
        open_ones = [q for q in panel.shown.found.questions if q.open]
        assert bool(open_ones) == (value == "")
    assert not any(key in one for one in panel.shown.answers)


def test_agreeing_to_leave_out_one_row_does_not_hold_for_more(panel: BringInPanel) -> None:
    drop(panel, "a.csv", LIMITS)
    panel.shown.leave.value = True
    assert not panel.shown.add.disabled
    panel.shown._answered({"element/KH": "calcium", "unit/KH": "elephants"})
    fates = panel.shown.found.fates
    assert sum(fate in ("asked", "refused") for fate in fates.values()) == 2
    assert panel.shown.leave.value is False
    assert panel.shown.add.disabled


def test_the_other_tank_gets_neither_answers_nor_entries(
    panel: BringInPanel, tmp_path: Path
) -> None:
    drop(panel, "a.csv", PLAIN)
    panel.shown._answered({"unit/KH dKH": "meq/L"})
    panel.shown.leave.value = True
    other = tank(tmp_path, "other")
    switch(panel, other)
    assert panel.tank.folder.resolve() == other.resolve()
    assert "unit/KH dKH" not in panel.shown.answers
    assert panel.shown.leave.value is False
    assert {e.cells["unit"] for e in panel.shown.found.entries} == {"dKH"}


def test_what_was_learned_is_used_again_and_said(panel: BringInPanel) -> None:
    drop(panel, "a.csv", PLAIN)
    panel.shown.add.click()
    assert len(readings(panel.tank.folder)) == 2
    assert "All that was read stands in the tank already: 2 entries." in page(panel)
    assert panel.shown.add.disabled
    drop(panel, "a.csv", PLAIN + b"2026-03-01,8.0\n")
    assert "no question had to be answered then" in panel.message.value
    assert "3 readings of alkalinity in this file: 1 would be added." in page(panel)
    panel.shown.add.click()
    assert len(readings(panel.tank.folder)) == 3


def test_a_profile_that_does_not_fit_is_not_in_the_way(panel: BringInPanel) -> None:
    drop(panel, "a.csv", PLAIN)
    panel.shown.add.click()
    file = panel.tank.folder / "imports" / "a.toml"
    text = file.read_text(encoding="utf-8")
    assert "[answers]" in text
    file.write_text(text.replace("[answers]", '[answers]\n"row:leave out" = "soft"'), "utf-8")
    drop(panel, "a.csv", PLAIN)
    assert "do not fit this file" in panel.message.value
    assert panel.shown.found is not None and len(panel.shown.found.entries) == 2


def test_another_kind_of_file_of_the_same_name_is_remembered_beside_it(
    panel: BringInPanel,
) -> None:
    drop(panel, "log.csv", PLAIN)
    panel.shown.add.click()
    drop(panel, "log.csv", b"date,Ca mg/L\n2026-02-01,420\n")
    assert panel.shown.name.value == "log 2"
    panel.shown.add.click()
    drop(panel, "log.csv", PLAIN)
    assert panel.shown.name.value == "log"


def test_the_same_upload_again_and_a_path_that_grew(panel: BringInPanel, tmp_path: Path) -> None:
    drop(panel, "a.csv", PLAIN)
    file = tmp_path / "b.csv"
    file.write_bytes(PLAIN)
    panel.shown.source.path.value = str(file)
    assert panel.shown.found.grid.file == "b.csv"
    file.write_bytes(PLAIN + b"2026-03-01,8.0\n")
    panel.shown.source.again.click()
    assert panel.shown.found.counts.data == 3
    drop(panel, "a.csv", PLAIN)
    assert panel.shown.found.grid.file == "a.csv"
    assert panel.shown.source.path.value == ""


def test_an_error_of_one_file_does_not_stay_on_the_next(panel: BringInPanel) -> None:
    drop(panel, "empty.csv", b"")
    assert panel.shown.found is None and "alert" in panel.message.value
    drop(panel, "zip.xlsx", b"PK\x03\x04 broken")
    assert panel.shown.found is None and "alert" in panel.message.value
    drop(panel, "a.csv", PLAIN)
    assert "alert" not in panel.message.value
    assert panel.shown._below.layout.display == ""


def test_a_file_of_no_bytes_says_so(panel: BringInPanel) -> None:
    drop(panel, "empty.csv", b"")
    assert "empty.csv" in panel.message.value


def test_the_demonstration_is_never_written(tmp_path: Path) -> None:
    folder = PROJECT / "data_demo" / "classroom_reef"
    before = {path: path.stat().st_mtime_ns for path in folder.rglob("*")}
    panel = BringInPanel(folder)
    drop(panel, "a.csv", b"date,KH dKH\n2024-02-01,8.3\n")
    panel.shown.add.click()
    assert "demonstration" in panel.message.value
    assert before == {path: path.stat().st_mtime_ns for path in folder.rglob("*")}


def test_a_profile_that_cannot_be_kept_does_not_hide_that_rows_were_added(
    panel: BringInPanel, monkeypatch: pytest.MonkeyPatch
) -> None:
    from reef_calc.errors import InputError
    from reef_calc.show.panels import bring_in_file

    def full(*_: object) -> None:
        raise InputError("room on the disk", "none", "Make room.", "imports/a.toml")

    monkeypatch.setattr(bring_in_file, "write_profile", full)
    drop(panel, "a.csv", PLAIN)
    panel.shown.add.click()
    assert "Added: 2 to readings.csv" in panel.message.value
    assert "not remembered" in panel.message.value


def test_names_and_cells_are_text(panel: BringInPanel) -> None:
    evil = '<img src=x onerror="alert(1)">'
    quoted = evil.replace('"', '""')
    content = f'date,KH dKH,"{quoted}"\n2026-02-01,"{quoted}","{quoted}"\n2026-02-13,8,x\n'
    drop(panel, f"{evil}{'n' * 80}.csv", content.encode())
    assert panel.shown.found is not None
    assert "<img" not in page(panel)
    for control in panel.shown.questions.controls.values():
        assert not getattr(control, "description_allow_html", False)
    panel.shown.leave.value = True
    panel.shown.add.click()
    panel.view.value = "Take back"
    assert "<img" not in panel.shown._list.value


def test_taking_back_leaves_rows_that_were_edited(panel: BringInPanel) -> None:
    drop(panel, "a.csv", PLAIN)
    panel.shown.add.click()
    file = panel.tank.folder / "readings.csv"
    file.write_text(file.read_text("utf-8").replace("8.3", "8.4"), "utf-8")
    panel.view.value = "Take back"
    panel.shown.sure.value = True
    panel.shown.take.click()
    assert "1 row was changed or deleted meanwhile" in panel.message.value
    assert [row[3] for row in readings(panel.tank.folder)] == ["8.4"]
    panel.view.value = "Bring in a file"
    assert panel.shown.found is not None


def test_a_wide_or_long_table_stays_light(panel: BringInPanel) -> None:
    wide = ",".join(["date", "KH dKH", *(f"x{k}" for k in range(300))])
    drop(panel, "wide.csv", f"{wide}\n2026-02-01,8{',1' * 300}\n".encode())
    assert panel.shown.cells.cells.value.count('<th scope="col">') == COLUMNS_SHOWN + 1
    assert "242 more columns" in panel.shown.cells.cells.value
    rows = "".join(
        f"20{k // 336 + 10}-{k % 12 + 1:02}-{k % 28 + 1:02},8.{k % 9}\n" for k in range(2000)
    )
    drop(panel, "long.csv", f"date,KH dKH\n{rows}".encode())
    assert len(panel.shown.cells.cells.value) < 40_000
    assert "40 rows are shown" in panel.shown.cells.cells.value
    drop(panel, "a.csv", PLAIN)
    assert "rows are shown" not in panel.shown.cells.cells.value


def test_sheets_are_chosen_and_answers_stay_with_theirs(panel: BringInPanel) -> None:
    shutil.copy(MESSY / "M11.xlsx", panel.tank.folder.parent / "m.xlsx")
    from openpyxl import Workbook

    book = Workbook()
    for year, unit in ((2025, "dKH"), (2026, "dKH")):
        sheet = book.create_sheet(str(year))
        for row in (("date", f"KH {unit}"), (f"{year}-02-01", 8.3), (f"{year}-02-02", 8.1)):
            sheet.append(row)
    del book["Sheet"]
    place = panel.tank.folder.parent / "years.xlsx"
    book.save(place)
    panel.shown.source.path.value = str(place)
    assert panel.shown.sheet.options == ("2025", "2026")
    panel.shown._answered({"row:leave out": "2"})
    assert len(panel.shown.found.entries) == 1
    panel.shown.sheet.value = "2026"
    assert [e.cells["time"][:4] for e in panel.shown.found.entries] == ["2026", "2026"]
    panel.shown.source.path.value = str(panel.tank.folder.parent / "m.xlsx")
    assert panel.shown.found.grid.file == "m.xlsx"
