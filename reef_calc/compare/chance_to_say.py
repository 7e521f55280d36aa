"""The chance that a study ends with a statement, and how a chance is said."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from scipy.special import stdtrit

from reef_calc.compare.stopping import Rule, looks
from reef_calc.compare.verdict import Statement, statement_of
from reef_calc.errors import InputError

_SEED = 20_407


def chance_to_say(
    statement: Statement,
    allowed: float,
    planned: int,
    *,
    sd: float,
    true_difference: float = 0.0,
    so_far: Sequence[float] = (),
    rule: Rule = "each pair",
    u_not_averaged: float = 0.0,
    draws: int = 4000,
    seed: int = _SEED,
) -> float:
    """Return the chance that a study ends with a statement, by seeded simulation.

    Parameters
    ----------
    statement : {"within", "beyond", "differs", "cannot tell"}
        The statement.
    allowed : float
        Allowed difference, above 0 (unit).
    planned : int
        Number of waters at most.
    sd : float
        Standard deviation of one difference, above 0 (unit).
    true_difference : float, optional
        What is taken to be true (unit).
    so_far : sequence of float, optional
        Differences already read (unit); the others are drawn.
    rule : {"each pair", "four looks", "at the end"}, optional
        When it is looked at.
    u_not_averaged : float, optional
        Part of the standard error that more waters do not lessen (unit).
    draws : int, optional
        Number of simulated studies.
    seed : int, optional
        Seed of the random numbers; any count.

    Returns
    -------
    float
        Chance (share), good to about 0.008 with 4000 draws.

    Raises
    ------
    InputError
        If the standard deviation or another number cannot be used.

    Examples
    --------
    >>> round(chance_to_say("within", 0.75, 20, sd=1.0), 1)
    0.7

    References
    ----------
    Own simulation.
    """
    if not 0.0 < sd < math.inf:
        raise InputError(
            "a scatter of the differences above 0", sd, "Type the repeatability of both kits.", "sd"
        )
    schedule = looks(planned, rule)
    known = np.asarray(so_far, dtype=float)[:planned]
    drawn = np.random.default_rng(seed).normal(
        true_difference, sd, size=(draws, planned - known.size)
    )
    whole = np.concatenate([np.broadcast_to(known, (draws, known.size)), drawn], axis=1)
    count = np.arange(1, planned + 1)
    mean = np.cumsum(whole, axis=1) / count
    centred = np.cumsum((whole - true_difference) ** 2, axis=1)
    spread = np.maximum(centred - count * (mean - true_difference) ** 2, 0.0)
    open_yet = np.ones(draws, dtype=bool)
    reached = 0
    statement_of(0.0, 0.0, allowed)
    for n, confidence in schedule:
        u2 = spread[:, n - 1] / (n - 1) / n + u_not_averaged**2
        half = stdtrit(n - 1, (1.0 + confidence) / 2.0) * np.sqrt(u2)
        low, high = mean[:, n - 1] - half, mean[:, n - 1] + half
        within = (low > -allowed) & (high < allowed)
        beyond = (low > allowed) | (high < -allowed)
        excludes = (low > 0.0) | (high < 0.0)
        # One water's worth of no scatter decides nothing, as in ``look_at``.
        decided = open_yet & (within | beyond) & (spread[:, n - 1] > 1e-12 * centred[:, n - 1])
        if statement in ("within", "beyond"):
            reached += int((decided & (within if statement == "within" else beyond)).sum())
        open_yet &= ~decided
        if n == planned and statement not in ("within", "beyond"):
            reached += int((open_yet & (excludes == (statement == "differs"))).sum())
    return reached / draws


def chance_words(chance: float) -> str:
    """Return a chance as a person says it.

    Parameters
    ----------
    chance : float
        Chance (share).

    Returns
    -------
    str
        Such as "about 3 in 4".

    Examples
    --------
    >>> [chance_words(one) for one in (0.74, 0.5, 0.999, 0.01, 0.88)]
    ['about 3 in 4', 'about 1 in 2', 'more than 19 in 20', 'less than 1 in 20', 'about 9 in 10']
    """
    if chance > 0.95:
        return "more than 19 in 20"
    if chance < 0.05:
        return "less than 1 in 20"
    shares = [(1, 20), (1, 10), (1, 5), (1, 4), (1, 3), (2, 5), (1, 2), (3, 5), (2, 3), (3, 4),
              (4, 5), (9, 10), (19, 20)]  # fmt: skip
    part, whole = min(shares, key=lambda one: abs(one[0] / one[1] - chance))
    return f"about {part} in {whole}"
