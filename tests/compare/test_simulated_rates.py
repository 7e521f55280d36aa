"""How often comparisons are wrong when the truth is known: intervals, and waters named as odd."""

from __future__ import annotations

import numpy as np
import pytest

from reef_calc.compare.answer_at_levels import furthest_water
from reef_calc.compare.bias_at import bias_at
from reef_calc.compare.chosen_line import choose_line
from reef_calc.compare.lines import deming_line
from reef_calc.compare.pairs import Pairs, Water
from reef_calc.compare.repeatability import typed_repeatability


def two_kits(
    draw: np.random.Generator, *, share: bool, n: int = 15, step: float = 0.01, misread: float = 0.0
) -> Pairs:
    """Waters from 4 to 14 whose scatter is the same everywhere, or a share of the level."""
    level = draw.uniform(4.0, 14.0, n)
    sd = 0.02 * level if share else np.full(n, 0.15)
    a = level + sd * draw.normal(size=n)
    b = 1.05 * level + 1.5 * sd * draw.normal(size=n)
    b[-1] += misread * sd[-1]
    waters = tuple(
        Water(str(i), (float(one),), (float(other),))
        for i, (one, other) in enumerate(
            zip(np.round(a / step) * step, np.round(b / step) * step, strict=True)
        )
    )
    return Pairs("alkalinity", "dKH", "drops", "syringe", step, step, waters)


@pytest.mark.parametrize(
    ("method", "share"),
    [("deming", False), ("weighted deming", True), ("passing bablok", False), ("york", False)],
)
def test_waters_that_fit_are_seldom_named(method: str, share: bool) -> None:
    """Named in about 5 of 100 studies, whatever the line: Grubbs's own level."""
    draw, named, found_out = np.random.default_rng(4), 0, 0
    scatter = {"scatter_a": typed_repeatability(sd=0.15), "scatter_b": typed_repeatability(sd=0.22)}
    for _ in range(120):
        good = two_kits(draw, share=share)
        odd = furthest_water(good, choose_line(good, method=method, given_ratio=0.44, **scatter))
        named += odd is not None and odd.named
        wrong = two_kits(draw, share=share, misread=9.0)
        odd = furthest_water(wrong, choose_line(wrong, method=method, given_ratio=0.44, **scatter))
        found_out += odd is not None and odd.named and odd.index == 14
    assert named / 120 < 0.09
    assert found_out / 120 > 0.7


def test_a_large_scatter_at_a_high_level_is_not_odd_where_scatter_is_a_share() -> None:
    level = np.linspace(4.0, 14.0, 14)
    off = 0.02 * np.array([1, -1, 1, -1, 1, 1, -1, -1, 1, -1, 1, -1, 1.2, -3.0]) * level
    waters = tuple(
        Water(str(i), (x,), (x + d,)) for i, (x, d) in enumerate(zip(level, off, strict=True))
    )
    pairs = Pairs("alkalinity", "dKH", "drops", "syringe", 0.0, 0.0, waters)
    plain = furthest_water(pairs, choose_line(pairs, method="deming", given_ratio=1.0))
    shared = furthest_water(pairs, choose_line(pairs, method="weighted deming", given_ratio=1.0))
    assert plain is not None and shared is not None
    assert plain.index == shared.index == 13
    assert plain.named
    assert shared.statistic < plain.statistic


def test_intervals_of_the_bias_hold_as_often_as_they_say() -> None:
    """Wide range at several levels, narrow range at its middle: 0.93 to 0.97."""
    draw, wide, narrow = np.random.default_rng(18), [], []
    for _ in range(800):
        level = draw.uniform(4.0, 14.0, 15)
        x = level + draw.normal(0.0, 0.15, 15)
        y = 0.1 + 1.04 * level + draw.normal(0.0, 0.15, 15)
        for one in bias_at(deming_line(x, y, error_ratio=1.0), [6.0, 12.0]):
            wide.append(one.low <= 0.1 + 0.04 * one.level <= one.high)
        level = 8.0 + draw.normal(0.0, 0.3, 15)
        x = level + draw.normal(0.0, 0.1, 15)
        y = level + 0.3 + draw.normal(0.0, 0.1, 15)
        one = bias_at(deming_line(x, y, error_ratio=1.0), [8.0])[0]
        narrow.append(one.low <= 0.3 <= one.high)
    assert 0.93 < np.mean(wide) < 0.97
    assert 0.93 < np.mean(narrow) < 0.97
