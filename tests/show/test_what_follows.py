"""What would follow: never against the decision, in settable amounts, and the month ahead by its equation."""

from __future__ import annotations

import dataclasses
import math
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

import reef_calc as rc
from reef_calc.log.tank import Tank
from reef_calc.plan.decision import LABEL_FIRST, PUMP_QUESTION
from reef_calc.show.containers_now import container_to_begin, containers_now
from reef_calc.show.outlook import AHEAD, drift, outlook
from reef_calc.show.review import page_of
from reef_calc.show.what_follows import Following, what_follows
from reef_calc.show.what_follows_page import what_follows_html
from tests.demo_tanks import demo_review
from tests.folders import SUPPLEMENTS, dose, make_tank
from tests.tank_cases import LIMITS, MACHINE_WORDS, ONE_OF_MANY, at, quiet, series, words_of

NOW = pd.Timestamp("2026-04-01T00:00", tz="UTC")
# Pump steps and a pump that gives less than set, beside the usual two containers.
STEPS = SUPPLEMENTS.replace(
    'raises = {alkalinity = "0.5 dKH"}}',
    'raises = {alkalinity = "0.5 dKH"}}\nlimits = {mL_per_day = 200, mL_per_dose = 40, step_mL = 1.0}\n'
    "delivered_over_set = {value = 0.9, u = 0.02}",
)


def falling(level: float, lost: float) -> list[dict[str, object]]:
    """Readings of a month that fall by so much a day and end near a level."""
    return series(45, "2026-02-15", 1, level=lambda i: at(level)(i) + lost * (44 - i), lot="")


NARROW = LIMITS.replace("low = 7.5", "low = 7.6").replace("high = 8.5", "high = 9.6")


def alkalinity(path: Path, **parts: object) -> tuple[Tank, Following]:
    """The one row of a small tank in March 2026."""
    tank = make_tank(path, **quiet(**parts))
    review = rc.review_month(tank, "2026-03")
    rows = what_follows(tank, review.standings, now=NOW)
    return tank, next(row for row in rows if row.standing.element == "alkalinity")


# Closed form against an independent integrator.
# Source: scipy's own Runge-Kutta of the balance dC/dt = net − q(C − C_new).
@given(
    st.floats(1, 500), st.floats(-5, 5), st.floats(0.0, 0.05), st.floats(1, 500), st.floats(0.1, 60)
)
@settings(max_examples=20, deadline=None)
def test_the_drift_solves_its_equation(
    start: float, net: float, pull: float, new: float, t: float
) -> None:
    found = solve_ivp(
        lambda _, c: net - pull * (c - new), (0, t), [start], rtol=1e-10, atol=1e-10
    ).y[0, -1]
    level, kept, response = drift(start, net, pull, new, [t])
    assert level[0] == pytest.approx(found, rel=1e-7, abs=1e-7)
    assert 0 < kept[0] <= 1
    assert response[0] <= t * (1 + 1e-12)


def test_weekly_changes_are_near_their_even_spread() -> None:
    # Day by day with a change of 10 % every seventh day, against the line through it.
    level, line = 8.0, []
    for day in range(30):
        level = level * 0.9 + 0.9 if day % 7 == 6 else level
        level -= 0.05
        line.append(level)
    even = drift(8.0, -0.05, -math.log(0.9) / 7, 9.0, np.arange(1, 31))[0]
    assert np.max(np.abs(even - line)) < 0.1 * np.max(9.0 - even)  # f·(C_new − C)


@pytest.mark.parametrize("name", ["classroom_reef", "nursery"])
@pytest.mark.parametrize("month", ["2026-09", "2026-06"])
def test_what_is_set_now_adds_up_to_the_dose(name: str, month: str) -> None:
    tank = demo_review(name, month).tank
    for standing in demo_review(name, month).standings:
        if standing.use is not None and standing.use.dose_now is not None:
            total = sum(one.rise for one in containers_now(tank, standing))
            assert total == pytest.approx(standing.use.dose_now, rel=1e-12)


@pytest.mark.parametrize("name", ["classroom_reef", "nursery"])
@pytest.mark.parametrize("month", ["2026-09", "2026-06"])
def test_it_never_goes_against_the_decision(name: str, month: str) -> None:
    rows = demo_review(name, month).following
    for row in rows:
        decision = row.standing.decision
        if row.setting is None:
            assert row.why_none
        else:
            assert decision.action in ("raise", "lower")
            assert LABEL_FIRST in row.cautions
        if decision.group != "change":
            assert row.setting is None
            assert decision.reason in row.why_none
    words = words_of(what_follows_html(rows))
    assert MACHINE_WORDS.findall(words) == []
    assert ONE_OF_MANY.findall(words) == []
    assert [r.standing.decision.group for r in rows] == sorted(
        (r.standing.decision.group for r in rows), key=["change", "test", "leave"].index
    )


