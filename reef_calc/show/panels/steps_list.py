"""The steps of a kit, in its owner's words, with a button that starts each wait."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from reef_calc.bench.kits import Kit
from reef_calc.show.bench_test import bench_html
from reef_calc.show.panels.raw_entry import TALL
from reef_calc.show.wording import escape


class StepsList:
    """Steps as a numbered list; a wait is a button.

    Parameters
    ----------
    start : callable
        Takes a name, the shortest and the longest wait in seconds.
    """

    def __init__(self, start: Callable[[str, float, float | None], None]) -> None:
        self._start = start
        self.waits: list[widgets.Button] = []
        self.box = widgets.VBox([])

    def show(self, kit: Kit) -> None:
        """Show the steps of a kit.

        Parameters
        ----------
        kit : Kit
            The kit.
        """
        self.waits = []
        if not kit.steps:
            words = (
                "No steps are described: write them under steps in kits.toml, in your own words."
            )
            self.box.children = (widgets.HTML(bench_html(f'<p class="rc-small">{words}</p>')),)
            return
        lines: list[widgets.Widget] = []
        number, last = 0, kit.name
        for step in kit.steps:
            if step.do:
                number += 1
                last = step.do
                text = f'<p class="rc-do"><b>{number}.</b><span>{escape(step.do)}</span></p>'
                lines.append(widgets.HTML(bench_html(text)))
            if step.wait_min is not None:
                lines.append(self._wait(kit, last, *step.wait_min))
        self.box.children = tuple(lines)

    def _wait(self, kit: Kit, after: str, shortest: float, longest: float) -> widgets.Button:
        span = f"{shortest:g}" if shortest == longest else f"{shortest:g} to {longest:g}"
        button = widgets.Button(
            description=f"Start the wait of {span} min",
            tooltip=f"Count down after “{after}”",
            icon="clock-o",
            layout=widgets.Layout(
                width="auto", height=TALL, margin="2px 0 2px 42px", align_self="flex-start"
            ),
        )

        def clicked(_button: Any) -> None:
            upper = longest * 60.0 if longest > shortest else None
            self._start(f"{kit.name}: after “{after}”", shortest * 60.0, upper)

        button.on_click(clicked)
        self.waits.append(button)
        return button
