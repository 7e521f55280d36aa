"""Changing a TOML file: comments kept, nothing made worse, two writers, and killed writers."""

from __future__ import annotations

import os
import tempfile
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.errors import InputError
from reef_calc.log import atomic
from reef_calc.log.descriptions import edit_toml
from reef_calc.log.entry import append_rows
from reef_calc.log.folder import start_tank
from reef_calc.log.tank import open_tank
from tests.folders import KITS, make_folder
from tests.log import writers

ROOT = Path(__file__).parents[2]
FILE = "standards.toml"
SODA = {"salt": "sodium carbonate", "hydrate": 0, "grams_per_L": 50}
Change = Callable[[tomlkit.TOMLDocument], None]


def set_to(value: object, *keys: str | int) -> Change:
    """Return a change that sets one value."""

    def change(document: tomlkit.TOMLDocument) -> None:
        place = document
        for key in keys[:-1]:
            place = place[key]
        place[keys[-1]] = value

    return change


def refused(folder: Path, file: str, change: Change, piece: str) -> None:
    """Assert that the change is refused with a sentence, and that the folder stays as it was."""
    before = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file() and p.suffix != ".lock"}
    with pytest.raises(InputError) as told:
        edit_toml(folder, file, change)
    assert piece in str(told.value)
    after = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file() and p.suffix != ".lock"}
    assert after == before


def test_only_the_changed_line_changes(tmp_path: Path) -> None:
    # The demo's kits hold comments, nested tables, lists of tables and long arrays.
    demo = (ROOT / "data_demo" / "classroom_reef" / "kits.toml").read_text(encoding="utf-8")
    folder = make_folder(tmp_path / "tank", kits=demo)
    edit_toml(folder, "kits.toml", set_to(54, "kit", "kit B", "tests_left"))
    new = (folder / "kits.toml").read_text(encoding="utf-8")
    assert new == demo.replace("tests_left = 55", "tests_left = 54")
    assert (folder / atomic.PREVIOUS / "kits.toml").read_text(encoding="utf-8") == demo
    assert open_tank(folder).kits["kit B"].tests_left == 54.0


def test_a_commented_file_is_filled_in_and_keeps_its_comments(tmp_path: Path) -> None:
    folder = start_tank(tmp_path / "tank", "Reef", 300.0, "Europe/Berlin")
    for file in ("kits.toml", "standards.toml", "supplements.toml", "tank.toml"):
        old = (folder / file).read_text(encoding="utf-8")
        added = {
            "kits.toml": {"kit": {"drops": {"element": "alkalinity", "kind": "meter", "unit": "dKH"}}},
            "standards.toml": {"standard": {"one": {"element": "calcium", "value": 400, "unit": "mg/L"}}},
            "supplements.toml": {"supplement": {"one": {"recipe": [SODA]}}},
            "tank.toml": {"aim": {"alkalinity": {"unit": "dKH", "low": 7.5, "aim": 8.0, "high": 8.5}}},
        }[file]  # fmt: skip
        edit_toml(folder, file, lambda document, new=added: document.update(new))
        text = (folder / file).read_text(encoding="utf-8")
        assert set(old.splitlines()) <= set(text.splitlines())
    tank = open_tank(folder)
    assert [p for p in tank.problems if p.severity != "note"] == []
    assert tank.kits and tank.standards and tank.supplements and tank.aims


@pytest.mark.parametrize("file", ["kits.toml", "standards.toml", "supplements.toml"])
def test_the_comments_are_right_once_their_signs_are_deleted(file: str, tmp_path: Path) -> None:
    folder = start_tank(tmp_path / "tank", "Reef", 300.0, "Europe/Berlin")
    lines = (folder / file).read_text(encoding="utf-8").splitlines()
    # A sentence between the lines of numbers stays a comment.
    bare = [line.removeprefix("# ") for line in lines]
    filled = [
        new if new.startswith("[") or " = " in new else old
        for old, new in zip(lines, bare, strict=True)
    ]
    (folder / file).write_text("\n".join(filled), encoding="utf-8")
    tank = open_tank(folder)
    assert [str(p) for p in tank.problems if p.severity != "note"] == []
    assert len(tank.kits) + len(tank.standards) + len(tank.supplements) == 1 + (file == "kits.toml")


