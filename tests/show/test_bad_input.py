"""What a keeper may get wrong, and tanks at the edge: a sentence that helps, never a traceback.

The tanks are own, invented examples; what is expected of them is *common practice, no source*.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from reef_calc import open_tank
from reef_calc.errors import CannotTellError, ReefError
from reef_calc.show.panels import monthly_review
from reef_calc.show.panels.monthly_review import VIEWS, MonthlyReviewPanel
from reef_calc.show.review import page_of, review_month
from tests.folders import SUPPLEMENTS, TANK, dose, make_folder, reading
from tests.tank_cases import (
    LIMITS,
    MACHINE_WORDS,
    NO_AIMS,
    ONE_OF_MANY,
    at,
    changes,
    quiet,
    series,
    words_of,
)

APRIL = "2026-03-31T20:00"
METERED = (
    NO_AIMS + '[aim.salinity]\nunit = "PSU"\nlow = 34\naim = 35\nhigh = 36\nrise_per_day = 1\n'
)


def nitrate(n: int = 8, **cells: object) -> list[dict[str, object]]:
    """Return nitrate readings that rise by 1 mg/L every four days."""
    first = pd.Timestamp("2026-03-01")
    given: dict[str, object] = {"element": "nitrate", "unit": "mg/L"} | cells
    return [
        reading(f"{first + pd.Timedelta(days=4 * i):%Y-%m-%d}T18:00", 5 + i, **given)
        for i in range(n)
    ]


# Name: parts of the folder, and a piece of the refusal that opening it or reviewing it must give.
REFUSED: dict[str, tuple[dict[str, Any], str]] = {
    "no volume": (quiet(tank=TANK.replace("net_L = 300.0", "net_L = 0.0")), "net_L"),
    "zone of another planet": (quiet(zone="Mars/Olympus"), "Europe/Berlin"),
    "no column value": (
        quiet(readings_csv="time,water,element,unit\n2026-03-01T18:00,tank,alkalinity,dKH\n"),
        "column value is missing",
    ),
    "no row": (quiet(readings=[]), "no reading"),
    "only a standard read": (
        quiet(readings=[reading("2026-03-10T18:00", "8.0", water="standard eight")]), "no reading",
    ),
}  # fmt: skip

# Name: parts of the folder, and pieces that the page must hold.
ODD: dict[str, tuple[dict[str, Any], tuple[str, ...]]] = {
    "unknown unit": (
        quiet(readings=[*series(), reading(APRIL, "8.0", unit="drops")]), ("Write one of these words",),
    ),
    "ppm": (
        quiet(readings=[*series(), reading(APRIL, "420", element="calcium", unit="ppm")]),
        ("write mg/L or mg/kg",),
    ),
    "decimal comma": (quiet(readings=[*series(), reading(APRIL, "8,3")]), ("write 8.3",)),
    "decimal comma, no quotes": (
        quiet(readings_csv="time,water,element,value,unit\n2026-03-01T18:00,tank,alkalinity,8,3,dKH\n"
              "2026-03-30T18:00,tank,alkalinity,8.3,dKH\n"),
        ("Write 8.3, not 8,3",),
    ),
    "no such day": (quiet(readings=[*series(), reading("31.02.2026", "8.0")]), ("1 line refused",)),
    "the hour that came twice": (
        quiet(readings=[*series(), reading("2025-10-26T02:30", "8.0")]), ("+01:00",),
    ),
    "the hour that never came": (
        quiet(readings=[*series(), reading("2026-03-29T02:30", "8.0")]), ("jumped over this one",),
    ),
    "all water changed": (
        quiet(water_changes=[*changes(), {"time": "2026-03-20T12:00", "litres": 300}]),
        ("100 % or more", "Repair water_changes.csv, row 7"),
    ),
    "more than all": (
        quiet(water_changes=[*changes(), {"time": "2026-03-20T12:00", "litres": 450}]),
        ("100 % or more",),
    ),
    "dose below zero": (
        quiet(additions=[dose("2026-02-20", "-60")]),
        ("A dose below zero", "Repair additions.csv, row 2", "dose unknown"),
    ),
    "supplement not described": (
        quiet(additions=[dose("2026-02-20", "60", supplement="mystery")]),
        ("Describe it in supplements.toml", "Repair additions.csv, row 2", "dose unknown"),
    ),
    "no supplement at all": (quiet(supplements=""), ("Repair additions.csv, row 2",)),
    "no supplement, none dosed": (quiet(supplements="", additions=[]), ("not dosed",)),
    "one reading": (quiet(readings=series(1, "2026-03-28")), ("Too few readings", "1 reading used")),
    "one reading, far below": (
        quiet(readings=series(1, "2026-03-28", level=at(5.5))), ("One reading alone says",),
    ),
    "two readings": (quiet(readings=series(2, "2026-03-27")), ("2 more readings",)),
    "two readings far apart": (
        quiet(readings=series(2, "2026-03-27", level=lambda i: 8.0 - 2.5 * i)),
        ("far from the one before",),
    ),
    "a month without readings": (
        quiet(readings=[*series(6, "2026-01-05"), *series(6, "2026-03-19")]), ("Alkalinity",),
    ),
    "readings all equal": (quiet(readings=series(level=lambda _: 8.0)), ("Keep the dose",)),
    "all equal, nothing dosed": (
        quiet(readings=series(level=lambda _: 8.0), additions=[]), ("No use shown",),
    ),
    "names with markup": (
        quiet(
            tank=LIMITS.replace("Test reef", "<script>alert(1)</script> & 🐠"),
            readings=series(kit="<i>kit</i>", lot="", by='"><b>me</b>'),
        ),
        ("<script>alert(1)</script> & 🐠", "<i>kit</i>"),
    ),
    "a very long name": (quiet(tank=LIMITS.replace("Test reef", "x" * 400)), ("x" * 400,)),
    "no aims": (quiet(tank=NO_AIMS), ("no aim set",)),
    "aims in another unit": (
        quiet(tank=TANK.replace('"dKH"\nlow = 7.5\naim = 8.0\nhigh = 8.5',
                                '"meq/L"\nlow = 2.7\naim = 2.9\nhigh = 3.0')),
        ("meq/L a day",),
    ),
    "only nutrients": (quiet(tank=NO_AIMS, readings=nitrate(), additions=[]), ("No aim is set.",)),
    "between two colours": (
        quiet(tank=NO_AIMS, readings=nitrate(limit="between", upper="15")), ("8 readings used.", "12–15"),
    ),
    "below the kit": (
        quiet(tank=NO_AIMS, readings=nitrate(limit="<")), ("8 beyond a kit’s limit", "below 12"),
    ),
    "above the kit": (quiet(readings=series(limit=">", level=lambda _: 14.0)), ("above 14",)),
    "a dose after the last reading": (
        quiet(additions=[dose("2026-02-20", "60"), dose("2026-05-20", "90")]), ("dose 1.00 dKH",),
    ),
    "a water change before the first": (quiet(water_changes=changes(3, "2025-12-01")), ("± 0.1",)),
    "another kit from one day on": (
        quiet(readings=[*series(8), *series(8, "2026-03-17", kit="other", lot="", level=at(8.9))]),
        ("read a standard before you correct",),
    ),
    "another kit reads far lower": (
        quiet(readings=[*series(), *series(1, "2026-03-31", kit="other", lot="", level=at(6.2))]),
        ("far from the one before",),
    ),
    "equal times": (
        quiet(readings=[row | {"time": "2026-03-28T18:00", "replicate": i}
                        for i, row in enumerate(series(6))]),
        ("Too few readings",),
    ),
    "a last reading to doubt": (
        quiet(readings=[*series(), reading(APRIL, "4.5", kit="drops", lot="A1")]),
        ("does not fit and is not used", "Dose nothing on this reading alone"),
    ),
    "one reading that no tank can give": (
        quiet(readings=series(1, "2026-03-30", level=lambda _: 44.0)),
        ("44.0 dKH on 30 Mar 2026, does not fit", "no reading that can be used"),
    ),
    "far below": (
        quiet(readings=series(level=at(5.0))),
        ("Bring back 4.9 to 8.0: +3.1 dKH over at least 7 days", "caution level",
         "measure what the pump really gives", "The label and the safety data sheet"),
    ),
    "far below, a rash limit": (
        quiet(readings=series(level=at(5.0)), tank=LIMITS.replace("y = 0.5", "y = 5.0")),
        ("At most 1 dKH more a day", "tank.toml allows 5 a day"),
    ),
    "far above": (
        quiet(readings=series(level=at(13.0))),
        ("Lower the dose to 0.50 dKH a day until 8.0 dKH", "caution level", "The label"),
    ),
    "far above, nothing dosed": (
        quiet(readings=series(level=at(13.0)), additions=[]), ("Nothing to add", "caution level"),
    ),
    "a dose of zero": (quiet(additions=[dose("2026-02-20", "0")]), ("not dosed",)),
    "a dose not written down": (
        quiet(additions=[dose("2026-02-20", "60"), dose("2026-03-20", "", how="not logged")]),
        ("dose unknown",),
    ),
    "two volumes": (
        quiet(tank=LIMITS.replace("[aim.alk", "[[water]]\nfrom = 2026-03-15\nnet_L = 450.0\n\n[aim.alk", 1)),
        ("Alkalinity",),
    ),
    "a zone of half hours": (quiet(zone="Australia/Lord_Howe"), ("Alkalinity",)),
    "only salinity, too low": (
        quiet(tank=METERED, additions=[],
              readings=[reading("2026-03-30T18:00", "30.0", element="salinity", unit="PSU")]),
        ("Bring it back from 30.0 PSU", "Check the meter first"),
    ),
    "listed, not used": (
        quiet(readings=[*series(), reading(APRIL, "0.1", element="Zn", unit="mg/L")]), ("1 reading (Zn)",),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_reviewed_is_refused_in_words(name: str, tmp_path: Path) -> None:
    parts, piece = REFUSED[name]
    folder = make_folder(tmp_path / "tank", **parts)
    with pytest.raises(ReefError) as told:
        review_month(open_tank(folder))
    assert piece in str(told.value)
    panel = MonthlyReviewPanel(folder)
    assert 'role="alert"' in panel.message.value
    assert piece in words_of(panel.message.value)
    assert panel.shown.value == ""


@pytest.mark.parametrize("name", ODD)
def test_an_odd_tank_gets_a_page_that_says_so(name: str, tmp_path: Path) -> None:
    parts, pieces = ODD[name]
    tank = open_tank(make_folder(tmp_path / "tank", **parts))
    review = review_month(tank, "2026-03", with_cross_checks=True)
    assert review.failures == ()
    page = page_of(review, width=980)
    words = words_of(page[page.index("<main") :])
    for piece in pieces:
        assert piece in words
    assert MACHINE_WORDS.findall(words) == []
    assert ONE_OF_MANY.findall(words) == []
    assert page.count("<script") == 0


@pytest.mark.parametrize("name", list(ODD)[::4])
def test_the_panel_shows_an_odd_tank_in_every_view(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The views work out what they show; doing it ahead as well would only be the same work twice.
    monkeypatch.setattr(monthly_review, "work_ahead", lambda *_: None)
    parts, _ = ODD[name]
    panel = MonthlyReviewPanel(make_folder(tmp_path / "tank", **parts))
    for i in range(len(VIEWS)):
        panel.view.set_state({"index": i})
        assert panel.shown.value
        assert 'role="alert"' not in panel.message.value


@pytest.mark.parametrize("month", ["2020-01", "2026-02", "2026-04", "2030-01", "2045-12"])
def test_months_without_readings(month: str, tmp_path: Path) -> None:
    tank = open_tank(make_folder(tmp_path / "tank", **quiet()))
    review = review_month(tank, month)
    page = page_of(review, width=600)
    assert MACHINE_WORDS.findall(words_of(page[page.index("<main") :])) == []
    assert {s.decision.group for s in review.standings} == {"test"}
    if month < "2026-03":
        assert review.title.endswith("test two")  # never "again" where nothing was read yet


def test_what_was_typed_instead_of_a_number_is_shown_as_typed(tmp_path: Path) -> None:
    typed = ("NaN", "inf", "None", "-", "n/a", "1e400")
    rows = [reading(APRIL, word, note=word) for word in typed]
    tank = open_tank(make_folder(tmp_path / "tank", **quiet(readings=series() + rows)))
    doubts = words_of(review_month(tank, "2026-03").doubts_html())
    assert f"{len(typed)} lines refused" in doubts
    for word in typed:
        assert word in doubts


def test_three_thousand_readings(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "tank", **quiet(readings=series(3000, "2018-01-01", 1)))
    review = review_month(open_tank(folder), "2026-03")
    (row,) = (s for s in review.standings if s.element == "alkalinity")
    assert len(row.readings) == 3000
    assert row.use is not None and row.use.rate is not None


def test_a_refused_dose_of_another_element_changes_nothing(tmp_path: Path) -> None:
    rows = [dose("2026-02-20", "60"), dose("2026-02-20", "-3", supplement="part two")]
    tank = open_tank(make_folder(tmp_path / "tank", **quiet(additions=rows)))
    review = review_month(tank, "2026-03")
    (row,) = (s for s in review.standings if s.element == "alkalinity")
    assert row.use is not None and row.use.rate is not None
    assert "Repair" not in row.decision.headline


def test_a_refused_dose_after_the_month_changes_nothing(tmp_path: Path) -> None:
    rows = [dose("2026-02-20", "60"), dose("2026-05-20", "-3")]
    tank = open_tank(make_folder(tmp_path / "tank", **quiet(additions=rows)))
    (row, *_) = review_month(tank, "2026-03").standings
    assert row.use is not None and row.use.rate is not None


def test_an_empty_folder_and_none(tmp_path: Path) -> None:
    for folder in (tmp_path, tmp_path / "none", tmp_path / ("x" * 300)):
        panel = MonthlyReviewPanel(folder)
        assert 'role="alert"' in panel.message.value
        assert panel.month.options == ()
    panel = MonthlyReviewPanel("")
    assert "needed the path of a tank folder" in panel.message.value


def test_a_tank_with_neither_aims_nor_readings(tmp_path: Path) -> None:
    parts = quiet(tank=NO_AIMS, readings=[], supplements=SUPPLEMENTS)
    tank = open_tank(make_folder(tmp_path / "tank", **parts))
    with pytest.raises(CannotTellError, match="add rows to readings"):
        review_month(tank, "2026-03")
