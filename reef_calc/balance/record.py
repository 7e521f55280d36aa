"""Everything the log holds about one element, ready for the balance."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from reef_calc.balance.additions import AdditionHistory, addition_history, arriving, days
from reef_calc.balance.given_doses import water_events
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.balance.water_balance import BalanceColumns, WaterEvents, balance_columns
from reef_calc.bench.kits import usual_sd
from reef_calc.chem.elements import ELEMENTS
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
SALINITY_DAYS = 3.0
SALINITY_STEP = 0.5


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
    """

    levels: np.ndarray
    u: float | None
    source: str
    kits: frozenset[tuple[str, str]]
    borrowed: int = 0


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
            Names ``kit, lot``; expected 0 within four SD of a reading.
        """
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
    usable, left_out = _sorted_out(readings, unit)
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
    sessions, scaled = _scaled(tank, sessions, element)
    doses = addition_history(tank, element, unit, until)
    new_water = _new_water(tank, element, unit, last_moment)
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
    )


def _sorted_out(readings: pd.DataFrame, unit: str) -> tuple[pd.DataFrame, pd.DataFrame]:
    between = (readings["limit"] == "between").to_numpy(bool)
    if between.any():
        width = (readings["upper_level"] - readings["level"]).to_numpy(float)
        middle = readings["corrected"] + (readings["corrected_upper"] - readings["corrected"]) / 2
        readings = readings.assign(
            corrected=middle.where(between, readings["corrected"]),
            level=(readings["level"] + width / 2).where(between, readings["level"]),
            sd=np.where(between, np.hypot(readings["sd"], width / 12**0.5), readings["sd"]),
            limit=readings["limit"].where(~between, ""),
        )
    beyond = (readings["limit"] != "").to_numpy(bool)
    outside = ~beyond & readings["outside"].to_numpy(bool)
    out = readings[beyond | outside]
    why = [
        f"beyond the kit's limit ({row.limit} {row.level:g} {unit}): drawn, not fitted"
        if row.limit
        else f"not used: {row.flag}"
        for row in out.itertuples(index=False)
    ]
    left_out = out[["time", "row", "level"]].assign(
        why=pd.Series(why, index=out.index, dtype=object),
        mark=np.where(out["limit"] != "", "beyond limit", "left out"),
    )
    return readings[~beyond & ~outside].reset_index(drop=True), left_out.reset_index(drop=True)


def _scaled(tank: Tank, sessions: pd.DataFrame, element: str) -> tuple[pd.DataFrame, bool]:
    """Bring levels to one salinity where it moved and every sitting has one within three days."""
    if not ELEMENTS[element].scales_with_salinity or sessions.empty:
        return sessions, False
    salt = tank_readings(tank, "salinity", "PSU")
    salt = salt[(salt["limit"] == "") & ~salt["outside"].astype(bool)]
    if salt.empty:
        return sessions, False
    at, own = days(salt["time"]), sessions["day"].to_numpy(float)
    nearest = np.min(np.abs(at[:, None] - own), axis=0)
    salinity = sessions["salinity"].to_numpy(float)
    salinity = np.where(
        np.isnan(salinity), np.interp(own, at, salt["level"].to_numpy(float)), salinity
    )
    known = (nearest <= SALINITY_DAYS) | ~np.isnan(sessions["salinity"].to_numpy(float))
    if not np.all(known) or np.ptp(salinity) <= SALINITY_STEP:
        return sessions, False
    factor = float(np.median(salinity)) / salinity
    return sessions.assign(level=sessions["level"] * factor, sd=sessions["sd"] * factor), True


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
        levels = read["level"].to_numpy(float)[np.maximum(before, 0)]
        spread = np.hypot(read["sd"], read["resolution"] / np.sqrt(12)) / np.sqrt(len(read))
        return NewWater(
            levels,
            float(np.mean(spread)),
            "measured",
            frozenset(zip(read["kit"], read["lot"], strict=True)),
            int((before < 0).sum()),
        )
    label = tank.new_water.levels.get(element)
    if label is None:
        middle = tank_readings(tank, element, unit, until=until)["level"].median()
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
