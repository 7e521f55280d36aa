"""Closed forms of a joined difference, and how many tests with both kits pay."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm
from scipy.stats import t as student_t

from reef_calc.compare.overlap import (
    combined_difference,
    half_after_overlap,
    overlap_advice,
    u_of_study,
)
from reef_calc.errors import InputError

S0 = 0.152752523
DIFFERENCES = (0.4, 0.5, 0.6)


@pytest.mark.parametrize(
    ("mean", "u", "wanted"),
    [(0.0, 1.5, (0.4965669, 0.1242930)), (0.35, 0.12, (0.4221068, 0.0864740))],
)
def test_worked_out_cases(mean: float, u: float, wanted: tuple[float, float]) -> None:
    assert combined_difference(mean, u, DIFFERENCES, 2 * S0**2) == pytest.approx(wanted, abs=1e-6)


@given(
    st.floats(-2, 2),
    st.floats(0.05, 3),
    st.lists(st.floats(-2, 2), min_size=1, max_size=6),
    st.floats(0.01, 0.5),
)
@settings(max_examples=40, deadline=None)
def test_it_is_the_product_of_the_densities(
    mean: float, u: float, differences: list[float], variance: float
) -> None:
    """Against a density on a fine grid, multiplied out with a general library."""
    got, sd = combined_difference(mean, u, differences, variance)
    x = np.linspace(got - 8 * sd, got + 8 * sd, 4001)
    log = norm.logpdf(x, mean, u) + sum(norm.logpdf(d, x, math.sqrt(variance)) for d in differences)
    w = np.exp(log - log.max())
    w /= w.sum()
    assert float(w @ x) == pytest.approx(got, abs=1e-6 * sd + 1e-9)
    assert math.sqrt(float(w @ (x - got) ** 2)) == pytest.approx(sd, rel=1e-4)


def test_one_water_after_another_is_all_at_once() -> None:
    mean, u = 0.1, 0.3
    for d in DIFFERENCES:
        mean, u = combined_difference(mean, u, [d], 0.05)
    assert (mean, u) == pytest.approx(combined_difference(0.1, 0.3, DIFFERENCES, 0.05))


def test_the_belief_has_the_interval_of_the_study() -> None:
    low, high = student_t.interval(0.95, 4, loc=0.3, scale=0.1)
    u = u_of_study(0.1, 4)
    assert norm.interval(0.95, 0.3, u) == pytest.approx((low, high), abs=1e-6)


@pytest.mark.parametrize(
    ("worth", "measured"),
    [
        (0.85, {0: 2.95, 1: 2.2, 3: 1.5, 5: 1.2, 10: 0.88}),
        (4.0, {0: 1.38, 1: 1.3, 3: 1.15, 5: 1.0, 10: 0.83}),
    ],
    ids=["alkalinity", "calcium"],
)
def test_the_simple_form_is_near_the_simulated_one(
    worth: float, measured: dict[int, float]
) -> None:
    """Half-widths in SDs of simulated logs (COMPUTED); the closed form leaves out rounding."""
    for waters, half in measured.items():
        assert half_after_overlap(waters, 1.0, 1.0, log_worth=worth) == pytest.approx(
            half, rel=0.13
        )


@pytest.mark.parametrize(
    ("element", "waters"),
    [
        ("alkalinity", (3, 0)),
        ("calcium", (5, 0)),
        ("magnesium", (3, 2)),
        ("potassium", (3, 2)),
        ("nitrate", (5, 0)),
    ],
)
def test_how_many(element: str, waters: tuple[int, int]) -> None:
    found = overlap_advice(element, "mg/L", "old", "new", sd_old=7.0, sd_new=7.0, tests_left=30)
    assert (found.tank_waters, found.new_waters) == waters
    assert found.can_do == sum(waters)
    assert found.table["half"].is_monotonic_decreasing


def test_few_tests_left_are_all_used_and_none_is_said() -> None:
    def said(left: float, element: str = "alkalinity") -> str:
        return " ".join(
            overlap_advice(
                element, "dKH", "kit A", "kit B", sd_old=0.15, sd_new=0.15, tests_left=left
            ).sentences
        )

    assert said(1).startswith("The last test of kit A should go beside kit B")
    assert said(2).startswith("The last 2 tests of kit A")
    assert said(0).startswith("Nothing is left of kit A. Read a standard with kit B")
    assert "about 8 % wider" in said(0)
    assert "new water first" in said(2, "magnesium")
    assert "nobody has worked out" in said(9, "phosphate")
    assert "1 tests" not in said(1)
    # The number in the sentence is the one in the table.
    after, before = (half_after_overlap(m, 0.15, 0.15, log_worth=0.85) for m in (3, 0))
    assert f"about ± {after:.1f} dKH; without, to about ± {before:.1f}" in said(9)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: u_of_study(0.0, 4),
        lambda: u_of_study(0.1, 0),
        lambda: combined_difference(0.0, math.inf, [], 0.1),
        lambda: combined_difference(0.0, 1.0, [math.nan], 0.1),
        lambda: combined_difference(0.0, 1.0, [0.1], 0.0),
        lambda: half_after_overlap(-1, 0.1, 0.1),
        lambda: overlap_advice("alkalinity", "dKH", "a", "b", sd_old=0.0, sd_new=0.1),
        lambda: overlap_advice(
            "alkalinity", "dKH", "a", "b", sd_old=0.1, sd_new=0.1, tests_left=-1
        ),
    ],
)
def test_what_cannot_be_is_refused(wrong: object) -> None:
    with pytest.raises(InputError):
        wrong()  # type: ignore[operator]
