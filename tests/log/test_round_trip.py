"""Any file is read, flagged or refused, row by row; and written again it is the same."""

from __future__ import annotations

import tempfile
import tomllib
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from reef_calc.errors import InputError, ReefError
from reef_calc.log.folder import export_table, start_tank, write_table
from reef_calc.log.tables import COLUMNS
from reef_calc.log.tank import open_tank
from tests.folders import TANK, csv_text, dose, make_folder, make_tank, reading

CELL = st.one_of(
    st.sampled_from(
        ["", "2026-02-13", "2026-02-13T20:00", "tank", "alkalinity", "Li", "dKH", "mg/kg", "8.3",
         "8,3", "-1", "0", "<", "between", "drops", "A1", "part one", "per day", "once", "mL",
         "1e308", "5e-324", "SG 25/25", "salinity", "not logged", "standard x", "corals added"]
    ),
    st.text(max_size=6),
)  # fmt: skip


def check(folder: Path) -> None:
    """Check that counts add up against the frames, and that writing changes no cell."""
    tank = open_tank(folder)
    frames = (tank.readings, tank.additions, tank.water_changes, tank.events)
    for frame, count in zip(frames, tank.counts.itertuples(), strict=True):
        assert count.read + count.flagged + count.refused == count.rows
        full = [cells for cells in tank.raw[count.file][1:] if any(c.strip() for c in cells)]
        assert count.rows == len(full)
        twice = [p for p in tank.problems if p.file == count.file and "counted once" in p.reason]
        assert len(frame) + len(twice) + count.refused == count.rows
        path = write_table(tank, count.file.removesuffix(".csv"), folder / "again" / count.file)
        for name in ("tank.toml", "kits.toml", "supplements.toml", "standards.toml"):
            (path.parent / name).write_bytes((folder / name).read_bytes())
    again = open_tank(folder / "again")
    for file, cells in tank.raw.items():
        assert again.raw[file] == (cells or (COLUMNS[file],))
    assert all(str(problem).encode() for problem in tank.problems)
    assert again.counts.equals(tank.counts) or any("UTF-16" in str(p) for p in tank.problems)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.sampled_from(sorted(COLUMNS)), st.data())
def test_any_rows(file, data):
    row = st.fixed_dictionaries({}, optional=dict.fromkeys(COLUMNS[file], CELL))
    good = {
        "readings.csv": reading("2026-02-13", "8"),
        "additions.csv": dose("2026-02-13", "3"),
        "water_changes.csv": {"time": "2026-02-13", "litres": "20"},
        "events.csv": {"time": "2026-02-13", "kind": "other"},
    }[file]
    rows = [good | data.draw(row) for _ in range(data.draw(st.integers(0, 6)))]
    with tempfile.TemporaryDirectory() as place:
        folder = make_folder(Path(place), **{file.replace(".csv", "_csv"): csv_text(file, rows)})
        (folder / "again").mkdir()
        check(folder)


@settings(max_examples=80, deadline=None, derandomize=True)
@given(st.sampled_from(sorted(COLUMNS)), st.binary(max_size=120), st.booleans())
@example("readings.csv", b'\n"', True)
@example("readings.csv", b'"a\r\nb",\r,\x00\n', True)
@example("readings.csv", b"\xff\xfe\n\x00", False)
@example("readings.csv", b"\xef\xbb\xbf\xef\xbb\xbf", False)
def test_any_bytes(file, content, with_header):
    header = (",".join(COLUMNS[file]) + "\n").encode() if with_header else b""
    with tempfile.TemporaryDirectory() as place:
        folder = make_folder(Path(place), **{file.replace(".csv", "_csv"): header + content})
        (folder / "again").mkdir()
        check(folder)


