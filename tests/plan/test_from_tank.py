"""From a tank folder to the question of a plan: levels, uses, limits, supplements, water changes."""

from __future__ import annotations

import datetime as dt
import functools
import math
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.balance.additions import addition_history
from reef_calc.balance.consumption import estimate_consumption
from reef_calc.balance.moved_on import moved_on
from reef_calc.chem.supplements import Supplement, supplement_from_table
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.description import Aim, Water
from reef_calc.log.example import example_tank
from reef_calc.log.tank import Tank
from reef_calc.messages import codes
from reef_calc.plan.dissolved_salt import salt_brought
from reef_calc.plan.dose_sizes import dose_limit
from reef_calc.plan.doses_set import still_arriving
from reef_calc.plan.from_tank import plan_problem, tank_question
from reef_calc.plan.limits import largest_rise, level_limits
from reef_calc.plan.problem import ElementToPlan, PlanProblem
from reef_calc.plan.supplements_of_tank import effect_on
from reef_calc.plan.wishes import PlanWishes, WaterChanges
from tests.folders import SUPPLEMENTS, dose, make_tank, reading
from tests.tank_cases import LIMITS, changes, quiet, series
from tests.trust import published_checks

START = "2026-04-01"
WATER = Water(dt.datetime(2026, 1, 1, tzinfo=dt.UTC), 300.0, 9.0, 35.0, 25.0, 500.0)


@functools.cache
def quiet_tank() -> Tank:
    """Return one tank for all tests that change nothing: its estimates are worked out once."""
    with tempfile.TemporaryDirectory() as place:
        return make_tank(Path(place) / "tank", **quiet())


def tank_of(path: Path, **parts: Any) -> Tank:
    return make_tank(path / "tank", **quiet(**parts)) if parts else quiet_tank()


def question(tank: Tank, wishes: PlanWishes | None = None, days: int = 30) -> Any:
    return tank_question(tank, days, START, wishes=wishes)


def text_of(messages: Any, code: str) -> str:
    return next(m.text for m in messages if m.code == code)


def one(problem: PlanProblem, name: str) -> ElementToPlan:
    return problem.elements[problem.element(name)]


# ---------------------------------------------------------------- level and use


def test_the_level_is_brought_forward_as_the_balance_does(tmp_path: Path) -> None:
    tank = tank_of(tmp_path)
    found = question(tank)
    use = estimate_consumption(tank, "alkalinity")
    moved = moved_on(tank, use, found.at)
    assert moved is not None
    kh = one(found.problem, "alkalinity")
    assert (kh.start, kh.u_start) == pytest.approx((moved.level, moved.u))
    assert kh.use == use.rate
    assert kh.u_use == pytest.approx((use.high - use.low) / 2 / 1.959964, rel=1e-6)
    assert 0.0 < kh.u_day < kh.use


def test_what_is_set_now_is_what_the_balance_counts(tmp_path: Path) -> None:
    tank = tank_of(tmp_path)
    found = question(tank)
    history = addition_history(tank, "alkalinity", "dKH", found.at)
    given_now = float(history.steps.iloc[-1]["rate"])
    by_plan = sum(s.effect.get("alkalinity", 0.0) * s.set_now for s in found.problem.supplements)
    assert by_plan == pytest.approx(given_now, rel=1e-12)


def test_a_typed_use_and_level_go_before_the_readings(tmp_path: Path) -> None:
    wishes = PlanWishes(uses={"alkalinity": (0.7, None)}, levels={"Alkalinity": (7.1, 0.2)})
    found = question(tank_of(tmp_path), wishes)
    kh = one(found.problem, "alkalinity")
    assert (kh.start, kh.u_start, kh.use, kh.u_use) == (7.1, 0.2, 0.7, pytest.approx(0.175))
    assert "25 %" in text_of(found.messages, "USE_SPREAD_TAKEN")


def test_without_a_use_an_element_is_only_reported_and_its_container_stays(tmp_path: Path) -> None:
    found = question(tank_of(tmp_path, readings=series(2, "2026-03-28", 2)))
    kh = one(found.problem, "alkalinity")
    assert kh.aim is None and found.problem.supplements == ()
    assert list(found.kept) == ["part one"]
    # It is drawn as if as much were used as the container brings, and nobody knows how much.
    assert kh.use == pytest.approx(kh.arriving[0]) and kh.u_use == pytest.approx(kh.use / 3**0.5)
    assert {"NO_USE", "KEPT"} <= set(codes(found.messages))
    assert "60 mL a day" in text_of(found.messages, "KEPT")


