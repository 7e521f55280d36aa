"""Titrations and drop counts as plain formulas on floats or arrays."""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np

from reef_calc.errors import InputError

Number = TypeVar("Number", float, np.ndarray)


def _above_zero(**volumes: float) -> None:
    for name, volume in volumes.items():
        if not (math.isfinite(volume) and volume > 0.0):
            raise InputError(
                f"a number above 0 for {name}",
                volume,
                "Nothing can be divided by it: check the kit's description.",
            )


def concentration_from_titrant(
    titrant_mL: Number,
    *,
    titrant_mol_per_L: float,
    sample_mL: float,
    blank_mL: float = 0.0,
    factor: float = 1.0,
    ratio: float = 1.0,
) -> Number:
    """Return the concentration in a sample that was titrated directly.

    C = (V − V0)·c·f·ν/Vs

    Parameters
    ----------
    titrant_mL : float or numpy.ndarray
        Titrant used (mL), any shape.
    titrant_mol_per_L : float
        Stated concentration of the titrant (mol/L).
    sample_mL : float
        Sample (mL).
    blank_mL : float, optional
        Titrant that water without the element takes (mL).
    factor : float, optional
        Titre factor: true over stated concentration, without unit.
    ratio : float, optional
        Moles (for alkalinity: equivalents) of the element that one mole of titrant takes; no unit.

    Returns
    -------
    float or numpy.ndarray
        Concentration in mol/L; negative where less was used than the blank.

    Raises
    ------
    InputError
        If a volume or a concentration is not above 0.

    Examples
    --------
    >>> round(concentration_from_titrant(12.4, titrant_mol_per_L=0.0300, sample_mL=50.0), 5)
    0.00744

    References
    ----------
    The definition of concentration; checked against the worked examples T11 to T18.
    """
    _above_zero(titrant_mol_per_L=titrant_mol_per_L, sample_mL=sample_mL, factor=factor)
    _above_zero(ratio=ratio)
    return (titrant_mL - blank_mL) * (titrant_mol_per_L * factor * ratio / sample_mL)


def titrant_for_concentration(
    concentration_mol_per_L: Number,
    *,
    titrant_mol_per_L: float,
    sample_mL: float,
    blank_mL: float = 0.0,
    factor: float = 1.0,
    ratio: float = 1.0,
) -> Number:
    """Return the titrant that a sample of known concentration takes.

    V = C·Vs/(c·f·ν) + V0; the inverse of ``concentration_from_titrant``.

    Parameters
    ----------
    concentration_mol_per_L : float or numpy.ndarray
        Concentration in the sample (mol/L), any shape.
    titrant_mol_per_L : float
        Stated concentration of the titrant (mol/L).
    sample_mL, blank_mL : float
        Sample and blank (mL).
    factor, ratio : float
        As in ``concentration_from_titrant``, without unit.

    Returns
    -------
    float or numpy.ndarray
        Volume in mL.

    Raises
    ------
    InputError
        If a volume or a concentration is not above 0.

    Examples
    --------
    >>> round(titrant_for_concentration(0.0656, titrant_mol_per_L=0.1500, sample_mL=40.00,
    ...                                 ratio=0.5), 2)
    34.99
    """
    _above_zero(titrant_mol_per_L=titrant_mol_per_L, sample_mL=sample_mL, factor=factor)
    _above_zero(ratio=ratio)
    return concentration_mol_per_L * (sample_mL / (titrant_mol_per_L * factor * ratio)) + blank_mL


