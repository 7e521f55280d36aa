"""The invented demo: written the same every time, in the columns of the tank folder, and plausible."""

from __future__ import annotations

import csv
import dataclasses
import datetime as dt
import filecmp
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import get_args
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from reef_calc.bench.kits import Kind
from reef_calc.bench.readings import RawReading
from reef_calc.bench.results_of_kits import result_of
from reef_calc.log.tank import open_tank

DEMO = Path(__file__).resolve().parents[1] / "data_demo"
ZONE = ZoneInfo("Europe/Copenhagen")
TANKS = ("classroom_reef", "nursery")
# The columns as the tank folder defines them, written down again on purpose.
COLUMNS = {
    "readings.csv": "time water element value unit u limit upper kit lot raw replicate salinity "
    "temperature by source note",
    "additions.csv": "start end supplement amount unit how times note",
    "water_changes.csv": "time litres salinity note",
    "events.csv": "time kind element refers_to value unit note",
}
FILES = (*COLUMNS, "tank.toml", "kits.toml", "supplements.toml", "standards.toml")


def rows(tank: str, name: str) -> list[dict[str, str]]:
    with (DEMO / tank / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def toml(*parts: str) -> dict:
    return tomllib.loads(DEMO.joinpath(*parts).read_text(encoding="utf-8"))


def readings(tank: str, element: str, water: str = "tank", **wanted: str) -> list[dict[str, str]]:
    wanted |= {"element": element, "water": water}
    return [
        row
        for row in rows(tank, "readings.csv")
        if all(row[column] == text for column, text in wanted.items())
    ]


def values(chosen: list[dict[str, str]]) -> np.ndarray:
    return np.array([float(row["value"]) for row in chosen])


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("demo")
    command = [sys.executable, "-B", str(DEMO / "make_demo.py"), str(target)]
    subprocess.run(command, check=True, cwd=target, timeout=120)
    return target


def test_the_generator_writes_the_committed_files_byte_for_byte(written: Path) -> None:
    names = [f"{tank}/{name}" for tank in TANKS for name in FILES] + ["truth.toml"]
    same, different, missing = filecmp.cmpfiles(written, DEMO, names, shallow=False)
    assert (different, missing) == ([], [])
    assert sorted(same) == sorted(names)
    made = {str(path.relative_to(written)) for path in written.rglob("*") if path.is_file()}
    assert made == set(names)


@pytest.mark.parametrize("tank", TANKS)
@pytest.mark.parametrize("name", COLUMNS)
def test_tables_have_the_columns_of_the_tank_folder(tank: str, name: str) -> None:
    content = (DEMO / tank / name).read_bytes()
    assert content.decode("utf-8").splitlines()[0].split(",") == COLUMNS[name].split()
    assert b"\r" not in content
    assert all(None not in row and None not in row.values() for row in rows(tank, name))


@pytest.mark.parametrize("tank", TANKS)
def test_every_row_has_a_unit_a_described_kit_and_a_described_water(tank: str) -> None:
    kits = toml(tank, "kits.toml")["kit"]
    standards = toml(tank, "standards.toml").get("standard", {})
    for row in rows(tank, "readings.csv"):
        kit = kits[row["kit"]]
        assert (row["element"], row["unit"]) == (kit["element"], kit["unit"])
        if row["lot"]:
            lot = next(lot for lot in kit["lot"] if lot["name"] == row["lot"])
            assert lot["opened"] <= dt.date.fromisoformat(row["time"][:10]) <= lot["expires"]
        if row["water"] not in ("tank", "new water"):
            assert row["water"].removeprefix("standard ") in standards
    shelf = toml(tank, "supplements.toml")["supplement"]
    assert {row["supplement"] for row in rows(tank, "additions.csv")} == set(shelf)


@pytest.mark.parametrize("tank", TANKS)
def test_values_lie_on_the_grid_of_their_kit(tank: str) -> None:
    kits = toml(tank, "kits.toml")["kit"]
    for row in rows(tank, "readings.csv"):
        kit = kits[row["kit"]]
        if kit["kind"] == "colour steps":
            steps = [step for _, step in kit["chart"]]
            assert float(row["value"]) in steps
            if row["limit"] == "between":
                assert steps.index(float(row["upper"])) == steps.index(float(row["value"])) + 1
        else:
            share = float(row["value"]) / kit["resolution"]
            assert share == pytest.approx(round(share), abs=1e-6)


# Sea water of salinity 35: alkalinity 2.3 mmol/kg, Ca 412, Mg 1284, K 399 mg/kg times 1.0233 kg/L
# (PUBLISHED: Millero et al. 2008, reference composition); a reef's alkalinity is kept somewhat higher.
@pytest.mark.parametrize(
    ("name", "level", "step_mL"),
    [
        ("kit A", 8.0, 0.01),
        ("calcium kit", 421.0, 0.01),
        ("magnesium kit", 1314.0, 0.01),
        ("potassium kit", 408.0, 0.05),
    ],
)
def test_titrations_are_worked_out_within_their_syringe(
    name: str, level: float, step_mL: float
) -> None:
    kit, *same = [kit for tank in TANKS if (kit := open_tank(DEMO / tank).kits.get(name))]
    assert all(other.titrant == kit.titrant for other in same)

    def found(used_mL: float) -> float:
        calcium = 0.17 if kit.kind == "two titrations" else None
        return result_of(kit, RawReading(used_mL, second=calcium)).level

    capacity = kit.titrant.capacity_mL
    per_mL = (found(0.9 * capacity) - found(0.7 * capacity)) / (0.2 * capacity)
    used = 0.7 * capacity + (level - found(0.7 * capacity)) / per_mL
    assert 0.3 * capacity < used < 0.9 * capacity
    # The kit's smallest step is one division of its syringe.
    assert abs(per_mL) * step_mL == pytest.approx(kit.resolution, rel=5e-3)
    on_a_line = round(used / step_mL) * step_mL
    assert found(on_a_line) == pytest.approx(level, abs=0.51 * kit.resolution)
    if kit.kind == "two titrations":  # calcium alone took what the calcium of the same water takes
        alone = dataclasses.replace(kit, element="calcium", kind="direct titration")
        assert result_of(alone, RawReading(0.17)).level == pytest.approx(421.0, abs=10.0)


def test_kits_with_all_kinds_of_entry() -> None:
    kinds = {kit.kind for tank in TANKS for kit in open_tank(DEMO / tank).kits.values()}
    assert kinds == set(get_args(Kind))


def test_times_are_local_minutes_with_an_offset_only_in_the_repeated_hour() -> None:
    times = [row["time"] for row in rows("classroom_reef", "readings.csv")]
    with_offset = [text for text in times if len(text) > len("2025-10-01T00:00")]
    assert with_offset == ["2025-10-26T02:30+02:00", "2025-10-26T02:30+01:00"]
    moments = [dt.datetime.fromisoformat(text) for text in times]
    moments = [m if m.tzinfo else m.replace(tzinfo=ZONE) for m in moments]
    utc = [m.astimezone(dt.UTC) for m in moments]
    assert utc == sorted(utc)
    for moment in moments:  # no local time that the clocks jumped over
        assert moment.astimezone(dt.UTC).astimezone(moment.tzinfo) == moment
    first, last = dt.datetime(2025, 10, 1, tzinfo=ZONE), dt.datetime(2026, 10, 1, tzinfo=ZONE)
    assert first <= min(utc) and max(utc) < last


def test_the_nursery_is_kept_by_date_only() -> None:
    for name, column in (("readings.csv", "time"), ("additions.csv", "start")):
        assert all(len(row[column]) == 10 for row in rows("nursery", name))


def test_there_are_as_many_readings_as_the_story_says() -> None:
    tank = "classroom_reef"
    assert 120 <= len(readings(tank, "alkalinity")) <= 150
    assert 45 <= len(readings(tank, "calcium")) <= 53
    assert 8 <= len(readings(tank, "magnesium")) <= 13
    assert 7 <= len(readings(tank, "potassium")) <= 9
    assert len(readings(tank, "strontium")) == 2
    assert len(readings(tank, "iodine")) == 3
    assert not readings(tank, "magnesium", water="new water")
    july = [row for row in readings(tank, "alkalinity") if row["time"].startswith("2026-07")]
    assert 2 <= len(july) <= 5
    phosphate = readings(tank, "phosphate")
    assert 0.3 <= sum(row["limit"] == "<" for row in phosphate) / len(phosphate) <= 0.6
    assert 12 <= len(readings("nursery", "alkalinity")) <= 18
    assert len(readings("nursery", "calcium")) < 4
    assert not readings("nursery", "alkalinity", water="new water")


@pytest.mark.parametrize("tank", TANKS)
def test_levels_stay_where_animals_live(tank: str) -> None:
    # Caution levels of the tank's own aims: common practice, no source.
    aims = toml(tank, "tank.toml")["aim"]
    for element, aim in aims.items():
        read = values(readings(tank, element))
        assert read.min() >= aim.get("never_below", 0.0)
        assert read.max() <= aim.get("never_above", 3.0 * aim["high"])
        ends = toml("truth.toml")[tank].get(element, {}).get("level_month_end", {})
        for level in ends.values():
            assert aim.get("never_below", 0.0) <= level <= aim.get("never_above", np.inf)


def test_september_gives_a_review_something_to_say() -> None:
    tank = "classroom_reef"
    aims = toml(tank, "tank.toml")["aim"]
    alkalinity = readings(tank, "alkalinity")
    assert float(alkalinity[-1]["value"]) < aims["alkalinity"]["low"]
    nitrate = [r for r in readings(tank, "nitrate") if r["time"] >= "2026-09"]
    assert all(float(r["upper"] or r["value"]) == aims["nitrate"]["high"] for r in nitrate)
    for element in ("magnesium", "potassium"):
        last = float(readings(tank, element)[-1]["value"])
        assert aims[element]["low"] <= last <= aims[element]["high"]


def test_pairs_standards_and_lots_show_what_the_truth_says() -> None:
    """Within 3 standard errors of the plain means: common practice, no source."""
    tank, truth = "classroom_reef", toml("truth.toml")["classroom_reef"]
    kit_b = readings(tank, "alkalinity", kit="kit B", note="same water as kit A")
    days = {row["time"][:10] for row in kit_b}
    kit_a = [r for r in readings(tank, "alkalinity", kit="kit A") if r["time"][:10] in days]
    differences = values(kit_b) - values(kit_a)
    assert differences.size == truth["kit_difference"]["pairs"] == 8
    error = np.hypot(0.12, 0.10) / np.sqrt(8)
    assert differences.mean() == pytest.approx(
        truth["kit_difference"]["difference_dKH"], abs=3 * error
    )
    for lot, bias in truth["kit_bias_dKH"].items():
        off = [
            float(row["value"]) - level
            for bottle, level in truth["check_water_dKH"].items()
            for row in readings(tank, "alkalinity", water=f"standard {bottle}", lot=lot)
        ]
        assert len(off) >= 4
        assert np.mean(off) == pytest.approx(bias, abs=3 * 0.12 / np.sqrt(len(off)))
    step = truth["kit_bias_dKH"]["A-2"] - truth["kit_bias_dKH"]["A-1"]
    assert step == pytest.approx(truth["lot_change"]["step_dKH"])


def test_the_misread_stands_out_from_its_neighbours() -> None:
    misread = toml("truth.toml")["classroom_reef"]["misread"]
    alkalinity = readings("classroom_reef", "alkalinity")
    at = [row["time"] for row in alkalinity].index(misread["time"])
    before, wrong, after = values(alkalinity[at - 1 : at + 2])
    expected = (before + after) / 2 + misread["typed_above_read_dKH"]
    assert wrong == pytest.approx(expected, abs=0.6)


def test_the_truth_of_the_rates_is_in_step_with_the_story() -> None:
    truth = toml("truth.toml")["classroom_reef"]
    alkalinity, calcium = truth["alkalinity"], truth["calcium"]
    for key in ("use_by_month", "use_last_days"):
        for span, rate in alkalinity[key].items():
            # Calcium per alkalinity of coral aragonite is 7.055 mg/L per dKH: COMPUTED from
            # atomic weights and the Sr/Ca of Hathorne et al. 2013 (PUBLISHED).
            assert calcium[key][span] / rate == pytest.approx(7.055, rel=2e-3)
    rise = alkalinity["use_by_month"]["2026-09"] / alkalinity["use_by_month"]["2026-07"]
    assert rise == pytest.approx(truth["corals_added"]["use_multiplied_by"], abs=0.04)
    assert alkalinity["use_last_days"]["30"] == alkalinity["use_by_month"]["2026-09"]
    gap = truth["not_logged"]
    assert gap["given_dKH_per_day"] * 7 == pytest.approx(gap["given_dKH"], rel=1e-3)
    # 810 mL of 60 g/L sodium carbonate at 99.5 % in 462 L: 0.5291 dKH per gram in 100 L,
    # COMPUTED from atomic weights (CIAAW 2021).
    grams = gap["given_mL"] / 1000 * 60 * 0.995
    assert gap["given_dKH"] == pytest.approx(grams * 0.5291 * 100 / 462, rel=2e-4)
    assert truth["net_L"] == toml("classroom_reef", "tank.toml")["water"][0]["net_L"]


def level_sums(tank: str, element: str, per_mL: dict[str, float], new: float, net_L: float):
    """Return times in days with the three running sums of the balance, from the tables alone."""

    def day(text: str) -> float:
        moment = dt.datetime.fromisoformat(text)
        moment = moment if moment.tzinfo else moment.replace(tzinfo=ZONE)
        return moment.timestamp() / 86400

    happened = []
    for row in rows(tank, "additions.csv"):
        if row["supplement"] not in per_mL or row["how"] == "not logged":
            continue
        rise = float(row["amount"]) * per_mL[row["supplement"]]
        if row["how"] == "once":
            happened.append((day(row["start"]), 1, "dose", rise))
            continue
        clocks = row["times"].split(";")
        date = dt.date.fromisoformat(row["start"][:10])
        end = row["end"] or "2026-10-01T00:00"
        while date.isoformat() <= end[:10]:
            shots = [f"{date}T{clock}" for clock in clocks]
            inside = [day(text) for text in shots if row["start"] <= text < end]
            happened += [(time, 1, "dose", rise / len(clocks)) for time in inside]
            date += dt.timedelta(1)
    for row in rows(tank, "water_changes.csv"):
        happened.append((day(row["time"]), 2, "change", float(row["litres"]) / net_L))
    for row in readings(tank, element):
        happened.append((day(row["time"]), 0, row["time"], float(row["value"])))
    remains, use, dosed, sums, last = 1.0, 0.0, 0.0, [], None
    for time, _, what, amount in sorted(happened):
        use += 0.0 if last is None else time - last
        last = time
        if what == "dose":
            dosed += amount
        elif what == "change":
            remains, use = remains * (1 - amount), use * (1 - amount)
            dosed = dosed * (1 - amount) + amount * new
        else:
            sums.append((what, amount, remains, use, dosed))
    return sums


@pytest.mark.parametrize(
    ("first", "last", "months"),
    [("2025-10", "2025-12-31", ("2025-10", "2025-11", "2025-12")), ("2026-09", "2026-10", None)],
)
def test_a_plain_balance_of_the_tables_finds_the_use(first, last, months) -> None:
    """The tables hold the truth: an own balance loop and least squares, no word of the package.

    Tolerance 4 % (common practice, no source): 8 % day-to-day variation alone leaves 1.5 % on the
    mean of a month, one standard deviation.
    """
    truth = toml("truth.toml")["classroom_reef"]["alkalinity"]
    # dKH per mL in 462 L; 0.5291 and 0.3338 dKH per gram in 100 L: COMPUTED from atomic weights.
    per_mL = {
        "carbonate stock": 0.060 * 0.995 * 0.5291 * 100 / 462,
        "bicarbonate solution": 0.050 * 0.99 * 0.3338 * 100 / 462,
    }
    new = values(readings("classroom_reef", "alkalinity", water="new water")).mean()
    sums = level_sums("classroom_reef", "alkalinity", per_mL, new, 462.0)
    chosen = np.array([numbers for time, *numbers in sums if first <= time <= last])
    read, remains, use, dosed = chosen.T
    (_, rate), *_ = np.linalg.lstsq(np.column_stack([remains, -use]), read - dosed, rcond=None)
    by_month = truth["use_by_month"]
    true = np.mean([by_month[m] for m in months]) if months else truth["use_last_days"]["30"]
    assert rate == pytest.approx(true, rel=0.04)
