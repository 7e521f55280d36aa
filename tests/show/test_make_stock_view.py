"""The view "Make a stock": grams, what dissolves, label, lines of supplements.toml, the shelf."""

from __future__ import annotations

import base64
import datetime as dt
import re
import tomllib
from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem.salts import find_salt
from reef_calc.chem.shelf import SaltOnShelf, recipes_from_shelf
from reef_calc.chem.stock_solutions import stock_solution
from reef_calc.chem.stock_words import salt_part
from reef_calc.chem.supplements import level_rise, supplement_from_table
from reef_calc.errors import InputError
from reef_calc.log.supplements_file import add_supplement, supplement_toml
from reef_calc.log.tank import Tank, open_tank
from reef_calc.show.panels.plan_stock import BY_100_L, BY_DAYS, BY_TANK, MakeStockView
from reef_calc.show.panels.plan_view import Planning
from reef_calc.show.shelf_recipes_view import shelf_html, to_buy_html
from reef_calc.show.stock_label import stock_label_page
from reef_calc.show.stock_on_tank import Need, clashing, mL_per_day
from reef_calc.show.stock_recipe_view import limewater_html, stock_html
from reef_calc.show.svg import leftover_colours
from tests.folders import make_folder, make_tank
from tests.tank_cases import words_of
from tests.trust import check_published

DEMO = Path(__file__).parents[2] / "data_demo"


@pytest.fixture(scope="module")
def demo() -> Tank:
    return open_tank(DEMO / "classroom_reef")


def plan_of(tank: Tank) -> SimpleNamespace:
    """What the view reads of a plan: what the tank is to get, and what is set today."""
    summary = pd.DataFrame(
        {
            "element": ["alkalinity", "calcium", "potassium"],
            "unit": ["dKH", "mg/L", "mg/L"],
            "supply_planned": [1.2, 9.0, 0.0],
        }
    )
    return SimpleNamespace(
        summary=summary, days=30, supplements=dict(tank.supplements), kept={},
        set_now={"carbonate stock": 167.5, "calcium stock": 192.0, "magnesium stock": 0.0},
        start=dt.date(2026, 9, 30),
    )  # fmt: skip


def view_of(
    tank: Tank, *, planned: bool = False, said: list[tuple[str, str]] | None = None
) -> MakeStockView:
    told = said if said is not None else []
    page = Planning(
        tank, None, None, lambda text, kind: told.append((kind, text)), lambda: None, lambda: None
    )
    if planned:
        object.__setattr__(page, "results", SimpleNamespace(plan=plan_of(tank)))
    view = MakeStockView()
    view.show(page)
    return view


def shown(view: MakeStockView) -> str:
    return words_of(view.result.box.value)


def file_in(html: str, name: str) -> str:
    found = re.search(rf'download="{re.escape(name)}" href="[^"]*base64,([^"]+)"', html)
    assert found, html[:300]
    return base64.b64decode(found[1]).decode()


# What is worked out


def test_the_grams_of_a_rise_against_the_published_ones(demo: Tank) -> None:
    view = view_of(demo)
    view.element.value, view.way.value = "alkalinity", BY_100_L
    view.litres.value = "1"
    grams = []
    for salt in ("sodium carbonate anhydrous", "sodium hydroxide"):
        view.salt.value, view.rise.value = salt, "0.01"
        assert view.stock is not None
        # A litre holds a thousand mL, each for 0.01 dKH in 100 L: ten times what 1 dKH takes.
        grams.append(view.stock.grams[0] / 10)
    check_published("D02", grams[0], part=0)
    check_published("D02", grams[1], part=1)


def test_it_lasts_as_long_as_asked(demo: Tank) -> None:
    view = view_of(demo, planned=True)
    assert view.way.value == BY_DAYS and view.element.value == "alkalinity"
    assert (view.litres.value, view.rise.value) == ("5", "1.2")
    stock = view.stock
    assert stock is not None
    a_day = mL_per_day(stock, Need(462.0, 1.2, "dKH"))
    assert a_day == pytest.approx(5000.0 / 30.0)
    assert "tank takes 167 mL a day: 5 L last 30 days" in shown(view)
    view.days.value = "60"
    assert "5 L last 60 days" in shown(view)


