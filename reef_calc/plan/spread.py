"""How doses, uses and their uncertainties are carried along by the water."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from reef_calc.errors import InputError
from reef_calc.plan.problem import PlanProblem
from reef_calc.plan.recursion import delayed


@dataclass(frozen=True)
class Spread:
    """What one unit of each source does to the levels, and how large each source is.

    Attributes
    ----------
    start, use, new_water, day_to_day : ndarray, shape (days + 1,)
        Response to a start that is higher by 1 unit, to a use higher by 1 unit a day and to new
        water higher by 1 unit; the squares of the response to each day's own use, summed.
    supply : ndarray, shape (elements, supplements, days + 1)
        What each supplement has brought by then and is still there, in the element's unit.
    in_use : ndarray, shape (elements, supplements, days + 1)
        The part of ``supply`` whose error of pump, strength and volume the use shares, so that it
        cancels; 0 where use and doses are taken as independent.
    u_start, u_use, u_new_water, u_day : ndarray, shape (elements,)
        Standard uncertainties, element's unit (uses: a day).
    u_effect : ndarray, shape (supplements,)
        Relative standard uncertainty of strength and delivery (no unit).
    u_volume : float
        Relative standard uncertainty of the net volume (no unit).
    """

    start: np.ndarray
    use: np.ndarray
    new_water: np.ndarray
    day_to_day: np.ndarray
    supply: np.ndarray
    in_use: np.ndarray
    u_start: np.ndarray
    u_use: np.ndarray
    u_new_water: np.ndarray
    u_day: np.ndarray
    u_effect: np.ndarray
    u_volume: float


def carried(share: np.ndarray, arriving: np.ndarray) -> np.ndarray:
    """Return what is still there of what arrives day by day.

    x(d+1) = (1 − f_d)·x(d) + arriving(d)

    Parameters
    ----------
    share : ndarray, shape (days,)
        Share of the water changed on each day (no unit).
    arriving : ndarray, shape (..., days)
        What arrives on each day, any unit.

    Returns
    -------
    ndarray, shape (..., days + 1)
        What is there at the start of each day, same unit.

    Examples
    --------
    >>> carried(np.array([0.0, 0.1]), np.array([1.0, 1.0]))
    array([0. , 1. , 1.9])
    """
    arriving = np.asarray(arriving, dtype=float)
    found = np.zeros((*arriving.shape[:-1], arriving.shape[-1] + 1))
    for day, f in enumerate(share):
        found[..., day + 1] = (1 - f) * found[..., day] + arriving[..., day]
    return found


def arriving_by_supplement(problem: PlanProblem, daily: np.ndarray) -> np.ndarray:
    """Return what each supplement brings of each element on each day.

    Parameters
    ----------
    problem : PlanProblem
        For strengths and delays.
    daily : ndarray, shape (supplements, days)
        Amount set on each day (mL or g).

    Returns
    -------
    ndarray, shape (elements, supplements, days)
        Rise of the level, element's unit.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0)
    >>> late = SupplementToPlan("acetate", {"alkalinity": 0.01}, lag_days=1.0)
    >>> arriving_by_supplement(PlanProblem((kh,), (late,), 3), np.full((1, 3), 10.0)).tolist()
    [[[0.0, 0.1, 0.1]]]
    """
    found = problem.effects()[:, :, None] * np.asarray(daily, dtype=float)[None]
    for row, element in enumerate(problem.elements):
        if element.name == "alkalinity":
            for j, one in enumerate(problem.supplements):
                found[row, j] = delayed(found[row, j], one.lag_days)
    return found


def today_kept(problem: PlanProblem) -> np.ndarray:
    """Return the amounts of each day when everything stays as it is set today.

    Parameters
    ----------
    problem : PlanProblem
        With ``set_now`` of each supplement.

    Returns
    -------
    ndarray, shape (supplements, days)
        Amount set on each day (mL or g).

    Examples
    --------
    >>> from reef_calc.plan.problem import SupplementToPlan
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, set_now=30.0)
    >>> today_kept(PlanProblem((), (soda,), 2)).tolist()
    [[30.0, 30.0]]
    """
    now = np.array([one.set_now for one in problem.supplements], dtype=float)
    return np.repeat(now[:, None], problem.days, axis=1)


def spread_of(
    problem: PlanProblem, daily: np.ndarray, u_use_alone: Mapping[str, float] | None = None
) -> Spread:
    """Return how the doses and every uncertainty are carried along.

    Parameters
    ----------
    problem : PlanProblem
        Levels, uses, supplements, water changes and their uncertainties.
    daily : ndarray, shape (supplements, days)
        Amount set on each day (mL or g).
    u_use_alone : mapping of str to float, optional
        Standard uncertainty of the use without pump, strength and volume (unit per day), by
        element; see ``reef_calc.plan.forecast.forecast_of_doses``.

    Returns
    -------
    Spread
        Responses and uncertainties, in the units of the elements.

    Raises
    ------
    InputError
        If an uncertainty is negative or not a number, an amount is, or an element is not there.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.5, u_start=0.1)
    >>> spread_of(PlanProblem((kh,), (), 2, (0.0, 0.1)), np.zeros((0, 2))).start
    array([1. , 1. , 0.9])
    """
    daily = _checked(problem, daily)
    elements, supplements = problem.elements, problem.supplements
    share, ones = problem.shares(), np.ones(problem.days)
    start = np.concatenate([[1.0], np.cumprod(1.0 - share)])
    use = carried(share, ones)
    supply = carried(share, arriving_by_supplement(problem, daily))
    u_effect = np.array([one.u_effect for one in supplements], dtype=float)
    u_use = np.array([one.u_use for one in elements], dtype=float)
    in_use = np.zeros_like(supply)
    for name, alone in (u_use_alone or {}).items():
        row = problem.element(name)
        _check_u(alone, f"the use of {name} without pump and strength")
        now = problem.effects()[row] * [one.set_now for one in supplements]
        # What u_use holds beyond this comes from doses of another time: it does not cancel.
        known = alone**2 + float(np.sum((now * u_effect) ** 2))
        u_use[row] = math.sqrt(alone**2 + max(0.0, u_use[row] ** 2 - known))
        in_use[row] = now[:, None] * use
    return Spread(
        start,
        use,
        carried(share, share),
        carried(1.0 - (1.0 - share) ** 2, ones),
        supply,
        in_use,
        np.array([one.u_start for one in elements], dtype=float),
        u_use,
        np.array([one.u_new_water for one in elements], dtype=float),
        np.array([one.u_day for one in elements], dtype=float),
        u_effect,
        problem.u_volume,
    )


def _checked(problem: PlanProblem, daily: np.ndarray) -> np.ndarray:
    daily = np.asarray(daily, dtype=float)
    shape = (len(problem.supplements), problem.days)
    if daily.shape != shape:
        raise InputError(
            f"an amount for each of {shape[0]} supplements on each of {shape[1]} days",
            f"{daily.shape}",
            "Give 0 for a day without a dose.",
            "Doses",
        )
    if not (np.isfinite(daily).all() and (daily >= 0.0).all()):
        bad = daily[~(daily >= 0.0) | ~np.isfinite(daily)]
        raise InputError("doses of 0 or more", float(bad[0]), "Correct sign and number.", "Doses")
    for one in problem.elements:
        _check_u(one.u_start, f"the level of {one.name}")
        _check_u(one.u_use, f"the use of {one.name}")
        _check_u(one.u_new_water, f"{one.name} in the new water")
        _check_u(one.u_day, f"the use of {one.name} from day to day")
    for supplement in problem.supplements:
        _check_u(supplement.u_effect, f"the strength of {supplement.name}")
    _check_u(problem.u_volume, "the net volume")
    return daily


def _check_u(u: float, what: str) -> None:
    if not 0.0 <= u < math.inf:
        raise InputError(
            f"an uncertainty of 0 or more for {what}", u, "Give the standard uncertainty.", ""
        )
