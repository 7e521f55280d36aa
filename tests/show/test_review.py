"""The month's review: its entrance, its page and the command, saying one and the same thing."""

from __future__ import annotations

import re
from pathlib import Path

import pandas as pd
import pytest

import reef_calc as rc
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import Tank
from reef_calc.plan.decision import GROUP_TITLES, LABEL_FIRST, PUMP_QUESTION
from reef_calc.show import gather as gathering
from reef_calc.show import review as reviewing
from reef_calc.show.review import MonthReview, page_of
from reef_calc.show.review_command import file_name, main
from reef_calc.show.review_months import default_month, months_with_readings
from tests.demo_tanks import demo_tank
from tests.folders import dose, make_folder, make_tank, reading
from tests.tank_cases import LIMITS, MACHINE_WORDS, ONE_OF_MANY, at, quiet, series, words_of

DEMO = Path(__file__).parents[2] / "data_demo"


@pytest.fixture(scope="module")
def display() -> Tank:
    return demo_tank("classroom_reef")


@pytest.fixture(scope="module")
def september(display: Tank) -> MonthReview:
    return rc.review_month(display, "2026-09", with_cross_checks=True)


@pytest.fixture(scope="module")
def page(september: MonthReview) -> str:
    return page_of(september, width=980)


def test_heading_table_and_summary_say_the_same(september: MonthReview, page: str) -> None:
    words = words_of(page)
    assert september.title in words
    summary = september.summary
    assert list(summary["element"]) == [s.element for s in september.standings]
    for standing in september.standings:
        headline = standing.decision.headline
        assert words.count(headline[1:]) >= 2  # in the table and over its picture
        if standing.use is not None and standing.use.rate is not None:
            assert standing.use.low is not None and standing.use.high is not None
            assert standing.use.low <= standing.use.rate <= standing.use.high


def test_every_advice_to_raise_carries_its_cautions(september: MonthReview) -> None:
    raised = [s for s in september.standings if s.decision.action == "raise"]
    assert [s.element for s in raised] == ["alkalinity"]
    for standing in raised:
        told = " ".join(standing.decision.cautions)
        assert LABEL_FIRST in told
        assert re.search(r"At most [\d.]+ .* more a day", told) or "No daily limit" in told
        # The calcium pump was measured in September; that answers nothing for alkalinity.
        assert PUMP_QUESTION in told


@pytest.mark.parametrize(
    ("element", "refers_to", "answered"),
    [
        ("alkalinity", "", True),
        ("", "part one", True),
        ("", "", True),
        ("calcium", "part two", False),
        ("", "part two", False),
    ],
)
def test_only_its_own_pump_answers_the_pump_question(
    element: str, refers_to: str, answered: bool, tmp_path: Path
) -> None:
    event = {
        "time": "2026-03-20T12:00", "kind": "pump measured", "element": element,
        "refers_to": refers_to, "value": "0.97",
    }  # fmt: skip
    parts = quiet(readings=series(level=at(6.7)), events=[event])
    (row, *_) = rc.review_month(make_tank(tmp_path / "tank", **parts), "2026-03").standings
    assert row.decision.action == "raise"
    assert (PUMP_QUESTION not in row.decision.cautions) is answered


def test_a_correction_never_goes_faster_than_the_daily_rise(tmp_path: Path) -> None:
    for level in (4.0, 5.0, 6.5, 7.0):
        parts = quiet(readings=series(level=at(level)))
        tank = make_tank(tmp_path / str(level), **parts)
        (row, *_) = rc.review_month(tank, "2026-03").standings
        found = re.search(r"\+([\d.]+) dKH over at least (\d+) day", row.decision.headline)
        assert found, row.decision.headline
        assert float(found[1]) / int(found[2]) <= 0.5 + 0.05 / int(found[2])


def test_a_dose_is_raised_in_steps_where_the_step_is_large(tmp_path: Path) -> None:
    # 0.04 dKH a day are lost beyond the dose; no more than 0.02 a day are to be added at once.
    tank = LIMITS.replace("rise_per_day = 0.5", "rise_per_day = 0.02").replace("7.5", "6.2")
    rows = series(45, "2026-02-15", 1, level=lambda i: at(8.4)(i) - 0.04 * i)
    parts = quiet(readings=rows, additions=[dose("2026-02-10", "0.6")], water_changes=[], tank=tank)
    (row, *_) = rc.review_month(make_tank(tmp_path / "tank", **parts), "2026-03").standings
    assert row.decision.headline.startswith("Raise the dose in steps: 0.01")
    assert "At most 0.02 dKH more a day" in row.decision.cautions[0]


@pytest.mark.parametrize("name", ["classroom_reef", "nursery"])
def test_months_of_the_demonstration_can_be_reviewed(name: str) -> None:
    tank = demo_tank(name)
    for month in months_with_readings(tank)[::-4]:
        review = rc.review_month(tank, month)
        assert review.failures == ()
        words = words_of(review.overview_html() + review.doubts_html())
        assert MACHINE_WORDS.findall(words) == []
        assert ONE_OF_MANY.findall(words) == []
        for standing in review.standings:
            if standing.use is not None and standing.use.behaviour == "net":
                assert "use is" not in standing.decision.reason.lower()
            assert "(−" not in standing.decision.reason  # a use below zero is no use


