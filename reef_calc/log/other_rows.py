"""One row of ``additions.csv``, ``water_changes.csv`` or ``events.csv``."""

from __future__ import annotations

import datetime as dt
import math
import re
from typing import Any

from reef_calc.chem.elements import ELEMENTS, element
from reef_calc.chem.supplements import level_rise
from reef_calc.log.description import Description
from reef_calc.log.problems import Problem
from reef_calc.log.reading_rows import time_in
from reef_calc.log.rows import Row

HOW = ("per day", "once", "not logged")
EVENT_KINDS = (
    "corals added",
    "corals removed",
    "lights changed",
    "flow changed",
    "pump measured",
    "lot opened",
    "illness or medication",
    "finding accepted",
    "finding rejected",
    "other",
)
ADDITION_KINDS: dict[str, str] = {
    "row": "int64",
    "start": "time",
    "end": "time",
    "stop": "time",
    "start_date_only": "bool",
    "supplement": "str",
    "amount": "float64",
    "unit": "str",
    "how": "str",
    "times": "str",
    "note": "str",
    "flag": "str",
}
CHANGE_KINDS: dict[str, str] = {
    "row": "int64",
    "time": "time",
    "date_only": "bool",
    "litres": "float64",
    "fraction": "float64",
    "salinity": "float64",
    "note": "str",
    "flag": "str",
}
EVENT_COLUMN_KINDS: dict[str, str] = {
    "row": "int64",
    "time": "time",
    "date_only": "bool",
    "kind": "str",
    "element": "str",
    "refers_to": "str",
    "value": "float64",
    "unit": "str",
    "note": "str",
    "flag": "str",
}
_CLOCK = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")


def addition_from(row: Row, tank: Description, now: dt.datetime | None) -> dict[str, Any]:
    """Return the values of one row of ``additions.csv`` by column of ``ADDITION_KINDS``.

    Parameters
    ----------
    row : Row
        The row; flags are added to it.
    tank : Description
        The tank.
    now : datetime.datetime or None
        Present time.

    Returns
    -------
    dict of str to Any
        ``end`` and ``stop`` are None while open; amounts as typed, in ``unit`` (per day).

    Raises
    ------
    RowRefused
        If the row cannot be used.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> cells = {"start": "2026-01-20T08:00", "supplement": "part one", "amount": "12", "unit": "mL",
    ...     "how": "once"}
    >>> found = addition_from(Row("additions.csv", 3, cells), example_tank(), None)
    >>> found["amount"], found["stop"].isoformat()
    (12.0, '2026-01-20T07:00:00+00:00')
    """
    start = time_in(row, "start", tank.zone, now)
    end = time_in(row, "end", tank.zone, now).utc if row["end"] else None
    supplement = row.needed("supplement")
    if supplement not in tank.supplements:
        row.refuse(
            "supplement",
            "This supplement is not described, or its description was refused.",
            "Describe it in supplements.toml: recipe or label.",
        )
    how = row.one_of("how", HOW)
    if how != "not logged":
        row.needed("amount")
    amount = row.number_in("amount")
    if amount < 0.0:
        row.refuse("amount", "A dose below zero does not exist.", "Check sign and number.")
    if row["unit"] or how != "not logged":
        # A rise of nothing is worked out because that says which units fit this supplement.
        described = tank.supplements[supplement]
        row.read("unit", lambda unit: level_rise(described, 0.0, unit, "calcium", 1.0, "mg/L"))
    if how == "once" and end is not None and end != start.utc:
        row.refuse("end", "A single dose has no end.", "Empty the cell, or write per day.")
    if how != "once" and end is not None and end <= start.utc:
        row.refuse("end", "The end is not after the start.", "Check both times.")
    _check_clock_times(row, how)
    return {name: row[name] for name in ADDITION_KINDS} | {
        "row": row.number,
        "start": start.utc,
        "end": end,
        "stop": start.utc if how == "once" else end,
        "start_date_only": start.date_only,
        "amount": amount,
        "flag": row.flag,
    }


