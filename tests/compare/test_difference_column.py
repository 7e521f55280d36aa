"""The difference of two kits as a column of the balance: known answers, another library, invariants."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.balance.mixture_priors import Priors
from reef_calc.balance.steady_use import KnownColumn, steady_use
from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.compare.difference_column import KitDifference, kit_difference
from reef_calc.compare.difference_mixture import difference_with_events
from reef_calc.compare.kit_columns import kit_column, new_water_response
from reef_calc.compare.proportional_part import proportional_part
from reef_calc.compare.worth_in_pairs import (
    days_in_reach,
    half_after_pairs,
    worth_of_reading,
)
from reef_calc.errors import CannotTellError, InputError

CHANGES = np.arange(3.5, 60, 7.0)
LOG = WaterEvents(
    rate_starts=[0.0], rate_stops=[60.0], rates=[1.0], change_times=CHANGES,
    change_fractions=np.full(9, 0.1), change_levels=np.full(9, 8.0),
)  # fmt: skip
_TIMES = np.r_[np.arange(0.0, 61.0, 2.0), 5.0, 15.0, 25.0, 35.0, 45.0]
_ORDER = np.argsort(_TIMES, kind="stable")
TIMES = _TIMES[_ORDER]
OF_B = np.r_[np.zeros(31, bool), np.ones(5, bool)][_ORDER]
BALANCE = balance_columns(TIMES, LOG)
LEVELS = 8.0 * BALANCE.G + BALANCE.D - BALANCE.H + 0.5 * OF_B
SCATTER = np.resize([0.10, -0.05, 0.0, -0.10, 0.05, 0.0, 0.15, -0.15], 36)
S0 = math.hypot(0.15, 0.1 / math.sqrt(12))
FLAT = (0.0, math.inf)
CALM = Priors(
    gross_share=0.0, change_per_day=0.0, dose_per_day=0.0, lot_per_day=0.0, drift=(0.0,),
    drift_weights=(1.0,),
)  # fmt: skip


def fitted(levels: np.ndarray = LEVELS, single: bool = True, **given: Any) -> KitDifference:
    if single:
        given = {"day_to_day": (0.10,), "weights": (1.0,)} | given
    options = {"sd_a": S0, "expected": FLAT, "rate_scale": 1.0} | given
    return kit_difference(TIMES, levels, OF_B, LOG, **options)


def test_one_variation_and_no_expectation() -> None:
    """Own calculation of the same case, done twice."""
    clean, rough = fitted(), fitted(LEVELS + SCATTER)
    assert clean.difference == pytest.approx(0.5, abs=1e-9)
    assert clean.use == pytest.approx(1.0, abs=1e-9)
    assert clean.degrees_of_freedom == 53
    assert clean.scale == pytest.approx(0.0517177, abs=1e-6)
    assert (clean.low, clean.high) == pytest.approx((0.396268, 0.603733), abs=1e-6)
    assert (clean.use_low, clean.use_high) == pytest.approx((0.983686, 1.016314), abs=1e-6)
    assert rough.difference == pytest.approx(0.390189, abs=1e-6)
    assert (rough.low, rough.high) == pytest.approx((0.266722, 0.513656), abs=1e-6)
    assert rough.scale == pytest.approx(0.0615567, abs=1e-6)
    assert (rough.use, rough.use_low, rough.use_high) == pytest.approx(
        (1.001861, 0.982443, 1.021279), abs=1e-6
    )


def test_all_variations_with_their_weights() -> None:
    clean, rough = fitted(single=False), fitted(LEVELS + SCATTER, single=False)
    assert (clean.low, clean.high) == pytest.approx((0.408713, 0.591287), abs=1e-5)
    assert (clean.use_low, clean.use_high) == pytest.approx((0.997120, 1.002880), abs=1e-5)
    assert clean.weights[:3] == pytest.approx((0.843420, 0.148695, 0.007820), abs=1e-5)
    assert (rough.difference, rough.low, rough.high) == pytest.approx(
        (0.405267, 0.290958, 0.519446), abs=1e-5
    )
    assert (rough.use, rough.use_low, rough.use_high) == pytest.approx(
        (1.000398, 0.996327, 1.005278), abs=1e-5
    )


def test_an_expectation_pulls_and_takes_no_degree_of_freedom() -> None:
    clean = fitted(expected=(0.3, 0.1))
    rough = fitted(LEVELS + SCATTER, expected=(0.3, 0.1))
    assert clean.degrees_of_freedom == 54
    assert (clean.difference, clean.scale) == pytest.approx((0.417041, 0.0414256), abs=1e-6)
    assert clean.use == pytest.approx(0.9999017, abs=1e-6)
    assert (rough.difference, rough.scale) == pytest.approx((0.352779, 0.0470423), abs=1e-6)
    assert rough.use == pytest.approx(1.0018168, abs=1e-6)


def test_generalised_least_squares_of_a_general_library() -> None:
    """Statsmodels' GLS with the whole covariance matrix gives the same factors and residuals."""
    y = LEVELS + SCATTER
    first = np.minimum.outer(np.arange(36), np.arange(36))
    last = np.maximum.outer(np.arange(36), np.arange(36))
    walk = BALANCE.P[first] * BALANCE.G[last] / BALANCE.G[first]
    V = S0**2 * np.eye(36) + 0.10**2 * walk
    X = np.column_stack([BALANCE.G, -BALANCE.H, OF_B.astype(float)])
    outside = sm.GLS(y - BALANCE.D, X, sigma=V).fit()
    own = fitted(y)
    assert (own.use, own.difference) == pytest.approx(outside.params[1:], abs=1e-9)
    # Its σ² has no prior; with ours in the same place the scale is the same.
    ours = (20.0 + outside.scale * 33) / 53
    assert own.scale == pytest.approx(outside.bse[2] * math.sqrt(ours / outside.scale), rel=1e-9)


