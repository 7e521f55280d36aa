"""Pictures and pages of two kits compared: what they say, that nothing is missing, read by all."""

from __future__ import annotations

import datetime as dt
import io
import re
import xml.etree.ElementTree as ET
from html import unescape
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from reef_calc.compare.comparison import Comparison, compare_pairs
from reef_calc.compare.from_the_log import difference_from_log
from reef_calc.compare.kit_scatter import KitScatter
from reef_calc.compare.lot_table import lot_table
from reef_calc.compare.order_sheet import plan_study
from reef_calc.compare.pairs import Pairs, Water
from reef_calc.compare.study_design import Design, default_design, designs_table
from reef_calc.compare.study_power import study_outlook
from reef_calc.compare.which_to_believe import which_to_believe
from reef_calc.messages import Message
from reef_calc.show.comparison_bias_figure import bias_svg, level_marks
from reef_calc.show.comparison_difference_figure import difference_svg
from reef_calc.show.comparison_drawing import Spot, spots
from reef_calc.show.comparison_log_view import (
    belief_html,
    log_difference_csv,
    log_difference_html,
)
from reef_calc.show.comparison_lots_view import lots_html, lots_svg
from reef_calc.show.comparison_numbers import (
    NumberRow,
    number_rows,
    numbers_frame,
    pairs_frame,
)
from reef_calc.show.comparison_page import (
    comparison_html,
    comparison_page,
    limits_html,
    numbers_sentence,
)
from reef_calc.show.comparison_scatter_figure import scatter_svg
from reef_calc.show.comparison_scatter_of_kits import repeats_svg, residuals_of, residuals_svg
from reef_calc.show.comparison_style import STYLE
from reef_calc.show.comparison_tables import levels_html, number_words, waters_html
from reef_calc.show.comparison_waters import decimals_of_step, short
from reef_calc.show.plan_lane import Lane
from reef_calc.show.study_page import (
    designs_html,
    key_page,
    order_html,
    order_sheet_page,
    outlook_html,
)
from reef_calc.show.study_power_figure import power_svg
from reef_calc.show.svg import leftover_colours
from tests.compare.published_pairs import LARGE_METER, SMALL_METER
from tests.demo_tanks import demo_tank

SVG = re.compile(r"<svg.*?</svg>", re.DOTALL)
MISSING = re.compile(r"\bnan\b|\bNaN\b|\bNaT\b|\binf\b|\bNone\b|<NA>|\de[+-]\d")
MADE = dt.datetime(2026, 3, 1, 18, tzinfo=dt.UTC)


def read(
    n: int = 15,
    *,
    low: float = 4.0,
    high: float = 12.0,
    above: float = 0.2,
    slope: float = 1.0,
    repeats: int = 1,
    made: bool = False,
    step: float = 0.1,
    kits: tuple[str, str] = ("drops", "syringe"),
) -> Pairs:
    draw = np.random.default_rng(5)
    waters = []
    for i, level in enumerate(np.linspace(low, high, n)):
        a, b = (
            tuple(step * np.round((at + draw.normal(0.0, 0.12, repeats)) / step))
            for at in (level, above + slope * level)
        )
        waters.append(Water(str(i + 1), a, b, float(level) if made else None))
    return Pairs("alkalinity", "dKH", *kits, step, step, tuple(waters))


def pairs_of_columns(a: list[float], b: list[float], step: float = 0.1) -> Pairs:
    waters = tuple(Water(str(i + 1), (x,), (y,)) for i, (x, y) in enumerate(zip(a, b, strict=True)))
    return Pairs("alkalinity", "dKH", "drops", "syringe", step, step, waters)


def spoken(html: str) -> str:
    shown = re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL)
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", shown)))


def check_pictures(html: str, least: int = 1) -> None:
    """Every picture is XML, has words for those who do not see it, and follows the theme."""
    pictures = SVG.findall(html)
    assert len(pictures) >= least
    for svg in pictures:
        root = ET.fromstring(svg)
        assert root.attrib.get("aria-label") or root.attrib.get("aria-hidden") == "true"
        assert leftover_colours(svg) == []
        assert " id=" not in svg and "url(#" not in svg
        if root.attrib.get("aria-label"):
            wide, tall = float(root.attrib["width"]), float(root.attrib["height"])
            for one in root.iter("{http://www.w3.org/2000/svg}text"):
                assert -1 <= float(one.attrib["x"]) <= wide + 1
                assert 0 <= float(one.attrib["y"]) <= tall + 1
    assert not MISSING.search(spoken(html)) and "<script" not in html


