"""Salinity from what an instrument shows: specific gravity and density."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from reef_calc.chem.seawater import (
    SALINITY_RANGE,
    Number,
    absolute_from_practical_salinity,
    check_within,
    conductivity_from_salinity,
    density_kg_per_L,
    plain_number,
    practical_from_absolute_salinity,
    salinity_from_conductivity,
)

_TEMPERATURES_C = {"20": 20.0, "25": 25.0, "15": 15.0, "4": 4.0, "60F": (60.0 - 32.0) / 1.8}


def specific_gravity(salinity: Number, sample_C: float, reference_C: float) -> Number:
    """Return the specific gravity of sea water for both reference temperatures.

    SG(t1/t2) = ρ(S, t1)/ρ(0, t2)

    Parameters
    ----------
    salinity : float or numpy.ndarray
        Practical salinity (no unit), 0–42.
    sample_C : float
        Temperature of the sea water t1 (°C).
    reference_C : float
        Temperature of the pure water t2 it is compared with (°C).

    Returns
    -------
    float or numpy.ndarray
        Specific gravity (no unit).

    Raises
    ------
    InputError
        Outside the range.

    Examples
    --------
    >>> round(specific_gravity(35.0, 25.0, 25.0), 5), round(specific_gravity(35.0, 20.0, 20.0), 5)
    (1.02637, 1.02661)

    References
    ----------
    Definition; densities of TEOS-10.
    """
    return plain_number(density_kg_per_L(salinity, sample_C) / density_kg_per_L(0.0, reference_C))


def salinity_from_specific_gravity(gravity: Number, sample_C: float, reference_C: float) -> Number:
    """Return the practical salinity of a specific gravity.

    Solves SG(t1/t2) = ρ(S, t1)/ρ(0, t2) for S.

    Parameters
    ----------
    gravity : float or numpy.ndarray
        Specific gravity (no unit).
    sample_C : float
        Temperature of the sea water (°C): the instrument's, or the real one if nothing corrects it.
    reference_C : float
        Temperature of the pure water that the scale counts as 1 (°C).

    Returns
    -------
    float or numpy.ndarray
        Practical salinity (no unit), 0–42.

    Raises
    ------
    InputError
        If no salinity within the range has this gravity.

    Examples
    --------
    >>> round(salinity_from_specific_gravity(1.0264, 25.0, 25.0), 3)
    35.035

    References
    ----------
    Definition; densities of TEOS-10.
    """
    return _salinity_where(
        lambda salinity: specific_gravity(salinity, sample_C, reference_C),
        gravity,
        "a specific gravity of this scale",
    )


def salinity_from_density(density: Number, temperature_C: float) -> Number:
    """Return the practical salinity of a density.

    Solves ρ(S, t) = ρ for S.

    Parameters
    ----------
    density : float or numpy.ndarray
        Density (kg/L, which is g/cm³).
    temperature_C : float
        Temperature it was measured at (°C).

    Returns
    -------
    float or numpy.ndarray
        Practical salinity (no unit), 0–42.

    Raises
    ------
    InputError
        If no salinity within the range has this density.

    Examples
    --------
    >>> round(salinity_from_density(1.023344, 25.0), 3)
    35.0

    References
    ----------
    Densities of TEOS-10.
    """
    return _salinity_where(
        lambda salinity: density_kg_per_L(salinity, temperature_C),
        density,
        "a density in g/cm3 at this temperature",
    )


def _salinity_where(function: Callable[[Number], Number], target: Number, needed: str) -> Number:
    """Solve a nearly straight rising function of salinity by chords of its mean slope."""
    low, high = SALINITY_RANGE
    start, end = float(function(low)), float(function(high))
    # 1e-7 of gravity is 0.0001 in salinity: it lets a printed 1.0000 for pure water through.
    check_within(
        target, start - 1e-7, end + 1e-7, needed,
        "Check the reading and the reference temperatures.",
    )  # fmt: skip
    slope = (end - start) / (high - low)
    wanted = np.asarray(target, dtype=float)
    salinity = low + (wanted - start) / slope
    for _ in range(50):
        # The range was checked above; this keeps a step of the search inside it.
        salinity = np.clip(salinity, low, high)
        step = (wanted - function(salinity)) / slope
        salinity = salinity + step
        if not np.any(np.abs(step) > 1e-11):
            break
    return plain_number(np.clip(salinity, low, high))


def practical_salinity_from(value: Number, scale: str) -> Number:
    """Return the practical salinity of a reading on any scale of the closed list.

    Parameters
    ----------
    value : float or numpy.ndarray
        Reading.
    scale : str
        Canonical unit word of salinity.

    Returns
    -------
    float or numpy.ndarray
        Practical salinity (no unit).

    Raises
    ------
    InputError
        If the reading lies outside the range of its scale.

    Examples
    --------
    >>> round(practical_salinity_from(1.0264, "SG 20/20"), 2)
    34.73

    References
    ----------
    As for the functions of each scale in this module.
    """
    if scale == "PSU":
        return value
    if scale == "g/kg":
        return practical_from_absolute_salinity(value)
    if scale.startswith("mS/cm"):
        return salinity_from_conductivity(value, 25.0)
    if scale.startswith("g/cm3"):
        return salinity_from_density(value, _at(scale))
    return salinity_from_specific_gravity(value, *_gravity_temperatures(scale))


def practical_salinity_to(salinity: Number, scale: str) -> Number:
    """Return a practical salinity on any scale of the closed list.

    Parameters
    ----------
    salinity : float or numpy.ndarray
        Practical salinity (no unit).
    scale : str
        Canonical unit word of salinity.

    Returns
    -------
    float or numpy.ndarray
        Reading on that scale, in its unit.

    Raises
    ------
    InputError
        If the salinity lies outside the range of the scale.

    Examples
    --------
    >>> round(practical_salinity_to(35.0, "mS/cm at 25 °C"), 2)
    53.07

    References
    ----------
    As for the functions of each scale in this module.
    """
    if scale == "PSU":
        return salinity
    if scale == "g/kg":
        return absolute_from_practical_salinity(salinity)
    if scale.startswith("mS/cm"):
        return conductivity_from_salinity(salinity, 25.0)
    if scale.startswith("g/cm3"):
        return density_kg_per_L(salinity, _at(scale))
    return specific_gravity(salinity, *_gravity_temperatures(scale))


def _at(scale: str) -> float:
    return _TEMPERATURES_C[scale.removeprefix("g/cm3 at ").removesuffix(" °C")]


def _gravity_temperatures(scale: str) -> tuple[float, float]:
    sample, reference = scale.removeprefix("SG ").split("/")
    return _TEMPERATURES_C[sample], _TEMPERATURES_C[reference]
