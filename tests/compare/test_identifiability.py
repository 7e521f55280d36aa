"""Whether waters differ enough for a line: the gate, its three numbers, its words."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.compare.identifiability import identifiability
from reef_calc.errors import InputError
from tests.compare.lines_data import STABLE_TANK, waters

few = settings(max_examples=30, deadline=None)


def test_a_stable_tank_shuts_the_gate() -> None:
    """COMPUTED: bracket 0.3314 to 3.5561."""
    for variances in ({}, {"variance_x": 0.0225, "variance_y": 0.0225}):
        found = identifiability(*STABLE_TANK.T, unit="dKH", **variances)
        assert not found.may_draw_line
        assert found.reason == "NARROW_RANGE"
        assert (found.bracket_low, found.bracket_high) == pytest.approx((0.3314, 3.5561), abs=1e-4)
        assert found.variances_known is bool(variances)


def test_its_words_carry_its_numbers() -> None:
    said = identifiability(*STABLE_TANK.T, unit="dKH").messages
    assert [one.code for one in said] == ["NARROW_RANGE"]
    named = identifiability(*STABLE_TANK.T, unit="dKH", kit_a="the old kit").messages[0].text
    assert named.startswith("the old kit read 7.4 to 8.3 dKH")
    for words in ("read 7.4 to 8.3 dKH", "near 7.9 dKH", "from about 4.0 to 11.9 dKH", "in cups",
                  "Never change the tank"):  # fmt: skip
        assert words in said[0].text


@pytest.mark.parametrize("unit", ["pH", "PSU"])
def test_no_keeper_is_sent_to_half_a_ph(unit: str) -> None:
    found = identifiability(*STABLE_TANK.T, unit=unit)
    assert "from about" not in found.messages[0].text


@pytest.mark.parametrize(
    ("ratio", "n", "half"),
    [(1, 10, 0.77), (2, 15, 0.29), (3, 30, 0.13), (5, 10, 0.15), (10, 15, 0.06), (20, 30, 0.02)],
)
def test_predicted_half_width_of_the_slope(ratio: float, n: int, half: float) -> None:
    """COMPUTED table of half-widths by range and number of waters."""
    random = np.random.default_rng(n)
    level = random.normal(0, 1, n)
    level = 8 + (level - level.mean()) / level.std(ddof=1) * math.hypot(ratio, math.sqrt(0.5))
    found = identifiability(level, level, unit="dKH", variance_x=0.5, variance_y=0.5)
    assert found.true_sd == pytest.approx(ratio)
    assert round(found.slope_half_width, 2) == half


@pytest.mark.parametrize("known", [True, False])
def test_wide_ranges_open_it_and_narrow_ones_do_not(known: bool) -> None:
    random = np.random.default_rng(11)
    opened = {"wide": 0, "narrow": 0}
    variances = {"variance_x": 0.0225, "variance_y": 0.0225} if known else {}
    for _ in range(100):
        for name, low, high in (("wide", 4, 14), ("narrow", 7.9, 8.2)):
            level = random.uniform(low, high, 15)
            x, y = (np.round(level + random.normal(0, 0.15, 15), 1) for _ in "ab")
            opened[name] += identifiability(x, y, unit="dKH", **variances).may_draw_line
    assert opened == {"wide": 100, "narrow": 0}


@given(st.integers(0, 10_000))
@few
def test_swapping_the_kits_inverts_the_bracket(seed: int) -> None:
    x, y = waters(seed, sd=0.6)
    here, there = identifiability(x, y, unit="dKH"), identifiability(y, x, unit="dKH")
    assert there.bracket_low == pytest.approx(1 / here.bracket_high)
    assert there.bracket_high == pytest.approx(1 / here.bracket_low)


@given(st.integers(0, 10_000), st.floats(0.01, 100), st.floats(0, 1000))
@few
def test_scale_and_shift_do_not_matter(seed: int, factor: float, shift: float) -> None:
    x, y = waters(seed)
    here = identifiability(x, y, unit="dKH")
    there = identifiability(factor * x + shift, factor * y + shift, unit="dKH")
    assert there.slope_half_width == pytest.approx(here.slope_half_width, rel=1e-6)
    assert there.spread_ratio == pytest.approx(here.spread_ratio, rel=1e-6)
    assert there.bracket_width == pytest.approx(here.bracket_width, rel=1e-6)


def test_few_waters() -> None:
    x, y = waters(1, n=7)
    found = identifiability(x, y, unit="dKH")
    assert (found.may_draw_line, found.reason) == (False, "FEW")
    assert found.messages[0].text.startswith("7 waters are too few for a line; 8 are needed")


def test_waters_that_never_change() -> None:
    found = identifiability([8.1] * 9, [8.2, 8.3] * 4 + [8.2], unit="dKH")
    assert found.reason == "NARROW_RANGE"
    assert found.slope_half_width == math.inf
    assert "Kit A read 8.1 dKH every time" in found.messages[0].text
    assert "inf" not in found.messages[0].text


def test_swapped_waters() -> None:
    x = np.linspace(4, 14, 10)
    found = identifiability(x, x[::-1], unit="dKH", variance_x=0.01, variance_y=0.01)
    assert (found.reason, found.bracket_high) == ("DEGENERATE", math.inf)
    assert "4.0 to 14.0 dKH" in found.messages[0].text


def test_a_tighter_gate() -> None:
    x, y = waters(1)
    assert identifiability(x, y, unit="dKH").may_draw_line
    assert not identifiability(x, y, unit="dKH", widest_slope=0.001).may_draw_line
    assert not identifiability(x, y, unit="dKH", widest_bracket=0.0001).may_draw_line


def test_a_variance_that_is_none() -> None:
    x, y = waters(1)
    with pytest.raises(InputError, match="kit B: needed the square of an SD"):
        identifiability(x, y, unit="dKH", variance_x=0.01, variance_y=-1.0)