VALUE = st.recursive(
    st.one_of(st.integers(-5, 500), st.floats(allow_nan=True), st.booleans(), st.text(max_size=4)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=2),
        st.dictionaries(
            st.sampled_from(["value", "unit", "u", "salinity", "from", "net_L"]), inner, max_size=3
        ),
    ),
    max_leaves=5,
)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(
    st.dictionaries(
        st.sampled_from(["state", "tank", "water", "aim", "new_water", "odd"]), VALUE, max_size=3
    ),
    st.sampled_from(["kits", "supplements", "standards"]),
    st.dictionaries(st.sampled_from(["kit", "supplement", "standard"]), VALUE, max_size=2),
    st.booleans(),
)
def test_any_toml(document, other, named, keep):
    import tomlkit

    whole = (tomllib.loads(TANK.format(zone="Asia/Kolkata")) if keep else {}) | document
    with tempfile.TemporaryDirectory() as place:
        folder = make_folder(Path(place), tank_toml=tomlkit.dumps(whole))
        (folder / f"{other}.toml").write_text(tomlkit.dumps(named), encoding="utf-8")
        try:
            open_tank(folder)
        except ReefError as err:
            assert str(err)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.binary(max_size=60))
def test_any_bytes_as_toml(content):
    with tempfile.TemporaryDirectory() as place:
        folder = make_folder(Path(place), kits_toml=content)
        open_tank(folder)
        (folder / "tank.toml").write_bytes(content)
        with pytest.raises(ReefError):
            open_tank(folder)


def test_good_file_comes_back_byte_for_byte(tmp_path):
    rows = [
        reading("2026-02-01", "8.30", note='said "fine", twice'),
        reading("1.2.2026", "8,3", note="=1+1"),
        reading("2026-02-03", " 8.1 ", note="two\nlines"),
    ]
    tank = make_tank(tmp_path, readings=rows)
    path = write_table(tank, "readings", tmp_path / "copy.csv")
    assert path.read_bytes() == (tmp_path / "readings.csv").read_bytes()
    assert not [p for p in tmp_path.iterdir() if p.name.startswith(".")]


def test_writing_where_it_cannot_be_written_is_refused(tmp_path):
    tank = make_tank(tmp_path)
    with pytest.raises(InputError, match="can be written"):
        write_table(tank, "readings", tmp_path / "nowhere" / "x.csv")
    with pytest.raises(InputError, match="additions"):
        export_table(tank, "kits")


def test_new_tank_opens_without_a_refusal_and_is_never_overwritten(tmp_path):
    folder = start_tank(tmp_path / "new" / "reef", "Säule “A”", 540, "America/New_York")
    tank = open_tank(folder)
    assert {p.severity for p in tank.problems} <= {"note"}
    assert (tank.name, tank.waters[0].net_L, tank.waters[0].net_u_L) == ("Säule “A”", 540.0, 27.0)
    assert list(tank.counts["rows"]) == [0, 0, 0, 0]
    assert (folder / "readings.csv").read_text() == ",".join(COLUMNS["readings.csv"]) + "\n"
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    (folder / "tank.toml").unlink()
    with pytest.raises(InputError, match="nothing was written"):
        start_tank(folder, "Other", 100, "America/New_York")
    assert not (folder / "tank.toml").exists()
    assert (folder / "kits.toml").read_bytes() == before["kits.toml"]


def test_commented_examples_of_a_new_tank_are_right(tmp_path):
    """A person who deletes the # signs gets a folder that opens without a refusal."""
    import re

    folder = start_tank(tmp_path / "reef", "Reef", 300.0, "Europe/Berlin")
    for path in folder.glob("*.toml"):
        text = path.read_text(encoding="utf-8")
        shown = re.sub(r"(?m)^# (?=\[|\w+ = )", "", text)
        path.write_text(shown, encoding="utf-8")
    tank = open_tank(folder)
    assert not [str(p) for p in tank.problems if p.severity != "note"]
    assert tank.kits and tank.supplements and tank.standards and tank.aims
    assert tank.new_water.levels


@pytest.mark.parametrize("net_L", [0, -5, float("nan")])
def test_new_tank_needs_a_volume(tmp_path, net_L):
    with pytest.raises(InputError, match="volume"):
        start_tank(tmp_path, "Reef", net_L, "Europe/Berlin")
    with pytest.raises(InputError, match="zone"):
        start_tank(tmp_path, "Reef", 300, "Mars/Crater")
