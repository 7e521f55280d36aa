"""The plan page under wet hands: what it says must be true of the plan, whatever is typed."""

from __future__ import annotations

import dataclasses
import datetime as dt
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from reef_calc import open_tank
from reef_calc.chem.supplements import Supplement
from reef_calc.plan.equal_phases import without_equal_phases
from reef_calc.plan.forecast import forecast
from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
from reef_calc.plan.recursion import levels_day_by_day
from reef_calc.plan.solved import SolvedPlan
from reef_calc.show.dose_on_ph import WaterNow
from reef_calc.show.panels.plan_done import PlannedAndDoneView
from reef_calc.show.panels.plan_safety import PlanSafetyView
from reef_calc.show.panels.plan_water import PlanWaterView
from reef_calc.show.panels.supplement_plan import SupplementPlanPanel
from reef_calc.show.plan_safety import amount_litres
from reef_calc.show.plan_sentences import chances_sentence, outcome_sentence, settings_sentence
from reef_calc.show.review import review_month
from reef_calc.show.supplement_change_tables import days_html, effects_html
from reef_calc.show.supplement_swap import swap
from reef_calc.show.what_follows import what_follows
from reef_calc.show.what_follows_page import what_follows_html
from tests.folders import SUPPLEMENTS, dose, make_folder
from tests.show.test_supplement_plan_panel import DEMO, send, show, shown
from tests.tank_cases import LIMITS, at, quiet, series, words_of

START = dt.date(2026, 10, 1)


@pytest.fixture
def page(tmp_path: Path) -> Callable[..., SupplementPlanPanel]:
    """Make the page of a quiet tank, some of its parts replaced, planned from 2 April 2026."""

    def make(name: str = "reef", **parts: object) -> SupplementPlanPanel:
        panel = SupplementPlanPanel(make_folder(tmp_path / name, **quiet(**parts)))
        send(panel.form.start, value="2026-04-02")
        return panel

    return make


def solved(
    levels: list[float], amounts: list[float], phases: tuple[int, ...] = (0,), now: float = 60.0
) -> SolvedPlan:
    """One element and one supplement, with levels as told."""
    kh = ElementToPlan(
        "alkalinity", "dKH", levels[0], use=0.6, low=7.5, aim=8.0, high=8.5, u_start=0.2
    )
    soda = SupplementToPlan("soda", {"alkalinity": 0.01}, set_now=now)
    problem = PlanProblem((kh,), (soda,), len(levels) - 1)
    given = np.array([amounts])
    inside = [7.5 <= level <= 8.5 for level in levels]
    since = next((d for d in range(len(inside)) if all(inside[d:])), None)
    return SolvedPlan(
        problem, phases, given, given, np.full(given.shape, 2), np.array([levels]), (), None,
        {"alkalinity": since}, 0.0,
    )  # fmt: skip


def test_an_error_of_one_view_does_not_follow_to_the_next(
    page: Callable[..., SupplementPlanPanel],
) -> None:
    panel = page(additions=[])  # nothing is dosed, which "Change a supplement" asks for
    show(panel, "Change a supplement")
    assert "From, a day" in panel.message.value
    show(panel, "Safety")
    assert "From, a day" not in panel.message.value
    send(panel.form.days, value="0")
    for view in ("Plan", "Change a supplement", "Safety"):
        show(panel, view)
    assert "1 to 366 whole days" in panel.message.value  # why there is no plan stays


def test_a_field_set_right_takes_its_error_back(page: Callable[..., SupplementPlanPanel]) -> None:
    panel = page()
    show(panel, "pH and residue")
    water = panel.views["pH and residue"]
    assert isinstance(water, PlanWaterView)
    assert water.air.placeholder == "500"
    send(water.months, value="0")
    assert 'role="alert"' in panel.message.value
    send(water.months, value="6")
    assert "whole months" not in panel.message.value


def test_another_tank_starts_with_empty_fields(page: Callable[..., SupplementPlanPanel]) -> None:
    panel = page()
    other = page("other")
    assert other.tank is not None
    show(panel, "pH and residue")
    show(panel, "Safety")
    water, safety = panel.views["pH and residue"], panel.views["Safety"]
    assert isinstance(water, PlanWaterView)
    assert isinstance(safety, PlanSafetyView)
    send(water.ph, value="7,9")
    send(safety.lime, value="20")
    send(panel.folder, value=str(other.tank.folder))
    show(panel, "pH and residue")
    show(panel, "Safety")
    assert (water.ph.value, safety.lime.value) == ("", "")


def test_the_notice_of_a_tank_goes_with_it(
    page: Callable[..., SupplementPlanPanel], tmp_path: Path
) -> None:
    panel = page()
    assert "do not follow it" in panel.notice.value
    send(panel.folder, value=str(tmp_path / "nothing"))
    assert panel.notice.value == ""


