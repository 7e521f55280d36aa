"""Stopping a study as soon as it is decided, without being misled by looking often."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.special import ndtr, stdtrit

from reef_calc.compare.difference import no_scatter
from reef_calc.compare.verdict import Statement, statement_of
from reef_calc.errors import InputError

Rule = Literal["each pair", "four looks", "at the end"]

FIRST_LOOK = 4
# Width of the bound at the last look, in standard deviations, from our own simulation: it keeps
# each wrong statement below 2.7 in 100 when every pair from the fourth is looked at.
_BOUND = 2.12
_FOUR_LOOKS = 0.98


@dataclass(frozen=True)
class Look:
    """Where a study stands that may be stopped early.

    Attributes
    ----------
    n, planned : int
        Waters read so far, and at most.
    rule : {"each pair", "four looks", "at the end"}
        When it is looked at.
    decided_at : int or None
        Number of the water at which it was decided to be within or beyond; None while it is not.
    statement : {"within", "beyond", "differs", "cannot tell"} or None
        What is said; None while the study goes on.
    estimate, low, high : float or None
        Difference B − A and its interval at the bound of the last look (unit), of the waters up to
        the decision; None where there is no scatter to go by.
    confidence : float
        Confidence of that interval (share).
    next_look : int or None
        Number of waters at the next look; None when there is none.
    """

    n: int
    planned: int
    rule: Rule
    decided_at: int | None
    statement: Statement | None
    estimate: float | None
    low: float | None
    high: float | None
    confidence: float
    next_look: int | None

    @property
    def stopped_early(self) -> bool:
        """Whether it was decided before the last water."""
        return self.decided_at is not None and self.decided_at < self.planned

    @property
    def over(self) -> bool:
        """Whether no further water is needed, or none is planned."""
        return self.statement is not None


def bound(n: int, planned: int) -> float:
    """Return the confidence of the interval at one look of many.

    c = 2Φ(2.12·√(N/n)) − 1

    Parameters
    ----------
    n : int
        Number of waters at this look.
    planned : int
        Number N of waters at most.

    Returns
    -------
    float
        Confidence (share).

    Raises
    ------
    InputError
        If n is not a whole number from 1 to the number planned.

    Notes
    -----
    Holds each wrong statement below 2.7 in 100 for looks from the fourth water on, at 20 in all.

    Examples
    --------
    >>> round(bound(4, 20), 6), round(bound(20, 20), 6)
    (0.999998, 0.965994)

    References
    ----------
    Shape of the bound: O'Brien and Fleming 1979, Biometrics 35:549 (from memory); its width is our
    own, by simulation.
    """
    if n not in range(1, planned + 1):
        raise InputError(
            f"a number of waters from 1 to {planned}", n, "Plan more waters.", "waters of the study"
        )
    return float(2.0 * ndtr(_BOUND * math.sqrt(planned / n)) - 1.0)


def looks(planned: int, rule: Rule = "each pair") -> tuple[tuple[int, float], ...]:
    """Return at which numbers of waters it is looked, and with which confidence.

    Parameters
    ----------
    planned : int
        Number of waters at most, 2 or more.
    rule : {"each pair", "four looks", "at the end"}, optional
        After every water from the fourth; four times at 98 %; or once, at 95 %.

    Returns
    -------
    tuple of (int, float)
        Number of waters and confidence (share).

    Raises
    ------
    InputError
        If the rule or the number cannot be used.

    Examples
    --------
    >>> looks(20, "four looks")
    ((5, 0.98), (10, 0.98), (15, 0.98), (20, 0.98))

    References
    ----------
    Own simulation.
    """
    if rule not in ("each pair", "four looks", "at the end"):
        raise InputError(
            "each pair, four looks or at the end", rule, "Choose one of them.", "when to look"
        )
    if isinstance(planned, bool) or not isinstance(planned, int) or not 2 <= planned <= 1000:
        raise InputError(
            "a number of waters from 2 to 1000", planned, "Twenty is a good number.",
            "waters of the study",
        )  # fmt: skip
    if rule == "at the end":
        return ((planned, 0.95),)
    if rule == "four looks":
        quarters = sorted({max(2, math.ceil(planned * part / 4)) for part in (1, 2, 3, 4)})
        return tuple((n, _FOUR_LOOKS) for n in quarters)
    return tuple((n, bound(n, planned)) for n in range(min(FIRST_LOOK, planned), planned + 1))


def look_at(
    differences: Sequence[float],
    allowed: float,
    planned: int,
    *,
    rule: Rule = "each pair",
    u_not_averaged: float = 0.0,
    size: float = 0.0,
) -> Look:
    """Return where a study stands after so many waters.

    At each look that was due: d ± t(c, n − 1)·√(s²/n + v²), and the statement that it allows.

    Parameters
    ----------
    differences : sequence of float
        B − A, water by water, in the order they were read (unit).
    allowed : float
        Allowed difference, above 0 (unit).
    planned : int
        Number of waters at most.
    rule : {"each pair", "four looks", "at the end"}, optional
        When it is looked at.
    u_not_averaged : float, optional
        Part v of the standard error that more waters do not lessen (unit).
    size : float, optional
        Largest reading (unit): says which differences are equal but for the arithmetic.

    Returns
    -------
    Look
        Decided or not. Waters after the decision, or beyond the plan, change nothing in it.

    Raises
    ------
    InputError
        If the allowed difference, the rule or a number cannot be used.

    Notes
    -----
    An estimate that stopped a study early is on average too far from 0. Where it is used again, its
    uncertainty must come from all readings, later ones too.

    Examples
    --------
    >>> found = look_at([0.1, 0.0, -0.1, 0.0, 0.1, 0.0, 0.0, -0.1], 0.6, 20)
    >>> found.decided_at, found.statement, found.stopped_early
    (6, 'within', True)

    References
    ----------
    As ``bound``.
    """
    read = np.asarray(differences, dtype=float)
    if not np.isfinite(read).all():
        raise InputError(
            "differences that are numbers",
            list(read),
            "Leave out what was not read.",
            "differences",
        )
    schedule = looks(planned, rule)
    last = schedule[-1][1]
    due = [(n, confidence) for n, confidence in schedule if n <= read.size]
    for n, confidence in due:
        ends = _interval(read[:n], confidence, u_not_averaged, size)
        if ends is None:
            continue
        said = statement_of(ends[1], ends[2], allowed)
        if said in ("within", "beyond"):
            middle, low, high = _interval(read[:n], last, u_not_averaged, size) or ends
            return Look(read.size, planned, rule, n, said, middle, low, high, last, None)
    ahead = next((n for n, _ in schedule if n > read.size), None)
    ends = _interval(read[:planned], last, u_not_averaged, size)
    if ends is None:  # without any scatter there is nothing to go by
        statement_of(0.0, 0.0, allowed)
        over: Statement | None = "cannot tell" if ahead is None else None
        return Look(read.size, planned, rule, None, over, None, None, None, last, ahead)
    over = statement_of(ends[1], ends[2], allowed) if ahead is None else None
    return Look(read.size, planned, rule, None, over, *ends, last, ahead)


def _interval(
    read: np.ndarray, confidence: float, u_not_averaged: float, size: float
) -> tuple[float, float, float] | None:
    if read.size < 2 or no_scatter(read, size):
        return None
    middle = float(read.mean())
    u = math.sqrt(float(read.var(ddof=1)) / read.size + u_not_averaged**2)
    half = float(stdtrit(read.size - 1, (1.0 + confidence) / 2.0)) * u
    return middle, middle - half, middle + half
