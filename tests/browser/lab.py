"""JupyterLab in a real browser: a server of our own, a page, and the rules of when to look."""

from __future__ import annotations

import json
import os
import re
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright

PROJECT = Path(__file__).resolve().parents[2]
CHROMIUM_OPTIONS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
# Run All pressed at the first sign of an idle kernel opens a question about the kernel instead.
SETTLE = 1.5
PICTURE = ".rc svg, .rc img"
# A folded cell shows no prompt, so the notebook's own model has to tell what has run and how.
CELLS = """[...jupyterapp.shell.currentWidget.content.model.cells]
    .filter(cell => cell.type === 'code').map(cell => ({
        done: cell.executionCount !== null && cell.executionState !== 'running',
        error: cell.outputs.toJSON().filter(output => output.output_type === 'error')
            .map(output => `${output.ename}: ${output.evalue}`).join('; ')}))"""


class LabError(Exception):
    """The server, the page or a cell of the notebook failed; the text says which and how."""


def chromium_path() -> str | None:
    """Where Debian's chromium is on this machine, or None."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


@contextmanager
def chromium() -> Iterator[Browser]:
    """A headless browser, closed at the end."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium_path(), args=CHROMIUM_OPTIONS, timeout=30_000
        )
        try:
            yield browser
        finally:
            browser.close()


def copy_notebooks(target: Path, only: Path | None = None) -> Path:
    """The folder `target` filled with settings, demo tanks and notebooks, so that none is changed.

    `only` is a notebook from anywhere that comes along although it is not one of the project's.
    """
    skip = shutil.ignore_patterns("runtime", "migrated", ".ipynb_checkpoints", "__pycache__")
    for name in (".lab", "notebooks", "data_demo"):
        shutil.copytree(PROJECT / name, target / name, ignore=skip)
    if only is not None:
        shutil.copy2(only, target / "notebooks")
    return target


@dataclass(frozen=True)
class Lab:
    """A running JupyterLab, reached at `address` by whoever knows `token`."""

    address: str
    token: str

    def open(self, browser: Browser, notebook: str, *, width: int, height: int, dark: bool) -> Page:
        """The page of one notebook with a new kernel ready; nothing has been run yet."""
        self._end_kernels()
        page = browser.new_page(
            viewport={"width": width, "height": height},
            color_scheme="dark" if dark else "light",
            locale="en-GB",
        )
        page.set_default_timeout(30_000)
        page.goto(f"{self.address}/doc/tree/notebooks/{notebook}?token={self.token}")
        page.locator(".jp-Notebook .jp-Cell").first.wait_for()
        wait_until_idle(page)
        return page

    def open_and_run(
        self,
        browser: Browser,
        notebook: str,
        *,
        width: int = 1280,
        height: int = 900,
        dark: bool = False,
    ) -> Page:
        """The page of one notebook after Run, then Run All Cells."""
        page = self.open(browser, notebook, width=width, height=height, dark=dark)
        run_all(page)
        return page

    def _end_kernels(self) -> None:
        # A page that opens a notebook for the second time would find the variables of the first.
        for session in json.loads(self.ask("GET", "/api/sessions")):
            self.ask("DELETE", f"/api/sessions/{session['id']}")

    def ask(self, method: str, path: str) -> bytes:
        """Send a request to the server and return the body of its answer."""
        request = urllib.request.Request(self.address + path, method=method)
        request.add_header("Authorization", f"token {self.token}")
        with urllib.request.urlopen(request, timeout=20) as answer:
            return bytes(answer.read())


