"""Amounts that a person or a pump can set: whole steps of each of the doses of a day."""

from __future__ import annotations

import itertools
import math

import numpy as np

from reef_calc.plan.condensed import Condensed
from reef_calc.plan.limit_rows import LimitRows
from reef_calc.plan.problem import SupplementToPlan

# The solver keeps its bounds to 1e-7; a step is not lost to that.
_NEARLY = 1e-6
# From so many doses a day on, so many more are tried: nobody gives one dose more by hand for a step.
MANY_DOSES = 3
MORE_DOSES = 2
# Of up to ten supplements every pair of neighbours is compared at once.
_MOST_COMPARED = 10


def doses_for(supplement: SupplementToPlan, amount: float) -> int:
    """Return the smallest number of equal doses that brings an amount and can be set.

    n ≥ amount / largest single dose, and amount / n a whole number of steps.

    Parameters
    ----------
    supplement : SupplementToPlan
        Step and largest single dose.
    amount : float
        mL (or g) a day.

    Returns
    -------
    int
        Doses a day; 0 for nothing.

    Examples
    --------
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, most_per_dose=20.0, step=0.5)
    >>> doses_for(soda, 13.5), doses_for(soda, 63.0), doses_for(soda, 0.0)
    (1, 6, 0)
    """
    if amount <= 0.0:
        return 0
    fewest = _fewest(supplement, amount)
    if supplement.step <= 0.0:
        return fewest
    for n in range(fewest, supplement.most_doses + 1):
        steps = amount / (n * supplement.step)
        if abs(steps - round(steps)) < _NEARLY * max(1.0, steps):
            return n
    return fewest


def neighbours(supplement: SupplementToPlan, amount: float, most: float) -> tuple[float, float]:
    """Return the two amounts nearest to one that can be set, at or below it and at or above it.

    From three doses a day on, one or two doses more are tried too: n equal doses move the day's
    amount by n steps at once, and the level would drift by what is missing.

    Parameters
    ----------
    supplement : SupplementToPlan
        Step, largest single dose and number of doses.
    amount : float
        mL (or g) a day.
    most : float
        Largest amount a day (mL or g).

    Returns
    -------
    tuple of float
        Below and above (mL or g a day); both below where the one above is more than ``most``.

    Examples
    --------
    >>> pump = SupplementToPlan("soda", {"alkalinity": 0.01}, most_per_dose=10.0, step=0.5)
    >>> neighbours(pump, 13.3, 100.0), neighbours(pump, 13.3, 13.5)
    ((13.0, 14.0), (13.0, 13.0))
    >>> by_hand = SupplementToPlan("soda", {"alkalinity": 0.01}, most_per_dose=60.0, step=1.0)
    >>> neighbours(by_hand, 171.7, 1000.0)
    (171.0, 172.0)
    """
    amount = min(max(amount, 0.0), most)
    step = supplement.step
    if step <= 0.0:
        return amount, amount
    in_a_dose = math.inf
    if math.isfinite(supplement.most_per_dose):
        in_a_dose = math.floor(supplement.most_per_dose / step + _NEARLY)
        if in_a_dose == 0:
            return 0.0, 0.0
    doses = max(1, _fewest(supplement, amount))
    # One step too many for so few doses: one dose more a day.
    while amount / (doses * step) > in_a_dose + _NEARLY and doses < supplement.most_doses:
        doses += 1
    more = MORE_DOSES if doses >= MANY_DOSES else 0
    # Full doses, one less of them, lie below whatever the step.
    below = (doses - 1) * in_a_dose * step if doses > 1 else 0.0
    above = math.inf
    for n in range(doses, min(doses + more, supplement.most_doses) + 1):
        steps = min(math.floor(amount / (n * step) + _NEARLY), in_a_dose)
        under = steps * n * step
        if abs(under - amount) <= _NEARLY * n * step:
            return under, under
        below = max(below, under)
        if steps + 1 <= in_a_dose:
            above = min(above, (steps + 1) * n * step)
    if math.isinf(above) and doses < supplement.most_doses:
        grain = (doses + 1) * step
        above = math.ceil(amount / grain - _NEARLY) * grain
    if math.isinf(above) or above > most * (1 + 1e-9):
        return below, below
    return below, above


def _fewest(supplement: SupplementToPlan, amount: float) -> int:
    if not math.isfinite(supplement.most_per_dose):
        return 1
    return max(1, math.ceil(amount / supplement.most_per_dose - _NEARLY))


def best_neighbours(
    condensed: Condensed,
    rows: LimitRows,
    scaled: np.ndarray,
    places: list[tuple[int, ...]],
    choices: list[tuple[np.ndarray, ...]],
    dead: float,
) -> np.ndarray | None:
    """Return the combination of neighbours that keeps all limits and comes nearest to the aims.

    Parameters
    ----------
    condensed : Condensed
        Levels as functions of the amounts.
    rows : LimitRows
        Limits.
    scaled : ndarray, shape (supplements·phases,)
        Scaled amounts, those of the other phases final.
    places : list of tuple of int
        Unknowns that are set together.
    choices : list of tuple of ndarray
        Scaled amounts to choose from, for each of ``places``.
    dead : float
        Dead band, a share of half a band (no unit).

    Returns
    -------
    ndarray or None
        Scaled amounts; None where no combination keeps the limits.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.limit_rows import limit_rows
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.4, aim=8.0)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.03}, step=1.0)
    >>> model = condense(PlanProblem((kh,), (soda,), 30), (0,))
    >>> both = (model.scaled(np.array([[13.0]])), model.scaled(np.array([[14.0]])))
    >>> rows = limit_rows(model, model.base, 0.0)
    >>> model.amounts(best_neighbours(model, rows, np.zeros(1), [(0,)], [both], 0.0)).round(6)
    array([[13.]])
    """
    open_places = [i for i, both in enumerate(choices) if len(both) > 1]
    if len(open_places) > _MOST_COMPARED:
        # The largest steps decide most; the others are taken at the nearest.
        by_size = sorted(open_places, key=lambda i: -float(np.ptp(np.array(choices[i]), 0).max()))
        kept = set(by_size[:_MOST_COMPARED])
        choices = [
            both if i in kept or len(both) == 1
            else (min(both, key=lambda one: abs(float(one[0]) - float(scaled[places[i][0]]))),)
            for i, both in enumerate(choices)
        ]  # fmt: skip
    tried = []
    for combination in itertools.product(*choices):
        one = scaled.copy()
        for where, amounts in zip(places, combination, strict=True):
            one[list(where)] = amounts
        tried.append(one)
    candidates = np.array(tried)
    kept_rows = np.all(candidates @ rows.matrix.T <= rows.most + 1e-7, axis=1)
    candidates = candidates[kept_rows]
    if not len(candidates):
        return None
    far = np.zeros(len(candidates))
    near = np.zeros(len(candidates))
    for e, one_element in enumerate(condensed.problem.elements):
        if one_element.aim is None or not np.any(condensed.per_amount[e]):
            continue
        levels = condensed.base[e, 1:] + candidates @ condensed.per_amount[e, 1:].T
        off = np.abs(levels - one_element.aim) / one_element.half
        far += np.maximum(off - dead, 0.0).sum(axis=1)
        near += off.sum(axis=1)
    order = np.lexsort((candidates.sum(axis=1), near.round(9), far.round(9)))
    return candidates[order[0]]
