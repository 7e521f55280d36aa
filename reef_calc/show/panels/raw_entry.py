"""The fields for what a kit shows: other ones for every kind of kit."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from reef_calc.bench.kits import Kit
from reef_calc.bench.typed_entry import Field, fields_of
from reef_calc.show.panels.common import WIDE_LABEL

TALL = "46px"
_COMMON = (
    Field("dilution", "Diluted", "times", "Final volume over sample; empty: not diluted"),
    Field(
        "diluent", "Diluting water", "", "Level of the water it was diluted with, in the kit's unit"
    ),
    Field("salinity", "Salinity", "", "Of the sample, if it was measured with it"),
    Field("temperature", "Temperature", "°C", "Of the sample, if it was measured with it"),
    Field("source", "Source", "", "Where the number comes from, such as a report's number"),
    Field("note", "Note", "", "Anything worth keeping"),
)


class RawEntry:
    """Fields to type into, made anew for each kind of kit.

    Parameters
    ----------
    changed : callable
        Called after every keystroke.
    """

    def __init__(self, changed: Callable[[], None]) -> None:
        self._changed = changed
        self._quiet = False
        self.fields: dict[str, widgets.Widget] = {}
        self._shown: tuple[str, tuple[Field, ...]] = ("", ())
        self.common = {field.name: self._control(field) for field in _COMMON}
        self.own = widgets.VBox([])
        self.more = widgets.Accordion(
            [widgets.VBox(list(self.common.values()))], titles=("More about this sample",)
        )
        self.box = widgets.VBox([self.own, self.more])

    def show(self, kit: Kit) -> None:
        """Show the fields of a kit; what was typed under the same name stays.

        Parameters
        ----------
        kit : Kit
            The kit.

        Raises
        ------
        InputError
            If the kit's chart cannot be read.
        """
        fields = fields_of(kit)
        if (kit.name, fields) == self._shown:
            return
        before, self._shown = self.typed(), (kit.name, fields)
        controls = {field.name: self._control(field) for field in fields}
        self._quiet = True
        try:
            for name, control in controls.items():
                if name in self.fields and type(control) is type(self.fields[name]):
                    if not isinstance(control, widgets.Text):
                        continue  # a choice of one kit means another thing for the next
                    control.value = before.get(name, "")
        finally:
            self._quiet = False
        self.fields = controls
        self.own.children = tuple(controls.values())

    def typed(self) -> dict[str, str]:
        """Return what was typed, by field.

        Returns
        -------
        dict of str to str
            Texts as they stand.
        """
        both = {**self.fields, **self.common}
        return {name: str(control.value or "") for name, control in both.items()}

    def put(self, name: str, text: str) -> None:
        """Put a text into a field, as if it had been typed.

        Parameters
        ----------
        name : str
            Field.
        text : str
            Text.
        """
        if name in self.fields:
            self.fields[name].value = text

    def clear(self, *, keep: tuple[str, ...] = ("unit", "half_drop", "u_kind")) -> None:
        """Empty what was read, so that the next reading starts fresh.

        Parameters
        ----------
        keep : tuple of str, optional
            Fields that stay.
        """
        self._quiet = True
        try:
            for name, control in self.fields.items():
                if name not in keep:
                    text = isinstance(control, widgets.Text)
                    control.value = "" if text else control.options[0][1]
        finally:
            self._quiet = False
        self._changed()

    def clear_sample(self) -> None:
        """Empty what belongs to one sample: dilution, salinity, temperature, note."""
        self._quiet = True
        try:
            for control in self.common.values():
                control.value = ""
        finally:
            self._quiet = False

    def _control(self, field: Field) -> widgets.Widget:
        name = f"{field.label} ({field.unit})" if field.unit else field.label
        control: widgets.Widget
        if field.choices:
            control = widgets.Dropdown(
                options=field.choices,
                description=name,
                tooltip=field.hint or name,
                style=WIDE_LABEL,
                layout=widgets.Layout(width="min(100%, 26em)", height=TALL),
            )
        else:
            control = widgets.Text(
                description=name,
                tooltip=field.hint or name,
                style=WIDE_LABEL,
                layout=widgets.Layout(width="min(100%, 26em)", height=TALL),
            )
        control.add_class("rc-field")
        control.observe(self._typed, names="value")
        return control

    def _typed(self, _change: Any) -> None:
        if not self._quiet:
            self._changed()
