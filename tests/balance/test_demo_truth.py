"""The demonstration tanks against the truth they were made with: does the balance find it?

The truth stands in data_demo/truth.toml; it was written by the script that made the tables and is
never read by the package. Intervals are 95 %, so a few misses are right: as many as binomial luck
leaves room for at 99.9 %.
"""

from __future__ import annotations

import shutil
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from scipy.stats import binom

from reef_calc.balance.additions import days
from reef_calc.balance.consumption import estimate_consumption
from reef_calc.balance.history_fit import fit_record, sd_worth
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.steady_use import SteadyUse
from reef_calc.log.tank import open_tank
from reef_calc.messages import codes
from tests.demo_tanks import demo_tank as tank

DEMO = Path(__file__).resolve().parents[2] / "data_demo"
TRUTH: dict[str, Any] = tomllib.loads((DEMO / "truth.toml").read_text(encoding="utf-8"))
CLASSROOM = TRUTH["classroom_reef"]


@cache
def estimate(name: str, element: str, until: str = "2026-09-30") -> ConsumptionEstimate:
    return estimate_consumption(tank(name), element, until)


def months_against(found: ConsumptionEstimate, truth: dict[str, float]) -> list[bool]:
    """Whether the truth of each month that is told lies inside its interval."""
    told = found.months[found.months["rate"].notna()]
    return [row.low <= truth[row.month] <= row.high for row in told.itertuples()]


def fit_of_window(until: str) -> SteadyUse:
    """The fit of alkalinity in a window, with a column for each lot, kit and gap."""
    found = estimate("classroom_reef", "alkalinity", until)
    record = found.record.without(frozenset(found.set_aside["row"]))
    record = record.since(float(days(found.since)))
    return fit_record(record, sd_worth(tank("classroom_reef"), record))[0]


def test_the_months_are_found_as_often_as_they_should_be() -> None:
    inside = []
    for element, key in (
        ("alkalinity", "use_by_month"),
        ("calcium", "seen_by_month"),
        ("nitrate", "use_by_month"),
    ):
        inside += months_against(estimate("classroom_reef", element), CLASSROOM[element][key])
    assert len(inside) == 36
    assert sum(inside) >= binom.ppf(0.001, len(inside), 0.95)


def test_the_intervals_of_the_months_are_worth_having() -> None:
    """Bounds wide enough to hold everything would pass the test above: at most ± 6.5 % (own aim)."""
    months = estimate("classroom_reef", "alkalinity").months
    half = (months["high"] - months["low"]) / 2 / months["rate"]
    assert half.max() < 0.065


@pytest.mark.parametrize(
    ("name", "element", "key"),
    [
        ("classroom_reef", "alkalinity", ("use_last_days", "30")),  # September alone
        ("classroom_reef", "calcium", ("seen_last_days", "30")),
        ("classroom_reef", "magnesium", ("use_last_days", "90")),
        ("classroom_reef", "potassium", ("use_last_days", "90")),
        ("classroom_reef", "nitrate", ("use_last_days", "90")),
        ("nursery", "alkalinity", ("use_last_days", "90")),
        ("nursery", "nitrate", ("use_last_days", "90")),
    ],
)
def test_the_rate_of_today_holds_the_truth(name: str, element: str, key: tuple[str, str]) -> None:
    found = estimate(name, element)
    truth = TRUTH[name][element][key[0]][key[1]]
    assert found.low is not None and found.high is not None
    assert found.low <= truth <= found.high


def test_magnesium_and_potassium_show_no_use() -> None:
    """0.3 and 0.1 mg/L a day, with kits of 20 and 8 mg/L scatter: nothing to be seen."""
    for element in ("magnesium", "potassium"):
        assert "ZERO_INSIDE" in codes(estimate("classroom_reef", element).messages)


def test_corals_added_in_august_raise_the_use() -> None:
    found = estimate("classroom_reef", "alkalinity")
    assert "RATE_CHANGED" in codes(found.messages)
    last = [f for f in found.findings if f.kind == "rate change"][-1]
    assert last.word == "found"
    corals = pd.Timestamp(CLASSROOM["corals_added"]["time"], tz="Europe/Copenhagen")
    assert last.start - pd.Timedelta(days=4) <= corals <= last.stop + pd.Timedelta(days=4)
    assert "corals added" in last.coincidence
    use = CLASSROOM["alkalinity"]["use_last_days"]
    assert found.low <= use["30"] <= found.high
    middle, low, high = found.monthly.difference("2026-09", "2026-07")
    truth = CLASSROOM["alkalinity"]["use_by_month"]
    assert low <= truth["2026-09"] - truth["2026-07"] <= high
    assert found.monthly.verdict("2026-09", "2026-07") == "changed"
    assert middle > 0
    # No alarm in the ten months before: "changed" is said at 99 %.
    quiet = found.months[found.months["month"] < "2026-08"]
    assert "changed" not in quiet["verdict"].tolist()


def test_the_lot_step_and_the_kit_difference() -> None:
    """A lot step alone looks like a change of the level itself: little of it can be told.

    Two kits on the same water are told apart well. Offsets stand against the kit read last.
    """
    _, low, high = fit_of_window("2026-03-31").factor("offset kit A A-1")
    assert low <= -CLASSROOM["lot_change"]["step_dKH"] <= high
    _, low, high = fit_of_window("2026-06-30").factor("offset kit A A-2")  # against kit B
    assert low <= -CLASSROOM["kit_difference"]["difference_dKH"] <= high < 0
    # What can be told is said; what cannot is not.
    found = estimate("classroom_reef", "alkalinity", "2026-06-30")
    assert any(m.code == "LOT_CHANGED" and "kit A A-2" in m.text for m in found.messages)


