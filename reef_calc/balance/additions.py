"""From the log of additions and water changes to what they did to one element's level."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise

import numpy as np
import pandas as pd

from reef_calc.balance.water_balance import WaterEvents
from reef_calc.chem.units import convert
from reef_calc.log.tank import Tank

EPOCH = pd.Timestamp("1970-01-01", tz="UTC")
DAY = pd.Timedelta(days=1)


def days(times: pd.Series | pd.DatetimeIndex | pd.Timestamp) -> np.ndarray:
    """Return times as days since the start of 1970 (UTC).

    Parameters
    ----------
    times : pandas.Series, DatetimeIndex or Timestamp
        Times with a zone.

    Returns
    -------
    numpy.ndarray
        Days, as floats.

    Examples
    --------
    >>> float(days(pd.Timestamp("1970-01-02 12:00", tz="UTC")))
    1.5
    """
    if isinstance(times, pd.Timestamp):
        return np.asarray((times - EPOCH) / DAY)
    return np.asarray((pd.DatetimeIndex(times) - EPOCH) / DAY, dtype=float)


def moment(day: float) -> pd.Timestamp:
    """Return the time (UTC) of a day number, to the second.

    Parameters
    ----------
    day : float
        Days since the start of 1970.

    Returns
    -------
    pandas.Timestamp
        Time in UTC.

    Examples
    --------
    >>> moment(1.5)
    Timestamp('1970-01-02 12:00:00+0000', tz='UTC')
    """
    return (EPOCH + pd.Timedelta(seconds=round(day * 86400))).as_unit("ns")


@dataclass(frozen=True)
class AdditionHistory:
    """Doses of one element as the log has them.

    Attributes
    ----------
    steps : pandas.DataFrame
        Standing doses: ``start``, ``stop`` (day numbers), ``rate`` (unit per day), ``supplement``,
        ``u`` (relative standard uncertainty of strength and delivery).
    shots : pandas.DataFrame
        Doses at a time: ``day``, ``rise`` (unit), ``supplement``, ``u``, ``standing`` (part of a
        standing dose with times), ``date_only``.
    gaps : tuple of (float, float)
        Spans (day numbers) in which a dose of this element was not logged.
    """

    steps: pd.DataFrame
    shots: pd.DataFrame
    gaps: tuple[tuple[float, float], ...]


def addition_history(tank: Tank, element: str, unit: str, until: pd.Timestamp) -> AdditionHistory:
    """Return what was added of one element, worked out from the log and the supplements.

    Rise = amount × strength / net volume × delivered/set, the last only for what a pump gives.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element.
    unit : str
        Unit of its level.
    until : pandas.Timestamp
        End of interest (UTC); open rows stop here.

    Returns
    -------
    AdditionHistory
        Steps, shots and gaps, times as day numbers.

    Raises
    ------
    InputError
        If a supplement's strength or an amount cannot be used.

    Examples
    --------
    See ``tests/balance/test_additions.py``; a tank folder is needed.
    """
    end = float(days(until))
    steps: list[dict[str, object]] = []
    shots: list[dict[str, object]] = []
    gaps: list[tuple[float, float]] = []
    silent = _not_logged(tank, end)
    per_store = float(convert(1.0, _store_unit(element), unit, element))
    for row in tank.additions.itertuples(index=False):
        supplement = tank.supplements[str(row.supplement)]
        strength = supplement.adds.get(element, 0.0)
        if strength == 0.0:
            continue
        start = float(days(row.start))
        stop = end if pd.isna(row.stop) else min(float(days(row.stop)), end)
        if row.how == "not logged":
            if stop > start:
                gaps.append((start, stop))
            continue
        if start > end:
            continue
        amount = float(row.amount) * (1000.0 if row.unit in ("L", "kg") else 1.0)
        relative_u = float(supplement.strength_u or 0.0)
        if row.how == "once":
            rise = amount * strength / tank.water_at(row.start).net_L * per_store
            shots.append(
                _shot(start, rise, row.supplement, relative_u, False, bool(row.start_date_only))
            )
            continue
        delivered, delivered_u = supplement.delivered_over_set
        relative_u = float(np.hypot(relative_u, delivered_u / delivered))
        logged = _outside(start, stop, silent.get(str(row.supplement), []))
        for piece_start, piece_stop, net in _volumes(tank, logged):
            rate = amount * strength * delivered / net * per_store
            if row.times:
                for day in _daily(str(tank.zone), piece_start, piece_stop, row.times):
                    rise = rate / len(row.times.split(";"))
                    shots.append(_shot(day, rise, row.supplement, relative_u, True, False))
            steps.append(
                {
                    "start": piece_start,
                    "stop": piece_stop,
                    "rate": rate,
                    "supplement": row.supplement,
                    "u": relative_u,
                    "at_times": bool(row.times),
                }
            )
    return AdditionHistory(
        pd.DataFrame(steps, columns=["start", "stop", "rate", "supplement", "u", "at_times"]),
        pd.DataFrame(
            shots, columns=["day", "rise", "supplement", "u", "standing", "date_only"]
        ).sort_values("day", kind="stable", ignore_index=True),
        _merged(gaps),
    )


def _shot(
    day: float, rise: float, supplement: object, u: float, standing: bool, date_only: bool
) -> dict[str, object]:
    return {
        "day": day,
        "rise": rise,
        "supplement": supplement,
        "u": u,
        "standing": standing,
        "date_only": date_only,
    }


def _store_unit(element: str) -> str:
    from reef_calc.chem.elements import ELEMENTS

    return ELEMENTS[element].store_unit


def _not_logged(tank: Tank, end: float) -> dict[str, list[tuple[float, float]]]:
    """Spans in which a supplement's dose was not logged: its standing dose says nothing there."""
    found: dict[str, list[tuple[float, float]]] = {}
    rows = tank.additions[tank.additions["how"] == "not logged"]
    for row in rows.itertuples(index=False):
        stop = end if pd.isna(row.stop) else min(float(days(row.stop)), end)
        found.setdefault(str(row.supplement), []).append((float(days(row.start)), stop))
    return found


