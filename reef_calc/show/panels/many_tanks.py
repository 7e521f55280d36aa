"""All tanks of one folder on one page, read in the background."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import ipywidgets as widgets

from reef_calc.errors import InputError
from reef_calc.show.many_tanks import TanksPage, tanks_page
from reef_calc.show.page import page_html
from reef_calc.show.panels.common import (
    WIDE_LABEL,
    download_html,
    guarded,
    message_html,
    tank_folders,
)
from reef_calc.show.wording import month_words

INTRO = (
    "<p>Every tank folder inside one folder, in the month chosen above: what needs something, first. "
    "The other views can be used while the tanks are read.</p>"
)


class ManyTanks:
    """Read every tank of a folder; show what each needs, and save it.

    Parameters
    ----------
    month : callable
        Returns the month to review, text ``2026-09``; None where none is chosen.
    places : sequence of pathlib.Path or str, optional
        Folders offered.
    """

    def __init__(
        self, month: Callable[[], str | None], places: tuple[str | Path, ...] = ()
    ) -> None:
        self._month = month
        self._stopped = threading.Event()
        self.page: TanksPage | None = None
        self.worker: threading.Thread | None = None
        self.place = widgets.Combobox(
            options=[str(place) for place in places],
            description="Tanks in",
            tooltip="Path of the folder that holds the tank folders",
            continuous_update=False,
            style=WIDE_LABEL,
            layout=widgets.Layout(width="min(100%, 34em)"),
        )
        self.read = widgets.Button(
            description="Read all tanks in this folder",
            button_style="primary",
            tooltip="Review every tank folder inside, one after the other",
            layout=widgets.Layout(width="auto"),
        )
        self.stop = widgets.Button(
            description="Stop",
            tooltip="Stop after the tank being read, and show what is there",
            disabled=True,
            layout=widgets.Layout(width="auto"),
        )
        self.progress = widgets.IntProgress(
            description="Working",
            style={"description_width": "initial"},
            layout=widgets.Layout(display="none", width="min(100%, 34em)"),
        )
        self.message = widgets.HTML(message_html(""))
        self.shown = widgets.HTML()
        self.box = widgets.VBox(
            [
                self.place,
                widgets.HBox([self.read, self.stop], layout=widgets.Layout(flex_flow="row wrap")),
                self.progress,
                self.message,
                self.shown,
            ],
            layout=widgets.Layout(display="none"),
        )
        start = guarded(self._say, self._start)
        self.read.on_click(lambda _button: start())
        self.stop.on_click(lambda _button: self._stopped.set())

    def offer(self, folder: str) -> None:
        """Put the folder around a tank folder into the field while nothing else was typed.

        Parameters
        ----------
        folder : str
            Path of the tank folder that is open.
        """
        if not self.place.value.strip() and folder.strip():
            self.place.value = str(Path(folder.strip()).parent)

    def _say(self, text: str, kind: str = "told") -> None:
        self.message.value = message_html(text, kind)

    def _start(self) -> None:
        text = self.place.value.strip()
        place = Path(text).expanduser()
        if not text or not place.is_dir():
            raise InputError(
                "a folder that holds tank folders", text, "Check the path.", "Tanks in"
            )
        folders = [path for _, path in tank_folders(place)]
        if not folders:
            raise InputError(
                "a folder with tank folders inside",
                text,
                "A tank folder holds tank.toml: choose the folder one level up.",
                "Tanks in",
            )
        self._say("")
        self._stopped.clear()
        self.read.disabled, self.stop.disabled = True, False
        self.progress.value, self.progress.max = 0, len(folders)
        self.progress.layout.display = ""
        self.worker = threading.Thread(
            target=self._work, args=(folders, self._month()), daemon=True
        )
        self.worker.start()

    def _work(self, folders: list[str], month: str | None) -> None:
        try:
            guarded(self._say, self._read)(folders, month)
        finally:
            self.read.disabled, self.stop.disabled = False, True
            self.progress.layout.display = "none"

    def _read(self, folders: list[str], month: str | None) -> None:
        self.page = tanks_page(
            folders, month, progress=self._advance, go_on=lambda: not self._stopped.is_set()
        )
        self.shown.value = f"{self.page.html()}{self._links(self.page)}"
        done = f"{self.page.tanks} of {len(folders)} tanks read"
        when = f", {month_words(self.page.month)}" if self.page.month else ""
        self._say(f"{done}{when}.")

    def _advance(self, done: int, total: int, name: str) -> None:
        self.progress.max, self.progress.value = total, done
        self.progress.description = f"{min(done + 1, total)} of {total}: {name[:30]}"

    @staticmethod
    def _links(page: TanksPage) -> str:
        month = page.month or "no_month"
        whole = page_html(page.heading, [page.html()])
        links = (
            download_html(f"tanks_{month}.html", whole, "This page (HTML, prints on A4)"),
            download_html(
                f"tanks_{month}.csv",
                page.table.to_csv(index=False),
                "Every tank and element as a table (CSV)",
                "text/csv",
            ),
        )
        items = "".join(f"<li>{link}</li>" for link in links)
        return f'<div class="rc"><ul class="rc-links">{items}</ul></div>'
