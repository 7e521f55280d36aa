"""Planning a study: what it can tell, its order, its file, its waters, and reading it back."""

from __future__ import annotations

import datetime as dt
import tomllib
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import stdtrit

from reef_calc.bench.dilutions import stated_stock
from reef_calc.compare.kit_scatter import KitScatter, difference_sd, step_to_spread
from reef_calc.compare.order_sheet import key_table, next_test, order_table, plan_study
from reef_calc.compare.study_design import (
    Design,
    default_design,
    designs_table,
    half_width,
    vials_needed,
)
from reef_calc.compare.study_levels import level_shares, levels_off_the_grid
from reef_calc.compare.study_pairs import finished_tests, pairs_from_study, studies_in_log
from reef_calc.compare.study_power import statement_chances, study_outlook
from reef_calc.compare.study_result import compare_study
from reef_calc.compare.study_waters import cups_to_mix
from reef_calc.errors import InputError
from reef_calc.log.entry import append_rows
from reef_calc.log.studies import StoredStudy, store_study, study_text
from reef_calc.log.study_files import read_study, stored_studies
from reef_calc.log.study_rows import reading_row
from reef_calc.log.tank import open_tank
from tests.folders import KITS, make_folder, reading
from tests.trust import record_check

MADE = dt.datetime(2026, 3, 1, 18, 30, tzinfo=dt.timezone(dt.timedelta(hours=1)))
ONE = KitScatter(1.0, 0.0)
FIVE = level_shares()
TWO_KITS = (
    KITS
    + """
[kit.second]
element = "alkalinity"
kind = "drop count"
unit = "dKH"
resolution = 0.1
"""
)


def study(seed: int = 7, design: Design | None = None, **parts: object) -> StoredStudy:
    given = {
        "element": "alkalinity", "unit": "dKH", "kit_a": "drops", "kit_b": "second", "usual": 8.0,
        "made": MADE, "seed": seed, "allowed": 0.5,
    }  # fmt: skip
    return plan_study("spring", design or Design(FIVE, 2), **(given | parts))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("design", "water_sd", "at_level", "away"),
    [
        (Design((1.0,), 10), 0.0, 1.01, None),
        (Design((1.0,), 10), 1.0, 1.24, None),
        (Design(FIVE, 2), 0.0, 1.03, 1.26),
        (Design(FIVE, 2), 1.0, 1.26, 1.55),
        (Design((0.5, 1.5), 5), 0.0, 1.03, 1.15),
        (Design((1.0,), 5, 2), 0.0, 1.24, None),
        (Design((1.0,), 5, 2), 1.0, 1.76, None),
        (Design((1.0,), 20), 0.0, 0.66, None),
        (Design(FIVE, 4), 0.0, 0.66, 0.81),
        (Design(FIVE, 4), 1.0, 0.81, 1.00),
        (Design(FIVE, 2, 2), 0.0, 0.73, 0.89),
        (Design(FIVE, 2, 2), 1.0, 1.03, 1.26),
        (Design((0.5, 1.5), 10), 0.0, 0.66, 0.74),
        (Design(FIVE, 6), 0.0, 0.53, 0.65),
        (Design(FIVE, 3, 2), 1.0, 0.79, 0.97),
    ],
)
def test_half_widths_of_designs(
    design: Design, water_sd: float, at_level: float, away: float | None
) -> None:
    # Expected from a simulation made elsewhere, in units of one reading's scatter (COMPUTED).
    got = half_width(design, ONE, ONE, water_sd=water_sd)
    assert got == pytest.approx(at_level, abs=0.006)
    if away is not None:
        assert half_width(design, ONE, ONE, away=0.25, water_sd=water_sd) == pytest.approx(
            away, abs=0.006
        )


def test_an_example_in_dkh() -> None:
    fine = KitScatter(0.15, 0.1)
    got = [
        half_width(Design(FIVE, waters), fine, fine, away=away)
        for waters in (2, 4)
        for away in (0.0, 0.25)
    ]
    expected = (0.15, 0.19, 0.10, 0.12)
    record_check(
        "STUDY1", "two kits: half-width of 20 and 40 tests, dKH", expected, got,
        "own simulation", "COMPUTED",
    )  # fmt: skip
    assert got == pytest.approx(expected, abs=0.01)


