"""The ratio of calcium to alkalinity used: from two separate estimates, and what would fit it."""

from __future__ import annotations

import math
from typing import Literal

from reef_calc.balance.joint_uses import Estimate
from reef_calc.errors import CannotTellError, InputError

SPEAK = 0.8
UNCLEAR = 0.5
# mg/L Mg per dKH: 10 mol% magnesium calcite takes 0.43, and no known skeleton takes 1.
MAGNESIUM_OF_CALCITE = 0.4
MAGNESIUM_TOO_MUCH = 1.0

Trend = Literal["rising", "steady", "falling"]


def ratio_by_fieller(
    numerator: float,
    u_numerator: float,
    denominator: float,
    u_denominator: float,
    quantile: float = 1.959964,
) -> Estimate:
    """Return the ratio of two independent estimates with the interval of Fieller.

    The ratios ρ with (a − ρb)² ≤ t²·(u_a² + ρ²·u_b²); with g = t²·u_b²/b²:
    ρ = [a/b ± (t/b)·√(u_a² + (a/b)²·u_b² − g·u_a²)]/(1 − g).

    Parameters
    ----------
    numerator, u_numerator : float
        Estimate and standard uncertainty, such as calcium use (mg/L per day).
    denominator, u_denominator : float
        Estimate and standard uncertainty, such as alkalinity use (dKH per day).
    quantile : float, optional
        t of the interval (no unit): 1.96 for 95 % with many degrees of freedom.

    Returns
    -------
    Estimate
        Ratio with its interval (such as mg/L per dKH); not symmetric.

    Raises
    ------
    InputError
        If an uncertainty or the quantile is negative or not finite.
    CannotTellError
        If the denominator is not clearly different from 0 (g ≥ 1): the interval has no two ends.

    Notes
    -----
    For uses that were worked out apart. The joint filter gives the ratio with their correlation.

    Examples
    --------
    >>> [round(x, 2) for x in ratio_by_fieller(7.0, 0.2, 1.0, 0.03)]
    [7.0, 6.45, 7.59]

    References
    ----------
    E. C. Fieller, J. R. Stat. Soc. B 16 (1954) 175–185 (MEMORY).
    """
    numbers = (numerator, u_numerator, denominator, u_denominator, quantile)
    if not all(map(math.isfinite, numbers)) or min(u_numerator, u_denominator, quantile) < 0:
        raise InputError(
            "finite estimates with uncertainties from 0", numbers, "Check the fits.", "Fieller"
        )
    if abs(denominator) <= quantile * u_denominator:
        raise CannotTellError(
            "The alkalinity use may be nothing, so there is no ratio of calcium to alkalinity. "
            "More alkalinity readings over a longer span would tell."
        )
    ratio = numerator / denominator
    g = (quantile * u_denominator / denominator) ** 2
    spread = u_numerator**2 * (1 - g) + (ratio * u_denominator) ** 2
    arm = quantile / abs(denominator) * math.sqrt(spread)
    return Estimate(ratio, (ratio - arm) / (1 - g), (ratio + arm) / (1 - g))


