"""The frames of a dosing plan: what is set when, and where every element goes."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Collection, Mapping

import numpy as np
import pandas as pd

from reef_calc.log.plans import ContainerPhase
from reef_calc.plan.problem import PlanProblem
from reef_calc.plan.recursion import levels_day_by_day
from reef_calc.plan.solved import SolvedPlan

SETTING_COLUMNS = ("container", "phase", "date_from", "date_to", "per_day", "doses", "per_dose",
                   "unit", "set_now", "kept")  # fmt: skip
SUMMARY_COLUMNS = ("element", "unit", "followed", "now", "low", "aim", "high", "use", "use_u",
                   "supply_now", "supply_planned", "level_end", "level_unchanged", "in_band_from",
                   "basis")  # fmt: skip


def settings_frame(
    phases: tuple[ContainerPhase, ...], set_now: Mapping[str, float], kept: Collection[str] = ()
) -> pd.DataFrame:
    """Return what is set on each container in each phase.

    Parameters
    ----------
    phases : tuple of ContainerPhase
        What each container gives.
    set_now : mapping of str to float
        Amount a day that is set today (mL or g), by container.
    kept : collection of str, optional
        Containers that stay as they are.

    Returns
    -------
    pandas.DataFrame
        ``container``, ``phase`` (from 0), ``date_from``, ``date_to``, ``per_day``, ``doses``,
        ``per_dose``, ``unit``, ``set_now``, ``kept``.

    Examples
    --------
    >>> day = dt.date(2026, 3, 1)
    >>> one = ContainerPhase("soda", "mL", day, day, 60.0, 2, 30.0, ("08:00", "20:00"))
    >>> settings_frame((one,), {"soda": 55.0})[["phase", "per_day", "set_now"]].values.tolist()
    [[0.0, 60.0, 55.0]]
    """
    turns = sorted({one.date_from for one in phases})
    rows = [
        (
            one.container, turns.index(one.date_from), one.date_from, one.date_to, one.per_day,
            one.doses, one.per_dose, one.unit, set_now.get(one.container, 0.0), one.container in kept,
        )
        for one in phases
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=[*SETTING_COLUMNS])


def summary_frame(problem: PlanProblem, solved: SolvedPlan, start: dt.date) -> pd.DataFrame:
    """Return where every element stands now, what it gets, and where it is at the end.

    Parameters
    ----------
    problem : PlanProblem
        The question.
    solved : SolvedPlan
        The answer.
    start : datetime.date
        First day.

    Returns
    -------
    pandas.DataFrame
        Columns as in ``DosePlan.summary``; supplies of the last phase, in the element's unit per
        day, with what other containers bring that stay as they are. ``aim`` and its ends are NaN
        where the element is only reported.

    Examples
    --------
    >>> from reef_calc.plan.problem import ElementToPlan, SupplementToPlan
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.36, low=7.5, aim=8.0, high=8.5)
    >>> soda = SupplementToPlan("soda", {"alkalinity": 0.012}, set_now=20.0)
    >>> problem = PlanProblem((kh,), (soda,), 10)
    >>> amounts = np.array([[30.0]])
    >>> solved = SolvedPlan(problem, (0,), amounts, amounts, np.array([[1]]),
    ...     levels_day_by_day(problem, np.full((1, 10), 30.0)), (), None, {"alkalinity": 0}, 0.0)
    >>> row = summary_frame(problem, solved, dt.date(2026, 3, 1)).iloc[0]
    >>> print(row[["supply_now", "supply_planned", "level_unchanged"]].astype(float).round(2).tolist())
    [0.24, 0.36, 6.8]
    """
    now = np.array([one.set_now for one in problem.supplements], dtype=float)
    effects = problem.effects()
    same = levels_day_by_day(problem, np.repeat(now[:, None], problem.days, axis=1))
    hold = np.asarray(solved.amounts, dtype=float)[:, -1] if len(now) else now
    rows = []
    for row, one in enumerate(problem.elements):
        # What still arrives on the last day is what other containers bring for good.
        kept = one.arriving[problem.days - 1] if len(one.arriving) >= problem.days else 0.0
        first = solved.in_band_from.get(one.name)
        rows.append(
            {
                "element": one.name,
                "unit": one.unit,
                "followed": one.aim is not None,
                "now": one.start,
                "low": math.nan if one.low is None else one.low,
                "aim": math.nan if one.aim is None else one.aim,
                "high": math.nan if one.high is None else one.high,
                "use": one.use,
                "use_u": one.u_use,
                "supply_now": float(effects[row] @ now) + kept,
                "supply_planned": float(effects[row] @ hold) + kept,
                "level_end": float(solved.levels[row, -1]),
                "level_unchanged": float(same[row, -1]),
                "in_band_from": None if first is None else start + dt.timedelta(days=first),
                "basis": one.basis,
            }
        )
    frame = pd.DataFrame(rows, columns=[*SUMMARY_COLUMNS])
    return frame.astype({"in_band_from": object})
