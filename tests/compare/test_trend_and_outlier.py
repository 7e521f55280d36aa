"""Trend of the difference, and the water that does not fit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from reef_calc.compare.outlier import furthest, grubbs_critical, with_and_without
from reef_calc.compare.trend import trend_of_differences, trend_of_kits
from reef_calc.errors import CannotTellError, InputError
from tests.compare.published_pairs import THIRTY_A, THIRTY_B, pairs_from
from tests.trust import record_check


def test_trend_of_thirty_pairs() -> None:
    """Giavarina 2015; slope and error worked out in R. COMPUTED."""
    found = trend_of_kits(pairs_from(THIRTY_B, THIRTY_A))
    line = found.difference
    got = (line.intercept, line.slope, line.standard_error, line.p_value)
    expected = (-10.146902, -0.04505166, 0.01732766, 0.0147165)
    assert got == pytest.approx(expected, rel=2e-6)
    assert found.clear
    record_check(
        "Thirty pairs trend", "comparison of kits: difference on mean: a, b, SE, p", expected, got,
        "Giavarina (2015), Biochem. Med. 25, 141; numbers worked out in R", "COMPUTED",
    )  # fmt: skip


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.integers(40, 120), st.integers(-9, 9)), min_size=4, max_size=12))
def test_trend_against_scipy(rows: list[tuple[int, int]]) -> None:
    """Both lines by scipy.stats.linregress, a general library."""
    x, d = np.array(rows, dtype=float).T
    if np.ptp(x) == 0.0:
        with pytest.raises(CannotTellError, match="other levels"):
            trend_of_differences(d, x)
        return
    found = trend_of_differences(d, x)
    line = stats.linregress(x, d)
    residuals = d - line.intercept - line.slope * x
    assert (found.difference.slope, found.difference.intercept) == pytest.approx(
        (line.slope, line.intercept), abs=1e-9
    )
    if np.abs(residuals).max() > 1e-6:
        assert found.difference.standard_error == pytest.approx(line.stderr, rel=1e-7)
        assert found.difference.p_value == pytest.approx(line.pvalue, rel=1e-6, abs=1e-12)
        sizes = math.sqrt(math.pi / 2) * np.abs(residuals)
        spread = stats.linregress(x, sizes)
        assert found.spread.slope == pytest.approx(spread.slope, abs=1e-9)
    # Turned round, the slope is the other way; scatter goes the same way.
    turned = trend_of_differences(-d, x)
    assert turned.difference.slope == pytest.approx(-found.difference.slope, abs=1e-12)
    assert turned.spread.slope == pytest.approx(found.spread.slope, abs=1e-9)
    assert (turned.clear, turned.spread_clear) == (found.clear, found.spread_clear)


def test_limits_follow_a_clear_trend_and_a_growing_scatter() -> None:
    rng = np.random.default_rng(1)
    level = np.linspace(4.0, 14.0, 400)
    difference = 0.1 * level - 0.5 + 0.05 * level * rng.standard_normal(400)
    found = trend_of_differences(difference, level)
    assert found.clear
    assert found.spread_clear
    for at in (5.0, 9.0, 13.0):
        low, high = found.limits_at(at)
        assert (low + high) / 2 == pytest.approx(0.1 * at - 0.5, abs=0.06)
        assert (high - low) / 2 == pytest.approx(1.96 * 0.05 * at, rel=0.12)
    with pytest.raises(InputError, match="a level from 4 to 14"):
        found.limits_at(20.0)


def test_limits_without_a_trend_are_the_plain_ones() -> None:
    d = [0.1, 0.3, 0.2, 0.25, 0.15, 0.2]
    found = trend_of_differences(d, [7.0, 7.2, 7.5, 8.0, 8.2, 8.4])
    assert not found.clear
    half = 1.96 * np.std(d, ddof=1)
    assert found.limits_at(8.0) == pytest.approx((0.2 - half, 0.2 + half))


def test_unequal_scatter_of_a_narrow_range_is_no_trend() -> None:
    """Two kits of the same level but unequal scatter make a slope of their own."""
    rng = np.random.default_rng(6)
    slopes, called = 0, 0
    for _ in range(200):
        level = rng.normal(8.0, 0.1, 20)
        a = level + rng.normal(0.0, 0.05, 20)
        b = level + rng.normal(0.0, 0.30, 20)
        pairs = pairs_from(a.tolist(), b.tolist())
        for there in (pairs, pairs_from(b.tolist(), a.tolist())):
            found = trend_of_kits(there)
            slopes += found.difference.low > 0.0 or found.difference.high < 0.0
            called += found.clear
    assert slopes > 360
    assert called < 20


def test_a_true_trend_over_a_wide_range_is_seen_all_the_same() -> None:
    rng = np.random.default_rng(7)
    seen = 0
    for _ in range(100):
        level = np.linspace(4.0, 12.0, 15)
        a = level + rng.normal(0.0, 0.15, 15)
        b = 1.1 * level - 0.8 + rng.normal(0.0, 0.15, 15)
        seen += trend_of_kits(pairs_from(a.tolist(), b.tolist())).clear
    assert seen > 90


def test_lines_that_fit_exactly() -> None:
    same = trend_of_kits(pairs_from([8.2, 7.3, 9.1], [8.3, 7.4, 9.2]))
    assert (same.difference.slope, same.difference.p_value, same.clear) == (0.0, 1.0, False)
    assert same.spread_clear is False
    steep = trend_of_differences([0.1, 0.2, 0.3, 0.4], [7.0, 8.0, 9.0, 10.0])
    assert (steep.difference.p_value, steep.residual_sd, steep.clear) == (0.0, 0.0, True)
    assert steep.spread_clear is False
    three = trend_of_differences([0.1, 0.5, 0.2], [7.0, 7.01, 12.0])
    assert three.spread_clear is False


def test_levels_that_were_made_need_no_guard() -> None:
    d, level = [0.1, 0.3, 0.2, 0.5, 0.6], [4.0, 6.0, 8.0, 10.0, 12.0]
    found = trend_of_differences(d, level, levels_known=True)
    assert found.against_scatter == found.difference


@pytest.mark.parametrize(
    ("n", "five", "one"),
    [(10, 2.290, 2.482), (15, 2.548, 2.806), (20, 2.708, 3.001), (30, 2.909, 3.236)],
)
def test_grubbs_critical(n: int, five: float, one: float) -> None:
    """ISO 5725-2, table 5 (from memory, with 2.709 at 20); the values here by the formula."""
    got = (grubbs_critical(n), grubbs_critical(n, 0.01))
    assert got == pytest.approx((five, one), abs=1.1e-3)
    record_check(
        f"Grubbs {n}", f"comparison of kits: Grubbs, two-sided 5 % and 1 %, n {n}", (five, one),
        got, "ISO 5725-2, table 5", "MEMORY",
    )  # fmt: skip


def test_three_readings_can_hardly_show_an_outlier() -> None:
    residuals = np.array([420.0, 425.0, 480.0]) - np.mean([420.0, 425.0, 480.0])
    found = furthest(residuals)
    assert (round(found.statistic, 4), round(found.critical, 4)) == (1.1514, 1.1543)
    assert not found.named


def test_outliers_are_found_and_false_ones_rare() -> None:
    rng = np.random.default_rng(9)
    rows = np.round(rng.normal(0.3, 0.21, (1000, 15)), 1)
    named = [furthest(row - row.mean(), rounding=0.2, size=8.0).named for row in rows]
    assert 0.03 < np.mean(named) < 0.065
    rows[:, 4] += 1.0
    found = [furthest(row - row.mean(), rounding=0.2, size=8.0) for row in rows]
    assert np.mean([one.named and one.index == 4 for one in found]) > 0.7


def test_about_a_line() -> None:
    """Studentised residuals have the scatter they are divided by, whatever the leverage."""
    rng = np.random.default_rng(12)
    x = np.array([4.0, 5.0, 6.0, 6.5, 7.0, 7.2, 7.5, 8.0, 14.0])
    X = np.column_stack([np.ones(9), x])
    hat = X @ np.linalg.inv(X.T @ X) @ X.T
    residuals = rng.standard_normal((2000, 9)) @ (np.eye(9) - hat)
    found = [furthest(row, leverages=np.diag(hat), parameters=2) for row in residuals]
    assert 0.035 < np.mean([one.named for one in found]) < 0.065
    from statsmodels.regression.linear_model import OLS

    y = residuals[0]
    influence = OLS(y, X).fit().get_influence()
    first = np.abs(influence.resid_studentized_internal).max()
    assert found[0].statistic == pytest.approx(first, rel=1e-9)
    tails = 9 * 2 * stats.t.sf(np.abs(influence.resid_studentized_external).max(), 6)
    assert found[0].p_value == pytest.approx(min(1.0, tails), rel=1e-9)


def test_bound_and_critical_value_agree() -> None:
    for n in (4, 10, 30):
        critical = grubbs_critical(n)
        at = lambda g, n=n: furthest(_with_statistic(g, n)).p_value  # noqa: E731
        assert at(critical) == pytest.approx(0.05, rel=1e-6)


def _with_statistic(g: float, n: int) -> np.ndarray:
    """n residuals of sum 0 whose first lies g standard deviations out."""
    others = np.resize([1.0, -1.0], n - 1) - np.resize([1.0, -1.0], n - 1).mean()
    others *= math.sqrt((n - 1 - g**2 * n / (n - 1)) / float(others @ others))
    return np.concatenate([[g], others - g / (n - 1)])


def test_a_single_step_is_no_outlier() -> None:
    a = [8.0, 8.1, 7.9, 8.2, 8.0, 7.8, 8.1, 8.0, 7.9, 8.1]
    step = pairs_from(a, [*a[:-1], 8.2], resolution=0.1)
    found = with_and_without(step)
    assert found.water is None
    assert found.outlier.statistic > found.outlier.critical
    for scale in ("absolute", "percent", "log"):
        far = with_and_without(pairs_from(a, [*a[:-1], 8.8], resolution=0.1), scale=scale)
        assert far.water == "10"
        assert far.with_all.n == 10
        assert far.without.n == 9
        assert far.without.no_scatter
    assert with_and_without(pairs_from(a, a, resolution=0.1)).outlier is None
    assert with_and_without(pairs_from(a[:2], [8.3, 8.2], resolution=0.1)).outlier is None


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(-20, 20), min_size=4, max_size=15), st.integers(1, 99))
def test_outlier_does_not_depend_on_unit_or_direction(d: list[int], factor: int) -> None:
    residuals = np.array(d) - np.mean(d)
    plain, turned = furthest(residuals), furthest(-factor * residuals)
    if plain is None:
        assert turned is None
        return
    assert (turned.statistic, turned.p_value) == pytest.approx(
        (plain.statistic, plain.p_value), rel=1e-6
    )
    # Never further out than all the scatter allows.
    assert plain.statistic <= (len(d) - 1) / math.sqrt(len(d)) * (1 + 1e-9)
    assert plain.p_value > 0.05 or plain.named


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: trend_of_differences([0.1, 0.2], [7.0, 8.0]), "three waters or more"),
        (lambda: trend_of_differences([0.1, 0.2, 0.3], [7.0, 8.0]), "a level for every water"),
        (lambda: grubbs_critical(2), "three waters or more"),
        (lambda: grubbs_critical(5, 5.0), "Write 0.05 for 5 %"),
        (lambda: furthest([0.1, -0.1, 0.0], leverages=[0.5]), "one leverage"),
        (lambda: with_and_without(pairs_from([8.0], [8.1])), "two waters or more"),
    ],
)
def test_refusals(call, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        call()
    assert caught.value.where
