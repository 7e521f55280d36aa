"""A water and its carbonate system at one moment: what the states of ``carbonate`` are made of."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from reef_calc.chem.carbonate_constants import CarbonateConstants, carbonate_constants
from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.seawater import Number, density_kg_per_L, plain_number
from reef_calc.errors import InputError


@dataclass(frozen=True)
class CarbonateWater:
    """What the carbonate system needs to know of a water beside alkalinity and carbon.

    Attributes
    ----------
    salinity : float
        Practical salinity (no unit).
    temperature_C : float
        Temperature (°C), also that of the litre in which levels are counted.
    calcium_mg_per_L : float, numpy.ndarray or None
        Calcium (mg/L); None: as in sea water of this salinity.
    boron_mg_per_L : float, numpy.ndarray or None
        Total boron (mg/L); None: as in sea water of this salinity (Uppström 1974).
    """

    salinity: float = 35.0
    temperature_C: float = 25.0
    calcium_mg_per_L: Number | None = None
    boron_mg_per_L: Number | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        for name, number in (("salinity", self.salinity), ("temperature", self.temperature_C)):
            if not np.isfinite(number):
                raise InputError(f"a {name}", number, "Write the number.")
        for name, level in (("calcium", self.calcium_mg_per_L), ("boron", self.boron_mg_per_L)):
            if level is None:
                continue
            array = np.asarray(level, dtype=float)
            if not np.all((array >= 0.0) & np.isfinite(array)):
                raise InputError(f"{name} of 0 mg/L or more", level, "Check sign and number.")

    def constants(self) -> CarbonateConstants:
        """Return the equilibrium constants of this water (mol, kg, atm)."""
        return carbonate_constants(self.salinity, self.temperature_C)

    def calcium(self) -> Number:
        """Return calcium (mg/L), typed or by salinity."""
        return _typed_or_by_salinity(self, self.calcium_mg_per_L, "Ca")

    def boron(self) -> Number:
        """Return total boron (mg/L), typed or by salinity."""
        return _typed_or_by_salinity(self, self.boron_mg_per_L, "B")


@dataclass(frozen=True)
class CarbonateState:
    """The carbonate system at one moment; numbers or arrays of one shape.

    Attributes
    ----------
    alkalinity_umol_per_kg : float or numpy.ndarray
        Total alkalinity (µmol/kg).
    dic_umol_per_kg : float or numpy.ndarray
        Dissolved inorganic carbon (µmol/kg).
    ph_total, ph_nbs : float or numpy.ndarray
        pH on the total scale, and on the NBS scale that a hobby meter shows (no unit).
    pco2_uatm : float or numpy.ndarray
        Partial pressure of carbon dioxide (µatm).
    aragonite : float or numpy.ndarray
        Saturation of aragonite (no unit); 1 is saturated.
    water : CarbonateWater
        The water it holds for.
    """

    alkalinity_umol_per_kg: Number
    dic_umol_per_kg: Number
    ph_total: Number
    ph_nbs: Number
    pco2_uatm: Number
    aragonite: Number
    water: CarbonateWater

    def at(self, index: int) -> CarbonateState:
        """Return one state of an array of them.

        Parameters
        ----------
        index : int
            Place in the array.

        Returns
        -------
        CarbonateState
            With plain numbers.
        """
        shape = np.shape(self.ph_total)

        def one(value: Number) -> float:
            return float(np.ravel(np.broadcast_to(value, shape))[index])

        calcium, boron = self.water.calcium_mg_per_L, self.water.boron_mg_per_L
        return CarbonateState(
            one(self.alkalinity_umol_per_kg),
            one(self.dic_umol_per_kg),
            one(self.ph_total),
            one(self.ph_nbs),
            one(self.pco2_uatm),
            one(self.aragonite),
            replace(
                self.water,
                calcium_mg_per_L=None if calcium is None else one(calcium),
                boron_mg_per_L=None if boron is None else one(boron),
            ),
        )


def _typed_or_by_salinity(water: CarbonateWater, typed: Number | None, atom: str) -> Number:
    if typed is not None:
        return typed
    found = water.constants()
    amount = found.total_calcium if atom == "Ca" else found.total_borate
    return 1000.0 * amount * molar_mass(atom) * found.density


def umol_per_kg(per_L: Number, salinity: float, temperature_C: float) -> Number:
    """Return an amount per litre as an amount per kilogram.

    x/kg = 1000·x/L/ρ

    Parameters
    ----------
    per_L : float or numpy.ndarray
        Amount (mmol/L; alkalinity: meq/L).
    salinity : float
        Practical salinity (no unit).
    temperature_C : float
        Temperature of the litre (°C).

    Returns
    -------
    float or numpy.ndarray
        Amount (µmol/kg).

    Examples
    --------
    >>> round(umol_per_kg(2.853216, 35.0, 25.0), 2)
    2788.13
    """
    return plain_number(
        1000.0 * np.asarray(per_L, dtype=float) / density_kg_per_L(salinity, temperature_C)
    )


def per_L_from_umol_per_kg(amount: Number, salinity: float, temperature_C: float) -> Number:
    """Return an amount per kilogram as an amount per litre.

    x/L = x/kg·ρ/1000

    Parameters
    ----------
    amount : float or numpy.ndarray
        Amount (µmol/kg).
    salinity : float
        Practical salinity (no unit).
    temperature_C : float
        Temperature of the litre (°C).

    Returns
    -------
    float or numpy.ndarray
        Amount (mmol/L; alkalinity: meq/L).

    Examples
    --------
    >>> round(per_L_from_umol_per_kg(2788.13, 35.0, 25.0), 5)
    2.85322
    """
    density = density_kg_per_L(salinity, temperature_C)
    return plain_number(np.asarray(amount, dtype=float) * density / 1000.0)
