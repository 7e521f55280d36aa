"""Readings of two kits paired by time, with what moved the water in between taken out."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.compare.log_pairs import expected_movement, log_pairs, nearest_pairs
from reef_calc.errors import InputError

SD = 0.15


@settings(max_examples=50, deadline=None)
@given(
    a=st.lists(st.floats(0, 60), max_size=12),
    b=st.lists(st.floats(0, 60), max_size=12),
    within=st.floats(0, 10),
)
def test_no_reading_is_used_twice(a: list[float], b: list[float], within: float) -> None:
    i, j = nearest_pairs(a, b, within)
    assert len(set(i.tolist())) == i.size == j.size == len(set(j.tolist()))
    apart = np.abs(np.array(a)[i] - np.array(b)[j])
    assert np.all(apart <= within)
    # Nothing left over that could still be paired.
    rest_a = np.delete(np.array(a, dtype=float), i)
    rest_b = np.delete(np.array(b, dtype=float), j)
    assert np.all(np.abs(rest_a[:, None] - rest_b[None, :]) > within)


def daily() -> tuple[np.ndarray, np.ndarray, np.ndarray, WaterEvents]:
    """One dose a day; A is read before it, B twelve hours later; B reads 0.3 higher."""
    t = np.sort(np.r_[np.arange(0.4, 30, 6.0), np.arange(0.9, 30, 6.0)])
    b = np.arange(t.size) % 2 == 1
    log = WaterEvents(dose_times=np.arange(0.6, 30, 1.0), dose_rises=np.ones(30),
                      change_times=[12.6], change_fractions=[0.1], change_levels=[7.0])  # fmt: skip
    c = balance_columns(t, log)
    return t, 8.0 * c.G + c.D - c.H + 0.3 * b, b, log


def test_movement_is_taken_out_and_pairs_as_read_are_not_offered() -> None:
    t, y, b, log = daily()
    y = y + np.resize([0.0, 0.05, -0.05], t.size)
    c = balance_columns(t, log)
    found = log_pairs(c, y, 1.0, ~b, b, SD)
    assert found.n == 5
    assert found.corrected is not None
    assert found.corrected.low < 0.3 < found.corrected.high
    assert found.uncorrected is None
    # Half a day's use less, one dose more; where the water was changed in between, less again.
    assert found.movement[0] == pytest.approx(0.5)
    assert found.movement[2] < 0.45
    assert np.mean(found.plain) > 0.7


def test_pairs_the_other_way_round_give_the_same_difference() -> None:
    t, y, b, log = daily()
    c = balance_columns(t, log)
    there = log_pairs(c, y, 1.0, ~b, b, SD, within=0.6)
    back = log_pairs(c, y, 1.0, b, ~b, SD, within=0.6)
    assert there.differences == pytest.approx(np.full(5, 0.3))
    # From B's own reading, 0.3 higher, the change of a tenth takes 0.03 more.
    assert back.differences == pytest.approx(-there.differences, abs=0.04)
    # Equal to the last digit: no scatter, so no interval.
    assert there.corrected is None


def test_movement_by_hand_over_a_water_change() -> None:
    """8.0, 1 a day for a day, a fifth of 7.0, half a day more: 0.8·7 + 0.2·7 − 0.5 = 6.5."""
    log = WaterEvents(change_times=[1.0], change_fractions=[0.2], change_levels=[7.0])
    c = balance_columns([0.0, 1.5], log)
    forward = expected_movement(c, [8.0, 6.5], 1.0, np.array([0]), np.array([1]))
    backward = expected_movement(c, [8.0, 6.5], 1.0, np.array([1]), np.array([0]))
    assert (forward[0], backward[0]) == pytest.approx((-1.5, 1.5))


def test_interval_is_students() -> None:
    d = np.array([0.25, 0.35, 0.40, 0.20])
    t = np.sort(np.r_[np.arange(4.0), np.arange(4.0) + 0.001])
    b = np.arange(8) % 2 == 1
    y = np.full(8, 8.0)
    y[b] += d
    found = log_pairs(balance_columns(t, WaterEvents()), y, 0.0, ~b, b, SD)
    outside = stats.ttest_1samp(d, 0.0).confidence_interval(0.95)
    assert found.corrected is not None
    assert found.uncorrected == found.corrected
    assert (found.corrected.low, found.corrected.high) == pytest.approx(
        (outside.low, outside.high), rel=1e-9
    )


def test_no_pair_reaches_into_a_gap_of_the_log() -> None:
    t, y, b, log = daily()
    found = log_pairs(
        balance_columns(t, log), y, 1.0, ~b, b, SD, unusable=[(6.5, 7.5), (24.2, 24.3)]
    )
    assert found.n == 4
    assert 6.4 not in t[found.index_a]


def test_nothing_to_pair() -> None:
    t = np.array([0.0, 30.0])
    found = log_pairs(balance_columns(t, WaterEvents()), [8, 8], 0.0, t < 1, t > 1, SD)
    assert (found.n, found.corrected, found.uncorrected) == (0, None, None)
    assert found.largest_movement == 0.0
    with pytest.raises(InputError, match="an SD above 0"):
        log_pairs(balance_columns(t, WaterEvents()), [8, 8], 0.0, t < 1, t > 1, 0.0)
