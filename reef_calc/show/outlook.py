"""Where a level goes within a month if nothing is changed, and when it leaves its aims."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from reef_calc.balance.additions import days
from reef_calc.plan.confirm import TEST_TODAY
from reef_calc.plan.rule import old_days
from reef_calc.show.standing import Standing

Floats = NDArray[np.float64]
AHEAD = 30
HABIT_DAYS = 60.0
Z95 = 1.959964


@dataclass(frozen=True)
class Outlook:
    """The level of one element, day by day, if dose, use and water changes stay as they are.

    Attributes
    ----------
    today : pandas.Timestamp
        End of the month reviewed, or the present while it runs (UTC).
    level, low, high : array (31,)
        Level and its 95 % interval on each day from today on, in the unit of the standing.
    leaves, earliest : int or None
        Days from today until the level, and the nearer end of its interval, lies outside its aims;
        None within 30 days. 0: today.
    side : {"", "below", "above"}
        Which aim is left, by ``leaves`` or else by ``earliest``.
    returns : int or None
        Where the level is outside today: days until it is inside.
    caution : int or None
        Days until the level passes a level that needs a second confirmation.
    changes_bring : float
        What water changes bring now, unit per day; negative where they take.
    """

    today: pd.Timestamp
    level: Floats
    low: Floats
    high: Floats
    leaves: int | None
    earliest: int | None
    side: str
    returns: int | None
    caution: int | None
    changes_bring: float


def drift(
    start: float, net: float, pull: float, new_water: float, elapsed: ArrayLike
) -> tuple[Floats, Floats, Floats]:
    """Return a level under a steady net dose and steady water changes.

    dC/dt = net − q·(C − C_new): C = C₀·e^(−qt) + C_new·(1 − e^(−qt)) + net·R, R = (1 − e^(−qt))/q

    Parameters
    ----------
    start : float
        Level at first (unit).
    net : float
        Dose less use (unit per day).
    pull : float
        Share of the water exchanged, −ln(1 − f) summed over a span and divided by its days (1/d).
    new_water : float
        Level of the new water (unit).
    elapsed : array_like (n,)
        Times since then (d), 0 or more.

    Returns
    -------
    level, kept, response : array (n,)
        Level (unit), share of the first level still there (no unit), and R (d).

    Notes
    -----
    Water changes are spread evenly over the days; a change of a share f makes the true level step
    around this line by about f·(C − C_new)/2.

    Examples
    --------
    >>> level, kept, response = drift(8.0, -0.1, 0.0, 8.0, [0.0, 10.0])
    >>> level.tolist(), response.tolist()
    ([8.0, 7.0], [0.0, 10.0])
    """
    t = np.asarray(elapsed, dtype=float)
    kept = np.exp(-pull * t)
    response = -np.expm1(-pull * t) / pull if pull > 0 else t.copy()
    return start * kept + new_water * (1 - kept) + net * response, kept, response


def outlook(
    standing: Standing,
    *,
    caution: tuple[float | None, float | None] = (None, None),
    now: pd.Timestamp | None = None,
) -> Outlook | None:
    """Return where the level goes within 30 days if nothing is changed.

    Parameters
    ----------
    standing : Standing
        The element.
    caution : tuple of (float or None), optional
        Levels (lowest, highest) that need a second confirmation, unit of the standing.
    now : pandas.Timestamp, optional
        The present (UTC); the clock's when not given.

    Returns
    -------
    Outlook or None
        None where use, dose or level is not known, or the last reading is old or in doubt.

    Notes
    -----
    The interval holds the level at the last reading and dose less use; an error of strength or pump
    moves use and dose alike and is left out of their difference, and an error of the new water is in
    the use already. Level and use are taken as independent. A change of use still to come is in no
    interval.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.show.gather import gather
    >>> month = outlook(gather(example_tank(), "alkalinity", "2026-02"),
    ...     now=pd.Timestamp("2026-02-16", tz="UTC"))
    >>> bool(month.low[30] < month.level[30] < month.high[30]), len(month.level)
    (True, 31)
    """
    use = standing.use
    if use is None or use.rate is None or use.low is None or use.high is None:
        return None
    if use.dose_now is None or standing.decision.headline == TEST_TODAY:
        return None
    believed = standing.readings[standing.readings["mark"].isin(["used", "beyond limit"])]
    if believed.empty or believed.iloc[-1]["limit"]:
        return None
    last = believed.iloc[-1]
    present = pd.Timestamp.now("UTC") if now is None else now
    today = min(use.until, max(present, last["time"]))
    age = float((today - last["time"]) / pd.Timedelta(days=1))
    if age > old_days(standing.element):
        return None
    level, u = use.level_now if use.level_now else (float(last["level"]), float(last["sd"]))
    slow, fast = use.against_dose if use.against_dose else (use.low, use.high)
    pull, new_water = _water_changes(standing, level)
    line, kept, response = drift(
        level, use.dose_now - use.rate, pull, new_water, age + np.arange(AHEAD + 1.0)
    )
    down = np.hypot(Z95 * u * kept, response * (fast - use.rate))
    up = np.hypot(Z95 * u * kept, response * (use.rate - slow))
    return _with_days(
        standing, caution, today, line, line - down, line + up, pull * (new_water - line[0])
    )


def _water_changes(standing: Standing, level: float) -> tuple[float, float]:
    """Return the pull of the water changes of the last 60 days and the level of the new water."""
    use = standing.use
    if use is None or use.record is None or standing.changes.empty:
        return 0.0, level
    last = float(days(use.until))
    at = days(standing.changes["time"])
    recent = (at > last - HABIT_DAYS) & (at <= last)
    if recent.sum() < 2:
        return 0.0, level
    share = np.clip(standing.changes["fraction"].to_numpy(float)[recent], 0.0, 0.99)
    levels = use.record.new_water.levels
    return float(-np.log1p(-share).sum() / HABIT_DAYS), float(levels[-1]) if len(levels) else level


def _with_days(
    standing: Standing,
    caution: tuple[float | None, float | None],
    today: pd.Timestamp,
    level: Floats,
    low: Floats,
    high: Floats,
    bring: float,
) -> Outlook:
    floor = -np.inf if standing.low is None else standing.low
    top = np.inf if standing.high is None else standing.high
    outside = (level < floor) | (level > top)
    may = outside | (low < floor) | (high > top)
    leaves, earliest = _first(outside), _first(may)
    at = leaves if leaves is not None else earliest
    side = ""
    if at is not None:
        below = level[at] < floor if leaves is not None else low[at] < floor
        side = "below" if below else "above"
    least, most = caution
    passed = np.zeros(len(level), dtype=bool)
    if least is not None:
        passed |= level < least
    if most is not None:
        passed |= level > most
    returns = _first(~outside) if outside[0] else None
    return Outlook(
        today, level, low, high, leaves, earliest, side, returns, _first(passed), float(bring)
    )


def _first(where: NDArray[np.bool_]) -> int | None:
    return int(np.argmax(where)) if where.any() else None
