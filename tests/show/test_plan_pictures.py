"""The pages of a plan: what they say, that nothing is missing, and that they can be read by all."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date
from html import unescape
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from reef_calc.chem.carbonate import state_in_air
from reef_calc.chem.carbonate_water import CarbonateWater
from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.plan.caution_texts import ALWAYS, Caution
from reef_calc.plan.containers import Container
from reef_calc.plan.emptied import emptied
from reef_calc.plan.forecast import forecast, forecast_if_nothing_changes
from reef_calc.plan.ph_of_doses import PhOfDose, PhOfDoses
from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
from reef_calc.plan.recursion import levels_day_by_day
from reef_calc.plan.residue import residue_of
from reef_calc.plan.residue_words import residue_words
from reef_calc.plan.solved import Limit, SolvedPlan
from reef_calc.plan.when_to_test import when_to_test
from reef_calc.show.plan_answer import messages_html, plan_answer_html, settings_html
from reef_calc.show.plan_compare import PlanToCompare, plans_side_by_side_html
from reef_calc.show.plan_doses_figure import (
    Dose,
    closest_words,
    doses_of,
    doses_of_a_day_html,
    doses_of_a_day_svg,
    times_words,
)
from reef_calc.show.plan_drawing import marker, text_room, tick_words, ticks
from reef_calc.show.plan_forecast_figure import forecast_html, forecast_svg
from reef_calc.show.plan_forecast_reads import LevelsAhead
from reef_calc.show.plan_lane import Lane, labels_at_right
from reef_calc.show.plan_ph_figure import DosePh, aragonite_svg, ph_svg
from reef_calc.show.plan_ph_view import dose_ph_rows, ph_html
from reef_calc.show.plan_residue_figure import residue_html, residue_svg
from reef_calc.show.plan_safety import cautions_html, emptied_html
from reef_calc.show.plan_sentences import outcome_sentence, settings_sentence
from reef_calc.show.plan_style import STYLE
from reef_calc.show.plan_tables import difference_words, needs_html
from reef_calc.show.plan_words import lasts_days, lasts_words
from reef_calc.show.svg import leftover_colours
from tests.plans_shown import START, school_conflict, school_plan, school_problem

SVG = re.compile(r"<svg.*?</svg>", re.DOTALL)
TEXT = "{http://www.w3.org/2000/svg}text"
MISSING = re.compile(r"\bnan\b|\bNaN\b|\bNaT\b|\binf\b|\bNone\b|<NA>")


def shown(plan: SolvedPlan | None = None) -> LevelsAhead:
    plan = plan or school_plan()
    ahead = forecast(plan)
    tests = {
        one.name: when_to_test(ahead, one.name, start=START)
        for one in plan.problem.elements
        if one.low is not None or one.high is not None
    }
    same = forecast_if_nothing_changes(plan.problem)
    return LevelsAhead(ahead, START, plan.phases, same, tests)


def spoken(html: str) -> str:
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)))


def check_pictures(html: str, least: int = 1) -> None:
    """Every picture is XML, has words for those who do not see it, and follows the theme."""
    pictures = SVG.findall(html)
    assert len(pictures) >= least
    for svg in pictures:
        root = ET.fromstring(svg)
        assert root.attrib.get("aria-label") or root.attrib.get("aria-hidden") == "true"
        assert leftover_colours(svg) == []
        assert " id=" not in svg and "url(#" not in svg
    assert not MISSING.search(spoken(html)) and "<script" not in html


def one_supplement(amounts: list[float], now: float, days: int = 30) -> SolvedPlan:
    soda = SupplementToPlan("soda", {"alkalinity": 0.01}, set_now=now)
    array, none = np.array([amounts]), np.zeros((0, days + 1))
    phases = tuple(range(0, 2 * len(amounts), 2))
    return SolvedPlan(
        PlanProblem((), (soda,), days), phases, array, array, (array > 0).astype(int), none, (),
        None, {}, 0.0,
    )  # fmt: skip


# ---- the answer


@pytest.mark.parametrize(
    ("amounts", "now", "words"),
    [
        ([150.0], 136.0, "Raise soda from 136 to 150 mL a day"),
        ([120.5], 136.0, "Lower soda from 136 to 120.5 mL a day"),
        ([136.0], 136.0000004, "Keep the doses as they are"),
        ([200.0, 150.0], 136.0, "Raise soda from 136 to 150 mL a day, after 200 for 2 days"),
        ([200.0, 136.0], 136.0, "Give 200 mL a day of soda for 2 days, then 136 mL as now"),
        ([0.0, 136.0], 136.0, "Give no soda for 2 days, then 136 mL as now"),
        ([30.0], 0.0, "Start soda at 30 mL a day"),
        ([0.0], 136.0, "Stop soda (136 mL a day now)"),
        ([0.0], 0.0, "Give nothing"),
    ],
)
def test_what_to_set_is_one_sentence(amounts: list[float], now: float, words: str) -> None:
    assert settings_sentence(one_supplement(amounts, now)) == words


def test_three_changes_are_counted() -> None:
    words = settings_sentence(school_plan())
    assert words.startswith(
        "Change three doses: carbonate stock 120 to 138 mL, calcium <stock> 100"
    )
    assert words.endswith("none to 24 mL a day, after 3 days of correction")


def test_what_goes_wrong_stands_first() -> None:
    words = outcome_sentence(school_conflict(), START)
    assert words.startswith("Alkalinity would not be back within its aims by 31 October.")
    assert "Calcium and magnesium should stay within their aims all the time." in words
    leaving = replace(school_plan(), in_band_from={"calcium": None})
    assert outcome_sentence(leaving, START) == (
        "Calcium would not stay within its aims until 31 October."
    )


def test_answer_holds_settings_limits_and_messages() -> None:
    plan = school_plan()
    extra = (Message("OLD", "The last reading is 9 days old.", "qualified"), plan.messages[0])
    page = plan_answer_html(
        plan, START, tests=shown().tests, messages=extra, tank="Classroom <reef>",
        kept={"strontium <b>": "18 mL"}, lasts={"magnesium stock": "if full, 2 L: 83 days"},
    )  # fmt: skip
    words = spoken(page)
    assert "205.2 mL 6 × 34.2 mL ▲ 71 % more than now" in words
    assert "days 1–3 1 October to 3 October" in words
    assert "Alkalinity may rise by 0.5 dKH a day. With a tenth more of it" in words
    assert "18 % nearer" in words and "Also reached, without loss: the pump gives" in words
    assert "Left out: Strontium has no largest rise a day" in words
    assert words.count("Half of the correction") == 1  # the same sentence is told once
    assert "if full, 2 L: 83 days" in words and "strontium <b>" in words
    assert "Test next: alkalinity and magnesium before you start" in words
    assert "calcium &lt;stock&gt;" in page and "<stock>" not in page
    assert page.count('scope="row"') == 4 and "<caption>" in page
    assert not MISSING.search(words)


def test_conflict_stands_over_the_table() -> None:
    page = plan_answer_html(school_conflict(), START)
    assert page.index("cannot both be kept") < page.index("<table")
    assert "allow 4 days" in page


def test_a_large_price_is_no_figure() -> None:
    plan = replace(school_plan(), limits=(Limit("stock", "x", "4200 mL are at hand", True, 0.9),))
    assert "much nearer" in plan_answer_html(plan, START)


def test_messages_keep_their_kinds() -> None:
    found = messages_html([Message("A", "left <out>", "refused"), Message("B", "taken", "told")])
    assert "<b>Left out:</b> left &lt;out&gt;" in found and "assumes (1)" in found


def test_lasting_follows_the_phases() -> None:
    """205.2 mL for three days, then 138 of the 3584.4 that are left: 25.97 days more."""
    plan = school_plan()
    assert lasts_days(plan, 0) == pytest.approx(3 + (4200 - 3 * 205.2) / 138.0)
    assert lasts_words(plan, 0, START) == "28 days, to 28 October"
    assert lasts_words(plan, 2, START) == "amount at hand not typed"


@given(st.lists(st.floats(0.0, 500.0), min_size=1, max_size=4), st.floats(1.0, 5000.0))
@settings(max_examples=50, deadline=None)
def test_lasting_agrees_with_counting(amounts: list[float], stock: float) -> None:
    plan = one_supplement(amounts, 0.0)
    soda = replace(plan.problem.supplements[0], stock=stock)
    plan = replace(plan, problem=replace(plan.problem, supplements=(soda,)))
    daily = [*plan.daily()[0], *[amounts[-1]] * 6000]
    used = np.cumsum(daily)
    days = lasts_days(plan, 0)
    if days < 6000:
        whole = int(days)
        assert whole == 0 or used[whole - 1] <= stock * (1 + 1e-9)
        assert used[whole] >= stock * (1 - 1e-9)
    else:
        assert used[5999] <= stock


# ---- the forecast


def test_forecast_says_what_the_numbers_say() -> None:
    ahead = shown()
    html = forecast_html(ahead, width=None)
    check_pictures(html, least=2)
    texts = [t.text or "" for t in ET.fromstring(forecast_svg(ahead)).iter(TEXT)]
    assert {"Alkalinity, dKH", "aim, high 8.5", "aim, low 7.5", "test first", "test 8 Oct"} <= {
        *texts
    }
    assert "Water changes, 10 % each" in texts and "new setting, 4 Oct" in html
    end = ahead.ahead.levels[1, -1]
    assert any(t.startswith(("plan 420", f"plan {end:.0f}")) for t in texts)
    # No lane for what has no aims.
    assert not any("Sodium" in t for t in texts)
    # Nitrate is not dosed: no second line, no second label.
    assert sum(t.startswith("as today") for t in texts) == 3
    assert 'tabindex="0"' in html and 'role="group"' in html


@pytest.mark.parametrize("width", [980, 600])
def test_labels_do_not_cover_each_other_and_stay_inside(width: int) -> None:
    root = ET.fromstring(forecast_svg(shown(), width=width))
    right = [t for t in root if t.tag == TEXT and re.match("aim,|plan |as today", t.text or "")]
    assert len(right) >= 10
    places = sorted((float(t.attrib["y"]), float(t.attrib["x"]), t.text or "") for t in right)
    for (above, _, _), (below, _, _) in pairwise(places):
        assert below - above >= 13.0
    for y, x, text in places:
        assert 0 < y < float(root.attrib["height"])
        assert x + text_room([text]) <= width + 24  # the room is counted in bold letters


@pytest.mark.parametrize("days", [1, 3, 90, 366])
def test_any_length_can_be_drawn(days: int) -> None:
    problem = school_problem(days)
    amounts = np.array([[138.0], [114.0], [24.0]])
    plan = SolvedPlan(
        problem, (0,), amounts, amounts, np.ones((3, 1), dtype=int),
        levels_day_by_day(problem, np.repeat(amounts, days, axis=1)), (), None, {}, 0.1,
    )  # fmt: skip
    html = forecast_html(shown(plan), width=None)
    check_pictures(html, least=2)
    assert len(html) < (100_000 if days < 100 else 250_000)
    check_pictures(plan_answer_html(plan, START), least=0)


def test_used_up_is_a_word_not_a_negative_level() -> None:
    kh = ElementToPlan("alkalinity", "dKH", 3.0, 1.0, low=7.0, aim=8.0, high=9.0, u_use=0.1)
    ahead = forecast_if_nothing_changes(PlanProblem((kh,), (), 10))
    html = forecast_html(LevelsAhead(ahead, START), width=600)
    check_pictures(html)
    assert "plan used up" in html and "−7" not in html
    bare = PlanProblem((ElementToPlan("sodium", "mg/L", 10700.0),), (), 10)
    html = forecast_html(LevelsAhead(forecast_if_nothing_changes(bare), START))
    assert html.startswith("<p>No element has aims")


@example(1.0, 0.0, 5e-324, "both")
@given(
    st.floats(0.01, 20.0), st.floats(-2.0, 2.0), st.floats(0.0, 1.0),
    st.sampled_from(["both", "low", "high"]),
)  # fmt: skip
@settings(max_examples=30, deadline=None)
def test_no_level_breaks_a_picture(start: float, use: float, u: float, ends: str) -> None:
    kh = ElementToPlan(
        "alkalinity", "dKH", start, use, u_use=u, aim=8.0 if ends == "both" else None,
        low=None if ends == "high" else 7.5, high=None if ends == "low" else 8.5,
    )  # fmt: skip
    problem = PlanProblem((kh,), (), 12)
    ahead = forecast_if_nothing_changes(problem)
    tests = {"alkalinity": when_to_test(ahead, "alkalinity", start=START)}
    html = forecast_html(LevelsAhead(ahead, START, (0, 2), None, tests))
    check_pictures(html)
    check_pictures(needs_html(problem, ahead), least=0)
    numbers = re.findall(r'\b(?:x|y|cx|cy)="(-?[\d.]+)"', html)
    assert all(-40 <= float(n) <= 1040 for n in numbers)


# ---- doses of a day


def day() -> list[Dose]:
    return [
        *(Dose(minute, "soda", 23.0) for minute in range(0, 1440, 240)),
        *(Dose(minute, "calcium <b>", 28.5) for minute in (90, 450, 810, 1190)),
        Dose(600, "magnesium", 12.0),
    ]


def test_every_dose_has_its_mark_and_its_words() -> None:
    html = doses_of_a_day_html(day(), width=None)
    check_pictures(html, least=2)
    words = spoken(html)
    assert "soda: 6 × 23 mL, every 4 hours, 00:00 to 20:00" in words
    assert "calcium <b>: 4 × 28.5 mL, at 01:30, 07:30, 13:30 and 19:50" in words
    assert "calcium <b> at 19:50 and soda at 20:00, 10 minutes apart" in words
    assert doses_of_a_day_svg(day()).count("<rect") == 11
    assert doses_of_a_day_svg([]) == "" and "No dose" in doses_of_a_day_html([])


def test_midnight_is_no_border() -> None:
    doses = [Dose(5, "soda", 1.0), Dose(700, "soda", 1.0), Dose(1430, "calcium", 1.0)]
    assert closest_words(doses).endswith("calcium at 23:50 and soda at 00:05, 15 minutes apart.")
    assert closest_words(doses[:2]) == ""


def test_a_container_keeps_its_mark() -> None:
    order = ["soda", "calcium <b>", "magnesium"]
    alone = doses_of_a_day_svg([Dose(600, "magnesium", 12.0)], order=order)
    assert "<circle" not in alone and "<circle" in doses_of_a_day_svg(
        [Dose(600, "magnesium", 12.0)]
    )


def test_a_day_table_is_read() -> None:
    rows = [("20:00", "b", 2.0, "mL"), ("08:30", "a", 1.0, "g")]
    table = pd.DataFrame(rows, columns=["time", "container", "amount", "unit"])
    assert [dose.minute for dose in doses_of(table)] == [510, 1200]
    assert times_words([5]) == "at 00:05" and times_words([]) == "never"
    assert times_words([0, 58, 116, 175, 233]) == "about every 58 minutes, 00:00 to 03:53"


# ---- residue


def test_residue_has_four_lanes_and_a_sentence_each() -> None:
    residue = residue_of({"sodium": 4.1, "chloride": 6.3}, 0.0102, change_share=0.1, months=12)
    html = residue_html(residue, residue_words(residue), width=None)
    check_pictures(html, least=2)
    texts = [t.text for t in ET.fromstring(residue_svg(residue)).iter(TEXT)]
    assert f"then {residue.salinity[-1]:.1f}" in texts and "sea water 7.14" in texts
    assert html.count("<li>") == 4
    one = residue_of({}, 0.0, months=1)
    check_pictures(residue_html(one, residue_words(one)))


# ---- pH


def row(**changes: float) -> DosePh:
    usual = DosePh("soda <b>", "20 mL, carbonate", 8.1, 8.2, 8.11, 7.9, 8.2, -0.13, 3.0, 3.6, 3.1)
    return replace(usual, **changes)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "one dose +0.10"),
        ({"after": 8.05}, "one dose −0.05"),
        ({"after": 8.31}, "one dose +0.21: too far"),
        ({"before": 8.4, "after": 8.55}, "one dose +0.15: above 8.5"),
    ],
)
def test_ph_warns_in_words(changes: dict[str, float], words: str) -> None:
    for width in (980, 600):
        svg = ph_svg([row(**changes)], width=width)
        check_pictures(svg)
        assert f">{words}<" in svg


@pytest.mark.parametrize(
    ("after", "words"),
    [(4.9, "after one dose 4.9"), (5.1, "after one dose 5.1: high"), (7.2, "7.2: slow the dose")],
)
def test_saturation_warns_in_words(after: float, words: str) -> None:
    svg = aragonite_svg([row(aragonite_after=after)], width=600)
    check_pictures(svg)
    assert words in svg


def test_both_scales_stand_under_the_axis() -> None:
    """Total and NBS scale part by the constant of the row; the first tick of 7.9 reads 7.77."""
    texts = [t.text for t in ET.fromstring(ph_svg([row()])).iter(TEXT)]
    assert "NBS scale" in texts and "total scale" in texts
    assert texts[texts.index("7.9") + 1] == "7.77"


def test_ph_of_a_plan_is_drawn_from_its_states() -> None:
    bases, water = ("now", "plan"), CarbonateWater()
    states = state_in_air(np.array([2.6, 2.85]), 500.0, water)
    after = state_in_air(np.array([2.7, 2.95]), 400.0, water)
    dose = PhOfDose(
        "soda", "carbonate", "carbonate", 23.0, "mL", 138.0, 6, 0.1, 0.0, bases, states, after,
        states, {}, 1,
    )  # fmt: skip
    quiet = replace(dose, name="calcium", kind="none", right_after=states, rise_meq_per_L=0.0)
    messages = (Message("PH_HIGH", "Above <8.5>.", "qualified"), Message("BORON", "Boron.", "told"))
    found = PhOfDoses(
        bases, states, 500.0, {400.0: after, 1000.0: states}, (dose, quiet), after, messages
    )
    (only,) = dose_ph_rows(found)
    assert only.before == pytest.approx(float(states.ph_nbs[1]))
    assert only.after == pytest.approx(float(after.ph_nbs[1])) and only.name == "soda"
    html = ph_html(found, width=None)
    check_pictures(html, least=4)
    assert "Above &lt;8.5&gt;." in html and html.index("Above") < html.index("<svg")
    silent = ph_html(replace(found, doses=(quiet,)))
    assert "No dose of this plan moves the pH" in silent


# ---- safety


def test_everything_at_once_is_a_table() -> None:
    elements = school_problem().elements
    lime = Container(
        "limewater <b>", {"alkalinity": 0.04319, "calcium": 0.87}, 20000.0, kind="hydroxide",
        dissolved_salt_mg=1.6, reservoir=True,
    )  # fmt: skip
    unknown = Container("carbonate stock", {"alkalinity": 1.5}, None, kind="carbonate")
    found = [emptied(one, elements, 540.0) for one in (lime, unknown)]
    html = emptied_html(found, ph_then={"limewater <b>": 9.12})
    words = spoken(html)
    assert "size not written" in words and "9.1" in words and "not known" in words
    assert "times what a day allows" in words and "at most 2.2 L, for alkalinity" in words
    assert "<b>" not in html and not MISSING.search(words)
    assert emptied_html([]) == ""


def test_cautions_stand_by_their_place() -> None:
    told = [
        Caution("making up", "Gloves <and> goggles.", "sodium hydroxide"),
        Caution("dosing", "Stay with the first dose.", ALWAYS),
    ]
    every = cautions_html(told)
    assert every.index("Making up") < every.index("Dosing")
    assert "&lt;and&gt;" in every and "(sodium hydroxide)" in every and ALWAYS not in every
    assert "Gloves" not in cautions_html(told, where="dosing")


# ---- need and supply


def test_needs_are_told_with_their_intervals() -> None:
    problem = school_problem()
    words = spoken(needs_html(problem, forecast_if_nothing_changes(problem)))
    # 120 mL × 0.0072 dKH = 0.864 a day against 0.98: short by 0.116.
    assert "0.98 ± 0.07 0.86 ± 0.05 ▼ short by 0.12 ± 0.08" in words
    assert "Nitrate 6.0 ± 1.2 mg/L none: rises by 0.15 ± 0.10 none rises by itself" in words
    assert "below 7.5" in words and "Sodium" not in words
    alone = {"alkalinity": 0.01}
    tight = spoken(needs_html(problem, forecast_if_nothing_changes(problem), u_use_alone=alone))
    assert "▼ short by 0.12 ± 0.02" in tight


def test_what_stays_as_it_is_counts_as_supply() -> None:
    kh = ElementToPlan(
        "alkalinity", "dKH", 8.0, 0.5, low=7.0, aim=8.0, high=9.0, arriving=(0.5,) * 4
    )
    problem = PlanProblem((kh,), (), 4)
    words = spoken(needs_html(problem, forecast_if_nothing_changes(problem)))
    assert "as much as it uses" in words


@given(st.floats(-5, 5), st.one_of(st.just(0.0), st.floats(1e-6, 2)))
@settings(max_examples=50, deadline=None)
def test_a_difference_is_never_claimed_within_its_interval(difference: float, u: float) -> None:
    words = difference_words(difference, u)
    claimed = words.startswith(("▼", "▲"))
    assert claimed == (abs(difference) > 1.959964 * u)


# ---- two plans


def test_two_plans_are_told_apart() -> None:
    first, ahead = school_plan(), shown().ahead
    other = replace(
        first,
        amounts=first.amounts * 1.2,
        levels=levels_day_by_day(first.problem, first.daily() * 1.2),
    )
    residue = residue_of({"sodium": 4.1, "chloride": 6.3}, 0.0102, months=6)
    a = PlanToCompare("plan <A>", first, START, ahead, residue)
    b = PlanToCompare("plan B", other, START, forecast(other), residue)
    html = plans_side_by_side_html(a, b)
    words = spoken(html)
    assert "plan <A> against plan B They part first, on 2 October, in alkalinity: " in words
    assert "205.2 mL for 3 days, then 138 mL 246.2 mL for 3 days, then 165.6 mL differs" in words
    assert "what is at hand lasts 28 days, to 28 October" in words
    assert "Salinity after 6 months 36.82 36.82 same" in words.replace("36.83", "36.82")
    assert "<A>" not in html and not MISSING.search(words)
    assert "set the same doses" in plans_side_by_side_html(a, a)
    later = replace(a, start=date(2027, 1, 1))
    assert "share no day" in plans_side_by_side_html(a, later)


def test_plans_of_two_tanks_are_refused() -> None:
    empty = one_supplement([1.0], 0.0)
    with pytest.raises(InputError, match="two plans of one tank"):
        plans_side_by_side_html(
            PlanToCompare("A", school_plan(), START), PlanToCompare("B", empty, START)
        )


# ---- pieces


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e4), st.integers(2, 9))
@settings(max_examples=50, deadline=None)
def test_ticks_are_inside_and_differ(low: float, span: float, most: int) -> None:
    found = ticks(low, low + span, most)
    assert len(found) <= most + 1
    assert all(low - 1e-6 * span <= v <= low + span * (1 + 1e-6) for v in found)
    assert len(set(tick_words(found))) == len(found)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=6))
@settings(max_examples=50, deadline=None)
def test_right_labels_never_touch(values: list[float]) -> None:
    lane = Lane(0, 300, 20, 130, 0, 10, 0, 1)
    svg = labels_at_right(lane, [(v, "x", "ink", False) for v in values])
    places = sorted(float(y) for y in re.findall(r' y="([-\d.]+)"', svg))
    assert all(b - a >= 13.3 for a, b in pairwise(places))


def test_marks_differ_in_shape() -> None:
    assert len({marker(k, 10, 10) for k in range(9)}) == 9


def test_style_restyles_nothing_outside() -> None:
    rules = re.sub(r"@(container|media)[^{]*\{", "", STYLE)
    for selector in re.findall(r"(?:^|\})\s*([^{}@]+)\{", rules):
        assert all(part.strip().startswith(".rc") for part in selector.split(",")), selector
    assert settings_html(SimpleNamespace(problem=PlanProblem((), (), 3)), START) == ""  # type: ignore[arg-type]
