"""One linear programme after the other: nearness, then steadiness, then small doses.

Each aim is fixed before the next by staying on its optimal face: rows with a price become equalities,
unknowns with a price stay at their bound. That is exact and leaves no tolerance to choose.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import sparse

from reef_calc.plan.condensed import Condensed
from reef_calc.plan.limit_rows import LimitRows
from reef_calc.plan.linear import least
from reef_calc.plan.links import links_between

# Share of half a band within which a level counts as on its aim. 0 chases noise; 0.3 and more lets
# the plan rest at the edge of it, because steadiness then outranks nearness.
DEAD_BAND = 0.1
# Of two supplements that do the same the earlier in the list is taken: a later one counts as this
# much dearer for each place.
DEARER_PER_PLACE = 1e-3
# Weight of the plain amount beside the salt left over, so that supplements that leave none are
# still told apart.
AMOUNT_BESIDE_RESIDUE = 0.05
# Price of leaving an amount found before, against one of distance: far below a kit's scatter.
STAY_NEAR = 1e-3
_PRICED = 1e-9


@dataclass(frozen=True)
class Solution:
    """Scaled amounts, with the prices of the first aim.

    Attributes
    ----------
    scaled : ndarray, shape (supplements·phases,)
        Scaled amounts a day.
    row_prices : ndarray
        Multipliers of the limit rows at the first aim, 0 or above; sum of distances a unit.
    bound_prices : ndarray, shape (supplements·phases,)
        Multipliers of the largest amounts.
    """

    scaled: np.ndarray
    row_prices: np.ndarray
    bound_prices: np.ndarray


def solve_in_order(
    condensed: Condensed,
    rows: LimitRows,
    low: np.ndarray,
    high: np.ndarray,
    *,
    dead: float = DEAD_BAND,
    only_nearness: bool = False,
) -> Solution | None:
    """Return the amounts that come nearest to the aims, then change least, then leave least salt.

    Parameters
    ----------
    condensed : Condensed
        Levels as functions of the amounts.
    rows : LimitRows
        Limits.
    low, high : ndarray, shape (supplements·phases,)
        Smallest and largest scaled amounts a day.
    dead : float, optional
        Dead band, a share of half a band (no unit).
    only_nearness : bool, optional
        Whether to stop after the first aim.

    Returns
    -------
    Solution or None
        None where the limits contradict each other.

    Raises
    ------
    CannotTellError
        If the numbers are too far apart to be solved.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.limit_rows import limit_rows
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.36, aim=8.0)
    >>> model = condense(PlanProblem((kh,), (SupplementToPlan("soda", {"alkalinity": 0.012}),), 30), (0,))
    >>> rows = limit_rows(model, model.base, 0.0)
    >>> found = solve_in_order(model, rows, np.zeros(1), np.full(1, np.inf))
    >>> model.amounts(found.scaled).round(6)
    array([[30.]])
    """
    frame = _Frame(condensed, rows, low, high, dead)
    aims = [frame.nearness()]
    if not only_nearness:
        if len(condensed.phases) > 1:
            aims.append(frame.steadiness())
        if dead > 0.0 and frame.deviations:
            aims.append(frame.nearness(inside=True))
        aims.append(frame.smallness())
    first = None
    scaled = np.zeros(frame.amounts)
    for cost in aims:
        if cost is None or not np.any(cost):
            continue
        answer = frame.solve(cost)
        if answer is None:
            if first is None:
                return None
            break  # A face closed to within rounding: the amounts found so far stand.
        scaled = np.clip(answer.x[: frame.amounts], low, high)
        if first is None:
            m, n = len(rows.most), frame.amounts
            first = (-answer.ineqlin.marginals[:m], -answer.upper.marginals[:n])
        frame.stay(answer)
    if first is None:
        first = (np.zeros(len(rows.most)), np.zeros(frame.amounts))
        if np.any(rows.matrix @ scaled > rows.most + 1e-7):
            return None
    return Solution(scaled, first[0], first[1])


def solve_near(
    condensed: Condensed,
    rows: LimitRows,
    low: np.ndarray,
    high: np.ndarray,
    wished: np.ndarray,
    *,
    dead: float = DEAD_BAND,
) -> np.ndarray | None:
    """Return the amounts nearest to the aims that hardly leave amounts found before.

    Least Σ distance + small · Σ |amount − wished|: after rounding one phase the others only repair.

    Parameters
    ----------
    condensed : Condensed
        Levels as functions of the amounts.
    rows : LimitRows
        Limits.
    low, high : ndarray, shape (supplements·phases,)
        Smallest and largest scaled amounts a day.
    wished : ndarray, shape (supplements·phases,)
        Scaled amounts before rounding.
    dead : float, optional
        Dead band, a share of half a band (no unit).

    Returns
    -------
    ndarray or None
        Scaled amounts; None where the limits contradict each other.

    Raises
    ------
    CannotTellError
        If the numbers are too far apart to be solved.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.limit_rows import limit_rows
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.4, aim=8.0)
    >>> model = condense(PlanProblem((kh,), (SupplementToPlan("soda", {"alkalinity": 0.03}),), 30), (0, 15))
    >>> rows, first = limit_rows(model, model.base, 0.0), 13.0 * model.size[0]
    >>> wished = model.scaled(np.full((1, 2), 40 / 3))
    >>> found = solve_near(model, rows, np.array([first, 0.0]), np.array([first, 9.0]), wished, dead=0.0)
    >>> model.amounts(found).round(2)
    array([[13.  , 13.79]])
    """
    frame = _Frame(condensed, rows, low, high, dead)
    n = frame.amounts
    cost = np.r_[frame.nearness(), np.full(n, STAY_NEAR)]
    # One more unknown for each amount: how far it is from what was wished.
    away = np.r_[np.arange(n), np.arange(n)]
    values = np.r_[np.ones(n), -np.ones(n)]
    further = sparse.csr_array((values, (np.arange(2 * n), away)), shape=(2 * n, frame.unknowns))
    size = sparse.csr_array((-np.ones(2 * n), (np.arange(2 * n), away)), shape=(2 * n, n))
    wide = sparse.hstack([frame.matrix, sparse.csr_array((frame.matrix.shape[0], n))])
    answer = least(
        cost,
        sparse.vstack([wide, sparse.hstack([further, size])], format="csr"),
        np.r_[frame.most, wished, -wished],
        np.r_[frame.low, np.zeros(n)],
        np.r_[frame.high, np.full(n, np.inf)],
        sparse.hstack([frame.equal, sparse.csr_array((frame.equal.shape[0], n))], format="csr"),
        frame.values,
    )
    return None if answer is None else np.clip(answer.x[:n], low, high)


class _Frame:
    """Rows and bounds of the whole programme: amounts, distances, changes of setting.

    Distances of one level: above and below beyond the dead band, then above and below inside it.
    """

    def __init__(
        self, condensed: Condensed, rows: LimitRows, low: np.ndarray, high: np.ndarray, dead: float
    ) -> None:
        problem = condensed.problem
        self.condensed = condensed
        self.amounts = n = condensed.per_amount.shape[2]
        aimed = [
            e
            for e, one in enumerate(problem.elements)
            if one.aim is not None and np.any(condensed.per_amount[e])
        ]
        self.deviations = D = len(aimed) * problem.days
        self.kinds = 4 if dead > 0.0 else 2
        steps = _steps(len(problem.supplements), len(condensed.phases))
        self.changes = len(steps)
        self.unknowns = n + self.kinds * D + self.changes
        self.low = np.r_[low, np.zeros(self.unknowns - n)]
        self.high = np.r_[high, np.full(self.unknowns - n, np.inf)]
        self.high[n + 2 * D : n + self.kinds * D] = dead
        dense = np.vstack([rows.matrix, steps, -steps])
        k = np.arange(self.changes)
        self.matrix = _sparse(
            dense,
            len(rows.most) + np.r_[k, self.changes + k],
            self.unknowns - self.changes + np.r_[k, k],
            -np.ones(2 * self.changes),
            self.unknowns,
        )
        self.most = np.r_[rows.most, np.zeros(2 * self.changes)]
        half = np.array([problem.elements[e].half for e in aimed])[:, None]
        aim = np.array([problem.elements[e].aim or 0.0 for e in aimed])[:, None]
        per = condensed.per_amount[aimed, 1:] / half[:, :, None]
        off = (aim - condensed.base[aimed, 1:]) / half
        links = links_between(condensed)
        row = np.arange(D)
        self.equal = _sparse(
            np.vstack([per.reshape(D, n), links]),
            np.tile(row, self.kinds),
            n + np.arange(self.kinds * D),
            np.tile(np.repeat((-1.0, 1.0), D), self.kinds // 2),
            self.unknowns,
        )
        self.values = np.r_[off.ravel(), np.zeros(len(links))]

    def nearness(self, inside: bool = False) -> np.ndarray:
        cost = np.zeros(self.unknowns)
        kinds = self.kinds if inside else 2
        cost[self.amounts : self.amounts + kinds * self.deviations] = 1.0
        return cost

    def steadiness(self) -> np.ndarray:
        cost = np.zeros(self.unknowns)
        cost[self.unknowns - self.changes :] = 1.0
        return cost

    def smallness(self) -> np.ndarray:
        cost = np.zeros(self.unknowns)
        size = self.condensed.size
        residue = np.array([one.residue for one in self.condensed.problem.supplements])
        per = np.divide(residue, size, out=np.zeros_like(size), where=size > 0)
        worst = per.max(initial=0.0)
        weight = AMOUNT_BESIDE_RESIDUE + per / worst if worst > 0 else np.ones_like(per)
        weight = weight * (1.0 + DEARER_PER_PLACE * np.arange(len(size)))
        share = self.condensed.lengths / self.condensed.problem.days
        cost[: self.amounts] = np.outer(weight, share).ravel()
        return cost

    def solve(self, cost: np.ndarray) -> Any:
        return least(cost, self.matrix, self.most, self.low, self.high, self.equal, self.values)

    def stay(self, answer: Any) -> None:
        """Close the optimal face of an answer."""
        tight = answer.ineqlin.marginals < -_PRICED
        if np.any(tight):
            self.equal = sparse.vstack([self.equal, self.matrix[tight]], format="csr")
            self.values = np.r_[self.values, self.most[tight]]
            self.matrix, self.most = self.matrix[~tight], self.most[~tight]
        at_low = answer.lower.marginals > _PRICED
        at_high = answer.upper.marginals < -_PRICED
        self.high = np.where(at_low, self.low, self.high)
        self.low = np.where(at_high, self.high, self.low)


def _steps(supplements: int, phases: int) -> np.ndarray:
    """Return the changes of setting from phase to phase, one row each."""
    found = np.zeros((supplements * (phases - 1), supplements * phases))
    for j in range(supplements):
        for p in range(phases - 1):
            found[j * (phases - 1) + p, j * phases + p : j * phases + p + 2] = (-1.0, 1.0)
    return found


def _sparse(
    dense: np.ndarray, rows: np.ndarray, columns: np.ndarray, values: np.ndarray, width: int
) -> sparse.csr_array:
    """Return a dense block with single further values to its right."""
    at, to = np.nonzero(dense)
    return sparse.csr_array(
        (np.r_[dense[at, to], values], (np.r_[at, rows], np.r_[to, columns])),
        shape=(len(dense), width),
    )
