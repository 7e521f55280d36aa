"""The readings of one element in one unit, with their scatter, as read and as corrected."""

from __future__ import annotations

import datetime as dt
import math
import statistics
from functools import lru_cache
from typing import Any, cast

import pandas as pd

from reef_calc.bench.kits import Correction, Kit, usual_sd
from reef_calc.chem.elements import element as element_named
from reef_calc.chem.units import check_unit, convert
from reef_calc.errors import InputError
from reef_calc.log.tables import TEXT
from reef_calc.log.tank import Tank
from reef_calc.log.times import window_edge

SESSION_MINUTES = 30.0
MARKED_SESSION_HOURS = 12.0


def tank_readings(
    tank: Tank,
    element: str,
    unit: str,
    since: str | dt.date | pd.Timestamp | None = None,
    until: str | dt.date | pd.Timestamp | None = None,
) -> pd.DataFrame:
    """Return the readings of an element in the tank's own water, in order of time.

    Parameters
    ----------
    tank : Tank
        The tank.
    element : str
        Name of the element.
    unit : str
        Unit of every level in the result.
    since, until : str, datetime.date or pandas.Timestamp, optional
        Window; a day counts whole, in the tank's zone.

    Returns
    -------
    pandas.DataFrame
        Columns of ``tank.readings``, where ``level``, ``level_u`` and ``upper_level`` are in
        ``unit``, and beside them: ``sd`` (one standard deviation of one reading, in ``unit``; 0 at a
        level of 0 where only a share of the level is known),
        ``sd_from`` (``typed u``; ``kit``, also where a raw entry gave a larger u; or
        ``usual``: common practice, no source), ``resolution``
        (in ``unit``; 0 with a typed u, because it is part of u), ``corrected`` and
        ``corrected_upper`` (in ``unit``; as read where no correction holds), ``corrected_u``
        (standard uncertainty that the correction adds, in ``unit``; NaN where none was written),
        and ``correction`` (in words; empty where none holds). Doubted rows are there, with their
        ``flag``; ``outside`` is True where water for a reef cannot hold such a level.

    Raises
    ------
    InputError
        If the element is unknown, the unit does not belong to it, or a time cannot be read.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> from reef_calc.log.tank import open_tank
    >>> tank = open_tank(start_tank(tempfile.mkdtemp(), "Reef", 300.0, "Europe/Berlin"))
    >>> len(tank_readings(tank, "calcium", "mg/L"))
    0
    """
    return _readings(tank, "tank", element, unit, since, until)


def new_water_readings(
    tank: Tank,
    element: str,
    unit: str,
    since: str | dt.date | pd.Timestamp | None = None,
    until: str | dt.date | pd.Timestamp | None = None,
) -> pd.DataFrame:
    """Return the readings of an element in new salt water, in order of time.

    Parameters
    ----------
    tank : Tank
        The tank.
    element : str
        Name of the element.
    unit : str
        Unit of every level in the result.
    since, until : str, datetime.date or pandas.Timestamp, optional
        Window; a day counts whole, in the tank's zone.

    Returns
    -------
    pandas.DataFrame
        As ``tank_readings``, levels in ``unit``.

    Raises
    ------
    InputError
        If the element is unknown, the unit does not belong to it, or a time cannot be read.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> found = new_water_readings(example_tank(), "alkalinity", "dKH")
    >>> found[["level", "kit"]].round(1).values.tolist()
    [[8.0, 'drops']]
    """
    return _readings(tank, "new water", element, unit, since, until)


def _readings(
    tank: Tank,
    water: str,
    element: str,
    unit: str,
    since: str | dt.date | pd.Timestamp | None,
    until: str | dt.date | pd.Timestamp | None,
) -> pd.DataFrame:
    described = element_named(element)
    unit = check_unit(unit, described.name)
    start, stop = window_edge(since, tank.zone, end=False), window_edge(until, tank.zone, end=True)
    found = _all_readings(tank, water, described.name, unit)
    chosen = pd.Series(True, index=found.index)
    if start is not None:
        chosen &= found["time"] >= start
    if stop is not None:
        chosen &= found["time"] <= stop
    return found[chosen].reset_index(drop=True)


