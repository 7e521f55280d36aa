"""The Kit checks view: verdict first, charts with words, a correction seen before it is stored."""

from __future__ import annotations

import base64
import datetime as dt
import io
import itertools
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets as widgets
import numpy as np
import pandas as pd
import pytest

from reef_calc.bench.kits import Kit
from reef_calc.bench.lot_check import check_lot
from reef_calc.show.bench_kit_checks import kit_check_html
from reef_calc.show.control_figure import SHORT_RULES, control_svg
from reef_calc.show.kit_verdict import short_verdict
from reef_calc.show.panels.kit_checks import PARTS, KitChecksView
from reef_calc.show.svg import leftover_colours
from tests.folders import make_folder, reading
from tests.kit_pages import BIASED, RIGHT, Page, check, page_maker
from tests.tank_cases import words_of

DEMO = Path(__file__).parents[2] / "data_demo" / "classroom_reef"
KIT = Kit("drops", "alkalinity", "meter", "dKH", 0.05, 0.1, 0.0, "typed")


@pytest.fixture
def page(tmp_path: Path) -> Callable[..., Page]:
    return page_maker(tmp_path / "tank")


def test_the_demonstration_is_told_in_one_sentence() -> None:
    demo = Page(DEMO)
    view = demo.view
    assert [words.split(" · ")[0] for words, _ in view.kit.options][:2] == ["kit A", "kit B"]
    view.lot.value = "all"
    assert "Kit A: lot A-1 reads 0.28 ± 0.14 dKH low; lot A-2: no bias shown" in words_of(
        demo.part("What it says")
    )
    view.kit.value = "kit B"
    told = words_of(demo.part("What it says"))
    assert "Kit B, lot B-1, reads 0.38 ± 0.13 dKH high at 8.0 dKH" in told
    assert "One level cannot tell which." in told
    assert "On the scale of standard check water 2 (8.00 ± 0.10 dKH, read 6 times)." in told
    assert demo.said == []


def test_verdict_words(page: Callable[..., Page]) -> None:
    assert "reads 0.43 ± 0.16 dKH high" in words_of(page(*BIASED).part("What it says"))


def test_no_bias_shown_is_less_than_something(page: Callable[..., Page]) -> None:
    right = page(*RIGHT)
    told = words_of(right.part("What it says"))
    assert re.search(r"no bias shown: less than 0\.\d+ dKH at 8\.0 dKH", told)
    assert "better not corrected" in words_of(right.part("Correct"))
    form = right.view.form
    assert form.store.disabled
    assert form.sure.layout.display == ""
    form.sure.value = True
    assert not form.store.disabled


def test_history_is_a_file_too(page: Callable[..., Page]) -> None:
    shown = page(*BIASED).part("History")
    found = re.search(
        r'download="([^"]+)" href="data:text/csv;charset=utf-8;base64,([^"]+)"', shown
    )
    assert found is not None
    table = pd.read_csv(io.StringIO(base64.b64decode(found[2]).decode()))
    assert found[1] == "drops_as_read_and_corrected.csv"
    assert len(table) == 11
    assert (table["as_read"] == table["as_corrected"]).all()


def test_lots_out_of_date_are_told(page: Callable[..., Page]) -> None:
    late = [check("2026-04-01", 8.0), check("2026-04-02", 8.1), check("2026-03-05", 8.0, lot="Z")]
    found = page(*late, reading("2026-04-05T12:00", 8.0, kit="drops", lot="Z"))
    found.view.lot.value = "all"
    told = words_of(found.part("What it says"))
    assert "Lot A1 expired on 2026-03-31. (rows " in told
    assert "Lot Z is not described in kits.toml." in told
    assert "Lot Z is not described in kits.toml. 1 reading was taken" in words_of(
        found.part("History")
    )


def test_kits_without_a_standard_say_what_to_do(page: Callable[..., Page]) -> None:
    found = page(check("2026-03-01", 8.0, kit="<b>ghost", lot=""))
    for name, piece in (
        ("spare", "Mix test water near 420 mg/L"),
        ("laboratory", "one element and one unit"),
        ("<b>ghost", "Describe it in kits.toml"),
    ):
        found.view.kit.value = name
        assert piece in words_of(found.part("What it says"))
        assert "<b>ghost" not in found.view.shown.value
        assert found.view.lot.layout.display == "none"
        assert found.view.kit.layout.display is None
    assert found.said == []


