"""What was changed since, answers that do not fit, and rows that are left out."""

from __future__ import annotations

import datetime as dt
import time
from pathlib import Path

import pytest

from reef_calc.errors import InputError
from reef_calc.log.foreign.add import add_entries
from reef_calc.log.foreign.changed_since import changed_since
from reef_calc.log.foreign.outcome import Entry
from reef_calc.log.foreign.undo import undo_last
from reef_calc.log.tank import open_tank
from tests.folders import make_folder
from tests.log.foreign.bring import bring, notes

NOW = dt.datetime(2026, 11, 28, 19, 30, tzinfo=dt.UTC)
TWO = "date,KH dKH\n2026-02-01,8.1\n2026-02-13,8.3\n"


def reading(value: str, when: str = "2026-02-01T19:00", **cells: str) -> Entry:
    row = {"time": when, "water": "tank", "element": "alkalinity", "value": value, "unit": "dKH"}
    return Entry(2, 1, "readings.csv", row | cells)


def brought_in(place: Path, *entries: Entry) -> Path:
    folder = make_folder(place / "tank")
    add_entries(folder, file="log.csv", content=b"x", entries=entries, name="log", now=NOW)
    return folder


def edit(folder: Path, old: str, new: str) -> None:
    path = folder / "readings.csv"
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


def test_a_value_corrected_in_the_tank_is_known_when_the_file_comes_again(tmp_path: Path) -> None:
    wanted = (reading("83"), reading("8.2", "2026-02-08T19:00"))
    folder = brought_in(tmp_path, *wanted)
    assert changed_since(open_tank(folder), wanted) == (False, False)
    edit(folder, ",83,", ",8.3,")
    grown = (*wanted, reading("8.1", "2026-02-15T19:00"))
    assert changed_since(open_tank(folder), grown) == (True, False, False)


def test_a_deleted_row_is_known_and_a_new_equal_one_is_new(tmp_path: Path) -> None:
    folder = brought_in(tmp_path, reading("8.3"), reading("8.1", "2026-02-08T19:00"))
    lines = (folder / "readings.csv").read_text().splitlines(keepends=True)
    (folder / "readings.csv").write_text("".join(line for line in lines if "8.1" not in line))
    tank = open_tank(folder)
    assert changed_since(tank, [reading("8.1", "2026-02-08T19:00")]) == (True,)
    assert changed_since(tank, [reading("8.3"), reading("8.3")]) == (False, False)


def test_what_was_taken_back_may_come_again(tmp_path: Path) -> None:
    folder = brought_in(tmp_path, reading("8.3"))
    undo_last(folder)
    assert changed_since(open_tank(folder), [reading("8.3")]) == (False,)


def test_a_lost_list_of_rows_is_said(tmp_path: Path) -> None:
    folder = brought_in(tmp_path, reading("8.3"))
    for path in (folder / "imports").glob("*_readings.csv"):
        path.unlink()
    with pytest.raises(InputError, match="rows that were added"):
        changed_since(open_tank(folder), [reading("8.3")])


@pytest.mark.parametrize("key", ["meaning/KH dKH", "kind/file"])
def test_an_answer_that_does_not_fit_is_said(key: str) -> None:
    found = bring(TWO, {key: "garbage"})
    asked = " ".join(question.text for question in found.questions)
    assert "“garbage”" in notes(found) + asked
    assert [entry.cells["value"] for entry in found.entries] == ["8.1", "8.3"]


def test_a_kit_that_the_tank_has_no_more_is_said() -> None:
    text = "date,kit,KH dKH\n2026-02-01,A,8.1\n"
    found = bring(text, {"which kit/A": "sold last year"})
    assert "The answer “sold last year” to which kit/A does not fit" in notes(found)


def test_answers_that_fit_or_are_of_other_files_are_not_spoken_of() -> None:
    found = bring(TWO, {"meaning/KH dKH": "alkalinity", "which kit/A": "x", "meaning/Ca": "x"})
    assert "does not fit" not in notes(found)


def test_rows_left_out_are_rows_of_the_file() -> None:
    found = bring(TWO, {"row:leave out": "3-2000000"})
    assert [entry.row for entry in found.entries] == [2]
    assert found.counts.refused == 1
    assert "Rows left out as you chose: 3." in notes(found)
    assert "1,999,997 of them hold no data" in notes(found)


@pytest.mark.parametrize(
    "text",
    [
        "date;" + "KH " * 30_000 + "\n2026-02-01;8.3\n",
        "date,parameter,value,unit,kit\n"
        + "".join(f"2026-02-01,calcium,420,mg/L,kit {i}\n" for i in range(4000)),
        "date,water,KH dKH\n" + "".join(f"2026-02-01,tub {i},8.1\n" for i in range(8000)),
    ],
    ids=["long heading", "many kits", "many waters"],
)
def test_time_grows_with_the_size_and_not_with_its_square(text: str) -> None:
    start = time.process_time()
    bring(text)
    assert time.process_time() - start < 3.0
