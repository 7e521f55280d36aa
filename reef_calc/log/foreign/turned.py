"""Tables that run from left to right: dates above, elements down the side."""

from __future__ import annotations

from reef_calc.log.foreign.cell_forms import forms_of, is_heading_word
from reef_calc.log.foreign.grid import Grid, text_of
from reef_calc.log.foreign.outcome import Answers, Choice, Question

KEY = "turn/file"
# A history of a laboratory has some dozens of elements; a longer table runs downward.
_MOST_ROWS = 400
_MOST_CELLS = 1_000_000


def row_of_dates(grid: Grid) -> int | None:
    """Return the row whose dates are the headings of columns, or None where there is none.

    Parameters
    ----------
    grid : Grid
        The table.

    Returns
    -------
    int or None
        Position, an index from 0: dates from the second, third or fourth column on, none before
        them, and no dates but values below.

    Examples
    --------
    >>> rows = (("", "2026-02-01", "2026-02-08"), ("KH", "8.3", "8.1"))
    >>> row_of_dates(Grid("a.csv", rows)), row_of_dates(Grid("a.csv", (("date", "KH"),)))
    (0, None)
    """
    widest = max(map(len, grid.rows), default=0)
    if len(grid.rows) > _MOST_ROWS or widest * len(grid.rows) > _MOST_CELLS or grid.broken:
        return None
    forms = [forms_of(row) for row in grid.rows]
    for at, row in enumerate(forms[:30]):
        if row.count("date") == 0:
            continue
        first = row.index("date")
        after = [form for form in row[first:] if form]
        if not 1 <= first <= 3 or after.count("date") < len(after):
            continue
        # One date may be part of a preamble; two are the days of a history.
        below = [some for some in forms[at + 1 :] if any(some)]
        under = [form for some in below for form in some[first:] if form]
        beside = [form for some in below for form in some[:first]]
        values = under.count("number") + under.count("word")
        named = sum(is_heading_word(some[0]) for some in grid.rows[at + 1 :] if some)
        if "date" in under or "date" in beside or not values or 2 * values < len(under):
            continue
        one = named == len(below) > 1 and "text" not in under
        if beside.count("text") >= len(below) and (len(after) > 1 or one):
            return at
        if len(after) > 1 and named:
            return at
    return None


def turn_question(grid: Grid, at: int, answers: Answers) -> Question:
    """Return the question whether the table runs from left to right.

    Parameters
    ----------
    grid : Grid
        The table.
    at : int
        Position of the row of dates, an index from 0.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Question
        Yes is assumed.

    Examples
    --------
    >>> rows = (("", "2026-02-01", "2026-02-08"), ("KH", "8.3", "8.1"))
    >>> turn_question(Grid("a.csv", rows), 0, {}).assumed
    'yes'
    """
    dates = [text_of(c) for c, form in zip(grid.rows[at], forms_of(grid.rows[at]), strict=True)
             if form == "date"]  # fmt: skip
    names = [text_of(row[0]) for row in grid.rows[at + 1 :] if row and text_of(row[0])]
    days = dates[0] if len(dates) == 1 else f"{dates[0]} to {dates[-1]}"
    listed = ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
    choices = (
        Choice("yes", "Every column is a day", f"{len(dates)} days, {days}, with {listed}."),
        Choice("no", "Every row is a day", f"“{days}” would be headings, and no row has a date."),
    )
    given = answers.get(KEY, "")
    return Question(
        KEY,
        f"Row {at + 1} holds dates ({days}). Does the table run from left to right, a day a column?",
        choices,
        assumed="yes",
        answered=given if given in ("yes", "no") else "",
    )
