"""Which readings of the log are of the same water."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable
from typing import Any, cast

import numpy as np
import pandas as pd

from reef_calc.balance.additions import addition_history, days
from reef_calc.compare.pairs import SAME_WATER_HOURS
from reef_calc.errors import CannotTellError
from reef_calc.log.tank import Tank

# Change of the level from one time to another and its standard uncertainty, in the levels' unit.
Movement = Callable[[pd.Timestamp, pd.Timestamp], tuple[float, float]]
_HOUR = pd.Timedelta(hours=1)
# A dose that moves the level by less than this share of the scatter leaves it the same water.
_STILL = 0.25


def with_waters(
    tank: Tank,
    rows: pd.DataFrame,
    element: str,
    unit: str,
    by: str,
    *,
    hours: float = SAME_WATER_HOURS,
    movement: Movement | None = None,
) -> pd.DataFrame:
    """Return readings with the water each is of.

    A sitting at the tank or at new water starts with a reading and lasts an hour; a water change or
    a dose that shows ends it. With ``movement`` the nearest readings of different names make a water
    instead, within ``hours``, and what the level moved by in between stands beside them.

    Parameters
    ----------
    tank : Tank
        The tank.
    rows : pandas.DataFrame
        ``time`` (UTC), ``water`` as in readings.csv, ``level``, ``sd`` (``unit``), the column ``by``;
        the time of day is known.
    element, unit : str
        Element and unit of the levels.
    by : str
        What is compared.
    hours : float, optional
        How far readings of one water of the tank may lie apart (hours); beyond one hour only where
        ``movement`` is given.
    movement : callable, optional
        Change of the tank's level from one time to another, and its standard uncertainty (``unit``).

    Returns
    -------
    pandas.DataFrame
        The rows with ``water`` named, ``moved`` (since the first reading of that water, ``unit``),
        ``sd`` widened by how unsure that is, and ``lost`` where it cannot be told. A bottle of a
        standard is one water throughout.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.history import tank_readings
    >>> tank = example_tank()
    >>> rows = tank_readings(tank, "alkalinity", "dKH").head(2)
    >>> with_waters(tank, rows, "alkalinity", "dKH", "kit")["water"].tolist()
    ['tank 2026-01-02 18:00', 'tank 2026-01-06 18:00']
    """
    rows = rows.assign(moved=0.0, sd=rows["sd"].astype(float), lost=False)
    rows = rows.sort_values("time", kind="stable")
    start: dict[Hashable, pd.Timestamp] = {}
    for kind in ("tank", "new water"):
        own = rows[rows["water"] == kind]
        if own.empty:
            continue
        if kind == "tank" and movement is not None:
            start |= _nearest_together(own, by, hours)
        else:
            same = min(hours, SAME_WATER_HOURS) if kind == "tank" else SAME_WATER_HOURS
            start |= _one_after_another(tank, own, element, unit, kind, same)
    called: dict[tuple[str, pd.Timestamp], str] = {}
    named = []
    for i, water in rows["water"].items():
        if i not in start:
            named.append(water)
            continue
        name = f"{water} {start[i].tz_convert(tank.zone):%Y-%m-%d %H:%M}"
        if (water, start[i]) not in called and name in called.values():
            name = f"{name} (again)"  # in the hour that the clock shows twice
        named.append(called.setdefault((water, start[i]), name))
    if movement is not None:
        for i, first in start.items():
            when = cast(pd.Timestamp, rows.at[i, "time"])
            if rows.at[i, "water"] == "tank" and when != first:
                try:
                    moved, u = movement(first, when)
                except CannotTellError:
                    rows.at[i, "lost"] = True
                    continue
                rows.at[i, "moved"] = moved
                rows.at[i, "sd"] = math.hypot(float(cast(Any, rows.at[i, "sd"])), u)
    return rows.assign(water=pd.Series(named, index=rows.index, dtype=object))


def _one_after_another(
    tank: Tank, own: pd.DataFrame, element: str, unit: str, kind: str, hours: float
) -> dict[Hashable, pd.Timestamp]:
    history = addition_history(tank, element, unit, own["time"].max() + pd.Timedelta(days=1))
    shots, rises = history.shots["day"].to_numpy(float), history.shots["rise"].to_numpy(float)
    all_day = {
        one.date()
        for one in (
            *_local(tank, tank.water_changes.loc[tank.water_changes["date_only"].astype(bool), "time"]),
            *(pd.Timestamp(day, unit="D", tz="UTC").tz_convert(tank.zone)
              for day in shots[history.shots["date_only"].to_numpy(bool)]),
        )
    }  # fmt: skip
    changes = days(tank.water_changes["time"]) if len(tank.water_changes) else np.empty(0)
    still = _STILL * float(own["sd"].min())
    found: dict[Hashable, pd.Timestamp] = {}
    start: pd.Timestamp | None = None
    for i, when in own["time"].items():
        same = start is not None and (when - start) / _HOUR <= hours
        if same and kind == "tank" and when != start:
            a, b = float(days(cast(pd.Timestamp, start))), float(days(when))
            dosed = abs(float(rises[(shots >= a) & (shots < b)].sum()))
            changed = bool(((changes >= a) & (changes < b)).any())
            unsure = when.tz_convert(tank.zone).date() in all_day
            same = not (changed or unsure or dosed > still)
        start = start if same else when
        found[i] = cast(pd.Timestamp, start)
    return found


def _local(tank: Tank, times: pd.Series) -> list[pd.Timestamp]:
    return [one.tz_convert(tank.zone) for one in times]


def _nearest_together(own: pd.DataFrame, by: str, hours: float) -> dict[Hashable, pd.Timestamp]:
    """Return the first reading of the water of each reading: the nearest of different names first.

    Every sitting of a name belongs to one water, and a water has one sitting of a name at most.
    """
    waters: list[list[Hashable]] = []
    names: list[set[str]] = []
    latest: dict[str, int] = {}
    for i, (name, when) in own[[by, "time"]].iterrows():
        at = latest.get(name)
        if at is not None and (when - own.at[waters[at][0], "time"]) / _HOUR <= SAME_WATER_HOURS:
            waters[at].append(i)
        else:
            latest[name] = len(waters)
            waters.append([i])
            names.append({name})
    first = days(own.loc[[w[0] for w in waters], "time"]) * 24.0
    last = days(own.loc[[w[-1] for w in waters], "time"]) * 24.0
    near = [
        (abs(first[a] - first[b]), a, b)
        for a in range(len(waters))
        for b in range(a + 1, len(waters))
        if names[a] != names[b] and abs(first[a] - first[b]) <= hours
    ]
    home = list(range(len(waters)))
    for _, a, b in sorted(near):
        one, other = sorted((home[a], home[b]))
        start, stop = min(first[one], first[other]), max(last[one], last[other])
        if one == other or names[one] & names[other] or stop - start > hours:
            continue
        first[one], last[one] = start, stop
        names[one] |= names[other]
        home = [one if at == other else at for at in home]
    starts: dict[int, pd.Timestamp] = {}
    for members, at in zip(waters, home, strict=True):
        when = cast(pd.Timestamp, own.at[members[0], "time"])
        starts[at] = min(starts.get(at, when), when)
    return {i: starts[at] for members, at in zip(waters, home, strict=True) for i in members}