def test_the_steady_fit_with_the_same_column_is_the_same() -> None:
    y = LEVELS + SCATTER
    column = KnownColumn("kit", OF_B.astype(float), 0.0, 0.7)
    other = steady_use(TIMES, y, LOG, sd=0.15, resolution=0.1, columns=[column], rate_scale=1.0)
    own = fitted(y, single=False, expected=(0.0, 0.7))
    assert (own.difference, own.low, own.high) == pytest.approx(other.factor("kit"), abs=1e-9)


def test_the_mixture_without_events_is_the_single_fit() -> None:
    y = LEVELS + SCATTER
    many, _ = difference_with_events(TIMES, y, OF_B, LOG, sd_a=S0, prior=CALM, rate_scale=1.0)
    own = fitted(y, single=False, expected=(0.0, 10 * S0))
    assert (many.difference, many.low, many.high) == pytest.approx(
        (own.difference, own.low, own.high), abs=1e-4
    )
    assert many.worth == pytest.approx(own.worth, rel=0.02)


def test_level_on_the_scale_of_the_first_kit() -> None:
    assert fitted().level == pytest.approx(LEVELS - 0.5 * OF_B, abs=1e-9)


def test_new_water_read_with_the_kit_makes_its_column_that_of_a_lost_dose() -> None:
    """Where the new water is read with the kit in use, only an overlap tells the two apart."""
    times = np.arange(30.0, 61.0, 2.0)
    balance = balance_columns(np.r_[0.0, times], LOG)
    later = new_water_response(balance, LOG, CHANGES > 30.0)[1:]
    faded = balance.G[1:] / balance.G[1]
    assert np.abs(1.0 - later - faded).max() < 1e-12
    assert faded[-1] == pytest.approx(0.59049, abs=1e-12)


