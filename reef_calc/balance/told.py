"""What the keeper told the log: declared events, and decisions on earlier findings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reef_calc.balance.additions import days
from reef_calc.balance.findings import span_of
from reef_calc.balance.record import ElementRecord
from reef_calc.log.decisions import Decision, decisions_for
from reef_calc.log.tank import Tank

# Events that raise the expectation of a change of use around them.
RAISES = ("corals added", "corals removed", "lights changed", "flow changed", "pump measured")


@dataclass(frozen=True)
class Told:
    """What the keeper said of one element's history.

    Attributes
    ----------
    changes, lots : tuple of float
        Day numbers at which use may have changed, or another lot was opened.
    doubted, trusted : frozenset of int
        Rows of readings that the keeper agreed are gross errors, or stands by.
    quiet : tuple of (float, float)
        Spans (day numbers) in which the keeper says that nothing happened.
    decisions : dict
        Decisions by the key of the finding.
    """

    changes: tuple[float, ...]
    lots: tuple[float, ...]
    doubted: frozenset[int]
    trusted: frozenset[int]
    quiet: tuple[tuple[float, float], ...]
    decisions: dict[str, Decision]


def told_of(tank: Tank, element: str, record: ElementRecord) -> Told:
    """Return declared events and decisions that bear on one element.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element.
    record : ElementRecord
        Its sessions.

    Returns
    -------
    Told
        Day numbers and rows.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> tank = example_tank()
    >>> record = element_record(tank, "alkalinity", "dKH", pd.Timestamp("2026-02-16", tz="UTC"))
    >>> told_of(tank, "alkalinity", record).changes
    ()
    """
    events = tank.events
    own = events[events["element"].isin(["", element])]
    changes = list(days(own.loc[own["kind"].isin(RAISES), "time"]))
    labelled = len(set(zip(record.sessions["kit"], record.sessions["lot"], strict=True))) > 1
    lots = [] if labelled else list(days(own.loc[own["kind"] == "lot opened", "time"]))
    decisions = decisions_for(tank, element)
    doubted: set[int] = set()
    trusted: set[int] = set()
    quiet: list[tuple[float, float]] = []
    for decision in decisions.values():
        kind, start, stop = span_of(decision.key)
        accepted = decision.decision != "rejected"
        if kind == "gross error":
            at = np.abs(record.sessions["day"].to_numpy(float) - stop) < 2 / 1440
            rows = {row for rows in record.sessions.loc[at, "rows"] for row in rows}
            (doubted if accepted else trusted).update(rows)
        elif accepted and kind == "rate change":
            changes.append((start + stop) / 2)
        elif not accepted:
            quiet.append((start, stop))
    return Told(
        tuple(float(c) for c in changes),
        tuple(float(t) for t in lots),
        frozenset(doubted),
        frozenset(trusted),
        tuple(quiet),
        decisions,
    )
