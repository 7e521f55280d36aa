"""The four statements about two kits: within, beyond, differs with its size open, cannot tell."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.special import stdtrit

from reef_calc.compare.difference_words import (
    percent_words,
    plain,
    reads_words,
    span_words,
)
from reef_calc.errors import InputError
from reef_calc.numbers_in_words import decimals_for, fixed

Statement = Literal["within", "beyond", "differs", "cannot tell"]

# Beyond so many waters in all, nobody goes on testing (common practice, no source).
MOST_WATERS = 200
# With fewer waters in all the scatter itself is hardly known (common practice, no source).
FEWEST_WATERS = 5


@dataclass(frozen=True)
class Verdict:
    """What can be said about a difference and the one that is allowed.

    Attributes
    ----------
    statement : {"within", "beyond", "differs", "cannot tell"}
        Within: the whole interval lies inside ± allowed. Beyond: it lies wholly outside. Differs: it
        excludes 0 and reaches across the allowed difference. Otherwise it cannot be told yet.
    estimate, low, high : float
        Difference B − A and its interval (unit).
    allowed : float
        Difference that is allowed (unit).
    level : float or None
        Level it is meant for (unit).
    further_waters : int or None
        Further waters that would settle it if they go on like these; None where it is settled, or no
        number up to 200 in all would do.
    sentence : str
        For the keeper.
    """

    statement: Statement
    estimate: float
    low: float
    high: float
    allowed: float
    level: float | None
    further_waters: int | None
    sentence: str


def statement_of(low: float, high: float, allowed: float) -> Statement:
    """Return which of the four statements an interval allows.

    Parameters
    ----------
    low, high : float
        Interval of the difference (unit).
    allowed : float
        Allowed difference, above 0 (unit).

    Returns
    -------
    str
        ``within``, ``beyond``, ``differs`` or ``cannot tell``.

    Raises
    ------
    InputError
        If the allowed difference is not a number above 0.

    Notes
    -----
    "Differs" never says by how much: an interval that excludes 0 with an estimate above the allowed
    difference occurs in about half of all studies of kits that differ by just less than allowed.

    Examples
    --------
    >>> [statement_of(*ends, 0.3) for ends in ((-0.1, 0.2), (0.4, 0.6), (0.1, 0.4), (-0.1, 0.4))]
    ['within', 'beyond', 'differs', 'cannot tell']

    References
    ----------
    Two one-sided questions asked of one interval; error rates: own simulation.
    """
    if not 0.0 < allowed < math.inf:
        raise InputError(
            "an allowed difference above 0",
            allowed,
            "Type how far two kits may differ, or leave it empty for numbers alone.",
            "allowed difference",
        )
    if -allowed < low and high < allowed:
        return "within"
    if low > allowed or high < -allowed:
        return "beyond"
    return "differs" if low > 0.0 or high < 0.0 else "cannot tell"


def further_waters(
    estimate: float,
    u: float,
    n: int,
    allowed: float,
    *,
    fitted: int = 1,
    u_not_averaged: float = 0.0,
    confidence: float = 0.95,
) -> int | None:
    """Return how many further waters would settle it if estimate and scatter stay as they are.

    The smallest m with t(n + m − fitted)·√((u² − v²)·n/(n + m) + v²) < | |d| − D |.

    Parameters
    ----------
    estimate : float
        Difference d so far (unit).
    u : float
        Its standard error, v included (unit).
    n : int
        Number of waters so far.
    allowed : float
        Allowed difference D (unit).
    fitted : int, optional
        Number of fitted parameters: 1 for a mean, 2 for a line.
    u_not_averaged : float, optional
        Part v of the standard error that more waters do not lessen (unit).
    confidence : float, optional
        Confidence of the interval (share).

    Returns
    -------
    int or None
        Further waters, at least 1 and to at least 5 in all; None if it takes more than 200 in all.

    Notes
    -----
    What comes next scatters too, so the number is about as often too small as too large.

    Examples
    --------
    >>> further_waters(0.10, 0.15, 5, 0.30)
    9

    References
    ----------
    Half-width of a mean or a line: *common practice, no source*.
    """
    room = abs(abs(estimate) - allowed)
    first = max(n + 1, FEWEST_WATERS)
    ahead = np.arange(first, max(MOST_WATERS, first) + 1)
    averaged = max(u**2 - u_not_averaged**2, 0.0) * n / ahead
    t = stdtrit(ahead - fitted, (1.0 + confidence) / 2.0)
    enough = t * np.sqrt(averaged + u_not_averaged**2) < room
    return int(ahead[np.argmax(enough)] - n) if enough.any() else None


def verdict(
    estimate: float,
    low: float,
    high: float,
    allowed: float,
    *,
    kit_a: str,
    kit_b: str,
    unit: str,
    level: float | None = None,
    level_decimals: int = 1,
    near: bool = False,
    u: float | None = None,
    n: int = 0,
    fitted: int = 1,
    u_not_averaged: float = 0.0,
    confidence: float = 0.95,
) -> Verdict:
    """Return the statement that an interval of the difference allows, in words.

    Parameters
    ----------
    estimate, low, high : float
        Difference B − A and its interval (unit).
    allowed : float
        Allowed difference, above 0 (unit).
    kit_a, kit_b, unit : str
        Names of the kits, and the unit of everything.
    level : float, optional
        Level it is meant for (unit).
    level_decimals : int, optional
        Number of decimals of that level.
    near : bool, optional
        Whether it is meant for the levels about that one, and not for it alone.
    u : float, optional
        Standard error of the estimate (unit); without it no number of further waters is given.
    n, fitted : int, optional
        Number of waters so far, and of fitted parameters.
    u_not_averaged : float, optional
        Part of the standard error that more waters do not lessen (unit).
    confidence : float, optional
        Confidence of the interval (share).

    Returns
    -------
    Verdict
        Statement and sentence.

    Raises
    ------
    InputError
        If the allowed difference is not a number above 0.

    Examples
    --------
    >>> verdict(0.62, 0.50, 0.74, 0.3, kit_a="drops", kit_b="syringe", unit="dKH").sentence
    'syringe reads 0.62 dKH above drops (95 %: 0.50 to 0.74 above). That is more than the 0.3 dKH
    allowed.'

    References
    ----------
    As ``statement_of``.
    """
    said = statement_of(low, high, allowed)
    decimals = _decimals(low, high, allowed)
    limit = f"{plain(allowed)} {unit}"
    at = "near" if near else "at"
    where = "" if level is None else f" {at} {fixed(level, level_decimals)} {unit}"
    found = (
        f"{reads_words(estimate, kit_a, kit_b, unit, decimals)}{where} "
        f"({percent_words(confidence)}: {span_words(low, high, decimals)})."
    )
    more = None
    if said == "within":
        sentence = f"{found} They agree within the {limit} allowed."
    elif said == "beyond":
        sentence = f"{found} That is more than the {limit} allowed."
    else:
        if u is not None:
            more = further_waters(
                estimate, u, n, allowed, fitted=fitted, u_not_averaged=u_not_averaged,
                confidence=confidence,
            )  # fmt: skip
        open_yet = (
            f"They differ, but whether by more than the {limit} allowed is open."
            if said == "differs"
            else f"Whether they differ, and whether by more than the {limit} allowed, cannot be "
            "told yet."
        )
        sentence = f"{found} {open_yet}"
        if u is not None:
            sentence += " " + _further_words(
                more, u_not_averaged, estimate, (high - low) / 2.0, allowed
            )
    return Verdict(said, estimate, low, high, allowed, level, more, sentence)


def _decimals(low: float, high: float, allowed: float) -> int:
    """Return decimals at which the printed interval does not contradict the statement."""
    decimals = max(decimals_for((high - low) / 2.0), 0)
    marks = (-allowed, 0.0, allowed)
    for more in range(4):
        printed = [round(end, decimals + more) for end in (low, high)]
        if all(
            np.sign(one - mark) == np.sign(end - mark)
            for end, one in zip((low, high), printed, strict=True)
            for mark in marks
        ):
            return decimals + more
    return decimals + 3


def nearly_as_allowed(estimate: float, half: float, allowed: float) -> bool:
    """Return whether a difference is known to be about as large as the one that is allowed.

    Parameters
    ----------
    estimate, half, allowed : float
        Difference, half of its interval, and what is allowed (unit).

    Returns
    -------
    bool
        True within a quarter of what is allowed, and known to within twice of it.

    Examples
    --------
    >>> nearly_as_allowed(-0.28, 0.2, 0.3), nearly_as_allowed(-0.28, 7.0, 0.3)
    (True, False)
    """
    return abs(abs(estimate) - allowed) < allowed / 4.0 and half < 2.0 * allowed


def _further_words(
    more: int | None, u_not_averaged: float, estimate: float, half: float, allowed: float
) -> str:
    if more is not None:
        waters = "1 further water" if more == 1 else f"About {more} further waters"
        return f"{waters} would settle it if they go on like these."
    if u_not_averaged > 0.0 and 1.96 * u_not_averaged >= abs(abs(estimate) - allowed):
        return "The steps of the scales stand in the way: a finer kit would help, not more tests."
    if nearly_as_allowed(estimate, half, allowed):
        return (
            "The difference lies so near to what is allowed that more tests like these would hardly "
            "settle it."
        )
    return f"The kits scatter so much that more than {MOST_WATERS} waters would be needed."
