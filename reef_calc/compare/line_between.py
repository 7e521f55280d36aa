"""The line between the two kits of a study, by the method asked for."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from reef_calc.compare.fitted_line import Line, Method
from reef_calc.compare.lines import deming_line, ols_line, weighted_deming_line
from reef_calc.compare.no_line import NoLineError, not_rising
from reef_calc.compare.pairs import Pairs
from reef_calc.compare.passing_bablok import MOST_TIES, passing_bablok_line
from reef_calc.compare.york import york_line
from reef_calc.errors import InputError


def line_between(
    pairs: Pairs,
    method: Method = "deming",
    *,
    error_ratio: float | None = None,
    sd_a: ArrayLike | None = None,
    sd_b: ArrayLike | None = None,
    confidence: float = 0.95,
    most_ties: float = MOST_TIES,
) -> Line:
    """Return the line of kit B on kit A through the waters of a study.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits; their means are taken, each water counts once.
    method : {"deming", "weighted_deming", "york", "passing_bablok", "ols", "wls"}, optional
        How the line is found. "wls" weighs by 1/x², for a scatter that grows with the level.
    error_ratio : float, optional
        Variance of one reading of kit A over that of kit B (ratio); for "weighted_deming" of their
        CVs. "deming" and "weighted_deming" need it; it is turned into that of the means.
    sd_a, sd_b : float or array_like, optional
        SD of one reading of each kit (unit of the levels), one for all waters or one each, shape
        (n,). "york" needs them.
    confidence : float, optional
        Probability of the intervals (fraction).
    most_ties : float, optional
        For "passing_bablok", largest share of pairs of equal x (fraction).

    Returns
    -------
    Line
        x is kit A, y is kit B.

    Raises
    ------
    InputError
        If the method is not known or lacks what it needs, or there are fewer than three waters.
    NoLineError
        If these waters give no line; its ``message`` says why.

    Notes
    -----
    Whether the waters differ enough for a line at all is a question for ``identifiability``.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.compare.pairs import pairs_of
    >>> read = pd.DataFrame({"water": list("123412341"), "kit": ["old"] * 4 + ["new"] * 5,
    ...     "value": [4.0, 6.1, 8.2, 9.9, 4.2, 6.5, 8.4, 10.5, 4.4]})
    >>> pairs = pairs_of(read, "old", "new", element="alkalinity", unit="dKH", resolution_a=0.1,
    ...                  resolution_b=0.1)
    >>> round(line_between(pairs, "deming", error_ratio=1.0).slope, 3)
    1.035
    """
    if method not in ("deming", "weighted_deming", "york", "passing_bablok", "ols", "wls"):
        raise InputError(
            "deming, weighted_deming, york, passing_bablok, ols or wls",
            str(method),
            "Choose one of these.",
            "method",
        )
    x, y = pairs.a, pairs.b
    read_a = np.array([len(water.a) for water in pairs.waters])
    read_b = np.array([len(water.b) for water in pairs.waters])
    if len(x) > 2 and float((x - x.mean()) @ (y - y.mean())) <= 0.0:
        raise not_rising(len(x))
    if method == "york":
        of_a = _sd(sd_a, pairs.kit_a, len(x)) / np.sqrt(read_a)
        of_b = _sd(sd_b, pairs.kit_b, len(x)) / np.sqrt(read_b)
        return york_line(x, y, of_a, of_b, confidence=confidence)
    if method == "passing_bablok":
        return passing_bablok_line(
            x,
            y,
            resolution_x=pairs.resolution_a / math.lcm(*read_a.tolist()),
            resolution_y=pairs.resolution_b / math.lcm(*read_b.tolist()),
            confidence=confidence,
            most_ties=most_ties,
        )
    if method == "ols":
        return ols_line(x, y, confidence=confidence)
    if method == "wls":
        if (x <= 0.0).any():
            raise NoLineError(
                "NEGATIVE_OR_ZERO",
                "A scatter that grows with the level needs readings above zero; the lowest is "
                f"{x.min():g} {pairs.unit}. Leave such waters out, or take the scatter as the "
                "same at all levels.",
            )
        return ols_line(x, y, weights=1.0 / x**2, confidence=confidence)
    if error_ratio is None:
        raise InputError(
            f"how much {pairs.kit_a} and {pairs.kit_b} scatter",
            "no ratio of their variances",
            "Read some waters twice with each, or type the SD of each kit.",
            "error ratio",
        )
    of_means = ratio_of_means(error_ratio, read_a, read_b)
    fit = deming_line if method == "deming" else weighted_deming_line
    return fit(x, y, error_ratio=of_means, confidence=confidence)


def ratio_of_means(error_ratio: float, read_a: ArrayLike, read_b: ArrayLike) -> float:
    """Return the error ratio of means of repeats from that of single readings.

    λ·mean(1/m_A)/mean(1/m_B)

    Parameters
    ----------
    error_ratio : float
        Variance of one reading of kit A over that of kit B (ratio).
    read_a, read_b : array_like of int
        Number of readings of each water with each kit, shape (n,).

    Returns
    -------
    float
        Variance of a mean of kit A over that of kit B (ratio).

    Examples
    --------
    >>> ratio_of_means(1.0, [1, 1, 1], [2, 2, 2])
    2.0
    """
    of_a, of_b = (float(np.mean(1.0 / np.asarray(read))) for read in (read_a, read_b))
    return error_ratio * of_a / of_b


def _sd(sd: ArrayLike | None, kit: str, n: int) -> np.ndarray:
    if sd is None:
        raise InputError(
            "the SD of one reading",
            "none",
            "Type it, or work it out from repeats of one water.",
            kit,
        )
    given = np.asarray(sd, dtype=float)
    if given.ndim and given.shape != (n,):
        raise InputError(
            f"one SD, or one for each of {n} waters", f"{given.size}", "Give one a water.", kit
        )
    return np.broadcast_to(given, (n,))
