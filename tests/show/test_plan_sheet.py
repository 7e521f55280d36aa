"""The one page that hangs by the tank: what stands on it, and that it is one page."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser

from reef_calc.plan.cautions import cautions_for
from reef_calc.plan.forecast import forecast
from reef_calc.plan.solved import SolvedPlan
from reef_calc.plan.when_to_test import when_to_test
from reef_calc.show.plan_sheet import LAST_WORD, STOP, SheetOfPlan, plan_sheet_html
from reef_calc.show.plan_sheet_room import SMALLEST, USUAL, SheetContent, fit
from tests.plans_shown import START, school_plan

HOURS = tuple(f"{hour:02d}:00" for hour in range(24))


def sheet(plan: SolvedPlan, **changes: Any) -> SheetOfPlan:
    ahead = forecast(plan)
    tests = {
        one.name: when_to_test(ahead, one.name, start=START)
        for one in plan.problem.elements
        if one.low is not None or one.high is not None
    }
    times = {("carbonate stock", p): HOURS[::4] for p in (0, 1)}
    cautions = tuple(one.text for one in cautions_for([], limewater=True))
    usual = SheetOfPlan("Classroom <reef>", START, times, ahead, tests, cautions)
    return replace(usual, **changes)


def crowded() -> tuple[SolvedPlan, SheetOfPlan]:
    """Eight containers of long names, three phases, six weeks on the calendar, many tests."""
    plan = school_plan(40)
    one = plan.problem.supplements[0]
    many = tuple(replace(one, name=f"a rather long name of container {k}") for k in range(8))
    problem = replace(plan.problem, supplements=many)
    plan = replace(
        plan, problem=problem, phases=(0, 3, 6), amounts=np.full((8, 3), 1205.5),
        doses_a_day=np.full((8, 3), 24),
    )  # fmt: skip
    times = {(s.name, p): HOURS for s in many for p in range(3)}
    name = "A very long name of a tank in the school's marine-science room, second floor"
    found = sheet(
        plan, tank=name, times=times, start=date(2026, 10, 4), kept={"strontium": "18 mL"}
    )
    return plan, found


def test_the_page_holds_what_a_person_needs() -> None:
    plan = school_plan()
    page = plan_sheet_html(plan, sheet(plan, kept={"strontium <b>": "18 mL a day"}))
    words = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page[page.index("<main") :]))
    assert "Doses, Classroom &lt;reef&gt;" in words and "<reef>" not in page
    assert "From 1 October 2026 to 30 October 2026." in words
    assert "205.2 mL a day 6 × 34.2 mL, every 4 hours, 00:00 to 20:00" in words
    assert "strontium &lt;b&gt; as now: 18 mL a day" in words
    assert STOP in words and "stop dosing first" in STOP and LAST_WORD in words
    assert page.count("<i></i>") == 30
    assert "new setting" in words and words.count("change 10 %") == 4
    assert "Alkalinity , before you start: expected 6.9 ± 0.2 dKH; read" in words
    for line in ("Poison centre or emergency number:", "Veterinarian:", "mains switch is:"):
        assert line in words
    assert not re.search(r"\bnan\b|\binf\b|\bNone\b", words)
    assert "http" not in page and "<script" not in page and "src=" not in page


def test_a_container_that_stops_is_named() -> None:
    plan = school_plan()
    stopped = replace(plan, amounts=plan.amounts * np.array([[0.0], [1.0], [1.0]]))
    page = plan_sheet_html(stopped, sheet(stopped))
    assert "<b>Stop: carbonate stock.</b>" in page
    nothing = replace(plan, amounts=plan.amounts * 0.0)
    assert "No dose is given." in plan_sheet_html(nothing, sheet(nothing))


def test_a_longer_plan_says_that_another_page_follows() -> None:
    plan = school_plan(60)
    page = plan_sheet_html(plan, sheet(plan))
    assert page.count("<i></i>") == 35
    assert "goes on until 29 November 2026: print the next page" in page


def test_cautions_that_do_not_fit_are_counted() -> None:
    plan = school_plan()
    texts = tuple(f"Caution {k}: " + "words " * 60 for k in range(20))
    page = plan_sheet_html(plan, sheet(plan, cautions=texts))
    shown = page.count("<li>Caution")
    assert 2 <= shown < 20 and f"{20 - shown} more stand on the page of the plan" in page
    assert "Caution 0:" in page


@given(
    st.integers(0, 12), st.integers(1, 5), st.integers(0, 80), st.integers(1, 6),
    st.integers(0, 16), st.integers(0, 4000),
)  # fmt: skip
@settings(max_examples=50, deadline=None)
def test_more_content_is_never_set_larger(
    containers: int, phases: int, small: int, weeks: int, blanks: int, cautions: int
) -> None:
    content = SheetContent(
        30, [(20, [small] * phases)] * containers, 260, [20] * weeks, [45] * blanks, cautions
    )
    size, letters = fit(content)
    assert SMALLEST <= size <= USUAL and 0 <= letters <= cautions
    assert fit(replace(content, rows=[*content.rows, (20, [small] * phases)]))[0] <= size


@pytest.mark.browser
def test_it_is_one_page_also_when_crowded(browser: Browser) -> None:
    plan = school_plan()
    tab = browser.new_page(color_scheme="dark")
    for page in (plan_sheet_html(plan, sheet(plan)), plan_sheet_html(*crowded())):
        tab.set_content(page)
        pdf = tab.pdf(prefer_css_page_size=True)
        assert len(re.findall(rb"/Type\s*/Page[^s]", pdf)) == 1


@pytest.mark.browser
def test_it_is_black_on_white_from_a_dark_screen(browser: Browser) -> None:
    plan = school_plan()
    tab = browser.new_page(color_scheme="dark", viewport={"width": 800, "height": 1100})
    tab.set_content(plan_sheet_html(plan, sheet(plan)))
    for media in ("screen", "print"):
        tab.emulate_media(media=media)
        colours = tab.evaluate(
            "['color','backgroundColor'].map(k => getComputedStyle("
            "document.querySelector('.rc-sheet'))[k])"
        )
        assert colours == ["rgb(31, 36, 40)", "rgb(255, 255, 255)"]
        assert tab.evaluate("document.documentElement.scrollWidth") <= 800
