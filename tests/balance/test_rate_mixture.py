"""Pinned cases of the current rate, and single components against dense least squares.

The numbers of the cases were COMPUTED with two programs that share no code (a filter and
dense least squares, or the enumeration of every path); there is no published value for them.
"""

from __future__ import annotations

import numpy as np
import pytest

from reef_calc.balance.mixture_answer import CurrentRate, as_percent, in_words
from reef_calc.balance.mixture_filter import DIFFUSE
from reef_calc.balance.mixture_priors import (
    CHANGE,
    DOSE,
    GROSS,
    LOT,
    SLIP_AND_CHANGE,
    Priors,
    session_noise,
)
from reef_calc.balance.rate_mixture import current_rate
from reef_calc.balance.steady_use import KnownColumn, steady_use
from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.errors import CannotTellError, InputError
from tests.balance.mixture_cases import ALL_PATHS, CALM, DAYS, KIT, LOG, base, dense, fit


def close(now: CurrentRate, rate: float, low: float, high: float) -> None:
    assert now.rate == pytest.approx(rate, abs=6e-4)
    assert (now.low, now.high) == pytest.approx((low, high), abs=2e-3)


def test_case_1_one_component_is_dense_least_squares() -> None:
    one = Priors(day_to_day=(0.1,), day_to_day_weights=(1.0,), **CALM)  # type: ignore[arg-type]
    now = fit(base(), prior=one)
    assert now.degrees_of_freedom == 49
    assert now.rate_scale == pytest.approx(0.99976582, abs=5e-9)
    assert (now.rate, now.low, now.high) == pytest.approx((0.999222, 0.979086, 1.019358), abs=6e-7)
    c = balance_columns(DAYS, LOG)
    s0 = np.hypot(0.15, 0.1 / np.sqrt(12))
    walk = np.minimum.outer(np.arange(31), np.arange(31))
    later = np.maximum.outer(np.arange(31), np.arange(31))
    V = np.eye(31) + (0.1 * now.rate_scale / s0) ** 2 * c.P[walk] * c.G[later] / c.G[walk]
    X, z = np.column_stack([c.G, -c.H]), base() - c.D
    A = np.linalg.inv(X.T @ np.linalg.solve(V, X))
    b = A @ X.T @ np.linalg.solve(V, z)
    r = z - X @ b
    scale = np.sqrt(A[1, 1] * (20 * s0**2 + r @ np.linalg.solve(V, r)) / 49)
    assert scale == pytest.approx(0.010020, abs=6e-7)
    assert now.rate == pytest.approx(b[1], abs=1e-7)
    assert (now.high - now.low) / 2 == pytest.approx(2.0095752 * scale, rel=1e-6)


def test_case_2_every_path_of_five_falling_readings() -> None:
    now = current_rate(np.arange(5.0), [8, 7, 6, 5, 4], WaterEvents(), **KIT, **ALL_PATHS)
    assert (now.rate, now.low, now.high) == pytest.approx((1, 0.860036, 1.139964), abs=6e-7)
    assert now.p_changed == pytest.approx(0.008458, abs=6e-7)
    assert now.p_step == pytest.approx(0.001252, abs=6e-7)
    assert 1 - now.p_not_constant == pytest.approx(0.922277, abs=6e-7)
    gross = [0.00749, 0.00555, 0.00527, 0.00554, 0.00745]
    assert now.p_gross == pytest.approx(gross, abs=6e-6)


def test_case_3_every_path_of_five_dosed_weeks() -> None:
    dosed = WaterEvents(rate_starts=[0.0], rate_stops=[28.0], rates=[1.0])
    now = current_rate([0, 7, 14, 21, 28], [8.1, 7.9, 8.2, 7.8, 8.0], dosed, **KIT, **ALL_PATHS)
    assert now.rate_scale == pytest.approx(1.00428571, abs=5e-9)
    assert (now.rate, now.low, now.high) == pytest.approx((1.004, 0.955741, 1.049154), abs=6e-7)
    assert now.p_changed == pytest.approx(0.017976, abs=6e-7)
    assert now.p_step == pytest.approx(0.015375, abs=6e-7)
    quiet = now.if_nothing_changed
    assert quiet is not None
    assert quiet.weight == pytest.approx(0.930384, abs=6e-7)
    expected = (1.004130, 0.963137, 1.044635)
    assert (quiet.rate, quiet.low, quiet.high) == pytest.approx(expected, abs=6e-7)


