"""Alkalinity that appears late: what bacteria take for formate and acetate."""

from __future__ import annotations

import math
from dataclasses import dataclass

from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.salts import find_salt
from reef_calc.chem.seawater import density_kg_per_L
from reef_calc.chem.units import convert
from reef_calc.errors import InputError

# Moles of oxygen, and of carbon dioxide beyond bicarbonate, for one equivalent of alkalinity:
# HCOO⁻ + ½ O2 → HCO3⁻; CH3COO⁻ + 2 O2 → HCO3⁻ + CO2 + H2O.
_TAKES = {"calcium formate": (0.5, 0.0), "calcium acetate": (2.0, 1.0)}


@dataclass(frozen=True)
class OxygenCost:
    """What a rise of delayed alkalinity takes from the water.

    Attributes
    ----------
    oxygen_mg_per_L : float
        Oxygen that bacteria use up (mg/L of tank water).
    of_saturated : float
        Against what water saturated with air holds (ratio, no unit); above 1 is possible, since air
        brings more all the time.
    carbon_dioxide_mmol_per_L : float
        Carbon dioxide set free beside the bicarbonate (mmol/L), which lowers the pH.
    """

    oxygen_mg_per_L: float
    of_saturated: float
    carbon_dioxide_mmol_per_L: float


def oxygen_cost(
    salt: str,
    rise: float,
    unit: str = "dKH",
    *,
    salinity: float = 35.0,
    temperature_C: float = 25.0,
) -> OxygenCost:
    """Return the oxygen that formate or acetate costs until their alkalinity has appeared.

    HCOO⁻ + ½ O2 → HCO3⁻; CH3COO⁻ + 2 O2 → HCO3⁻ + CO2 + H2O

    Parameters
    ----------
    salt : str
        Calcium formate or calcium acetate.
    rise : float
        Rise of alkalinity in ``unit``, 0 or more.
    unit : str, optional
        Unit of the rise.
    salinity : float, optional
        Practical salinity of the tank (no unit), 0–42.
    temperature_C : float, optional
        Temperature of the tank (°C).

    Returns
    -------
    OxygenCost
        Oxygen in mg/L, as a share of saturation, and the carbon dioxide set free.

    Raises
    ------
    InputError
        If the salt gives its alkalinity at once, or the rise is negative.

    Notes
    -----
    All of it is taken as oxidised and nothing as grown into bacteria, so this is the most it takes.

    Examples
    --------
    >>> cost = oxygen_cost("calcium formate", 1.0)
    >>> round(cost.oxygen_mg_per_L, 2), round(cost.of_saturated, 2)
    (5.71, 0.84)

    References
    ----------
    Stoichiometry. Saturation: Garcia and Gordon (1992), Limnol. Oceanogr. 37, 1307, as the package
    gsw carries it.
    """
    import gsw

    named = salt.strip().casefold()
    known = next((one for one in _TAKES if named.startswith(one)), None)
    if known is None:
        named = find_salt(salt).salt
        raise InputError(
            "a salt of delayed alkalinity (" + ", ".join(_TAKES) + ")", named,
            "Its alkalinity is there at once and takes no oxygen.",
        )  # fmt: skip
    if not 0.0 <= rise < math.inf:
        raise InputError("a rise of 0 or more", rise, "Check sign and number.", known)
    equivalents = convert(rise, unit, "meq/L", "alkalinity")
    oxygen, gas = _TAKES[known]
    taken = equivalents * oxygen * molar_mass("O2")
    saturated = (
        float(gsw.O2sol_SP_pt(salinity, temperature_C))
        * 1e-3
        * molar_mass("O2")
        * float(density_kg_per_L(salinity, temperature_C))
    )
    return OxygenCost(taken, taken / saturated, equivalents * gas)
