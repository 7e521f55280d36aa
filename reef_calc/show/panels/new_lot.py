"""Opening a new lot of a kit: into its description, and as an event of the tank."""

from __future__ import annotations

import datetime as dt
from typing import Any

import ipywidgets as widgets
import tomlkit

from reef_calc.bench.kits import Kit
from reef_calc.errors import InputError
from reef_calc.log.descriptions import edit_toml
from reef_calc.log.entry import append_rows
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import WIDE_LABEL, guarded
from reef_calc.show.panels.raw_entry import TALL

_FIELD = {"style": WIDE_LABEL, "layout": widgets.Layout(width="min(100%, 26em)", height=TALL)}


class NewLot:
    """Name and expiry of a lot opened now."""

    def __init__(self) -> None:
        self._bench: Bench | None = None
        self._kit: Kit | None = None
        self.name = widgets.Text(description="Lot", tooltip="As on the label", **_FIELD)
        self.expires = widgets.Text(
            description="Expires",
            placeholder="2027-04-30",
            tooltip="Year-month-day as on the label; empty where it has none",
            **_FIELD,
        )
        self.button = widgets.Button(
            description="Open this lot",
            tooltip="Keep the lot in kits.toml, and the day in events.csv",
            layout=widgets.Layout(width="auto", height=TALL),
        )
        self.button.on_click(self._press)
        self.box = widgets.Accordion(
            [widgets.VBox([self.name, self.expires, self.button])], titles=("Open a new lot",)
        )

    def show(self, bench: Bench, kit: Kit) -> None:
        """Take the kit whose lot would be opened.

        Parameters
        ----------
        bench : Bench
            The tank on the bench.
        kit : Kit
            The kit.
        """
        self._bench, self._kit = bench, kit

    def _press(self, _button: Any) -> None:
        if self._bench is not None:
            guarded(self._bench.say, self._open)()

    def _open(self) -> None:
        bench, kit = self._bench, self._kit
        if bench is None or kit is None:
            return
        name = self.name.value.strip()
        if not name:
            raise InputError("the name of the lot", "nothing", "Copy it from the label.", "Lot")
        if kit.lot(name) is not None:
            raise InputError("a lot that is new", name, "This one is described already.", "Lot")
        opened = bench.now()
        expires = _day(self.expires.value)

        def add(document: tomlkit.TOMLDocument) -> None:
            lot = tomlkit.table()
            lot["name"] = name
            lot["opened"] = opened.date()
            if expires is not None:
                lot["expires"] = expires
            held: Any = document["kit"]
            lots = held[kit.name].setdefault("lot", tomlkit.aot())
            lots.append(lot)

        edit_toml(bench.tank.folder, "kits.toml", add)
        event = {
            "time": opened.isoformat(timespec="minutes"),
            "kind": "lot opened",
            "element": kit.element,
            "refers_to": kit.name,
            "note": f"lot {name}",
        }
        append_rows(bench.tank.folder, "events.csv", [event])
        self.name.value = self.expires.value = ""
        bench.reload()
        bench.say(
            f"Lot {name} of {kit.name} is open. Test a standard twice with it now, and twice with "
            "what is left of the old one: that tells a lot's step from the tank's.",
            "told",
        )


def _day(text: str) -> dt.date | None:
    if not text.strip():
        return None
    try:
        return dt.date.fromisoformat(text.strip())
    except ValueError as error:
        raise InputError(
            "a day such as 2027-04-30", text, "Write year-month-day, or leave it empty.", "Expires"
        ) from error
