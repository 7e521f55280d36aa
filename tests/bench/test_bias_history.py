"""A kit's bias by lot and day: against a Kalman filter, closed forms, simulated drift."""

from __future__ import annotations

import math

import numpy as np
import pytest

from reef_calc.bench.bias_history import bias_history, drift_from_lots, next_standard
from reef_calc.bench.standard_readings import Bottle, StandardReadings, standard_readings
from reef_calc.errors import CannotTellError, InputError


def kalman(
    days: list[float], deviations: list[float], *, s: float, B0: float, d: float, u_S: float
) -> tuple[float, float]:
    """One lot, one bottle: bias and its SD at the last day, by states (bias, bottle's error)."""
    m, P, before = np.zeros(2), np.diag([B0**2, u_S**2]), 0.0
    H = np.array([1.0, 1.0])
    for day, z in zip(days, deviations, strict=True):
        P[0, 0] += d**2 * (day - before)
        gain = P @ H / (H @ P @ H + s**2)
        m, P, before = m + gain * (z - H @ m), P - np.outer(gain, H @ P), day
    return float(m[0]), math.sqrt(P[0, 0])


def test_against_a_kalman_filter() -> None:
    days, read = [0.0, 0.0, 28.0, 56.0, 90.0], [8.2, 8.1, 8.3, 8.5, 8.4]
    data = standard_readings(
        days, read, ["L1"] * 5, ["A"] * 5, {"A": Bottle(8.0, 0.05)}, sd=0.15, resolution=0.1
    )
    found = bias_history(data, [("L1", 90.0)], lot_sd=0.3, drift_per_quarter=0.2).bias.iloc[0]
    expected = kalman(
        days, [one - 8.0 for one in read], s=math.sqrt(0.15**2 + 0.01 / 12), B0=0.3,
        d=0.2 / math.sqrt(90.0), u_S=0.05,
    )  # fmt: skip
    assert (found.bias, found.u) == pytest.approx(expected, rel=1e-10)
    assert (found.high - found.low) == pytest.approx(2 * 1.96 * found.u)


def test_lots_share_the_error_of_the_bottle_and_nothing_else() -> None:
    """Flat lots, exact readings: the covariance of two lots read with one bottle is u_S²."""
    data = standard_readings(
        [0.0, 100.0, 100.0], [8.0, 8.0, 8.0], ["L1", "L2", "L3"], ["A", "A", "B"],
        {"A": Bottle(8.0, 0.05), "B": Bottle(8.0, 0.04, "stock", 0.03)}, sd=1e-4,
    )  # fmt: skip
    wanted = [("L1", 0.0), ("L2", 100.0), ("L3", 100.0)]
    covariance = bias_history(data, wanted, lot_sd=50.0, drift_per_quarter=0.0).covariance
    assert covariance[0, 1] == pytest.approx(0.0025, rel=1e-3)
    assert covariance[0, 2] == pytest.approx(0.0, abs=1e-6)
    assert np.sqrt(np.diag(covariance)) == pytest.approx([0.05, 0.05, 0.04], rel=1e-3)


def test_unread_lot_is_known_as_lots_are() -> None:
    data = standard_readings([0.0], [8.4], ["L1"], ["A"], {"A": Bottle(8.0, 0.05)}, sd=0.15,
                             opened={"L2": 50.0})  # fmt: skip
    row = bias_history(data, [("L2", 140.0)], lot_sd=0.3, drift_per_quarter=0.2).bias.iloc[0]
    assert (row.bias, row.u) == pytest.approx((0.0, math.hypot(0.3, 0.2)))


def test_error_of_a_bottle_shows_against_another() -> None:
    """Two lots read alike with A (u 0.2) and with B (exact): the difference is A's error."""
    data = standard_readings(
        [0.0] * 8, [8.3, 8.3, 8.0, 8.0] * 2, ["L1"] * 4 + ["L2"] * 4, ["A", "A", "B", "B"] * 2,
        {"A": Bottle(8.0, 0.2), "B": Bottle(8.0, 0.0)}, sd=0.01,
    )  # fmt: skip
    found = bias_history(data, [("L1", 0.0)], lot_sd=0.3, drift_per_quarter=0.0)
    a, b = found.bottles.itertuples()
    assert a.error == pytest.approx(-0.3, abs=0.005)  # stronger than stated by 0.3
    assert (b.error, b.u) == (0.0, 0.0)
    assert found.bias.bias[0] == pytest.approx(0.0, abs=0.005)