def test_case_4_quiet_readings() -> None:
    now = fit(base())
    close(now, 0.9997, 0.9935, 1.0048)
    assert 0.014 <= now.p_changed <= 0.019
    assert 0.014 <= now.p_step <= 0.019
    assert 0.009 <= now.p_gross.max() <= 0.011
    assert not now.humps


def test_case_5_a_step_that_nobody_declared() -> None:
    levels = base() + 1.2 * (DAYS >= 30)
    now = fit(levels)
    close(now, 0.9963, 0.9817, 1.0045)
    assert now.p_step == pytest.approx(1, abs=0.02)
    assert now.p_lot_at[15] == pytest.approx(0.947, abs=0.02)
    assert now.p_dose_at[15] == pytest.approx(0.049, abs=0.02)
    told = fit(levels, declared_lots=[29.5])
    close(told, 0.9965, 0.9856, 1.0046)
    assert told.p_lot_at[15] == pytest.approx(1, abs=0.02)


def test_case_6_more_is_used_from_day_36() -> None:
    now = fit(base(36))
    close(now, 1.2470, 1.2304, 1.2611)
    assert now.p_changed == pytest.approx(1, abs=1e-3)
    assert now.p_change_at[DAYS == 36] == pytest.approx([0.54], abs=0.02)
    assert now.p_change_at[DAYS == 38] == pytest.approx([0.46], abs=0.02)
    assert now.if_nothing_changed is None


def test_case_7_one_misread() -> None:
    levels = base()
    levels[15] += 1.5
    now = fit(levels)
    close(now, 0.9996, 0.9930, 1.0051)
    assert now.p_gross[15] == pytest.approx(1, abs=1e-3)
    assert np.delete(now.p_gross, 15).max() < 0.02
    assert max(now.p_changed, now.p_step) < 0.02


def test_case_8_more_is_used_in_the_last_ten_days() -> None:
    now = fit(base(50))
    close(now, 1.2314, 1.1975, 1.2732)
    assert now.p_changed == pytest.approx(1, abs=1e-3)
    assert now.p_change_at[DAYS == 50] == pytest.approx([0.69], abs=0.02)
    assert now.p_change_at[DAYS == 52] == pytest.approx([0.30], abs=0.02)


@pytest.mark.parametrize(
    ("times", "levels", "dose", "expected"),
    [
        (np.arange(5.0), [8, 7, 6, 5, 4], 0.0, (1.0, 0.863482, 1.136518)),
        ([0, 7, 14, 21], [8, 8, 8, 8], 1.2, (1.2, 1.153020, 1.246980)),
        ([0, 7, 14, 21, 28], [8.1, 7.9, 8.2, 7.8, 8.0], 1.0, (1.004117, 0.963763, 1.043905)),
        (DAYS, base(), None, (0.999743, 0.994507, 1.004585)),
    ],
)
def test_without_branches_it_is_the_six_steady_fits(
    times: np.ndarray, levels: np.ndarray, dose: float | None, expected: tuple[float, ...]
) -> None:
    log = LOG
    if dose is not None:
        log = WaterEvents(rate_starts=[0.0], rate_stops=[28.0], rates=[dose])
    now = current_rate(times, levels, log, **KIT, prior=Priors(**CALM))  # type: ignore[arg-type]
    steady = steady_use(times, levels, log, **KIT)
    assert (now.rate, now.low, now.high) == pytest.approx(expected, abs=1e-4)
    assert (now.rate, now.low, now.high) == pytest.approx(
        (steady.rate, steady.low, steady.high), abs=1e-4
    )
    assert now.day_to_day_weights == pytest.approx(steady.weights, abs=1e-4)
    assert now.degrees_of_freedom == steady.degrees_of_freedom