def test_a_slow_container_that_stays_brings_the_same_on_every_day(tmp_path: Path) -> None:
    slow = SUPPLEMENTS.replace("}}\n", "}}\nlag_days = 1.5\n", 1)
    few = series(2, "2026-03-28", 2)
    found = question(tank_of(tmp_path, readings=few, supplements=slow))
    assert list(found.kept) == ["part one"]
    kh = one(found.problem, "alkalinity")
    # What was given before runs out as what is given now begins to show: use and supply are alike,
    # but for the first days, which the balance spreads by the hour and the plan by the day.
    assert sum(kh.arriving) == pytest.approx(30 * kh.use, rel=1e-9)
    assert kh.arriving == pytest.approx([kh.use] * 30, rel=0.2)
    assert kh.arriving[3:] == pytest.approx([kh.use] * 27, rel=1e-9)


def test_a_reading_of_the_first_day_does_not_count_before_it(tmp_path: Path) -> None:
    few = series(2, "2026-03-28", 2)
    later = reading(f"{START}T12:00", "11.0")
    before, after = (
        one(question(tank_of(tmp_path / name, readings=rows)).problem, "alkalinity")
        for name, rows in (("a", few), ("b", [*few, later]))
    )
    assert (after.start, after.u_start) == (before.start, before.u_start)


def test_calcium_goes_by_the_use_of_alkalinity_where_its_own_is_not_known(tmp_path: Path) -> None:
    once = reading("2026-03-30T18:00", 410, element="calcium", unit="mg/L", kit="syringe")
    found = question(tank_of(tmp_path, readings=[*series(), once]))
    kh, calcium = one(found.problem, "alkalinity"), one(found.problem, "calcium")
    # K03: coral aragonite takes 7.055 mg/L of calcium with each dKH.
    assert calcium.use == pytest.approx(7.055 * kh.use, rel=1e-3)
    assert calcium.u_use > 0.0 and calcium.aim is not None
    assert "what skeletons take" in text_of(found.messages, "USE_FROM_ALKALINITY")


def test_an_element_nobody_read_is_left_out_with_words(tmp_path: Path) -> None:
    found = question(tank_of(tmp_path))
    assert "calcium" not in {e.name for e in found.problem.elements}
    assert text_of(found.messages, "TEST_FIRST").startswith("Calcium is left out")


def test_a_reading_beyond_the_kit_is_no_level(tmp_path: Path) -> None:
    last = reading("2026-03-31T18:00", 15, limit=">", kit="drops")
    found = question(tank_of(tmp_path, readings=[*series(14), last]))
    assert "above what the kit can read" in text_of(found.messages, "BEYOND_LIMIT")


def test_an_old_reading_is_said_and_less_certain(tmp_path: Path) -> None:
    tank = tank_of(tmp_path)
    soon = tank_question(tank, 7, "2026-04-01")
    late = tank_question(tank, 7, "2026-05-20")
    assert one(late.problem, "alkalinity").u_start > 3 * one(soon.problem, "alkalinity").u_start
    assert "Test it before you follow" in text_of(late.messages, "OLD_READING")
    assert "OLD_READING" not in [m.code for m in soon.messages if m.text.startswith("Alkalinity")]


def test_a_surprising_last_reading_gives_half_of_the_correction(tmp_path: Path) -> None:
    odd = [*series(15), reading("2026-03-31T18:00", 6.4, kit="drops", lot="A1")]
    found = question(tank_of(tmp_path, readings=odd))
    assert found.problem.halve_first
    assert "half of the correction" in text_of(found.messages, "SURPRISE")
    assert not question(tank_of(tmp_path / "calm")).problem.halve_first


# ---------------------------------------------------------------- aims and limits


def test_no_rise_beyond_what_any_tank_should_be_given(tmp_path: Path) -> None:
    fast = LIMITS.replace("rise_per_day = 0.5", "rise_per_day = 3.0")
    found = question(tank_of(tmp_path, tank=fast))
    assert one(found.problem, "alkalinity").rise_per_day == pytest.approx(1.0)
    assert "3 dKH a day" in text_of(found.messages, "RISE_CUT")
    slow = question(tank_of(tmp_path / "b"), PlanWishes(rise_per_day={"alkalinity": 0.2}))
    assert one(slow.problem, "alkalinity").rise_per_day == 0.2


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(["alkalinity", "calcium", "magnesium", "potassium", "strontium", "nitrate"]),
    st.floats(1e-3, 1e4),
)
def test_the_rise_is_never_above_the_limit_and_never_above_the_wish(name: str, wish: float) -> None:
    unit = "dKH" if name == "alkalinity" else "mg/L"
    found = level_limits(name, unit, None, PlanWishes(rise_per_day={name: wish}))
    assert found.rise_per_day <= largest_rise(name, unit) * (1 + 1e-6)
    assert found.rise_per_day <= wish * (1 + 1e-12)


