"""Joins of kits are read strictly and written with everything else in the file kept."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from reef_calc.errors import InputError
from reef_calc.log.joins import Join
from reef_calc.log.joins_file import add_join, remove_join
from reef_calc.log.tank import open_tank
from tests.folders import make_folder

DAY = dt.date(2026, 5, 4)
JOIN = Join("alkalinity", DAY, "kit B", "", "kit A", "", 0.3, 0.09, "dKH", "study", "kit in use")
TEXT = """# mine
[[join]]
element = "alkalinity"  # by titration
from = 2026-05-04
kit = "kit B"
relative_to_kit = "kit A"
mean = 0.3
u = 0.09
unit = "dKH"
source = "study"
new_water_scale = "kit in use"
"""


def problems(path: Path, text: str) -> list[str]:
    tank = open_tank(make_folder(path, joins_toml=text))
    return [p.reason + " " + p.repair for p in tank.problems if p.file == "joins.toml"]


def test_a_tank_without_the_file_has_none_and_nothing_is_said(tmp_path: Path) -> None:
    tank = open_tank(make_folder(tmp_path))
    assert tank.joins == ()
    assert not [p for p in tank.problems if p.file == "joins.toml"]


def test_it_is_read_as_written(tmp_path: Path) -> None:
    assert open_tank(make_folder(tmp_path, joins_toml=TEXT)).joins == (JOIN,)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('kit = "kit B"\n', "", "the key kit"),
        ("u = 0.09\n", "", "the key u"),
        ("u = 0.09", "u = 0", "above 0"),
        ("mean = 0.3", 'mean = "0,3"', "a number"),
        ('source = "study"', 'source = "log"', "would count twice"),
        ('source = "study"', 'source = "guess"', "one of: study, log"),
        ('"kit in use"', '"new"', "one of: old kit, new kit, kit in use"),
        ('unit = "dKH"', 'unit = "PSU"', "unit"),
        ("from = 2026-05-04", "from = 2026-05-04T12:00:00", "a date"),
        ('relative_to_kit = "kit A"', 'relative_to_kit = "kit B"', "another kit"),
        ("mean = 0.3", "mean = 0.3\nmena = 0.3", "only keys"),
        ("[[join]]", "[join]", "list of tables"),
        ("[[join]]", "[[joint]]", "not known"),
        ("[[join]]", "[[join]", "TOML"),
    ],
)
def test_what_is_wrong_is_said(tmp_path: Path, old: str, new: str, words: str) -> None:
    found = problems(tmp_path, TEXT.replace(old, new, 1))
    assert len(found) == 1
    assert words in found[0]


def test_the_same_difference_twice_is_refused_also_round_a_corner(tmp_path: Path) -> None:
    third = TEXT.replace('"kit B"', '"kit C"').replace('"kit A"', '"kit B"')
    around = TEXT.replace('"kit B"', '"kit C"')
    found = problems(tmp_path / "round", TEXT + third + around)
    assert len(found) == 1
    assert "one difference twice" in found[0]
    assert problems(tmp_path / "chain", TEXT + third) == []
    calcium = around.replace('"alkalinity"', '"calcium"').replace('"dKH"', '"mg/L"')
    assert problems(tmp_path / "other", TEXT + third + calcium) == []


def test_add_and_remove_keep_comments(tmp_path: Path) -> None:
    folder = make_folder(tmp_path, joins_toml=TEXT)
    log = Join(
        "calcium", DAY, "D", "2", "D", "1", None, None, "mg/L", "log", "old kit", "one  note"
    )
    add_join(folder, log)
    tank = open_tank(folder)
    assert tank.joins == (JOIN, replace(log, note="one note"))
    text = (folder / "joins.toml").read_text()
    assert "# by titration" in text
    assert (folder / ".previous" / "joins.toml").read_text() == TEXT
    remove_join(folder, log)
    assert open_tank(folder).joins == (JOIN,)
    remove_join(folder, JOIN)
    assert open_tank(folder).joins == ()
    with pytest.raises(InputError, match="a join of the file"):
        remove_join(folder, JOIN)


def test_nothing_is_written_that_could_not_be_read(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    add_join(folder, JOIN)
    before = (folder / "joins.toml").read_bytes()
    for wrong in (JOIN, replace(JOIN, kit="kit C", unit="PSU"), replace(JOIN, kit="", lot="")):
        with pytest.raises(InputError):
            add_join(folder, wrong)
    assert (folder / "joins.toml").read_bytes() == before


def test_the_written_difference_is_rounded_by_its_uncertainty(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    add_join(folder, replace(JOIN, mean=0.31415, u=0.0893))
    [found] = open_tank(folder).joins
    assert (found.mean, found.u) == (0.314, 0.089)
