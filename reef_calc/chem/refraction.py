"""Refractive index of sea water and the salinity it stands for."""

from __future__ import annotations

import numpy as np

from reef_calc.chem.seawater import SALINITY_RANGE, Number, check_within, plain_number

# Quan & Fry (1995): n0, then the terms in S·(1, T, T²), T², 1/λ·(1, S, T), 1/λ², 1/λ³ (PUBLISHED).
_N0, _N1, _N2, _N3, _N4 = 1.31405, 1.779e-4, -1.05e-6, 1.6e-8, -2.02e-6
_N5, _N6, _N7, _N8, _N9 = 15.868, 0.01155, -0.00423, -4382.0, 1.1455e6


def refractive_index(
    salinity: Number,
    temperature_C: float,
    *,
    wavelength_nm: float = 589.3,
    extrapolate: bool = False,
) -> Number:
    """Return the refractive index of sea water against air.

    n = n0 + (n1 + n2·T + n3·T²)·S + n4·T² + (n5 + n6·S + n7·T)/λ + n8/λ² + n9/λ³

    Parameters
    ----------
    salinity : float or numpy.ndarray
        Practical salinity (no unit), 0–35; to 42 with ``extrapolate``.
    temperature_C : float
        Temperature (°C), 0–30.
    wavelength_nm : float, optional
        Wavelength in air (nm), 400–700; 589.3 is the yellow line that scales are made for.
    extrapolate : bool, optional
        Whether salinities above 35 are allowed, outside what the equation was fitted to.

    Returns
    -------
    float or numpy.ndarray
        Refractive index (no unit).

    Raises
    ------
    InputError
        Outside the range; nothing is clipped.

    Notes
    -----
    A refractometer with a scale for sodium chloride reads about 1.5 high at 35 (MEMORY).

    Examples
    --------
    >>> round(refractive_index(35.0, 20.0), 6), round(refractive_index(35.0, 25.0), 6)
    (1.339406, 1.338858)

    References
    ----------
    Quan and Fry (1995), Applied Optics 34, 3477.
    """
    top = SALINITY_RANGE[1] if extrapolate else 35.0
    check_within(
        salinity, 0.0, top, "a practical salinity", "Above 35 pass extrapolate=True and say so."
    )
    constant, per_salinity = _refraction_line(temperature_C, wavelength_nm)
    return plain_number(constant + per_salinity * np.asarray(salinity, dtype=float))


def salinity_from_refractive_index(
    index: Number,
    temperature_C: float,
    *,
    wavelength_nm: float = 589.3,
    extrapolate: bool = False,
) -> Number:
    """Return the practical salinity of a refractive index.

    The equation of ``refractive_index`` is straight in S and is solved for it.

    Parameters
    ----------
    index : float or numpy.ndarray
        Refractive index against air (no unit).
    temperature_C : float
        Temperature (°C), 0–30.
    wavelength_nm : float, optional
        Wavelength in air (nm), 400–700.
    extrapolate : bool, optional
        Whether salinities above 35 are allowed, outside what the equation was fitted to.

    Returns
    -------
    float or numpy.ndarray
        Practical salinity (no unit), 0–35; to 42 with ``extrapolate``.

    Raises
    ------
    InputError
        If the index belongs to no salinity of the range.

    Examples
    --------
    >>> round(salinity_from_refractive_index(1.338858, 25.0), 1)
    35.0

    References
    ----------
    Quan and Fry (1995), Applied Optics 34, 3477.
    """
    constant, per_salinity = _refraction_line(temperature_C, wavelength_nm)
    top = SALINITY_RANGE[1] if extrapolate else 35.0
    # 1e-6 is the last digit printed for an index; 0.005 in salinity.
    check_within(
        index, constant - 1e-6, constant + per_salinity * top + 1e-6, "a refractive index",
        "Check temperature and reading; above salinity 35 pass extrapolate=True and say so.",
    )  # fmt: skip
    return plain_number((np.asarray(index, dtype=float) - constant) / per_salinity)


def _refraction_line(temperature_C: float, wavelength_nm: float) -> tuple[float, float]:
    """Return the index of pure water and its slope with salinity."""
    check_within(temperature_C, 0.0, 30.0, "a temperature in °C", "Measure at room temperature.")
    check_within(wavelength_nm, 400.0, 700.0, "a wavelength in nm", "Yellow light has 589.3.")
    t, wave = temperature_C, wavelength_nm
    constant = _N0 + _N4 * t**2 + (_N5 + _N7 * t) / wave + _N8 / wave**2 + _N9 / wave**3
    return constant, _N1 + _N2 * t + _N3 * t**2 + _N6 / wave
