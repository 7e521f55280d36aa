"""The cells of a foreign file on the page: a window on its rows that can be moved."""

from __future__ import annotations

import ipywidgets as widgets

from reef_calc.log.foreign.understood import Understood
from reef_calc.show.bring_in_preview import preview_html, rows_to_show
from reef_calc.show.bring_in_words import counted

_SHOW = {"All rows": "all", "Only rows with something said": "doubtful"}


class CellsBox:
    """Shows some rows of a file, each cell with what becomes of it."""

    def __init__(self) -> None:
        self._found: Understood | None = None
        self._filling = False
        self.which = widgets.ToggleButtons(
            options=list(_SHOW), description="Preview",
            style={"description_width": "8.5em", "button_width": "auto"},
        )  # fmt: skip
        self.first = widgets.BoundedIntText(
            value=1, min=1, max=1, description="From row", tooltip="First row of the preview",
            style={"description_width": "8.5em"}, layout=widgets.Layout(width="16em"),
        )  # fmt: skip
        self.cells = widgets.HTML()
        self.which.observe(lambda _: self._draw(), names="value")
        self.first.observe(lambda _: self._draw(), names="value")
        wrap = widgets.Layout(flex_flow="row wrap", align_items="flex-end")
        self.box = widgets.VBox([widgets.HBox([self.which, self.first], layout=wrap), self.cells])

    def begin(self) -> None:
        """Go back to the first row, for another file."""
        self._found = None
        self.which.value, self.first.value = next(iter(_SHOW)), 1

    def show(self, found: Understood) -> None:
        """Show a file at the rows that are looked at.

        Parameters
        ----------
        found : Understood
            The file as it is understood now.
        """
        self._filling = True
        try:
            self._found = found
            self.first.max = max(1, found.counts.lines)
        finally:
            self._filling = False
        self._draw()

    def _draw(self) -> None:
        found = self._found
        if found is None or self._filling:
            return
        which = _SHOW[self.which.value]
        rows = rows_to_show(found, which, self.first.value)
        more = ""
        if self.first.value > 1 or (rows and rows_to_show(found, which, rows[-1] + 1)):
            shown = counted(len(rows), "row is", "rows are")
            more = f'<p class="rc-small">{shown} shown; “From row” shows others.</p>'
        body = preview_html(found, rows) if rows else "<p>No such row.</p>"
        self.cells.value = (
            f'<div class="rc" data-view="Preview"><h2>Cell by cell</h2>{body}{more}</div>'
        )
