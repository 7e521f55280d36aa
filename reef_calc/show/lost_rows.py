"""Doses and water changes that could not be read: without them no rate can be trusted."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from reef_calc.balance.consumption import HISTORY_DAYS
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.log.problems import Problem
from reef_calc.log.tank import Tank
from reef_calc.messages import Message

FILES = {"additions.csv": "start", "water_changes.csv": "time"}
KEPT = ("POSSIBLE_GROSS",)


def lost_rows(tank: Tank, element: str, end: pd.Timestamp) -> str:
    """Return which rows that may have moved an element could not be read.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element of the closed list.
    end : pandas.Timestamp
        End of the month (UTC); later rows do not matter yet.

    Returns
    -------
    str
        Such as "additions.csv, row 2" or "additions.csv, row 2 and 1 more"; empty when none.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> lost_rows(example_tank(), "alkalinity", pd.Timestamp("2026-03-01", tz="UTC"))
    ''
    """
    lost = [
        p
        for p in tank.problems
        if p.severity == "refused" and p.file in FILES and _matters(tank, p, element, end)
    ]
    places = list(dict.fromkeys((p.file, p.row) for p in lost))
    if not places:
        return ""
    file, row = places[0]
    more = f" and {len(places) - 1} more" if len(places) > 1 else ""
    return f"{file}, row {row}{more}" if row is not None else f"{file}{more}"


def set_rate_aside(use: ConsumptionEstimate, rows: str) -> ConsumptionEstimate:
    """Return an estimate that says nothing of the rate, and why.

    Parameters
    ----------
    use : ConsumptionEstimate
        The estimate as worked out without those rows.
    rows : str
        The rows, from ``lost_rows``.

    Returns
    -------
    ConsumptionEstimate
        The same readings, without a rate, a dose or months.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> use = set_rate_aside(estimate_consumption(example_tank(), "alkalinity"), "additions.csv, row 2")
    >>> use.rate is None, use.messages[0].text
    (True, 'No rate: additions.csv, row 2 could not be read, and what it moved is missing. Repair it ...')
    """
    text = (
        f"No rate: {rows} could not be read, and what it moved is missing. Repair it first; it "
        "stands under “Readings to doubt”."
    )
    return replace(
        use,
        rate=None,
        low=None,
        high=None,
        basis="",
        dose_now=None,
        months=use.months.iloc[:0],
        monthly=None,
        cross_checks=use.cross_checks.iloc[:0],
        budget=use.budget.iloc[:0],
        weights=use.weights.iloc[:0],
        arithmetic=(),
        expected_last=None,
        level_now=None,
        what_helps="",
        messages=(
            Message("ROWS_REFUSED", text, "refused"),
            *(m for m in use.messages if m.code in KEPT),
        ),
    )


def _matters(tank: Tank, problem: Problem, element: str, end: pd.Timestamp) -> bool:
    """Whether a refused row may have moved the element by the end; in doubt, yes."""
    if problem.row is None or problem.row < 2:
        return True
    header, *rows = tank.raw[problem.file] or ((),)
    cells = rows[problem.row - 2] if problem.row - 2 < len(rows) else ()
    if len(cells) != len(header):
        return True
    row = dict(zip((name.strip() for name in header), cells, strict=True))
    text = row.get(FILES[problem.file], "").strip()[:10]
    day = pd.to_datetime(text, format="%Y-%m-%d", errors="coerce", utc=True)
    if not pd.isna(day):
        # A day more on either side, since the zone of the text is not looked at.
        ago = (end - day) / pd.Timedelta(days=1)
        standing = problem.file == "additions.csv" and row.get("how", "").strip() != "once"
        if ago < -1 or (ago > HISTORY_DAYS + 1 and not standing):
            return False
    supplement = tank.supplements.get(row.get("supplement", "").strip())
    return supplement is None or bool(supplement.adds.get(element))