def test_limits_do_not_depend_on_the_unit() -> None:
    # 1 meq/L = 2.80387 dKH (definition: 10 mg/L CaO, molar masses of CIAAW 2021).
    in_meq = level_limits("alkalinity", "meq/L", Aim("meq/L", 2.7, 2.85, 3.0), PlanWishes())
    in_dkh = level_limits("alkalinity", "dKH", Aim("dKH", 7.5, 8.0, 8.5), PlanWishes())
    assert in_meq.rise_per_day * 2.80387 == pytest.approx(in_dkh.rise_per_day, rel=1e-4)
    assert in_meq.ceiling * 2.80387 == pytest.approx(in_dkh.ceiling, rel=1e-4)


def test_aims_beyond_caution_need_a_second_word(tmp_path: Path) -> None:
    tank = tank_of(tmp_path)
    high = {"alkalinity": (11.0, 12.0, 13.0)}
    refused = question(tank, PlanWishes(aims=high))
    assert one(refused.problem, "alkalinity").aim is None
    message = next(m for m in refused.messages if m.code == "CAUTION_LEVEL")
    assert message.kind == "refused" and "12 dKH" in message.text
    confirmed = question(tank, PlanWishes(aims=high, confirmed=("alkalinity",)))
    kh = one(confirmed.problem, "alkalinity")
    assert (kh.aim, kh.ceiling) == (12.0, 13.0)


def test_aims_no_water_can_have_are_refused_even_when_confirmed(tmp_path: Path) -> None:
    wishes = PlanWishes(aims={"alkalinity": (20.0, 30.0, 40.0)}, confirmed=("alkalinity",))
    found = question(tank_of(tmp_path), wishes)
    assert one(found.problem, "alkalinity").aim is None
    assert "AIMS_IMPOSSIBLE" in codes(found.messages)


def test_an_element_without_a_known_rise_is_not_corrected() -> None:
    found = level_limits("boron", "mg/L", Aim("mg/L", 4.0, 4.5, 5.0), PlanWishes())
    assert found.aim is None and "rise_per_day" in found.messages[0].text


def test_an_aim_that_readings_cannot_tell_from_the_level_is_held(tmp_path: Path) -> None:
    tank = tank_of(tmp_path)
    typed = PlanWishes(levels={"alkalinity": (7.9, 0.1)})
    held = question(tank, typed)
    assert one(held.problem, "alkalinity").aim == 7.9
    assert "HELD" in codes(held.messages)
    asked = PlanWishes(levels=typed.levels, aims={"alkalinity": (7.5, 8.0, 8.5)})
    assert one(question(tank, asked).problem, "alkalinity").aim == 8.0
    far = PlanWishes(levels={"alkalinity": (7.6, 0.5)})
    assert one(question(tank, far).problem, "alkalinity").aim == 8.0


def test_aims_per_kilogram_are_said_not_guessed(tmp_path: Path) -> None:
    aims = LIMITS.partition("[aim.alkalinity]")[0]
    aims += '[aim.alkalinity]\nunit = "µmol/kg"\nlow = 2600\naim = 2800\nhigh = 3000\n'
    found = question(tank_of(tmp_path, tank=aims))
    assert "Write the aims in dKH" in text_of(found.messages, "PER_KILOGRAM")


def test_a_log_that_does_not_say_what_is_dosed(tmp_path: Path) -> None:
    gap = dose("2026-03-30T00:00", "", how="not logged", unit="")
    found = question(tank_of(tmp_path, additions=[dose("2026-02-20", "60"), gap]))
    assert not found.now["part one"].logged
    assert "DOSE_NOT_LOGGED" in codes(found.messages)


# ---------------------------------------------------------------- supplements