# A review asks for the same readings many times; a tank never changes once it is opened.
@lru_cache(maxsize=64)
def _all_readings(tank: Tank, water: str, element: str, unit: str) -> pd.DataFrame:
    rows = tank.readings
    found = rows[(rows["water"] == water) & (rows["element"] == element)].reset_index(drop=True)
    added: dict[str, list[Any]] = {name: [] for name in _ADDED}
    for row in found.itertuples():
        for name, value in _in_unit(tank, row, element_named(element).store_unit, unit).items():
            added[name].append(value)
    kinds = {"sd_from": TEXT, "correction": TEXT}
    return found.assign(
        **{name: pd.Series(values, dtype=kinds.get(name, "float64"))
           for name, values in added.items()}
    )  # fmt: skip


_ADDED = (
    "level", "level_u", "upper_level", "sd", "sd_from", "resolution", "corrected",
    "corrected_upper", "corrected_u", "correction",
)  # fmt: skip


def _in_unit(tank: Tank, row: Any, store: str, unit: str) -> dict[str, Any]:
    name = row.element
    water = tank.water_at(row.time)
    salinity = water.salinity if math.isnan(row.salinity) else row.salinity
    warmth = water.temperature_C if math.isnan(row.temperature) else row.temperature

    def to(value: float, start: str, end: str) -> float:
        if start == end or math.isnan(value):
            return value
        try:
            return convert(value, start, end, name, salinity=salinity, temperature_C=warmth)
        except InputError:
            # Such as a salinity of 84, which no other scale has: it stays flagged, without a level.
            if row.outside:
                return math.nan
            raise

    def spread(at: float, width: float, start: str) -> float:
        return abs(to(at + width, start, unit) - to(at, start, unit)) if width else 0.0

    kit = tank.kits.get(row.kit)
    if kit is not None and kit.element not in ("", name):
        kit = None
    kit_unit = kit.unit if kit is not None and kit.unit else store
    read, upper = to(row.level, store, kit_unit), to(row.upper_level, store, kit_unit)
    found: dict[str, Any] = {
        "level": to(row.level, store, unit),
        "upper_level": to(row.upper_level, store, unit),
        "level_u": math.nan if math.isnan(row.level_u) else spread(row.level, row.level_u, store),
        "resolution": spread(read, kit.resolution, kit_unit) if kit is not None else 0.0,
    }
    of_kit = math.nan
    if kit is not None and not kit.sd_is_default:
        of_kit = spread(read, kit.sd(read), kit_unit)
    # The u of a level worked out from a raw entry also holds what all readings of the kit share, such
    # as the titrant's strength: that moves the level, and is no scatter from one to the next.
    shared = bool(row.raw) and found["level_u"] > of_kit
    if not math.isnan(row.level_u) and not shared:
        found |= {"sd": found["level_u"], "sd_from": "typed u", "resolution": 0.0}
    elif not math.isnan(of_kit):
        found |= {"sd": of_kit, "sd_from": "kit"}
    else:
        scatter = spread(row.level, usual_sd(name, row.level, store), store)
        found |= {"sd": scatter, "sd_from": "usual"}
    return found | _corrected(tank, row, kit, read, upper, kit_unit, to, unit, found)


def _corrected(
    tank: Tank,
    row: Any,
    kit: Kit | None,
    read: float,
    upper: float,
    kit_unit: str,
    to: Any,
    unit: str,
    found: dict[str, Any],
) -> dict[str, Any]:
    correction: Correction | None = None
    if kit is not None and kit.corrections:
        correction = kit.correction_at(row.time.tz_convert(tank.zone), row.lot)
    if correction is None:
        return {
            "corrected": found["level"],
            "corrected_upper": found["upper_level"],
            "corrected_u": 0.0,
            "correction": "",
        }
    put_right = correction.apply(read)
    level = to(put_right, kit_unit, unit)
    added = correction.uncertainty(read)
    return {
        "corrected": level,
        "corrected_upper": to(correction.apply(upper), kit_unit, unit),
        "corrected_u": abs(to(put_right + added, kit_unit, unit) - level),
        "correction": f"{correction.form} from {correction.start}"
        + (f", lot {correction.lot}" if correction.lot else ""),
    }