def test_the_misread_is_found_at_its_row_and_nothing_else_is() -> None:
    readings = tank("classroom_reef").readings
    time = pd.Timestamp(CLASSROOM["misread"]["time"], tz="Europe/Copenhagen").tz_convert("UTC")
    row = readings.loc[
        (readings["time"] == time) & (readings["element"] == "alkalinity"), "row"
    ].item()
    found = estimate("classroom_reef", "alkalinity")
    gross = {f.rows[0]: f for f in found.findings if f.kind == "gross error"}
    assert gross[row].word == "found"
    assert gross[row].low <= CLASSROOM["misread"]["typed_above_read_dKH"] <= gross[row].high
    assert row in found.set_aside["row"].tolist()
    # Of 130 readings at most one more is named with the same certainty, and none of its size.
    found_ones = {r: abs(f.size) for r, f in gross.items() if f.word == "found"}
    assert len(found_ones) <= 2
    assert max(found_ones, key=found_ones.__getitem__) == row
    text = next(
        m.text for m in found.messages if m.code == "POSSIBLE_GROSS" and f"row {row}" in m.text
    )
    assert "15 Apr 2026" in text
    for element in ("calcium", "magnesium", "nitrate"):
        assert estimate("classroom_reef", element).set_aside.empty


def test_the_week_that_was_not_logged() -> None:
    _, low, high = fit_of_window("2026-03-31").factor("gap 0")
    assert low <= CLASSROOM["not_logged"]["given_dKH_per_day"] <= high
    told = codes(estimate("classroom_reef", "alkalinity", "2026-03-31").messages)
    assert {"LOG_GAP", "GAP_DOSE"} <= set(told)
    # Calcium was given as logged all that week.
    assert "LOG_GAP" not in codes(estimate("classroom_reef", "calcium", "2026-03-31").messages)


def test_a_pump_once_measured_turns_what_is_seen_into_what_is_used(tmp_path: Path) -> None:
    """The calcium pump gives 94 %: as set it shows 6 % of the dose too much use."""
    folder = tmp_path / "classroom_reef"
    shutil.copytree(DEMO / "classroom_reef", folder)
    place = folder / "supplements.toml"
    text = place.read_text(encoding="utf-8")
    head = '[supplement."calcium stock"]\n'
    assert head in text
    factor = CLASSROOM["pump"]["calcium stock"]
    measured = f"delivered_over_set = {{ value = {factor}, u = 0.01 }}\n"
    place.write_text(text.replace(head, head + measured), encoding="utf-8")
    truth = CLASSROOM["calcium"]

    seen = estimate("classroom_reef", "calcium")
    used = estimate_consumption(open_tank(folder), "calcium", "2026-09-30")
    assert sum(months_against(used, truth["use_by_month"])) >= binom.ppf(0.001, 12, 0.95)
    assert used.low is not None and used.high is not None
    assert used.low <= truth["use_last_days"]["30"] <= used.high
    # The two differ by 6 % of the dose as set, month by month.
    both = seen.months.merge(used.months, on="month", suffixes=("_seen", "_used"))
    apart = both["rate_seen"] - both["rate_used"]
    assert (apart / both["dosed_seen"]).tolist() == pytest.approx([1 - factor] * 12, abs=0.01)
    for month in both["month"]:
        wanted = truth["use_by_month"][month] / truth["seen_by_month"][month]
        row = both[both["month"] == month].iloc[0]
        assert row["rate_used"] / row["rate_seen"] == pytest.approx(wanted, abs=0.01)


def test_what_the_nursery_and_the_phosphate_kit_cannot_tell() -> None:
    for element in ("calcium", "magnesium"):
        found = estimate("nursery", element)
        assert codes(found.messages) == ("TOO_FEW",)
        assert (found.rate, found.low, found.high) == (None, None, None)
    alkalinity = codes(estimate("nursery", "alkalinity").messages)
    assert {"NEW_WATER_UNKNOWN", "DATE_ONLY", "COARSE_RESOLUTION"} <= set(alkalinity)
    assert "PROVISIONAL" in codes(estimate("nursery", "nitrate").messages)
    phosphate = estimate("classroom_reef", "phosphate")
    assert phosphate.messages[0].code == "CENSORED"
    assert phosphate.rate is None


def test_the_ratio_leaves_out_what_nitrate_took() -> None:
    """Nitrate of the demonstration rises: 10 mg/L of it from food takes 0.452 dKH (K05, published)."""
    found = estimate("classroom_reef", "calcium", "2026-05-31")
    ratio = next(b for b in found.beside if b.title.startswith("Calcium used per"))
    rise = -estimate("classroom_reef", "nitrate", "2026-05-31").rate
    assert "Nitrate is rising" in ratio.words
    assert f"{0.0452 * rise:.2g} dKH a day" in ratio.words
    seen = (
        CLASSROOM["calcium"]["seen_last_days"]["30"]
        / CLASSROOM["alkalinity"]["use_last_days"]["30"]
    )
    assert ratio.low <= seen <= ratio.high
