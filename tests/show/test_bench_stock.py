"""The stock view: what to buy first, the list to take along, and the count that is kept."""

from __future__ import annotations

import base64
import csv
import datetime as dt
import io
import re
from pathlib import Path

import pytest

from reef_calc.log.tank import Tank, open_tank
from reef_calc.show.bench_stock import buying, shopping_csv, stock_html
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.stock import StockView
from reef_calc.show.shelf import Shelf, shelf_of
from tests.folders import make_folder, make_tank, reading
from tests.tank_cases import words_of

DEMO = Path(__file__).parents[2] / "data_demo"
TODAY = dt.date(2026, 6, 1)
KITS = """
[kit.acid]
element = "alkalinity"
kind = "chart"
unit = "dKH"
chart = [[0, 0], [1, 16]]
tests_left = 12
counted = 2026-05-20
hazards = ["acid & <indicator>", "alcohol"]
[[kit.acid.lot]]
name = "A1"
opened = 2026-01-01
expires = 2027-06-30

[kit."=drops"]
element = "calcium"
kind = "drop count"
unit = "mg/L"
half_drop = true

[kit.old]
element = "magnesium"
kind = "drop count"
unit = "mg/L"
[[kit.old.lot]]
name = "M1"
opened = 2026-01-01
expires = 2026-05-30

[kit.probe]
element = "pH"
kind = "meter"
unit = "pH"

[kit.laboratory]
kind = "laboratory report"
"""


def rows() -> list[dict[str, object]]:
    days = [TODAY - dt.timedelta(days=3 * i) for i in range(12)][::-1]
    found = [
        reading(f"{day}T18:00", 8.0, kit="acid", lot="A1", by="HB" if i % 2 else "")
        for i, day in enumerate(days)
    ]
    found.append(reading("2026-05-12T19:00", 8.1, water="standard eight", kit="acid", by="LM"))
    found.append(reading("2026-06-20T18:00", 7.9, kit="acid", by="HB"))
    return found


@pytest.fixture(scope="module")
def tank(tmp_path_factory: pytest.TempPathFactory) -> Tank:
    return make_tank(tmp_path_factory.mktemp("stock"), kits=KITS, readings=rows())


@pytest.fixture(scope="module")
def shelf(tank: Tank) -> Shelf:
    return shelf_of(tank, TODAY, 14)


def test_what_to_buy_comes_first(shelf: Shelf) -> None:
    title, lines = buying(shelf)
    assert title == "Buy now: old"
    assert lines[0] == "old, now: it expired on 30 May 2026."
    assert re.fullmatch(
        r"acid, by \d+ Jun 2026: it runs out about 23 Jun 2026, perhaps as early as \d+ Jun 2026\.",
        lines[1],
    )
    words = words_of(stock_html(shelf))
    assert words.index("Buy now") < words.index("Not known") < words.index("On the shelf")


def test_the_shelf(shelf: Shelf) -> None:
    html = stock_html(shelf)
    words = words_of(html)
    assert [one.kit.name for one in shelf.stocks] == ["old", "acid", "=drops"]
    assert shelf.meters == ("probe",)
    assert "counted 12 on 20 May 2026, 4 tests since" in words
    assert "12 May 2026: 8.1 dKH" in words
    assert "“eight” holds 8 ± 0.1 dKH" in words
    assert "<indicator>" not in html
    assert "acid &amp; &lt;indicator&gt;; alcohol" in html
    assert "expired 30 May 2026" in words
    assert "1 reading is dated after today: not counted." in words
    assert "laboratory" not in words
    assert html.count("scope=row") == 3


def test_who_tested(shelf: Shelf) -> None:
    words = words_of(stock_html(shelf))
    assert "Who tested" in words
    assert shelf.testers["by"].tolist() == ["", "HB", "LM"]
    assert "no name written" in words


def test_nothing_described(tmp_path: Path) -> None:
    empty = shelf_of(make_tank(tmp_path, kits=""), TODAY, 14)
    words = words_of(stock_html(empty))
    assert words.startswith("Nothing to buy by a known day")
    assert "No kit that can run out is described" in words
    assert "Nobody tested" in words


