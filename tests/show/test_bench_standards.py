"""The standards view, driven as the browser drives it, and what it writes into the tank folder."""

from __future__ import annotations

import base64
import io
import re
from pathlib import Path

import ipywidgets as widgets
import pandas as pd
import pytest

from reef_calc import open_tank
from reef_calc.bench.spikes import SpikeRecovery
from reef_calc.chem.salts import LABEL_FIRST
from reef_calc.log.standards_file import add_standard
from reef_calc.show.bench_series import recovery_html
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.standards import StandardsView
from reef_calc.show.style import PALETTE
from tests.folders import make_folder
from tests.tank_cases import words_of

KITS = """
[kit.acid]
element = "alkalinity"
kind = "direct titration"
unit = "dKH"
resolution = 0.1
repeatability = {sd = 0.1, from = "replicates"}
sample_mL = 5.0
titrant = {mol_per_L = 0.018, capacity_mL = 1.0}
hazards = ["weak <acid>"]

[[kit.acid.lot]]
name = "A1"

[kit.back]
element = "potassium"
kind = "back titration"
unit = "mg/L"

[kit.steps]
element = "nitrate"
kind = "colour steps"
unit = "mg/L"
"""


class Page:
    """The bench page around one view: a message line and a folder that is read again."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.view = StandardsView()
        self.said: list[tuple[str, str]] = []
        self.reload()

    def reload(self) -> None:
        """Open the folder and show it."""
        bench = Bench(open_tank(self.folder), "NJ", self.say, self.reload)
        self.view.show(bench)

    def say(self, text: str, kind: str = "told") -> None:
        """Keep what was said."""
        self.said.append((kind, text))

    @property
    def standards_toml(self) -> str:
        """The file as it stands."""
        return (self.folder / "standards.toml").read_text(encoding="utf-8")

    def part(self, name: str) -> None:
        """Press one of the buttons on top."""
        send(self.view.part, index=list(self.view.part.options).index(name))


def send(control: widgets.Widget, **state: object) -> None:
    """Set what the browser sets."""
    control.set_state(state)


def choose(control: widgets.Dropdown, value: object) -> None:
    """Choose an option by its value, as the browser does: by index."""
    values = [o[1] if isinstance(o, tuple) else o for o in control.options]
    send(control, index=values.index(value))


def downloads(html: str) -> dict[str, str]:
    """The files that links hold, by name."""
    found = re.findall(r'download="([^"]+)" href="data:[^,]+,([^"]+)"', html)
    return {name: base64.b64decode(data).decode() for name, data in found}


@pytest.fixture
def page(tmp_path: Path) -> Page:
    return Page(make_folder(tmp_path / "reef", kits=KITS))


def test_a_recipe_stands_there_at_once(page: Page) -> None:
    shown = page.view.make.shown.box.value
    text = words_of(shown)
    assert "Test water for alkalinity: 8.00 ± 0.11 dKH" in text
    assert "Weigh 0.151 g of sodium carbonate anhydrous" in text
    assert "Make up to 1.000 L." in text
    assert "mass of salt" in text
    assert page.said == []
    # Cautions stand above the recipe, not below it.
    assert shown.index(LABEL_FIRST) < shown.index("Weigh 0.151 g") < shown.index("How to make it")
    assert "(H319)" in text
    used = {c.lower() for pair in PALETTE.values() for c in pair}
    assert {c.lower() for c in re.findall(r"#[0-9a-fA-F]{6}\b", shown)} <= used


def test_what_was_weighed_sets_the_level(page: Page) -> None:
    send(page.view.make.weighed, value="0,160")
    text = words_of(page.view.make.shown.box.value)
    assert "Weighed: 0.16 g" in text
    assert "8.47 ± 0.11 dKH" in text


def test_a_small_mass_goes_through_a_stock(page: Page) -> None:
    make = page.view.make
    choose(make.element, "phosphate")
    text = words_of(make.shown.box.value)
    assert "By way of a stock of 100.0 ± 1.4 mg/L" in text
    assert "Weigh 0.143 g of potassium dihydrogen phosphate" in text
    assert "1000 times as strong: label both bottles" in text
    assert make.keep.which.options == ("the test water", "its stock")
    choose(make.water, "sodium chloride solution")
    assert "Weigh 36.0 g of sodium chloride" in words_of(make.shown.box.value)
    assert make.salinity.layout.display == ""


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("litres", "0", "a flask above 0 L"),
        ("litres", "0.33", "a size that a volumetric flask"),
        ("litres", "1,000", "thousands separator"),
        ("litres", "", "Litres: needed a number"),
        ("level", "8 dKH", "a number alone"),
        ("level", "-1", "above what the water itself holds"),
        ("level", "1e9", "certainly dissolves"),
        ("assay", "0", "an assay between 30 and 105 %"),
        ("assay", "0.995", "such as 99.5"),
        ("assay_within", "-1", "a half-width between 0 and 30 %"),
        ("step", "0", "a step above 0 g"),
        ("linearity", "-1", "0 or more"),
        ("blank", "9", "purer water"),
        ("within_C", "-3", "0 or more"),
        ("weighed", "0", "a mass of salt"),
    ],
)
def test_bad_numbers_are_told_and_no_recipe_is_left(
    page: Page, field: str, typed: str, words: str
) -> None:
    make = page.view.make
    control = getattr(make, field)
    before = control.value
    send(control, value=typed)
    kind, said = page.said[-1]
    assert kind == "error"
    assert words in said
    assert words in words_of(make.shown.box.value)  # beside the fields too
    assert "Weigh" not in words_of(make.shown.box.value)
    assert (make.recipe, make.keep.recipe, make.keep.downloads.value) == (None, None, "")
    assert make.keep.save.disabled
    send(control, value=before)
    assert page.said[-1] == ("told", "")
    assert make.recipe is not None
    assert not make.keep.save.disabled


def test_a_comma_is_a_point(page: Page) -> None:
    send(page.view.make.litres, value="0,5")
    assert page.view.make.recipe.water.volume_mL == 500.0


def test_the_water_of_crystallisation_must_be_known(page: Page) -> None:
    make = page.view.make
    choose(make.element, "calcium")
    choose(make.salt, ("calcium chloride", None))
    assert page.said[-1][0] == "error"
    assert "Look at the formula on the label" in page.said[-1][1]


def test_sodium_chloride_is_no_test_water_for_sodium(page: Page) -> None:
    make = page.view.make
    choose(make.water, "sodium chloride solution")
    choose(make.element, "sodium")
    assert "would bring what is measured" in page.said[-1][1]


def test_units_follow_the_element_and_the_offered_level_the_unit(page: Page) -> None:
    make = page.view.make
    assert "dKH" in make.unit.options
    choose(make.element, "calcium")
    assert (make.level.value, make.unit.value) == ("420", "mg/L")
    assert all("/kg" not in unit and unit != "dKH" for unit in make.unit.options)
    choose(make.unit, "mmol/L")
    assert float(make.level.value) == pytest.approx(420 / 40.078, rel=1e-3)
    send(make.level, value="11")
    choose(make.unit, "mg/L")
    assert make.level.value == "11"  # typed, so left alone


def test_what_was_typed_outlives_another_reading_of_the_folder(page: Page) -> None:
    make = page.view.make
    choose(make.element, "calcium")
    choose(make.unit, "mmol/L")
    send(make.level, value="10")
    send(make.litres, value="0.5")
    page.reload()
    typed = (make.element.value, make.unit.value, make.level.value, make.litres.value)
    assert typed == ("calcium", "mmol/L", "10", "0.5")


def test_saving_a_standard(page: Page) -> None:
    make, keep = page.view.make, page.view.make.keep
    send(make.weighed, value="0.153")
    send(keep.name, value="  water  <3>")
    send(keep.made, value="2026-02-01")
    before = page.standards_toml
    keep.save.click()
    assert page.said[-1][0] == "told"
    assert "standard water <3>" in page.said[-1][1]
    held = open_tank(page.folder).standards["water <3>"]
    assert (held.element, held.unit, str(held.made)) == ("alkalinity", "dKH", "2026-02-01")
    assert held.level == pytest.approx(make.recipe.water.level * held.level / held.value, rel=1e-3)
    assert held.u == pytest.approx(make.recipe.water.u, rel=0.05)
    assert held.recipe == "0.153 g of sodium carbonate anhydrous to 1.000 L"
    assert page.standards_toml.startswith(before.rstrip()[:40])
    keep.save.click()
    assert page.said[-1][0] == "error"
    assert "a name that no standard has yet" in page.said[-1][1]
    assert page.standards_toml.count("[standard.") == 2


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("name", "", "a name for the standard"),
        ("name", "EIGHT", "a name that no standard has yet"),
        ("name", "x" * 61, "up to 60 characters"),
        ("made", "tomorrow", "a day such as"),
        ("made", "2999-01-01", "a day that has come"),
    ],
)
def test_what_cannot_be_saved(page: Page, field: str, typed: str, words: str) -> None:
    keep = page.view.make.keep
    send(keep.name, value="new")
    send(getattr(keep, field), value=typed)
    before, shown = page.standards_toml, page.view.make.shown.box.value
    keep.save.click()
    assert page.said[-1][0] == "error"
    assert words in page.said[-1][1]
    assert page.standards_toml == before
    assert page.view.make.shown.box.value == shown  # the recipe stays
    assert not keep.save.disabled


def test_the_stock_can_be_saved_and_diluted(page: Page) -> None:
    make = page.view.make
    choose(make.element, "nitrate")
    choose(make.keep.which, "its stock")
    send(make.keep.name, value="nitrate stock")
    make.keep.save.click()
    held = open_tank(page.folder).standards["nitrate stock"]
    assert held.value == pytest.approx(make.recipe.stock.level, rel=1e-3)
    assert held.recipe.startswith("as planned, not told what was weighed")
    page.part("Dilution series")
    series = page.view.series
    choose(series.solution.choice, ("standard", "nitrate stock"))
    assert "Type it: the tank has no reading of it" in page.said[-1][1]
    send(series.middle, value="10")
    assert "5 levels of nitrate" in words_of(series.shown.box.value)


def test_the_page_to_print_and_the_budget(page: Page) -> None:
    keep = page.view.make.keep
    send(keep.name, value="<b>3")
    files = downloads(keep.downloads.value)
    recipe = next(text for name, text in files.items() if name.endswith("3.html"))
    budget = next(text for name, text in files.items() if name.endswith(".csv"))
    assert "<b>3" not in recipe.replace("<b>&lt;b&gt;3", "")
    for words in ("Never into the tank, never to drink", "Labels to cut out", "by NJ", "(H319)"):
        assert words in recipe
    assert "http" not in re.sub(r"http://www.w3.org\S*", "", recipe)
    table = pd.read_csv(io.StringIO(budget))
    assert table.share[:-1].sum() == pytest.approx(1.0)
    assert table.value.iloc[-1] == pytest.approx(8.0)


def test_a_dilution_series(page: Page) -> None:
    page.part("Dilution series")
    series = page.view.series
    choose(series.how, "levels I type")
    send(series.levels, value="4; 8,0 12")
    text = words_of(series.shown.box.value)
    assert "3 levels of alkalinity from a stock of 100.0 ± 1.0 dKH" in text
    assert "study series 12" in text
    table = pd.read_csv(io.StringIO(downloads(series.downloads.value)["series series.csv"]))
    assert list(table.take_mL) == pytest.approx([4.0, 8.0, 12.0])
    for levels, words in (("200", "make a stronger stock"), ("", "one number, or several"),
                          ("8;x", "decimal point")):  # fmt: skip
        send(series.levels, value=levels)
        assert page.said[-1][0] == "error"
        assert words in page.said[-1][1]
        assert series.downloads.value == ""
    send(series.levels, value="8")
    send(series.study, value="two words")
    assert "a name of one word" in page.said[-1][1]


def test_a_series_from_what_was_just_made(page: Page) -> None:
    make = page.view.make
    send(make.level, value="100")
    page.part("Dilution series")
    offered = [value for _, value in page.view.series.solution.choice.options]
    assert offered[0][0] == "made"
    assert ("standard", "eight") in offered
    choose(page.view.series.solution.choice, offered[0])
    send(page.view.series.middle, value="8")
    assert "from a stock of 100.0 ± 0.6 dKH" in words_of(page.view.series.shown.box.value)


def test_a_standard_without_u_cannot_be_diluted(tmp_path: Path) -> None:
    bare = '[standard.bare]\nelement = "alkalinity"\nvalue = 80.0\nunit = "dKH"\n'
    page = Page(make_folder(tmp_path / "reef", standards=bare))
    page.part("Dilution series")
    choose(page.view.series.solution.choice, ("standard", "bare"))
    assert "needs a unit per litre and its standard uncertainty u" in page.said[-1][1]


def test_spikes(page: Page) -> None:
    page.part("Spikes")
    spikes = page.view.spikes
    assert [value for _, value in spikes.kit.options] == ["acid", ""]
    send(spikes.before, value="8,0; 8.0")
    send(spikes.rise, value="4")
    text = words_of(spikes.shown.box.value)
    assert "Add 4.545 mL to 100 mL of tank water" in text
    assert "never in the tank" in text
    send(spikes.after, value="12.0; 12.0")
    assert "Found again: 10" in words_of(spikes.shown.box.value)
    assert "No effect of this water is shown" in words_of(spikes.shown.box.value)
    send(spikes.after, value="10")
    assert "Something differs by more than chance" in words_of(spikes.shown.box.value)
    send(spikes.rise, value="99")
    assert "less than the solution itself has" in page.said[-1][1]


def test_a_rough_recovery_says_so() -> None:
    text = recovery_html(SpikeRecovery(1.05, 0.2, 4.0, "too rough", "Found."), "dKH", 8.0, 12.2)
    assert "Too rough to tell" in text


def test_the_blank(page: Page) -> None:
    page.part("Blank")
    blank = page.view.blank
    assert "is the blank" in words_of(blank.shown.box.value)
    assert "weak &lt;acid&gt;" in blank.shown.box.value
    assert blank.save.disabled
    send(blank.used, value="0,02; 0.03")
    assert "0.025 ± 0.014 mL" in words_of(blank.shown.box.value)
    blank.save.click()
    tank = open_tank(page.folder)
    assert tank.kits["acid"].blank_mL == 0.025
    assert tank.kits["acid"].lots[0].name == "A1"
    assert "is kept for acid" in page.said[-1][1]
    send(blank.used, value="2.5")
    blank.save.click()
    assert "no more than the syringe holds" in page.said[-1][1]
    send(blank.used, value="-1")
    assert "0 mL or more" in page.said[-1][1]


@pytest.mark.parametrize(("kit", "words"), [("back", "must not be written"), ("steps", "offset")])
def test_kits_whose_reading_of_purified_water_is_no_blank(page: Page, kit: str, words: str) -> None:
    page.part("Blank")
    choose(page.view.blank.kit, kit)
    assert words in words_of(page.view.blank.shown.box.value)
    assert page.view.blank.save.layout.display == "none"


def test_a_tank_without_kits_or_standards(tmp_path: Path) -> None:
    page = Page(make_folder(tmp_path / "reef", kits="", standards=""))
    for name in page.view.part.options:
        page.part(name)
    assert "Describe a kit in kits.toml first" in words_of(page.view.blank.shown.box.value)
    page.part("Make test water")
    send(page.view.make.keep.name, value="first")
    page.view.make.keep.save.click()
    assert list(open_tank(page.folder).standards) == ["first"]


def test_comments_of_the_file_stay(tmp_path: Path) -> None:
    import datetime as dt

    folder = make_folder(tmp_path / "reef", standards="# mine\n")
    add_standard(folder, "one", "calcium", 420.0, "mg/L", 2.0, made=dt.date(2026, 1, 1), recipe="x")
    assert (folder / "standards.toml").read_text().startswith("# mine\n")


def test_every_control_can_be_read_and_reached(page: Page) -> None:
    waiting: list[widgets.Widget] = [one.box for one in (
        page.view.make, page.view.series, page.view.spikes, page.view.blank)]  # fmt: skip
    while waiting:
        one = waiting.pop()
        waiting += getattr(one, "children", ())
        if isinstance(one, widgets.Text | widgets.Dropdown | widgets.Button):
            assert one.description and one.tooltip
            assert one.layout.height == "44px"
