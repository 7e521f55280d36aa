"""Several tanks on one page: one failure stops nothing, what needs something comes first."""

from __future__ import annotations

import base64
import io
import re
import threading
from pathlib import Path

import pandas as pd
import pytest

from reef_calc.errors import InputError
from reef_calc.plan.decision import LABEL_FIRST
from reef_calc.show import many_tanks
from reef_calc.show.many_tanks import TanksPage, tanks_page
from reef_calc.show.panels.many_tanks import ManyTanks
from reef_calc.show.review_command import main
from tests.folders import make_folder
from tests.tank_cases import LIMITS, MACHINE_WORDS, ONE_OF_MANY, at, quiet, series, words_of

DEMO = Path(__file__).parents[2] / "data_demo"


@pytest.fixture(scope="module")
def demonstration() -> TanksPage:
    """Both invented tanks and a folder that is none."""
    return tanks_page([DEMO / "classroom_reef", DEMO / "nursery", DEMO / "none"])


def some_tanks(place: Path, number: int) -> list[Path]:
    """Small tanks: every third one low, every third quiet, the others without a reading."""
    found = []
    for i in range(number):
        rows = {0: series(level=at(6.7)), 1: series(), 2: []}[i % 3]
        tank = LIMITS.replace("Test reef", f"Tank {i}").partition("[aim.calcium]")[0]
        found.append(make_folder(place / f"tank_{i:02d}", **quiet(readings=rows, tank=tank)))
    return found


@pytest.fixture(scope="module")
def twelve(tmp_path_factory: pytest.TempPathFactory) -> TanksPage:
    return tanks_page(some_tanks(tmp_path_factory.mktemp("twelve"), 12), "2026-03")


def test_both_invented_tanks(demonstration: TanksPage) -> None:
    assert demonstration.month == "2026-09"  # the latest last full month of any
    assert demonstration.tanks == 3
    words = words_of(demonstration.html())
    assert demonstration.title in words
    assert words.index("Change something") < words.index("Test again first")
    assert words.index("Test again first") < words.index("Could not be read")
    assert "needed a folder that holds a tank" in words
    assert LABEL_FIRST in words
    assert MACHINE_WORDS.findall(words) == []
    assert ONE_OF_MANY.findall(words) == []
    raised = [row for row in demonstration.group("change") if row.action == "raise"]
    assert [(row.tank, row.element) for row in raised] == [("Classroom reef", "alkalinity")]
    assert (raised[0].day, raised[0].days_since) == ("2026-09-28", 2)
    assert demonstration.quiet == ()


def test_twelve_tanks_of_three_kinds(twelve: TanksPage) -> None:
    low, empty = twelve.group("change"), twelve.group("test")
    assert [row.tank for row in low] == [f"Tank {i}" for i in range(0, 12, 3)]
    assert {row.tank for row in empty} == {f"Tank {i}" for i in range(2, 12, 3)}
    assert len(twelve.quiet) == 4
    page = twelve.html()
    words = words_of(page)
    assert "Leave as it is: 4 tanks" in words
    assert "Tank 1 (tank_01)" in words
    assert twelve.title == "March 2026: change something in four tanks, test in four tanks"
    assert page.count('class="rc-row') == len(low) + len(empty)  # the quiet ones have no row
    assert page.count("<svg") == len(low)


def test_the_table_holds_every_element_in_the_order_of_the_page(twelve: TanksPage) -> None:
    table = pd.read_csv(io.StringIO(twelve.table.to_csv(index=False)))
    assert len(table) == len(twelve.rows) == 12
    groups = list(table["group"])
    order = ["Change something", "Test again first", "Leave as it is"]
    assert groups == sorted(groups, key=order.index)
    assert list(table["tank"][:4]) == ["Tank 0", "Tank 3", "Tank 6", "Tank 9"]
    assert table["last reading"].notna().sum() == 8


def test_everyone_can_read_it(twelve: TanksPage) -> None:
    page = twelve.html()
    assert page.count("<table") == page.count("<caption>") == 1
    assert page.count('scope="col"') == 6
    rows = len(twelve.group("change")) + len(twelve.group("test"))
    assert page.count('scope="row"') == rows
    assert page.count('scope="rowgroup"') == 2
    assert re.findall(r"<svg(?![^>]*aria-hidden)", page) == []  # the words beside it say it
    assert re.findall(r"(?:color|fill|stroke)[:=]\"?#", page) == []  # nothing by colour alone
    assert page.count("<h2>") == 1
    whole = twelve._repr_html_()
    assert whole.count("<h1>") == 1
    assert re.findall(r"""(?:src|href)=["']?(?!data:|#)[^"'>\s]+""", whole) == []


def test_no_failure_of_one_tank_stops_the_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    good, broken, empty, strange = (tmp_path / n for n in ("good", "broken", "empty", "strange"))
    make_folder(good, **quiet())
    make_folder(broken, **quiet(tank="[tank\nname = <b>"))
    empty.mkdir()
    make_folder(strange, **quiet())
    real = many_tanks.review_month

    def fails(tank: many_tanks.Tank, month: str | None) -> object:
        if tank.folder == strange:
            raise ZeroDivisionError("<b>nothing</b> foreseen")
        return real(tank, month)

    monkeypatch.setattr(many_tanks, "review_month", fails)
    page = tanks_page([broken, empty, strange, good, tmp_path / "none"], "2026-03")
    assert [Path(row.folder).name for row in page.group("failed")] == [
        "broken", "empty", "strange", "none",
    ]  # fmt: skip
    assert all(row.why for row in page.group("failed"))
    assert any(row.folder == str(good) and row.group != "failed" for row in page.rows)
    assert "<b>nothing" not in page.html()
    assert "Not foreseen: ZeroDivisionError" in words_of(page.html())
    assert "four could not be read in full" in page.title


