"""Cells that say "below" or "above" without a number: the limit is asked once for the column."""

from __future__ import annotations

from collections.abc import Sequence

from reef_calc.log.foreign.form_of_number import shortened
from reef_calc.log.foreign.number_forms import number_form
from reef_calc.log.foreign.outcome import Answers, CellNumber, Choice, Question, Said
from reef_calc.log.foreign.ragged_rows import named_rows

MISSING = "missing"


def typed_number(answer: str, decimal: str = "") -> float | None:
    """Return the number that a keeper typed as an answer.

    Parameters
    ----------
    answer : str
        What was typed.
    decimal : str, optional
        Decimal mark of the column; the point where none is known.

    Returns
    -------
    float or None
        In the unit of the column; None where it is no single number.

    Examples
    --------
    >>> typed_number("0,02"), typed_number("soft")
    (0.02, None)
    """
    form = number_form(answer.strip().lstrip("<>≤≥ "))
    if form.kind != "number" or form.said is not None or form.unit:
        return None
    return form.numerals[0].value(decimal)


def limit_question(
    limit: str,
    written: Sequence[str],
    rows: Sequence[int],
    seen: Sequence[tuple[str, int]],
    *,
    key: str,
    column: int,
    decimal: str,
    answers: Answers,
) -> Question:
    """Return the question for the limit that cells such as n.d. or HI do not tell.

    Parameters
    ----------
    limit : {"<", ">"}
        Whether they are below or above it.
    written : sequence of str
        What stands in the cells.
    rows : sequence of int
        Rows that wait, an index from 1.
    seen : sequence of (str, int)
        Limits that other cells of the column tell, as written, and a row of each.
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
        Its key begins with ``limit/`` or ``highest/``; the answer is a number or ``missing``.

    Examples
    --------
    >>> question = limit_question("<", ["n.d."], [5], [("0.02", 2)], key="PO4", column=1,
    ...                           decimal=".", answers={"limit/PO4": "0.02"})
    >>> question.key, [choice.answer for choice in question.choices], question.answered
    ('limit/PO4', ['0.02', 'missing'], '0.02')
    """
    name, ends = ("limit", "smallest") if limit == "<" else ("highest", "highest")
    side = "below" if limit == "<" else "above"
    listed = ", ".join(f"“{shortened(text, 20)}”" for text in written[:4])
    where = named_rows([row - 1 for row in rows])
    text = (
        f"{key} has {listed} in {where}. What is the {ends} value the kit shows, in the unit of this "
        "column?"
    )
    given = answers.get(f"{name}/{key}", "").strip()
    fits = given == MISSING or (typed_number(given, decimal) or 0) > 0
    if given and not fits:
        text = f"“{shortened(given)}” is no number above zero. {text}"
    choices = [
        Choice(value, f"{side} {value}", f"as in row {row}; {where} would say {limit}{value}")
        for value, row in seen[:3]
    ]
    return Question(
        f"{name}/{key}",
        text,
        (*choices, Choice(MISSING, "Not known", f"{where}: no reading")),
        tuple(rows),
        column,
        typed=f"the {ends} value the kit shows",
        answered=given if fits else "",
    )


def under_limit(limit: str, text: str, question: Question, decimal: str) -> CellNumber:
    """Return what a cell such as n.d. or HI says, with the answer where there is one.

    Parameters
    ----------
    limit : {"<", ">"}
        Whether it is below or above a limit.
    text : str
        What stands in the cell.
    question : Question
        As ``limit_question`` gives it.
    decimal : str
        Decimal mark of the column; empty where it shows none.

    Returns
    -------
    CellNumber
        Asked while there is no answer; empty where the limit is not known.

    Examples
    --------
    >>> question = Question("limit/PO4", "What is the smallest value?", answered="0.02")
    >>> under_limit("<", "n.d.", question, ".").limit
    '<'
    """
    short = shortened(text)
    side = "below" if limit == "<" else "above"
    value = typed_number(question.answered, decimal)
    if value is None and question.answered != MISSING:
        said = Said(
            "asked", "NO_LIMIT", f"“{short}” is {side} a limit that is not told.",
            "Give that value, or say that it is not known.", question.key,
        )  # fmt: skip
        return CellNumber(said=(said,))
    remark = f"written as {short}"
    if value is None:
        said = Said("read", "NO_LIMIT", f"“{short}” gives no reading, as you chose.", chosen=True)
        return CellNumber(remark=remark, said=(said,))
    said = Said("read", "LIMIT_CHOSEN", f"“{short}” is {side} {question.answered}.", chosen=True)
    return CellNumber(value, limit, remark=remark, said=(said,))