def what_fits(
    p_low: float,
    p_high: float,
    *,
    nitrate: Trend | None = None,
    salinity: Trend | None = None,
    magnesium_per_dKH: Estimate | None = None,
    fell_fast_together: bool = False,
) -> tuple[str, ...]:
    """Return sentences on what fits the ratio of calcium to alkalinity used; never one cause.

    Parameters
    ----------
    p_low, p_high : float
        Probability that the ratio is below and above what skeletons explain, the uncertainty of the
        doses included.
    nitrate : {"rising", "steady", "falling"} or None, optional
        What nitrate did in the same weeks, water changes taken out; None when not known.
    salinity : {"rising", "steady", "falling"} or None, optional
        What salinity did in the same weeks.
    magnesium_per_dKH : Estimate or None, optional
        Magnesium used per alkalinity used (mg/L per dKH).
    fell_fast_together : bool, optional
        Whether both levels fell at once, within a day or so.

    Returns
    -------
    tuple of str
        Sentences, to be shown in this order. Everything that fits is named, then that the readings
        cannot tell.

    Raises
    ------
    InputError
        If the probabilities are not such.

    Examples
    --------
    >>> for sentence in what_fits(0.02, 0.04):
    ...     print(sentence)
    The ratio of calcium to alkalinity gives no cause for doubt.
    >>> print(what_fits(0.93, 0.0, nitrate="rising")[1])
    It fits: alkalinity that goes without calcium (nitrate rose in the same weeks).

    References
    ----------
    Stoichiometry of :mod:`reef_calc.balance.stoichiometry`; *common practice, no source*.
    """
    if not (0 <= p_low <= 1 and 0 <= p_high <= 1 and p_low + p_high <= 1 + 1e-9):
        raise InputError(
            "two probabilities", (p_low, p_high), "Give shares from 0 to 1.", "what_fits"
        )
    said: list[str] = []
    fits: list[str] = []
    if salinity in ("rising", "falling"):
        moved = "rose" if salinity == "rising" else "fell"
        said.append(
            f"Salinity {moved} in these weeks. Bring all readings to one salinity first: it moves "
            "calcium by far more than alkalinity."
        )
    if p_low > SPEAK:
        said.append("Less calcium is used for each dKH than coral skeletons explain.")
        fits = _fits_low(nitrate, magnesium_per_dKH)
    elif p_high > SPEAK:
        said.append("More calcium is used for each dKH than coral skeletons explain.")
        fits = _fits_high(nitrate)
    elif p_low + p_high > UNCLEAR:
        said.append("The ratio of calcium to alkalinity is not known well enough to judge it.")
    else:
        said.append("The ratio of calcium to alkalinity gives no cause for doubt.")
    said += [f"It fits: {one}." for one in fits]
    if fits:
        said.append(
            "The readings cannot tell these apart. Check the dose log and the pumps first, then test "
            "calcium once with a second kit or a standard."
        )
    if fell_fast_together:
        said.append(
            "Both levels fell at once. If the water was cloudy, or a crust grows on heater and pumps, "
            "carbonate may have come out of solution; the ratio cannot show that, as it takes both in "
            "the same proportion."
        )
    if magnesium_per_dKH is not None and magnesium_per_dKH.low > MAGNESIUM_TOO_MUCH:
        said.append(
            "More than 1 mg/L magnesium goes with each dKH, and no skeleton takes that much. Look at "
            "the magnesium kit and at salinity before dosing."
        )
    return tuple(said)


def _fits_low(nitrate: Trend | None, magnesium_per_dKH: Estimate | None) -> list[str]:
    without_calcium = "alkalinity that goes without calcium"
    if nitrate == "rising":
        without_calcium += " (nitrate rose in the same weeks)"
    elif nitrate is None:
        without_calcium += " (has nitrate risen? was ammonium or something acid added?)"
    fits = [
        without_calcium,
        "calcium that reached the water and is not in the log",
        "a supplement that is weaker or stronger than stated, or a pump that is off",
        "a calcium kit whose reading drifted up over these weeks",
    ]
    calcite = "algae and other builders of magnesium-rich calcite"
    if magnesium_per_dKH is None:
        fits.append(f"{calcite} (then magnesium falls too)")
    elif magnesium_per_dKH.high > MAGNESIUM_OF_CALCITE:
        fits.append(f"{calcite} (the magnesium readings allow it)")
    return fits


def _fits_high(nitrate: Trend | None) -> list[str]:
    gained = "alkalinity that reached the water and is not in the log, or rich new water"
    if nitrate == "falling":
        gained += "; nitrate fell in the same weeks, which gives alkalinity back"
    return [
        gained,
        "a supplement that is weaker or stronger than stated, or a pump that is off",
        "a calcium kit whose reading drifted down over these weeks",
    ]
