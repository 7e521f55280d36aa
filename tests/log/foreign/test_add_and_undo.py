"""Adding a foreign file: once, at once, whatever happens meanwhile; and taking it away again."""

from __future__ import annotations

import datetime as dt
import os
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.errors import InputError
from reef_calc.log import atomic
from reef_calc.log.entry import append_rows
from reef_calc.log.foreign.add import Added, add_entries, already_there
from reef_calc.log.foreign.outcome import Entry
from reef_calc.log.foreign.undo import rows_still_there, undo, undo_last
from reef_calc.log.foreign.undo_list import imports_before, list_file
from reef_calc.log.tables import read_table
from reef_calc.log.tank import open_tank
from tests.folders import make_folder
from tests.log import writers

READINGS, CHANGES, DOSES = "readings.csv", "water_changes.csv", "additions.csv"
NOW = dt.datetime(2026, 11, 28, 19, 30, tzinfo=dt.UTC)


def reading(time: str = "2026-02-01T19:00", value: str = "8.3", **cells: str) -> Entry:
    row = {"time": time, "water": "tank", "element": "alkalinity", "value": value, "unit": "dKH"}
    return Entry(2, 1, READINGS, row | {"kit": "drops"} | cells)


def change(time: str = "2026-02-13", litres: str = "40", **cells: str) -> Entry:
    return Entry(2, None, CHANGES, {"time": time, "litres": litres} | cells)


def dose(start: str = "2026-02-01T00:00", amount: str = "20", **cells: str) -> Entry:
    row = {"start": start, "supplement": "part one", "amount": amount, "unit": "mL"}
    return Entry(2, None, DOSES, row | {"how": "per day"} | cells)


def add(folder: Path, *entries: Entry, file: str = "log.csv", name: str = "log") -> Added:
    return add_entries(folder, file=file, content=b"x", entries=entries, name=name, now=NOW)


def tables(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.glob("*.csv")}


