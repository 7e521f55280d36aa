"""What must not change the answer, and the awkward histories that must still give one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.balance import mixture_events, mixture_filter
from reef_calc.balance.mixture_answer import CurrentRate
from reef_calc.balance.mixture_events import EventTree
from reef_calc.balance.rate_mixture import current_rate
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.balance.water_balance import WaterEvents
from tests.balance.mixture_cases import DAYS, KIT, LOG, a_tank, base, fit

FEW = settings(max_examples=12, deadline=None, derandomize=True)


def numbers(now: CurrentRate) -> np.ndarray:
    return np.r_[
        now.rate, now.low, now.high, now.p_changed, now.p_not_constant, now.p_step, now.p_gross
    ]


@FEW
@given(st.integers(0, 999), st.floats(-2e4, 2e4))
def test_shifting_time_changes_nothing(seed: int, shift: float) -> None:
    times, levels, log = a_tank(seed)
    moved = replace(
        log,
        dose_times=log.dose_times + shift,
        rate_starts=log.rate_starts + shift,
        rate_stops=log.rate_stops + shift,
        change_times=log.change_times + shift,
    )
    plain = current_rate(times, levels, log, **KIT)
    later = current_rate(times + shift, levels, moved, **KIT)
    assert numbers(later) == pytest.approx(numbers(plain), rel=1e-5, abs=1e-6)


@FEW
@given(st.integers(0, 999), st.floats(0.01, 100))
def test_another_unit_changes_the_rate_by_its_factor_only(seed: int, factor: float) -> None:
    times, levels, log = a_tank(seed)
    other = replace(
        log,
        dose_rises=log.dose_rises * factor,
        rates=log.rates * factor,
        change_levels=log.change_levels * factor,
    )
    plain = numbers(current_rate(times, levels, log, **KIT))
    scaled = numbers(
        current_rate(times, levels * factor, other, sd=0.15 * factor, resolution=0.1 * factor)
    )
    scaled[:3] /= factor
    assert scaled == pytest.approx(plain, rel=1e-5, abs=1e-6)


@FEW
@given(st.integers(0, 999), st.floats(0.05, 0.95))
def test_a_dose_in_two_parts_is_the_same_dose(seed: int, share: float) -> None:
    times, levels, log = a_tank(seed)
    halves = replace(
        log,
        dose_times=np.repeat(log.dose_times, 2),
        dose_rises=np.outer(log.dose_rises, [share, 1 - share]).ravel(),
        rate_starts=np.r_[log.rate_starts, log.rate_starts],
        rate_stops=np.r_[log.rate_stops, log.rate_stops],
        rates=np.r_[log.rates * share, log.rates * (1 - share)],
    )
    plain = current_rate(times, levels, log, **KIT)
    split = current_rate(times, levels, halves, **KIT)
    assert numbers(split) == pytest.approx(numbers(plain), rel=1e-6, abs=1e-7)


@FEW
@given(st.integers(0, 999), st.randoms(use_true_random=False))
def test_order_of_readings_at_one_time_changes_nothing(seed: int, random: object) -> None:
    times, levels, log = a_tank(seed)
    times[10:13], times[-2:] = times[10], times[-1]
    order = np.arange(times.size)
    middle = [10, 11, 12]
    random.shuffle(middle)  # type: ignore[attr-defined]
    order[10:13], order[-2:] = middle, order[-2:][::-1]
    plain = current_rate(times, levels, log, **KIT)
    mixed = current_rate(times, levels[order], log, **KIT)
    assert (mixed.rate, mixed.low, mixed.high) == (plain.rate, plain.low, plain.high)
    assert np.array_equal(mixed.p_gross, plain.p_gross[order])


@FEW
@given(st.integers(0, 999))
def test_a_column_of_nothing_changes_nothing(seed: int) -> None:
    times, levels, log = a_tank(seed)
    nothing = KnownColumn("opened but never used", np.zeros(times.size), 0.0, 0.3)
    plain = current_rate(times, levels, log, **KIT)
    more = current_rate(times, levels, log, **KIT, columns=[nothing])
    assert numbers(more) == pytest.approx(numbers(plain), rel=1e-9, abs=1e-11)
    assert more.factor("opened but never used")[0] == pytest.approx(0, abs=1e-12)


def test_a_certain_column_is_a_correction() -> None:
    kit = (np.arange(31) % 2).astype(float)
    known = KnownColumn("other kit", kit, 0.4, 0.0)
    corrected = fit(base() + 0.4 * kit, columns=[known])
    assert numbers(corrected) == pytest.approx(numbers(fit(base())), rel=1e-6, abs=1e-9)


def test_a_declaration_outside_the_readings_changes_nothing() -> None:
    plain = fit(base())
    told = fit(base(), declared_changes=[-3.0, 60.0, 99.0], declared_lots=[0.0, 61.0])
    assert np.array_equal(numbers(told), numbers(plain))


def test_readings_all_equal() -> None:
    now = current_rate(np.arange(12.0), np.full(12, 8.0), WaterEvents(), **KIT)
    assert now.rate == pytest.approx(0, abs=1e-6)
    assert now.low < 0 < now.high


def test_doses_after_the_last_reading_and_water_before_the_first_do_not_matter() -> None:
    more = replace(
        LOG,
        dose_times=[60.0, 61.0, -5.0],
        dose_rises=[3.0, 2.0, 1.0],
        change_times=np.r_[-1.0, LOG.change_times],
        change_fractions=np.r_[0.5, LOG.change_fractions],
        change_levels=np.r_[3.0, LOG.change_levels],
    )
    plain = numbers(fit(base()))
    assert numbers(current_rate(DAYS, base(), more, **KIT)) == pytest.approx(plain, rel=1e-12)


def test_three_thousand_readings_keep_few_events(monkeypatch: pytest.MonkeyPatch) -> None:
    grown: list[EventTree] = []

    class Watched(EventTree):
        def __init__(self, roots: int) -> None:
            super().__init__(roots)
            grown.append(self)

    monkeypatch.setattr(mixture_filter, "EventTree", Watched)
    rng = np.random.default_rng(3)
    times = np.sort(rng.uniform(0, 3650, 3000))
    changes = np.arange(3.5, 3650, 7)
    log = WaterEvents(
        rate_starts=[0.0],
        rate_stops=[3650.0],
        rates=[1.0],
        change_times=changes,
        change_fractions=np.full(changes.size, 0.25),
        change_levels=np.full(changes.size, 8.0),
    )
    levels = 8 + rng.normal(0, 0.15, 3000)
    levels[rng.random(3000) < 0.05] += 1.0
    now = current_rate(times, levels, log, **KIT)
    assert now.rate == pytest.approx(1, abs=0.02)
    assert now.p_gross.max() > 0.99
    (tree,) = grown
    # 3,000 readings times 240 components would be 720,000.
    assert tree._size < 2 * mixture_events.TIDY_AFTER


def test_forgetting_dead_events_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    times, levels, log = a_tank(1, 60)
    plain = current_rate(times, levels, log, **KIT)
    monkeypatch.setattr(mixture_events, "TIDY_AFTER", 50)
    tidy = current_rate(times, levels, log, **KIT)
    assert np.array_equal(numbers(tidy), numbers(plain))
    assert np.array_equal(tidy.day_to_day_weights, plain.day_to_day_weights)
    assert np.array_equal(tidy.p_change_at, plain.p_change_at)


def test_noise_of_a_reading_says_how_much_it_counts() -> None:
    levels = base()
    levels[20] += 0.6
    loose = np.ones(31)
    loose[20] = 1e6
    without = current_rate(np.delete(DAYS, 20), np.delete(levels, 20), LOG, **KIT)
    now = fit(levels, noise=loose)
    assert now.rate == pytest.approx(without.rate, abs=2e-4)


def test_the_same_answer_every_time() -> None:
    assert np.array_equal(numbers(fit(base(50))), numbers(fit(base(50))))
