"""Days without an entry in a daily dose by hand: found, counted half, said. Own examples, no source."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.balance.additions import AdditionHistory
from reef_calc.balance.missing_doses import dosing_breaks, missing_doses
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.steady_use import KnownColumn, SteadyUse, steady_use
from tests.balance.simulated import RESOLUTION, SD, START, doses, read, record, truth

TIMES = np.arange(0.0, 61.0, 2.0)


def log_with(
    skipped: set[int], length: int = 61, *, rise: float = 1.0, **parts: object
) -> ElementRecord:
    shots = [(day + 0.8, rise) for day in range(length) if day not in skipped]
    given = doses(shots, **parts)  # type: ignore[arg-type]
    return record(TIMES, np.full(TIMES.size, 8.0), given)


def found_days(log: ElementRecord) -> list[int]:
    return [int(day - START) for m in missing_doses(log) for day in m.moments]


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.sets(st.integers(1, 58), max_size=9))
def test_exactly_the_days_without_an_entry_are_found(skipped: set[int]) -> None:
    days_in_a_row = max(
        (sum(1 for k in range(4) if day + k in skipped) for day in skipped), default=0
    )
    if days_in_a_row == 4:
        return  # a longer stretch is a break
    assert found_days(log_with(skipped)) == sorted(skipped)


def test_what_is_found() -> None:
    found = missing_doses(log_with({5, 20, 21, 40}))[0]
    assert (found.supplement, found.pattern_days) == ("hand dose", 60)
    assert found.moments - START == pytest.approx([5.8, 20.8, 21.8, 40.8])
    assert found.rises.tolist() == [1.0] * 4
    assert found.swing == pytest.approx(4 / 2 / 60)
    assert found.column.centre == 0.5
    assert found.column.u == pytest.approx((1 / 12 + 1 / 24) ** 0.5)
    # Before the first missing dose nothing, then one dose, kept but for the weekly tenth (day 10.5).
    assert found.column.values[:6].tolist() == pytest.approx([0, 0, 0, 1, 1, 1])
    assert found.column.values[6] == pytest.approx(0.9)
    assert found.message.text == (
        "4 of 60 days have no entry of hand dose. Each is counted half, unless the readings say "
        "more. If all were given, the tank uses 0.03 dKH a day more than with half; if none were, "
        "as much less. Enter what was given, and 0 for days left out."
    )


def test_one_missing_dose_has_variance_of_a_quarter_of_its_square() -> None:
    column = missing_doses(log_with({30}))[0].column
    assert column.u == pytest.approx(0.5)  # (x/2)² = x²/4


def test_a_missing_dose_is_as_large_as_its_neighbours() -> None:
    shots = [(day + 0.8, 1.0 if day < 30 else 1.5) for day in range(61) if day not in (10, 45)]
    log = record(TIMES, np.full(TIMES.size, 8.0), doses(shots))
    assert missing_doses(log)[0].rises.tolist() == [1.0, 1.5]


def test_an_entry_of_nothing_is_an_entry() -> None:
    shots = [(day + 0.8, 0.0 if day == 10 else 1.0) for day in range(61)]
    log = record(TIMES, np.full(TIMES.size, 8.0), doses(shots))
    assert missing_doses(log) == ()


def test_what_is_no_daily_pattern() -> None:
    assert missing_doses(log_with(set())) == ()
    assert missing_doses(log_with(set(range(0, 61, 2)))) == ()  # every other day
    assert missing_doses(log_with({5}, length=13)) == ()  # too short
    pumps = record(TIMES, np.full(TIMES.size, 8.0), doses(steps=[(0, 61, 1.0)]))
    assert missing_doses(pumps) == ()
    assert missing_doses(replace(pumps, sessions=pumps.sessions.head(1))) == ()


def test_declared_gaps_and_a_pump_explain_themselves() -> None:
    assert found_days(log_with({20, 21, 40}, gaps=((20.0, 22.0),))) == [40]
    shots = [(day + 0.8, 1.0) for day in range(61) if day not in (20, 21, 40)]
    hand, pump = doses(shots), doses(steps=[(19.9, 22.1, 1.0)])
    both = AdditionHistory(pump.steps, hand.shots, ())
    assert found_days(record(TIMES, np.full(TIMES.size, 8.0), both)) == [40]


def test_the_last_days_before_the_last_reading_count() -> None:
    log = log_with(set(), length=58)  # entries to day 57; readings to day 60, 00:00
    assert found_days(log) == [58, 59]
    assert dosing_breaks(log) == ()


def test_longer_stretches_are_said_and_not_counted() -> None:
    log = log_with(set(range(30, 36)))
    assert missing_doses(log) == ()
    told = dosing_breaks(log)
    assert [m.code for m in told] == ["DOSES_STOPPED"]
    assert "from 1 Feb 2026 to 6 Feb 2026" in told[0].text
    assert dosing_breaks(log_with(set(range(30, 36)), gaps=((30.0, 36.0),))) == ()


def test_delayed_doses_are_missed_with_their_delay() -> None:
    column = missing_doses(log_with({11}, lag=1.0))[0].column
    assert column.values[6:8].tolist() == pytest.approx([0.1, 1.0])  # 11.8 to 13.8: 0.2 d of 2 d


def test_days_are_those_of_the_zone() -> None:
    """Dosed at half past midnight in Berlin, the day before in Greenwich; clocks change on day 86."""
    hours = [23.5 if day < 86 else 22.5 for day in range(120)]
    shots = [(day + hours[day] / 24, 1.0) for day in range(120) if day not in (50, 100)]
    times = np.arange(0.0, 120.0, 3.0)
    log = record(times, np.full(times.size, 8.0), doses(shots), zone="Europe/Berlin")
    found = missing_doses(log)[0].moments - START
    assert found == pytest.approx([50 + 23.5 / 24, 100 + 22.5 / 24])


def fit(log: ElementRecord, columns: list[KnownColumn]) -> SteadyUse:
    return steady_use(
        log.sessions["day"], log.sessions["level"], log.events, sd=SD, resolution=RESOLUTION,
        columns=columns,
    )  # fmt: skip


@pytest.mark.parametrize("given_share", [0.0, 0.5, 1.0])
def test_the_truth_is_covered_whatever_was_given(given_share: float) -> None:
    """A tenth of the entries missing; none, half or all of them in truth given."""
    runs, covered, ignored = 40, 0, 0
    for seed in range(runs):
        rng = np.random.default_rng(seed)
        times = np.sort(np.r_[0.0, rng.uniform(0, 90, 38), 90.0])
        entered = rng.random(91) > 0.1
        entered[[0, 90]] = True
        poured = entered | (rng.random(91) < given_share)
        levels, _ = truth(
            times, doses([(d + 0.8, 1.0) for d in np.flatnonzero(poured)]), np.ones_like, rng
        )
        logged = doses([(d + 0.8, 1.0) for d in np.flatnonzero(entered)])
        log = record(times, read(levels, rng), logged)
        using, without = fit(log, [m.column for m in missing_doses(log)]), fit(log, [])
        covered += using.low <= 1.0 <= using.high
        ignored += without.low <= 1.0 <= without.high
    assert covered >= 0.9 * runs
    if given_share:
        assert ignored < 0.7 * runs  # counting nothing is no choice
