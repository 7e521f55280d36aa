"""The numbers of several columns: one that can be read both ways is read like those beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from reef_calc.log.foreign.cell_numbers import NumberColumn, read_numbers
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.grid import Cell
from reef_calc.log.foreign.outcome import Answers


def columns_of_numbers(
    columns: Sequence[Column],
    cells: Mapping[int, Sequence[Cell]],
    rows: Sequence[int],
    separator: str,
    answers: Answers,
) -> list[NumberColumn]:
    """Return what the cells of several columns say as numbers.

    Parameters
    ----------
    columns : sequence of Column
        The columns of numbers.
    cells : mapping of int to sequence of Cell
        Their cells, by the index of the column from 0.
    rows : sequence of int
        Rows of the cells, an index from 1.
    separator : str
        What parts the cells of a text file; empty for a workbook.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    list of NumberColumn
        One for each column.

    Notes
    -----
    Where all numbers of a column can be read both ways, the decimal mark that every other column
    shows is assumed, and the question stays.

    Examples
    --------
    >>> columns = (Column(1, "KH", "value", key="KH"), Column(2, "Mg", "value", key="Mg"))
    >>> cells = {1: ("8,1", "7,9"), 2: ("1.350", "1.340")}
    >>> kh, mg = columns_of_numbers(columns, cells, (2, 3), ";", {})
    >>> mg.numbers[0].value, mg.questions[0].assumed
    (1350.0, ',')
    """

    def read(column: Column, given: Answers) -> NumberColumn:
        return read_numbers(
            cells[column.index], rows, key=column.key, column=column.index,
            heading=column.heading, separator=separator, answers=given,
        )  # fmt: skip

    found = [read(column, answers) for column in columns]
    asked = {f"decimal/{column.key}" for column in columns}
    open_ones = [
        at
        for at, one in enumerate(found)
        if any(q.open and not q.assumed and q.key in asked for q in one.questions)
    ]
    marks = {one.decimal for at, one in enumerate(found) if at not in open_ones and one.decimal}
    if not open_ones or len(marks) != 1:
        return found
    mark = marks.pop()
    for at in open_ones:
        key = f"decimal/{columns[at].key}"
        again = read(columns[at], {**answers, key: mark})
        if any(q.key == key and q.answered != mark for q in again.questions):
            continue
        questions = tuple(
            replace(q, assumed=mark, answered="") if q.key == key else q for q in again.questions
        )
        found[at] = replace(again, questions=questions)
    return found
