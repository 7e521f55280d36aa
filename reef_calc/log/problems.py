"""What was refused, flagged or noted while a tank folder was read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["refused", "flagged", "note"]


def printable(text: str) -> str:
    r"""Return a text that can be printed and fits a line.

    Parameters
    ----------
    text : str
        Any text, also one with bytes that were not UTF-8.

    Returns
    -------
    str
        At most 80 characters, bytes that could not be read shown as question marks.

    Examples
    --------
    >>> printable("8,3\n")
    '8,3 '
    """
    line = "".join(c if c.isprintable() else " " for c in text.encode("utf-8", "replace").decode())
    return line if len(line) <= 80 else line[:77] + "..."


@dataclass(frozen=True)
class Problem:
    """One thing about a file that its owner should know.

    Attributes
    ----------
    file : str
        File in the tank folder.
    row : int or None
        Row as a spreadsheet shows it (the header is row 1); None for the whole file.
    column : str
        Column, or table and key of a TOML file; empty for a whole row or file.
    text : str
        Text of the cell as it stands in the file.
    severity : {"refused", "flagged", "note"}
        Refused: not used. Flagged: used as it stands, but doubtful. Note: worth knowing.
    reason, repair : str
        Why, and what to do about it, in short sentences.

    Examples
    --------
    >>> print(Problem("readings.csv", 5, "value", "8,3", "refused", "A comma.", "Write 8.3."))
    readings.csv, row 5, column value, “8,3”: refused. A comma. Write 8.3.
    """

    file: str
    row: int | None
    column: str
    text: str
    severity: Severity
    reason: str
    repair: str = ""

    def __str__(self) -> str:
        place = self.file
        if self.row is not None:
            place += f", row {self.row}"
        if self.column:
            place += f", column {self.column}" if self.row is not None else f", {self.column}"
        if self.text:
            place += f", “{printable(self.text)}”"
        return f"{place}: {self.severity}. {self.reason} {self.repair}".rstrip()
