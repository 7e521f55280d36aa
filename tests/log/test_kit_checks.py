"""Readings of standards from the log, when to read one next, and corrections in kits.toml."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from reef_calc import open_tank
from reef_calc.bench.corrections import Correction
from reef_calc.errors import InputError
from reef_calc.log.kit_checks import kit_checks
from reef_calc.log.kit_corrections import (
    aim_for_kit,
    kit_history,
    store_correction,
    with_correction,
)
from reef_calc.log.standard_rows import kits_with_standards, standard_rows
from reef_calc.log.tank import Tank
from tests.folders import STANDARDS, make_folder, make_tank, reading

DEMO = Path(__file__).parents[2] / "data_demo" / "classroom_reef"
MORE = (
    STANDARDS
    + """
[standard.twelve]
element = "alkalinity"
value = 4.2796
unit = "meq/L"
u = 0.02

[standard.salt]
element = "calcium"
value = 400
unit = "mg/L"
"""
)
TODAY = dt.date(2026, 4, 1)


def check(day: str, value: object, standard: str = "eight", **cells: object) -> dict[str, object]:
    given: dict[str, object] = {"kit": "drops", "lot": "A1"}
    return reading(f"{day}T12:00", value, water=f"standard {standard}", **(given | cells))


def tank_of(path: Path, *rows: dict[str, object]) -> Tank:
    return make_tank(path, readings=list(rows), standards=MORE)


def test_units_are_the_kits(tmp_path: Path) -> None:
    """1 dKH is 0.35663 meq/L: 10 mg/L CaO of 56.077 g/mol, two equivalents. COMPUTED."""
    found = standard_rows(
        tank_of(tmp_path, check("2026-03-01", 2.853, unit="meq/L"), check("2026-03-02", 12.1, "twelve")),
        "drops",
    )  # fmt: skip
    assert found["read"].tolist() == pytest.approx([8.0, 12.1], abs=1e-3)
    assert found["level"].tolist() == pytest.approx([8.0, 12.0], abs=1e-3)
    assert found["level_u"].tolist() == pytest.approx([0.05, 0.02 / 0.35663], rel=1e-3)
    assert (found["aside"] == "").all()


def test_a_kilogram_of_the_standards_own_water_counts(tmp_path: Path) -> None:
    """2.853 meq/L in water of 1.02334 kg/L (35, 25 °C) is 2788 µmol/kg; the tank's salt has no say."""
    row = check("2026-03-01", 2788.0, unit="µmol/kg", salinity=35, temperature=25)
    assert standard_rows(tank_of(tmp_path, row), "drops")["read"].tolist() == pytest.approx(
        [8.0], abs=1e-3
    )


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (check("2026-03-01", 8.2, "nothing"), "has no value"),
        (check("2026-03-01", 8.2, "salt"), "is for calcium, the kit for alkalinity"),
        (check("2026-03-01", 400, "salt", element="calcium", unit="mg/L"), "a reading of calcium"),
        (check("2026-03-01", 9.0, limit="<"), "fits it"),
        (check("2026-03-01", 6.0, limit="<"), "may read low"),
        (check("2026-03-01", 9.0, limit=">"), "may read high"),
        (check("2026-03-01", 7.0, limit=">"), "fits it"),
        (check("2026-03-01", 7.5, limit="between", upper=8.5), "fits it"),
        (check("2026-03-01", 8.5, limit="between", upper=9.5), "may be off"),
        (check("2025-12-31", 8.0), "older than its lot"),
    ],
)
def test_what_stands_aside_and_why(tmp_path: Path, row: dict[str, object], words: str) -> None:
    found = kit_checks(tank_of(tmp_path, row), "drops", TODAY)
    assert words in found.rows["aside"].iloc[0]
    assert found.lots[0].bias is None
    assert found.next.headline.endswith("this kit has none that can be used.")


@pytest.mark.parametrize(
    ("cells", "day", "words"),
    [
        ({}, "2027-01-01", "Lot A1 expired on 2026-12-31."),
        ({"lot": "Z"}, "2026-03-01", "Lot Z is not described in kits.toml."),
        ({"lot": ""}, "2026-03-01", "No lot was written, and the kit has lots."),
        ({"lot": ""}, "2025-12-01", "It was read before eight was made (2026-01-01)."),
        ({}, "2026-01-01", ""),
    ],
)
def test_what_is_said_of_a_reading_in_use(
    tmp_path: Path, cells: dict[str, str], day: str, words: str
) -> None:
    found = standard_rows(tank_of(tmp_path, check(day, 8.2, **cells)), "drops")
    assert found["aside"].tolist() == [""]
    assert words in found["said"].iloc[0]
    assert bool(found["said"].iloc[0]) is bool(words)


def test_kits_with_readings_come_first(tmp_path: Path) -> None:
    tank = tank_of(
        tmp_path, check("2026-03-01", 400, "salt", element="calcium", unit="mg/L", kit="syringe",
                        lot=""),
        check("2026-03-01", 8.0, kit="ghost", lot=""),
    )  # fmt: skip
    found = kits_with_standards(tank)
    assert [(one.name, one.described, one.count) for one in found] == [
        ("syringe", True, 1), ("ghost", False, 1), ("drops", True, 0), ("laboratory", True, 0),
    ]  # fmt: skip
    for name in ("ghost", "laboratory"):
        with pytest.raises(InputError, match=r"kits\.toml"):
            kit_checks(tank, name, TODAY)


