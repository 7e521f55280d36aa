"""A wrong path typed into the review says what to do, and a right one brings the page back."""

from __future__ import annotations

from playwright.sync_api import Browser

from tests.browser.lab import Lab, raise_on_errors

NOTEBOOK = "01_monthly_review.ipynb"


def test_a_wrong_folder_then_a_right_one(lab: Lab, browser: Browser) -> None:
    page = lab.open_and_run(browser, NOTEBOOK)
    try:
        folder = page.get_by_label("Tank folder", exact=True)
        right = folder.input_value()
        folder.fill("../data_demo/no_such_tank")
        folder.press("Enter")
        alert = page.get_by_role("alert").filter(has_text="needed a folder that holds a tank")
        alert.wait_for()
        assert "Check the path" in alert.inner_text()
        assert page.locator(".rc-overview").count() == 0
        folder.fill(right)
        folder.press("Enter")
        page.locator(".rc-overview").wait_for()
        assert page.get_by_role("alert").filter(has_text="needed").count() == 0
        raise_on_errors(page)
    finally:
        page.close()
