"""Total alkalinity from a titration with acid that was followed with a pH electrode."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy import constants, optimize

from reef_calc.errors import InputError

# Reference composition for a salinity of 35, as used in Dickson et al. 2007, chapter 5.
_SULFATE_PER_CHLORINITY = 0.14 / 96.062
_FLUORIDE_PER_CHLORINITY = 0.000067 / 18.998
_SALINITY_PER_CHLORINITY = 1.80655


class GranLine(NamedTuple):
    """Where a straight Gran line meets zero.

    Attributes
    ----------
    equivalence : float
        Titrant at the equivalence point, in the unit of the titrant (g or mL).
    slope : float
        Slope of the line: Gran function per unit of titrant.
    """

    equivalence: float
    slope: float


class AcidTitration(NamedTuple):
    """Alkalinity of a sample titrated with acid.

    Attributes
    ----------
    alkalinity_mol_per_kg : float
        Total alkalinity (mol/kg).
    u_mol_per_kg : float
        Its standard uncertainty from the scatter of the points alone (mol/kg).
    standard_mV : float
        Standard potential E0 of the electrode (mV).
    residual_sd_mol_per_kg : float
        Scatter of the points about the fit (mol/kg).
    """

    alkalinity_mol_per_kg: float
    u_mol_per_kg: float
    standard_mV: float
    residual_sd_mol_per_kg: float


def gran_line(titrant: np.ndarray, sample: float, hydrogen: np.ndarray) -> GranLine:
    """Return the equivalence point by Gran's straight line.

    F = (sample + titrant)·[H⁺] grows straight with the titrant beyond the equivalence point; where
    the line meets zero is that point.

    Parameters
    ----------
    titrant : numpy.ndarray, shape (n,)
        Acid added, in g (or mL).
    sample : float
        Sample, in the unit of the titrant.
    hydrogen : numpy.ndarray, shape (n,)
        Hydrogen ion concentration in any unit, or a number proportional to it.

    Returns
    -------
    GranLine
        In the unit of the titrant.

    Raises
    ------
    InputError
        If there are fewer than three points, or the line does not rise.

    Notes
    -----
    Sulfate and fluoride take up protons below pH 4, which the line does not know: the more points
    above pH 3.3 it uses, the lower it reads in sea water.

    Examples
    --------
    >>> titrant = np.array([2.0, 2.1, 2.2])
    >>> round(gran_line(titrant, 200.0, (titrant - 1.6) / (200.0 + titrant)).equivalence, 6)
    1.6

    References
    ----------
    Gran (1952), Analyst 77, 661; checked with the data of Dickson (1981), T20.
    """
    if len(titrant) < 3:
        raise InputError("at least three points", len(titrant), "Take more points below pH 3.5.")
    slope, start = np.polyfit(titrant, (sample + titrant) * hydrogen, 1)
    if not slope > 0.0:
        raise InputError(
            "a line that rises with the acid", float(slope), "Use points past the end point only."
        )
    return GranLine(float(-start / slope), float(slope))


def _acid_constants(salinity: float, kelvin: float) -> tuple[float, float, float, float]:
    """Return total sulfate, total fluoride, KS (free scale) and KF (total scale), mol/kg."""
    chlorinity = salinity / _SALINITY_PER_CHLORINITY
    ionic = 19.924 * salinity / (1000.0 - 1.005 * salinity)
    log_kelvin = np.log(kelvin)
    sulfate = np.exp(
        -4276.1 / kelvin + 141.328 - 23.093 * log_kelvin
        + (-13856.0 / kelvin + 324.57 - 47.986 * log_kelvin) * np.sqrt(ionic)
        + (35474.0 / kelvin - 771.54 + 114.723 * log_kelvin) * ionic
        - 2698.0 / kelvin * ionic**1.5 + 1776.0 / kelvin * ionic**2
    ) * (1.0 - 0.001005 * salinity)  # fmt: skip
    fluoride = np.exp(874.0 / kelvin - 9.68 + 0.111 * np.sqrt(salinity))
    return (
        _SULFATE_PER_CHLORINITY * chlorinity,
        _FLUORIDE_PER_CHLORINITY * chlorinity,
        float(sulfate),
        float(fluoride),
    )


def alkalinity_from_acid_titration(
    acid_kg: np.ndarray,
    potential_mV: np.ndarray,
    *,
    sample_kg: float,
    acid_mol_per_kg: float,
    salinity: float,
    temperature_C: float,
) -> AcidTitration:
    """Return total alkalinity and the electrode's E0, fitted together.

    AT + ST/(1 + KS·Z/[H]) + FT/(1 + KF/[H]) + (m0 + m)/m0·[H]/Z − m/m0·C = 0, with
    [H] = exp((E − E0)·F/(R·T)) on the total scale and Z = 1 + ST/KS.

    Parameters
    ----------
    acid_kg : numpy.ndarray, shape (n,)
        Acid added (kg).
    potential_mV : numpy.ndarray, shape (n,)
        Potential of the electrode (mV), rising with acid.
    sample_kg : float
        Sample (kg).
    acid_mol_per_kg : float
        Concentration of the acid (mol/kg).
    salinity : float
        Practical salinity of the sample, without unit.
    temperature_C : float
        Temperature of the sample (°C).

    Returns
    -------
    AcidTitration
        In mol/kg and mV.

    Raises
    ------
    InputError
        If there are fewer than four points, or they are not those of the acid side.

    Notes
    -----
    For points between pH 3.0 and 3.5 after the carbon dioxide was blown out.

    Examples
    --------
    >>> acid = np.array([2.50e-3, 2.55e-3, 2.60e-3, 2.65e-3])
    >>> excess = (acid * 0.1 - 0.1 * 2.3e-3) / (0.1 + acid)
    >>> potential = 400.0 + 25.6926 * np.log(excess)
    >>> found = alkalinity_from_acid_titration(acid, potential, sample_kg=0.1,
    ...     acid_mol_per_kg=0.1, salinity=0.01, temperature_C=25.0)
    >>> round(found.alkalinity_mol_per_kg * 1e6)
    2300

    References
    ----------
    Dickson, Sabine & Christian (2007), SOP 3b; KS Dickson (1990), KF Perez & Fraga (1987), both
    from memory and checked by the example of SOP 3b (T19).
    """
    if len(acid_kg) < 4:
        raise InputError("at least four points", len(acid_kg), "Add acid in smaller portions.")
    kelvin = temperature_C + constants.zero_Celsius
    nernst_mV = 1000.0 * constants.R * kelvin / (constants.e * constants.N_A)
    sulfate, fluoride, k_sulfate, k_fluoride = _acid_constants(salinity, kelvin)
    z = 1.0 + sulfate / k_sulfate
    grown = np.exp((potential_mV - potential_mV[0]) / nernst_mV)
    line = gran_line(acid_kg, sample_kg, grown)
    first_alkalinity = line.equivalence * acid_mol_per_kg / sample_kg
    excess = (acid_kg - line.equivalence) * acid_mol_per_kg / (sample_kg + acid_kg)
    if not (excess > 0.0).all():
        raise InputError(
            "points past the end point only",
            f"{int((excess <= 0).sum())} before it",
            "Leave them out.",
        )
    first_mV = float(np.mean(potential_mV - nernst_mV * np.log(excess * z)))

    def missing(guess: np.ndarray) -> np.ndarray:
        hydrogen = np.exp((potential_mV - first_mV - guess[1]) / nernst_mV)
        bound = sulfate / (1.0 + k_sulfate * z / hydrogen)
        bound = bound + fluoride / (1.0 + k_fluoride / hydrogen)
        free = (sample_kg + acid_kg) / sample_kg * hydrogen / z
        balance = first_alkalinity * guess[0] + bound + free - acid_kg / sample_kg * acid_mol_per_kg
        return balance * 1e6

    fit = optimize.least_squares(missing, np.array([1.0, 0.0]), xtol=1e-12, ftol=1e-12)
    variance = 2.0 * fit.cost / (len(acid_kg) - 2)
    spread = np.sqrt(variance * np.linalg.inv(fit.jac.T @ fit.jac)[0, 0]) * first_alkalinity
    return AcidTitration(
        float(fit.x[0] * first_alkalinity),
        float(spread),
        float(first_mV + fit.x[1]),
        float(np.sqrt(variance) * 1e-6),
    )