def test_a_balanced_pair_leaves_the_salt_of_k09() -> None:
    """K09: 1 dKH as bicarbonate with calcium chloride leaves 20.843 mg/L of sodium chloride."""
    soda = supplement_from_table(
        "soda", {"recipe": [{"salt": "sodium hydrogen carbonate", "grams_per_L": 50.0}]}
    )
    lime = supplement_from_table(
        "lime", {"recipe": [{"salt": "calcium chloride", "hydrate": 2, "grams_per_L": 80.0}]}
    )
    meq = 0.3566504  # 1 dKH
    a = meq / soda.adds["alkalinity"]
    b = meq / 2 * 40.078 / lime.adds["calcium"]
    left = a * salt_brought(soda).left_mg + b * salt_brought(lime).left_mg
    row = published_checks()["K09"]
    assert left == pytest.approx(float(row.expected.split()[0]), rel=float(row.tolerance))
    # What salinity counts, less bicarbonate and calcium taken out again, is the same salt.
    whole = a * salt_brought(soda).whole_mg + b * salt_brought(lime).whole_mg
    assert whole - meq * 61.0168 - meq / 2 * 40.078 == pytest.approx(left, rel=1e-4)


def test_carbonate_and_bicarbonate_leave_the_same_salt_for_the_same_alkalinity() -> None:
    both = [
        supplement_from_table("s", {"recipe": [{"salt": salt, "hydrate": 0, "grams_per_L": 50.0}]})
        for salt in ("sodium carbonate", "sodium hydrogen carbonate")
    ]
    one_, other = ((salt_brought(s), s.adds["alkalinity"]) for s in both)
    assert one_[0].left_mg / one_[1] == pytest.approx(other[0].left_mg / other[1])
    assert one_[0].whole_mg / one_[1] == pytest.approx(other[0].whole_mg / other[1])


def test_a_label_is_balanced_by_sodium_or_chloride() -> None:
    bottle = salt_brought(Supplement("bottle", {"alkalinity": 1.0}))
    assert bottle.left_mg == pytest.approx(22.99, rel=1e-4) and "sodium" in bottle.assumed
    # A calcium chloride bottle leaves what the recipe leaves.
    lime = supplement_from_table(
        "lime", {"recipe": [{"salt": "calcium chloride", "hydrate": 2, "grams_per_L": 80.0}]}
    )
    label = salt_brought(Supplement("lime", {"calcium": lime.adds["calcium"]}))
    assert label.left_mg == pytest.approx(salt_brought(lime).left_mg, rel=1e-4)


def test_single_doses_keep_to_half_a_dkh_and_hydroxide_to_a_fifth() -> None:
    table = {"recipe": [{"salt": "sodium hydroxide", "grams_per_L": 40.0}]}
    strong = supplement_from_table("hydroxide", table)
    effect, _ = effect_on(strong, {"alkalinity": "dKH"}, WATER)
    assert dose_limit(strong, WATER.net_L) * effect["alkalinity"] == pytest.approx(0.2)
    soda = Supplement("soda", {"alkalinity": 1.0})
    effect, _ = effect_on(soda, {"alkalinity": "dKH"}, WATER)
    assert dose_limit(soda, WATER.net_L) * effect["alkalinity"] == pytest.approx(0.5)
    assert math.isinf(dose_limit(Supplement("c", {"calcium": 9.0}), 300.0))


TWO = SUPPLEMENTS + (
    '\n[supplement."spare"]\nlabel = {amount = 10, unit = "mL", litres = 100, '
    'raises = {alkalinity = "1 dKH"}}\nlimits = {mL_per_day = 50, mL_per_dose = 9, step_mL = 0.5}\n'
)


def test_what_is_in_use_comes_first_then_the_folder_then_the_wishes(tmp_path: Path) -> None:
    spare = '[supplement."first in the file"]\n' + TWO.split("[supplement.")[3].partition("\n")[2]
    more = Supplement("later", {"alkalinity": 0.1})
    found = question(tank_of(tmp_path, supplements=spare + SUPPLEMENTS), PlanWishes(extra=(more,)))
    names = [s.name for s in found.problem.supplements]
    assert names == ["part one", "first in the file", "later"]


