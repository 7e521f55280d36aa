"""What is said of a tank's use, through whole tank folders: the check cases, and every code.

Own examples. The levels come from a loop over hand arithmetic (``levels_of``), not from the package.
60 mL of part one a day raise the 300 L by 1 dKH.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from reef_calc.balance.consumption import estimate_consumption
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.errors import InputError
from reef_calc.log.tank import Tank
from reef_calc.messages import codes
from tests.balance.histories import PATTERN
from tests.folders import TANK, dose, make_tank, reading

FIRST = pd.Timestamp("2026-01-01T12:00")
KIT = """
[kit.drops]
element = "alkalinity"
kind = "drop count"
unit = "dKH"
resolution = 0.1
repeatability = {sd = 0.15, from = "replicates"}
"""
EXACT = """
[supplement."part one"]
label = {amount = 10, unit = "mL", litres = 100, raises = {alkalinity = "0.5 dKH"}}
delivered_over_set = {value = 1.0, u = 0.0}
strength_u = 0.0
"""
DAYS = np.arange(0.0, 61.0, 2.0)
CHANGES = np.arange(3.5, 60.0, 7.0)


def label(level: float, u: float) -> str:
    return TANK + f'\n[new_water]\nalkalinity = {{value = {level}, unit = "dKH", u = {u}}}\n'


# As good as known, so that the pure fit with a known level is met to all its digits.
KNOWN = label(8.0, 1e-6)


def clock(day: float) -> str:
    return f"{FIRST + pd.Timedelta(days=float(day)):%Y-%m-%dT%H:%M}"


def levels_of(
    days: Sequence[float] | np.ndarray,
    use: float | Callable[[float], float] = 1.0,
    *,
    dosed: float = 1.0,
    changes: Sequence[float] | np.ndarray = CHANGES,
    new_water: float = 8.0,
    start: float = 8.0,
) -> np.ndarray:
    """Level at each reading: straight between events, a tenth of the water changed at each change."""
    rate = use if callable(use) else lambda _day: use
    level, now, found = start, float(days[0]), []
    stops = sorted({*map(float, days), *map(float, changes), *map(float, range(400))})
    for stop in (s for s in stops if s > now):
        if now in days:
            found.append(level)
        if now in changes:
            level = 0.9 * level + 0.1 * new_water
        if now >= days[-1]:
            break
        level += (dosed - rate(now)) * (stop - now)
        now = stop
    return np.array(found)


def tank_of(
    path: Path,
    days: Sequence[float] | np.ndarray = DAYS,
    levels: Sequence[float] | np.ndarray | None = None,
    *,
    changes: Sequence[float] | np.ndarray = CHANGES,
    cells: Sequence[dict[str, Any]] | None = None,
    more: Sequence[dict[str, Any]] = (),
    **parts: Any,
) -> Tank:
    """A tank folder of these readings, dosed 60 mL a day and changed every week."""
    levels = levels_of(days, changes=changes) if levels is None else levels
    cells = [{}] * len(days) if cells is None else cells
    rows = [
        reading(clock(d), repr(float(y)), kit="drops") | c
        for d, y, c in zip(days, levels, cells, strict=True)
    ]
    given: dict[str, Any] = {
        "additions": [dose("2025-12-01T00:00", 60)],
        "water_changes": [{"time": clock(d), "litres": 30} for d in changes],
        "kits": KIT,
        "tank": KNOWN,
        "supplements": EXACT,
    }
    return make_tank(path, readings=[*rows, *more], **(given | parts))


def said(estimate: ConsumptionEstimate, code: str) -> str:
    found = [m.text for m in estimate.messages if m.code == code]
    assert len(found) == 1, codes(estimate.messages)
    return found[0]


def use_of(tank: Tank, until: str = "2026-03-02", **options: Any) -> ConsumptionEstimate:
    estimate = estimate_consumption(tank, "alkalinity", until, **options)
    for message in estimate.messages:
        assert not re.search(r"\b(nan|None|inf)\b", message.text), message
    if estimate.rate is not None:
        assert estimate.low is not None and estimate.high is not None
        assert estimate.low <= estimate.rate <= estimate.high
    return estimate


def day_named(text: str) -> pd.Timestamp:
    return pd.Timestamp(re.findall(r"the last on (\d+ \w+ \d{4})", text)[0])


def gap_row(start: float, end: float) -> dict[str, Any]:
    return {
        "start": clock(start), "end": clock(end), "supplement": "part one", "how": "not logged",
    }  # fmt: skip


# --- Check cases: figures COMPUTED on an independent prototype, two ways ---------------------------


def test_base_without_scatter(tmp_path: Path) -> None:
    found = use_of(tank_of(tmp_path), with_cross_checks=True)
    assert found.rate == pytest.approx(1.0, abs=1e-4)
    assert found.cross_checks.loc[0, "rate"] == pytest.approx(1.0, abs=1e-6)
    assert found.basis == "from 31 readings over 60 days"
    assert codes(found.messages) == (
        "NEW_WATER_UNKNOWN",
        "DOSE_AS_STATED",
        "RECENT_CHANGE_INVISIBLE",
    )
    assert "would hardly narrow" in said(found, "NEW_WATER_UNKNOWN")
    assert found.months["rate"].tolist() == pytest.approx([1.0] * len(found.months), abs=1e-4)


def test_base_with_scatter_gives_the_pinned_interval(tmp_path: Path) -> None:
    levels = levels_of(DAYS) + np.resize(PATTERN, DAYS.size)
    found = use_of(tank_of(tmp_path, levels=levels))
    # COMPUTED on a prototype of the mixture, tolerances stated there.
    assert found.rate == pytest.approx(0.9997, abs=6e-4)
    assert (found.low, found.high) == pytest.approx((0.9935, 1.0048), abs=2e-3)
    assert found.weights["weight"].tolist() == pytest.approx(
        [0.7378, 0.2270, 0.0339, 0.0014, 0.0, 0.0], abs=0.01
    )


@pytest.mark.parametrize(("entered", "right"), [(8.0, 0.992465), (8.5, 1.0)])
def test_case_5_new_water_as_true_or_as_read(tmp_path: Path, entered: float, right: float) -> None:
    """The kit reads half a degree high; only new water read with it cancels that."""
    tank = tank_of(tmp_path, levels=levels_of(DAYS) + 0.5, tank=label(entered, 1e-6))
    found = use_of(tank, with_cross_checks=True)
    assert found.cross_checks.loc[0, "rate"] == pytest.approx(right, abs=1e-6)
    assert found.rate == pytest.approx(right, abs=3e-4)


def test_case_5_new_water_tested_with_the_kit_itself(tmp_path: Path) -> None:
    tank = tank_of(
        tmp_path,
        levels=levels_of(DAYS) + 0.5,
        tank=TANK,
        more=[reading("2026-01-01T08:00", 8.5, water="new water", kit="drops")],
    )
    found = use_of(tank, with_cross_checks=True)
    assert found.rate == pytest.approx(1.0, abs=1e-4)
    assert found.cross_checks.loc[0, "rate"] == pytest.approx(1.0, abs=1e-6)
    assert "NEW_WATER_UNKNOWN" not in codes(found.messages)


def test_case_6_a_gap_of_the_log_is_worked_out(tmp_path: Path) -> None:
    tank = tank_of(tmp_path, additions=[dose("2025-12-01T00:00", 60), gap_row(40, 47)])
    found = use_of(tank, with_cross_checks=True)
    assert found.rate == pytest.approx(1.0, abs=1e-4)
    assert found.cross_checks.loc[0, "rate"] == pytest.approx(1.0, abs=1e-6)
    assert "10 Feb 2026 to 17 Feb 2026" in said(found, "LOG_GAP")
    assert re.search(r"about 1\.\d+ ± 0\.\d+ dKH a day", said(found, "GAP_DOSE"))


def test_case_6_ignoring_the_gap_is_wrong(tmp_path: Path) -> None:
    """The same week, written as if nothing had been given."""
    stopped = [dose("2025-12-01T00:00", 60, end=clock(40)), dose(clock(47), 60)]
    found = use_of(tank_of(tmp_path, additions=stopped), with_cross_checks=True)
    assert found.cross_checks.loc[0, "rate"] == pytest.approx(0.864069, abs=1e-6)


def test_case_10_three_readings_are_too_few(tmp_path: Path) -> None:
    found = use_of(tank_of(tmp_path, days=[0.0, 4.0, 8.0]), "2026-01-09")
    assert codes(found.messages) == ("TOO_FEW",)
    assert (found.rate, found.low, found.high) == (None, None, None)
    assert found.messages[0].text.startswith(
        "Too few readings to tell a rate: 3 over 8 days. 1 more reading, the last on "
    )


# --- Refusals ------------------------------------------------------------------------------------


@pytest.mark.parametrize("n", [0, 1, 2, 3])
@pytest.mark.parametrize("until", ["2026-01-07", "2026-01-31", "2026-12-31"])
def test_too_few_asks_for_days_still_to_come(tmp_path: Path, n: int, until: str) -> None:
    """A reading asked for before the end of what was looked at could not be taken any more."""
    found = use_of(tank_of(tmp_path, days=np.arange(float(n)), levels=np.full(n, 8.0)), until)
    text = said(found, "TOO_FEW")
    assert found.messages[0].kind == "refused"
    assert found.rate is None
    assert day_named(text) >= pd.Timestamp(until)
    assert ("No usable reading" in text) == (n == 0)
    assert ("rose by 0.00" in text) == (n == 2)


def test_four_readings_in_six_days_are_too_few(tmp_path: Path) -> None:
    found = use_of(tank_of(tmp_path, days=[0.0, 2.0, 4.0, 6.0]), "2026-01-07")
    assert said(found, "TOO_FEW").startswith("Too few readings to tell a rate: 4 over 6 days. One")
    assert use_of(tank_of(tmp_path / "b", days=[0.0, 2.0, 4.0, 7.0]), "2026-01-08").rate is not None


@pytest.mark.parametrize(("n_beyond", "refused"), [(15, False), (16, True)])
def test_censored_above_a_third(tmp_path: Path, n_beyond: int, refused: bool) -> None:
    """15 of 45 are a third and still fitted; 16 are more."""
    days = np.arange(45.0)
    cells: list[dict[str, Any]] = [{"limit": "<"} if i < n_beyond else {} for i in range(45)]
    found = use_of(tank_of(tmp_path, days, levels_of(days), cells=cells), "2026-02-15")
    assert ("CENSORED" in codes(found.messages)) == refused
    assert (found.rate is None) == refused
    assert (found.left_out["mark"] == "beyond limit").sum() == n_beyond
    if refused:
        assert said(found, "CENSORED").startswith("No rate: 16 of 45 readings")


def test_a_gap_at_the_start_cannot_be_bridged(tmp_path: Path) -> None:
    tank = tank_of(tmp_path, additions=[dose("2025-12-01T00:00", 60), gap_row(3, 9)])
    found = use_of(tank)
    assert "only readings after it are used" in said(found, "LOG_GAP_UNBRIDGED")
    assert found.used["time"].min() == pd.Timestamp(clock(10), tz="Europe/Berlin")
    assert found.rate == pytest.approx(1.0, abs=1e-4)


def test_a_gap_near_the_end_leaves_too_few(tmp_path: Path) -> None:
    tank = tank_of(tmp_path, additions=[dose("2025-12-01T00:00", 60), gap_row(51, 57)])
    found = use_of(tank)
    assert codes(found.messages)[:2] == ("TOO_FEW", "LOG_GAP_UNBRIDGED")
    assert day_named(said(found, "TOO_FEW")) >= pd.Timestamp("2026-03-02")


def test_readings_that_cannot_tell_new_water_from_use(tmp_path: Path) -> None:
    """Always read just before each weekly change, of which nothing is known."""
    weekly = np.arange(0.0, 57.0, 7.0)
    levels = levels_of(weekly, changes=weekly)
    found = use_of(tank_of(tmp_path, weekly, levels, changes=weekly, tank=TANK))
    assert found.rate is None
    assert "One test of the new water with the kit in use would" in said(found, "TOO_FEW")


@pytest.mark.parametrize("element", ["salinity", "pH", "unobtainium"])
def test_what_is_not_used_up_is_refused(tmp_path: Path, element: str) -> None:
    with pytest.raises(InputError):
        estimate_consumption(tank_of(tmp_path), element)


@pytest.mark.parametrize("until", ["30.9.2026", "yesterday", "2026-02-30"])
def test_an_end_that_is_no_day_is_refused(tmp_path: Path, until: str) -> None:
    with pytest.raises(InputError, match="2026-09-30"):
        estimate_consumption(tank_of(tmp_path), "alkalinity", until)


# --- Qualifications ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("days", "provisional"),
    [
        (np.arange(0.0, 29.0, 7.0), True),  # five
        (np.linspace(0.0, 20.0, 9), True),  # less than three weeks
        (np.linspace(0.0, 21.0, 8), False),
    ],
)
def test_provisional(tmp_path: Path, days: np.ndarray, provisional: bool) -> None:
    levels = 8.0 - 0.0 * days
    found = use_of(tank_of(tmp_path, days, levels, changes=[]))
    assert found.rate == pytest.approx(1.0, abs=1e-3)
    assert ("PROVISIONAL" in codes(found.messages)) == provisional


@pytest.mark.parametrize(
    ("u", "code"),
    [
        (0.01, None),
        (0.50, "ROUGH"),
        (1.20, "NOT_DETERMINED"),
        (2.50, "ZERO_INSIDE"),
    ],
)
def test_the_size_of_the_interval_is_said(tmp_path: Path, u: float, code: str | None) -> None:
    """Use of 0.2 dKH a day over 20 days; only the uncertainty of the readings differs."""
    days = np.arange(0.0, 21.0, 4.0)
    levels = levels_of(days, 0.2, dosed=0.0, changes=[], start=9.0)
    tank = tank_of(tmp_path, days, levels, changes=[], cells=[{"u": u}] * days.size, additions=[])
    found = use_of(tank)
    sizes = {"ROUGH", "NOT_DETERMINED", "ZERO_INSIDE", "RISES"} & set(codes(found.messages))
    assert sizes == ({code} if code else set())
    assert found.rate == pytest.approx(0.2, abs=1e-3)
    assert found.low is not None and found.high is not None
    half = (found.high - found.low) / 2
    if code == "ROUGH":
        assert 0.2 < half / 0.2 <= 0.5
        assert said(found, code) == f"The rate is rough: ± {100 * half / 0.2:.0f} % of itself."
    if code == "NOT_DETERMINED":
        assert half / 0.2 > 0.5 and found.low > 0
        most = float(re.findall(r"at most ([\d.]+) dKH", said(found, code))[0])
        assert found.high <= most <= 1.1 * found.high  # rounded up, never down
    if code == "ZERO_INSIDE":
        assert found.low <= 0 <= found.high
        most = float(re.findall(r"less than ([\d.]+) dKH", said(found, code))[0])
        assert found.high <= most <= 1.1 * found.high


def test_a_level_that_rises_by_itself(tmp_path: Path) -> None:
    days = np.arange(0.0, 41.0, 4.0)
    levels = levels_of(days, -0.05, dosed=0.0, changes=[], start=7.0)
    found = use_of(tank_of(tmp_path, days, levels, changes=[], additions=[]))
    assert found.high is not None and found.high < 0
    assert "rises by more than the doses bring" in said(found, "RISES")


def test_without_water_changes_nothing_is_asked_of_new_water(tmp_path: Path) -> None:
    levels = levels_of(DAYS, changes=[])
    found = use_of(tank_of(tmp_path, levels=levels, changes=[], tank=TANK))
    assert found.rate == pytest.approx(1.0, abs=1e-3)
    assert codes(found.messages) == ("DOSE_AS_STATED",)


def test_new_water_of_a_label_or_not_known(tmp_path: Path) -> None:
    levels = levels_of(DAYS) + np.resize(PATTERN, DAYS.size)
    from_label = use_of(tank_of(tmp_path / "a", levels=levels, tank=label(8.0, 0.5)))
    text = said(from_label, "NEW_WATER_UNKNOWN")
    assert "only known from a label (± 0.5 dKH)" in text
    unknown = use_of(tank_of(tmp_path / "b", levels=levels, tank=TANK))
    assert "not known at all" in said(unknown, "NEW_WATER_UNKNOWN")
    known = use_of(tank_of(tmp_path / "c", levels=levels))

    def width(found: ConsumptionEstimate) -> float:
        assert found.high is not None and found.low is not None
        return found.high - found.low

    assert width(known) <= width(from_label) <= width(unknown)
    # What a test is said to buy is what it buys.
    narrower = re.findall(r"about (\d+) % narrower", text)
    if narrower:
        assert 1 - width(known) / width(from_label) == pytest.approx(
            int(narrower[0]) / 100, abs=0.06
        )


def test_new_water_read_with_another_kit(tmp_path: Path) -> None:
    """0.5 dKH · (−ln 0.9) · 8 changes / 60 days = 0.00702 dKH a day (MEMORY: the 0.5)."""
    tank = tank_of(
        tmp_path,
        tank=TANK,
        more=[reading("2026-01-01T08:00", 8.0, water="new water", kit="drops", lot="old")],
    )
    found = use_of(tank)
    changes = int(((CHANGES >= 0) & (CHANGES < 60)).sum())
    bound = 0.5 * -np.log(0.9) * changes / 60
    assert f"up to {bound:.2g} dKH a day" in said(found, "NEW_WATER_OTHER_KIT")
    assert "more than a tenth" not in said(found, "NEW_WATER_OTHER_KIT")
    row = found.budget.set_index("source").loc["new water read with another kit"]
    assert row["u"] == pytest.approx(bound / np.sqrt(3))


def test_new_water_before_its_first_test_is_assumed(tmp_path: Path) -> None:
    late = reading(clock(30.0), 8.0, water="new water", kit="drops")
    found = use_of(tank_of(tmp_path, tank=TANK, more=[late]))
    assert said(found, "NEW_WATER_ASSUMED").startswith("4 water changes before the first test")


def test_pump_and_strength_pass_into_the_interval(tmp_path: Path) -> None:
    """√(0.02² + 0.03²) of 1 dKH a day is 0.0361, in quadrature with what the readings give."""
    described = EXACT.replace("u = 0.0}", "u = 0.03}").replace(
        "strength_u = 0.0", "strength_u = 0.02"
    )
    levels = levels_of(DAYS) + np.resize(PATTERN, DAYS.size)
    exact = use_of(tank_of(tmp_path / "a", levels=levels))
    found = use_of(tank_of(tmp_path / "b", levels=levels, supplements=described))
    u = np.hypot(0.02, 0.03)
    assert f"± {2 * u:.2g} dKH a day (2 u)" in said(found, "PUMP_UNCERTAINTY")
    assert "passes 1:1 into the use" in said(exact, "DOSE_AS_STATED")
    assert None not in (exact.low, exact.high, found.low, found.high)
    before = (exact.high - exact.low) / 2  # type: ignore[operator]
    after = (found.high - found.low) / 2  # type: ignore[operator]
    assert after == pytest.approx(np.hypot(before, 1.959964 * u), rel=1e-3)
    assert found.rate == pytest.approx(exact.rate)
    # It moves dose and use alike, so the comparison of the two keeps the interval of the readings.
    assert found.what_helps == ""
    assert found.against_dose == pytest.approx((exact.low, exact.high))


@pytest.mark.parametrize(
    ("use", "hours", "varies"), [(1.5, 4.0, True), (1.5, 2.5, False), (0.8, 4.0, False)]
)
def test_hour_varies(tmp_path: Path, use: float, hours: float, varies: bool) -> None:
    days = np.arange(0.0, 41.0, 2.0) + np.resize([0.0, hours / 24], 21)
    levels = levels_of(days, use, dosed=use, changes=[])
    tank = tank_of(
        tmp_path, days, levels, changes=[], additions=[dose("2025-12-01T00:00", 60 * use)]
    )
    assert ("HOUR_VARIES" in codes(use_of(tank).messages)) == varies


def test_coarse_resolution(tmp_path: Path) -> None:
    coarse = KIT.replace("resolution = 0.1", "resolution = 0.5").replace("0.15", "0.16")
    assert "replicates will not help" in said(
        use_of(tank_of(tmp_path / "a", kits=coarse)), "COARSE_RESOLUTION"
    )
    fine = coarse.replace("0.16", "0.17")
    assert "COARSE_RESOLUTION" not in codes(use_of(tank_of(tmp_path / "b", kits=fine)).messages)


@pytest.mark.parametrize(("every", "kind"), [(1, "qualified"), (6, "told"), (100, None)])
def test_date_only(tmp_path: Path, every: int, kind: str | None) -> None:
    """A date is taken as 12:00, when these readings were made."""
    cells = [{"time": clock(d)[:10]} if i % every == 1 % every else {} for i, d in enumerate(DAYS)]
    if kind is None:
        cells = [{}] * len(cells)
    found = use_of(tank_of(tmp_path, cells=cells))
    told = [m.kind for m in found.messages if m.code == "DATE_ONLY"]
    assert told == ([kind] if kind else [])
    assert found.rate == pytest.approx(1.0, abs=1e-3)


def test_date_only_widens_where_a_dose_fell_on_that_day(tmp_path: Path) -> None:
    levels = levels_of(DAYS) + np.resize(PATTERN, DAYS.size)
    cells = [{"time": clock(d)[:10]} for d in DAYS]
    shots = [dose("2025-12-01T00:00", 60)]
    shots += [dose(clock(d - 0.01), 0.001, how="once") for d in DAYS[1:]]
    plain = use_of(tank_of(tmp_path / "a", levels=levels, cells=cells))
    wide = use_of(tank_of(tmp_path / "b", levels=levels, cells=cells, additions=shots))
    assert None not in (plain.low, plain.high, wide.low, wide.high)
    assert wide.high - wide.low > 1.05 * (plain.high - plain.low)  # type: ignore[operator]


def test_rows_refused_are_named(tmp_path: Path) -> None:
    bad = [dose("2025-12-01T00:00", 60), dose("2026-01-20", "8,3", how="once")]
    changes = [{"time": clock(d), "litres": 30} for d in CHANGES] + [
        {"time": "2026-02-01", "litres": -3}
    ]
    found = use_of(tank_of(tmp_path, additions=bad, water_changes=changes))
    text = said(found, "ROWS_REFUSED")
    assert "1 of additions.csv and 1 of water_changes.csv" in text
    assert found.messages[0].code == "ROWS_REFUSED"


def test_a_slip_is_set_aside_at_its_row(tmp_path: Path) -> None:
    levels = levels_of(DAYS) + np.resize(PATTERN, DAYS.size)
    clean = use_of(tank_of(tmp_path / "a", levels=levels))
    levels[15] += 1.5  # day 30, row 17
    found = use_of(tank_of(tmp_path / "b", levels=levels))
    text = said(found, "POSSIBLE_GROSS")
    assert "31 Jan 2026" in text
    assert "row 17" in text
    assert found.set_aside["row"].tolist() == [17]
    assert "POSSIBLE_GROSS" not in codes(clean.messages)
    assert found.rate == pytest.approx(clean.rate, abs=0.002)
    assert len(found.used) == 30


def test_a_change_is_found_with_its_days(tmp_path: Path) -> None:
    days = np.arange(0.0, 89.0, 2.0)
    changes = np.arange(3.5, 88.0, 7.0)
    levels = levels_of(days, lambda day: 1.0 if day < 58.5 else 1.3, changes=changes)
    levels = levels + np.resize(PATTERN, days.size)
    found = use_of(tank_of(tmp_path, days, levels, changes=changes), "2026-03-31")
    assert found.rate == pytest.approx(1.3, abs=0.04)
    assert found.low <= 1.3 <= found.high
    (change,) = (f for f in found.findings if f.kind == "rate change")
    assert change.word == "found"
    assert change.low <= 0.3 <= change.high
    # Day 58.5 after 1 January, give or take a reading.
    assert change.start <= pd.Timestamp("2026-03-03", tz="UTC")
    assert change.stop >= pd.Timestamp("2026-02-28", tz="UTC")
    assert "more is used since a day between" in said(found, "RATE_CHANGED").lower()
    assert "pump" in said(found, "RATE_CHANGED")
    assert found.months["verdict"].tolist()[-1] in ("changed", "perhaps changed")
    assert found.p_not_constant > 0.95
    assert found.if_nothing_changed is None or found.if_nothing_changed.weight < 0.05
    assert len(found.curve.segments) == 2


def test_another_lot_is_taken_out_of_the_rate(tmp_path: Path) -> None:
    cells = [{"lot": "A"} if d < 30 else {"lot": "B"} for d in DAYS]
    levels = levels_of(DAYS) + np.where(DAYS < 30, -0.3, 0.0) + np.resize(PATTERN, DAYS.size)
    found = use_of(tank_of(tmp_path, levels=levels, cells=cells, tank=label(8.0, 0.01)))
    assert found.rate == pytest.approx(1.0, abs=0.03)
    assert re.search(r"drops A reads −0\.\d+ ± 0\.\d+ dKH", said(found, "LOT_CHANGED"))


@pytest.mark.parametrize("n_salinities", [3, 1])
def test_salinity_moved(tmp_path: Path, n_salinities: int) -> None:
    days = np.arange(0.0, 41.0, 4.0)
    salts = np.resize([34.5, 35.5, 35.0], days.size)
    rows = [
        reading(clock(d), 420.0 * s / 35, element="calcium", unit="mg/L", kit="syringe")
        for d, s in zip(days, salts, strict=True)
    ]
    known = range(days.size) if n_salinities > 1 else (0, 1)
    rows += [reading(clock(days[i]), salts[i], element="salinity", unit="PSU") for i in known]
    tank = make_tank(tmp_path, readings=rows)
    found = estimate_consumption(tank, "calcium", "2026-03-02")
    text = said(found, "SALINITY_MOVED")
    assert "Salinity moved by 1.0 between readings" in text
    if n_salinities > 1:
        assert "scaled to one salinity" in text
        assert found.rate == pytest.approx(0.0, abs=0.01)
    else:
        assert "Too few readings have a salinity" in text
    assert "SALINITY_MOVED" not in codes(estimate_consumption(tank, "alkalinity").messages)


# --- The object itself ----------------------------------------------------------------------------


def test_the_unit_asked_for(tmp_path: Path) -> None:
    levels = levels_of(DAYS) + np.resize(PATTERN, DAYS.size)
    tank = tank_of(tmp_path, levels=levels)
    one, other = use_of(tank), use_of(tank, unit="meq/L")
    factor = 20 / 56.077  # COMPUTED: meq/L per dKH, as in test_additions
    assert other.unit == "meq/L"
    assert [other.rate, other.low, other.high] == pytest.approx(
        [x * factor for x in (one.rate, one.low, one.high)],
        rel=1e-3,  # type: ignore[operator]
    )
    assert codes(one.messages) == codes(other.messages)


def test_the_end_may_be_a_time_or_the_last_reading(tmp_path: Path) -> None:
    tank = tank_of(tmp_path)
    by_day, by_time = use_of(tank), use_of(tank, pd.Timestamp("2026-03-03"))  # type: ignore[arg-type]
    last = estimate_consumption(tank, "alkalinity")
    assert by_day.until == by_time.until == last.until == pd.Timestamp("2026-03-02T23:00Z")
    assert by_day.rate == by_time.rate == last.rate


def test_later_readings_change_nothing_before_them(tmp_path: Path) -> None:
    levels = levels_of(DAYS) + np.resize(PATTERN, DAYS.size)
    whole = use_of(tank_of(tmp_path / "a", levels=levels), "2026-01-31")
    short = use_of(tank_of(tmp_path / "b", DAYS[:16], levels[:16]), "2026-01-31")
    assert (whole.rate, whole.low, whole.high) == pytest.approx((short.rate, short.low, short.high))


def test_a_seldom_tested_element_gets_a_longer_window(tmp_path: Path) -> None:
    days = np.arange(0.0, 301.0, 30.0)
    levels = levels_of(days, changes=[])
    found = use_of(tank_of(tmp_path, days, levels, changes=[]), "2026-10-28")
    assert len(found.used) == 8
    assert found.rate == pytest.approx(1.0, abs=1e-3)


def test_the_dose_beside_it(tmp_path: Path) -> None:
    standing = use_of(tank_of(tmp_path / "a"))
    assert standing.dose_now == pytest.approx(1.0)
    weekly = [dose(clock(7.0 * i), 210, how="once") for i in range(8)]
    by_hand = use_of(tank_of(tmp_path / "b", additions=weekly))
    assert by_hand.dose_now == pytest.approx(3 * 3.5 / 28)  # the last three in four weeks
    gap = [dose("2025-12-01T00:00", 60), gap_row(58, 70)]
    assert use_of(tank_of(tmp_path / "c", additions=gap)).dose_now is None
    assert use_of(tank_of(tmp_path / "d", additions=[])).dose_now == 0.0


def test_the_budget_adds_up_to_the_interval(tmp_path: Path) -> None:
    levels = levels_of(DAYS) + np.resize(PATTERN, DAYS.size)
    described = EXACT.replace("strength_u = 0.0", "strength_u = 0.02")
    found = use_of(tank_of(tmp_path, levels=levels, tank=label(8.0, 0.3), supplements=described))
    assert found.high is not None and found.low is not None
    total = float(np.sqrt((found.budget["u"] ** 2).sum()))
    assert total == pytest.approx((found.high - found.low) / 2 / 1.959964, rel=0.02)
    assert found.budget["share"].sum() == pytest.approx(1.0)
    assert (found.budget["u"] >= 0).all()


def test_the_arithmetic_can_be_done_again_by_hand(tmp_path: Path) -> None:
    found = use_of(tank_of(tmp_path))
    line = found.arithmetic[2]
    numbers = re.findall(
        r"\(([\d.]+) × ([\d.]+) \+ ([\d.]+) − ([\d.]+)\) ÷ ([\d.]+) = ([\d.]+)", line
    )
    first, left, brought, last, taken, rate = map(float, numbers[0])
    assert (first * left + brought - last) / taken == pytest.approx(rate, abs=0.002)
    assert rate == pytest.approx(1.0, abs=0.002)
