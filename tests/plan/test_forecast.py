"""The forecast: closed form against draws and against a library of uncertainties; when to test.

Propagation of uncertainty is that of JCGM 100:2008, 5.1.2; the library is ``uncertainties``. The
10 % and the usual days between tests are *common practice, no source*.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat

from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import codes
from reef_calc.plan.forecast import (
    Forecast,
    forecast,
    forecast_if_nothing_changes,
    forecast_of_doses,
)
from reef_calc.plan.forecast_draws import forecast_draws
from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
from reef_calc.plan.recursion import levels_day_by_day
from reef_calc.plan.solved import SolvedPlan
from reef_calc.plan.spread import today_kept
from reef_calc.plan.when_to_test import when_to_test

FEW = settings(max_examples=30, deadline=None, derandomize=True)
WEEKLY = tuple(0.1 if day % 7 == 6 else 0.0 for day in range(30))


def alkalinity(**other: Any) -> ElementToPlan:
    given_ = {
        "use": 1.0, "new_water": 9.0, "low": 7.5, "aim": 8.0, "high": 8.5, "u_start": 0.1,
        "u_use": 0.06, "u_day": 0.1, "u_new_water": 0.3,
    }  # fmt: skip
    return ElementToPlan("alkalinity", "dKH", **({"start": 8.0} | given_ | other))


CALCIUM = ElementToPlan(
    "calcium", "mg/L", 415.0, use=7.0, new_water=430.0, low=400.0, aim=420.0, high=440.0,
    u_start=5.0, u_use=0.6, u_day=1.0, u_new_water=10.0,
)  # fmt: skip
STOCKS = (
    SupplementToPlan("soda", {"alkalinity": 0.012, "sodium": 0.1}, u_effect=0.03, set_now=60.0),
    SupplementToPlan("acetate", {"alkalinity": 0.01, "calcium": 0.1}, u_effect=0.05, lag_days=1.5),
    SupplementToPlan("calcium stock", {"calcium": 0.1}, u_effect=0.04, set_now=50.0),
)
PROBLEM = PlanProblem((alkalinity(arriving=(0.1, 0.05)), CALCIUM), STOCKS, 30, WEEKLY, 0.03)
DAILY = np.array([[60.0] * 10 + [70.0] * 20, [20.0] * 30, [45.0] * 30])


def solved(problem: PlanProblem, amounts: np.ndarray, phases: tuple[int, ...]) -> SolvedPlan:
    plan = SolvedPlan(
        problem, phases, amounts, amounts, np.ones(amounts.shape, dtype=int), np.empty(0), (), None,
        {}, 0.0,
    )  # fmt: skip
    return replace(plan, levels=levels_day_by_day(problem, plan.daily()))


def by_library(problem: PlanProblem, daily: np.ndarray, alone: dict[str, float]) -> np.ndarray:
    """Standard deviations from a day-by-day loop on numbers that carry their uncertainty."""
    volume = ufloat(1.0, problem.u_volume)
    strength = [ufloat(1.0, one.u_effect) for one in problem.supplements]
    found = np.zeros((len(problem.elements), problem.days + 1))
    for row, one in enumerate(problem.elements):
        level, new = ufloat(one.start, one.u_start), ufloat(one.new_water, one.u_new_water)
        use: Any = ufloat(one.use, alone.get(one.name, one.u_use))
        if one.name in alone:
            for s, factor in zip(problem.supplements, strength, strict=True):
                use = use + s.effect.get(one.name, 0.0) * s.set_now * (factor * volume - 1.0)
        found[row, 0] = level.std_dev
        for day in range(problem.days):
            f = problem.exchanged[day]
            level = (1 - f) * level + f * new - use - ufloat(0.0, one.u_day)
            for j, (s, factor) in enumerate(zip(problem.supplements, strength, strict=True)):
                lag = s.lag_days if one.name == "alkalinity" else 0.0
                amount = sum(
                    share * daily[j, day - shift]
                    for shift, share in ((int(lag), 1 - lag % 1), (int(lag) + 1, lag % 1))
                    if day >= shift
                )
                level = level + s.effect.get(one.name, 0.0) * amount * factor * volume
            found[row, day + 1] = level.std_dev
    return found


@pytest.mark.parametrize("alone", [{}, {"alkalinity": 0.04}])
def test_the_closed_form_is_the_propagation_of_a_library(alone: dict[str, float]) -> None:
    stocks = [
        replace(s, effect={k: v for k, v in s.effect.items() if k != "sodium"}) for s in STOCKS
    ]
    # u_use holds what pump and strength do to it, and nothing else that would not cancel.
    whole = float(np.hypot(0.04, 0.012 * 60.0 * 0.03)) if alone else 0.06
    problem = replace(
        PROBLEM, elements=(alkalinity(u_use=whole), CALCIUM), supplements=tuple(stocks)
    )
    expected = by_library(problem, DAILY, alone)
    ahead = forecast_of_doses(problem, DAILY, u_use_alone=alone)
    np.testing.assert_allclose(ahead.sd, expected, rtol=1e-9)


@pytest.mark.parametrize("alone", [None, {"alkalinity": 0.04, "calcium": 0.5}])
def test_draws_agree_with_the_closed_form(alone: dict[str, float] | None) -> None:
    closed = forecast_of_doses(PROBLEM, DAILY, u_use_alone=alone)
    drawn = forecast_of_doses(PROBLEM, DAILY, draws=20_000, u_use_alone=alone)
    np.testing.assert_allclose(drawn.sd, closed.sd, rtol=0.02)
    np.testing.assert_allclose(drawn.outside, closed.outside, atol=0.015)
    np.testing.assert_allclose(drawn.low, closed.low, atol=0.08 * closed.sd.max(1)[:, None].max())
    assert drawn.draws == 20_000
    for name in ("alkalinity", "calcium"):
        days = [when_to_test(one, name).day for one in (closed, drawn)]
        assert abs(days[0] - days[1]) <= 1


def test_draws_without_any_uncertainty_are_the_plain_levels() -> None:
    elements = tuple(
        replace(e, u_start=0.0, u_use=0.0, u_day=0.0, u_new_water=0.0) for e in PROBLEM.elements
    )
    stocks = tuple(replace(s, u_effect=0.0) for s in STOCKS)
    sure = PlanProblem(elements, stocks, 30, WEEKLY)
    courses = forecast_draws(sure, DAILY, 200)
    np.testing.assert_allclose(courses[7], levels_day_by_day(sure, DAILY), rtol=1e-12)
    ahead = forecast_of_doses(sure, DAILY)
    assert set(ahead.outside.ravel()) <= {0.0, 1.0}
    assert codes(ahead.messages) == ("USE_WITHOUT_INTERVAL", "USE_WITHOUT_INTERVAL")


def test_the_same_seed_gives_the_same_draws() -> None:
    a, b, c = (forecast_draws(PROBLEM, DAILY, 300, seed=seed) for seed in (1, 1, 2))
    assert (a == b).all()
    assert (a != c).any()


def test_a_forecast_of_a_plan_is_that_of_its_doses() -> None:
    plan = solved(PROBLEM, np.array([[60.0, 70.0], [20.0, 20.0], [45.0, 45.0]]), (0, 10))
    ahead, same = forecast(plan), forecast_of_doses(PROBLEM, DAILY)
    np.testing.assert_array_equal(ahead.levels, plan.levels)
    np.testing.assert_array_equal(ahead.sd, same.sd)
    unchanged = forecast_if_nothing_changes(PROBLEM)
    np.testing.assert_array_equal(
        unchanged.levels,
        levels_day_by_day(PROBLEM, np.array([[60.0], [0.0], [50.0]]) * np.ones(30)),
    )


def test_the_budget_adds_up_and_names_what_matters() -> None:
    ahead = forecast_of_doses(PROBLEM, DAILY)
    for day in (0, 1, 30):
        parts = ahead.budget("alkalinity", day)
        assert parts["share"].sum() == pytest.approx(1.0)
        assert float((parts["u"] ** 2).sum()) == pytest.approx(float(ahead.sd[0, day]) ** 2)
        assert parts["share"].is_monotonic_decreasing
    assert ahead.budget("alkalinity", 0)["source"][0] == "level at the start"
    assert ahead.budget("alkalinity", 30)["source"][0] == "use"
    assert "strength and delivery of acetate" in ahead.sources
    with pytest.raises(InputError, match="a day from 0 to 30"):
        ahead.budget("alkalinity", 31)


def test_going_on_with_the_same_dose_meets_the_same_strength() -> None:
    """A stock that is weaker than written made the use look larger, and the dose still meets it."""
    problem = PlanProblem(
        (alkalinity(u_start=0.0, u_day=0.0, u_use=0.0),),
        (SupplementToPlan("soda", {"alkalinity": 0.01}, u_effect=0.05, set_now=100.0),), 20,
        u_volume=0.04,
    )  # fmt: skip
    same = forecast_of_doses(problem, today_kept(problem), u_use_alone={"alkalinity": 0.0})
    assert np.allclose(same.sd, 0.0)
    more = forecast_of_doses(problem, 1.2 * today_kept(problem), u_use_alone={"alkalinity": 0.0})
    assert more.sd[0, 20] == pytest.approx(0.2 * 20 * np.hypot(0.05, 0.04))


def test_changing_the_supplement_keeps_both_strengths_but_not_the_volume() -> None:
    stocks = (
        SupplementToPlan("old", {"alkalinity": 0.01}, u_effect=0.05, set_now=100.0),
        SupplementToPlan("new", {"alkalinity": 0.02}, u_effect=0.03),
    )
    problem = PlanProblem(
        (alkalinity(u_start=0.0, u_day=0.0, u_use=0.0),), stocks, 10, u_volume=0.2
    )
    daily = np.array([[0.0] * 10, [50.0] * 10])
    ahead = forecast_of_doses(problem, daily, u_use_alone={"alkalinity": 0.0})
    assert ahead.sd[0, 10] == pytest.approx(10 * np.hypot(0.05, 0.03))


def test_doses_of_another_time_do_not_cancel() -> None:
    """What u_use holds beyond today's doses stays in the band."""
    problem = PlanProblem(
        (alkalinity(u_start=0.0, u_day=0.0, u_use=0.10),),
        (SupplementToPlan("soda", {"alkalinity": 0.01}, u_effect=0.05, set_now=0.0),), 10,
    )  # fmt: skip
    ahead = forecast_of_doses(problem, np.zeros((1, 10)), u_use_alone={"alkalinity": 0.02})
    assert ahead.sd[0, 10] == pytest.approx(10 * 0.10)


