"""A laboratory report: many elements of one water, with units, limits and uncertainties of its own."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.elements_of_rows import named_apart
from reef_calc.log.foreign.laboratory_questions import kit_question, parts_question, sample_question
from reef_calc.log.foreign.limit_columns import with_limits
from reef_calc.log.foreign.names import element_named
from reef_calc.log.foreign.outcome import Answers, CellNumber, Mark, Question, Said
from reef_calc.log.foreign.readings import readings_from
from reef_calc.log.foreign.report_dates import date_question
from reef_calc.log.foreign.uncertainty_columns import with_uncertainties
from reef_calc.messages import Message

__all__ = ["date_question", "laboratory_from"]

_REFERENCE_HEADING = re.compile(
    r"\b(reference|target|range|optimal|optimum|ideal|recommended|soll|sollwert|referenz|richtwert"
    r"|zielwert|norm|référence|cible|referencia|objetivo|riferimento|streefwaarde|status|rating"
    r"|deviation|natural)\b",
    re.IGNORECASE,
)


def laboratory_from(body: Body, tank: Description, answers: Answers) -> Made:
    """Return the readings of a laboratory report.

    Parameters
    ----------
    body : Body
        The rows, cell by cell: an element each, or one column an element.
    tank : Description
        The tank it is for: its kits.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Made
        One entry for each value. ppm is asked, since a laboratory may mean mg/kg; what was not found
        is kept as below the limit that the report states; uncertainties are kept as standard ones;
        columns of reference levels are not used, and that is said.

    Notes
    -----
    Sea water weighs 1.023 to 1.026 kg/L, so that mg/kg and mg/L differ by some 2.5 %.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.outcome import CellTime
    >>> columns = (Column(0, "Element", "element"), Column(1, "Result", "value", key="Result"),
    ...     Column(2, "Unit", "unit"), Column(3, "SD", "u", key="SD"))
    >>> body = Body("a.csv", columns, (2,), (CellTime("2026-02-01", date_only=True),),
    ...     {1: (CellNumber(421.0),)}, {0: ("Calcium",), 1: ("421",), 2: ("mg/L",), 3: ("2 %",)})
    >>> cells = laboratory_from(body, example_tank(), {}).entries[0].cells
    >>> cells["element"], cells["value"], cells["u"]
    ('calcium', '421', '8.42')
    """
    notes: list[Message] = []
    questions: list[Question] = []
    marks: list[Mark] = []
    body, told = with_limits(body)
    notes += told
    body = named_apart(body)
    body = _with_samples(body, tank, answers, marks, notes, questions)
    body, waiting = _with_units(body, answers, marks, questions)
    notes += _not_used(body)
    # A column of uncertainties is read below: "5 %" is no number of the value's unit.
    plain = replace(body, columns=tuple(column for column in body.columns if column.role != "u"))
    made = readings_from(plain, tank, answers)
    entries = [entry for entry in made.entries if (entry.row, entry.column) not in waiting]
    if any("kit" not in entry.cells for entry in entries):
        kits = kit_question(tank, body.rows, answers)
        questions.append(kits)
        kit = kits.answered or kits.assumed
        entries = [replace(entry, cells={"kit": kit} | entry.cells) for entry in entries]
    found = with_uncertainties(entries, body, answers)
    marks += found.marks
    notes += found.notes
    questions += found.questions
    return Made(
        found.entries, (*marks, *made.marks), (*notes, *made.notes), (*questions, *made.questions)
    )


def _with_samples(
    body: Body,
    tank: Description,
    answers: Answers,
    marks: list[Mark],
    notes: list[Message],
    questions: list[Question],
) -> Body:
    """Say which water each of several result columns is of; take out those that are no sea water."""
    samples = [column for column in body.having("value") if not column.element]
    if len(samples) < 2:
        return body
    columns: list[Column] = []
    for column in body.columns:
        if column not in samples:
            columns.append(column)
            continue
        water, question, left = sample_question(column, tank, body.rows, answers)
        if question is not None:
            questions.append(question)
        if water:
            columns.append(replace(column, water=water))
        elif left:
            columns.append(replace(column, role="not used"))
            notes.append(Message("SAMPLE_LEFT_OUT", left))
        elif question is not None:
            columns.append(replace(column, role="unknown"))
            said = Said("asked", "WHICH_WATER", f"Which water is “{column.key}”?", "", question.key)
            marks += [
                Mark(row, column.index, said)
                for row, text in zip(body.rows, body.texts[column.index], strict=True)
                if text.strip()
            ]
    return replace(body, columns=tuple(columns))


def _with_units(
    body: Body, answers: Answers, marks: list[Mark], questions: list[Question]
) -> tuple[Body, frozenset[tuple[int, int | None]]]:
    """Replace ppm and ppb by what the report means by them; return also the cells that wait."""
    units = body.having("unit")[:1]
    unit_texts = body.texts[units[0].index] if units else ("",) * len(body.rows)
    elements = body.having("element")[:1]
    names = body.texts[elements[0].index] if elements else ("",) * len(body.rows)
    cells: dict[str, list[tuple[int, Column]]] = defaultdict(list)
    for column in body.having("value"):
        for at, number in enumerate(body.numbers.get(column.index, ())):
            text = number.unit or unit_texts[at] or column.unit_text
            word = text.strip().casefold()
            element = column.element or element_named(names[at])
            # Alkalinity in ppm is counted as CaCO3, which is asked with its unit.
            if word in ("ppm", "ppb") and element not in ("alkalinity", "salinity"):
                cells[word].append((at, column))
    if not cells:
        return body, frozenset()
    numbers = {index: list(of) for index, of in body.numbers.items()}
    waiting: set[tuple[int, int | None]] = set()
    for word, places in cells.items():
        rows = tuple(dict.fromkeys(body.rows[at] for at, _ in places))
        values = [body.numbers[column.index][at].value for at, column in places]
        question = parts_question(word, values, rows, answers)
        questions.append(question)
        said = Said("asked", "PARTS", f"What does {word} mean here?", "", question.key)
        for at, column in places:
            row = body.rows[at]
            if question.answered:
                one = numbers[column.index][at]
                numbers[column.index][at] = replace(one, unit=question.answered)
            else:
                waiting.add((row, column.index))
                marks.append(Mark(row, column.index, said))
                numbers[column.index][at] = CellNumber()
    return replace(body, numbers={i: tuple(of) for i, of in numbers.items()}), frozenset(waiting)


def _not_used(body: Body) -> Sequence[Message]:
    used = ("value", "element", "unit", "u", "date", "time", "kit", "note", "water")
    names = [
        f"“{column.key or column.heading}”"
        for column in body.columns
        if column.role not in used and _REFERENCE_HEADING.search(column.heading)
    ]
    if not names:
        return ()
    word = (
        "are levels that the report compares" if len(names) > 1 else "is what the report compares"
    )
    return (
        Message("REFERENCE_NOT_USED", f"{', '.join(names)} {word} with, no readings: not used."),
    )