def simulated(drift_per_quarter: float, seed: int, lots: int = 6) -> StandardReadings:
    rng = np.random.default_rng(seed)
    days, read, names = [], [], []
    for lot in range(lots):
        bias = rng.normal(0.0, 0.3)
        for day in np.arange(0.0, 91.0, 15.0):
            days.append(100.0 * lot + day)
            read.append(8.0 + bias + rng.normal(0.0, 0.15))
            names.append(f"L{lot}")
            bias += rng.normal(0.0, drift_per_quarter * math.sqrt(15.0 / 90.0))
    return standard_readings(days, read, names, ["A"] * len(days), {"A": Bottle(8.0, 0.0)}, sd=0.15)


@pytest.mark.parametrize("true", [0.15, 0.45])
def test_drift_is_found_again(true: float) -> None:
    """20 seeded simulations: the interval holds the truth in 16 or more, the median is near it."""
    found = [drift_from_lots(simulated(true, seed), lot_sd=0.3) for seed in range(20)]
    assert sum(one.low <= true <= one.high for one in found) >= 16
    assert np.median([one.per_quarter for one in found]) == pytest.approx(true, rel=0.35)


def test_no_drift_is_not_found() -> None:
    found = drift_from_lots(simulated(0.0, 3), lot_sd=0.3)
    assert found.low < 0.02
    assert found.high < 0.45


def test_coverage_of_the_bias() -> None:
    """300 simulated lots with drift: the 95 % interval at day 90 holds the truth (± 0.025)."""
    rng, hits = np.random.default_rng(11), 0
    days = [0.0, 0.0, 30.0, 60.0]
    for _ in range(300):
        eta, path = rng.normal(0, 0.05), rng.normal(0, 0.3) + np.r_[0.0, 0.0, np.cumsum(
            rng.normal(0, 0.2 * math.sqrt(1 / 3), 3))]  # fmt: skip
        read = 8.0 + eta + path[:4] + rng.normal(0, 0.15, 4)
        data = standard_readings(
            days, list(read), ["L"] * 4, ["A"] * 4, {"A": Bottle(8.0, 0.05)}, sd=0.15
        )
        row = bias_history(data, [("L", 90.0)], lot_sd=0.3, drift_per_quarter=0.2).bias.iloc[0]
        hits += row.low <= path[4] <= row.high
    assert hits / 300 == pytest.approx(0.95, abs=0.03)


def test_when_to_read_next() -> None:
    """(s/d)²: 1 s a quarter every 90 days, 3 s every 10; unknown every 28. COMPUTED by hand."""
    assert next_standard(0.15, 0.045, 0.15).every_days == pytest.approx(90.0)
    assert next_standard(0.15, 0.045, 0.45).every_days == pytest.approx(10.0)
    assert next_standard(0.15, 0.045, None).every_days == 28.0
    assert next_standard(0.15, 0.045, None).most_readings == 11
    assert next_standard(0.15, 0.15, None).most_readings == 1
    assert next_standard(0.15, 0.0, 0.0).sentence.endswith("the lots did not drift.")
    assert "every 10 days" in next_standard(0.15, 0.045, 0.45).sentence


def test_refusals() -> None:
    bottles = {"A": Bottle(8.0, 0.05)}
    one = standard_readings([0.0], [8.1], ["L1"], ["A"], bottles, sd=0.15)
    with pytest.raises(InputError, match="Name the day the lot was opened"):
        bias_history(one, [("L2", 0.0)], lot_sd=0.3, drift_per_quarter=0.0)
    with pytest.raises(InputError, match="a scatter between lots above 0"):
        bias_history(one, [("L1", 0.0)], lot_sd=0.0, drift_per_quarter=0.0)
    with pytest.raises(CannotTellError, match="0 lots were read on two days"):
        drift_from_lots(one, lot_sd=0.3)
    with pytest.raises(InputError, match="a scatter between lots"):
        drift_from_lots(one, lot_sd=-1.0)
    with pytest.raises(InputError, match="after it was opened"):
        standard_readings([0.0], [8.1], ["L1"], ["A"], bottles, sd=0.15, opened={"L1": 3.0})
    with pytest.raises(InputError, match="Fill the empty cells"):
        standard_readings([0.0], [8.1, 8.2], ["L1"], ["A"], bottles, sd=0.15)
    with pytest.raises(InputError, match="Leave empty rows out"):
        standard_readings([0.0], [math.nan], ["L1"], ["A"], bottles, sd=0.15)
    with pytest.raises(InputError, match="Describe this bottle"):
        standard_readings([0.0], [8.1], ["L1"], ["B"], bottles, sd=0.15)
    with pytest.raises(InputError, match="an uncertainty and a drift"):
        next_standard(0.15, 0.05, -1.0)
