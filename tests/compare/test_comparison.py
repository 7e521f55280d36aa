"""The whole chain: what is said of pairs, checked against the numbers and known truths."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.compare.comparison import Comparison, compare_pairs
from reef_calc.compare.pairs import Pairs, Water
from reef_calc.errors import InputError
from reef_calc.messages import codes

USUAL = 8.0 + 0.2 * np.sin(np.arange(12))
FIVE = np.repeat([4.0, 6.0, 8.0, 10.0, 12.0], 2)


def pairs(
    levels: Sequence[float] | np.ndarray,
    difference: Callable[[float], float] = lambda _: 0.3,
    *,
    sd: tuple[float, float] = (0.15, 0.15),
    steps: tuple[float, float] = (0.1, 0.1),
    repeats: int = 1,
    known: bool = False,
    seed: int = 1,
    dropped: tuple[str, ...] = (),
    unit: str = "dKH",
) -> Pairs:
    draw = np.random.default_rng(seed)
    waters = []
    for number, level in enumerate(levels, start=1):
        read = [
            np.round((level + add + draw.normal(0.0, s, repeats)) / step) * step
            for add, s, step in zip((0.0, difference(float(level))), sd, steps, strict=True)
        ]
        a, b = (tuple(float(one) for one in column) for column in read)
        waters.append(Water(str(number), a, b, float(level) if known else None))
    return Pairs("alkalinity", unit, "drops", "syringe", *steps, tuple(waters), dropped)


def replaced(of: Pairs, index: int, **parts: object) -> Pairs:
    waters = list(of.waters)
    waters[index] = waters[index]._replace(**parts)
    return Pairs(**{**vars(of), "waters": tuple(waters)})


def words(found: Comparison) -> list[str]:
    return [found.sentence, found.what_would_help, *(one.text for one in found.messages)]


def test_a_stable_tank_gets_a_mean_difference_and_no_line() -> None:
    found = compare_pairs(pairs(USUAL), allowed=0.5)
    assert found.chosen.method == "difference" and found.chosen.line is None
    assert found.verdict is not None and found.verdict.statement == "within"
    assert "NARROW_RANGE" in codes(found.messages)
    assert found.bias[0].low == found.difference.low


def test_without_an_allowed_difference_there_is_no_verdict() -> None:
    found = compare_pairs(pairs(USUAL))
    assert found.verdict is None and found.verdicts == ()
    assert found.sentence.startswith("syringe reads 0.3")
    assert found.what_would_help.startswith("Say how far the two kits may differ, in dKH")


def test_known_levels_give_a_difference_at_each_level() -> None:
    found = compare_pairs(
        pairs(FIVE, lambda level: 0.05 * level, known=True), allowed=0.9, levels=[6, 10]
    )
    assert found.chosen.method == "known levels"
    assert [one.statement for one in found.verdicts] == ["within", "within"]
    for one, truth in zip(found.bias, (0.3, 0.5), strict=True):
        assert one.low < truth < one.high
    assert found.sentence.endswith("At 10 dKH: within.")


def test_a_wide_range_gives_demings_line_with_the_ratio_of_the_repeats() -> None:
    found = compare_pairs(
        pairs(np.linspace(4, 12, 12), lambda level: 0.05 * level, sd=(0.4, 0.1), repeats=2),
        method="deming",
    )
    assert found.chosen.line is not None and not found.chosen.ratio_assumed
    assert found.chosen.error_ratio is not None and found.chosen.error_ratio > 3.0
    assert found.chosen.line.slope == pytest.approx(1.05, abs=0.1)


def test_an_assumed_ratio_is_never_silent() -> None:
    found = compare_pairs(pairs(FIVE, lambda level: 0.05 * level), allowed=0.5)
    assert found.chosen.method in ("deming", "weighted deming")
    assert "RATIO_ASSUMED" in codes(found.messages)
    typed = compare_pairs(pairs(FIVE), allowed=0.5, sd_a=0.15, sd_b=0.15)
    assert "RATIO_ASSUMED" not in codes(typed.messages)
    given = compare_pairs(pairs(FIVE), allowed=0.5, error_ratio=1.0)
    assert "RATIO_ASSUMED" not in codes(given.messages)


def test_an_answer_that_hangs_on_the_ratio_is_told() -> None:
    noisy = pairs(np.linspace(4, 16, 30), lambda _: 0.1, sd=(0.7, 0.7))
    found = compare_pairs(noisy, allowed=0.1, levels=[4.5], method="deming", sd_a=0.7, sd_b=0.7)
    assert found.chosen.method == "deming"
    assert "RATIO_SENSITIVE" in codes(found.messages)
    assert "RATIO_SENSITIVE" not in codes(
        compare_pairs(
            noisy, allowed=2.0, levels=[4.5], method="deming", sd_a=0.7, sd_b=0.7
        ).messages
    )


@pytest.mark.parametrize("method", ["deming", "weighted deming", "ols", "york", "passing bablok"])
def test_each_line_on_request(method: str) -> None:
    found = compare_pairs(
        pairs(np.linspace(4, 12, 12), lambda level: 0.05 * level, repeats=2), method=method
    )
    assert found.chosen.method == method and found.chosen.line is not None
    assert found.chosen.line.slope == pytest.approx(1.05, abs=0.05)
    shut = compare_pairs(pairs(USUAL, repeats=2), method=method)
    assert shut.chosen.method == "difference" and "NARROW_RANGE" in codes(shut.messages)


def test_a_level_beyond_the_waters_gets_no_verdict() -> None:
    found = compare_pairs(
        pairs(FIVE, known=True), allowed=0.9, levels=[8, 20]
    )  # fmt: skip
    assert [one.extrapolated for one in found.bias] == [False, True]
    assert len(found.verdicts) == 1 and "EXTRAPOLATED" in codes(found.messages)
    narrow = compare_pairs(pairs(USUAL), allowed=0.9, levels=[12])
    assert narrow.bias == () and narrow.verdict is None
    assert "NO_ANSWER_AT" in codes(narrow.messages)
    assert not any("nan" in one.casefold().split() for one in words(narrow))


def test_equal_differences_have_no_interval() -> None:
    same = Pairs("alkalinity", "dKH", "drops", "syringe", 0.1, 0.1,
                 tuple(Water(str(i), (8.0,), (8.5,)) for i in range(6)))  # fmt: skip
    found = compare_pairs(same, allowed=0.3)
    assert found.messages[0].code == "ZERO_SPREAD" and found.verdict is None
    assert found.sentence == (
        "syringe reads 0.5 dKH above drops on these 6 waters. No interval can be given."
    )


def test_readings_exactly_on_a_line_are_not_certain() -> None:
    exact = Pairs("alkalinity", "dKH", "drops", "syringe", 0.1, 0.1, tuple(
        Water(str(i), (level,), (round(1.05 * level + 0.0, 6),), level)
        for i, level in enumerate([4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0])))  # fmt: skip
    found = compare_pairs(exact, allowed=0.5, levels=[8])
    assert found.verdict is None and found.bias == () and "ZERO_SPREAD" in codes(found.messages)
    assert found.sentence.endswith("No interval can be given.")


def test_coarse_steps_on_still_water_widen_the_interval() -> None:
    still = pairs([8.0] * 10, lambda _: 0.23, sd=(0.05, 0.05), steps=(0.5, 0.1))
    found = compare_pairs(still, allowed=0.4)
    assert "COARSE" in codes(found.messages) and "drops" in found.coarse
    plain = found.difference.sd / math.sqrt(10)
    steps = (0.5**2 + 0.1**2) / 12
    assert found.difference.standard_error == pytest.approx(math.sqrt(plain**2 + steps))
    varied = pairs(np.linspace(5, 11, 10), lambda _: 0.23, sd=(0.05, 0.05), steps=(0.5, 0.1))
    assert compare_pairs(varied, allowed=0.4).coarse == ()


def test_coarse_steps_cover_the_truth_on_one_unchanged_water() -> None:
    inside = plain = 0
    for seed in range(150):
        truth = 0.2 + 0.5 * seed / 150
        still = pairs([8.1] * 8, lambda _, d=truth: d, sd=(0.05, 0.05), steps=(0.5, 0.5), seed=seed)
        found = compare_pairs(still)
        low, high = found.difference.low, found.difference.high
        inside += low is None or (high is not None and low < truth < high)
        half = 2.365 * found.difference.sd / math.sqrt(8)
        plain += abs(found.difference.mean - truth) < half
    assert inside / 150 > 0.9 > 0.6 > plain / 150


def test_a_misread_water_is_named_and_counts_all_the_same() -> None:
    wrong = replaced(pairs(USUAL), 3, b=(9.9,))
    found = compare_pairs(wrong, allowed=0.5)
    assert found.outlier is not None and found.outlier.named and found.outlier.index == 3
    assert (
        found.difference.n == 12 and found.without is not None and found.without.difference.n == 11
    )
    (told,) = [one for one in found.messages if one.code == "OUTLIER"]
    assert "Water 4" in told.text and "counts all the same" in told.text
    assert f"{found.without.difference.mean:.2f}" in told.text


def test_a_misread_water_on_a_line_is_named() -> None:
    wrong = replaced(pairs(FIVE, lambda level: 0.1 * level, known=True), 5, b=(10.2,))
    found = compare_pairs(wrong)
    assert found.outlier is not None and found.outlier.named and found.outlier.index == 5


def test_readings_far_apart_in_time_are_told() -> None:
    late = replaced(replaced(pairs(USUAL), 3, hours_apart=30.0), 5, hours_apart=60.0)
    (told,) = [one for one in compare_pairs(late).messages if one.code == "NOT_SAME_WATER"]
    assert told.text.startswith("2 waters were read") and "(water 6, 2.5 days)" in told.text
    near = replaced(pairs(USUAL), 3, hours_apart=1.0)
    assert "NOT_SAME_WATER" not in codes(compare_pairs(near).messages)


def test_what_was_left_out_is_told() -> None:
    some = pairs(USUAL, dropped=tuple(f"Water {i} was read with drops only." for i in range(8)))
    (told,) = [one for one in compare_pairs(some).messages if one.code == "DROPPED"]
    assert "Water 4" in told.text and told.text.endswith("And 3 more like these.")


def test_unequal_repeats_are_told() -> None:
    uneven = replaced(pairs(USUAL, repeats=2), 0, a=(8.0,))
    (told,) = [one for one in compare_pairs(uneven).messages if one.code == "UNEQUAL_REPS"]
    assert "with drops." in told.text


def test_a_trend_without_a_line_takes_the_levels_back() -> None:
    steep = pairs([4.0, 6.0, 8.0, 10.0, 12.0], lambda level: 0.2 * level, sd=(0.02, 0.02))
    found = compare_pairs(steep, allowed=0.5, levels=[8])
    assert {"TREND", "NO_ANSWER_AT", "FEW"} <= set(codes(found.messages))
    assert found.verdict is None


def test_a_trend_across_what_is_allowed_withholds_the_verdict() -> None:
    steep = pairs([4.0, 6.0, 8.0, 10.0, 12.0], lambda level: 0.2 * level, sd=(0.02, 0.02))
    assert compare_pairs(steep, allowed=1.7).verdict is None
    found = compare_pairs(steep, allowed=3.5)
    assert found.verdict is not None and found.verdict.statement == "within"
    few = compare_pairs(steep, allowed=1.7)
    assert "so no verdict is given" in " ".join(words(few))
    assert few.what_would_help.startswith("Test more waters, eight or more")


def test_a_difference_that_bends_gets_no_verdict_from_a_line() -> None:
    some = pairs(FIVE, lambda level: 0.05 * (level - 8.0) ** 2, sd=(0.04, 0.04), known=True)
    found = compare_pairs(some, allowed=0.5, levels=[8])
    assert found.chosen.bent and found.verdict is None and found.bias == ()
    assert "bends with the level" in found.sentence
    assert found.what_would_help == "Compare the waters of each level by themselves."


def test_too_small_an_allowance_is_not_called_near() -> None:
    found = compare_pairs(pairs(USUAL, lambda _: 0.0), allowed=0.01)
    assert found.verdict is not None and found.verdict.further_waters is None
    assert "more than 200 waters" in found.sentence
    assert found.what_would_help.startswith("Kits that scatter less")


def test_messages_call_the_kits_by_their_names() -> None:
    some = Pairs(**{**vars(pairs(USUAL)), "kit_a": "kit B", "kit_b": "kit A"})
    (told,) = [one for one in compare_pairs(some).messages if one.code == "NARROW_RANGE"]
    assert told.text.startswith("kit B read 7.8 to")


def test_growing_scatter_is_told_and_weights_the_line() -> None:
    draw = np.random.default_rng(3)
    levels = np.linspace(4, 40, 30)
    waters = tuple(
        Water(
            str(i),
            tuple(level * (1 + draw.normal(0, 0.03, 2))),
            tuple(level * (1.1 + draw.normal(0, 0.03, 2))),
        )
        for i, level in enumerate(levels)
    )
    found = compare_pairs(Pairs("nitrate", "mg/L", "drops", "strip", 0.0, 0.0, waters))
    assert found.chosen.method == "weighted deming"
    assert "SPREAD_GROWS" in codes(found.messages)


def test_an_allowance_in_per_cent_follows_the_level() -> None:
    some = pairs(FIVE, lambda level: 0.05 * level, known=True)
    found = compare_pairs(some, allowed_percent=10, levels=[6, 10])
    assert [one.allowed for one in found.verdicts] == pytest.approx([0.6, 1.0])


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ({"allowed": 0.5, "allowed_percent": 5}, "in the unit or in per cent"),
        ({"allowed": -1}, "above 0"),
        ({"levels": [math.nan]}, "a level"),
        ({"method": "best"}, "known levels"),
        ({"planned": 20}, "stopped early"),
        ({"confidence": 1.5}, "confidence"),
    ],
)
def test_options_that_cannot_be(parts: dict, said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        compare_pairs(pairs(USUAL), **parts)
    assert caught.value.where and caught.value.repair


def test_one_water_is_refused_in_words() -> None:
    with pytest.raises(InputError, match="two waters or more"):
        compare_pairs(pairs([8.0]), allowed=0.5)


def test_a_study_under_way_is_not_decided_too_early() -> None:
    some = pairs(8.0 + 0.2 * np.sin(np.arange(9)), lambda _: 0.2)
    found = compare_pairs(some, allowed=0.3, planned=20)
    assert found.verdict is not None and found.verdict.statement == "cannot tell"
    assert found.look is not None and found.look.next_look == 10
    assert any("Water 9 of at most 20: not decided." in one for one in words(found))


def test_a_study_that_stopped_early_says_so() -> None:
    found = compare_pairs(
        pairs(8.0 + 0.2 * np.sin(np.arange(9)), lambda _: 0.0), allowed=0.9, planned=20
    )
    assert found.verdict is not None and found.verdict.statement == "within"
    (told,) = [one for one in found.messages if one.text.startswith("Stopped early")]
    assert found.look is not None and f"at water {found.look.decided_at} of 20" in told.text
    assert "96.6 %" in found.sentence
    assert any("in the numbers, not in the verdict" in one for one in words(found))


def test_set_levels_may_stop_early_too() -> None:
    some = pairs(FIVE, lambda level: 0.05 * level, known=True)
    early = compare_pairs(some, allowed=1.5, planned=20, levels=[8])
    assert early.verdict is not None and early.verdict.statement == "within"
    assert any(one.text.startswith("Stopped early, at water 10 of 20") for one in early.messages)
    later = compare_pairs(some, allowed=0.5, planned=20, levels=[8])
    assert later.verdict is not None and later.verdict.statement == "cannot tell"
    full = compare_pairs(some, allowed=0.5, planned=10, levels=[8])
    assert "96.6 %" in full.sentence


levels_of_waters = st.lists(st.integers(40, 120), min_size=2, max_size=14)
MACHINE = re.compile(
    r"(?<![A-Za-z])(nan|NaN|None|inf)(?![A-Za-z])|\de[-+]?\d|  |\b1 (waters|tests|days)\b"
)


@settings(max_examples=50, deadline=None)
@given(
    levels_of_waters,
    st.lists(st.integers(-6, 12), min_size=14, max_size=14),
    st.sampled_from([None, 0.1, 0.3, 1.0]),
    st.booleans(),
    st.sampled_from([(), (8.0,), (4.0, 8.0, 20.0)]),
    st.sampled_from([None, 6, 20]),
)
def test_no_pairs_make_it_say_nonsense(
    levels: list[int],
    differences: list[int],
    allowed: float | None,
    known: bool,
    asked: tuple[float, ...],
    planned: int | None,
) -> None:
    waters = tuple(
        Water(str(i + 1), (level / 10,), ((level + more) / 10,), level / 10 if known else None)
        for i, (level, more) in enumerate(zip(levels, differences, strict=False))
    )
    some = Pairs("alkalinity", "dKH", "drops", "syringe", 0.1, 0.1, waters)
    found = compare_pairs(
        some, allowed=allowed, levels=asked, planned=planned if allowed is not None else None
    )
    for text in words(found):
        assert not MACHINE.search(text), text
    for one in found.verdicts:
        if planned is None:
            bias = next(each for each in found.bias if each.level == one.level)
            assert (one.low, one.high) == pytest.approx((bias.low, bias.high))
    table = found.summary
    assert table["value"].notna().all() and len(table) == len(
        set(table["quantity"] + table["unit"])
    )
    # Swapped kits say the same of the mean difference.
    turned = Pairs("alkalinity", "dKH", "syringe", "drops", 0.1, 0.1,
                   tuple(water._replace(a=water.b, b=water.a) for water in waters))  # fmt: skip
    back = compare_pairs(turned, allowed=allowed, method="difference")
    once = compare_pairs(some, allowed=allowed, method="difference")
    assert back.difference.mean == pytest.approx(-once.difference.mean)
    assert [one.statement for one in back.verdicts] == [one.statement for one in once.verdicts]


def test_wrong_verdicts_are_rare_in_the_whole_chain() -> None:
    said = [
        compare_pairs(pairs(USUAL, lambda _: 0.31, seed=seed, steps=(0.02, 0.02)), allowed=0.3)
        for seed in range(200)
    ]
    within = sum(one.verdict is not None and one.verdict.statement == "within" for one in said)
    assert within / 200 < 0.06
