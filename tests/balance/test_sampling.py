"""How often to test: worked figures, a dense fit beside the design, and sensible calendars.

Worked figures: own examples, COMPUTED on an independent prototype.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import t as student

from reef_calc.balance import sampling_rules
from reef_calc.balance.reading_calendar import proposed_times, reading_calendar
from reef_calc.balance.sampling import (
    WaterChangeHabit,
    design_half_widths,
    invisible_age,
    readings_to_reach,
)
from reef_calc.balance.sampling_outlook import PlannedElement, outlook
from reef_calc.balance.steady_use import steady_use
from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.errors import CannotTellError, InputError

from .histories import base

CALCIUM = PlannedElement("calcium", "mg/L", np.arange(0.0, 29.0, 7.0), 7.0, 7.0, 5.0)


@pytest.mark.parametrize(
    ("rate", "sd", "resolution", "days", "readings"),
    [
        (0.7, 0.2, 0.1, 18, 6),
        (5.0, 10.0, 5.0, 46, 14),
        (0.7, 20.0, 10.0, 406, 117),
        (0.5, 10.0, 5.0, 263, 76),
    ],
    ids=["alkalinity", "calcium", "magnesium", "potassium"],
)
def test_days_and_readings_to_ten_per_cent(
    rate: float, sd: float, resolution: float, days: float, readings: int
) -> None:
    span, number = readings_to_reach(rate, sd, resolution)
    assert (np.ceil(span), number) == (days, readings)


def test_even_readings_against_plain_least_squares() -> None:
    n, span = 9, 28.0
    x = np.column_stack([np.ones(n), np.linspace(0, span, n)])
    error = np.hypot(0.15, 0.1 / np.sqrt(12))
    slope = student.ppf(0.975, n - 2) * error * np.sqrt(np.linalg.inv(x.T @ x)[1, 1])
    assert sampling_rules.even_half_width(n, span, 0.15, 0.1) == pytest.approx(slope)
    quiet = design_half_widths(np.linspace(0, span, n), 1.0, 0.15, 0.1, day_to_day=0.0)
    assert quiet[-1] == pytest.approx(slope)
    assert np.all(np.isinf(quiet[:2]))


def test_every_part_of_a_design_against_dense_least_squares() -> None:
    random = np.random.default_rng(5)
    times = np.sort(random.uniform(0, 50, 12))
    habit = WaterChangeHabit(0.2, 7.0, 100.0)
    noise = random.uniform(0.5, 2.0, 12)
    found = design_half_widths(times, 5.0, 10.0, 5.0, habit, noise=noise)
    c = balance_columns(times, habit.events(times[0], times[-1]))
    i, j = np.indices((12, 12))
    first, last = np.minimum(i, j), np.maximum(i, j)
    s2 = 100 + 25 / 12
    V = s2 * np.diag(noise) + 0.25 * c.P[first] * c.G[last] / c.G[first]
    X = np.column_stack([c.G, -c.H])
    for n in (3, 7, 12):
        cov = np.linalg.inv(X[:n].T @ np.linalg.solve(V[:n, :n], X[:n]))
        expected = student.ppf(0.975, n - 2) * np.sqrt(cov[1, 1])
        assert found[n - 1] == pytest.approx(expected, rel=1e-9)


def test_rules() -> None:
    n = sampling_rules.readings_rule(7.0, 60.0, 7.0, 5.0)
    assert n * 60.0**2 == pytest.approx(12 * (2 * np.hypot(7, 5 / np.sqrt(12)) / 0.7) ** 2)
    assert sampling_rules.least_span(0.10, 0.10) == pytest.approx(1.96**2)
    assert sampling_rules.replicates_help(0.05, 0.1)
    assert not sampling_rules.replicates_help(0.03, 0.1)
    with pytest.raises(InputError):
        sampling_rules.even_half_width(2, 28.0, 0.15)
    with pytest.raises(InputError):
        sampling_rules.readings_rule(0.0, 28.0, 7.0)


def test_refusals() -> None:
    with pytest.raises(CannotTellError, match="finer kit"):
        readings_to_reach(0.01, 20.0, most=50)
    with pytest.raises(InputError, match="fraction"):
        WaterChangeHabit(1.0)
    with pytest.raises(InputError, match="SD above 0"):
        design_half_widths([0, 1, 2], 1.0, 0.0)
    with pytest.raises(InputError, match="after the last"):
        outlook(CALCIUM, [20.0])
    with pytest.raises(InputError, match="readings"):
        proposed_times(CALCIUM, 28.0, 40)
    with pytest.raises(InputError, match="start from the last"):
        proposed_times(CALCIUM, 20.0, 2)
    with pytest.raises(InputError, match="not 0"):
        PlannedElement("calcium", "mg/L", [], 0.0, 7.0)
    with pytest.raises(InputError, match="do not decrease"):
        PlannedElement("calcium", "mg/L", [2.0, 1.0], 1.0, 7.0)


def test_outlook_orders_what_helps() -> None:
    found = outlook(CALCIUM, [35.0, 42.0, 49.0, 56.0], WaterChangeHabit(0.1, 7.0, 3.5))
    assert found.after < found.now
    for better in (found.one_more, found.finer_kit, found.longer_span):
        assert better < found.after
    assert 28 < found.one_more_at <= 56
    fresh = outlook(PlannedElement("calcium", "mg/L", [], 7.0, 7.0, 5.0), [0.0, 7.0])
    assert fresh.now == np.inf
    assert "too few" in fresh.text
    two = outlook(PlannedElement("calcium", "mg/L", [0.0], 7.0, 7.0), [7.0, 14.0])
    assert two.text.startswith("After the 2 planned readings")


def test_calendar_spreads_readings_over_the_month() -> None:
    times = proposed_times(CALCIUM, 28.0, 4, WaterChangeHabit(0.1, 7.0, 3.5))
    assert np.all(np.diff(times) >= 2)
    assert times[0] > 28
    assert times[-1] <= 56
    magnesium = PlannedElement("magnesium", "mg/L", CALCIUM.times, 0.7, 20.0, 10.0)
    slow, fast = (proposed_times(e, 28.0, 1)[0] for e in (magnesium, CALCIUM))
    assert 33 <= slow <= 52
    assert 33 <= fast <= 52
    table = reading_calendar([CALCIUM, magnesium], 28.0, [4, 2])
    assert table["time"].is_monotonic_increasing
    assert table.groupby("element").size().to_dict() == {"calcium": 4, "magnesium": 2}
    assert proposed_times(PlannedElement("iron", "mg/L", [], 1.0, 0.1), 0.0, 28).size == 28


def test_invisible_age_with_a_plain_estimator() -> None:
    times, _, events = base()

    def drop(t: np.ndarray, y: np.ndarray) -> float:
        """Sees a change once the last two readings leave the line of the earlier ones."""
        fit = steady_use(t[:-2], y[:-2], events, sd=0.15, resolution=0.1)
        c = balance_columns(t, events)
        expected = fit.factors[0, 0] * c.G + c.D - fit.factors[0, 1] * c.H
        return float(expected[-1] - y[-1] > 0.6)

    assert invisible_age(times, 1.0, events, drop, start=8.0) == 3
    assert invisible_age(times, 1.0, events, lambda t, y: 0.0, start=8.0) is None
    short = invisible_age([0.0, 1.0, 2.5], 1.0, WaterEvents(), lambda t, y: 0.9, start=8.0)
    assert short == 1
    seen: list[float] = []

    def keep(t: np.ndarray, y: np.ndarray) -> float:
        seen.append(float(y[-1]))
        return 0.0

    invisible_age(np.arange(0.0, 61.0, 2.0), 1.0, WaterEvents(), keep, start=100.0)
    assert seen == pytest.approx([40 - 0.25 * age for age in (1, 2, 3, 5, 8, 13, 21, 34)])
