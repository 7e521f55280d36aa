"""What each column of a foreign table means."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from reef_calc.log.foreign.grid import column_letter

Role = Literal[
    "date", "time", "value", "unit", "element", "kit", "lot", "water", "tank", "replicate", "raw",
    "u", "limit", "upper", "salinity", "temperature", "by", "source", "note", "supplement", "amount",
    "how", "end", "litres", "volume", "average", "not used", "unknown",
]  # fmt: skip
# What the rows of a file are.
Kind = Literal["readings", "logger", "additions", "water changes", "volumes"]


@dataclass(frozen=True)
class Column:
    """One column of a foreign table.

    Attributes
    ----------
    index : int
        Column counted from 0.
    heading : str
        What stands above it, of two rows joined by a blank; empty where nothing does.
    role : str
        What its cells are. ``value``: numbers of one element (wide layout) or of many (a column
        ``element`` says which). ``date`` may hold the time of day too; ``time`` is a time of day beside
        a date. ``average``: a mean worked out by the spreadsheet, not used. ``unknown``: to be asked.
    element : str
        Element of the closed list, or the symbol of another chemical element; empty where the column
        does not say.
    unit : str
        Unit word of the element's closed list; empty where it is not known.
    unit_text : str
        Unit as written in the heading or below it.
    kit, lot, water : str
        As the heading says; empty where it does not.
    key : str
        What questions and profiles call it: the heading, or "column B"; made unique.
    part : str
        Part of the day that the heading names, such as ``morning``; empty where it names none.
    """

    index: int
    heading: str
    role: str
    element: str = ""
    unit: str = ""
    unit_text: str = ""
    kit: str = ""
    lot: str = ""
    water: str = ""
    key: str = ""
    part: str = ""


def with_keys(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Return columns, each with a key of its own.

    Parameters
    ----------
    columns : tuple of Column
        Columns.

    Returns
    -------
    tuple of Column
        With keys: the heading, with the letter of the column where that is empty or there twice.

    Examples
    --------
    >>> twice = (Column(0, "KH", "value"), Column(1, "KH", "value"), Column(2, "", "note"))
    >>> [column.key for column in with_keys(twice)]
    ['KH', 'KH (column B)', 'column C']
    """
    found, seen = [], set()
    for column in columns:
        key = column.heading or f"column {column_letter(column.index)}"
        if key in seen:
            key = f"{key} (column {column_letter(column.index)})"
        seen.add(key)
        found.append(replace(column, key=key))
    return tuple(found)