def test_known_columns_are_those_of_the_steady_fits() -> None:
    c = balance_columns(DAYS, LOG, [(20.0, 27.0)])
    other_kit = (np.arange(31) % 3 == 1).astype(float)
    columns = [
        KnownColumn("gap", c.S[:, 0]),
        KnownColumn("kit", other_kit, 0.3, 0.2),
        KnownColumn("new water", c.W, 0.0, 0.5),
    ]
    levels = base() + 0.4 * other_kit + 0.2 * c.W - 0.5 * c.S[:, 0]
    now = fit(levels, prior=Priors(**CALM), columns=columns)  # type: ignore[arg-type]
    steady = steady_use(DAYS, levels, LOG, **KIT, columns=columns)
    assert now.degrees_of_freedom == steady.degrees_of_freedom
    assert (now.low, now.high) == pytest.approx((steady.low, steady.high), abs=1e-4)
    for name in now.names:
        assert now.factor(name) == pytest.approx(steady.factor(name), abs=2e-4)


@pytest.mark.parametrize("extra", [False, True])
def test_components_with_all_kinds_of_events_are_dense_gaussian_algebra(extra: bool) -> None:
    levels = base(40) + 1.0 * (DAYS >= 20)
    levels[8] += 1.5
    levels[12:] += 0.9 * balance_columns(DAYS, LOG).G[12:] / balance_columns(DAYS, LOG).G[12]
    columns = [KnownColumn("kit", np.arange(31) % 2.0, 0.1, 0.3)] if extra else []
    now = fit(levels, columns=columns, noise=np.linspace(0.8, 1.3, 31))
    kinds = now.mixture.events.branch
    assert {GROSS, CHANGE, DOSE, LOT} <= set(kinds.tolist())
    assert DIFFUSE == 1e5
    for component in range(0, now.mixture.weights.size, 40):
        b, scale, S = dense(now, component)
        m = now.mixture
        assert m.means[component, 1] == pytest.approx(b, rel=2e-7)
        assert m.squares[component] == pytest.approx(S, rel=1e-6)
        found = np.sqrt(m.covariances[component, 1, 1] * S / now.degrees_of_freedom)
        assert found == pytest.approx(scale, rel=1e-5)


def test_evidence_gives_the_weights_of_the_six_steady_fits() -> None:
    steady = steady_use(DAYS, base(), LOG, **KIT)
    alone = [
        fit(
            base(),
            prior=Priors(day_to_day=(cv,), day_to_day_weights=(1.0,), **CALM),  # type: ignore[arg-type]
        ).mixture.log_evidence
        for cv in steady.day_to_day[:4]
    ]
    weights = np.exp(alone) * Priors().day_to_day_weights[:4]
    expected = steady.weights[:4] / steady.weights[0]
    assert weights / weights[0] == pytest.approx(expected, rel=1e-4)


def test_three_years_of_large_water_changes() -> None:
    # The water of the first day is gone 20 times over; the sums start afresh at each reading.
    times = np.arange(0, 1095, 5.0)
    changes = np.arange(3.5, 1095, 7)
    log = WaterEvents(
        rate_starts=[0.0],
        rate_stops=[1095.0],
        rates=[0.7],
        change_times=changes,
        change_fractions=np.full(changes.size, 0.25),
        change_levels=np.full(changes.size, 1350.0),
    )
    c = balance_columns(times, log)
    levels = 1350 * c.G + c.D - 0.7 * c.H + 20 * np.random.default_rng(1).normal(size=times.size)
    now = current_rate(times, levels, log, sd=20, resolution=10, prior=Priors(**CALM))  # type: ignore[arg-type]
    steady = steady_use(times, levels, log, sd=20, resolution=10)
    expected = (steady.rate, steady.low, steady.high)
    assert (now.rate, now.low, now.high) == pytest.approx(expected, rel=2e-5)


def test_the_scatter_tells_of_an_sd_stated_too_small() -> None:
    even = Priors(day_to_day=(0.0,), day_to_day_weights=(1.0,), **CALM)  # type: ignore[arg-type]
    rough = current_rate(DAYS, base(), LOG, sd=0.03, prior=even)
    assert rough.sd_found > 1.5 * rough.reading_sd
    assert fit(base()).sd_found < fit(base()).reading_sd


