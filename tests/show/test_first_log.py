"""A first-time keeper's way: an empty tank, an old log brought in, and every page after it."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

import pytest

import reef_calc as rc
from reef_calc.log.foreign.understand import understand
from reef_calc.log.tank import open_tank
from reef_calc.show.bring_in_words import said_html
from reef_calc.show.panels.bring_in import BringInPanel
from reef_calc.show.panels.kit_comparison import KitComparisonPanel
from reef_calc.show.panels.monthly_review import MonthlyReviewPanel
from reef_calc.show.panels.supplement_plan import SupplementPlanPanel
from tests.show.test_bring_in_panel import drop, page, readings

SUPPLEMENTS = """
[supplement."KH-Lösung"]
label = {amount = 10, unit = "mL", litres = 100, raises = {alkalinity = "0.5 dKH"}}
limits = {mL_per_day = 100, mL_per_dose = 25, step_mL = 1}
"""
AIMS = """
[aim.alkalinity]
unit = "dKH"
low = 7.0
aim = 8.0
high = 9.0
rise_per_day = 0.5
"""
FIRST, DAYS = dt.date(2026, 1, 1), 120


def old_log() -> dict[str, bytes]:
    """An invented German log of four months: one reading slipped, one doubted, one in replicate."""
    lines = ["Datum;KH;Ca;Mg;PO4;Bemerkung"]
    for day in range(0, DAYS, 4):
        level = 8.0 + 0.3 * math.sin(day / 25.0)
        text = f"{level:.1f}".replace(".", ",")
        text = text.replace(",", "") if day == 104 else f"{text}?" if day == 108 else text
        calcium, magnesium = ("425", "1320") if day % 12 == 0 else ("", "")
        low = "<0,02" if day % 12 == 4 else ""
        note = "neue Koralle" if day == 40 else ""
        date = FIRST + dt.timedelta(day)
        lines.append(f"{date:%d.%m.%Y};{text};{calcium};{magnesium};{low};{note}")
        if day % 60 == 0:
            lines.append(f"{date:%d.%m.%Y};{text};;;;")
    changes = [FIRST + dt.timedelta(day) for day in range(5, DAYS, 14)]
    return {
        "werte.csv": "\n".join(lines).encode(),
        "dosierung.csv": "Datum;Mittel;mL pro Tag\n01.01.2026;KH-Lösung;20\n".encode(),
        "wasserwechsel.csv": (
            "Datum;Wasserwechsel (L)\n" + "".join(f"{one:%d.%m.%Y};40\n" for one in changes)
        ).encode(),
    }


def start(place: Path, *, supplements: str = SUPPLEMENTS, aims: str = "") -> Path:
    folder = rc.start_tank(place, "My reef", 300.0, "Europe/Berlin")
    for file, text in (("supplements.toml", supplements), ("tank.toml", aims)):
        with (folder / file).open("a", encoding="utf-8") as opened:
            opened.write(text)
    return folder


def bring_in(folder: Path) -> BringInPanel:
    panel = BringInPanel(folder)
    for file, content in old_log().items():
        drop(panel, file, content)
        assert not [q.text for q in panel.shown.found.questions if q.open], file
        panel.shown.add.click()
        assert "Added" in panel.message.value, file
    return panel


@pytest.fixture(scope="module")
def brought(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = start(tmp_path_factory.mktemp("log") / "reef", aims=AIMS)
    bring_in(folder)
    return folder


def test_every_view_of_the_review_is_shown(brought: Path) -> None:
    panel = MonthlyReviewPanel(brought)
    panel.month.value = "2026-04"
    for view in panel.view.options:
        panel.view.value = view
        assert "alert" not in panel.message.value, view
        assert "NaN" not in panel.shown.value and panel.shown.value, view
    panel.view.value = "Readings to doubt"
    assert "The use with and without flagged readings" in panel.shown.value
    assert "No dose is in the log" not in panel.shown.value
    panel.view.value = "Overview"
    assert "Inside the aims" not in panel.shown.value.split("Magnesium")[-1]


def test_the_plan_is_made_of_what_was_brought_in(brought: Path) -> None:
    panel = SupplementPlanPanel(brought)
    assert panel.plan is not None, panel.message.value


def test_readings_without_kits_cannot_be_compared_and_it_says_why(brought: Path) -> None:
    panel = KitComparisonPanel(brought)
    assert "no reading that names its kit" in panel.message.value
    assert "when you bring in a log" in panel.message.value


def test_without_aims_the_plan_says_that_none_is_set(tmp_path: Path) -> None:
    folder = start(tmp_path / "reef")
    bring_in(folder)
    panel = SupplementPlanPanel(folder)
    assert "tank.toml sets no aim: write one there, or under “Aims”." in panel.message.value


def test_a_log_without_doses_is_said_before_any_use(tmp_path: Path) -> None:
    folder = start(tmp_path / "reef", supplements="")
    drop(panel := BringInPanel(folder), "werte.csv", old_log()["werte.csv"])
    panel.shown.add.click()
    shown = rc.review_month(open_tank(folder), "2026-04").overview_html()
    assert shown.index("No dose is in the log") < shown.index("<h2>")
    assert "Inside the aims" not in shown


def test_taken_back_and_brought_in_again_it_is_the_same(tmp_path: Path) -> None:
    folder = start(tmp_path / "reef")
    panel = bring_in(folder)
    before = {file.name: file.read_bytes() for file in folder.glob("*.csv")}
    panel.view.value = "Take back"
    for _ in old_log():
        panel.shown.sure.value = True
        panel.shown.take.click()
    assert readings(folder) == []
    panel.view.value = "Bring in a file"
    bring_in(folder)
    assert {file.name: file.read_bytes() for file in folder.glob("*.csv")} == before


def test_a_supplement_described_meanwhile_is_known(tmp_path: Path) -> None:
    folder = start(tmp_path / "reef", supplements="")
    panel = BringInPanel(folder)
    doses = old_log()["dosierung.csv"]
    drop(panel, "dosierung.csv", doses)
    assert "describe it in supplements.toml" in panel.shown.found.questions[0].text
    (folder / "supplements.toml").write_text(SUPPLEMENTS, encoding="utf-8")
    drop(panel, "dosierung.csv", doses)
    assert "1 dose would be added." in page(panel)


def test_other_cells_of_a_row_that_waits_are_added(tmp_path: Path) -> None:
    folder = start(tmp_path / "reef")
    panel = BringInPanel(folder)
    drop(panel, "a.csv", b"date,KH dKH,thing\n2026-02-01,8.3,5\n2026-02-05,8.2,6\n")
    assert panel.shown.leave.description == "Leave out what waits for an answer in 2 rows for now"
    panel.shown.leave.value = True
    panel.shown.add.click()
    assert [row[3] for row in readings(folder)] == ["8.3", "8.2"]


def test_one_of_our_own_tables_is_named(brought: Path) -> None:
    content = (brought / "additions.csv").read_bytes()
    found = understand("additions.csv", content, open_tank(brought))
    assert "This is the table additions.csv of a tank folder." in [n.text for n in found.notes]


def test_refusals_that_differ_only_in_the_cell_stand_together(brought: Path) -> None:
    lines = [f"2026-{13 + row % 2}-{row:02d},8.{row % 9}" for row in range(1, 99)]
    content = "\n".join(["date,KH dKH", "2026-02-01,8.3", *lines]).encode()
    said = said_html(understand("a.csv", content, open_tank(brought)))
    assert said.count("<li>") == 2
    assert "“2026-14-01”, “2026-14-03”, “2026-14-05”" in said and "“…”" in said


def test_many_kinds_are_folded_and_none_is_lost(brought: Path) -> None:
    names = [f"thing {number}" for number in range(30)]
    content = (",".join(["date", *names]) + "\n2026-02-01" + ",5" * 30 + "\n").encode()
    said = said_html(understand("a.csv", content, open_tank(brought)))
    assert said.count("<li>") == 30 and said.partition("<details>")[0].count("<li>") == 12
    assert "Show 18 more kinds" in said


def test_the_date_in_a_row_of_a_report_is_offered(brought: Path) -> None:
    content = (
        b"Element;Result;Unit\nSample date;2026-03-05;\nCalcium;421;mg/L\nMagnesium;1310;mg/L\n"
    )
    found = understand("report.csv", content, open_tank(brought))
    question = next(one for one in found.questions if one.key == "date/file")
    assert question.open and [choice.answer for choice in question.choices] == ["2026-03-05"]
    assert question.choices[0].consequence == "It stands in “Sample date 2026-03-05”."
