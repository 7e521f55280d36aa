"""The comparison page in a real JupyterLab: kits chosen, and readable by everyone."""

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

NOTEBOOK = "04_kit_comparison.ipynb"
OUTPUT = PROJECT / "tests/output"
VIEWS = ["From the log", "Side by side", "Study", "Join histories", "Which to believe",
         "Lots and persons"]  # fmt: skip


@pytest.fixture(scope="module")
def page(lab: Lab, browser: Browser) -> Iterator[Page]:
    opened = lab.open_and_run(browser, NOTEBOOK)
    yield opened
    opened.close()


def show(page: Page, view: str) -> None:
    page.get_by_role("button", name=view, exact=True).first.click()
    page.wait_for_timeout(700)


def test_other_kits_bring_another_answer(page: Page) -> None:
    page.get_by_text("Kit B reads").first.wait_for()
    page.get_by_label("Kit A", exact=True).select_option(label="kit A / lot A-1")
    page.get_by_label("Kit B", exact=True).select_option(label="kit A / lot A-2")
    page.locator(".rc h2", has_text="lot A-1").first.wait_for()
    page.get_by_label("Kit A", exact=True).select_option(label="kit A")
    page.get_by_label("Kit B", exact=True).select_option(label="kit B")
    raise_on_errors(page)


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize(("theme", "width"), [("light", 1280), ("dark", 800)])
def test_it_fits_the_window(page: Page, theme: str, width: int, view: str) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    use_theme(page, dark=theme == "dark")
    show(page, view)
    keep_picture(page, OUTPUT / f"kits_{view.lower().replace(' ', '_')}_{theme}_{width}.png")
    assert too_wide(page) == []


# Last, since the checker leaves the page's overflow open.
@pytest.mark.parametrize("view", VIEWS)
def test_everyone_can_read_it(page: Page, axe: Path, view: str) -> None:
    show(page, view)
    open_details(page)
    assert violations(page, ".rc-kits-page") == []
