"""Reading one row cell by cell without guessing: what cannot be read gives the row up, in words."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, NoReturn

from reef_calc.chem.numbers import parse_number
from reef_calc.errors import InputError
from reef_calc.log.problems import Problem, Severity


class RowRefused(Exception):  # noqa: N818 - a signal inside this floor, never shown
    """Leaves the reading of one row; carries the problem.

    Parameters
    ----------
    problem : Problem
        Why the row is given up.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem


@dataclass
class Row:
    """One row while it is read: its cells by column, and the flags it collects.

    Attributes
    ----------
    file : str
        File it stands in.
    number : int
        Row as a spreadsheet shows it.
    cells : dict of str to str
        Text by column, without spaces at the ends; missing columns are empty.
    problems : list of Problem
        Flags and notes so far.
    """

    file: str
    number: int
    cells: dict[str, str]
    problems: list[Problem] = field(default_factory=list)

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")

    def say(
        self, column: str, reason: str, repair: str = "", severity: Severity = "flagged"
    ) -> None:
        """Add a flag (or a note) to the row, which stays in use.

        Parameters
        ----------
        column, reason, repair : str
            Where, why, and what to do.
        severity : {"flagged", "note"}
            How grave.
        """
        self.problems.append(
            Problem(self.file, self.number, column, self[column], severity, reason, repair)
        )

    def refuse(self, column: str, reason: str, repair: str) -> NoReturn:
        """Give the row up.

        Parameters
        ----------
        column, reason, repair : str
            Where, why, and what to do.

        Raises
        ------
        RowRefused
            Always.
        """
        raise RowRefused(
            Problem(self.file, self.number, column, self[column], "refused", reason, repair)
        )

    def needed(self, column: str) -> str:
        """Return the text of a cell that may not be empty.

        Parameters
        ----------
        column : str
            Name of the column.

        Returns
        -------
        str
            The text.

        Raises
        ------
        RowRefused
            If the cell is empty.
        """
        if not self[column]:
            self.refuse(column, f"The cell {column} is empty.", "Fill it in.")
        return self[column]

    def read(self, column: str, reader: Callable[[str], Any]) -> Any:
        """Return what a function makes of a cell; its error becomes the row's refusal.

        Parameters
        ----------
        column : str
            Name of the column.
        reader : callable
            Takes the text, may raise ``InputError``.

        Returns
        -------
        Any
            What the function returns.

        Raises
        ------
        RowRefused
            If the function raises ``InputError``.
        """
        try:
            return reader(self[column])
        except InputError as err:
            self.refuse(column, f"Needed {err.needed}.", err.repair)

    def number_in(self, column: str) -> float:
        """Return the number in a cell, NaN when the cell is empty.

        Parameters
        ----------
        column : str
            Name of the column.

        Returns
        -------
        float
            The number, in whatever unit the row says.

        Raises
        ------
        RowRefused
            If the text is not a number.
        """
        if not self[column]:
            return math.nan
        return float(self.read(column, parse_number))

    def one_of(self, column: str, words: Sequence[str]) -> str:
        """Return a word of a closed list.

        Parameters
        ----------
        column : str
            Name of the column.
        words : sequence of str
            The words allowed; an empty one allows an empty cell.

        Returns
        -------
        str
            The word.

        Raises
        ------
        RowRefused
            If the cell holds another word.
        """
        if self[column] not in words:
            named = ", ".join(word or "nothing" for word in words)
            self.refuse(column, f"Needed one of: {named}.", "Write one of these.")
        return self[column]

    @property
    def flag(self) -> str:
        """The reasons of the flags and notes so far, in one text; empty when there are none."""
        return " ".join(problem.reason for problem in self.problems)
