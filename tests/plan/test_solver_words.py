"""Tanks for which there is no good plan, or none without a word: what is said, and that it is true.

Own scenarios; the expected numbers are worked out by hand.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import codes
from reef_calc.plan.maintenance import maintenance
from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
from reef_calc.plan.solved import SolvedPlan
from reef_calc.plan.solver import solve_plan
from tests.plan.test_solver import kh, loop, soda, weekly


def text(plan: SolvedPlan, code: str) -> str:
    return next(one.text for one in plan.messages if one.code == code)


def limits(plan: SolvedPlan) -> list[tuple[str, str]]:
    assert plan.conflict is not None
    return [(one.kind, one.name) for one in plan.conflict.limits]


# What stands in the way -------------------------------------------------------------------------


def test_nothing_to_dose_with() -> None:
    plan = solve_plan(PlanProblem((kh(use=0.3, low=7.5, high=8.5),), (), 5))
    assert plan.amounts.shape == (0, 1)
    assert plan.levels[0, -1] == pytest.approx(6.5)
    assert limits(plan) == [("low", "alkalinity")]
    assert plan.conflict.words == (
        "No dose can do this: alkalinity would be 6.5 dKH after 5 days, and nothing in this plan raises "
        "it. Add something that raises alkalinity to the plan."
    )


def test_too_high_with_nothing_that_lowers_it() -> None:
    calcium = ElementToPlan("calcium", "mg/L", 475.0, 2.5, 415.0, 380.0, 410.0, 440.0, 20.0, 20.0)
    chloride = SupplementToPlan("chloride", {"calcium": 0.1})
    plan = solve_plan(PlanProblem((calcium,), (chloride,), 5))
    assert limits(plan) == [("high", "calcium")]
    assert "still be 462" in plan.conflict.words or "still be 463" in plan.conflict.words
    assert "after about 14 days" in plan.conflict.words  # 35 / 2.5
    assert "59 % of the water" not in plan.conflict.words  # a change of more than half is no advice
    assert plan.amounts.sum() == 0.0


def test_an_empty_container() -> None:
    element = kh(use=0.4, low=7.5, high=8.5)
    plan = solve_plan(PlanProblem((element,), (soda(stock=600.0),), 30))
    assert limits(plan) == [("low", "alkalinity"), ("stock", "soda")]
    # 0.4 · 30 − 0.5 = 11.5 dKH are needed, 6 are there: 550 mL more.
    assert "have 550 mL more of soda" in plan.conflict.offers
    none = solve_plan(PlanProblem((element,), (soda(stock=0.0),), 30))
    assert none.amounts.sum() == 0.0
    assert "have 1200 mL more of soda" in none.conflict.offers  # 11.5 / 0.01, to two digits


def test_a_weak_pump() -> None:
    plan = solve_plan(
        PlanProblem((kh(use=0.5, low=7.5, high=8.5),), (soda(most_per_day=20.0),), 30)
    )
    assert limits(plan) == [("low", "alkalinity"), ("most a day", "soda")]
    # (0.5 · 30 − 0.5) / 30 / 0.01 = 48.3 mL a day.
    assert plan.conflict.offers == ("give 49 mL of soda a day, if that can be",)
    assert plan.limits[0].words == "20 mL of soda a day is the largest amount a day"
    assert plan.limits[0].priced


def test_one_supplement_that_raises_two_things() -> None:
    elements = (
        ElementToPlan("alkalinity", "dKH", 8.0, 1.0, 8.0, 7.5, 8.0, 8.5),
        ElementToPlan("calcium", "mg/L", 420.0, 0.0, 420.0, 400.0, 420.0, 440.0),
    )
    limewater = SupplementToPlan("limewater", {"alkalinity": 0.28e-3, "calcium": 2e-3})
    plan = solve_plan(PlanProblem(elements, (limewater,), 30))
    assert sorted(limits(plan)) == [("high", "calcium"), ("low", "alkalinity")]


def test_the_set_named_is_irreducible_and_each_offer_would_do() -> None:
    """Every offer is tried: the plan made with it has no conflict any more."""
    element = kh(7.0, low=8.9, aim=9.0, high=9.1, rise_per_day=0.5)
    problem = PlanProblem((element,), (soda(),), 10)

    def conflict(by_day: int = 3, **other: Any) -> Any:
        changed = replace(problem, elements=(replace(element, **other),))
        return solve_plan(changed, by_day=by_day, dead=0.0).conflict

    assert conflict() is not None
    assert conflict(by_day=4) is None
    assert conflict(low=8.5) is None
    assert conflict(low=8.52) is not None
    assert conflict(rise_per_day=0.64) is None
    assert conflict(rise_per_day=0.63) is not None


def test_two_troubles_are_both_told() -> None:
    elements = (
        kh(use=0.4, low=7.5, high=8.5),
        ElementToPlan("calcium", "mg/L", 475.0, 1.0, 415.0, 380.0, 410.0, 440.0),
    )
    plan = solve_plan(PlanProblem(elements, (soda(stock=100.0),), 10))
    assert limits(plan) == [("high", "calcium")]
    assert "100 mL of soda are at hand" in text(plan, "ALSO_IN_THE_WAY")


# Falls and ceilings -----------------------------------------------------------------------------


def test_use_alone_breaks_the_largest_fall() -> None:
    """1.2 a day against 0.5: 50 mL bring 0.5, so it falls by 0.7; they are given to the full."""
    element = kh(9.5, 1.2, low=7.5, high=8.5, fall_per_day=0.5)
    plan = solve_plan(PlanProblem((element,), (soda(most_per_day=50.0),), 3))
    assert plan.amounts[0] == pytest.approx(50.0)
    assert text(plan, "FALLS_BY_ITSELF").startswith("Alkalinity falls by more than 0.5 dKH a day")


def test_a_dose_that_only_slows_a_fall_is_explained() -> None:
    """Above its aim and used by 1.2 a day: 70 mL keep the fall at 0.5."""
    element = kh(10.0, 1.2, low=7.5, high=8.5, fall_per_day=0.5)
    plan = solve_plan(PlanProblem((element,), (soda(),), 10))
    assert plan.amounts[0, 0] == pytest.approx(70.0, abs=1e-4)
    assert "only slow that fall" in text(plan, "FALL_SLOWED")


def test_nothing_raises_what_falls_too_fast() -> None:
    calcium = ElementToPlan("calcium", "mg/L", 420.0, 30.0, 420.0, fall_per_day=20.0)
    plan = solve_plan(PlanProblem((kh(), calcium), (soda(),), 5))
    assert plan.amounts[0, 0] == pytest.approx(30.0)
    assert "FALLS_BY_ITSELF" in codes(plan.messages)


def test_a_start_above_the_highest_level_gets_nothing_until_it_has_fallen() -> None:
    element = kh(12.0, 0.5, low=7.5, high=8.5, ceiling=11.0)
    plan = solve_plan(PlanProblem((element,), (soda(),), 30))
    levels, doses = plan.levels[0], plan.daily()[0]
    assert np.all(doses[levels[1:] > 11.0] == 0.0)
    assert plan.in_band_from["alkalinity"] == 7  # 3.5 / 0.5
    assert "LIMIT_PASSED" not in codes(plan.messages)


def test_salinity_that_must_not_pass_its_highest_level_ends_the_dosing() -> None:
    elements = (
        kh(use=1.0, low=7.5, high=8.5),
        ElementToPlan("salinity", "PSU", 35.0, 0.0, 35.0, ceiling=35.1),
    )
    salty = SupplementToPlan("salty", {"alkalinity": 0.01, "salinity": 2e-4})
    plan = solve_plan(PlanProblem(elements, (salty,), 30))
    assert plan.levels[1].max() == pytest.approx(35.1, abs=1e-6)
    assert ("ceiling", "salinity") in limits(plan)
    assert any(one.kind == "ceiling" and one.priced for one in plan.limits)


# Steps, doses, links, halves --------------------------------------------------------------------


def test_a_coarse_step_says_how_to_make_it_finer() -> None:
    plan = solve_plan(PlanProblem((kh(use=0.4),), (soda(0.4, step=1.0),), 10))
    assert "dilute it 10 times" in text(plan, "COARSE_STEP")
    weak = solve_plan(PlanProblem((kh(use=0.4),), (soda(1.2, step=1.0),), 10))
    assert "one step every 3 days" in text(weak, "COARSE_STEP")


def test_doses_a_day_follow_the_largest_single_dose() -> None:
    plan = solve_plan(PlanProblem((kh(use=0.9),), (soda(most_per_dose=20.0, step=0.5),), 10))
    assert plan.amounts[0, 0] == pytest.approx(90.0)
    assert plan.doses_a_day[0, 0] == 5
    by_hand = solve_plan(PlanProblem((kh(use=0.9),), (soda(most_per_dose=20.0, most_doses=1),), 10))
    assert by_hand.amounts[0, 0] == pytest.approx(20.0)
    assert by_hand.limits[0].words == "soda is given in at most one dose of 20 mL a day"


def test_equal_amounts_of_two_and_their_price() -> None:
    elements = (
        ElementToPlan("alkalinity", "dKH", 8.0, 0.5, 8.0, 7.5, 8.0, 8.5),
        ElementToPlan("calcium", "mg/L", 420.0, 5.5, 420.0, 400.0, 420.0, 440.0),
    )
    two = (
        SupplementToPlan("A", {"alkalinity": 0.01}, linked={"B": 1.0}),
        SupplementToPlan("B", {"calcium": 0.10}),
    )
    plan = solve_plan(PlanProblem(elements, two, 20))
    assert plan.amounts[0] == pytest.approx(plan.amounts[1], abs=1e-6)
    assert "in a fixed ratio has a price" in text(plan, "LINKED")
    free = solve_plan(PlanProblem(elements, tuple(replace(one, linked={}) for one in two), 20))
    assert free.amounts[:, 0] == pytest.approx((50.0, 55.0), abs=0.2)
    assert plan.distance > free.distance
    stepped = tuple(replace(one, step=0.5) for one in two)
    assert_equal = solve_plan(PlanProblem(elements, stepped, 20)).amounts
    assert assert_equal[0] == pytest.approx(assert_equal[1])


def test_only_half_of_the_first_correction_after_a_surprise() -> None:
    problem = PlanProblem((kh(7.0, rise_per_day=0.5),), (soda(),), 10, halve_first=True)
    plan = solve_plan(problem, dead=0.0)
    assert plan.amounts[0] == pytest.approx((55.0, 30.0))  # 80 and 30 without it
    assert plan.levels == pytest.approx(loop(problem, plan.daily()))
    assert plan.levels[0, -1] == pytest.approx(7.5)
    assert "Test again" in text(plan, "HALVED")


def test_a_supplement_that_only_does_harm_is_not_given() -> None:
    harmful = SupplementToPlan("harm", {"alkalinity": -0.01})
    plan = solve_plan(PlanProblem((kh(),), (harmful, soda()), 10))
    assert plan.amounts[:, 0] == pytest.approx((0.0, 30.0), abs=1e-6)


@pytest.mark.parametrize("days", [1, 366])
def test_the_shortest_and_the_longest_plan(days: int) -> None:
    plan = solve_plan(PlanProblem((kh(7.8, rise_per_day=0.5),), (soda(),), days))
    assert plan.levels.shape == (1, days + 1)
    assert abs(plan.levels[0, -1] - 8.0) <= 0.1 + 1e-6
    assert plan.amounts.shape[1] == len(plan.phases)


def test_nothing_has_an_aim() -> None:
    plan = solve_plan(PlanProblem((kh(aim=None),), (soda(),), 5))
    assert (plan.amounts.sum(), plan.distance, plan.in_band_from) == (0.0, 0.0, {})
    assert "NOTHING_TO_DOSE" in codes(plan.messages)


# Refusals ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"low": 9.5}, "low, aim, high"),
        ({"aim": 9.5}, "low, aim, high"),
        ({"ceiling": 7.5}, "must not be passed"),
        ({"rise_per_day": 0.0}, "largest change"),
        ({"start": float("nan")}, "level of alkalinity"),
    ],
)
def test_contradictions_are_refused_in_words(change, words) -> None:
    with pytest.raises(InputError, match=words):
        PlanProblem((kh(**change),), (soda(),), 5)


@pytest.mark.parametrize(
    "given_",
    [
        {"phases": ()}, {"phases": (1,)}, {"phases": (0, 5)}, {"phases": (0, 3, 3)}, {"by_day": 0},
        {"by_day": 6}, {"confidence_z": -1.0}, {"dead": 1.0},
    ],
)  # fmt: skip
def test_arguments_that_cannot_be_used(given_) -> None:
    with pytest.raises(InputError):
        solve_plan(PlanProblem((kh(),), (soda(),), 5), **given_)


def test_a_link_to_nothing_and_a_name_given_twice() -> None:
    with pytest.raises(InputError, match="linked to soda"):
        PlanProblem((kh(),), (soda(linked={"chloride": 1.0}),), 5)
    with pytest.raises(InputError, match="every name once"):
        PlanProblem((kh(),), (soda(), soda()), 5)


def test_numbers_too_far_apart_end_in_words_or_in_a_plan() -> None:
    for effect, half in itertools.product((1e-14, 1e-3, 1e9), (1e-9, 1.0, 1e6)):
        element = kh(low=8.0 - half, high=8.0 + half, rise_per_day=0.5)
        try:
            plan = solve_plan(PlanProblem((element,), (soda(effect),), 5))
        except CannotTellError as refused:
            assert "too far apart" in str(refused)
        else:
            assert np.all(np.isfinite(plan.amounts))


# For good ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("share", "new"), [(0.0, 8.0), (0.1, 9.0), (0.2, 7.0), (0.15, 8.0)])
def test_maintenance_brings_a_level_back_to_itself(share: float, new: float) -> None:
    problem = PlanProblem((kh(use=0.5, new_water=new),), (soda(),), 28, weekly(28, share))
    amount = maintenance(problem, "soda", "alkalinity")
    assert loop(problem, np.full((1, 28), amount))[0, -1] == pytest.approx(8.0, abs=1e-12)
    plan = solve_plan(problem, phases=(0,), dead=0.0)
    assert plan.amounts[0, 0] == pytest.approx(amount, abs=2.5)


def test_maintenance_refuses_in_words() -> None:
    problem = PlanProblem((kh(use=0.01, new_water=12.0),), (soda(),), 7, weekly(7, 0.3))
    with pytest.raises(CannotTellError, match="rises above that by itself"):
        maintenance(problem, "soda", "alkalinity")
    with pytest.raises(InputError, match="one of soda"):
        maintenance(problem, "chloride", "alkalinity")
