"""The four statements, how often they are wrong, and studies that stop early."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.compare.chance_to_say import chance_to_say, chance_words
from reef_calc.compare.comparison import compare_pairs
from reef_calc.compare.difference_words import percent_words, plain, span_words
from reef_calc.compare.pairs import Pairs, Water
from reef_calc.compare.stopping import bound, look_at, looks
from reef_calc.compare.verdict import further_waters, statement_of, verdict
from reef_calc.errors import InputError
from tests.trust import record_check

KITS = {"kit_a": "drops", "kit_b": "syringe", "unit": "dKH"}


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (-0.29, 0.29, "within"),
        (0.1, 0.29, "within"),
        (0.31, 0.5, "beyond"),
        (-0.5, -0.31, "beyond"),
        (0.1, 0.31, "differs"),
        (-0.31, -0.1, "differs"),
        (-0.1, 0.31, "cannot tell"),
        (-1.0, 1.0, "cannot tell"),
        (-0.3, 0.3, "cannot tell"),
    ],
)
def test_each_statement(low: float, high: float, said: str) -> None:
    assert statement_of(low, high, 0.3) == said


@pytest.mark.parametrize("allowed", [0.0, -0.1, math.inf, math.nan])
def test_an_allowed_difference_is_above_zero(allowed: float) -> None:
    with pytest.raises(InputError, match="allowed difference above 0"):
        statement_of(0.0, 0.1, allowed)


ends = st.floats(-3.0, 3.0)


@settings(max_examples=200, deadline=None)
@given(ends, st.floats(0.001, 2.0), st.sampled_from([0.02, 0.1, 0.25, 0.3, 0.5, 1.0]))
def test_the_printed_interval_never_contradicts_the_statement(
    middle: float, half: float, allowed: float
) -> None:
    found = verdict(middle, middle - half, middle + half, allowed, **KITS, u=half / 2, n=10)
    inside = re.search(r"\(95 %: ([^)]*)\)", found.sentence)
    assert inside
    numbers = [float(one) for one in re.findall(r"\d+\.?\d*", inside[1])]
    words = re.findall(r"above|below", inside[1])
    low, high = numbers if words == ["above"] else (-numbers[0], numbers[1])
    if words == ["below"]:
        low, high = -numbers[1], -numbers[0]
    gap = min(
        abs(abs(end) - mark) for end in (middle - half, middle + half) for mark in (0, allowed)
    )
    if gap > 1e-4:
        assert statement_of(low, high, allowed) == found.statement
    assert not re.search(r"e[-+]\d|nan|inf\b", found.sentence)


@settings(max_examples=50, deadline=None)
@given(ends, st.floats(0.01, 2.0))
def test_swapping_the_kits_turns_the_interval_round(middle: float, half: float) -> None:
    one = verdict(middle, middle - half, middle + half, 0.3, **KITS, u=half / 2, n=10)
    other = verdict(-middle, -middle - half, -middle + half, 0.3, **KITS, u=half / 2, n=10)
    assert one.statement == other.statement and one.further_waters == other.further_waters


def test_further_waters_would_really_settle_it() -> None:
    n, sd, estimate, allowed = 8, 0.4, 0.1, 0.3
    more = further_waters(estimate, sd / math.sqrt(n), n, allowed)
    assert more is not None
    from scipy.stats import t

    def half(count: int) -> float:
        return float(t.ppf(0.975, count - 1)) * sd / math.sqrt(count)

    assert half(n + more) < 0.2 <= half(n + more - 1)


def test_steps_that_never_average_out_ask_for_a_finer_kit() -> None:
    found = verdict(0.1, -0.2, 0.4, 0.3, **KITS, u=0.15, n=8, u_not_averaged=0.14)
    assert found.further_waters is None
    assert "a finer kit would help, not more tests" in found.sentence


def test_a_difference_as_large_as_allowed_is_not_promised_a_number() -> None:
    found = verdict(0.3, 0.1, 0.5, 0.3, **KITS, u=0.1, n=8)
    assert found.statement == "differs" and found.further_waters is None
    assert "hardly settle it" in found.sentence


def test_few_waters_are_brought_to_five() -> None:
    assert further_waters(0.0, 0.05, 2, 0.5) == 3


def test_one_water_is_not_waters() -> None:
    said = verdict(0.1, -0.02, 0.302, 0.3, **KITS, u=0.08, n=11).sentence
    assert "1 further waters" not in said


def test_words_of_differences() -> None:
    assert span_words(-0.5, 0.0, 2) == "0.00 to 0.50 below"
    assert plain(100.0) == "100" and plain(0.02) == "0.02"
    assert percent_words(0.9999998) == "99.99998 %"


def test_the_bound_at_each_look() -> None:
    n = (4, 5, 8, 10, 12, 15, 18, 20)
    expected = (0.999998, 0.999978, 0.999198, 0.997284, 0.993798, 0.985633, 0.974561, 0.965994)
    got = tuple(bound(one, 20) for one in n)
    # Own simulation; the formula by hand: 2Φ(2.12 √(20/n)) − 1.
    record_check(
        "J6", "two kits: bound at n of 20", expected, got, "worked out by hand", "COMPUTED"
    )
    assert got == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    ("rule", "allowed", "within", "beyond", "power"),
    [
        ("at the end", 0.75, 0.023, 0.023, 0.78),
        ("four looks", 0.75, 0.023, 0.027, 0.61),
        ("each pair", 0.75, 0.026, 0.025, 0.74),
        ("each pair", 1.5, 0.025, 0.024, 1.00),
    ],
)
def test_wrong_statements_stay_rare(
    rule: str, allowed: float, within: float, beyond: float, power: float
) -> None:
    # Expected from a simulation of 20 000 studies made elsewhere (COMPUTED).
    some = {"sd": 1.0, "rule": rule, "draws": 8000}
    assert chance_to_say(
        "within", allowed, 20, true_difference=1.01 * allowed, **some
    ) == pytest.approx(within, abs=0.006)
    assert chance_to_say(
        "beyond", allowed, 20, true_difference=0.99 * allowed, **some
    ) == pytest.approx(beyond, abs=0.006)
    assert chance_to_say("within", allowed, 20, **some) == pytest.approx(power, abs=0.02)


def test_the_four_chances_add_up() -> None:
    said = ("within", "beyond", "differs", "cannot tell")
    chances = [chance_to_say(one, 0.5, 12, sd=0.6, true_difference=0.3) for one in said]
    assert sum(chances) == pytest.approx(1.0)


def test_the_simulation_and_the_look_agree() -> None:
    draw = np.random.default_rng(8).normal(0.2, 0.5, (200, 16))
    ends = [look_at(list(one), 0.5, 16).statement for one in draw]
    for said in ("within", "beyond", "differs", "cannot tell"):
        known = [chance_to_say(said, 0.5, 16, sd=1.0, so_far=list(one), draws=1) for one in draw]
        assert [end == said for end in ends] == [chance == 1.0 for chance in known]


def test_later_waters_do_not_undo_a_decision() -> None:
    quiet = [0.02, -0.03, 0.05, 0.0, 0.01, -0.02, 0.03, 0.0]
    found = look_at(quiet, 0.3, 20)
    assert found.statement == "within" and found.stopped_early
    later = look_at([*quiet, 3.0, -3.0, 4.0], 0.3, 20)
    assert (later.decided_at, later.statement) == (found.decided_at, "within")
    assert (later.low, later.high) == (found.low, found.high)


def test_the_last_interval_lies_within_the_one_that_decided() -> None:
    draw = np.random.default_rng(2).normal(0.1, 0.3, (60, 20))
    for one in draw:
        found = look_at(list(one), 0.6, 20)
        if found.statement == "within" and found.low is not None and found.high is not None:
            assert -0.6 < found.low < found.high < 0.6


def test_equal_differences_decide_nothing() -> None:
    found = look_at([0.1] * 12, 0.3, 20)
    assert not found.over and found.low is None and found.next_look == 13
    assert look_at([0.1] * 20, 0.3, 20).statement == "cannot tell"


@pytest.mark.parametrize("planned", [2, 3, 4, 5, 7, 20])
def test_every_plan_ends(planned: int) -> None:
    for rule in ("each pair", "four looks", "at the end"):
        schedule = looks(planned, rule)
        assert schedule[-1][0] == planned
        draw = list(np.random.default_rng(1).normal(0.0, 1.0, planned))
        assert look_at(draw, 0.5, planned, rule=rule).over


def test_bad_plans_are_refused() -> None:
    with pytest.raises(InputError, match="each pair, four looks or at the end"):
        looks(20, "whenever")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="from 2 to 1000"):
        looks(1)
    with pytest.raises(InputError, match="Plan more waters"):
        bound(21, 20)
    with pytest.raises(InputError, match="scatter of the differences"):
        chance_to_say("within", 0.3, 20, sd=0.0)


@settings(max_examples=50, deadline=None)
@given(st.floats(0.0, 1.0))
def test_chances_are_said_near_what_they_are(chance: float) -> None:
    said = chance_words(chance)
    part, whole = (int(one) for one in re.findall(r"\d+", said))
    if said.startswith("about"):
        assert abs(part / whole - chance) < 0.08
    else:
        assert (chance > 0.95) == said.startswith("more") and (chance < 0.05) == said.startswith(
            "less"
        )


def test_differences_equal_but_for_the_arithmetic_decide_nothing() -> None:
    """8.3 − 8.2 and 7.4 − 7.3 differ in their last bits: no scatter, and no verdict."""
    read = [8.3 - 8.2, 7.4 - 7.3, 9.2 - 9.1, 6.5 - 6.4, 8.1 - 8.0]
    assert np.ptp(read) > 0.0
    found = look_at(read, 0.3, 20, size=9.2)
    assert found.decided_at is None and found.low is None and found.next_look == 6
    zeros = [0.0, 1.8e-15, -8.9e-16, 0.0, 0.0]
    assert look_at(zeros, 0.3, 20, size=9.2).decided_at is None
    # The simulation goes by the same rule: what is drawn afterwards, far away, decides.
    some = {"sd": 0.05, "true_difference": 5.0, "so_far": read, "draws": 200}
    assert chance_to_say("within", 0.3, 20, **some) == 0.0


def test_a_share_of_the_level_is_judged_at_each_level_for_itself() -> None:
    lows, highs = np.linspace(6.0, 10.0, 12), np.linspace(6.0, 10.0, 12) + 0.36
    shake = 0.1 * np.array([0, 1, -1, 0, 1, 0, -1, 0, 1, -1, 0, 0])
    waters = tuple(
        Water(str(i), (round(a, 1),), (round(b, 1),))
        for i, (a, b) in enumerate(zip(lows, highs + shake, strict=True))
    )
    some = Pairs("alkalinity", "dKH", "drops", "syringe", 0.1, 0.1, waters)
    asked = {"allowed_percent": 5.0, "method": "difference", "planned": 12}
    for levels in ([6.0, 10.0], [10.0, 6.0]):
        found = compare_pairs(some, levels=levels, **asked)
        said = {one.level: (one.allowed, one.statement) for one in found.verdicts}
        assert said[10.0] == (0.5, "within")
        assert said[6.0][0] == pytest.approx(0.3)
        for one in found.verdicts:
            assert one.statement == statement_of(one.low, one.high, one.allowed)
        assert found.verdict is not None and "At 10 dKH: within." in found.sentence
        assert found.look is not None and not found.look.stopped_early


def test_a_confidence_beyond_so_few_waters_gives_no_interval_in_words() -> None:
    level = np.linspace(4.0, 14.0, 8)
    read = 1.05 * level + 0.05 * np.array([1, -1, 1, 0, -1, 1, -1, 0])
    waters = tuple(
        Water(str(i), (round(a, 2),), (round(b, 2),))
        for i, (a, b) in enumerate(zip(level, read, strict=True))
    )
    some = Pairs("alkalinity", "dKH", "drops", "syringe", 0.01, 0.01, waters)
    found = compare_pairs(some, allowed=0.9, method="passing bablok", confidence=0.999)
    assert found.bias == () and found.verdict is None
    assert "No interval can be given." in found.sentence
    told = [one.text for one in found.messages if one.code == "UNBOUNDED"]
    assert len(told) == 1 and "So few waters" in told[0]
