"""What a plan leaves alone, and that it says why."""

from __future__ import annotations

from pathlib import Path

import pytest

from reef_calc import open_tank, plan_doses
from reef_calc.errors import CannotTellError
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
    assert "NO_DIFFERENCE" not in codes(plan.messages)
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