CASES = {
    "stable tank": (read(low=7.6, high=8.3), {"allowed": 0.5}),
    "no allowed difference": (read(low=7.6, high=8.3), {}),
    "wide range": (read(slope=1.05), {"allowed": 0.5, "sd_a": 0.12, "sd_b": 0.12}),
    "known levels": (
        read(repeats=2, made=True, slope=1.06), {"allowed_percent": 8.0, "levels": (6.0, 8.0, 14.0)},
    ),
    "median of slopes": (read(slope=1.05), {"method": "passing bablok"}),
    "two waters": (read(2), {"allowed": 0.5}),
    "three waters": (read(3), {"allowed": 0.5}),
    "all equal": (pairs_of_columns([8.0] * 5, [8.4] * 5), {"allowed": 0.5}),
    "all differences equal": (pairs_of_columns([7.0, 8.0, 9.0], [7.4, 8.4, 9.4]), {"allowed": 0.5}),
    "coarse": (pairs_of_columns([8.0, 8.0, 8.5, 8.0], [8.0, 8.5, 8.5, 8.0], 0.5), {"allowed": 0.2}),
    "nothing in the water": (pairs_of_columns([0.0] * 4, [0.0, 0.1, 0.0, 0.1]), {"allowed": 1.0}),
    "below nothing": (pairs_of_columns([-0.1, 0.0, 0.2], [0.0, 0.1, 0.1]), {}),
    "one misread": (
        pairs_of_columns([8.0, 7.6, 8.2, 7.9, 8.1, 7.7, 8.0], [8.2, 7.9, 8.3, 8.1, 8.4, 9.9, 8.2]),
        {"allowed": 0.5},
    ),
    "may be stopped early": (read(low=7.6, high=8.3), {"allowed": 0.5, "planned": 20}),
    "allowed far beyond": (read(low=7.6, high=8.3), {"allowed": 90.0}),
    "large numbers": (
        pairs_of_columns([1280.0, 1300.0, 1310.0, 1290.0], [1300.0, 1320.0, 1340.0, 1300.0], 10.0),
        {"allowed": 40.0},
    ),
    "no steps": (pairs_of_columns([0.031, 0.052, 0.048], [0.036, 0.051, 0.061], 0.0), {}),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_every_case_is_a_whole_page(name: str) -> None:
    pairs, asked = CASES[name]
    found = compare_pairs(pairs, **asked)
    page = comparison_page(found, made="Made on 1 March 2026.")
    check_pictures(page, least=3)
    text = spoken(page)
    assert found.sentence in text and found.what_would_help in text
    assert text.index(found.sentence) < text.index("What would make this clearer")
    assert "http" not in page.replace("http://www.w3.org/2000/svg", "")
    assert not re.search(r"\b1 (waters|days|readings)\b", text)
    for frame in (numbers_frame(found), pairs_frame(found)):
        csv = frame.to_csv(index=False)
        assert not re.search(r"\bnan\b|\binf\b", csv)
        assert len(pd.read_csv(io.StringIO(csv))) == len(frame)


def test_names_that_people_type_are_text() -> None:
    pairs = read(kits=('<script>alert("x")</script>', "kit & “the very long name of a kit indeed”"))
    found = compare_pairs(pairs, allowed=0.5)
    page = comparison_page(found)
    check_pictures(page, least=3)
    assert "&lt;script&gt;alert" in page
    assert short("x" * 40).endswith("…")


def test_the_verdict_comes_first_and_the_help_last() -> None:
    html = comparison_html(compare_pairs(read(), allowed=0.5))
    places = [
        html.index(one) for one in ("rc-kits-lead", "rc-kits-then", "<figure>", "rc-kits-help")
    ]
    assert places == sorted(places)
    assert not re.search(r"<(p|h\d|svg|figure)", html[places[-1] + 20 :])


# ---- numbers that stand in pictures and files are those of the result


def circles(svg: str) -> list[tuple[float, float]]:
    drawn = re.sub(r'<g class="rc-hover">.*', "", svg, flags=re.DOTALL)
    return [
        (float(x), float(y))
        for x, y in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="4.5"', drawn)
    ]


def test_marks_lie_where_the_readings_are() -> None:
    pairs = pairs_of_columns([7.0, 8.0, 9.0, 10.0], [7.3, 8.1, 9.4, 10.2])
    drawn = sorted(circles(scatter_svg(compare_pairs(pairs))))
    x, y = np.array(drawn).T
    # Equal scales: a step of one kit is as long as a step of the other.
    per_x = np.polyfit(pairs.a, x, 1)
    per_y = np.polyfit(pairs.b, y, 1)
    assert per_x[0] == pytest.approx(-per_y[0], rel=1e-3)
    assert np.abs(np.polyval(per_x, pairs.a) - x).max() < 0.1
    assert np.abs(np.polyval(per_y, pairs.b) - y).max() < 0.1


def test_published_peak_flow_in_words() -> None:
    # Bland & Altman 1986, Lancet i, 307: mean difference −2.1 L/min, SD 38.8, means of the first
    # readings. Limits −78.1 and 73.9 by 1.96 SD; own arithmetic on their table.
    waters = tuple(
        Water(str(i + 1), (float(small[0]),), (float(large[0]),))
        for i, (large, small) in enumerate(zip(LARGE_METER, SMALL_METER, strict=True))
    )
    found = compare_pairs(Pairs("flow", "L/min", "small", "large", 1.0, 1.0, waters))
    rows = {row.quantity: row for row in number_rows(found)}
    assert round(rows["Mean difference"].value, 1) == -2.1
    assert round(rows["SD of the differences"].value, 1) == 38.8
    assert round(rows["Lower limit of single differences"].value, 1) == -78.1
    assert round(rows["Upper limit of single differences"].value, 1) == 73.9
    assert "limit −78.1" in difference_svg(found) and "limit 73.9" in difference_svg(found)
    assert "Mean difference 2 L/min below (95 %: 22 below to 18 above)." in numbers_sentence(found)


def test_numbers_of_the_file_are_the_result() -> None:
    pairs, asked = CASES["known levels"]
    found = compare_pairs(pairs, **asked)
    frame = numbers_frame(found).set_index("quantity")
    assert frame.loc["Mean difference", "value"] == found.difference.mean
    line = found.chosen.known.difference
    assert frame.loc["Slope of the difference on the level", "value"] == line.slope
    waters = pairs_frame(found)
    assert np.allclose(waters["B_minus_A"], pairs.differences)
    assert waters["A_readings"].str.split().map(len).tolist() == [2] * pairs.n


def test_levels_each_with_their_statement() -> None:
    pairs, asked = CASES["known levels"]
    found = compare_pairs(pairs, **asked)
    text = spoken(levels_html(found))
    assert "outside the waters that were read: no statement" in text
    assert [one.level for one in level_marks(found)] == [6.0, 8.0]
    for one in found.verdicts:
        assert f"± {one.allowed:g} dKH" in text


def test_nothing_is_drawn_beyond_the_waters() -> None:
    pairs, asked = CASES["wide range"]
    found = compare_pairs(pairs, **asked)
    assert found.chosen.line is not None
    for svg in (scatter_svg(found), bias_svg(found)):
        ends = sorted(x for x, _ in circles(svg))
        line = re.search(r'<path d="M([\d.]+) [^"]*L([\d.]+) [\d.]+" fill="none" '
                         r'stroke="var\(--rc-ink,#1F2428\)" stroke-width="2"', svg)  # fmt: skip
        assert line is not None
        assert float(line[1]) >= ends[0] - 0.2 and float(line[2]) <= ends[-1] + 0.2


def test_no_line_without_range() -> None:
    found = compare_pairs(CASES["stable tank"][0], allowed=0.5)
    assert ">the line<" not in scatter_svg(found)
    assert "No line: these waters do not give one." in comparison_html(found)


def test_a_water_that_does_not_fit_is_named_and_kept() -> None:
    pairs, asked = CASES["one misread"]
    found = compare_pairs(pairs, **asked)
    for svg in (scatter_svg(found), difference_svg(found), residuals_svg(found)):
        assert ">water 6<" in svg and len(circles(svg)) + svg.count('font-size="10"') >= 6
    html = comparison_html(found)
    assert "<h3>Without water 6</h3>" in html and "6 ○ does not fit the others" in waters_html(
        found
    )


def test_dots_only_where_the_steps_allow_a_mark() -> None:
    svg = difference_svg(compare_pairs(CASES["stable tank"][0]))
    dots = re.search(r'd="((?:M[\d.]+ [\d.]+h0)+)"', svg)
    assert dots is not None
    places = {tuple(map(float, one)) for one in re.findall(r"M([\d.]+) ([\d.]+)h0", dots[1])}
    xs = sorted({x for x, _ in places})
    # A mark that was not moved aside lies on a dot.
    alone = [one for one in circles(svg) if min(abs(one[0] - x) for x in xs) < 0.2]
    assert alone and all(min(abs(x - u) + abs(y - v) for u, v in places) < 0.4 for x, y in alone)
    repeated = difference_svg(compare_pairs(read(low=7.6, high=8.3, repeats=2)))
    assert "h0M" not in repeated


# ---- marks that share a place


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=1, max_size=40),
       st.sampled_from([0.0, 0.01, 0.033]))  # fmt: skip
