"""York's line: the classic set, a general minimiser, and what the stated SDs may be made to say."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.compare.lines import deming_line
from reef_calc.compare.no_line import NoLineError
from reef_calc.compare.york import york_line, york_misfit
from reef_calc.errors import InputError
from tests.compare.lines_data import (
    YORK_SD_X,
    YORK_SD_Y,
    YORK_X,
    YORK_Y,
    nearest_line,
    waters,
)
from tests.trust import record_check

LITERATURE = "Pearson 1901 with weights of York 1966; value from memory of the literature"
few = settings(max_examples=30, deadline=None)


def test_the_classic_set() -> None:
    """Literature −0.4805334 and 5.47991 (MEMORY); further digits COMPUTED."""
    line = york_line(YORK_X, YORK_Y, YORK_SD_X, YORK_SD_Y)
    misfit = york_misfit(YORK_X, YORK_Y, YORK_SD_X, YORK_SD_Y, line.intercept, line.slope)
    record_check("York", "two kits: York", (5.47991, -0.4805334), (line.intercept, line.slope),
                 LITERATURE, "MEMORY")  # fmt: skip
    assert (round(line.intercept, 5), round(line.slope, 7)) == (5.47991, -0.4805334)
    assert line.intercept == pytest.approx(5.4799102240, rel=1e-9)
    assert line.slope == pytest.approx(-0.4805334074, rel=1e-9)
    assert misfit == pytest.approx(11.8663532, rel=1e-8)
    # From the stated SDs .2949707 and .0579850; the points scatter more, which widens both.
    more = math.sqrt(misfit / 8)
    assert (line.se_intercept, line.se_slope) == pytest.approx((0.359246, 0.070620), abs=1e-6)
    assert line.se_intercept / more == pytest.approx(0.2949707, rel=1e-6)
    assert line.se_slope / more == pytest.approx(0.0579850, rel=1e-6)
    # S of 11.9 on 8 degrees of freedom is no more than chance.
    assert line.messages == ()


def test_as_a_general_minimiser() -> None:
    """Outside: scipy.optimize on the sum of squares itself."""
    line = york_line(YORK_X, YORK_Y, YORK_SD_X, YORK_SD_Y)
    found = nearest_line(YORK_X, YORK_Y, YORK_SD_X**2, YORK_SD_Y**2)
    assert (line.intercept, line.slope) == pytest.approx(found, abs=1e-6)


def test_standard_errors_are_those_of_repeated_studies() -> None:
    """300 simulated studies of known SDs."""
    random = np.random.default_rng(7)
    level = np.linspace(4, 14, 10)
    sd_x, sd_y = 0.01 + 0.02 * level, np.full(10, 0.2)
    slopes, errors = [], []
    for _ in range(300):
        line = york_line(level + random.normal(0, sd_x), 1.1 * level + random.normal(0, sd_y),
                         sd_x, sd_y)  # fmt: skip
        slopes.append(line.slope)
        errors.append(line.se_slope)
    assert np.mean(slopes) == pytest.approx(1.1, abs=0.01)
    # Never made smaller, sometimes larger: on the average a little above.
    assert 0.95 < np.mean(errors) / np.std(slopes) < 1.25


@given(st.integers(0, 10_000), st.floats(0.05, 2.0), st.floats(0.05, 2.0))
@few
def test_with_equal_sds_it_is_deming(seed: int, sd_x: float, sd_y: float) -> None:
    x, y = waters(seed)
    line = york_line(x, y, np.full(12, sd_x), np.full(12, sd_y))
    plain = deming_line(x, y, error_ratio=(sd_x / sd_y) ** 2)
    assert (line.intercept, line.slope) == pytest.approx(
        (plain.intercept, plain.slope), rel=1e-8, abs=1e-8
    )


@given(st.integers(0, 10_000))
@few
def test_swapping_the_kits_inverts_the_line(seed: int) -> None:
    x, y = waters(seed)
    sd_x, sd_y = 0.05 * x, np.linspace(0.1, 0.4, 12)
    line, back = york_line(x, y, sd_x, sd_y), york_line(y, x, sd_y, sd_x)
    assert back.slope == pytest.approx(1 / line.slope, rel=1e-8)


def test_exact_x_gives_weighted_least_squares() -> None:
    from reef_calc.compare.lines import ols_line

    x, y = waters(2)
    sd_y = np.linspace(0.1, 0.4, 12)
    line = york_line(x, y, np.zeros(12), sd_y)
    plain = ols_line(x, y, weights=1 / sd_y**2)
    assert (line.intercept, line.slope) == pytest.approx((plain.intercept, plain.slope), rel=1e-9)
    swapped = york_line(y, x, sd_y, np.zeros(12))
    assert swapped.slope == pytest.approx(1 / plain.slope, rel=1e-8)


def test_too_small_sds_are_named() -> None:
    x, y = waters(5, sd=0.3)
    line = york_line(x, y, np.full(12, 0.1), np.full(12, 0.1))
    misfit = york_misfit(x, y, np.full(12, 0.1), np.full(12, 0.1), line.intercept, line.slope)
    assert [one.code for one in line.messages] == ["SCATTERS_MORE"]
    assert f"{math.sqrt(misfit / 10):.1f} times" in line.messages[0].text
    # Widened by just that: SDs right in size give the same interval.
    right = math.sqrt(misfit / 10) * 0.1
    other = york_line(x, y, np.full(12, right), np.full(12, right))
    assert other.se_slope == pytest.approx(line.se_slope)
    assert other.messages == ()


def test_what_cannot_be_used() -> None:
    for sd_x, sd_y in (([0.0] * 3, [0.0] * 3), ([-0.1] * 3, [0.1] * 3)):
        with pytest.raises(InputError, match="SD above zero for every water"):
            york_line([1, 2, 3], [1, 2, 3.5], sd_x, sd_y)
    for x, y in (([1, 1, 1], [1, 2, 3]), ([1, 2, 3], [1, 1, 1])):
        with pytest.raises(NoLineError) as caught:
            york_line(x, y, [0.1] * 3, [0.1] * 3)
        assert caught.value.message.code == "DEGENERATE"
    with pytest.raises(NoLineError) as caught:
        york_line([1, 0, 2, 1], [0, 3, 3, 4], [0.1] * 4, [0.1] * 4)
    assert caught.value.message.code == "NOT_CONVERGED"


def test_stated_sds_are_never_made_smaller() -> None:
    """Points on the line within a hundredth of the stated SDs: the intervals stay those of the SDs."""
    x = np.linspace(4.0, 12.0, 9)
    line = york_line(x, x + 0.001 * np.cos(5 * x), np.full(9, 0.2), np.full(9, 0.2))
    expected = np.sqrt(2 * 0.2**2 / np.sum((x - x.mean()) ** 2))
    assert line.se_slope == pytest.approx(expected, rel=0.01)
