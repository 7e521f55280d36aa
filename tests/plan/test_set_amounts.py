"""Amounts that can be set: neighbours over several numbers of doses, links, falls, half corrections."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.messages import codes
from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
from reef_calc.plan.rounding import doses_for, neighbours
from reef_calc.plan.solver import solve_plan
from tests.plan.test_solver import kh, loop, soda

FEW = settings(max_examples=40, deadline=None, derandomize=True)
STRICT = {"confidence_z": 0.0, "dead": 0.0}


def calcium(start: float = 425.0, use: float = 4.0) -> ElementToPlan:
    return ElementToPlan("calcium", "mg/L", start, use, 420.0, 400.0, 425.0, 450.0, 20.0)


# Neighbours ------------------------------------------------------------------------------------


def test_one_dose_more_a_day_comes_nearer() -> None:
    by_three = soda(most_per_dose=60.0, step=1.0)
    below, above = neighbours(by_three, 171.7, math.inf)
    assert (below, above) == (171.0, 172.0)
    assert (doses_for(by_three, below), doses_for(by_three, above)) == (3, 4)
    # One or two doses a day stay as few as they are: more are a burden, not a step.
    assert neighbours(soda(most_per_dose=100.0, step=1.0), 171.7, math.inf) == (170.0, 172.0)
    assert neighbours(soda(most_per_dose=60.0, step=1.0, most_doses=3), 171.7, 180.0) == (171, 174)


def test_an_amount_between_small_full_doses_does_not_fall_to_nothing() -> None:
    coarse = soda(most_per_dose=10.0, step=7.0)
    below, above = neighbours(coarse, 66.8, math.inf)
    assert (below, above) == (63.0, 70.0)
    assert doses_for(coarse, below) == 9


@FEW
@given(
    st.sampled_from([0.1, 0.5, 1.0, 7.0]),
    st.floats(1.0, 60.0).map(lambda x: round(x, 2)),
    st.integers(1, 24),
    st.floats(0.1, 400.0).map(lambda x: round(x, 2)),
)
def test_neighbours_can_be_set_and_none_is_nearer_with_as_few_doses(step, dose, doses, wanted):
    one = soda(most_per_dose=dose, step=step, most_doses=doses)
    most = doses * dose
    below, above = neighbours(one, wanted, most)
    asked = min(wanted, most)
    assert below <= asked + 1e-6
    for amount in {below, above} - {0.0}:
        n = doses_for(one, amount)
        assert 1 <= n <= doses
        assert amount <= most * (1 + 1e-9)
        assert amount / n <= dose + 1e-6
        assert amount / n / step == pytest.approx(round(amount / n / step), abs=1e-5)
    # Every amount of whole steps in so many doses, by counting.
    fewest = max(1, math.ceil(asked / dose - 1e-6))
    if fewest > doses:
        return
    steps = math.floor(dose / step + 1e-6)
    under = [fewest * k * step for k in range(steps + 1) if fewest * k * step <= asked + 1e-9]
    assert below >= max(under) - 1e-6


# Two that move the same level --------------------------------------------------------------------


def test_what_rounding_one_took_the_other_gives_back() -> None:
    both = SupplementToPlan("both", {"calcium": 0.3, "alkalinity": 0.043}, step=2.0)
    problem = PlanProblem((kh(8.0, 1.18, rise_per_day=0.5), calcium()), (soda(step=1.0), both), 21)
    plan = solve_plan(problem, phases=(0,), **STRICT)

    def far(one: float, other: float) -> float:
        levels = loop(problem, np.array([[one] * 21, [other] * 21]))
        off = [np.abs(levels[e, 1:] - x.aim) / x.half for e, x in enumerate(problem.elements)]
        return float(np.sum(off))

    best = min(far(float(a), 2.0 * b) for a in range(40, 80) for b in range(12))
    own = far(*plan.amounts[:, 0])
    rounded = far(round(plan.exact[0, 0]), 2.0 * round(plan.exact[1, 0] / 2))
    assert own <= best * 1.001
    assert own < 0.5 * rounded


def test_linked_amounts_never_pass_a_limit_of_one_of_them() -> None:
    magnesium = ElementToPlan(
        "magnesium", "mg/L", 1129.3, 0.8, 1390.0, 1270.0, 1345.0, 1370.0, 50.0
    )
    first = soda(0.0036, step=1.0, linked={"mg": 1.0})
    mg = SupplementToPlan("mg", {"magnesium": 0.2}, step=5.0)
    plan = solve_plan(PlanProblem((kh(), magnesium), (first, mg), 1))
    rise = plan.levels[1, 1] - plan.levels[1, 0]
    assert rise <= 50.0 + 1e-6
    assert "LIMIT_PASSED" not in codes(plan.messages)


def test_linked_amounts_stay_in_their_ratio_where_one_is_held_back() -> None:
    first = soda(step=1.0, linked={"weak": 1.0})
    weak = SupplementToPlan("weak", {"alkalinity": 0.001}, most_per_day=32.2)
    plan = solve_plan(PlanProblem((kh(8.0, 0.6),), (first, weak), 10))
    assert plan.amounts[0] == pytest.approx(plan.amounts[1], abs=0.5)


def test_steps_are_not_blamed_for_a_fall_that_no_dose_could_stop() -> None:
    one = soda(0.012, step=1.0, most_per_dose=35.56, most_doses=1)
    plan = solve_plan(PlanProblem((kh(8.0, 1.2, fall_per_day=0.5),), (one,), 7))
    assert "FALLS_BY_ITSELF" in codes(plan.messages)
    assert "STEPS_TOO_COARSE" not in codes(plan.messages)


def test_what_is_still_arriving_counts_against_the_largest_rise() -> None:
    late = kh(6.0, 0.3, rise_per_day=0.5, arriving=(0.2,) * 5)
    plan = solve_plan(PlanProblem((late,), (soda(),), 5), **STRICT)
    assert plan.levels[0, :4] == pytest.approx([6.0, 6.5, 7.0, 7.5])
    # 0.5 dKH of rise and 0.3 dKH of use, 0.2 dKH of which come by themselves.
    assert plan.amounts[0, 0] == pytest.approx(60.0)


def test_whole_numbers_will_do_for_levels_and_uses() -> None:
    whole = ElementToPlan("calcium", "mg/L", 425, 4, 420, 400, 425, 450, 20)
    plan = solve_plan(PlanProblem((whole,), (SupplementToPlan("lime", {"calcium": 0.1}),), 10))
    assert plan.amounts == pytest.approx(np.array([[40.0]]))


# Half of the correction -----------------------------------------------------------------------------


@pytest.mark.parametrize("days", [7, 14, 29, 40])
def test_a_correction_longer_than_the_plan_is_halved_too(days: int) -> None:
    slow = kh(5.0, 0.5, rise_per_day=0.1)
    problem = PlanProblem((slow,), (soda(step=0.1),), days)
    whole = solve_plan(problem, **STRICT)
    half = solve_plan(replace(problem, halve_first=True), **STRICT)
    assert whole.levels[0, 7] == pytest.approx(5.7, abs=0.01)
    assert half.levels[0, 7] == pytest.approx(5.35, abs=0.01)
    assert "HALVED" in codes(half.messages)


def test_every_phase_of_a_correction_is_halved() -> None:
    problem = PlanProblem(
        (kh(7.0, 0.5, rise_per_day=0.5), calcium(350.0)),
        (soda(step=0.1), SupplementToPlan("lime", {"calcium": 0.1}, step=0.1)),
        20,
    )
    whole = solve_plan(problem, **STRICT)
    half = solve_plan(replace(problem, halve_first=True), **STRICT)
    assert len(whole.phases) == 3
    # Half way between the plan and the level of today, on every day.
    start = whole.levels[:, :1]
    middle = (whole.levels + start) / 2
    assert half.levels == pytest.approx(middle, abs=0.3)
    assert half.levels[0] == pytest.approx(middle[0], abs=0.02)


def test_nothing_is_halved_where_nothing_is_corrected() -> None:
    problem = PlanProblem((kh(8.0, 0.3),), (soda(step=0.1),), 14, halve_first=True)
    plan = solve_plan(problem)
    assert plan.amounts == pytest.approx(np.array([[30.0]]))
    assert "HALVED" not in codes(plan.messages)


def test_a_surprisingly_high_level_is_let_down_by_half() -> None:
    problem = PlanProblem((kh(8.9, 0.3),), (soda(step=0.1),), 14)
    half = solve_plan(replace(problem, halve_first=True), **STRICT)
    whole = solve_plan(problem, **STRICT)
    assert whole.amounts[0, 0] == 0.0
    assert half.amounts[0, 0] == pytest.approx(15.0)
    # Beyond the level that must not be passed nothing is given, surprising or not.
    high = kh(12.5, 0.3, ceiling=12.0)
    top = solve_plan(PlanProblem((high,), (soda(step=0.1),), 14, halve_first=True), **STRICT)
    assert top.amounts[0, 0] == 0.0


# Words ---------------------------------------------------------------------------------------------


def test_use_alone_is_no_way_down_where_water_changes_bring_it_in() -> None:
    high = ElementToPlan("calcium", "mg/L", 460.2, 2.7, 511.6, 400.0, 425.0, 450.0, 6.0)
    daily = PlanProblem((high,), (SupplementToPlan("lime", {"calcium": 0.1}),), 5, (0.2,) * 5)
    plan = solve_plan(daily)
    assert plan.conflict is not None
    assert "by use alone" not in plan.conflict.words
    assert "the new water holds 512 mg/L" in plan.conflict.words


def test_use_alone_is_no_way_down_where_other_doses_replace_it() -> None:
    high = replace(calcium(475.0, 2.5), arriving=(2.5,) * 10)
    plan = solve_plan(PlanProblem((high,), (SupplementToPlan("lime", {"calcium": 0.1}),), 10))
    assert plan.conflict is not None
    assert "by use alone" not in plan.conflict.words
    more = replace(high, new_water=475.0)
    plan = solve_plan(PlanProblem((more,), (SupplementToPlan("lime", {"calcium": 0.1}),), 10))
    assert plan.conflict is not None
    assert "brings as much as is used" in plan.conflict.words