def test_no_water_is_lost_and_none_is_moved_too_far(
    places: list[tuple[int, int]], room: float
) -> None:
    x = np.array([7.0 + 0.1 * a for a, _ in places])
    y = np.array([7.0 + 0.1 * b for _, b in places])
    lane = Lane(0, 400, 0, 400, 6.9, 7.7, 6.9, 7.7)
    found = spots(lane, x, y, room=room)
    assert sorted(k for one in found for k in one.members) == list(range(len(places)))
    for one in found:
        for k in one.members:
            assert abs(one.x - x[k]) <= room + 1e-9 and abs(one.y - y[k]) < 1e-9
    apart = [(lane.x(one.x), lane.y(one.y)) for one in found]
    assert all(
        abs(p[0] - q[0]) + abs(p[1] - q[1]) > 6.5
        for i, p in enumerate(apart) for q in apart[:i]
    )  # fmt: skip


def test_the_area_of_a_mark_grows_with_its_waters() -> None:
    one, four = Spot(8.0, 8.0, (0,)), Spot(8.0, 8.0, (0, 1, 2, 3))
    assert four.radius == pytest.approx(2.0 * one.radius)


@settings(max_examples=25, deadline=None)
@example([(60, -2), (60, -2), (60, -3)], None, 0.1)
@given(st.lists(st.tuples(st.integers(60, 120), st.integers(-15, 15)), min_size=2, max_size=12),
       st.sampled_from([None, 0.3, 2.0]), st.sampled_from([0.1, 0.5, 5.0]))  # fmt: skip
