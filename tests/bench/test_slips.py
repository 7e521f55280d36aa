"""Slips made on purpose are named, with the right value offered; right entries pass."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from reef_calc.bench.entry_checks import (
    check_entry,
    grid_slip,
    lot_slip,
    unit_slip,
)
from reef_calc.bench.kit_parts import Lot, Titrant
from reef_calc.bench.kits import Kit
from reef_calc.bench.readings import RawReading
from reef_calc.bench.replicates import check_replicates, critical_range_factor
from reef_calc.bench.results_of_kits import result_of
from reef_calc.bench.slips import level_slips, syringe_slip, typing_slips
from reef_calc.errors import InputError
from tests.trust import record_check

LOTS = (Lot("A", dt.date(2026, 1, 1), dt.date(2026, 6, 30)), Lot("B", dt.date(2026, 5, 1)))
KIT = Kit("acid", "alkalinity", "meter", "dKH", resolution=0.1, lots=LOTS)
CALCIUM = Kit("calcium", "calcium", "meter", "mg/L", resolution=5.0)
DAY = dt.date(2026, 3, 1)
levels = st.integers(61, 109).map(lambda tenths: tenths / 10)
few = settings(max_examples=40, deadline=None, derandomize=True)


@few
@given(levels, st.floats(0.3, 1.5))
def test_a_right_entry_passes(level, half) -> None:
    expected = (level - half, level + half)
    assert check_entry(f"{level}", KIT, day=DAY, unit="dKH", lot="A", expected=expected) == ()


@few
@given(levels, st.sampled_from([-2, -1, 1, 2]))
def test_a_moved_decimal_point_is_found(level, places) -> None:
    typed = f"{level * 10.0**places:.5g}"
    found = check_entry(typed, KIT, day=DAY, lot="A", expected=(level - 0.8, level + 0.8))
    assert ("decimal point", level) in [(slip.code, slip.likely) for slip in found]
    assert found[0].code in ("impossible", "jump")


@few
@given(st.integers(340, 520))
def test_swapped_digits_are_found(level) -> None:
    text = str(level)
    assume(text[0] != text[1])
    typed = text[1] + text[0] + text[2]
    expected = (level - 25.0, level + 25.0)
    assume(not expected[0] <= float(typed) <= expected[1])
    found = typing_slips(typed, expected)
    # 050 for 500 is a moved decimal point as well; the right value is what counts.
    assert float(level) in [slip.likely for slip in found]


@few
@given(st.integers(10, 150), st.integers(0, 100), st.integers(-40, 40))
def test_any_wrong_use_of_the_syringe_is_found(filled, left, wrong) -> None:
    assume(left <= filled and wrong != 0)
    used = (filled - left + wrong) / 100
    assert syringe_slip(filled / 100, left / 100, (filled - left) / 100) is None
    slip = syringe_slip(filled / 100, left / 100, used)
    assert slip is not None and slip.likely == pytest.approx((filled - left) / 100)


@few
@given(st.integers(10, 150), st.integers(0, 100), st.integers(10, 150))
def test_a_refill_counts(filled, left, refill) -> None:
    assume(left <= filled)
    used = (filled - left + refill) / 100
    assert syringe_slip(filled / 100, left / 100, used, [refill / 100]) is None
    assert syringe_slip(filled / 100, left / 100, used) is not None


def test_filled_and_left_swapped() -> None:
    slip = syringe_slip(0.44, 1.0, 0.56)
    assert slip is not None and "swapped" in slip.sentence and slip.likely == 0.56


def test_a_slip_of_the_raw_reading_is_found_through_the_kit() -> None:
    acid = Kit(
        "acid", "alkalinity", "direct titration", "dKH", resolution=0.1, sample_mL=5.0,
        titrant=Titrant(0.01783, 1.5, ""),
    )  # fmt: skip

    def level_of(used: float) -> float:
        return result_of(acid, RawReading(used)).level

    found = level_slips("0.08", acid, (7.0, 9.0), level_of)
    assert ("decimal point", 0.8) in [(slip.code, slip.likely) for slip in found]
    # More than the syringe holds gives no level at all, and the point is still found.
    found = level_slips("8.0", acid, (7.0, 9.0), level_of)
    assert [(slip.code, slip.likely) for slip in found] == [
        ("impossible", None), ("decimal point", 0.8),
    ]  # fmt: skip


def test_impossible_and_jump_are_told_apart() -> None:
    assert [slip.code for slip in level_slips("700", CALCIUM, (400, 440))] == ["jump"]
    assert next(slip.code for slip in level_slips("2000", CALCIUM)) == "impossible"
    assert level_slips("700", CALCIUM) == []
    with pytest.raises(InputError, match="lower end first"):
        level_slips("420", CALCIUM, (440, 400))


def test_grid() -> None:
    assert grid_slip(423.0, 5.0, "mg/L").likely == 425.0
    assert grid_slip(0.3, 0.1) is None and grid_slip(12.34, 0.0) is None
    assert [slip.code for slip in check_entry("423", CALCIUM, day=DAY)] == ["off grid"]
    with pytest.raises(InputError, match="resolution"):
        grid_slip(1.0, -0.1)


def test_lots() -> None:
    assert lot_slip(KIT, "A", DAY) is None
    assert "expired" in lot_slip(KIT, "A", dt.date(2026, 7, 1)).sentence
    assert lot_slip(KIT, "A", dt.date(2026, 6, 30)) is None
    assert "after this test" in lot_slip(KIT, "B", DAY).sentence
    assert "is no lot" in lot_slip(KIT, "C", DAY).sentence
    assert "No lot is written" in lot_slip(KIT, "", DAY).sentence
    assert lot_slip(CALCIUM, "", DAY) is None


def test_units() -> None:
    assert unit_slip(7.8, "dKH", KIT) is None
    assert unit_slip(2.8, "meq/L", KIT).likely == pytest.approx(7.851, abs=1e-3)
    assert "salinity" in unit_slip(2300.0, "µmol/kg", KIT).sentence
    assert "calcium" not in unit_slip(7.8, "°C", KIT).sentence
    assert unit_slip(7.8, "ppm", KIT).likely is None
    # A level in another unit of the element is judged in the kit's.
    found = check_entry("2.8", KIT, day=DAY, unit="meq/L", lot="A", expected=(7.0, 8.6))
    assert [slip.code for slip in found] == ["unit"]
    found = check_entry("7.8", KIT, day=DAY, unit="°C", lot="A", expected=(7.0, 8.6))
    assert [slip.code for slip in found] == ["unit"]


def test_replicates_worked_by_hand() -> None:
    found = check_replicates([420.0, 425.0, 480.0], 5.0, "mg/L")
    got = (found.critical_range, found.median)
    record_check(
        "Q27", "replicates: 420 425 480, s 5", (16.6, 425.0), got, "own example",
        "COMPUTED (studentised range); the rule of ISO 5725-6 is MEMORY",
    )  # fmt: skip
    assert got == pytest.approx((16.6, 425.0), abs=0.05)
    assert not found.agree and "median" in found.sentence
    assert check_replicates([420.0, 425.0, 430.0], 5.0).agree


def test_critical_range_factors() -> None:
    got = tuple(critical_range_factor(n) for n in range(2, 11))
    # Table of f(n), printed to one decimal.
    expected = (2.8, 3.3, 3.6, 3.9, 4.0, 4.2, 4.3, 4.4, 4.5)
    record_check("Q27 f", "replicates: f(2) to f(10)", expected, got, "ISO 5725-6", "MEMORY")
    assert got == pytest.approx(expected, abs=0.051)


@pytest.mark.parametrize(
    ("readings", "sd", "says"),
    [
        ([1.0], 0.1, "two readings"),
        ([1.0, 2.0], 0.0, "above 0"),
        ([1.0, float("nan")], 1, "finite"),
    ],
)
def test_replicates_that_cannot_be_judged(readings, sd, says) -> None:
    with pytest.raises(InputError, match=says):
        check_replicates(readings, sd)
