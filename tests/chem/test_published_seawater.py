"""Rows S and C of the published checks: salinity, density, refraction, composition."""

from __future__ import annotations

import csv
from collections.abc import Callable

import gsw
import pytest

from reef_calc.chem import composition, seawater
from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.refraction import refractive_index, salinity_from_refractive_index
from reef_calc.chem.salinity_scales import salinity_from_specific_gravity, specific_gravity
from reef_calc.chem.units import convert
from tests.chem.eos80 import density_eos80
from tests.trust import DATA, check_published, published_checks

# The old sources state temperatures on IPTS-68: t90 = t68/1.00024 (Saunders 1990).
T68 = 1.00024
STANDARD_MS_PER_CM = 42.9140
SIXTY_F = (60.0 - 32.0) / 1.8


def _from_ratio(ratio: float, t68: float, pressure: float) -> float:
    return seawater.salinity_from_conductivity(
        ratio * STANDARD_MS_PER_CM, t68 / T68, pressure_dbar=pressure
    )


def _density(salinity: float, temperature: float, pressure: float = 0.0) -> float:
    return 1000.0 * seawater.density_kg_per_L(salinity, temperature, pressure_dbar=pressure)


SALINITY: dict[str, Callable[[], float | tuple[float, ...]]] = {
    "S01": lambda: seawater.salinity_from_conductivity(34.5487, 28.7856, pressure_dbar=10.0),
    "S02": lambda: seawater.conductivity_from_salinity(34.5487, 28.7856, pressure_dbar=10.0),
    "S03": lambda: _from_ratio(0.6990725, 10.0, 0.0),
    "S04": lambda: _from_ratio(0.6990725, 10.0, 1000.0),
    "S05": lambda: _from_ratio(1.1651206, 20.0, 1000.0),
    "S07": lambda: seawater.conductivity_from_salinity(35.0, 25.0),
    "S08": lambda: seawater.absolute_from_practical_salinity(35.0),
    "S09": lambda: density_eos80(0.0, 0.0),
    "S10": lambda: density_eos80(0.0, 30.0),
    "S11": lambda: density_eos80(35.0, 0.0),
    "S12": lambda: density_eos80(35.0, 30.0),
    "S13": lambda: _density(35.0, 0.0),
    "S14": lambda: _density(35.0, 0.0, 9989.8675),
    "S16": lambda: _density(35.0, 25.0),
    # In conservative temperature, which no tank meter shows: the library underneath is checked.
    "S17": lambda: float(gsw.rho(34.7118, 28.8099, 10.0)),
    "S18": lambda: specific_gravity(35.0, 25.0, 25.0),
    "S19": lambda: specific_gravity(35.0, 20.0, 20.0),
    "S20": lambda: specific_gravity(35.0, SIXTY_F, SIXTY_F),
    "S21": lambda: convert(1.0264, "SG 25/25", "PSU", "salinity"),
    "S23": lambda: (refractive_index(35.0, 20.0), refractive_index(35.0, 25.0)),
    "S24": lambda: (
        composition.normalise_level(400.0, "calcium", 33.0).naive,
        composition.normalise_level(400.0, "calcium", 33.0).density_corrected,
    ),
}

COMPOSITION = {
    "C02": "sodium", "C03": "magnesium", "C04": "calcium", "C05": "potassium", "C07": "chloride",
    "C08": "sulfate", "C09": "bromide", "C10": "fluoride", "C11": "boron",
}  # fmt: skip


@pytest.mark.parametrize("id", SALINITY)
def test_published_salinity_and_density(id: str) -> None:
    got = SALINITY[id]()
    check_published(id, *(got if isinstance(got, tuple) else (got,)))


def test_mean_molar_mass() -> None:
    check_published("C01", composition.mean_molar_mass_of_sea_salt())