def test_any_readings_make_pictures_that_can_be_read(
    waters: list[tuple[int, int]], allowed: float | None, step: float
) -> None:
    a = [step * k for k, _ in waters]
    b = [step * (k + d) for k, d in waters]
    found = compare_pairs(pairs_of_columns(a, b, step), allowed=allowed)
    check_pictures(
        scatter_svg(found) + difference_svg(found) + bias_svg(found) + residuals_svg(found), least=3
    )
    assert not MISSING.search(numbers_sentence(found))


# ---- repeats and residuals


def test_repeats_add_up_to_nothing() -> None:
    found = compare_pairs(read(repeats=3))
    svg = repeats_svg(found)
    check_pictures(svg)
    assert f"SD {found.scatter_a.sd:.3f}" in svg
    assert repeats_svg(compare_pairs(read())) == ""


@pytest.mark.parametrize("name", ["stable tank", "wide range", "known levels"])
def test_what_is_left_over_has_no_mean(name: str) -> None:
    pairs, asked = CASES[name]
    _, left, _ = residuals_of(compare_pairs(pairs, **asked))
    assert left.mean() == pytest.approx(0.0, abs=1e-9)


# ---- words


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (NumberRow("x", 1.031, 0.98, 1.08, ""), ("1.03", "0.98 to 1.08")),
        (NumberRow("x", 0.2, None, None, "dKH"), ("0.2 dKH", "")),
        (NumberRow("x", None, None, None, "dKH"), ("not known", "")),
        (NumberRow("x", None, 0.33, None, ""), ("", "0.33 upwards")),
        (NumberRow("x", 2.0, 2.0, 2.0, ""), ("2", "2 to 2")),
        (NumberRow("x", -0.08, -10.03, -0.03, "dKH"), ("−0.08 dKH", "−10.03 to −0.03")),
        (NumberRow("x", -0.2, -0.31, -0.09, "dKH"), ("−0.20 dKH", "−0.31 to −0.09")),
        (NumberRow("x", 1290.0, 1200.0, 1380.0, "mg/L"), ("1290 mg/L", "1200 to 1380")),
    ],
)
def test_numbers_in_words(row: NumberRow, words: tuple[str, str]) -> None:
    assert number_words(row) == words


