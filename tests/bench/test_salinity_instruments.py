"""Salinity instruments against tables of TEOS-10, and what one mistake does."""

from __future__ import annotations

import csv
import itertools
import math
from dataclasses import replace

import gsw
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.bench.salinity_instruments import (
    SCALES,
    SalinityReading,
    reading_of_salinity,
    salinity_of_reading,
)
from reef_calc.bench.salinity_mistakes import glass_effect, taken_otherwise
from reef_calc.bench.salinity_table import on_every_scale, salinity_with_uncertainty
from reef_calc.bench.top_off import level_after_top_off, salinity_after_top_off
from reef_calc.bench.uncertainty import Quantity
from reef_calc.errors import InputError
from tests.trust import DATA, record_check

# COMPUTED with gsw 3.6.23 (TEOS-10), as printed in the data files.
TEOS = "TEOS-10 densities, computed with gsw"
EVERY = [(name, made) for name, one in SCALES.items() for made in one.made_for or ("",)]


def rows(file: str) -> list[dict[str, str]]:
    with (DATA / file).open(encoding="utf-8", newline="") as content:
        return list(csv.DictReader(content))


def gravity(value: float, made_for: str, **more: object) -> SalinityReading:
    return SalinityReading("specific gravity", value, 0.001, made_for=made_for, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("row", rows("sg_reading_to_S.csv"), ids=lambda row: row["reading"])
def test_salinity_of_a_specific_gravity(row: dict[str, str]) -> None:
    value = float(row["reading"])
    got = [
        salinity_of_reading(gravity(value, made_for))
        for made_for in ("25/25 °C", "20/20 °C", "60/60 °F")
    ]
    got.append(salinity_of_reading(gravity(value, "20/20 °C", sample_C=25.0, corrects=False)))
    expected = [float(row[name]) for name in list(row)[1:]]
    record_check(
        f"B-SG {value}", "salinity instruments: specific gravity read on four scales",
        expected, got, TEOS, "COMPUTED",
    )  # fmt: skip
    assert got == pytest.approx(expected, abs=6e-4)


COLUMNS = {
    "SG_15/15": "15/15 °C", "SG_60F/60F": "60/60 °F", "SG_20/20": "20/20 °C",
    "SG_25/25": "25/25 °C", "SG_25/20": "25/20 °C", "SG_25/60F": "25 °C/60 °F",
    "SG_20/4": "20/4 °C", "SG_25/4": "25/4 °C",
}  # fmt: skip


@pytest.mark.parametrize("row", rows("specific_gravity.csv"), ids=lambda row: row["S"])
def test_specific_gravity_on_every_scale(row: dict[str, str]) -> None:
    shown = on_every_scale(Quantity(float(row["S"]), 0.1))
    by = {one.reading.made_for: one for one in shown if one.reading.scale == "specific gravity"}
    for column, made_for in COLUMNS.items():
        assert by[made_for].reading.value == pytest.approx(float(row[column]), abs=6e-6)


@pytest.mark.parametrize("row", rows("density.csv"), ids=lambda row: row["S"])
def test_density_read_without_correction(row: dict[str, str]) -> None:
    for column in ("20C", "24C", "25C", "26C", "27C"):
        reading = SalinityReading(
            "density", float(row[column]), 1e-4, float(column[:2]), "20 °C", corrects=False
        )
        assert salinity_of_reading(reading) == pytest.approx(float(row["S"]), abs=1e-3)


def test_conductivity_and_refraction() -> None:
    # S07 and S23 of the published checks: gsw; Quan and Fry (1995).
    shown = {
        (one.reading.scale, one.reading.made_for): one.reading.value
        for one in on_every_scale(Quantity(35.0, 0.1))
    }
    assert shown["conductivity", "25 °C"] == pytest.approx(53.0710, abs=1e-4)
    assert shown["refractive index", "20 °C"] == pytest.approx(1.339406, abs=1e-6)
    assert shown["refractive index", "25 °C"] == pytest.approx(1.338858, abs=1e-6)
    assert shown["absolute salinity", ""] == pytest.approx(35.16504, abs=1e-9)
    # From memory: about 1.5 high at 35.
    assert shown["refractometer, sodium-chloride scale", "20 °C"] == pytest.approx(36.5)


@pytest.mark.parametrize(("name", "made_for"), EVERY)
@pytest.mark.parametrize("corrects", [True, False])
@settings(max_examples=8, deadline=None, derandomize=True)
@given(salinity=st.floats(5.0, 41.0), sample_C=st.floats(10.0, 29.9))
def test_there_and_back(
    name: str, made_for: str, corrects: bool, salinity: float, sample_C: float
) -> None:
    empty = SalinityReading(name, math.nan, 0.1, sample_C, made_for, corrects)
    try:
        full = replace(empty, value=reading_of_salinity(salinity, empty))
        found = salinity_of_reading(full)
    except InputError:
        # A refractometer whose scale ends before this water begins.
        assert name.startswith("refractometer")
        assert not corrects
        return
    assert found == pytest.approx(salinity, abs=1e-6)


@pytest.mark.parametrize(("name", "made_for"), EVERY)
@pytest.mark.parametrize("corrects", [True, False])
def test_uncertainty_against_a_direct_difference(name: str, made_for: str, corrects: bool) -> None:
    empty = SalinityReading(name, math.nan, SCALES[name].step, 24.0, made_for, corrects, 0.3)
    reading = replace(empty, value=reading_of_salinity(33.0, empty))

    def at(step: float, warmer: float) -> float:
        return salinity_of_reading(
            replace(reading, value=reading.value + step, sample_C=24.0 + warmer)
        )

    d = reading.step / math.sqrt(12.0)
    parts = [(at(d / 10, 0.0) - at(-d / 10, 0.0)) / 0.2]
    t = 0.3 / math.sqrt(3.0)
    parts.append((at(0.0, t / 10) - at(0.0, -t / 10)) / 0.2)
    if name.endswith("sodium-chloride scale"):
        parts.append(33.0 * 0.5 / 36.5 / math.sqrt(3.0))
    found = salinity_with_uncertainty(reading)
    assert found.value == pytest.approx(33.0, abs=1e-9)
    assert found.u == pytest.approx(math.hypot(*parts), rel=1e-3)


def test_pure_water_is_read_too() -> None:
    assert salinity_with_uncertainty(gravity(1.0, "25/25 °C")).value == pytest.approx(0.0, abs=1e-3)
    shown = on_every_scale(Quantity(0.0, 0.1), 31.0)
    refused = {(one.reading.scale, one.reading.sample_C) for one in shown if one.refused}
    assert refused == {("conductivity", 25.0), ("conductivity", 31.0), ("refractive index", 31.0)}
    assert all("needed" in one.refused for one in shown if one.refused)


def test_one_mistake() -> None:
    # bench sheet: 25/25 against 20/20 is 0.3, a sample at 25 °C on a 20 °C scale 1.9 (COMPUTED).
    read = gravity(1.0264, "20/20 °C", sample_C=25.0, corrects=False)
    by = {one.words: one.difference for one in taken_otherwise(read)}
    assert by["if the instrument did correct for the temperature"] == pytest.approx(-1.88, abs=5e-3)
    corrects = {one.words: one.difference for one in taken_otherwise(gravity(1.0264, "20/20 °C"))}
    assert corrects["if the scale were made for 25/25 °C"] == pytest.approx(0.305, abs=5e-4)
    # 60 mS/cm at 25 °C is no sea water a corrected scale for 20 °C could show.
    meter = SalinityReading("conductivity", 60.0, 0.1, made_for="25 °C")
    first = taken_otherwise(meter)[0]
    assert (first.words, first.salinity) == ("if the scale were made for 20 °C", None)
    sizes = [abs(one.difference or math.inf) for one in taken_otherwise(read)]
    assert all(one >= after for one, after in itertools.pairwise(sizes))


def test_glass_grows_with_warmth() -> None:
    # A hydrometer of mass m floats where m = ρ·V(t); what it shows is ρ·V(t)/V(made).
    shown = float(gsw.rho_t_exact(35.16504, 25.0, 0.0) / gsw.rho_t_exact(0.0, 20.0, 0.0))
    shown *= 1.0 + 25e-6 * 5.0
    reading = gravity(shown, "20/20 °C", sample_C=25.0, corrects=False)
    assert salinity_of_reading(reading) - glass_effect(reading) == pytest.approx(35.0, abs=0.001)
    assert glass_effect(gravity(1.026, "20/20 °C")) == 0.0


@pytest.mark.parametrize(
    "made",
    [
        lambda: SalinityReading("brix", 8.0, 0.1),
        lambda: gravity(1.026, "30/30 °C"),
        lambda: gravity(1.026, ""),
        lambda: SalinityReading("practical salinity", 35.0, 0.0),
        lambda: SalinityReading("practical salinity", 35.0, math.nan),
        lambda: gravity(1.026, "20/20 °C", sample_half_width_C=-1.0),
        lambda: salinity_of_reading(gravity(26.0, "20/20 °C")),
        lambda: salinity_of_reading(SalinityReading("practical salinity", 53.0, 0.1)),
        lambda: salinity_of_reading(gravity(1.026, "20/20 °C", sample_C=77.0, corrects=False)),
    ],
)
def test_what_cannot_be_is_refused(made) -> None:
    with pytest.raises(InputError, match="needed"):
        made()


@settings(max_examples=30, deadline=None, derandomize=True)
@given(salinity=st.floats(1.0, 41.0), missing=st.floats(0.0, 30.0))
def test_top_off_keeps_the_salt(salinity: float, missing: float) -> None:
    after = salinity_after_top_off(salinity, missing, 300.0)
    before_kg = (300.0 - missing) * float(gsw.rho_t_exact(salinity * 35.16504 / 35, 25.0, 0)) / 1000
    after_kg = before_kg + missing * float(gsw.rho_t_exact(0.0, 25.0, 0.0)) / 1000
    assert after * after_kg == pytest.approx(salinity * before_kg, rel=1e-12)
    # Per litre: what is left fills 300 L, as near as volumes add up.
    per_litre = after * float(gsw.rho_t_exact(after * 35.16504 / 35, 25.0, 0.0)) / 1000
    read = salinity * float(gsw.rho_t_exact(salinity * 35.16504 / 35, 25.0, 0.0)) / 1000
    assert per_litre == pytest.approx(level_after_top_off(read, missing, 300.0), rel=2e-4)


@pytest.mark.parametrize(
    ("missing", "net"), [(-1.0, 300.0), (300.0, 300.0), (1.0, 0.0), (1.0, math.nan)]
)
def test_top_off_refuses(missing: float, net: float) -> None:
    with pytest.raises(InputError):
        level_after_top_off(430.0, missing, net)
