"""Uncertainties out of columns of their own: of a laboratory, or beside each column of a log."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace

from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.names import named_in
from reef_calc.log.foreign.outcome import Answers, Entry, Mark, Question
from reef_calc.log.foreign.plain_numbers import number_text
from reef_calc.log.foreign.uncertainty_cells import coverage_question, uncertainty_of
from reef_calc.log.foreign.uncertainty_in_cells import with_uncertainties_in_cells
from reef_calc.messages import Message

# “± (95 %)” says how sure, not that the numbers are percent.
_LEVEL_OF_COVERAGE = re.compile(r"\b(?:68|90|95|99)(?:[.,][0-9]+)?\s*%")


def with_uncertainties(entries: Sequence[Entry], body: Body, answers: Answers) -> Made:
    """Return readings with the standard uncertainties that the table states.

    Parameters
    ----------
    entries : sequence of Entry
        The readings, without uncertainties.
    body : Body
        The rows they come from.
    answers : dict of str to str
        Answers so far; the key is ``coverage/KEY``.

    Returns
    -------
    Made
        The readings, what is said of cells, and whether the uncertainties are standard ones.

    Notes
    -----
    In a table with one column an element, an uncertainty belongs to the values left of it. A limit
    has none.

    Examples
    --------
    >>> columns = (Column(0, "Ca", "value", "calcium", key="Ca"), Column(1, "±", "u", key="±"))
    >>> body = Body("a.csv", columns, (2,), (), {}, {0: ("421",), 1: ("12",)})
    >>> entry = Entry(2, 0, "readings.csv", {"value": "421"})
    >>> with_uncertainties([entry], body, {"coverage/±": "2"}).entries[0].cells["u"]
    '6'
    """
    found = list(entries)
    marks: list[Mark] = []
    notes: list[Message] = []
    questions: list[Question] = []
    at_of = {row: at for at, row in enumerate(body.rows)}
    for column in body.having("u"):
        of, told = _belongs_to(column, body)
        notes += told
        if of is None:
            continue
        texts = body.texts[column.index]
        question = coverage_question(column, next(filter(None, texts), ""), answers)
        questions.append(question)
        k = float(question.answered or question.assumed)
        written = column.heading if "%" in column.heading else column.unit_text
        percent = "%" in _LEVEL_OF_COVERAGE.sub("", written)
        for i, entry in enumerate(found):
            text = texts[at_of[entry.row]]
            if entry.column not in of or not text.strip() or entry.cells.get("limit"):
                continue
            u, said = uncertainty_of(text, float(entry.cells["value"]), percent=percent)
            if said is not None:
                marks.append(Mark(entry.row, column.index, said))
            if not math.isnan(u):
                own = said is not None and said.code == "COVERAGE"
                u_text = number_text(float(f"{u / (1.0 if own else k):.12g}"))
                found[i] = replace(entry, cells=entry.cells | {"u": u_text})
    inside = with_uncertainties_in_cells(found, body, answers)
    return Made(
        inside.entries,
        (*marks, *inside.marks),
        tuple(notes),
        (*questions, *inside.questions),
    )


def _belongs_to(
    column: Column, body: Body
) -> tuple[set[int], list[Message]] | tuple[None, list[Message]]:
    """Return the columns of values that a column of uncertainties speaks of."""
    values = body.having("value")
    if len(values) == 1 or any(not value.element for value in values):
        # Another sample of a long table may be wider or narrower; the report states one for a row.
        return {value.index for value in values}, []
    left = [value for value in values if value.index < column.index]
    named = named_in(column.heading.replace("±", " ").replace("(", " ").replace(")", " ")).element
    fits = [value for value in values if value.element == named]
    if named and len(fits) == 1:
        left = fits
    if not left or (named and left[-1].element != named):
        text = f"{column.key} is not used: it does not say which levels it belongs to."
        return None, [Message("UNCERTAINTY_OF_WHICH", text)]
    text = f"{column.key} is taken as the uncertainty of {left[-1].key}."
    return {left[-1].index}, [Message("UNCERTAINTY_OF", text)]
