"""The mass balance against hand arithmetic, a small-step simulation and its invariances."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.balance.water_balance import WaterEvents, balance_columns, level_after_cycles
from reef_calc.errors import InputError

from .histories import base


def test_one_change_by_hand() -> None:
    """Own example, hand arithmetic: 20 % changed at day 5, new water 7."""
    events = WaterEvents(change_times=[5.0], change_fractions=[0.2], change_levels=[7.0])
    c = balance_columns([0, 2.5, 5, 7.5, 10], events)
    assert (c.G[-1], c.H[-1], c.D[-1]) == pytest.approx((0.8, 9.0, 1.4), abs=1e-12)
    assert c.P[-1] == pytest.approx(5 * 0.64 + 5, abs=1e-12)
    assert c.W[-1] == pytest.approx(0.2, abs=1e-12)


def test_reading_then_dose_then_change_at_one_time() -> None:
    events = WaterEvents(
        dose_times=[5.0],
        dose_rises=[1.0],
        change_times=[5.0],
        change_fractions=[0.5],
        change_levels=[0.0],
    )
    c = balance_columns([0.0, 5.0, 6.0], events)
    assert c.D[1] == 0.0
    assert c.D[2] == pytest.approx(0.5)
    assert (c.G[1], c.G[2]) == pytest.approx((1.0, 0.5))


def walked(times, events, use, start, steps_a_day=20000):  # type: ignore[no-untyped-def]
    """A plain walk through time in small steps, sharing nothing with the package."""
    moments = np.unique(np.r_[times, events.change_times, events.dose_times])
    level, found, now = start, {}, times[0]
    for moment in moments[moments >= times[0]]:
        n = max(1, int((moment - now) * steps_a_day))
        middles = now + (np.arange(n) + 0.5) * (moment - now) / n
        rate = sum(
            r * ((middles > a) & (middles < b))
            for a, b, r in zip(events.rate_starts, events.rate_stops, events.rates, strict=True)
        ) + np.zeros(n)
        level += float((rate - use).sum() * (moment - now) / n)
        now = moment
        if moment in times:
            found[moment] = level
        for t, d in zip(events.dose_times, events.dose_rises, strict=True):
            level += d * (t == moment)
        for t, f, c in zip(
            events.change_times, events.change_fractions, events.change_levels, strict=True
        ):
            if t == moment:
                level = level * (1 - f) + f * c
    return np.array([found[t] for t in times])


def test_against_small_steps() -> None:
    rng = np.random.default_rng(7)
    times = np.sort(rng.uniform(0, 40, 12)).round(2)
    events = WaterEvents(
        dose_times=rng.uniform(0, 40, 6).round(2),
        dose_rises=rng.uniform(0, 0.6, 6),
        rate_starts=[-3.0, 11.25, 20.0],
        rate_stops=[11.25, 30.5, 25.0],
        rates=[0.9, 1.1, 0.2],
        change_times=np.arange(2.5, 40, 6.0),
        change_fractions=rng.uniform(0.05, 0.4, 7),
        change_levels=rng.uniform(6, 11, 7),
    )
    c = balance_columns(times, events)
    assert pytest.approx(walked(times, events, 0.8, 8.0), abs=2e-4) == 8.0 * c.G + c.D - 0.8 * c.H


def test_steady_changes_by_the_closed_form() -> None:
    """Own example, hand arithmetic: 15 % weekly in 11, use 0.3 a day, held at 8: gain 0.0643 a day."""
    held = level_after_cycles(8.0, 0.3, 0.3 - 0.45 / 7, 0.15, 11.0, 7.0, [1, 10, 100])
    # Just after a change the level is f·(use − dose)·Δ above what it settles at in the middle.
    c_inf = 11.0 + 0.85 / 0.15 * (-0.45)
    assert held[-1] == pytest.approx(c_inf, abs=1e-6)
    continuous = level_after_cycles(9.5, 0.03, 0.0, 0.01 / 1440, 11.0, 1 / 1440, [30 * 1440])
    assert continuous[0] == pytest.approx(9.11, abs=0.005)  # COMPUTED by hand: 8 + 1.5·e^-0.3
    assert level_after_cycles(8.0, 0.1, 0.4, 0.0, 0.0, 7.0, [2])[0] == pytest.approx(12.2)


def test_closed_form_equals_event_pass() -> None:
    changes = np.arange(7.0, 71.0, 7.0)
    events = WaterEvents(
        rate_starts=[0.0],
        rate_stops=[80.0],
        rates=[0.4],
        change_times=changes,
        change_fractions=np.full(10, 0.12),
        change_levels=np.full(10, 10.0),
    )
    c = balance_columns(np.r_[0.0, changes + 1e-9], events)
    levels = 8.0 * c.G + c.D - 0.7 * c.H
    assert levels[1:] == pytest.approx(
        level_after_cycles(8.0, 0.7, 0.4, 0.12, 10.0, 7.0, np.arange(1, 11)), abs=1e-7
    )


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    shift=st.floats(-2e4, 2e4),
    scale=st.floats(0.01, 100),
    share=st.floats(0.0, 1.0),
)
def test_shift_scale_and_split_change_nothing(shift: float, scale: float, share: float) -> None:
    times, _, events = base()
    plain = balance_columns(times, events)
    moved = WaterEvents(
        dose_times=[],
        dose_rises=[],
        rate_starts=[shift, shift],
        rate_stops=[60.0 + shift] * 2,
        rates=[scale * share, scale * (1 - share)],
        change_times=events.change_times + shift,
        change_fractions=events.change_fractions,
        change_levels=scale * events.change_levels,
    )
    other = balance_columns(times + shift, moved)
    assert pytest.approx(other.G, rel=1e-9) == plain.G
    assert pytest.approx(other.H, rel=1e-9, abs=1e-8) == plain.H
    assert scale * plain.D == pytest.approx(other.D, rel=1e-9, abs=1e-8 * scale)


def test_long_histories_do_not_underflow() -> None:
    changes = np.arange(0.5, 3 * 365, 1.0)
    events = WaterEvents(
        change_times=changes,
        change_fractions=np.full(changes.size, 0.9),
        change_levels=np.full(changes.size, 8.0),
    )
    c = balance_columns(np.arange(0.0, 1096.0, 7.0), events)
    for column in (c.H, c.D, c.P, c.W):
        assert np.all(np.isfinite(column))
    assert c.W[-1] == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("wrong", "word"),
    [
        ({"change_times": [1.0], "change_fractions": [1.0], "change_levels": [8.0]}, "100 %"),
        ({"dose_times": [1.0], "dose_rises": []}, "one length"),
        ({"dose_times": [1.0], "dose_rises": [np.nan]}, "finite"),
        ({"rate_starts": [2.0], "rate_stops": [1.0], "rates": [1.0]}, "stops after it starts"),
    ],
)
def test_impossible_events_are_refused(wrong: dict[str, list[float]], word: str) -> None:
    with pytest.raises(InputError, match=word):
        WaterEvents(**wrong)  # type: ignore[arg-type]


def test_times_that_decrease_are_refused() -> None:
    with pytest.raises(InputError, match="Sort"):
        balance_columns([0.0, 2.0, 1.0], WaterEvents())
