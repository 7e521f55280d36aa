"""Where the levels go from here, with a band, and how likely they leave their aims."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.plan.forecast_draws import SEED, forecast_draws
from reef_calc.plan.outside import ROUNDING, chance_outside, share_outside
from reef_calc.plan.problem import PlanProblem
from reef_calc.plan.recursion import levels_day_by_day
from reef_calc.plan.solved import SolvedPlan
from reef_calc.plan.spread import Spread, spread_of, today_kept

HALF_WIDTH = 1.959964


@dataclass(frozen=True)
class Forecast:
    """Levels ahead with their 95 % interval; the last axis is the day, 0 being the start.

    Attributes
    ----------
    problem : PlanProblem
        Elements, supplements and water changes.
    levels : ndarray, shape (elements, days + 1)
        Levels at the start of each day, each in its element's unit.
    sd, low, high : ndarray, shape (elements, days + 1)
        Standard deviation and the ends of the 95 % interval of each day, same units.
    outside : ndarray, shape (elements, days + 1)
        Probability that the level lies outside its aims on that day (no unit); not a number for an
        element without aims.
    sources : tuple of str
        Where the spread comes from, in words.
    variances : ndarray, shape (sources, elements, days + 1)
        Share of each source in the square of the spread, element's unit squared.
    draws : int
        Number of draws that ``sd``, ``low``, ``high`` and ``outside`` come from; 0 for the closed
        form.
    messages : tuple of Message
        What limits the forecast.
    """

    problem: PlanProblem
    levels: np.ndarray
    sd: np.ndarray
    low: np.ndarray
    high: np.ndarray
    outside: np.ndarray
    sources: tuple[str, ...]
    variances: np.ndarray
    draws: int = 0
    messages: tuple[Message, ...] = ()

    def frame(self, element: str, start: dt.date | None = None) -> pd.DataFrame:
        """Return the forecast of one element, one row a day.

        Parameters
        ----------
        element : str
            Element of the plan.
        start : datetime.date, optional
            Date of the first day.

        Returns
        -------
        pandas.DataFrame
            ``day``, with ``start`` also ``date``, and ``level``, ``low``, ``high``, ``outside``.
        """
        row, days = self.problem.element(element), np.arange(self.problem.days + 1)
        columns: dict[str, object] = {"day": days}
        if start is not None:
            columns["date"] = [start + dt.timedelta(days=int(day)) for day in days]
        return pd.DataFrame(
            {
                **columns,
                "level": self.levels[row],
                "low": self.low[row],
                "high": self.high[row],
                "outside": self.outside[row],
            }
        )

    def budget(self, element: str, day: int) -> pd.DataFrame:
        """Return what the spread of one element on one day is made of, largest first.

        Parameters
        ----------
        element : str
            Element of the plan.
        day : int
            Day, 0 being the start.

        Returns
        -------
        pandas.DataFrame
            ``source``, ``u`` (element's unit) and ``share`` of the variance.

        Raises
        ------
        InputError
            If the forecast does not reach that day.
        """
        if not 0 <= day <= self.problem.days:
            raise InputError(
                f"a day from 0 to {self.problem.days}", day, "Plan for more days.", "Forecast"
            )
        parts = self.variances[:, self.problem.element(element), day]
        total = float(parts.sum())
        found = pd.DataFrame(
            {"source": self.sources, "u": np.sqrt(parts), "share": parts / (total or 1.0)}
        )
        return found.sort_values("share", ascending=False, kind="stable", ignore_index=True)


def forecast(
    solved: SolvedPlan,
    *,
    draws: int = 0,
    seed: int = SEED,
    u_use_alone: Mapping[str, float] | None = None,
) -> Forecast:
    """Return where a plan leads, with its 95 % interval.

    Parameters
    ----------
    solved : SolvedPlan
        The plan, with the amounts as they are set.
    draws : int, optional
        Number of draws for the band; 0 for the closed form.
    seed : int, optional
        Seed of the draws.
    u_use_alone : mapping of str to float, optional
        Standard uncertainty of the use without pump and strength (unit per day), by element.

    Returns
    -------
    Forecast
        As ``forecast_of_doses``, where the formula and what it assumes stand.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.3, low=7.5, aim=8.0, high=8.5, u_use=0.03)
    >>> problem = PlanProblem((kh,), (SupplementToPlan("soda", {"alkalinity": 0.01}),), 10)
    >>> amounts = np.full((1, 1), 30.0)
    >>> solved = SolvedPlan(problem, (0,), amounts, amounts, np.ones((1, 1), dtype=int),
    ...     levels_day_by_day(problem, np.full((1, 10), 30.0)), (), None, {"alkalinity": 0}, 0.0)
    >>> ahead = forecast(solved)
    >>> [round(float(x[0, 10]), 3) for x in (ahead.low, ahead.high, ahead.outside)]
    [7.412, 8.588, 0.096]
    """
    return forecast_of_doses(
        solved.problem, solved.daily(), draws=draws, seed=seed, u_use_alone=u_use_alone
    )


def forecast_if_nothing_changes(
    problem: PlanProblem,
    *,
    draws: int = 0,
    seed: int = SEED,
    u_use_alone: Mapping[str, float] | None = None,
) -> Forecast:
    """Return where the levels go when every dose stays as it is set today.

    Parameters
    ----------
    problem : PlanProblem
        With ``set_now`` of each supplement.
    draws : int, optional
        Number of draws for the band; 0 for the closed form.
    seed : int, optional
        Seed of the draws.
    u_use_alone : mapping of str to float, optional
        Standard uncertainty of the use without pump and strength (unit per day), by element.

    Returns
    -------
    Forecast
        As ``forecast_of_doses``.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.3, u_use=0.03)
    >>> forecast_if_nothing_changes(PlanProblem((kh,), (), 5)).levels.round(1).tolist()
    [[8.0, 7.7, 7.4, 7.1, 6.8, 6.5]]
    """
    return forecast_of_doses(
        problem, today_kept(problem), draws=draws, seed=seed, u_use_alone=u_use_alone
    )


def forecast_of_doses(
    problem: PlanProblem,
    daily: np.ndarray,
    *,
    draws: int = 0,
    seed: int = SEED,
    u_use_alone: Mapping[str, float] | None = None,
) -> Forecast:
    """Return where given doses lead, with their 95 % interval.

    var C(d) = (Π(1−f)·u_start)² + (h·u_use)² + w·u_day² + (n·u_new)² + Σ_j (s_j·u_effect,j)²
    + (Σ_j s_j·u_volume)², with h, w, n, s_j carried along by the water changes

    Parameters
    ----------
    problem : PlanProblem
        Levels, uses, supplements, water changes and their uncertainties.
    daily : ndarray, shape (supplements, days)
        Amount set on each day (mL or g).
    draws : int, optional
        Number of draws for the band (2000 is plenty for a print); 0 for the closed form.
    seed : int, optional
        Seed of the draws.
    u_use_alone : mapping of str to float, optional
        Standard uncertainty of the use without pump and strength (unit per day), by element: the
        half-width of ``ConsumptionEstimate.against_dose`` over 1.96. Give it only where the use was
        found while ``set_now`` was dosed.

    Returns
    -------
    Forecast
        Levels, interval, probability of being outside the aims, and what the spread is made of.

    Raises
    ------
    InputError
        For a negative amount or uncertainty, doses that do not fit the days, or too few draws.

    Notes
    -----
    Without ``u_use_alone`` the error of strength, pump and volume is taken as independent of the
    error of the use. That is too wide for going on with the same supplement: a stock 5 % weaker than
    written made the use look 5 % larger, and the same dose still meets it. (p² + q² is never less
    than (p − q)² for amounts p now and q before of one sign.) The one exception is the volume where
    ``u_use`` leaves it out and the dose falls below half of the one before: then it is too narrow by
    what the volume does to the dose given up. With ``u_use_alone`` this is worked out: only the
    *difference* between planned and present amount of a supplement carries the error of its strength,
    and the difference of the sums the error of the volume. A change of supplement keeps both strengths.

    Each element by itself, normal, uses constant but for independent days. A stopped pump, an empty
    container, new or dying corals are not in it. Errors of the volume in the share of a water change,
    and of earlier doses still arriving, are left out (small).

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=1.0, low=7.5, aim=8.0, high=8.5, u_use=0.06)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.01}, u_effect=0.05, set_now=100.0)
    >>> problem, daily = PlanProblem((kh,), (soda,), 10), np.full((1, 10), 100.0)
    >>> round(float(forecast_of_doses(problem, daily).sd[0, 10]), 3)
    0.781
    >>> told = forecast_of_doses(problem, daily, u_use_alone={"alkalinity": 0.03})
    >>> round(float(told.sd[0, 10]), 3)
    0.332

    References
    ----------
    Propagation: JCGM 100:2008, 5.1.2.
    """
    spread = spread_of(problem, daily, u_use_alone)
    levels = levels_day_by_day(problem, daily)
    sources, variances = _variances(problem, spread)
    sd = np.sqrt(variances.sum(axis=0))
    low, high = levels - HALF_WIDTH * sd, levels + HALF_WIDTH * sd
    outside = chance_outside(problem, levels, sd)
    if draws:
        drawn = forecast_draws(problem, daily, draws, seed=seed, u_use_alone=u_use_alone)
        low, high = np.quantile(drawn, (0.025, 0.975), axis=0)
        sd, outside = drawn.std(axis=0, ddof=1), share_outside(problem, drawn)
    return Forecast(
        problem,
        levels,
        sd,
        low,
        high,
        outside,
        sources,
        variances,
        draws,
        _messages(problem, levels),
    )


def _variances(problem: PlanProblem, s: Spread) -> tuple[tuple[str, ...], np.ndarray]:
    at_odds = s.supply - s.in_use
    parts = [
        ("level at the start", s.u_start[:, None] * s.start),
        ("use", s.u_use[:, None] * s.use),
        ("use from day to day", s.u_day[:, None] * np.sqrt(s.day_to_day)),
        ("new water", s.u_new_water[:, None] * s.new_water),
        *(
            (f"strength and delivery of {one.name}", s.u_effect[j] * at_odds[:, j])
            for j, one in enumerate(problem.supplements)
        ),
        ("net volume", s.u_volume * at_odds.sum(axis=1)),
    ]
    return tuple(name for name, _ in parts), np.array([part for _, part in parts]) ** 2


def _messages(problem: PlanProblem, levels: np.ndarray) -> tuple[Message, ...]:
    found = []
    for row, one in enumerate(problem.elements):
        planned = one.low is not None or one.aim is not None or one.high is not None
        if planned and one.use != 0.0 and one.u_use == 0.0:
            found.append(
                Message(
                    "USE_WITHOUT_INTERVAL",
                    f"The use of {one.name} comes without an interval, so the band is too narrow. "
                    "25 % of the use is a fair guess.",
                    "qualified",
                )
            )
        below = np.flatnonzero(levels[row] < -ROUNDING)
        if len(below):
            found.append(
                Message(
                    "USED_UP",
                    f"{one.name.capitalize()} would be used up by day {below[0]}: long before that "
                    "the use slows down, and the forecast says nothing more.",
                    "qualified",
                )
            )
    return tuple(found)
