"""One lot on standards: bias, scatter, charts, and reasons not to correct; corrections that keep u."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.bench.bias_forms import BiasForm
from reef_calc.bench.corrections import (
    Correction,
    correction_from,
    correction_of,
    keys_of_correction,
)
from reef_calc.bench.kits import Kit
from reef_calc.bench.lot_check import check_lot, level_groups
from reef_calc.bench.toml_reader import Keys
from reef_calc.errors import InputError
from reef_calc.messages import codes

DAY = dt.date(2026, 2, 10)


def kit(sd: float = 0.1, resolution: float = 0.0) -> Kit:
    return Kit("drops", "alkalinity", "meter", "dKH", resolution, sd, 0.0, "typed")


def rows(read: list[float], level: float | list[float] = 8.0, u: float = 0.05) -> pd.DataFrame:
    levels = level if isinstance(level, list) else [level] * len(read)
    return pd.DataFrame(
        {"row": range(2, len(read) + 2), "standard": [f"at {one}" for one in levels], "read": read,
         "level": levels, "level_u": u}
    )  # fmt: skip


def test_one_level_by_hand() -> None:
    """Mean 8.433 of 8.0 ± 0.05, s 0.1: u = √(0.1²/3 + 0.05²) = 0.0764. COMPUTED."""
    found = check_lot(kit(), "A", rows([8.4, 8.5, 8.4]))
    assert found.bias is not None
    assert found.bias.difference == pytest.approx(0.4333, abs=1e-4)
    assert found.bias.u == pytest.approx(math.hypot(0.1 / math.sqrt(3), 0.05))
    assert (found.sd, found.sd_df, found.cautions) == (0.1, 20.0, ())


def test_a_biased_lot_of_few_readings_is_not_called_moving() -> None:
    found = check_lot(kit(), "A", rows([8.6, 8.7, 8.6, 8.7]))
    assert found.charts[0].on_standard
    assert not found.charts[0].chart.in_control  # steadily off the standard
    assert found.charts[0].holds_still
    assert "NOT_STILL" not in codes(found.cautions)
    assert "Too few readings (4)" in found.charts[0].limits


@pytest.mark.parametrize("n", [5, 19, 20, 40])
def test_limits_say_where_they_come_from(n: int) -> None:
    read = (8.0 + 0.1 * np.sin(7.0 * np.arange(n))).tolist()
    limits = check_lot(kit(), "A", rows(read)).charts[0].limits
    assert ("come from these" in limits) is (n >= 20)
    assert ("the kit's repeatability, as typed" in limits) is (n < 20)
    usual = Kit("drops", "alkalinity", "meter", "dKH")
    if n < 20:
        assert "common practice" in check_lot(usual, "A", rows(read)).charts[0].limits


@pytest.mark.parametrize("n", [1, 5, 25])
def test_equal_readings_are_no_error(n: int) -> None:
    found = check_lot(kit(), "A", rows([8.5] * n))
    assert found.bias is not None
    assert found.bias.difference == pytest.approx(0.5)
    assert found.charts[0].chart.sd == pytest.approx(0.1)
    assert ("ONE_READING" in codes(found.cautions)) is (n == 1)


def test_more_scatter_than_written_widens_the_interval() -> None:
    quiet = check_lot(kit(), "A", rows([8.3, 8.4, 8.5, 8.4]))
    wild = check_lot(kit(), "A", rows([7.9, 8.9, 7.8, 9.0]))
    assert "SCATTER" in codes(wild.cautions)
    assert quiet.bias is not None and wild.bias is not None
    assert wild.sd == pytest.approx(float(np.std([7.9, 8.9, 7.8, 9.0], ddof=1)))
    assert wild.bias.forms[0].t > 2.9  # three degrees of freedom
    assert not wild.bias.enough_to_correct


def test_the_scatter_alarm_is_rarely_false() -> None:
    """One in a hundred by construction; 300 simulated lots, and the kit's s itself is exact here."""
    rng = np.random.default_rng(3)
    alarms = sum(
        "SCATTER" in codes(check_lot(kit(), "A", rows(rng.normal(8.0, 0.1, 6).tolist())).cautions)
        for _ in range(300)
    )
    assert alarms / 300 < 0.025


def test_a_reading_far_from_its_fellows_is_named_and_kept() -> None:
    found = check_lot(kit(), "A", rows([8.0, 8.1, 8.0, 9.2]))
    far = next(one.text for one in found.cautions if one.code == "FAR")
    assert far.startswith("Row 5 ")
    assert len(found.rows) == 4
    drifting = check_lot(kit(), "A", rows([8.0 + 0.1 * i for i in range(25)]))
    assert "FAR" not in codes(drifting.cautions)
    assert "NOT_STILL" in codes(drifting.cautions)