def test_a_missing_file_is_begun(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    (folder / FILE).unlink()
    edit_toml(folder, FILE, lambda document: document.update({"standard": {"one": ONE}}))
    assert open_tank(folder).standards["one"].value == 8.0
    assert not (folder / atomic.PREVIOUS / FILE).exists()


@pytest.mark.parametrize("start", ["", "\ufeff"])
def test_line_ends_and_byte_order_mark_stay(start: str, tmp_path: Path) -> None:
    old = (
        start + '# müde\r\n[standard.one]\r\nelement = "calcium"\r\nvalue = 1\r\nunit = "mg/L"\r\n'
    )
    old += 'recipe = """first\r\nsecond"""\r\n'
    folder = make_folder(tmp_path / "tank", standards_toml=old.encode())
    edit_toml(folder, FILE, set_to(2, "standard", "one", "value"))
    assert (folder / FILE).read_bytes().decode() == old.replace("value = 1", "value = 2")


def test_no_change_writes_nothing(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    edit_toml(folder, FILE, lambda document: None)
    assert not (folder / atomic.PREVIOUS).exists()


TEXT = st.text(st.characters(exclude_categories=["Cs"]) | st.sampled_from("\"'\n\r\t\\#=[]"))


@given(TEXT, TEXT.filter(bool))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_every_text_comes_back_as_it_was(recipe: str, name: str) -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = make_folder(Path(place) / "tank")
        added = ONE | {"recipe": recipe}
        edit_toml(folder, FILE, lambda document: document["standard"].update({name: added}))
        table = tomllib.loads((folder / FILE).read_bytes().decode())
        assert table["standard"][name]["recipe"] == recipe
        assert name in open_tank(folder).standards


@pytest.mark.parametrize(
    ("file", "change", "piece"),
    [
        ("kits.toml", set_to(-1, "kit", "drops", "resolution"), "kits.toml, kit.drops, resolution"),
        ("kits.toml", set_to("many", "kit", "drops", "tests_left"), "needed a number, given “many”"),
        ("kits.toml", set_to(1, "kit", "drops", "samplemL"), "Nothing was written"),
        ("kits.toml", set_to({}, "kits"), "needed nothing in doubt, given “kits”. This key is"),
        ("kits.toml", set_to("x\ud800", "kit", "drops", "unit"), "Leave out unusual characters"),
        ("supplements.toml", set_to(0, "supplement", "part one", "container_L"), "container_L"),
        (FILE, set_to("grains", "standard", "eight", "unit"), "grains"),
        ("tank.toml", set_to(9, "aim", "alkalinity", "low"), "low ≤ aim ≤ high"),
        ("tank.toml", set_to(-3, "water", 0, "net_L"), "needed a number above 0, given “-3”"),
        ("tank.toml", set_to("Nowhere", "tank", "zone"), "Nowhere"),
        ("readings.csv", set_to(1, "a"), "needed one of tank.toml, kits.toml"),
        ("../tank/kits.toml", set_to(1, "a"), "needed one of tank.toml, kits.toml"),
    ],
)  # fmt: skip
def test_a_change_that_makes_the_file_worse(
    file: str, change: Change, piece: str, tmp_path: Path
) -> None:
    refused(make_folder(tmp_path / "tank"), file, change, piece)


def test_what_was_wrong_before_does_not_stop_a_change(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank", kits=KITS + '[kit.other]\nkind = "magic"\n')
    edit_toml(folder, "kits.toml", set_to(7, "kit", "drops", "tests_left"))
    assert open_tank(folder).kits["drops"].tests_left == 7.0


def test_a_file_that_is_not_toml_is_left_alone(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank", kits="[kit.drops\n")
    refused(folder, "kits.toml", set_to(1, "a"), "Repair line 1")
    folder = make_folder(tmp_path / "other", kits_toml=b"# \xff\n")
    refused(folder, "kits.toml", set_to(1, "a"), "needed TOML text in UTF-8")


def test_a_change_that_fails_writes_nothing(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    with pytest.raises(KeyError):
        edit_toml(folder, "kits.toml", set_to(1, "kit", "none", "tests_left"))
    assert not (folder / atomic.PREVIOUS).exists()
    with pytest.raises(InputError, match="needed a tank folder"):
        edit_toml(tmp_path, "tank.toml", set_to(1, "a"))


def test_the_lock_is_the_one_of_the_tables(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(atomic, "WAIT_SECONDS", 0.1)
    folder = make_folder(tmp_path / "tank")

    def both(document: tomlkit.TOMLDocument) -> None:
        with pytest.raises(InputError, match="Another program is writing there"):
            append_rows(folder, "water_changes.csv", [{"time": "2026-02-13", "litres": "40"}])

    edit_toml(folder, "kits.toml", both)


ONE = {"element": "alkalinity", "value": 8.0, "unit": "dKH"}


def write_many(folder: Path, name: str, count: int) -> None:
    """Add standards named by writer and number, one at a time, and say each acknowledged one."""
    for i in range(count):
        added = {f"{name} {i}": ONE}
        edit_toml(folder, FILE, lambda document, new=added: document["standard"].update(new))
        os.write(1, f"{name} {i}\n".encode())


def check(folder: Path, acknowledged: list[str]) -> None:
    """Raise unless file and previous copy load whole and every acknowledged change is there."""
    for path in (folder / FILE, folder / atomic.PREVIOUS / FILE):
        if path.exists():
            tomllib.loads(path.read_text(encoding="utf-8"))
    lost = set(acknowledged) - set(open_tank(folder).standards)
    if lost:
        raise ValueError(f"lost: {lost}")


def test_two_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    check(folder, writers.two_at_once("tests.log.test_descriptions", folder, 15))
    assert len(open_tank(folder).standards) == 31


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_a_writer_killed_at_any_moment_loses_nothing(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    acknowledged = writers.killed("tests.log.test_descriptions", folder, 40)
    assert len(acknowledged) > 15
    assert set(acknowledged) <= set(open_tank(folder).standards)
    edit_toml(folder, FILE, set_to(8.1, "standard", "eight", "value"))
    assert list(folder.rglob(".*.new")) == []
