"""The form that stores a kit's correction, and says first what it would do."""

from __future__ import annotations

import datetime as dt
from typing import Any

import ipywidgets as widgets

from reef_calc.bench.bias_forms import BiasForm
from reef_calc.bench.corrections import Correction, correction_of
from reef_calc.bench.lot_check import LotCheck
from reef_calc.chem.numbers import parse_typed_number
from reef_calc.errors import CannotTellError, InputError, ReefError
from reef_calc.log.kit_checks import KitChecks
from reef_calc.log.kit_corrections import kit_history, store_correction, with_correction
from reef_calc.show.bench_corrections import (
    advice_html,
    correction_words,
    effect_html,
    proposal_fields,
    stored_html,
)
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import guarded
from reef_calc.show.wording import escape

_TALL = "44px"
_FIELDS = {
    "slope": ("Factor or slope", "What a reading is multiplied by"),
    "intercept": ("Offset", "What is added, in the kit's unit; below zero takes off"),
    "u": ("Uncertainty u", "Standard uncertainty: half of the ± that holds 95 times in 100"),
    "u_slope": ("u of the slope", "Standard uncertainty of the slope, without unit"),
    "centre": ("u holds at", "The level as read where u holds; away from it the line is less sure"),
}
_SHOWN = {
    "factor": ("slope", "u"),
    "offset": ("intercept", "u"),
    "line": ("slope", "intercept", "u", "u_slope", "centre"),
}


def _look() -> dict[str, Any]:
    # A layout of its own for each control: one that is shared hides all of them together.
    return {
        "style": {"description_width": "11em"},
        "layout": widgets.Layout(width="min(100%, 34em)", height=_TALL),
    }


