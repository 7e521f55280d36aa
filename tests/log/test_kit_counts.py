"""A count goes into kits.toml where it belongs; everything else stays."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from reef_calc.errors import InputError
from reef_calc.log.kit_counts import save_count
from reef_calc.log.tank import open_tank
from tests.folders import make_folder

DAY = dt.date(2026, 2, 13)
KITS = """# My kits
[kit."kit A"] # the good one
element = "alkalinity"
kind = "drop count"
unit = "dKH"
half_drop = false      # n drops mean n steps

[[kit."kit A".lot]]
name = "A-1"
opened = 2026-01-01

[kit.counted]
element = "calcium"
kind = "meter"
unit = "mg/L"
tests_left = 55 # unopened packs too
counted = 2026-01-02

"""


@pytest.mark.parametrize("name", ["kit A", "counted"])
def test_only_the_two_lines_change(tmp_path: Path, name: str) -> None:
    folder = make_folder(tmp_path, kits=KITS)
    before = (folder / "kits.toml").read_text().splitlines()
    save_count(folder, name, 40, DAY)
    after = (folder / "kits.toml").read_text().splitlines()
    for line in before:
        assert line in after or line.startswith(("tests_left", "counted"))
    for word in ("# My kits", "# the good one", "# n drops mean n steps"):
        assert any(word in line for line in after)
    kits = open_tank(folder).kits
    assert (kits[name].tests_left, kits[name].counted) == (40.0, DAY)
    assert [lot.name for lot in kits["kit A"].lots] == ["A-1"]
    other = ({"kit A", "counted"} - {name}).pop()
    assert kits[other].tests_left == (55.0 if other == "counted" else None)


@pytest.mark.parametrize(
    "head",
    [
        '[kit]\n"kit A" = {element = "pH", kind = "meter", unit = "pH"}\n',
        'kit."kit A".element = "pH"\nkit."kit A".kind = "meter"\nkit."kit A".unit = "pH"\n',
    ],
)
def test_other_ways_to_write_a_table(tmp_path: Path, head: str) -> None:
    folder = make_folder(tmp_path, kits=head)
    save_count(folder, "kit A", 3, DAY)
    kit = open_tank(folder).kits["kit A"]
    assert (kit.tests_left, kit.counted, kit.unit) == (3.0, DAY, "pH")


def test_tables_in_any_order(tmp_path: Path) -> None:
    parts = (
        '[kit.a]\nelement = "pH"\nkind = "meter"\nunit = "pH"\n',
        '[kit.b]\nelement = "pH"\nkind = "meter"\nunit = "pH"\n',
    )
    text = f'{parts[0]}[[kit.a.lot]]\nname = "1"\n{parts[1]}[[kit.b.lot]]\nname = "2"\n'
    folder = make_folder(tmp_path, kits=text)
    for name in "abab":
        save_count(folder, name, 7, DAY)
    kits = open_tank(folder).kits
    assert [(k.tests_left, [lot.name for lot in k.lots]) for k in kits.values()] == [
        (7.0, ["1"]), (7.0, ["2"]),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("kit", "tests"), [("kit A", 3.5), ("kit A", -1), ("kit A", float("nan")), ("kit Z", 3)]
)
def test_what_cannot_be_is_refused(tmp_path: Path, kit: str, tests: float) -> None:
    folder = make_folder(tmp_path, kits=KITS.partition("\n[kit.counted]")[0])
    before = (folder / "kits.toml").read_bytes()
    with pytest.raises(InputError):
        save_count(folder, kit, tests, DAY)
    assert (folder / "kits.toml").read_bytes() == before
