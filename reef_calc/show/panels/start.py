"""The panel of the start page: bring your own tank."""

from __future__ import annotations

import shutil
import zoneinfo
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from reef_calc.errors import InputError
from reef_calc.log.folder import start_tank
from reef_calc.log.tank import open_tank
from reef_calc.show.panels.common import WIDE_LABEL, guarded, message_html, style_widget

_FIELD = {"style": WIDE_LABEL, "layout": widgets.Layout(width="min(100%, 34em)")}


class StartPanel:
    """Start an empty tank folder, or copy the demonstration tank to play with.

    Parameters
    ----------
    demo : str or pathlib.Path
        Folder of the demonstration tank.
    home : str or pathlib.Path
        Folder that new tanks are offered in.
    """

    def __init__(self, demo: str | Path, home: str | Path) -> None:
        self.demo, home = Path(demo), Path(home)
        zones = sorted(z for z in zoneinfo.available_timezones() if "/" in z)
        self.name = widgets.Text(
            value="My reef", description="Name", tooltip="What you call the tank", **_FIELD
        )
        self.net = widgets.FloatText(
            value=0.0,
            description="Net litres",
            tooltip="Water really in the system: without rock, sand and the air above",
            **_FIELD,
        )
        self.zone = widgets.Combobox(
            value="Europe/London",
            options=zones,
            description="Time zone",
            tooltip="Zone your clock shows, such as Europe/London",
            **_FIELD,
        )
        self.folder = widgets.Text(
            value=str(home / "my_reef"),
            description="New folder",
            tooltip="Where the tank folder is made; nothing there is overwritten",
            **_FIELD,
        )
        self.start = widgets.Button(
            description="Start an empty tank",
            button_style="primary",
            tooltip="Make the folder with empty tables and commented descriptions",
            layout=widgets.Layout(width="auto"),
        )
        self.copy = widgets.Button(
            description="Copy the demonstration tank there",
            tooltip="Make a copy of the invented tank that you may change",
            layout=widgets.Layout(width="auto"),
        )
        self.message = widgets.HTML(message_html(""))
        self.box = widgets.VBox(
            [
                style_widget(),
                self.name,
                self.net,
                self.zone,
                self.folder,
                widgets.HBox([self.start, self.copy], layout=widgets.Layout(flex_flow="row wrap")),
                self.message,
            ]
        )
        self._on(self.start, self._start)
        self._on(self.copy, self._copy)

    def _on(self, button: widgets.Button, action: Any) -> None:
        act = guarded(self._say, action)

        def clicked(_button: Any) -> None:
            button.disabled = True
            try:
                act()
            finally:
                button.disabled = False

        button.on_click(clicked)

    def _say(self, text: str, kind: str = "told") -> None:
        self.message.value = message_html(text, kind)

    def _target(self) -> Path:
        text = self.folder.value.strip()
        if not text or not text.isprintable():
            raise InputError("a folder for the tank", text, "Type a path.", "New folder")
        return Path(text).expanduser()

    def _start(self) -> None:
        place = start_tank(
            self._target(), self.name.value.strip(), self.net.value, self.zone.value.strip()
        )
        self._say(
            f"“{open_tank(place).name}” is ready in {place}. Describe your kits and supplements in "
            "kits.toml and supplements.toml, write readings into readings.csv or bring in your "
            "old log, then open the monthly review with this folder."
        )

    def _copy(self) -> None:
        place = self._target()
        if place.exists():
            raise InputError(
                "a folder that is not there yet", str(place), "Choose another name.", "New folder"
            )
        shutil.copytree(self.demo, place)
        open_tank(place)
        self._say(f"A copy of the demonstration tank is in {place}: change what you like.")

    def _repr_mimebundle_(self, **_options: Any) -> dict[str, Any]:
        data: dict[str, Any] = dict(self.box._repr_mimebundle_())
        data["text/plain"] = "Start a tank: press Run, then Run All Cells."
        return data