def test_the_interval_of_a_study_is_the_one_that_is_found() -> None:
    draw = np.random.default_rng(4)
    design = Design(FIVE, 2)
    x = np.repeat(design.levels, 2)
    found = []
    for _ in range(400):
        d = draw.normal(0.0, difference_sd(ONE, ONE), x.size)
        slope, intercept = np.polyfit(x, d, 1)
        s2 = ((d - intercept - slope * x) ** 2).sum() / (x.size - 2)
        lever = 1 / x.size + 0.25**2 / ((x - 1) ** 2).sum()
        found.append(float(stdtrit(x.size - 2, 0.975)) * np.sqrt(s2 * lever))
    planned = half_width(design, ONE, ONE, away=0.25)
    assert np.sqrt(np.mean(np.square(found))) == pytest.approx(planned, rel=0.03)


def test_chances_of_statements_against_a_simulation() -> None:
    allowed, n = 0.75, 8
    truths = np.array([0.0, 0.3, 0.75, 1.2, 2.0])
    chances = statement_chances(truths, allowed, u=n**-0.5, freedom=n - 1)
    draw = np.random.default_rng(3).normal(0.0, 1.0, (20_000, n))
    for row, truth in zip(chances.itertuples(), truths, strict=True):
        mean = truth + draw.mean(axis=1)
        half = stdtrit(n - 1, 0.975) * draw.std(axis=1, ddof=1) / np.sqrt(n)
        low, high = mean - half, mean + half
        within = (low > -allowed) & (high < allowed)
        beyond = (low > allowed) | (high < -allowed)
        differs = ~within & ~beyond & ((low > 0) | (high < 0))
        assert row.within == pytest.approx(within.mean(), abs=0.012)
        assert row.beyond == pytest.approx(beyond.mean(), abs=0.012)
        assert row.differs == pytest.approx(differs.mean(), abs=0.012)
        assert row.within + row.beyond + row.differs + row.cannot_tell == pytest.approx(1.0)


def test_levels_off_the_steps_let_the_rounding_average_out() -> None:
    step, sd, draw = 0.6, 0.15, np.random.default_rng(5)

    def coverage(levels: tuple[float, ...]) -> float:
        x = np.repeat(levels, 4)
        truth = draw.uniform(0.0, 0.6, (2000, 1))
        a = x + draw.normal(0.0, sd, (2000, x.size))
        b = np.round((x + truth + draw.normal(0.0, sd, (2000, x.size))) / step) * step
        d = b - a
        half = stdtrit(x.size - 1, 0.975) * d.std(axis=1, ddof=1) / np.sqrt(x.size)
        return float((np.abs(d.mean(axis=1) - truth[:, 0]) < half).mean())

    on_steps = tuple(round(8.0 * one / step) * step for one in FIVE)
    assert coverage(on_steps) < 0.91
    assert coverage(levels_off_the_grid(on_steps, step)) > 0.93


@settings(max_examples=50, deadline=None)
@given(st.floats(0.01, 50.0), st.integers(2, 9), st.floats(20.0, 1000.0))
def test_levels_move_by_half_a_step_and_lie_evenly_on_the_steps(
    step: float, count: int, steps_up: float
) -> None:
    wanted = [step * steps_up * (0.5 + i / count) for i in range(count)]
    moved = levels_off_the_grid(wanted, step)
    assert np.abs(np.subtract(moved, wanted)).max() <= step / 2 * (1 + 1e-6)
    phases = np.sort(np.round(np.array(moved) / step * count) % count)
    assert phases.tolist() == list(range(count))


def test_outlooks_say_what_limits_them() -> None:
    fine, coarse = KitScatter(0.15, 0.1), KitScatter(0.1, 0.5)
    some = study_outlook(default_design(20), fine, coarse, unit="dKH", allowed=0.4,
                         tests_left_a=4, names=("drops", "strip"))  # fmt: skip
    codes = [one.code for one in some.messages]
    assert codes == ["TOO_FEW_LEFT", "COARSE", "NOT_ENOUGH_TESTS"]
    assert some.messages[0].text == "The study takes 10 tests of drops; 4 are left."
    assert step_to_spread(fine, coarse) == 0.5
    small = study_outlook(default_design(20), fine, fine, unit="dKH", allowed=0.1)
    assert "finer kit" in small.messages[-1].text
    alone = study_outlook(Design((1.0,), 10), fine, fine, unit="dKH")
    assert alone.sentences[0].endswith("at the usual level, and nothing about other levels.")