def test_limits_of_the_folder_and_of_the_wishes_the_stricter_wins(tmp_path: Path) -> None:
    tank = tank_of(tmp_path, supplements=TWO)
    wishes = PlanWishes(
        most_per_day={"spare": (20.0, "what evaporates"), "part one": (500.0, "")},
        stock={"spare": 700.0},
        most_doses=4,
    )
    found = {s.name: s for s in question(tank, wishes).problem.supplements}
    spare = found["spare"]
    assert (spare.most_per_day, spare.why_most) == (20.0, "what evaporates")
    assert (spare.most_per_dose, spare.step, spare.stock, spare.most_doses) == (9.0, 0.5, 700.0, 4)
    loose = PlanWishes(most_per_day={"spare": (90.0, "hope")})
    found = {s.name: s for s in question(tank, loose).problem.supplements}
    assert (found["spare"].most_per_day, found["part one"].most_per_day) == (50.0, math.inf)


def test_what_is_not_allowed_is_taken_as_stopped_and_said(tmp_path: Path) -> None:
    found = question(tank_of(tmp_path, supplements=TWO), PlanWishes(allowed=("spare",)))
    spare, part_one = found.problem.supplements
    assert (spare.name, spare.set_now) == ("spare", 0.0)
    # It stays in the question with nothing to give, so that today's dose is known and set to 0.
    assert (part_one.name, part_one.set_now, part_one.most_per_day) == ("part one", 60.0, 0.0)
    assert "part one is set to 60 mL a day" in text_of(found.messages, "STOPPED")
    only = question(tank_of(tmp_path / "b", supplements=TWO), PlanWishes(only_in_use=True))
    assert [s.name for s in only.problem.supplements] == ["part one"]


def test_doses_by_hand_are_what_is_set_now(tmp_path: Path) -> None:
    by_hand = [dose(f"2026-03-{day:02d}T12:00", "14", how="once") for day in range(5, 32, 2)]
    found = question(tank_of(tmp_path, additions=by_hand))
    assert found.now["part one"].by_hand
    assert found.now["part one"].amount == pytest.approx(14 * 14 / 28)


def test_delayed_alkalinity_that_is_still_on_its_way_is_counted(tmp_path: Path) -> None:
    slow = SUPPLEMENTS.replace("}}\n", "}}\nlag_days = 1.5\n", 1)
    found = question(tank_of(tmp_path, supplements=slow))
    kh = one(found.problem, "alkalinity")
    (part_one,) = found.problem.supplements
    assert part_one.lag_days == 1.5
    # A standing dose with mean delay L has L days of itself still to come.
    assert sum(kh.arriving) == pytest.approx(1.5 * 60.0 * part_one.effect["alkalinity"], rel=1e-9)
    assert still_arriving(tank_of(tmp_path / "b"), "alkalinity", "dKH", found.at, 5) == ()


# ---------------------------------------------------------------- water changes and salinity


def test_regular_changes_go_on_in_their_rhythm(tmp_path: Path) -> None:
    found = question(tank_of(tmp_path))  # every 7 days, the last on 31 March
    changed = np.flatnonzero(found.problem.exchanged)
    assert changed.tolist() == [6, 13, 20, 27]
    assert found.problem.exchanged[6] == pytest.approx(0.1)


def test_changes_as_wished_and_none(tmp_path: Path) -> None:
    tank = tank_of(tmp_path)
    wishes = PlanWishes(water_changes=WaterChanges(60.0, 10, dt.date(2026, 4, 3)))
    assert np.flatnonzero(question(tank, wishes).problem.exchanged).tolist() == [2, 12, 22]
    none = PlanWishes(water_changes=WaterChanges(0.0))
    assert not any(question(tank, none).problem.exchanged)
    early = PlanWishes(water_changes=WaterChanges(60.0, 10, dt.date(2026, 3, 25)))
    assert np.flatnonzero(question(tank, early).problem.exchanged).tolist() == [3, 13, 23]
    with pytest.raises(InputError, match="less than the 300 L"):
        question(tank, PlanWishes(water_changes=WaterChanges(300.0)))


def test_changes_that_stopped_are_not_invented(tmp_path: Path) -> None:
    stopped = question(tank_of(tmp_path, water_changes=changes(3)))
    assert not any(stopped.problem.exchanged)
    assert "the last one was" in text_of(stopped.messages, "NO_CHANGES")
    never = question(tank_of(tmp_path / "b", water_changes=[]))
    assert "none is logged" in text_of(never.messages, "NO_CHANGES")


