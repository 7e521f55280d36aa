"""A table of tanks and their volumes: what each row would mean, and where a volume belongs."""

from __future__ import annotations

import math

from reef_calc.chem.numbers import parse_typed_number
from reef_calc.errors import InputError
from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.outcome import Answers, Mark, Question, Said
from reef_calc.log.foreign.volume_cells import VolumeCell
from reef_calc.log.foreign.volume_column import Volumes, chosen_or_told, volumes_of
from reef_calc.messages import Message

# Below this no tank is dosed by volume; m³ is likelier (common practice, no source).
_SMALL_L = 5.0
_NO_DOSE = "No dose can be worked out without a volume above 0 L."
_BELONGS = Message(
    "VOLUME_BELONGS",
    "Volumes are no rows of a log, so nothing is added. Write the net volume of this tank, its water "
    "without rock and sand, as net_L into tank.toml.",
)


def volumes_from(body: Body, tank: Description, answers: Answers) -> Made:
    """Return what the rows of a table of volumes mean; no entries.

    Parameters
    ----------
    body : Body
        The rows, cell by cell.
    tank : Description
        The tank; not needed.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Made
        Each row read, flagged, asked or refused, with its litres, and where the volume belongs.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.columns import Column
    >>> column = Column(1, "volume", "volume", key="volume")
    >>> body = Body("a.csv", (column,), (2, 3), (), {}, {1: ("380 L", "0")})
    >>> [mark.said.code for mark in volumes_from(body, example_tank(), {}).marks]
    ['VOLUME', 'VOLUME_ZERO']
    """
    marks: list[Mark] = []
    notes: list[Message] = [_BELONGS]
    questions: list[Question] = []
    columns = body.having("volume") or body.having("litres") or body.having("value")
    for column in columns:
        read = volumes_of(body, column, answers, shares=False)
        notes += read.notes
        questions += read.questions
        waiting = {mark.row for mark in read.marks if mark.said.fate in ("asked", "refused")}
        below = {
            row for row, number in zip(body.rows, read.numbers, strict=True) if number.value <= 0
        }
        # A volume of nothing or below is no volume in any unit.
        marks += [mark for mark in read.marks if mark.row not in below]
        for at, row in enumerate(body.rows):
            if row in below or row not in waiting:
                said, question = _said(at, row, read, answers)
                marks.append(Mark(row, column.index, said))
                if question is not None:
                    questions.append(question)
    if not columns:
        said = Said("refused", "NO_VOLUME", "No column holds the volumes.", "Say which one does.")
        marks += [Mark(row, None, said) for row in body.rows]
    return Made((), tuple(marks), tuple(notes), tuple(questions))


def _said(at: int, row: int, read: Volumes, answers: Answers) -> tuple[Said, Question | None]:
    cell, litres, value = read.cells[at], read.litres[at], read.numbers[at].value
    if cell.sides_cm:
        return _sides(cell, row, answers)
    if not cell.number:
        return _refused("NO_VOLUME", "The volume is empty."), None
    if value == 0.0:
        return _refused("VOLUME_ZERO", "A volume of 0 L."), None
    if value < 0.0:
        return _refused("VOLUME_BELOW_ZERO", f"A volume of {value:g} L does not exist."), None
    if cell.unit == "%":
        return _refused("NO_VOLUME", "A share is no volume of a tank."), None
    if math.isnan(litres):
        return _refused("NO_VOLUME", "No volume can be read here."), None
    if litres < _SMALL_L:
        said = Said(
            "flagged", "SMALL_VOLUME", f"{litres:g} L is very little for a tank.",
            "Perhaps m³ is meant.", likely=f"{litres * 1000.0:g} L",
        )  # fmt: skip
        return said, None
    return Said("read", "VOLUME", f"{litres:.4g} L."), None


def _sides(cell: VolumeCell, row: int, answers: Answers) -> tuple[Said, Question | None]:
    gross = cell.gross_L
    if gross <= 0.0:
        return _refused("VOLUME_ZERO", "A side of 0."), None
    sides = " x ".join(f"{side:g}" for side in cell.sides_cm)

    def fits(text: str) -> bool:
        try:
            return 0.0 < parse_typed_number(text.strip().removesuffix("L")) <= gross
        except InputError:
            return False

    question = Question(
        f"row:net volume/{row}",
        f"{sides} cm are {gross:.4g} L gross, to the rim and without rock and sand. "
        "What is the net volume of the water?",
        (), (row,), None, "net volume in L",
    )  # fmt: skip
    question = chosen_or_told(question, fits, f"is no volume from 0 to {gross:.4g} L.", answers)
    if question.answered:
        return Said(
            "read", "VOLUME", f"{question.answered} L net of {gross:.4g} L gross."
        ), question
    said = Said("asked", "GROSS_VOLUME", f"{gross:.4g} L is the gross volume; the net one is needed.",
                "Measure the water that goes in.", question.key)  # fmt: skip
    return said, question


def _refused(code: str, reason: str) -> Said:
    return Said("refused", code, f"{reason} {_NO_DOSE}", "Write the net volume in litres.")
