"""Unit words and conversion: traps, round trips, scaling, species, speed."""

from __future__ import annotations

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem import unit_pairs
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.unit_words import linear_units
from reef_calc.chem.units import accepted_units, check_unit, convert, factor_between, registry
from reef_calc.errors import InputError, UnitError

WATER = {"salinity": 35.0, "temperature_C": 25.0}


def test_every_element_accepts_its_own_units() -> None:
    for described in ELEMENTS.values():
        for word in (described.store_unit, described.display_unit):
            assert check_unit(word, described.name) == word


@pytest.mark.parametrize(
    ("typed", "element", "word"),
    [
        ("mg/l", "calcium", "mg/L"),
        ("mg / L", "calcium", "mg/L"),
        ("\u00b5g/L P", "phosphate", "µg/L P"),
        ("\u03bcg/L P", "phosphate", "µg/L P"),
        ("ug/l  P", "phosphate", "µg/L P"),
        ("mg/L PO₄", "phosphate", "mg/L PO4"),
        ("mg/L NO3 - N", "nitrate", "mg/L NO3-N"),
        ("mg/L as NO3", "nitrate", "mg/L NO3"),
        ("°dKH", "alkalinity", "dKH"),
        ("DKH", "alkalinity", "dKH"),
        ("umol/kg", "alkalinity", "µmol/kg"),
        ("ueq/L", "alkalinity", "µeq/L"),
        ("mg/L CaCO3", "alkalinity", "mg/L as CaCO3"),
        ("psu", "salinity", "PSU"),
        ("mS/cm", "salinity", "mS/cm at 25 °C"),
        ("sg 20°C/20°C", "salinity", "SG 20/20"),
        ("SG 60°F/60°F", "salinity", "SG 60F/60F"),
        ("g/cm³ at 25 °C", "salinity", "g/cm3 at 25 °C"),
        ("℃", "temperature", "°C"),
        ("ph", "pH", "pH"),
    ],
)
def test_accepted_spellings(typed: str, element: str, word: str) -> None:
    assert check_unit(typed, element) == word


@pytest.mark.parametrize(
    ("typed", "element", "words"),
    [
        ("8,2 mg/L", "calcium", "value column"),
        ("ppm", "calcium", "mg/L or mg/kg"),
        ("ppm NO3", "nitrate", "mg/L NO3 or mg/kg NO3"),
        ("ppb", "phosphate", "µg/L or µg/kg"),
        ("ppm", "alkalinity", "mg/L as CaCO3"),
        ("ppt", "salinity", "PSU"),
        ("ppt", "calcium", "write mg/L"),
        ("‰", "salinity", "PSU"),
        ("dH", "alkalinity", "write dKH"),
        ("°dH", "alkalinity", "write dKH"),
        ("°", "alkalinity", "such as dKH"),
        ("KH", "alkalinity", "write dKH"),
        ("dH", "calcium", "hardness"),
        ("dGH", "calcium", "magnesium together"),
        ("MG/L", "calcium", "Capitals"),
        ("Mg/L", "calcium", "Capitals"),
        ("MEQ/L", "alkalinity", "Write meq/L"),
        ("dKH", "calcium", "unit of alkalinity, not of calcium"),
        ("mg/L NO3", "ammonia", "unit of nitrate"),
        ("mmol/L", "alkalinity", "2 mmol/L"),
        ("mmol/L CaCO3", "alkalinity", "2 mmol/L"),
        ("µmol/L", "alkalinity", "2 mmol/L"),
        ("mg/L", "alkalinity", "not of alkalinity"),
        ("SG", "salinity", "both reference temperatures"),
        ("", "calcium", "empty"),
        ("1e3", "calcium", "value column"),
        ("fathoms", "pH", "such as pH"),
    ],
)
def test_refused_words(typed: str, element: str, words: str) -> None:
    with pytest.raises(UnitError) as caught:
        check_unit(typed, element, "readings.csv row 3, unit")
    assert words in caught.value.repair
    assert str(caught.value).startswith("readings.csv row 3, unit: ")
    for word in accepted_units(element):
        assert word in caught.value.needed


def test_what_the_closed_list_protects_from() -> None:
    """The unit library alone takes these without a word (regression: measured with pint 0.25)."""
    units = registry()
    assert units.Quantity("8,2 mg/L").magnitude == 82
    assert units.Quantity(1, "ppt").check("[]") is False
    assert units.Quantity(1, "dH").check("[]") is False
    assert units.Quantity(1, "MG/L").check("[]") is False


def test_equivalents_need_a_charge_number() -> None:
    units = registry()
    with pytest.raises(pint.DimensionalityError):
        units.Quantity(8.0, "dKH").to("millimole/liter")
    with_charge = units.Quantity(8.0, "dKH") / units.Quantity(2.0, "equivalent/mole")
    assert with_charge.to("millimole/liter").magnitude == pytest.approx(8 * 0.356652 / 2, rel=1e-5)