def test_an_element_that_fails_keeps_its_tank_off_the_quiet_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from reef_calc.show import review as reviewing

    real = reviewing.gather

    def broken(tank: many_tanks.Tank, element: str, month: str, **more: bool) -> object:
        if element == "calcium":
            raise InputError("a strength", "none", "Describe it.", "supplements.toml")
        return real(tank, element, month, **more)

    monkeypatch.setattr(reviewing, "gather", broken)
    page = tanks_page([make_folder(tmp_path / "tank", **quiet())], "2026-03")
    (row,) = page.group("failed")
    assert row.element == "calcium"
    assert page.quiet == ()


def test_no_tank_and_no_month() -> None:
    page = tanks_page([])
    assert (page.title, page.rows, page.month) == ("No tank to look at", (), "")
    assert "0 tanks read" in words_of(page.html())
    assert len(page.table) == 0
    with pytest.raises(InputError, match="a month such as 2026-09"):
        tanks_page([], "September")


def test_progress_and_stopping(tmp_path: Path) -> None:
    folders = some_tanks(tmp_path, 3)
    seen: list[tuple[int, int, str]] = []
    tanks_page(folders, "2026-03", progress=lambda *told: seen.append(told))
    assert seen == [(0, 3, "tank_00"), (1, 3, "tank_01"), (2, 3, "tank_02"), (3, 3, "tank_02")]
    answers = iter([True, False])
    page = tanks_page(folders, "2026-03", go_on=lambda: next(answers))
    assert (page.tanks, page.unread, len(page.rows)) == (1, 2, 1)
    assert "1 tank read; stopped with 2 not read yet." in words_of(page.html())


def finished(tanks: ManyTanks) -> None:
    """Wait for the thread that reads."""
    assert tanks.worker is not None
    tanks.worker.join(timeout=60)
    assert not tanks.worker.is_alive()


def test_the_panel_reads_in_the_background(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    some_tanks(tmp_path / "all", 2)
    go, real = threading.Event(), many_tanks.open_tank

    def slowly(folder: Path) -> many_tanks.Tank:
        go.wait(30)
        return real(folder)

    monkeypatch.setattr(many_tanks, "open_tank", slowly)
    tanks = ManyTanks(lambda: "2026-03", (tmp_path,))
    tanks.offer(str(tmp_path / "all" / "tank_00"))
    tanks.offer("another/place")  # what is there stays
    assert tanks.place.value == str(tmp_path / "all")
    tanks.read.click()
    # The click came back while nothing is read yet: other controls answer meanwhile.
    assert tanks.read.disabled and not tanks.stop.disabled
    assert tanks.progress.layout.display == ""
    go.set()
    finished(tanks)
    assert not tanks.read.disabled and tanks.stop.disabled
    assert tanks.progress.layout.display == "none"
    assert "2 of 2 tanks read, March 2026." in words_of(tanks.message.value)
    links = re.findall(r'download="([^"]+)" href="data:[^,]+,([^"]+)"', tanks.shown.value)
    files = {name: base64.b64decode(data).decode() for name, data in links}
    assert list(files) == ["tanks_2026-03.html", "tanks_2026-03.csv"]
    assert files["tanks_2026-03.html"].startswith("<!DOCTYPE html>")
    assert len(pd.read_csv(io.StringIO(files["tanks_2026-03.csv"]))) == 2


def test_the_panel_stops_when_asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    some_tanks(tmp_path, 3)
    tanks = ManyTanks(lambda: "2026-03")
    tanks.place.value = str(tmp_path)
    real = many_tanks.open_tank

    def stops(folder: Path) -> many_tanks.Tank:
        tanks.stop.click()
        return real(folder)

    monkeypatch.setattr(many_tanks, "open_tank", stops)
    tanks.read.click()
    finished(tanks)
    assert tanks.page is not None
    assert (tanks.page.tanks, tanks.page.unread) == (1, 2)
    assert not tanks.read.disabled


@pytest.mark.parametrize("text", ["", "nowhere at all", "{empty}"])
def test_the_panel_says_what_is_wrong_with_the_folder(text: str, tmp_path: Path) -> None:
    tanks = ManyTanks(lambda: None)
    tanks.place.value = text.replace("{empty}", str(tmp_path))
    tanks.read.click()
    assert 'role="alert"' in tanks.message.value
    assert tanks.worker is None
    assert not tanks.read.disabled


def test_a_fault_in_the_thread_frees_the_button(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    some_tanks(tmp_path, 1)
    tanks = ManyTanks(lambda: "no month")
    tanks.place.value = str(tmp_path)
    tanks.read.click()
    finished(tanks)
    assert 'role="alert"' in tanks.message.value
    assert not tanks.read.disabled and tanks.stop.disabled


def test_the_command_takes_several_folders(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folders = [str(folder) for folder in some_tanks(tmp_path / "in", 2)]
    out = tmp_path / "out"
    assert main([*folders, "2026-03", "--out", str(out)]) == 0
    told = capsys.readouterr()
    assert told.out.splitlines()[0] == "March 2026: change something in one tank"
    assert "Leave as it is: 1 of 2 tanks" in told.out
    assert "2 of 2: tank_01" in told.err
    assert sorted(path.name for path in out.iterdir()) == [
        "tanks_2026-03.csv",
        "tanks_2026-03.html",
    ]
    assert main([*folders, "--out", str(out)]) == 0  # the month of its own accord
    assert main([str(tmp_path / "a"), str(tmp_path / "b"), "2026-03", "--out", str(out)]) == 2
