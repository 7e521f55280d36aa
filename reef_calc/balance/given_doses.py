"""What the logged doses come to: the standing dose, their mean, and events of the balance."""

from __future__ import annotations

import numpy as np
import pandas as pd

from reef_calc.balance.additions import AdditionHistory, days
from reef_calc.balance.water_balance import WaterEvents
from reef_calc.log.tank import Tank


def standing_rate(history: AdditionHistory, day: float) -> float | None:
    """Return the standing dose per day at a moment; None while the log says it was not logged.

    Parameters
    ----------
    history : AdditionHistory
        Doses of one element.
    day : float
        Day number.

    Returns
    -------
    float or None
        Unit per day.

    Examples
    --------
    >>> empty = AdditionHistory(pd.DataFrame({"start": [], "stop": [], "rate": []}),
    ...                         pd.DataFrame(), ())
    >>> standing_rate(empty, 3.0)
    0.0
    """
    if any(start <= day < stop for start, stop in history.gaps):
        return None
    steps = history.steps
    if steps.empty:
        return 0.0
    running = (steps["start"] <= day) & (steps["stop"] >= day)
    return float(steps.loc[running, "rate"].sum())


def mean_dose(history: AdditionHistory, start: float, stop: float) -> float | None:
    """Return the mean dose per day within a span, of everything logged; None if a gap lies in it.

    Parameters
    ----------
    history : AdditionHistory
        Doses of one element.
    start, stop : float
        Day numbers, stop after start.

    Returns
    -------
    float or None
        Unit per day.

    Examples
    --------
    >>> shots = pd.DataFrame({"day": [1.0], "rise": [0.5], "standing": [False]})
    >>> empty = pd.DataFrame({"start": [], "stop": [], "rate": [], "at_times": []})
    >>> mean_dose(AdditionHistory(empty, shots, ()), 0.0, 2.0)
    0.25
    """
    if any(a < stop and b > start for a, b in history.gaps):
        return None
    total = 0.0
    for step in history.steps.itertuples(index=False):
        if not step.at_times:
            total += step.rate * max(0.0, min(step.stop, stop) - max(step.start, start))
    if not history.shots.empty:
        inside = (history.shots["day"] >= start) & (history.shots["day"] < stop)
        total += float(history.shots.loc[inside, "rise"].sum())
    return total / (stop - start)


def water_events(
    tank: Tank, history: AdditionHistory, new_water_level: pd.Series | float
) -> WaterEvents:
    """Return doses and water changes of one element as events of the balance.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    history : AdditionHistory
        Doses of the element.
    new_water_level : float or pandas.Series
        Level of the new water in the element's unit, one for all or one for each water change.

    Returns
    -------
    WaterEvents
        Times as day numbers.


    Examples
    --------
    >>> from reef_calc.balance.additions import addition_history
    >>> from reef_calc.log.example import example_tank
    >>> tank = example_tank()
    >>> doses = addition_history(tank, "alkalinity", "dKH", pd.Timestamp("2026-02-16", tz="UTC"))
    >>> events = water_events(tank, doses, 8.0)
    >>> events.rates.tolist(), events.change_fractions.tolist()
    ([1.0], [0.1, 0.1, 0.1, 0.1, 0.1, 0.1])
    """
    steps = history.steps[~history.steps["at_times"].astype(bool)] if len(history.steps) else None
    changes = tank.water_changes
    return WaterEvents(
        dose_times=history.shots["day"].to_numpy(float),
        dose_rises=history.shots["rise"].to_numpy(float),
        rate_starts=np.empty(0) if steps is None else steps["start"].to_numpy(float),
        rate_stops=np.empty(0) if steps is None else steps["stop"].to_numpy(float),
        rates=np.empty(0) if steps is None else steps["rate"].to_numpy(float),
        change_times=days(changes["time"]) if len(changes) else np.empty(0),
        change_fractions=changes["fraction"].to_numpy(float),
        change_levels=np.broadcast_to(
            np.asarray(new_water_level, dtype=float), (len(changes),)
        ).copy(),
    )
