"""The harness sees what a person would: pictures, changes, failures, unreadable words."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from tests.browser.accessibility import AxeError, page_violations, violations
from tests.browser.lab import Lab, LabError, use_theme, wait_for_picture

pytestmark = pytest.mark.browser
CAPTION = '<div class="rc"><p style="color:{}">Steady.</p></div>'


def test_a_panel_runs_changes_and_reads_well(lab: Lab, browser: Browser, axe: Path) -> None:
    page = lab.open_and_run(browser, "harness_panel.ipynb")
    assert wait_for_picture(page) == "alkalinity"
    assert page.get_by_text("reached the end").count()
    page.get_by_label("Element", exact=True).select_option("calcium")
    assert wait_for_picture(page, "alkalinity") == "calcium"
    # The folded code line is JupyterLab's element in the project's colour (.lab/custom/custom.css).
    for dark in (False, True):
        use_theme(page, dark=dark)
        for scope in (".rc", ".jp-InputPlaceholder"):
            assert violations(page, scope) == []
    page.close()


def test_a_saved_notebook_holds_no_results(lab: Lab, browser: Browser) -> None:
    def on_disk() -> dict[str, Any]:
        return json.loads(lab.ask("GET", "/api/contents/notebooks/harness_panel.ipynb"))

    before = on_disk()
    page = lab.open_and_run(browser, "harness_panel.ipynb")
    page.get_by_role("menuitem", name="File", exact=True).click()
    page.get_by_role("menuitem", name=re.compile("^Save Notebook(?! As)")).click()
    page.wait_for_timeout(1000)
    page.close()
    after = on_disk()
    assert after["last_modified"] != before["last_modified"]
    for cell in after["content"]["cells"]:
        assert not cell.get("outputs") and cell.get("execution_count") is None


def test_a_failing_cell_is_reported(lab: Lab, browser: Browser) -> None:
    with pytest.raises(LabError, match="on purpose"):
        lab.open_and_run(browser, "harness_failure.ipynb")
    browser.contexts[-1].close()


@pytest.mark.parametrize("dark", [False, True])
def test_a_bare_page_is_checked(browser: Browser, axe: Path, dark: bool) -> None:
    good, bad = ("#eee", "#444") if dark else ("#222", "#ccc")
    assert page_violations(browser, CAPTION.format(good), dark=dark) == []
    (line,) = page_violations(browser, CAPTION.format(bad), dark=dark)
    assert line.startswith("color-contrast")


def test_a_page_without_the_panel_is_no_pass(browser: Browser, axe: Path) -> None:
    hidden = '<div style="display:none"><div class="rc"><h2>Nobody sees this</h2></div></div>'
    with pytest.raises(AxeError, match="planted"):
        page_violations(browser, hidden)
