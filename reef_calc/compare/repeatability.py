"""How well each kit repeats on one water, and how the two compare."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.special import chdtri, fdtri

from reef_calc.compare.limit_factors import check_confidence
from reef_calc.compare.one_way import one_way
from reef_calc.compare.pairs import Pairs
from reef_calc.errors import InputError


@dataclass(frozen=True)
class Repeatability:
    """Scatter of repeated readings of one water with one kit.

    Attributes
    ----------
    sd : float
        Standard deviation of one reading in its unit, never below resolution/√12.
    low, high : float or None
        Interval of it in the same unit; None for a typed value.
    df : int or None
        Degrees of freedom; None for a typed value.
    observed_sd : float or None
        Standard deviation as it was read, in the same unit; None for a typed value.
    resolution : float
        Step of the scale in the same unit; 0 for none.
    waters : int
        Number of waters with repeats.
    coefficient_of_variation : float or None
        The same scatter as a share of the level; None where a level is 0 or less.
    favours_share : float or None
        Gain in the logarithm of the likelihood when the scatter is taken as a share of the level
        instead of the same everywhere (a number without unit): above 0 speaks for a share, above 2
        clearly. None where that is not known.
    typed : bool
        Whether it was typed, not found from repeats.
    """

    sd: float
    low: float | None
    high: float | None
    df: int | None
    observed_sd: float | None
    resolution: float
    waters: int
    coefficient_of_variation: float | None
    favours_share: float | None
    typed: bool

    @property
    def at_floor(self) -> bool:
        """Whether the steps of the scale hide the scatter."""
        return self.observed_sd is not None and self.observed_sd < self.sd

    @property
    def sd_in_steps(self) -> float | None:
        """Standard deviation in steps of the scale (a ratio); None without steps."""
        return self.sd / self.resolution if self.resolution > 0.0 else None


class ErrorRatio(NamedTuple):
    """Variance of kit A over variance of kit B.

    Attributes
    ----------
    ratio : float
        Ratio of the variances.
    low, high : float or None
        Interval of the ratio; None when one of the two was typed.
    """

    ratio: float
    low: float | None
    high: float | None


def repeatability(
    repeats: Sequence[Sequence[float] | np.ndarray],
    *,
    resolution: float = 0.0,
    confidence: float = 0.95,
) -> Repeatability:
    """Return how well a kit repeats, pooled over the waters that were read more than once.

    s² = ΣΣ (x_ij − x̄_i)²/ν, interval by χ²(ν), and s² never below resolution²/12.

    Parameters
    ----------
    repeats : sequence of sequence of float
        Readings of each water with one kit, in one unit.
    resolution : float, optional
        Step of the scale, in the unit of the readings.
    confidence : float, optional
        Probability of the interval, between 0 and 1.

    Returns
    -------
    Repeatability
        In the unit of the readings.

    Raises
    ------
    InputError
        If no water was read twice, the step is below 0, or a reading is no number.

    Notes
    -----
    Assumes the same scatter at every level. The variance of rounding to a step r is r²/12 on
    average over levels; repeats of one water can show less.

    Examples
    --------
    >>> found = repeatability([[8.0, 8.2], [7.0, 7.0], [9.1, 8.9]], resolution=0.1)
    >>> round(found.sd, 3), round(found.low, 3), round(found.high, 3), found.df
    (0.115, 0.065, 0.431, 3)

    References
    ----------
    ISO 5725-2, pooled repeatability (from memory).
    """
    check_confidence(confidence)
    if not 0.0 <= resolution < math.inf:
        raise InputError("the step of the scale, 0 or more", resolution, "Type it.", "resolution")
    groups = [np.asarray(group, dtype=float) for group in repeats if len(group) > 1]
    if not groups:
        raise InputError(
            "one water read twice or more with this kit",
            f"{len(repeats)} {'water' if len(repeats) == 1 else 'waters'}, each read once",
            "Repeat some tests, or type the kit's repeatability.",
            "repeats",
        )
    found = one_way(groups)
    df = found.df_within
    observed = math.sqrt(found.within_square or 0.0)
    variance = max(observed**2, resolution**2 / 12.0)
    tail = (1.0 - confidence) / 2.0
    share, favours = _share_of_level(groups, found.within_square or 0.0)
    return Repeatability(
        sd=math.sqrt(variance),
        low=math.sqrt(df * variance / chdtri(df, tail)),
        high=math.sqrt(df * variance / chdtri(df, 1.0 - tail)),
        df=df,
        observed_sd=observed,
        resolution=resolution,
        waters=len(groups),
        coefficient_of_variation=share,
        favours_share=favours,
        typed=False,
    )


def typed_repeatability(
    *,
    sd: float | None = None,
    coefficient_of_variation: float | None = None,
    level: float | None = None,
    resolution: float = 0.0,
) -> Repeatability:
    """Return a repeatability that somebody typed, as a standard deviation or a share of the level.

    Parameters
    ----------
    sd : float, optional
        Standard deviation of one reading, in its unit, above 0.
    coefficient_of_variation : float, optional
        The same as a share of the level, above 0; then ``level`` is needed.
    level : float, optional
        Level that the share refers to, in the unit of the readings, above 0.
    resolution : float, optional
        Step of the scale, in the unit of the readings.

    Returns
    -------
    Repeatability
        In the unit of the readings; never below resolution/√12.

    Raises
    ------
    InputError
        If not exactly one of the two is given, or a number is out of its range.

    Examples
    --------
    >>> typed_repeatability(coefficient_of_variation=0.02, level=8.0).sd
    0.16
    """
    if (sd is None) == (coefficient_of_variation is None):
        raise InputError(
            "either a standard deviation or a share of the level",
            "both" if sd is not None else "neither",
            "Type one of them.",
            "repeatability",
        )
    if not 0.0 <= resolution < math.inf:
        raise InputError("the step of the scale, 0 or more", resolution, "Type it.", "resolution")
    share = coefficient_of_variation
    if share is not None:
        if level is None or not (0.0 < level < math.inf and 0.0 < share < math.inf):
            raise InputError(
                "a share and a level above 0", f"{share} of {level}", "Type both.", "repeatability"
            )
        sd = share * level
    if sd is None or not 0.0 < sd < math.inf:
        raise InputError(
            "a standard deviation above 0", sd, "Type the kit's repeatability.", "repeatability"
        )
    floored = max(sd, resolution / math.sqrt(12.0))
    return Repeatability(floored, None, None, None, None, resolution, 0, share, None, typed=True)


def repeatability_of_kits(
    pairs: Pairs,
    *,
    sd_a: float | None = None,
    sd_b: float | None = None,
    confidence: float = 0.95,
) -> tuple[Repeatability | None, Repeatability | None]:
    """Return how well each of two kits repeats; a typed value goes before the repeats.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.
    sd_a, sd_b : float, optional
        Typed standard deviations of one reading, in the unit of the pairs.
    confidence : float, optional
        Probability of the intervals, between 0 and 1.

    Returns
    -------
    tuple
        Of kit A and of kit B in the unit of the pairs; None where no water was read twice.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> waters = (Water("1", (8.0, 8.2), (8.4,)), Water("2", (7.5, 7.4), (7.9,)))
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)
    >>> a, b = repeatability_of_kits(pairs, sd_b=0.2)
    >>> round(a.sd, 3), b.sd
    (0.112, 0.2)
    """
    found: list[Repeatability | None] = []
    for typed, step, readings in (
        (sd_a, pairs.resolution_a, [water.a for water in pairs.waters]),
        (sd_b, pairs.resolution_b, [water.b for water in pairs.waters]),
    ):
        if typed is not None:
            found.append(typed_repeatability(sd=typed, resolution=step))
        elif any(len(one) > 1 for one in readings):
            found.append(repeatability(readings, resolution=step, confidence=confidence))
        else:
            found.append(None)
    return found[0], found[1]


def error_ratio(a: Repeatability, b: Repeatability, *, confidence: float = 0.95) -> ErrorRatio:
    """Return the variance of kit A over that of kit B, s_A²/s_B², with its F interval.

    Parameters
    ----------
    a, b : Repeatability
        Of the two kits, in one unit.
    confidence : float, optional
        Probability of the interval, between 0 and 1.

    Returns
    -------
    ErrorRatio
        Ratio without unit.

    Raises
    ------
    InputError
        If kit B shows no scatter at all.

    Examples
    --------
    >>> error_ratio(typed_repeatability(sd=0.2), typed_repeatability(sd=0.1)).ratio
    4.0
    """
    check_confidence(confidence)
    if b.sd <= 0.0:
        raise InputError(
            "scatter between repeats of the second kit",
            "repeats that are all equal, and no step of the scale",
            "Type the kit's step or its repeatability.",
            "error ratio",
        )
    ratio = (a.sd / b.sd) ** 2
    if a.df is None or b.df is None:
        return ErrorRatio(ratio, None, None)
    tail = (1.0 - confidence) / 2.0
    return ErrorRatio(
        ratio,
        ratio / float(fdtri(a.df, b.df, 1.0 - tail)),
        ratio / float(fdtri(a.df, b.df, tail)),
    )


def _share_of_level(groups: list[np.ndarray], variance: float) -> tuple[float | None, float | None]:
    """Pooled share of the level, and what it gains over the same scatter everywhere."""
    means = np.array([one.mean() for one in groups])
    if means.min() <= 0.0:
        return None, None
    df = np.array([len(one) - 1 for one in groups])
    squares = np.array([one.var(ddof=1) for one in groups])
    share_squared = float(df @ (squares / means**2)) / float(df.sum())
    if variance <= 0.0 or share_squared <= 0.0:
        return math.sqrt(share_squared), None
    # Both forms have one parameter, so their likelihoods compare directly.
    gain = 0.5 * float(df.sum()) * math.log(variance / share_squared) - float(df @ np.log(means))
    return math.sqrt(share_squared), gain
