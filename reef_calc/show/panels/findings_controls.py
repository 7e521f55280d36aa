"""The controls below the findings: which one, the keeper's note, and two buttons."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from reef_calc.errors import CannotTellError
from reef_calc.show.panels.common import (
    WIDE_LABEL,
    can_write,
    guarded,
    is_demonstration,
    message_html,
)

_WIDE = {"style": WIDE_LABEL, "layout": widgets.Layout(width="min(100%, 46em)")}


class FindingsControls:
    """Choose a finding, add a note, say that it is so or that it is not.

    Parameters
    ----------
    decide : callable
        Takes element, key, decision (``accepted`` or ``rejected``) and note; returns what to say.
    """

    def __init__(self, decide: Callable[[str, str, str, str], str]) -> None:
        self._decide = decide
        self.finding = widgets.Dropdown(
            description="Finding", tooltip="The finding that you decide on", **_WIDE
        )
        self.note = widgets.Text(
            description="Your note",
            tooltip="What you know about it, such as: six new corals, or: read twice",
            **_WIDE,
        )
        self.accept = self._button("It is so", "accepted", "Keep in events.csv that this happened")
        self.reject = self._button("It is not so", "rejected", "Keep in events.csv that it did not")
        self.message = widgets.HTML(message_html(""))
        self.box = widgets.VBox(
            [
                self.finding,
                self.note,
                widgets.HBox(
                    [self.accept, self.reject], layout=widgets.Layout(flex_flow="row wrap")
                ),
                self.message,
            ],
            layout=widgets.Layout(display="none"),
        )

    def _button(self, words: str, decision: str, tooltip: str) -> widgets.Button:
        button = widgets.Button(
            description=words, tooltip=tooltip, layout=widgets.Layout(width="auto")
        )
        act = guarded(self.say, self._press)

        def clicked(_button: Any) -> None:
            self._enable(False)
            try:
                act(decision)
            finally:
                self._enable(bool(self.finding.options))

        button.on_click(clicked)
        return button

    def _enable(self, on: bool) -> None:
        self.accept.disabled = self.reject.disabled = not on

    def _press(self, decision: str) -> None:
        if self.finding.value is None:
            raise CannotTellError("Choose a finding first.")
        element, key = self.finding.value
        said = self._decide(element, key, decision, self.note.value)
        self.note.value = ""
        self.say(said)

    def say(self, text: str, kind: str = "told") -> None:
        """Show a line below the buttons.

        Parameters
        ----------
        text : str
            Plain text.
        kind : {"told", "error"}
            Whether it went wrong.
        """
        self.message.value = message_html(text, kind)

    def offer(self, choices: list[tuple[str, tuple[str, str]]]) -> None:
        """Offer findings; the one chosen before stays if it is still there.

        Parameters
        ----------
        choices : list of (str, (str, str))
            Words, and element with key.
        """
        before = self.finding.value
        values = [value for _, value in choices]
        self.finding.options = choices
        self.finding.value = before if before in values else next(iter(values), None)
        self._enable(bool(choices))
        self.say("")


def folder_notice(folder: Path) -> str:
    """Return what to know about a tank folder before something is written there.

    Parameters
    ----------
    folder : pathlib.Path
        The tank folder.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> import tempfile
    >>> folder_notice(Path(tempfile.mkdtemp())).startswith("What you decide is kept in events.csv of")
    True
    """
    place = folder.resolve()
    if not can_write(place):
        return (
            "This folder cannot be written, so no decision can be kept. Copy it to a place of your own "
            "and open the copy."
        )
    told = f"What you decide is kept in events.csv of {place.name}."
    if is_demonstration(place):
        told += (
            " This is the demonstration tank of the workbench: a copy is better to play with; the "
            "start page makes one. It is written here all the same."
        )
    return told