def test_a_factor_needs_two_units_of_one_kind() -> None:
    nitrate = linear_units("nitrate")
    with pytest.raises(UnitError, match="two units of one kind"):
        factor_between(nitrate["mg/L"], nitrate["mg/kg"])


@pytest.mark.parametrize("name", ELEMENTS)
def test_every_pair_closes_its_loop(name: str) -> None:
    usual = {"salinity": 35.0, "temperature": 25.0, "pH": 8.2}.get(name, 3.7)
    for start in accepted_units(name):
        value = convert(usual, ELEMENTS[name].store_unit, start, name, **WATER)
        for end in accepted_units(name):
            there = convert(value, start, end, name, **WATER)
            assert convert(there, end, start, name, **WATER) == pytest.approx(value, rel=1e-9)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.data())
def test_proportional_units_scale_and_take_arrays(data: st.DataObject) -> None:
    name = data.draw(st.sampled_from([name for name in ELEMENTS if linear_units(name)]))
    start, end = (data.draw(st.sampled_from(accepted_units(name))) for _ in range(2))
    value = data.draw(st.floats(1e-3, 1e4))
    once = convert(value, start, end, name, **WATER)
    assert isinstance(once, float)
    assert convert(3.0 * value, start, end, name, **WATER) == pytest.approx(3.0 * once, rel=1e-12)
    array = convert(np.array([value, np.nan, 3.0 * value]), start, end, name, **WATER)
    assert array == pytest.approx(np.array([once, np.nan, 3.0 * once]), rel=1e-12, nan_ok=True)


@pytest.mark.parametrize(("label", "formula"), [("NO3", "NO3"), ("NO3-N", "N")])
def test_species_weigh_the_same_amount(label: str, formula: str) -> None:
    assert convert(1.0, "mmol/L", f"mg/L {label}", "nitrate") == pytest.approx(molar_mass(formula))


def test_per_kilogram_needs_the_water() -> None:
    for water in ({}, {"salinity": 35.0}, {"temperature_C": 25.0}):
        with pytest.raises(InputError, match="density of the water"):
            convert(420.0, "mg/kg", "mg/L", "calcium", **water)
    assert convert(1.0, "mg/kg", "mg/L", "calcium", density_kg_per_L=1.025) == 1.025
    with pytest.raises(InputError, match=r"about 1\.023"):
        convert(1.0, "mg/kg", "mg/L", "calcium", density_kg_per_L=1023.0)
    with pytest.raises(InputError, match="between 0 and 42"):
        convert(1.0, "mg/kg", "mg/L", "calcium", salinity=53.0, temperature_C=25.0)


def test_within_one_kind_the_water_does_not_matter() -> None:
    assert convert(1.0, "mg/kg", "µg/kg", "calcium") == pytest.approx(1000.0)


@pytest.mark.parametrize(
    ("value", "unit"), [(35.0, "SG 25/25"), (0.99, "SG 20/20"), (530.0, "mS/cm"), (77.0, "g/kg")]
)
def test_salinity_outside_its_scale_is_refused(value: float, unit: str) -> None:
    with pytest.raises(InputError, match=r"readings\.csv row 2"):
        convert(value, unit, "PSU", "salinity", where="readings.csv row 2")


def test_salinity_arrays() -> None:
    readings = np.array([1.0230, np.nan, 1.0264])
    got = convert(readings, "SG 25/25", "PSU", "salinity")
    assert got[[0, 2]] == pytest.approx([30.542, 35.035], abs=1e-3)
    assert np.isnan(got[1])


def test_fahrenheit() -> None:
    """212 °F and 32 °F: definition."""
    assert convert(212.0, "°F", "°C", "temperature") == pytest.approx(100.0)
    assert convert(0.0, "°C", "°F", "temperature") == pytest.approx(32.0)


PAIRS = [
    (unit_pairs.dkh_from_meq_per_L, unit_pairs.meq_per_L_from_dkh),
    (unit_pairs.caco3_from_dkh, unit_pairs.dkh_from_caco3),
    (unit_pairs.nitrate_from_nitrate_nitrogen, unit_pairs.nitrate_nitrogen_from_nitrate),
    (unit_pairs.phosphate_from_phosphorus, unit_pairs.phosphorus_from_phosphate),
    (unit_pairs.dgh_from_total_hardness, unit_pairs.total_hardness_from_dgh),
]


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: pair[0].__name__)
def test_named_pairs_close_their_loop(pair: tuple) -> None:
    there, back = pair
    assert back(there(4.2)) == pytest.approx(4.2, rel=1e-12)
    array = np.array([0.1, 4.2])
    assert there(back(array)) == pytest.approx(array, rel=1e-12)