class KitCorrectionForm:
    """Choose a way, look at what it does, store it."""

    def __init__(self) -> None:
        self.bench: Bench | None = None
        self.checks: KitChecks | None = None
        self.check: LotCheck | None = None
        self._lot = ""
        self._filled: tuple[object, ...] = ()
        self._filling = self._readable = False
        self.advice = widgets.HTML()
        self.way = widgets.ToggleButtons(
            options=list(_SHOWN),
            description="Put right by",
            tooltips=[
                "Multiply every reading: fits when titrant or chart is off",
                "Add to every reading: fits when a blank or the end point is off",
                "Both: needs standards at two levels",
            ],
            style={"description_width": "11em", "button_width": "auto"},
        )
        self.way.add_class("rc-tall")
        self.fields = {
            name: widgets.Text(
                description=words, tooltip=tooltip, continuous_update=False, **_look()
            )
            for name, (words, tooltip) in _FIELDS.items()
        }
        self.start = widgets.DatePicker(
            description="Holds from", tooltip="First day that is put right", **_look()
        )
        self.holds = widgets.Dropdown(
            description="Holds for", tooltip="The lot it was found with, or every lot", **_look()
        )
        self.standard = widgets.Text(
            description="Standard",
            tooltip="What it was found with",
            continuous_update=False,
            **_look(),
        )
        self.effect = widgets.HTML()
        self.sure = widgets.Checkbox(
            description="Store it although it is advised against",
            tooltip="You have read why not, and want it all the same",
            indent=False,
            layout=widgets.Layout(width="auto", height=_TALL),
        )
        self.store = widgets.Button(
            description="Store in kits.toml",
            tooltip="Write the correction; readings stay as they are",
            button_style="primary",
            layout=widgets.Layout(width="auto", height=_TALL),
        )
        self.stored = widgets.HTML()
        self._form = widgets.VBox(
            [
                self.way, *self.fields.values(), self.start, self.holds, self.standard,
                self.effect, self.sure, widgets.HBox([self.store]),
            ],
            layout=widgets.Layout(grid_gap="6px"),
        )  # fmt: skip
        self.box = widgets.VBox([self.advice, self._form, self.stored])
        for control in (*self.fields.values(), self.start, self.holds, self.standard):
            control.add_class("rc-tall")
        self._watch(self.way, self._refill)
        self._watch(self.sure, self._allow)
        for control in (*self.fields.values(), self.start, self.holds, self.standard):
            self._watch(control, self._try)
        self.store.on_click(lambda _: guarded(self._say, self._store)())

    def offer(self, bench: Bench, checks: KitChecks, lot: str | None) -> None:
        """Offer what a check proposes; what was typed stays while kit and lot are the same.

        Parameters
        ----------
        bench : Bench
            The tank on the bench.
        checks : KitChecks
            The kit's checks.
        lot : str or None
            One lot, or None for all.
        """
        self.bench, self.checks = bench, checks
        lots = [one for one in checks.lots if lot in (None, one.lot)]
        one_lot = lot is not None or len(lots) < 2
        self.check = lots[0] if one_lot and lots else None
        self._lot = (lot or "") if lot is not None else (lots[0].lot if lots else "")
        self._form.layout.display = "" if one_lot else "none"
        self.advice.value = _rc(advice_html(checks, self.check, one_lot=one_lot))
        self.stored.value = _rc(stored_html(checks.kit))
        key = (bench.tank.folder, checks.kit.name, self._lot, one_lot)
        if key != self._filled:
            self._filled = key
            self._begin()
        self._try()

    def _watch(self, control: widgets.Widget, action: Any) -> None:
        def changed(_change: Any) -> None:
            if not self._filling:
                guarded(self._say, action)()

        control.observe(changed, names="value")

    def _say(self, text: str, kind: str = "told") -> None:
        if self.bench is not None:
            self.bench.say(text, kind)

    def _proposals(self) -> dict[str, BiasForm]:
        bias = self.check.bias if self.check is not None else None
        return {} if bias is None else {form.form: form for form in bias.forms}

    def _begin(self) -> None:
        """Fill the form for another kit or lot."""
        if self.checks is None or self.bench is None:
            return
        kit, check = self.checks.kit, self.check
        described = kit.lot(self._lot)
        first = self.bench.now().date()
        days: list[dt.date] = []
        if check is not None:
            zone = self.bench.tank.zone
            days = [time.tz_convert(zone).date() for time in check.rows["time"]]
        if days and self.checks.stored.get(self._lot) is not None:
            first = days[-1]  # one that began before the stored one would never hold
        elif described is not None and described.opened is not None:
            first = described.opened
        elif days:
            first = days[0]
        names = "" if check is None else ", ".join(dict.fromkeys(check.rows["standard"]))
        choices = [("every lot", "")]
        if self._lot:
            choices.insert(0, (f"lot {self._lot}", self._lot))
        ways = self._proposals()
        self._filling = True
        try:
            self.start.value, self.standard.value, self.sure.value = first, names, False
            self.holds.options = choices
            self.holds.value = self._lot
            if self.way.value not in ways and ways:
                self.way.value = next(iter(ways))
        finally:
            self._filling = False
        self._fill_numbers()

    def _fill_numbers(self) -> None:
        ways = self._proposals()
        values = dict.fromkeys(_FIELDS, "")
        if self.way.value in ways:
            values = proposal_fields(
                correction_of(ways[self.way.value], dt.date.today(), self._lot, "")
            )
        self._filling = True
        try:
            for name, control in self.fields.items():
                control.value = values[name]
        finally:
            self._filling = False

    def _refill(self) -> None:
        self._fill_numbers()
        self._try()

    def correction(self) -> Correction:
        """Return the correction that the form holds.

        Returns
        -------
        Correction
            Offsets in the kit's unit.

        Raises
        ------
        InputError
            If a field is empty or cannot be read.
        """
        way = self.way.value
        numbers = {name: self._number(name) if name in _SHOWN[way] else 0.0 for name in self.fields}
        if numbers["u"] <= 0:
            raise InputError(
                "an uncertainty above 0", self.fields["u"].value,
                "Without it the correction would count as exact.", "Uncertainty u",
            )  # fmt: skip
        if way != "offset" and numbers["slope"] <= 0:
            raise InputError(
                "a number above 0", self.fields["slope"].value, "Check it.", "Factor or slope"
            )
        if self.start.value is None:
            raise InputError("a day", "nothing", "Choose the first day it holds.", "Holds from")
        slope = 1.0 if way == "offset" else numbers["slope"]
        return Correction(
            self.start.value, self.holds.value or "", numbers["intercept"], slope, numbers["u"],
            self.standard.value.strip(), way, numbers["u_slope"], numbers["centre"],
        )  # fmt: skip

    def _number(self, name: str) -> float:
        typed, label = self.fields[name].value, _FIELDS[name][0]
        if not typed.strip():
            raise InputError("a number", "nothing", "Type it.", label)
        return parse_typed_number(typed, label)

    def _try(self) -> None:
        """Show what the form's correction would do; what cannot be read is said in its place."""
        for name, control in self.fields.items():
            control.layout.display = "" if name in _SHOWN[self.way.value] else "none"
        if self.bench is None or self.checks is None:
            return
        tank, kit = self.bench.tank, self.checks.kit
        self._readable = False
        try:
            new = self.correction()
            changed = with_correction(tank, kit.name, new)
        except ReefError as error:
            self.effect.value = _rc(f'<p role="status"><b>Not ready:</b> {escape(error)}</p>')
        else:
            before, after = kit_history(tank, kit), kit_history(changed, kit)
            self.effect.value = _rc(effect_html(before, after, kit, new, str(tank.zone)))
            self._readable = True
        self._allow()

    def _advised_against(self) -> bool:
        if self.checks is None or self.check is None or self.check.bias is None:
            return True
        stored = self.checks.stored.get(self.check.lot)
        return bool(self.check.cautions) or (stored is not None and stored.puts_right)

    def _allow(self) -> None:
        against = self._advised_against()
        self.sure.layout.display = "" if against else "none"
        self.store.disabled = not self._readable or (against and not self.sure.value)

    def _store(self) -> None:
        if self.bench is None or self.checks is None or self.store.disabled:
            raise CannotTellError("There is nothing to store yet.")
        bench, kit = self.bench, self.checks.kit
        new = self.correction()
        self.store.disabled = True
        try:
            store_correction(bench.tank.folder, kit, new)
        finally:
            self._allow()
        self.sure.value = False
        bench.reload()
        bench.say(
            f"Stored for {kit.name}: {correction_words(new, kit.unit)}. Readings as read are unchanged.",
            "told",
        )


def _rc(inner: str) -> str:
    return f'<div class="rc rc-kit">{inner}</div>' if inner else ""
