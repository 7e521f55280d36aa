"""What doses leave in the water each day, once skeletons have taken calcium and alkalinity."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.seawater import density_kg_per_L
from reef_calc.chem.supplements import Supplement
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.plan.dissolved_salt import salt_brought

IONS = ("sodium", "chloride", "sulfate", "magnesium")


class SaltLeft(NamedTuple):
    """Sodium chloride that is left when skeletons have taken calcium and alkalinity.

    Attributes
    ----------
    sodium, chloride, total : float
        Rise of the level (mg/L).
    g_per_kg : float
        Rise of the absolute salinity (g/kg).
    """

    sodium: float
    chloride: float
    total: float
    g_per_kg: float


def sodium_chloride_left(
    alkalinity: float, unit: str = "dKH", *, salinity: float = 35.0, temperature_C: float = 25.0
) -> SaltLeft:
    """Return what is left of sodium (hydrogen) carbonate and calcium chloride once both are used.

    2 NaHCO3 + CaCl2 = CaCO3 + CO2 + H2O + 2 NaCl: one mmol of NaCl for each meq

    Parameters
    ----------
    alkalinity : float
        Alkalinity dosed and used, in ``unit``, 0 or more; a day's, a month's, a year's.
    unit : str
        Unit of alkalinity.
    salinity : float, optional
        Practical salinity of the tank (no unit).
    temperature_C : float, optional
        Temperature of the tank (°C).

    Returns
    -------
    SaltLeft
        In mg/L and g/kg.

    Raises
    ------
    InputError
        If the alkalinity is negative or not a number.

    Notes
    -----
    As much calcium is dosed as pure calcium carbonate takes: 7.147 mg/L for each dKH.

    Examples
    --------
    >>> left = sodium_chloride_left(1.0)
    >>> round(left.total, 2), round(left.g_per_kg, 5)
    (20.84, 0.02037)

    References
    ----------
    Molar masses as in ``reef_calc.chem.formulas.molar_mass``; density of TEOS-10.
    """
    if not 0.0 <= alkalinity < math.inf:
        raise InputError(
            f"alkalinity of 0 {unit} or more", alkalinity, "Check sign and number.", ""
        )
    mmol_per_L = convert(alkalinity, unit, "meq/L", "alkalinity")
    sodium, chloride = mmol_per_L * molar_mass("Na"), mmol_per_L * molar_mass("Cl")
    total = sodium + chloride
    return SaltLeft(
        sodium, chloride, total, total / 1000.0 / density_kg_per_L(salinity, temperature_C)
    )


class LeftEachDay(NamedTuple):
    """What daily amounts leave in the water.

    Attributes
    ----------
    rises : dict of str to float
        Net rise (mg/L per day) of sodium, chloride, sulfate and magnesium.
    salt : float
        Salt left (g/kg per day).
    messages : tuple of Message
        ``IONS_NOT_KNOWN`` for a supplement of which only a label is known.
    """

    rises: dict[str, float]
    salt: float
    messages: tuple[Message, ...]


def left_each_day(
    doses: Sequence[tuple[Supplement, float]],
    net_L: float,
    *,
    uses: Mapping[str, float] | None = None,
    salinity: float = 35.0,
    temperature_C: float = 25.0,
) -> LeftEachDay:
    """Return what daily amounts leave of each ion, and of salt.

    rise = Σ adds·delivered·amount/V − use

    Parameters
    ----------
    doses : sequence of (Supplement, float)
        Everything that is dosed, with the amount set a day (mL or g).
    net_L : float
        Net volume of water (L), above 0.
    uses : mapping of str to float, optional
        Use by element (mg/L per day), such as that of magnesium.
    salinity : float, optional
        Practical salinity of the tank (no unit).
    temperature_C : float, optional
        Temperature (°C).

    Returns
    -------
    LeftEachDay
        What is dosed less what is used.

    Raises
    ------
    InputError
        If an amount is negative or not a number, or the net volume not above 0.

    Notes
    -----
    Of the salt, what ``salt_brought`` counts as left: without calcium, strontium, nutrients and
    alkalinity.

    Examples
    --------
    >>> soda = Supplement("soda", {"alkalinity": 1.0, "sodium": 22.99})
    >>> left = left_each_day([(soda, 100.0)], 400.0)
    >>> round(left.rises["sodium"], 2), round(left.salt, 4)
    (5.75, 0.0056)
    """
    if not 0.0 < net_L < math.inf:
        raise InputError(
            "a net volume above 0 L", net_L, "Write the water's volume without rock and sand.", ""
        )
    rises = dict.fromkeys(IONS, 0.0)
    salt_mg, told = 0.0, []
    for one, amount in doses:
        if not 0.0 <= amount < math.inf:
            raise InputError("an amount of 0 or more", amount, "Correct sign and number.", one.name)
        given = amount * one.delivered_over_set.value / net_L
        for ion in IONS:
            rises[ion] += given * one.adds.get(ion, 0.0)
        brought = salt_brought(one)
        salt_mg += given * brought.left_mg
        if given and brought.assumed:
            told.append(
                Message(
                    "IONS_NOT_KNOWN",
                    f"Only the label of {one.name} is known: what carries it counts as salt, but whether "
                    "as sodium or chloride is not known. Its recipe would tell.",
                    "qualified",
                )
            )
    for ion in IONS:
        rises[ion] -= (uses or {}).get(ion, 0.0)
    kg = density_kg_per_L(salinity, temperature_C)
    return LeftEachDay(rises, salt_mg / 1000.0 / kg, tuple(told))
