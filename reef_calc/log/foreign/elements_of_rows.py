"""Which element each row of a long table is about."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from reef_calc.chem.elements import ELEMENTS
from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.names import element_named
from reef_calc.log.foreign.outcome import Answers, Choice, Mark, Question, Said
from reef_calc.messages import Message

NOT_USED = "not used"


@dataclass(frozen=True)
class RowElements:
    """The element of each row.

    Attributes
    ----------
    names : tuple of str
        One for each row: element of the closed list or chemical symbol; empty where not known.
    marks, notes, questions : tuple
        What is said, was assumed, and is asked.
    """

    names: tuple[str, ...]
    marks: tuple[Mark, ...] = ()
    notes: tuple[Message, ...] = ()
    questions: tuple[Question, ...] = ()


def elements_of_rows(body: Body, answers: Answers) -> RowElements:
    """Return the element that each row names.

    Parameters
    ----------
    body : Body
        A long table, with a column of elements.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    RowElements
        A text that names no element is asked, once for all its rows.

    Examples
    --------
    >>> from reef_calc.log.foreign.columns import Column
    >>> from reef_calc.log.foreign.outcome import CellTime
    >>> body = Body("a.csv", (Column(0, "test", "element"),), (2,), (CellTime("2026-02-01"),), {},
    ...     {0: ("Calcium",)})
    >>> elements_of_rows(body, {}).names
    ('calcium',)
    """
    columns = body.having("element")
    if not columns:
        said = Said(
            "refused", "NO_ELEMENT", "Nothing says what this number is of.",
            "Say what the column is: an element, or not used.",
        )  # fmt: skip
        values = body.having("value")
        index = values[0].index if values else None
        return RowElements(
            ("",) * len(body.rows), tuple(Mark(row, index, said) for row in body.rows)
        )
    index = columns[0].index
    texts = body.texts[index]
    rows_of: dict[str, list[int]] = defaultdict(list)
    for row, text in zip(body.rows, texts, strict=True):
        rows_of[text].append(row)
    named: dict[str, str] = {}
    marks: list[Mark] = []
    questions: list[Question] = []
    for text, rows in rows_of.items():
        named[text] = element_named(text)
        if named[text]:
            continue
        if not text:
            said = Said("refused", "NO_ELEMENT", "The cell of the element is empty.", "Fill it in.")
            marks += [Mark(row, index, said) for row in rows]
            continue
        question = _question(text, tuple(rows), index, answers)
        questions.append(question)
        named[text] = "" if question.answered == NOT_USED else question.answered
        if question.open:
            said = Said("asked", "WHICH_ELEMENT", f"What is “{text}”?", "", question.key)
            marks += [Mark(row, index, said) for row in rows]
        elif question.answered == NOT_USED:
            said = Said(
                "refused", "LEFT_OUT", f"“{text}” is left out as you chose.", "", chosen=True
            )
            marks += [Mark(row, index, said) for row in rows]
    return RowElements(tuple(named[text] for text in texts), tuple(marks), (), tuple(questions))


def _question(text: str, rows: tuple[int, ...], column: int, answers: Answers) -> Question:
    key = f"which element/{text}"
    many = f"{len(rows)} {'row' if len(rows) == 1 else 'rows'}"
    choices = (
        Choice(NOT_USED, "Leave it out", f"{many} are not taken."),
        *(Choice(name, name, f"{many} become readings of {name}.") for name in ELEMENTS),
    )
    given = answers.get(key, "")
    fits = given in [choice.answer for choice in choices]
    return Question(
        key, f"What is “{text}”?", choices, rows, column, answered=given if fits else ""
    )
