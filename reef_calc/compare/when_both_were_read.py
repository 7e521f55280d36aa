"""How the readings of two kits lie in time, and what lies between one and the other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reef_calc.balance.additions import days, moment
from reef_calc.balance.extra_columns import local_dates
from reef_calc.balance.refusals import day_text
from reef_calc.compare.kits_in_the_log import TwoKits
from reef_calc.compare.pairs import SAME_WATER_HOURS
from reef_calc.log.tank import Tank


@dataclass(frozen=True)
class WhenRead:
    """How the readings of A and B lie in time.

    Attributes
    ----------
    one_sided : bool
        Whether every reading of one kit lies after every reading of the other, more than an hour.
    earlier, later : str
        What the kits are called, by their first reading.
    last, first : float
        Last reading of the earlier and first of the later kit where they do not overlap (days).
    gaps : tuple of (float, float)
        Gaps of the dosing log that reach into that time (days).
    notes : tuple of str
        What the log notes in that time, other than a lot that was opened.
    apart : array (n_b,)
        Days from each reading of B to the nearest of A.
    readers_differ : bool
        Whether who read is recorded and nobody read both kits.
    readers_a, readers_b : tuple of str
        Who read.
    hourless : tuple of (float, float)
        Days on which something happened at an hour that is not known, for the pairs.
    """

    one_sided: bool
    earlier: str
    later: str
    last: float
    first: float
    gaps: tuple[tuple[float, float], ...]
    notes: tuple[str, ...]
    apart: NDArray[np.float64]
    readers_differ: bool
    readers_a: tuple[str, ...]
    readers_b: tuple[str, ...]
    hourless: tuple[tuple[float, float], ...]

    def between(self, zone: str) -> str:
        """Return the time between both kits in words.

        Parameters
        ----------
        zone : str
            IANA zone.

        Returns
        -------
        str
            Such as "between 3 May 2026 and 5 May 2026", or the hours of one day.
        """
        start, stop = moment(self.last).tz_convert(zone), moment(self.first).tz_convert(zone)
        if start.date() == stop.date():
            return f"between {start:%H:%M} and {stop:%H:%M} on {day_text(start, zone)}"
        return f"between {day_text(start, zone)} and {day_text(stop, zone)}"


def when_read(tank: Tank, two: TwoKits) -> WhenRead:
    """Return how the readings of two kits lie in time.

    Parameters
    ----------
    tank : Tank
        An opened tank folder: events and who read are looked at.
    two : TwoKits
        Sittings of both; each kit has at least one.

    Returns
    -------
    WhenRead
        Times as day numbers.

    Examples
    --------
    See :func:`reef_calc.compare.from_the_log.difference_from_log`, which uses it.
    """
    record = two.record
    t = record.sessions["day"].to_numpy(float)
    a, b = t[two.of_a], t[two.of_b]
    a_first = (a[0], a[-1]) <= (b[0], b[-1])
    early, late = (a, b) if a_first else (b, a)
    last, first = float(early[-1]), float(late[0])
    readers_a, readers_b = (_readers(tank, two, own) for own in (two.of_a, two.of_b))
    return WhenRead(
        one_sided=first - last > SAME_WATER_HOURS / 24,
        earlier=two.label_a if a_first else two.label_b,
        later=two.label_b if a_first else two.label_a,
        last=last,
        first=first,
        gaps=tuple(gap for gap in record.gaps() if gap[0] < first and gap[1] > last),
        notes=_notes(tank, record.element, last, first),
        apart=np.abs(b[:, None] - a[None, :]).min(axis=1),
        readers_differ=bool(readers_a and readers_b and not set(readers_a) & set(readers_b)),
        readers_a=readers_a,
        readers_b=readers_b,
        hourless=_hourless(tank, two),
    )


def _readers(tank: Tank, two: TwoKits, own: NDArray[np.bool_]) -> tuple[str, ...]:
    rows = {row for rows in two.record.sessions.loc[own, "rows"] for row in rows}
    read = tank.readings[tank.readings["row"].isin(rows)]["by"]
    names = [str(name).strip() for name in read]
    return tuple(sorted(set(names))) if names and all(names) else ()


def _notes(tank: Tank, element: str, last: float, first: float) -> tuple[str, ...]:
    events = tank.events
    own = events["element"].isin(["", element])
    own &= ~events["kind"].isin(["lot opened", "finding accepted", "finding rejected"])
    found = events[own]
    if found.empty:
        return ()
    at = days(found["time"])
    # A date without an hour may lie on either side.
    found = found[(at > np.floor(last)) & (at < np.ceil(first))]
    return tuple(
        f"{row.kind}: {row.note}" if row.note else str(row.kind)
        for row in found.itertuples(index=False)
    )


def _hourless(tank: Tank, two: TwoKits) -> tuple[tuple[float, float], ...]:
    record = two.record
    changes, s = tank.water_changes, record.sessions
    shots = record.doses.shots
    at_once = days(changes["time"]) if len(changes) else np.empty(0)
    if len(shots):
        at_once = np.concatenate(
            [at_once, shots.loc[~shots["standing"].astype(bool), "day"].to_numpy(float)]
        )
    moved = set(local_dates(at_once, record.zone))
    unsure = set(local_dates(s.loc[s["date_only"].astype(bool), "day"], record.zone)) & moved
    if len(changes):
        vague = changes[changes["date_only"].astype(bool)]
        unsure |= set(local_dates(days(vague["time"]) if len(vague) else [], record.zone))
    midnight = [pd.DatetimeIndex(sorted(unsure)) + pd.Timedelta(days=n) for n in (0, 1)]
    start, stop = (
        days(m.tz_localize(record.zone, ambiguous=[True] * len(m), nonexistent="shift_forward"))
        for m in midnight
    )
    return tuple(zip(start.tolist(), stop.tolist(), strict=True))
