"""pH, carbon dioxide and aragonite saturation of sea water, before and after something is added.

Alkalinity is total alkalinity as a kit titrates it, borate included:
A = [HCO3] + 2[CO3] + [B(OH)4] + [OH] − [H] − [HSO4] − [HF].
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from reef_calc.chem.carbonate_constants import CarbonateConstants
from reef_calc.chem.carbonate_water import CarbonateState, CarbonateWater, umol_per_kg
from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.seawater import Number, check_within, plain_number
from reef_calc.errors import InputError

# Every state a tank can be in lies well inside; the bisection ends at 1e-14 of it.
_PH_ENDS = (2.0, 13.0)
_HALVINGS = 50


def state_in_air(
    alkalinity_meq_per_L: Number, pco2_uatm: Number, water: CarbonateWater
) -> CarbonateState:
    """Return the state of water in balance with air.

    [CO2] = K0·fugacity factor·pCO2; pH by bisection of the alkalinity.

    Parameters
    ----------
    alkalinity_meq_per_L : float or numpy.ndarray
        Total alkalinity (meq/L), above 0 and at most 50.
    pco2_uatm : float or numpy.ndarray
        Carbon dioxide of the air (µatm), 1–100000.
    water : CarbonateWater
        Salinity, temperature, calcium and boron.

    Returns
    -------
    CarbonateState
        Numbers, or arrays of the common shape.

    Raises
    ------
    InputError
        If a number lies outside its range.
    CannotTellError
        If the carbonate extra is not installed.

    Notes
    -----
    Air in a room is moist: 500 parts in a million of dry air are some 485 µatm at 25 °C. Few tanks
    are in balance: lights, animals and a closed lid move pCO2 through the day.

    Examples
    --------
    >>> state = state_in_air(2.853216, 500.0, CarbonateWater())
    >>> round(state.ph_total, 3), round(state.ph_nbs, 3), round(state.aragonite, 2)
    (8.035, 8.172, 4.06)

    References
    ----------
    Equations: Zeebe and Wolf-Gladrow (2001), CO2 in Seawater, chapter 1 (from memory). Constants
    as in ``carbonate_constants``.
    """
    _check_alkalinity(alkalinity_meq_per_L)
    _check_within(
        pco2_uatm, 1.0, 1e5, "carbon dioxide of the air in µatm", "Room air has 400 to 1000."
    )
    c = water.constants()
    co2 = c.k_co2 * c.fugacity_factor * 1e-6 * np.asarray(pco2_uatm, dtype=float)

    def carbon(h: np.ndarray) -> np.ndarray:
        return co2 * (1.0 + c.k1 / h + c.k1 * c.k2 / h**2)

    alkalinity = umol_per_kg(alkalinity_meq_per_L, water.salinity, water.temperature_C)
    return _solved(alkalinity, carbon, water)


def state_from_carbon(
    alkalinity_umol_per_kg: Number, dic_umol_per_kg: Number, water: CarbonateWater
) -> CarbonateState:
    """Return the state of closed water from its alkalinity and its carbon.

    pH by bisection of the alkalinity.

    Parameters
    ----------
    alkalinity_umol_per_kg : float or numpy.ndarray
        Total alkalinity (µmol/kg), above 0.
    dic_umol_per_kg : float or numpy.ndarray
        Dissolved inorganic carbon (µmol/kg), above 0.
    water : CarbonateWater
        Salinity, temperature, calcium and boron.

    Returns
    -------
    CarbonateState
        Numbers, or arrays of the common shape.

    Raises
    ------
    InputError
        If a number is not above 0, or no pH from 2 to 13 fits.
    CannotTellError
        If the carbonate extra is not installed.

    Examples
    --------
    >>> round(state_from_carbon(2962.39, 2537.86, CarbonateWater()).ph_total, 3)
    8.131
    """
    for number, name in ((alkalinity_umol_per_kg, "alkalinity"), (dic_umol_per_kg, "carbon")):
        array = np.asarray(number, dtype=float)
        if not np.all((array > 0.0) & np.isfinite(array)):
            raise InputError(f"{name} above 0 µmol/kg", number, "Check sign and number.")
    amount = 1e-6 * np.asarray(dic_umol_per_kg, dtype=float)
    return _solved(alkalinity_umol_per_kg, lambda h: amount, water)


def state_from_ph(
    alkalinity_meq_per_L: Number, ph_nbs: Number, water: CarbonateWater
) -> CarbonateState:
    """Return the state of water from its alkalinity and its pH as a hobby meter shows it.

    Carbon = (A − borate − hydroxide + acids)/(share as HCO3 + 2·share as CO3)

    Parameters
    ----------
    alkalinity_meq_per_L : float or numpy.ndarray
        Total alkalinity (meq/L), above 0 and at most 50.
    ph_nbs : float or numpy.ndarray
        pH on the NBS scale, set with buffers of low salt (no unit), 6–10.
    water : CarbonateWater
        Salinity, temperature, calcium and boron.

    Returns
    -------
    CarbonateState
        Numbers, or arrays of the common shape.

    Raises
    ------
    InputError
        If a number lies outside its range, or the two cannot belong to one water.
    CannotTellError
        If the carbonate extra is not installed.

    Notes
    -----
    A meter set with two buffers is good to about 0.05, which moves pCO2 by some 13 %.

    Examples
    --------
    >>> round(state_from_ph(2.853216, 8.17154, CarbonateWater()).pco2_uatm)
    500
    """
    _check_alkalinity(alkalinity_meq_per_L)
    _check_within(ph_nbs, 6.0, 10.0, "a pH", "Set the meter with two fresh buffers and read again.")
    c = water.constants()
    total = np.asarray(ph_nbs, dtype=float) - c.nbs_shift
    h = 10.0**-total
    alkalinity = 1e-6 * np.asarray(
        umol_per_kg(alkalinity_meq_per_L, water.salinity, water.temperature_C)
    )
    rest = alkalinity - _without_carbon(h, c, _boron_mol_per_kg(water, c))
    if np.any(rest <= 0.0):
        raise InputError(
            "a pH and an alkalinity of one water",
            f"pH {ph_nbs} and {alkalinity_meq_per_L} meq/L",
            "Borate and hydroxide alone need more alkalinity at this pH: read both again.",
        )
    carbon = rest * (h**2 + c.k1 * h + c.k1 * c.k2) / (c.k1 * h + 2 * c.k1 * c.k2)
    return _state(1e6 * alkalinity, h, carbon, water, c)


def _check_within(value: Number, low: float, high: float, needed: str, repair: str) -> None:
    if not np.all(np.isfinite(np.asarray(value, dtype=float))):
        raise InputError(needed, value, repair)
    check_within(value, low, high, needed, repair)


def _check_alkalinity(meq_per_L: Number) -> None:
    array = np.asarray(meq_per_L, dtype=float)
    if not np.all((array > 0.0) & (array <= 50.0)):
        raise InputError(
            "an alkalinity above 0 and at most 50 meq/L",
            meq_per_L,
            "A tank has about 3 meq/L, which is 8 dKH: check number and unit.",
        )


def _boron_mol_per_kg(water: CarbonateWater, c: CarbonateConstants) -> Number:
    if water.boron_mg_per_L is None:
        return c.total_borate
    return np.asarray(water.boron_mg_per_L, dtype=float) / (molar_mass("B") * c.density * 1000.0)


def _without_carbon(h: Number, c: CarbonateConstants, boron: Number) -> Number:
    """Return borate and hydroxide less the acids (mol/kg)."""
    free = h / (1.0 + c.total_sulfate / c.k_bisulfate)
    acids = c.total_sulfate / (1.0 + c.k_bisulfate / free)
    acids = acids + c.total_fluoride / (1.0 + c.k_fluoride / free)
    return boron * c.k_borate / (c.k_borate + h) + c.k_water / h - free - acids


def _solved(
    alkalinity_umol_per_kg: Number,
    carbon: Callable[[np.ndarray], np.ndarray],
    water: CarbonateWater,
) -> CarbonateState:
    """Return the state whose alkalinity fits; alkalinity rises with pH, so halving finds it."""
    c = water.constants()
    boron = _boron_mol_per_kg(water, c)
    wanted = 1e-6 * np.asarray(alkalinity_umol_per_kg, dtype=float)

    def excess(ph: Number) -> np.ndarray:
        h = 10.0**-ph
        share = (c.k1 * h + 2 * c.k1 * c.k2) / (h**2 + c.k1 * h + c.k1 * c.k2)
        return np.asarray(carbon(h) * share + _without_carbon(h, c, boron) - wanted)

    low, high = (np.full(excess(np.array(8.0)).shape, end) for end in _PH_ENDS)
    if np.any(excess(low) > 0.0) or np.any(excess(high) < 0.0):
        raise InputError(
            "water with a pH from 2 to 13", alkalinity_umol_per_kg, "Check amount and volume."
        )
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        above = excess(middle) > 0.0
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    h = 10.0 ** -((low + high) / 2)
    return _state(1e6 * wanted, h, np.asarray(carbon(h)), water, c)


def _state(
    alkalinity_umol_per_kg: Number,
    h: Number,
    carbon: Number,
    water: CarbonateWater,
    c: CarbonateConstants,
) -> CarbonateState:
    ph = -np.log10(h)
    whole = h**2 + c.k1 * h + c.k1 * c.k2
    co2, carbonate = carbon * h**2 / whole, carbon * c.k1 * c.k2 / whole
    calcium = np.asarray(water.calcium(), dtype=float) / (molar_mass("Ca") * c.density * 1000.0)
    omega = calcium * carbonate / c.k_aragonite
    alkalinity, dic, total, nbs, pco2, aragonite = np.broadcast_arrays(
        alkalinity_umol_per_kg,
        1e6 * carbon,
        ph,
        ph + c.nbs_shift,
        1e6 * co2 / (c.k_co2 * c.fugacity_factor),
        omega,
    )
    return CarbonateState(
        plain_number(alkalinity),
        plain_number(dic),
        plain_number(total),
        plain_number(nbs),
        plain_number(pco2),
        plain_number(aragonite),
        water,
    )