def test_added_once_with_its_source(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    wanted = [reading(), reading("2026-02-08T19:00", source="club day"), change(), dose()]
    done = add(folder, *wanted)
    assert done.tables == {READINGS: 2, CHANGES: 1, DOSES: 1}
    assert done.already == 0
    tank = open_tank(folder)
    assert list(tank.readings["source"]) == ["brought in from log.csv", "club day"]
    assert already_there(tank, wanted) == (True,) * 4
    before = tables(folder)
    assert add(folder, *wanted) == Added({}, 4, "")
    assert tables(folder) == before
    assert len(imports_before(folder)[0]) == 1


def test_a_file_that_grew_adds_the_new_rows_only(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    add(folder, reading(), change())
    path = folder / CHANGES
    path.write_text(path.read_text().replace("2026-02-13,40,,", '2026-02-13,40,35,"typed again"'))
    done = add(folder, reading(note="new words"), change(), reading("2026-02-08T19:00"))
    assert done.tables == {READINGS: 1}
    assert done.already == 2


@pytest.mark.parametrize(
    ("held", "wanted"),
    [
        (reading(), reading("2026-02-01T18:00Z")),
        (reading(), reading("2026-02-01 19:00:00")),
        (reading(), reading(value="8.30")),
        (reading(value="2.85", unit="meq/L"), reading(value="2850", unit="µeq/L")),
        (reading(), reading(u="0.2", note="other", raw="17 drops", by="TK", source="x")),
        (reading(limit="between", upper="9"), reading(limit="between", upper="9.0")),
        (change(), change(litres="40.0", note="again")),
        (dose(end="2026-03-01T00:00"), dose()),
        (dose(times="06:00;18:00"), dose(times="18:00; 06:00")),
    ],
)
def test_what_says_the_same(held: Entry, wanted: Entry, tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    append_rows(folder, held.table, [held.cells])
    assert already_there(open_tank(folder), [wanted]) == (True,)


@pytest.mark.parametrize(
    ("held", "wanted"),
    [
        (reading(), reading("2026-02-01T19:01")),
        (reading("2026-02-01"), reading("2026-02-01T12:00")),
        (reading(), reading(value="8.4")),
        (reading(), reading(limit="<")),
        (reading(), reading(kit="syringe")),
        (reading(), reading(lot="A1")),
        (reading(), reading(water="new water")),
        (reading(replicate="1"), reading(replicate="2")),
        (change(), change(litres="41")),
        (change(), change(salinity="35")),
        (dose(), dose(end="2026-03-01T00:00")),
        (dose(), dose(how="once")),
    ],
)
def test_what_says_something_else(held: Entry, wanted: Entry, tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    append_rows(folder, held.table, [held.cells])
    assert already_there(open_tank(folder), [wanted]) == (False,)


def test_replicates_count_as_often_as_they_were_tested(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    first = [reading(replicate="1"), reading(value="8.4", replicate="2")]
    add(folder, *first)
    # The file was sorted anew and grew by one: the order numbers the same readings otherwise.
    grown = [reading(value="8.4", replicate="1"), reading(replicate="2"), reading(replicate="3")]
    done = add(folder, *grown)
    assert done.tables == {READINGS: 1}
    assert done.already == 2
    assert add(folder, *grown).tables == {}


def test_undo_takes_away_its_rows_and_nothing_else(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    append_rows(folder, CHANGES, [{"time": "2026-01-02", "litres": "30", "note": "a, b\r\nc"}])
    before = tables(folder)
    done = add(folder, reading(), change(), change("2026-02-20"))
    append_rows(folder, CHANGES, [{"time": "2026-03-01", "litres": "20"}])
    back = undo(folder, done.undo, now=NOW)
    assert back.tables == {READINGS: 1, CHANGES: 2}
    assert back.left == {}
    assert (folder / READINGS).read_bytes() == before[READINGS]
    assert (folder / CHANGES).read_bytes() == before[CHANGES] + b"2026-03-01,20,,\n"
    kept = imports_before(folder)[0]
    assert [one.undone for one in kept] == ["2026-11-28T19:30:00Z"]
    with pytest.raises(InputError, match="It was undone on 2026-11-28"):
        undo(folder, done.undo)
    with pytest.raises(InputError, match="nothing to undo"):
        undo_last(folder)


def test_rows_that_were_edited_are_named_and_left(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    add(folder, change(), change("2026-02-20"), change("2026-02-27"))
    path = folder / CHANGES
    path.write_text(path.read_text().replace("2026-02-20,40", "2026-02-20,45"))
    back = undo_last(folder, "log")
    assert back.tables == {CHANGES: 2}
    assert back.left == {CHANGES: (("2026-02-20", "40", "", ""),)}
    assert path.read_text() == "time,litres,salinity,note\n2026-02-20,45,,\n"
    assert "left = 1" in (folder / "imports" / "log.toml").read_text()


def test_a_table_saved_by_a_spreadsheet_is_still_undone(tmp_path: Path) -> None:
    """Other line ends, quotes, a byte order mark, columns moved and one more: the cells count."""
    folder = make_folder(tmp_path / "tank")
    done = add(folder, change(note="=1+1"), change("2026-02-20"))
    (folder / CHANGES).write_bytes(
        b'\xef\xbb\xbf"litres","time","note","mine","salinity"\r\n"40","2026-02-13","=1+1","",""\r\n'
        b'"40","2026-02-20","","kept",""\r\n'
    )
    assert undo(folder, done.undo).tables == {CHANGES: 1}
    assert (folder / CHANGES).read_bytes().count(b"\r\n") == 2


def test_two_lists_are_undone_in_turn(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    moments = [add(folder, change(litres="1")).undo, add(folder, change(litres="2")).undo]
    moments.append(add(folder, change(litres="3"), name="other").undo)
    assert len(set(moments[:2])) == 2
    assert undo_last(folder, "log").when == moments[1]
    assert undo_last(folder, "log").when == moments[0]
    assert undo_last(folder).when == moments[2]
    assert read_table(CHANGES, (folder / CHANGES).read_bytes()).rows == []


def test_other_keys_and_comments_of_the_list_stay(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    (folder / "imports").mkdir()
    path = folder / "imports" / "log.toml"
    path.write_text('# mine\nkind = "readings"  # stays\n[answers]\n"unit/KH" = "dKH"\n')
    add(folder, change())
    undo_last(folder)
    text = path.read_text()
    assert text.startswith('# mine\nkind = "readings"  # stays\n[answers]\n"unit/KH" = "dKH"\n')
    assert "undone" in text


@pytest.mark.parametrize(
    ("content", "piece"),
    [
        (b"kind = ", "Repair"),
        (b"added = 3", "tables [[added]]"),
        (b"[[added]]\nwhen = 1\n", "Correct the entry"),
        (
            b'[[added]]\nwhen = "a"\ntable = "readings.csv"\ncount = 1\nrows = "../kits.toml"\n',
            "Write its name only",
        ),
    ],
)
def test_a_broken_list_stops_before_anything_is_written(
    content: bytes, piece: str, tmp_path: Path
) -> None:
    folder = make_folder(tmp_path / "tank")
    (folder / "imports").mkdir()
    (folder / "imports" / "log.toml").write_bytes(content)
    before = tables(folder)
    with pytest.raises(InputError) as told:
        add(folder, change())
    assert piece in str(told.value)
    assert tables(folder) == before
    assert imports_before(folder)[1][0].file == "imports/log.toml"


def test_rows_files_that_are_gone_or_shorter(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    done = add(folder, change(), change("2026-02-20"))
    (rows,) = (folder / "imports").glob("*.csv")
    before = tables(folder)
    header = b"time,litres,salinity,note\n"
    for content in (header + b"2026-02-13,40,,\n", header + b"2026-02-13,40\nx\n", None):
        rows.unlink() if content is None else rows.write_bytes(content)
        with pytest.raises(InputError, match="needed the 2 rows that were added"):
            undo(folder, done.undo)
    assert tables(folder) == before


@pytest.mark.parametrize(
    "name", ["", "../up", "a/b", "CON", "nul.txt", ".x", "x.", "a" * 81, "a\0"]
)
def test_names_that_are_no_file(name: str) -> None:
    with pytest.raises(InputError, match="Choose another name"):
        list_file(name)


def test_a_disk_that_fails_at_any_write_leaves_whole_tables(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced = os.fsync
    for good in range(12):
        folder = make_folder(tmp_path / f"tank {good}")
        before = tables(folder)
        left = [good]

        def full(handle: int, left: list[int] = left) -> None:
            left[0] -= 1
            if left[0] < 0:
                raise OSError(28, "No space left on device")
            synced(handle)

        monkeypatch.setattr(atomic.os, "fsync", full)
        try:
            add(folder, change(), reading())
        except InputError as error:
            assert "No space left on device" in str(error)
        monkeypatch.setattr(atomic.os, "fsync", synced)
        imports, problems = imports_before(folder)
        assert problems == ()
        changed = {name for name, content in tables(folder).items() if content != before[name]}
        # Whatever got into a table can be undone.
        assert not changed or len(imports) == 1
        if imports:
            there = rows_still_there(folder, imports[0])
            assert {name for name, count in there.items() if count} == changed
            undo(folder, imports[0].when)
        assert tables(folder) == before


def test_a_lock_that_is_held_and_a_folder_that_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = make_folder(tmp_path / "tank")
    done = add(folder, change("2026-01-01"))
    before = tables(folder)
    monkeypatch.setattr(atomic, "WAIT_SECONDS", 0.05)
    with atomic.FileLock(folder / atomic.LOCK):
        for act in (lambda: add(folder, change()), lambda: undo(folder, done.undo)):
            with pytest.raises(InputError, match="Another program is writing"):
                act()

    def read_only(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(atomic.os, "fsync", read_only)
    for act in (lambda: add(folder, change()), lambda: undo(folder, done.undo)):
        with pytest.raises(InputError, match="Permission denied"):
            act()
    monkeypatch.undo()
    assert tables(folder) == before


def test_a_table_without_some_columns(tmp_path: Path) -> None:
    small = b"time,water,element,value,unit,kit\n"
    folder = make_folder(tmp_path / "tank", readings_csv=small)
    assert add(folder, reading()).tables == {READINGS: 1}
    with pytest.raises(InputError, match="Add the column to the file"):
        add(folder, reading("2026-02-08", note="kept"))
    with pytest.raises(InputError, match=r"one of readings\.csv"):
        add(folder, Entry(2, None, "kits.toml", {"time": "x"}))


TEXT = st.text(
    st.characters(exclude_categories=["Cs"]) | st.sampled_from(',;"\n\r\t=+'), max_size=6
)


@given(st.lists(st.tuples(st.integers(1, 3), TEXT), max_size=6))
@settings(max_examples=25, deadline=None, derandomize=True)
def test_adding_and_undoing_closes_the_loop(drawn: list[tuple[int, str]]) -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = make_folder(Path(place) / "tank")
        before = tables(folder)
        entries = [change(litres=str(litres), note=note) for litres, note in drawn]
        done = add(folder, *entries)
        cells = read_table(CHANGES, (folder / CHANGES).read_bytes()).cells
        assert [row[3] for row in cells[1:]] == [note for _, note in drawn]
        assert add(folder, *entries).tables == {}
        if done.undo:
            undo(folder, done.undo)
        assert tables(folder) == before


def write_many(folder: Path, name: str, count: int) -> None:
    """Add files of two rows and undo every third, and say each that is there to stay."""
    for i in range(count):
        done = add(folder, *(change(litres=f"{i}.{part}", note=name) for part in (1, 2)))
        if done.undo and i % 3 == 2:
            undo(folder, done.undo)
        os.write(1, f"{name} {i}\n".encode())


def check(folder: Path, _: list[str]) -> None:
    """Raise unless every row in the table stands in the undo list, files whole or not at all."""
    path = folder / CHANGES
    table = read_table(CHANGES, path.read_bytes())
    imports, problems = imports_before(folder)
    if table.problems or problems or len(table.rows) % 2:
        raise ValueError(f"{table.problems} {problems} {len(table.rows)}")
    there = sum(rows_still_there(folder, one).get(CHANGES, 0) for one in imports if not one.undone)
    if there < len(table.rows):
        raise ValueError(f"{len(table.rows)} rows, and {there} of them can be undone")


def test_two_imports_at_once_add_each_row_once(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    check(folder, writers.two_at_once("tests.log.foreign.test_add_and_undo", folder, 5))
    litres = [row["litres"] for row in read_table(CHANGES, (folder / CHANGES).read_bytes()).rows]
    assert len(set(litres)) == len(litres)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_an_import_killed_at_any_moment_can_be_undone(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    writers.killed("tests.log.foreign.test_add_and_undo", folder, 6)
    for one in imports_before(folder)[0]:
        if not one.undone:
            undo(folder, one.when)
    assert read_table(CHANGES, (folder / CHANGES).read_bytes()).rows == []
