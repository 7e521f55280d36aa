"""The salinity view of the bench: from what an instrument shows to every other scale."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from reef_calc.bench.salinity_instruments import SCALES, SalinityReading
from reef_calc.bench.salinity_table import salinity_with_uncertainty
from reef_calc.bench.uncertainty import CombinedUncertainty
from reef_calc.chem.numbers import parse_typed_number
from reef_calc.chem.salinity_scales import practical_salinity_from
from reef_calc.errors import ReefError
from reef_calc.show.bench_salinity import (
    STYLE,
    WAITING,
    on_scales_html,
    top_off_html,
    understood_html,
)
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import guarded

_TALL = {"width": "min(100%, 30em)", "height": "46px", "margin": "4px 2px"}
_LABEL = {"description_width": "11.5em"}
_KEEPS = {"corrects itself": True, "does not correct": False}
_DEGREES = ("°C", "°F")


class SalinityView:
    """Type what an instrument shows; read its salinity, and the same water on every scale.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown.
    """

    def __init__(self) -> None:
        self._bench: Bench | None = None
        self._filling = self._told = False
        self._offered: dict[widgets.Text, str] = {}
        self.scale = self._dropdown("Instrument shows", "What the number on the instrument is")
        self.scale.options = [(name[:1].upper() + name[1:], name) for name in SCALES]
        self.scale.value = next(iter(SCALES))
        self.value = self._text("Reading", "The number as shown; Enter, or leave the field")
        self.step = self._text("Smallest step", "What the last mark or digit of the scale is worth")
        self.made_for = self._dropdown(
            "Scale made for", "Reference temperature: on the instrument or in its leaflet"
        )
        self.corrects = self._buttons(
            "Temperature",
            _KEEPS,
            [
                "The instrument corrects; or it was set with pure water at this same temperature",
                "What it shows changes with the temperature of the water",
            ],
        )
        self.sample = self._text(
            "Water was at", "Temperature of the sample when it was read; of a refractometer's prism"
        )
        self.degrees = self._buttons("Degrees", _DEGREES, ["Celsius", "Fahrenheit"])
        self.within = self._text(
            "Thermometer ±", "How far the thermometer may be off, in the same degrees"
        )
        self.topped = self._buttons(
            "Topped off?",
            ("yes", "no"),
            [
                "The water was at its mark when it was sampled",
                "Some water had evaporated and was not yet replaced",
            ],
        )
        self.missing = self._text("Litres missing", "Fresh water it takes to reach the mark")
        self.net = self._text("Net litres", "Net volume when topped off")
        self.level = self._text(
            "Another level", "A level read in that water, to take back; or empty"
        )
        self.head, self.table, self.top_off = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.box = widgets.VBox(
            [
                widgets.HTML(f"<style>{STYLE}</style>", layout=widgets.Layout(height="0")),
                self.head,
                self.scale, self.value, self.step, self.made_for, self.corrects, self.sample,
                self.degrees, self.within,
                self.table,
                widgets.HTML(_framed("<h2>Topped off before sampling?</h2>")),
                self.topped, self.missing, self.net, self.level,
                self.top_off,
            ]
        )  # fmt: skip
        self._offer(self.within, "0.5")
        self._scale_chosen()
        self._watch(self.scale, self._scale_chosen)
        self._watch(self.degrees, self._degrees_chosen)
        for control in (
            self.value, self.step, self.made_for, self.corrects, self.sample, self.within,
            self.topped, self.missing, self.net, self.level,
        ):  # fmt: skip
            self._watch(control, self._draw)

    def _text(self, description: str, tooltip: str) -> widgets.Text:
        made = widgets.Text(
            description=description,
            tooltip=tooltip,
            continuous_update=False,
            style=_LABEL,
            layout=widgets.Layout(**_TALL),
        )
        made.add_class("rc-tall")
        return made

    def _dropdown(self, description: str, tooltip: str) -> widgets.Dropdown:
        made = widgets.Dropdown(
            description=description, tooltip=tooltip, style=_LABEL, layout=widgets.Layout(**_TALL)
        )
        made.add_class("rc-tall")
        return made

    def _buttons(
        self, description: str, options: Any, tooltips: list[str]
    ) -> widgets.ToggleButtons:
        made = widgets.ToggleButtons(
            options=list(options.items()) if isinstance(options, dict) else list(options),
            description=description,
            tooltips=tooltips,
            style=_LABEL | {"button_width": "auto"},
            layout=widgets.Layout(margin="4px 2px"),
        )
        made.add_class("rc-tall")
        return made

    def _watch(self, control: widgets.Widget, action: Any) -> None:
        act = guarded(self._say, action)

        def changed(_change: Any) -> None:
            if not self._filling:
                act()

        control.observe(changed, names="value")

    def _say(self, text: str, kind: str = "told") -> None:
        # A message of somebody else stays: only what this view said is taken back.
        if self._bench is not None and (text or self._told):
            self._bench.say(text, kind)
        self._told = bool(text)

    def _offer(self, field: widgets.Text, text: str) -> None:
        """Fill a field that is empty or holds what was offered before; typed values stay."""
        if field.value.strip() in ("", self._offered.get(field, "")):
            self._filling = True
            try:
                field.value = text
            finally:
                self._filling = False
        self._offered[field] = text

    def show(self, bench: Bench) -> None:
        """Show a tank: its volume and temperature are offered, its aim stands beside the result.

        Parameters
        ----------
        bench : Bench
            The tank and the person.
        """
        self._bench = bench
        self._offer(self.net, f"{bench.tank.water_at(bench.now()).net_L:g}")
        guarded(self._say, self._degrees_chosen)()

    def _scale_chosen(self) -> None:
        scale = SCALES[self.scale.value]
        self._filling = True
        try:
            self.value.value = ""
            if self.made_for.options != tuple(scale.made_for):
                self.made_for.options = list(scale.made_for)
                self.made_for.value = next(iter(scale.made_for), None)
            self.corrects.value = scale.corrects
        finally:
            self._filling = False
        self.step.description = f"Smallest step{f' ({scale.unit})' if scale.unit else ''}"
        self.value.description = f"Reading{f' ({scale.unit})' if scale.unit else ''}"
        self._offered[self.step] = self.step.value.strip()  # the step of another scale never stays
        self._offer(self.step, f"{scale.step:g}")
        self._draw()

    def _degrees_chosen(self) -> None:
        in_F = self.degrees.value == "°F"
        self._offer(self.within, "1" if in_F else "0.5")
        if self._bench is not None:
            celsius = self._bench.tank.water_at(self._bench.now()).temperature_C
            self._offer(self.sample, f"{1.8 * celsius + 32.0 if in_F else celsius:.4g}")
        self._draw()

    def _draw(self) -> None:
        asked = "" if SCALES[self.scale.value].made_for else "none"
        for control in (self.made_for, self.corrects, self.sample, self.degrees, self.within):
            control.layout.display = asked
        if self.corrects.value:
            self.within.layout.display = "none"
        for control in (self.missing, self.net, self.level):
            control.layout.display = "none" if self.topped.value == "yes" else ""
        self.head.value, self.table.value, self.top_off.value = _framed(WAITING), "", ""
        found = self._understand()
        if self.topped.value == "yes":
            self.top_off.value = _framed(top_off_html(0.0, 1.0))
        elif self.missing.value.strip():
            self.top_off.value = _framed(
                top_off_html(
                    parse_typed_number(self.missing.value, self.missing.description),
                    parse_typed_number(self.net.value, self.net.description),
                    found,
                    self._number(self.level),
                )
            )
        self._say("")

    def _understand(self) -> CombinedUncertainty | None:
        value = self._number(self.value)
        if value is None:
            return None
        reading = SalinityReading(
            self.scale.value,
            value,
            parse_typed_number(self.step.value, self.step.description),
            made_for=self.made_for.value or "",
            corrects=bool(self.corrects.value),
            **self._water(),
        )
        found = salinity_with_uncertainty(reading)
        self.head.value = _framed(understood_html(reading, found, self._aim()))
        self.table.value = _framed(on_scales_html(reading, found))
        return found

    def _water(self) -> dict[str, float]:
        if not SCALES[self.scale.value].made_for:
            return {}
        in_F = self.degrees.value == "°F"
        water: dict[str, float] = {}
        sample = self._number(self.sample)
        if sample is not None:
            water["sample_C"] = (sample - 32.0) / 1.8 if in_F else sample
        if not self.corrects.value:
            # Empty here is refused in words: without the temperature the reading means nothing.
            parse_typed_number(self.sample.value, self.sample.description)
            within = parse_typed_number(self.within.value, self.within.description)
            water["sample_half_width_C"] = within / 1.8 if in_F else within
        return water

    def _aim(self) -> tuple[float, float] | None:
        aim = self._bench.tank.aims.get("salinity") if self._bench is not None else None
        if aim is None:
            return None
        try:
            ends = [float(practical_salinity_from(one, aim.unit)) for one in (aim.low, aim.high)]
        except ReefError:
            return None
        return ends[0], ends[1]

    @staticmethod
    def _number(field: widgets.Text) -> float | None:
        text = field.value.strip()
        return parse_typed_number(text, field.description) if text else None


def _framed(inner: str) -> str:
    return f'<div class="rc rc-salinity" data-view="Salinity">{inner}</div>'
