"""The monthly review in a real JupyterLab: it runs, it changes, and everyone can read it."""

from __future__ import annotations

import os
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
    wait_for_picture,
)

NOTEBOOK = "01_monthly_review.ipynb"
OUTPUT = PROJECT / "tests/output"
VIEWS = ["Overview", "One element", "Findings", "When to test", "Readings to doubt", "All tanks",
         "Take away"]  # fmt: skip

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(
        not (PROJECT / "notebooks" / NOTEBOOK).exists() and "CI" not in os.environ,
        reason=f"{NOTEBOOK} is not written yet",
    ),
]


@pytest.fixture(scope="module")
def page(lab: Lab, browser: Browser) -> Iterator[Page]:
    opened = lab.open_and_run(browser, NOTEBOOK)
    yield opened
    opened.close()


def show(page: Page, view: str) -> None:
    """Press one of the buttons beside "Show" and wait for what it brings."""
    page.get_by_role("button", name=view, exact=True).click()
    page.locator(f'.rc[data-view="{view}"]').wait_for()


def test_another_element_brings_another_picture(page: Page) -> None:
    wait_for_picture(page)
    show(page, "One element")
    first = wait_for_picture(page)
    element = page.get_by_label("Element", exact=True)
    following = element.evaluate("list => (list.selectedIndex + 1) % list.options.length")
    element.select_option(index=following)
    assert wait_for_picture(page, first) != first
    raise_on_errors(page)


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize(("theme", "width"), [("light", 1280), ("light", 800), ("dark", 800)])
def test_it_fits_the_window(page: Page, theme: str, width: int, view: str) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    use_theme(page, dark=theme == "dark")
    show(page, view)
    keep_picture(page, OUTPUT / f"review_{view.lower().replace(' ', '_')}_{theme}_{width}.png")
    assert too_wide(page) == []


# Last, since the checker leaves the page's overflow open.
@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_everyone_can_read_it(page: Page, axe: Path, theme: str, view: str) -> None:
    use_theme(page, dark=theme == "dark")
    show(page, view)
    open_details(page)
    assert violations(page, f'.rc[data-view="{view}"]') == []
