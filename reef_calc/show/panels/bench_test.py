"""The Test view: one kit, its steps and waits, what it shows, the level, and into the log."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets
import pandas as pd

from reef_calc.bench.assessment import Assessment, assess
from reef_calc.bench.handling_faults import faults_that_fit
from reef_calc.bench.slips import Slip
from reef_calc.bench.typed_entry import entry_in_words
from reef_calc.errors import InputError, ReefError
from reef_calc.log.entry import append_rows
from reef_calc.log.new_readings import Sample, reading_rows
from reef_calc.show.bench_test import (
    STYLE,
    bench_html,
    cautions_html,
    expected_html,
    faults_html,
    kept_html,
    result_html,
    slip_html,
)
from reef_calc.show.budget_view import budget_html
from reef_calc.show.expectation import Expectation, expectation
from reef_calc.show.panels.bench_sitting import Sitting
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import guarded
from reef_calc.show.panels.countdowns import Countdowns
from reef_calc.show.panels.new_lot import NewLot
from reef_calc.show.panels.raw_entry import TALL, RawEntry
from reef_calc.show.panels.sample_choice import STUDY, SampleChoice
from reef_calc.show.panels.steps_list import StepsList
from reef_calc.show.wording import escape


class TestView:
    """Choose a kit, follow its steps, type what it shows, save."""

    __test__ = False

    def __init__(self) -> None:
        self.bench: Bench | None = None
        self.found: Assessment | None = None
        self.sitting = Sitting()
        self._sittings: dict[str, Sitting] = {}
        self._expected = Expectation()
        self._filling = False
        self.sample = SampleChoice(
            self._guarded(self._choose_kit),
            self._guarded(self._typed),
            self._guarded(self._look_around),
        )
        self.cautions = widgets.HTML()
        self.countdowns = Countdowns()
        self.steps = StepsList(self.countdowns.start)
        self.entry = RawEntry(self._guarded(self._typed))
        self.result = widgets.HTML()
        self.doubts = widgets.VBox([])
        self.looked = widgets.Checkbox(
            description="I looked again: keep what I typed",
            tooltip="Save it although it looks wrong; what you typed is kept as it is",
            indent=False,
            layout=widgets.Layout(width="auto", height=TALL, display="none"),
        )
        self.looked.observe(lambda _: self._allow(), names="value")
        self.save = self._button("Save", self._save, "Write into readings.csv", "primary")
        self.again = self._button(
            "Keep it and read the same water again", self._keep, "Replicates are saved together"
        )
        self.forget = self._button("Forget the last one kept", self._forget, "It is not saved yet")
        self.kept = widgets.HTML()
        self.around = widgets.HTML()
        self.new_lot = NewLot()
        self.box = widgets.VBox(
            [
                widgets.HTML(f"<style>{STYLE}</style>", layout=widgets.Layout(height="0")),
                self.sample.box,
                self.cautions,
                self.steps.box,
                self.countdowns.box,
                self.entry.box,
                self.result,
                self.doubts,
                self.looked,
                self.kept,
                widgets.HBox(
                    [self.save, self.again, self.forget],
                    layout=widgets.Layout(flex_flow="row wrap"),
                ),
                self.around,
                self.new_lot.box,
            ]
        )

    def show(self, bench: Bench) -> None:
        """Show a tank's kits; what is being typed stays where the kit is still there.

        Parameters
        ----------
        bench : Bench
            The tank on the bench.
        """
        self.bench = bench
        # What was kept belongs to its own folder, and waits there.
        self.sitting = self._sittings.setdefault(str(bench.tank.folder), Sitting())
        self.sample.show(bench)
        self._choose_kit()

    def _guarded(self, action: Callable[[], None]) -> Callable[..., None]:
        return guarded(self._say, action)

    def _button(
        self, words: str, action: Callable[[], None], tooltip: str, style: str = ""
    ) -> widgets.Button:
        layout = widgets.Layout(width="auto", height="52px")
        button = widgets.Button(
            description=words, tooltip=tooltip, button_style=style, layout=layout
        )
        act = self._guarded(action)
        button.on_click(lambda _: act())
        return button

    def _say(self, text: str, kind: str = "told") -> None:
        if self.bench is not None:
            self.bench.say(text, kind)

    def _choose_kit(self) -> None:
        if self.bench is None:
            return
        try:
            kit = self.sample.chosen_kit()
            self.entry.show(kit)
        except ReefError as error:
            self.found = None
            self.result.value = bench_html(f'<p class="rc-doubt">{escape(str(error))}</p>')
            self.cautions.value = self.around.value = ""
            self.steps.box.children = self.entry.own.children = ()
            self._allow()
            return
        held = self.sitting.kit
        if held is not None and held.name != kit.name:
            self._say(
                f"What you kept ({self.sitting.in_words()}) is not saved yet: choose that kit again "
                "and press Save.",
                "error",
            )
        self.sample.show_kit(kit)
        self.cautions.value = bench_html(cautions_html(kit))
        self.steps.show(kit)
        self.new_lot.show(self.bench, kit)
        self._look_around()

    def _look_around(self) -> None:
        """Work out what is to be expected; once for a kit, a water and a time."""
        self.sample.show_water()
        self._expected = Expectation()
        bench, water = self.bench, self.sample.water.value
        if bench is not None and water not in (None, STUDY):
            kit = self.sample.chosen_kit()
            # A time that cannot be read is told where the level would stand.
            try:
                moment = self.sample.moment()
            except ReefError:
                moment = None
            if kit.element and moment is not None:
                self._expected = expectation(bench.tank, kit, water, moment)
        self._typed()

    def _typed(self) -> None:
        if self.bench is None:
            return
        try:
            kit, day = self.sample.chosen_kit(), self.sample.moment().date()
            self.sample.water_name()
        except ReefError as error:
            self.found = None
            self.result.value = bench_html(f'<p class="rc-doubt">{escape(str(error))}</p>')
            self._allow()
            return
        lot = self.sample.lot.value or ""
        self.found = assess(
            kit, self.entry.typed(), day=day, lot=lot, expected=self._expected.range
        )
        self.looked.value = False
        self._draw()

    def _draw(self) -> None:
        found, expected = self.found, self._expected
        if found is None:
            return
        self.result.value = bench_html(
            f'<div role="status">{result_html(found, expected.aims)}</div>'
        )
        self.doubts.children = tuple(w for slip in found.slips for w in self._doubt(slip))
        faults = (
            faults_that_fit(found.kit, "high" if found.surprise == "high" else "low")
            if found.surprise
            else ()
        )
        self.around.value = bench_html(
            faults_html(faults, found.surprise)
            + expected_html(found, expected.words, expected.scale(found), expected.earlier)
            + (budget_html(found.result) if found.result else "")
        )
        self.kept.value = bench_html(
            kept_html(self.sitting.read, self.sitting.agreement(), self.sitting.in_words())
        )
        self._allow()

    def _doubt(self, slip: Slip) -> list[widgets.Widget]:
        line: list[widgets.Widget] = [widgets.HTML(bench_html(slip_html(slip)))]
        name = self.found.field if self.found is not None else ""
        if slip.code == "syringe":
            name = "used"
        if slip.likely is None or not name or slip.code in ("unit", "lot"):
            return line
        text = f"{slip.likely:.10g}"
        use = widgets.Button(
            description=f"{text} is right",
            tooltip=f"Put {text} into the field; nothing is saved yet",
            layout=widgets.Layout(
                width="auto", height=TALL, margin="0 0 6px 26px", align_self="flex-start"
            ),
        )
        use.on_click(lambda _: self.entry.put(name, text))
        return [*line, use]

    def _allow(self) -> None:
        """Free the buttons: nothing doubted is saved before it was answered."""
        found = self.found
        ready = found is not None and found.result is not None
        doubted = ready and found is not None and bool(found.slips)
        self.looked.layout.display = "" if doubted else "none"
        free = ready and (not doubted or bool(self.looked.value))
        self.again.disabled = not free
        # Kept readings alone may be saved, but not past one that is half typed or doubted.
        blank = found is not None and found.result is None and not found.refusal
        self.save.disabled = not (free or (blank and bool(self.sitting.read)))
        self.forget.layout.display = "" if self.sitting.read else "none"

    def _keep(self) -> None:
        found = self.found
        if found is None or found.result is None or self.again.disabled:
            raise InputError("a reading", "none yet", "Type what the kit shows.", "Test")
        water, lot = self.sample.water_name(), self.sample.lot.value or ""
        raw = entry_in_words(found.kit, self.entry.typed())
        self.sitting.keep(found.kit, water, lot, found.result, raw)
        self.entry.clear()

    def _forget(self) -> None:
        self.sitting.forget_last()
        self._draw()

    def _save(self) -> None:
        if self.bench is None or self.save.disabled:
            return
        moment = self.sample.moment()
        if self.found is not None and self.found.result is not None:
            self._keep()
        kit, read = self.sitting.kit, tuple(self.sitting.read)
        if kit is None:
            return
        typed = self.entry.typed()
        topped = self.sample.top_off_words() if self.sitting.water == "tank" else ""
        notes = (typed["note"].strip(), topped)
        sample = Sample(
            time=moment,
            water=self.sitting.water,
            lot=self.sitting.lot,
            by=self.bench.by,
            salinity=typed["salinity"].strip().replace(",", "."),
            temperature_C=typed["temperature"].strip().replace(",", "."),
            source=typed["source"].strip(),
            note="; ".join(note for note in notes if note),
        )
        append_rows(self.bench.tank.folder, "readings.csv", reading_rows(kit, sample, read))
        water = self.sitting.water
        self.sitting.clear()
        self.entry.clear_sample()
        self.sample.clear()
        told = ", ".join(result.text for result, _ in read)
        when = pd.Timestamp(moment).strftime("%d %b %H:%M")
        self.bench.reload()
        self._say(f"Saved: {told}; {water}, {kit.name}, {when}. {self._flags(len(read))}".strip())

    def _flags(self, count: int) -> str:
        """Say what the log thinks of the rows just written."""
        if self.bench is None:
            return ""
        tank = self.bench.tank
        last = len(tank.raw["readings.csv"])
        rows = range(last - count + 1, last + 1)
        told = [p for p in tank.problems if p.file == "readings.csv" and p.row in rows]
        return " ".join(f"The log says: {p.reason} {p.repair}" for p in told)