def test_the_demonstration_gives_its_truth_back() -> None:
    """The truth beside the demo: A-1 reads 0.25 low, A-2 0.05 high, B-1 0.40 high."""
    tank = open_tank(DEMO)
    for kit, lot, truth, shown in (
        ("kit A", "A-1", -0.25, True), ("kit A", "A-2", 0.05, False), ("kit B", "B-1", 0.40, True),
    ):  # fmt: skip
        found = kit_checks(tank, kit, dt.date(2026, 10, 1)).lot(lot)
        assert found is not None and found.bias is not None
        half = found.bias.forms[0].t * found.bias.u
        assert abs(found.bias.difference - truth) < half
        assert found.bias.enough_to_correct is shown
        assert all(chart.holds_still for chart in found.charts)


@pytest.mark.parametrize(
    ("last", "today", "words"),
    [
        ([], TODAY, "this kit has none yet"),
        (["2026-03-20"], TODAY, "lot A1 is in use and was read on one only once"),
        (["2026-03-20", "2026-03-21"], TODAY, "Next standard: by 2026-04-18."),
        (["2026-03-03", "2026-03-04"], TODAY, "Next standard: today."),
        (["2026-03-01", "2026-03-02"], TODAY, "due since 2026-03-30 (2 days)"),
        (["2026-03-01", "2026-03-02"], dt.date(2026, 9, 1), "last used on 2026-03-31"),
    ],
)
def test_when_to_read_the_next(tmp_path: Path, last: list[str], today: dt.date, words: str) -> None:
    rows = [check(day, 8.0) for day in last]
    rows.append(reading("2026-03-31T18:00", 8.0, kit="drops", lot="A1"))
    assert words in kit_checks(tank_of(tmp_path, *rows), "drops", today).next.headline


def test_a_new_lot_without_a_standard_is_told(tmp_path: Path) -> None:
    rows = [check(day, 8.0) for day in ("2026-03-20", "2026-03-21")]
    rows.append(reading("2026-03-31T18:00", 8.0, kit="drops", lot="B2"))
    found = kit_checks(tank_of(tmp_path, *rows), "drops", TODAY)
    assert "lot B2 is in use and has not been read on a standard" in found.next.headline
    assert any("Drift cannot be told yet" in why for why in found.next.why)


def offset(start: dt.date = dt.date(2026, 3, 1), lot: str = "A1", by: float = -0.3) -> Correction:
    return Correction(start, lot, by, 1.0, 0.1, "eight", "offset")


def test_a_correction_is_stored_and_comments_stay(tmp_path: Path) -> None:
    folder = make_folder(
        tmp_path / "tank", readings=[reading("2026-03-05T18:00", 8.1, kit="drops", lot="A1")]
    )
    kits = folder / "kits.toml"
    kits.write_text("# mine\n" + kits.read_text(encoding="utf-8"), encoding="utf-8")
    tank = open_tank(folder)
    previewed = kit_history(with_correction(tank, "drops", offset()), tank.kits["drops"])
    store_correction(folder, tank.kits["drops"], offset())
    again = open_tank(folder)
    assert kits.read_text(encoding="utf-8").startswith("# mine\n")
    assert len(again.kits["drops"].corrections) == 2
    stored = kit_history(again, again.kits["drops"])
    columns = ["level", "corrected", "corrected_u", "correction"]
    assert stored[columns].values.tolist() == previewed[columns].values.tolist()
    assert stored["corrected"].tolist() == pytest.approx([7.8])
    assert tank.readings["level"].tolist() == again.readings["level"].tolist()


def test_what_cannot_be_stored(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank")
    drops = open_tank(folder).kits["drops"]
    before = (folder / "kits.toml").read_bytes()
    for bad, words in (
        (offset(dt.date(2026, 2, 10)), "one correction a day and lot"),
        (offset(lot="nowhere"), "Describe the lot"),
        (Correction(dt.date(2026, 3, 1), "A1", 0.0, 0.0, 0.1, "", "factor"), "above 0"),
        (Correction(dt.date(2026, 3, 1), "A1", float("nan"), 1.0, 0.1, "", "offset"), "numbers"),
    ):
        with pytest.raises(InputError, match=words):
            store_correction(folder, drops, bad)
        assert (folder / "kits.toml").read_bytes() == before
    store_correction(folder, drops, offset())
    with pytest.raises(InputError, match="one correction a day"):  # another page was faster
        store_correction(folder, drops, offset(by=-0.2))


def test_a_stored_correction_is_weighed(tmp_path: Path) -> None:
    """8.4 read on 8.0 with the factor 0.95 of the folder: 7.98, which is right. COMPUTED."""
    rows = [check(day, 8.4) for day in ("2026-03-01", "2026-03-02", "2026-03-03")]
    stored = kit_checks(tank_of(tmp_path, *rows), "drops", TODAY).stored["A1"]
    assert stored is not None
    assert stored.left == pytest.approx(-0.02)
    assert stored.puts_right


def test_aims_come_in_the_kits_unit(tmp_path: Path) -> None:
    tank = tank_of(tmp_path)
    assert aim_for_kit(tank, tank.kits["drops"]) == (7.5, 8.0, 8.5)
