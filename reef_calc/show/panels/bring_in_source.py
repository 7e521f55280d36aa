"""Where a foreign log comes from: a dropped or chosen file, a path, or a pasted table."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from reef_calc.errors import InputError
from reef_calc.log.foreign.from_a_file import content_of
from reef_calc.show.panels.common import WIDE_LABEL, guarded
from reef_calc.show.panels.drop_zone import DropZone


class SourceBox:
    """Takes a file that is dropped or chosen, a path, or a table that is pasted.

    Parameters
    ----------
    on_file : callable
        Takes the name and the content.
    say : callable
        Shows a text of a kind.
    """

    def __init__(
        self, on_file: Callable[[str, bytes], None], say: Callable[[str, str], None]
    ) -> None:
        self._on_file = on_file
        self.zone = DropZone(self._dropped)
        self.upload = widgets.FileUpload(
            description="Or choose a file",
            tooltip="CSV, TSV or TXT, XLSX or ODS, from this computer",
            multiple=False,
            layout=widgets.Layout(width="16em"),
        )
        self.path = widgets.Text(
            description="Or its path",
            tooltip="Path of a file on this machine; press Enter",
            placeholder="type a path and press Enter",
            continuous_update=False,
            style=WIDE_LABEL,
            layout=widgets.Layout(width="min(100%, 34em)"),
        )
        self.pasted = widgets.Textarea(
            description="Or a table",
            tooltip="Copy the cells of a spreadsheet or of a laboratory's report, and paste them here",
            placeholder="paste cells here, headings first",
            continuous_update=False,
            style=WIDE_LABEL,
            layout=widgets.Layout(width="min(100%, 34em)", height="6em"),
        )
        for control, action in (
            (self.zone.dropped, self.zone.take),
            (self.upload, self._uploaded),
            (self.path, self._typed),
            (self.pasted, self._pasted),
        ):
            control.observe(lambda _, action=action: guarded(say, action)(), names="value")
        self.again = widgets.Button(
            description="Read it again", tooltip="The file at this path may have grown",
            layout=widgets.Layout(width="auto", display="none"),
        )  # fmt: skip
        self.again.on_click(lambda _: guarded(say, self._typed)())
        path = widgets.HBox([self.path, self.again], layout=widgets.Layout(flex_flow="row wrap"))
        self.box = widgets.VBox([self.zone.box, self.upload, path, self.pasted])

    def _dropped(self, name: str, content: bytes) -> None:
        self._only(self.zone.box)
        self._on_file(name, content)

    def _uploaded(self) -> None:
        if not self.upload.value:
            return
        upload: Any = self.upload.value[0]
        name, content = str(upload["name"]), bytes(upload["content"])
        # Emptied, so that choosing the same file again reads it again.
        self.upload.value = ()
        self._only(self.upload)
        self._on_file(name, content)

    def _typed(self) -> None:
        text = self.path.value.strip().strip('"')
        self.again.layout.display = "" if text else "none"
        if not text:
            return
        self._only(self.path)
        path = Path(text).expanduser()
        if not path.is_file():
            raise InputError("a file that is there", text, "Check the path.", "Or its path")
        self._on_file(*content_of(path))

    def _pasted(self) -> None:
        if not self.pasted.value.strip():
            return
        self._only(self.pasted)
        content = self.pasted.value.encode("utf-8", "surrogatepass")
        self._on_file(f"pasted {hashlib.sha256(content).hexdigest()[:6]}.txt", content)

    def _only(self, taken: widgets.Widget) -> None:
        """Empty the other fields, so that what stands in one of them is what is shown below."""
        for control in (self.path, self.pasted):
            if control is not taken:
                control.value = ""
