"""Changes from one supplement to another that additions.csv tells of."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import pandas as pd

from reef_calc.log.tank import Tank
from reef_calc.plan.change_also import USED
from reef_calc.plan.did_it_work import BEFORE_DAYS, SHORTEST_DAYS

# A pause longer than this ends a time of dosing (own choice).
PAUSE = pd.Timedelta(days=14)
BEFORE = pd.Timedelta(days=BEFORE_DAYS)
# The old one may end a little before the new one begins, or after a long cross-fade.
ENDS_FROM, ENDS_UNTIL = pd.Timedelta(days=-14), pd.Timedelta(days=62)


@dataclass(frozen=True)
class LoggedChange:
    """A supplement that began, and what ended about then.

    Attributes
    ----------
    new : str
        What began.
    date : datetime.date
        Date of its first dose in the tank's zone.
    given_before : bool
        Whether it was given in an earlier time too.
    ended : tuple of str
        Supplements that add one of the same elements and ended; empty where none did.
    elements : tuple of str
        What the new one adds of what corals use; what an ended one added too comes first.
    """

    new: str
    date: dt.date
    given_before: bool
    ended: tuple[str, ...]
    elements: tuple[str, ...]


def logged_changes(tank: Tank) -> list[LoggedChange]:
    """Return the changes of supplement that the log tells of, the newest first.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.

    Returns
    -------
    list of LoggedChange
        Supplements that began after six weeks without them, with tests before, and were given for a
        week or longer; those in whose place another ended come before the rest.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> logged_changes(example_tank())  # one supplement, dosed from the first day on
    []
    """
    runs = {name: _runs(tank, name) for name in tank.supplements}
    first_test = tank.readings["time"].min() if len(tank.readings) else None
    found = []
    for name, own in runs.items():
        elements = [one for one in USED if tank.supplements[name].adds.get(one, 0.0) > 0.0]
        for place, (start, stop) in enumerate(own):
            if first_test is None or start <= first_test or not elements:
                continue
            if place and own[place - 1][1] > start - BEFORE:
                continue
            if stop - start < pd.Timedelta(days=SHORTEST_DAYS):
                continue
            ended = [
                other
                for other, times in runs.items()
                if other != name
                and any(tank.supplements[other].adds.get(one, 0.0) > 0.0 for one in elements)
                and any(s < start and ENDS_FROM <= e - start <= ENDS_UNTIL for s, e in times)
            ]
            shared = [
                one for one in elements if any(tank.supplements[o].adds.get(one) for o in ended)
            ]
            found.append(
                LoggedChange(
                    name,
                    start.tz_convert(tank.zone).date(),
                    place > 0,
                    tuple(ended),
                    tuple(dict.fromkeys(shared + elements)),
                )
            )
    return sorted(found, key=lambda one: (bool(one.ended), one.date), reverse=True)


def _runs(tank: Tank, name: str) -> list[tuple[pd.Timestamp, pd.Timestamp]]:
    """Return the times in which a supplement was given, short pauses joined."""
    rows = tank.additions[tank.additions["supplement"] == name].sort_values("start")
    far = pd.Timestamp("2200-01-01", tz="UTC")
    spans = []
    for row in rows.itertuples():
        if row.how == "once":
            if row.amount > 0:
                spans.append((row.start, row.start))
        elif row.how == "not logged" or row.amount > 0:
            spans.append((row.start, far if pd.isna(row.stop) else row.stop))
    if not spans:
        return []
    joined = [spans[0]]
    for start, stop in spans[1:]:
        before = joined[-1]
        if start - before[1] <= PAUSE:
            joined[-1] = (before[0], max(before[1], stop))
        else:
            joined.append((start, stop))
    return joined
