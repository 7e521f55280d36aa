"""One water that does not fit the others: named, never removed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import betainc
from scipy.stats import t as student

from reef_calc.compare.difference import (
    MeanDifference,
    Scale,
    as_differences,
    differences_on_scale,
    mean_difference,
)
from reef_calc.compare.pairs import Pairs
from reef_calc.errors import InputError


@dataclass(frozen=True)
class Outlier:
    """The value furthest from the others, and whether it is further than chance allows.

    Attributes
    ----------
    index : int
        Its place, counted from 0.
    statistic, critical : float
        Its size, and what chance allows (numbers without unit).
    p_value : float
        Upper bound of the probability of one so far away among all.
    named : bool
        Whether it is further away than chance and the steps of the scales allow.
    """

    index: int
    statistic: float
    critical: float
    p_value: float
    named: bool


@dataclass(frozen=True)
class WithAndWithout:
    """Mean difference of two kits with all waters, and without the one that does not fit.

    Attributes
    ----------
    outlier : Outlier or None
        The furthest water; None with fewer than three waters or without scatter.
    water : str or None
        Name of the water that does not fit; None when all fit.
    with_all : MeanDifference
        The result: nothing is removed.
    without : MeanDifference or None
        Second result without that water; None when all fit.
    """

    outlier: Outlier | None
    water: str | None
    with_all: MeanDifference
    without: MeanDifference | None


def grubbs_critical(n: int, level: float = 0.05) -> float:
    """Return how many standard deviations the furthest of n values may lie from their mean.

    G = (n − 1)/√n · √(t²/(n − 2 + t²)), t the upper level/(2n) point with n − 2 degrees of freedom.

    Parameters
    ----------
    n : int
        Number of values, 3 or more.
    level : float, optional
        Probability of naming one though all belong together, between 0 and 1.

    Returns
    -------
    float
        Two-sided critical value without unit.

    Raises
    ------
    InputError
        If there are fewer than three values, or the level is no share.

    Examples
    --------
    >>> round(grubbs_critical(15), 4)
    2.5483

    References
    ----------
    Grubbs (1950), Ann. Math. Statist. 21, 27 (from memory). ISO 5725-2, table 5 (from memory).
    """
    check_level(level)
    if n < 3:
        raise InputError(
            "three waters or more", n, "Test more waters with both kits.", "Grubbs's test"
        )
    return _critical_studentised(n, n - 1, level) * math.sqrt((n - 1) / n)


def furthest(
    residuals: Sequence[float] | np.ndarray,
    *,
    leverages: Sequence[float] | np.ndarray | None = None,
    parameters: int = 1,
    rounding: float | Sequence[float] | np.ndarray = 0.0,
    size: float = 0.0,
    level: float = 0.05,
) -> Outlier | None:
    """Return the residual that lies furthest out, and whether it is an outlier.

    Grubbs's test on residuals about a mean; about a line the studentised residual
    e/(s √(1 − h)) is held against √(ν t²/(ν − 1 + t²)), which is Grubbs's value for a mean.

    Parameters
    ----------
    residuals : sequence of float
        About the chosen model in any unit, shape (n,).
    leverages : sequence of float, optional
        Diagonal of the hat matrix (numbers without unit), shape (n,); 1/n each when not given.
    parameters : int, optional
        Number of parameters of the model: 1 for a mean, 2 for a line.
    rounding : float or sequence of float, optional
        Difference that the steps of the scales alone can make, in the unit of the residuals; one for
        all, or one each, shape (n,).
    size : float, optional
        Largest reading, in the unit of the residuals: says what is equal but for the arithmetic.
    level : float, optional
        Probability of naming one though all belong together, between 0 and 1.

    Returns
    -------
    Outlier or None
        None where there are too few residuals to tell, or no scatter.

    Raises
    ------
    InputError
        If leverages do not fit, or the level is no share.

    Notes
    -----
    Two outliers can hide each other. Nothing is ever left out because of this.

    Examples
    --------
    >>> found = furthest([0.1, -0.2, 0.0, 0.2, -0.1, 0.1, -0.1, 1.3, -0.2, -1.1 + 0.0])
    >>> found.index, round(found.statistic, 2), round(found.critical, 2), found.named
    (7, 2.2, 2.29, False)

    References
    ----------
    Grubbs (1950), Ann. Math. Statist. 21, 27; Cook & Weisberg (1982), section 2.2.2 (from memory).
    """
    values = np.asarray(residuals, dtype=float)
    n, df = len(values), len(values) - parameters
    if df < 2 or n < 3:
        return None
    check_level(level)
    hat = np.full(n, 1.0 / n) if leverages is None else np.asarray(leverages, dtype=float)
    if hat.shape != values.shape or not ((hat >= 0.0) & (hat <= 1.0)).all():
        raise InputError(
            "one leverage between 0 and 1 for each residual", f"{hat.size} for {n}",
            "Take them from the fitted model.", "outlier",
        )  # fmt: skip
    if float(np.abs(values).max()) <= 1e-9 * size or not values.any():
        return None
    # A point that the model must pass through can never be far from it.
    free = np.where(hat < 1.0 - 1e-9, 1.0 - hat, np.inf)
    s = math.sqrt(float(values @ values) / df)
    studentised = np.abs(values) / (s * np.sqrt(free))
    index = int(np.argmax(studentised))
    r = float(studentised[index])
    # Distance from what the model says without this value.
    alone = abs(float(values[index])) / float(free[index])
    steps = float(np.broadcast_to(np.asarray(rounding, dtype=float), n)[index])
    scale = math.sqrt((n - 1) / n) if parameters == 1 and leverages is None else 1.0
    critical = _critical_studentised(n, df, level)
    return Outlier(
        index=index,
        statistic=r * scale,
        critical=critical * scale,
        p_value=_bound(n, df, r),
        named=bool(r > critical and alone > steps * (1.0 + 1e-9)),
    )


def with_and_without(
    pairs: Pairs,
    *,
    scale: Scale = "absolute",
    not_averaged: float = 0.0,
    confidence: float = 0.95,
    level: float = 0.05,
) -> WithAndWithout:
    """Return the mean difference with all waters, and beside it without one that does not fit.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits; repeats of one water are averaged first.
    scale : {"absolute", "percent", "log"}, optional
        In the unit of the pairs, in per cent of the mean of both, or as ln(B/A).
    not_averaged : float, optional
        Variance that more waters do not reduce, on that scale (unit squared).
    confidence : float, optional
        Probability of the intervals, between 0 and 1.
    level : float, optional
        Probability of naming a water though all belong together, between 0 and 1.

    Returns
    -------
    WithAndWithout
        On the scale asked for.

    Notes
    -----
    A water is not named while the steps of both scales alone could have put it there.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> read = [(8.0, 8.2), (7.6, 7.9), (8.2, 8.3), (7.9, 8.1), (8.1, 8.4), (7.7, 9.4)]
    >>> waters = tuple(Water(str(i + 1), (a,), (b,)) for i, (a, b) in enumerate(read))
    >>> found = with_and_without(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters))
    >>> found.water, round(found.with_all.mean, 2), round(found.without.mean, 2)
    ('6', 0.47, 0.22)
    """
    differences, size = differences_on_scale(pairs, scale)
    as_differences(differences)
    steps = pairs.resolution_a + pairs.resolution_b
    if scale != "absolute":
        # The smallest level is where a step is the largest share.
        steps *= (100.0 if scale == "percent" else 1.0) / float(pairs.means.min())
    kept = {"not_averaged": not_averaged, "confidence": confidence}
    with_all = mean_difference(differences, scale=scale, size=size, **kept)
    outlier = furthest(differences - differences.mean(), rounding=steps, size=size, level=level)
    if outlier is None or not outlier.named:
        return WithAndWithout(outlier, None, with_all, None)
    others = np.delete(differences, outlier.index)
    return WithAndWithout(
        outlier, pairs.waters[outlier.index].name, with_all,
        mean_difference(others, scale=scale, size=size, **kept),
    )  # fmt: skip


def check_level(level: float) -> None:
    """Refuse a level of a test that is no share.

    Parameters
    ----------
    level : float
        Probability, between 0 and 1.

    Raises
    ------
    InputError
        If it does not lie between 0 and 1.

    Examples
    --------
    >>> check_level(0.05)
    """
    if not 0.0 < level < 1.0:
        raise InputError("a level between 0 and 1", level, "Write 0.05 for 5 %.", "outlier")


def _critical_studentised(n: int, df: int, level: float) -> float:
    """Bonferroni value of the largest of n residuals, each divided by its own scatter."""
    t = float(student.isf(level / (2.0 * n), df - 1))
    return math.sqrt(df * t**2 / (df - 1 + t**2))


def _bound(n: int, df: int, studentised: float) -> float:
    """Upper bound of the probability that the largest of n residuals is as large."""
    rest = max(0.0, 1.0 - studentised**2 / df)
    return min(1.0, n * float(betainc((df - 1) / 2.0, 0.5, rest)))