@pytest.mark.parametrize("text", ["0001-01-01", "1500-01-01", "2300-01-01", "9999-12-31"])
def test_a_mistyped_century_is_told(page: Callable[..., SupplementPlanPanel], text: str) -> None:
    panel = page()
    send(panel.form.start, value=text)
    assert "1950 to 2199" in panel.message.value


def test_the_aim_of_the_folder_can_be_typed() -> None:
    panel = SupplementPlanPanel(DEMO / "classroom_reef")
    assert panel.plan is not None
    assert "Type an aim to have it followed" in show(panel, "Plan")
    assert "magnesium stock" in panel.plan.kept
    assert panel.form.aims["magnesium"].placeholder == "1310"
    send(panel.form.aims["magnesium"], value="1310")
    assert panel.plan is not None
    assert "magnesium stock" in panel.plan.supplements


def test_phases_that_are_alike_are_one() -> None:
    plan = solved([9.9, 9.4, 8.9, 8.4, 8.4, 8.4], [30.4, 30.4, 57.2], (0, 2, 3))
    assert settings_sentence(plan) == "Lower soda from 60 to 57.2 mL a day, after 30.4 for 3 days"
    merged = without_equal_phases(plan)
    assert merged.phases == (0, 3)
    assert np.array_equal(merged.daily(), plan.daily())
    assert without_equal_phases(merged) is merged


def test_what_stays_is_not_said_of_the_other() -> None:
    one = solved([8.0] * 6, [208.0, 171.0], (0, 2), now=167.5)
    lime = SupplementToPlan("lime salt", {"alkalinity": 0.0, "calcium": 0.1}, set_now=192.0)
    both = dataclasses.replace(
        one,
        problem=dataclasses.replace(one.problem, supplements=(*one.problem.supplements, lime)),
        amounts=np.array([[208.0, 171.0], [270.0, 192.0]]),
        doses_a_day=np.full((2, 2), 3),
    )
    assert settings_sentence(both) == (
        "For 2 days soda 208 mL and lime salt 270 mL a day, then soda 171 mL and lime salt 192 mL "
        "(as now)"
    )


def test_a_level_that_runs_out_or_overshoots_is_told() -> None:
    gone = outcome_sentence(solved([7.6, 4.0, 1.0, -2.0], [0.0]), START)
    assert gone == "Alkalinity would be used up by 4 October."
    over = outcome_sentence(solved([6.0, 7.6, 8.4, 8.9], [90.0]), START)
    assert over == (
        "Alkalinity would come within its aims on 2 October, but not stay there until 4 October."
    )
    short = outcome_sentence(solved([6.0, 6.2, 6.4, 6.6], [90.0]), START)
    assert short == "Alkalinity would not be back within its aims by 4 October."


def test_a_level_at_the_edge_is_not_called_safe() -> None:
    edge = solved([7.55] * 4, [60.0])
    ahead = forecast(edge)
    assert "up to 40 % for alkalinity" in chances_sentence(edge, ahead)
    middle = solved([8.0, 8.0, 8.0, 8.0], [60.0])
    assert chances_sentence(middle, forecast(middle)) == ""


def test_what_is_not_known_is_not_drawn(page: Callable[..., SupplementPlanPanel]) -> None:
    words = show(page(), "pH and residue")
    assert "Sodium cannot be told while only a label is known" in words
    assert "Sodium, mg/L" not in words
    assert "Salinity" in words


def test_what_a_label_does_not_tell_is_not_none() -> None:
    label = Supplement("label", {"alkalinity": 1.0})
    known = Supplement("known", {"alkalinity": 1.0, "sodium": 23.0}, dissolved_salt_mg=84.0)
    found = swap(
        label, known, "alkalinity", "dKH", 40.0, WaterNow(100.0), start=dt.date(2026, 3, 1),
        doses_old=24, days=7,
    )  # fmt: skip
    row = next(r for r in effects_html(found).split("<tr") if "Sodium" in r)
    assert row.count("not told") == 3


def test_single_doses_make_up_the_day() -> None:
    old, new = (Supplement(name, {"alkalinity": 1.0}) for name in ("old", "new"))
    found = swap(
        old, new, "alkalinity", "dKH", 40.0, WaterNow(100.0), start=dt.date(2026, 3, 1),
        doses_old=24, days=7,
    )  # fmt: skip
    told = re.findall(r"([\d.]+) mL = (\d+) × ([\d.]+) mL", words_of(days_html(found)))
    assert len(told) > 8
    for whole, doses, each in told:
        assert float(whole) == pytest.approx(int(doses) * float(each), rel=0.006)


def test_a_bound_reads_the_same_everywhere(page: Callable[..., SupplementPlanPanel]) -> None:
    assert amount_litres(436.0, "mL", down=True) == "430 mL"
    tank = LIMITS.replace("net_L = 300.0", "net_L = 4000.0")
    additions = [dose("2026-02-20", "800")]
    words = words_of(show(page(tank=tank, additions=additions), "Safety"))
    told = re.search(r"Keep no more than ([\d.]+ m?L) of part one", words)
    assert told is not None
    assert f"at most {told[1]}, for alkalinity" in words


