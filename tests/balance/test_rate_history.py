"""The backward pass against dense Gaussian algebra, and what is found against what was put in."""

from __future__ import annotations

import numpy as np
import pytest

from reef_calc.balance.mixture_priors import CHANGE, DOSE, GROSS, LOT
from reef_calc.balance.mixture_smoother import smooth_components
from reef_calc.balance.water_balance import balance_columns
from tests.balance.mixture_cases import DAYS, LOG, base, dense, fit


def eventful() -> np.ndarray:
    levels = base(40) + 1.0 * (DAYS >= 20)
    levels[8] += 1.5
    return levels + np.r_[np.zeros(12), 0.9 * balance_columns(DAYS[12:], LOG).G]


def test_use_in_the_past_is_dense_gaussian_algebra() -> None:
    now = fit(eventful())
    back = smooth_components(now.series, now.mixture, now.prior)
    for k in range(0, back.which.size, 30):
        for i in (1, 9, 21, 30):
            b, scale, S = dense(now, int(back.which[k]), use_at=i)
            assert back.error_variance[k] == pytest.approx(S / now.degrees_of_freedom, rel=1e-6)
            assert back.use[i, k] == pytest.approx(b, rel=1e-6)
            found = np.sqrt(back.use_variance[i, k] * back.error_variance[k])
            assert found == pytest.approx(scale, rel=1e-5)


def test_the_past_ends_where_the_present_stands() -> None:
    now = fit(eventful())
    back = smooth_components(now.series, now.mixture, now.prior)
    assert back.use[-1] == pytest.approx(now.mixture.means[back.which, 1], rel=1e-9)
    variances = now.mixture.covariances[back.which, 1, 1]
    assert back.use_variance[-1] == pytest.approx(variances, rel=1e-9)


def test_a_change_equals_the_difference_of_the_use_without_drift() -> None:
    now = fit(base(36))
    back = smooth_components(now.series, now.mixture, now.prior)
    _, drift, _ = now.prior.grid()
    still = drift[now.mixture.events.roots[back.which]] == 0
    once = still & ((back.branches == CHANGE).sum(axis=0) == 1)
    assert once.any()
    difference = (back.use[-1] - back.use[0])[once]
    size = (back.size * (back.branches == CHANGE)).sum(axis=0)[once]
    assert size == pytest.approx(difference, rel=1e-6)


def test_each_kind_is_found_in_its_place_with_its_size() -> None:
    changed = fit(base(36)).history
    assert [f.kind for f in changed.findings] == ["rate change"]
    assert changed.findings[0].start <= 36 <= changed.findings[0].stop
    assert changed.findings[0].low < 0.25 < changed.findings[0].high
    assert changed.findings[0].probability > 0.99
    before, after = changed.segments
    assert before.low < 1.0 < before.high
    assert after.low < 1.25 < after.high
    assert np.all(changed.low <= changed.rate)
    assert np.all(changed.rate <= changed.high)

    levels = base()
    levels[15] += 1.5
    (gross,) = fit(levels).history.findings
    assert (gross.kind, gross.last) == ("gross error", 15)
    assert gross.low < 1.5 < gross.high

    (step,) = fit(base() + 1.2 * (DAYS >= 30)).history.findings
    assert (step.kind, step.start, step.stop) == ("level step", 28, 30)
    assert step.p_lot > step.p_dose
    assert step.low < 1.2 < step.high


def test_quiet_readings_have_one_segment_and_no_finding() -> None:
    history = fit(base()).history
    assert history.findings == ()
    assert len(history.segments) == 1
    assert history.covered > 0.95
    assert np.ptp(history.rate) < 0.01
    assert history.rate[-1] == pytest.approx(fit(base()).rate, abs=2e-4)


def test_all_kinds_at_once_are_in_the_tree() -> None:
    kinds = set(fit(eventful()).mixture.events.branch.tolist())
    assert {GROSS, CHANGE, DOSE, LOT} <= kinds
