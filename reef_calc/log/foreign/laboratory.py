"""A laboratory report: many elements of one water, with units, limits and uncertainties of its own."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from reef_calc.chem.numbers import parse_typed_number
from reef_calc.errors import InputError
from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.laboratory_questions import kit_question, parts_question, sample_question
from reef_calc.log.foreign.names import element_named
from reef_calc.log.foreign.outcome import Answers, CellNumber, Mark, Question, Said
from reef_calc.log.foreign.plain_numbers import number_text
from reef_calc.log.foreign.readings import readings_from
from reef_calc.log.foreign.report_dates import date_question
from reef_calc.log.foreign.uncertainty_cells import coverage_question, uncertainty_of
from reef_calc.messages import Message

__all__ = ["date_question", "laboratory_from", "settled_by_limit"]

_LIMIT_HEADING = re.compile(
    r"\b(loq|lod|mdl|rl|bg|nwg|lq|ld)\b|detection|quantification|quantitation|bestimmungsgrenze"
    r"|nachweisgrenze|détection|detección|rilevabilità|detectie|wykrywalności|reporting limit",
    re.IGNORECASE,
)
_REFERENCE_HEADING = re.compile(
    r"\b(reference|target|range|optimal|optimum|ideal|recommended|soll|sollwert|referenz|richtwert"
    r"|zielwert|norm|référence|cible|referencia|objetivo|riferimento|streefwaarde|status|rating"
    r"|deviation|natural)\b",
    re.IGNORECASE,
)
_NOT_FOUND = frozenset(
    (
        "n.d.", "nd", "n.n.", "nn", "n.b.", "nb", "b.d.", "bd", "bdl", "bld", "bloq", "<loq", "<lod",
        "<", "<bg", "<nwg", "u.d.l.", "not_detected", "nicht_nachweisbar", "non_détecté",
    )
)  # fmt: skip


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
    body = _with_limits(body, notes)
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
    columns = body.having("u")
    if columns:
        column = columns[0]
        at_of = {row: at for at, row in enumerate(body.rows)}
        texts = body.texts[column.index]
        question = coverage_question(column, next(filter(None, texts), ""), answers)
        questions.append(question)
        k = float(question.answered or question.assumed)
        percent = "%" in f"{column.heading} {column.unit_text}"
        for i, entry in enumerate(entries):
            text = texts[at_of[entry.row]]
            if not text.strip() or entry.cells.get("limit"):
                continue
            number = body.numbers[entry.column or 0][at_of[entry.row]]
            u, said = uncertainty_of(text, number.value, percent=percent)
            if said is not None:
                marks.append(Mark(entry.row, column.index, said))
            if not math.isnan(u):
                own = said is not None and said.code == "COVERAGE"
                u_text = number_text(float(f"{u / (1.0 if own else k):.12g}"))
                entries[i] = replace(entry, cells=entry.cells | {"u": u_text})
    return Made(
        tuple(entries), (*marks, *made.marks), (*notes, *made.notes), (*questions, *made.questions)
    )


def settled_by_limit(body: Body) -> frozenset[tuple[int, int]]:
    """Return the cells that say "not found" and whose limit the report states in its own column.

    Parameters
    ----------
    body : Body
        The rows.

    Returns
    -------
    frozenset of (int, int)
        Row (from 1) and column (from 0): what was asked or refused of their text is answered.

    Examples
    --------
    >>> columns = (Column(1, "Result", "value"), Column(2, "LOQ", "limit"))
    >>> body = Body("a.csv", columns, (2,), (), {1: (CellNumber(),)}, {1: ("n.d.",), 2: ("0.5",)})
    >>> settled_by_limit(body)
    frozenset({(2, 1)})
    """
    limits = _limit_column(body)
    if limits is None:
        return frozenset()
    texts = body.texts[limits.index]
    return frozenset(
        (row, column.index)
        for column in body.having("value")
        for at, row in enumerate(body.rows)
        if _not_found(body, column, at) and not math.isnan(_limit(texts[at]))
    )


def _limit_column(body: Body) -> Column | None:
    for column in body.columns:
        if column.role in ("value", "element", "date", "time", "u"):
            continue
        if _LIMIT_HEADING.search(column.heading.replace("_", " ")):
            return column
    return None


def _not_found(body: Body, column: Column, at: int) -> bool:
    numbers = body.numbers.get(column.index)
    if numbers is None or not math.isnan(numbers[at].value):
        return False
    return "_".join(body.texts[column.index][at].casefold().split()) in _NOT_FOUND


def _limit(text: str) -> float:
    try:
        value = parse_typed_number(text.strip().lstrip("<≤ "))
    except InputError:
        return math.nan
    return value if value > 0.0 else math.nan


def _with_limits(body: Body, notes: list[Message]) -> Body:
    settled = settled_by_limit(body)
    column = _limit_column(body)
    if column is None or not settled:
        return body
    limits = body.texts[column.index]
    numbers = dict(body.numbers)
    for one in body.having("value"):
        numbers[one.index] = tuple(
            CellNumber(
                _limit(limits[at]), "<", remark=f"written as {body.texts[one.index][at].strip()}"
            )
            if (row, one.index) in settled
            else number
            for at, (row, number) in enumerate(zip(body.rows, numbers[one.index], strict=True))
        )
    count = len(settled)
    notes.append(
        Message(
            "LIMIT_OF_REPORT",
            f"{count} value{'s were' if count > 1 else ' was'} not found: kept as below the limit in "
            f"“{column.key or column.heading}”.",
        )
    )
    return replace(body, numbers=numbers)


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
