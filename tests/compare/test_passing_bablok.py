"""The median of slopes: published sets, ties decided in whole steps, and what it refuses."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.special import stdtrit
from scipy.stats import theilslopes

from reef_calc.compare.bias_at import bias_at
from reef_calc.compare.fitted_line import Line
from reef_calc.compare.integer_grid import on_one_grid
from reef_calc.compare.no_line import NoLineError
from reef_calc.compare.passing_bablok import passing_bablok_line
from reef_calc.errors import InputError
from tests.compare.lines_data import SEN_X, SEN_Y, TEN_X, TEN_Y, waters
from tests.compare.published_pairs import LARGE_METER, SMALL_METER, THIRTY_A, THIRTY_B
from tests.trust import record_check

MCR = "R packages mcr 1.3.3.1 and deming 1.4, and the rule of 1983 written out"
few = settings(max_examples=30, deadline=None)
readings = st.lists(st.tuples(st.integers(60, 140), st.integers(60, 140)), min_size=5, max_size=14)


def by_fractions(x, y) -> tuple[float, int, int]:
    """Slope, number and offset of whole numbers, by exact fractions in plain loops."""
    from fractions import Fraction

    slopes: list[Fraction | float] = []
    for (x1, y1), (x2, y2) in combinations(zip(x, y, strict=True), 2):
        if x1 == x2:
            slopes += [] if y1 == y2 else [math.inf]
        elif Fraction(y2 - y1, x2 - x1) != -1:
            slopes.append(Fraction(y2 - y1, x2 - x1))
    slopes.sort()
    offset = sum(slope < -1 for slope in slopes)
    n = len(slopes)
    inner = slopes[(n - 1) // 2 + offset : n // 2 + 1 + offset]
    return float(sum(inner) / len(inner)), n, offset


def test_sen() -> None:
    """Sen 1968, interval at 93 %. PUBLISHED."""
    line = passing_bablok_line(SEN_X, SEN_Y, confidence=0.93)
    got = (line.slope, line.slope_low, line.slope_high)
    record_check("Sen", "two kits: median of slopes", (4, 26 / 7, 35 / 8), got,
                 "Sen 1968, J. Am. Stat. Assoc. 63, 1379", "PUBLISHED")  # fmt: skip
    assert got == pytest.approx((4, 26 / 7, 35 / 8), rel=1e-12)
    assert line.intercept == pytest.approx(6.0)


@pytest.mark.parametrize(
    ("name", "x", "y", "slope", "intercept", "low", "high"),
    [
        ("ten", TEN_X, TEN_Y, 1.0, -0.05, 0.71875, 1.4210526316),
        (
            "flow meters",
            [one[0] for one in LARGE_METER],
            [one[0] for one in SMALL_METER],
            1.0648148148,
            -24.3055555556,
            0.8370786517,
            1.3968253968,
        ),
    ],
)
def test_published_sets(name, x, y, slope, intercept, low, high) -> None:
    """Data PUBLISHED; lines COMPUTED, three programs agree."""
    line = passing_bablok_line(x, y)
    got = (line.slope, line.intercept, line.slope_low, line.slope_high)
    record_check(f"median of slopes, {name}", "two kits: median of slopes",
                 (slope, intercept, low, high), got, MCR, "COMPUTED")  # fmt: skip
    assert got == pytest.approx((slope, intercept, low, high), rel=1e-9)


def test_ten_pairs_interval_of_the_intercept() -> None:
    """COMPUTED, three programs agree."""
    line = passing_bablok_line(TEN_X, TEN_Y, resolution_x=0.1, resolution_y=0.1)
    assert line.intercept_low == pytest.approx(-3.7894736842, rel=1e-9)
    assert line.intercept_high == pytest.approx(2.3828125, rel=1e-9)


def test_thirty_pairs_even_count_and_one_vertical() -> None:
    """Data of Giavarina 2015 (MEMORY). Arithmetic middle; ends differ between programs by 1e-3."""
    line = passing_bablok_line(THIRTY_A, THIRTY_B, resolution_x=1, resolution_y=1)
    assert line.slope == pytest.approx(1.0553121958, rel=1e-9)
    assert (line.slope_low, line.slope_high) == pytest.approx((1.02048, 1.09146), abs=1e-5)
    assert line.counts is not None and line.counts.tied_x == 1 / 435


@given(readings)
@few
def test_as_exact_fractions_say(pairs) -> None:
    x, y = zip(*pairs, strict=True)
    try:
        line = passing_bablok_line(x, y, most_ties=1.0)
    except NoLineError:
        return
    slope, n, offset = by_fractions(x, y)
    assert line.slope == pytest.approx(slope, rel=1e-14)
    assert line.counts is not None
    assert (line.counts.slopes, line.counts.offset) == (n, offset)


@given(readings)
@few
def test_decimals_and_whole_numbers_are_the_same(pairs) -> None:
    """Hundredths as floats and as whole numbers: identical to the last bit."""
    x, y = (np.array(column) for column in zip(*pairs, strict=True))

    def line_or_words(factor: float, step: float) -> Line | str:
        try:
            return passing_bablok_line(
                x * factor, y * factor, resolution_x=step, resolution_y=step, most_ties=1.0
            )
        except NoLineError as none:
            return none.message.code

    whole, decimal, typed = line_or_words(1, 1), line_or_words(0.01, 0.01), line_or_words(0.01, 0)
    if isinstance(whole, str):
        assert whole == decimal == typed
        return
    for other in (decimal, typed):
        assert isinstance(other, Line)
        assert (other.slope, other.slope_low, other.slope_high, other.counts) == (
            whole.slope, whole.slope_low, whole.slope_high, whole.counts,
        )  # fmt: skip
        assert 100 * other.intercept == pytest.approx(whole.intercept, abs=1e-9)


def test_ties_that_floating_point_would_miss() -> None:
    # 8.3 − 8.2 and 8.2 − 8.1 differ in the last bit, and −0.1/0.1 need not be −1.
    x, y = [8.1, 8.2, 8.3, 8.4, 8.5, 8.6], [8.1, 8.0, 8.4, 8.5, 8.6, 8.7]
    line = passing_bablok_line(x, y, resolution_x=0.1, resolution_y=0.1)
    slope, n, offset = by_fractions([81, 82, 83, 84, 85, 86], [81, 80, 84, 85, 86, 87])
    assert line.counts is not None
    assert (line.slope, line.counts.slopes, line.counts.offset) == (slope, n, offset)
    assert n == 14


@given(st.integers(0, 10_000))
@few
def test_on_rising_readings_it_is_theil_sen(seed: int) -> None:
    """Outside: scipy.stats.theilslopes."""
    random = np.random.default_rng(seed)
    x, y = np.cumsum(random.integers(1, 9, 12)), np.cumsum(random.integers(1, 9, 12))
    found = theilslopes(y, x)
    assert passing_bablok_line(x, y).slope == pytest.approx(found.slope, rel=1e-12)


@given(st.integers(0, 10_000))
@few
def test_swapping_inverts_an_odd_number_of_slopes_without_ties(seed: int) -> None:
    random = np.random.default_rng(seed)
    x = random.permutation(np.arange(40, 140, 9))[:10]
    y = x + random.permutation(np.arange(10))
    assume(len(np.unique(y)) == 10)
    line, back = passing_bablok_line(x, y), passing_bablok_line(y, x)
    assert line.counts is not None
    assume(line.counts.slopes % 2 == 1)
    assert back.slope == pytest.approx(1 / line.slope, rel=1e-12)


@given(st.integers(0, 10_000), st.integers(-30, 300), st.integers(1, 9))
@few
def test_shift_and_scale(seed: int, shift: int, factor: int) -> None:
    x, y = (np.round(one, 1) for one in waters(seed))
    line = passing_bablok_line(x, y, resolution_x=0.1, resolution_y=0.1)
    moved = passing_bablok_line(x + shift, y + shift, resolution_x=0.1, resolution_y=0.1)
    assert moved.slope == line.slope
    assert moved.intercept == pytest.approx(line.intercept + shift * (1 - line.slope), abs=1e-9)
    times = passing_bablok_line(factor * x, factor * y)
    assert times.slope == pytest.approx(line.slope, rel=1e-12)
    assert times.intercept == pytest.approx(factor * line.intercept, abs=1e-9)


def test_two_steps_of_different_size() -> None:
    x, y = np.array([8.0, 8.3, 8.9, 9.1, 9.6]), np.array([8.0, 8.25, 9.05, 9.0, 9.75])
    line = passing_bablok_line(x, y, resolution_x=0.1, resolution_y=0.05)
    assert line.slope == by_fractions([160, 166, 178, 182, 192], [160, 165, 181, 180, 195])[0]
    a, b = on_one_grid(np.array([0.1, 0.2]) / 3, np.array([0.1, 0.3]), 0.1 / 3, 0.1)
    assert (a.tolist(), b.tolist()) == ([1, 2], [3, 9])


def test_one_misread_water_does_not_move_it() -> None:
    level = np.array([4.0, 5.1, 6.3, 7.2, 8.4, 9.0, 10.3, 11.1, 12.4])
    read = np.round(1.1 * level, 2)
    wrong = read.copy()
    wrong[4] += 5.0
    assert passing_bablok_line(level, wrong).slope == pytest.approx(1.1, abs=0.01)


def test_bias_at_a_level_is_bounded_by_the_edges() -> None:
    x, y = (np.round(one, 1) for one in waters(3, n=15))
    line = passing_bablok_line(x, y, resolution_x=0.1, resolution_y=0.1)
    assert [edge.slope for edge in line.edges] == [line.slope_low, line.slope, line.slope_high]
    for level, found in zip((5.0, 9.0, 20.0), bias_at(line, (5.0, 9.0, 20.0)), strict=True):
        residual = [np.sort(y - edge.slope * x) for edge in line.edges]
        # Sign interval of a median of 15: the fourth from either end, as tabled.
        ends = [(r[3] + (e.slope - 1) * level, r[-4] + (e.slope - 1) * level)
                for r, e in zip(residual, line.edges, strict=True)]  # fmt: skip
        assert found.low == pytest.approx(min(end[0] for end in ends))
        assert found.high == pytest.approx(max(end[1] for end in ends))
        assert found.low < found.bias < found.high
        # Drawn evenly around the estimate it reaches at least as far.
        arm = stdtrit(13, 0.975) * found.se
        assert found.bias - arm <= found.low + 1e-12
        assert found.bias + arm >= found.high - 1e-12
        assert found.extrapolated is (level == 20.0)


def test_a_scale_of_coarse_steps_holds_the_median() -> None:
    """Read to 0.5 the slope 1.05 is found as exactly 1; the interval must not shrink onto it."""
    random = np.random.default_rng(2)
    inside, stuck, at_one = 0, 0, 0
    for _ in range(100):
        level = random.uniform(4, 14, 15)
        x, y = (np.round(2 * read) / 2 for read in (level, 8 + 1.05 * (level - 8)))
        line = passing_bablok_line(x, y, resolution_x=0.5, resolution_y=0.5, most_ties=1.0)
        at = bias_at(line, [12.0])[0]
        inside += at.low <= 0.2 <= at.high
        stuck += "STUCK" in [one.code for one in line.messages]
        at_one += line.slope == 1.0
    assert at_one > 60
    assert stuck == 100
    assert inside >= 95


def test_stuck_in_words() -> None:
    x = np.arange(4.0, 12.0, 0.5)
    y = x + np.where(np.arange(16) > 8, 0.5, 0.0)
    said = passing_bablok_line(x, y, resolution_x=0.5, resolution_y=0.5).messages[0]
    assert said.code == "STUCK"
    assert said.text.startswith("48 % of the slopes between two waters are exactly 1, because")


def test_many_equal_readings_are_refused() -> None:
    x = [8.0] * 5 + [8.1, 8.2, 8.3, 8.4, 8.5]
    y = [8.0, 8.1, 8.2, 7.9, 8.0, 8.2, 8.3, 8.4, 8.5, 8.6]
    with pytest.raises(NoLineError) as caught:
        passing_bablok_line(x, y, resolution_x=0.1, resolution_y=0.1)
    assert caught.value.message.code == "TIES"
    assert "22 % of all pairs of waters read the same on kit A, more than the 20 %" in str(
        caught.value
    )
    # 66 of 325 pairs are 20.3 %: the sentence must not say that 20 % is more than 20 %.
    x = [8.0] * 12 + [8.0 + 0.1 * k for k in range(1, 15)]
    with pytest.raises(NoLineError, match=r"20\.3 % of all .* more than the 20\.0 %"):
        passing_bablok_line(x, np.arange(26), resolution_x=0.1)


def test_ties_are_told() -> None:
    line = passing_bablok_line([8.0, 8.0, 8.2, 8.3, 8.4], [8.0, 8.1, 8.3, 8.4, 8.5])
    assert line.messages[0].code == "TIES"
    assert "10 % on kit A, none on kit B" in line.messages[0].text
    assert passing_bablok_line(SEN_X, SEN_Y).messages == ()


def test_ends_that_few_waters_do_not_reach() -> None:
    line = passing_bablok_line([4, 6, 9, 12], [4.1, 6.4, 9.2, 12.9])
    assert (line.slope_low, line.slope_high) == (-math.inf, math.inf)
    assert (line.intercept_low, line.intercept_high) == (-math.inf, math.inf)
    assert "neither a lower nor an upper end" in line.messages[0].text
    at = bias_at(line, [8.0])[0]
    assert (at.low, at.high) == (-math.inf, math.inf)
    assert math.isfinite(at.bias)


def test_no_line_where_the_kits_do_not_rise_together() -> None:
    # A slope between −1 and 0: below −1 the method reads it as a rising one seen from B.
    for y in ([20, 20, 20, 20, 20, 20], [10, 9.8, 9.5, 9.4, 9.2, 9.1]):
        with pytest.raises(NoLineError) as caught:
            passing_bablok_line([4, 6, 8, 10, 12, 14], y)
        assert caught.value.message.code == "DEGENERATE"
    with pytest.raises(NoLineError) as caught:
        passing_bablok_line([8.0] * 4, [8.0, 8.1, 8.2, 8.3], most_ties=1.0)
    assert caught.value.message.code == "DEGENERATE"


def test_what_cannot_be_used() -> None:
    with pytest.raises(InputError, match=r"kit A: needed readings in steps of 0\.1, given “8\.15”"):
        passing_bablok_line([8.0, 8.15, 8.3], [8, 9, 10], resolution_x=0.1)
    with pytest.raises(InputError, match="kit B: needed the step of the scale, 0 or more"):
        passing_bablok_line([8.0, 8.1, 8.3], [8, 9, 10], resolution_y=-1)
    with pytest.raises(InputError, match="go into each other"):
        passing_bablok_line([8.0, 8.1, 18.3], np.arange(3) * 0.10000001, resolution_x=0.1,
                            resolution_y=0.10000001)  # fmt: skip


def test_readings_without_a_step() -> None:
    x, y = waters(3)
    line = passing_bablok_line(x, y)
    finer = passing_bablok_line(np.round(x, 6), np.round(y, 6))
    assert line.slope == pytest.approx(finer.slope, abs=1e-5)
