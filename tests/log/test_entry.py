"""Appending to a table: bytes kept, cells that come back, two writers, and killed writers."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.errors import InputError
from reef_calc.log import atomic, entry
from reef_calc.log.entry import append_rows
from reef_calc.log.tables import read_table
from reef_calc.log.tank import open_tank
from tests.folders import make_folder
from tests.log import writers

FILE = "water_changes.csv"
HEADER = b"time,litres,salinity,note\n"
ROW = {"time": "2026-02-13", "litres": "40"}


def folder_with(place: Path, content: bytes = HEADER) -> Path:
    return make_folder(place / "tank", water_changes_csv=content)


def refused(folder: Path, rows: list[dict[str, str]], piece: str, file: str = FILE) -> None:
    """Assert that the rows are refused with a sentence, and that the folder stays as it was."""
    before = {p.name: p.read_bytes() for p in folder.glob("*.*") if p.is_file()}
    with pytest.raises(InputError) as told:
        append_rows(folder, file, rows)
    assert piece in str(told.value)
    after = {p.name: p.read_bytes() for p in folder.glob("*.*") if p.is_file()}
    after.pop(atomic.LOCK, None)
    before.pop(atomic.LOCK, None)
    assert after == before


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (HEADER, HEADER + b"2026-02-13,40,,\n"),
        (HEADER.rstrip(), HEADER + b"2026-02-13,40,,\n"),
        (b"\xef\xbb\xbf" + HEADER, b"\xef\xbb\xbf" + HEADER + b"2026-02-13,40,,\n"),
        (b"time,litres\r\n2026-01-01,30", b"time,litres\r\n2026-01-01,30\r\n2026-02-13,40\r\n"),
        (b"time,litres\r2026-01-01,30\r", b"time,litres\r2026-01-01,30\r2026-02-13,40\r"),
        (b" Litres,mine,TIME\n30,x,2026-01-01\n", b" Litres,mine,TIME\n30,x,2026-01-01\n40,,2026-02-13\n"),
        (b'time,litres\n2026-01-01,"30"\n\n', b'time,litres\n2026-01-01,"30"\n\n2026-02-13,40\n'),
        (b"time,litres\n2026-01-01,\xff\n", b"time,litres\n2026-01-01,\xff\n2026-02-13,40\n"),
    ],
)  # fmt: skip
def test_what_was_there_stays_byte_for_byte(old: bytes, new: bytes, tmp_path: Path) -> None:
    folder = folder_with(tmp_path, old)
    assert append_rows(folder, FILE, [ROW]) == 1
    assert (folder / FILE).read_bytes() == new
    assert (folder / atomic.PREVIOUS / FILE).read_bytes() == old
    assert list(folder.glob(".*.new")) == []


def test_a_missing_table_is_begun_with_its_header(tmp_path: Path) -> None:
    folder = folder_with(tmp_path)
    (folder / FILE).unlink()
    assert append_rows(folder, FILE, [ROW, ROW | {"note": "second"}]) == 2
    assert (folder / FILE).read_bytes() == HEADER + b"2026-02-13,40,,\n2026-02-13,40,,second\n"
    assert not (folder / atomic.PREVIOUS / FILE).exists()


def test_the_file_of_a_link_is_replaced_not_the_link(tmp_path: Path) -> None:
    folder = folder_with(tmp_path)
    real = tmp_path / "elsewhere.csv"
    (folder / FILE).rename(real)
    (folder / FILE).symlink_to(real)
    real.chmod(0o640)
    append_rows(folder, FILE, [ROW])
    assert (folder / FILE).is_symlink()
    assert real.read_bytes().endswith(b"40,,\n")
    assert real.stat().st_mode & 0o777 == 0o640


def test_nothing_to_append_changes_nothing(tmp_path: Path) -> None:
    folder = folder_with(tmp_path)
    assert append_rows(folder, FILE, []) == 0
    assert not (folder / atomic.PREVIOUS).exists()


CELL = st.text(
    st.characters(exclude_categories=["Cs"]) | st.sampled_from(",;\"\n\r\t '="), max_size=8
)


@given(st.lists(CELL, min_size=1, max_size=4), st.sampled_from([b"\n", b"\r\n", b"\r"]))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_every_text_comes_back_as_it_was(notes: list[str], end: bytes) -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = folder_with(Path(place), HEADER.replace(b"\n", end))
        append_rows(folder, FILE, [ROW | {"note": note} for note in notes])
        cells = read_table(FILE, (folder / FILE).read_bytes()).cells
        assert [row[3] for row in cells[1:]] == notes
        assert {len(row) for row in cells} == {4}


@pytest.mark.parametrize(
    ("rows", "piece"),
    [
        ([ROW | {"colour": "blue"}], "needed a column of the file: time, litres, salinity, note"),
        ([ROW | {"colour": ""}], "colour"),
        ([ROW, {"litres": "40"}], "needed a time in every row"),
        ([ROW | {"time": " "}], "needed a time in every row"),
        ([ROW | {"note": "\ud800"}], "UTF-8"),
        ([ROW | {"litres": 40}], "needed text in every cell"),
        ([ROW | {"note": "x" * 140_000}], "read again"),
    ],
)
def test_rows_that_cannot_be_used(rows: list[dict[str, str]], piece: str, tmp_path: Path) -> None:
    refused(folder_with(tmp_path), rows, piece)


@pytest.mark.parametrize(
    ("content", "piece"),
    [
        (b"", "The file is empty"),
        (b"time;litres\n", "is missing"),
        (HEADER + b'2026-01-01,30,,"open\n', "A quote is opened and not closed"),
        (HEADER.decode().encode("utf-16"), "UTF-16"),
        (b"time,litres,litres\n", "twice"),
    ],
)
def test_files_that_cannot_be_read_are_left_alone(
    content: bytes, piece: str, tmp_path: Path
) -> None:
    refused(folder_with(tmp_path, content), [ROW], piece)


def test_a_column_the_file_lacks_is_not_dropped_in_silence(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, b"time,litres\n")
    refused(folder, [ROW | {"note": "x"}], "Add the column to the file")
    assert append_rows(folder, FILE, [ROW | {"note": ""}]) == 1


def test_other_tables_and_folders(tmp_path: Path) -> None:
    folder = folder_with(tmp_path)
    refused(folder, [ROW], "needed one of readings.csv", "tank.toml")
    refused(folder, [ROW], "needed one of readings.csv", "../tank/water_changes.csv")
    with pytest.raises(InputError, match="needed a tank folder"):
        append_rows(tmp_path, FILE, [ROW])


def test_a_folder_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = folder_with(tmp_path)

    def read_only(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied", str(folder))

    monkeypatch.setattr(atomic.os, "fsync", read_only)
    refused(folder, [ROW], "The system said: Permission denied.")


def test_a_lock_held_by_another(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = folder_with(tmp_path)
    monkeypatch.setattr(atomic, "WAIT_SECONDS", 0.1)
    with atomic.FileLock(folder / atomic.LOCK):
        refused(folder, [ROW], "Another program is writing there")
    assert append_rows(folder, FILE, [ROW]) == 1


def test_a_program_without_the_lock_is_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = folder_with(tmp_path)
    saved = HEADER + b"2026-02-01,20,,saved meanwhile\n"
    longer = entry.longer_table

    def slow(*arguments: object) -> bytes:
        (folder / FILE).write_bytes(saved)
        return longer(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(entry, "longer_table", slow)
    with pytest.raises(InputError, match="no other program changes"):
        append_rows(folder, FILE, [ROW])
    assert (folder / FILE).read_bytes() == saved


def write_many(folder: Path, name: str, count: int) -> None:
    """Append rows named by writer and number, one at a time, and say each that was acknowledged."""
    for i in range(count):
        append_rows(folder, FILE, [ROW | {"note": f"{name} {i}"}])
        os.write(1, f"{name} {i}\n".encode())


def check(folder: Path, acknowledged: list[str]) -> None:
    """Raise unless file and previous copy load whole and every acknowledged row is there, once."""
    for path in (folder / FILE, folder / atomic.PREVIOUS / FILE):
        table = read_table(FILE, path.read_bytes() if path.exists() else HEADER)
        if table.problems or len(table.rows) != table.count:
            raise ValueError(f"{path}: {table.problems}")
    notes = [row["note"] for row in read_table(FILE, (folder / FILE).read_bytes()).rows]
    if len(set(notes)) != len(notes) or not set(acknowledged) <= set(notes):
        raise ValueError(f"lost: {set(acknowledged) - set(notes)}")


def test_two_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    folder = folder_with(tmp_path)
    check(folder, writers.two_at_once("tests.log.test_entry", folder, 40))
    assert len(open_tank(folder).water_changes) == 80


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_a_writer_killed_at_any_moment_loses_nothing(tmp_path: Path) -> None:
    folder = folder_with(tmp_path)
    acknowledged = writers.killed("tests.log.test_entry", folder, 120)
    assert len(acknowledged) > 60
    tank = open_tank(folder)
    assert set(acknowledged) <= set(tank.water_changes["note"])
    assert [p for p in tank.problems if p.severity != "note" and p.file == FILE] == []
    append_rows(folder, FILE, [ROW | {"note": "after"}])
    assert list(folder.rglob(".*.new")) == []


_CELLS = st.lists(
    st.lists(st.text('ab1,;"\r\n\t µ\ud800', max_size=4), min_size=3, max_size=3).map(tuple),
    max_size=6,
)


@settings(max_examples=50, deadline=None)
@given(_CELLS, st.sampled_from([b"\n", b"\r\n", b"\r"]))
def test_many_records_are_written_as_each_alone(cells: list[tuple[str, ...]], end: bytes) -> None:
    try:
        lines = entry.csv_lines(cells, "readings.csv")
    except InputError:
        with pytest.raises(InputError):
            entry._csv_text(cells, "readings.csv", end)
        return
    assert entry._csv_text(cells, "readings.csv", end) == b"".join(line + end for line in lines)


def test_a_table_with_a_broken_quote_is_read_back_line_by_line() -> None:
    before = b"time,litres\n2026-02-01,40\n"
    broken = before + b'2026-02-02,"4"0\n'
    cells = [("time", "litres"), ("2026-02-01", "40"), ('2026-02-02,"4"0',)]
    assert entry._reads_as(broken, cells[:2], cells[2:])
    assert not entry._reads_as(broken, cells[:2], [])
    assert not entry._reads_as(before, cells[:2], cells[2:])
    assert not entry._reads_as(before, cells[:1], [])
    assert entry._reads_as(b"\xef\xbb\xbf" + before, cells[:2], [])


def test_what_a_row_does_not_name_is_filled_in_for_columns_of_the_file_only() -> None:
    row = {"time": "2026-02-13", "litres": "40"}
    table = entry.longer_table("water_changes.csv", b"time,litres,note\n", [row], {"note": "x"})
    assert table == b"time,litres,note\n2026-02-13,40,x\n"
    short = entry.longer_table("water_changes.csv", b"time,litres\n", [row], {"note": "x"})
    assert short == b"time,litres\n2026-02-13,40\n"
