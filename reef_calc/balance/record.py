"""Everything the log holds about one element, ready for the balance."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from reef_calc.balance.additions import AdditionHistory, addition_history, arriving, days
from reef_calc.balance.given_doses import water_events
from reef_calc.balance.kit_joins import (
    Group,
    KitJoin,
    joins_of_element,
    on_the_new_scale,
)
from reef_calc.balance.kit_steps import steps_between_kits
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.balance.usable_readings import to_one_salinity, usable_readings
from reef_calc.balance.water_balance import BalanceColumns, WaterEvents, balance_columns
from reef_calc.bench.kits import usual_sd
from reef_calc.chem.units import convert
from reef_calc.log.history import new_water_readings, replicate_sessions, tank_readings
from reef_calc.log.tank import Tank

NEW_WATER_DEFAULT_U = {  # MEMORY: what a label's figure may be off by
    "alkalinity": (0.5, "dKH"),
    "calcium": (20.0, "mg/L"),
    "magnesium": (50.0, "mg/L"),
    "potassium": (20.0, "mg/L"),
}
OFFSET_SDS = 4.0


@dataclass(frozen=True)
class NewWater:
    """What is known of the new water's level of one element.

    Attributes
    ----------
    levels : array (c,)
        Level taken for each water change (unit of the record).
    u : float or None
        Standard uncertainty they share; None when nothing is known.
    source : {"measured", "label", "unknown"}
        Where it comes from.
    kits : frozenset of (kit, lot)
        What it was read with.
    borrowed : int
        Changes before the first reading of new water, which took that reading.
    by_change : tuple of (kit, lot) or None
        Whose scale each change's level is on; empty where nothing tells.
    as_read : array (c,) or None
        The levels before any stored correction of a kit (unit of the record); None where that makes
        no difference.
    """

    levels: np.ndarray
    u: float | None
    source: str
    kits: frozenset[Group]
    borrowed: int = 0
    by_change: tuple[Group | None, ...] = ()
    as_read: np.ndarray | None = None


@dataclass(frozen=True)
class ElementRecord:
    """One element of one tank up to a moment.

    Attributes
    ----------
    element, unit, zone : str
        Element, unit of levels, IANA zone.
    sessions : pandas.DataFrame
        One row a sitting with usable readings: ``time`` (UTC), ``day``, ``level``, ``sd``,
        ``resolution``, ``n``, ``kit``, ``lot``, ``rows``, ``date_only``, ``hour``.
    left_out : pandas.DataFrame
        Readings that no fit uses: ``time``, ``row``, ``level``, ``why``, ``mark``.
    doses : AdditionHistory
        Doses.
    new_water : NewWater
        New water.
    events : WaterEvents
        Doses and water changes for the balance.
    scaled : bool
        Whether levels were scaled to one salinity.
    joins : tuple of KitJoin
        Stored differences between kits and lots that read this element.
    """

    element: str
    unit: str
    zone: str
    sessions: pd.DataFrame
    left_out: pd.DataFrame
    doses: AdditionHistory
    new_water: NewWater
    events: WaterEvents
    scaled: bool = False
    joins: tuple[KitJoin, ...] = ()

    def since(self, day: float) -> ElementRecord:
        """Return the record with the sessions from a day on; doses and changes stay whole.

        Parameters
        ----------
        day : float
            Day number.

        Returns
        -------
        ElementRecord
            The shorter record.
        """
        return replace(
            self,
            sessions=self.sessions[self.sessions["day"] >= day].reset_index(drop=True),
            left_out=self.left_out[days(self.left_out["time"]) >= day].reset_index(drop=True),
        )

    def without(self, rows: frozenset[int]) -> ElementRecord:
        """Return the record without the sessions of certain readings.

        Parameters
        ----------
        rows : frozenset of int
            Rows of readings.csv.

        Returns
        -------
        ElementRecord
            The record without them.
        """
        keep = [not rows.intersection(r) for r in self.sessions["rows"]]
        return replace(
            self, sessions=self.sessions[np.array(keep, dtype=bool)].reset_index(drop=True)
        )

    def balance(self, spans: np.ndarray | tuple[()] = ()) -> BalanceColumns:
        """Return the columns of the balance at the sessions.

        Parameters
        ----------
        spans : array_like, shape (j, 2), optional
            Spans (day numbers) whose response is wanted too.

        Returns
        -------
        BalanceColumns
            Columns in the unit of the record.
        """
        return balance_columns(self.sessions["day"].to_numpy(float), self.events, spans)

    def gaps(self) -> tuple[tuple[float, float], ...]:
        """Return the gaps of the log that lie within the sessions.

        Returns
        -------
        tuple
            Spans as day numbers, cut to the history.
        """
        if self.sessions.empty:
            return ()
        first, last = self.sessions["day"].iloc[0], self.sessions["day"].iloc[-1]
        return tuple(
            (max(a, first), min(b, last)) for a, b in self.doses.gaps if a < last and b > first
        )

    def offset_columns(self) -> list[KnownColumn]:
        """Return a column for every other kit or lot than the latest one.

        Returns
        -------
        list of KnownColumn
            Names ``offset kit lot``; expected 0 within four SD of a reading. Where joins are stored,
            one column for each difference between neighbours, shared by all that lies beyond it.
        """
        if self.joins:
            return [step.column for step in steps_between_kits(self)]
        groups = list(zip(self.sessions["kit"], self.sessions["lot"], strict=True))
        if not groups:
            return []
        usual = float(
            np.median(np.hypot(self.sessions["sd"], self.sessions["resolution"] / 12**0.5))
        )
        found: list[KnownColumn] = []
        for kit, lot in dict.fromkeys(groups):
            if (kit, lot) != groups[-1]:
                values = np.array([float(g == (kit, lot)) for g in groups])
                found.append(
                    KnownColumn(f"offset {kit} {lot}".strip(), values, 0.0, OFFSET_SDS * usual)
                )
        return found

    def gap_columns(self) -> list[KnownColumn]:
        """Return a column for every gap of the log: the response to a dose of one a day in it.

        Returns
        -------
        list of KnownColumn
            Names ``gap 0``, ``gap 1`` …; the factor is the dose per day in the gap.
        """
        gaps = self.gaps()
        if not gaps:
            return []
        response = self.balance(np.array(gaps)).S
        return [KnownColumn(f"gap {j}", response[:, j]) for j in range(len(gaps))]


def element_record(tank: Tank, element: str, unit: str, until: pd.Timestamp) -> ElementRecord:
    """Return everything the log holds about one element up to a moment.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element that is used up or moves by itself.
    unit : str
        Unit of its levels.
    until : pandas.Timestamp
        End (UTC), exclusive.

    Returns
    -------
    ElementRecord
        Sessions, readings left out, doses and water changes.

    Raises
    ------
    InputError
        If a unit or strength cannot be used.


    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> len(record.sessions), record.sessions["level"].tolist()[:3]
    (12, [8.2, 7.9, 7.9])
    >>> record.new_water.source, record.new_water.levels[0].item()
    ('measured', 8.0)
    """
    last_moment = until - pd.Timedelta(seconds=1)
    readings = tank_readings(tank, element, unit, until=last_moment)
    usable, left_out = usable_readings(readings, unit)
    sessions = replicate_sessions(usable)
    sessions = sessions.assign(
        as_read=sessions["level"],
        level=sessions["corrected"].astype(float),
        day=days(sessions["time"]) if len(sessions) else np.empty(0),
        hour=[t.tz_convert(tank.zone).hour + t.minute / 60 for t in sessions["time"]],
    )
    silent = sessions["sd"] <= 0
    if silent.any():
        usual = [usual_sd(element, level, unit) for level in sessions["level"]]
        sessions = sessions.assign(sd=sessions["sd"].where(~silent, usual))
    sessions, scaled = to_one_salinity(tank, sessions, element)
    doses = addition_history(tank, element, unit, until)
    new_water = _new_water(tank, element, unit, last_moment)
    joins = joins_of_element(tank, element, unit, sessions, new_water.by_change)
    if joins:
        new_water = on_the_new_scale(tank, element, unit, last_moment, new_water, joins)
    return ElementRecord(
        element,
        unit,
        str(tank.zone),
        sessions,
        left_out,
        doses,
        new_water,
        water_events(tank, arriving(doses), new_water.levels),
        scaled,
        joins,
    )


def _new_water(tank: Tank, element: str, unit: str, until: pd.Timestamp) -> NewWater:
    times = tank.water_changes["time"]
    read = new_water_readings(tank, element, unit, until=until)
    read = read[read["limit"] == ""]
    if len(read):
        before = (
            np.searchsorted(days(read["time"]), days(times), side="right") - 1
            if len(times)
            else np.empty(0, dtype=int)
        )
        # Tank and new water stand on one scale: a stored correction belongs to both.
        levels = read["corrected"].to_numpy(float)[np.maximum(before, 0)]
        spread = np.hypot(read["sd"], read["resolution"] / np.sqrt(12)) / np.sqrt(len(read))
        return NewWater(
            levels,
            float(np.hypot(np.mean(spread), np.mean(read["corrected_u"]))),
            "measured",
            frozenset(zip(read["kit"], read["lot"], strict=True)),
            int((before < 0).sum()),
            tuple((read["kit"].iloc[i], read["lot"].iloc[i]) for i in np.maximum(before, 0)),
            read["level"].to_numpy(float)[np.maximum(before, 0)],
        )
    label = tank.new_water.levels.get(element)
    if label is None:
        middle = tank_readings(tank, element, unit, until=until)["corrected"].median()
        level = 0.0 if pd.isna(middle) else float(middle)
        return NewWater(np.full(len(times), level), None, "unknown", frozenset())
    level = float(convert(label.value, label.unit, unit, element))
    if label.u is not None:
        u: float | None = float(convert(label.u, label.unit, unit, element))
    elif element in NEW_WATER_DEFAULT_U:
        u = float(convert(*NEW_WATER_DEFAULT_U[element], unit, element))
    else:
        u = None
    return NewWater(np.full(len(times), level), u, "label", frozenset())
