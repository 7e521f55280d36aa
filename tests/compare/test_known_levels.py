"""Waters of known level: difference, recovery, bending; and the line between the kits of a study."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import f_oneway, linregress

from reef_calc.compare.known_levels import known_levels
from reef_calc.compare.line_between import line_between, ratio_of_means
from reef_calc.compare.lines import deming_line, ols_line
from reef_calc.compare.no_line import NoLineError
from reef_calc.compare.pairs import Pairs, Water
from reef_calc.compare.passing_bablok import passing_bablok_line
from reef_calc.compare.york import york_line
from reef_calc.errors import InputError
from tests.compare.lines_data import DUPLICATES_X, DUPLICATES_Y, TEN_X, TEN_Y

LEVELS = (4.0, 6.0, 8.0, 10.0, 12.0)


def study(
    levels=LEVELS, repeats: int = 2, *, slope: float = 1.05, bend: float = 0.0, sd: float = 0.1,
    mixing: float = 0.0, seed: int = 1, step: float = 0.0,
) -> Pairs:  # fmt: skip
    """A study with waters of known level."""
    random = np.random.default_rng(seed)
    waters = []
    for place, level in enumerate(levels):
        true = level + random.normal(0, mixing)
        a = true + random.normal(0, sd, repeats)
        b = slope * true + bend * (true - 8) ** 2 + random.normal(0, sd, repeats)
        if step:
            a, b = np.round(a / step) * step, np.round(b / step) * step
        waters.append(Water(str(place), tuple(a), tuple(b), level))
    return Pairs("alkalinity", "dKH", "old", "new", step, step, tuple(waters))


def test_difference_and_recovery_as_a_general_library() -> None:
    """Outside: scipy.stats.linregress."""
    pairs = study()
    found = known_levels(pairs)
    for line, values in (
        (found.difference, pairs.differences),
        (found.recovery_a, pairs.a),
        (found.recovery_b, pairs.b),
    ):
        other = linregress(LEVELS, values)
        assert (line.intercept, line.slope) == pytest.approx((other.intercept, other.slope))
        assert line.se_slope == pytest.approx(other.stderr)
        assert line.se_intercept == pytest.approx(other.intercept_stderr)


def test_the_difference_is_that_of_the_recoveries() -> None:
    found = known_levels(study(sd=0.3))
    assert found.difference.slope == pytest.approx(found.recovery_b.slope - found.recovery_a.slope)
    at = found.bias_at([6.0, 14.0])
    assert at[0].bias == pytest.approx(
        found.difference.intercept + 6 * found.difference.slope, rel=1e-12
    )
    assert [one.extrapolated for one in at] == [False, True]


def test_bias_at_a_level_covers_the_truth() -> None:
    """300 studies of five levels, seeded: 95 % intervals."""
    inside = [
        low <= 0.05 * 10 <= high
        for low, high in (
            known_levels(study(seed=seed)).bias_at([10.0])[0][3:5] for seed in range(300)
        )
    ]
    assert 0.92 < np.mean(inside) < 0.98


def test_recovery_in_words() -> None:
    found = known_levels(study(slope=1.1, sd=0.02))
    said = [one.text for one in found.messages if one.code == "RECOVERY"]
    assert len(said) == 2
    assert said[1].startswith("Of each step in level, new shows 1")
    # The number that is said is the slope, in per cent.
    shown = float(said[1].split("shows ")[1].split(" ±")[0])
    assert shown == pytest.approx(100 * found.recovery_b.slope, abs=0.5)
    assert "STEPS_ONLY" in [one.code for one in found.messages]


def test_a_recovery_that_is_not_known_is_no_number() -> None:
    found = known_levels(study((8.0, 8.1, 8.2), 1, sd=0.3))
    said = [one for one in found.messages if one.code == "RECOVERY"]
    assert all(one.text.startswith("These waters do not tell") for one in said)
    assert all("e+" not in one.text for one in said)


def test_readings_exactly_on_a_line_are_no_certainty() -> None:
    waters = tuple(Water(str(i), (level,), (level + 0.5,), level) for i, level in enumerate(LEVELS))
    found = known_levels(Pairs("alkalinity", "dKH", "old", "new", 0.5, 0.5, waters))
    assert found.difference.no_scatter
    said = {one.code: one.text for one in found.messages}
    assert "of no width would be false" in said["ZERO_SPREAD"]
    assert "new shows 100.0 %. All its readings lie exactly" in said["RECOVERY"]
    assert not known_levels(study()).difference.no_scatter


def test_lack_of_fit_is_the_classical_one() -> None:
    """Outside: sums of squares of scipy.stats.f_oneway and linregress."""
    levels = (4.0, 4.0, 6.0, 6.0, 8.0, 8.0, 10.0, 12.0, 12.0)
    pairs = study(levels, 1, sd=0.2)
    fit = next(one for one in known_levels(pairs).lack_of_fit if one.subject == "new")
    groups = [pairs.b[np.array(levels) == level] for level in LEVELS]
    within = sum(((group - group.mean()) ** 2).sum() for group in groups)
    line = linregress(levels, pairs.b)
    around = ((pairs.b - line.intercept - line.slope * np.array(levels)) ** 2).sum()
    assert (fit.df_line, fit.df_repeats) == (3, 4)
    assert fit.ratio == pytest.approx(((around - within) / 3) / (within / 4))
    between = f_oneway(*groups)
    assert between.statistic > fit.ratio


def test_a_straight_kit_is_rarely_called_bent_and_a_bent_one_often() -> None:
    called = {"straight": 0, "mixed badly": 0, "bent": 0}
    for seed in range(100):
        for name, pairs in (
            ("straight", study(LEVELS * 2, seed=seed)),
            ("mixed badly", study(LEVELS * 2, seed=seed, mixing=0.5)),
            ("bent", study(LEVELS * 2, seed=seed, bend=0.05)),
        ):
            codes = [one.code for one in known_levels(pairs).messages]
            called[name] += "NOT_STRAIGHT" in codes
    assert called["straight"] <= 12
    assert called["mixed badly"] <= 12
    assert called["bent"] >= 90


def test_repeats_of_one_water_when_no_level_comes_twice() -> None:
    found = known_levels(study(repeats=3, bend=0.08, sd=0.05))
    assert [one.subject for one in found.lack_of_fit] == ["difference", "old", "new"]
    bent = {one.subject for one in found.lack_of_fit if one.probability < 0.01}
    assert bent == {"difference", "new"}
    assert [one.df_repeats for one in found.lack_of_fit[1:]] == [10, 10]


def test_repeats_hidden_by_a_coarse_scale_do_not_make_a_kit_bent() -> None:
    """All repeats equal in steps of 0.5: the scatter is at least that of rounding."""
    for seed in range(30):
        found = known_levels(study((4.1, 6.3, 8.0, 9.9, 12.2), 2, sd=0.02, step=0.5, seed=seed))
        assert "NOT_STRAIGHT" not in [one.code for one in found.messages]


def test_without_repeats_nothing_is_said_of_bending() -> None:
    found = known_levels(study(repeats=1, bend=0.2))
    assert found.lack_of_fit == ()
    two = known_levels(study((6.0, 6.0, 10.0, 10.0), 1))
    assert "TWO_LEVELS" in [one.code for one in two.messages]


def test_waters_without_a_level_are_left_out_aloud() -> None:
    pairs = study()
    more = Pairs("alkalinity", "dKH", "old", "new", 0, 0,
                 (*pairs.waters, Water("tank", (8.0,), (8.4,))))  # fmt: skip
    found = known_levels(more)
    assert found.messages[0].text == "1 water has no known level and is left out here."
    assert found.difference == known_levels(pairs).difference


def test_known_levels_that_cannot_be_used() -> None:
    tank = Pairs("alkalinity", "dKH", "old", "new", 0, 0, (Water("tank", (8.0,), (8.4,)),) * 3)
    with pytest.raises(InputError, match="at least three waters of known level, given “0”"):
        known_levels(tank)
    with pytest.raises(NoLineError, match="All 3 waters were made to 8 dKH"):
        known_levels(study((8.0, 8.0, 8.0)))


def pairs_of_ten() -> Pairs:
    ten = zip(TEN_X.tolist(), TEN_Y.tolist(), strict=True)
    waters = tuple(Water(str(i), (a,), (b,)) for i, (a, b) in enumerate(ten))
    return Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)


def test_every_method_by_its_name() -> None:
    pairs = pairs_of_ten()
    assert line_between(pairs, "deming", error_ratio=4.0) == deming_line(
        TEN_X, TEN_Y, error_ratio=4.0
    )
    assert line_between(pairs, "ols") == ols_line(TEN_X, TEN_Y)
    assert line_between(pairs, "wls") == ols_line(TEN_X, TEN_Y, weights=1 / TEN_X**2)
    assert line_between(pairs, "york", sd_a=0.2, sd_b=0.1) == york_line(
        TEN_X, TEN_Y, np.full(10, 0.2), np.full(10, 0.1)
    )
    assert line_between(pairs, "passing_bablok") == passing_bablok_line(
        TEN_X, TEN_Y, resolution_x=0.1, resolution_y=0.1
    )
    assert line_between(pairs, "weighted_deming", error_ratio=4.0).method == "weighted_deming"


def test_means_of_repeats() -> None:
    waters = tuple(
        Water(str(i), tuple(map(float, a)), tuple(map(float, b)))
        for i, (a, b) in enumerate(zip(DUPLICATES_X.T, DUPLICATES_Y.T, strict=True))
    )
    pairs = Pairs("alkalinity", "dKH", "old", "new", 1.0, 1.0, waters)
    assert line_between(pairs, error_ratio=1.0).slope == pytest.approx(0.6855943081, rel=1e-9)
    # Means of two lie on half steps.
    assert line_between(pairs, "passing_bablok").slope == pytest.approx(0.69, abs=0.02)


def test_a_kit_read_twice_counts_as_the_better_one() -> None:
    assert ratio_of_means(1.0, [1, 1], [2, 2]) == 2.0
    assert ratio_of_means(3.0, [2, 2], [2, 2]) == 3.0
    waters = tuple(Water(w.name, w.a, w.b * 2) for w in pairs_of_ten().waters)
    pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)
    assert line_between(pairs, error_ratio=2.0).error_ratio == 4.0
    assert line_between(pairs, "york", sd_a=0.2, sd_b=0.2).slope == pytest.approx(
        line_between(pairs, error_ratio=1.0).slope, rel=1e-9
    )


def test_never_a_silent_ratio() -> None:
    with pytest.raises(InputError, match="how much old and new scatter"):
        line_between(pairs_of_ten(), "deming")
    with pytest.raises(InputError, match="old: needed the SD of one reading"):
        line_between(pairs_of_ten(), "york", sd_b=0.1)
    with pytest.raises(InputError, match="one SD, or one for each of 10 waters, given “2”"):
        line_between(pairs_of_ten(), "york", sd_a=[0.1, 0.2], sd_b=0.1)
    with pytest.raises(InputError, match="Choose one of these"):
        line_between(pairs_of_ten(), "guess")  # type: ignore[arg-type]


@pytest.mark.parametrize("method", ["ols", "wls", "deming", "weighted_deming", "york",
                                    "passing_bablok"])  # fmt: skip
def test_kits_that_do_not_rise_together_get_no_line(method) -> None:
    waters = tuple(Water(str(i), (8.0 + i / 10,), (8.5 - i / 10,)) for i in range(6))
    pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)
    with pytest.raises(NoLineError) as caught:
        line_between(pairs, method, error_ratio=1.0, sd_a=0.1, sd_b=0.1)
    assert caught.value.message.code == "DEGENERATE"
