"""A foreign file as it was understood: what would be added, what is asked, and the sums."""

from __future__ import annotations

import html
from dataclasses import dataclass

import pandas as pd

from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.grid import Grid
from reef_calc.log.foreign.outcome import Entry, Fate, Mark, Question
from reef_calc.messages import Message


@dataclass(frozen=True)
class Counts:
    """How many rows became what.

    Attributes
    ----------
    lines : int
        Number of all rows of the file.
    headings, not_read, blank : int
        Number of rows of headings and units; of text above and below the table; of empty rows.
    read, flagged, asked, refused : int
        Number of data rows by the gravest fate of their cells.
    """

    lines: int
    headings: int
    not_read: int
    blank: int
    read: int
    flagged: int
    asked: int
    refused: int

    @property
    def data(self) -> int:
        """Number of data rows."""
        return self.read + self.flagged + self.asked + self.refused


@dataclass(frozen=True)
class Understood:
    """A foreign file as it was understood.

    Attributes
    ----------
    grid : Grid
        The table as it stands.
    kind : str
        What its rows are: readings, logger, additions, water changes or volumes.
    columns : tuple of Column
        What the columns mean.
    heading_rows : tuple of int
        Rows of headings and units, as a spreadsheet counts them, from 1.
    data_rows : tuple of int
        Data rows, from 1.
    not_read : tuple of (int, str)
        Rows that are no data, from 1, and why; empty rows are not among them.
    fates : dict of int to str
        Fate of each data row.
    marks : tuple of Mark
        What is said of cells and rows that are not simply read.
    notes : tuple of Message
        How the file was understood, an assumption each.
    questions : tuple of Question
        What is asked or rests on an assumption.
    entries : tuple of Entry
        What would be added now.
    counts : Counts
        The sums.
    refusal : str
        Why no row can be read, with the repair; empty where rows can be read.
    """

    grid: Grid
    kind: str
    columns: tuple[Column, ...]
    heading_rows: tuple[int, ...]
    data_rows: tuple[int, ...]
    not_read: tuple[tuple[int, str], ...]
    fates: dict[int, Fate]
    marks: tuple[Mark, ...]
    notes: tuple[Message, ...]
    questions: tuple[Question, ...]
    entries: tuple[Entry, ...]
    counts: Counts
    refusal: str = ""

    @property
    def messages(self) -> tuple[Message, ...]:
        """How the file was understood: the notes."""
        return self.notes

    @property
    def summary(self) -> pd.DataFrame:
        """What would be added, a row each: row of the file, table, and the cells."""
        return pd.DataFrame(
            [{"row": e.row, "table": e.table, **e.cells} for e in self.entries],
            columns=None if self.entries else ["row", "table"],
        ).fillna("")

    def _repr_html_(self) -> str:
        c = self.counts
        sums = f"{c.read} read + {c.flagged} flagged + {c.asked} asked + {c.refused} refused"
        told = self.refusal or f"{len(self.entries)} entries would be added"
        said = html.escape(f"{self.grid.file}: {told}. {c.data} rows with data = {sums}.")
        return f"<p>{said}</p>{self.summary.head(20).to_html(index=False)}"
