"""The readings of a file as series in time, for the search for doubtful ones."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from operator import gt

import numpy as np

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.outcome import Entry, Mark
from reef_calc.log.foreign.plausible import Series, doubts

_SECONDS = 86400.0


def doubts_in(entries: Sequence[Entry], body: Body, tank: Description) -> tuple[Mark, ...]:
    """Return what is doubtful in readings that would be added, seen among the others of the file.

    Parameters
    ----------
    entries : sequence of Entry
        Readings.
    body : Body
        The rows they come from, for times and columns.
    tank : Description
        The tank, for its aims.

    Returns
    -------
    tuple of Mark
        Flags only; nothing is changed.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> doubts_in([], Body("a.csv", (), (), ()), example_tank())
    ()
    """
    when = {
        row: time.utc.timestamp() / _SECONDS
        for row, time in zip(body.rows, body.times, strict=True)
        if time.utc is not None
    }
    keys = {column.index: column.key for column in body.columns}
    groups: dict[tuple[int, str, str, str, str], list[Entry]] = defaultdict(list)
    for entry in entries:
        cells = entry.cells
        if entry.column is None or entry.row not in when:
            continue
        groups[
            (entry.column, cells["element"], cells["unit"], cells.get("kit", ""), cells["water"])
        ].append(entry)
    series = []
    for (column, element, unit, kit, water), group in groups.items():
        moments = [when[entry.row] for entry in group]
        if any(map(gt, moments, moments[1:])):
            group.sort(key=lambda entry: when[entry.row])
            moments.sort()
        series.append(
            Series(
                column,
                keys.get(column, ""),
                element,
                unit,
                tuple(entry.row for entry in group),
                np.array(moments),
                np.array([float(entry.cells["value"]) for entry in group]),
                tuple(entry.cells.get("limit", "") for entry in group),
                kit,
                water,
            )
        )
    return doubts(series, _aims(tank))


def without_guesses(marks: Sequence[Mark], doubts: Sequence[Mark]) -> list[Mark]:
    """Return marks without what is flagged better by the search among the other readings.

    Parameters
    ----------
    marks : sequence of Mark
        What is said already.
    doubts : sequence of Mark
        What the search says.

    Returns
    -------
    list of Mark
        Flags of impossible values in the same cells are left out: the search says what fits them.

    Examples
    --------
    >>> from reef_calc.log.foreign.outcome import Said
    >>> alone = Mark(2, 1, Said("flagged", "TANK_VALUE", "Too much.", likely="14.5"))
    >>> among = Mark(2, 1, Said("flagged", "WRONG_QUANTITY", "CaCO3?", likely="8.12"))
    >>> without_guesses([alone], [among])
    []
    """
    better = {(mark.row, mark.column) for mark in doubts if mark.said.likely}
    return [
        mark
        for mark in marks
        if mark.said.code != "TANK_VALUE"
        or mark.said.fate != "flagged"
        or (mark.row, mark.column) not in better
    ]


def _aims(tank: Description) -> dict[str, tuple[float, float]]:
    """Return the aims in the units in which elements are shown."""
    found = {}
    for name, aim in tank.aims.items():
        shown = ELEMENTS[name].display_unit
        try:
            low, high = (
                convert(
                    level, aim.unit, shown, name, salinity=tank.waters[-1].salinity,
                    temperature_C=tank.waters[-1].temperature_C,
                )
                for level in (aim.low, aim.high)
            )  # fmt: skip
        except InputError:
            continue
        found[name] = (low, high)
    return found


def with_doubts(entries: Sequence[Entry], marks: Sequence[Mark]) -> tuple[Entry, ...]:
    """Return entries whose notes name their doubts, so that the review can fit without them.

    Parameters
    ----------
    entries : sequence of Entry
        Readings.
    marks : sequence of Mark
        What is said.

    Returns
    -------
    tuple of Entry
        A note such as "doubt: 8.4?" is added where a cell is flagged with a likely value.

    Examples
    --------
    >>> from reef_calc.log.foreign.outcome import Said
    >>> mark = Mark(2, 1, Said("flagged", "SLIPPED_DIGITS", "A slip?", likely="8.4"))
    >>> with_doubts([Entry(2, 1, "readings.csv", {"value": "84"})], [mark])[0].cells["note"]
    'doubt: perhaps 8.4'
    """
    likely: dict[tuple[int, int | None], list[str]] = defaultdict(list)
    for mark in marks:
        if mark.said.fate == "flagged" and mark.said.likely:
            likely[(mark.row, mark.column)].append(mark.said.likely)
    if not likely:
        return tuple(entries)
    rows = {row for row, _ in likely}
    found = []
    for entry in entries:
        if entry.row not in rows:
            found.append(entry)
            continue
        words = list(dict.fromkeys(likely.get((entry.row, entry.column), ())))
        if words and entry.table == "readings.csv":
            doubt = f"doubt: perhaps {' or '.join(words)}"
            note = "; ".join(filter(None, [entry.cells.get("note", ""), doubt]))
            entry = Entry(entry.row, entry.column, entry.table, entry.cells | {"note": note})
        found.append(entry)
    return tuple(found)
