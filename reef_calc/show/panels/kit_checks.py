"""The Kit checks view: what kits read on standards, whether they hold still, and corrections."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from reef_calc.bench.kits import Kit
from reef_calc.log.kit_checks import KitChecks, kit_checks
from reef_calc.log.kit_corrections import aim_for_kit, kit_history
from reef_calc.log.standard_rows import kits_with_standards
from reef_calc.show.bench_corrections import ALL_LOTS, lot_choices, lot_of, lot_value
from reef_calc.show.bench_kit_checks import STYLE, kit_check_html, no_standard_html
from reef_calc.show.kit_chart_view import charts_html
from reef_calc.show.kit_history_view import history_csv, history_html
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import WIDE_LABEL, download_html, guarded
from reef_calc.show.panels.kit_correction import KitCorrectionForm

PARTS = {
    "What it says": "Whether the kit is right, and when to read a standard next",
    "Control chart": "Whether it holds still, lot by lot",
    "Correct": "Store a correction, after seeing what it does",
    "History": "The tank's readings as read and as corrected",
}


def _look() -> dict[str, Any]:
    return {
        "style": WIDE_LABEL,
        "layout": widgets.Layout(width="min(100%, 34em)", height="44px"),
    }


class KitChecksView:
    """Choose a kit and a lot; see what standards say, and put the kit right."""

    def __init__(self) -> None:
        self.bench: Bench | None = None
        self.checks: KitChecks | None = None
        self._filling = False
        self._of: str | None = None
        self.kit = widgets.Dropdown(
            description="Kit", tooltip="Kits that have read a standard come first", **_look()
        )
        self.lot = widgets.Dropdown(description="Lot", tooltip="One lot, or all", **_look())
        self.part = widgets.ToggleButtons(
            options=list(PARTS),
            description="Look at",
            tooltips=list(PARTS.values()),
            style={"description_width": "8.5em", "button_width": "auto"},
        )
        for control in (self.kit, self.lot, self.part):
            control.add_class("rc-tall")
        self.shown = widgets.HTML()
        self.form = KitCorrectionForm()
        self.box = widgets.VBox(
            [
                widgets.HTML(f"<style>{STYLE}</style>", layout=widgets.Layout(height="0")),
                self.kit,
                self.lot,
                self.part,
                self.shown,
                self.form.box,
            ],
            layout=widgets.Layout(grid_gap="6px"),
        )
        for control, action in (
            (self.kit, self._choose), (self.lot, self._draw), (self.part, self._draw),
        ):  # fmt: skip
            self._watch(control, action)

    def show(self, bench: Bench) -> None:
        """Show a tank's kits; kit and lot stay where they are still there.

        Parameters
        ----------
        bench : Bench
            The tank on the bench.
        """
        self.bench = bench
        kits = kits_with_standards(bench.tank)
        options = []
        for one in kits:
            count = f"{one.count} reading{'s' if one.count != 1 else ''} of a standard"
            told = count if one.count else "no standard read yet"
            if not one.described:
                told += ", not described"
            options.append((f"{one.name} · {told}", one.name))
        names = [one.name for one in kits]
        self._fill(
            self.kit,
            options,
            self.kit.value if self.kit.value in names else next(iter(names), None),
        )
        guarded(self._say, self._choose)()

    def _watch(self, control: widgets.Widget, action: Any) -> None:
        def changed(_change: Any) -> None:
            if not self._filling:
                guarded(self._say, action)()

        control.observe(changed, names="value")

    def _say(self, text: str, kind: str = "told") -> None:
        if self.bench is not None:
            self.bench.say(text, kind)
        if kind == "error":
            self.shown.value = ""

    def _fill(self, control: widgets.Dropdown, options: list[Any], value: Any) -> None:
        if (tuple(options), value) == (control.options, control.value):
            return
        self._filling = True
        try:
            control.options = options
            control.value = value
        finally:
            self._filling = False

    def _choose(self) -> None:
        """Work the chosen kit out; a lot that it has too stays chosen."""
        self.checks = None
        bench, kit = self.bench, self._kit()
        lots: list[str] = []
        if bench is not None and kit is not None and kit.unit:
            self.checks = kit_checks(bench.tank, kit.name, bench.now().date())
            lots = [one.lot for one in self.checks.lots]
        choices = lot_choices(lots)
        latest = ALL_LOTS
        if self.checks is not None and lots:
            in_use = self.checks.lot_in_use
            latest = lot_value(in_use if in_use in lots else lots[-1])
        keep = self.lot.value in [value for _, value in choices] and self._of == self.kit.value
        self._fill(self.lot, choices, self.lot.value if keep else latest)
        self._of = self.kit.value
        self._draw()

    def _kit(self) -> Kit | None:
        return None if self.bench is None else self.bench.tank.kits.get(self.kit.value)

    def _draw(self) -> None:
        if self.bench is None:
            return
        part = self.part.value
        checks = self.checks
        without = checks is None or checks.rows.empty
        self.lot.layout.display = "none" if without else ""
        self.part.layout.display = "none" if checks is None else ""
        self.form.box.layout.display = "none"
        tank, zone = self.bench.tank, str(self.bench.tank.zone)
        if self.kit.value is None:
            inner = "<h2>No kit is described yet</h2><p>Write one into kits.toml.</p>"
        elif checks is None:
            inner = no_standard_html(self.kit.value, self._kit(), "")
        elif part == "Control chart":
            inner = charts_html(checks, lot_of(self.lot.value), zone)
        elif part == "History":
            inner = self._history(checks)
        elif part == "Correct":
            inner = ""
            self.form.offer(self.bench, checks, lot_of(self.lot.value))
            self.form.box.layout.display = ""
        elif without:
            aim = aim_for_kit(tank, checks.kit)
            level = "" if aim is None else f"{aim[1]:.4g} {checks.kit.unit}"
            inner = no_standard_html(checks.kit.name, checks.kit, level)
        else:
            read = kit_history(tank, checks.kit)
            read = read[(read["limit"] == "") & read["level"].notna()]
            latest = float(read["level"].iloc[-1]) if len(read) else None
            inner = kit_check_html(checks, lot_of(self.lot.value), zone, latest)
        self.shown.value = (
            f'<div class="rc rc-kit" data-view="Kit checks" data-part="{part}">{inner}</div>'
            if inner
            else ""
        )

    def _history(self, checks: KitChecks) -> str:
        if self.bench is None:
            return ""
        tank, kit, zone = self.bench.tank, checks.kit, str(self.bench.tank.zone)
        history = kit_history(tank, kit, lot_of(self.lot.value))
        aim = aim_for_kit(tank, kit)
        html = history_html(history, kit, zone, None if aim is None else (aim[0], aim[2]))
        if history.empty:
            return html
        name = f"{kit.name.replace(' ', '_')}_as_read_and_corrected.csv"
        text = history_csv(history, kit.unit, zone)
        return html + f"<p>{download_html(name, text, 'Save both as CSV', 'text/csv')}</p>"
