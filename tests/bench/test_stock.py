"""What is left of a kit, until when, and what is said when it is not known."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from reef_calc.bench.kit_parts import Lot
from reef_calc.bench.kits import Kit
from reef_calc.bench.stock import KitStock, cadence_of, stock_of_kit, who_tested
from reef_calc.errors import InputError

DAY = dt.date(2026, 6, 1)


def kit(**parts: object) -> Kit:
    return Kit("acid", "alkalinity", "meter", "dKH", **parts)  # type: ignore[arg-type]


def every(days: float, count: int, last: dt.date = DAY) -> list[dt.date]:
    return [last - dt.timedelta(days=round(days * i)) for i in range(count)][::-1]


def stock(one: Kit, days: list[dt.date], today: dt.date = DAY, **more: float) -> KitStock:
    return stock_of_kit(one, days, [""] * len(days), today, **more)


def test_left_is_counted_less_tests_since() -> None:
    counted = DAY - dt.timedelta(days=9)
    found = stock(kit(tests_left=20.0, counted=counted), every(3, 12))
    # The tests of 6, 3 and 0 days ago; the one 9 days ago may be in the count or not.
    assert (found.left, found.unsure, found.since) == (17, 1, 3)


def test_a_regular_habit_runs_out_on_its_day() -> None:
    found = stock(kit(tests_left=5.0, counted=DAY - dt.timedelta(days=1)), every(7, 12))
    assert found.left == 4
    assert found.runs_out == DAY + dt.timedelta(days=28)
    assert found.soonest is not None
    assert found.runs_out - dt.timedelta(days=6) < found.soonest < found.runs_out
    assert found.buy_by == found.soonest - dt.timedelta(days=14)
    assert found.reason == "empty"
    later = stock(
        kit(tests_left=5.0, counted=DAY - dt.timedelta(days=1)), every(7, 12), ahead_days=3
    )
    assert later.buy_by == found.soonest - dt.timedelta(days=3)


def test_the_early_end_holds_on_random_habits() -> None:
    """Of Poisson habits, at most a few per cent run out before the early end."""
    random = np.random.default_rng(3)
    held = 0
    for _ in range(300):
        gaps = random.exponential(4.0, size=40)
        days = [DAY + dt.timedelta(days=int(day)) for day in np.cumsum(gaps)]
        today = days[24]
        found = stock(kit(tests_left=10.0, counted=today), days[:25], today)
        assert found.soonest is not None
        held += days[34] >= found.soonest
    assert held / 300 > 0.955


@pytest.mark.parametrize(
    ("parts", "days", "words"),
    [
        ({}, every(3, 9), "Never counted"),
        ({"tests_left": 55.0}, every(3, 9), "no day stands beside it"),
        ({"tests_left": 2.0, "counted": DAY - dt.timedelta(days=20)}, every(3, 9), "count again"),
        ({"tests_left": 9.0, "counted": DAY}, every(3, 2), "Fewer than 4 tests"),
        ({"tests_left": 9.0, "counted": DAY}, [DAY] * 9, "too few"),
        (
            {"tests_left": 9.0, "counted": DAY},
            every(3, 9, DAY - dt.timedelta(days=90)),
            "not in use",
        ),
    ],
)
def test_what_is_not_known_is_said(
    parts: dict[str, object], days: list[dt.date], words: str
) -> None:
    found = stock(kit(**parts), days)
    assert words in " ".join(found.unknown)
    assert (found.runs_out, found.buy_by, found.reason) == (None, None, "")


def test_an_overdue_test_is_taken_to_be_made_today() -> None:
    last = DAY - dt.timedelta(days=20)
    found = stock(kit(tests_left=2.0, counted=last + dt.timedelta(days=1)), every(7, 12, last))
    assert found.runs_out == DAY + dt.timedelta(days=7)


def test_empty_now() -> None:
    found = stock(kit(tests_left=3.0, counted=DAY - dt.timedelta(days=8)), every(3, 9))
    assert (found.left, found.runs_out, found.soonest) == (0, DAY, DAY)
    assert found.buy_by is not None
    assert found.buy_by < DAY
    never_used = stock(kit(tests_left=0.0, counted=DAY), [])
    assert (never_used.left, never_used.runs_out) == (0, DAY)


def test_monthly_tests_are_seen_over_a_year() -> None:
    found = cadence_of(every(30.4, 11))
    assert found is not None
    assert found.days_per_test == pytest.approx(30.4, abs=0.1)


def lot(name: str, opened: int | None, expires: int | None) -> Lot:
    def day(months: int | None) -> dt.date | None:
        return None if months is None else DAY + dt.timedelta(days=30 * months)

    return Lot(name, day(opened), day(expires))


def test_expiry_of_the_lot_in_use_and_of_what_is_spare() -> None:
    old, used, spare = lot("A", -9, -1), lot("B", -2, 2), lot("C", None, 12)
    days = every(3, 9)
    found = stock_of_kit(kit(lots=(old, used)), days, ["A"] * 8 + ["B"], DAY)
    assert (found.lot, found.expires, found.reason) == (used, used.expires, "expires")
    assert found.buy_by == DAY + dt.timedelta(days=60 - 14)
    both = stock_of_kit(kit(lots=(old, used, spare)), days, [""] * 9, DAY)
    assert (both.lot, both.expires) == (used, spare.expires)
    one_left = stock_of_kit(kit(lots=(old,)), days, [""] * 9, DAY)
    assert one_left.buy_by is not None
    assert one_left.buy_by < DAY


def test_lots_that_are_not_described() -> None:
    days = every(3, 9)
    foreign = stock_of_kit(kit(lots=(lot("A", -1, 9),)), days, ["Z"] * 9, DAY)
    assert foreign.lot == Lot("Z")
    assert "Lot Z, read last, is not described" in " ".join(foreign.unknown)
    undated = stock_of_kit(kit(lots=(lot("A", -1, None),)), days, ["A"] * 9, DAY)
    assert (undated.expires, undated.unknown[-1]) == (None, "A lot has no expiry written.")


def test_refused() -> None:
    with pytest.raises(InputError, match="a lot for each day"):
        stock_of_kit(kit(), [DAY], [], DAY)
    with pytest.raises(InputError, match="0 days or more"):
        stock(kit(), [DAY], ahead_days=-1.0)


def test_a_century_is_far_enough() -> None:
    found = stock(kit(tests_left=900000.0, counted=DAY), every(7, 12))
    assert found.runs_out is not None
    assert found.runs_out.year < 2130


def test_who_tested() -> None:
    found = who_tested(
        ["B", "A", "", "A"], [DAY] * 3 + [DAY - dt.timedelta(days=1)], ["x", "x", "", "y"]
    )
    assert found["by"].tolist() == ["A", "", "B"]
    assert found[["readings", "days", "kits"]].to_numpy().tolist() == [
        [2, 2, 2],
        [1, 1, 0],
        [1, 1, 1],
    ]
    assert list(who_tested([], [], []).columns) == ["by", "readings", "days", "kits", "last"]
