"""Recipes of test water: published standards, independent propagation, closed loops, refusals."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat

from reef_calc.bench.dilutions import diluted, dilution_series
from reef_calc.bench.spikes import spike_recovery
from reef_calc.bench.standards import sodium_chloride_g_per_L, weighed_standard
from reef_calc.bench.weighing import budget_of, combined_u, u_of_flask, u_of_weighing
from reef_calc.chem.substances import adds_per_gram
from reef_calc.errors import InputError
from tests.trust import record_check

QUAM = "Eurachem/CITAC QUAM, 3rd ed. (2012), example A1"
APHA = "Standard Methods for the Examination of Water and Wastewater (APHA), {}, from memory"
EPA = "EPA method 365.1, stock phosphorus solution, from memory"
GLASS = {"u_balance_g": 0.0002, "u_flask_mL": 0.6}


def test_quam_a1() -> None:
    """QUAM A1, a standard by weight: 100.28 mg of purity 0.9999 in 100 mL. PUBLISHED."""
    flask = u_of_flask(100.0, 0.1, repeatability_mL=0.02)
    level = 1000 * 100.28 * 0.9999 / 100.0
    budget = budget_of(
        {
            "mass": (100.28, 0.05, level / 100.28),
            "purity": (0.9999, 0.0001 / math.sqrt(3), level / 0.9999),
            "flask": (100.0, flask, -level / 100.0),
        }
    )
    assert flask == pytest.approx(0.07, abs=0.005)  # as printed there
    assert (level, combined_u(budget)) == pytest.approx((1002.70, 0.835), abs=1e-3 + 1e-4)
    record_check(
        "T01 flask and budget", "uncertainty: a standard by weight, level and u (mg/L)",
        (1002.70, 0.835), (level, combined_u(budget)), QUAM, "PUBLISHED",
    )  # fmt: skip


def test_quam_a2_weighing() -> None:
    """QUAM A2: linearity 0.15 mg counted twice gives 0.12 mg (rounded there to 0.13 once)."""
    assert u_of_weighing(0.15) == pytest.approx(0.12, abs=0.005)


@pytest.mark.parametrize(
    ("element", "level", "unit", "salt", "grams", "half_digit", "source"),
    [
        ("nitrate", 100.0, "mg/L NO3-N", "potassium nitrate", 0.7218, 5e-5, APHA.format("4500-NO3")),
        ("phosphate", 100.0, "mg/L PO4-P", "potassium dihydrogen phosphate", 0.4393, 1e-4, EPA),
        ("potassium", 1000.0, "mg/L", "potassium chloride", 1.907, 5e-4, APHA.format("3500-K")),
    ],
)  # fmt: skip
def test_mass_of_the_handbook(
    element: str, level: float, unit: str, salt: str, grams: float, half_digit: float, source: str
) -> None:
    """A litre of the handbook's stock: the mass printed there. MEMORY."""
    found = weighed_standard(element, level, unit, 1000.0, salt=salt, **GLASS)
    mass = float(found.budget.value[0])
    assert mass == pytest.approx(grams, abs=half_digit)
    record_check(
        f"Stock of {element}", f"standards: {level:g} {unit} from {salt}, g/L",
        grams, mass, source, "MEMORY",
    )  # fmt: skip


def test_alkalinity_from_carbonate() -> None:
    """0.1 eq/L needs 5.2994 g of sodium carbonate (equivalent mass 52.994). COMPUTED."""
    found = weighed_standard("alkalinity", 100.0, "meq/L", 1000.0, **GLASS)
    assert found.budget.value[0] == pytest.approx(5.2994, abs=1e-4)
    assert found.cautions[0].startswith("The label")
    assert found.steps[0].startswith("Use it dried")


@pytest.mark.parametrize(
    ("element", "level", "unit"),
    [("alkalinity", 8.0, "dKH"), ("calcium", 420.0, "mg/L"), ("magnesium", 1300.0, "mg/L"),
     ("potassium", 400.0, "mg/L"), ("nitrate", 1000.0, "mg/L"), ("phosphate", 100.0, "mg/L")],
)  # fmt: skip
def test_propagation_against_uncertainties(element: str, level: float, unit: str) -> None:
    """Every element of the bench against the general-purpose package ``uncertainties``."""
    found = weighed_standard(
        element, level, unit, 500.0, u_balance_g=0.0005, u_flask_mL=0.4, purity=0.99,
        purity_half_width=0.01, blank=level / 50, u_blank=level / 200, matching_salinity=35.0,
    )  # fmt: skip
    values, us = found.budget.value, found.budget.u
    m, P, V, blank = (ufloat(value, u) for value, u in zip(values, us, strict=True))
    C = (level - level / 50) * (m / values[0]) * (P / values[1]) / (V / values[2]) + blank
    assert found.level == pytest.approx(level, rel=1e-12)
    assert found.u == pytest.approx(C.std_dev, rel=1e-9)
    assert found.budget.share.sum() == pytest.approx(1.0)
    assert any("that is the blank" in step for step in found.steps)


