"""Waters read with both kits: from the log, or from any two columns."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from reef_calc.chem.numbers import parse_typed_number
from reef_calc.compare.comparison import compare_pairs
from reef_calc.compare.pairs import Pairs
from reef_calc.compare.pairs_in_the_log import pairs_from_log
from reef_calc.compare.two_columns import pairs_from_two_columns, read_two_columns
from reef_calc.errors import CannotTellError, InputError
from reef_calc.show.comparison_page import comparison_html
from reef_calc.show.panels.common import guarded
from reef_calc.show.panels.kit_links import take_away_html
from reef_calc.show.panels.kit_view import Comparing, KitView, typed_number
from reef_calc.show.wording import escape

SOURCES = ("read within an hour", "two columns")
METHODS = (
    "auto", "difference", "known levels", "deming", "weighted deming", "passing bablok", "ols",
)  # fmt: skip
LARGEST_FILE = 2_000_000


class SideBySideView(KitView):
    """Pairs, their difference, and a line only where the waters allow one."""

    def __init__(self) -> None:
        self._comparing: Comparing | None = None
        self.source = widgets.ToggleButtons(
            options=SOURCES,
            description="Pairs",
            tooltips=["Waters of the tank read with both kits", "Pasted, or from a file"],
            style={"description_width": "8.5em", "button_width": "auto"},
        )
        self.text = widgets.Textarea(
            description="Two columns",
            tooltip="Two columns of numbers, kit A first; names may stand above them",
            placeholder="old;new\n8,2;8,9\n…",
            continuous_update=False,
            style={"description_width": "8.5em"},
            layout=widgets.Layout(width="min(100%, 34em)", height="9em"),
        )
        self.file = widgets.FileUpload(
            description="Or a file",
            tooltip="Any text file with two columns",
            accept=".csv,.txt,.tsv",
            multiple=False,
        )
        self.step_a = self._field("Step of A", "Step of kit A's scale; suggested from the numbers")
        self.step_b = self._field("Step of B", "Step of kit B's scale; suggested from the numbers")
        self.levels = self._field("At levels", "Levels to answer at, such as 7; 8; 9")
        self.sd_a = self._field(
            "Scatter of A", "Standard deviation of one reading; from replicates"
        )
        self.sd_b = self._field(
            "Scatter of B", "Standard deviation of one reading; from replicates"
        )
        self.method = widgets.Dropdown(
            options=METHODS,
            description="Line",
            tooltip="auto draws one only where the waters allow it",
            style={"description_width": "8.5em"},
            layout=widgets.Layout(width="min(100%, 22em)"),
        )
        for control in (self.source, self.text, self.method):
            control.observe(lambda _: self._changed(), names="value")
        self.file.observe(lambda _: self._taken(), names="value")
        self._columns = widgets.VBox([self.text, self.file, _row([self.step_a, self.step_b])])
        self._shown = widgets.HTML()
        self.box = widgets.VBox(
            [
                self.source,
                self._columns,
                _row([self.levels, self.method]),
                _row([self.sd_a, self.sd_b]),
                self._shown,
            ]
        )

    def show(self, comparing: Comparing) -> None:
        """Show the pairs of two kits.

        Parameters
        ----------
        comparing : Comparing
            Tank, element and kits.
        """
        self._comparing = comparing
        told = self.empty_typed(
            (self.step_a, self.step_b, self.levels, self.sd_a, self.sd_b),
            str(comparing.tank.folder), comparing.element, comparing.unit, comparing.kit_a,
            comparing.kit_b,
        )  # fmt: skip
        self.told_besides(comparing, told, self._work_out)

    def _changed(self) -> None:
        if self._comparing is not None and not self._filling:
            self._comparing.say("", "told")
            guarded(self._comparing.say, self._work_out)()

    def _taken(self) -> None:
        """Read the uploaded file into the text field."""
        if not self.file.value or self._comparing is None:
            return
        self._comparing.say("", "told")
        guarded(self._comparing.say, self._read_file)()

    def _read_file(self) -> None:
        upload: Any = self.file.value[0]
        content = bytes(upload["content"])
        if len(content) > LARGEST_FILE:
            raise InputError("a file of 2 MB or less", upload["name"], "Copy the rows you need.")
        try:
            text = content.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = content.decode("cp1252", errors="replace")
        self.text.value = text

    def _work_out(self) -> None:
        comparing = self._comparing
        self._shown.value = ""
        columns = self.source.value == SOURCES[1]
        self._columns.layout.display = "" if columns else "none"
        if comparing is None:
            return
        pairs, told = self._pairs(comparing, columns=columns)
        if pairs is None:
            self._shown.value = (
                '<div class="rc" data-view="Side by side"><h2>Two columns</h2><p>Paste two columns, '
                "kit A first, or choose a file.</p></div>"
            )
            return
        found = compare_pairs(
            pairs,
            allowed=comparing.allowed,
            levels=self._levels(),
            method=self.method.value,
            sd_a=typed_number(self.sd_a),
            sd_b=typed_number(self.sd_b),
        )
        said = "".join(f'<p class="rc-small">{escape(text)}</p>' for text in told)
        self._shown.value = (
            f'<div class="rc" data-view="Side by side">{comparison_html(found)}{said}'
            f"{take_away_html(found)}</div>"
        )

    def _pairs(self, comparing: Comparing, *, columns: bool) -> tuple[Pairs | None, list[str]]:
        if columns:
            if not self.text.value.strip():
                return None, []
            read = read_two_columns(self.text.value)
            self._filling = True
            try:
                self.step_a.placeholder, self.step_b.placeholder = (f"{s:g}" for s in read.steps)
            finally:
                self._filling = False
            steps = [typed_number(self.step_a), typed_number(self.step_b)]
            pairs = pairs_from_two_columns(
                self.text.value,
                element=comparing.element,
                unit=comparing.unit,
                resolution_a=read.steps[0] if steps[0] is None else steps[0],
                resolution_b=read.steps[1] if steps[1] is None else steps[1],
            )
            if pairs.n < 2 and pairs.dropped:
                raise InputError(
                    "two rows or more that can be used", f"{len(read.a) - pairs.n} that cannot",
                    f"{pairs.dropped[0].rstrip('.')}. Correct the steps, or the numbers.",
                    "two columns",
                )  # fmt: skip
            return pairs, [message.text for message in read.messages]
        if not comparing.kit_b or comparing.kit_a == comparing.kit_b:
            raise CannotTellError(
                f"Only one kit read {comparing.element} in this tank. Choose another element, or "
                "paste two columns."
            )
        found = pairs_from_log(
            comparing.tank,
            comparing.element,
            comparing.kit_a,
            comparing.kit_b,
            since=comparing.since,
            until=comparing.until,
            unit=comparing.unit,
        )
        return found, []

    def _levels(self) -> list[float]:
        cells = self.levels.value.replace("\t", ";").split(";")
        return [parse_typed_number(cell, "At levels") for cell in cells if cell.strip()]

    def _field(self, description: str, tooltip: str) -> widgets.Text:
        found = widgets.Text(
            description=description,
            tooltip=tooltip,
            placeholder="not set",
            continuous_update=False,
            style={"description_width": "8.5em"},
            layout=widgets.Layout(width="min(100%, 22em)"),
        )
        found.observe(lambda _: self._changed(), names="value")
        return found


def _row(controls: list[widgets.Widget]) -> widgets.HBox:
    return widgets.HBox(controls, layout=widgets.Layout(flex_flow="row wrap"))
