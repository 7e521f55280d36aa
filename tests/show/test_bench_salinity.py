"""The salinity view, driven through its traits as the browser drives it."""

from __future__ import annotations

import re
from pathlib import Path

import ipywidgets as widgets
import pytest

from reef_calc.bench.salinity_instruments import SCALES, SalinityReading, reading_of_salinity
from reef_calc.bench.salinity_table import salinity_with_uncertainty
from reef_calc.log.tank import Tank
from reef_calc.show import bench_salinity, bench_stock
from reef_calc.show.bench_salinity import on_scales_html, top_off_html, understood_html
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.salinity import SalinityView
from tests.folders import TANK, make_tank
from tests.tank_cases import words_of

AIM = '\n[aim.salinity]\nunit = "SG 25/25"\nlow = 1.0255\naim = 1.0264\nhigh = 1.0272\n'


def send(control: widgets.Widget, **state: object) -> None:
    """Set what the browser sets."""
    control.set_state(state)


@pytest.fixture(scope="module")
def tank(tmp_path_factory: pytest.TempPathFactory) -> Tank:
    return make_tank(tmp_path_factory.mktemp("salinity"), tank=TANK + AIM)


class Page:
    """The view with a bench page's message line around it."""

    def __init__(self, tank: Tank) -> None:
        self.said: list[tuple[str, str]] = []
        self.view = SalinityView()
        self.tank = tank
        self.show()

    def show(self) -> None:
        """Show the tank, as the page does at every reload."""
        say = lambda text, kind="told": self.said.append((text, kind))  # noqa: E731
        self.view.show(Bench(self.tank, "HB", say, lambda: None))

    def choose(self, control: widgets.Widget, words: str) -> None:
        """Choose by the words shown."""
        send(
            control,
            index=[str(o[0] if isinstance(o, tuple) else o) for o in control.options].index(words),
        )

    @property
    def words(self) -> str:
        """All that is shown, without markup."""
        view = self.view
        return words_of(view.head.value + view.table.value + view.top_off.value)


@pytest.fixture
def page(tank: Tank) -> Page:
    return Page(tank)


def test_nothing_typed_yet(page: Page) -> None:
    assert "type the reading" in page.words
    assert page.said == []
    assert (page.view.sample.value, page.view.net.value) == ("25", "300")


def test_a_hydrometer_in_warm_water(page: Page) -> None:
    send(page.view.value, value="1.0264")
    # sg_reading_to_S.csv: 36.609 for a sample at 25 °C against a reference of 20 °C.
    assert "Practical salinity 36.6 ± 0.8" in page.words
    assert "Too close to an end of the aim" in page.words
    assert "did correct for the temperature: 34.7, lower by 1.9." in page.words
    assert "glass reads a further 0.2 too high" in page.words
    page.choose(page.view.made_for, "25/25 °C")
    page.choose(page.view.corrects, "corrects itself")
    send(page.view.step, value="0,0001")
    assert "Practical salinity 35.03 ± 0.08" in page.words
    assert "That is in the aim 33.8 to 36.1." in page.words


def test_fahrenheit(page: Page) -> None:
    send(page.view.value, value="1.0264")
    page.choose(page.view.degrees, "°F")
    assert (page.view.sample.value, page.view.within.value) == ("77", "1")
    assert "Practical salinity 36.6" in page.words
    send(page.view.sample, value="68")
    assert "water at 20 °C" in page.words
    page.choose(page.view.degrees, "°C")
    assert page.view.sample.value == "68"  # typed: left as it is, and refused in words
    assert page.said[-1][1] == "error"
    assert "°F" in page.said[-1][0]


