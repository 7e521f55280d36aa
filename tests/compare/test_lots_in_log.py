"""Waters that lots, kits or readers have in common, found in a log."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from reef_calc import open_tank
from reef_calc.compare.lots_in_log import lots_in_log
from reef_calc.compare.movement import movement_in_log
from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import codes
from tests.folders import KITS, dose, make_tank, reading

DEMO = Path(__file__).parents[2] / "data_demo" / "classroom_reef"
TWO = (
    KITS
    + """
[kit.other]
element = "alkalinity"
kind = "meter"
unit = "dKH"
resolution = 0.1
repeatability = {sd = 0.1, from = "typed"}
"""
)


def both(day: str, a: float, b: float, after: str = "10:10", **cells: object) -> list[dict]:
    return [
        reading(f"{day}T10:00", a, kit="drops", lot="A1", **cells),
        reading(f"{day}T{after}", b, kit="other", **cells),
    ]


def three(after: str = "10:10") -> list[dict]:
    rows = both("2026-03-01", 8.0, 8.3, after) + both("2026-03-03", 7.5, 7.9, after)
    return rows + both("2026-03-05", 7.0, 7.2, after)


def test_demo_lots_hold_the_truth():
    # Lot A-2 reads 0.30 above A-1, kit B 0.35 above A-2 (data_demo/truth.toml).
    found = lots_in_log(open_tank(DEMO), "alkalinity")
    for one, other, truth in (
        ("kit A lot A-1", "kit A lot A-2", 0.30),
        ("kit A lot A-2", "kit B lot B-1", 0.35),
        ("kit A lot A-1", "kit B lot B-1", 0.65),
    ):
        row = found.table.pair(one, other)
        assert row["low"] < truth < row["high"]
    assert "KEPT_STANDARD" in codes(found.messages)
    one_kit = lots_in_log(open_tank(DEMO), "alkalinity", kit="kit A").table
    assert one_kit.groups[0].names == ("A-1", "A-2")
    assert one_kit.sentences[0].startswith("Lot A-2 reads 0.3")


def test_two_kits_within_the_hour(tmp_path):
    found = lots_in_log(make_tank(tmp_path, kits=TWO, readings=three()), "alkalinity", by="kit")
    row = found.table.pair("drops", "other")
    assert row["difference"] == pytest.approx(0.3, abs=1e-9)
    assert found.table.groups[0].waters == 3
    assert "AS_READ" in codes(found.messages)  # drops has a stored correction from 10 February
    assert found.readings["row"].tolist() == [2, 3, 4, 5, 6, 7]


def test_more_than_an_hour_apart_is_not_the_same_water(tmp_path):
    tank = make_tank(tmp_path, kits=TWO, readings=three("11:01"))
    with pytest.raises(CannotTellError, match="No water of this log was read with two kits"):
        lots_in_log(tank, "alkalinity", by="kit")
    with pytest.raises(CannotTellError):
        half = make_tank(tmp_path / "half", kits=TWO, readings=three("10:40"))
        lots_in_log(half, "alkalinity", by="kit", hours=0.5)


@pytest.mark.parametrize(
    "between",
    [
        {"water_changes": [{"time": f"2026-03-0{d}T10:05", "litres": 30} for d in (1, 3, 5)]},
        {"additions": [dose(f"2026-03-0{d}T10:05", 60, how="once") for d in (1, 3, 5)]},
        {"additions": [dose("2026-02-01T00:00", 60, times="10:05")]},
        {"additions": [dose(f"2026-03-0{d}", 60, how="once") for d in (1, 3, 5)]},
        {"water_changes": [{"time": f"2026-03-0{d}", "litres": 30} for d in (1, 3, 5)]},
    ],
)
def test_what_was_dosed_or_changed_in_between_parts_the_waters(tmp_path, between):
    tank = make_tank(tmp_path, kits=TWO, readings=three(), **between)
    with pytest.raises(CannotTellError):
        lots_in_log(tank, "alkalinity", by="kit")


def test_a_dose_that_does_not_show_leaves_the_same_water(tmp_path):
    for i, steady in enumerate(
        (
            dose("2026-02-01T00:00", 60),
            dose("2026-02-01T00:00", 1, times="10:05"),
            dose("2026-02-01T00:00", 60, times="10:05", supplement="part two"),
        )
    ):
        tank = make_tank(tmp_path / str(i), kits=TWO, readings=three(), additions=[steady])
        assert lots_in_log(tank, "alkalinity", by="kit").table.groups[0].waters == 3


def test_dates_limits_and_missing_lots_are_left_out_and_told(tmp_path):
    rows = three() + [
        reading("2026-03-07", 8.0, kit="drops", lot="A1"),
        reading("2026-03-07", 8.2, kit="other"),
        reading("2026-03-08T10:00", 8.0, kit="drops", lot="A1", limit="<"),
        reading("2026-03-09T10:00", 8.0, kit="drops"),
        reading("2026-03-09T10:01", 8.0),
    ]
    found = lots_in_log(make_tank(tmp_path, kits=TWO, readings=rows), "alkalinity")
    assert found.table.groups[0].waters == 3
    said = " ".join(found.left_out)
    assert "2 readings without an hour" in said
    assert "1 reading with a limit" in said
    assert "1 reading without a lot, though the kit has lots (row 11 of readings.csv)" in said
    assert "1 reading without a kit" in said


def test_readers_are_compared_with_one_kit_and_lot(tmp_path):
    rows = []
    for day, level in (("01", 8.0), ("03", 7.5), ("05", 7.0)):
        rows += [
            reading(f"2026-03-{day}T10:00", level, kit="other", by="NJ"),
            reading(
                f"2026-03-{day}T10:05", level + 0.2 + (day == "03") * 0.1, kit="other", by="TK"
            ),
            reading(f"2026-03-{day}T10:10", level + 5, kit="drops", lot="A1", by="HB"),
        ]
    found = lots_in_log(make_tank(tmp_path, kits=TWO, readings=rows), "alkalinity", by="person")
    assert found.table.groups[0].names == ("NJ", "TK")
    assert found.table.alone == ("HB",)
    assert "SEEN" in codes(found.messages)


def test_a_standard_links_lots_that_never_met(tmp_path):
    rows = [
        reading(f"2026-{month}-01", value + 0.1 * k, water="standard eight", kit="drops", lot=lot)
        for month, lot, value in (("03", "A1", 8.0), ("09", "A2", 8.5))
        for k in range(3)
    ]
    found = lots_in_log(make_tank(tmp_path, readings=rows), "alkalinity", kit="drops")
    assert found.table.pair("A1", "A2")["difference"] == pytest.approx(0.5, abs=1e-9)
    told = {one.code: one.text for one in found.messages}
    assert "counts as the same water from 2026-03-01 to 2026-09-01" in told["KEPT_STANDARD"]


def test_beyond_an_hour_the_movement_is_needed_and_taken_off(tmp_path):
    rows = []
    for day, level in (("01", 8.0), ("08", 7.8), ("15", 7.9)):
        late = f"{int(day) + 2:02}"
        rows += [
            reading(f"2026-03-{day}T10:00", level, kit="drops", lot="A1"),
            reading(f"2026-03-{late}T10:00", round(level - 1.6 + 0.1 * (day == "08"), 1),
                    kit="other"),
        ]  # fmt: skip
    tank = make_tank(tmp_path, kits=TWO, readings=rows)
    with pytest.raises(InputError, match="Give the movement"):
        lots_in_log(tank, "alkalinity", by="kit", hours=60)

    def falls(start: pd.Timestamp, end: pd.Timestamp) -> tuple[float, float]:
        return -1.0 * (end - start) / pd.Timedelta(days=1), 0.05

    found = lots_in_log(tank, "alkalinity", by="kit", hours=60, movement=falls)
    row = found.table.pair("drops", "other")
    assert row["difference"] == pytest.approx(0.4 + 0.1 / 3, abs=1e-9)
    assert found.readings["moved"].min() == pytest.approx(-2.0)
    assert found.readings["sd"].tolist()[:2] == pytest.approx([0.2, (0.1**2 + 0.05**2) ** 0.5])

    def unknown(start: pd.Timestamp, end: pd.Timestamp) -> tuple[float, float]:
        raise CannotTellError("not known")

    with pytest.raises(CannotTellError, match="nothing says how far the level had moved"):
        lots_in_log(tank, "alkalinity", by="kit", hours=60, movement=unknown)


def test_movement_of_the_demo_is_the_balance():
    tank = open_tank(DEMO)
    moved = movement_in_log(tank, "alkalinity", "dKH")
    start, end = (pd.Timestamp(f"2026-09-{d} 12:00", tz="UTC") for d in (14, 16))
    there, u = moved(start, end)
    back, _ = moved(end, start)
    assert there == pytest.approx(-back, abs=1e-12)
    assert 0 < u < 0.3
    with pytest.raises(CannotTellError, match="cannot be told"):
        moved(*(pd.Timestamp(f"2025-10-0{d} 12:00", tz="UTC") for d in (1, 2)))


def test_each_cup_of_a_study_is_a_water_of_its_own(tmp_path):
    rows = []
    for cup, level, off in (("K7", 8.0, 0.3), ("M2", 8.0, 0.4), ("P4", 12.0, 0.5)):
        for kit, lot, value in (("drops", "A1", level), ("other", "", level + off)):
            water = f"study spring {level:g}"
            rows.append(
                reading(
                    "2026-03-01T10:00", value, water=water, kit=kit, lot=lot, replicate=f"{cup}/1"
                )
            )
    for day, off in (("02", 0.3), ("09", 0.5)):
        for kit, lot, value in (("drops", "A1", 8.0), ("other", "", 8.0 + off)):
            water = "study spring as-it-is"
            rows.append(reading(f"2026-03-{day}", value, water=water, kit=kit, lot=lot))
    found = lots_in_log(make_tank(tmp_path, kits=TWO, readings=rows), "alkalinity", by="kit")
    assert found.table.groups[0].waters == 5
    assert found.table.pair("drops", "other")["difference"] == pytest.approx(0.4, abs=1e-9)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        ({"element": "unobtainium"}, "unobtainium"),
        ({"by": "colour"}, "lot or kit or person"),
        ({"kit": "nothing"}, "a kit of this tank"),
        ({"hours": 0.0}, "hours above 0"),
        ({"unit": "mg/L"}, "mg/L"),
    ],
)
def test_what_cannot_be_asked_is_said(tmp_path, call, said):
    tank = make_tank(tmp_path, kits=TWO, readings=three())
    with pytest.raises(InputError, match=said):
        lots_in_log(tank, **{"element": "alkalinity", **call})


def test_an_empty_log_says_so(tmp_path):
    with pytest.raises(CannotTellError, match="within an hour"):
        lots_in_log(make_tank(tmp_path), "alkalinity")