def test_tests_needed_are_enough_and_not_too_many() -> None:
    fine = KitScatter(0.15, 0.1)
    for wanted in (0.1, 0.15, 0.25):
        count = vials_needed(wanted, fine, fine)
        assert count is not None
        assert half_width(default_design(count), fine, fine, away=0.25) <= wanted
        if count > 10:
            assert half_width(default_design(count - 10), fine, fine, away=0.25) > wanted


def test_the_table_of_designs_spends_no_more_than_there_is() -> None:
    for vials in (10, 12, 20, 37, 60):
        table = designs_table(vials, ONE, ONE)
        assert (table["vials"] <= vials).all()
        assert not table["half_at_level"].isna().any()


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.integers(2, 6), st.integers(1, 5), st.integers(1, 3))
def test_every_order_is_complete_and_balanced(
    seed: int, levels: int, waters: int, replicates: int
) -> None:
    design = Design(level_shares(levels), waters, replicates)
    found = study(seed, design)
    assert found == study(seed, design)
    assert len(found.tests) == design.vials == len(set(found.tests))
    assert len({cup.code for cup in found.cups}) == design.n
    table = order_table(found)
    assert table["block"].is_monotonic_increasing and "level" not in table
    for _, block in table.groupby("block"):
        held = Counter(found.cup(code).level for code in block["cup"].unique())
        assert set(held.values()) == {1} and len(held) == levels
    first = Counter(rows["kit"].iloc[0] for _, rows in table.groupby("cup"))
    assert abs(first["drops"] - first["second"]) <= 1
    # Both kits read a cup one after the other.
    numbers = table.groupby("cup")["number"]
    assert (numbers.max() - numbers.min() + 1 == 2 * replicates).all()


def test_orders_differ_and_codes_tell_nothing() -> None:
    orders = {tuple(cup.level for cup in study(seed).cups) for seed in range(20)}
    assert len(orders) > 15
    assert key_table(study())["level"].is_monotonic_increasing


def test_the_next_test_comes_in_order() -> None:
    found = study()
    done: list = []
    while (coming := next_test(found, done)) is not None:
        done.append(coming)
    assert tuple(done) == found.tests


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ({"kit_b": "drops"}, "two different kits"),
        ({"usual": None}, "the usual level"),
        ({"seed": -1}, "whole number"),
        ({"made": dt.datetime(2026, 3, 1)}, "time with its zone"),
        ({"design": Design(FIVE, 30)}, "100 cups"),
        ({"usual": 0.1, "resolution": 0.5}, "levels well above the step"),
    ],
)
def test_studies_that_cannot_be(parts: dict, said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        study(**parts)
    assert caught.value.where


@pytest.mark.parametrize("name", ["", "a/b", "../x", "ä", "x" * 41, ".hidden"])
def test_names_that_are_no_file(name: str) -> None:
    with pytest.raises(InputError, match="name of the study"):
        plan_study(
            name, Design(FIVE, 2), element="alkalinity", unit="dKH", kit_a="A", kit_b="B", usual=8.0,
            made=MADE, seed=1,
        )  # fmt: skip


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 99), st.sampled_from(["drops", 'kit "B"', "Nährstoff"]), st.booleans())
def test_every_study_comes_back(seed: int, kit: str, tank_water: bool) -> None:
    design = Design((1.0,), 4) if tank_water else Design(FIVE, 2)
    found = study(seed, design, kit_a=kit, resolution=0.3)
    back = read_study("studies/spring.toml", study_text(found).encode())
    assert StoredStudy(**{**vars(back), "file": ""}) == found
    assert "level" in tomllib.loads(study_text(found))["key"][0] or tank_water


