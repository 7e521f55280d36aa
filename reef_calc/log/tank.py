"""A tank folder, opened: its description, its tables, and what was wrong with them."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Callable
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

import pandas as pd

from reef_calc.log.description import Description
from reef_calc.log.other_rows import (
    ADDITION_KINDS,
    CHANGE_KINDS,
    EVENT_COLUMN_KINDS,
    addition_from,
    close_open_rows,
    event_from,
    water_change_from,
)
from reef_calc.log.problems import Problem
from reef_calc.log.reading_rows import LISTED, READING_KINDS, ReadingRows
from reef_calc.log.rows import Row, RowRefused
from reef_calc.log.tables import COLUMNS, RawTable, frame, read_table
from reef_calc.log.toml_files import described, file_bytes

RowReader = Callable[[Row], dict[str, Any]]


@dataclass(frozen=True, eq=False, repr=False)
class Tank(Description):
    """A tank: what its TOML files describe, and its tables, read strictly and completely.

    Attributes
    ----------
    folder, name, state, zone, waters, aims, new_water, kits, supplements, standards, joins
        As in ``Description``.
    readings, additions, water_changes, events : pandas.DataFrame
        Rows in use, in order of time; times in UTC, ``row`` as a spreadsheet shows it. A row with
        a ``flag`` is in use as it stands.
    problems : tuple of Problem
        Everything refused, flagged or noted, in the order of the files.
    counts : pandas.DataFrame
        ``file``, ``rows``, ``read``, ``flagged``, ``refused``; the last three add up to the rows.
    raw : dict
        By file, all cells verbatim, refused rows too; the header is the first record.
    """

    readings: pd.DataFrame
    additions: pd.DataFrame
    water_changes: pd.DataFrame
    events: pd.DataFrame
    problems: tuple[Problem, ...]
    counts: pd.DataFrame
    raw: dict[str, tuple[tuple[str, ...], ...]]

    def __repr__(self) -> str:
        rows = ", ".join(
            f"{c.file}: {c.read} read, {c.flagged} flagged, {c.refused} refused"
            for c in self.counts.itertuples()
        )
        return f"Tank “{self.name}” ({self.waters[-1].net_L:g} L net; {rows})"


def open_tank(folder: str | Path, *, now: dt.datetime | None = None) -> Tank:
    """Return the tank that a folder holds.

    Every row of every table is read, flagged or refused; nothing is dropped, corrected or averaged.

    Parameters
    ----------
    folder : str or pathlib.Path
        Folder with ``tank.toml`` and, beside it, the other TOML files and the tables.
    now : datetime.datetime, optional
        Present time with zone, to flag times far ahead; the clock's when not given.

    Returns
    -------
    Tank
        The tank; ``problems`` says what was refused or flagged, and why.

    Raises
    ------
    TankFolderError
        If there is no usable ``tank.toml``: zone and net volume are needed for everything else.

    Examples
    --------
    >>> import tempfile
    >>> from reef_calc.log.folder import start_tank
    >>> place = start_tank(Path(tempfile.mkdtemp()) / "reef", "Reef", 300.0, "Europe/Berlin")
    >>> open_tank(place).waters[0].net_L
    300.0
    """
    folder = Path(folder)
    problems: list[Problem] = []
    description = described(folder, problems)
    readings = ReadingRows(description, now)
    read: dict[str, RowReader] = {
        "readings.csv": readings,
        "additions.csv": lambda row: addition_from(row, description, now),
        "water_changes.csv": lambda row: water_change_from(row, description, now),
        "events.csv": lambda row: event_from(row, description, now),
    }
    kinds = {
        "readings.csv": READING_KINDS,
        "additions.csv": ADDITION_KINDS,
        "water_changes.csv": CHANGE_KINDS,
        "events.csv": EVENT_COLUMN_KINDS,
    }
    frames: dict[str, pd.DataFrame] = {}
    raw: dict[str, tuple[tuple[str, ...], ...]] = {}
    counts: list[dict[str, Any]] = []
    for file in COLUMNS:
        table = read_table(file, file_bytes(folder / file))
        rows = _read_rows(table, read[file])
        frames[file] = frame(kinds[file], rows)
        raw[file] = table.cells
        counts.append(_count(table))
        problems += sorted(table.problems, key=lambda problem: problem.row or 0)
    of_the_folder = {one.name: getattr(description, one.name) for one in fields(Description)}
    return Tank(
        **of_the_folder,
        readings=frames["readings.csv"],
        additions=frames["additions.csv"],
        water_changes=frames["water_changes.csv"],
        events=frames["events.csv"],
        problems=tuple(problems),
        counts=pd.DataFrame(counts),
        raw=raw,
    )


def _read_rows(table: RawTable, read: RowReader) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    first: dict[tuple[str, ...], int] = {}
    for row in table.rows:
        cells = tuple(row.cells.values())
        try:
            values = read(row)
        except RowRefused as refused:
            table.problems.append(refused.problem)
            continue
        if cells in first:
            row.problems.clear()
            row.say(
                "",
                f"The whole row is the same as row {first[cells]} and is counted once.",
                "If both happened, tell them apart in replicate or note.",
            )
        else:
            first[cells] = row.number
            found.append(values)
        table.problems += row.problems
    when = "start" if table.file == "additions.csv" else "time"
    _say_unsorted(table, found, when)
    found.sort(key=lambda values: values[when])
    if table.file == "additions.csv":
        overlapping = close_open_rows(found, table.file)
        table.problems += overlapping
    is_readings = table.file == "readings.csv"
    listed = [values for values in found if is_readings and values["flag"].startswith(LISTED)]
    if listed:
        symbols = ", ".join(dict.fromkeys(values["element"] for values in listed))
        table.say(
            None, "element", "", "note",
            f"Kept as {LISTED}: {len(listed)} reading{'s' if len(listed) != 1 else ''} ({symbols}).", "",
        )  # fmt: skip
    return found


def _say_unsorted(table: RawTable, found: list[dict[str, Any]], when: str) -> None:
    early = [
        after["row"] for before, after in itertools.pairwise(found) if after[when] < before[when]
    ]
    if early:
        rows = ", ".join(map(str, early[:10])) + (" and more" if len(early) > 10 else "")
        table.say(
            None, when, "", "note",
            f"Rows were put in order of time; earlier than the row above: {rows}.", "",
        )  # fmt: skip


def _count(table: RawTable) -> dict[str, Any]:
    refused = {p.row for p in table.problems if p.severity == "refused" and (p.row or 0) > 1}
    flagged = {p.row for p in table.problems if p.severity == "flagged" and (p.row or 0) > 1}
    n_refused = table.count if table.refused_whole else len(refused)
    n_flagged = len(flagged - refused)
    return {
        "file": table.file,
        "rows": table.count,
        "read": table.count - n_refused - n_flagged,
        "flagged": n_flagged,
        "refused": n_refused,
    }
