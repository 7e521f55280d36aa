"""The pictures: colours, ids, escaping, refusals and room for every label."""

from __future__ import annotations

import dataclasses
import re
import xml.etree.ElementTree as ET
from collections import Counter
from html.parser import HTMLParser
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.figure import Figure

from reef_calc.errors import InputError
from reef_calc.plan.decision import GROUP_TITLES
from reef_calc.show.doubts import doubts_html
from reef_calc.show.lane_layout import label_rows, spread
from reef_calc.show.lanes import element_html
from reef_calc.show.overview import overview_html, overview_subline, overview_title
from reef_calc.show.page import page_html
from reef_calc.show.standing import Standing
from reef_calc.show.strips import use_bar
from reef_calc.show.style import PALETTE, RC_PARAMS, STYLESHEET, contrast
from reef_calc.show.svg import figure_svg, leftover_colours
from tests import standings as invented

SVG = re.compile(r"<svg.*?</svg>", re.DOTALL)


@pytest.fixture(scope="module")
def standings() -> list[Standing]:
    return invented.all_standings()


@pytest.fixture(scope="module")
def elements(standings: list[Standing]) -> dict[str, str]:
    return {s.element: element_html(s, width=None) for s in standings}


@pytest.fixture(scope="module")
def overview(standings: list[Standing]) -> str:
    return overview_html(overview_title(standings), overview_subline(standings), standings)


@pytest.fixture(scope="module")
def page(elements: dict[str, str], overview: str, standings: list[Standing]) -> str:
    return page_html("Review", [overview, *elements.values(), doubts_html(standings, PROBLEMS)])


PROBLEMS = [
    SimpleNamespace(
        file="readings.csv", row=12, column="value", text="8,2 <x>", severity="refused",
        reason="A comma is no decimal point here.", repair="Write 8.2.",
    ),
    SimpleNamespace(
        file="readings.csv", row=40, column=None, text=None, severity="flagged",
        reason="No lot is named.", repair="Add the lot.",
    ),
]  # fmt: skip


class Words(HTMLParser):
    """Collects visible and spoken text, ids and unclosed tags."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.ids: list[str] = []
        self.open: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes += attrs
        self.ids += [value or "" for key, value in attrs if key == "id"]
        self.words += [value or "" for key, value in attrs if key == "aria-label"]
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "script"):
            self.words.append(data)


def read(page: str) -> Words:
    reader = Words()
    reader.feed(page)
    assert reader.open == []
    return reader


def test_page_stands_alone(page: str) -> None:
    reader = read(page)
    outside = [
        v for k, v in reader.attributes if k in ("src", "href") and not str(v).startswith("#")
    ]
    assert outside == []
    assert "<script" not in page and "@import" not in page
    assert 'lang="en-GB"' in page and "<title>Review</title>" in page


def test_ids_are_unique_and_every_reference_is_met(page: str) -> None:
    ids = read(page).ids
    assert [k for k, n in Counter(ids).items() if n > 1] == []
    wanted = set(re.findall(r'url\(#([^)]+)\)|href="#([^"]+)"', page))
    assert {a or b for a, b in wanted} <= set(ids)


def test_no_colour_is_fixed(page: str) -> None:
    pictures = SVG.findall(page)
    assert len(pictures) > 20
    assert [c for svg in pictures for c in leftover_colours(svg)] == []


def test_pictures_are_xml_with_real_text(elements: dict[str, str]) -> None:
    for svg in SVG.findall(elements["alkalinity"]):
        root = ET.fromstring(svg)
        if "rc-picture" not in svg[:40]:
            continue
        texts = [e.text for e in root.iter("{http://www.w3.org/2000/svg}text")]
        assert "Level, dKH" in texts and "used 1.04 ± 0.04" in texts and "dosed 0.94" in texts
        assert root.attrib["aria-label"].startswith("Alkalinity in Classroom reef")
        assert "metadata" not in svg


def test_no_missing_value_is_printed(page: str) -> None:
    spoken = " ".join(read(page).words)
    assert not re.search(r"\bnan\b|\bNaN\b|\bNaT\b|\binf\b|\bNone\b|<NA>", spoken)


def test_typed_texts_are_escaped(elements: dict[str, str], standings: list[Standing]) -> None:
    text = elements["alkalinity"]
    assert "kit B &lt;half size&gt;" in text and "<half" not in text
    assert "&lt;b&gt;Acropora" in text and "<b>Acropora" not in text
    assert "8,2 &lt;x&gt;" in doubts_html(standings, PROBLEMS)
    nasty = dataclasses.replace(standings[0], tank='"><script>$x^2$')
    assert "<script" not in element_html(nasty) + overview_html("<script>", "", [nasty])


@pytest.mark.parametrize("mode", [0, 1])
def test_contrast(mode: int) -> None:
    """Published source: WCAG 2.1, success criteria 1.4.3 (text 4.5) and 1.4.11 (graphics 3)."""
    colour = {role: pair[mode] for role, pair in PALETTE.items()}
    for role in ("ink", "muted", "kitA", "kitB", "kitC"):
        assert contrast(colour[role], colour["paper"]) >= 4.5
        assert contrast(colour[role], colour["band"]) >= 3
    for role in ("line", "bandedge"):
        assert contrast(colour[role], colour["paper"]) >= 3
    for role in ("kitA", "ink"):
        assert contrast(colour[role], colour["interval"]) >= 3


def test_contrast_formula() -> None:
    """Handbook pair: #767676 on white is the lightest grey of 4.5 (4.54, from memory)."""
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.005)
    assert contrast("#FF0000", "#FFFFFF") == pytest.approx(3.998, abs=0.001)  # from memory
    with pytest.raises(InputError, match="six"):
        contrast("red", "#FFFFFF")


