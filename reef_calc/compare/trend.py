"""Whether the difference of two kits, or its scatter, changes with the level."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from reef_calc.compare.difference import as_differences, no_scatter
from reef_calc.compare.limit_factors import LIMITS_FACTOR, check_confidence
from reef_calc.compare.pairs import Pairs
from reef_calc.errors import CannotTellError, InputError

# Mean size of a normal residual is √(2/π) of its standard deviation.
_FROM_MEAN_SIZE = math.sqrt(math.pi / 2.0)


@dataclass(frozen=True)
class StraightTrend:
    """Least-squares line of something on the level.

    Attributes
    ----------
    intercept, slope : float
        At level 0, in the unit of the readings, and for each unit of the level (a ratio).
    standard_error : float
        Of the slope (a ratio).
    low, high : float
        Interval of the slope (ratios).
    p_value : float
        Probability of a slope at least as steep when there is none.
    """

    intercept: float
    slope: float
    standard_error: float
    low: float
    high: float
    p_value: float

    def at(self, level: float) -> float:
        """Return the line at a level.

        Parameters
        ----------
        level : float
            In the unit of the readings.

        Returns
        -------
        float
            In the same unit.
        """
        return self.intercept + self.slope * level


_NONE = StraightTrend(0.0, 0.0, 0.0, 0.0, 0.0, 1.0)


@dataclass(frozen=True)
class Trend:
    """How difference and scatter of two kits go with the level.

    Attributes
    ----------
    n : int
        Number of waters.
    difference : StraightTrend
        Of B − A on the level, in the unit of the readings.
    residual_sd : float
        Standard deviation about that line, in the same unit.
    spread : StraightTrend
        Of the standard deviation of one difference on the level, in the same unit.
    mean, sd : float
        Of the differences without any trend, in the same unit.
    against_scatter : StraightTrend
        Of B − A on kit A alone where the difference rises, on kit B alone where it falls: scatter
        of the kits makes a slope of the other sign there, never one of this.
    lowest, highest : float
        Range of the levels, in the same unit.
    confidence : float
        Probability of the intervals.
    """

    n: int
    difference: StraightTrend
    residual_sd: float
    spread: StraightTrend
    mean: float
    sd: float
    against_scatter: StraightTrend
    lowest: float
    highest: float
    confidence: float

    @property
    def clear(self) -> bool:
        """Whether the difference changes with the level, and not by unequal scatter alone."""
        lines = (self.difference, self.against_scatter)
        return all(line.low > 0.0 for line in lines) or all(line.high < 0.0 for line in lines)

    @property
    def spread_clear(self) -> bool:
        """Whether the scatter of the differences changes with the level."""
        # Three residuals about a line have one shape, whatever the kits do.
        return self.n > 3 and (self.spread.low > 0.0 or self.spread.high < 0.0)

    def limits_at(self, level: float) -> tuple[float, float]:
        """Return the limits of agreement at a level; slopes count only where they are clear.

        Parameters
        ----------
        level : float
            In the unit of the readings, within the range that was observed.

        Returns
        -------
        tuple of float
            Lower and upper limit, in the same unit.

        Raises
        ------
        InputError
            If the level lies outside the data, or the scatter would fall to nothing there.
        """
        if not self.lowest <= level <= self.highest:
            raise InputError(
                f"a level from {self.lowest:g} to {self.highest:g}, where there are readings",
                f"{level:g}", "Test waters near that level with both kits.", "limits at a level",
            )  # fmt: skip
        middle = self.difference.at(level) if self.clear else self.mean
        scatter = self.residual_sd if self.clear else self.sd
        if self.spread_clear:
            scatter = self.spread.at(level)
            if scatter <= 0.0:
                raise InputError(
                    "a scatter above 0 at this level", f"{scatter:.2g}",
                    "Compare in per cent, or ask for another level.", "limits at a level",
                )  # fmt: skip
        return middle - LIMITS_FACTOR * scatter, middle + LIMITS_FACTOR * scatter


def trend_of_differences(
    differences: Sequence[float] | np.ndarray,
    levels: Sequence[float] | np.ndarray,
    *,
    levels_known: bool = False,
    confidence: float = 0.95,
    size: float = 0.0,
) -> Trend:
    """Return how the differences and their scatter go with the level.

    D = a + b·level by least squares; then |residual|·√(π/2) = c + d·level. Kits of unequal scatter
    make a slope by themselves when the level is the mean of both, so that D must change with one
    kit alone as well before the slope is called clear.

    Parameters
    ----------
    differences : sequence of float
        B − A of each water in any unit, shape (n,), n of 3 or more.
    levels : sequence of float
        Level of each water in the same unit, shape (n,): the mean of both kits, or as made.
    levels_known : bool, optional
        Whether the levels come from neither kit, but from how the waters were made.
    confidence : float, optional
        Probability of the intervals, between 0 and 1.
    size : float, optional
        Largest reading, in the unit of the differences: says what is equal but for the arithmetic.

    Returns
    -------
    Trend
        In the unit of the differences.

    Raises
    ------
    InputError
        If there are fewer than three waters, or not one level for each.
    CannotTellError
        If all levels are equal.

    Notes
    -----
    Both slopes hold within the levels that were observed only.

    Examples
    --------
    >>> found = trend_of_differences([0.1, 0.3, 0.4, 0.6, 0.9], [4.0, 6.0, 8.0, 10.0, 12.0])
    >>> round(found.difference.slope, 3), found.clear, found.spread_clear
    (0.095, True, False)

    References
    ----------
    Bland & Altman (1999), Stat. Methods Med. Res. 8, 135, section 3.2. Slope from scatter: Bland &
    Altman (1995), Lancet 346, 1085 (from memory).
    """
    check_confidence(confidence)
    values = as_differences(differences, fewest=3)
    x = np.asarray(levels, dtype=float)
    if x.shape != values.shape or not np.isfinite(x).all():
        raise InputError(
            "a level for every water", f"{x.size} levels, {len(values)} waters",
            "Leave waters without a level out.", "trend",
        )  # fmt: skip
    size = max(size, float(np.abs(x).max()))
    if no_scatter(x, size):
        raise CannotTellError(
            "All waters have the same level, so nobody can tell whether the difference changes "
            "with it. Test waters at other levels."
        )
    line, residuals = _line(x, values, confidence, size)
    spread, _ = _line(x, np.abs(residuals) * _FROM_MEAN_SIZE, confidence, size)
    guard = line
    if not levels_known:
        own = x - values / 2.0 if line.slope >= 0.0 else x + values / 2.0
        guard = _NONE if no_scatter(own, size) else _line(own, values, confidence, size)[0]
    flat, df = no_scatter(values, size), len(values) - 2
    return Trend(
        n=len(values),
        difference=line,
        residual_sd=math.sqrt(float(residuals @ residuals) / df),
        spread=spread,
        mean=float(values.mean()),
        sd=0.0 if flat else float(values.std(ddof=1)),
        against_scatter=guard,
        lowest=float(x.min()),
        highest=float(x.max()),
        confidence=confidence,
    )


def trend_of_kits(pairs: Pairs, *, confidence: float = 0.95) -> Trend:
    """Return how the difference of two kits goes with the mean of both.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits; repeats of one water are averaged first.
    confidence : float, optional
        Probability of the intervals, between 0 and 1.

    Returns
    -------
    Trend
        In the unit of the pairs.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> waters = tuple(Water(str(level), (level,), (level * 1.05,)) for level in (6.0, 8.0, 10.0))
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.0, 0.0, waters)
    >>> round(trend_of_kits(pairs).difference.slope, 4)
    0.0488
    """
    return trend_of_differences(
        pairs.differences, pairs.means, confidence=confidence,
        size=float(max(np.abs(pairs.a).max(), np.abs(pairs.b).max())),
    )  # fmt: skip


def _line(
    x: np.ndarray, y: np.ndarray, confidence: float, size: float
) -> tuple[StraightTrend, np.ndarray]:
    """Least-squares line with the interval of its slope, and the residuals."""
    df = len(x) - 2
    deviations = x - x.mean()
    sxx = float(deviations @ deviations)
    if no_scatter(y, size):
        return StraightTrend(float(y.mean()), 0.0, 0.0, 0.0, 0.0, 1.0), np.zeros_like(y)
    slope = float(deviations @ (y - y.mean())) / sxx
    residuals = y - y.mean() - slope * deviations
    intercept = float(y.mean()) - slope * float(x.mean())
    # Residuals below the last digits of the readings are none.
    if float(np.abs(residuals).max()) <= 1e-9 * size:
        return StraightTrend(intercept, slope, 0.0, slope, slope, 0.0), np.zeros_like(y)
    error = math.sqrt(float(residuals @ residuals) / df / sxx)
    half = float(student.ppf((1.0 + confidence) / 2.0, df)) * error
    p_value = float(2.0 * student.sf(abs(slope) / error, df))
    return (
        StraightTrend(intercept, slope, error, slope - half, slope + half, p_value),
        residuals,
    )