def test_unknown_new_water_is_the_tank_itself_and_said(tmp_path: Path) -> None:
    found = question(tank_of(tmp_path))
    kh = one(found.problem, "alkalinity")
    assert kh.new_water == kh.start and kh.u_new_water > 0.0
    assert "Test the new water once" in text_of(found.messages, "NEW_WATER_UNKNOWN")
    label = LIMITS + '\n[new_water]\nalkalinity = {value = 9.0, unit = "dKH", u = 0.4}\n'
    kh = one(question(tank_of(tmp_path / "b", tank=label)).problem, "alkalinity")
    assert (kh.new_water, kh.u_new_water) == (9.0, 0.4)


def test_salinity_is_reported_with_its_upper_aim_as_ceiling(tmp_path: Path) -> None:
    salt = LIMITS + '\n[aim.salinity]\nunit = "PSU"\nlow = 34\naim = 35\nhigh = 36\n'
    found = question(tank_of(tmp_path, tank=salt))
    psu = one(found.problem, "salinity")
    assert (psu.start, psu.aim, psu.ceiling) == (35.0, None, 36.0)
    high = reading("2026-03-31T18:00", 36.4, element="salinity", unit="PSU")
    found = question(tank_of(tmp_path / "b", tank=salt, readings=[*series(), high]))
    assert one(found.problem, "salinity").ceiling is None
    assert "Bring it down first" in text_of(found.messages, "SALINITY_HIGH")


# ---------------------------------------------------------------- bad input


def test_the_example_needs_no_folder_of_ones_own() -> None:
    problem, messages = plan_problem(example_tank(), 10)
    assert problem.days == 10 and messages[0].code == "START"


@pytest.mark.parametrize("days", [0, -3, 2.5, True, 5 * 365, "30"])
def test_a_span_that_cannot_be_planned(days: Any) -> None:
    with pytest.raises(InputError, match="whole days"):
        plan_problem(example_tank(), days)


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"aims": {"alkalinity": (8.0, 7.0, 9.0)}}, "low ≤ aim ≤ high"),
        ({"aims": {"alkalinity": (-1.0, 7.0, 9.0)}}, "none below 0"),
        ({"aims": {"unobtainium": (1.0, 2.0, 3.0)}}, "name of an element"),
        ({"aims": {"pH": (8.0, 8.2, 8.3)}}, "dose can raise"),
        ({"uses": {"alkalinity": (math.nan, None)}}, "numbers"),
        ({"uses": {"alkalinity": (1.0, -0.1)}}, "0 or more"),
        ({"uses": {"salinity": (1.0, None)}}, "used up"),
        ({"levels": {"alkalinity": (-0.1, 0.1)}}, "0 or more"),
        ({"rise_per_day": {"alkalinity": 0.0}}, "above 0"),
        ({"fall_per_day": {"alkalinity": -1.0}}, "above 0"),
        ({"most_per_day": {"part one": (-1.0, "")}}, "0 or more"),
        ({"stock": {"part one": -5.0}}, "0 or more"),
        ({"most_doses": 0}, "doses a day"),
        ({"most_doses": 25}, "doses a day"),
        ({"confirmed": ("kryptonite",)}, "name of an element"),
    ],
)
def test_wishes_that_cannot_be(wish: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        PlanWishes(**wish)


@pytest.mark.parametrize("wish", [(-1.0, 7), (10.0, 0), (10.0, 1.5), (math.nan, 7)])
def test_water_changes_that_cannot_be(wish: tuple[Any, Any]) -> None:
    with pytest.raises(InputError):
        WaterChanges(*wish)


def test_names_that_are_not_there(tmp_path: Path) -> None:
    tank = tank_of(tmp_path)
    with pytest.raises(InputError, match="one of part one"):
        question(tank, PlanWishes(allowed=("part nine",)))
    with pytest.raises(InputError, match="name of its own"):
        question(tank, PlanWishes(extra=(Supplement("part one", {"alkalinity": 1.0}),)))


def test_a_tank_without_any_reading(tmp_path: Path) -> None:
    tank = make_tank(tmp_path / "new")
    with pytest.raises(CannotTellError, match="no reading"):
        plan_problem(tank)


def test_rows_that_could_not_be_read_are_named(tmp_path: Path) -> None:
    bad = [dose("2026-02-20", "60"), dose("2026-03-20", "sixty")]
    found = question(tank_of(tmp_path, additions=bad))
    assert "additions.csv, row 3" in text_of(found.messages, "ROWS_REFUSED")


def test_a_plan_begins_on_a_local_day(tmp_path: Path) -> None:
    far = tank_of(tmp_path, zone="Pacific/Auckland")
    found = question(far)
    assert found.at == pd.Timestamp("2026-03-31 11:00", tz="UTC")
