"""What becomes of every cell and row of a foreign table, and what has to be asked."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

# In order of gravity: a row's fate is the gravest of its cells.
Fate = Literal["read", "flagged", "asked", "refused"]
FATES: tuple[Fate, ...] = ("read", "flagged", "asked", "refused")
# Answers of the keeper by the key of the question; also what a profile remembers.
Answers = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Said:
    """What is said of one cell or row that is not simply read.

    Attributes
    ----------
    fate : {"read", "flagged", "asked", "refused"}
        Read: worth a word only. Flagged: taken as it stands, doubtful. Asked: waits for an answer.
        Refused: not taken.
    code : str
        Stable word in capitals, such as ``SLIPPED_DIGITS``.
    reason, repair : str
        Why, and what to do, in short sentences.
    question : str
        Key of the question it waits for; empty where it waits for none.
    likely : str
        What may be meant, as it would be typed; empty where nothing is suggested.
    chosen : bool
        Whether the keeper chose this, so that it needs no confirmation.
    """

    fate: Fate
    code: str
    reason: str
    repair: str = ""
    question: str = ""
    likely: str = ""
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class Mark:
    """What is said, and where.

    Attributes
    ----------
    row : int
        Row as a spreadsheet shows it, counted from 1.
    column : int or None
        Column counted from 0; None for the whole row.
    said : Said
        What is said.
    """

    row: int
    column: int | None
    said: Said


@dataclass(frozen=True)
class Choice:
    """One answer that is offered.

    Attributes
    ----------
    answer : str
        What is kept as the answer.
    label : str
        The answer in words.
    consequence : str
        What would follow from it, with numbers of this file.
    """

    answer: str
    label: str
    consequence: str = ""


@dataclass(frozen=True)
class Question:
    """Something the file cannot tell.

    Attributes
    ----------
    key : str
        Key of the answer: what is asked, a slash, and the column's key, such as ``day or month/date``.
    text : str
        The question, a sentence or two.
    choices : tuple of Choice
        Answers offered; empty where a text is to be typed.
    rows : tuple of int
        Rows (counted from 1) that wait for it, or rest on what is assumed.
    column : int or None
        Column counted from 0; None for the whole file.
    typed : str
        Label of the field where an answer is typed, such as ``mL per drop``; empty: choices only.
    assumed : str
        Answer that holds until another is chosen; empty where nothing is assumed and the rows wait.
    answered : str
        Answer of the keeper; empty while there is none.
    """

    key: str
    text: str
    choices: tuple[Choice, ...] = ()
    rows: tuple[int, ...] = ()
    column: int | None = None
    typed: str = ""
    assumed: str = ""
    answered: str = ""

    @property
    def open(self) -> bool:
        """Whether rows wait for an answer."""
        return not self.answered and not self.assumed


@dataclass(frozen=True, slots=True)
class CellNumber:
    """What a cell says as a number, in whatever unit its column states.

    Attributes
    ----------
    value : float
        The number; for an interval its lower end; NaN where there is none.
    limit : {"", "<", ">", "between"}
        As in ``readings.csv``.
    upper : float
        Upper end of an interval; NaN otherwise.
    unit : str
        Unit that stands in the cell, as written; empty where none does.
    remark : str
        What is kept in the note, such as ``written as ~8``; empty where nothing is.
    said : tuple of Said
        What is said of it; empty where it is simply read. A cell that is asked or refused gives no
        reading.
    """

    value: float = math.nan
    limit: str = ""
    upper: float = math.nan
    unit: str = ""
    remark: str = ""
    said: tuple[Said, ...] = ()


@dataclass(frozen=True, slots=True)
class CellTime:
    """What one or two cells say as a time.

    Attributes
    ----------
    iso : str
        As it is written into a table of the tank folder: a date, or date and time in the tank's zone,
        with an offset where the clock showed it twice or never; empty where there is none.
    utc : datetime.datetime or None
        The moment; of a date alone 12:00 in the tank's zone.
    date_only : bool
        Whether no time of day is known.
    said : tuple of Said
        What is said of it.
    """

    iso: str = ""
    utc: dt.datetime | None = None
    date_only: bool = False
    said: tuple[Said, ...] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """One row that would be added to a table of the tank folder.

    Attributes
    ----------
    row : int
        Row of the file it comes from, counted from 1; of a day of a logger, its first row.
    column : int or None
        Column of the value, counted from 0; None where the whole row is one entry.
    table : str
        ``readings.csv``, ``additions.csv`` or ``water_changes.csv``.
    cells : dict of str to str
        Cells by column of that table.
    """

    row: int
    column: int | None
    table: str
    cells: dict[str, str]


def worst(fates: Iterable[Fate]) -> Fate:
    """Return the gravest of some fates, "read" where there are none.

    Parameters
    ----------
    fates : iterable of str
        Fates.

    Returns
    -------
    str
        The gravest.

    Examples
    --------
    >>> worst(["read", "asked", "flagged"])
    'asked'
    """
    return max(fates, key=FATES.index, default="read")