def test_steps_show_every_reading() -> None:
    assert [decimals_of_step(one) for one in (0.1, 0.25, 0.05, 1.0, 5.0, 10.0)] == [
        1,
        2,
        2,
        0,
        0,
        0,
    ]


def test_messages_once_each_the_limiting_ones_open() -> None:
    few = Message("FEW", "Few.", "qualified")
    html = limits_html([few, few, Message("TREND", "It grows.")], "comparison")
    assert html.count("Few.") == 1
    assert html.index("Few.") < html.index("<details>") < html.index("It grows.")


def test_every_rule_stays_in_its_room() -> None:
    bare = re.sub(r"@(container|media)[^{]*\{", "", STYLE)
    selectors = [one for part in re.findall(r"([^{}]+)\{", bare) for one in part.split(",")]
    assert all(one.strip().startswith(".rc") for one in selectors)


# ---- lots


def lots(count: int = 4, waters: int = 6) -> pd.DataFrame:
    draw = np.random.default_rng(3)
    rows = [
        (w, f"A-{k}", round(8.0 + 0.2 * w + (0.3 if k == 1 else 0.0) + draw.normal(0.0, 0.1), 1))
        for w in range(waters) for k in range(count)
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=["water", "lot", "level"])


def test_lots_with_their_intervals() -> None:
    table = lot_table(lots(), unit="dKH")
    html = lots_html(table)
    check_pictures(html)
    assert table.sentences[0] in spoken(html)
    effects = table.groups[0].effects
    assert spoken(html).count("cannot be told apart") >= 1
    for effect in effects["effect"]:
        assert f"{abs(effect):.2f}" in lots_svg(table.groups[0], "dKH")


@pytest.mark.parametrize("frame", [lots(2, 1), lots(2, 2), lots(3, 1)])
def test_lots_without_an_interval_say_so(frame: pd.DataFrame) -> None:
    html = lots_html(lot_table(frame, unit="dKH"))
    check_pictures(html)


# ---- from the log, and on standards


def test_the_demo_tank_over_time() -> None:
    found = difference_from_log(demo_tank(), "alkalinity", "kit A", "kit B")
    html = log_difference_html(found, allowed=0.3)
    check_pictures(html, least=2)
    assert found.sentence in spoken(html)
    assert "whether by more than the 0.3 dKH allowed is open" in spoken(html)
    csv = pd.read_csv(io.StringIO(log_difference_csv(found)))
    assert len(csv) == len(found.table) and (csv["misreading"] == "perhaps").sum() >= 1
    assert np.allclose(csv["level"], found.table["level"])


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (-0.1, 0.2, "They agree within the 0.3 dKH allowed."),
        (0.4, 0.6, "That is more than the 0.3 dKH allowed."),
        (0.1, 0.4, "They differ, but whether by more than the 0.3 dKH allowed is open."),
        (-0.1, 0.4, "cannot be told yet."),
    ],
)
def test_the_statement_of_the_log(low: float, high: float, words: str) -> None:
    columns = ["time", "day", "kit", "lot", "of", "level", "expected", "slip", "resolution"]
    found = SimpleNamespace(
        element="alkalinity", unit="dKH", zone="UTC", kit_a="old", kit_b="new", low=low, high=high,
        difference=(low + high) / 2, table=pd.DataFrame(columns=columns), sentence="So far.",
        messages=(), what_would_help="", pairs=SimpleNamespace(n=0),
    )  # fmt: skip
    assert words in spoken(log_difference_html(found, allowed=0.3))
    assert words not in spoken(log_difference_html(found))


