"""What must not change the joint estimate: units, the origin of time, order of rows, split doses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.balance.joint_priors import JointPriors
from reef_calc.balance.joint_rate import JointRate, joint_rate
from reef_calc.balance.joint_readings import ElementReadings
from reef_calc.balance.water_balance import WaterEvents

KEPT = 60
few = settings(max_examples=6, deadline=None, derandomize=True)


def random_pair(seed: int) -> tuple[ElementReadings, ElementReadings]:
    random = np.random.default_rng(seed)
    days = np.sort(random.integers(0, 60, 14)).astype(float)
    days[0], days[-1] = 0.0, 60.0
    calcium_days = np.r_[days[[0, 3, 6, 9]], 60.0]  # taken at the time of an alkalinity reading
    changes = np.array([10.5, 24.5, 40.5])

    def log(rate: float, level: float) -> WaterEvents:
        return WaterEvents(
            dose_times=[20.0],
            dose_rises=[rate],
            rate_starts=[0.0],
            rate_stops=[60.0],
            rates=[rate],
            change_times=changes,
            change_fractions=[0.1, 0.2, 0.1],
            change_levels=[level] * 3,
        )

    a = 8 + 0.2 * random.normal(size=days.size)
    c = 420 + 8 * random.normal(size=calcium_days.size)
    return (
        ElementReadings(days, a, log(1.0, 8.0), 0.15, 0.1),
        ElementReadings(calcium_days, c, log(7.0, 420.0), 7.0, 5.0),
    )


def same(one: JointRate, other: JointRate) -> None:
    assert other.calcium == pytest.approx(one.calcium, rel=1e-6)
    assert other.alkalinity == pytest.approx(one.alkalinity, rel=1e-6)
    assert other.p_not_constant == pytest.approx(one.p_not_constant, abs=1e-6)
    assert other.p_step == pytest.approx(one.p_step, abs=1e-6)


def scaled(readings: ElementReadings, factor: float) -> ElementReadings:
    e = readings.events
    return replace(
        readings,
        levels=factor * np.asarray(readings.levels),
        sd=factor * readings.sd,
        resolution=factor * readings.resolution,
        events=replace(
            e,
            dose_rises=factor * e.dose_rises,
            rates=factor * e.rates,
            change_levels=factor * e.change_levels,
        ),
    )


@few
@given(seed=st.integers(0, 10**6), factor=st.sampled_from([0.3566, 17.848, 1000.0]))
def test_units(seed: int, factor: float) -> None:
    a, c = random_pair(seed)
    one = joint_rate(a, c, kept=KEPT)
    other = joint_rate(
        scaled(a, factor),
        c,
        kept=KEPT,
        priors=JointPriors(ratio=7.06 / factor, ratio_u=0.4 / factor),
    )
    same(
        one,
        replace(other, alkalinity=type(one.alkalinity)(*(x / factor for x in other.alkalinity))),
    )
    if one.ratio is not None:
        assert other.ratio == pytest.approx([x / factor for x in one.ratio], rel=1e-6)


@few
@given(seed=st.integers(0, 10**6), shift=st.sampled_from([-1000.0, 20_480.0]))
def test_origin_of_time(seed: int, shift: float) -> None:
    def moved(readings: ElementReadings) -> ElementReadings:
        e = readings.events
        names = ("dose_times", "rate_starts", "rate_stops", "change_times")
        log = replace(e, **{name: getattr(e, name) + shift for name in names})
        return replace(readings, times=np.asarray(readings.times) + shift, events=log)

    a, c = random_pair(seed)
    one = joint_rate(a, c, kept=KEPT, declared_events=[30.0])
    same(one, joint_rate(moved(a), moved(c), kept=KEPT, declared_events=[30.0 + shift]))


@few
@given(seed=st.integers(0, 10**6))
def test_order_of_rows(seed: int) -> None:
    a, c = random_pair(seed)
    order = np.random.default_rng(seed + 1).permutation(np.asarray(a.times).size)
    shuffled = replace(a, times=np.asarray(a.times)[order], levels=np.asarray(a.levels)[order])
    backwards = replace(c, times=np.asarray(c.times)[::-1], levels=np.asarray(c.levels)[::-1])
    same(joint_rate(a, c, kept=KEPT), joint_rate(shuffled, backwards, kept=KEPT))


@few
@given(seed=st.integers(0, 10**6), at=st.floats(5.0, 55.0), part=st.floats(0.1, 0.9))
def test_split_doses(seed: int, at: float, part: float) -> None:
    def split(readings: ElementReadings) -> ElementReadings:
        e = readings.events
        rate, rise = e.rates[0], e.dose_rises[0]
        log = replace(
            e,
            rate_starts=[0.0, at, at],
            rate_stops=[at, 60.0, 60.0],
            rates=[rate, part * rate, (1 - part) * rate],
            dose_times=[20.0, 20.0],
            dose_rises=[part * rise, (1 - part) * rise],
        )
        return replace(readings, events=log)

    a, c = random_pair(seed)
    same(joint_rate(a, c, kept=KEPT), joint_rate(split(a), split(c), kept=KEPT))