def test_the_rise_of_the_tank_is_what_was_asked(demo: Tank) -> None:
    view = view_of(demo)
    view.salt.value, view.way.value, view.rise.value = "sodium carbonate anhydrous", BY_TANK, "0,01"
    assert view.stock is not None
    rise = level_rise(view.stock.supplement, 1.0, "mL", "alkalinity", 462.0, "dKH")
    assert rise == pytest.approx(0.01)


@pytest.mark.parametrize("element", ["alkalinity", "calcium", "magnesium", "potassium",
                                     "strontium", "iodine"])  # fmt: skip
@pytest.mark.parametrize("tank", ["classroom_reef", "nursery"])
def test_every_default_is_a_stock_that_dissolves(tank: str, element: str) -> None:
    said: list[tuple[str, str]] = []
    view = view_of(open_tank(DEMO / tank), said=said)
    view.element.value = element
    for way in (BY_100_L, BY_TANK):
        view.way.value = way
        assert "Weigh" in shown(view), shown(view)
        share = view.stock.share_of_saturation if view.stock else None
        assert share is None or share <= 0.6
    assert said == []


def test_too_strong_says_how_strong_it_can_be(demo: Tank) -> None:
    said: list[tuple[str, str]] = []
    view = view_of(demo, said=said)
    view.salt.value, view.rise.value = "sodium hydrogen carbonate", "0.1"
    assert "needed a solution that stays clear at 20 °C" in shown(view)
    assert re.search(r"Make \d+ L with the same", shown(view))
    assert view.stock is None and view.keep.disabled and view.links.value == ""
    assert said[-1][0] == "error"
    view.rise.value = "0.015"
    assert view.stock is not None and not view.keep.disabled and said[-1] == ("told", "")


def test_near_saturation_and_cold_are_told(demo: Tank) -> None:
    view = view_of(demo)
    view.salt.value, view.rise.value = "sodium hydrogen carbonate", "0.025"
    assert "at most 60 % is advised" in shown(view)
    view.rise.value, view.coldest.value = "0.01", "12"
    assert "not known here" in shown(view)
    view.coldest.value = "-4"
    assert "a temperature of 2 to 40 °C" in shown(view)


def test_the_hydrate_is_named_with_its_error(demo: Tank) -> None:
    view = view_of(demo)
    view.element.value = "calcium"
    assert "calcium chloride anhydrous it gets 32 % too strong" in shown(view)
    weighed = view.stock.grams[0] if view.stock else 0.0
    view.assay.value = "77"
    assert view.stock is not None
    assert view.stock.grams[0] == pytest.approx(weighed / 0.77)


def test_little_salt_is_hard_to_weigh(demo: Tank) -> None:
    view = view_of(demo)
    view.element.value = "iodine"
    assert "is hard to weigh" in shown(view)
    assert "slip of the decimal point is a gross overdose" in shown(view)


def test_lime_becomes_limewater(demo: Tank) -> None:
    view = view_of(demo, planned=True)
    view.salt.value = "calcium hydroxide"
    words = shown(view)
    assert "Limewater: 8.2 g dissolve in 5 L" in words
    assert "would take 4.4 L a day. No more can be given than evaporates" in words
    assert "blinds and burns" in words and "not written" not in words
    assert view.stock is None and view.keep.disabled
    # 1.5 g/L at 25 °C, as in the handbook that the strength is taken from.
    page = words_of(limewater_html(25.0, 100.0, Need(100.0, None, "dKH"), "alkalinity"))
    assert "150 g dissolve in 100 L" in page and "raises this tank by 1.1 dKH" in page


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        ("rise", "", "The plan does not tell it. Type it."),
        ("rise", "-1", "a rise above 0"),
        ("litres", "0", "a volume to make above 0 L"),
        ("litres", "five", "a number with a decimal point"),
        ("assay", "0.99", "an assay between 30 and 105 %"),
        ("density", "10", "a density of 0.9 to 2 kg/L"),
        ("made", "today", "a day such as 2026-09-30"),
    ],
)
def test_bad_fields_are_told_in_words(demo: Tank, field: str, text: str, words: str) -> None:
    said: list[tuple[str, str]] = []
    view = view_of(demo, said=said)
    getattr(view, field).value = text
    assert words in shown(view)
    assert said[-1][0] == "error" and view.stock is None


