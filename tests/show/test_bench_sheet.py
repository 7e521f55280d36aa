"""The bench page, driven as the browser drives it: typed, doubted, answered, saved."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import ipywidgets as widgets
import pytest

from reef_calc.log.tank import open_tank
from reef_calc.show.panels.bench_sheet import VIEWS, BenchSheetPanel
from reef_calc.show.panels.bench_test import TestView
from tests.tank_cases import words_of

DEMO = Path(__file__).parents[2] / "data_demo" / "classroom_reef"


@pytest.fixture
def panel(tmp_path: Path) -> BenchSheetPanel:
    """The classroom tank in a folder of its own."""
    folder = tmp_path / "reef"
    shutil.copytree(DEMO, folder)
    return BenchSheetPanel(folder)


def test_view(panel: BenchSheetPanel) -> TestView:
    view = panel.views["Test"]
    assert isinstance(view, TestView)
    return view


test_view.__test__ = False  # type: ignore[attr-defined]


def rows(panel: BenchSheetPanel) -> list[dict[str, str]]:
    assert panel.tank is not None
    with (Path(panel.tank.folder) / "readings.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def put(view: TestView, **typed: str) -> None:
    for name, text in typed.items():
        view.entry.fields[name].set_state({"value": text})


def test_a_plain_reading_is_worked_out_and_saved(panel: BenchSheetPanel) -> None:
    view, before = test_view(panel), len(rows(panel))
    panel.by.set_state({"value": "NJ"})
    assert "caution" in view.cautions.value
    put(view, filled="1,5", left="0.72")
    assert "7.8" in words_of(view.result.value)
    assert not view.save.disabled
    view.save.click()
    assert "Saved" in panel.message.value
    after = rows(panel)
    assert len(after) == before + 1
    last = after[-1]
    assert (last["by"], last["kit"], last["lot"], last["water"]) == ("NJ", "kit A", "A-2", "tank")
    assert last["raw"] == "filled 1,5 mL; left 0.72 mL" and float(last["u"]) > 0
    assert view.entry.typed()["filled"] == "" and view.save.disabled


def test_what_looks_wrong_is_not_saved_before_it_was_answered(panel: BenchSheetPanel) -> None:
    view, before = test_view(panel), len(rows(panel))
    view.sample.kit.value = "phosphate meter"
    put(view, reading="5")
    assert view.found is not None and view.found.slips
    assert view.save.disabled
    view.save.click()
    assert len(rows(panel)) == before
    offered = [w for w in view.doubts.children if isinstance(w, widgets.Button)]
    assert offered
    view.looked.value = True
    assert not view.save.disabled
    put(view, reading="4")  # another entry has to be answered anew
    assert view.save.disabled and not view.looked.value


def test_a_likely_value_is_put_by_one_touch(panel: BenchSheetPanel) -> None:
    view = test_view(panel)
    put(view, filled="1.5", left="7")
    offered = [w for w in view.doubts.children if isinstance(w, widgets.Button)]
    right = next(b for b in offered if b.description.startswith("0.7 "))
    right.click()
    assert view.entry.typed()["left"] == "0.7" and not view.save.disabled


def test_replicates_are_saved_together(panel: BenchSheetPanel) -> None:
    view, before = test_view(panel), len(rows(panel))
    for left in ("0.72", "0.70"):
        put(view, filled="1.5", left=left)
        view.again.click()
    assert "agree" in words_of(view.kept.value)
    put(view, filled="1.5", left="0.71")
    view.save.click()
    saved = rows(panel)[before:]
    assert [row["replicate"] for row in saved] == ["1", "2", "3"]
    assert len({row["time"] for row in saved}) == 1


def test_a_folder_that_cannot_be_written_loses_nothing_typed(
    panel: BenchSheetPanel, monkeypatch: pytest.MonkeyPatch
) -> None:
    view = test_view(panel)
    put(view, filled="1.5", left="0.72")
    before = rows(panel)

    def refuse(*_: object) -> int:
        raise PermissionError(13, "Permission denied", "readings.csv")

    monkeypatch.setattr("reef_calc.show.panels.bench_test.append_rows", refuse)
    view.save.click()
    assert 'role="alert"' in panel.message.value and rows(panel) == before
    assert len(view.sitting.read) == 1  # kept, so that Save may be pressed again
    monkeypatch.undo()
    view.save.click()
    assert len(rows(panel)) == len(before) + 1


def test_every_view_opens_and_a_bad_folder_is_told(panel: BenchSheetPanel, tmp_path: Path) -> None:
    for name in VIEWS:
        panel.view.value = name
        assert 'role="alert"' not in panel.message.value, name
        assert panel.place.children == (panel.views[name].box,)
    panel.folder.value = str(tmp_path / "none")
    assert 'role="alert"' in panel.message.value
    assert panel.place.children == ()


def test_a_new_lot_is_kept_in_the_description_and_as_an_event(panel: BenchSheetPanel) -> None:
    view = test_view(panel)
    view.new_lot.name.value, view.new_lot.expires.value = "A-3", "2027-30-04"
    view.new_lot.button.click()
    assert "2027-04-30" in panel.message.value
    view.new_lot.expires.value = "2027-04-30"
    view.new_lot.button.click()
    assert panel.tank is not None
    tank = open_tank(panel.tank.folder)
    assert tank.kits["kit A"].lot("A-3") is not None
    assert tank.events.iloc[-1]["kind"] == "lot opened"
    assert "A-3" in [v for _, v in view.sample.lot.options]


def test_a_time_that_is_no_time_stands_where_the_level_would(panel: BenchSheetPanel) -> None:
    view = test_view(panel)
    put(view, filled="1.5", left="0.72")
    view.sample.time.value = "half past"
    assert view.save.disabled and "half past" in view.result.value
    view.sample.time.value = ""
    assert not view.save.disabled
    view.sample.water.value = "a study"
    assert view.save.disabled
    view.sample.study.value = "spring 3"
    assert not view.save.disabled


def test_kept_readings_stay_those_of_their_water_and_of_their_tank(
    panel: BenchSheetPanel, tmp_path: Path
) -> None:
    view, before = test_view(panel), len(rows(panel))
    put(view, filled="1.5", left="0.72")
    view.again.click()
    view.sample.water.value = "new water"
    put(view, filled="1.5", left="0.70")
    view.looked.value = True
    view.save.click()
    assert "saved first" in panel.message.value and len(rows(panel)) == before
    put(view, filled="", left="")
    other = tmp_path / "other"
    shutil.copytree(DEMO, other)
    here = panel.folder.value
    panel.folder.value = str(other)
    assert view.sitting.read == []
    panel.folder.value = here
    assert len(view.sitting.read) == 1
    view.save.click()  # alone, under the water it was read in
    assert rows(panel)[-1]["water"] == "tank" and len(rows(panel)) == before + 1
