"""The place of a result in a view of the plan page: what went wrong stands there too."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from reef_calc.show.panels.common import guarded
from reef_calc.show.panels.plan_view import Planning
from reef_calc.show.wording import escape


class PlanResult:
    """A result that an error takes the place of; the page's message line tells it too.

    Parameters
    ----------
    view : str
        Name of the view, for the page.

    Attributes
    ----------
    box : ipywidgets.HTML
        What is shown.
    planning : Planning or None
        Tank and plan, as last shown.
    """

    def __init__(self, view: str) -> None:
        self.view = view
        self.planning: Planning | None = None
        self.box = widgets.HTML()
        self._told = False

    def show(self, inner: str) -> None:
        """Show a result and take back an error that stood there.

        Parameters
        ----------
        inner : str
            HTML.
        """
        self.box.value = framed(self.view, inner)
        if self._told and self.planning is not None:
            self.planning.say("", "told")
        self._told = False

    def tell(self, text: str, kind: str = "told") -> None:
        """Tell something on the message line; the result stays.

        Parameters
        ----------
        text : str
            Plain text.
        kind : {"told", "error"}
            Whether it went wrong.
        """
        if self.planning is not None:
            self.planning.say(text, kind)

    def fail(self, text: str, kind: str = "error") -> None:
        """Tell what went wrong, on the message line and in place of the result.

        Parameters
        ----------
        text : str
            Plain text.
        kind : {"told", "error"}
            Whether it went wrong.
        """
        self.tell(text, kind)
        self.box.value = framed(self.view, f"<p><b>! {escape(text)}</b></p>")
        self._told = True

    def on_click(self, control: widgets.Button, action: Callable[[], None]) -> None:
        """Let a button act once at a time, and tell what goes wrong without losing the result.

        Parameters
        ----------
        control : ipywidgets.Button
            The button.
        action : callable
            What it does.
        """
        act = guarded(self.tell, action)

        def clicked(_button: Any) -> None:
            control.disabled = True
            try:
                act()
            finally:
                control.disabled = False

        control.on_click(clicked)


class Offered:
    """Texts offered in fields: they follow tank and plan until a person types something else."""

    def __init__(self) -> None:
        self._offered: dict[str, str] = {}

    def offer(self, field: widgets.Text, text: str) -> None:
        """Put a text into a field that is empty or still holds what was offered before.

        Parameters
        ----------
        field : ipywidgets.Text
            The field.
        text : str
            What is offered.
        """
        if field.value.strip() in ("", self._offered.get(field.model_id, "")):
            field.value = text
        self._offered[field.model_id] = text

    def renew(self, field: widgets.Text, text: str) -> None:
        """Put a text into a field whatever stands there: what it was typed for is gone.

        Parameters
        ----------
        field : ipywidgets.Text
            The field.
        text : str
            What is offered.
        """
        field.value = self._offered[field.model_id] = text


def framed(view: str, inner: str) -> str:
    """Return a part of a view inside its frame.

    Parameters
    ----------
    view : str
        Name of the view.
    inner : str
        HTML.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> framed("Make a stock", "")
    '<div class="rc" data-view="Make a stock"></div>'
    """
    return f'<div class="rc" data-view="{escape(view)}">{inner}</div>'