def replicate_sessions(frame: pd.DataFrame) -> pd.DataFrame:
    """Return readings grouped into sessions: the same water read again with the same kit and lot.

    Readings within 30 minutes of the session's first belong together; so do readings with different
    ``replicate`` marks within 12 hours. A reading with a limit, or one outside what water for a reef
    holds, always stands alone, so that it is never averaged with others.

    Parameters
    ----------
    frame : pandas.DataFrame
        As ``tank_readings`` gives it.

    Returns
    -------
    pandas.DataFrame
        One row a session, in order of time: ``time`` (UTC, mean), ``date_only``, ``level`` and
        ``corrected`` (means), ``upper_level``, ``corrected_upper``, ``sd`` (of one reading, root
        mean square), ``resolution``, ``corrected_u``, ``n``, ``spread`` (standard deviation within
        the session, divisor n − 1; NaN for one reading), ``limit``, ``kit``, ``lot``, ``salinity``
        (mean), ``outside``, ``rows`` (tuple of all its rows), ``flag`` (flags of all its rows).
        Levels are in the frame's unit.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> frame = tank_readings(example_tank(), "alkalinity", "dKH").head(2)
    >>> frame["time"] = frame["time"].iloc[0]  # read twice in one sitting
    >>> replicate_sessions(frame)[["level", "n", "rows"]].values.tolist()
    [[8.05, 2, (2, 4)]]
    """
    sessions: list[list[dict[str, Any]]] = []
    open_of: dict[tuple[str, str, str], list[dict[str, Any]]] = {}
    for row in cast(list[dict[str, Any]], frame.to_dict("records")):
        if row["limit"] or row["outside"]:
            sessions.append([row])
            continue
        key = (row["water"], row["kit"], row["lot"])
        if key in open_of and _joins(row, open_of[key]):
            open_of[key].append(row)
            continue
        open_of[key] = [row]
        sessions.append(open_of[key])
    if not sessions:
        empty = frame.reindex(columns=[*_SESSION_COLUMNS])
        return empty.astype({"n": "int64", "spread": "float64", "rows": "object"})
    return (
        pd.DataFrame([_session(session) for session in sessions], columns=[*_SESSION_COLUMNS])
        .astype({"time": "datetime64[ns, UTC]"})
        .sort_values("time", kind="stable")
        .reset_index(drop=True)
    )


_SESSION_COLUMNS = (
    "time", "date_only", "level", "corrected", "upper_level", "corrected_upper", "sd", "resolution",
    "corrected_u", "n", "spread", "limit", "kit", "lot", "salinity", "outside", "rows", "flag",
)  # fmt: skip


def _joins(row: dict[str, Any], session: list[dict[str, Any]]) -> bool:
    minutes = (row["time"] - session[0]["time"]).total_seconds() / 60.0
    if minutes <= SESSION_MINUTES:
        return True
    used = [other["replicate"] for other in session]
    return (
        minutes <= 60.0 * MARKED_SESSION_HOURS
        and bool(row["replicate"])
        and all(used)
        and row["replicate"] not in used
    )


def _session(members: list[dict[str, Any]]) -> dict[str, Any]:
    first, n = members[0], len(members)
    kept = ("limit", "kit", "lot", "outside", "upper_level", "corrected_upper")
    session = {name: first[name] for name in kept}
    for name in ("level", "corrected", "corrected_u", "salinity"):
        session[name] = statistics.fmean(member[name] for member in members)
    since_first = sum((member["time"] - first["time"] for member in members), pd.Timedelta(0))
    return session | {
        "time": first["time"] + since_first / n,
        "date_only": any(member["date_only"] for member in members),
        "sd": math.sqrt(statistics.fmean(member["sd"] ** 2 for member in members)),
        "resolution": max(member["resolution"] for member in members),
        "n": n,
        "spread": statistics.stdev(m["level"] for m in members) if n > 1 else math.nan,
        "rows": tuple(int(member["row"]) for member in members),
        "flag": " ".join(dict.fromkeys(m["flag"] for m in members if m["flag"])),
    }
