"""Settings near a rounded one: what rounding one supplement took, another may give back."""

from __future__ import annotations

import itertools

import numpy as np

from reef_calc.plan.condensed import Condensed
from reef_calc.plan.limit_rows import LimitRows
from reef_calc.plan.rounding import neighbours

# Mean distance, half-bands, that makes another setting worth its while; far below a kit's scatter.
_WORTH_IT = 2e-3
_ROUNDS = 12


def better_nearby(
    condensed: Condensed,
    rows: LimitRows,
    scaled: np.ndarray,
    places: list[int],
    high: np.ndarray,
    dead: float,
) -> np.ndarray:
    """Return the best setting that single steps of one or two supplements lead to.

    Rounding each amount by itself is not best where two of them move the same level: one coarse step
    of the one may be worth three fine steps of the other.

    Parameters
    ----------
    condensed : Condensed
        Levels as functions of the amounts.
    rows : LimitRows
        Limits, which ``scaled`` keeps.
    scaled : ndarray, shape (supplements·phases,)
        Scaled amounts as they can be set.
    places : list of int
        Unknowns that may move; only those that are given at all do.
    high : ndarray, shape (supplements·phases,)
        Largest scaled amounts a day.
    dead : float
        Dead band, a share of half a band (no unit).

    Returns
    -------
    ndarray
        Scaled amounts that keep every limit and are never further from the aims.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.limit_rows import limit_rows
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.4, aim=8.0)
    >>> strong = SupplementToPlan("strong", {"alkalinity": 0.1}, step=1.0)
    >>> fine = SupplementToPlan("fine", {"alkalinity": 0.01}, step=1.0)
    >>> model = condense(PlanProblem((kh,), (strong, fine), 30), (0,))
    >>> rows = limit_rows(model, model.base, 0.0)
    >>> rounded = model.scaled(np.array([[3.0], [6.0]]))
    >>> model.amounts(better_nearby(model, rows, rounded, [0, 1], np.full(2, np.inf), 0.0)).round(6)
    array([[ 3.],
           [10.]])
    """
    days = sum(one.aim is not None for one in condensed.problem.elements) * condensed.problem.days
    best, away = scaled, float(_distances(condensed, scaled[None], dead)[0])
    for _ in range(_ROUNDS):
        moves = [(i, x) for i in places for x in _moves(condensed, best, high, i)]
        tried = []
        for some in (*((one,) for one in moves), *itertools.combinations(moves, 2)):
            if len({i for i, _ in some}) == len(some):
                one = best.copy()
                for i, x in some:
                    one[i] = x
                tried.append(one)
        candidates = np.array(tried).reshape(len(tried), len(scaled))
        candidates = candidates[np.all(candidates @ rows.matrix.T <= rows.most + 1e-7, axis=1)]
        if not len(candidates):
            break
        distances = _distances(condensed, candidates, dead)
        nearest = int(np.argmin(distances))
        if distances[nearest] > away - _WORTH_IT * days:
            break
        best, away = candidates[nearest], float(distances[nearest])
    return best


def _moves(condensed: Condensed, scaled: np.ndarray, high: np.ndarray, i: int) -> list[float]:
    """Return the next smaller and the next larger amount that can be set in one place."""
    j = i // len(condensed.phases)
    one, size = condensed.problem.supplements[j], float(condensed.size[j])
    if one.step <= 0.0 or size <= 0.0 or scaled[i] <= 0.0:
        return []
    amount, most = float(scaled[i]) / size, float(high[i]) / size
    lower = neighbours(one, amount - one.step / 2, most)[0]
    higher = neighbours(one, amount + one.step / 2, most)[1]
    return [x * size for x in (lower, higher) if abs(x - amount) > one.step / 4]


def _distances(condensed: Condensed, candidates: np.ndarray, dead: float) -> np.ndarray:
    """Return the sum of distances beyond the dead band of each candidate, half-bands."""
    found = np.zeros(len(candidates))
    for e, one in enumerate(condensed.problem.elements):
        if one.aim is None or not np.any(condensed.per_amount[e]):
            continue
        levels = condensed.base[e, 1:] + candidates @ condensed.per_amount[e, 1:].T
        off = np.abs(levels - one.aim) / one.half
        found += np.maximum(off - dead, 0.0).sum(axis=1)
    return found
