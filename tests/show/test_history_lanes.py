"""The whole history in the lanes, what was found, the ratio, and the lines below the picture."""

from __future__ import annotations

import dataclasses
import re
import xml.etree.ElementTree as ET
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.figure import Figure

from reef_calc.show.found_wording import (
    believed,
    beside_html,
    doubt_words,
    found_lines,
    step_label,
)
from reef_calc.show.history_lane import curved
from reef_calc.show.lane_figure import lanes_svg
from reef_calc.show.lane_layout import LABEL_GAP
from reef_calc.show.lanes import element_html
from reef_calc.show.rate_lane import draw_rate, has_rate_lane
from reef_calc.show.ratio_lane import SKELETON, shown_ratio
from reef_calc.show.standing import Standing
from reef_calc.show.svg import leftover_colours
from reef_calc.show.times import shown_period
from reef_calc.show.two_answers import hump_words
from tests import standings as invented

SVG = re.compile(r"<svg.*?</svg>", re.DOTALL)


def drawn_texts(picture: str) -> list[str]:
    """Every text of a picture, the read-outs left out."""
    body = picture.split('<g class="rc-hover">')[0]
    return re.findall(r"<text[^>]*>([^<]*)</text>", body)


@pytest.fixture(scope="module")
def told() -> Standing:
    return invented.alkalinity_history()


@pytest.fixture(scope="module")
def picture(told: Standing) -> str:
    return lanes_svg(told, width=980)


def with_use(standing: Standing, **fields: object) -> Standing:
    assert standing.use is not None
    use = dataclasses.replace(standing.use, **fields)  # type: ignore[arg-type]
    return dataclasses.replace(standing, use=use)


@pytest.mark.parametrize("width", [980, 600])
@pytest.mark.parametrize("standing", invented.histories(), ids=lambda s: str(s.element))
def test_pictures_are_xml_and_follow_the_theme(standing: Standing, width: int) -> None:
    picture = lanes_svg(standing, width=width)
    ET.fromstring(picture)
    assert leftover_colours(picture) == []
    assert not re.search(r"\bnan\b|\binf\b|None", picture)


def test_findings_are_labelled_where_they_lie(picture: str) -> None:
    texts = drawn_texts(picture)
    for words in ("use changed, likely", "use changed, possible", "step +0.5, likely",
                  "doubted, found", "doubted, possible"):  # fmt: skip
        assert texts.count(words) == 1


def test_what_the_keeper_rejected_is_not_drawn(told: Standing, picture: str) -> None:
    assert told.use is not None
    rejected = [e for e in told.use.findings if e.decision == "rejected"]
    assert rejected and rejected[0] not in believed(told.use, "rate change")
    assert sum(text.startswith("use changed") for text in drawn_texts(picture)) == 2


def test_findings_answer_to_the_keyboard(picture: str) -> None:
    stops = re.findall(r'tabindex="0" role="img" aria-label="([^"]*)"', picture)
    # 204 and 198 days before midnight of 1 October in London are 11 and 17 March, an hour less.
    assert stops[:3] == [
        "10 Mar to 16 Mar 2026: use changed, likely; +0.11 ± 0.07 a day",
        "4 Sep to 10 Sep 2026: use changed, possible; +0.22 ± 0.12 a day",
        "27 Jun to 30 Jun 2026: step +0.5 ± 0.2 dKH, likely",
    ]


def test_months_are_not_drawn_twice(told: Standing) -> None:
    # The months hold a "cannot tell", which only their own drawing writes into the lane.
    assert "cannot tell" not in drawn_texts(lanes_svg(told, width=980))
    months = with_use(told, curve=None)
    assert any("cannot" in text for text in drawn_texts(lanes_svg(months, width=980)))
    assert "Month by month" in element_html(told)


def test_two_answers_now(told: Standing, picture: str) -> None:
    texts = drawn_texts(picture)
    assert "used 1.00 (60 %)" in texts and "or 1.22 (40 %)" in texts
    assert not any(text.startswith("used 0.9") for text in texts)
    one = drawn_texts(lanes_svg(with_use(told, humps=()), width=980))
    assert any(text.startswith("used ") for text in one)


def test_a_rising_element_says_so_in_both_answers() -> None:
    use = invented.nitrate_history().use
    assert use is not None
    assert hump_words(use) == ["rises 0.11 (75 %)", "no change shown (25 %)"]


def test_two_answers_never_read_the_same() -> None:
    humps = ((0.7, 1.0, 0.5, 1.5), (0.3, 1.04, 1.02, 1.06))
    words = hump_words(SimpleNamespace(humps=humps, behaviour="used"))  # type: ignore[arg-type]
    assert words[0].split(" ")[0] != words[1].split(" ")[0]


def test_two_answers_that_are_one_are_told_as_one(told: Standing) -> None:
    one = with_use(told, humps=((0.2, 0.9, 0.5, 1.5), (0.8, 1.1, 0.5, 1.7)))
    assert one.use is not None
    assert hump_words(one.use) == []
    assert "two answers" not in element_html(one)


