"""The page that brings in a log: a tank folder, a file, and the views of what becomes of it."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from reef_calc.errors import InputError, ReefError
from reef_calc.log.tank import Tank, open_tank
from reef_calc.show.bring_in_style import STYLE
from reef_calc.show.panels.bring_in_view import BringIn, BringInView
from reef_calc.show.panels.common import (
    guarded,
    message_html,
    style_widget,
)
from reef_calc.show.panels.folder_choice import folder_field, tank_in

VIEWS: dict[str, tuple[str, str, str]] = {
    "Bring in a file": (
        "bring_in_file",
        "FileView",
        "A spreadsheet, a laboratory report or a logger's file",
    ),
    "Take back": ("bring_in_undo", "UndoView", "What was brought in, and taking it back"),
    "Take everything out": ("bring_in_out", "OutView", "All tables as a workbook or as CSV files"),
}
PAGE_STYLE = """
.rc-in-page .jupyter-widget-Collapse-header,.rc-in-page .jupyter-widget-Collapse-header span{
 color:var(--jp-ui-font-color0)}
.rc-in-page .rc-answer.widget-radio{width:min(100%,60em)!important;height:auto}
.rc-in-page .rc-answer .widget-radio-box{width:100%;max-width:none;height:auto}
.rc-in-page .rc-answer .widget-radio-box label{white-space:normal;height:auto;line-height:1.35;
 padding:3px 0;max-width:60em;display:flex;align-items:baseline}
.rc-in-page .rc-answer .widget-radio-box label input{flex:none;order:-1;
 margin:0 8px 0 0;position:relative;top:2px}
"""


class BringInPanel:
    """Choose a tank folder and a file, see what becomes of every cell, and add it to the tank.

    Parameters
    ----------
    folder : str or pathlib.Path
        Tank folder shown first.
    places : sequence of pathlib.Path, optional
        Folders whose tanks are offered in the list.
    file : str or pathlib.Path, optional
        Foreign file shown first.

    Attributes
    ----------
    tank : Tank or None
        As read just now.
    """

    def __init__(
        self,
        folder: str | Path,
        places: tuple[str | Path, ...] = (),
        file: str | Path | None = None,
    ) -> None:
        self.tank: Tank | None = None
        self.views: dict[str, BringInView] = {}
        self.folder = folder_field(folder, places)
        self.view = widgets.ToggleButtons(
            options=list(VIEWS),
            description="Show",
            tooltips=[words for _, _, words in VIEWS.values()],
            style={"description_width": "8.5em", "button_width": "auto"},
        )
        self.message = widgets.HTML(message_html(""))
        self.place = widgets.VBox([])
        self.box = widgets.VBox(
            [
                style_widget(),
                widgets.HTML(
                    f"<style>{STYLE}{PAGE_STYLE}</style>", layout=widgets.Layout(height="0")
                ),
                self.folder,
                self.view,
                self.message,
                self.place,
            ]
        )
        self.box.add_class("rc-in-page")
        self._watch(self.folder, self._open)
        self._watch(self.view, self._show)
        guarded(self.say, self._open)()
        if file is not None and self.views:
            self.shown.source.path.value = str(file)

    @property
    def shown(self) -> Any:
        """The view that is shown now."""
        return self.views[self.view.value]

    def say(self, text: str, kind: str = "told") -> None:
        """Show a text on the message line.

        Parameters
        ----------
        text : str
            Plain text.
        kind : {"told", "error"}
            An error is announced at once.
        """
        self.message.value = message_html(text, kind)

    def _open(self) -> None:
        self.tank = None
        self.place.children = ()
        self.tank = tank_in(self.folder)
        self._show()

    def _reload(self) -> Tank:
        """Read the tank again, after rows were added or taken back."""
        if self.tank is None:
            raise InputError("a tank folder", "none", "Choose one.", "Tank folder")
        self.tank = open_tank(self.tank.folder)
        return self.tank

    def _show(self) -> None:
        """Show the chosen view; made when it is first asked for."""
        if self.tank is None:
            return
        self.say("")
        name = self.view.value
        if name not in self.views:
            module, kind, _ = VIEWS[name]
            made = import_module(f"reef_calc.show.panels.{module}")
            self.views[name] = getattr(made, kind)()
        view = self.views[name]
        if self.place.children != (view.box,):
            self.place.children = (view.box,)
        try:
            view.show(BringIn(self.tank, self.say, self._reload))
        except ReefError as error:
            self.say(str(error), "error")

    def _watch(self, control: widgets.Widget, action: Callable[[], None]) -> None:
        control.observe(lambda _change: guarded(self.say, action)(), names="value")

    def _repr_mimebundle_(self, **_options: Any) -> dict[str, Any]:
        data: dict[str, Any] = dict(self.box._repr_mimebundle_())
        data["text/plain"] = "Bring in a log: press Run, then Run All Cells."
        return data
