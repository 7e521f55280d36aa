"""The amount a day that holds a level for good, by closed form."""

from __future__ import annotations

import math

import numpy as np

from reef_calc.errors import CannotTellError, InputError
from reef_calc.plan.problem import PlanProblem


def maintenance(
    problem: PlanProblem, supplement: str, element: str, *, level: float | None = None
) -> float:
    """Return the amount a day that brings a level back to itself over the days of the plan.

    With G = Π(1 − f), R = Σ of what is left of one unit a day, N = Σ of what is left of the new
    water: amount = (use − (N − (1 − G)·level) / R) / effect. Without water changes use / effect; with
    a share f on every n-th day use less f·(new − level) / (1 + (n − 1)·(1 − f)).

    Parameters
    ----------
    problem : PlanProblem
        Uses, water changes and supplements.
    supplement : str
        The supplement that shall do it alone.
    element : str
        The element that is held.
    level : float, optional
        Level to hold, unit of the element; its aim when not given.

    Returns
    -------
    float
        mL (or g) a day, as set.

    Raises
    ------
    InputError
        If there is no such supplement, it brings none of the element, or there is no aim.
    CannotTellError
        If the level rises by itself, so that no dose holds it.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.30, new_water=9.0, aim=8.0)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.0125})
    >>> weekly = PlanProblem((kh,), (soda,), 7, exchanged=(0.0,) * 6 + (0.1,))
    >>> round(maintenance(weekly, "soda", "alkalinity"), 6)
    22.75
    """
    one = problem.elements[problem.element(element)]
    names = [s.name for s in problem.supplements]
    if supplement not in names:
        raise InputError(f"one of {', '.join(names)}", supplement, "Choose one of these.")
    effect = problem.supplements[names.index(supplement)].effect.get(element, 0.0)
    if not effect > 0.0:
        raise InputError(
            f"a supplement that raises {element}", supplement, "Choose another one.", supplement
        )
    held = one.aim if level is None else level
    if held is None or not math.isfinite(held):
        raise InputError(f"a level of {element} to hold", held, "Type the aim.", element)
    left = np.cumprod((1.0 - problem.shares())[::-1])[::-1]  # left of what was there before day d
    after = np.r_[left[1:], 1.0]  # left of what was given on day d
    brought = float(np.sum(problem.shares() * one.new_water * after))
    change = (brought - (1.0 - float(left[0])) * held) / float(np.sum(after))
    amount = (one.use - change) / effect
    if amount < -1e-12:
        raise CannotTellError(
            f"No dose holds {element} at {held:.4g} {one.unit}: it rises above that by itself, by "
            f"{-amount * effect:.2g} {one.unit} a day. Look at the new water, or set another aim."
        )
    return max(amount, 0.0)
