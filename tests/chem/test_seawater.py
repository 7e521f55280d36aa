"""Salinity scales close their loops and refuse instead of clipping."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.chem import refraction, salinity_scales, seawater
from reef_calc.chem.composition import normalise_level, reference_levels
from reef_calc.errors import InputError

SALINITY = st.floats(2.5, 41.5)
TEMPERATURE = st.floats(0.0, 30.0)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(SALINITY, TEMPERATURE, TEMPERATURE)
def test_round_trips(salinity: float, temperature: float, reference: float) -> None:
    absolute = seawater.absolute_from_practical_salinity(salinity)
    assert seawater.practical_from_absolute_salinity(absolute) == pytest.approx(salinity)
    conductivity = seawater.conductivity_from_salinity(salinity, temperature)
    back = seawater.salinity_from_conductivity(conductivity, temperature)
    assert back == pytest.approx(salinity, abs=1e-8)
    density = seawater.density_kg_per_L(salinity, temperature)
    back = salinity_scales.salinity_from_density(density, temperature)
    assert back == pytest.approx(salinity, abs=1e-8)
    gravity = salinity_scales.specific_gravity(salinity, temperature, reference)
    back = salinity_scales.salinity_from_specific_gravity(gravity, temperature, reference)
    assert back == pytest.approx(salinity, abs=1e-8)
    index = refraction.refractive_index(salinity, temperature, extrapolate=True)
    back = refraction.salinity_from_refractive_index(index, temperature, extrapolate=True)
    assert back == pytest.approx(salinity, abs=1e-8)


def test_arrays_and_gaps_pass() -> None:
    readings = np.array([30.0, np.nan, 35.0])
    density = seawater.density_kg_per_L(readings, 25.0)
    assert np.isnan(density[1])
    assert salinity_scales.salinity_from_density(density, 25.0)[2] == pytest.approx(35.0)
    assert isinstance(seawater.density_kg_per_L(35.0, 25.0), float)


@pytest.mark.parametrize(
    "call",
    [
        lambda: seawater.density_kg_per_L(43.0, 25.0),
        lambda: seawater.density_kg_per_L(-0.1, 25.0),
        lambda: seawater.density_kg_per_L(35.0, 77.0),
        lambda: seawater.density_kg_per_L(np.array([35.0, 53.0]), 25.0),
        lambda: seawater.absolute_from_practical_salinity(50.0),
        lambda: seawater.practical_from_absolute_salinity(-1.0),
        lambda: seawater.salinity_from_conductivity(53000.0, 25.0),
        lambda: seawater.salinity_from_conductivity(1.0, 25.0),
        lambda: seawater.conductivity_from_salinity(1.0, 25.0),
        lambda: seawater.conductivity_from_salinity(35.0, 36.0),
        lambda: salinity_scales.salinity_from_specific_gravity(1.2, 25.0, 25.0),
        lambda: salinity_scales.salinity_from_density(1023.3, 25.0),
        lambda: refraction.refractive_index(36.0, 25.0),
        lambda: refraction.refractive_index(35.0, 31.0),
        lambda: refraction.salinity_from_refractive_index(1.36, 25.0),
        lambda: reference_levels(60.0),
        lambda: normalise_level(420.0, "calcium", 1.026),
        lambda: normalise_level(8.0, "nitrate", 33.0),
    ],
)
def test_outside_the_range_is_refused(call) -> None:
    with pytest.raises(InputError):
        call()


def test_pure_water_reads_one() -> None:
    assert salinity_scales.salinity_from_specific_gravity(1.0, 25.0, 25.0) == pytest.approx(0.0)


def test_composition_scales_with_salinity() -> None:
    full, half = reference_levels(35.0), reference_levels(17.5)
    for name, level in full.items():
        assert half[name].mmol_per_kg == pytest.approx(level.mmol_per_kg / 2)


def test_normalising_is_undone_by_normalising_back() -> None:
    there = normalise_level(400.0, "calcium", 33.0)
    back = normalise_level(there.density_corrected, "calcium", 35.0, to_salinity=33.0)
    assert back.density_corrected == pytest.approx(400.0)
