"""What the solver hands on: amounts of each phase, levels, and the limits that stand in the way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reef_calc.messages import Message
from reef_calc.plan.problem import PlanProblem


@dataclass(frozen=True)
class Limit:
    """A limit that a plan reaches.

    Attributes
    ----------
    kind : str
        ``rise``, ``fall``, ``most a day``, ``stock``, ``ceiling``, ``low`` or ``high``.
    name : str
        Element or supplement it belongs to.
    words : str
        The limit in words, with number and unit: "alkalinity may rise by 0.5 dKH a day".
    priced : bool
        Whether the plan would come nearer to its aims with more of it.
    gain : float
        By how much of the mean distance, for 10 % more of it (no unit); 0 without a price.
    """

    kind: str
    name: str
    words: str
    priced: bool
    gain: float = 0.0


@dataclass(frozen=True)
class Conflict:
    """Why the aims cannot be met in time.

    Attributes
    ----------
    limits : tuple of Limit
        Limits and aims that cannot all be kept; irreducible.
    offers : tuple of str
        What would do, each in words.
    words : str
        The whole sentence.
    """

    limits: tuple[Limit, ...]
    offers: tuple[str, ...]
    words: str


@dataclass(frozen=True)
class SolvedPlan:
    """Amounts that can be set, and what the levels then do.

    Attributes
    ----------
    problem : PlanProblem
        The question.
    phases : tuple of int
        First day of each phase, the first 0.
    amounts : ndarray, shape (supplements, phases)
        Amount a day as set, after rounding to what can be set.
    exact : ndarray, shape (supplements, phases)
        Before rounding.
    doses_a_day : ndarray of int, shape (supplements, phases)
        Number of equal doses a day; 0 where nothing is given.
    levels : ndarray, shape (elements, days + 1)
        Levels from the plain day-by-day loop with ``amounts``.
    limits : tuple of Limit
        Limits that bind, priced ones first.
    conflict : Conflict or None
        Why the aims cannot be met as asked; the plan then comes as near as the limits allow.
    in_band_from : dict of str to (int or None)
        First day from which the level stays within its aims; None if it does not.
    distance : float
        Mean distance from the aims, in half-bands.
    messages : tuple of Message
        What to know about the plan, in order of weight.
    """

    problem: PlanProblem
    phases: tuple[int, ...]
    amounts: np.ndarray
    exact: np.ndarray
    doses_a_day: np.ndarray
    levels: np.ndarray
    limits: tuple[Limit, ...]
    conflict: Conflict | None
    in_band_from: dict[str, int | None]
    distance: float
    messages: tuple[Message, ...] = ()

    def daily(self) -> np.ndarray:
        """Return the amount set on each day, shape (supplements, days)."""
        ends = (*self.phases[1:], self.problem.days)
        spans = [b - a for a, b in zip(self.phases, ends, strict=True)]
        return np.repeat(self.amounts, spans, axis=1)
