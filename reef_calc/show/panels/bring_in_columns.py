"""Correcting what a column of a foreign file was understood as."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import ipywidgets as widgets

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.unit_words import accepted_units
from reef_calc.errors import InputError
from reef_calc.log.foreign.columns import Column
from reef_calc.show.bring_in_preview import meaning_words
from reef_calc.show.panels.common import WIDE_LABEL

ROLES: tuple[tuple[str, str], ...] = (
    ("a number of one element", "value"),
    ("the date, or date and time", "date"),
    ("the time of day", "time"),
    ("the name of the element", "element"),
    ("the unit", "unit"),
    ("the kit", "kit"),
    ("the lot", "lot"),
    ("the water (tank, new water, …)", "water"),
    ("the tank", "tank"),
    ("a note", "note"),
    ("who tested", "by"),
    ("the uncertainty", "u"),
    ("what was read on the kit", "raw"),
    ("the number of the replicate", "replicate"),
    ("the supplement", "supplement"),
    ("the amount of a dose", "amount"),
    ("litres changed", "litres"),
    ("the volume of a tank", "volume"),
    ("the end of a dose", "end"),
    ("not used", "not used"),
)
KINDS = ("readings", "laboratory report", "logger", "additions", "water changes", "volumes")


class ColumnsBox:
    """Fields that say what one column is; the answer holds for the file and its profile.

    Parameters
    ----------
    on_answers : callable
        Takes answers by key; an empty answer takes one back.
    say : callable
        Shows a text of a kind.
    """

    def __init__(
        self, on_answers: Callable[[dict[str, str]], None], say: Callable[[str, str], None]
    ) -> None:
        self._on_answers, self._say = on_answers, say
        self._columns: dict[str, Column] = {}
        self._filling = False
        self.kind = self._choice("Rows are", KINDS, "What the rows of this file are")
        self.column = self._choice("Column", (), "The column to correct")
        self.role = self._choice("It is", ROLES, "What its cells are")
        self.element = self._choice("Element", ("", *ELEMENTS), "Element of its numbers")
        self.unit = widgets.Combobox(
            description="Unit", tooltip="A unit of the list", continuous_update=False,
            style=WIDE_LABEL, layout=widgets.Layout(width="min(100%, 26em)"),
        )  # fmt: skip
        self.kit = self._field("Kit", "Kit that read this column")
        self.lot = self._field("Lot", "Lot of that kit")
        self.apply = widgets.Button(
            description="Use this", tooltip="Understand the file with this column so",
            layout=widgets.Layout(width="auto"),
        )  # fmt: skip
        self.kind.observe(lambda change: self._kind(change["new"]), names="value")
        self.column.observe(lambda _: self._fill(), names="value")
        self.element.observe(lambda _: self._units(), names="value")
        self.apply.on_click(lambda _: self._apply())
        wrap = widgets.Layout(flex_flow="row wrap")
        fields = widgets.VBox(
            [
                self.kind,
                widgets.HBox([self.column, self.role], layout=wrap),
                widgets.HBox(
                    [self.element, self.unit], layout=widgets.Layout(flex_flow="row wrap")
                ),
                widgets.HBox([self.kit, self.lot], layout=widgets.Layout(flex_flow="row wrap")),
                self.apply,
            ]
        )
        self.box = widgets.Accordion([fields], selected_index=None)
        self.box.set_title(0, "Correct what a column is, or name its kit")

    def show(self, columns: Sequence[Column], kind: str) -> None:
        """Offer the columns of a file.

        Parameters
        ----------
        columns : sequence of Column
            Columns as they are understood now.
        kind : str
            What the rows are understood as.
        """
        self._columns = {column.key: column for column in columns}
        self._filling = True
        try:
            self.kind.value = kind if kind in KINDS else None
            before = self.column.value
            self.column.options = [
                (f"{column.key} ({meaning_words(column)})", column.key) for column in columns
            ]
            first = columns[0].key if columns else None
            self.column.value = before if before in self._columns else first
        finally:
            self._filling = False
        self._fill()

    def _kind(self, kind: str | None) -> None:
        if not self._filling and kind:
            self._on_answers({"kind/file": kind})

    def _fill(self) -> None:
        column = self._columns.get(self.column.value or "")
        if column is None or self._filling:
            return
        roles = [role for _, role in ROLES]
        self.role.value = column.role if column.role in roles else "not used"
        self.element.value = column.element if column.element in ELEMENTS else ""
        self._units()
        self.unit.value = column.unit
        self.kit.value, self.lot.value = column.kit, column.lot

    def _units(self) -> None:
        self.unit.options = accepted_units(self.element.value) if self.element.value else ()

    def _apply(self) -> None:
        column = self._columns.get(self.column.value or "")
        if column is None:
            self._say(str(InputError("a column", "none", "Choose one.", "Column")), "error")
            return
        key = column.key
        answers = {f"role/{key}": self.role.value or ""}
        if self.role.value == "value":
            answers |= {
                f"element/{key}": self.element.value or "",
                f"unit/{key}": self.unit.value.strip(),
                f"kit/{key}": self.kit.value.strip(),
                f"lot/{key}": self.lot.value.strip(),
            }
        self._on_answers(answers)

    def _choice(self, description: str, options: object, tooltip: str) -> widgets.Dropdown:
        return widgets.Dropdown(
            options=options, description=description, tooltip=tooltip, style=WIDE_LABEL,
            layout=widgets.Layout(width="min(100%, 34em)"),
        )  # fmt: skip

    def _field(self, description: str, tooltip: str) -> widgets.Text:
        return widgets.Text(
            description=description, tooltip=tooltip, continuous_update=False, style=WIDE_LABEL,
            layout=widgets.Layout(width="min(100%, 26em)"),
        )  # fmt: skip
