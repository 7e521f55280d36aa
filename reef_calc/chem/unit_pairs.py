"""Pairs of conversions by name, for reading aloud: each one beside its inverse.

All are proportional and take and give floats or arrays. ``units.convert`` does the same by words.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np

from reef_calc.chem.unit_words import LinearUnit
from reef_calc.chem.units import convert, factor_between

Level = TypeVar("Level", float, np.ndarray)


def meq_per_L_from_dkh(dkh: Level) -> Level:
    """Return alkalinity in meq/L.

    meq/L = dKH·2·10/M(CaO)

    Parameters
    ----------
    dkh : float or numpy.ndarray
        Alkalinity (dKH).

    Returns
    -------
    float or numpy.ndarray
        Alkalinity (meq/L).

    Examples
    --------
    >>> round(meq_per_L_from_dkh(8.0), 4)
    2.8532

    References
    ----------
    German degree: 10 mg CaO in a litre.
    """
    return convert(dkh, "dKH", "meq/L", "alkalinity")


def dkh_from_meq_per_L(meq_per_L: Level) -> Level:
    """Return alkalinity in dKH.

    dKH = meq/L·M(CaO)/(2·10)

    Parameters
    ----------
    meq_per_L : float or numpy.ndarray
        Alkalinity (meq/L).

    Returns
    -------
    float or numpy.ndarray
        Alkalinity (dKH).

    Examples
    --------
    >>> round(dkh_from_meq_per_L(1.0), 5)
    2.80385

    References
    ----------
    German degree: 10 mg CaO in a litre.
    """
    return convert(meq_per_L, "meq/L", "dKH", "alkalinity")


def caco3_from_dkh(dkh: Level) -> Level:
    """Return alkalinity in mg/L as CaCO3.

    mg/L as CaCO3 = dKH·10·M(CaCO3)/M(CaO)

    Parameters
    ----------
    dkh : float or numpy.ndarray
        Alkalinity (dKH).

    Returns
    -------
    float or numpy.ndarray
        Alkalinity (mg/L as CaCO3).

    Examples
    --------
    >>> round(caco3_from_dkh(1.0), 4)
    17.848

    References
    ----------
    17.848 PUBLISHED in an encyclopaedia article on degrees of general hardness.
    """
    return convert(dkh, "dKH", "mg/L as CaCO3", "alkalinity")


def dkh_from_caco3(caco3_mg_per_L: Level) -> Level:
    """Return alkalinity in dKH.

    dKH = (mg/L as CaCO3)·M(CaO)/(10·M(CaCO3))

    Parameters
    ----------
    caco3_mg_per_L : float or numpy.ndarray
        Alkalinity (mg/L as CaCO3).

    Returns
    -------
    float or numpy.ndarray
        Alkalinity (dKH).

    Examples
    --------
    >>> round(dkh_from_caco3(50.0), 4)
    2.8014

    References
    ----------
    17.848 mg/L as CaCO3 for 1 dKH: PUBLISHED in an encyclopaedia article on general hardness.
    """
    return convert(caco3_mg_per_L, "mg/L as CaCO3", "dKH", "alkalinity")


def nitrate_from_nitrate_nitrogen(nitrogen_mg_per_L: Level) -> Level:
    """Return nitrate as NO3.

    NO3 = (NO3-N)·M(NO3)/M(N)

    Parameters
    ----------
    nitrogen_mg_per_L : float or numpy.ndarray
        Nitrate stated as nitrogen (mg/L NO3-N).

    Returns
    -------
    float or numpy.ndarray
        Nitrate (mg/L NO3).

    Examples
    --------
    >>> round(nitrate_from_nitrate_nitrogen(1.0), 4)
    4.4266

    References
    ----------
    Molar masses, CIAAW 2021.
    """
    return convert(nitrogen_mg_per_L, "mg/L NO3-N", "mg/L NO3", "nitrate")


def nitrate_nitrogen_from_nitrate(nitrate_mg_per_L: Level) -> Level:
    """Return nitrate stated as nitrogen.

    (NO3-N) = NO3·M(N)/M(NO3)

    Parameters
    ----------
    nitrate_mg_per_L : float or numpy.ndarray
        Nitrate (mg/L NO3).

    Returns
    -------
    float or numpy.ndarray
        Nitrate as nitrogen (mg/L NO3-N).

    Examples
    --------
    >>> round(nitrate_nitrogen_from_nitrate(10.0), 3)
    2.259

    References
    ----------
    Molar masses, CIAAW 2021.
    """
    return convert(nitrate_mg_per_L, "mg/L NO3", "mg/L NO3-N", "nitrate")


def phosphate_from_phosphorus(phosphorus_ug_per_L: Level) -> Level:
    """Return phosphate in mg/L PO4.

    PO4 = P·M(PO4)/M(P)/1000

    Parameters
    ----------
    phosphorus_ug_per_L : float or numpy.ndarray
        Phosphate stated as phosphorus (µg/L P).

    Returns
    -------
    float or numpy.ndarray
        Phosphate (mg/L PO4).

    Examples
    --------
    >>> round(phosphate_from_phosphorus(20.0), 4)
    0.0613

    References
    ----------
    Molar masses, CIAAW 2021.
    """
    return convert(phosphorus_ug_per_L, "µg/L P", "mg/L PO4", "phosphate")


def phosphorus_from_phosphate(phosphate_mg_per_L: Level) -> Level:
    """Return phosphate stated as phosphorus in µg/L.

    P = 1000·PO4·M(P)/M(PO4)

    Parameters
    ----------
    phosphate_mg_per_L : float or numpy.ndarray
        Phosphate (mg/L PO4).

    Returns
    -------
    float or numpy.ndarray
        Phosphate as phosphorus (µg/L P).

    Examples
    --------
    >>> round(phosphorus_from_phosphate(0.05), 4)
    16.3072

    References
    ----------
    Molar masses, CIAAW 2021.
    """
    return convert(phosphate_mg_per_L, "mg/L PO4", "µg/L P", "phosphate")


_DGH, _MMOL_PER_L = LinearUnit("dGH"), LinearUnit("millimole/liter")


def total_hardness_from_dgh(dgh: Level) -> Level:
    """Return total hardness in mmol/L of calcium and magnesium together.

    mmol/L = dGH·10/M(CaO)

    Parameters
    ----------
    dgh : float or numpy.ndarray
        Total hardness (dGH).

    Returns
    -------
    float or numpy.ndarray
        Calcium plus magnesium (mmol/L).

    Examples
    --------
    >>> round(total_hardness_from_dgh(1.0), 5)
    0.17833

    References
    ----------
    German degree: 10 mg CaO in a litre.
    """
    return dgh * factor_between(_DGH, _MMOL_PER_L)


def dgh_from_total_hardness(mmol_per_L: Level) -> Level:
    """Return total hardness in German degrees.

    dGH = mmol/L·M(CaO)/10

    Parameters
    ----------
    mmol_per_L : float or numpy.ndarray
        Calcium plus magnesium (mmol/L).

    Returns
    -------
    float or numpy.ndarray
        Total hardness (dGH).

    Examples
    --------
    >>> round(dgh_from_total_hardness(1.0), 4)
    5.6077

    References
    ----------
    German degree: 10 mg CaO in a litre (5.6 PUBLISHED).
    """
    return mmol_per_L * factor_between(_MMOL_PER_L, _DGH)