def test_limewater_that_runs_in_has_a_ph(page: Callable[..., SupplementPlanPanel]) -> None:
    panel = page()
    show(panel, "Safety")
    safety = panel.views["Safety"]
    assert isinstance(safety, PlanSafetyView)
    send(safety.lime, value="2000")
    words = words_of(shown(panel.place))
    row = next(line for line in words.split("limewater") if "2000 L" in line)
    assert re.search(r"\b1\d\.\d\b", row) or "not known" in row
    assert "e+" not in words
    send(safety.lime, value="20")
    words = words_of(shown(panel.place))
    assert re.search(r"\n(9|10)\.\d\n", words)


def test_two_plans_of_one_minute_are_told_apart(page: Callable[..., SupplementPlanPanel]) -> None:
    tank = LIMITS.replace("net_L = 300.0", "net_L = 12.0").replace("9.0", "0.4")
    panel = page(tank=tank, additions=[dose("2026-02-20", "2.4")])
    show(panel, "Take away")
    for _ in range(2):
        panel.views["Take away"].store.click()  # type: ignore[attr-defined]
    show(panel, "Planned and done")
    done = panel.views["Planned and done"]
    assert isinstance(done, PlannedAndDoneView)
    names = [name for name, _ in done.plan.options]
    assert len(set(names)) == 2
    send(done.until, value="2026-04-03")
    told = words_of(shown(panel.place))
    assert re.search(r"\n\d+\.\d+ mL\n", told)  # a few mL are not rounded to whole ones


def test_a_plan_that_has_not_begun_is_not_judged(page: Callable[..., SupplementPlanPanel]) -> None:
    panel = page()
    show(panel, "Take away")
    panel.views["Take away"].store.click()  # type: ignore[attr-defined]
    (file,) = (panel.tank.folder / "plans").glob("*.toml")  # type: ignore[union-attr]
    file.write_text(file.read_text("utf-8").replace("2026-", "2126-"), "utf-8")
    assert "has not begun" in show(panel, "Planned and done")


def test_the_sheet_names_the_test_after_the_first(page: Callable[..., SupplementPlanPanel]) -> None:
    from reef_calc.show.panels.plan_away import sheet_of

    panel = page(readings=series(level=at(6.8)))
    assert panel.results is not None
    test = panel.results.tests["alkalinity"]
    assert test.day == 0
    assert test.then_on is not None
    sheet = words_of(sheet_of(panel.results))
    again = panel.results.plan.date(test.then_on)
    assert "before you start:" in sheet
    assert f"{again.day} {again:%B}: expected" in sheet


def test_the_review_says_that_a_level_is_brought_back(tmp_path: Path) -> None:
    tank = open_tank(make_folder(tmp_path / "low", **quiet(readings=series(level=at(6.6)))))
    following = what_follows(tank, review_month(tank, "2026-03").standings)
    one = next(f for f in following if f.standing.element == "alkalinity")
    assert one.first
    words = words_of(what_follows_html(following))
    assert one.setting is not None or "is brought back first" in words
    assert "No dose is changed on these readings" not in words
    assert one.cautions
    assert words.index("First bring back") < words.index("No new setting")


@pytest.mark.parametrize(
    ("net", "amount", "unit"), [(20.0, "4", "mL"), (20000.0, "4000", "mL"), (300.0, "3", "g")]
)
def test_every_size_is_told_in_plain_figures(
    page: Callable[..., SupplementPlanPanel], net: float, amount: str, unit: str
) -> None:
    supplements = SUPPLEMENTS
    if unit == "g":
        supplements = (
            '[supplement."part one"]\nlabel = {amount = 1, unit = "g", litres = 100, '
            'raises = {alkalinity = "0.3 dKH"}}\nlimits = {step_g = 0.5}\n'
        )
    tank = LIMITS.replace("net_L = 300.0", f"net_L = {net}")
    panel = page(
        tank=tank.replace("net_u_L = 9.0", f"net_u_L = {0.03 * net}"), supplements=supplements,
        additions=[dose("2026-02-20", amount, unit=unit)], readings=series(level=at(7.0)),
        water_changes=[],
    )  # fmt: skip
    assert panel.plan is not None
    again = levels_day_by_day(panel.plan.problem, panel.plan.solved.daily())
    assert np.allclose(again, panel.plan.solved.levels, atol=1e-9, rtol=0)
    for view in ("Plan", "pH and residue", "Safety", "Change a supplement", "Take away"):
        words = words_of(re.sub(r'href="[^"]*"', "", show(panel, view)))
        words = words.replace("None of this", "")
        assert not re.search(r"\d[eE][+-]\d", words)
        assert not re.search(r"(?<!\w)(nan|NaN|None|inf|NaT)(?!\w)", words)
