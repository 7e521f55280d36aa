"""The forecast by draws: the same days lived many times, with strengths and volume log-normal."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from reef_calc.errors import InputError
from reef_calc.plan.problem import PlanProblem
from reef_calc.plan.spread import arriving_by_supplement, spread_of

SEED = 20261001
# Fewer say nothing of the ends of a 95 % interval; more than this fills the memory.
FEWEST, MOST = 200, 200_000


def forecast_draws(
    problem: PlanProblem,
    daily: np.ndarray,
    draws: int = 2000,
    *,
    seed: int = SEED,
    u_use_alone: Mapping[str, float] | None = None,
) -> np.ndarray:
    """Return the levels of many possible courses.

    C(d+1) = (1 − f_d)·C(d) + f_d·C_new + Σ a·x·F_j·F_V − use, each day with a use of its own;
    F log-normal with mean 1

    Parameters
    ----------
    problem : PlanProblem
        Levels, uses, supplements, water changes and their uncertainties.
    daily : ndarray, shape (supplements, days)
        Amount set on each day (mL or g).
    draws : int, optional
        Number of courses.
    seed : int, optional
        Seed.
    u_use_alone : mapping of str to float, optional
        Standard uncertainty of the use without pump and strength (unit per day), by element; the
        use then shares the errors of pump, strength and volume of what is dosed today.

    Returns
    -------
    ndarray, shape (draws, elements, days + 1)
        Levels at the start of each day, element's unit.

    Raises
    ------
    InputError
        For a number of draws that cannot be used, or what ``forecast_of_doses`` refuses.

    Notes
    -----
    What is independent of what: as in ``reef_calc.plan.forecast.forecast_of_doses``.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.3, u_use=0.03)
    >>> courses = forecast_draws(PlanProblem((kh,), (), 10), np.zeros((0, 10)), 4000)
    >>> courses.shape, round(float(courses[:, 0, 10].mean()), 1)
    ((4000, 1, 11), 5.0)
    """
    if isinstance(draws, bool) or not isinstance(draws, int) or not FEWEST <= draws <= MOST:
        raise InputError(
            f"{FEWEST} to {MOST} draws", draws, "2000 are plenty; 0 gives the closed form.", "draws"
        )
    spread = spread_of(problem, daily, u_use_alone)
    arriving = arriving_by_supplement(problem, daily)
    elements, share, days = problem.elements, problem.shares(), problem.days
    dice = np.random.default_rng(seed)
    shape = (draws, len(elements))
    new = np.array([e.new_water for e in elements]) + spread.u_new_water * dice.normal(size=shape)
    use = np.array([e.use for e in elements]) + spread.u_use * dice.normal(size=shape)
    factors = _mean_one(dice, spread.u_effect, draws) * _mean_one(dice, spread.u_volume, draws)
    # After one day in_use is what today's doses bring a day.
    use += (factors - 1.0) @ spread.in_use[:, :, 1].T
    early = np.zeros((len(elements), days))
    for row, one in enumerate(elements):
        early[row, : len(one.arriving[:days])] = one.arriving[:days]
    levels = np.empty((draws, len(elements), days + 1))
    levels[:, :, 0] = np.array([e.start for e in elements]) + spread.u_start * dice.normal(
        size=shape
    )
    for day in range(days):
        f = share[day]
        given = factors @ arriving[:, :, day].T + early[:, day]
        own = spread.u_day * dice.normal(size=shape)
        levels[:, :, day + 1] = (1 - f) * levels[:, :, day] + f * new + given - use - own
    return levels


def _mean_one(dice: np.random.Generator, u: np.ndarray | float, draws: int) -> np.ndarray:
    """Return log-normal factors of mean 1 and relative standard deviation u, a column for each u."""
    wide = np.sqrt(np.log1p(np.atleast_1d(np.asarray(u, dtype=float)) ** 2))
    return np.exp(wide * dice.normal(size=(draws, len(wide))) - wide**2 / 2)
