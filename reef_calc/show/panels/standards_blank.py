"""The blank: what a kit reads on purified water, and where that goes."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from reef_calc.bench.spikes import mean_reading
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.standards_file import set_blank
from reef_calc.show.bench_series import BLANK_KINDS, blank_html, blank_words
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import guarded
from reef_calc.show.panels.standard_fields import (
    button,
    choice_field,
    fill,
    number,
    numbers,
    row,
    text_field,
)
from reef_calc.show.panels.standard_result import Shown
from reef_calc.show.wording import escape

_TITRATIONS = ("direct titration", "back titration", "two titrations")


class Blank:
    """Choose a kit, type what it took on purified water, keep the blank."""

    def __init__(self) -> None:
        self.shown = Shown("Blank")
        self.kit = choice_field("Kit", "The kit that read purified water")
        self.used = text_field("Titrant used (mL)", "On purified water; several with ; between")
        self.within = text_field(
            "Syringe scatter (mL)", "One standard deviation of one reading of the syringe", "0.01"
        )
        self.save = button("Keep as blank", "Write blank_mL of this kit into kits.toml")
        self.box = widgets.VBox(
            [row(self.kit), row(self.used, self.within), self.shown.box, row(self.save)]
        )
        for control in (self.kit, self.used, self.within):
            control.observe(self._changed, names="value")
        self.shown.on_click(self.save, self._save)

    def show(self, bench: Bench) -> None:
        """Show a tank; what was typed stays.

        Parameters
        ----------
        bench : Bench
            Tank and person.
        """
        self.shown.bench = bench
        fill(self.kit, [(f"{name}, {kit.kind}", name) for name, kit in bench.tank.kits.items()])
        self._changed(None)

    def _changed(self, _change: Any) -> None:
        if self.shown.bench is not None:
            guarded(self._fail, self._work_out)()

    def _fail(self, text: str, kind: str) -> None:
        self.save.disabled = True
        self.shown.say(text, kind)

    def _work_out(self) -> None:
        bench = self.shown.bench
        if bench is None or self.kit.value is None:
            self.save.disabled = True
            self.shown.show("<p>Describe a kit in kits.toml first.</p>")
            return
        kit = bench.tank.kits[self.kit.value]
        titration = kit.kind in _TITRATIONS
        for field in (self.used, self.within):
            field.layout.display = "" if titration else "none"
        self.save.layout.display = "" if kit.kind in BLANK_KINDS else "none"
        self.save.disabled = not self.used.value.strip()
        hazards = "".join(f"<li>{escape(one)}</li>" for one in kit.hazards)
        caution = f'<div class="rc-caution"><ul>{hazards}</ul></div>' if hazards else ""
        if not (titration and self.used.value.strip()):
            self.shown.show(
                f"<h2>Purified water with {escape(kit.name)}</h2>{caution}"
                f"<p>{escape(blank_words(kit.kind))}</p><p>Do every step as with tank water. Three "
                "readings tell more than one.</p>"
            )
            return
        mean, u = self._blank()
        self.shown.show(caution + blank_html(kit, mean, 2 * u, len(numbers(self.used))))

    def _blank(self) -> tuple[float, float]:
        used = numbers(self.used)
        if min(used) < 0:
            raise InputError(
                "titrant used, 0 mL or more", f"{min(used):g} mL", "Type filled less left.",
                self.used.description,
            )  # fmt: skip
        return mean_reading(used, number(self.within))

    def _save(self) -> None:
        bench = self.shown.bench
        if bench is None or self.kit.value is None:
            raise CannotTellError("Choose a kit first.")
        kit, (blank_mL, _) = self.kit.value, self._blank()
        capacity = bench.tank.kits[kit].titrant
        if capacity is not None and capacity.capacity_mL and blank_mL > capacity.capacity_mL:
            raise InputError(
                f"no more than the syringe holds ({capacity.capacity_mL:g} mL)",
                f"{blank_mL:g} mL", "Check the decimal point.", self.used.description,
            )  # fmt: skip
        set_blank(bench.tank.folder, kit, blank_mL)
        bench.reload()
        bench.say(f"blank_mL = {blank_mL:.4g} is kept for {kit} in kits.toml.", "told")
