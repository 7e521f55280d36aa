"""The averaged fit: check cases, pinned figures, a dense fit beside it, invariances.

Check cases: own examples; expected figures COMPUTED on an independent prototype, two ways.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.balance.cross_checks import cross_checks
from reef_calc.balance.doubts import gross_error_probabilities, walk_covariance
from reef_calc.balance.steady_use import DAY_TO_DAY, DAY_TO_DAY_WEIGHTS, KnownColumn, steady_use
from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.errors import CannotTellError, InputError

from .histories import KIT, base

AVERAGE = pytest.approx


def dose(rate: float, days: float) -> WaterEvents:
    return WaterEvents(rate_starts=[0.0], rate_stops=[days], rates=[rate])


def both(times, levels, events):  # type: ignore[no-untyped-def]
    c = balance_columns(times, events)
    return c, np.asarray(levels) - c.D, np.column_stack([c.G, -c.H])


def test_case_1_no_residual_keeps_the_kits_interval() -> None:
    fit = steady_use(np.arange(5.0), [8, 7, 6, 5, 4], WaterEvents(), **KIT)
    assert (fit.rate, fit.low, fit.high) == AVERAGE((1.0, 0.863482, 1.136518), abs=1e-4)
    assert np.abs(fit.residuals).max() < 1e-9


def test_case_2_held_by_the_dose() -> None:
    fit = steady_use([0, 7, 14, 21], [8, 8, 8, 8], dose(1.2, 21), **KIT)
    assert (fit.rate, fit.low, fit.high) == AVERAGE((1.2, 1.153020, 1.246980), abs=1e-4)


def test_case_3_water_change_in_between() -> None:
    events = WaterEvents(change_times=[5.0], change_fractions=[0.2], change_levels=[7.0])
    times = [0, 2.5, 5, 7.5, 10]
    fit = steady_use(times, [8, 6.75, 5.5, 4.55, 3.3], events, **KIT)
    assert fit.rate == AVERAGE(0.5, abs=1e-9)
    _, z, X = both(times, [8, 6.75, 5.5, 4.55, 3.3], events)
    assert cross_checks(z, X).loc[0, "rate"] == AVERAGE(0.5, abs=1e-9)


def test_case_4_with_its_least_squares_interval() -> None:
    times, levels = [0, 7, 14, 21, 28], [8.1, 7.9, 8.2, 7.8, 8.0]
    fit = steady_use(times, levels, dose(1.0, 28), **KIT)
    assert (fit.rate, fit.low, fit.high) == AVERAGE((1.004117, 0.963763, 1.043905), abs=1e-4)
    _, z, X = both(times, levels, dose(1.0, 28))
    least = cross_checks(z, X).iloc[0]
    assert (least["rate"], least["low"], least["high"]) == AVERAGE(
        (1.0042857, 0.979246, 1.029325), abs=1e-6
    )


def test_case_5_new_water_as_true_or_as_read() -> None:
    for entered, right in ((8.0, 0.992465), (8.5, 1.0)):
        times, levels, events = base(scatter=False, bias=0.5, new_water=entered)
        _, z, X = both(times, levels, events)
        assert cross_checks(z, X).loc[0, "rate"] == AVERAGE(right, abs=1e-6)
        assert steady_use(times, levels, events, **KIT).rate == AVERAGE(right, abs=1e-4)


def test_case_6_a_gap_of_the_log_as_a_column() -> None:
    times, levels, full = base(scatter=False)
    holed = WaterEvents(
        rate_starts=[0.0, 47.0],
        rate_stops=[40.0, 60.0],
        rates=[1.0, 1.0],
        change_times=full.change_times,
        change_fractions=full.change_fractions,
        change_levels=full.change_levels,
    )
    _, z, X = both(times, levels, holed)
    assert cross_checks(z, X).loc[0, "rate"] == AVERAGE(0.864069, abs=1e-6)
    response = balance_columns(times, holed, [(40.0, 47.0)]).S[:, 0]
    fit = steady_use(times, levels, holed, columns=[KnownColumn("gap", response)], **KIT)
    assert fit.rate == AVERAGE(1.0, abs=1e-9)
    assert fit.factor("gap")[0] == AVERAGE(1.0, abs=1e-9)


def test_base_with_its_weights() -> None:
    fit = steady_use(*base(), **KIT)
    assert (fit.rate, fit.low, fit.high) == AVERAGE((0.999743, 0.994507, 1.004585), abs=1e-4)
    assert fit.weights == AVERAGE([0.7378, 0.2270, 0.0339, 0.0014, 0, 0], abs=1e-4)
    assert fit.rate_scale == AVERAGE(0.99976582, abs=1e-7)


def test_single_component_equals_a_dense_fit() -> None:
    """Generalised least squares written out with numpy, n × n."""
    times, levels, events = base()
    fit = steady_use(times, levels, events, day_to_day=[0.10], weights=[1.0], **KIT)
    c, z, X = both(times, levels, events)
    s0 = float(np.hypot(0.15, 0.1 / 12**0.5))
    V = np.eye(31) + (0.1 * fit.rate_scale / s0) ** 2 * walk_covariance(c.g, c.p)
    Vi = np.linalg.inv(V)
    cov = np.linalg.inv(X.T @ Vi @ X)
    beta = cov @ X.T @ Vi @ z
    rss = float((z - X @ beta) @ Vi @ (z - X @ beta))
    scale = np.sqrt((20 * s0**2 + rss) / 49 * cov[1, 1])
    assert fit.factors[0, 1] == AVERAGE(beta[1], rel=1e-10)
    assert np.sqrt(fit.covariances[0, 1, 1]) == AVERAGE(scale, rel=1e-10)
    assert (beta[1], scale) == AVERAGE((0.999222, 0.010020), abs=1e-6)
    assert fit.degrees_of_freedom == 49
    assert (fit.low, fit.high) == AVERAGE((0.979086, 1.019358), abs=1e-6)


def test_averaging_weights_equal_the_dense_evidence() -> None:
    times, levels, events = base()
    fit = steady_use(times, levels, events, **KIT)
    c, z, X = both(times, levels, events)
    s0 = fit.reading_sd
    logs = []
    for cv, prior in zip(DAY_TO_DAY, DAY_TO_DAY_WEIGHTS, strict=True):
        V = np.eye(31) + (cv * fit.rate_scale / s0) ** 2 * walk_covariance(c.g, c.p)
        Vi = np.linalg.inv(V)
        A = X.T @ Vi @ X
        e = z - X @ np.linalg.solve(A, X.T @ Vi @ z)
        logs.append(
            np.log(prior)
            - 0.5 * np.linalg.slogdet(V)[1]
            - 0.5 * np.linalg.slogdet(A)[1]
            - 49 / 2 * np.log(20 * s0**2 + e @ Vi @ e)
        )
    w = np.exp(np.array(logs) - max(logs))
    assert fit.weights == AVERAGE(w / w.sum(), rel=1e-7)


@pytest.mark.parametrize(
    ("later", "second", "difference"),
    [(None, 0.995844, -0.006747), (1.25, 1.245844, 0.243253)],
)
def test_two_months_in_one_fit(later: float | None, second: float, difference: float) -> None:
    times, levels, events = base(use_later=later)
    fit = steady_use(
        times,
        levels,
        events,
        spans=[(0, 30), (30, 60)],
        day_to_day=[0.10],
        weights=[1.0],
        rate_scale=1.0,
        **KIT,
    )
    assert fit.degrees_of_freedom == 48
    for contrast, middle, half in (
        ([0, 1, 0], 1.002591, 0.029255),
        ([0, 0, 1], second, 0.029296),
        ([0, -1, 1], difference, 0.042115),
    ):
        found, low, high = fit.interval(contrast)
        assert (found, (high - low) / 2) == AVERAGE((middle, half), abs=1.5e-6)


def test_new_water_known_expected_and_free() -> None:
    """Interval grows from known over a prior of ± 0.5 to free, as a design with a tenth a week says."""
    times = np.arange(0.0, 61.0, 2.0)
    changes = np.arange(3.5, 60.0, 7.0)
    events = WaterEvents(
        rate_starts=[0.0],
        rate_stops=[60.0],
        rates=[1.0],
        change_times=changes,
        change_fractions=np.full(changes.size, 0.1),
        change_levels=np.full(changes.size, 8.0),
    )
    c = balance_columns(times, events)
    levels = 8 * c.G + c.D - c.H
    halves = []
    for u in (0.0, 0.5, None):
        fit = steady_use(
            times, levels, events, sd=0.15, new_water_u=u, day_to_day=[0.1], weights=[1.0],
            rate_scale=1.0, sd_worth=1e6,
        )  # fmt: skip
        halves.append(2 * np.sqrt(fit.covariances[0, 1, 1]))
    # Two standard errors COMPUTED on an independent prototype, printed to three decimals.
    assert halves == AVERAGE([0.026, 0.030, 0.042], abs=0.0006)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(shift=st.floats(-1e4, 1e4), scale=st.floats(0.05, 50))
def test_shift_and_unit_change_nothing(shift: float, scale: float) -> None:
    times, levels, events = base()
    plain = steady_use(times, levels, events, **KIT)
    moved = WaterEvents(
        rate_starts=events.rate_starts + shift,
        rate_stops=events.rate_stops + shift,
        rates=scale * events.rates,
        change_times=events.change_times + shift,
        change_fractions=events.change_fractions,
        change_levels=scale * events.change_levels,
    )
    other = steady_use(
        times + shift, scale * levels, moved, sd=0.15 * scale, resolution=0.1 * scale
    )
    assert (other.rate, other.low, other.high) == AVERAGE(
        (scale * plain.rate, scale * plain.low, scale * plain.high), rel=2e-6
    )


def test_a_declared_nothing_changes_nothing() -> None:
    times, levels, events = base()
    plain = steady_use(times, levels, events, **KIT)
    nothing = KnownColumn("nothing", np.zeros(times.size), 0.0, 1.0)
    other = steady_use(times, levels, events, columns=[nothing], **KIT)
    assert (other.rate, other.low, other.high) == AVERAGE(
        (plain.rate, plain.low, plain.high), rel=1e-9
    )


def test_a_gross_error_is_found_and_a_kink_is_not_one() -> None:
    times, levels, events = base()
    levels = levels.copy()
    levels[15] += 1.5
    c, z, X = both(times, levels, events)
    p = gross_error_probabilities(z, X, c.g, c.p, reading_sd=0.1528, rate_scale=1.0)
    assert int(np.argmax(p)) == 15
    assert p[15] > 0.99
    assert np.sort(p)[-2] < 0.02
    times, levels, events = base(use_later=1.25, later_from=36.0)
    c, z, X = both(times, levels, events)
    p = gross_error_probabilities(z, X, c.g, c.p, reading_sd=0.1528, rate_scale=1.0)
    assert p.max() < 0.05


def test_three_readings_are_the_least() -> None:
    assert steady_use([0, 4, 8], [8.0, 7.6, 7.2], WaterEvents(), **KIT).rate == AVERAGE(0.1)
    with pytest.raises(CannotTellError, match="more readings"):
        steady_use([0, 4], [8.0, 7.6], WaterEvents(), **KIT)


@pytest.mark.parametrize(
    ("levels", "kit", "word"),
    [
        ([8.0, np.nan, 7.0], KIT, "beyond the kit's limit"),
        ([8.0, 7.5, 7.0], {"sd": 0.0}, "repeatability"),
        ([8.0, 7.5], KIT, "one finite level"),
    ],
)
def test_bad_input_is_refused_in_words(levels, kit, word) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=word):
        steady_use([0.0, 4.0, 8.0], levels, WaterEvents(), **kit)


def test_equal_times_and_equal_levels_are_fine() -> None:
    fit = steady_use([0, 0, 5, 5, 10], [8.0] * 5, WaterEvents(), **KIT)
    assert fit.rate == AVERAGE(0.0, abs=1e-12)
    assert fit.low < 0 < fit.high
