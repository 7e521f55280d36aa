"""What a skeleton takes from the water per dKH of alkalinity, and what nitrogen does to alkalinity."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from reef_calc.balance.joint_uses import Estimate
from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.units import convert
from reef_calc.errors import InputError

# One mole of CaCO3 takes one mole of CO3²⁻, two equivalents of alkalinity.
EQUIVALENTS_PER_CARBONATE = 2.0
# Equivalents of alkalinity per mole of nitrate that appears.
ALKALINITY_PER_NITRATE = {"organic matter": -1.0, "ammonium": -2.0}


@dataclass(frozen=True)
class Skeleton:
    """Composition of a carbonate skeleton.

    Attributes
    ----------
    name : str
        Name in words.
    magnesium_per_calcium, strontium_per_calcium : float
        Molar ratios (mol/mol).
    """

    name: str
    magnesium_per_calcium: float = 0.0
    strontium_per_calcium: float = 0.0

    def __post_init__(self) -> None:
        if not (0 <= self.magnesium_per_calcium < 1 and 0 <= self.strontium_per_calcium < 1):
            raise InputError(
                "molar ratios from 0 to below 1",
                f"Mg/Ca {self.magnesium_per_calcium:g}, Sr/Ca {self.strontium_per_calcium:g}",
                "Give mol per mol of calcium, not mmol.",
                "Skeleton",
            )


@dataclass(frozen=True)
class TakenPerDKH:
    """What building a skeleton takes from the water for each dKH of alkalinity.

    Attributes
    ----------
    calcium, magnesium, strontium : float
        Taken (mg/L per dKH).
    """

    calcium: float
    magnesium: float
    strontium: float


PURE_CARBONATE = Skeleton("pure calcium carbonate")
# Sr/Ca 8.838 mmol/mol: Hathorne et al. 2013; Mg/Ca 4.2 mmol/mol from memory.
CORAL_ARAGONITE = Skeleton("coral aragonite", 0.0042, 0.008838)
SKELETONS = (
    PURE_CARBONATE,
    CORAL_ARAGONITE,
    Skeleton("calcite with 10 mol% magnesium", 0.10 / 0.90, 0.003),
    Skeleton("calcite with 15 mol% magnesium", 0.15 / 0.85, 0.003),
    Skeleton("calcite with 20 mol% magnesium", 0.20 / 0.80, 0.003),
)


def taken_per_dKH(skeleton: Skeleton = CORAL_ARAGONITE) -> TakenPerDKH:
    """Return the calcium, magnesium and strontium taken with each dKH of alkalinity.

    x_M = (M/Ca)/(1 + Mg/Ca + Sr/Ca); taken = x_M·A_M/2 per meq/L of alkalinity, since one mole of
    carbonate holds one mole of these ions together and takes two equivalents.

    Parameters
    ----------
    skeleton : Skeleton, optional
        What is built; coral aragonite by default.

    Returns
    -------
    TakenPerDKH
        Calcium, magnesium, strontium (mg/L per dKH).

    Notes
    -----
    Calcification only: alkalinity that goes elsewhere takes no calcium with it.

    Examples
    --------
    >>> round(taken_per_dKH(PURE_CARBONATE).calcium, 4)
    7.1470
    >>> coral = taken_per_dKH()
    >>> round(coral.calcium, 3), round(coral.magnesium, 3), round(coral.strontium, 4)
    (7.055, 0.018, 0.1363)

    References
    ----------
    J. J. Middelburg, K. Soetaert and M. Hagens, Rev. Geophys. 58 (2020), table 2, R11 (two equivalents
    per CaCO3); E. C. Hathorne et al., Geochem. Geophys. Geosyst. 14 (2013) 3730 (Sr/Ca of coral);
    atomic weights: :func:`reef_calc.chem.formulas.molar_mass`.
    """
    meq_per_L = float(convert(1.0, "dKH", "meq/L", "alkalinity"))
    ions = 1 + skeleton.magnesium_per_calcium + skeleton.strontium_per_calcium
    calcium_mmol_per_L = meq_per_L / EQUIVALENTS_PER_CARBONATE / ions
    return TakenPerDKH(
        calcium=calcium_mmol_per_L * molar_mass("Ca"),
        magnesium=calcium_mmol_per_L * skeleton.magnesium_per_calcium * molar_mass("Mg"),
        strontium=calcium_mmol_per_L * skeleton.strontium_per_calcium * molar_mass("Sr"),
    )


def calcium_per_meq(skeleton: Skeleton = PURE_CARBONATE) -> float:
    """Return the calcium taken with each meq/L of alkalinity.

    A_Ca/2/(1 + Mg/Ca + Sr/Ca)

    Parameters
    ----------
    skeleton : Skeleton, optional
        What is built; pure calcium carbonate by default.

    Returns
    -------
    float
        Calcium (mg/L per meq/L).

    Examples
    --------
    >>> round(calcium_per_meq(), 3)
    20.039

    References
    ----------
    As :func:`taken_per_dKH`.
    """
    return taken_per_dKH(skeleton).calcium / float(convert(1.0, "dKH", "meq/L", "alkalinity"))


def alkalinity_from_nitrate(
    nitrate_change: float,
    made_from: Literal["organic matter", "ammonium"] = "organic matter",
) -> float:
    """Return the change of alkalinity that goes with a change of nitrate.

    Made from organic nitrogen (food) −1, made from ammonium −2, removed by uptake or
    denitrification +1 equivalent per mole of nitrate.

    Parameters
    ----------
    nitrate_change : float
        Change of nitrate (mg/L NO3), above 0 for a rise.
    made_from : {"organic matter", "ammonium"}, optional
        Where nitrate that appears comes from; nitrate that goes always brings +1.

    Returns
    -------
    float
        Change of alkalinity (dKH).

    Raises
    ------
    InputError
        If the origin is not one of the two.

    Notes
    -----
    Nitrate in minus nitrate out is all that a kit shows: where as much is made as removed, both
    effects cancel unseen. Take out what a water change did to nitrate first.

    Examples
    --------
    >>> round(alkalinity_from_nitrate(10.0), 4), round(alkalinity_from_nitrate(10.0, "ammonium"), 4)
    (-0.4522, -0.9044)
    >>> round(alkalinity_from_nitrate(-10.0), 4)
    0.4522

    References
    ----------
    J. J. Middelburg, K. Soetaert and M. Hagens, Rev. Geophys. 58 (2020), table 2, R1, R2, R7, R12.
    """
    if made_from not in ALKALINITY_PER_NITRATE:
        raise InputError(
            "“organic matter” or “ammonium”",
            made_from,
            "Food and waste are organic matter; dosed ammonium is ammonium.",
            "alkalinity_from_nitrate, made_from",
        )
    origin = made_from if nitrate_change > 0 else "organic matter"
    meq_per_L = nitrate_change / molar_mass("NO3") * ALKALINITY_PER_NITRATE[origin]
    return float(convert(meq_per_L, "meq/L", "dKH", "alkalinity"))


def carbonate_for_ammonium(nitrogen: float) -> float:
    """Return the calcium carbonate whose alkalinity is used up by nitrifying ammonium.

    Two equivalents per mole of nitrogen, two per mole of CaCO3: M(CaCO3)/M(N).

    Parameters
    ----------
    nitrogen : float
        Ammonium nitrified (mg NH4-N, or mg/L).

    Returns
    -------
    float
        Alkalinity used (mg CaCO3, or mg/L as CaCO3).

    Examples
    --------
    >>> round(carbonate_for_ammonium(1.0), 3)
    7.145

    References
    ----------
    The figure 7.14 of water engineering; *common practice*.
    """
    return nitrogen * molar_mass("CaCO3") / molar_mass("N")


def calcifying_alkalinity(
    use: float,
    nitrate_per_day: float,
    made_from: Literal["organic matter", "ammonium"] = "organic matter",
) -> float:
    """Return the alkalinity use that is left for calcification once nitrate is accounted for.

    k_calcification = k + ΔA(nitrate per day)

    Parameters
    ----------
    use : float
        Alkalinity use (dKH per day).
    nitrate_per_day : float
        Net change of nitrate by the tank's life (mg/L NO3 per day), water changes taken out.
    made_from : {"organic matter", "ammonium"}, optional
        Where nitrate that appears comes from.

    Returns
    -------
    float
        Use by calcification, and by what else is not nitrate (dKH per day).

    Examples
    --------
    >>> round(calcifying_alkalinity(1.0, 1.0), 3)  # nitrate rises by 1 mg/L a day
    0.955

    References
    ----------
    :func:`alkalinity_from_nitrate`.
    """
    return use + alkalinity_from_nitrate(nitrate_per_day, made_from)


def expected_uses(alkalinity: Estimate) -> dict[str, Estimate]:
    """Return the calcium, magnesium and strontium use that an alkalinity use lets one expect.

    Coral aragonite gives the value; the ends belong to the skeletons that take least and most and to
    the ends of the alkalinity interval.

    Parameters
    ----------
    alkalinity : Estimate
        Alkalinity use by calcification (dKH per day), with its interval.

    Returns
    -------
    dict of str to Estimate
        ``calcium``, ``magnesium``, ``strontium`` (mg/L per day): an expectation, not a measurement.

    Raises
    ------
    InputError
        If the lower end of the alkalinity use is below 0.

    Notes
    -----
    Magnesium is the widest: coralline algae and many soft-bodied builders lay down calcite with up to
    20 mol% of it, stony corals almost none.

    Examples
    --------
    >>> magnesium = expected_uses(Estimate(1.0, 0.9, 1.1))["magnesium"]
    >>> [round(x, 2) for x in magnesium]
    [0.02, 0.0, 0.95]

    References
    ----------
    :func:`taken_per_dKH`; compositions of calcite: MEMORY.
    """
    if alkalinity.low < 0:
        raise InputError(
            "an alkalinity use from 0",
            f"{alkalinity.low:g} to {alkalinity.high:g} dKH a day",
            "Without a use that is above 0 there is nothing to expect.",
            "expected_uses",
        )
    taken = [taken_per_dKH(skeleton) for skeleton in SKELETONS]
    coral = taken_per_dKH()
    found = {}
    for name in ("calcium", "magnesium", "strontium"):
        each = [float(getattr(one, name)) for one in taken]
        found[name] = Estimate(
            float(getattr(coral, name)) * alkalinity.value,
            min(each) * alkalinity.low,
            max(each) * alkalinity.high,
        )
    return found