def test_stylesheet_touches_only_our_panels() -> None:
    rules = re.sub(r"@[^{]+\{", "", STYLESHEET)
    for selectors in re.findall(r"([^{}]+)\{", rules):
        for selector in re.sub(r"\([^)]*\)", "", selectors).split(","):
            assert ".rc" in selector, selector
    printed = STYLESHEET[STYLESHEET.index("@media print") :]
    assert f"--rc-paper:{PALETTE['paper'][0]}" in printed and PALETTE["paper"][1] not in printed


def test_labels_keep_apart(elements: dict[str, str]) -> None:
    """Labels at the right stand at least 13.5 CSS px (10.125 pt) apart and inside the picture."""
    for text in elements.values():
        for svg in [s for s in SVG.findall(text) if "rc-picture" in s[:40]]:
            root = ET.fromstring(svg)
            width = float(root.attrib["viewBox"].split()[2])
            labels = [
                (float(m[1]), float(m[2]), m[3])
                for m in re.finditer(
                    r'<text style="[^"]*" x="([\d.]+)" y="([\d.]+)"[^>]*>([^<]+)</text>',
                    svg.split('<g class="rc-hover">')[0],
                )
            ]
            margin = [
                (x, y, t)
                for x, y, t in labels
                if re.match(r"aim|last|used|use |dosed|rises|water", t)
            ]
            assert margin
            for x, _, t in margin:
                assert x + len(t) * 6.0 * 0.75 < width + 1, t
            heights = sorted(y for _, y, _ in margin)
            assert min(np.diff(heights), default=99.0) >= 10.12


@given(st.lists(st.floats(0, 100), max_size=9))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_spread(places: list[float]) -> None:
    out = spread(places, 13.5)
    assert np.diff(np.sort(out)).min(initial=99.0) >= 13.5 - 1e-9
    assert out.sum() == pytest.approx(sum(places), abs=1e-6)  # no push to one side


def test_spread_is_isotonic_regression() -> None:
    """Outside check: scipy's isotonic regression on the same shifted places."""
    scipy_optimize = pytest.importorskip("scipy.optimize")
    places = np.array([3.0, 4.0, 4.5, 40.0, 45.0, 90.0])
    shifted = places - 13.5 * np.arange(places.size)
    expected = scipy_optimize.isotonic_regression(shifted).x + 13.5 * np.arange(places.size)
    assert spread(places.tolist(), 13.5) == pytest.approx(expected)


def test_event_labels_of_one_row_do_not_touch() -> None:
    rows = label_rows([0, 5, 10, 400, 790], ["corals added"] * 5, 900)
    assert rows == [0, 1, -1, 0, 0]


def test_refusals_in_words(elements: dict[str, str]) -> None:
    assert "No reading yet." in elements["iodine"]
    assert "cannot tell" in elements["strontium"]
    assert "no use shown: less than 1.9 a day" in elements["magnesium"]
    assert "so no rate can be told" in elements["phosphate"]
    assert "per day" not in elements["salinity"]
    empty = element_html(
        invented.magnesium(),
        period=(pd.Timestamp("2020-01-01T00Z"), pd.Timestamp("2020-02-01T00Z")),
    )
    assert "No reading in this period; the last one is of 25 Sep 2026." in empty


def test_cross_checks_are_visible_and_cautions_stand_above_the_picture(
    elements: dict[str, str],
) -> None:
    text = elements["alkalinity"]
    visible = re.sub(r"<details>.*?</details>", "", text, flags=re.DOTALL)
    assert "Cross-checks: least squares 1.03 ± 0.02, Huber 1.03 ± 0.02" in visible
    assert text.index("Before you dose") < text.index("rc-picture")
    assert text.count("<details>") == 4
    assert 'tabindex="0" role="img" aria-label="9 Apr 2026: 9.4 ± 0.3 dKH, kit A, doubted"' in text


