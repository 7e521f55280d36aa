"""The bench page: one tank folder, one person, and the views they work with."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from reef_calc.errors import ReefError
from reef_calc.log.tank import Tank, open_tank
from reef_calc.show.panels.bench_view import Bench, BenchView
from reef_calc.show.panels.common import (
    WIDE_LABEL,
    can_write,
    guarded,
    is_demonstration,
    message_html,
    style_widget,
)
from reef_calc.show.panels.folder_choice import folder_field, tank_in

_FIELD = {"style": WIDE_LABEL, "layout": widgets.Layout(width="min(100%, 34em)", height="44px")}
# Big enough for one wet finger, and for reading at arm's length.
STYLE = """<style>
.rc-bench-page .widget-text input[type="text"],.rc-bench-page .widget-dropdown>select{height:44px;
 font-size:18px}
.rc-bench-page .widget-text,.rc-bench-page .widget-dropdown{align-items:center;margin:3px 2px}
.rc-bench-page .widget-label{font-size:15px;height:auto;line-height:1.3}
.rc-bench-page .widget-toggle-button,.rc-bench-page .jupyter-button{height:44px;line-height:42px;
 font-size:16px}
.rc-bench-page .jupyter-widget-Collapse-header,.rc-bench-page .lm-Widget.jupyter-widget-Collapse-header,
.rc-bench-page .jupyter-widget-Collapse-header span{color:var(--jp-ui-font-color0);font-size:16px}
.rc-bench-page .jupyter-widget-Collapse-header{padding:10px}
</style>"""
VIEWS: dict[str, tuple[str, str, str]] = {
    "Test": ("bench_test", "TestView", "One kit: steps, waits, what it shows, into the log"),
    "Bench day": ("bench_day", "BenchDayView", "Several tests with one pair of hands"),
    "Standards": ("standards", "StandardsView", "Test water of known strength, dilutions, spikes"),
    "Kit checks": ("kit_checks", "KitChecksView", "What kits read on standards; control charts"),
    "Salinity": ("salinity", "SalinityView", "Between the scales of salinity"),
    "Stock": ("stock", "StockView", "Tests left, what to buy, expiry"),
}


class BenchSheetPanel:
    """Choose a tank folder, say who tests, and work at the bench.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder shown first.
    places : sequence of pathlib.Path, optional
        Folders whose tanks are offered in the list.
    """

    def __init__(self, folder: str | Path, places: tuple[str | Path, ...] = ()) -> None:
        self.tank: Tank | None = None
        self.views: dict[str, BenchView] = {}
        self.folder = folder_field(folder, places)
        self.by = widgets.Combobox(
            description="Tested by",
            tooltip="Name or initials: readers differ, and the log can tell by how much",
            continuous_update=False,
            **_FIELD,
        )
        self.view = widgets.ToggleButtons(
            options=list(VIEWS),
            description="Show",
            tooltips=[words for _, _, words in VIEWS.values()],
            style={"description_width": "8.5em", "button_width": "auto"},
        )
        self.view.add_class("rc-tall")
        self.notice = widgets.HTML()
        self.message = widgets.HTML(message_html(""))
        self.place = widgets.VBox([])
        self.box = widgets.VBox(
            [
                style_widget(), widgets.HTML(STYLE, layout=widgets.Layout(height="0", margin="0")),
                self.folder, self.by, self.view, self.notice, self.place,
                self.message,
            ]
        )  # fmt: skip
        self.box.add_class("rc-bench-page")
        self._watch(self.folder, self._open)
        self._watch(self.by, self._show)
        self._watch(self.view, self._show)
        guarded(self.say, self._open)()

    def say(self, text: str, kind: str = "told") -> None:
        """Show a text on the message line, below the view.

        Parameters
        ----------
        text : str
            Plain text.
        kind : {"told", "error"}
            An error is announced at once.
        """
        self.message.value = message_html(text, kind)

    def _watch(self, control: widgets.Widget, action: Callable[[], None]) -> None:
        control.observe(lambda _: guarded(self.say, action)(), names="value")

    def _open(self) -> None:
        self.tank = None
        try:
            self.tank = tank_in(self.folder)
        except ReefError:
            self.place.children = ()
            raise
        self.say("")
        self.by.options = sorted({name for name in self.tank.readings["by"] if name})
        self._show()

    def _reload(self) -> None:
        if self.tank is not None:
            self.tank = open_tank(self.tank.folder)
            self._show()

    def _show(self) -> None:
        """Show the chosen view; made when it is first asked for."""
        if self.tank is None:
            self.place.children = ()
            return
        name = self.view.value
        if name not in self.views:
            module, kind, _ = VIEWS[name]
            made = import_module(f"reef_calc.show.panels.{module}")
            self.views[name] = getattr(made, kind)()
        notice = _notice(self.tank.folder)
        self.notice.value = (
            f'<div class="rc"><p class="rc-small">{notice}</p></div>' if notice else ""
        )
        view = self.views[name]
        view.show(Bench(self.tank, self.by.value.strip(), self.say, self._reload))
        if self.place.children != (view.box,):
            self.place.children = (view.box,)

    def _repr_mimebundle_(self, **_options: Any) -> dict[str, Any]:
        data: dict[str, Any] = dict(self.box._repr_mimebundle_())
        data["text/plain"] = "Bench sheet: press Run, then Run All Cells."
        return data


def _notice(folder: Path) -> str:
    if not can_write(folder):
        return (
            "This folder cannot be written, so nothing can be saved. Copy it to a place of your own "
            "and open the copy."
        )
    if is_demonstration(folder):
        return (
            "This is the demonstration tank of the workbench: a copy is better to play with; the "
            "start page makes one. What you save is written here all the same."
        )
    return ""