def test_two_humps_are_said_and_their_weights_add_up() -> None:
    now = fit(base(55, 1.15))
    assert 0.2 <= now.p_changed <= 0.8
    without, changed = now.humps
    assert without.weight + changed.weight == pytest.approx(1)
    assert changed.rate > without.rate + 0.05


def test_declared_change_narrows() -> None:
    told = fit(base(52), declared_changes=[51.5])
    plain = fit(base(52))
    assert told.p_changed > plain.p_changed
    assert told.high - told.low < plain.high - plain.low


def test_two_declared_in_one_interval_leave_nothing_possible() -> None:
    p = fit(base(), declared_changes=[29.0], declared_lots=[29.5]).series.branch_p[15]
    assert p[:5].min() > 0
    assert p.sum() == pytest.approx(1)


def test_no_step_from_the_first_readings() -> None:
    p = fit(base()).series.branch_p
    assert np.all(p[:2, CHANGE:] == 0)
    assert np.all(p[:, SLIP_AND_CHANGE] == 0)
    assert np.all(p[:4, LOT] == 0)
    assert np.all(p[4:, LOT] > 0)


def test_words_for_probabilities() -> None:
    assert [in_words(p) for p in (0.96, 0.9, 0.6, 0.4)] == ["found", "likely", "possible", ""]
    assert as_percent(0.0) == "< 3 %"


def test_it_refuses_in_words() -> None:
    with pytest.raises(InputError, match="finite level"):
        current_rate([0, 1, 2], [8, np.nan, 8], WaterEvents(), sd=0.1)
    with pytest.raises(InputError, match="do not decrease"):
        current_rate([0, 2, 1], [8, 8, 8], WaterEvents(), sd=0.1)
    with pytest.raises(InputError, match="SD above 0"):
        current_rate([0, 1, 2], [8, 8, 8], WaterEvents(), sd=0.0)
    with pytest.raises(InputError, match="relative variance"):
        current_rate([0, 1, 2], [8, 8, 8], WaterEvents(), sd=0.1, noise=[1, 0, 1])
    with pytest.raises(CannotTellError, match="cannot tell a rate"):
        current_rate([0, 1], [8, 8], WaterEvents(), sd=0.1)
    with pytest.raises(CannotTellError, match="different days"):
        current_rate([1, 1, 1], [8, 8, 8], WaterEvents(), sd=0.1)
    with pytest.raises(CannotTellError, match="unknowns"):
        fit(base(), columns=[KnownColumn("nothing", np.zeros(31))])
    with pytest.raises(InputError, match="column"):
        fit(base(), columns=[KnownColumn("short", np.zeros(3))])
    with pytest.raises(InputError, match="weight"):
        Priors(drift=(0.0,))


def test_a_misread_at_a_change_is_seen_as_both_where_that_is_allowed() -> None:
    levels = base(40.5)
    levels[21] += 1.2
    both = fit(levels, prior=Priors(slip_at_change=True))
    assert (both.mixture.events.branch == SLIP_AND_CHANGE).any()
    kinds = {f.kind: f for f in both.history.findings}
    assert set(kinds) == {"rate change", "gross error"}
    assert kinds["gross error"].last == 21
    assert kinds["gross error"].low < 1.2 < kinds["gross error"].high
    assert kinds["rate change"].start <= 40.5 <= kinds["rate change"].stop
    assert kinds["rate change"].low < 0.25 < kinds["rate change"].high
    plain = fit(levels)
    assert both.high - both.low < plain.high - plain.low


def test_noise_of_a_session() -> None:
    # Shared error of half the variance: two readings are worth 1/0.75, not two.
    assert session_noise([1, 2, 4], 0.5) == pytest.approx([1, 0.75, 0.625])
    assert session_noise([4], 0.0) == pytest.approx([0.25])
    with pytest.raises(InputError, match="correlation"):
        session_noise([2], 1.5)
    with pytest.raises(InputError, match="at least one reading"):
        session_noise([0])
