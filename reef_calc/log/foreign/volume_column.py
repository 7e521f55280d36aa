"""A column of volumes: one decimal mark, one gallon, one unit where the cells say none."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.cell_numbers import read_numbers
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.outcome import Answers, CellNumber, Choice, Mark, Question, Said
from reef_calc.log.foreign.volume_cells import (
    GALLONS,
    VolumeCell,
    gallon_question,
    read_volume,
    unit_of_heading,
)
from reef_calc.messages import Message

UNIT_KEY = "unit of volumes"
_UNITS = {"L": "l", "US gallons": "us gal", "imperial gallons": "imp gal", "%": "%"}


@dataclass(frozen=True)
class Volumes:
    """The volumes of a column.

    Attributes
    ----------
    cells : tuple of VolumeCell
        What each cell says, with its unit where the column says it.
    numbers : tuple of CellNumber
        Their numbers as written.
    litres : tuple of float
        Volumes (L); NaN where a cell waits, is refused, is a share or a product of sides.
    marks, notes, questions : tuple
        What is said, was assumed, and is asked.
    """

    cells: tuple[VolumeCell, ...]
    numbers: tuple[CellNumber, ...]
    litres: tuple[float, ...]
    marks: tuple[Mark, ...]
    notes: tuple[Message, ...]
    questions: tuple[Question, ...]


def volumes_of(body: Body, column: Column, answers: Answers, *, shares: bool) -> Volumes:
    """Return the volumes of a column.

    Parameters
    ----------
    body : Body
        The rows.
    column : Column
        The column.
    answers : dict of str to str
        Answers so far.
    shares : bool
        Whether a share of the tank, in %, may be meant.

    Returns
    -------
    Volumes
        Gallons are asked; so is the unit where neither cell nor heading says it, unless another cell
        of the column is in litres.

    Examples
    --------
    >>> body = Body("a.csv", (), (2, 3), (), {}, {1: ("40 L", "10 gal")})
    >>> found = volumes_of(body, Column(1, "WC", "litres", key="WC"), {}, shares=True)
    >>> found.litres, found.questions[0].key
    ((40.0, nan), 'which gallon/WC')
    """
    texts = body.texts[column.index]
    units = body.having("unit")[:1]
    beside_it = body.texts[units[0].index] if units else ("",) * len(texts)
    cells = [read_volume(text) for text in texts]
    for at, unit in enumerate(beside_it):
        if unit.strip() and cells[at].number and not cells[at].unit:
            cells[at] = read_volume(f"{texts[at]} {unit}")
    read = read_numbers(
        [cell.number for cell in cells], body.rows, key=column.key, column=column.index,
        heading=column.heading, separator=body.separator, answers=answers,
    )  # fmt: skip
    questions = list(read.questions)
    word = unit_of_heading(f"{column.heading} {column.unit_text}")
    bare = [at for at, cell in enumerate(cells) if cell.number and not cell.unit]
    if bare and not word:
        values = [read.numbers[at].value for at in bare]
        rows = tuple(body.rows[at] for at in bare)
        beside = "L" if any(cell.litres == 1.0 for cell in cells) else ""
        question = _unit_question(column, values, rows, beside, answers, shares)
        questions.append(question)
        word = _UNITS.get(question.answered or question.assumed, "")
        waits = question.key
    if bare and word:
        of_column = read_volume(f"1 {word}")
        for at in bare:
            cells[at] = replace(cells[at], unit=of_column.unit, litres=of_column.litres)
    gallons = [at for at, cell in enumerate(cells) if cell.unit == "gallon"]
    gallon = math.nan
    if gallons:
        values = [read.numbers[at].value for at in gallons]
        rows = tuple(body.rows[at] for at in gallons)
        known = [value for value in values if not math.isnan(value)]
        question = gallon_question(column.key, known, rows, column.index, answers)
        questions.append(question)
        gallon = GALLONS.get(question.answered, math.nan)
        gallon_key = question.key
    litres: list[float] = []
    marks: list[Mark] = []

    def mark(at: int, said: Said) -> None:
        marks.append(Mark(body.rows[at], column.index, said))

    for at, (cell, number) in enumerate(zip(cells, read.numbers, strict=True)):
        litres.append(math.nan)
        if cell.said is not None:
            mark(at, cell.said)
            continue
        if not cell.number:
            continue
        for one in number.said:
            mark(at, one)
        if any(one.fate in ("asked", "refused") for one in number.said):
            continue
        if number.limit:
            said = Said("refused", "NO_SINGLE_VOLUME", "This needs one volume, not a limit or range.",
                        "Write how much it was.")  # fmt: skip
            mark(at, said)
        elif not cell.unit:
            mark(at, Said("asked", "VOLUME_UNIT", "In which unit?", "", waits))
        elif cell.unit == "gallon" and math.isnan(gallon):
            mark(at, Said("asked", "GALLON", "Which gallon is meant?", "", gallon_key))
        elif cell.unit != "%":
            factor = gallon if cell.unit == "gallon" else cell.litres
            # Twelve digits: what the machine adds in the multiplication is no part of the volume.
            litres[at] = number.value if factor == 1.0 else float(f"{number.value * factor:.12g}")
    return Volumes(
        tuple(cells), tuple(read.numbers), tuple(litres), tuple(marks), tuple(read.notes),
        tuple(questions),
    )  # fmt: skip


def chosen_or_told(
    question: Question, fits: Callable[[str], bool], why: str, answers: Answers
) -> Question:
    """Return a question with its answer where that fits, otherwise with a word about it.

    Parameters
    ----------
    question : Question
        The question.
    fits : callable
        Whether an answer can be used.
    why : str
        What is said of one that cannot.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Question
        The question.

    Examples
    --------
    >>> chosen_or_told(Question("a/b", "How?"), str.isdigit, "is no number.", {"a/b": "x"}).text
    'How? “x” is no number.'
    """
    given = answers.get(question.key, "").strip()
    if given and not fits(given):
        return replace(question, text=f"{question.text} “{given[:60]}” {why}")
    return replace(question, answered=given)


def _unit_question(
    column: Column,
    values: Sequence[float],
    rows: tuple[int, ...],
    assumed: str,
    answers: Answers,
    shares: bool,
) -> Question:
    known = [value for value in values if not math.isnan(value)]
    largest = max(known, default=1.0)
    effects = {
        "L": f"The largest is {largest:g} L.",
        "US gallons": f"The largest is {largest * GALLONS['US']:.1f} L.",
        "imperial gallons": f"The largest is {largest * GALLONS['imperial']:.1f} L.",
    }
    if shares:
        effects["%"] = f"The largest is {largest:g} % of the tank."
    question = Question(
        f"{UNIT_KEY}/{column.key}",
        f"In which unit are the volumes of “{column.key}”? The file does not say.",
        tuple(Choice(unit, unit, effect) for unit, effect in effects.items()),
        rows, column.index, assumed=assumed,
    )  # fmt: skip
    return chosen_or_told(question, effects.__contains__, "is none of these.", answers)