def test_two_levels_with_one_far_off() -> None:
    found = check_lot(kit(), "A", rows([8.0, 8.1, 12.0, 18.0], [8.0, 8.0, 12.0, 12.0]))
    assert {"FAR", "SCATTER"} <= set(codes(found.cautions))
    assert found.bias is None or not found.bias.enough_to_correct
    bottle = check_lot(kit(), "A", rows([8.0, 8.1, 16.0, 16.1], [8.0, 8.0, 12.0, 12.0]))
    assert "ODD_SLOPE" in codes(bottle.cautions)
    assert len(bottle.charts) == 2


def test_swapped_bottles_are_refused_in_words() -> None:
    found = check_lot(kit(), "A", rows([12.0, 8.0], [8.0, 12.0]))
    assert found.bias is None
    assert "swapped" in found.refusal


def test_nothing_to_go_by() -> None:
    empty = check_lot(kit(), "A", rows([]))
    assert (empty.bias, empty.charts) == (None, ())
    assert empty.refusal
    with pytest.raises(InputError, match="element and unit"):
        check_lot(Kit("lab", "", "laboratory report", ""), "A", rows([8.0]))
    unwritten = check_lot(kit(), "A", rows([8.5, 8.5], u=math.nan))
    assert "NO_U" in codes(unwritten.cautions)


def test_level_groups() -> None:
    assert level_groups(np.array([8.0, 0.0, 8.3, 12.0, 0.0])).tolist() == [1, 0, 1, 2, 0]
    assert level_groups(np.array([0.0])).tolist() == [0]


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    st.floats(-1.0, 1.0), st.floats(0.8, 1.2), st.floats(0.01, 0.5), st.floats(0.001, 0.05),
    st.floats(-0.99, 0.99), st.floats(1.96, 4.0), st.floats(0.0, 20.0),
)  # fmt: skip
def test_a_line_keeps_its_whole_uncertainty(
    a: float, b: float, u_a: float, u_b: float, r: float, t: float, read: float
) -> None:
    """The stored u, u_slope and centre give back √((1, x) C (1, x)ᵀ)·t/1.96 at every level."""
    covariance = np.array([[u_a**2, r * u_a * u_b], [r * u_a * u_b, u_b**2]])
    form = BiasForm("line", a, b, covariance, t)
    stored = correction_of(form, DAY, "A", "two")
    assert stored.apply(read) == pytest.approx(form.corrected(read))
    assert stored.uncertainty(read) == pytest.approx(
        form.u(read) * t / 1.959964, rel=1e-6, abs=1e-9
    )
    back = correction_from(Keys(keys_of_correction(stored), "kit"))
    assert back.uncertainty(read) == pytest.approx(stored.uncertainty(read), rel=1e-3, abs=1e-4)


@pytest.mark.parametrize("form", ["factor", "offset"])
def test_factor_and_offset_come_back(form: str) -> None:
    found = check_lot(kit(), "A", rows([8.4, 8.5, 8.4]))
    assert found.bias is not None
    mine = next(one for one in found.bias.forms if one.form == form)
    back = correction_from(Keys(keys_of_correction(correction_of(mine, DAY, "", "x")), "kit"))
    assert back.form == form
    assert back.apply(8.2) == pytest.approx(mine.corrected(8.2), rel=1e-5)
    assert 1.96 * back.uncertainty(8.2) == pytest.approx(mine.t * mine.u(8.2), rel=1e-4)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"factor": 1.0, "u": 0.1, "u_slope": 0.1, "centre": 8.0}, "beside a line"),
        ({"line": [0.0, 1.0], "u": 0.1, "u_slope": 0.1}, "all three"),
        ({"line": [0.0, 1.0], "u_slope": 0.1, "centre": 8.0}, "all three"),
        ({"line": [0.0, 1.0], "u": 0.1, "u_slope": -0.1, "centre": 8.0}, "0 or more"),
    ],
)
def test_a_half_written_line_is_refused(keys: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        correction_from(Keys({"from": DAY} | keys, "kit"))


def test_a_line_of_before_keeps_its_one_u() -> None:
    old = correction_from(Keys({"from": DAY, "line": [0.1, 0.98], "u": 0.05}, "kit"))
    assert [old.uncertainty(level) for level in (0.0, 8.0)] == [0.05, 0.05]
    with pytest.raises(InputError, match="above 0"):
        keys_of_correction(Correction(DAY, "", 0.0, -1.0, 0.1, "", "factor"))
