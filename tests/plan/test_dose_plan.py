"""The dosing plan of a tank folder: settings within every limit, levels that come true, words."""

from __future__ import annotations

import datetime as dt
import functools
import math
import re
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import reef_calc as rc
from reef_calc.chem.supplements import Supplement, supplement_from_table
from reef_calc.errors import CannotTellError
from reef_calc.log.tank import Tank
from reef_calc.messages import Message, codes
from reef_calc.plan.day_times import minutes_between
from reef_calc.plan.dose_plan import DosePlan, plan_doses
from reef_calc.plan.from_tank import tank_question
from reef_calc.plan.keep_apart import must_be_apart
from reef_calc.plan.plan_messages import in_order
from reef_calc.plan.supply_now import supply_now
from reef_calc.plan.wishes import PlanWishes, WaterChanges
from tests.folders import dose, make_tank, reading
from tests.tank_cases import LIMITS, MACHINE_WORDS, quiet, series

START = "2026-04-01"
MADE = dt.datetime(2026, 3, 31, 20, tzinfo=dt.UTC)
SUPPLEMENTS = """
[supplement."carbonate"]
recipe = [{salt = "sodium carbonate", hydrate = 0, assay = 0.99, grams_per_L = 60.0}]
container_L = 2.0
limits = {mL_per_day = 300, mL_per_dose = 40, step_mL = 1}

[supplement."calcium"]
recipe = [{salt = "calcium chloride", hydrate = 2, assay = 0.97, grams_per_L = 80.0}]
limits = {mL_per_day = 300, mL_per_dose = 40, step_mL = 1}

[supplement."trace"]
label = {amount = 10, unit = "mL", litres = 100, raises = {strontium = "0.5 mg/L"}}
"""


@functools.cache
def reef() -> Tank:
    """Return a tank with alkalinity and calcium a little low, two stocks in use and a trace."""
    calcium = series(16, level=lambda i: 404.0 + 3 * ((i * 5) % 3 - 1), element="calcium",
                     unit="mg/L", kit="syringe", lot="")  # fmt: skip
    parts = quiet(
        readings=[*series(16, level=lambda i: 7.2 + 0.1 * ((i * 7) % 3 - 1)), *calcium],
        additions=[
            dose("2026-02-20", "90", supplement="carbonate"),
            dose("2026-02-20", "80", supplement="calcium"),
            dose("2026-02-20", "6", supplement="trace", times="09:00;21:00"),
        ],
        supplements=SUPPLEMENTS,
    )
    with tempfile.TemporaryDirectory() as place:
        return make_tank(Path(place) / "tank", **parts)


@functools.cache
def plan() -> DosePlan:
    return plan_doses(reef(), 30, START, made=MADE)


def followed_levels(found: DosePlan) -> np.ndarray:
    """Follow the settings frame day by day, with arithmetic of its own."""
    problem, elements = found.problem, found.problem.elements
    level = [one.start for one in elements]
    out = [list(level)]
    for day in range(problem.days):
        date = found.start + dt.timedelta(days=day)
        f = problem.exchanged[day]
        rows = found.settings[
            (found.settings["date_from"] <= date) & (found.settings["date_to"] >= date)
        ]
        given = dict(zip(rows["container"], rows["per_day"], strict=True))
        for i, one in enumerate(elements):
            level[i] = (1 - f) * level[i] + f * one.new_water - one.use
            level[i] += one.arriving[day] if day < len(one.arriving) else 0.0
            for s in problem.supplements:
                level[i] += s.effect.get(one.name, 0.0) * given[s.name]
        out.append(list(level))
    return np.array(out).T


def test_the_face_has_it() -> None:
    assert rc.plan_doses is plan_doses


def test_following_the_settings_gives_the_levels_shown() -> None:
    found = plan()
    assert followed_levels(found) == pytest.approx(found.solved.levels, abs=1e-9)


def test_no_limit_is_broken_and_every_amount_can_be_set() -> None:
    found = plan()
    levels = found.solved.levels
    for row, one in enumerate(found.problem.elements):
        if one.aim is None:
            continue
        rises = np.diff(levels[row])[np.array(found.problem.exchanged) == 0.0]
        assert rises.max() <= one.rise_per_day + 1e-9
        assert levels[row].max() <= one.ceiling
    own = found.settings[~found.settings["kept"]]
    for row in own.itertuples():
        assert row.per_day <= 300.0
        assert row.per_dose <= 40.0
        assert row.per_dose == pytest.approx(round(row.per_dose), abs=1e-9)
        assert row.per_dose * row.doses == pytest.approx(row.per_day)
    first = found.summary.set_index("element")
    assert first.loc["alkalinity", "in_band_from"] is not None