def test_new_water_read_with_the_second_kit_is_allowed_for() -> None:
    with_b = CHANGES > 30.0
    log = WaterEvents(
        rate_starts=[0.0], rate_stops=[60.0], rates=[1.0], change_times=CHANGES,
        change_fractions=np.full(9, 0.1), change_levels=8.0 + 0.5 * with_b,
    )  # fmt: skip
    right = kit_difference(TIMES, LEVELS, OF_B, log, sd_a=S0, new_water_with_b=with_b)
    wrong = kit_difference(TIMES, LEVELS, OF_B, log, sd_a=S0)
    assert (right.difference, right.use) == pytest.approx((0.5, 1.0), abs=2e-3)
    assert abs(wrong.use - 1.0) > 3 * abs(right.use - 1.0)
    x = kit_column(OF_B, balance_columns(TIMES, log), log, with_b)
    assert x[OF_B][0] == 1.0
    assert x[~OF_B].min() < -0.3


def test_worth_of_one_reading() -> None:
    """Own calculation: steady state of the filter of a random walk with noise."""
    got = worth_of_reading([0.01, 0.1, 0.3, 1.0, 3.0, 10.0])
    assert got == pytest.approx(
        [1.904649, 1.724022, 1.557699, 1.282860, 0.932121, 0.505301], abs=1e-6
    )
    assert worth_of_reading(0.0) == pytest.approx(2.0)
    with pytest.raises(InputError, match="ratios from 0"):
        worth_of_reading([-0.1])


def test_worth_of_five_readings_in_a_fit() -> None:
    """Five readings between others two days apart, walk 0.1 a day: between 6 and 7 pairs."""
    assert 6.0 < fitted().worth < 7.0
    # How well the stated SD fits moves the interval, but not what a pair would have brought.
    assert fitted(LEVELS + 3 * SCATTER).worth == pytest.approx(fitted().worth)


def test_closed_form_with_the_use_known() -> None:
    """One reading of B midway between two of A: var = sB² + sA²/2 + (cv·k)²·Δ/4."""
    log = WaterEvents()
    t, b = [0.0, 2.0, 4.0], [False, True, False]
    found = kit_difference(
        t, [8.0, 8.3, 8.0], b, log, sd_a=0.2, sd_b=0.1, expected=FLAT, day_to_day=(0.1,),
        weights=(1.0,), rate_scale=1.0, sd_worth=1e9,
    )  # fmt: skip
    # A use that is not known adds nothing here: the two readings of A lie symmetrically.
    assert found.scale**2 == pytest.approx(0.1**2 + 0.2**2 / 2 + 0.01 * 4 / 4, rel=1e-6)


def test_reach_and_further_pairs() -> None:
    assert days_in_reach(0.15, 0.1) == pytest.approx(22.5)
    assert math.isinf(days_in_reach(0.15, 0.0))
    # Precisions add: 1/0.2² and four pairs of variance 0.08 each.
    n = 0.08 / 0.2**2
    assert half_after_pairs(0.2, n, 4) == pytest.approx(1 / math.sqrt(1 / 0.2**2 + 4 / 0.08))


def test_a_slip_counts_hardly_in_the_mixture() -> None:
    y = LEVELS + SCATTER
    y[OF_B.argmax()] += 2.0
    many, now = difference_with_events(TIMES, y, OF_B, LOG, sd_a=S0)
    one = fitted(y, single=False, expected=(0.0, 10 * S0), rate_scale=None)
    assert now.p_gross[OF_B.argmax()] > 0.9
    assert abs(many.difference - 0.4) < 0.1 < abs(one.difference - 0.4)