def test_the_display_in_september() -> None:
    september = demo_review("classroom_reef", "2026-09")
    row = next(r for r in september.following if r.standing.element == "alkalinity")
    assert row.setting is not None
    use = row.standing.use
    assert use is not None and use.dose_now is not None and use.rate is not None
    # By hand: 60 g/L of a 99.5 % salt give 1.1265 meq/mL; 2.8 dKH per meq/L; 462 L; pump as set.
    per_mL = 60 * 0.995 / 105.988 * 2 * 2.8 / 462
    assert row.setting.container.per_amount == pytest.approx(per_mL, rel=2e-3)
    assert row.setting.exact == pytest.approx(167.5 * use.rate / use.dose_now, rel=1e-9)
    assert row.setting.low < row.setting.exact < row.setting.high
    assert row.setting.amount % 6 == 0  # six doses of whole mL
    assert row.first.startswith("Bring back")
    assert row.setting.brings == ("sodium",)
    words = words_of(september.follows_html())
    assert "First bring back 6.9 to 7.8" in words
    assert "It does not move calcium: see its own row." in words
    assert "03_supplement_plan.ipynb" in words
    assert PUMP_QUESTION in words


def test_it_is_on_the_page_and_takes_no_estimate_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    review = demo_review("nursery", "2026-09")
    again = dataclasses.replace(review)  # nothing kept from before
    for place in ("show.gather", "balance.consumption"):
        monkeypatch.setattr(
            f"reef_calc.{place}.estimate_consumption", lambda *_, **__: pytest.fail("again")
        )
    assert "What would follow" in again.follows_html()
    monkeypatch.undo()
    body = page_of(review, width=600).partition("<main>")[2]
    places = [body.index(part) for part in ("rc-overview", "rc-follows", "rc-element")]
    assert places == sorted(places)


def test_a_raise_in_settable_steps_by_a_pump_that_gives_less(tmp_path: Path) -> None:
    _, row = alkalinity(
        tmp_path / "tank",
        readings=falling(7.9, 0.06),
        additions=[dose("2026-02-01", "20", times="08:00;20:00")],
        water_changes=[],
        supplements=STEPS,
        tank=NARROW,
    )
    assert row.standing.decision.action == "raise", row.standing.decision
    assert row.first == ""
    assert row.setting is not None
    # 20 mL set are 18 mL delivered: 0.9·5/300 dKH a mL.
    assert row.setting.container.per_amount == pytest.approx(0.9 * 5 / 300)
    assert row.setting.amount % 2 == 0  # two doses of whole mL
    use = row.standing.use
    assert use is not None and use.rate is not None
    assert row.setting.exact * 0.9 * 5 / 300 == pytest.approx(use.rate)
    assert abs(row.setting.amount - row.setting.exact) <= 1
    words = words_of(what_follows_html([row]))
    assert f"part one: 20 to {row.setting.amount:g} mL a day" in words
    assert "2 doses of" in words


def test_the_share_of_another_container_stays(tmp_path: Path) -> None:
    both = STEPS + (
        '\n[supplement."both"]\n'
        'label = {amount = 10, unit = "mL", litres = 100, raises = {alkalinity = "0.2 dKH", '
        'calcium = "1.4 mg/L"}}\n'
    )
    _, row = alkalinity(
        tmp_path / "tank",
        readings=falling(7.9, 0.06),
        additions=[dose("2026-02-01", "20"), dose("2026-02-01", "8", supplement="both")],
        water_changes=[],
        supplements=both,
        tank=NARROW,
    )
    assert [one.supplement for one in row.containers] == ["part one", "both"]
    assert row.setting is not None
    assert row.setting.container.supplement == "part one"
    assert row.setting.others == ("both",)
    use = row.standing.use
    assert use is not None and use.rate is not None
    total = row.setting.exact * row.setting.container.per_amount + row.containers[1].rise
    assert total == pytest.approx(use.rate)
    assert "both stays as it is." in words_of(what_follows_html([row]))


