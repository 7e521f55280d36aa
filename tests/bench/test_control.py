"""Control charts: published worked examples, a second computation, each rule, properties."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.bench.control import RANGE_LIMIT, RANGE_OVER_SD, individuals_chart
from reef_calc.bench.cumulative_sum import cumulative_sum, readings_until_alarm
from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import codes
from tests.trust import record_check

MONTGOMERY = "Montgomery, Introduction to Statistical Quality Control, {}, from memory"
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
SHIFTED = [
    9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.20, 10.34, 9.03, 11.47, 10.51, 9.40,
    10.08, 9.37, 10.62, 10.31, 8.52, 10.84, 10.90, 9.33, 12.29, 11.50, 10.60, 11.08, 10.38, 11.62,
    11.31, 10.52,
]  # fmt: skip


def test_individuals_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.2, flow rate: 50.81, 45.8159 to 55.8041. MEMORY.

    There 1.128 stands for 2/√π, hence the tolerance.
    """
    chart = individuals_chart(FLOW, unit="L/min")
    got = (chart.centre, *chart.action, float(chart.points.range.mean()))
    assert got == pytest.approx((50.81, 45.8159, 55.8041, 1.8778), abs=0.002)
    record_check(
        "Individuals", "control charts: flow rate: centre, limits, mean range",
        (50.81, 45.8159, 55.8041, 1.8778), got,
        "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, from memory", "MEMORY",
    )  # fmt: skip
    assert chart.in_control


def test_constants_of_the_tables() -> None:
    """d2 = 1.128 and D4 = 3.267 for ranges of two. MEMORY."""
    got = (RANGE_OVER_SD, RANGE_LIMIT)
    assert got == pytest.approx((1.128, 3.267), abs=1e-3)
    record_check("Constants of ranges", "control charts: d2 and D4 for two readings",
                 (1.128, 3.267), got, MONTGOMERY.format("Appendix VI"),
                 "MEMORY")  # fmt: skip
    # The same by simulation, and the noted roughness of the scatter, 0.91/√n.
    x = np.random.default_rng(1).normal(size=(20000, 20))
    found = np.abs(np.diff(x, axis=1)).mean(axis=1) / RANGE_OVER_SD
    assert found.mean() == pytest.approx(1.0, abs=0.01)
    assert found.std() == pytest.approx(0.91 / math.sqrt(20), rel=0.05)


def test_cumulative_sum_of_the_textbook() -> None:
    """Montgomery's example (k 0.5, h 5): 5.28 at reading 29, in its seventh. MEMORY."""
    found = cumulative_sum(SHIFTED, 10.0, 1.0, unit="units")
    got = (found.points.upper[28], found.points.upper[29])
    assert got == pytest.approx((5.28, 5.30), abs=1e-9)
    assert (found.first_signal, found.began) == (28, 22)
    assert found.shift == pytest.approx(0.5 + 5.28 / 7)
    record_check("Cumulative sum", "control charts: upper sum at readings 29 and 30",
                 (5.28, 5.30), got, MONTGOMERY.format("cumulative sum example"), "MEMORY")  # fmt: skip
    # The individuals chart does not see it: that is what the sum is for.
    z = (np.array(SHIFTED) - 10.0) / 1.0
    assert (np.abs(z) < 3).all()


def test_run_lengths_of_the_table() -> None:
    """Mean readings until an alarm, k 0.5, two sides, h 4 and 5. MEMORY (Lucas and Crosier)."""
    table = {
        0.0: (168.0, 465.0), 0.25: (74.2, 139.0), 0.5: (26.6, 38.0), 0.75: (13.3, 17.0),
        1.0: (8.38, 10.4), 1.5: (4.75, 5.75), 2.0: (3.34, 4.01), 3.0: (2.19, 2.57),
    }  # fmt: skip
    for shift, printed in table.items():
        got = tuple(readings_until_alarm(shift, decision=h) for h in (4.0, 5.0))
        assert got == pytest.approx(printed, rel=0.005)
        record_check(f"Run length {shift:.2f}", f"control charts: run length at {shift:g} s",
                     printed, got, MONTGOMERY.format("table of run lengths"), "MEMORY")  # fmt: skip


def test_run_length_by_simulation() -> None:
    """A plain numpy race of 2000 runs at a shift of 0.75 s."""
    z = np.random.default_rng(5).normal(0.75, 1.0, size=(2000, 200))
    upper, lower, length = np.zeros(2000), np.zeros(2000), np.full(2000, 200)
    for i in range(200):
        upper = np.maximum(0.0, upper + z[:, i] - 0.5)
        lower = np.maximum(0.0, lower - z[:, i] - 0.5)
        length = np.where(((upper > 5) | (lower > 5)) & (length == 200), i + 1, length)
    assert length.mean() == pytest.approx(readings_until_alarm(0.75), rel=0.04)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.lists(st.integers(-40, 40), min_size=6, max_size=30), st.floats(0.5, 20.0))