@pytest.mark.parametrize("id", COMPOSITION)
def test_published_composition(id: str) -> None:
    level = composition.reference_levels(35.0, 25.0)[COMPOSITION[id]]
    assert level.mg_per_kg is not None
    assert level.mg_per_L is not None
    check_published(id, level.mmol_per_kg, level.mg_per_kg, level.mg_per_L)


def test_reference_alkalinity() -> None:
    level = composition.reference_levels(35.0, 25.0)["alkalinity"]
    assert level.meq_per_L is not None
    dkh = convert(level.meq_per_L, "meq/L", "dKH", "alkalinity")
    check_published("C12", 1000.0 * level.mmol_per_kg, level.meq_per_L, dkh)


def test_every_row_is_a_check() -> None:
    rows = {id for id in published_checks() if id[0] in "SC"}
    assert set(SALINITY) | set(COMPOSITION) | {"C01", "C12"} == rows


def _rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_mole_fractions_reproduce_the_published_mass_fractions() -> None:
    """Mole fractions MEMORY, mass fractions PUBLISHED (Millero et al. 2008, quoted in a handbook)."""
    published = {
        row["species"]: row["mass_fraction_of_salt"] for row in _rows("reference_seawater.csv")
    }
    mean = composition.mean_molar_mass_of_sea_salt()
    compared = 0
    for formula, one in composition._species().items():
        if published.get(formula):
            worked_out = one.mole_fraction * one.molar_mass / mean
            assert worked_out == pytest.approx(float(published[formula]), abs=6e-8)
            assert molar_mass(formula) == pytest.approx(one.molar_mass, rel=2e-4)
            compared += 1
    assert compared == 11


def test_density_agrees_with_eos80() -> None:
    """EOS-80 and TEOS-10 differ by less than 0.006 kg/m³ here, 0.008 in salinity (COMPUTED)."""
    for salinity in (5.0, 20.0, 30.0, 35.0, 40.0):
        for temperature in (5.0, 15.0, 20.0, 25.0, 30.0):
            old = density_eos80(salinity, temperature * T68)
            assert _density(salinity, temperature) == pytest.approx(old, abs=0.006)


def test_density_table() -> None:
    """COMPUTED with gsw 3.6.23, last digit."""
    for row in _rows("density.csv"):
        for heading in ("20C", "24C", "25C", "26C", "27C"):
            got = seawater.density_kg_per_L(float(row["S"]), float(heading[:-1]))
            assert got == pytest.approx(float(row[heading]), abs=6e-7)


def test_specific_gravity_table() -> None:
    """COMPUTED with gsw 3.6.23, last digit."""
    for row in _rows("specific_gravity.csv"):
        for heading in row:
            if heading != "S":
                word = heading.replace("_", " ")
                got = convert(float(row["S"]), "PSU", word, "salinity")
                assert got == pytest.approx(float(row[heading]), abs=6e-6), heading


def test_salinity_of_a_hydrometer_reading() -> None:
    """COMPUTED with gsw 3.6.23; the last column is a 25 °C sample on a 20 °C scale."""
    for row in _rows("sg_reading_to_S.csv"):
        reading = float(row["reading"])
        for word in ("25/25", "20/20", "60F/60F"):
            got = convert(reading, f"SG {word}", "PSU", "salinity")
            assert got == pytest.approx(float(row[f"S_if_{word}"]), abs=6e-4)
        got = salinity_from_specific_gravity(reading, 25.0, 20.0)
        wanted = float(row["S_if_25C_sample_on_20C_reference_no_correction"])
        assert got == pytest.approx(wanted, abs=6e-4)


def test_refractive_index_of_pure_water() -> None:
    """1.33299 at 20 °C and 589.3 nm (handbook value, from memory)."""
    assert refractive_index(0.0, 20.0) == pytest.approx(1.33299, abs=3e-5)
    assert salinity_from_refractive_index(refractive_index(33.0, 22.0), 22.0) == pytest.approx(33.0)
