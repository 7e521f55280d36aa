"""What a plan leaves alone, and that it says why."""

from __future__ import annotations

from pathlib import Path

import pytest

from reef_calc import open_tank, plan_doses
from reef_calc.errors import CannotTellError
from reef_calc.log.plan_rows import additions_for
from reef_calc.messages import codes
from reef_calc.plan.wishes import PlanWishes

DEMO = Path(__file__).parents[2] / "data_demo" / "classroom_reef"


@pytest.fixture(scope="module")
def tank():
    return open_tank(DEMO)


def test_a_dose_that_nothing_speaks_against_stays(tank) -> None:
    plan = plan_doses(tank, 30, "2026-09-30")
    own = plan.settings[plan.settings["container"] == "magnesium stock"]
    assert set(own["per_day"]) == {5.0}
    assert own["kept"].all()
    assert "NO_DIFFERENCE" in codes(plan.messages)
    shown = plan.problem.elements[plan.problem.element("magnesium")]
    assert (shown.low, shown.aim, shown.high) == (1260.0, None, 1380.0)


def test_whoever_types_an_aim_has_it_followed(tank) -> None:
    wishes = PlanWishes(aims={"magnesium": (1260.0, 1350.0, 1380.0)})
    plan = plan_doses(tank, 30, "2026-09-30", wishes=wishes)
    assert "magnesium stock" in plan.supplements
    left = [m.text for m in plan.messages if m.code == "NO_DIFFERENCE"]
    assert not any(text.startswith("Magnesium") for text in left)
    row = plan.problem.element("magnesium")
    assert plan.solved.levels[row, -1] > plan.solved.levels[row, 0] + 25.0


def test_nothing_is_planned_from_a_level_that_nobody_knows(tank) -> None:
    with pytest.raises(CannotTellError, match="Test it first, or type the level") as told:
        plan_doses(tank, 30, "2026-11-29")
    assert "Alkalinity" in str(told.value)
    assert "wider than its aims, 7.2 to 8.5" in str(told.value)


def test_a_typed_level_is_enough(tank) -> None:
    wishes = PlanWishes(levels={"alkalinity": (7.0, 0.1)})
    plan = plan_doses(tank, 30, "2026-11-29", wishes=wishes)
    assert "carbonate stock" in plan.supplements
    assert "calcium stock" in plan.kept
    assert "LEVEL_NOT_KNOWN" in codes(plan.messages)


def test_what_the_plan_stops_is_set_to_nothing_and_counts_as_dosed_today(tank) -> None:
    today = plan_doses(tank, 30, "2026-09-30")
    plan = plan_doses(tank, 30, "2026-09-30", wishes=PlanWishes(allowed=("carbonate stock",)))
    own = plan.settings[plan.settings["container"] == "calcium stock"]
    assert set(own["per_day"]) == {0.0}
    assert set(own["set_now"]) == {192.0}
    assert "calcium stock,2026-09-30" in plan.pump_csv()
    stops = [row for row in additions_for(plan.stored()) if row["supplement"] == "calcium stock"]
    assert [row["amount"] for row in stops] == ["0"]
    # What today's doses bring, and where they lead, does not depend on what the plan allows.
    for column in ("supply_now", "level_unchanged"):
        one, other = (x.summary.set_index("element")[column] for x in (today, plan))
        assert other.to_numpy() == pytest.approx(one.to_numpy())
    calcium = plan.summary.set_index("element").loc["calcium"]
    assert (calcium["supply_planned"], calcium["supply_now"]) == (0.0, pytest.approx(8.8, abs=0.1))


def test_what_falls_out_of_its_aims_unplanned_is_said(tank) -> None:
    plan = plan_doses(tank, 30, "2026-09-30", wishes=PlanWishes(allowed=("carbonate stock",)))
    said = [m.text for m in plan.messages if m.code == "NOT_PLANNED_OUTSIDE"]
    assert any("Calcium" in text and "below its aims of 400 to 440 mg/L" in text for text in said)
    usual = plan_doses(tank, 30, "2026-09-30")
    assert "NOT_PLANNED_OUTSIDE" not in codes(usual.messages)


def test_a_plan_that_leaves_every_dose_as_it_is_can_be_read_and_stored(tank) -> None:
    plan = plan_doses(tank, 30, "2025-12-01")
    assert not plan.supplements
    assert plan.settings["kept"].all()
    assert (plan.settings["per_day"] == plan.settings["set_now"]).all()
    assert "NOTHING_TO_DOSE" not in codes(plan.messages)
    assert plan.summary["supply_planned"].tolist() == plan.summary["supply_now"].tolist()
    assert plan.stored().levels[0].levels[0] == plan.problem.elements[0].start


def test_what_would_leave_its_aims_is_not_left_alone(tank) -> None:
    plan = plan_doses(tank, 30, "2026-08-01")
    row = plan.problem.element("alkalinity")
    shown = plan.problem.elements[row]
    assert shown.aim is not None
    assert shown.low is not None
    assert shown.high is not None
    assert shown.low <= plan.solved.levels[row, -1] <= shown.high
