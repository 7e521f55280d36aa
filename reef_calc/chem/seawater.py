"""Sea water: density, absolute salinity and conductivity, with the range each is valid in.

Tank water is taken to have the composition of standard sea water, so absolute salinity is the
reference salinity. The equations are TEOS-10 and the practical salinity scale of 1978 as the
package gsw has them.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from reef_calc.errors import InputError

# Numbers and arrays go through the same code; a float comes back as a float.
Number = Any

# g/kg at practical salinity 35: Millero et al. (2008), abstract (PUBLISHED).
REFERENCE_SALINITY = 35.16504

SALINITY_RANGE = (0.0, 42.0)
TEMPERATURE_RANGE_C = (-2.0, 40.0)


def check_within(value: Number, low: float, high: float, needed: str, repair: str) -> None:
    """Refuse numbers outside a range instead of clipping them.

    Parameters
    ----------
    value : float or numpy.ndarray
        Numbers in the unit of the bounds; not-a-number passes and stays so.
    low, high : float
        Bounds in the unit of ``value``, both allowed.
    needed : str
        What the number is, such as "a practical salinity".
    repair : str
        What the person can do about it.

    Raises
    ------
    InputError
        If a number lies outside; the first one is named.

    Examples
    --------
    >>> check_within(35.0, 0.0, 42.0, "a practical salinity", "Check the unit.")
    """
    array = np.asarray(value, dtype=float)
    outside = (array < low) | (array > high)
    if np.any(outside):
        given = float(np.atleast_1d(array)[np.atleast_1d(outside)][0])
        raise InputError(f"{needed} between {low:g} and {high:g}", given, repair)


def _check(salinity: Number, temperature_C: Number) -> None:
    check_within(
        salinity, *SALINITY_RANGE, "a practical salinity",
        "A reading near 1.026 is a gravity and one near 53 a conductivity: write that unit.",
    )  # fmt: skip
    check_within(
        temperature_C, *TEMPERATURE_RANGE_C, "a temperature in °C",
        "If it was read in °F, write that unit.",
    )  # fmt: skip


def plain_number(value: Number) -> Number:
    """Return a float for a single number and an array for an array.

    Parameters
    ----------
    value : float or numpy.ndarray
        Result of an array function, any unit.

    Returns
    -------
    float or numpy.ndarray
        The same numbers, same unit.

    Examples
    --------
    >>> plain_number(np.array(1.5))
    1.5
    """
    return float(value) if np.ndim(value) == 0 else np.asarray(value)


def density_kg_per_L(
    salinity: Number, temperature_C: Number, *, pressure_dbar: float = 0.0
) -> Number:
    """Return the density of sea water.

    ρ(S_A, t, p) of TEOS-10 with S_A = S·35.16504/35

    Parameters
    ----------
    salinity : float or numpy.ndarray
        Practical salinity (no unit), 0–42.
    temperature_C : float or numpy.ndarray
        Temperature (°C, ITS-90), −2–40.
    pressure_dbar : float, optional
        Pressure above that of the air (dbar); 0 in any tank.

    Returns
    -------
    float or numpy.ndarray
        Density (kg/L).

    Raises
    ------
    InputError
        Outside the range; nothing is clipped.

    Examples
    --------
    >>> round(density_kg_per_L(35.0, 25.0), 6)
    1.023344

    References
    ----------
    IOC, SCOR and IAPSO (2010), The international thermodynamic equation of seawater – 2010.
    """
    import gsw

    _check(salinity, temperature_C)
    absolute = np.asarray(salinity, dtype=float) * REFERENCE_SALINITY / 35.0
    return plain_number(gsw.rho_t_exact(absolute, temperature_C, pressure_dbar) / 1000.0)


def absolute_from_practical_salinity(salinity: Number) -> Number:
    """Return the absolute (reference) salinity.

    S_A = S·35.16504/35

    Parameters
    ----------
    salinity : float or numpy.ndarray
        Practical salinity (no unit), 0–42.

    Returns
    -------
    float or numpy.ndarray
        Absolute salinity (g/kg).

    Raises
    ------
    InputError
        Outside the range.

    Examples
    --------
    >>> round(absolute_from_practical_salinity(35.0), 5)
    35.16504

    References
    ----------
    Millero, Feistel, Wright and McDougall (2008), Deep-Sea Research I 55, 50, abstract.
    """
    _check(salinity, 20.0)
    return plain_number(np.asarray(salinity, dtype=float) * REFERENCE_SALINITY / 35.0)


def practical_from_absolute_salinity(absolute_g_per_kg: Number) -> Number:
    """Return the practical salinity of an absolute (reference) salinity.

    S = S_A·35/35.16504

    Parameters
    ----------
    absolute_g_per_kg : float or numpy.ndarray
        Absolute salinity (g/kg), 0–42.2.

    Returns
    -------
    float or numpy.ndarray
        Practical salinity (no unit).

    Raises
    ------
    InputError
        Outside the range.

    Examples
    --------
    >>> round(practical_from_absolute_salinity(35.16504), 6)
    35.0

    References
    ----------
    Millero et al. (2008), Deep-Sea Research I 55, 50, abstract.
    """
    check_within(
        absolute_g_per_kg, 0.0, 42.2, "an absolute salinity (g/kg)",
        "Check the unit of the reading.",
    )  # fmt: skip
    return plain_number(np.asarray(absolute_g_per_kg, dtype=float) * 35.0 / REFERENCE_SALINITY)


def salinity_from_conductivity(
    conductivity_mS_per_cm: Number, temperature_C: Number, *, pressure_dbar: float = 0.0
) -> Number:
    """Return the practical salinity of a conductivity.

    Practical salinity scale of 1978, from the ratio to 42.9140 mS/cm.

    Parameters
    ----------
    conductivity_mS_per_cm : float or numpy.ndarray
        Conductivity at the temperature of the water, without compensation (mS/cm), above 0.
        A compensating meter shows it for its reference temperature: give that one, mostly 25 °C.
    temperature_C : float or numpy.ndarray
        Temperature that the conductivity holds for (°C, ITS-90), −2–35.
    pressure_dbar : float, optional
        Pressure above that of the air (dbar); 0 in any tank.

    Returns
    -------
    float or numpy.ndarray
        Practical salinity (no unit), 2–42.

    Raises
    ------
    InputError
        Outside the range in which the scale is defined.

    Examples
    --------
    >>> round(salinity_from_conductivity(53.071, 25.0), 3)
    35.0

    References
    ----------
    UNESCO (1981), Technical Papers in Marine Science 37; TEOS-10 function SP_from_C.
    """
    import gsw

    check_within(temperature_C, -2.0, 35.0, "a temperature in °C", "Measure at room temperature.")
    check_within(
        conductivity_mS_per_cm, 0.0, 100.0, "a conductivity in mS/cm", "53000 µS/cm is 53 mS/cm."
    )
    salinity = gsw.SP_from_C(conductivity_mS_per_cm, temperature_C, pressure_dbar)
    check_within(
        salinity, 2.0, 42.0, "water with a practical salinity", "Check unit and temperature."
    )
    return plain_number(salinity)


def conductivity_from_salinity(
    salinity: Number, temperature_C: Number, *, pressure_dbar: float = 0.0
) -> Number:
    """Return the conductivity of sea water at its temperature.

    Inverse of the practical salinity scale of 1978.

    Parameters
    ----------
    salinity : float or numpy.ndarray
        Practical salinity (no unit), 2–42.
    temperature_C : float or numpy.ndarray
        Temperature (°C, ITS-90), −2–35.
    pressure_dbar : float, optional
        Pressure above that of the air (dbar); 0 in any tank.

    Returns
    -------
    float or numpy.ndarray
        Conductivity (mS/cm).

    Raises
    ------
    InputError
        Outside the range in which the scale is defined.

    Examples
    --------
    >>> round(conductivity_from_salinity(35.0, 25.0), 3)
    53.071

    References
    ----------
    UNESCO (1981), Technical Papers in Marine Science 37; TEOS-10 function C_from_SP.
    """
    import gsw

    check_within(salinity, 2.0, 42.0, "a practical salinity", "The scale is not defined below 2.")
    check_within(temperature_C, -2.0, 35.0, "a temperature in °C", "Measure at room temperature.")
    return plain_number(gsw.C_from_SP(salinity, temperature_C, pressure_dbar))
