"""Verdicts on a comparison, level by level."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from reef_calc.compare.allowed import Allowed
from reef_calc.compare.bias_at import BiasAt
from reef_calc.compare.difference_words import plain
from reef_calc.compare.fitted_line import quantile
from reef_calc.compare.pairs import Pairs
from reef_calc.compare.verdict import Verdict, verdict

# What is put first where levels differ: what must not be overlooked.
_WEIGHT = ("beyond", "cannot tell", "differs", "within")


@dataclass(frozen=True)
class Basis:
    """What verdicts are worked out from.

    Attributes
    ----------
    pairs : Pairs
        Waters read with both kits.
    bias : tuple of BiasAt
        Difference at each level that is answered, at the confidence.
    df : float
        Degrees of freedom, a count.
    fitted : int
        Number of fitted parameters: 1 for a mean, 2 for a line.
    u_not_averaged : float
        Part of the standard errors that more waters do not lessen (unit).
    confidence : float
        Confidence of the intervals (share).
    """

    pairs: Pairs
    bias: tuple[BiasAt, ...]
    df: float
    fitted: int
    u_not_averaged: float
    confidence: float


def verdicts_at(basis: Basis, allowed: Allowed) -> tuple[Verdict, ...]:
    """Return the verdict at each level, of a study of a fixed number of waters.

    Parameters
    ----------
    basis : Basis
        Differences at the levels.
    allowed : Allowed
        Allowed difference.

    Returns
    -------
    tuple of Verdict
        One a level, each for itself.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, (Water("1", (8.0,), (8.4,)),) * 5)
    >>> basis = Basis(pairs, (BiasAt(8.0, 0.4, 0.02, 0.34, 0.46, False),), 4, 1, 0.0, 0.95)
    >>> verdicts_at(basis, Allowed(0.3))[0].statement
    'beyond'
    """
    return tuple(verdict_at(basis, one, allowed, basis.confidence) for one in basis.bias)


def verdict_at(basis: Basis, one: BiasAt, allowed: Allowed, confidence: float) -> Verdict:
    """Return the verdict at one level at a confidence.

    Parameters
    ----------
    basis : Basis
        Where the difference comes from.
    one : BiasAt
        Difference at the level.
    allowed : Allowed
        Allowed difference.
    confidence : float
        Confidence of the interval (share).

    Returns
    -------
    Verdict
        Statement and sentence.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, (Water("1", (8.0,), (8.4,)),) * 5)
    >>> one = BiasAt(8.0, 0.4, 0.02, 0.34, 0.46, False)
    >>> verdict_at(Basis(pairs, (one,), 4, 1, 0.0, 0.95), one, Allowed(0.3), 0.99).statement
    'beyond'
    """
    pairs = basis.pairs
    half = quantile(basis.df, confidence) * one.se
    return verdict(
        one.bias,
        one.bias - half,
        one.bias + half,
        allowed.at(one.level),
        kit_a=pairs.kit_a,
        kit_b=pairs.kit_b,
        unit=pairs.unit,
        level=one.level,
        level_decimals=level_decimals(one.level, pairs),
        near=basis.fitted == 1,
        u=one.se,
        n=pairs.n,
        fitted=basis.fitted,
        u_not_averaged=basis.u_not_averaged,
        confidence=confidence,
    )


def level_decimals(level: float, pairs: Pairs) -> int:
    """Return with how many decimals a level is told: those of the steps, or as it was typed.

    Parameters
    ----------
    level : float
        Level (unit).
    pairs : Pairs
        Waters read with both kits.

    Returns
    -------
    int
        Number of decimals.

    Examples
    --------
    >>> level_decimals(8.04167, Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.5, ()))
    1
    """
    typed = len(plain(level, 10).partition(".")[2])
    step = max(pairs.resolution_a, pairs.resolution_b)
    of_steps = max(0, -math.floor(math.log10(step) + 1e-9)) if step > 0.0 else 2
    return min(typed, of_steps) if typed > 3 else typed


def together(verdicts: Sequence[Verdict], unit: str) -> Verdict | None:
    """Return one verdict for several levels: the one that must not be overlooked comes first.

    Parameters
    ----------
    verdicts : sequence of Verdict
        One a level.
    unit : str
        Unit of the levels.

    Returns
    -------
    Verdict or None
        Beyond where one is beyond; within only where all are. None without any.

    Examples
    --------
    >>> together((), "dKH") is None
    True
    """
    if not verdicts:
        return None
    first = min(verdicts, key=lambda one: _WEIGHT.index(one.statement))
    others = [one for one in verdicts if one is not first]
    if not others:
        return first
    words = {"cannot tell": "cannot be told yet", "differs": "differs, size open"}
    said = " ".join(
        f"At {plain(one.level, 6)} {unit}: {words.get(one.statement, one.statement)}."
        for one in others
        if one.level is not None
    )
    return replace(first, sentence=f"{first.sentence} {said}")


def answered_levels(
    pairs: Pairs, levels: Sequence[float], *, trend_clear: bool
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the levels that a mean difference answers, and those it does not.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.
    levels : sequence of float
        Levels asked about (unit).
    trend_clear : bool
        Whether the difference changes with the level: then it answers none.

    Returns
    -------
    tuple of float
        Levels within the waters that were read, give or take one step of the scales.
    tuple of float
        The others.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, (Water("1", (8.0,), (8.4,)),))
    >>> answered_levels(pairs, [8.1, 12.0], trend_clear=False)
    ((8.1,), (12.0,))
    """
    if trend_clear:
        return (), tuple(float(one) for one in levels)
    every = np.concatenate([pairs.a, pairs.b])
    step = max(pairs.resolution_a, pairs.resolution_b)
    low, high = float(every.min()) - step, float(every.max()) + step
    inside = tuple(float(one) for one in levels if low <= one <= high)
    return inside, tuple(float(one) for one in levels if not low <= one <= high)
