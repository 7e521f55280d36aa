"""The shared fixtures catch what they are there for."""

from __future__ import annotations

import os
from pathlib import Path

import ipywidgets as widgets


def test_a_swallowed_callback_is_noticed(swallowed_callbacks: list[str]) -> None:
    button = widgets.Button(description="Work it out")

    def fail(_: widgets.Button) -> None:
        raise ValueError("this would vanish")

    button.on_click(fail)
    button.click()
    assert len(swallowed_callbacks) == 1
    assert "this would vanish" in swallowed_callbacks[0]
    swallowed_callbacks.clear()


def test_kernels_are_told_that_warnings_are_errors() -> None:
    (startup,) = Path(os.environ["IPYTHONDIR"]).glob("profile_default/startup/*.py")
    assert "error" in startup.read_text(encoding="utf-8")