def concentration_from_back_titration(
    titrant_mL: Number,
    *,
    precipitant_mol_per_L: float,
    precipitant_mL: float,
    titrant_mol_per_L: float,
    sample_mL: float,
    total_mL: float = 1.0,
    aliquot_mL: float = 1.0,
    blank_mL: float = 0.0,
    factor: float = 1.0,
    precipitant_per_titrant: float = 1.0,
    precipitant_per_element: float = 1.0,
) -> Number:
    """Return the concentration in a sample from the precipitant that was left over.

    C = [cp·Vp − νt·(V − V0)·c·f·Vtot/Va]/(νa·Vs); the more titrant, the less of the element.

    Parameters
    ----------
    titrant_mL : float or numpy.ndarray
        Titrant used on the aliquot (mL), any shape.
    precipitant_mol_per_L, precipitant_mL : float
        Concentration (mol/L) and volume (mL) of the precipitant.
    titrant_mol_per_L : float
        Stated concentration of the titrant (mol/L).
    sample_mL : float
        Sample (mL).
    total_mL, aliquot_mL : float, optional
        Filtrate in all, and what of it was titrated (mL). Equal when nothing was taken off.
    blank_mL : float, optional
        Titrant that a filtrate without precipitant takes (mL).
    factor : float, optional
        Titre factor of the titrant, without unit.
    precipitant_per_titrant, precipitant_per_element : float, optional
        Moles of precipitant that one mole of titrant, and of the element, takes; no unit.

    Returns
    -------
    float or numpy.ndarray
        Concentration in mol/L. Negative past the zero point: a weak titrant, or more precipitant
        than stated, never "none present".

    Raises
    ------
    InputError
        If a volume or a concentration is not above 0, or the aliquot exceeds the filtrate.

    Examples
    --------
    >>> found = concentration_from_back_titration(13.10, precipitant_mol_per_L=0.025,
    ...     precipitant_mL=10.0, titrant_mol_per_L=0.010, sample_mL=5.0, total_mL=15.0,
    ...     aliquot_mL=10.0)
    >>> round(found, 4)
    0.0107

    References
    ----------
    Mass balance of the precipitant; checked against a textbook example (T08) and by hand (T21).
    """
    _above_zero(
        precipitant_mol_per_L=precipitant_mol_per_L,
        precipitant_mL=precipitant_mL,
        titrant_mol_per_L=titrant_mol_per_L,
        sample_mL=sample_mL,
        total_mL=total_mL,
        aliquot_mL=aliquot_mL,
        factor=factor,
    )
    _above_zero(
        precipitant_per_titrant=precipitant_per_titrant,
        precipitant_per_element=precipitant_per_element,
    )
    if aliquot_mL > total_mL:
        raise InputError(
            f"an aliquot of at most the filtrate, {total_mL:g} mL",
            aliquot_mL,
            "aliquot_mL and total_mL may have been swapped in the kit's description.",
        )
    titrated = (
        (titrant_mL - blank_mL)
        * (titrant_mol_per_L * factor * total_mL / aliquot_mL)
        * precipitant_per_titrant
    )
    left = precipitant_mol_per_L * precipitant_mL - titrated
    return left / (precipitant_per_element * sample_mL)


def level_from_drops(drops: Number, level_per_drop: float, half_drop: bool) -> Number:
    """Return the level that a count of drops stands for.

    (n − ½)·step where the colour changed somewhere within the last drop, n·step where the kit's
    instructions count it in full.

    Parameters
    ----------
    drops : float or numpy.ndarray
        Drops up to the change of colour, a count of 1 or more, any shape.
    level_per_drop : float
        Level of one drop, in the kit's unit.
    half_drop : bool
        Whether the middle of the last drop is meant.

    Returns
    -------
    float or numpy.ndarray
        Level in the kit's unit; u from the drop alone is step/√12.

    Raises
    ------
    InputError
        If a drop counts nothing, or a count is not a whole number of 1 or more.

    Examples
    --------
    >>> level_from_drops(16, 0.5, half_drop=True), level_from_drops(16, 0.5, half_drop=False)
    (7.75, 8.0)
    """
    _above_zero(level_per_drop=level_per_drop)
    counts = np.asarray(drops, dtype=float)
    if not (np.isfinite(counts).all() and (counts >= 1).all() and (counts % 1 == 0).all()):
        raise InputError(
            "a whole number of drops, 1 or more",
            drops,
            "Count the drop that changed the colour; if none was needed, write < in the limit.",
        )
    return (drops - (0.5 if half_drop else 0.0)) * level_per_drop


def factor_from_standard(standard: float, reading: float, blank: float = 0.0) -> float:
    """Return the titre factor that a standard shows.

    f = C(standard)/(C(read) − C(blank))

    Parameters
    ----------
    standard, reading, blank : float
        True level of the standard, what the kit read on it, and what it reads on pure water; all
        in the kit's unit.

    Returns
    -------
    float
        Factor without unit; true level = f·(reading − blank). Keep it with the date and the lot.

    Raises
    ------
    InputError
        If the standard or the reading above the blank is not above 0.

    Notes
    -----
    One standard cannot tell a factor from an offset.

    Examples
    --------
    >>> round(factor_from_standard(8.0, 8.4) * 7.7, 3)
    7.333
    """
    _above_zero(standard=standard, reading=reading - blank)
    return standard / (reading - blank)


def undiluted(level: Number, dilution: float, diluent_level: float = 0.0) -> Number:
    """Return the level of a sample that was read diluted.

    C = C(read)·D − C(diluent)·(D − 1)

    Parameters
    ----------
    level : float or numpy.ndarray
        Level read in the mixture, in the kit's unit, any shape.
    dilution : float
        Final volume over volume of the sample, a factor of 1 or more.
    diluent_level : float, optional
        Level of the water that was added, in the kit's unit.

    Returns
    -------
    float or numpy.ndarray
        Level of the sample in the kit's unit. Its resolution and uncertainty are D times larger.

    Raises
    ------
    InputError
        If the dilution is below 1.

    Examples
    --------
    >>> undiluted(12.0, (5.0 + 15.0) / 5.0), round(undiluted(12.0, 4.0, 0.3), 9)
    (48.0, 47.1)
    """
    if not (math.isfinite(dilution) and dilution >= 1.0):
        raise InputError(
            "a dilution of 1 or more",
            dilution,
            "It is the final volume over the sample: 5 mL made up to 20 mL is 4, not 0.25.",
        )
    return level * dilution - diluent_level * (dilution - 1.0)