def test_the_page_stands_alone(page: str) -> None:
    assert re.findall(r"""(?:src|href)=["']?(?!data:|#)[^"'>\s]+""", page) == []
    assert "<script" not in page
    assert page.count("<h1>") == 1
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert MACHINE_WORDS.findall(words_of(page)) == []


def test_a_failure_of_one_element_is_on_the_page(
    display: Tank, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = reviewing.gather

    def broken(tank: Tank, element: str, month: str, **more: bool) -> object:
        if element == "calcium":
            raise InputError("a strength", "<none>", "Describe it.", "supplements.toml")
        return real(tank, element, month, **more)

    monkeypatch.setattr(reviewing, "gather", broken)
    review = rc.review_month(display, "2026-09")
    words = words_of(review.overview_html())
    assert "Could not be worked out" in words
    assert "Calcium: supplements.toml: needed a strength, given “<none>”. Describe it." in words


def test_all_elements_failing_still_gives_a_title(
    display: Tank, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> object:
        raise CannotTellError("No.")

    monkeypatch.setattr(reviewing, "gather", broken)
    review = rc.review_month(display, "2026-09")
    assert review.title == "September 2026: nothing could be worked out"
    assert "Alkalinity: No." in words_of(page_of(review))


@pytest.mark.parametrize("text", ["", "2026", "2026-13", "09-2026", "2026-9-1", "September"])
def test_a_month_that_is_none(display: Tank, text: str) -> None:
    with pytest.raises(InputError, match="a month such as 2026-09"):
        rc.review_month(display, text)


def test_the_month_by_itself(tmp_path: Path, display: Tank) -> None:
    assert default_month(display) == "2026-09"
    early = make_tank(tmp_path / "tank", **quiet(readings=series(20)))  # into April
    assert default_month(early) == "2026-03"


def test_a_running_month_is_not_called_old(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    tank = make_tank(tmp_path / "tank", **quiet(readings=series(20)))  # the last on 8 April

    (old, *_) = rc.review_month(tank, "2026-04").standings
    assert old.decision.headline == "Test: the last reading is 22 days old"
    evening = pd.Timestamp("2026-04-09T18:00", tz="UTC")
    monkeypatch.setattr(gathering, "_present", lambda: evening)
    (now, *_) = rc.review_month(tank, "2026-04").standings
    assert "days old" not in now.decision.headline


def test_the_command_writes_the_page_and_five_lines(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = make_folder(
        tmp_path / "tank", **quiet(tank=LIMITS.replace("Test reef", "My <b>🐠</b>"))
    )
    out = tmp_path / "not yet" / "there"
    assert main([str(folder), "2026-03", "--out", str(out)]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    lines = said.out.splitlines()
    assert len(lines) == 5
    assert lines[0].startswith("My <b>🐠</b>, March 2026: ")
    assert [line.split(" (")[0] for line in lines[1:4]] == list(GROUP_TITLES.values())
    (written,) = out.iterdir()
    assert written.name == "review_my_b_b_2026-03.html"
    assert str(written) in lines[4]
    text = written.read_text(encoding="utf-8")
    assert "My &lt;b&gt;🐠&lt;/b&gt;" in text
    assert "My <b>" not in text


def test_the_command_counts_what_was_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = [*series(), reading("2026-03-31", "8,3")]
    folder = make_folder(tmp_path / "tank", **quiet(readings=rows))
    assert main([str(folder), "--out", str(tmp_path)]) == 0
    assert "(rows or entries flagged or refused: 1)" in capsys.readouterr().out


@pytest.mark.parametrize("words", [["none"], ["classroom_reef", "2026-99"], ["."]])
def test_the_command_says_why_not(
    words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, *month = words
    assert main([str(DEMO / folder), *month, "--out", str(tmp_path)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("No review: ")
    assert len(said.err.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_the_command_where_no_page_can_be_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = make_folder(tmp_path / "tank", **quiet())
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert main([str(folder), "--out", str(tmp_path / "file")]) == 2
    assert capsys.readouterr().err == f"No review: File exists ({tmp_path / 'file'}).\n"


def test_a_long_name_fits_a_file_system(tmp_path: Path) -> None:
    tank = make_tank(tmp_path / "tank", **quiet(tank=LIMITS.replace("Test reef", "ü" * 400)))
    name = file_name(rc.review_month(tank, "2026-03"))
    assert len(name.encode()) < 255
    tank = make_tank(tmp_path / "fish", **quiet(tank=LIMITS.replace("Test reef", "🐠")))
    assert file_name(rc.review_month(tank, "2026-03")) == "review_tank_2026-03.html"