def test_what_moves_with_it_is_named(tmp_path: Path) -> None:
    text = SUPPLEMENTS.replace(
        '{alkalinity = "0.5 dKH"}', '{alkalinity = "0.5 dKH", calcium = "3.5 mg/L"}'
    )
    _, row = alkalinity(
        tmp_path / "tank",
        readings=falling(7.9, 0.06),
        additions=[dose("2026-02-01", "20")],
        water_changes=[],
        supplements=text,
        tank=NARROW,
    )
    assert row.setting is not None
    ((name, unit, change),) = row.setting.moves
    assert (name, unit) == ("calcium", "mg/L")
    rise = (row.setting.amount - row.setting.container.amount) * row.setting.container.per_amount
    assert change / rise == pytest.approx(3.5 / 0.5, rel=1e-6)
    words = words_of(what_follows_html([row]))
    assert "With it calcium rises by" in words
    assert "does not move" not in words


def test_more_than_the_container_allows_is_no_setting(tmp_path: Path) -> None:
    _, row = alkalinity(
        tmp_path / "tank",
        readings=falling(7.9, 0.06),
        additions=[dose("2026-02-01", "20")],
        water_changes=[],
        supplements=STEPS.replace("mL_per_day = 200", "mL_per_day = 21"),
        tank=NARROW,
    )
    assert row.setting is None
    assert re.search(r"mL a day of part one would be needed, more than the 21 mL", row.why_none)


def test_less_than_a_step_is_no_setting(tmp_path: Path) -> None:
    _, row = alkalinity(
        tmp_path / "tank",
        readings=falling(7.9, 0.06),
        additions=[dose("2026-02-01", "20")],
        water_changes=[],
        supplements=STEPS.replace("step_mL = 1.0", "step_mL = 20"),
        tank=NARROW,
    )
    assert row.setting is None
    assert "less than one step of part one (20 mL a day)" in row.why_none


def test_a_first_dose_names_a_container_and_splits_it(tmp_path: Path) -> None:
    _, row = alkalinity(
        tmp_path / "tank",
        readings=falling(7.9, 0.7),
        additions=[],
        water_changes=[],
        supplements=STEPS,
        tank=LIMITS.replace("low = 7.5", "low = 7.0").replace("high = 8.5", "high = 60"),
    )
    if row.standing.decision.headline.startswith("Begin"):
        assert row.setting is not None
        assert row.setting.container.amount == 0
        assert row.setting.low < row.setting.exact < row.setting.high
        assert "Give it in at least" in words_of(what_follows_html([row]))
    tank = make_tank(tmp_path / "bare", **quiet(additions=[], supplements=""))
    (standing, *_) = rc.review_month(tank, "2026-03").standings
    assert container_to_begin(tank, standing) is None


def rising(level: float, gained: float) -> list[dict[str, object]]:
    """Readings that rise by so much a day."""
    return falling(level, -gained)


WIDE = LIMITS.replace("low = 7.5", "low = 5.0")


def test_a_dose_is_lowered_and_stopped(tmp_path: Path) -> None:
    rows, doses = rising(8.3, 0.04), [dose("2026-02-01", "20")]
    _, row = alkalinity(
        tmp_path / "lower", readings=rows, additions=doses, water_changes=[], tank=WIDE
    )
    assert row.standing.decision.headline.startswith("Lower the dose"), row.standing.decision
    assert row.setting is not None
    assert 0 < row.setting.amount < 20
    assert row.cautions == (LABEL_FIRST,)  # nothing to ask of the pump
    _, row = alkalinity(
        tmp_path / "stop", readings=rows, additions=[dose("2026-02-01", "0.6")],
        water_changes=[], tank=WIDE,
    )  # fmt: skip
    assert row.standing.decision.headline.startswith("Stop the dose"), row.standing.decision
    assert row.setting is not None and row.setting.amount == 0
    assert "part one: stop, 0.6 mL a day now" in words_of(what_follows_html([row]))


def test_above_the_aim_no_first_dose_is_suggested(tmp_path: Path) -> None:
    _, row = alkalinity(
        tmp_path / "high", readings=falling(9.5, 0.03), additions=[], water_changes=[]
    )
    assert row.standing.decision.headline.startswith("Nothing to add"), row.standing.decision
    assert row.setting is None
    assert "no dose can be lowered" in row.why_none


def test_above_the_aim_the_pause_comes_first(tmp_path: Path) -> None:
    _, row = alkalinity(
        tmp_path / "high",
        readings=rising(9.5, 0.04),
        additions=[dose("2026-02-01", "20")],
        water_changes=[],
    )
    assert row.setting is not None
    assert row.first.startswith("Lower or pause the dose until 8.0")
    assert "First lower or pause the dose until 8.0" in words_of(what_follows_html([row]))


