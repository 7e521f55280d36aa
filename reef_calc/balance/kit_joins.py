"""Kits and lots that took over from one another, as they bear on one element's readings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from reef_calc.balance.additions import days
from reef_calc.chem.units import convert
from reef_calc.log.history import new_water_readings
from reef_calc.log.joins import Join
from reef_calc.log.tank import Tank
from reef_calc.log.times import window_edge

if TYPE_CHECKING:
    from reef_calc.balance.record import NewWater

Group = tuple[str, str]


@dataclass(frozen=True)
class KitJoin:
    """A stored join, in the unit of a record.

    Attributes
    ----------
    new, old : (kit, lot)
        Which took over, and from which, as the readings name them.
    start : float
        Day number from which the new one is in use.
    mean, u : float or None
        How much higher the new one reads, levels as read, and its standard uncertainty (unit).
    stored : Join
        As it stands in the folder.
    """

    new: Group
    old: Group
    start: float
    mean: float | None
    u: float | None
    stored: Join

    @property
    def name(self) -> str:
        """Name of its factor: how much higher the new one reads."""
        return f"join {group_name(self.new)} and {group_name(self.old)}"


def group_name(group: Group) -> str:
    """Return how a kit, or a lot of it, is called in a sentence.

    Parameters
    ----------
    group : (kit, lot)
        Names; empty where none is recorded.

    Returns
    -------
    str
        Such as "kit A lot A-2".

    Examples
    --------
    >>> group_name(("kit A", "A-2")), group_name(("drops", ""))
    ('kit A lot A-2', 'drops')
    """
    kit = group[0] or "no kit named"
    return f"{kit} lot {group[1]}" if group[1] else kit


def joins_of_element(
    tank: Tank,
    element: str,
    unit: str,
    sessions: pd.DataFrame,
    new_water_by: tuple[Group | None, ...],
) -> tuple[KitJoin, ...]:
    """Return the stored joins that bear on an element's readings.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element, unit : str
        Element, and unit of the result.
    sessions : pandas.DataFrame
        Its sittings: ``day``, ``kit``, ``lot``.
    new_water_by : tuple of (kit, lot) or None
        What read the new water of each change.

    Returns
    -------
    tuple of KitJoin
        Those whose two sides were both read with and are not joined already.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> joins_of_element(example_tank(), "alkalinity", "dKH", pd.DataFrame(), ())
    ()
    """
    found: list[KitJoin] = []
    for stored in tank.joins:
        edge = window_edge(stored.start, tank.zone, end=False)
        if stored.element != element or edge is None:
            continue
        start = float((edge - pd.Timestamp(0, tz="UTC")) / pd.Timedelta(days=1))
        new = _group(stored.kit, stored.lot, start, True, sessions, new_water_by)
        old = _group(
            stored.relative_to_kit, stored.relative_to_lot, start, False, sessions, new_water_by
        )
        if new is None or old is None or new == old or old in _reached(new, found):
            continue
        one = float(convert(1.0, stored.unit, unit, element))
        mean = None if stored.mean is None else one * stored.mean
        u = None if stored.u is None else one * stored.u
        found.append(KitJoin(new, old, start, mean, u, stored))
    return tuple(found)


def _group(
    kit: str,
    lot: str,
    start: float,
    after: bool,
    sessions: pd.DataFrame,
    new_water_by: tuple[Group | None, ...],
) -> Group | None:
    """Return the kit and lot of the readings that a side of a join means."""
    read = list(zip(sessions["day"], sessions["kit"], sessions["lot"], strict=True))
    own = [(day, (k, which)) for day, k, which in read if k == kit and lot in ("", which)]
    if not own:
        waters = [g for g in new_water_by if g is not None and g[0] == kit and lot in ("", g[1])]
        return waters[0 if after else -1] if waters else None
    later, earlier = [g for t, g in own if t >= start], [g for t, g in own if t < start]
    if after:
        return later[0] if later else earlier[-1]
    return earlier[-1] if earlier else later[0]


def _reached(start: Group, joins: Iterable[KitJoin]) -> set[Group]:
    reached, found = {start}, list(joins)
    for _ in found:
        for join in found:
            if join.new in reached or join.old in reached:
                reached |= {join.new, join.old}
    return reached


def on_the_new_scale(
    tank: Tank,
    element: str,
    unit: str,
    until: pd.Timestamp,
    water: NewWater,
    joins: tuple[KitJoin, ...],
) -> NewWater:
    """Return new water with the scale its levels are on, as the newest join tells it.

    Measured levels are on the scale of the kit that read them; where salt and mixing stayed the same
    and the new kit has read it, its readings hold for all changes. A level from a label is on the
    scale that the keeper named.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element, unit : str
        Element and unit.
    until : pandas.Timestamp
        Last moment looked at (UTC).
    water : NewWater
        As the log gives it.
    joins : tuple of KitJoin
        At least one.

    Returns
    -------
    NewWater
        With ``by_change`` filled, where anything tells.

    Examples
    --------
    See :func:`reef_calc.balance.record.element_record`, which calls it where joins are stored.
    """
    last = max(joins, key=lambda join: join.start)
    scale = last.stored.new_water_scale
    times = days(tank.water_changes["time"]) if len(tank.water_changes) else np.empty(0)
    if water.source == "measured":
        if scale != "new kit":
            return water
        read = new_water_readings(tank, element, unit, until=until)
        own = (read["limit"] == "") & (read["kit"] == last.new[0]) & (read["lot"] == last.new[1])
        read = read[own]
        if read.empty:
            return water
        before = np.searchsorted(days(read["time"]), times, side="right") - 1
        spread = np.hypot(read["sd"], read["resolution"] / np.sqrt(12)) / np.sqrt(len(read))
        return replace(
            water,
            levels=read["corrected"].to_numpy(float)[np.maximum(before, 0)],
            as_read=read["level"].to_numpy(float)[np.maximum(before, 0)],
            u=float(np.hypot(np.mean(spread), np.mean(read["corrected_u"]))),
            kits=frozenset([last.new]),
            borrowed=int((before < 0).sum()),
            by_change=(last.new,) * len(times),
        )
    if water.source == "unknown":
        return water
    if scale == "kit in use":
        return replace(water, by_change=tuple(_in_use(t, joins) for t in times))
    return replace(water, by_change=((last.new if scale == "new kit" else last.old),) * len(times))


def _in_use(time: float, joins: tuple[KitJoin, ...]) -> Group:
    ordered = sorted(joins, key=lambda join: join.start)
    now = ordered[0].old
    for join in ordered:
        if join.start <= time:
            now = join.new
    return now
