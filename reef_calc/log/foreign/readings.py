"""Readings out of a foreign table: one row of ``readings.csv`` for each number."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.elements_of_rows import elements_of_rows
from reef_calc.log.foreign.kit_names import kit_questions
from reef_calc.log.foreign.mixed_tables import remarks_of
from reef_calc.log.foreign.names import species_named
from reef_calc.log.foreign.outcome import Answers, CellNumber, Entry, Mark, Question, Said
from reef_calc.log.foreign.plain_numbers import number_text
from reef_calc.log.foreign.unit_texts import UnitRead, assumed_unit, unit_of_text, with_species
from reef_calc.log.foreign.waters import KEY as WATER
from reef_calc.log.foreign.waters import water_named, water_question
from reef_calc.messages import Message

TABLE = "readings.csv"
# Columns of a table of readings that are taken over as they are written.
_TAKEN = ("raw", "replicate", "by", "source")
_CONDITIONS = ("salinity", "temperature")


@dataclass(slots=True)
class _Draft:
    at: int
    column: Column
    element: str
    number: CellNumber
    unit: str = ""
    unit_text: str = ""


@dataclass
class _Found:
    entries: list[Entry] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    notes: list[Message] = field(default_factory=list)
    questions: dict[str, Question] = field(default_factory=dict)

    def take(self, read: UnitRead, rows: Sequence[int], column: int) -> None:
        if read.note is not None and read.note not in self.notes:
            self.notes.append(read.note)
        if read.question is not None:
            self.questions[read.question.key] = read.question
        if read.said is not None:
            self.marks += [Mark(row, column, read.said) for row in rows]


def readings_from(body: Body, tank: Description, answers: Answers) -> Made:
    """Return the readings of a table, in wide layout (one column an element) or long.

    Parameters
    ----------
    body : Body
        The rows, cell by cell.
    tank : Description
        The tank they are for: its kits and standards.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Made
        One entry for each number whose time, element, unit and water are known.

    Notes
    -----
    The unit of a number is the one in its cell; else of its row; else of its heading; else it is
    found from the range of the column, noted or asked.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.outcome import CellTime
    >>> columns = (Column(0, "date", "date"), Column(1, "KH", "value", "alkalinity", "dKH", key="KH"))
    >>> body = Body("a.csv", columns, (2,), (CellTime("2026-02-01", date_only=True),),
    ...     {1: (CellNumber(8.3),)}, {0: ("2026-02-01",), 1: ("8,3",)})
    >>> readings_from(body, example_tank(), {}).entries[0].cells["value"]
    '8.3'
    """
    found = _Found()
    drafts = _drafts(body, found, answers)
    drafts.sort(key=lambda draft: draft.at)
    _units(drafts, body, found, answers)
    kits = kit_questions(body, tank, answers, {(d.at, d.column.index): d.element for d in drafts})
    found.questions |= {question.key: question for question in kits.questions}
    found.notes += kits.notes
    waters = _waters(body, tank, found, answers)
    taken = {role: column for role in _TAKEN for column in body.having(role)[:1]}
    conditions = {role: column for role in _CONDITIONS for column in body.having(role)[:1]}
    found.notes += _taken_once(body)
    lots, notes = body.having("lot"), body.having("note")
    kit_columns = body.having("kit")[:1]
    row_at, iso, remarks = -1, "", ""
    of_row: dict[str, str] = {}
    # Long logs go through here once for each number: what a row says is put together once.
    for draft in drafts:
        at, column, number = draft.at, draft.column, draft.number
        if at != row_at:
            row_at, iso = at, body.times[at].iso
            if conditions or taken:
                of_row = _of_row(body, at, conditions, numbers=True)
                of_row |= _of_row(body, at, taken, numbers=False)
            remarks = "; ".join(filter(None, remarks_of(body, at))) if notes else ""
        water = waters[at] if not column.water else water_named(column.water, tank)
        if not draft.unit or not water or not iso:
            continue
        value = number_text(number.value, body.texts[column.index][at])
        cells = {"time": iso, "water": water, "element": draft.element, "value": value,
                 "unit": draft.unit}  # fmt: skip
        if number.limit:
            cells["limit"] = number.limit
            if upper := number_text(number.upper):
                cells["upper"] = upper
        if of_row:
            cells |= of_row
        kit = column.kit or (body.texts[kit_columns[0].index][at] if kit_columns else "")
        if kit := kits.names.get(kit, kit):
            cells["kit"] = kit
        if lot := column.lot or (_lot(body, lots, draft) if lots else ""):
            cells["lot"] = lot
        note = f"{remarks}; {number.remark}" if remarks and number.remark else ""
        if note := note or remarks or number.remark:
            cells["note"] = note
        found.entries.append(Entry(body.rows[at], column.index, TABLE, cells))
    return Made(
        tuple(found.entries),
        tuple(found.marks),
        tuple(found.notes),
        tuple(found.questions.values()),
    )


def _of_row(body: Body, at: int, columns: Mapping[str, Column], *, numbers: bool) -> dict[str, str]:
    """Return what the other columns of a row say of all its readings, without empty cells."""
    cells: dict[str, str] = {}
    for role, column in columns.items():
        text = body.texts[column.index][at]
        if numbers:
            condition = body.numbers.get(column.index)
            text = number_text(condition[at].value, text) if condition else ""
        if text:
            cells[role] = text
    return cells


def _lot(body: Body, lots: Sequence[Column], draft: _Draft) -> str:
    """Return the lot beside a reading: in the column of its element, else in that of all."""
    own = [one for one in lots if one.element == draft.element]
    lot = (own or [one for one in lots if not one.element])[:1]
    return body.texts[lot[0].index][draft.at] if lot else ""


def _taken_once(body: Body) -> list[Message]:
    """Name columns that are not used because another one has the same part already."""
    found = []
    for role in ("element", "unit", "kit", *_TAKEN, *_CONDITIONS):
        first, *others = body.having(role) or (None,)
        if first is not None and others:
            keys = ", ".join(other.key for other in others)
            text = f"{first.key} is taken as {role}; {keys} is not used."
            found.append(Message("ONE_COLUMN", text))
    return found


def _drafts(body: Body, found: _Found, answers: Answers) -> list[_Draft]:
    """Return every number with its element; what names no element is asked, once for each text."""
    rows_elements = None
    drafts: list[_Draft] = []
    for column in body.having("value"):
        if not column.element and rows_elements is None:
            rows_elements = elements_of_rows(body, answers)
            found.marks += rows_elements.marks
            found.questions |= {one.key: one for one in rows_elements.questions}
            found.notes += rows_elements.notes
        numbers = body.numbers.get(column.index, ())
        for at, number in enumerate(numbers):
            empty = number.value != number.value and not number.limit
            said = number.said
            if empty or (said and any(one.fate in ("asked", "refused") for one in said)):
                continue
            element = column.element or (rows_elements.names[at] if rows_elements else "")
            if element:
                drafts.append(_Draft(at, column, element, number))
    return drafts


def _units(drafts: list[_Draft], body: Body, found: _Found, answers: Answers) -> None:
    units, names = body.having("unit")[:1], body.having("element")[:1]
    by_text: dict[tuple[int, str, str], list[_Draft]] = defaultdict(list)
    beside = body.texts[units[0].index] if units else None
    for draft in drafts:
        column = draft.column
        text = draft.number.unit or (beside[draft.at] if beside else "")
        text = text or column.unit or column.unit_text
        if names and not column.element:
            # Of “PO4-P, 22, µg/L” the name says what is weighed.
            text = with_species(text, species_named(body.texts[names[0].index][draft.at]))
        by_text[(column.index, draft.element, text)].append(draft)
    for (index, element, text), group in by_text.items():
        column = group[0].column
        rows = tuple(body.rows[draft.at] for draft in group)
        key = column.key if column.element else element
        values = [draft.number.value for draft in group]
        if text:
            read = unit_of_text(text, element, key=key, answers=answers, rows=rows, values=values)
        else:
            read = assumed_unit(element, values, key=key, column=index, answers=answers, rows=rows)
        found.take(read, rows, index)
        for draft in group:
            draft.unit = read.unit


def _waters(body: Body, tank: Description, found: _Found, answers: Answers) -> list[str]:
    columns = body.having("water")
    if not columns:
        return ["tank"] * len(body.rows)
    index = columns[0].index
    texts = body.texts[index]
    named: dict[str, str] = {}
    rows_of: dict[str, list[int]] = defaultdict(list)
    for row, text in zip(body.rows, texts, strict=True):
        rows_of[text].append(row)
    for text in rows_of:
        named[text] = water_named(text, tank)
        if named[text]:
            continue
        rows = tuple(rows_of[text])
        question = water_question(text, rows, index, answers)
        found.questions[question.key] = question
        named[text] = question.answered
        if question.open:
            said = Said("asked", "WHICH_WATER", f"Which water is “{text}”?", "", f"{WATER}/{text}")
            found.marks += [Mark(row, index, said) for row in rows]
    return [named[text] for text in texts]
