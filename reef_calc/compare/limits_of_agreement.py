"""Limits of agreement: between which single readings of two kits differ, 95 times in a hundred."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.stats import t as student

from reef_calc.compare.difference import (
    Scale,
    as_differences,
    differences_on_scale,
    no_scatter,
    readings_on_scale,
)
from reef_calc.compare.limit_factors import (
    LIMITS_FACTOR,
    check_confidence,
    pair_factors,
    single_limit_factors,
)
from reef_calc.compare.one_way import one_way
from reef_calc.compare.pairs import Pairs
from reef_calc.errors import InputError

Interval = tuple[float, float]


@dataclass(frozen=True)
class LimitsOfAgreement:
    """Between which values single differences B − A lie, 95 times in a hundred.

    Attributes
    ----------
    scale : {"absolute", "percent", "log"}
        Unit of the readings; per cent of the mean of both kits; natural logarithm of B/A.
    n : int
        Number of waters.
    mean, sd : float
        Mean difference and standard deviation of one difference of single readings, on that scale.
    standard_error, df : float
        Of the mean (same scale), and degrees of freedom of the standard deviation.
    confidence : float
        Probability of the intervals of the limits.
    """

    scale: Scale
    n: int
    mean: float
    sd: float
    standard_error: float
    df: float
    confidence: float

    @property
    def lower(self) -> float:
        """Lower limit, mean − 1.96·SD, on the scale."""
        return self.mean - LIMITS_FACTOR * self.sd

    @property
    def upper(self) -> float:
        """Upper limit, mean + 1.96·SD, on the scale."""
        return self.mean + LIMITS_FACTOR * self.sd

    @property
    def no_scatter(self) -> bool:
        """Whether all differences are equal, so that there is no limit to tell."""
        return self.sd == 0.0

    @cached_property
    def pair_intervals(self) -> tuple[Interval, Interval] | None:
        """Exact intervals of the lower and of the upper limit as a pair; None without scatter."""
        if self.no_scatter:
            return None
        inner, outer = pair_factors(self.df, self._ratio, confidence=self.confidence)
        return self._both(inner, outer)

    @cached_property
    def single_intervals(self) -> tuple[Interval, Interval] | None:
        """Exact intervals of the lower and of the upper limit, each alone; None without scatter."""
        if self.no_scatter:
            return None
        inner, outer = single_limit_factors(self.df, self._ratio, self.confidence)
        return self._both(inner, outer)

    @cached_property
    def approximate_intervals(self) -> tuple[Interval, Interval] | None:
        """Intervals of 1999, limit ± t·√(SE² + 1.96² SD²/(2 df)); too narrow with few waters."""
        if self.no_scatter:
            return None
        half = math.sqrt(self._ratio**2 + LIMITS_FACTOR**2 / (2.0 * self.df))
        half *= float(student.ppf((1.0 + self.confidence) / 2.0, self.df))
        return self._both(LIMITS_FACTOR - half, LIMITS_FACTOR + half)

    @property
    def _ratio(self) -> float:
        return self.standard_error / self.sd

    def _both(self, inner: float, outer: float) -> tuple[Interval, Interval]:
        return (
            (self.mean - outer * self.sd, self.mean - inner * self.sd),
            (self.mean + inner * self.sd, self.mean + outer * self.sd),
        )


def limits_of_agreement(
    differences: Sequence[float] | np.ndarray,
    *,
    confidence: float = 0.95,
    scale: Scale = "absolute",
    size: float = 0.0,
) -> LimitsOfAgreement:
    """Return the limits of agreement of single differences, d̄ ± 1.96·s.

    Parameters
    ----------
    differences : sequence of float
        B − A of each water in any unit, shape (n,), n of 2 or more.
    confidence : float, optional
        Probability of the intervals of the limits, between 0 and 1.
    scale : {"absolute", "percent", "log"}, optional
        What the differences are.
    size : float, optional
        Largest reading, in the unit of the differences: says what is equal but for the arithmetic.

    Returns
    -------
    LimitsOfAgreement
        In the unit of the differences.

    Notes
    -----
    Assumes nearly normal differences that scatter alike at every level.

    Examples
    --------
    >>> found = limits_of_agreement([0.3, 0.1, 0.4, 0.2, 0.3, 0.0, 0.5, 0.2])
    >>> round(found.lower, 2), round(found.upper, 2)
    (-0.06, 0.56)
    >>> [round(end, 2) for end in found.pair_intervals[1]]
    [0.47, 0.93]

    References
    ----------
    Bland & Altman (1986), Lancet i, 307, and (1999), Stat. Methods Med. Res. 8, 135. Intervals:
    Carkeet (2015), Optom. Vis. Sci. 92, e71.
    """
    check_confidence(confidence)
    values = as_differences(differences)
    n = len(values)
    sd = 0.0 if no_scatter(values, size) else float(values.std(ddof=1))
    return LimitsOfAgreement(
        scale, n, float(values.mean()), sd, sd / math.sqrt(n), n - 1.0, confidence
    )


def limits_of_kits(
    pairs: Pairs, *, scale: Scale = "absolute", linked: bool = False, confidence: float = 0.95
) -> LimitsOfAgreement:
    """Return the limits of agreement of single readings of two kits, repeats allowed for.

    Without repeats mean ± 1.96·SD of the differences. With repeats, not linked:
    SD² = var(d̄_i) + (1 − mean 1/m_A) s_A² + (1 − mean 1/m_B) s_B². Linked (the first reading of A
    was taken together with the first of B, and so on): SD² = variance between waters + variance
    within, of the differences.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.
    scale : {"absolute", "percent", "log"}, optional
        In the unit of the pairs, in per cent of the mean of both, or as ln(B/A).
    linked : bool, optional
        Whether the readings of a water were taken pair by pair.
    confidence : float, optional
        Probability of the intervals of the limits, between 0 and 1.

    Returns
    -------
    LimitsOfAgreement
        For one reading with each kit, on the scale asked for.

    Raises
    ------
    InputError
        If there is one water only, a linked water was read unequally often, or a reading is 0 or
        less where a share of it is wanted.

    Notes
    -----
    Degrees of freedom with repeats are Satterthwaite's; the intervals are then approximate. Linked
    differences are averaged reading by reading, the others water by water.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> waters = (Water("1", (8.0, 8.2), (8.4, 8.3)), Water("2", (7.5, 7.4), (7.9, 8.1)),
    ...     Water("3", (9.0, 9.3), (9.2, 9.4)))
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)
    >>> found = limits_of_kits(pairs)
    >>> round(found.lower, 2), round(found.upper, 2)
    (-0.17, 0.81)

    References
    ----------
    Bland & Altman (1999), Stat. Methods Med. Res. 8, 135, section 5, and (2007), J. Biopharm. Stat.
    17, 571 (from memory). Satterthwaite (1946), Biometrics Bull. 2, 110.
    """
    check_confidence(confidence)
    a, b = readings_on_scale(pairs, scale)
    differences, size = differences_on_scale(pairs, scale)
    as_differences(differences)
    if linked:
        return _linked(pairs, a, b, scale, confidence)
    if all(len(one) == 1 for one in a + b):
        return limits_of_agreement(differences, confidence=confidence, scale=scale, size=size)
    variance = 0.0 if no_scatter(differences, size) else float(differences.var(ddof=1))
    parts = [(variance, pairs.n - 1)]
    for readings in (a, b):
        within = one_way(readings)
        if within.within_square is not None:
            share = 1.0 - float(np.mean([1.0 / len(one) for one in readings]))
            parts.append((share * within.within_square, within.df_within))
    sd, df = _together(parts)
    se = math.sqrt(variance / pairs.n)
    return LimitsOfAgreement(scale, pairs.n, float(differences.mean()), sd, se, df, confidence)


def _linked(
    pairs: Pairs,
    a: tuple[np.ndarray, ...],
    b: tuple[np.ndarray, ...],
    scale: Scale,
    confidence: float,
) -> LimitsOfAgreement:
    for water in pairs.waters:
        if len(water.a) != len(water.b):
            raise InputError(
                "as many readings of both kits where they were taken pair by pair",
                f"{len(water.a)} with {pairs.kit_a}, {len(water.b)} with {pairs.kit_b}",
                "Leave out the readings without a partner, or do not link them.",
                f"water {water.name}",
            )
    groups = [on_b - on_a for on_a, on_b in zip(a, b, strict=True)]
    found = one_way(groups)
    size = max(float(np.abs(one).max()) for one in a + b)
    if no_scatter(np.concatenate(groups), size):
        return LimitsOfAgreement(
            scale, pairs.n, found.mean, 0.0, 0.0, found.groups - 1.0, confidence
        )
    between = found.between_square or 0.0
    if found.within_square is None:
        parts = [(between, found.df_between)]
        of_waters, within = between, 0.0
    elif between <= found.within_square:
        parts = [(found.within_square, found.df_within)]
        of_waters, within = 0.0, found.within_square
    else:
        parts = [
            (between / found.size, found.df_between),
            ((1.0 - 1.0 / found.size) * found.within_square, found.df_within),
        ]
        of_waters, within = found.between_variance, found.within_square
    sizes = np.array([len(one) for one in groups], dtype=float)
    squares = float(sizes @ sizes) / found.values**2
    se = math.sqrt(of_waters * squares + within / found.values)
    sd, df = _together(parts)
    return LimitsOfAgreement(scale, pairs.n, found.mean, sd, se, df, confidence)


def _together(parts: list[tuple[float, int]]) -> tuple[float, float]:
    """Root of the sum of variances, and its degrees of freedom after Satterthwaite."""
    total = sum(variance for variance, _ in parts)
    if total <= 0.0:
        return 0.0, float(parts[0][1])
    return math.sqrt(total), total**2 / sum(variance**2 / df for variance, df in parts)
