"""Alkalinity that appears later: amount, mean delay and steady state. Hand arithmetic, no source."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.balance.additions import AdditionHistory, addition_history, arriving, days
from reef_calc.balance.given_doses import mean_dose, standing_rate, water_events
from reef_calc.balance.water_balance import WaterEvents, balance_columns
from tests.balance.simulated import SHOTS, STEPS, doses
from tests.folders import dose, make_tank

SLOW = """
[supplement.slow]
label = {amount = 10, unit = "mL", litres = 100, raises = {alkalinity = "0.5 dKH", calcium = "4 mg/L"}}
lag_days = 1.5
delivered_over_set = {value = 1.0, u = 0.02}
"""
LAGS = st.floats(0.05, 30.0)
quick = settings(max_examples=30, deadline=None, derandomize=True)


def level(history: AdditionHistory, times: np.ndarray) -> np.ndarray:
    steps, shots = history.steps, history.shots
    return balance_columns(
        times,
        WaterEvents(
            dose_times=shots["day"].to_numpy(float),
            dose_rises=shots["rise"].to_numpy(float),
            rate_starts=steps["start"].to_numpy(float),
            rate_stops=steps["stop"].to_numpy(float),
            rates=steps["rate"].to_numpy(float),
        ),
    ).D


def moments(history: AdditionHistory) -> tuple[float, float]:
    """Total arrived and mean time of arrival, from the rows alone."""
    s, x = history.steps, history.shots
    amount = float((s["rate"] * (s["stop"] - s["start"])).sum() + x["rise"].sum())
    first = float(
        (s["rate"] * (s["stop"] ** 2 - s["start"] ** 2) / 2).sum() + (x["rise"] * x["day"]).sum()
    )
    return amount, first / amount


@quick
@given(
    LAGS,
    st.lists(st.tuples(st.floats(0, 50), st.floats(0.1, 2)), min_size=1, max_size=6),
    st.lists(st.tuples(st.floats(0, 30), st.floats(0.5, 20), st.floats(0.1, 2)), max_size=4),
)
def test_amount_is_kept_and_the_mean_delay_is_right(
    lag: float, shots: list[tuple[float, float]], spans: list[tuple[float, float, float]]
) -> None:
    steps = [(a, a + length, rate) for a, length, rate in spans]
    log = doses(shots, steps, lag=lag)
    amount, mean = moments(log)
    late_amount, late_mean = moments(arriving(log))
    assert late_amount == pytest.approx(amount, rel=1e-9)
    assert late_mean - mean == pytest.approx(lag, abs=1e-6)


@quick
@given(LAGS, st.floats(0.1, 3))
def test_steady_dosing_arrives_as_if_at_once(lag: float, rate: float) -> None:
    log = doses(steps=[(0, 200, rate)], lag=lag)
    start = log.steps["start"].iloc[0]
    times = start + np.array([2 * lag, 2 * lag + 10, 2 * lag + 60])
    rise = np.diff(level(arriving(log), times))
    assert rise == pytest.approx(np.diff(level(doses(steps=[(0, 200, rate)]), times)), rel=1e-9)


@quick
@given(LAGS)
def test_a_long_run_of_doses_in_parts_differs_by_little_from_an_even_spread(lag: float) -> None:
    """The eight parts against the exact even spread: r·L/(4·8²) at most, worked out by hand."""
    log = doses(steps=[(0, 200, 1.0)], lag=lag)
    start = log.steps["start"].iloc[0]
    after = np.linspace(0, 2 * lag, 33)
    exact = after**2 / (4 * lag)
    got = level(arriving(log), start + after)
    assert np.abs(got - exact).max() <= lag / (4 * 8**2) * (1 + 1e-6)


def test_what_has_not_arrived_by_the_last_reading_is_not_counted() -> None:
    late = arriving(doses([(10.0, 1.0)], lag=2.0))
    day = late.steps["start"].iloc[0]
    assert level(late, day + np.array([-1.0, 1.0, 4.0, 9.0])).tolist() == pytest.approx(
        [0, 0.25, 1.0, 1.0]
    )


def test_without_delay_nothing_changes() -> None:
    log = doses([(1.0, 0.5)], [(0, 3, 1.0)])
    assert arriving(log) is log
    empty = AdditionHistory(pd.DataFrame(columns=STEPS), pd.DataFrame(columns=SHOTS), ())
    assert arriving(empty) is empty


def test_lag_days_of_a_supplement_delays_alkalinity_only(tmp_path: Path) -> None:
    tank = make_tank(
        tmp_path,
        additions=[
            dose("2026-02-01T00:00", 60, supplement="slow", end="2026-02-11T00:00"),
            dose("2026-02-12T08:00", 30, supplement="slow", how="once"),
        ],
        supplements=SLOW,
    )
    until = pd.Timestamp("2026-03-01", tz="UTC")
    alkalinity = addition_history(tank, "alkalinity", "dKH", until)
    calcium = addition_history(tank, "calcium", "mg/L", until)
    assert alkalinity.steps["lag_days"].tolist() == [1.5]
    assert alkalinity.shots["lag_days"].tolist() == [1.5]
    assert arriving(calcium) is calcium
    # As given it stays as logged: the standing dose and the mean are what the keeper set.
    start = float(days(pd.Timestamp("2026-02-01", tz="Europe/Berlin").tz_convert("UTC")))
    assert standing_rate(alkalinity, start + 0.1) == pytest.approx(1.0)
    assert mean_dose(alkalinity, start, start + 5) == pytest.approx(1.0)
    events = water_events(tank, arriving(alkalinity), 8.0)
    assert (events.rates.size, events.dose_rises.size) == (9, 0)
    total = float((events.rates * (events.rate_stops - events.rate_starts)).sum())
    assert total == pytest.approx(10 * 1.0 + 0.5)


def test_times_of_day_arrive_once(tmp_path: Path) -> None:
    """Doses at 06:00 and 18:00 stand as shots and as a row that says what is set: counted once."""
    tank = make_tank(
        tmp_path,
        additions=[
            dose("2026-02-01T00:00", 60, supplement="slow", end="2026-02-04T00:00",
                 times="06:00;18:00"),
        ],
        supplements=SLOW,
    )  # fmt: skip
    until = pd.Timestamp("2026-03-01", tz="UTC")
    late = arriving(addition_history(tank, "alkalinity", "dKH", until))
    events = water_events(tank, late, 8.0)
    total = float((events.rates * (events.rate_stops - events.rate_starts)).sum())
    assert total == pytest.approx(3.0)
    assert late.shots.empty
