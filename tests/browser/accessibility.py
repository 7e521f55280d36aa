"""The accessibility checker axe-core, run so that it cannot pass by looking at nothing."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page

from tests.browser.lab import PROJECT

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# JupyterLab's body has no height and hides its overflow; axe takes all below it as invisible and
# reports no fault of contrast there. What the panel itself scrolls stays as it is: opened, a wide
# table would lie over JupyterLab's own bars and be blamed for their colour.
OPEN_OVERFLOW = ":not(.rc *) { overflow: visible !important; }"
# Grey on grey, 1.2:1 where 4.5:1 is asked for.
PLANT = """scope => document.querySelector(scope).insertAdjacentHTML('beforeend',
    '<p id="planted" style="color:#999;background:#aaa">Grey words on grey.</p>')"""


class AxeError(Exception):
    """The checker could not see the page, so that its silence would mean nothing."""


def axe_path() -> Path | None:
    """The checker's script: $AXE_CORE, or where `.ci/run` puts it; None if it is not there."""
    usual = PROJECT / ".tools/node_modules/axe-core/axe.min.js"
    path = Path(os.environ.get("AXE_CORE") or usual)
    return path if path.is_file() else None


def violations(page: Page, scope: str = ".rc") -> list[str]:
    """What axe-core finds wrong within `scope`, a line each, once it has found a planted fault.

    The page is left with its overflow open: take screenshots before.
    """
    path = axe_path()
    if path is None:
        raise AxeError("axe-core is not here: `.ci/run` fetches it, or set AXE_CORE.")
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(path.read_text(encoding="utf-8"))
        page.add_style_tag(content=OPEN_OVERFLOW)
    page.evaluate(PLANT, scope)
    found = _run(page, scope)
    page.evaluate("() => document.getElementById('planted').remove()")
    if not any(line.startswith("color-contrast") and "#planted" in line for line in found):
        raise AxeError(f"A planted fault of contrast was not found, only {found}.")
    return _run(page, scope)


def page_violations(
    browser: Browser, html: str, *, dark: bool = False, width: int = 1280
) -> list[str]:
    """What axe-core finds wrong in a bare page: `html` is all that stands in its body.

    Much faster than a notebook, as no server is needed.
    """
    light = str(not dark).lower()
    page = browser.new_page(viewport={"width": width, "height": 900})
    try:
        page.set_content(
            '<!doctype html><html lang="en-GB"><head><title>One panel</title></head>'
            f'<body data-jp-theme-light="{light}" style="background:{"#111" if dark else "#fff"}">'
            f"<main><h1>One panel</h1>{html}</main></body></html>"
        )
        return violations(page)
    finally:
        page.close()


def _run(page: Page, scope: str) -> list[str]:
    results: dict[str, Any] = page.evaluate(
        """([scope, rules]) => axe.run(
            {include: [[scope]]}, {runOnly: {type: 'tag', values: rules}})""",
        [scope, RULES],
    )
    return [
        f"{rule['id']} ({rule['impact']}): {' '.join(map(str, node['target']))}: "
        f"{node['failureSummary']} {node['html'][:200]}"
        for rule in results["violations"]
        for node in rule["nodes"]
    ]
