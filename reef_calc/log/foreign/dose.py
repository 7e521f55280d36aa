"""One dose of a foreign table while it is read, and what is said of all of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.dose_amounts import DoseCell
from reef_calc.log.foreign.outcome import Answers, CellNumber, Mark, Question, Said
from reef_calc.messages import Message


@dataclass(slots=True)
class Dose:
    """One dose while it is read.

    Attributes
    ----------
    at : int
        Position of its row in the body, an index from 0.
    column : Column
        Column of its amount.
    name, supplement : str
        As the file names it; as the tank does.
    cell : DoseCell
        What its cell says.
    number : CellNumber
        Its number.
    unit, how : str
        As in ``additions.csv``; empty while not known.
    amount : float
        Amount in that unit, per day or once; NaN while not known.
    remark : str
        What the note keeps.
    """

    at: int
    column: Column
    name: str
    cell: DoseCell
    number: CellNumber
    supplement: str = ""
    unit: str = ""
    how: str = ""
    amount: float = math.nan
    remark: str = ""


@dataclass
class DosesFound:
    """What is read and said of the doses of one table so far.

    Attributes
    ----------
    body : Body
        The rows.
    tank : Description
        The tank.
    answers : dict of str to str
        Answers so far.
    marks, notes, questions : list, list, dict
        As in ``Made``; questions by their key.
    """

    body: Body
    tank: Description
    answers: Answers
    marks: list[Mark] = field(default_factory=list)
    notes: list[Message] = field(default_factory=list)
    questions: dict[str, Question] = field(default_factory=dict)

    def mark(self, dose: Dose, said: Said) -> None:
        """Say something of the cell of a dose.

        Parameters
        ----------
        dose : Dose
            The dose.
        said : Said
            What is said.
        """
        self.marks.append(Mark(self.body.rows[dose.at], dose.column.index, said))

    def rows(self, doses: Sequence[Dose]) -> tuple[int, ...]:
        """Return the rows of some doses as a spreadsheet counts them.

        Parameters
        ----------
        doses : sequence of Dose
            Doses.

        Returns
        -------
        tuple of int
            Rows from 1, each once.
        """
        return tuple(dict.fromkeys(self.body.rows[dose.at] for dose in doses))