@FEW
@given(
    planned=st.floats(0, 200),
    before=st.floats(0, 200),
    alone=st.floats(0, 0.2),
    u=st.floats(0, 0.2),
)
def test_independence_is_never_too_narrow_for_strength(
    planned: float, before: float, alone: float, u: float
) -> None:
    whole = float(np.hypot(alone, 0.01 * before * u))
    problem = PlanProblem(
        (alkalinity(u_use=whole),),
        (SupplementToPlan("soda", {"alkalinity": 0.01}, u_effect=u, set_now=before),), 14,
        WEEKLY[:14],
    )  # fmt: skip
    daily = np.full((1, 14), planned)
    wide = forecast_of_doses(problem, daily).sd
    told = forecast_of_doses(problem, daily, u_use_alone={"alkalinity": alone}).sd
    assert (wide >= told - 1e-9).all()


@FEW
@given(
    source=st.sampled_from(["u_start", "u_use", "u_day", "u_new_water"]), more=st.floats(1.0, 5.0)
)
def test_more_uncertainty_never_narrows_the_band(source: str, more: float) -> None:
    first = PROBLEM.elements[0]
    wider = replace(first, **{source: more * getattr(first, source)})
    ahead = forecast_of_doses(replace(PROBLEM, elements=(wider, CALCIUM)), DAILY)
    assert (ahead.sd >= forecast_of_doses(PROBLEM, DAILY).sd - 1e-12).all()


