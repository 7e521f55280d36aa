"""Single cells whose number has to be asked: dates that were numbers, a minus behind, 10-5."""

from __future__ import annotations

import math
from collections.abc import Sequence

from reef_calc.log.foreign.form_of_number import NumberForm, shortened
from reef_calc.log.foreign.number_forms import number_form
from reef_calc.log.foreign.outcome import Answers, CellNumber, Choice, Question, Said
from reef_calc.log.foreign.ragged_rows import named_rows


def meant_question(
    text: str,
    form: NumberForm,
    rows: Sequence[int],
    *,
    key: str,
    column: int,
    decimal: str,
    answers: Answers,
) -> Question:
    """Return the question what a single cell means.

    Parameters
    ----------
    text : str
        The cell.
    form : NumberForm
        What it is, with what may be meant.
    rows : sequence of int
        Rows that hold it, an index from 1.
    key : str
        Key of the column.
    column : int
        Column, an index from 0.
    decimal : str
        Decimal mark of the column; empty where it shows none.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Question
        Its key begins with ``row:``; it is not kept for another file.

    Examples
    --------
    >>> question = meant_question("10-5", number_form("10-5"), [4], key="NO3", column=1, decimal="",
    ...                           answers={})
    >>> question.key, [choice.answer for choice in question.choices]
    ('row:number/NO3/10-5', ['5-10', 'missing'])
    """
    name = f"row:number/{key}/{shortened(text, 60)}"
    where = named_rows([row - 1 for row in rows])
    reason = form.said.reason if form.said is not None else ""
    words = f"{key}, {where}: {reason} What was measured?"
    given = answers.get(name, "").strip()
    fits = given == "missing" or _read(given, decimal) is not None
    if given and not fits:
        words = f"“{shortened(given)}” is no number. {words}"
    choices = tuple(Choice(typed, said, f"{where}: {said}") for typed, said in form.meant)
    return Question(
        name, words, choices, tuple(rows), column,
        typed="the number, or an interval such as 5-10", answered=given if fits else "",
    )  # fmt: skip


def _read(answer: str, decimal: str) -> CellNumber | None:
    form = number_form(answer)
    if form.kind not in ("number", "<", ">", "between") or form.name:
        return None
    value = form.numerals[0].value(decimal)
    if form.kind != "between":
        limit = "" if form.kind == "number" else form.kind
        return CellNumber(value, limit, unit=form.unit)
    upper = form.numerals[1].value(decimal)
    return CellNumber(value, "between", upper, form.unit) if value < upper else None


def meant(text: str, form: NumberForm, question: Question, decimal: str) -> CellNumber:
    """Return what a single cell says, with the answer where there is one.

    Parameters
    ----------
    text : str
        The cell.
    form : NumberForm
        What it is.
    question : Question
        As ``meant_question`` gives it.
    decimal : str
        Decimal mark of the column; empty where it shows none.

    Returns
    -------
    CellNumber
        Asked while there is no answer; empty where there is no reading.

    Examples
    --------
    >>> meant("10-5", number_form("10-5"), Question("row:number/NO3/10-5", "?", answered="5-10"), "").upper
    10.0
    """
    short = shortened(text)
    if question.answered == "missing":
        reason = f"“{short}” gives no reading, as you chose."
        return CellNumber(value=math.nan, said=(Said("read", "MISSING", reason, chosen=True),))
    read = _read(question.answered, decimal) if question.answered else None
    if read is None:
        old = form.said
        code, reason = (old.code, old.reason) if old is not None else ("NOT_A_NUMBER", "")
        said = Said("asked", code, reason, "Say what was measured.", question.key)
        return CellNumber(said=(said,))
    reason = f"“{short}” is {shortened(question.answered)}, as you chose."
    remark = f"written as {short}"
    chosen = (Said("read", "NUMBER_CHOSEN", reason, chosen=True),)
    return CellNumber(read.value, read.limit, read.upper, read.unit, remark, chosen)