def test_chart_follows_scale_and_side(steps: list[int], scale: float) -> None:
    read = 8.0 + 0.1 * np.array(steps)
    arguments = {"unit": "dKH", "centre": 8.0123, "sd": 0.97}
    chart = individuals_chart(list(read), **arguments)
    mirrored = individuals_chart(list(2 * 8.0123 - read), **arguments)
    scaled = individuals_chart(
        list(scale * read), unit="mg/L", centre=scale * 8.0123, sd=scale * 0.97
    )
    assert chart.points.broken.tolist() == mirrored.points.broken.tolist()
    assert chart.points.broken.tolist() == scaled.points.broken.tolist()
    # A second computation of two rules.
    z = (read - 8.0123) / 0.97
    beyond = [i for i, rules in enumerate(chart.points.broken) if "beyond action" in rules]
    assert beyond == list(np.flatnonzero(np.abs(z) > 3))
    nine = [i for i, rules in enumerate(chart.points.broken) if "nine on one side" in rules]
    assert nine == [i for i in range(8, len(z)) if abs(np.sign(z[i - 8 : i + 1]).sum()) == 9]


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.lists(st.floats(-3.0, 3.0), min_size=1, max_size=30))
def test_sum_is_the_highest_climb(z: list[float]) -> None:
    """U_n = max over starts of Σ(z − k), never below 0: a form without the recursion."""
    found = cumulative_sum(z, 0.0, 1.0, unit="s", decision=1e9).points
    climb = np.concatenate([[0.0], np.cumsum(np.array(z) - 0.5)])
    fall = np.concatenate([[0.0], np.cumsum(-np.array(z) - 0.5)])
    for i in range(len(z)):
        assert found.upper[i] == pytest.approx(climb[i + 1] - climb[: i + 2].min(), abs=1e-9)
        assert found.lower[i] == pytest.approx(fall[i + 1] - fall[: i + 2].min(), abs=1e-9)


@pytest.mark.parametrize(
    ("z", "rule", "row"),
    [
        ([0.5, -0.5, 3.1], "beyond action", 2),
        ([1.9, -1.9], "range", 1),
        ([2.1, 0.5, 2.1], "two of three", 2),
        ([0.5, 0.4] * 4 + [0.5], "nine on one side", 8),
        ([-0.9, -0.6, -0.3, 0.1, 0.4, 0.7], "six rising or falling", 5),
    ],
)  # fmt: skip
def test_each_rule(z: list[float], rule: str, row: int) -> None:
    chart = individuals_chart(z, unit="s", centre=0.0, sd=1.0)
    assert [rules != "" for rules in chart.points.broken] == [i == row for i in range(len(z))]
    assert chart.points.broken[row] == rule
    assert rule.upper().replace(" ", "_") in codes(chart.messages)
    short = individuals_chart(z[:-1], unit="s", centre=0.0, sd=1.0)
    assert short.in_control
    assert codes(short.messages)[-1] == "IN_CONTROL"


def test_equal_readings_need_the_step_of_the_kit() -> None:
    with pytest.raises(InputError, match="Give the kit's resolution"):
        individuals_chart([8.0] * 6, unit="dKH")
    chart = individuals_chart([8.0] * 6, unit="dKH", resolution=0.1)
    assert chart.sd == pytest.approx(0.1 / math.sqrt(12))
    assert codes(chart.messages)[:2] == ("COARSE", "FEW")


def test_slow_drift_downwards_is_told() -> None:
    read = [8.0 - 0.03 * i for i in range(15)]
    found = cumulative_sum(read, 8.0, 0.15, unit="dKH")
    assert found.shift is not None
    assert found.shift < 0
    assert found.messages[0].text.startswith("The readings have been low by about")
    quiet = cumulative_sum(read[:4], 8.0, 0.15, unit="dKH")
    assert codes(quiet.messages) == ("NO_DRIFT",)


def test_refusals() -> None:
    with pytest.raises(CannotTellError, match="Limits cannot be set from 2 readings"):
        individuals_chart([8.0, 8.1], unit="dKH")
    with pytest.raises(InputError, match="without gaps"):
        individuals_chart([8.0, math.nan], unit="dKH")
    with pytest.raises(InputError, match="a resolution of 0 or more"):
        individuals_chart([8.0, 8.1], unit="dKH", resolution=-1.0)
    with pytest.raises(InputError, match="a centre line"):
        individuals_chart([8.0, 8.1], unit="dKH", centre=math.nan, sd=0.1)
    with pytest.raises(InputError, match="without gaps"):
        cumulative_sum([], 8.0, 0.1, unit="dKH")
    with pytest.raises(InputError, match="a target"):
        cumulative_sum([8.0], 8.0, 0.0, unit="dKH")
    with pytest.raises(InputError, match="a shift"):
        readings_until_alarm(math.nan)