def test_overview_answers_first(overview: str, standings: list[Standing]) -> None:
    assert (
        "<h2>September 2026: raise two doses, look into nitrate, test three again</h2>" in overview
    )
    assert [overview.index(t) for t in GROUP_TITLES.values()] == sorted(
        overview.index(t) for t in GROUP_TITLES.values()
    )
    assert overview.count('role="rowheader"') == len(standings) + 3
    assert "rises 3.0 ± 0.8 in 30 days; not dosed" in overview
    assert "no use shown: less than 1.9 a day" in overview
    assert overview.count("Read the label and the safety data sheet first") == 1
    assert "At most 20 mg/L a day." in overview
    with pytest.raises(InputError, match="at least one"):
        overview_title([])


def test_strip_holds_its_last_dot(overview: str) -> None:
    dots = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="4"', overview)
    assert len(dots) == 7
    for x, y in dots:
        assert 4 <= float(x) <= 146 and 4 <= float(y) <= 30


def test_use_bar_is_on_one_scale() -> None:
    """A use equal to the dose stands in the middle; 60 and 140 % are the ends."""
    assert 'cx="75.0"' in use_bar(2.0, 1.9, 2.1, 2.0, dot=True)
    assert "M4.0 9H146.0" in use_bar(2.0, 0.0, 9.0, 2.0, dot=True)
    assert use_bar(2.0, 1.9, 2.1, 0.0, dot=True) == ""


def test_doubts(standings: list[Standing]) -> None:
    text = doubts_html(standings, PROBLEMS)
    assert "<h2>1 reading to doubt, 1 line refused, 1 line flagged</h2>" in text
    assert "A slip of the syringe fits." in text and "Write 8.2." in text
    counts = pd.DataFrame({"file": ["readings.csv"], "read": [100], "refused": [1]})
    assert "Rows of the files" in doubts_html([], PROBLEMS, counts)


def test_one_picture_at_two_widths_and_bad_input() -> None:
    with pytest.raises(InputError, match="400"):
        element_html(invented.calcium(), width=100)
    with pytest.raises(InputError, match="ends after"):
        day = pd.Timestamp("2026-09-01T00Z")
        element_html(invented.calcium(), period=(day, day))
    with pytest.raises(InputError, match="72"):
        figure_svg(Figure(dpi=100), prefix="p", label="x")
    assert RC_PARAMS["svg.fonttype"] == "none"


@pytest.mark.parametrize("limit", ["<", ">", "between"])
def test_censored_last_reading(limit: str) -> None:
    other = {
        "limit": limit,
        "upper": 0.05,
        "mark": "beyond limit" if limit != "between" else "used",
    }
    rows = invented.readings([9, 3], [0.02, 0.02], 0.01, **other)
    standing = dataclasses.replace(
        invented.phosphate(), readings=invented.frame(invented.READINGS, rows)
    )
    words = {"<": "below 0.02", ">": "above 0.02", "between": "0.02–0.05"}[limit]
    assert f"last {words}" in element_html(standing).replace("&#x27;", "'")
    assert f"<b>{words}</b>" in overview_html("", "", [standing])


def test_empty_cells_are_not_printed() -> None:
    standing = invented.calcium()
    table = standing.readings.assign(lot=float("nan"), by=None, why=pd.NA, kit="")
    table.loc[3, "level"] = float("nan")
    events = invented.frame("time kind note", [(invented.ago(9), "other", float("nan"))])
    bare = dataclasses.replace(standing, readings=table, events=events)
    text = " ".join(read(element_html(bare) + overview_html("", "", [bare])).words)
    assert not re.search(r"\bnan\b|<NA>|\bNone\b", text)
    assert "kit not named" in text and "no reading" in text
    assert '"nan' not in element_html(bare)


def test_a_doubted_reading_far_away_does_not_flatten_the_others() -> None:
    standing = invented.alkalinity(days=60)
    why = {"mark": "doubted", "why": "Far off."}
    far = invented.frame(invented.READINGS, invented.readings([30, 20], [80.0, 0.1], 0.1, **why))
    table = pd.concat([standing.readings, far]).sort_values("time", ignore_index=True)
    text = element_html(dataclasses.replace(standing, readings=table))
    assert "doubted 80.0 ↑" in text and "doubted 0.1 ↓" in text
    ticks = [float(t) for t in re.findall(r">(\d+)</text>", text.split("rc-hover")[0])]
    assert max(t for t in ticks if t < 100) < 12


def test_same_standing_same_page() -> None:
    assert element_html(invented.magnesium()) == element_html(invented.magnesium())
