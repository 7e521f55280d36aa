"""Rows U of the published checks: units, degrees and species."""

from __future__ import annotations

import csv
from collections.abc import Callable

import pytest

from reef_calc.chem import unit_pairs
from reef_calc.chem.units import convert
from tests.trust import DATA, check_published, published_checks

CHECKS: dict[str, Callable[[], float]] = {
    "U01": lambda: unit_pairs.dkh_from_meq_per_L(1.0),
    "U02": lambda: unit_pairs.meq_per_L_from_dkh(1.0),
    "U03": lambda: unit_pairs.caco3_from_dkh(1.0),
    "U04": lambda: convert(1.0, "meq/L", "mg/L as CaCO3", "alkalinity"),
    "U05": lambda: convert(1.0, "dKH", "mg/L as HCO3", "alkalinity"),
    "U06": lambda: convert(8.0, "dKH", "µmol/kg", "alkalinity", salinity=35.0, temperature_C=25.0),
    "U07": lambda: convert(2300.0, "µmol/kg", "dKH", "alkalinity", density_kg_per_L=1.0233436),
    "U08": lambda: unit_pairs.nitrate_from_nitrate_nitrogen(1.0),
    "U09": lambda: convert(1.0, "mg/L PO4-P", "mg/L PO4", "phosphate"),
    "U11": lambda: unit_pairs.phosphorus_from_phosphate(0.05),
    "U12": lambda: convert(1.0, "mg/L NH3-N", "mg/L NH4", "ammonia"),
    "U13": lambda: convert(1.0, "mg/L NO2-N", "mg/L NO2", "nitrite"),
    "U14": lambda: convert(1.0, "mg/L", "mg/L as CaCO3", "calcium"),
    "U15": lambda: convert(1.0, "mg/L", "mg/L as CaCO3", "magnesium"),
    "U16": lambda: unit_pairs.dgh_from_total_hardness(1.0),
    "U17": lambda: unit_pairs.dkh_from_caco3(50.0),
}


@pytest.mark.parametrize("id", CHECKS)
def test_published_unit(id: str) -> None:
    check_published(id, CHECKS[id]())


def test_every_unit_row_is_a_check() -> None:
    assert set(CHECKS) == {id for id in published_checks() if id.startswith("U")}


# Row of the factor table -> element and words of this package. Rows that start in dGH go through
# mmol/L of calcium and magnesium; CaO and MgO are no levels of a tank and are left out.
WORDS = {
    ("meq/L", "dKH"): ("alkalinity", "meq/L", "dKH"),
    ("dKH", "meq/L"): ("alkalinity", "dKH", "meq/L"),
    ("dKH", "mg/L as CaCO3"): ("alkalinity", "dKH", "mg/L as CaCO3"),
    ("meq/L", "mg/L as CaCO3"): ("alkalinity", "meq/L", "mg/L as CaCO3"),
    ("meq/L", "mmol/L alkalinity (monovalent)"): ("alkalinity", "meq/L", "mmol/L alkalinity"),
    ("dKH", "mg/L HCO3"): ("alkalinity", "dKH", "mg/L as HCO3"),
    ("dKH", "mmol/kg (S35 25C)"): ("alkalinity", "dKH", "mmol/kg"),
    ("mmol/kg (S35 25C)", "dKH"): ("alkalinity", "mmol/kg", "dKH"),
    ("dGH", "mmol/L Ca+Mg"): ("calcium", "mmol/L", "mmol/L"),
    ("dGH", "mg/L Ca (all as Ca)"): ("calcium", "mmol/L", "mg/L"),
    ("dGH", "mg/L Mg (all as Mg)"): ("magnesium", "mmol/L", "mg/L"),
    ("mg/L Ca", "mg/L as CaCO3"): ("calcium", "mg/L Ca", "mg/L as CaCO3"),
    ("mg/L Mg", "mg/L as CaCO3"): ("magnesium", "mg/L Mg", "mg/L as CaCO3"),
    ("NO3-N", "NO3"): ("nitrate", "mg/L NO3-N", "mg/L NO3"),
    ("NO2-N", "NO2"): ("nitrite", "mg/L NO2-N", "mg/L NO2"),
    ("NH3-N", "NH4"): ("ammonia", "mg/L NH3-N", "mg/L NH4"),
    ("NH3-N", "NH3"): ("ammonia", "mg/L NH3-N", "mg/L NH3"),
    ("PO4-P", "PO4"): ("phosphate", "mg/L PO4-P", "mg/L PO4"),
    ("ug/L P", "mg/L PO4"): ("phosphate", "ug/L P", "mg/L PO4"),
    ("mg/L PO4", "ug/L P"): ("phosphate", "mg/L PO4", "ug/L P"),
    ("SO4-S", "SO4"): ("sulfate", "mg/L SO4-S", "mg/L SO4"),
    ("B", "H3BO3"): ("boron", "mg/L B", "mg/L H3BO3"),
    ("SiO2-Si", "SiO2"): ("silicate", "mg/L SiO2-Si", "mg/L SiO2"),
    ("mg/kg", "mg/L (S35 25C)"): ("calcium", "mg/kg", "mg/L"),
}


def _factors() -> dict[tuple[str, str], str]:
    with (DATA / "units_factors.csv").open(encoding="utf-8", newline="") as file:
        return {(row["from"], row["to"]): row["exact_factor"] for row in csv.DictReader(file)}


@pytest.mark.parametrize("row", WORDS, ids=" to ".join)
def test_table_of_factors(row: tuple[str, str]) -> None:
    """COMPUTED with CIAAW 2021 weights; the table inverts some rounded factors: 3 in the last digit."""
    printed = _factors()[row]
    element, start, end = WORDS[row]
    one = unit_pairs.total_hardness_from_dgh(1.0) if row[0] == "dGH" else 1.0
    got = convert(one, start, end, element, salinity=35.0, temperature_C=25.0)
    last_digit = 10.0 ** -len(printed.partition(".")[2])
    assert got == pytest.approx(float(printed), abs=3 * last_digit)


def test_every_factor_is_a_check() -> None:
    assert set(_factors()) - set(WORDS) == {("dKH", "mg/L CaO"), ("dGH", "mg/L MgO")}
