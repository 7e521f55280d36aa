"""Equilibrium constants of the carbonate system at one salinity and temperature.

The constants come from the package PyCO2SYS, which is not a need of this package: without it
everything but pH and saturation works. One call of it takes about a tenth of a second, so it is
asked once for each salinity and temperature; the states themselves are solved in ``carbonate``.
"""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from functools import lru_cache

from reef_calc.chem.seawater import density_kg_per_L
from reef_calc.errors import CannotTellError
from reef_calc.messages import Message
from reef_calc.numbers_in_words import fixed

# Water in which the constants of Lueker et al. (2000) were measured.
LUEKER_SALINITY = (19.0, 43.0)
LUEKER_TEMPERATURE_C = (2.0, 35.0)
INSTALL = "pip install PyCO2SYS"


@dataclass(frozen=True)
class CarbonateConstants:
    """Constants on the total scale, and totals that follow salinity.

    Attributes
    ----------
    k1, k2 : float
        Carbonic acid (mol/kg).
    k_borate, k_bisulfate, k_fluoride : float
        Boric acid on the total scale, hydrogen sulfate and hydrogen fluoride on the free scale
        (mol/kg).
    k_water : float
        Water (mol²/kg²).
    k_co2 : float
        Solubility of carbon dioxide (mol/(kg·atm)).
    k_aragonite : float
        Solubility product of aragonite (mol²/kg²).
    fugacity_factor : float
        Fugacity over partial pressure (no unit).
    nbs_shift : float
        pH on the NBS scale less pH on the total scale (pH units).
    total_borate, total_sulfate, total_fluoride, total_calcium : float
        As in sea water of this salinity (mol/kg).
    density : float
        Density (kg/L).
    """

    k1: float
    k2: float
    k_borate: float
    k_bisulfate: float
    k_fluoride: float
    k_water: float
    k_co2: float
    k_aragonite: float
    fugacity_factor: float
    nbs_shift: float
    total_borate: float
    total_sulfate: float
    total_fluoride: float
    total_calcium: float
    density: float


@lru_cache(maxsize=256)
def carbonate_constants(salinity: float, temperature_C: float) -> CarbonateConstants:
    """Return the constants of the carbonate system.

    Parameters
    ----------
    salinity : float
        Practical salinity (no unit), 0–42.
    temperature_C : float
        Temperature (°C), −2–40.

    Returns
    -------
    CarbonateConstants
        mol, kg and atm; total scale.

    Raises
    ------
    CannotTellError
        If PyCO2SYS is not installed; the text says how to install it.
    InputError
        If salinity or temperature lies outside the range of the density.

    Notes
    -----
    Measured for salinities 19–43 and 2–35 °C; ``range_words`` says so outside. The NBS scale
    leans on a fitted activity and is good to some 0.01 only.

    Examples
    --------
    >>> import math
    >>> found = carbonate_constants(35.0, 25.0)
    >>> round(math.log10(found.k1), 4), round(math.log10(found.k2), 4)
    (-5.8472, -8.966)

    References
    ----------
    Carbonic acid: Lueker, Dickson and Keeling (2000), Marine Chemistry 70, 105. Hydrogen sulfate:
    Dickson (1990), J. Chem. Thermodynamics 22, 113. Hydrogen fluoride: Perez and Fraga (1987),
    Marine Chemistry 21, 161. Total boron: Uppström (1974), Deep-Sea Research 21, 161. All as
    PyCO2SYS has them: Humphreys et al. (2022), Geosci. Model Dev. 15, 15 (references from memory).
    """
    density = density_kg_per_L(salinity, temperature_C)
    try:
        package = importlib.import_module("PyCO2SYS")
    except ImportError:
        raise CannotTellError(
            "pH and saturation are worked out with the package PyCO2SYS, which is not installed. "
            f"In a terminal: {INSTALL}. Everything else works without it."
        ) from None
    found = package.sys(
        par1=8.0,
        par1_type=3,
        salinity=salinity,
        temperature=temperature_C,
        opt_pH_scale=1,
        opt_k_carbonic=10,
        opt_k_bisulfate=1,
        opt_k_fluoride=2,
        opt_total_borate=1,
        opt_buffers_mode=0,
    )
    return CarbonateConstants(
        float(found["k_carbonic_1"]),
        float(found["k_carbonic_2"]),
        float(found["k_borate"]),
        float(found["k_bisulfate"]),
        float(found["k_fluoride"]),
        float(found["k_water"]),
        float(found["k_CO2"]),
        float(found["k_aragonite"]),
        float(found["fugacity_factor"]),
        float(found["pH_nbs"] - found["pH_total"]),
        1e-6 * float(found["total_borate"]),
        1e-6 * float(found["total_sulfate"]),
        1e-6 * float(found["total_fluoride"]),
        1e-6 * float(found["total_calcium"]),
        density,
    )


def range_words(salinity: float, temperature_C: float) -> tuple[Message, ...]:
    """Return what to say where the constants were not measured.

    Parameters
    ----------
    salinity : float
        Practical salinity (no unit).
    temperature_C : float
        Temperature (°C).

    Returns
    -------
    tuple of Message
        Empty inside salinities 19–43 and 2–35 °C.

    Examples
    --------
    >>> range_words(35.0, 25.0)
    ()
    >>> range_words(15.0, 25.0)[0].text
    'pH and saturation are a guide only: the constants were measured for salinities 19 to 43 and
    2 to 35 °C, and this water has 15.0 and 25.0 °C.'
    """
    inside = (
        LUEKER_SALINITY[0] <= salinity <= LUEKER_SALINITY[1]
        and LUEKER_TEMPERATURE_C[0] <= temperature_C <= LUEKER_TEMPERATURE_C[1]
    )
    if inside:
        return ()
    return (
        Message(
            "CARBONATE_RANGE",
            "pH and saturation are a guide only: the constants were measured for salinities "
            f"{LUEKER_SALINITY[0]:g} to {LUEKER_SALINITY[1]:g} and {LUEKER_TEMPERATURE_C[0]:g} to "
            f"{LUEKER_TEMPERATURE_C[1]:g} °C, and this water has {fixed(salinity, 1)} and "
            f"{fixed(temperature_C, 1)} °C.",
            "qualified",
        ),
    )