@contextmanager
def running_lab(root: Path) -> Iterator[Lab]:
    """A JupyterLab of its own on a folder made by `copy_notebooks`, ended with all its kernels."""
    private = root / "private"
    private.mkdir()
    token = secrets.token_hex(16)
    environment = os.environ | {
        "JUPYTER_CONFIG_DIR": str(root / ".lab"),
        "JUPYTER_DATA_DIR": str(private),
        "JUPYTER_RUNTIME_DIR": str(private / "runtime"),
        "IPYTHONDIR": str(private / "ipython"),
        "JUPYTER_TOKEN": token,
    }
    port = _free_port()
    command = [sys.executable, "-m", "jupyterlab", "--no-browser"]
    command += [f"--ServerApp.port={port}", "--ServerApp.port_retries=0"]
    command += ["--LabApp.expose_app_in_browser=True"]
    record = private / "server.txt"
    with record.open("wb") as output:
        # Its own session, so that ending its group can reach nothing else.
        server = subprocess.Popen(
            command,
            cwd=root,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
    lab = Lab(f"http://127.0.0.1:{port}", token)
    try:
        _wait_for_server(server, lab, record)
        yield lab
    finally:
        _end(server)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait_for_server(server: subprocess.Popen[bytes], lab: Lab, record: Path) -> None:
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline and server.poll() is None:
        try:
            lab.ask("GET", "/api/status")
            return
        except (urllib.error.URLError, TimeoutError, ConnectionError):
            time.sleep(0.1)
    raise LabError(f"JupyterLab did not start:\n{record.read_text(errors='replace')[-3000:]}")


def _end(server: subprocess.Popen[bytes]) -> None:
    # The first signal lets the server end its kernels, which live in sessions of their own.
    for how in (signal.SIGTERM, signal.SIGKILL):
        if server.poll() is None:
            os.killpg(server.pid, how)
            try:
                server.wait(10)
            except subprocess.TimeoutExpired:
                continue
    server.wait()


def wait_until_idle(page: Page, timeout: float = 60.0) -> None:
    """Wait for the status bar's word that the kernel is idle, and a moment more."""
    page.locator(".jp-StatusBar-Widget").get_by_text(re.compile(r"\| Idle")).first.wait_for(
        timeout=timeout * 1000
    )
    page.wait_for_timeout(SETTLE * 1000)


def run_all(page: Page, timeout: float = 90.0) -> None:
    """Press Run, then Run All Cells, and wait until every cell is done; fail on any error."""
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    question = page.locator(".jp-Dialog")
    page.wait_for_timeout(200)
    if question.count():
        raise LabError(f"JupyterLab asked instead of running: {question.inner_text()}")
    page.wait_for_function(
        f"() => {{ const cells = {CELLS}; return cells.every(c => c.done) || cells.some(c => c.error) }}",
        timeout=timeout * 1000,
    )
    raise_on_errors(page)


def raise_on_errors(page: Page) -> None:
    """Raise when a cell of the page ended in a traceback."""
    errors = page.evaluate(f"() => {CELLS}.map(cell => cell.error).filter(Boolean)")
    if errors:
        raise LabError("A cell failed: " + "; ".join(errors))


def wait_for_picture(page: Page, element: str | None = None) -> str:
    """Wait for a picture in the panel and return the element it shows ("" if it names none).

    With `element`, wait for a picture of another element than that.
    """
    page.wait_for_function(
        """([picture, before]) => {
            const view = document.querySelector('.rc[data-element], .rc [data-element]');
            return document.querySelector(picture)
                && (before === null || (view && view.dataset.element !== before));
        }""",
        arg=[PICTURE, element],
    )
    view = page.locator(".rc[data-element], .rc [data-element]").first
    return (view.get_attribute("data-element") or "") if view.count() else ""


def use_theme(page: Page, *, dark: bool) -> None:
    """Switch the browser to light or dark and wait until JupyterLab has followed."""
    page.emulate_media(color_scheme="dark" if dark else "light")
    light = str(not dark).lower()
    if page.locator(f'body[data-jp-theme-light="{light}"]').count():
        return
    page.locator(f'body[data-jp-theme-light="{light}"]').wait_for(state="attached")
    page.wait_for_timeout(300)


def take_picture(page: Page, path: Path, *, full: bool = True) -> Path:
    """The window as a PNG file; with `full` the window first grows to show the whole notebook."""
    path.parent.mkdir(parents=True, exist_ok=True)
    size: Any = page.viewport_size
    if full:
        # A notebook scrolls inside the window, so a full-page screenshot would show one window of it.
        hidden = page.evaluate(
            """() => Math.max(0, ...[...document.querySelectorAll(
                '.jp-WindowedPanel-outer, .jp-Notebook')].map(
                box => box.scrollHeight - box.clientHeight))"""
        )
        page.set_viewport_size(
            {"width": size["width"], "height": min(size["height"] + hidden, 12_000)}
        )
        page.wait_for_timeout(300)
    page.screenshot(path=path)
    if full:
        page.set_viewport_size(size)
    return path


def keep_picture(page: Page, path: Path) -> None:
    """Take a picture if $PICTURES asks for them: a whole run needs none, and they take a minute."""
    if os.environ.get("PICTURES"):
        take_picture(page, path)


def too_wide(page: Page) -> list[str]:
    """The boxes of a page whose content is wider than they are, so that one has to scroll across."""
    found: list[str] = page.evaluate(
        """() => [...document.querySelectorAll('.rc')]
            .filter(box => box.scrollWidth > box.clientWidth + 1)
            .map(box => `${box.scrollWidth} in ${box.clientWidth}: ${box.innerText.slice(0, 60)}`)"""
    )
    return found


def open_details(page: Page) -> None:
    """Unfold everything, so that it is looked at too."""
    page.evaluate("() => document.querySelectorAll('.rc details').forEach(d => { d.open = true })")
