"""Uncertainties that stand in the cells of the levels themselves, such as “421 ± 12”."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.outcome import Answers, Entry, Mark, Question
from reef_calc.log.foreign.plain_numbers import number_text
from reef_calc.log.foreign.uncertainty_cells import coverage_question, uncertainty_of

_SIGN = re.compile(r"±|\+ ?/ ?-|\+-")


def with_uncertainties_in_cells(entries: Sequence[Entry], body: Body, answers: Answers) -> Made:
    """Return readings with the standard uncertainties that their own cells state.

    Parameters
    ----------
    entries : sequence of Entry
        The readings; one that has an uncertainty from elsewhere keeps it.
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
    A limit has no uncertainty.

    Examples
    --------
    >>> from reef_calc.log.foreign.columns import Column
    >>> body = Body("a.csv", (Column(0, "Ca", "value", "calcium", key="Ca"),), (2,), (), {},
    ...     {0: ("421 ± 12",)})
    >>> entry = Entry(2, 0, "readings.csv", {"value": "421"})
    >>> with_uncertainties_in_cells([entry], body, {"coverage/Ca": "2"}).entries[0].cells["u"]
    '6'
    """
    signed = {
        column.index: [at for at, text in enumerate(body.texts[column.index]) if _stated(text)]
        for column in body.having("value")
    }
    if not any(signed.values()):
        return Made(tuple(entries))
    found = list(entries)
    marks: list[Mark] = []
    questions: list[Question] = []
    place: dict[tuple[int, int | None], list[int]] = defaultdict(list)
    for i, entry in enumerate(found):
        if not entry.cells.get("u") and not entry.cells.get("limit"):
            place[(entry.row, entry.column)].append(i)
    for column in body.having("value"):
        texts = body.texts[column.index]
        waiting: list[tuple[int, float]] = []
        for at in signed[column.index]:
            for i in place[(body.rows[at], column.index)]:
                entry = found[i]
                u, said = uncertainty_of(_stated(texts[at]), float(entry.cells["value"]))
                if said is not None:
                    marks.append(Mark(entry.row, column.index, said))
                if math.isnan(u):
                    continue
                if said is not None and said.code == "COVERAGE":
                    found[i] = _with_u(entry, u)
                else:
                    waiting.append((i, u))
        if not waiting:
            continue
        first = texts[body.rows.index(found[waiting[0][0]].row)]
        question = coverage_question(column, _stated(first), answers)
        rows = tuple(dict.fromkeys(found[i].row for i, _ in waiting))
        questions.append(replace(question, rows=rows))
        k = float(question.answered or question.assumed)
        for i, u in waiting:
            found[i] = _with_u(found[i], float(f"{u / k:.12g}"))
    return Made(tuple(found), tuple(marks), (), tuple(questions))


def _stated(text: str) -> str:
    """Return what stands behind the sign, empty where there is none."""
    if "±" not in text and "+" not in text:
        return ""
    sign = _SIGN.search(text)
    return text[sign.end() :].strip().replace("−", "-") if sign else ""


def _with_u(entry: Entry, u: float) -> Entry:
    return replace(entry, cells=entry.cells | {"u": number_text(u)})