def test_nothing_is_overwritten_and_broken_files_are_told(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank", kits=TWO_KITS)
    path = store_study(folder, study())
    assert path.read_text(encoding="utf-8").startswith("# A study of two kits")
    with pytest.raises(InputError, match="no study has yet"):
        store_study(folder, StoredStudy(**{**vars(study(8)), "name": "Spring"}))
    (folder / "studies" / "bad.toml").write_text("format = 1\nname = 3\n")
    found, problems = stored_studies(folder)
    assert [one.name for one in found] == ["spring"] and len(problems) == 1
    assert problems[0].file == "studies/bad.toml"
    with pytest.raises(InputError, match=r"tank\.toml"):
        store_study(tmp_path, study())
    open_tank(folder)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("format = 1", "format = 2", "another version"),
        ('kit_b = "second"', 'kit_b = "drops"', "another kit than kit_a"),
        ("seed = 7", "seed = 7.5", "whole number"),
        ('look = "each pair"', 'look = "often"', "each pair"),
        ("allowed = 0.5", "allowed = -1", "above 0"),
        ("seed = 7", "seed = 7\nunknown = 1", "unknown"),
        ("level = 4.0", "level = 0", "above 0"),
    ],
)
def test_a_changed_file_is_refused_in_words(old: str, new: str, said: str) -> None:
    text = study_text(study())
    assert old in text
    with pytest.raises(InputError, match=said) as caught:
        read_study("studies/spring.toml", text.replace(old, new, 1).encode())
    assert caught.value.where.startswith("studies/spring.toml")


def typed(folder: Path, found: StoredStudy, difference: float = 0.4) -> None:
    draw = np.random.default_rng(1)
    rows = []
    for number, test in enumerate(found.tests):
        level = found.cup(test.code).level or 8.0
        step = 0.5 if test.kit == "drops" else 0.1
        read = level + draw.normal(0.0, 0.1) + (difference if test.kit == "second" else 0.0)
        when = MADE + dt.timedelta(minutes=5 * number)
        rows.append(reading_row(found, test, round(read / step) * step, when, by="NJ"))
    append_rows(folder, "readings.csv", rows)


def test_a_study_goes_through_the_log_and_back(tmp_path: Path) -> None:
    folder = make_folder(
        tmp_path / "tank", kits=TWO_KITS, readings=[reading("2026-02-01T10:00", 8.0)]
    )
    found = study(resolution=0.5)
    store_study(folder, found)
    typed(folder, found)
    tank = open_tank(folder)
    assert not [one for one in tank.problems if one.severity != "note"]
    assert studies_in_log(tank) == ("spring",)
    assert finished_tests(tank, found) == found.tests
    pairs = pairs_from_study(tank, "spring")
    assert (pairs.kit_a, pairs.kit_b, pairs.n) == ("drops", "second", 10)
    assert [water.name for water in pairs.waters] == list(
        dict.fromkeys(t.code for t in found.tests)
    )
    assert [water.nominal for water in pairs.waters] == [
        found.cup(water.name).level for water in pairs.waters
    ]
    assert (pairs.resolution_a, pairs.resolution_b, pairs.dropped) == (0.5, 0.1, ())
    assert all(water.hours_apart is not None and water.hours_apart < 0.1 for water in pairs.waters)
    assert pairs.differences.mean() == pytest.approx(0.4, abs=0.2)


