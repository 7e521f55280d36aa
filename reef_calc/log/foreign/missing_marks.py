"""Numbers that loggers and spreadsheets write where nothing was measured."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from reef_calc.log.foreign.form_of_number import shortened
from reef_calc.log.foreign.outcome import Answers, Choice, Question
from reef_calc.log.foreign.ragged_rows import named_rows

NINES = frozenset(
    sign * float(text)
    for sign in (1, -1)
    for text in (
        "99", "99.9", "99.99", "999", "999.9", "999.99", "9999", "9999.9", "9999.99", "99999",
        "99999.9", "999999", "9999999", "99999999", "999999999",
    )
)  # fmt: skip
# How many times the middle of the other numbers a row of nines must be; 99 and 999 are levels too.
_FAR, _FAR_SMALL, _SMALL = 2.0, 5.0, 100.0
# A column that holds other numbers as negative as this may hold -99 too.
_NEGATIVE = -20.0


def marks_for_missing(values: Mapping[float, int]) -> frozenset[float]:
    """Return numbers of a column that may stand for a missing value.

    Parameters
    ----------
    values : dict of float to int
        Numbers of the column in whatever unit it has, with the number of their cells.

    Returns
    -------
    frozenset of float
        Rows of nines: negative ones, and positive ones far above the middle of the other numbers.

    Notes
    -----
    *Common practice, no source*: -999, 9999 and their kin stand for "no data" in tables of measurements.

    Examples
    --------
    >>> sorted(marks_for_missing({8.3: 3, -999.0: 1, 9999.0: 1}))
    [-999.0, 9999.0]
    >>> marks_for_missing({80.0: 1, 99.0: 1, 110.0: 1})
    frozenset()
    """
    nines = {value for value in values if value in NINES}
    if not nines:
        return frozenset()
    others = [value for value in values if value not in nines]
    middle = float(np.median(np.abs(others))) if others else math.nan
    lowest = min(others, default=0.0)
    found = set()
    for value in nines:
        if value < 0:
            if lowest > _NEGATIVE:
                found.add(value)
        elif not others:
            if value > 9000 or (value > _SMALL and values[value] > 1):
                found.add(value)
        elif value > middle * (_FAR_SMALL if value < _SMALL else _FAR):
            found.add(value)
    return frozenset(found)


def missing_question(
    written: Sequence[str],
    rows: Sequence[int],
    mean_without: float,
    mean_with: float,
    *,
    key: str,
    column: int,
    answers: Answers,
) -> Question:
    """Return the question whether some numbers stand for missing values.

    Parameters
    ----------
    written : sequence of str
        The numbers as written.
    rows : sequence of int
        Rows that hold them, an index from 1.
    mean_without, mean_with : float
        Mean of the column without and with them, in whatever unit it has; NaN where there is none.
    key : str
        Key of the column.
    column : int
        Column, an index from 0.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Question
        With the answers ``missing`` and ``number``.

    Examples
    --------
    >>> question = missing_question(["-999"], [3], 8.3, -495.35, key="KH", column=1, answers={})
    >>> question.text
    'Does -999 (row 3) in KH stand for a missing value?'
    """
    name = f"missing/{key}"
    listed = ", ".join(shortened(text, 20) for text in written[:4])
    where = named_rows([row - 1 for row in rows])
    stand = "stand" if len(written) > 1 else "stands"
    means = ""
    if math.isfinite(mean_without) and math.isfinite(mean_with):
        means = f"the mean of the column is {mean_with:.4g}, not {mean_without:.4g}"
    given = answers.get(name, "")
    fits = given in ("missing", "number")
    text = f"{'Do' if len(written) > 1 else 'Does'} {listed} ({where}) in {key} stand for a missing value?"
    return Question(
        name,
        text if fits or not given else f"“{shortened(given)}” is none of the answers. {text}",
        (
            Choice("missing", "Missing", f"nothing is read there; {listed} {stand} for no value"),
            Choice("number", "A real number", means or "it is read as it stands"),
        ),
        tuple(rows),
        column,
        answered=given if fits else "",
    )
