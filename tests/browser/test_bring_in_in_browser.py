"""The page that brings in a log, in a real JupyterLab: a file taken, asked about, readable."""

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

NOTEBOOK = "05_bring_in_a_log.ipynb"
OUTPUT = PROJECT / "tests/output"
VIEWS = ["Bring in a file", "Take back", "Take everything out"]


@pytest.fixture(scope="module")
def page(lab: Lab, browser: Browser) -> Iterator[Page]:
    opened = lab.open_and_run(browser, NOTEBOOK)
    yield opened
    opened.close()


def show(page: Page, view: str) -> None:
    page.get_by_role("button", name=view, exact=True).first.click()
    page.wait_for_timeout(500)


def choose(page: Page, file: Path) -> None:
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Or choose a file").first.click()
    chooser.value.set_files(file)


def test_a_chosen_file_is_shown_cell_by_cell(page: Page, tmp_path: Path) -> None:
    show(page, "Bring in a file")
    file = tmp_path / "mine.csv"
    file.write_bytes(b"Datum;KH;PO4 mg/l\r\n01.02.2026;8,3;n.d.\r\n13.02.2026;84;0,03\r\n")
    choose(page, file)
    page.locator(".rc h2", has_text="mine.csv").wait_for()
    page.locator(".rc-sheet td.rc-is-flagged", has_text="84").wait_for()
    page.locator(".rc-sheet td.rc-is-asked", has_text="n.d.").wait_for()
    raise_on_errors(page)


def test_a_dropped_file_arrives(page: Page) -> None:
    show(page, "Bring in a file")
    page.evaluate(
        """() => {
            const data = new DataTransfer();
            data.items.add(new File(["date;KH\\n2026-02-01;7,9\\n"], "dropped one.csv"));
            document.querySelector('.rc-drop').dispatchEvent(
                new DragEvent('drop', {dataTransfer: data, bubbles: true, cancelable: true}));
        }"""
    )
    page.locator(".rc h2", has_text="dropped one.csv").wait_for()
    page.locator(".rc-sheet td", has_text="7,9").wait_for()
    raise_on_errors(page)


def test_a_bad_file_says_what_to_do(page: Page, tmp_path: Path) -> None:
    show(page, "Bring in a file")
    file = tmp_path / "shifted.csv"
    file.write_bytes(b"date,KH\n2026-02-01,8,3\n2026-02-02,8,1\n")
    choose(page, file)
    page.locator(".rc-in-lead", has_text="decimal comma").wait_for()
    raise_on_errors(page)


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize(("theme", "width"), [("light", 1280), ("dark", 800)])
def test_it_fits_the_window(page: Page, theme: str, width: int, view: str) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    use_theme(page, dark=theme == "dark")
    show(page, view)
    keep_picture(page, OUTPUT / f"in_{view.lower().replace(' ', '_')}_{theme}_{width}.png")
    assert too_wide(page) == []


# Last, since the checker leaves the page's overflow open.
@pytest.mark.parametrize("view", VIEWS)
def test_everyone_can_read_it(page: Page, axe: Path, view: str) -> None:
    show(page, view)
    open_details(page)
    assert violations(page, ".rc-in-page") == []
