"""The plan page in a real JupyterLab: changed, redrawn, and readable by everyone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.accessibility import violations
from tests.browser.lab import (
    PROJECT,
    Lab,
    keep_picture,
    open_details,
    raise_on_errors,
    too_wide,
    use_theme,
)

NOTEBOOK = "03_supplement_plan.ipynb"
OUTPUT = PROJECT / "tests/output"
VIEWS = ["Plan", "pH and residue", "Safety", "Two plans", "Change a supplement", "Make a stock",
         "Planned and done", "Take away"]  # fmt: skip


@pytest.fixture(scope="module")
def page(lab: Lab, browser: Browser) -> Iterator[Page]:
    opened = lab.open_and_run(browser, NOTEBOOK)
    yield opened
    opened.close()


def show(page: Page, view: str) -> None:
    page.get_by_role("button", name=view, exact=True).first.click()
    page.wait_for_timeout(700)


def test_a_changed_field_changes_the_plan(page: Page) -> None:
    lead = page.locator(".rc-plan-lead")
    before = lead.inner_text()
    page.get_by_label("Days", exact=True).fill("0")
    page.get_by_label("Days", exact=True).press("Enter")
    page.get_by_role("alert").filter(has_text="1 to 366 whole days").wait_for()
    assert lead.count() == 0
    page.get_by_label("Days", exact=True).fill("14")
    page.get_by_label("Days", exact=True).press("Enter")
    lead.wait_for()
    page.get_by_text("Aims", exact=True).click()
    page.get_by_label("Alkalinity, dKH", exact=True).fill("8,2")
    page.get_by_label("Alkalinity, dKH", exact=True).press("Enter")
    page.wait_for_function("before => document.querySelector('.rc-plan-lead')?.innerText !== before",
                           arg=before)  # fmt: skip
    page.get_by_text("Aims", exact=True).click()
    raise_on_errors(page)


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize(("theme", "width"), [("light", 1280), ("dark", 800)])
def test_it_fits_the_window(page: Page, theme: str, width: int, view: str) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    use_theme(page, dark=theme == "dark")
    show(page, view)
    keep_picture(page, OUTPUT / f"plan_{view.lower().replace(' ', '_')}_{theme}_{width}.png")
    assert too_wide(page) == []


# Last, since the checker leaves the page's overflow open.
@pytest.mark.parametrize("view", VIEWS)
def test_everyone_can_read_it(page: Page, axe: Path, view: str) -> None:
    show(page, view)
    open_details(page)
    assert violations(page, ".rc-plan-page") == []
