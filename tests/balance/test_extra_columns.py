"""Further columns against simulated histories with a known truth; own examples, no source."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.balance.extra_columns import (
    date_only_dose_variance,
    level_response,
    reader_columns,
    weekly_rhythm,
)
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.steady_use import KnownColumn, SteadyUse, steady_use
from reef_calc.balance.water_balance import WaterEvents
from reef_calc.errors import InputError
from tests.balance.simulated import RESOLUTION, SD, START, doses, read, record, truth

S0 = (SD**2 + RESOLUTION**2 / 12) ** 0.5
DAILY = doses(steps=[(-5.0, 100.0, 1.0)])
RUNS = 40


def fit(
    log: ElementRecord, columns: list[KnownColumn] | None = None, extra: np.ndarray | float = 0.0
) -> SteadyUse:
    t, y = log.sessions["day"].to_numpy(float), log.sessions["level"].to_numpy(float)
    noise = np.ones(t.size) + extra / S0**2
    return steady_use(
        t, y, log.events, sd=SD, resolution=RESOLUTION, noise=noise, columns=columns or []
    )


def at_random(rng: np.random.Generator, n: int = 40, length: float = 90.0) -> np.ndarray:
    return np.sort(np.r_[0.0, rng.uniform(0, length, n - 2), length])


def weekend(day: np.ndarray) -> np.ndarray:
    return np.isin((np.floor(day) + 3) % 7, [5, 6])  # day 0, 1 January 1970, was a Thursday


def test_rhythm_is_found_exactly_without_scatter() -> None:
    rng = np.random.default_rng(1)
    times = at_random(rng)
    levels, _ = truth(times, DAILY, lambda d: 1 + 0.3 * np.where(weekend(d), 1, -0.4), rng, cv=0.0)
    log = record(times, levels, DAILY)
    column = weekly_rhythm(log, 1.0)
    assert column is not None
    solved = np.linalg.lstsq(
        np.column_stack([log.balance().G, -log.balance().H, column.values]),
        levels - log.balance().D,
        rcond=None,
    )[0]
    assert solved.tolist() == pytest.approx([8.0, 1.0, 0.3], abs=1e-9)


def test_rhythm_has_no_mean_over_a_week() -> None:
    times = np.arange(0.0, 43.0)
    log = record(times, np.full(43, 8.0), DAILY)
    still = ElementRecord(**{**vars(log), "events": WaterEvents()})
    column = weekly_rhythm(still, 1.0)
    assert column is not None
    assert column.values[::7] == pytest.approx(np.zeros(7), abs=1e-9)


def test_rhythm_follows_the_zone_and_its_clock() -> None:
    """Sydney's Saturday begins ten or eleven hours before Greenwich's; a day of 23 h is one day."""
    times = np.arange(0.0, 120.0, 1 / 24)
    log = record(times, np.full(times.size, 8.0), DAILY, zone="Australia/Sydney")
    still = ElementRecord(**{**vars(log), "events": WaterEvents()})
    column = weekly_rhythm(still, 1.0)
    assert column is not None
    higher = np.diff(column.values) < 0
    local = still.sessions["time"].dt.tz_convert("Australia/Sydney")
    assert np.array_equal(higher, (local.dt.day_of_week >= 5).to_numpy()[:-1])


@pytest.mark.parametrize(
    "times",
    [np.arange(0.0, 90.0, 7.0), np.arange(0.0, 90.0, 3.5), np.arange(0.0, 28.0, 2.0)],
    ids=["one weekday", "two weekdays", "26 days"],
)
def test_no_rhythm_where_it_cannot_show(times: np.ndarray) -> None:
    assert weekly_rhythm(record(times, np.full(times.size, 8.0), DAILY), 1.0) is None


def test_rhythm_wants_a_rate() -> None:
    log = record(np.arange(0.0, 60.0, 2.0), np.full(30, 8.0), DAILY)
    with pytest.raises(InputError, match="finite rate"):
        weekly_rhythm(log, float("nan"))
    negative = weekly_rhythm(log, -2.0)
    assert negative is not None
    assert negative.u == pytest.approx(0.4)


@pytest.mark.parametrize("swing", [0.0, 0.3])
def test_rhythm_narrows_the_interval_and_still_covers(swing: float) -> None:
    plain, better, covered = [], [], 0
    for seed in range(RUNS):
        rng = np.random.default_rng(seed)
        times = at_random(rng)
        levels, _ = truth(times, DAILY, lambda d: 1 + swing * np.where(weekend(d), 1, -0.4), rng)
        log = record(times, read(levels, rng), DAILY)
        column = weekly_rhythm(log, 1.0)
        assert column is not None
        without, using = fit(log), fit(log, [column])
        plain.append(without.high - without.low)
        better.append(using.high - using.low)
        covered += using.low <= 1.0 <= using.high
    assert covered >= 0.88 * RUNS
    ratio = np.median(better) / np.median(plain)
    assert ratio < 0.8 if swing else ratio < 1.05


@pytest.mark.parametrize("difference", [0.0, 0.4])
def test_readers(difference: float) -> None:
    covered, found = 0, []
    for seed in range(RUNS):
        rng = np.random.default_rng(seed)
        times = at_random(rng)
        levels, _ = truth(times, DAILY, np.ones_like, rng)
        second = rng.random(times.size) < 0.35
        log = record(times, read(levels + difference * second, rng), DAILY)
        names = {i + 2: "Jo" if s else "Ida" for i, s in enumerate(second)}
        columns = reader_columns(log, names)
        assert [c.name for c in columns] == ["reader Jo"]
        assert columns[0].u == pytest.approx(2 * S0)
        using = fit(log, columns)
        covered += using.low <= 1.0 <= using.high
        found.append(using.factor("reader Jo")[0])
    assert covered >= 0.88 * RUNS
    assert np.mean(found) == pytest.approx(difference, abs=0.04)


def test_who_counts_as_a_reader() -> None:
    log = record(np.arange(10.0), np.full(10, 8.0), DAILY)
    rows = list(range(2, 12))
    mostly = dict(zip(rows, ["Ida"] * 5 + ["Jo"] * 3 + [" "] * 2, strict=True))
    assert [c.values.tolist() for c in reader_columns(log, mostly)] == [[0] * 5 + [1] * 3 + [0] * 2]
    few = dict(zip(rows, ["Ida"] * 5 + ["Jo"] * 2 + [""] * 3, strict=True))
    assert reader_columns(log, few) == []  # 70 % recorded
    twice = dict(zip(rows, ["Ida"] * 8 + ["Jo"] * 2, strict=True))
    assert reader_columns(log, twice) == []  # Jo read twice only
    assert reader_columns(log, dict.fromkeys(rows, "Ida")) == []
    assert reader_columns(log, {}) == []
    together = log.sessions.assign(rows=[(2, 3), (4, 5), (6, 7), *[(8 + i,) for i in range(7)]])
    shared = ElementRecord(**{**vars(log), "sessions": together})
    pairs = {row: "Jo" if row in (3, 5, 7) else "Ida" for row in range(2, 15)}
    assert reader_columns(shared, pairs)[0].values.tolist() == [0.5] * 3 + [0.0] * 7


def test_doses_by_date() -> None:
    """0.6 and 0.3 on day 2, nothing else without an hour: (0.9)²/12 on that day only."""
    given = doses([(2.5, 0.6), (2.5, 0.3)], date_only=True)
    log = record(np.array([1.9, 2.1, 2.9, 3.1]), np.full(4, 8.0), given)
    assert date_only_dose_variance(log).tolist() == pytest.approx([0, 0.0675, 0.0675, 0])
    hours = record(np.array([2.1, 2.9]), np.full(2, 8.0), doses([(2.5, 0.6)]))
    assert date_only_dose_variance(hours).tolist() == [0, 0]
    slow = record(np.array([2.1, 2.9]), np.full(2, 8.0), doses([(2.5, 1)], date_only=True, lag=1))
    assert date_only_dose_variance(slow).tolist() == [0, 0]
    none = record(np.array([2.1, 2.9]), np.full(2, 8.0), DAILY)
    assert date_only_dose_variance(none).tolist() == [0, 0]


def test_doses_by_date_narrow_the_interval_and_still_cover() -> None:
    given = doses([(day + 23 / 24, 1.0) for day in range(-1, 91)])
    logged = doses([(day + 0.5, 1.0) for day in range(-1, 91)], date_only=True)
    plain, better, covered = [], [], 0
    for seed in range(RUNS):
        rng = np.random.default_rng(seed)
        times = at_random(rng)
        levels, _ = truth(times, given, np.ones_like, rng)
        log = record(times, read(levels, rng), logged)
        without, using = fit(log), fit(log, extra=date_only_dose_variance(log))
        plain.append(without.high - without.low)
        better.append(using.high - using.low)
        covered += using.low <= 1.0 <= using.high
    assert covered >= 0.9 * RUNS
    assert np.median(better) < 0.75 * np.median(plain)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.floats(0.0, 30.0), st.floats(0.0, 30.0), st.floats(0.1, 3.0))
def test_responses_add_up(first: float, second: float, rise: float) -> None:
    log = record(np.arange(0.0, 40.0, 3.0), np.full(14, 8.0), DAILY)

    def one(day: float, size: float) -> np.ndarray:
        return level_response(log, WaterEvents(dose_times=[START + day], dose_rises=[size]))

    both = level_response(
        log, WaterEvents(dose_times=[START + first, START + second], dose_rises=[rise, 1.0])
    )
    assert both == pytest.approx(rise * one(first, 1.0) + one(second, 1.0), abs=1e-12)
