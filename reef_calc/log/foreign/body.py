"""The rows of a foreign table with every cell understood, and what a kind of file makes of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import compress

from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.outcome import CellNumber, CellTime, Entry, Mark, Question
from reef_calc.messages import Message


@dataclass(frozen=True)
class Body:
    """The data rows of a table, cell by cell.

    Attributes
    ----------
    file : str
        Name of the file.
    columns : tuple of Column
        Columns that hold something.
    rows : tuple of int
        Data rows, as a spreadsheet counts them, from 1.
    times : tuple of CellTime
        When, one for each row.
    numbers : dict of int to tuple of CellNumber
        By column (counted from 0): one for each row; only columns whose cells are numbers.
    texts : dict of int to tuple of str
        By column: the text of each row; all columns.
    ends : tuple of CellTime
        When a dose ends, one for each row; empty where the table has no such column.
    separator : str
        What parts the cells of a text file; empty for a workbook.
    """

    file: str
    columns: tuple[Column, ...]
    rows: tuple[int, ...]
    times: tuple[CellTime, ...]
    numbers: dict[int, tuple[CellNumber, ...]] = field(default_factory=dict)
    texts: dict[int, tuple[str, ...]] = field(default_factory=dict)
    ends: tuple[CellTime, ...] = ()
    separator: str = ""

    def having(self, role: str) -> tuple[Column, ...]:
        """Return the columns of one role.

        Parameters
        ----------
        role : str
            As ``Column.role``.

        Returns
        -------
        tuple of Column
            In the order of the file.

        Examples
        --------
        >>> Body("a.csv", (Column(0, "Date", "date"),), (), ()).having("date")[0].heading
        'Date'
        """
        return tuple(column for column in self.columns if column.role == role)

    def text(self, role: str, at: int) -> str:
        """Return the text of a row in the first column of a role, empty where there is none.

        Parameters
        ----------
        role : str
            As ``Column.role``.
        at : int
            Position of the row in ``rows``, an index from 0.

        Returns
        -------
        str
            The text.

        Examples
        --------
        >>> Body("a.csv", (), (2,), ()).text("note", 0)
        ''
        """
        found = self.having(role)
        return self.texts[found[0].index][at] if found else ""

    def only(self, wanted: Sequence[bool]) -> Body:
        """Return some of the rows.

        Parameters
        ----------
        wanted : sequence of bool
            For each row whether it is kept.

        Returns
        -------
        Body
            With the same columns.

        Examples
        --------
        >>> Body("a.csv", (), (2, 3), (CellTime(), CellTime())).only((False, True)).rows
        (3,)
        """
        if all(wanted):
            return self
        return replace(
            self,
            rows=tuple(compress(self.rows, wanted)),
            times=tuple(compress(self.times, wanted)),
            numbers={k: tuple(compress(v, wanted)) for k, v in self.numbers.items()},
            texts={k: tuple(compress(v, wanted)) for k, v in self.texts.items()},
            ends=tuple(compress(self.ends, wanted)),
        )


@dataclass(frozen=True)
class Made:
    """What a kind of file makes of its rows.

    Attributes
    ----------
    entries : tuple of Entry
        Rows for the tables of the tank folder; nothing of a cell that is asked or refused.
    marks : tuple of Mark
        What is said of rows and cells, beyond what their numbers and times say themselves.
    notes : tuple of Message
        What was assumed or done with all of them.
    questions : tuple of Question
        What has to be asked.
    """

    entries: tuple[Entry, ...] = ()
    marks: tuple[Mark, ...] = ()
    notes: tuple[Message, ...] = ()
    questions: tuple[Question, ...] = ()
