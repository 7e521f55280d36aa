"""The joint filter: check cases, a dense least-squares fit beside it, what it finds, what it refuses.

Check cases: own examples; expected figures COMPUTED on an independent prototype.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import t as student

from reef_calc.balance.joint_priors import JointPriors
from reef_calc.balance.joint_rate import joint_rate
from reef_calc.balance.joint_readings import ElementReadings
from reef_calc.balance.joint_stories import CHANGED_ALKALINITY, CHANGED_BOTH
from reef_calc.balance.joint_uses import JointUses, UseRatio, ratio_estimate
from reef_calc.balance.joint_words import joint_messages
from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import codes

from .joint_histories import events, pair

ONE_SCALE = JointPriors(calcium_kit_scale=(1.0,), calcium_kit_weights=(1.0,))
NEVER = 1e-300
ONE_COMPONENT = replace(
    ONE_SCALE,
    day_to_day=(0.10,),
    day_to_day_weights=(1.0,),
    drift=(0.0,),
    drift_weights=(1.0,),
    unknown_ratio_weight=0.0,
    gross_share=NEVER,
    calcification_per_day=NEVER,
    alkalinity_only_per_day=NEVER,
    calcium_only_per_day=NEVER,
    step_per_day=NEVER,
    offset_per_day=NEVER,
    precipitation_per_day=NEVER,
)
NO_PRECIPITATION = replace(ONE_SCALE, precipitation_per_day=0.0)


def dense(alkalinity, calcium, k0):  # type: ignore[no-untyped-def]
    """The same single model as one dense Gaussian: joint walk, prior, closed-form posterior."""
    sa, sc = alkalinity.reading_sd, calcium.reading_sd
    t = np.r_[alkalinity.times, calcium.times]
    is_c = np.r_[np.zeros(alkalinity.times.size, bool), np.ones(calcium.times.size, bool)]
    order = np.argsort(t, kind="stable")
    t, is_c = t[order], is_c[order]
    ca, cc = balance_columns(t, alkalinity.events), balance_columns(t, calcium.events)
    y = np.r_[alkalinity.levels / sa, calcium.levels / sc][order]
    z = y - np.where(is_c, cc.D / sc, ca.D / sa)
    r, k = 7.06 * sa / sc, k0 / sa
    X = np.column_stack(
        [np.where(is_c, 0, ca.G), -np.where(is_c, r, 1) * ca.H, is_c * ca.G, -1.0 * is_c * ca.H]
    )
    start = np.array([y[~is_c][0], k, y[is_c][0], 0.0])
    rel = np.hypot(0.4 / 7.06, 0.06)
    prior = np.diag([1e5, max(100 * k**2, 1e-3), 1e5, (rel * r * k) ** 2])
    i, j = np.indices((t.size, t.size))
    first, last = np.minimum(i, j), np.maximum(i, j)
    shared = ca.P[first] * ca.G[last] / ca.G[first] * (0.1 * k) ** 2
    factor = (
        np.where(is_c[i], r, 1) * np.where(is_c[j], r, 1) * np.where(is_c[i] == is_c[j], 1.09, 1)
    )
    V = np.eye(t.size) + shared * factor
    # The information form: the prior less what was learnt would leave four digits of 1e5.
    cov = np.linalg.inv(np.linalg.inv(prior) + X.T @ np.linalg.solve(V, X))
    error = z - X @ start
    shift = cov @ X.T @ np.linalg.solve(V, error)
    mean, left = start + shift, error - X @ shift
    S = 20 + left @ np.linalg.solve(V, left) + shift @ np.linalg.solve(prior, shift)
    nu = 20 + t.size - 3
    form = np.array([0, r, 0, 1]) * sc
    arm = student.ppf(0.975, nu) * np.sqrt(form @ cov @ form * S / nu)
    return form @ mean, arm, mean[1] * sa, np.sqrt(S / nu)


def test_case_1_one_component_is_one_dense_fit() -> None:
    found = joint_rate(*pair(), priors=ONE_COMPONENT)
    assert found.alkalinity_scale == pytest.approx(0.99976582, abs=5e-9)
    assert found.calcium == pytest.approx((6.988450, 6.743873, 7.233028), abs=1e-6)
    assert found.alkalinity == pytest.approx((0.999246, 0.978691, 1.019801), abs=1e-6)
    assert found.ratio == pytest.approx((6.99372, 6.78765, 7.20027), abs=1e-5)
    assert found.degrees_of_freedom == 57
    value, arm, alkalinity, s = dense(*pair(), found.alkalinity_scale)
    assert found.calcium == pytest.approx((value, value - arm, value + arm), rel=2e-8)
    assert found.alkalinity.value == pytest.approx(alkalinity, rel=1e-8)
    assert s == pytest.approx(0.74389, abs=5e-6)
    one = found.components
    assert one.weights.size == 1
    assert np.sqrt(one.squares[0] / 57) == pytest.approx(s, rel=1e-8)


@pytest.mark.parametrize(
    ("priors", "digits"), [(ONE_SCALE, None), (NO_PRECIPITATION, (6.990203, 6.755774, 7.212751))]
)
def test_case_2_quiet(priors: JointPriors, digits: tuple[float, ...] | None) -> None:
    found = joint_rate(*pair(), priors=priors)
    assert found.calcium.value == pytest.approx(6.9902, abs=0.004)
    assert (found.calcium.low, found.calcium.high) == pytest.approx((6.7558, 7.2127), abs=0.03)
    if digits:
        assert found.calcium == pytest.approx(digits, abs=2e-6)
    assert found.alkalinity.value == pytest.approx(0.9997, abs=6e-4)
    assert found.p_calcification_changed == pytest.approx(0.0145, abs=0.02)
    assert found.p_step == pytest.approx(0.033, abs=0.02)
    below = UseRatio(found.uses).below([6.0, 7.2])
    assert (below[0], 1 - below[1]) == pytest.approx((0.002, 0.033), abs=0.02)
    assert found.humps == ()
    assert found.if_nothing_changed is not None


@pytest.mark.parametrize(
    ("priors", "digits"), [(ONE_SCALE, None), (NO_PRECIPITATION, (8.582389, 7.008651, 8.956174))]
)
def test_case_3_both_uses_rise(priors: JointPriors, digits: tuple[float, ...] | None) -> None:
    a, c = pair(factor_later=1.25, later_from=50.0)
    assert np.asarray(a.levels)[-7:] == pytest.approx(
        [8.1, 7.95, 7.5, 6.9625, 6.6125, 6.0625, 5.9438], abs=1e-4
    )
    assert np.asarray(c.levels) == pytest.approx(
        [425, 417.5, 420, 415, 422.5, 420, 427.5, 412.5, 413.1875], abs=1e-4
    )
    found = joint_rate(a, c, priors=priors)
    assert found.calcium.value == pytest.approx(8.582, abs=0.005)
    assert (found.calcium.low, found.calcium.high) == pytest.approx((7.009, 8.956), abs=0.03)
    if digits:  # the prototype's robust first rate stopped elsewhere: 1.00758 against 1.00732
        assert found.calcium == pytest.approx(digits, abs=2e-5)
    assert found.alkalinity.value == pytest.approx(1.2294, abs=6e-4)
    assert found.p_calcification_changed == pytest.approx(0.878, abs=0.02)
    assert found.p_alkalinity_only == pytest.approx(0.125, abs=0.02)
    assert [story.what for story in found.humps] == [CHANGED_BOTH, CHANGED_ALKALINITY]
    assert [round(story.calcium.value, 1) for story in found.humps] == [8.6, 7.1]
    assert found.if_nothing_changed is None
    assert found.share_from_alkalinity is None
    closing = found.by_reading["time"].between(49, 54)
    assert found.by_reading.loc[closing, "calcification"].sum() > 0.8
    assert codes(joint_messages(found)) == ("CALCIUM_JOINT", "TWO_HUMPS", "RATIO", "RATIO_FITS")
    assert len(joint_rate(a, c).humps) == 2  # with the grid on the calcium kit's SD as well


def test_case_4_another_ratio() -> None:
    a, c = pair(calcium=5.6)
    assert np.asarray(c.levels) == pytest.approx(
        [426.4, 428.21, 439.089, 441.6301, 455.9171, 459.5254, 472.5228, 462.4706, 479.4235],
        abs=6e-5,
    )
    found = joint_rate(a, c, priors=ONE_SCALE)
    assert found.calcium.value == pytest.approx(5.605, abs=0.0032)
    assert (found.calcium.low, found.calcium.high) == pytest.approx((5.349, 5.869), abs=0.03)
    assert found.ratio == pytest.approx((5.607, 5.359, 5.869), abs=0.03)
    assert UseRatio(found.uses).below([6.0])[0] == pytest.approx(0.992, abs=0.02)
    unknown = ONE_SCALE.grid()["ratio_u"][found.components.classes] == ONE_SCALE.unknown_ratio_u
    assert found.components.weights[unknown].sum() == pytest.approx(0.711, abs=0.02)
    said = joint_messages(found, nitrate="rising")
    assert "RATIO_FITS" in codes(said)
    assert any("cannot tell these apart" in message.text for message in said)


def test_case_5_calcium_reads_higher_from_day_30() -> None:
    found = joint_rate(*pair(calcium_step=25.0), priors=ONE_SCALE)
    assert found.calcium.value == pytest.approx(6.966, abs=0.004)
    assert found.calcium.low == pytest.approx(6.028, abs=0.15)
    assert found.calcium.high == pytest.approx(7.409, abs=0.03)
    assert found.ratio == pytest.approx((6.970, 6.054, 7.410), abs=0.03)
    assert found.p_step == pytest.approx(0.874, abs=0.02)


def test_a_declared_lot_takes_the_step() -> None:
    a, c = pair(calcium_step=25.0)
    told = joint_rate(a, replace(c, declared_lots=[29.5]))
    silent = joint_rate(a, c)
    assert told.p_step > 0.97
    assert told.calcium.half_width < 0.75 * silent.calcium.half_width


def test_a_declared_event_raises_the_change_and_narrows_the_calcium() -> None:
    a, c = pair(factor_later=1.25, later_from=54.0)
    told, silent = joint_rate(a, c, declared_events=[54.0]), joint_rate(a, c)
    assert told.p_calcification_changed > silent.p_calcification_changed
    assert told.calcium.half_width < 0.8 * silent.calcium.half_width
    nothing = joint_rate(*pair(), declared_events=[54.0])
    assert nothing.calcium.low < 7.0 < nothing.calcium.high


def test_kit_scale_grid_learns_a_calcium_kit_stated_too_good() -> None:
    a, c = pair()
    scatter = np.asarray(c.levels) + 150 * np.resize([0.10, -0.05, 0.0, -0.10, 0.05], 9)
    weights = joint_rate(a, replace(c, levels=scatter)).calcium_kit_scale
    assert weights.sum() == pytest.approx(1.0)
    assert weights.loc[[1.4, 2.0]].sum() > 0.5
    assert joint_rate(a, c).calcium_kit_scale.idxmax() == 1.0


def test_dose_uncertainty_goes_one_to_one_into_the_ratio() -> None:
    plain, with_doses = joint_rate(*pair()), joint_rate(*pair(), dose_u=(0.04, 0.04))
    assert plain.ratio == plain.ratio_with_doses == with_doses.ratio
    assert plain.ratio is not None
    assert with_doses.ratio_with_doses is not None
    added = 1.96 * 7 * 0.04 * np.sqrt(2)
    expected = np.hypot(added, plain.ratio.half_width)
    assert with_doses.ratio_with_doses.half_width == pytest.approx(expected, rel=0.06)
    below = joint_rate(*pair(alkalinity=1.0, calcium=5.6), dose_u=(0.10, 0.10)).p_ratio_low
    assert below is not None
    assert 0.5 < below < 0.9


def test_ratio_of_one_component_against_random_draws() -> None:
    one = np.ones(1)
    uses = JointUses(one, 1.0 * one, 7.0 * one, 0.01 * one, 0.03 * one, 0.25 * one, 25.0)
    random = np.random.default_rng(1)
    pairs = random.multivariate_normal([0, 0], [[0.01, 0.03], [0.03, 0.25]], 200_000)
    drawn = pairs / np.sqrt(random.chisquare(25.0, 200_000) / 25.0)[:, None] + [1.0, 7.0]
    ratios = drawn[:, 1] / drawn[:, 0]
    found = ratio_estimate(uses, (0.0, 0.0))
    assert found == pytest.approx(np.quantile(ratios, [0.5, 0.025, 0.975]), rel=0.01)


def test_no_ratio_where_alkalinity_may_not_be_used() -> None:
    days = np.arange(0.0, 40.0, 4.0)
    still = WaterEvents()
    wobble = np.resize([0.1, -0.1, 0.05], days.size)
    a = ElementReadings(days, 8 + wobble, still, 0.15, 0.1)
    found = joint_rate(a, ElementReadings(days, 420 + 50 * wobble, still, 7.0, 5.0))
    assert found.ratio is found.ratio_with_doses is found.p_ratio_low is found.p_ratio_high is None
    said = joint_messages(found)
    assert any(message.kind == "refused" for message in said)
    assert said[0].text.startswith("No calcium use is shown")


def test_calcium_alone_may_be_handed_in() -> None:
    found = joint_rate(*pair(), calcium_alone=lambda readings: (5.0, 4.5, 5.5))
    assert found.calcium_alone.low == 4.5
    assert found.disagreement is not None
    assert found.disagreement > 2
    assert "LOG_OR_RATIO_IN_DOUBT" in codes(joint_messages(found))
    silent = joint_rate(*pair(), calcium_alone=lambda readings: None)
    assert silent.calcium_alone is silent.share_from_alkalinity is silent.disagreement is None
    assert "alone" not in joint_messages(silent)[0].text
    with pytest.raises(InputError, match="Give None"):
        joint_rate(*pair(), calcium_alone=lambda readings: (5.0, 5.0, 5.0))


def test_refusals_say_what_would_do() -> None:
    a, c = pair()
    with pytest.raises(CannotTellError, match=r"2 calcium readings \(at least 3"):
        joint_rate(a, replace(c, times=[1.0, 40.0], levels=[420.0, 420.0], noise=None))
    with pytest.raises(CannotTellError, match="at least 21 are needed"):
        joint_rate(a, replace(c, times=[1.0, 8.0, 15.0], levels=[420.0] * 3, noise=None))
    with pytest.raises(CannotTellError, match="0 alkalinity readings"):
        joint_rate(replace(a, times=[], levels=[], noise=None), c)
    with pytest.raises(InputError, match="same water changes"):
        joint_rate(a, replace(c, events=WaterEvents()))
    with pytest.raises(InputError, match="one finite level"):
        replace(c, levels=[420.0], noise=None)
    with pytest.raises(InputError, match="SD above 0"):
        replace(c, sd=0.0)
    with pytest.raises(InputError, match="uncertainties from 0"):
        joint_rate(a, c, dose_u=(-0.1, 0.0))
    with pytest.raises(InputError, match="rising limits"):
        joint_rate(a, c, ratio_limits=(7.0, 6.0))
    for wrong in ({"ratio": 0.0}, {"gross_share": 1.0}, {"drift": (0.0,)}, {"change_size": -1.0}):
        with pytest.raises(InputError):
            JointPriors(**wrong)


def test_events_helper_and_pair_agree_on_the_water_changes() -> None:
    a, c = pair()
    assert np.array_equal(a.events.change_times, events(7.0, 420.0).change_times)
    assert np.array_equal(a.events.change_fractions, c.events.change_fractions)