def test_doses_of_the_table_keep_apart_and_small() -> None:
    found = plan()
    every = {**found.supplements, **found.kept}
    effect = {s.name: s.effect.get("alkalinity", 0.0) for s in found.problem.supplements}
    for _, day in found.table.groupby("date_from"):
        rows = list(day.itertuples())
        for a in rows:
            assert effect.get(a.container, 0.0) * a.amount <= 0.5 + 1e-9
            for b in rows:
                if must_be_apart(every[a.container], every[b.container]):
                    assert minutes_between(a.time, b.time) >= 30


def test_a_container_nothing_is_known_of_stays_and_its_element_is_held() -> None:
    found = plan()
    trace = found.settings[found.settings["container"] == "trace"]
    assert trace["kept"].all() and (trace["per_day"] == 6.0).all() and (trace["doses"] == 2).all()
    assert "KEPT" in codes(found.messages)


def test_the_summary_says_need_and_supply() -> None:
    row = plan().summary.set_index("element").loc["alkalinity"]
    carbonate = next(s for s in plan().problem.supplements if s.name == "carbonate")
    assert row["supply_now"] == pytest.approx(90.0 * carbonate.effect["alkalinity"])
    now = supply_now(reef(), "alkalinity", plan_at())
    assert now.dose == pytest.approx(row["supply_now"], rel=1e-9)
    assert now.use == pytest.approx(row["use"])
    assert now.difference == pytest.approx(now.use - now.dose)
    assert now.low < now.difference < now.high
    assert now.dose_low < now.dose < now.dose_high
    # The hold phase gives what is used, but for a pump step and the water changes.
    assert row["supply_planned"] == pytest.approx(row["use"], rel=0.1)


def plan_at() -> Any:
    return tank_question(reef(), 30, START).at


def test_messages_come_by_weight_and_each_once() -> None:
    kinds = [m.kind for m in plan().messages]
    assert kinds == sorted(kinds, key=["refused", "qualified", "told"].index)
    texts = [m.text for m in plan().messages]
    assert len(texts) == len(set(texts))
    assert not any(MACHINE_WORDS.search(text) for text in texts)
    assert not any(re.search(r"\d\.\d{5,}", text) for text in texts)
    one, two = Message("A", "x"), Message("B", "y", "qualified")
    assert in_order((one, two, one)) == (two, one)


def test_refills_and_unknown_containers_are_said() -> None:
    texts = {m.code: m.text for m in plan().messages}
    assert "Refill it by" in texts["REFILL"] and texts["REFILL"].startswith("carbonate")
    assert "container_L" in texts["CONTAINER_UNKNOWN"]


def test_linked_by_hand_and_other_wishes_reach_the_plan() -> None:
    wishes = PlanWishes(
        aims={"alkalinity": (7.0, 7.5, 8.0)},
        most_doses=3,
        water_changes=WaterChanges(0.0),
        most_per_day={"calcium": (70.0, "what the cupboard allows")},
    )
    found = plan_doses(reef(), 14, START, wishes=wishes, made=MADE)
    own = found.settings[~found.settings["kept"]]
    assert own["doses"].max() <= 3
    assert own.loc[own["container"] == "calcium", "per_day"].max() <= 70.0
    assert found.summary.set_index("element").loc["alkalinity", "aim"] == 7.5
    assert not any(found.problem.exchanged)


def test_limewater_with_what_sets_its_amount() -> None:
    lime = supplement_from_table(
        "limewater", {"recipe": [{"salt": "calcium hydroxide", "hydrate": 0, "grams_per_L": 1.5}]}
    )
    wishes = PlanWishes(
        extra=(lime,),
        most_per_day={"limewater": (2000.0, "what evaporates")},
        allowed=("limewater",),
    )
    found = plan_doses(reef(), 14, START, wishes=wishes, made=MADE)
    own = found.settings[found.settings["container"] == "limewater"]
    assert own["per_day"].max() <= 2000.0 + 1e-6
    effect = found.problem.supplements[0].effect["alkalinity"]
    assert (own["per_dose"] * effect).max() <= 0.2 + 1e-9
    assert "STOPPED" in codes(found.messages)


