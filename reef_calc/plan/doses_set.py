"""What the log says is set today, and what doses given before a plan still bring."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pandas as pd

from reef_calc.balance.additions import DELAYED, addition_history, arriving, days
from reef_calc.log.tank import Tank

LATELY = pd.Timedelta(days=28)
# Doses by hand twice a week or more are the standing dose; fewer are corrections (own choice).
BY_HAND_FEWEST = 8
_TO_OWN = {"mL": 1.0, "ml": 1.0, "L": 1000.0, "l": 1000.0, "g": 1.0, "kg": 1000.0}


@dataclass(frozen=True)
class DoseSetNow:
    """What is set today.

    Attributes
    ----------
    amount : float
        Amount a day (mL or g): set on a pump, or the mean of doses by hand; else 0.
    doses : int
        Doses a day; 0 where it is given evenly or not at all.
    logged : bool
        False while the log says that it was not logged.
    lately : bool
        Whether any of it was given within four weeks.
    by_hand : bool
        Whether it is given by hand.
    """

    amount: float
    doses: int
    logged: bool
    lately: bool
    by_hand: bool = False


@lru_cache(maxsize=256)
def set_now(tank: Tank, supplement: str, at: pd.Timestamp) -> DoseSetNow:
    """Return what the log says is set of a supplement at a moment.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    supplement : str
        Its name.
    at : pandas.Timestamp
        The moment (UTC).

    Returns
    -------
    DoseSetNow
        Amount a day in mL (or g).

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> set_now(example_tank(), "part one", pd.Timestamp("2026-02-16", tz="UTC")).amount
    60.0
    """
    rows = tank.additions[tank.additions["supplement"] == supplement]
    rows = rows[rows["start"] <= at]
    open_still = rows["stop"].isna() | (rows["stop"] > at)
    # A row that ends at this very moment was running until then.
    ends_now = (rows["stop"] == at) & (rows["start"] < at)
    begins_now = bool(((rows["how"] == "per day") & (rows["start"] == at)).any())
    running = rows[(rows["how"] == "per day") & (open_still | (ends_now & begins_now))]
    if begins_now:
        running = running[running["start"] < at]
    logged = rows[(rows["how"] == "not logged") & open_still].empty
    amount = sum(float(row.amount) * _TO_OWN[str(row.unit)] for row in running.itertuples())
    times = ";".join(text for text in running["times"] if text)
    doses = len(times.split(";")) if times else 0
    once = rows[(rows["how"] == "once") & (rows["start"] > at - LATELY) & (rows["amount"] > 0)]
    by_hand = amount == 0.0 and _by_hand(once, tank) > 0.0
    if by_hand:
        amount, doses = _by_hand(once, tank), 1
    lately = amount > 0.0 or len(once) > 0 or not logged
    return DoseSetNow(amount if logged else 0.0, doses, logged, lately, by_hand)


def _by_hand(rows: pd.DataFrame, tank: Tank) -> float:
    """Return the mean daily dose by hand of the last four weeks; 0 where it is only corrections."""
    given = {time.tz_convert(tank.zone).date() for time in rows["start"]}
    if len(given) < BY_HAND_FEWEST:
        return 0.0
    total = sum(float(row.amount) * _TO_OWN[str(row.unit)] for row in rows.itertuples())
    return round(total / (LATELY / pd.Timedelta(days=1)), 1)


def still_arriving(
    tank: Tank, name: str, unit: str, at: pd.Timestamp, span: int
) -> tuple[float, ...]:
    """Return what doses before a moment still bring on each day after it.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    name : str
        Element.
    unit : str
        Unit of its level.
    at : pandas.Timestamp
        The moment (UTC); doses from then on do not count.
    span : int
        Number of days.

    Returns
    -------
    tuple of float
        Unit per day, one a day; empty where nothing is late.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> still_arriving(example_tank(), "alkalinity", "dKH", pd.Timestamp("2026-02-16", tz="UTC"), 2)
    ()
    """
    found = np.zeros(span)
    if name != DELAYED or not any(one.lag_days > 0.0 for one in tank.supplements.values()):
        return ()
    steps = arriving(addition_history(tank, name, unit, at)).steps
    edges = float(days(at)) + np.arange(span + 1)
    if len(steps):
        steps = steps[(steps["stop"] > edges[0]) & ~steps["at_times"].astype(bool)]
        for step in steps.itertuples(index=False):
            inside = np.minimum(edges[1:], step.stop) - np.maximum(edges[:-1], step.start)
            found += step.rate * np.maximum(inside, 0.0)
    return tuple(float(x) for x in found) if found.any() else ()