def test_the_demo_tank_on_standards() -> None:
    tank = demo_tank()
    found = which_to_believe(tank, "alkalinity", ["kit A", "kit B"], today=dt.date(2026, 10, 1))
    html = belief_html(found, zone=tank.zone)
    check_pictures(html, least=2)
    assert found.sentences[0] in spoken(html) and found.help in spoken(html)
    # The lot before is there, but faint.
    assert html.count('opacity=".4"') > 0


# ---- a study


def study(levels: tuple[float, ...] = (0.5, 0.75, 1.0, 1.25, 1.5), replicates: int = 1):
    return plan_study(
        "spring", Design(levels, 2, replicates), element="alkalinity", unit="dKH", kit_a="drops",
        kit_b="syringe", usual=8.13, made=MADE, seed=7,
    )  # fmt: skip


@pytest.mark.parametrize("replicates", [1, 2])
def test_the_order_sheet_hides_every_level(replicates: int) -> None:
    one = study(replicates=replicates)
    page = order_sheet_page(one, one.tests[:3])
    text = spoken(page)
    for cup in one.cups:
        assert f"{cup.level:g}" not in text
        assert text.count(cup.code) == 2 * replicates
    assert page.count("rc-blank") == len(one.tests) + page.count("td.rc-blank")
    assert text.count(" read ") >= 3 and not MISSING.search(text)
    order = re.findall(r"<td><b>(\w\d)</b></td><td>(\w+)</td>", page)
    assert order == [(test.code, test.kit) for test in one.tests]


def test_the_key_holds_what_the_order_sheet_hides() -> None:
    one = study()
    text = spoken(key_page(one))
    assert all(f"{cup.level:.6g}" in text for cup in one.cups)
    plain = plan_study(
        "week", Design((1.0,), 4), element="alkalinity", unit="dKH", kit_a="drops", kit_b="syringe",
        usual=None, made=MADE, seed=1,
    )  # fmt: skip
    assert key_page(plain).count("tank water as it is") == 4
    assert "Block 2" in order_html(plain)
    for page in (key_page(one), order_sheet_page(one)):
        assert "safety data sheet" in spoken(page)


@pytest.mark.parametrize("allowed", [None, 0.05, 0.3, 5.0])
@pytest.mark.parametrize("design", [default_design(20), Design((1.0,), 10), Design((0.5, 1.5), 2)])
def test_what_a_study_will_tell(design: Design, allowed: float | None) -> None:
    kits = KitScatter(0.15, 0.1), KitScatter(0.12, 0.5)
    outlook = study_outlook(design, *kits, unit="dKH", allowed=allowed)
    html = outlook_html(outlook, designs_table(20, *kits))
    check_pictures(html) if allowed else None
    assert (power_svg(outlook) == "") == (allowed is None)
    assert all(one in spoken(html) for one in outlook.sentences)
    assert ("planned" in designs_html(designs_table(20, *kits), "dKH", chosen=design)) == (
        design.vials == 20
    )


def test_areas_of_the_chances_are_stacked_to_a_hundred() -> None:
    fine = KitScatter(0.15, 0.1)
    svg = power_svg(study_outlook(default_design(20), fine, fine, unit="dKH", allowed=0.3))
    areas = re.findall(r'<path d="(M[^"]+z)" fill="var\(--rc-(\w+),', svg)
    assert [role for _, role in areas] == ["band", "paper", "grid", "interval"]
    top = {float(y) for y in re.findall(r"[\d.]+ ([\d.]+)", areas[-1][0].split("z")[0])[:31]}
    assert top == {46.0}


def test_a_comparison_of_none_is_never_shown() -> None:
    found = compare_pairs(CASES["all equal"][0], allowed=0.5)
    assert isinstance(found, Comparison) and found.limits is None
    assert bias_svg(found) == "" and "mean 0.40" in difference_svg(found)