def test_a_step_between_kits_does_not_pass_for_use() -> None:
    """B takes over with a difference of twenty SDs: the scale of the use stays."""
    t = np.arange(0.0, 60.0, 2.0)
    b = t > 29
    balance = balance_columns(t, LOG)
    y = 8.0 * balance.G + balance.D - balance.H + 3.0 * b
    found, _ = difference_with_events(t, y, b, LOG, sd_a=S0, expected=(0.0, 3.0))
    assert found.rate_scale == pytest.approx(1.0, abs=0.02)
    assert found.difference == pytest.approx(3.0, abs=0.1)


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10_000), factor=st.floats(0.05, 50.0))
def test_swapped_kits_and_other_units(seed: int, factor: float) -> None:
    rng = np.random.default_rng(seed)
    y = LEVELS + 0.15 * rng.normal(size=36)
    own = fitted(y, single=False)
    # The new water stays on the scale it was read on, which is now that of the second kit.
    swapped = kit_difference(
        TIMES, y, ~OF_B, LOG, sd_a=S0, expected=FLAT, rate_scale=1.0,
        new_water_with_b=np.ones(9, bool),
    )  # fmt: skip
    assert swapped.difference == pytest.approx(-own.difference, abs=1e-9)
    assert (swapped.low, swapped.high) == pytest.approx((-own.high, -own.low), abs=1e-9)
    assert swapped.worth == pytest.approx(own.worth)
    log = WaterEvents(
        rate_starts=[0.0], rate_stops=[60.0], rates=[factor], change_times=CHANGES,
        change_fractions=np.full(9, 0.1), change_levels=np.full(9, 8.0 * factor),
    )  # fmt: skip
    scaled = kit_difference(
        TIMES, y * factor, OF_B, log, sd_a=S0 * factor, expected=FLAT, rate_scale=factor
    )
    assert scaled.difference == pytest.approx(factor * own.difference, rel=1e-7, abs=1e-9)
    assert scaled.worth == pytest.approx(own.worth, rel=1e-7)


@settings(max_examples=20, deadline=None)
@given(shift=st.floats(-3.0, 3.0))
def test_a_shift_of_one_kit_goes_into_the_difference_alone(shift: float) -> None:
    y = LEVELS + SCATTER
    own, moved = fitted(y, single=False), fitted(y + shift * OF_B, single=False)
    assert moved.difference - own.difference == pytest.approx(shift, abs=1e-9)
    assert (moved.use, moved.high - moved.low) == pytest.approx((own.use, own.high - own.low))


def test_a_difference_that_grows_with_the_level() -> None:
    rng = np.random.default_rng(4)
    t = np.arange(0.0, 60.0, 1.0)
    b = t % 3 == 1
    swing = WaterEvents(rate_starts=[0.0, 30.0], rate_stops=[30.0, 60.0], rates=[1.15, 0.85])
    balance = balance_columns(t, swing)
    level = 7.0 + balance.D - balance.H
    y = level + b * (0.2 + 0.1 * (level - 9.0)) + 0.1 * rng.normal(size=t.size)
    part = proportional_part(t, y, b, swing, kit_difference(t, y, b, swing, sd_a=0.1))
    assert part is not None
    assert part.low < 0.1 < part.high
    at_nine = part.difference + part.slope * (9.0 - part.centre)
    assert at_nine == pytest.approx(0.2, abs=0.1)
    # A steady tank cannot tell.
    assert proportional_part(TIMES, LEVELS + SCATTER, OF_B, LOG, fitted()) is None


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"sd_a": 0.0}, "an SD above 0 for each kit"),
        ({"sd_b": math.nan}, "an SD above 0 for each kit"),
        ({"noise": [1.0]}, "one relative variance"),
        ({"new_water_with_b": [True]}, "a yes or no for each of the 9 water changes"),
    ],
)
def test_impossible_inputs(change: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        fitted(**change)


def test_readings_that_do_not_do() -> None:
    with pytest.raises(CannotTellError, match="36 readings of kit A and 0 of kit B"):
        kit_difference(TIMES, LEVELS, np.zeros(36, bool), LOG, sd_a=S0)
    with pytest.raises(InputError, match="one finite level"):
        kit_difference(TIMES, np.full(36, np.nan), OF_B, LOG, sd_a=S0)
    with pytest.raises(CannotTellError, match="3 unknowns"):
        kit_difference([0.0, 1.0], [8.0, 8.3], [0, 1], WaterEvents(), sd_a=S0, expected=FLAT)