def test_refused_rows_are_said(tmp_path: Path) -> None:
    bad = [*rows(), reading("2026-05-30T18:00", "x", kit="acid")]
    found = shelf_of(make_tank(tmp_path, kits=KITS, readings=bad), TODAY, 14)
    assert "1 reading is refused when the log was read: not counted as tests." in found.told


def test_the_shopping_list(shelf: Shelf) -> None:
    listed = list(csv.DictReader(io.StringIO(shopping_csv(shelf.stocks))))
    assert [row["kit"] for row in listed] == ["old", "acid", "=drops"]
    assert listed[0]["because"] == "expires"
    assert listed[1]["tests_left"] == "7 to 8"
    assert dt.date.fromisoformat(listed[1]["soonest"]) < dt.date.fromisoformat(
        listed[1]["runs_out"]
    )
    assert float(listed[1]["tests_in_13_weeks"]) in (30, 31, 32, 33)
    assert "Never counted" in listed[2]["not_known"]


def test_the_demonstration_tanks() -> None:
    for name in ("classroom_reef", "nursery"):
        found = shelf_of(open_tank(DEMO / name), dt.date(2026, 9, 30), 14)
        assert "Tests left" in words_of(stock_html(found))
        for one in found.stocks:
            assert one.runs_out is None or (one.soonest is not None and one.soonest <= one.runs_out)


class Page:
    """The view with a bench page around it, on a folder that may be written."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.said, self.view = folder, [("", "")], StockView()
        self.reload()

    def reload(self) -> None:
        """Read the folder and show it."""
        say = lambda text, kind="told": self.said.append((text, kind))  # noqa: E731
        self.view.show(Bench(open_tank(self.folder), "HB", say, self.reload))

    def save(self, kit: str, left: str, day: str) -> tuple[str, str]:
        """Type a count, press the button, and return what was said."""
        self.view.kit.set_state({"index": self.view.kit.options.index(kit)})
        self.view.left.set_state({"value": left})
        self.view.counted.set_state({"value": day})
        self.view.save.click()
        return self.said[-1]


@pytest.fixture
def page(tmp_path: Path) -> Page:
    return Page(make_folder(tmp_path, kits=KITS, readings=rows()[:12]))


def test_a_count_is_kept(page: Page) -> None:
    said = page.save("acid", "30", "2026-05-31")
    assert said == ("Kept in kits.toml: 30 tests of acid left on 31 May 2026.", "told")
    kit = open_tank(page.folder).kits["acid"]
    assert (kit.tests_left, kit.counted) == (30.0, dt.date(2026, 5, 31))
    assert "counted 30 on 31 May 2026, 1 test since" in words_of(page.view.shown.value)
    assert page.view.left.value == ""
    assert page.view.kit.value == "acid"
    assert not page.view.save.disabled


@pytest.mark.parametrize(
    ("left", "day", "words"),
    [
        ("", "2026-05-31", "Tests left"),
        ("3.5", "2026-05-31", "whole number"),
        ("-3", "2026-05-31", "whole number"),
        ("3", "31.5.2026", "Write it as"),
        ("3", "2026-02-30", "Write it as"),
        ("3", "2199-01-01", "in the future"),
    ],
)
def test_a_wrong_count_is_told(page: Page, left: str, day: str, words: str) -> None:
    before = (page.folder / "kits.toml").read_bytes()
    text, kind = page.save("acid", left, day)
    assert kind == "error"
    assert words in text
    assert (page.folder / "kits.toml").read_bytes() == before
    assert page.view.left.value == left


def test_the_list_is_inside_its_link(page: Page) -> None:
    found = re.search(r"base64,([^\"]+)", page.view.list.value)
    assert found is not None
    assert base64.b64decode(found[1]).decode().startswith("kit,element,buy_by")


def test_days_for_buying(page: Page) -> None:
    page.view.ahead.set_state({"value": "two weeks"})
    assert page.said[-1][1] == "error"
    assert page.view.shown.value == ""
    page.view.ahead.set_state({"value": "20"})
    assert "On the shelf" in page.view.shown.value


def test_another_tank_and_no_kits(page: Page, tmp_path: Path) -> None:
    page.view.left.value = "7"
    page.folder = make_folder(tmp_path / "other", kits="")
    page.reload()
    assert page.view.kit.options == ()
    assert page.view.save.disabled
    assert page.view.left.value == "7"
