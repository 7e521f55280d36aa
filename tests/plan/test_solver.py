"""The plan against worked cases, enumeration and a day-by-day loop of this file's own.

Sources: the worked cases are own scenarios, COMPUTED by arithmetic or enumeration as said at each.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from reef_calc.messages import codes
from reef_calc.plan.maintenance import maintenance
from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
from reef_calc.plan.safety import most_added
from reef_calc.plan.solver import solve_plan


def kh(start: float = 8.0, use: float = 0.3, **other: Any) -> ElementToPlan:
    wide: dict[str, Any] = {"low": 7.0, "aim": 8.0, "high": 9.0}
    return ElementToPlan("alkalinity", "dKH", start, use, **(wide | other))


def soda(effect: float = 0.01, **other: Any) -> SupplementToPlan:
    return SupplementToPlan("soda", {"alkalinity": effect}, **other)


def weekly(days: int, share: float, first: int = 6) -> tuple[float, ...]:
    return tuple(share if d >= first and (d - first) % 7 == 0 else 0.0 for d in range(days))


def loop(problem: PlanProblem, daily: np.ndarray) -> np.ndarray:
    """Levels by hand, element after element and day after day."""
    found = []
    for element in problem.elements:
        level, column = element.start, [element.start]
        for d in range(problem.days):
            f = problem.exchanged[d] if problem.exchanged else 0.0
            level = level * (1 - f) + f * element.new_water - element.use
            for j, one in enumerate(problem.supplements):
                level += one.effect.get(element.name, 0.0) * daily[j][d]
            column.append(level)
        found.append(column)
    return np.array(found)


def sum_of_distances(plan) -> float:
    return plan.distance * plan.problem.days * sum(e.aim is not None for e in plan.problem.elements)


# Worked cases -----------------------------------------------------------------------------------


def test_use_alone_is_replaced() -> None:
    """0.36 / 0.012 = 30 mL a day; by hand."""
    plan = solve_plan(PlanProblem((kh(use=0.36),), (soda(0.012),), 30), dead=0.0)
    assert plan.amounts == pytest.approx(np.array([[30.0]]), abs=1e-9)
    assert plan.levels == pytest.approx(np.full((1, 31), 8.0), abs=1e-9)
    assert plan.distance == pytest.approx(0.0, abs=1e-9)
    assert (plan.phases, plan.limits, plan.conflict) == ((0,), (), None)


def test_a_water_change_in_one_week() -> None:
    """The least sum of distances leaves 24.0 mL and 8.1 dKH on the last day; by hand."""
    problem = PlanProblem((kh(new_water=9.0),), (soda(0.0125),), 7, weekly(7, 0.1))
    plan = solve_plan(problem, phases=(0,), dead=0.0)
    assert plan.amounts[0, 0] == pytest.approx(24.0, abs=1e-6)
    assert plan.levels[0, -1] == pytest.approx(8.1, abs=1e-7)
    assert sum_of_distances(plan) == pytest.approx(0.1, abs=1e-7)
    assert maintenance(problem, "soda", "alkalinity") == pytest.approx(22.75, abs=1e-9)


@pytest.mark.parametrize(
    ("rise", "phases", "days", "amounts", "distance"),
    [
        (0.5, None, (0, 2), (80.0, 30.0), 0.5),
        (0.4, None, (0, 3), (190 / 3, 30.0), 1.0),
        (0.4, (0, 2), (0, 2), (70.0, 100 / 3), 1.4),
    ],
)
def test_the_shortest_correction(rise, phases, days, amounts, distance) -> None:
    """Largest rise plus use, over the strength; by hand."""
    problem = PlanProblem((kh(7.0, rise_per_day=rise),), (soda(),), 10)
    plan = solve_plan(problem, phases=phases, dead=0.0)
    assert plan.phases == days
    assert plan.amounts[0] == pytest.approx(amounts, abs=1e-6)
    assert sum_of_distances(plan) == pytest.approx(distance, abs=1e-6)


def test_too_short_a_time_is_told_with_what_would_do() -> None:
    """1.9 dKH in 3 days needs 0.6333 a day; 3 · 0.5 reaches 8.5; ⌈1.9 / 0.5⌉ = 4 days; by hand."""
    element = kh(7.0, low=8.9, aim=9.0, high=9.1, rise_per_day=0.5)
    plan = solve_plan(PlanProblem((element,), (soda(),), 10), by_day=3, dead=0.0)
    assert plan.conflict is not None
    assert [(one.kind, one.name) for one in plan.conflict.limits] == [
        ("low", "alkalinity"), ("rise", "alkalinity"),
    ]  # fmt: skip
    assert plan.conflict.offers[0] == "allow 4 days"
    assert plan.conflict.offers[1] == "accept alkalinity at 8.5 dKH instead of 8.9 dKH"
    assert "rise by 0.64 dKH a day instead of 0.5 dKH" in plan.conflict.offers[2]
    assert plan.amounts[0, 0] == pytest.approx(80.0, abs=1e-6)
    assert plan.in_band_from == {"alkalinity": 4}


def test_limewater_is_used_as_far_as_water_evaporates() -> None:
    """(1.2 − 0.84) / 0.012 = 30 mL and (8 − 6) / 0.1 = 20 mL; by hand."""
    elements = (
        ElementToPlan("alkalinity", "dKH", 8.0, 1.2, low=7.5, aim=8.0, high=8.5),
        ElementToPlan("calcium", "mg/L", 420.0, 8.0, low=400.0, aim=420.0, high=440.0),
    )
    supplements = (
        SupplementToPlan("carbonate", {"alkalinity": 0.012}, residue=0.0002),
        SupplementToPlan("calcium chloride", {"calcium": 0.10}, residue=0.0002),
        SupplementToPlan(
            "limewater", {"alkalinity": 0.28e-3, "calcium": 2.0e-3}, most_per_day=3000.0,
            why_most="what evaporates",
        ),
    )  # fmt: skip
    plan = solve_plan(PlanProblem(elements, supplements, 30))
    assert plan.amounts[:, 0] == pytest.approx((30.0, 20.0, 3000.0), abs=1e-5)
    assert [(one.name, one.priced) for one in plan.limits] == [("limewater", False)]
    assert plan.limits[0].words == "3000 mL of limewater a day is what evaporates"


@pytest.mark.parametrize("first", ["A", "B"])
def test_of_two_that_do_the_same_the_first_is_used_first(first: str) -> None:
    """200 mL over 10 days are 20 a day, the other one gives the rest; by hand."""
    stocks = {"A": 200.0 if first == "A" else np.inf, "B": 200.0 if first == "B" else np.inf}
    order = ("A", "B") if first == "A" else ("B", "A")
    supplements = tuple(
        SupplementToPlan(name, {"alkalinity": 0.01}, stock=stocks[name]) for name in order
    )
    plan = solve_plan(PlanProblem((kh(),), supplements, 10), phases=(0,))
    assert plan.amounts[:, 0] == pytest.approx((20.0, 10.0), abs=1e-6)
    assert [(one.kind, one.name) for one in plan.limits] == [("stock", first)]
    same = [m.text for m in plan.messages if m.code == "DO_THE_SAME"]
    words = (
        f"{order[0]} and {order[1]} do the same; {first} is used first because it is listed first."
    )
    assert same == [words]


@pytest.mark.parametrize(
    ("step", "amount", "distance", "end"),
    [(1.0, 13.0, 4.65, -0.30), (0.5, 13.5, 2.325, 0.15), (0.1, 13.3, 0.465, -0.03)],
)
def test_whole_steps_in_one_phase(step, amount, distance, end) -> None:
    """0.4 / 0.03 = 13.333; by enumeration."""
    plan = solve_plan(
        PlanProblem((kh(use=0.4),), (soda(0.03, step=step),), 30), phases=(0,), dead=0.0
    )
    assert plan.exact[0, 0] == pytest.approx(40 / 3, abs=1e-6)
    assert plan.amounts[0, 0] == pytest.approx(amount, abs=1e-12)
    assert sum_of_distances(plan) == pytest.approx(distance, abs=1e-9)
    assert plan.levels[0, -1] == pytest.approx(8.0 + end, abs=1e-9)


def test_a_later_phase_repairs_what_rounding_took() -> None:
    """13 then 14 is the best of all 40 · 40 pairs of whole mL; enumerated here."""
    problem = PlanProblem((kh(use=0.4),), (soda(0.03, step=1.0),), 30)
    plan = solve_plan(problem, phases=(0, 15), dead=0.0)
    assert plan.amounts[0] == pytest.approx((13.0, 14.0))
    best = min(
        itertools.product(range(40), repeat=2),
        key=lambda pair: np.abs(loop(problem, [np.repeat(pair, 15)])[0, 1:] - 8.0).sum(),
    )
    assert best == (13, 14)
    assert sum_of_distances(plan) == pytest.approx(2.33, abs=0.006)


def test_room_below_the_largest_rise() -> None:
    """0.811994, the smaller root of (1 − z²q²)y² − 2(L + r)y + (L + r)² − z²r²s²; COMPUTED with numpy."""
    limit, r, q, s, z = 0.5, 0.45, 0.03 * 2**0.5, 0.17, 1.6449
    roots = np.roots([1 - z**2 * q**2, -2 * (limit + r), (limit + r) ** 2 - (z * r * s) ** 2])
    assert float(most_added(limit + r, q, r * s, z)) == pytest.approx(min(roots.real), rel=1e-12)
    assert min(roots.real) == pytest.approx(0.811994, abs=1e-6)
    assert float(most_added(limit + r, 0.0, 0.0, z)) == pytest.approx(0.95)
    element = kh(5.0, 0.45, low=4.0, aim=9.0, rise_per_day=limit, u_use=r * s)
    plan = solve_plan(PlanProblem((element,), (soda(u_effect=0.03),), 10, u_volume=0.03))
    assert 0.01 * plan.amounts[0, 0] == pytest.approx(0.811994, abs=1e-6)
    assert "ROOM_KEPT" in codes(plan.messages)


def test_one_supplement_for_two_elements_follows_the_more_urgent_one() -> None:
    """0.02 half-bands of alkalinity a mL beat 0.00667 of calcium: 50 mL, sum 11.0; by a grid of 0.1 mL."""
    elements = (
        ElementToPlan("alkalinity", "dKH", 8.0, 0.5, low=7.5, aim=8.0, high=8.5),
        ElementToPlan("calcium", "mg/L", 420.0, 2.0, low=405.0, aim=420.0, high=435.0),
    )
    both = SupplementToPlan("both", {"alkalinity": 0.01, "calcium": 0.10})
    problem = PlanProblem(elements, (both,), 10)
    plan = solve_plan(problem, phases=(0,), dead=0.0)
    assert plan.amounts[0, 0] == pytest.approx(50.0, abs=1e-6)
    assert plan.levels[1, -1] == pytest.approx(450.0, abs=1e-5)
    assert sum_of_distances(plan) == pytest.approx(11.0, abs=1e-6)
    scales = np.array([[0.5], [15.0]])
    aims = np.array([[8.0], [420.0]])
    grid = np.arange(0, 100, 0.1)
    far = [(np.abs(loop(problem, [[x] * 10]) - aims) / scales).sum() for x in grid]
    assert grid[int(np.argmin(far))] == pytest.approx(50.0)
    assert plan.conflict is not None


# The second simulation --------------------------------------------------------------------------


def whole_tank(days: int = 30, **other: Any) -> PlanProblem:
    elements = (
        ElementToPlan("alkalinity", "dKH", 7.2, 0.9, 9.5, 7.5, 8.2, 8.9, 0.5, 0.5),
        ElementToPlan("calcium", "mg/L", 395.0, 6.0, 430.0, 400.0, 425.0, 450.0, 20.0, 20.0),
        ElementToPlan("magnesium", "mg/L", 1250.0, 1.0, 1320.0, 1280.0, 1340.0, 1400.0, 50.0, 50.0),
        ElementToPlan("salinity", "PSU", 35.0, 0.0, 35.0, ceiling=36.2),
        ElementToPlan("sodium", "mg/L", 10780.0, 0.0, 10780.0),
    )
    supplements = (
        SupplementToPlan("carbonate", {"alkalinity": 0.0106, "sodium": 0.087, "salinity": 2e-4},
                         step=0.5, most_per_dose=20.0, residue=2e-4, u_effect=0.04),
        SupplementToPlan("calcium chloride", {"calcium": 0.11, "salinity": 3e-4}, step=0.5,
                         most_per_dose=30.0, residue=2e-4, u_effect=0.04),
        SupplementToPlan("magnesium chloride", {"magnesium": 0.05, "salinity": 2.4e-4}, step=1.0,
                         residue=2e-4, u_effect=0.04),
    )  # fmt: skip
    return replace(
        PlanProblem(elements, supplements, days, weekly(days, 0.1), u_volume=0.03), **other
    )


def test_the_levels_shown_are_those_of_a_plain_loop() -> None:
    problem = whole_tank()
    plan = solve_plan(problem)
    assert plan.levels == pytest.approx(loop(problem, plan.daily()), rel=1e-12, abs=1e-9)


def test_the_whole_tank_keeps_every_limit_and_meets_its_aims() -> None:
    problem = whole_tank()
    plan = solve_plan(problem)
    rise = np.diff(plan.levels, axis=1)
    for e, element in enumerate(problem.elements):
        assert rise[e].max() <= element.rise_per_day + 1e-6
        assert -rise[e].min() <= element.fall_per_day + 1e-6
    assert plan.levels[3].max() <= 36.2
    assert plan.conflict is None
    assert all(day is not None for day in plan.in_band_from.values())
    assert len(plan.phases) <= 3
    steps = np.array([0.5, 0.5, 1.0])[:, None] * np.maximum(plan.doses_a_day, 1)
    assert plan.amounts / steps == pytest.approx(np.round(plan.amounts / steps), abs=1e-9)
    assert np.all(plan.amounts[0] / np.maximum(plan.doses_a_day[0], 1) <= 20.0 + 1e-9)
