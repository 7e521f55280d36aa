"""The numbers of one column: its decimal mark, limits, missing values, and what has to be asked."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from reef_calc.log.foreign.decimal_marks import decimal_mark, shown_mark
from reef_calc.log.foreign.decimal_questions import (
    decimal_question,
    mark_notes,
    refused_mark,
    waits_for_mark,
)
from reef_calc.log.foreign.form_of_number import NumberForm, refused, shortened
from reef_calc.log.foreign.grid import Cell, text_of
from reef_calc.log.foreign.limits_in_cells import limit_question, under_limit
from reef_calc.log.foreign.meant_numbers import meant, meant_question
from reef_calc.log.foreign.missing_marks import NINES, marks_for_missing, missing_question
from reef_calc.log.foreign.number_forms import SIMPLE, number_form
from reef_calc.log.foreign.outcome import Answers, CellNumber, Question, Said
from reef_calc.log.foreign.plain_words import plain
from reef_calc.log.foreign.ragged_rows import named_rows
from reef_calc.log.foreign.turned_dates import date_form
from reef_calc.messages import Message

_NUMBERS = ("number", "<", ">", "between")
# More different unclear cells than this are no slips: the column is something else.
_MOST_UNCLEAR = 20
_EMPTY = CellNumber()


@dataclass(frozen=True)
class NumberColumn:
    """A column of numbers as it was understood.

    Attributes
    ----------
    decimal : str
        Its decimal mark, the point or the comma; empty where it shows none.
    numbers : tuple of CellNumber
        One for each cell.
    notes : tuple of Message
        What was assumed.
    questions : tuple of Question
        What has to be asked.
    """

    decimal: str
    numbers: tuple[CellNumber, ...]
    notes: tuple[Message, ...]
    questions: tuple[Question, ...]


@dataclass
class _Work:
    """What is known of the different cells of a column while it is read."""

    cells: Sequence[Cell]
    row_numbers: Sequence[int]
    key: str
    column: int
    answers: Answers
    counts: Counter[Cell]
    forms: dict[Cell, NumberForm] = field(default_factory=dict)
    done: dict[Cell, CellNumber] = field(default_factory=dict)
    shown: dict[str, list[Cell]] = field(default_factory=lambda: {".": [], ",": []})
    notes: list[Message] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    _rows: dict[Cell, list[int]] = field(default_factory=dict)

    def rows(self, cells: Sequence[Cell]) -> list[int]:
        if not self._rows:
            rows: dict[Cell, list[int]] = defaultdict(list)
            for row, cell in zip(self.row_numbers, self.cells, strict=True):
                rows[cell].append(row)
            self._rows = dict(rows)
        return sorted(row for cell in cells for row in self._rows[cell])

    def of_kind(self, *kinds: str) -> list[Cell]:
        return [cell for cell, form in self.forms.items() if form.kind in kinds]


def read_numbers(
    cells: Sequence[Cell],
    rows: Sequence[int],
    *,
    key: str,
    column: int,
    heading: str,
    separator: str,
    answers: Answers,
) -> NumberColumn:
    """Return what the cells of one column say as numbers.

    Parameters
    ----------
    cells : sequence of Cell
        Cells of the data rows.
    rows : sequence of int
        Their rows, as a spreadsheet counts them, an index from 1.
    key : str
        Key of the column, for questions and profiles.
    column : int
        Column, an index from 0.
    heading : str
        What stands above it.
    separator : str
        What parts the cells of a text file; empty for a workbook.
    answers : dict of str to str
        Answers so far. Keys: ``decimal/KEY`` (``.`` or ``,``), ``limit/KEY`` and ``highest/KEY`` (a number
        or ``missing``), ``missing/KEY`` (``missing`` or ``number``), ``row:number/KEY/TEXT``.

    Returns
    -------
    NumberColumn
        Aligned with the cells. No cell changes a number that another says by itself.

    Notes
    -----
    The order of the rows does not matter. Values are those in the file, in whatever unit; none is
    corrected, and none below zero is refused here.

    Examples
    --------
    >>> found = read_numbers(["8,3", "8.1", "<0,02", "n.d."], [2, 3, 4, 5], key="KH", column=1,
    ...                      heading="KH", separator=";", answers={})
    >>> [number.value for number in found.numbers], found.numbers[2].limit
    ([8.3, 8.1, 0.02, nan], '<')
    >>> [question.key for question in found.questions]
    ['limit/KH']
    """
    counts: Counter[Cell] = Counter(cells)
    work = _Work(cells, rows, key, column, answers, counts)
    _plain_cells(work)
    work.forms |= {cell: _form(cell, heading) for cell in counts if cell not in work.done}
    _too_many_unclear(work)
    decimal = _decide_mark(work, heading, separator)
    forms, done = work.forms, work.done
    for cell, form in forms.items():
        if cell not in done and form.kind in _NUMBERS:
            done[cell] = _number(form, decimal, cell)
    _missing_words(work)
    _sentinels(work)
    _limits(work, decimal)
    for cell in work.of_kind("unclear"):
        question = meant_question(
            text_of(cell), forms[cell], work.rows([cell]), key=key, column=column,
            decimal=decimal, answers=answers,
        )  # fmt: skip
        work.questions.append(question)
        done[cell] = meant(text_of(cell), forms[cell], question, decimal)
    for cell, form in forms.items():
        if cell not in done:
            done[cell] = CellNumber(said=(form.said,)) if form.said is not None else _EMPTY
    numbers = tuple(map(done.__getitem__, cells))
    return NumberColumn(decimal, numbers, tuple(work.notes), tuple(work.questions))


def _plain_cells(work: _Work) -> None:
    """Read cells that are nothing but a number; the only ones in a long column, as a rule."""
    for cell in work.counts:
        if isinstance(cell, str):
            if SIMPLE.fullmatch(cell):
                mark = "," if "," in cell else "." if "." in cell else ""
                work.done[cell] = CellNumber(float(cell.replace(",", ".")))
                if mark:
                    work.shown[mark].append(cell)
        elif isinstance(cell, float | int) and math.isfinite(cell):
            work.done[cell] = CellNumber(cell)


def _form(cell: Cell, heading: str) -> NumberForm:
    if isinstance(cell, str):
        form = number_form(cell)
        if form.name and plain(form.name) not in plain(heading):
            why = f"has “{shortened(form.name)}” before the number"
            return refused(cell, "NOT_A_NUMBER", why)
        return form
    if isinstance(cell, dt.date):
        return date_form(f"{cell.day} {cell:%B} {cell.year}", cell.day, cell.month)
    if isinstance(cell, dt.time):
        return refused(cell.isoformat(), "DATE_IN_NUMBERS", "is a time of day, not a number")
    return refused(str(cell), "NOT_A_NUMBER", "is no number")


def _too_many_unclear(work: _Work) -> None:
    unclear = work.of_kind("unclear")
    if len(unclear) <= _MOST_UNCLEAR:
        return
    for cell in unclear:
        said = work.forms[cell].said
        reason = said.reason if said is not None else ""
        repair = f"{len(unclear)} different cells are like this: is {work.key} a column of numbers?"
        work.forms[cell] = NumberForm(
            "refused", said=Said("refused", "DATE_IN_NUMBERS", reason, repair)
        )


def _decide_mark(work: _Work, heading: str, separator: str) -> str:
    """Return the decimal mark; cells that contradict it, or wait for it, are done."""
    evidence: dict[tuple[str, str], int] = defaultdict(int)
    shown = work.shown
    for mark, cells in shown.items():
        if cells:
            evidence[(mark, "")] = sum(map(work.counts.__getitem__, cells))
    undecided: list[Cell] = []
    for cell, form in work.forms.items():
        if not isinstance(cell, str):
            continue
        waits = False
        for numeral in form.numerals:
            if numeral.point != numeral.comma:
                waits = True
            elif numeral.mark or numeral.grouped:
                evidence[(numeral.mark, numeral.grouped)] += work.counts[cell]
                shown[shown_mark(numeral.mark, numeral.grouped)].append(cell)
        if waits:
            undecided.append(cell)
    mark, both, contradict = decimal_mark(evidence)
    decided = mark if mark and (not both or contradict) else ""
    waiting = undecided
    if contradict and not decided:
        waiting = [*undecided, *shown["."], *shown[","]]
    if not decided and waiting:
        question = decimal_question(
            [str(cell) for cell in waiting], work.rows(list(dict.fromkeys(waiting))), key=work.key,
            column=work.column, heading=heading, separator=separator,
            answers=work.answers, settled=both,
        )  # fmt: skip
        work.questions.append(question)
        decided = question.answered or question.assumed
        if not decided:
            work.done |= {cell: waits_for_mark(str(cell), question) for cell in waiting}
            if contradict:
                # What none of them is read as yet is told by the question.
                shown = {".": [], ",": []}
    if decided and contradict:
        against = dict.fromkeys(shown["," if decided == "." else "."])
        work.done |= {cell: refused_mark(str(cell), decided) for cell in against}
        shown["," if decided == "." else "."] = []
    read = {one: [str(cell) for cell in dict.fromkeys(shown[one])] for one in shown}
    rows = {one: work.rows(list(dict.fromkeys(shown[one]))) if both else [] for one in shown}
    settled = [str(cell) for cell in undecided] if mark and decided and not work.questions else []
    work.notes += mark_notes(work.key, read, rows, settled, decided)
    return decided or mark


def _number(form: NumberForm, decimal: str, cell: Cell) -> CellNumber:
    said = (form.said,) if form.said is not None else ()
    value = form.numerals[0].value(decimal)
    limit = "" if form.kind == "number" else form.kind
    if form.kind != "between":
        return CellNumber(value, limit, math.nan, form.unit, form.remark, said)
    upper = form.numerals[1].value(decimal)
    if value >= upper:
        why = "goes downwards"
        again = refused(text_of(cell), "INTERVAL", why, "Write the lower end first.")
        return CellNumber(said=(again.said,) if again.said is not None else ())
    return CellNumber(value, limit, upper, form.unit, form.remark, said)


def _missing_words(work: _Work) -> None:
    words = work.of_kind("missing")
    if not words:
        return
    listed = ", ".join(f"“{shortened(text_of(word), 20)}”" for word in words[:6])
    where = named_rows([row - 1 for row in work.rows(words)])
    text = f"{work.key}: {listed} in {where} stands for a missing value; nothing is read there."
    work.notes.append(Message("MISSING_WORDS", text))


def _sentinels(work: _Work) -> None:
    if not any(number.value in NINES for number in work.done.values()):
        return
    values: dict[float, int] = defaultdict(int)
    for cell, number in work.done.items():
        if not number.limit and math.isfinite(number.value):
            values[number.value] += work.counts[cell]
    missing = marks_for_missing(values)
    if not missing:
        return
    cells = [cell for cell, number in work.done.items() if number.value in missing]
    cells = [cell for cell in cells if not work.done[cell].limit]
    question = missing_question(
        [text_of(cell) for cell in cells], work.rows(cells),
        _mean({value: n for value, n in values.items() if value not in missing}), _mean(values),
        key=work.key, column=work.column, answers=work.answers,
    )  # fmt: skip
    work.questions.append(question)
    for cell in cells:
        short, old = shortened(text_of(cell)), work.done[cell]
        if question.answered == "number":
            said = Said(
                "read", "NOT_MISSING", f"{short} is a real number, as you chose.", chosen=True
            )
            work.done[cell] = CellNumber(old.value, "", math.nan, old.unit, old.remark, (said,))
        elif question.answered:
            reason = f"{short} stands for a missing value, as you chose."
            work.done[cell] = CellNumber(said=(Said("read", "MISSING", reason, chosen=True),))
        else:
            reason, repair = f"{short} may stand for a missing value.", "Say whether it does."
            said = Said("asked", "SENTINEL", reason, repair, question.key)
            work.done[cell] = CellNumber(said=(said,))


def _mean(values: dict[float, int]) -> float:
    cells = sum(values.values())
    return math.fsum(value * n for value, n in values.items()) / cells if cells else math.nan


def _limits(work: _Work, decimal: str) -> None:
    for limit, kind in (("<", "not found"), (">", "too much")):
        cells = work.of_kind(kind)
        if not cells:
            continue
        told: dict[str, int] = {}
        for cell, number in work.done.items():
            if number.limit == limit and not number.said:
                told.setdefault(f"{number.value:.12g}", work.rows([cell])[0])
        question = limit_question(
            limit, [text_of(cell) for cell in cells], work.rows(cells), sorted(told.items()),
            key=work.key, column=work.column, decimal=decimal, answers=work.answers,
        )  # fmt: skip
        work.questions.append(question)
        for cell in cells:
            work.done[cell] = under_limit(limit, text_of(cell), question, decimal)
