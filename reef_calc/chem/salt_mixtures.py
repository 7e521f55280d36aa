"""Proportions of salts: magnesium as in sea water, and what baking makes of bicarbonate."""

from __future__ import annotations

import math

from reef_calc.chem.composition import reference_levels
from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.salts import Salt
from reef_calc.chem.stock_words import SaltPart
from reef_calc.errors import InputError


def sea_water_magnesium(
    chloride: Salt, sulfate: Salt, chloride_assay: float = 1.0, sulfate_assay: float = 1.0
) -> tuple[SaltPart, SaltPart]:
    """Return magnesium chloride and sulfate in the proportion that keeps sea water's Cl : SO4.

    moles of chloride salt / moles of sulfate salt = (Cl/2)/SO4 of sea water

    Parameters
    ----------
    chloride, sulfate : Salt
        A magnesium chloride and a magnesium sulfate.
    chloride_assay, sulfate_assay : float, optional
        Share of the mass that is this salt (no unit).

    Returns
    -------
    tuple of SaltPart
        The two with their parts by mass as sold, one part of the sulfate.

    Raises
    ------
    InputError
        If the two are not magnesium chloride and magnesium sulfate.

    Examples
    --------
    >>> from reef_calc.chem.salts import find_salt
    >>> parts = sea_water_magnesium(find_salt("magnesium chloride"), find_salt("Epsom salt"))
    >>> round(parts[0].parts, 2), parts[1].parts
    (7.97, 1.0)

    References
    ----------
    Millero et al. (2008), Deep-Sea Research I 55, 50, table 4.
    """
    if chloride.salt != "magnesium chloride" or sulfate.salt != "magnesium sulfate":
        raise InputError(
            "a magnesium chloride and a magnesium sulfate",
            f"{chloride.name}, {sulfate.name}",
            "Choose one of each.",
        )
    sea = reference_levels()
    moles = sea["chloride"].mmol_per_kg / 2.0 / sea["sulfate"].mmol_per_kg
    ratio = moles * molar_mass(chloride.full_formula) / molar_mass(sulfate.full_formula)
    return (
        SaltPart(chloride, ratio * sulfate_assay / chloride_assay, chloride_assay),
        SaltPart(sulfate, 1.0, sulfate_assay),
    )


def baked_carbonate(bicarbonate_g: float) -> float:
    """Return the sodium carbonate that baking leaves of sodium hydrogen carbonate.

    2 NaHCO3 → Na2CO3 + H2O + CO2

    Parameters
    ----------
    bicarbonate_g : float
        Mass before (g), 0 or more.

    Returns
    -------
    float
        Mass after (g): weigh it again, it is done when the mass no longer falls.

    Raises
    ------
    InputError
        If the mass is negative or not a number.

    Notes
    -----
    The dust irritates eyes and airways; the gas needs a ventilated kitchen. A gram of carbonate
    brings 1.585 times the alkalinity of a gram of hydrogen carbonate: label it anew.

    Examples
    --------
    >>> round(baked_carbonate(100.0), 2)
    63.08
    """
    if not 0.0 <= bicarbonate_g < math.inf:
        raise InputError("a mass of 0 g or more", bicarbonate_g, "Check sign and number.")
    return bicarbonate_g * molar_mass("Na2CO3") / (2.0 * molar_mass("NaHCO3"))