def test_a_study_is_judged_by_its_own_rule(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank", kits=TWO_KITS)
    found = study(resolution=0.5, allowed=1.5)
    store_study(folder, found)
    with pytest.raises(InputError, match="needed readings of the study"):
        compare_study(open_tank(folder), found)
    half = StoredStudy(**{**vars(found), "tests": found.tests[:10]})
    typed(folder, half)
    early = compare_study(open_tank(folder), found)
    assert early.verdict is None
    assert any("judged from the eighth water" in one.text for one in early.messages)
    typed(folder, StoredStudy(**{**vars(found), "tests": found.tests[10:]}))
    whole = compare_study(open_tank(folder), found)
    assert [one.level for one in whole.verdicts] == [6.0, 8.0, 10.0]
    assert whole.verdict is not None and whole.verdict.statement == "within"
    assert "96.6 %" in whole.sentence and "STOPPING" in [one.code for one in whole.messages]


def test_two_lots_of_one_kit(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank", kits=TWO_KITS)
    found = study(kit_a="second / lot S1", kit_b="second / lot S2")
    store_study(folder, found)
    rows = [
        reading_row(found, test, 8.0 if test.kit.endswith("1") else 8.3,
                    MADE + dt.timedelta(minutes=5 * number))
        for number, test in enumerate(found.tests)
    ]  # fmt: skip
    assert rows[0]["kit"] == "second" and rows[0]["lot"] in ("S1", "S2")
    append_rows(folder, "readings.csv", rows)
    tank = open_tank(folder)
    assert finished_tests(tank, found) == found.tests
    pairs = pairs_from_study(tank, "spring")
    assert pairs.n == 10 and pairs.resolution_a == 0.1
    assert pairs.differences == pytest.approx(np.full(10, 0.3))


def test_a_study_without_its_file_counts_by_level(tmp_path: Path) -> None:
    rows = [
        reading(f"2026-03-01T10:{i:02d}", value, water=f"study by hand {level}", kit=kit)
        for i, (level, kit, value) in enumerate(
            [
                ("8", "drops", 8.0),
                ("8", "second", 8.4),
                ("12", "drops", 12.0),
                ("12", "second", 12.3),
            ]
        )
    ]
    rows.append(reading("2026-03-01T11:00", 1, water="study by hand 8", kit="second", limit="<"))
    rows.append(reading("2026-03-01T11:01", 8.2, water="study by hand 8"))
    rows.append(reading("2026-03-01T11:02", 8.2, water="study other 8", kit="drops"))
    tank = open_tank(make_folder(tmp_path / "tank", kits=TWO_KITS, readings=rows))
    pairs = pairs_from_study(tank, "by hand")
    assert [(water.name, water.nominal) for water in pairs.waters] == [("8", 8.0), ("12", 12.0)]
    assert len(pairs.dropped) == 2 and "names no kit" in pairs.dropped[1]
    with pytest.raises(InputError, match="two kits to compare"):
        pairs_from_study(tank, "other")


def test_a_broken_file_of_a_study_is_told(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank", kits=TWO_KITS)
    found = study()
    path = store_study(folder, found)
    typed(folder, found)
    path.write_text("format = 9\n")
    pairs = pairs_from_study(open_tank(folder), "spring")
    assert pairs.n == 5 and "studies/spring.toml cannot be read" in pairs.dropped[0]


def test_readings_off_the_steps_are_taken_and_told(tmp_path: Path) -> None:
    rows = [
        reading(f"2026-03-01T10:{i:02d}", value, water=f"study worked {level}", kit=kit)
        for i, (level, kit, value) in enumerate(
            [
                ("8", "drops", 8.13),
                ("8", "second", 8.4),
                ("12", "drops", 12.07),
                ("12", "second", 12.3),
            ]
        )
    ]
    tank = open_tank(make_folder(tmp_path / "tank", kits=TWO_KITS, readings=rows))
    pairs = pairs_from_study(tank, "worked")
    assert pairs.n == 2 and pairs.resolution_a == 0.0
    assert "do not lie on its steps of 0.5 dKH" in pairs.dropped[0]


def test_what_goes_into_the_cups_gives_their_levels() -> None:
    found = study(usual=100.0, element="nitrate", unit="mg/L")
    stock = stated_stock("nitrate", 5000.0, "mg/L", 20.0)
    cups, cautions = cups_to_mix(found, water_level=80.0, cup_mL=200.0, solution=stock,
                                 thinning_level=2.0)  # fmt: skip
    for cup in cups:
        held = 80.0 * cup.water_mL + 2.0 * cup.thinning_mL + 5000.0 * cup.solution_mL
        assert held / 200.0 == pytest.approx(cup.level)
        assert cup.water_mL + cup.thinning_mL + cup.solution_mL == pytest.approx(200.0)
    assert any("same salinity" in one for one in cautions)
    with pytest.raises(InputError, match="solution for the levels above"):
        cups_to_mix(found, water_level=80.0, cup_mL=200.0)
    with pytest.raises(InputError, match="State its level in the unit"):
        cups_to_mix(
            found, water_level=80.0, cup_mL=200.0, solution=stated_stock("calcium", 1e4, "mg/L", 1)
        )
