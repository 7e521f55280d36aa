"""What skeletons take per dKH, nitrogen's part in alkalinity, and the ratio of two estimates."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.balance import stoichiometry
from reef_calc.balance.joint_uses import Estimate
from reef_calc.balance.stoichiometry import CORAL_ARAGONITE, PURE_CARBONATE, SKELETONS, Skeleton
from reef_calc.balance.use_ratio import ratio_by_fieller, what_fits
from reef_calc.errors import CannotTellError, InputError
from tests.trust import check_published, published_checks, record_check


def test_k01_k02_pure_carbonate() -> None:
    check_published("K01", stoichiometry.taken_per_dKH(PURE_CARBONATE).calcium)
    check_published("K02", stoichiometry.calcium_per_meq())


def test_k03_coral_aragonite() -> None:
    # The row prints three named numbers, which the common reader does not part.
    row = published_checks()["K03"]
    assert row.expected == "Ca 7.0550 Mg 0.0180 Sr 0.1363 mg/L"
    expected = (7.0550, 0.0180, 0.1363)
    taken = stoichiometry.taken_per_dKH(CORAL_ARAGONITE)
    got = (taken.calcium, taken.magnesium, taken.strontium)
    record_check("K03", f"{row.topic}: {row.inputs}", expected, got, row.source, row.status)
    assert got == pytest.approx(expected, abs=float(row.tolerance))


def test_k05_k06_k07_nitrogen() -> None:
    check_published(
        "K05",
        stoichiometry.alkalinity_from_nitrate(10.0, "ammonium"),
        stoichiometry.alkalinity_from_nitrate(10.0, "organic matter"),
    )
    check_published("K06", stoichiometry.alkalinity_from_nitrate(-10.0))
    check_published("K07", stoichiometry.carbonate_for_ammonium(1.0))


@pytest.mark.parametrize(
    ("skeleton", "expected"),
    list(
        zip(
            SKELETONS,
            [
                (7.1470, 0.0, 0.0),
                (7.0550, 0.0180, 0.1363),
                (6.4149, 0.4323, 0.0421),
                (6.0595, 0.6485, 0.0397),
                (5.7039, 0.8648, 0.0374),
            ],
            strict=True,
        )
    ),
    ids=lambda value: getattr(value, "name", ""),
)
def test_skeletons(skeleton: Skeleton, expected: tuple[float, ...]) -> None:
    """COMPUTED by hand from atomic weights; compositions of calcite from memory."""
    taken = stoichiometry.taken_per_dKH(skeleton)
    assert (taken.calcium, taken.magnesium, taken.strontium) == pytest.approx(expected, abs=6e-5)


@settings(max_examples=20, deadline=None, derandomize=True)
@given(st.floats(0, 0.9), st.floats(0, 0.05))
def test_ions_balance_the_carbonate(magnesium: float, strontium: float) -> None:
    taken = stoichiometry.taken_per_dKH(Skeleton("any", magnesium, strontium))
    moles = taken.calcium / 40.078 + taken.magnesium / 24.305 + taken.strontium / 87.62
    assert 2 * moles == pytest.approx(10 / 56.077 * 2, rel=1e-4)  # 1 dKH is 10 mg/L CaO


def test_nitrate_correction_and_its_mirror() -> None:
    fall, rise = (stoichiometry.alkalinity_from_nitrate(x) for x in (-5.0, 5.0))
    assert fall == pytest.approx(-rise)
    assert stoichiometry.alkalinity_from_nitrate(-5.0, "ammonium") == fall
    assert stoichiometry.calcifying_alkalinity(1.0, 0.0) == 1.0
    assert stoichiometry.calcifying_alkalinity(1.0, -1.0) > 1.0
    with pytest.raises(InputError, match="organic matter"):
        stoichiometry.alkalinity_from_nitrate(5.0, "rain")  # type: ignore[arg-type]


def test_expected_uses_hold_all_skeletons() -> None:
    found = stoichiometry.expected_uses(Estimate(1.0, 0.9, 1.1))
    assert found["calcium"] == pytest.approx((7.055, 0.9 * 5.7039, 1.1 * 7.147), abs=1e-3)
    assert found["strontium"] == pytest.approx((0.1363, 0.0, 1.1 * 0.1363), abs=1e-4)
    with pytest.raises(InputError, match="from 0"):
        stoichiometry.expected_uses(Estimate(0.1, -0.1, 0.3))
    with pytest.raises(InputError, match="mol per mol"):
        Skeleton("millimoles", 4.2, 8.8)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(st.floats(3, 9), st.floats(0.01, 1), st.floats(0.5, 2), st.floats(0.001, 0.2))
def test_fieller_ends_solve_its_equation(a: float, u: float, b: float, v: float) -> None:
    found = ratio_by_fieller(a, u, b, v)
    for end in (found.low, found.high):
        assert abs(a - end * b) == pytest.approx(1.959964 * math.hypot(u, end * v), rel=1e-9)
    assert found.low < found.value < found.high


def test_fieller_covers_what_it_promises() -> None:
    random = np.random.default_rng(3)
    a, b = random.normal(7.0, 0.5, 4000), random.normal(1.0, 0.1, 4000)
    ends = [ratio_by_fieller(x, 0.5, y, 0.1) for x, y in zip(a, b, strict=True)]
    covered = np.mean([end.low < 7.0 < end.high for end in ends])
    assert covered == pytest.approx(0.95, abs=0.012)


def test_fieller_refuses_a_denominator_that_may_be_nothing() -> None:
    with pytest.raises(CannotTellError, match="may be nothing"):
        ratio_by_fieller(7.0, 0.2, 0.1, 0.06)
    with pytest.raises(InputError):
        ratio_by_fieller(7.0, -0.2, 1.0, 0.06)
    assert ratio_by_fieller(7.0, 0.0, 1.0, 0.0) == (7.0, 7.0, 7.0)


def test_what_fits_lists_and_never_blames() -> None:
    low = what_fits(0.9, 0.0, magnesium_per_dKH=Estimate(0.5, 0.2, 0.8))
    assert sum(sentence.startswith("It fits: ") for sentence in low) == 5
    assert any("magnesium readings allow" in sentence for sentence in low)
    no_magnesium = what_fits(0.9, 0.0, magnesium_per_dKH=Estimate(0.0, -0.2, 0.2))
    assert not any("calcite" in sentence for sentence in no_magnesium)
    high = what_fits(0.0, 0.9, nitrate="falling", salinity="falling")
    assert high[0].startswith("Salinity fell")
    assert any("gives alkalinity back" in sentence for sentence in high)
    assert "not known well enough" in what_fits(0.4, 0.45)[0]
    assert "Both levels fell at once" in what_fits(0.0, 0.0, fell_fast_together=True)[1]
    too_much = what_fits(0.0, 0.0, magnesium_per_dKH=Estimate(2.0, 1.5, 2.5))
    assert "no skeleton takes that much" in too_much[1]
    with pytest.raises(InputError):
        what_fits(0.9, 0.9)