def _outside(
    start: float, stop: float, holes: list[tuple[float, float]]
) -> list[tuple[float, float]]:
    pieces = [(start, stop)]
    for a, b in holes:
        pieces = [
            part
            for first, last in pieces
            for part in ((first, min(last, a)), (max(first, b), last))
            if part[1] > part[0]
        ]
    return pieces


def _volumes(tank: Tank, spans: list[tuple[float, float]]) -> list[tuple[float, float, float]]:
    """Pieces of spans with one net volume each."""
    turns = [float(days(pd.Timestamp(w.start))) for w in tank.waters]
    found = []
    for start, stop in spans:
        inside = sorted({start, stop, *(t for t in turns if start < t < stop)})
        found += [(a, b, tank.water_at(moment(a)).net_L) for a, b in pairwise(inside)]
    return found


def _daily(zone: str, start: float, stop: float, times: str) -> list[float]:
    """Day numbers of daily times of day, by the clock on the wall."""
    first = moment(start).tz_convert(zone).date()
    last = moment(stop).tz_convert(zone).date()
    found = []
    for text in times.split(";"):
        hour, minute = (int(part) for part in text.strip().split(":"))
        clock = pd.DatetimeIndex(
            [
                pd.Timestamp(first) + timedelta(days=k, hours=hour, minutes=minute)
                for k in range((last - first).days + 1)
            ]
        ).tz_localize(
            zone, ambiguous=[True] * ((last - first).days + 1), nonexistent="shift_forward"
        )
        at = days(clock.tz_convert("UTC"))
        found += [float(d) for d in at if start <= d < stop]
    return sorted(found)


def _merged(gaps: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    merged: list[tuple[float, float]] = []
    for start, stop in sorted(gaps):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(stop, merged[-1][1]))
        else:
            merged.append((start, stop))
    return tuple(merged)


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
    See ``tests/balance/test_additions.py``; a tank folder is needed.
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
