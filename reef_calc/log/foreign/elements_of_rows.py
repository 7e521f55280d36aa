"""Which element each row of a long table is about."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace

from reef_calc.chem.elements import ELEMENTS
from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.headings import unit_in
from reef_calc.log.foreign.names import element_named
from reef_calc.log.foreign.outcome import Answers, Choice, Mark, Question, Said
from reef_calc.messages import Message

NOT_USED = "not used"
_BRACKETS = str.maketrans("()[]{},", "       ")


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


def named_apart(body: Body) -> Body:
    """Return a long table in which no name of an element holds its unit: “Ca mg/L” is two things.

    Parameters
    ----------
    body : Body
        The rows.

    Returns
    -------
    Body
        The unit stands with the numbers, where neither they nor a column of units say one.

    Examples
    --------
    >>> from reef_calc.log.foreign.columns import Column
    >>> from reef_calc.log.foreign.outcome import CellNumber
    >>> body = Body("a.csv", (Column(0, "test", "element"), Column(1, "value", "value")), (2,), (),
    ...     {1: (CellNumber(421.0),)}, {0: ("Ca mg/L",), 1: ("421",)})
    >>> named_apart(body).texts[0], named_apart(body).numbers[1][0].unit
    (('Ca',), 'mg/L')
    """
    columns, units = body.having("element")[:1], body.having("unit")[:1]
    values = [column.index for column in body.having("value") if not column.element]
    if not columns or not values:
        return body
    parts = {text: _apart(text) for text in set(body.texts[columns[0].index])}
    if not any(unit for _, unit in parts.values()):
        return body
    names = body.texts[columns[0].index]
    numbers = dict(body.numbers)
    for index in values:
        numbers[index] = tuple(
            number
            if number.unit or (units and body.texts[units[0].index][at])
            else replace(number, unit=parts[names[at]][1])
            for at, number in enumerate(body.numbers[index])
        )
    texts = body.texts | {columns[0].index: tuple(parts[name][0] for name in names)}
    return replace(body, numbers=numbers, texts=texts)


def _apart(text: str) -> tuple[str, str]:
    if element_named(text):
        return text, ""
    unit, rest = unit_in(text)
    rest = " ".join(rest.translate(_BRACKETS).split())
    return (rest, unit) if unit and element_named(rest) else (text, "")


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
        unnamed = [column.index for column in body.having("value") if not column.element]
        return RowElements(
            ("",) * len(body.rows),
            tuple(
                Mark(row, index, said)
                for index in unnamed
                for row, text in zip(body.rows, body.texts[index], strict=True)
                if text
            ),
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