def test_dilution_and_spike_against_uncertainties() -> None:
    stock = weighed_standard("nitrate", 1000.0, "mg/L", 1000.0, **GLASS)
    Cs = ufloat(stock.level, stock.u)
    ten = diluted(stock, 10.0, 1000.0, u_taken_mL=0.05, u_flask_mL=0.6, blank=0.2, u_blank=0.1)
    share = ufloat(10.0, 0.05) / ufloat(1000.0, 0.6)
    C = Cs * share + ufloat(0.2, 0.1) * (1 - share)
    assert (ten.level, ten.u) == pytest.approx((C.nominal_value, C.std_dev), rel=1e-9)
    assert ten.u_stock == pytest.approx(stock.u / 100)
    found = spike_recovery(5.0, 14.0, stock, 1.0, 99.0, u_read=0.5, u_spike_mL=0.01, u_water_mL=0.5)
    Vs, Vw = ufloat(1.0, 0.01), ufloat(99.0, 0.5)
    R = (ufloat(14.0, 0.5) - ufloat(5.0, 0.5) * Vw / (Vw + Vs)) / (Cs * Vs / (Vw + Vs))
    assert (found.recovered, found.u) == pytest.approx((R.nominal_value, R.std_dev), rel=1e-9)


def test_series_reaches_its_levels_and_shares_the_stock() -> None:
    stock = weighed_standard("phosphate", 50.0, "mg/L", 1000.0, u_balance_g=0.0005, u_flask_mL=0.6)
    levels = [0.05, 0.1, 0.2]
    series = dilution_series(stock, levels, 1000.0, u_taken_mL=0.005, u_flask_mL=0.6, blank=0.01)
    assert [one.level for one in series] == pytest.approx(levels)
    assert all(0 < one.u_stock < one.u for one in series)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.floats(100.0, 900.0), st.floats(100.0, 2000.0), st.floats(0.9, 1.0))
def test_what_was_weighed_gives_the_level_back(level: float, flask: float, purity: float) -> None:
    glass = {"u_balance_g": 0.001, "u_flask_mL": 0.5, "purity": purity}
    planned = weighed_standard("calcium", level, "mg/L", flask, **glass)
    mass = float(planned.budget.value[0])
    assert weighed_standard("calcium", level, "mg/L", flask, mass_g=mass, **glass).level == (
        pytest.approx(level, rel=1e-12)
    )
    more = weighed_standard("calcium", level, "mg/L", flask, mass_g=1.1 * mass, **glass)
    assert more.level == pytest.approx(1.1 * level, rel=1e-12)
    per_gram = adds_per_gram("calcium chloride", hydrate=2, assay=purity)["calcium"]
    assert mass * per_gram == pytest.approx(level * flask / 1000.0, rel=1e-12)


def test_sodium_chloride_holds_as_much_salt_as_sea_water() -> None:
    """35.165 g/kg at 1.0248 kg/L (20 °C): 36.04 g/L. COMPUTED with TEOS-10."""
    assert sodium_chloride_g_per_L(35.0) == pytest.approx(36.04, abs=0.01)
    assert sodium_chloride_g_per_L(0.0) == 0.0


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"name": "boron"}, "makes test water for"),
        ({"salt": "potassium chloride"}, "a salt that adds nitrate"),
        ({"level": 0.5}, "Weigh for a stock"),
        ({"level": -1.0}, "above what the water itself holds"),
        ({"flask_mL": 0.0}, "the volume of the flask"),
        ({"u_flask_mL": -1.0}, "0 or more"),
        ({"purity": 99.0}, "97 % is written 0.97"),
        ({"mass_g": math.nan}, "a mass of salt"),
        ({"purity_half_width": -0.1}, "half-width of the purity"),
    ],
)  # fmt: skip
def test_refusals(changes: dict[str, object], words: str) -> None:
    arguments = {"name": "nitrate", "level": 1000.0, "unit": "mg/L", "flask_mL": 1000.0,
                 "u_balance_g": 0.001, "u_flask_mL": 0.5, **changes}  # fmt: skip
    with pytest.raises(InputError, match=words):
        weighed_standard(**arguments)  # type: ignore[arg-type]


def test_refusals_of_dilutions() -> None:
    stock = weighed_standard("nitrate", 1000.0, "mg/L", 100.0, **GLASS)
    glass = {"u_taken_mL": 0.05, "u_flask_mL": 0.6}
    with pytest.raises(InputError, match="between 0 and 100 mL"):
        diluted(stock, 150.0, 1000.0, **glass)
    with pytest.raises(InputError, match="a blank of 0 or more"):
        diluted(stock, 10.0, 1000.0, blank=-1.0, **glass)
    with pytest.raises(InputError, match="make a stronger stock"):
        dilution_series(stock, [2000.0], 1000.0, **glass)
    with pytest.raises(InputError, match="volumes above 0"):
        diluted(stock, 10.0, 0.0, **glass)
    with pytest.raises(InputError, match="two readings"):
        spike_recovery(math.nan, 1.0, stock, 1.0, 99.0, u_read=0.5, u_spike_mL=0.0, u_water_mL=0.0)
