"""How far apart two kits read at a level, from the line between them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

from reef_calc.compare.fitted_line import Line, quantile
from reef_calc.errors import InputError


class BiasAt(NamedTuple):
    """Difference B − A at one level.

    Attributes
    ----------
    level : float
        What kit A reads, or the level the water was made to (unit of the levels).
    bias : float
        B − A there (unit of the levels).
    se : float
        Its standard error (unit of the levels); for "passing_bablok" the longer arm of
        its interval over t.
    low, high : float
        Its interval, at the confidence of the line (unit of the levels).
    extrapolated : bool
        Whether the level lies outside the waters that were tested.
    """

    level: float
    bias: float
    se: float
    low: float
    high: float
    extrapolated: bool


def bias_at(line: Line, levels: Iterable[float]) -> tuple[BiasAt, ...]:
    """Return B − A at levels read with kit A, from a line of B on A.

    bias = a + (b − 1)·L, V = V_a + 2·L·V_ab + L²·V_b

    Parameters
    ----------
    line : Line
        Line between the kits.
    levels : iterable of float
        Levels as kit A reads them (unit of the levels).

    Returns
    -------
    tuple of BiasAt
        One for each level, in the order given; t-interval with the line's degrees of freedom, or
        as far as the line's edges reach.

    Raises
    ------
    InputError
        If a level is no finite number.

    Notes
    -----
    The intervals hold for one level at a time. Outside the waters they rest on the line being
    straight there, which nothing has shown: ``extrapolated`` says so.

    Examples
    --------
    >>> from reef_calc.compare.lines import deming_line
    >>> line = deming_line([4.0, 6.0, 8.0, 10.0], [4.3, 6.2, 8.5, 10.4], error_ratio=1.0)
    >>> [(one.level, round(one.bias, 3), one.extrapolated) for one in bias_at(line, [8, 12])]
    [(8.0, 0.381, False), (12.0, 0.504, True)]
    """
    return _at(line, levels, line.slope - 1.0)


def difference_at(line: Line, levels: Iterable[float]) -> tuple[BiasAt, ...]:
    """Return B − A at known levels, from a line of the differences on these.

    bias = a + b·L, V = V_a + 2·L·V_ab + L²·V_b

    Parameters
    ----------
    line : Line
        Line of the differences B − A on the levels the waters were made to.
    levels : iterable of float
        Levels (unit of the levels).

    Returns
    -------
    tuple of BiasAt
        One for each level, in the order given; t-interval with the line's degrees of freedom.

    Raises
    ------
    InputError
        If a level is no finite number.

    Examples
    --------
    >>> from reef_calc.compare.lines import ols_line
    >>> line = ols_line([4.0, 6.0, 8.0, 10.0], [0.3, 0.2, 0.5, 0.4])
    >>> round(difference_at(line, [8.0])[0].bias, 3)
    0.38
    """
    return _at(line, levels, line.slope)


def _at(line: Line, levels: Iterable[float], rise: float) -> tuple[BiasAt, ...]:
    t = quantile(line.df, line.confidence)
    found = []
    for given in levels:
        level = float(given)
        if not math.isfinite(level):
            raise InputError("a level", given, "Type the level you keep.", "levels of interest")
        bias = line.intercept + rise * level
        if line.edges:
            lows, highs = zip(
                *(
                    (edge.intercept_low + extra, edge.intercept_high + extra)
                    for edge in line.edges
                    for extra in [(edge.slope - line.slope + rise) * level]
                ),
                strict=True,
            )
            low, high = min(lows), max(highs)
            se = max(high - bias, bias - low) / t
        else:
            shared = 2.0 * level * (line.covariance or 0.0)
            variance = line.se_intercept**2 + shared + (level * line.se_slope) ** 2
            se = math.sqrt(max(variance, 0.0))
            low, high = bias - t * se, bias + t * se
        outside = not line.x_low <= level <= line.x_high
        found.append(BiasAt(level, bias, se, low, high, outside))
    return tuple(found)
