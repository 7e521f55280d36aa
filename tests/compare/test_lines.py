"""Least squares, Deming and weighted Deming: certified and published values, invariances, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.compare.bias_at import bias_at
from reef_calc.compare.jackknife import jackknife_errors
from reef_calc.compare.lines import deming_line, ols_line, weighted_deming_line
from reef_calc.compare.no_line import NoLineError
from reef_calc.compare.one_way import one_way
from reef_calc.errors import InputError
from tests.compare.lines_data import (
    DUPLICATES_X,
    DUPLICATES_Y,
    STABLE_TANK,
    TEN_X,
    TEN_Y,
    nearest_line,
    norris,
    waters,
)
from tests.compare.published_pairs import LARGE_METER, SMALL_METER, THIRTY_A, THIRTY_B
from tests.trust import record_check

NIST = "NIST StRD Norris, certified values"
MANUAL = "worked example of Deming regression in a statistics manual"
MCR = "R package mcr 1.3.3.1, and the papers' formulas written out"
seeds = st.integers(0, 10_000)
few = settings(max_examples=30, deadline=None)


def recorded(id: str, expected: float, got: float, source: str, status: str, rel: float) -> None:
    record_check(id, "two kits: line", expected, got, source, status)
    assert got == pytest.approx(expected, rel=rel)


def test_norris_least_squares() -> None:
    """PUBLISHED, certified."""
    line = ols_line(*norris())
    recorded("Norris kits a", -0.262323073774029, line.intercept, NIST, "PUBLISHED", 1e-9)
    recorded("Norris kits b", 1.00211681802045, line.slope, NIST, "PUBLISHED", 1e-10)
    recorded("Norris se a", 0.232818234301152, line.se_intercept, NIST, "PUBLISHED", 1e-10)
    recorded("Norris se b", 0.000429796848199937, line.se_slope, NIST, "PUBLISHED", 1e-10)
    recorded("Norris SD", 0.884796396144373, line.scatter or 0.0, NIST, "PUBLISHED", 1e-10)


def test_norris_deming() -> None:
    """COMPUTED: formulas written out; a general minimiser agrees to 1e-10 in the slope."""
    line = deming_line(*norris(), error_ratio=1.0)
    recorded("Norris Deming a", -0.263639429701, line.intercept, "formulas", "COMPUTED", 1e-9)
    recorded("Norris Deming b", 1.002119958349, line.slope, "formulas", "COMPUTED", 1e-12)


def test_ten_pairs_with_error_ratio_4() -> None:
    """Printed to four decimals: PUBLISHED; more digits COMPUTED."""
    line = deming_line(TEN_X, TEN_Y, error_ratio=4.0)
    for id, printed, exact, got in (
        ("ten a", -0.0897, -0.0897448990, line.intercept),
        ("ten b", 1.0012, 1.0011942278, line.slope),
        ("ten se a", 1.7220, 1.7219874128, line.se_intercept),
        ("ten se b", 0.1872, 0.1871770528, line.se_slope),
    ):
        record_check(id, "two kits: Deming", printed, got, MANUAL, "PUBLISHED")
        assert round(got, 4) == printed
        recorded(f"{id}, more digits", exact, got, MCR, "COMPUTED", 1e-9)
    assert (line.slope_low, line.slope_high) == pytest.approx((0.5695631700, 1.4328252856))
    other = deming_line(TEN_X, TEN_Y, error_ratio=1.0)
    assert other.intercept == pytest.approx(0.3909253772, rel=1e-9)
    assert other.slope == pytest.approx(0.9422885567, rel=1e-9)


def test_bias_of_ten_pairs_at_levels() -> None:
    """COMPUTED with the R package mcr, to all its digits."""
    found = bias_at(deming_line(TEN_X, TEN_Y, error_ratio=4.0), [6, 8, 10, 12])
    expected = (
        (-0.0825795321, -1.5317436200, 1.3665845558),
        (-0.0801910765, -0.8047224183, 0.6443402654),
        (-0.0778026208, -0.7413218271, 0.5857165855),
    )
    for one, wanted in zip(found, expected, strict=False):
        got = (one.bias, one.low, one.high)
        assert got == pytest.approx(wanted, rel=1e-9)
        record_check(f"ten at {one.level:g}", "two kits: bias at a level", wanted, got, MCR,
                     "COMPUTED")  # fmt: skip
    assert [one.extrapolated for one in found] == [False, False, False, True]


def test_weighted_deming() -> None:
    """COMPUTED, iterated to the end; the manual stops early at −0.3251 and 1.0309 (PUBLISHED)."""
    line = weighted_deming_line(TEN_X, TEN_Y, error_ratio=4.0)
    recorded("ten weighted a", -0.3283761411, line.intercept, MCR, "COMPUTED", 1e-9)
    recorded("ten weighted b", 1.0312279902, line.slope, MCR, "COMPUTED", 1e-9)
    recorded("ten weighted se a", 1.9743379597, line.se_intercept, MCR, "COMPUTED", 1e-9)
    recorded("ten weighted se b", 0.2202036917, line.se_slope, MCR, "COMPUTED", 1e-9)
    assert line.intercept == pytest.approx(-0.3251, abs=0.005)
    assert line.slope == pytest.approx(1.0309, abs=0.0005)


@pytest.mark.parametrize(
    ("x", "y", "plain", "weighted"),
    [
        (
            [one[0] for one in LARGE_METER],
            [one[0] for one in SMALL_METER],
            (15.2315555223, 0.9708808198),
            (67.0139279562, 0.8514751078),
        ),
        (THIRTY_A, THIRTY_B, (10.3445848016, 1.0461891320), (7.5281003595, 1.0300678957)),
    ],
    ids=["flow meters", "thirty pairs"],
)
def test_larger_sets(x, y, plain, weighted) -> None:
    """Data: Bland and Altman 1986 (PUBLISHED), Giavarina 2015 (MEMORY). Lines COMPUTED with mcr."""
    line = deming_line(x, y, error_ratio=1.0)
    heavy = weighted_deming_line(x, y, error_ratio=1.0)
    record_check(f"Deming, {len(x)} pairs", "two kits: Deming", plain, (line.intercept, line.slope),
                 MCR, "COMPUTED")  # fmt: skip
    record_check(f"weighted, {len(x)} pairs", "two kits: Deming", weighted,
                 (heavy.intercept, heavy.slope), MCR, "COMPUTED")  # fmt: skip
    assert (line.intercept, line.slope) == pytest.approx(plain, rel=1e-9)
    assert (heavy.intercept, heavy.slope) == pytest.approx(weighted, rel=1e-9)


def test_duplicates_give_the_ratio() -> None:
    """Data PUBLISHED; line COMPUTED from the formulas written out."""
    of_x, of_y = (one_way(read.T).within_square for read in (DUPLICATES_X, DUPLICATES_Y))
    assert (of_x, of_y) == (3.25, 3.25)
    line = deming_line(
        DUPLICATES_X.mean(axis=0), DUPLICATES_Y.mean(axis=0), error_ratio=of_x / of_y
    )
    got = (line.intercept, line.slope)
    record_check("duplicates", "two kits: Deming", (-1.4717917165, 0.6855943081), got, MANUAL,
                 "COMPUTED")  # fmt: skip
    assert got == pytest.approx((-1.4717917165, 0.6855943081), rel=1e-9)
    assert line.se_intercept == pytest.approx(7.4877623, rel=1e-7)
    assert line.se_slope == pytest.approx(0.0496388, rel=1e-6)


def test_in_a_stable_tank_the_slope_is_that_of_the_assumed_ratio() -> None:
    """COMPUTED: 0.37 to 3.28 from the same fifteen waters."""
    slopes = [deming_line(*STABLE_TANK.T, error_ratio=ratio).slope for ratio in (0.1, 1.0, 10.0)]
    assert slopes == pytest.approx([0.370456, 1.304622, 3.284704], abs=1e-6)


@pytest.mark.parametrize("ratio", [0.1, 1.0, 9.0])
def test_deming_is_what_a_general_minimiser_finds(ratio: float) -> None:
    """Outside: scipy.optimize on the sum of squares itself."""
    x, y = waters(3, sd=0.4)
    line = deming_line(x, y, error_ratio=ratio)
    found = nearest_line(x, y, np.full(12, ratio), np.ones(12))
    assert (line.intercept, line.slope) == pytest.approx(found, abs=1e-6)


def test_weighted_least_squares_as_a_general_library() -> None:
    """Outside: statsmodels."""
    from statsmodels.regression.linear_model import WLS

    x, y = waters(4, sd=0.4)
    line = ols_line(x, y, weights=1 / x**2)
    other = WLS(y, np.column_stack([np.ones(12), x]), weights=1 / x**2).fit()
    assert (line.intercept, line.slope) == pytest.approx(other.params, rel=1e-10)
    assert (line.se_intercept, line.se_slope) == pytest.approx(other.bse, rel=1e-10)
    assert (line.slope_low, line.slope_high) == pytest.approx(other.conf_int()[1], rel=1e-10)
    assert line.method == "wls"


@given(seeds, st.floats(0.01, 100.0))
@few
def test_swapping_the_kits_inverts_the_line(seed: int, ratio: float) -> None:
    x, y = waters(seed)
    for fit in (deming_line, weighted_deming_line):
        line, back = fit(x, y, error_ratio=ratio), fit(y, x, error_ratio=1 / ratio)
        assert back.slope == pytest.approx(1 / line.slope, rel=1e-8)
        assert back.intercept == pytest.approx(-line.intercept / line.slope, abs=1e-7)


@given(seeds, st.floats(0.01, 1000.0))
@few
def test_scaling_both_kits_scales_the_intercept(seed: int, factor: float) -> None:
    x, y = waters(seed)
    for fit in (deming_line, weighted_deming_line):
        line = fit(x, y, error_ratio=2.0)
        scaled = fit(factor * x, factor * y, error_ratio=2.0)
        assert scaled.slope == pytest.approx(line.slope, rel=1e-8)
        assert scaled.intercept == pytest.approx(factor * line.intercept, abs=1e-8 * factor)
        assert scaled.se_intercept == pytest.approx(factor * line.se_intercept, rel=1e-6)
        assert scaled.se_slope == pytest.approx(line.se_slope, rel=1e-6)


@given(seeds, st.floats(-50.0, 500.0))
@few
def test_shifting_both_kits_keeps_slope_and_bias(seed: int, shift: float) -> None:
    x, y = waters(seed)
    line = deming_line(x, y, error_ratio=1.0)
    moved = deming_line(x + shift, y + shift, error_ratio=1.0)
    assert moved.slope == pytest.approx(line.slope, rel=1e-9)
    here, there = bias_at(line, [8.0])[0], bias_at(moved, [8.0 + shift])[0]
    assert (there.bias, there.se) == pytest.approx((here.bias, here.se), abs=1e-7)


@given(seeds, st.floats(0.0, 1e6))
@few
def test_deming_lies_between_the_two_least_squares_lines(seed: int, ratio: float) -> None:
    x, y = waters(seed, sd=0.8)
    low, high = ols_line(x, y).slope, 1 / ols_line(y, x).slope
    assert low - 1e-9 <= deming_line(x, y, error_ratio=ratio).slope <= high + 1e-9


@given(seeds)
@few
def test_the_ends_of_the_error_ratio(seed: int) -> None:
    x, y = waters(seed, sd=0.8)
    line = deming_line(x, y, error_ratio=0.0)
    assert line.slope == pytest.approx(ols_line(x, y).slope, rel=1e-12)
    far = deming_line(x, y, error_ratio=1e15)
    assert far.slope == pytest.approx(1 / ols_line(y, x).slope, rel=1e-9)


@given(seeds)
@few
def test_a_true_line_is_found_and_known_exactly(seed: int) -> None:
    x, _ = waters(seed)
    for fit in (deming_line, weighted_deming_line):
        line = fit(x, 0.2 + 1.1 * x, error_ratio=1.0)
        assert (line.intercept, line.slope) == pytest.approx((0.2, 1.1), abs=1e-9)
        assert line.se_slope == pytest.approx(0.0, abs=1e-9)


def test_the_order_of_the_waters_does_not_matter() -> None:
    x, y = waters(1)
    for fit in (deming_line, weighted_deming_line):
        one = fit(x, y, error_ratio=1.0)
        other = fit(x[::-1], y[::-1], error_ratio=1.0)
        assert other.slope == pytest.approx(one.slope, rel=1e-12)
        assert other.se_slope == pytest.approx(one.se_slope, rel=1e-9)


def test_leaving_one_out_in_one_go_is_leaving_one_out() -> None:
    x, y = waters(8, n=9)
    for fit in (deming_line, weighted_deming_line):
        line = fit(x, y, error_ratio=3.0)
        parts = [fit(np.delete(x, i), np.delete(y, i), error_ratio=3.0) for i in range(9)]
        errors = jackknife_errors(
            [line.intercept, line.slope], [[p.intercept, p.slope] for p in parts]
        )
        assert errors.standard_errors == pytest.approx((line.se_intercept, line.se_slope))
        assert errors.covariance[0, 1] == pytest.approx(line.covariance)
        pseudo = np.cov(errors.pseudo_values.T) / 9
        assert errors.covariance == pytest.approx(pseudo)


def test_the_jackknife_of_a_mean_is_its_standard_error() -> None:
    values = np.array([8.1, 8.4, 7.9, 8.3, 8.6])
    parts = [[np.delete(values, i).mean()] for i in range(5)]
    found = jackknife_errors([values.mean()], parts).standard_errors[0]
    assert found == pytest.approx(values.std(ddof=1) / np.sqrt(5), rel=1e-12)


@pytest.mark.parametrize("fit", [deming_line, weighted_deming_line])
def test_no_line_where_the_kits_do_not_rise_together(fit) -> None:
    for y in ([8.4, 8.3, 8.2, 8.1], [8.2, 8.2, 8.2, 8.2], [8.2, 8.3, 8.3, 8.2]):
        with pytest.raises(NoLineError, match="do not rise together") as caught:
            fit([8.1, 8.2, 8.3, 8.4], y, error_ratio=1.0)
        assert caught.value.message.code == "DEGENERATE"
        assert caught.value.message.kind == "refused"
    with pytest.raises(NoLineError, match="do not rise together"):
        fit([8.1] * 4, [8.1, 8.2, 8.3, 8.4], error_ratio=1.0)


@pytest.mark.parametrize("fit", [deming_line, weighted_deming_line])
def test_no_line_that_hangs_on_one_water(fit) -> None:
    with pytest.raises(NoLineError, match="hangs on water 3 alone"):
        fit([8.1, 8.1, 12.0, 8.1], [8.0, 8.3, 12.4, 8.2], error_ratio=1.0)


def test_all_waters_at_one_level() -> None:
    with pytest.raises(NoLineError, match="All 3 waters have the same level"):
        ols_line([0.3, 0.1 + 0.2, 0.3], [1.0, 2.0, 3.0])


def test_weights_that_never_settle() -> None:
    x, y = [2.2, 0.7, 1.1, 1.3, 1.2], [2.1, 2.4, 1.1, 1.4, 0.3]
    with pytest.raises(NoLineError, match="does not settle") as caught:
        weighted_deming_line(x, y, error_ratio=1.0)
    assert caught.value.message.code == "NOT_CONVERGED"


@pytest.mark.parametrize("low", [0.0, -0.5])
def test_weights_need_readings_above_zero(low: float) -> None:
    with pytest.raises(NoLineError, match=f"the lowest is {low:g}") as caught:
        weighted_deming_line([1.0, 2.0, 3.0, 4.0], [low, 2.0, 3.0, 4.0], error_ratio=1.0)
    assert caught.value.message.code == "NEGATIVE_OR_ZERO"


@pytest.mark.parametrize(
    ("x", "y", "words"),
    [
        ([8.0, 8.1], [8.0, 8.1], "at least three waters, given “2”"),
        ([8.0, 8.1, 8.2], [8.0, 8.1], "equal length, given “3 and 2”"),
        ([8.0, np.nan, 8.2], [8.0, 8.1, 8.2], "given “nan for water 2”"),
        ([8.0, 8.1, 8.2], [8.0, 8.1, np.inf], "given “inf for water 3”"),
    ],
)
def test_columns_that_cannot_be_used(x, y, words) -> None:
    for fit in (ols_line, lambda x, y: deming_line(x, y, error_ratio=1.0)):
        with pytest.raises(InputError, match=words):
            fit(x, y)


@pytest.mark.parametrize("ratio", [-1.0, np.nan, np.inf])
def test_a_ratio_that_is_none(ratio: float) -> None:
    with pytest.raises(InputError, match="0 or more"):
        deming_line([1, 2, 3], [1, 2, 4], error_ratio=ratio)


def test_other_arguments_that_cannot_be_used() -> None:
    with pytest.raises(InputError, match="between 0 and 1, given “95”"):
        ols_line([1, 2, 3], [1, 2, 4], confidence=95)
    with pytest.raises(InputError, match="weights above zero"):
        ols_line([1, 2, 3], [1, 2, 4], weights=[1, 0, 1])
    with pytest.raises(InputError, match="given “inf”"):
        bias_at(ols_line([1, 2, 3], [1, 2, 4]), [np.inf])
    with pytest.raises(InputError, match="at least three waters"):
        jackknife_errors([1.0], [[1.0], [1.0]])
    with pytest.raises(InputError, match="no value"):
        jackknife_errors([1.0], [[1.0], [np.inf], [1.0]])
    with pytest.raises(InputError, match="one row for each water left out"):
        jackknife_errors([1.0], [1.0, 2.0, 3.0])
