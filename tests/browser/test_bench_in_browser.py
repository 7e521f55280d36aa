"""The bench sheet in a real JupyterLab: typed, counted down, saved; and everyone can read it."""

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

NOTEBOOK = "02_bench_sheet.ipynb"
OUTPUT = PROJECT / "tests/output"
VIEWS = ["Test", "Bench day", "Standards", "Kit checks", "Salinity", "Stock"]


@pytest.fixture(scope="module")
def page(lab: Lab, browser: Browser) -> Iterator[Page]:
    opened = lab.open_and_run(browser, NOTEBOOK)
    yield opened
    opened.close()


def show(page: Page, view: str) -> None:
    page.get_by_role("button", name=view, exact=True).first.click()
    page.wait_for_timeout(700)


def test_a_reading_is_worked_out_while_a_wait_counts_down(page: Page) -> None:
    page.get_by_label("Kit", exact=True).select_option(label="kit B · Alkalinity")
    page.get_by_role("button", name="Start the wait of 1 to 3 min").click()
    page.locator(".rc-wait .rc-digits").wait_for()
    page.get_by_label("Scale shows", exact=True).fill("0.5")
    page.locator(".rc-big").filter(has_text="8.0").wait_for()
    first = page.locator(".rc-wait .rc-digits").inner_text()
    page.wait_for_timeout(1500)
    assert page.locator(".rc-wait .rc-digits").inner_text() != first
    page.get_by_label("Scale shows", exact=True).fill("5")
    page.get_by_text("Look again.").first.wait_for()
    assert page.get_by_role("button", name="Save", exact=True).is_disabled()
    raise_on_errors(page)


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize(("theme", "width"), [("light", 1280), ("dark", 800)])
def test_it_fits_the_window(page: Page, theme: str, width: int, view: str) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    use_theme(page, dark=theme == "dark")
    show(page, view)
    keep_picture(page, OUTPUT / f"bench_{view.lower().replace(' ', '_')}_{theme}_{width}.png")
    assert too_wide(page) == []


# Last, since the checker leaves the page's overflow open.
@pytest.mark.parametrize("view", VIEWS)
def test_everyone_can_read_it(page: Page, axe: Path, view: str) -> None:
    show(page, view)
    open_details(page)
    assert violations(page, ".rc-bench-page") == []