def test_an_empty_tank(tmp_path: Path) -> None:
    empty = Page(make_folder(tmp_path / "tank", kits="", readings=[]))
    assert "No kit is described yet" in words_of(empty.part("What it says"))
    assert empty.said == []


@pytest.mark.parametrize(
    "rows",
    [
        (check("2026-03-01", 8.2, "nothing"),),
        (check("2026-03-01", 8.2),),
        tuple(check(f"2026-03-{day:02}", 8.5) for day in range(1, 27)),
        (check("2026-03-01", 12.0), check("2026-03-02", 8.0, "twelve")),
        (check("2026-03-01", 6.0, limit="<"), check("2026-03-01", 7.0, limit="between", upper=9)),
        (check("2026-03-01", 8.0), check("2026-03-02", 9.5, lot="B"), check("2026-03-03", 8, lot="")),
    ],
)  # fmt: skip
def test_nothing_odd_is_ever_printed(page: Callable[..., Page], rows: tuple[Any, ...]) -> None:
    found = page(*rows)
    for _, lot in found.view.lot.options:
        found.view.lot.value = lot
        for part in PARTS:
            told = found.part(part)
            assert not re.search(r"\b(nan|NaN|None|inf)\b", words_of(told))
            assert told
    assert found.said == []


def long_lot() -> Any:
    rng = np.random.default_rng(1)
    read = 8 + rng.normal(0, 0.1, 26)
    read[12:] += np.linspace(0, 0.8, 14)
    read[5] = 8.6
    return check_lot(
        KIT, "B <2>",
        pd.DataFrame({
            "row": range(2, 28), "time": pd.date_range("2025-11-01T12:00Z", periods=26, freq="9D"),
            "standard": ["eight"] * 13 + ["nine"] * 13, "read": read, "level": 8.0, "level_u": 0.05,
        }),
    )  # fmt: skip


@pytest.mark.parametrize("width", [920, 600])
def test_broken_rules_stand_in_words_beside_the_points(width: int) -> None:
    found = long_lot()
    svg = control_svg(found.charts, kit="drops", unit="dKH", zone="UTC", width=width)
    assert leftover_colours(svg) == []
    texts = ["".join(one.itertext()).strip() for one in ET.fromstring(svg).iter() if one.text]
    broken = {
        rule for cell in found.charts[0].chart.points["broken"] for rule in cell.split("; ") if rule
    }
    assert {"beyond action", "range"} <= broken
    for rule in broken:
        assert SHORT_RULES[rule] in texts
    assert "lot B <2>" in texts
    assert "new bottle" in texts
    assert any(text.startswith("reads ") for text in texts)
    assert "action limit" in texts and "warning limit" in texts
    assert short_verdict(found, KIT).startswith(("reads", "no bias"))


def test_every_rule_has_a_short_word_and_a_sentence(page: Callable[..., Page]) -> None:
    from reef_calc.bench.control import RULES

    assert set(SHORT_RULES) == set(RULES)
    told = words_of(page(*BIASED).part("Control chart"))
    for sentence in RULES.values():
        assert sentence in told
    assert "Too few readings (3) for a centre of their own" in told


def test_controls_have_names_tooltips_and_layouts_of_their_own() -> None:
    view = KitChecksView()
    controls = [*vars(view).values(), *vars(view.form).values(), *view.form.fields.values()]
    seen = []
    for one in controls:
        if isinstance(one, widgets.ValueWidget | widgets.Button) and not isinstance(
            one, widgets.HTML
        ):
            assert one.description
            assert one.tooltip or one.tooltips
            seen.append(one.layout.model_id)
    assert len(seen) == len(set(seen))


def test_headings_come_in_order(page: Callable[..., Page]) -> None:
    found = page(*BIASED, check("2026-03-01", 9, limit="<"))
    for part in PARTS:
        levels = [int(level) for level in re.findall(r"<h(\d)", found.part(part))]
        assert levels[0] == 2
        assert all(after - before <= 1 for before, after in itertools.pairwise(levels))


def test_a_page_without_readings_is_a_sentence() -> None:
    from reef_calc.log.example import example_tank
    from reef_calc.log.kit_checks import kit_checks

    html = kit_check_html(kit_checks(example_tank(), "drops", dt.date(2026, 3, 1)), "none", "UTC")
    assert "no reading of a standard can be used yet" in html
