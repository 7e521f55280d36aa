"""Settings of the test run; the shared fixtures are in tests/fixtures.py."""

from __future__ import annotations

import os
from typing import Any

import pytest
from hypothesis import settings

from tests import trust

pytest_plugins = ["tests.fixtures"]

# A run that decides is the same every time; the runs at a desk go on searching.
if "CI" in os.environ:
    settings.register_profile("the same every time", derandomize=True)
    settings.load_profile("the same every time")

_left_out = pytest.StashKey[bool]()


def pytest_deselected(items: list[pytest.Item]) -> None:
    """Note that this run is not the whole suite."""
    if items:
        items[0].config.stash[_left_out] = True


def _is_whole_suite(config: pytest.Config) -> bool:
    return (
        config.args_source is pytest.Config.ArgsSource.TESTPATHS
        and not config.stash.get(_left_out, False)
        and not config.getoption("ignore")
        and not config.getoption("ignore_glob")
        and not config.getoption("collectonly")
    )


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any, error: object) -> None:
    """Take over the published checks of a process that has run its share."""
    trust.take_over(getattr(node, "workeroutput", {}).get("trust", []))


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Write tests/TRUST.md when the whole suite ran and passed."""
    output = getattr(session.config, "workeroutput", None)
    if output is not None:
        output["trust"] = trust.handed_over()
    elif exitstatus == pytest.ExitCode.OK and _is_whole_suite(session.config):
        trust.write_page()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say how many published checks this run made."""
    if trust.recorded_count():
        terminalreporter.write_line(f"{trust.recorded_count()} published checks run")
