"""The use with and without flagged readings: worked out only where there are any, and told truly."""

from __future__ import annotations

from pathlib import Path

import pytest

from reef_calc.balance.consumption import estimate_consumption
from reef_calc.balance.without_doubted import flagged_readings, with_and_without
from reef_calc.log.tank import Tank
from reef_calc.show.review import review_month
from tests.folders import make_tank
from tests.tank_cases import MACHINE_WORDS, quiet, series, words_of


def brought_in(path: Path, **changed: str) -> Tank:
    """Return a tank whose readings were brought in; keys such as ``r5`` change the reading there."""
    rows = series(20, level=lambda i: 8.0 - 0.02 * i + 0.05 * ((i * 7) % 3 - 1))
    for row in rows:
        row["source"] = "brought in from log.csv"
    for at, value in changed.items():
        rows[int(at[1:])] |= {"value": value, "note": "doubt: perhaps 8.0"}
    return make_tank(path, **quiet(readings=rows))


def test_flagged_readings_are_those_out_of_range_or_brought_in_with_a_doubt(tmp_path: Path) -> None:
    tank = brought_in(tmp_path / "a", r5="84", r9="4.5")
    found = flagged_readings(tank, "alkalinity")
    assert found["row"].tolist() == [7, 11] and found["outside"].tolist() == [True, False]


def test_both_fits_stand_beside_each_other(tmp_path: Path) -> None:
    tank = brought_in(tmp_path / "a", r5="84", r9="4.5")
    both = with_and_without(tank, "alkalinity")
    clean = estimate_consumption(tank, "alkalinity", leave_out=(7, 11))
    assert both is not None and both.without is not None
    assert (both.without.rate, both.without.low) == (clean.rate, clean.low)
    assert both.with_all is not None and both.with_all.basis.startswith("from 20 readings")
    assert clean.basis.startswith("from 18 readings")
    assert clean.low is not None and clean.high is not None and both.with_all.low is not None
    assert both.with_all.high is not None
    assert clean.high - clean.low < both.with_all.high - both.with_all.low


def test_nothing_is_worked_out_where_nothing_is_flagged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tank = brought_in(tmp_path / "a")
    monkeypatch.setattr(
        "reef_calc.balance.without_doubted.estimate_consumption", lambda *_, **__: 1 / 0
    )
    assert with_and_without(tank, "alkalinity") is None


def test_the_review_tells_both(tmp_path: Path) -> None:
    review = review_month(brought_in(tmp_path / "a", r5="84", r9="4.5"), "2026-03")
    words = words_of(review.doubts_html())
    assert "The use with and without flagged readings" in words
    assert "84 dKH on 11 Mar 2026 (row 7); 4.5 dKH on 19 Mar 2026 (row 11)" in words
    assert "without them it is known better" in words
    assert not MACHINE_WORDS.search(words)


def test_the_review_says_where_nothing_changes(tmp_path: Path) -> None:
    review = review_month(brought_in(tmp_path / "a", r9="7.85"), "2026-03")
    assert "Nothing changes without them." in words_of(review.doubts_html())
    quiet_review = review_month(brought_in(tmp_path / "b"), "2026-03")
    assert "with and without" not in words_of(quiet_review.doubts_html())


def test_four_readings_with_slips_are_too_few_without_them(tmp_path: Path) -> None:
    rows = series(4, start="2026-02-01", step=7)
    rows[1] |= {"value": "84", "source": "brought in from log.csv", "note": "doubt: perhaps 8.4"}
    words = words_of(
        review_month(make_tank(tmp_path / "a", **quiet(readings=rows)), "2026-02").doubts_html()
    )
    assert (
        "Too few readings are left to tell" in words and "Too few readings to tell a rate" in words
    )
