"""What all tests share: swallowed errors come to light, and one browser and one server serve everybody."""

from __future__ import annotations

import logging
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import pytest

# The browser's library is loaded only by the tests that need it.
if TYPE_CHECKING:
    from playwright.sync_api import Browser

    from tests.browser.lab import Lab

KERNEL_STARTUP = """# Warnings in a notebook are errors, as they are in all other tests.
import warnings

warnings.simplefilter("error")
"""
settings = pytest.StashKey[tempfile.TemporaryDirectory[str]]()


def pytest_configure(config: pytest.Config) -> None:
    """Give the kernels that run the notebooks settings of their own: a warning there is an error."""
    folder = tempfile.TemporaryDirectory(prefix="ipython-", ignore_cleanup_errors=True)
    startup = Path(folder.name) / "profile_default/startup"
    startup.mkdir(parents=True)
    (startup / "warnings_are_errors.py").write_text(KERNEL_STARTUP, encoding="utf-8")
    os.environ["IPYTHONDIR"] = folder.name
    config.stash[settings] = folder


def pytest_unconfigure(config: pytest.Config) -> None:
    """Remove the kernels' settings."""
    config.stash[settings].cleanup()


class CallbackErrors(logging.Handler):
    """Keeps what traitlets says of a callback whose exception it caught."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.texts: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        text = record.getMessage()
        if "Exception in callback" in text:
            self.texts.append(text)


@pytest.fixture(autouse=True)
def swallowed_callbacks() -> Iterator[list[str]]:
    """Fail a test whose widget callback raised: a button's click logs the exception and goes on.

    A test that wants the exception empties the list.
    """
    handler = CallbackErrors()
    logger = logging.getLogger("traitlets")
    logger.addHandler(handler)
    try:
        yield handler.texts
    finally:
        logger.removeHandler(handler)
    if handler.texts:
        pytest.fail("A callback raised:\n" + "\n".join(handler.texts), pytrace=False)


def missing(what: str) -> NoReturn:
    """Skip on a developer's machine; in continuous integration a skipped check is a failed one."""
    if os.environ.get("CI"):
        pytest.fail(f"{what} is missing, and CI has to run this test.", pytrace=False)
    pytest.skip(f"{what} is missing")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's chromium, without a window; the only one, since two cannot run in one process."""
    from tests.browser.lab import chromium, chromium_path

    if chromium_path() is None:
        missing("chromium")
    with chromium() as running:
        yield running


@pytest.fixture(scope="session")
def lab(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    """JupyterLab with the project's own settings on copies of its notebooks."""
    from tests.browser.harness_notebook import write_harness_notebooks
    from tests.browser.lab import copy_notebooks, running_lab

    root = copy_notebooks(tmp_path_factory.mktemp("lab folder") / "copy")
    write_harness_notebooks(root / "notebooks")
    with running_lab(root) as running:
        yield running


@pytest.fixture(scope="session")
def axe() -> Path:
    """Where the accessibility checker is; a test that needs it asks for this."""
    from tests.browser.accessibility import axe_path

    path = axe_path()
    if path is None:
        missing("axe-core (see .ci/run)")
    return path
