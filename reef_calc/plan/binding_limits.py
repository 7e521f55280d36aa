"""Which limits a plan reaches, and which of them keep it from its aims."""

from __future__ import annotations

import numpy as np

from reef_calc.plan.condensed import Condensed
from reef_calc.plan.limit_rows import SHARE_MORE, LimitRows, Tag
from reef_calc.plan.limit_words import limit_in_words
from reef_calc.plan.ordered_aims import Solution
from reef_calc.plan.solved import Limit

# In shares of a limit: the solver keeps its rows to 1e-7.
_REACHED = 1e-7
# Below this share of half a band a gain is rounding.
_NO_GAIN = 1e-9


def binding_limits(
    condensed: Condensed,
    rows: LimitRows,
    first: Solution,
    scaled: np.ndarray,
    high: np.ndarray,
) -> tuple[Limit, ...]:
    """Return the limits that a plan reaches, those with a price first.

    gain = Σ multiplier · what 10 % more of the limit adds, over the number of levels; the multipliers
    are those of the first aim, for later aims would price the wrong thing.

    Parameters
    ----------
    condensed : Condensed
        Levels as functions of the amounts.
    rows : LimitRows
        Limits.
    first : Solution
        Prices of the first aim.
    scaled, high : ndarray, shape (supplements·phases,)
        Scaled amounts and the largest ones.

    Returns
    -------
    tuple of Limit
        Each limit once.

    Notes
    -----
    Of two limits that are equally tight only one carries the price, and more of either alone gains
    nothing: therefore the others that are reached are listed too. For a highest level the gain is
    that of a tenth of half the band.

    Examples
    --------
    >>> from reef_calc.plan.condensed import condense
    >>> from reef_calc.plan.limit_rows import limit_rows
    >>> from reef_calc.plan.ordered_aims import solve_in_order
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.3, aim=8.0)
    >>> weak = SupplementToPlan("weak", {"alkalinity": 0.01}, most_per_day=20.0)
    >>> model = condense(PlanProblem((kh,), (weak,), 4), (0,))
    >>> rows, high = limit_rows(model, model.base, 0.0), np.array([0.2])
    >>> found = solve_in_order(model, rows, np.zeros(1), high)
    >>> [(one.kind, one.priced) for one in binding_limits(model, rows, found, found.scaled, high)]
    [('most a day', True)]
    """
    problem = condensed.problem
    levels = sum(one.aim is not None for one in problem.elements) * problem.days or 1
    gains: dict[Tag, float] = {}
    reached: dict[Tag, None] = {}
    slack = rows.most - rows.matrix @ scaled
    for i, tag in enumerate(rows.tags):
        gains[tag] = gains.get(tag, 0.0) + float(first.row_prices[i] * rows.more[i]) / levels
        if slack[i] < _REACHED and np.any(rows.matrix[i]):
            reached[tag] = None
    P = len(condensed.phases)
    for j, one in enumerate(problem.supplements):
        tag = ("most a day", one.name)
        phases = slice(j * P, (j + 1) * P)
        most = high[phases]
        if not np.all(np.isfinite(most)) or condensed.size[j] == 0.0:
            continue
        gains[tag] = float(np.sum(first.bound_prices[phases] * SHARE_MORE * most)) / levels
        # Nothing may be given of it at all: that is a choice, and told only where it stands in the way.
        if np.any(most > 0.0) and np.any(scaled[phases] > most - _REACHED * np.maximum(1.0, most)):
            reached[tag] = None
    found = []
    for tag in dict.fromkeys([*gains, *reached]):
        gain = gains.get(tag, 0.0)
        priced = gain > _NO_GAIN
        if priced or tag in reached:
            words = limit_in_words(problem, *tag)
            found.append(Limit(tag[0], tag[1], words, priced, gain if priced else 0.0))
    return tuple(sorted(found, key=lambda one: -one.gain))
