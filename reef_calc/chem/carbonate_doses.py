"""The carbonate system right after a dose, and once the water is back in balance with air."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from reef_calc.chem.alkalinity_kinds import CARBON_PER_EQUIVALENT
from reef_calc.chem.carbonate import state_from_carbon, state_in_air
from reef_calc.chem.carbonate_water import CarbonateState, per_L_from_umol_per_kg, umol_per_kg
from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.seawater import Number, plain_number
from reef_calc.errors import InputError

LIME = "lime"


def after_adding(
    state: CarbonateState,
    alkalinity_meq_per_L: Number,
    carbon_mmol_per_L: Number,
    *,
    calcium_mg_per_L: Number = 0.0,
    boron_mg_per_L: Number = 0.0,
) -> CarbonateState:
    """Return the state right after something was mixed in, before any gas was exchanged.

    A and carbon rise by what was added; nothing falls out.

    Parameters
    ----------
    state : CarbonateState
        Before.
    alkalinity_meq_per_L : float or numpy.ndarray
        Rise of alkalinity (meq/L).
    carbon_mmol_per_L : float or numpy.ndarray
        Rise of inorganic carbon (mmol/L).
    calcium_mg_per_L, boron_mg_per_L : float or numpy.ndarray, optional
        Rise of calcium and of boron (mg/L).

    Returns
    -------
    CarbonateState
        Mixed in the whole volume.

    Raises
    ------
    InputError
        If alkalinity or carbon is not above 0 afterwards, or no pH from 2 to 13 fits.

    Notes
    -----
    Where the dose runs in, pH and saturation are far higher until it is mixed. Above an aragonite
    saturation of about 5 to 7 (from memory), and with hydroxide above a pH near 9.5 (from memory),
    solids fall out: the real pH is then lower than the one given here.

    Examples
    --------
    >>> from reef_calc.chem.carbonate_water import CarbonateWater
    >>> before = state_in_air(2.853216, 500.0, CarbonateWater())
    >>> round(after_adding(before, 0.178326, 0.089163).ph_total, 3)
    8.131
    """
    water = state.water
    place = (water.salinity, water.temperature_C)
    # What is not changed stays as it was: written only where the tank says so, by salinity else.
    changed = {}
    if np.any(calcium_mg_per_L):
        changed["calcium_mg_per_L"] = plain_number(np.add(water.calcium(), calcium_mg_per_L))
    if np.any(boron_mg_per_L):
        changed["boron_mg_per_L"] = plain_number(np.add(water.boron(), boron_mg_per_L))
    return state_from_carbon(
        state.alkalinity_umol_per_kg + umol_per_kg(alkalinity_meq_per_L, *place),
        state.dic_umol_per_kg + umol_per_kg(carbon_mmol_per_L, *place),
        replace(water, **changed),
    )


def after_dose(state: CarbonateState, kind: str, meq_per_L: Number) -> CarbonateState:
    """Return the state right after a rise of alkalinity of one kind.

    Carbon rises by 1, 1/2 or 0 mmol with each meq of bicarbonate, carbonate or hydroxide; lime
    is hydroxide that brings half a mmol of calcium too.

    Parameters
    ----------
    state : CarbonateState
        Before.
    kind : {"bicarbonate", "carbonate", "hydroxide", "lime"}
        What carries the alkalinity.
    meq_per_L : float or numpy.ndarray
        Rise of alkalinity (meq/L).

    Returns
    -------
    CarbonateState
        Mixed in the whole volume, before any gas was exchanged.

    Raises
    ------
    InputError
        For another kind.

    Examples
    --------
    >>> from reef_calc.chem.carbonate_water import CarbonateWater
    >>> before = state_in_air(2.853216, 500.0, CarbonateWater())
    >>> round(after_dose(before, "lime", 0.178326).aragonite, 2)
    6.14
    """
    kinds = ("bicarbonate", "carbonate", "hydroxide", LIME)
    if kind not in kinds:
        raise InputError(f"one of {', '.join(kinds)}", kind, "Choose one of these.")
    carbon = CARBON_PER_EQUIVALENT["hydroxide" if kind == LIME else kind]
    rise = np.asarray(meq_per_L, dtype=float)
    calcium = rise * molar_mass("Ca") / 2 if kind == LIME else 0.0
    return after_adding(state, rise, rise * carbon, calcium_mg_per_L=calcium)


def back_in_air(state: CarbonateState, pco2_uatm: Number) -> CarbonateState:
    """Return the state once the water is in balance with air again.

    Alkalinity stays, carbon comes and goes.

    Parameters
    ----------
    state : CarbonateState
        Before.
    pco2_uatm : float or numpy.ndarray
        Carbon dioxide of the air (µatm).

    Returns
    -------
    CarbonateState
        At the same alkalinity, calcium and boron.

    Notes
    -----
    How long it takes is another question: hours with strong flow at the surface, a day and more
    under a lid (common practice, no source).

    Examples
    --------
    >>> from reef_calc.chem.carbonate_water import CarbonateWater
    >>> before = state_in_air(2.853216, 500.0, CarbonateWater())
    >>> round(back_in_air(after_dose(before, "carbonate", 0.178326), 500.0).ph_total, 4)
    8.0573
    """
    place = (state.water.salinity, state.water.temperature_C)
    alkalinity = per_L_from_umol_per_kg(state.alkalinity_umol_per_kg, *place)
    return state_in_air(alkalinity, pco2_uatm, state.water)