def test_units_do_not_matter() -> None:
    """1 dKH = 0.356652 meq/L: CIAAW 2021."""
    factor = 0.356652
    kh = PROBLEM.elements[0]
    scaled = {
        name: getattr(kh, name) * factor
        for name in ("start", "use", "new_water", "low", "aim", "high", "u_start", "u_use", "u_day",
                     "u_new_water")
    }  # fmt: skip
    stocks = tuple(
        replace(
            s, effect={k: v * (factor if k == "alkalinity" else 1) for k, v in s.effect.items()}
        )
        for s in STOCKS
    )
    other = replace(
        PROBLEM,
        elements=(
            replace(kh, unit="meq/L", arriving=tuple(factor * x for x in kh.arriving), **scaled),
            CALCIUM,
        ),
        supplements=stocks,
    )
    a, b = forecast_of_doses(PROBLEM, DAILY), forecast_of_doses(other, DAILY)
    np.testing.assert_allclose(b.sd[0], factor * a.sd[0], rtol=1e-12)
    np.testing.assert_allclose(b.outside, a.outside, atol=1e-12)


def test_an_element_without_aims_is_told_without_a_chance() -> None:
    sodium = ElementToPlan("sodium", "mg/L", 11000.0)
    problem = PlanProblem((sodium,), STOCKS, 5)
    ahead = forecast_of_doses(problem, np.full((3, 5), 10.0))
    assert np.isnan(ahead.outside).all()
    with pytest.raises(CannotTellError, match="Sodium has no aims"):
        when_to_test(ahead, "sodium")


def test_what_would_be_used_up_is_said() -> None:
    phosphate = ElementToPlan("phosphate", "mg/L", 0.05, use=0.01, low=0.02, high=0.1, u_use=0.002)
    ahead = forecast_if_nothing_changes(PlanProblem((phosphate,), (), 30))
    assert ahead.messages[0].code == "USED_UP"
    assert "used up by day 6" in ahead.messages[0].text


