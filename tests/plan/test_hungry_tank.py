"""A tank that uses much is never starved by the margins that protect it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
from reef_calc.plan.solver import solve_plan


def problem(use: float, u_alone: float | None, *, start: float = 8.0) -> PlanProblem:
    kh = ElementToPlan(
        "alkalinity", "dKH", start, use=use, low=7.5, aim=8.0, high=8.5, rise_per_day=0.5,
        fall_per_day=0.5, ceiling=12.0, u_start=0.1, u_use=0.06 * use, u_day=0.03 * use,
        u_use_alone=u_alone,
    )  # fmt: skip
    soda = SupplementToPlan("soda", {"alkalinity": 0.01}, u_effect=0.06, set_now=100.0 * use)
    return PlanProblem((kh,), (soda,), 30, u_volume=0.03)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.1, 12.0), st.booleans())
def test_what_holds_the_level_may_always_be_given(use: float, alone: bool) -> None:
    found = solve_plan(problem(use, 0.02 * use if alone else None))
    assert found.amounts[0, -1] == pytest.approx(100.0 * use, rel=1e-6)
    assert np.allclose(found.levels, 8.0, atol=1e-6)


def test_a_hungry_tank_is_corrected_where_use_is_known_against_the_dose() -> None:
    found = solve_plan(problem(5.0, 0.05, start=7.0))
    assert found.levels[0, -1] == pytest.approx(8.0, abs=0.1)
    assert np.diff(found.levels[0]).max() <= 0.5 + 1e-9
    blind = solve_plan(problem(5.0, None, start=7.0))
    assert blind.levels[0].max() <= found.levels[0].max() + 1e-9


@settings(max_examples=30, deadline=None)
@given(st.floats(0.0, 0.3), st.floats(0.0, 0.3))
def test_knowing_less_never_corrects_faster(first: float, second: float) -> None:
    less, more = sorted((first, second))
    fast = solve_plan(problem(3.0, less, start=7.0)).amounts[0, 0]
    slow = solve_plan(problem(3.0, more, start=7.0)).amounts[0, 0]
    assert slow <= fast + 1e-6


def test_the_margin_holds_in_draws() -> None:
    """Nineteen of twenty rises keep the limit when pump and strength are wrong by what is stated."""
    use, alone = 3.0, 0.08
    found = solve_plan(problem(use, alone, start=7.0), phases=(0, 3))
    rng = np.random.default_rng(11)
    draws = 200_000
    wrong = 1.0 + np.hypot(0.06, 0.03) * rng.standard_normal(draws)
    really = use * wrong + alone * rng.standard_normal(draws)
    rise = found.amounts[0, 0] * 0.01 * wrong - really + 0.09 * rng.standard_normal(draws)
    assert np.mean(rise > 0.5) == pytest.approx(0.05, abs=0.004)
