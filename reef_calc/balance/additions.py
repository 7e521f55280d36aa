"""From the log of additions and water changes to what they did to one element's level."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import pairwise

import numpy as np
import pandas as pd

from reef_calc.chem.supplements import level_rise
from reef_calc.log.tank import Tank

EPOCH = pd.Timestamp("1970-01-01", tz="UTC")
DAY = pd.Timedelta(days=1)
# What turns up in the water only after bacteria have eaten the rest of the salt.
DELAYED = "alkalinity"
PORTIONS = 8


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
    """Doses of one element as the log has them: when they were given, not when they arrive.

    Attributes
    ----------
    steps : pandas.DataFrame
        Standing doses: ``start``, ``stop`` (day numbers), ``rate`` (unit per day), ``supplement``,
        ``u`` (relative standard uncertainty of strength and delivery), ``at_times`` (given at times
        of day; each dose then stands in ``shots`` too), ``lag_days`` (mean delay until it arrives).
    shots : pandas.DataFrame
        Doses at a time: ``day``, ``rise`` (unit), ``supplement``, ``u``, ``standing`` (part of a
        standing dose with times), ``date_only``, ``lag_days``.
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
    >>> from reef_calc.log.example import example_tank
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> doses = addition_history(example_tank(), "alkalinity", "dKH", until)
    >>> doses.steps[["rate", "supplement"]].values.tolist()  # 60 mL at 5 dKH·L per mL in 300 L
    [[1.0, 'part one']]
    """
    end = float(days(until))
    steps: list[dict[str, object]] = []
    shots: list[dict[str, object]] = []
    gaps: list[tuple[float, float]] = []
    silent = _not_logged(tank, end)
    for row in tank.additions.itertuples(index=False):
        supplement = tank.supplements[str(row.supplement)]
        if not supplement.adds.get(element):
            continue
        start = float(days(row.start))
        stop = end if pd.isna(row.stop) else min(float(days(row.stop)), end)
        if row.how == "not logged":
            if stop > start:
                gaps.append((start, stop))
            continue
        if start > end:
            continue
        amount, word = float(row.amount), str(row.unit)
        relative_u = float(supplement.strength_u or 0.0)
        lag = float(supplement.lag_days) if element == DELAYED else 0.0
        if row.how == "once":
            net = tank.water_at(row.start).net_L
            rise = level_rise(supplement, amount, word, element, net, unit)
            shots.append(
                _shot(
                    start, rise, row.supplement, relative_u, False, bool(row.start_date_only), lag
                )
            )
            continue
        delivered, delivered_u = supplement.delivered_over_set
        relative_u = float(np.hypot(relative_u, delivered_u / delivered))
        logged = _outside(start, stop, silent.get(str(row.supplement), []))
        for piece_start, piece_stop, net in _volumes(tank, logged):
            rate = level_rise(supplement, amount * delivered, word, element, net, unit)
            if row.times:
                for day in _daily(str(tank.zone), piece_start, piece_stop, row.times):
                    rise = rate / len(row.times.split(";"))
                    shots.append(_shot(day, rise, row.supplement, relative_u, True, False, lag))
            steps.append(
                {
                    "start": piece_start,
                    "stop": piece_stop,
                    "rate": rate,
                    "supplement": row.supplement,
                    "u": relative_u,
                    "at_times": bool(row.times),
                    "lag_days": lag,
                }
            )
    return AdditionHistory(
        pd.DataFrame(
            steps, columns=["start", "stop", "rate", "supplement", "u", "at_times", "lag_days"]
        ),
        pd.DataFrame(
            shots, columns=["day", "rise", "supplement", "u", "standing", "date_only", "lag_days"]
        ).sort_values("day", kind="stable", ignore_index=True),
        _merged(gaps),
    )


def arriving(history: AdditionHistory) -> AdditionHistory:
    """Return doses as they reach the water: delayed alkalinity spread over the days it takes.

    A dose x given at t with mean delay L becomes the rate x/(2L) from t to t + 2L. A standing dose
    becomes eight equal parts delayed by (2j + 1)·L/8, j = 0 … 7, whose mean is L.

    Parameters
    ----------
    history : AdditionHistory
        Doses as given, with ``lag_days``.

    Returns
    -------
    AdditionHistory
        The same amounts; what is at once stays as it is. For the balance only: "steps" here are
        arrivals, not what a pump is set to.

    Notes
    -----
    An even spread, because only the mean delay is known and the balance takes an even spread
    exactly: amount and mean delay are exact and no tail is cut. First-order release with the same
    mean differs by at most 0.15 x, just after one dose, and not at all under steady dosing. What has
    not arrived by the last reading is not counted. Not taken off: the share f·L/Δ that a water change
    f every Δ days takes away unspent (1.4 % at 10 % a week and one day).

    Examples
    --------
    >>> given = AdditionHistory(pd.DataFrame(), pd.DataFrame({"day": [3.0], "rise": [0.5],
    ...     "supplement": ["slow"], "u": [0.02], "standing": [False], "date_only": [False],
    ...     "lag_days": [1.0]}), ())
    >>> arriving(given).steps[["start", "stop", "rate"]].values.tolist(), len(arriving(given).shots)
    ([[3.0, 5.0, 0.25]], 0)

    References
    ----------
    Own simplification; delays of about a day for formate and acetate are MEMORY.
    """
    steps, shots = history.steps, history.shots
    parts: list[pd.DataFrame] = []
    if len(shots):
        slow = shots["lag_days"] > 0
        late = shots[slow]
        width = 2 * late["lag_days"]
        parts.append(
            pd.DataFrame(
                {
                    "start": late["day"],
                    "stop": late["day"] + width,
                    "rate": late["rise"] / width,
                    "supplement": late["supplement"],
                    "u": late["u"],
                    "at_times": False,
                    "lag_days": 0.0,
                }
            )
        )
        shots = shots[~slow].reset_index(drop=True)
    if len(steps):
        # Standing doses with times arrive as their shots; their row only says what is set.
        slow = (steps["lag_days"] > 0) & ~steps["at_times"].astype(bool)
        late = steps[slow]
        for j in range(PORTIONS):
            delay = (2 * j + 1) / PORTIONS * late["lag_days"]
            parts.append(
                late.assign(
                    start=late["start"] + delay,
                    stop=late["stop"] + delay,
                    rate=late["rate"] / PORTIONS,
                    lag_days=0.0,
                )
            )
        steps = steps[~slow]
    moved = [part for part in parts if len(part)]
    if not moved:
        return history
    kept = [steps] if len(steps) else []
    return replace(history, steps=pd.concat([*kept, *moved], ignore_index=True), shots=shots)


def _shot(
    day: float,
    rise: float,
    supplement: object,
    u: float,
    standing: bool,
    date_only: bool,
    lag_days: float,
) -> dict[str, object]:
    return {
        "day": day,
        "rise": rise,
        "supplement": supplement,
        "u": u,
        "standing": standing,
        "date_only": date_only,
        "lag_days": lag_days,
    }


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