def test_what_was_typed_stays_when_the_plan_changes(demo: Tank) -> None:
    view = view_of(demo, planned=True)
    view.rise.value, view.name.value, view.litres.value = "1.5", "my soda", "2"
    page = view.result.planning
    assert page is not None
    view.show(page)
    assert (view.rise.value, view.name.value, view.litres.value) == ("1.5", "my soda", "2")
    view.way.value = BY_TANK  # a rise of the whole day is none of a mL
    assert float(view.rise.value) < 0.1


def test_what_is_offered_follows_the_unit_and_what_is_typed_does_not(demo: Tank) -> None:
    view = view_of(demo, planned=True)
    weighed = view.stock.grams[0] if view.stock else 0.0
    view.unit.value = "meq/L"
    assert float(view.rise.value) == pytest.approx(1.2 * 20 / 56.077, rel=1e-4)
    assert view.stock is not None
    assert view.stock.grams[0] == pytest.approx(weighed, rel=1e-4)
    view.rise.value = "0.5"
    view.unit.value = "dKH"
    assert view.rise.value == "0.5"


def test_another_tank_begins_anew(demo: Tank) -> None:
    view = view_of(demo, planned=True)
    view.element.value, view.litres.value = "potassium", "3"
    page = view.result.planning
    assert page is not None
    other = open_tank(DEMO / "nursery")
    view.show(Planning(other, None, None, page.say, page.keep, page.reload))
    assert view.element.value == "alkalinity"
    assert "138 L" in shown(view)


# Label and lines


def test_the_label(demo: Tank) -> None:
    view = view_of(demo)
    view.salt.value = "sodium carbonate anhydrous"
    view.name.value, view.by.value, view.made.value = "soda <2>", "A & B", "2026-09-30"
    page = file_in(view.links.value, "label soda &lt;2&gt;.html")
    assert page.count("<h1>soda &lt;2&gt;</h1>") == 2
    words = words_of(page)
    for part in ("10 mL raise 100 L by", "Made on 2026-09-30 by A & B", "NOT FOR DRINKING",
                 "serious eye irritation", "Never together with: calcium"):  # fmt: skip
        assert part in words
    assert "http" not in page and "<script" not in page


def test_the_lines_say_the_same_when_they_are_read(demo: Tank) -> None:
    view = view_of(demo)
    view.element.value = "magnesium"
    view.name.value = 'a "quoted" name # 1'
    assert view.stock is not None
    text = file_in(view.links.value, 'a &quot;quoted&quot; name # 1.toml')  # fmt: skip
    table = tomllib.loads(text)["supplement"]['a "quoted" name # 1']
    read = supplement_from_table("x", table)
    for element, amount in view.stock.supplement.adds.items():
        assert read.adds[element] == pytest.approx(amount, rel=2e-6)
    assert table["keep_apart"] == ["carbonate stock", "bicarbonate solution"]
    assert read.container_L == 5.0


@settings(max_examples=25, deadline=None)
@given(st.text(min_size=1, max_size=30), st.text(max_size=60))
def test_any_name_is_kept_or_refused(name: str, comment: str) -> None:
    lines = [{"salt": "soda ash", "hydrate": 0, "assay": 1.0, "grams_per_L": 60.0}]
    try:
        text = supplement_toml(name, lines, comment=comment).as_string()
    except InputError as error:
        assert "a name for the stock" in str(error) or "comment" in str(error)
        return
    (held,) = tomllib.loads(text)["supplement"]
    assert held == " ".join(name.split())


def test_kept_once_and_never_over_another(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "reef")
    before = (folder / "supplements.toml").read_text()
    said: list[tuple[str, str]] = []
    view = view_of(open_tank(folder), said=said)
    view.name.value = "Part  ONE"
    view.keep.click()
    assert said[-1][0] == "error" and "a name that no supplement has yet" in said[-1][1]
    assert (folder / "supplements.toml").read_text() == before
    view.name.value = "soda two"
    view.keep.click()
    assert said[-1][1].startswith("Kept in supplements.toml: soda two.")
    after = (folder / "supplements.toml").read_text()
    assert after.startswith(before)
    tank = open_tank(folder)
    assert not [p for p in tank.problems if p.severity == "refused"]
    kept = tank.supplements["soda two"]
    assert kept.keep_apart == ("part two",) and view.stock is not None
    assert kept.adds["alkalinity"] == pytest.approx(
        view.stock.supplement.adds["alkalinity"], rel=2e-6
    )
    view.keep.click()
    assert said[-1][0] == "error"
    assert (folder / "supplements.toml").read_text() == after


