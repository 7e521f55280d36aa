"""How often to test in the coming weeks, from the tank's own readings, kits and water changes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.balance.additions import days
from reef_calc.balance.consumption import estimate_consumption
from reef_calc.balance.moments import end_of
from reef_calc.balance.reading_calendar import reading_calendar
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.sampling import WaterChangeHabit
from reef_calc.balance.sampling_outlook import PlannedElement, SamplingOutlook, outlook
from reef_calc.chem.elements import ELEMENTS
from reef_calc.log.tank import Tank

PACE_DAYS = 90.0
MONTH = 28.0
MOST_PLANNED = 14
HABIT_DAYS = 120.0


@dataclass(frozen=True)
class ReadingPlan:
    """A calendar of readings for the coming four weeks.

    Attributes
    ----------
    calendar : pandas.DataFrame
        ``time`` (days since 1970, UTC), ``element``, ``half_width`` (unit per day).
    outlooks : tuple of SamplingOutlook
        What the planned readings will show of each element.
    start : pandas.Timestamp
        When the calendar begins (UTC).
    untold : tuple of (str, str)
        Elements without a plan, and why.
    """

    calendar: pd.DataFrame
    outlooks: tuple[SamplingOutlook, ...]
    start: pd.Timestamp
    untold: tuple[tuple[str, str], ...]


def reading_plan(tank: Tank, until: str) -> ReadingPlan:
    """Return when readings would tell most in the four weeks after a day.

    As many readings as the last ninety days had in four weeks, at least one; each placed where it
    tells most of a use that changes slowly.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    until : str
        Last day looked at, ``2026-09-30``; the calendar begins after it.

    Returns
    -------
    ReadingPlan
        Calendar and outlooks.

    Raises
    ------
    InputError
        If the text is not a day.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> plan = reading_plan(example_tank(), "2026-02-15")
    >>> sorted(set(plan.calendar["element"])), len(plan.outlooks)
    (['alkalinity'], 1)
    """
    end = end_of(tank, until, "alkalinity")
    start = float(days(end))
    planned: list[PlannedElement] = []
    counts: list[int] = []
    untold: list[tuple[str, str]] = []
    for name in ELEMENTS:
        if ELEMENTS[name].behaviour != "used":
            continue
        own = tank.readings[(tank.readings["water"] == "tank") & (tank.readings["element"] == name)]
        if own.empty:
            continue
        use = estimate_consumption(tank, name, until)
        rate = _rate(use)
        sessions = use.record.sessions
        if rate is None or sessions.empty:
            untold.append((name, "no use is known yet, so nothing can be planned for it"))
            continue
        t = sessions["day"].to_numpy(float)
        recent = t[t > start - PACE_DAYS]
        last = sessions.iloc[-1]
        counts.append(int(np.clip(round(len(recent) * MONTH / PACE_DAYS), 1, MOST_PLANNED)))
        planned.append(
            PlannedElement(
                name,
                use.unit,
                t[t > start - 2 * PACE_DAYS],
                rate,
                float(last["sd"]),
                float(last["resolution"]),
            )
        )
    habit = _habit(tank, start)
    if not planned:
        empty = pd.DataFrame(columns=["time", "element", "half_width"])
        return ReadingPlan(empty, (), end, tuple(untold))
    calendar = reading_calendar(planned, start, counts, habit, days=int(MONTH))
    outlooks = tuple(
        outlook(
            element,
            calendar.loc[calendar["element"] == element.name, "time"].to_numpy(float),
            habit,
        )
        for element in planned
    )
    return ReadingPlan(calendar, outlooks, end, tuple(untold))


def _rate(use: ConsumptionEstimate) -> float | None:
    """Return a rate to plan for: the estimate, else the dose, else what alkalinity lets one expect."""
    if use.rate is not None and use.low is not None and use.low > 0:
        return use.rate
    if use.dose_now:
        return use.dose_now
    expected = [b.rate for b in use.beside if b.rate]
    if expected:
        return expected[0]
    return use.rate if use.rate is not None and use.rate > 0 else None


def _habit(tank: Tank, start: float) -> WaterChangeHabit:
    """Return the water changes of the last four months as equal ones at equal distances."""
    at = days(tank.water_changes["time"]) if len(tank.water_changes) else np.empty(0)
    recent = (at > start - HABIT_DAYS) & (at < start)
    if recent.sum() < 2:
        return WaterChangeHabit()
    times = at[recent]
    fractions = tank.water_changes["fraction"].to_numpy(float)[recent]
    apart = float(np.median(np.diff(times)))
    if apart <= 0:
        return WaterChangeHabit()
    return WaterChangeHabit(float(np.median(fractions)), apart, float(times[-1]))
