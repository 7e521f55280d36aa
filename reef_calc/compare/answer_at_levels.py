"""What the answer of a comparison is at each level, and what may shake it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from reef_calc.compare.allowed import Allowed
from reef_calc.compare.bias_at import BiasAt
from reef_calc.compare.chosen_line import ChosenLine
from reef_calc.compare.coarse_steps import steps_variance
from reef_calc.compare.difference import MeanDifference
from reef_calc.compare.difference_words import plain
from reef_calc.compare.fitted_line import Method, quantile
from reef_calc.compare.level_verdicts import Basis, answered_levels
from reef_calc.compare.line_between import line_between
from reef_calc.compare.lines import ols_line
from reef_calc.compare.no_line import NoLineError
from reef_calc.compare.outlier import Outlier, furthest
from reef_calc.compare.pairs import Pairs
from reef_calc.messages import Message


def basis_of(
    pairs: Pairs,
    chosen: ChosenLine,
    difference: MeanDifference,
    asked: tuple[float, ...],
    variance: float,
    trend_clear: bool,
    confidence: float,
) -> tuple[Basis, tuple[float, ...]]:
    """Return the difference at the levels that are answered, and the levels that are not.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.
    chosen : ChosenLine
        The line, or none.
    difference : MeanDifference
        Mean difference.
    asked : tuple of float
        Levels of interest (unit); without any, the level of the waters.
    variance : float
        Variance that more waters do not lessen (unit squared).
    trend_clear : bool
        Whether the difference changes with the level.
    confidence : float
        Confidence of the intervals (share).

    Returns
    -------
    Basis
        Differences at the levels; none where there is no scatter to judge by.
    tuple of float
        Levels that these waters say nothing about (unit).

    Examples
    --------
    >>> from reef_calc.compare.chosen_line import choose_line
    >>> from reef_calc.compare.difference import difference_of_kits
    >>> from reef_calc.compare.pairs import Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.4 + 0.1 * (i % 2),)) for i in range(6))
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)
    >>> found, unanswered = basis_of(pairs, choose_line(pairs), difference_of_kits(pairs), (8.1, 12.0),
    ...     0.0, False, 0.95)
    >>> [one.level for one in found.bias], unanswered
    ([8.1], (12.0,))
    """
    u = math.sqrt(variance)
    line = chosen.line if chosen.method != "known levels" else None
    if chosen.known is not None and chosen.method == "known levels":
        line = chosen.known.difference
    if line is not None:
        known = chosen.method == "known levels"
        middle = float(np.nanmean(pairs.nominal)) if known else float(pairs.a.mean())
        found = chosen.bias_at(asked or (middle,))
        # Rounding alone scatters by so much, also where every reading happens to lie on the line.
        least = steps_variance(pairs) / pairs.n
        t = quantile(line.df, confidence)
        bias = []
        for one in found:
            se = math.sqrt(max(one.se**2, least) + variance)
            bias.append(one._replace(se=se, low=one.bias - t * se, high=one.bias + t * se))
        # So few waters that no slope is ruled out at this confidence leave no interval to judge by.
        endless = any(math.isinf(one.se) for one in bias)
        kept = () if line.no_scatter or chosen.bent or endless else tuple(bias)
        return Basis(pairs, kept, line.df, 2, u, confidence), ()
    df = max(pairs.n - 1, 1)
    low, high = difference.low, difference.high
    if low is None or high is None:
        return Basis(pairs, (), df, 1, u, confidence), ()
    usual = (float(pairs.means.mean()),)
    answered, unanswered = answered_levels(pairs, asked, trend_clear=trend_clear)
    bias_of_mean = tuple(
        BiasAt(level, difference.mean, difference.standard_error, low, high, False)
        for level in (answered if asked else usual)
    )
    return Basis(pairs, bias_of_mean, df, 1, u, confidence), unanswered


def furthest_water(pairs: Pairs, chosen: ChosenLine) -> Outlier | None:
    """Return the water that lies furthest from what the answer rests on.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.
    chosen : ChosenLine
        The line, or none: then the mean difference.

    Returns
    -------
    Outlier or None
        None where there are too few waters, or no scatter.

    Examples
    --------
    >>> from reef_calc.compare.chosen_line import choose_line
    >>> from reef_calc.compare.difference import difference_of_kits
    >>> from reef_calc.compare.pairs import Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.4 + 0.1 * (i % 2),)) for i in range(6))
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)
    >>> furthest_water(pairs, choose_line(pairs)).named
    False
    """
    steps = pairs.resolution_a + pairs.resolution_b
    size = float(max(np.abs(pairs.a).max(), np.abs(pairs.b).max()))
    if chosen.method == "difference":
        residuals = pairs.differences - pairs.differences.mean()
        return furthest(residuals, rounding=steps, size=size)
    if chosen.method == "known levels" and chosen.known is not None:
        line, x, y = chosen.known.difference, pairs.nominal, pairs.differences
        if not np.isfinite(x).all():
            return None
    elif chosen.line is not None:
        x, y = pairs.a, pairs.b
        # What is further than chance allows holds for lines through the middle of the scatter, not
        # for the median of slopes.
        line = ols_line(x, y) if chosen.method == "passing bablok" else chosen.line
    else:
        return None
    # Where the scatter is a share of the level, so is what is far.
    scatter = np.ones_like(x)
    if chosen.method == "weighted deming":
        scatter = (x + line.intercept + line.slope * x) / 2.0
        scatter = scatter / scatter.mean()
    weights = scatter**-2.0
    away = x - np.average(x, weights=weights)
    leverages = weights * (1.0 / weights.sum() + away**2 / float(weights @ away**2))
    return furthest(
        (y - line.intercept - line.slope * x) / scatter, leverages=np.minimum(leverages, 1.0),
        parameters=2, rounding=steps / scatter, size=size,
    )  # fmt: skip


def of_ratio(
    pairs: Pairs, chosen: ChosenLine, bias: Sequence[BiasAt], allowed: Allowed
) -> list[Message]:
    """Return whether the answer hangs on the error ratio.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.
    chosen : ChosenLine
        The line, or none.
    bias : sequence of BiasAt
        Difference at the levels.
    allowed : Allowed
        Allowed difference: a quarter of it is too much.

    Returns
    -------
    list of Message
        RATIO_SENSITIVE, where it does.

    Examples
    --------
    >>> from reef_calc.compare.chosen_line import choose_line
    >>> from reef_calc.compare.difference import difference_of_kits
    >>> from reef_calc.compare.pairs import Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.4 + 0.1 * (i % 2),)) for i in range(6))
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)
    >>> of_ratio(pairs, choose_line(pairs), (), Allowed(0.3))
    []
    """
    if not allowed.given or chosen.error_ratio is None or not chosen.error_ratio > 0.0:
        return []
    method: Method = "weighted_deming" if chosen.method == "weighted deming" else "deming"
    moved = 0.0
    for factor in (0.25, 4.0):
        try:
            line = line_between(pairs, method, error_ratio=factor * chosen.error_ratio)
        except NoLineError:
            continue
        for one in bias:
            shift = abs(line.intercept + (line.slope - 1.0) * one.level - one.bias)
            if not one.extrapolated and shift > allowed.at(one.level) / 4.0:
                moved = max(moved, shift)
    if moved == 0.0:
        return []
    return [
        Message(
            "RATIO_SENSITIVE",
            f"The difference moves by up to {plain(moved, 2)} {pairs.unit} if one kit scatters twice "
            "or half as much beside the other as was taken. Read some waters twice with each kit.",
            "qualified",
        )
    ]
