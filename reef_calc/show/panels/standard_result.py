"""The place of a result in the standards view: it goes when an error comes, and the error is told."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import guarded
from reef_calc.show.wording import escape


class Shown:
    """A result that goes when an error comes, told on the page's message line and in its place.

    Parameters
    ----------
    view : str
        Name of the view, for the page.
    """

    def __init__(self, view: str) -> None:
        self.view = view
        self.bench: Bench | None = None
        self.box = widgets.HTML()
        self._told = False

    def show(self, inner: str) -> None:
        """Show a result and take back an error that stood there.

        Parameters
        ----------
        inner : str
            HTML.
        """
        self.box.value = self._placed(inner)
        if self._told and self.bench is not None:
            self.bench.say("", "told")
        self._told = False

    def say(self, text: str, kind: str = "told") -> None:
        """Tell something; an error takes the place of the result.

        Parameters
        ----------
        text : str
            Plain text.
        kind : {"told", "error"}
            Whether it went wrong.
        """
        if self.bench is not None:
            self.bench.say(text, kind)
        if kind == "error":
            self.box.value = self._placed(f"<p><b>! {escape(text)}</b></p>")
            self._told = True

    def _placed(self, inner: str) -> str:
        return f'<div class="rc" data-view="{escape(self.view)}">{inner}</div>'

    def on_click(self, control: widgets.Button, action: Callable[[], None]) -> None:
        """Let a button act once at a time, and tell what goes wrong without losing the result.

        Parameters
        ----------
        control : ipywidgets.Button
            The button.
        action : callable
            What it does.
        """

        def tell(text: str, kind: str) -> None:
            if self.bench is not None:
                self.bench.say(text, kind)

        act = guarded(tell, action)

        def clicked(_button: Any) -> None:
            control.disabled = True
            try:
                act()
            finally:
                control.disabled = False

        control.on_click(clicked)