def test_salinity_never_starves_the_animals(tmp_path: Path) -> None:
    salt = LIMITS + '\n[aim.salinity]\nunit = "PSU"\nlow = 34\naim = 35\nhigh = 35.02\n'
    tank = make_tank(tmp_path / "t", **quiet(tank=salt))
    found = plan_doses(
        tank, 30, START, wishes=PlanWishes(water_changes=WaterChanges(0.0)), made=MADE
    )
    kh = found.summary.set_index("element").loc["alkalinity"]
    assert kh["level_end"] > kh["low"]
    assert "above its upper aim of 35.02 PSU" in next(
        m.text for m in found.messages if m.code == "SALINITY_PASSES"
    )


def test_without_a_written_step_amounts_can_still_be_set(tmp_path: Path) -> None:
    found = plan_doses(make_tank(tmp_path / "t", **quiet()), 30, START, made=MADE)
    doses = found.table["amount"].to_numpy() / 0.1
    assert doses == pytest.approx(np.round(doses), abs=1e-6)
    assert "STEP_TAKEN" in codes(found.messages)


def test_one_day_and_a_year() -> None:
    assert plan_doses(reef(), 1, START, made=MADE).solved.levels.shape[1] == 2
    assert plan_doses(reef(), 366, START, made=MADE).days == 366


def test_nothing_to_plan_is_said_with_what_to_test(tmp_path: Path) -> None:
    lone = make_tank(tmp_path / "t", readings=[reading("2026-03-01T18:00", 8.0)])
    with pytest.raises(CannotTellError, match=r"nothing to plan yet.*Type a use to plan it"):
        plan_doses(lone, 30, START)
    empty = make_tank(tmp_path / "none", **quiet(supplements="", additions=[]))
    with pytest.raises(CannotTellError, match="no supplement of this plan raises it"):
        plan_doses(empty, 30, START)


def test_a_supplement_measured_to_give_less_is_set_higher(tmp_path: Path) -> None:
    weak = SUPPLEMENTS.replace(
        "container_L = 2.0", "container_L = 2.0\ndelivered_over_set = {value = 0.8, u = 0.01}"
    )
    wishes = PlanWishes(uses={"alkalinity": (0.6, 0.02)}, levels={"alkalinity": (8.0, 0.05)},
                        water_changes=WaterChanges(0.0), allowed=("carbonate",))  # fmt: skip
    amounts = []
    for number, text in enumerate((SUPPLEMENTS, weak)):
        parts = quiet(supplements=text, additions=[])
        found = plan_doses(make_tank(tmp_path / str(number), **parts), 30, START, wishes=wishes)
        amounts.append(found.settings["per_day"].iloc[-1])
        # Closed form: use·V/(strength·delivered), to a step of the pump.
        per_mL = found.problem.supplements[0].effect["alkalinity"]
        assert amounts[-1] == pytest.approx(0.6 / per_mL, abs=3.0)
    assert amounts[1] / amounts[0] == pytest.approx(1.25, abs=0.06)


def test_use_and_dose_in_words() -> None:
    words = supply_now(reef(), "alkalinity", plan_at()).words
    assert re.fullmatch(r"Alkalinity uses .* dKH a day and gets \d\.\d+ dKH: .*\.", words)
    words = supply_now(reef(), "strontium", plan_at()).words
    assert re.fullmatch(r"Strontium: its use is not known; it gets 0\.1 mg/L a day\.", words)


def test_grams_are_planned_like_millilitres() -> None:
    dry = Supplement("powder", {"alkalinity": 11.9}, unit="g", limits={"step_g": 0.5})
    wishes = PlanWishes(extra=(dry,), allowed=("powder", "trace"), uses={"alkalinity": (0.6, 0.02)})
    found = plan_doses(reef(), 14, START, wishes=wishes, made=MADE)
    row = found.settings[found.settings["container"] == "powder"].iloc[-1]
    assert row["unit"] == "g" and row["per_dose"] % 0.5 == pytest.approx(0.0, abs=1e-9)
    assert math.isnan(found.totals.set_index("container").loc["powder", "lasts_days"])
