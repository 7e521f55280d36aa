"""The nearest plan within limits that partly depend on the levels it leads to."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from reef_calc.plan.condensed import Condensed
from reef_calc.plan.limit_rows import LimitRows, band_rows, limit_rows
from reef_calc.plan.linear import least
from reef_calc.plan.links import links_between
from reef_calc.plan.ordered_aims import Solution, solve_in_order
from reef_calc.plan.phases import first_reference, highest_amounts

_ROUNDS = 4
# In shares of a limit: room that is not worth another round.
_SETTLED = 0.02


def solve_within_limits(
    condensed: Condensed, able: list[int], inside_from: int, z: float, dead: float
) -> tuple[LimitRows, Solution, dict[str, float]]:
    """Return the limits as rows, the amounts that keep them, and the falls that had to be let go.

    Which side of a large water change a limit falls on depends on the levels: they are guessed, then
    read from the answer, until both agree. Rises are kept at any level; only room may be given away.

    Parameters
    ----------
    condensed : Condensed
        Levels as functions of the amounts.
    able : list of int
        Index of each element that is kept inside its aims.
    inside_from : int
        From this day on.
    z : float
        Quantile of the normal distribution kept from rises and ceilings (no unit).
    dead : float
        Dead band, a share of half a band (no unit).

    Returns
    -------
    tuple of (LimitRows, Solution, dict of str to float)
        Rows, amounts, and falls beyond their limit by element, as a share of it.

    Raises
    ------
    CannotTellError
        If the numbers are too far apart to be solved.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, 1.2, aim=8.0, fall_per_day=0.5)
    >>> weak = SupplementToPlan("weak", {"alkalinity": 0.01}, most_per_day=50.0)
    >>> rows, found, fallen = solve_within_limits(
    ...     condense(PlanProblem((kh,), (weak,), 3), (0,)), [], 1, 0.0, 0.0)
    >>> round(fallen["alkalinity"], 6)
    0.4
    """
    low = np.zeros(condensed.per_amount.shape[2])
    high = highest_amounts(condensed)
    band = band_rows(condensed, able, inside_from)
    reference = first_reference(condensed)
    found: tuple[LimitRows, Solution, dict[str, float]] | None = None
    for _ in range(_ROUNDS):
        limits = limit_rows(condensed, reference, z)
        rows = limits.and_also(band)
        relaxed: dict[str, float] = {}
        answer = solve_in_order(condensed, rows, low, high, dead=dead)
        if answer is None:
            rows = limits
            answer = solve_in_order(condensed, rows, low, high, dead=dead)
        if answer is None:
            rows, relaxed = _let_fall(condensed, limits, high)
            answer = solve_in_order(condensed, rows, low, high, dead=dead)
        if answer is None:
            # Only where the levels guessed at lie on the wrong side of a large water change.
            reference = condensed.base
            continue
        found = (rows, answer, relaxed)
        reference = condensed.levels(answer.scaled)
        again = limit_rows(condensed, reference, z)
        same = len(again.most) == len(limits.most)
        if same and np.allclose(again.most, limits.most, rtol=0, atol=_SETTLED):
            break
    if found is None:
        limits = limit_rows(condensed, condensed.base, z)
        rows, relaxed = _let_fall(condensed, limits, high)
        nothing = np.zeros_like(low)
        found = (rows, Solution(nothing, np.zeros(len(rows.most)), nothing), relaxed)
    return found


def _let_fall(
    condensed: Condensed, limits: LimitRows, high: np.ndarray
) -> tuple[LimitRows, dict[str, float]]:
    """Return limits with the largest falls let go by as little as can be, and by how much, by element."""
    falls = np.array([tag[0] == "fall" for tag in limits.tags], dtype=bool)
    n, k = limits.matrix.shape[1], int(falls.sum())
    extra = np.zeros((len(limits.most), k))
    extra[np.flatnonzero(falls), np.arange(k)] = -1.0
    links = links_between(condensed)
    answer = least(
        np.r_[np.zeros(n), np.ones(k)],
        np.hstack([limits.matrix, extra]),
        limits.most,
        np.zeros(n + k),
        np.r_[high, np.full(k, np.inf)],
        np.hstack([links, np.zeros((len(links), k))]) if len(links) else None,
    )
    if answer is None:
        return limits, {}
    most = limits.most.copy()
    most[falls] += answer.x[n:] + 1e-7 * (answer.x[n:] > 0)
    relaxed: dict[str, float] = {}
    for i, slack in zip(np.flatnonzero(falls), answer.x[n:], strict=True):
        if slack > 1e-7:
            name = limits.tags[i][1]
            relaxed[name] = max(relaxed.get(name, 0.0), float(slack))
    return replace(limits, most=most), relaxed