def test_the_frame_has_dates() -> None:
    frame = forecast_of_doses(PROBLEM, DAILY).frame("calcium", dt.date(2026, 10, 1))
    assert list(frame.columns) == ["day", "date", "level", "low", "high", "outside"]
    assert frame["date"].iloc[30] == dt.date(2026, 10, 31)
    assert "date" not in forecast_of_doses(PROBLEM, DAILY).frame("calcium")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"draws": 5}, "200 to 200000 draws"),
        ({"draws": 10**9}, "200 to 200000 draws"),
        ({"draws": 2.5}, "200 to 200000 draws"),
        ({"u_use_alone": {"alkalinity": -0.1}}, "an uncertainty of 0 or more for the use of alk"),
        ({"u_use_alone": {"iron": 0.1}}, "one of alkalinity, calcium"),
        ({"daily": -DAILY}, "doses of 0 or more"),
        ({"daily": DAILY[:, :5]}, "an amount for each of 3 supplements on each of 30 days"),
        ({"problem": replace(PROBLEM, u_volume=-0.1)}, "an uncertainty of 0 or more for the net vol"),
        ({"problem": replace(PROBLEM, elements=(alkalinity(u_day=float("nan")), CALCIUM))},
         "alkalinity from day to day"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_refused_in_words(change: dict[str, Any], words: str) -> None:
    given_ = {"problem": PROBLEM, "daily": DAILY} | change
    problem, daily = given_.pop("problem"), given_.pop("daily")
    with pytest.raises(InputError, match=words):
        forecast_of_doses(problem, daily, **given_)


def steady(days: int = 30, **other: Any) -> Forecast:
    stock = SupplementToPlan("soda", {"alkalinity": 0.01}, set_now=100.0)
    problem = PlanProblem((alkalinity(u_day=0.0, **other),), (stock,), days)
    return forecast_if_nothing_changes(problem)


def test_the_next_test_is_the_first_day_that_passes_a_tenth() -> None:
    """sd(d)² = 0.1² + (0.06·d)²; two-sided 10 % of a half-band of 0.5 is sd = 0.5/1.6449 = 0.304."""
    ahead = steady()
    found = when_to_test(ahead, "alkalinity", start=dt.date(2026, 10, 1))
    assert found.day == found.leaves_on == int(np.ceil(np.sqrt(0.304**2 - 0.1**2) / 0.06)) == 5
    assert ahead.outside[0, 4] <= 0.10 < ahead.outside[0, 5]
    assert found.words.startswith("Test alkalinity on 6 Oct 2026 (in 5 days): 8.0 dKH (7.4 to 8.6)")
    assert "Every 3 days is usual" in found.words


def test_a_sure_forecast_asks_for_the_usual_day_or_the_last() -> None:
    sure = {"u_use": 0.001, "u_start": 0.05}
    found = when_to_test(steady(**sure), "alkalinity")
    assert (found.day, found.leaves_on) == (3, None)
    assert "Through all 30 days" in found.words
    assert when_to_test(steady(days=2, **sure), "alkalinity").day == 2


def test_a_start_outside_asks_for_a_test_before() -> None:
    low = steady(start=7.0, u_start=0.1, use=0.5)
    found = when_to_test(low, "alkalinity")
    assert (found.day, found.then_on) == (0, 2)
    assert found.words.startswith("Test alkalinity before you start: today 7.0 dKH (6.8 to 7.2)")
    assert "more than 99 %" in found.words
    tomorrow = when_to_test(steady(start=8.45, u_start=0.01, u_use=0.001, use=0.96), "alkalinity")
    assert tomorrow.day == 0
    assert "after one day 8.4" in tomorrow.words


def test_one_sided_aims() -> None:
    nitrate = ElementToPlan("nitrate", "mg/L", 6.0, use=-0.2, high=10.0, u_use=0.05, u_start=0.5)
    found = when_to_test(forecast_if_nothing_changes(PlanProblem((nitrate,), (), 30)), "nitrate")
    assert found.leaves_on is not None
    assert "at most 10 mg/L" in found.words


def test_a_kit_that_scatters_more_than_the_forecast_is_told() -> None:
    found = when_to_test(steady(), "alkalinity", kit_sd=0.2)
    assert found.tells_most_from == int(np.ceil(np.sqrt(0.4**2 - 0.1**2) / 0.06)) == 7
    assert "do the test twice" in found.words
    assert "tells little more" in when_to_test(steady(), "alkalinity", kit_sd=0.5).words
    assert "The kit" not in when_to_test(steady(), "alkalinity", kit_sd=0.1).words
    with pytest.raises(InputError, match="a scatter above 0 dKH"):
        when_to_test(steady(), "alkalinity", kit_sd=0.0)
