"""From one pump setting to another, day by day, with the supply kept as it is."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd

from reef_calc.errors import InputError
from reef_calc.plan.recursion import delayed

LONGEST = 60
COLUMNS = ["day", "old", "new", "arrives", "error", "drift"]


def cross_fade(
    amount_now: float,
    amount_then: float,
    supply: float,
    days: int,
    *,
    old_step: float = 0.0,
    new_step: float = 0.0,
    change_every: int = 1,
    old_lag_days: float = 0.0,
    new_lag_days: float = 0.0,
) -> pd.DataFrame:
    """Return how one supplement is taken back and another brought in over some days.

    What arrives of the new one grows by supply/n a day. What is given is earlier by its own delay,
    so that the two overlap where the new one acts late. What rounding left open so far is made up by
    the new one.

    Parameters
    ----------
    amount_now : float
        Amount of the old one a day (mL or g), above 0.
    amount_then : float
        Amount of the new one a day that brings the same (mL or g), above 0.
    supply : float
        What each of these brings (unit of the level a day).
    days : int
        Days over which it is done, n; 1 changes at once.
    old_step, new_step : float, optional
        Smallest step of the amount a day that can be set (mL or g); 0 for any amount.
    change_every : int, optional
        Days between two changes of the setting.
    old_lag_days, new_lag_days : float, optional
        Mean delay until it acts (days).

    Returns
    -------
    pandas.DataFrame
        One row a day until all of the new one arrives: ``day`` from 1, amounts ``old`` and ``new``
        (mL or g), what ``arrives``, its ``error`` against the supply, and the ``drift`` of the level
        that the errors add up to (all in the unit of the level).

    Raises
    ------
    InputError
        If an amount is not above 0, a step or delay is negative, or the days are not 1 to 60.

    Examples
    --------
    >>> cross_fade(40.0, 20.0, 0.8, 4, old_step=5.0, new_step=1.0)[["day", "old", "new", "drift"]]
       day   old   new  drift
    0    1  30.0   5.0    0.0
    1    2  20.0  10.0    0.0
    2    3  10.0  15.0    0.0
    3    4   0.0  20.0    0.0
    """
    for what, given in (("today's amount", amount_now), ("the new amount", amount_then)):
        if not 0.0 < given < math.inf:
            raise InputError(f"{what} above 0 a day", given, "Type what is dosed today.", "Change")
    for what, number in (
        ("pump step", old_step), ("pump step", new_step), ("delay", old_lag_days),
        ("delay", new_lag_days),
    ):  # fmt: skip
        if not 0.0 <= number < math.inf:
            raise InputError(f"a {what} of 0 or more", number, "Check sign and number.", "Change")
    for what, whole in (("days", days), ("days between changes", change_every)):
        if isinstance(whole, bool) or not isinstance(whole, int) or not 1 <= whole <= LONGEST:
            raise InputError(f"1 to {LONGEST} whole {what}", whole, "7 is usual.", "Change")
    longest = max(old_lag_days, new_lag_days)
    settings = days + math.ceil(abs(new_lag_days - old_lag_days) - 1e-9)
    numbers = np.arange(1, settings + math.ceil(longest - 1e-9) + 1)
    old = _rounded(
        amount_now * (1 - _share(numbers + old_lag_days - longest, days, change_every)), old_step
    )
    share = _share(numbers + new_lag_days - longest, days, change_every)
    wanted_old = 1 - _share(numbers + old_lag_days - longest, days, change_every)
    new = np.empty(len(numbers))
    left_open = 0.0  # in amounts of the new one
    last = float(_rounded(np.array([amount_then]), new_step)[0])
    for i in range(len(numbers)):
        left_open += amount_then * (share[i] + wanted_old[i] - old[i] / amount_now)
        done = share[i] >= 1.0 and wanted_old[i] <= 0.0
        # The last setting is the one that stays: it does not make up for what came before.
        target = amount_then * share[i] if share[i] in (0.0, 1.0) else left_open
        new[i] = last if done else max(0.0, float(_rounded(np.array([target]), new_step)[0]))
        left_open -= new[i]
    arrives = supply * (
        _arriving(old / amount_now, 1.0, old_lag_days)
        + _arriving(new / amount_then, 0.0, new_lag_days)
    )
    error = arrives - supply
    return pd.DataFrame(
        dict(zip(COLUMNS, (numbers, old, new, arrives, error, np.cumsum(error)), strict=True))
    )


def _share(since: np.ndarray, days: int, every: int) -> np.ndarray:
    """Return the share of the new one that should act, 0 to 1, in settings of some days."""
    if every > 1:
        since = np.ceil(since / every - 1e-9) * every
    return np.clip(since / days, 0.0, 1.0)


def _rounded(amounts: np.ndarray, step: float) -> np.ndarray:
    return amounts if step == 0.0 else np.round(amounts / step) * step


def _arriving(given: np.ndarray, before: float, lag_days: float) -> np.ndarray:
    """Return what acts on each day where the same amount was given on all days before."""
    earlier = np.full(math.ceil(lag_days) + 1, before)
    if before:  # the first days of it are cut off below
        earlier = np.concatenate([np.full(len(earlier), before), earlier])
    arrived = delayed(np.concatenate([earlier, given]), lag_days)
    return arrived[len(earlier) :]