def test_nothing_is_said_of_an_old_or_doubted_reading(tmp_path: Path) -> None:
    parts = quiet(readings=series(20, "2026-01-05", 2))
    tank = make_tank(tmp_path / "old", **parts)
    review = rc.review_month(tank, "2026-03")
    (row, *_) = what_follows(tank, review.standings, now=NOW)
    assert row.outlook is None
    assert "too old" in row.why_no_outlook
    rows = series()
    rows[-1]["value"] = "5.0"
    tank = make_tank(tmp_path / "doubted", **quiet(readings=rows))
    review = rc.review_month(tank, "2026-03")
    (row, *_) = what_follows(tank, review.standings, now=NOW)
    assert row.setting is None
    assert row.outlook is None
    assert "in doubt" in row.why_no_outlook


def test_the_month_ahead_by_hand(tmp_path: Path) -> None:
    _, row = alkalinity(
        tmp_path / "tank",
        readings=falling(8.0, 0.03),
        additions=[dose("2026-02-01", "20")],
        water_changes=[],
    )
    ahead, use = row.outlook, row.standing.use
    assert ahead is not None and use is not None
    assert use.rate is not None and use.dose_now is not None
    slope = use.dose_now - use.rate
    assert np.diff(ahead.level) == pytest.approx(np.full(AHEAD, slope))
    assert ahead.changes_bring == 0
    assert ahead.side == "below"
    # It falls by 0.03 a day from 8.0 towards an aim of 7.5.
    assert ahead.leaves is not None and 10 <= ahead.leaves <= 25
    assert ahead.earliest is not None and ahead.earliest <= ahead.leaves
    assert ahead.level[ahead.leaves] < 7.5 <= ahead.level[ahead.leaves - 1]
    assert "Below the aim about" in words_of(what_follows_html([row]))


def test_a_caution_level_on_the_way_is_named(tmp_path: Path) -> None:
    _, row = alkalinity(
        tmp_path / "tank",
        readings=falling(8.0, 0.12),
        additions=[dose("2026-02-01", "20")],
        water_changes=[],
        tank=LIMITS.replace("high = 8.5", "high = 11"),
    )
    assert row.outlook is not None
    assert row.outlook.caution is not None
    assert row.outlook.level[row.outlook.caution] < 6.0
    assert "Passes a caution level about" in words_of(what_follows_html([row]))


@given(st.floats(-0.3, 0.3), st.floats(0.01, 0.4), st.floats(5, 12))
@settings(max_examples=25, deadline=None)
def test_the_band_holds_the_line_and_days_are_in_order(
    net: float, half: float, level: float
) -> None:
    from tests.standings import alkalinity as invented

    standing = invented(90)
    use = standing.use
    assert use is not None
    changed = dataclasses.replace(
        use, dose_now=1.0, rate=1.0 - net, low=1.0 - net - half, high=1.0 - net + half,
        against_dose=(1.0 - net - half, 1.0 - net + half), level_now=(level, 0.1),
    )  # fmt: skip
    ahead = outlook(dataclasses.replace(standing, use=changed), now=changed.until)
    assert ahead is not None
    assert np.all(ahead.low < ahead.level) and np.all(ahead.level < ahead.high)
    assert np.all(np.diff(ahead.high - ahead.low) > -1e-9)
    if ahead.leaves is not None:
        assert ahead.earliest is not None and ahead.earliest <= ahead.leaves
    assert (ahead.side == "") is (ahead.earliest is None)
    assert (ahead.returns is not None) <= (ahead.leaves == 0)


def test_the_table_can_be_read_by_everyone() -> None:
    september = demo_review("classroom_reef", "2026-09")
    page = september.follows_html()
    assert page.count("<table") == 1
    assert page.count('scope="col"') == 4
    assert page.count('scope="row"') == len(september.following)
    assert "<caption>" in page
    assert re.findall(r"(?:color|fill):#", page) == []


def test_markup_in_a_name_stays_text(tmp_path: Path) -> None:
    name = "<i>one</i>"
    text = STEPS.replace('"part one"', f'"{name}"')
    _, row = alkalinity(
        tmp_path / "tank",
        readings=falling(7.9, 0.06),
        additions=[dose("2026-02-01", "20", supplement=name)],
        water_changes=[],
        supplements=text,
        tank=NARROW,
    )
    assert row.setting is not None
    assert "<i>" not in what_follows_html([row])
    assert "&lt;i&gt;one" in what_follows_html([row])
