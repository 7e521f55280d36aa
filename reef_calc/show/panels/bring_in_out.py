"""Everything that a tank folder holds, to take away: one workbook, or CSV files for a country."""

from __future__ import annotations

import base64

import ipywidgets as widgets

from reef_calc.log.back_out.csv_files import export_csv
from reef_calc.log.back_out.workbook import export_workbook
from reef_calc.log.tables import COLUMNS
from reef_calc.show.bring_in_words import counted
from reef_calc.show.panels.bring_in_view import BringIn, BringInView
from reef_calc.show.panels.common import guarded
from reef_calc.show.wording import escape

FORMS: dict[str, tuple[str, str]] = {
    "8.3 and commas between cells": (".", ","),
    "8,3 and semicolons between cells": (",", ";"),
    "8.3 and tabs between cells": (".", "\t"),
    "8,3 and tabs between cells": (",", "\t"),
}
_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class OutView(BringInView):
    """Links that save all tables in a form that a spreadsheet of any country opens rightly."""

    def __init__(self) -> None:
        self._bring_in: BringIn | None = None
        self.form = widgets.RadioButtons(
            options=list(FORMS), description="CSV with",
            tooltip="Decimal mark and separator of your spreadsheet",
            style={"description_width": "8.5em"}, layout=widgets.Layout(width="min(100%, 34em)"),
        )  # fmt: skip
        self.form.add_class("rc-answer")
        self.form.observe(lambda _: self._again(), names="value")
        self._workbook, self._files = widgets.HTML(), widgets.HTML()
        self.box = widgets.VBox([self._workbook, self.form, self._files])

    def show(self, bring_in: BringIn) -> None:
        """Offer the tables of this tank.

        Parameters
        ----------
        bring_in : BringIn
            The tank.
        """
        self._bring_in = bring_in
        self._workbook.value = self._files.value = ""
        guarded(bring_in.say, self._offer)()

    def _again(self) -> None:
        if self._bring_in is not None:
            guarded(self._bring_in.say, self._csv)()

    def _offer(self) -> None:
        if self._bring_in is None:
            return
        tank = self._bring_in.tank
        link = link_html(
            f"{tank.folder.name}.xlsx",
            export_workbook(tank),
            "Everything in one workbook (XLSX)",
            _XLSX,
        )
        rows = ", ".join(
            f"{file.removesuffix('.csv').replace('_', ' ')} {counted(int(number), 'row', 'rows')}"
            for file, number in zip(tank.counts["file"], tank.counts["rows"], strict=True)
        )
        self._workbook.value = (
            '<div class="rc" data-view="Take everything out"><h2>Everything the folder holds</h2>'
            f"<p>{escape(rows[0].upper() + rows[1:])}. Refused rows go out as they stand. The workbook "
            "also holds the descriptions (TOML files), plans, studies and profiles as text, in its sheet "
            "“files”. Its tables come back sheet by sheet under “Bring in a file”, once kits and "
            "supplements are described there too. A text that looks like a formula is written so that no "
            f'spreadsheet runs it.</p><ul class="rc-links"><li>{link}</li></ul>'
            "<h3>Table by table</h3></div>"
        )
        self._csv()

    def _csv(self) -> None:
        if self._bring_in is None:
            return
        tank = self._bring_in.tank
        decimal, separator = FORMS[self.form.value]
        links = "".join(
            f"<li>{link_html(file, export_csv(tank, file, decimal=decimal, separator=separator), file)}"
            "</li>"
            for file in COLUMNS
        )
        self._files.value = f'<div class="rc"><ul class="rc-links">{links}</ul></div>'


def link_html(name: str, content: bytes, words: str, kind: str = "text/csv") -> str:
    """Return a link that saves some bytes as a file, with everything inside the link.

    Parameters
    ----------
    name : str
        File name offered.
    content : bytes
        What the file holds.
    words : str
        What the link says.
    kind : str, optional
        Media type.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> link_html("a.csv", b"x", "Save")[:23]
    '<a class="rc-download" '
    """
    data = base64.b64encode(content).decode("ascii")
    return (
        f'<a class="rc-download" download="{escape(name)}" href="data:{kind};base64,{data}">'
        f"{escape(words)}</a>"
    )
