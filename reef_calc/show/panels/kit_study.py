"""A study of two kits: planned before a drop is spent, tested blind, judged at the end or early."""

from __future__ import annotations

import secrets
from typing import Any

import ipywidgets as widgets

from reef_calc.bench.kits import Kit
from reef_calc.compare.kit_scatter import KitScatter, step_to_spread
from reef_calc.compare.order_sheet import key_table, order_table, plan_study
from reef_calc.compare.study_design import Design, default_design, designs_table
from reef_calc.compare.study_pairs import finished_tests
from reef_calc.compare.study_power import StudyOutlook, study_outlook
from reef_calc.compare.study_result import compare_study
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.studies import store_study
from reef_calc.log.study_files import stored_studies
from reef_calc.show.comparison_page import comparison_html
from reef_calc.show.panels.common import download_html, guarded
from reef_calc.show.panels.kit_cups import CupsToMix
from reef_calc.show.panels.kit_links import take_away_html
from reef_calc.show.panels.kit_view import Comparing, KitView, number_in, typed_number
from reef_calc.show.study_page import key_page, order_sheet_page, outlook_html
from reef_calc.show.wording import escape

TESTS = 20
# More than anyone spends on two kits; far above it the table is work for nothing.
MOST_TESTS = 1000


class StudyView(KitView):
    """How many tests, what they will be able to say, the order sheet, and what came of it."""

    def __init__(self) -> None:
        self._comparing: Comparing | None = None
        self._outlook: StudyOutlook | None = None
        self.tests = self._field("Tests to spend", "Both kits together")
        self.tests.value = str(TESTS)
        self.usual = self._field("Usual level", "The level you keep")
        self.sd_a = self._field("Scatter of A", "Standard deviation of one reading of kit A")
        self.sd_b = self._field("Scatter of B", "Standard deviation of one reading of kit B")
        self.only = widgets.Checkbox(
            description="Only the usual level matters",
            tooltip="Then waters of different days, and no mixing",
            indent=False,
            layout=widgets.Layout(width="auto"),
        )
        self.only.observe(lambda _: self._changed(), names="value")
        self.name = self._field("Name of the study", "Part of the water's name in the log")
        self.store = widgets.Button(
            description="Store the study and its order",
            tooltip="Into studies/; nothing is overwritten",
            layout=widgets.Layout(width="auto"),
        )
        self.store.on_click(self._press)
        self.stored = widgets.Dropdown(
            description="Stored study",
            tooltip="A study of this tank folder",
            style={"description_width": "10em"},
            layout=widgets.Layout(width="min(100%, 30em)"),
        )
        self.stored.observe(lambda _: self._changed(), names="value")
        self.cups = CupsToMix()
        self._plan, self._done = widgets.HTML(), widgets.HTML()
        self.box = widgets.VBox(
            [
                widgets.HTML('<div class="rc"><h2>Plan a study</h2></div>'),
                _row([self.tests, self.usual]),
                _row([self.sd_a, self.sd_b]),
                self.only,
                self._plan,
                _row([self.name, self.store]),
                widgets.HTML('<div class="rc"><h2>Studies of this tank</h2></div>'),
                self.stored,
                self.cups.box,
                self._done,
            ]
        )

    def show(self, comparing: Comparing) -> None:
        """Show the study of two kits.

        Parameters
        ----------
        comparing : Comparing
            Tank, element and kits.
        """
        self._comparing = comparing
        told = self.empty_typed(
            (self.usual, self.sd_a, self.sd_b),
            str(comparing.tank.folder), comparing.element, comparing.unit, comparing.kit_a,
            comparing.kit_b,
        )  # fmt: skip
        self._offer(comparing)
        self.told_besides(comparing, told, self._work_out)

    def _offer(self, comparing: Comparing) -> None:
        self._filling = True
        try:
            aim = comparing.tank.aims.get(comparing.element)
            self.usual.placeholder = "not set" if aim is None else f"{aim.aim:g}"
            for field, kit in ((self.sd_a, comparing.kit_a), (self.sd_b, comparing.kit_b)):
                known = self._known_sd(comparing, kit)
                field.placeholder = "not known" if known is None else f"{known:g}"
            names = [study.name for study in stored_studies(comparing.tank.folder)[0]]
            before = self.stored.value
            if tuple(names) != tuple(self.stored.options):
                self.stored.options = names
                self.stored.value = before if before in names else next(iter(names), None)
        finally:
            self._filling = False

    @staticmethod
    def _described(comparing: Comparing, kit: str) -> Kit | None:
        found = comparing.tank.kits.get(kit.partition(" / lot ")[0])
        return found if found is not None and found.unit == comparing.unit else None

    def _known_sd(self, comparing: Comparing, kit: str) -> float | None:
        described = self._described(comparing, kit)
        aim = comparing.tank.aims.get(comparing.element)
        if described is None or described.sd_is_default or aim is None:
            return None
        found = described.sd(aim.aim)
        return found if found > 0.0 else None

    def _changed(self) -> None:
        if self._comparing is not None and not self._filling:
            self._comparing.say("", "told")
            guarded(self._comparing.say, self._work_out)()

    def _scatter(self, comparing: Comparing, field: widgets.Text, kit: str) -> KitScatter:
        sd = typed_number(field)
        if sd is not None and not sd > 0.0:
            raise InputError(
                "a scatter above 0", field.value, "Read one water five times.", field.description
            )
        if sd is None:
            sd = self._known_sd(comparing, kit)
        if sd is None:
            raise InputError(
                "the scatter of one reading", "nothing", "Type it, or read one water five times.",
                field.description,
            )  # fmt: skip
        described = comparing.tank.kits.get(kit.partition(" / lot ")[0])
        step = (
            0.0 if described is None or described.unit != comparing.unit else described.resolution
        )
        return KitScatter(sd, step)

    def _left(self, comparing: Comparing, kit: str) -> float | None:
        described = self._described(comparing, kit)
        return None if described is None else described.tests_left

    def _design(self) -> Design:
        tests = number_in(self.tests)
        if tests != int(tests) or tests > MOST_TESTS:
            raise InputError(
                f"a whole number of tests, {MOST_TESTS} or fewer", self.tests.value,
                "Write 20, both kits together.", "Tests to spend",
            )  # fmt: skip
        return default_design(int(tests), only_usual_level=self.only.value)

    def _work_out(self) -> None:
        comparing = self._comparing
        self._plan.value = self._done.value = ""
        if comparing is None:
            return
        self._show_stored(comparing)
        if not comparing.kit_b or comparing.kit_a == comparing.kit_b:
            raise CannotTellError("Describe a second kit of this element in kits.toml first.")
        design = self._design()
        self._usual(comparing)
        a = self._scatter(comparing, self.sd_a, comparing.kit_a)
        b = self._scatter(comparing, self.sd_b, comparing.kit_b)
        self._outlook = study_outlook(
            design,
            a,
            b,
            unit=comparing.unit,
            allowed=comparing.allowed,
            tests_left_a=self._left(comparing, comparing.kit_a),
            tests_left_b=self._left(comparing, comparing.kit_b),
            names=(comparing.kit_a, comparing.kit_b),
        )
        tests = design.vials
        table = designs_table(tests, a, b) if tests >= 10 else None
        self._plan.value = (
            f'<div class="rc" data-view="Study">{outlook_html(self._outlook, table)}</div>'
        )

    def _show_stored(self, comparing: Comparing) -> None:
        studies, problems = stored_studies(comparing.tank.folder)
        study = next((one for one in studies if one.name == self.stored.value), None)
        self.cups.show(study, comparing.say)
        bad = "".join(f"<li>{escape(p)}</li>" for p in problems)
        parts = [f"<h3>Could not be read</h3><ul>{bad}</ul>"] if bad else []
        if study is None:
            parts.append("<p>No study is stored in this folder yet.</p>")
        else:
            done = finished_tests(comparing.tank, study)
            parts.append(f"<p>{len(done)} of {len(study.tests)} tests are in the log.</p>")
            links = [
                download_html(
                    f"study_{study.name}_order.html",
                    order_sheet_page(study, done),
                    "The order sheet to print (levels hidden)",
                ),
                download_html(
                    f"study_{study.name}_order.csv",
                    order_table(study, done).to_csv(index=False),
                    "The order (CSV)",
                    "text/csv",
                ),
                download_html(
                    f"study_{study.name}_key.html",
                    key_page(study),
                    "The key to the cups, for whoever mixes them (to print)",
                ),
                download_html(
                    f"study_{study.name}_key.csv",
                    key_table(study).to_csv(index=False),
                    "The key (CSV)",
                    "text/csv",
                ),
            ]
            parts.append(f'<ul class="rc-links">{"".join(f"<li>{one}</li>" for one in links)}</ul>')
            if done:
                found = compare_study(comparing.tank, study)
                parts.append(comparison_html(found) + take_away_html(found))
        self._done.value = f'<div class="rc" data-view="Studies">{"".join(parts)}</div>'

    def _usual(self, comparing: Comparing) -> float | None:
        usual = typed_number(self.usual)
        if usual is not None and not usual > 0.0:
            raise InputError(
                "a level above 0", self.usual.value, "Write the level you keep.", "Usual level"
            )
        aim = comparing.tank.aims.get(comparing.element)
        return aim.aim if usual is None and aim is not None else usual

    def _press(self, _button: Any) -> None:
        if self._comparing is None:
            return
        self.store.disabled = True
        try:
            guarded(self._comparing.say, self._store)()
        finally:
            self.store.disabled = False

    def _store(self) -> None:
        comparing = self._comparing
        if comparing is None:
            return
        usual = self._usual(comparing)
        a = self._scatter(comparing, self.sd_a, comparing.kit_a)
        b = self._scatter(comparing, self.sd_b, comparing.kit_b)
        study = plan_study(
            self.name.value.strip(),
            self._design(),
            element=comparing.element,
            unit=comparing.unit,
            kit_a=comparing.kit_a,
            kit_b=comparing.kit_b,
            usual=usual,
            made=comparing.now().to_pydatetime(),
            seed=secrets.randbelow(2**31),
            resolution=step_to_spread(a, b),
            allowed=comparing.allowed,
        )
        path = store_study(comparing.tank.folder, study)
        wrong = comparing.reload()
        self.stored.value = study.name
        comparing.say(
            f"Stored as studies/{path.name}: print the order sheet, hand the key to whoever mixes the "
            f"cups. {wrong}".strip(),
            "told",
        )

    def _field(self, description: str, tooltip: str) -> widgets.Text:
        found = widgets.Text(
            description=description,
            tooltip=tooltip,
            continuous_update=False,
            style={"description_width": "10em"},
            layout=widgets.Layout(width="min(100%, 22em)"),
        )
        found.observe(lambda _: self._changed(), names="value")
        return found


def _row(controls: list[widgets.Widget]) -> widgets.HBox:
    return widgets.HBox(controls, layout=widgets.Layout(flex_flow="row wrap"))