@pytest.mark.parametrize("name", SCALES)
def test_every_scale_shows_a_salinity(page: Page, name: str) -> None:
    page.choose(page.view.scale, name[:1].upper() + name[1:])
    scale = SCALES[name]
    made_for = next(iter(scale.made_for), "")
    water = SalinityReading(name, 1.0, scale.step, 25.0, made_for, scale.corrects)
    send(page.view.value, value=f"{reading_of_salinity(34.0, water):.6g}")
    assert re.search(r"Practical salinity 34(\.0+)? ± ", page.words)
    shown = [control.layout.display for control in (page.view.made_for, page.view.sample)]
    assert shown == (["", ""] if scale.made_for else ["none", "none"])
    assert page.view.step.value == f"{scale.step:g}"
    assert page.said == []


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        ("value", "26", "specific gravity"),
        ("value", "1,026", "write 1.026 or 1026"),
        ("value", "x", "Reading"),
        ("step", "", "Smallest step"),
        ("step", "0", "above 0"),
        ("sample", "", "Water was at"),
        ("within", "", "Thermometer"),
    ],
)
def test_a_slip_is_told_and_taken_back(page: Page, field: str, text: str, words: str) -> None:
    send(page.view.value, value="1.0264")
    control = getattr(page.view, field)
    good = control.value
    send(control, value=text)
    assert page.said[-1][1] == "error"
    assert words in page.said[-1][0]
    assert "Practical salinity" not in page.words
    send(control, value=good)
    assert page.said[-1] == ("", "told")
    assert "Practical salinity 36.6" in page.words


def test_what_others_said_stays(page: Page) -> None:
    send(page.view.value, value="1.0264")
    page.show()
    assert page.said == []


def test_what_was_typed_survives_another_tank(page: Page, tmp_path: Path) -> None:
    send(page.view.value, value="1.0264")
    send(page.view.sample, value="22")
    page.tank = make_tank(tmp_path, tank=TANK.replace("300.0", "120.0").replace("= 25.0", "= 26.0"))
    page.show()
    assert (page.view.value.value, page.view.sample.value) == ("1.0264", "22")
    assert page.view.net.value == "120"
    assert "aim" not in page.words


def test_topped_off_before_sampling(page: Page) -> None:
    assert "Nothing is missing" in page.words
    page.choose(page.view.topped, "no")
    page.choose(page.view.scale, "Practical salinity")
    send(page.view.value, value="35.7")
    send(page.view.missing, value="6")
    send(page.view.level, value="430")
    assert "6 of 300 L were missing, so what is dissolved reads 2.0 % too high" in page.words
    assert "Salinity becomes 35.00 ± 0.06." in page.words
    assert "A level of 430 becomes 421.4" in page.words
    send(page.view.missing, value="300")
    assert page.said[-1][1] == "error"
    assert "missing litres" in page.said[-1][0]


def test_numbers_without_salinity() -> None:
    assert "Nothing is missing" in words_of(top_off_html(0.0, 300.0))
    assert "Salinity" not in words_of(top_off_html(6.0, 300.0))


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        (
            "refractometer, sodium-chloride scale",
            38.0,
            "36.5 ± 0.5 in sea water of 35 (from memory",
        ),
        ("refractive index", 1.3396, "goes beyond what it was fitted to"),
        ("refractometer, sea-water scale", 35.0, "taken as practical salinity"),
        ("conductivity", 50.0, "fixed share for each degree"),
    ],
)
def test_limits_are_said(name: str, value: float, words: str) -> None:
    scale = SCALES[name]
    reading = SalinityReading(
        name,
        value,
        scale.step,
        20.0,
        "20 °C" if name != "conductivity" else "25 °C",
        scale.corrects,
    )
    assert words in words_of(understood_html(reading, salinity_with_uncertainty(reading)))


def test_the_table_holds_every_scale_once() -> None:
    reading = SalinityReading("conductivity", 50.0, 0.1, 27.0, "25 °C")
    html = on_scales_html(reading, salinity_with_uncertainty(reading))
    rows = re.findall(r"<th scope=row>(.*?)</th><td>(.*?)</td>", html)
    assert len(rows) == len(set(rows))
    assert ("Conductivity", "25 °C") not in rows  # that is what was typed
    assert ("Conductivity", "27 °C, as the water is") in rows
    assert {name.lower() for name, _ in rows} == set(SCALES)


@pytest.mark.parametrize("style", [bench_salinity.STYLE, bench_stock.STYLE])
def test_the_style_is_ours_and_without_fixed_colours(style: str) -> None:
    assert not re.search(r"#[0-9A-Fa-f]{3,6}\b", style)
    for selectors in re.findall(r"([^{}]+)\{", style):
        for one in selectors.split(","):
            assert re.match(r"(button)?\.rc", one.strip()), one