def close_open_rows(rows: list[dict[str, Any]], file: str) -> list[Problem]:
    """Set ``stop`` of open rows to the supplement's next ``per day`` row; refuse what overlaps.

    A single dose and a ``not logged`` row do not stop a pump; only the next ``per day`` row does.

    Parameters
    ----------
    rows : list of dict
        Rows of ``additions.csv`` in order of start; changed in place, overlapping rows taken out.
    file : str
        Name of the file, for the problems.

    Returns
    -------
    list of Problem
        One refusal for each ``per day`` row that begins before an earlier one of the same
        supplement has ended.

    Examples
    --------
    >>> first = {"row": 2, "supplement": "part one", "how": "per day", "start": 1, "end": None,
    ...     "stop": None}
    >>> rows = [first, first | {"row": 3, "start": 5}]
    >>> close_open_rows(rows, "additions.csv"), rows[0]["stop"], rows[1]["stop"]
    ([], 5, None)
    """
    problems: list[Problem] = []
    running: dict[str, dict[str, Any]] = {}
    for row in [row for row in rows if row["how"] == "per day"]:
        before = running.get(row["supplement"])
        if before is not None and (
            row["start"] == before["start"] or (before["end"] and before["end"] > row["start"])
        ):
            rows.remove(row)
            problems.append(
                Problem(
                    file,
                    row["row"],
                    "start",
                    row["supplement"],
                    "refused",
                    f"The dose per day of row {before['row']} still runs at this start, "
                    "so two rows would count at once.",
                    "End one row where the next begins, or add the two amounts up.",
                )
            )
            continue
        if before is not None and before["stop"] is None:
            before["stop"] = row["start"]
        running[row["supplement"]] = row
    for row in rows:
        if row["how"] == "not logged" and row["stop"] is None:
            row["stop"] = min(
                (
                    other["start"]
                    for other in rows
                    if other["how"] == "per day"
                    and other["supplement"] == row["supplement"]
                    and other["start"] > row["start"]
                ),
                default=None,
            )
    return problems


def water_change_from(row: Row, tank: Description, now: dt.datetime | None) -> dict[str, Any]:
    """Return the values of one row of ``water_changes.csv`` by column of ``CHANGE_KINDS``.

    Parameters
    ----------
    row : Row
        The row; flags are added to it.
    tank : Description
        The tank.
    now : datetime.datetime or None
        Present time.

    Returns
    -------
    dict of str to Any
        ``fraction`` is litres over the net volume of that time.

    Raises
    ------
    RowRefused
        If the row cannot be used; also when all of the water or more would be changed.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> row = Row("water_changes.csv", 2, {"time": "2026-02-13T10:00", "litres": "30"})
    >>> water_change_from(row, example_tank(), None)["fraction"]
    0.1
    """
    moment = time_in(row, "time", tank.zone, now)
    row.needed("litres")
    litres, salinity = row.number_in("litres"), row.number_in("salinity")
    water = tank.water_at(moment.utc)
    if litres <= 0.0:
        row.refuse("litres", "Needed litres above 0.", "Check the number, or delete the row.")
    if litres >= water.net_L:
        row.refuse(
            "litres",
            f"The tank holds {water.net_L:g} L net: this would be 100 % or more of it.",
            "Check the litres, or net_L in tank.toml.",
        )
    if salinity < 0.0:
        row.refuse("salinity", "A salinity below zero does not exist.", "Check the number.")
    normal = ELEMENTS["salinity"]
    if not math.isnan(salinity) and not normal.lowest <= salinity <= normal.highest:
        row.say("salinity", "This is no salinity of water for a reef tank.")
    if moment.utc < tank.waters[0].start:
        row.say("time", "No [[water]] holds for this day yet: the first one is taken.", "Add one.")
    return {name: row[name] for name in CHANGE_KINDS} | {
        "row": row.number,
        "time": moment.utc,
        "date_only": moment.date_only,
        "litres": litres,
        "fraction": litres / water.net_L,
        "salinity": salinity,
        "flag": row.flag,
    }


def event_from(row: Row, tank: Description, now: dt.datetime | None) -> dict[str, Any]:
    """Return the values of one row of ``events.csv`` by column of ``EVENT_COLUMN_KINDS``.

    Parameters
    ----------
    row : Row
        The row; flags are added to it.
    tank : Description
        The tank.
    now : datetime.datetime or None
        Present time.

    Returns
    -------
    dict of str to Any
        Value as typed, in ``unit``; element empty where none is named.

    Raises
    ------
    RowRefused
        If the row cannot be used.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> row = Row("events.csv", 2, {"time": "2026-02-13", "kind": "corals added"})
    >>> found = event_from(row, example_tank(), None)
    >>> found["kind"], found["date_only"]
    ('corals added', True)
    """
    moment = time_in(row, "time", tank.zone, now)
    row.one_of("kind", EVENT_KINDS)
    named = row.read("element", element).name if row["element"] else ""
    return {name: row[name] for name in EVENT_COLUMN_KINDS} | {
        "row": row.number,
        "time": moment.utc,
        "date_only": moment.date_only,
        "element": named,
        "value": row.number_in("value"),
        "flag": row.flag,
    }


def _check_clock_times(row: Row, how: str) -> None:
    if not row["times"]:
        return
    for text in row["times"].split(";"):
        if not _CLOCK.fullmatch(text.strip()):
            row.refuse("times", "Needed clock times such as 06:00;18:00.", "Write two digits each.")
    if how != "per day":
        row.say("times", "Clock times count for doses per day only; they are not used here.")
