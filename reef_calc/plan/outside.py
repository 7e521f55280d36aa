"""How likely a level lies outside its aims."""

from __future__ import annotations

import numpy as np

from reef_calc.plan.problem import PlanProblem

# A level that lies on its edge to within rounding lies inside.
ROUNDING = 1e-9


def _aims(problem: PlanProblem) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the lower and upper ends of the aims, and which elements have any."""
    low = np.array([-np.inf if e.low is None else e.low for e in problem.elements], dtype=float)
    high = np.array([np.inf if e.high is None else e.high for e in problem.elements], dtype=float)
    return low, high, np.isfinite(low) | np.isfinite(high)


def chance_outside(problem: PlanProblem, levels: np.ndarray, sd: np.ndarray) -> np.ndarray:
    """Return the probability that levels lie outside their aims, when they are normal.

    P = Φ((low − C)/s) + Φ((C − high)/s)

    Parameters
    ----------
    problem : PlanProblem
        Elements with their aims.
    levels, sd : ndarray, shape (elements, days + 1)
        Levels and their standard deviations, element's unit.

    Returns
    -------
    ndarray, shape (elements, days + 1)
        Probability (no unit); not a number for an element without aims.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, low=7.5, high=8.5)
    >>> chance_outside(PlanProblem((kh,), (), 1), np.array([[8.0, 7.5]]), np.full((1, 2), 0.2)).round(3)
    array([[0.012, 0.5  ]])
    """
    from scipy.special import ndtr

    low, high, known = _aims(problem)
    with np.errstate(divide="ignore", invalid="ignore"):
        below = ndtr((low[:, None] - levels) / sd)
        above = ndtr((levels - high[:, None]) / sd)
    surely = (levels < low[:, None] - ROUNDING) | (levels > high[:, None] + ROUNDING)
    found = np.where(sd > 0.0, below + above, surely.astype(float))
    found[~known] = np.nan
    return found


def share_outside(problem: PlanProblem, drawn: np.ndarray) -> np.ndarray:
    """Return the share of drawn levels that lie outside their aims.

    Parameters
    ----------
    problem : PlanProblem
        Elements with their aims.
    drawn : ndarray, shape (draws, elements, days + 1)
        Levels, element's unit.

    Returns
    -------
    ndarray, shape (elements, days + 1)
        Share (no unit); not a number for an element without aims.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, low=7.5)
    >>> share_outside(PlanProblem((kh,), (), 1), np.array([[[8.0, 7.9]], [[8.0, 7.3]]])).tolist()
    [[0.0, 0.5]]
    """
    low, high, known = _aims(problem)
    beyond = (drawn < low[:, None] - ROUNDING) | (drawn > high[:, None] + ROUNDING)
    found = np.asarray(beyond.mean(axis=0), dtype=float)
    found[~known] = np.nan
    return found
