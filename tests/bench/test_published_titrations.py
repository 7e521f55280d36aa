"""Rows T08 to T27 of the published checks: titrations, charts, drops, dilution."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from reef_calc.bench.acid_titration import alkalinity_from_acid_titration, gran_line
from reef_calc.bench.chart import level_from_chart
from reef_calc.bench.kit_parts import Precipitant, Titrant
from reef_calc.bench.kits import Kit
from reef_calc.bench.readings import RawReading
from reef_calc.bench.results_of_kits import result_of
from reef_calc.bench.titration import (
    concentration_from_back_titration,
    concentration_from_titrant,
    factor_from_standard,
    level_from_drops,
    titrant_for_concentration,
    undiluted,
)
from reef_calc.bench.uncertainty import Quantity
from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.units import convert
from tests.bench.published import also
from tests.trust import check_published, record_check

DATA = Path(__file__).parents[1] / "data"


def test_iodide_by_back_titration() -> None:
    # With 1 mL as the sample, mol/L are mmol in all.
    mmol = concentration_from_back_titration(
        35.14,
        precipitant_mol_per_L=0.05619,
        precipitant_mL=50.00,
        titrant_mol_per_L=0.05322,
        sample_mL=1.0,
    )
    check_published("T08", mmol * 126.9 / 1000.0 / 0.6712 * 100.0)


def test_volume_for_a_diprotic_end_point() -> None:
    volume = titrant_for_concentration(
        0.0656, titrant_mol_per_L=0.1500, sample_mL=40.00, ratio=1 / 2
    )
    check_published("T10", volume)


def test_standardising_a_base() -> None:
    mmol = 0.3420 / molar_mass("KHC8H4O4") * 1000.0
    check_published("T11", concentration_from_titrant(mmol, titrant_mol_per_L=1.0, sample_mL=35.73))


def test_hardness() -> None:
    found = concentration_from_titrant(12.4, titrant_mol_per_L=0.0300, sample_mL=50.00)
    also("T12", "mol/L", (7.44e-3,), (found,), 5e-6)
    also("T12", "mg/L as CaCO3", (744.0,), (found * 1000.0 * 100.0,), 0.5)
    found = concentration_from_titrant(14.40, titrant_mol_per_L=0.0500, sample_mL=50.0)
    check_published("T13", found * 1000.0 * 100.1)


def test_two_titrations_of_hardness() -> None:
    kit = Kit(
        "hardness",
        "magnesium",
        "two titrations",
        "mmol/L",
        sample_mL=50.00,
        titrant=Titrant(0.01205, None, ""),
    )
    lime = molar_mass("CaCO3")
    total, calcium = (
        1000.0 * concentration_from_titrant(v, titrant_mol_per_L=0.01205, sample_mL=50.0)
        for v in (23.65, 14.53)
    )
    magnesium = result_of(kit, RawReading(23.65, second=14.53)).level
    check_published("T14", total * lime)
    also("T14", "CaCO3 mg/L", (350.47,), (calcium * lime,), 0.05)
    also("T14", "MgCO3 mg/L", (185.31,), (magnesium * molar_mass("MgCO3"),), 0.05)


def test_standardising_with_a_blank() -> None:
    standard = 0.4243 / molar_mass("CaCO3") / 0.2500
    strength = titrant_for_concentration(
        standard, titrant_mol_per_L=1.0, sample_mL=25.00
    ) / (24.95 - 3.21)  # fmt: skip
    also("T15", "titrant mol/L", (0.0195002,), (strength,), 1e-6)
    found = concentration_from_titrant(
        31.84, blank_mL=3.21, titrant_mol_per_L=strength, sample_mL=100.0
    )
    also("T15", "CaCO3 mg/L", (558.77,), (found * 1000.0 * molar_mass("CaCO3"),), 0.05)


def test_chloride_by_weighing() -> None:
    chloride = 0.8329 / molar_mass("AgCl") / 0.01000
    check_published("T17", chloride)
    also("T17", "% w/v as NaCl", (3.3963,), (chloride * molar_mass("NaCl") / 10.0,), 1e-3)


def test_dissolved_oxygen() -> None:
    found = concentration_from_titrant(
        7.85, titrant_mol_per_L=0.02500, sample_mL=201.0, ratio=1 / 4
    )
    check_published("T18", undiluted(found, 300.0 / (300.0 - 2.0)) * 31998.0)


def test_alkalinity_with_an_electrode() -> None:
    with (DATA / "sop3b.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.reader(file) if row and row[0][0].isdigit()]
    data = np.array(rows, dtype=float)
    found = alkalinity_from_acid_titration(
        data[:, 0] * 1.02393e-3,
        data[:, 1],
        sample_kg=0.14032,
        acid_mol_per_kg=0.10046,
        salinity=33.923,
        temperature_C=24.25,
    )
    also("T19", "µmol/kg", (2260.06,), (found.alkalinity_mol_per_kg * 1e6,), 2.0)
    also("T19", "E0 in mV", (394.401,), (found.standard_mV,), 0.1)
    assert 0.1e-6 < found.u_mol_per_kg < 1e-6


def test_alkalinity_by_gran() -> None:
    data = np.loadtxt(DATA / "dickson1981.csv")
    got = []
    for upper in (3.3, 3.5, 3.9):
        acid, ph = data[(data[:, 1] >= 3.0) & (data[:, 1] <= upper), :2].T
        got.append(gran_line(acid, 200.0, 10.0**-ph).equivalence * 0.3 / 200.0 * 1e6)
    also("T20", "Gran, µmol/kg", (2450.14, 2447.28, 2440.65), tuple(got), 0.1)
    assert got[0] == pytest.approx(2450.0, abs=0.5)  # the true value of the data


POTASSIUM = Kit(
    "potassium",
    "potassium",
    "back titration",
    "mg/L",
    resolution=5.0,
    repeatability_sd=8.0,
    repeatability_from="typed",
    sample_mL=5.00,
    titrant=Titrant(0.010, 20.0, ""),
    precipitant=Precipitant(0.025, 10.00),
    aliquot_mL=10.00,
    total_mL=15.00,
)


def test_potassium_by_back_titration() -> None:
    check_published(
        "T21", *(result_of(POTASSIUM, RawReading(v)).level for v in (16.40, 13.10, 11.70))
    )


def test_titre_factor() -> None:
    kit = Kit("acid", "alkalinity", "meter", "dKH", resolution=0.1)
    plain = Quantity(factor_from_standard(8.00, 8.4))
    above = Quantity(factor_from_standard(8.00, 8.4, 0.1))
    got = (
        result_of(kit, RawReading(7.7), lot_titre=plain).level,
        result_of(kit, RawReading(7.7), lot_titre=above, blank=Quantity(0.1)).level,
    )
    check_published("T24", *got)


def test_dilution() -> None:
    kit = Kit("nitrate", "nitrate", "meter", "mg/L", resolution=0.5)
    check_published(
        "T25",
        result_of(kit, RawReading(12.0, dilution=4.0)).level,
        result_of(kit, RawReading(12.0, dilution=4.0, diluent_level=0.3)).level,
    )


def test_charts() -> None:
    rising = list(zip([0.0, 0.05, 0.12, 0.22, 0.40, 0.80], [0, 2, 5, 10, 20, 50], strict=True))
    falling = list(zip([0.90, 0.74, 0.58, 0.42], [300, 350, 400, 450], strict=True))
    check_published("T26", level_from_chart(0.31, rising), level_from_chart(0.66, falling))


def test_drops() -> None:
    check_published("T27", level_from_drops(16, 1.0, half_drop=True))
    kit = Kit("drops", "alkalinity", "drop count", "dKH", resolution=0.5, half_drop=True)
    found = result_of(kit, RawReading(16))
    u = found.budget.set_index("source")["contribution"]["smallest step of the scale"]
    also("T27", "dKH and u of the drop", (7.75, 0.144), (found.level, u), 1e-3)


# Worked by hand from the formulas and the atomic weights; the inputs are invented.
BY_HAND = ("own example", "COMPUTED (hand arithmetic)")


def test_alkalinity_worked_by_hand() -> None:
    kit = Kit(
        "acid",
        "alkalinity",
        "direct titration",
        "dKH",
        resolution=0.14,
        repeatability_sd=1e-6,
        repeatability_from="typed",
        sample_mL=4.0,
        titrant=Titrant(0.0200, 1.0, ""),
    )
    found = result_of(kit, RawReading(filled_mL=1.0, left_mL=0.44))
    got = (convert(found.level, "dKH", "meq/L", "alkalinity"), found.level)
    record_check("Q21", "direct: 0.56 mL of 0.02 mol/L on 4 mL", (2.80, 7.85), got, *BY_HAND)
    assert got == pytest.approx((2.80, 7.85), abs=0.005)
    # Both ends of the syringe are read: twice one resolution in the variance.
    assert found.u == pytest.approx(0.14 / np.sqrt(6.0), rel=1e-6)


def test_calcium_and_magnesium_worked_by_hand() -> None:
    calcium = Kit(
        "Ca", "calcium", "direct titration", "mg/L", sample_mL=5.0, titrant=Titrant(0.01, None, "")
    )
    both = Kit(
        "Mg", "magnesium", "two titrations", "mg/L", sample_mL=1.0, titrant=Titrant(0.05, None, "")
    )
    got_calcium = result_of(calcium, RawReading(5.25)).level
    volume = Quantity(1.27, 0.02)
    part = Quantity(10.50, 0.02 * 0.01 / 5.0 * 1000.0)
    found = result_of(both, RawReading(1.27, part=part), known={"titrant_mL": volume})
    got = (got_calcium, found.level)
    record_check("Q23", "two titrations: Ca and Mg", (420.8, 1288.0), got, *BY_HAND)
    assert got_calcium == pytest.approx(420.8, abs=0.05)
    assert found.level == pytest.approx(1288.0, abs=0.5)
    row = found.budget.set_index("source")["contribution"]
    assert row["titrant used"] == pytest.approx(24.0, abs=0.5)


def test_one_standard_by_factor_and_by_difference() -> None:
    factor, difference = factor_from_standard(8.4, 8.9) * 7.6, 7.6 - (8.9 - 8.4)
    record_check("Q25", "titre factor: one standard", (7.17, 7.10), (factor, difference), *BY_HAND)
    assert (factor, difference) == pytest.approx((7.17, 7.10), abs=0.005)