def test_labels_at_the_right_keep_apart(picture: str) -> None:
    body = picture.split('<g class="rc-hover">')[0]
    # Labels of the margin share one x; two on one lane must not touch.
    at = re.findall(
        r'transform="translate\(([\d.]+) ([\d.]+)\)|<text[^>]*x="([\d.]+)" y="([\d.]+)"', body
    )
    places = sorted(
        (float(a or c), float(b or d)) for a, b, c, d in at if float(a or c) > 0.78 * 735
    )
    heights = np.sort([y for x, y in places if abs(x - places[-1][0]) < 0.5])
    assert np.diff(heights).min(initial=99.0) > 0.75 * LABEL_GAP - 0.6


def test_axis_shows_three_tenths_of_the_dose() -> None:
    told = invented.alkalinity_history()
    assert told.use is not None and told.use.dose_now is not None
    period = shown_period(told, None)
    ax = Figure().add_subplot()
    ax.set_xlim(*period)
    draw_rate(ax, told, told.use, period, 2.0)
    low, high = ax.get_ylim()
    assert low < 0.7 * told.use.dose_now and high > 1.3 * told.use.dose_now


@pytest.mark.parametrize("days", [30, 4, 1])
def test_a_short_period_is_drawn(told: Standing, days: int) -> None:
    last = told.readings["time"].iloc[-1]
    until = last + invented.pd.Timedelta(days=1)
    period = (until - invented.pd.Timedelta(days=days), until)
    ET.fromstring(lanes_svg(told, period=period))


def test_nothing_outside_the_period_opens_the_axis(told: Standing) -> None:
    assert told.use is not None and told.use.curve is not None
    period = shown_period(told, (invented.ago(60.0), invented.ago(30.0)))
    drawn = curved(told.use.curve, period, 1.0)
    assert drawn.x.min() >= period[0] and drawn.x.max() <= period[1]
    assert drawn.rate.tolist() == [0.93]


def test_a_rise_is_drawn_upward() -> None:
    standing = invented.nitrate_history()
    assert standing.use is not None and standing.use.curve is not None
    drawn = curved(standing.use.curve, shown_period(standing, None), -1.0)
    assert drawn.rate.tolist() == [-0.02, 0.1]
    assert (drawn.low <= drawn.high).all()


def test_a_curve_alone_is_a_rate_lane(told: Standing) -> None:
    bare = dataclasses.replace(told, doses=told.doses.iloc[:0])
    assert bare.use is not None
    empty = with_use(
        bare, rate=None, low=None, high=None, humps=(), months=bare.use.months.iloc[:0]
    )
    assert has_rate_lane(empty)
    ET.fromstring(lanes_svg(empty))


def test_lines_below(told: Standing) -> None:
    assert found_lines(told) == [
        "Use now: about 1.00 (60 %) or 1.22 (40 %). The readings cannot decide yet.",
        "If nothing changed: 0.94 ± 0.03 a day (30 %).",
        "Not constant: 70 %.",
        "A change of a quarter younger than 8 days cannot show yet.",
    ]


def test_probabilities_are_never_nought_or_a_hundred() -> None:
    lines = " ".join(found_lines(invented.calcium_history()))
    assert "(> 97 %)" in lines and "Not constant: < 3 %." in lines
    assert "A steady change no longer fits" in " ".join(found_lines(invented.nitrate_history()))


def test_nothing_is_said_where_changes_were_not_searched() -> None:
    for standing in invented.all_standings():
        assert found_lines(standing) == [] and beside_html(standing) == ""


def test_a_message_is_not_said_twice(told: Standing) -> None:
    first = invented.Message("RATE_CHANGED", "A rate change between two readings. And more.")
    late = invented.Message("RECENT_CHANGE_INVISIBLE", "Younger than 8 days cannot show.")
    page = element_html(with_use(told, messages=(first, late)))
    assert page.count("A rate change between two readings.") == 1
    assert "A change of a quarter" not in page


def test_texts_are_escaped(told: Standing) -> None:
    page = element_html(told)
    assert "&lt;alone&gt;" in page and "<alone>" not in page
    assert "Beside it" in page


def test_labels_of_findings() -> None:
    down = invented.change("level step", 5, 3, (-0.52, -0.74, -0.31), decision="explained")
    assert step_label(down) == "step −0.5, explained"
    assert doubt_words(None) == {}


def test_the_ratio_stands_under_alkalinity_and_calcium_only(told: Standing) -> None:
    title = "Calcium used per alkalinity used, mg/L per dKH"
    assert title in drawn_texts(lanes_svg(told)) and "5.7 ± 0.4" in drawn_texts(lanes_svg(told))
    magnesium = dataclasses.replace(invented.magnesium(), ratio=told.ratio)
    assert title not in drawn_texts(lanes_svg(magnesium))
    unknown = dataclasses.replace(told, ratio=invented.ratios([invented.NAN], [invented.NAN]))
    assert shown_ratio(unknown, shown_period(told, None)) is None


def test_skeleton_band() -> None:
    # PUBLISHED: standard atomic weights Ca 40.078, O 15.999 (IUPAC 2021); 1 dKH is 10 mg/L CaO
    # (DIN 38409-6, from memory). Two equivalents of alkalinity a mole of carbonate: stoichiometry.
    calcium, oxide = 40.078, 40.078 + 15.999
    pure = calcium * (10 / oxide * 2) / 2
    assert SKELETON[1] == round(pure, 1)
    assert SKELETON[0] == round(0.85 * pure, 1)  # 15 mol% magnesium