def test_the_first_supplement_begins_the_file(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "reef", supplements="")
    (folder / "supplements.toml").unlink()
    line = {"salt": "potassium chloride", "hydrate": 0, "assay": 0.99, "grams_per_L": 50.0}
    add_supplement(folder, "potassium", [line])
    assert list(open_tank(folder).supplements) == ["potassium"]


def test_what_must_not_meet_it(demo: Tank) -> None:
    soda = stock_solution("s", [salt_part("soda ash")], 1.0, element="alkalinity", rise=0.03,
                          unit="dKH")  # fmt: skip
    assert clashing(demo.supplements, soda.supplement) == [
        "calcium stock",
        "magnesium stock",
        "strontium stock",
    ]
    assert clashing(open_tank(DEMO / "nursery").supplements, soda.supplement) == [
        "calcium solution"
    ]


# The shelf


def test_the_shelf_of_the_demonstration(demo: Tank) -> None:
    view = view_of(demo, planned=True)
    words = words_of(view.shelf.result.box.value)
    assert "Nothing is typed yet" in words and "still to buy: 314 g of sodium carbonate" in words
    for jar, salt, grams in zip(
        view.shelf.jars, ("sodium carbonate anhydrous", "calcium chloride dihydrate"), ("100", "800"),
        strict=False,
    ):  # fmt: skip
        jar[0].value, jar[1].value = salt, grams
    assert len(view.shelf.jars) == 3
    words = words_of(view.shelf.result.box.value)
    # By hand: 1.2 dKH a day in 462 L are 2 · 10/56.077 · 1.2 · 462 meq, 52.994 g an equivalent.
    days = 100.0 / (1.2 * 20 / 56.077 * 462 * 52.994 / 1000)
    assert f"Alkalinity: 100 g of sodium carbonate anhydrous last {days:.0f} days" in words
    assert re.search(r"For 30 days buy \d+ g of sodium carbonate anhydrous more", words)
    assert "never in one container, hose or spoon" in words
    assert "214 g of sodium carbonate anhydrous" in words  # still to buy of the 314 g above
    view.shelf.jars[2][0].value, view.shelf.jars[2][1].value = "calcium hydroxide", "500"
    assert "give it as limewater" in words_of(view.shelf.result.box.value)
    view.shelf.jars[3][1].value = "20"
    assert "Jar 4: choose its salt" in words_of(view.shelf.result.box.value)
    view.shelf.jars[0][1].value = "a lot"
    assert "a number with a decimal point" in words_of(view.shelf.result.box.value)


def test_the_shelf_without_a_plan(demo: Tank) -> None:
    view = view_of(demo)
    view.shelf.jars[0][0].value = "sodium carbonate anhydrous"
    assert "Jar 1: type how many grams are left" in words_of(view.shelf.result.box.value)
    view.shelf.jars[0][1].value = "100"
    assert "there is no plan" in words_of(view.shelf.result.box.value)


def test_everything_is_there() -> None:
    soda = stock_solution("s", [salt_part("soda ash")], 1.0, element="alkalinity", rise=0.03,
                          unit="dKH")  # fmt: skip
    shelf = [SaltOnShelf(find_salt("soda ash"), 900.0)]
    assert "everything is there" in to_buy_html(soda, shelf)
    assert shelf_html([], {}, [], 30) == ""
    found = recipes_from_shelf(shelf, "calcium", 9.0, "mg/L", 300.0, mL_per_day=50.0)
    page = shelf_html([found], {"calcium": Need(300.0, 9.0, "mg/L")}, shelf, 30)
    assert "no salt of the shelf makes a stock for it" in page


def test_pictures_follow_the_theme_and_names_are_escaped() -> None:
    evil = stock_solution("<i>", [salt_part("soda ash")], 1.0, element="alkalinity", rise=0.03,
                          unit="dKH")  # fmt: skip
    page = stock_html(evil, Need(300.0, 1.0, "dKH", "as planned"), "[supplement.'<i>']")
    assert "<i>" not in page
    svg = page[page.index("<svg") : page.index("</svg>")]
    assert leftover_colours(svg) == [] and 'role="img"' in svg
    assert "<i>" not in stock_label_page(evil, dt.date(2026, 9, 30), "<i>")


def test_a_tank_without_anything(tmp_path: Path) -> None:
    view = view_of(make_tank(tmp_path, supplements="", kits=""))
    assert "Weigh" in shown(view)
