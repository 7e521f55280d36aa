"""Readings of a log, with the limits, signs and uncertainties that stand in columns of their own."""

from __future__ import annotations

from dataclasses import replace

from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.elements_of_rows import named_apart
from reef_calc.log.foreign.limit_columns import with_limits, with_signs
from reef_calc.log.foreign.outcome import Answers
from reef_calc.log.foreign.parts_in_headings import at_parts_of_day
from reef_calc.log.foreign.readings import readings_from
from reef_calc.log.foreign.uncertainty_columns import with_uncertainties
from reef_calc.messages import Message


def log_from(body: Body, tank: Description, answers: Answers) -> Made:
    """Return the readings of a log with their limits and uncertainties.

    Parameters
    ----------
    body : Body
        The rows, cell by cell.
    tank : Description
        The tank they are for.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Made
        As ``readings_from``. Limits and signs in columns of their own count where each row is one
        value; where they are not used, that is said.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.columns import Column
    >>> from reef_calc.log.foreign.outcome import CellNumber, CellTime
    >>> columns = (Column(0, "KH", "value", "alkalinity", "dKH", key="KH"),
    ...     Column(1, "±", "u", key="±"))
    >>> body = Body("a.csv", columns, (2,), (CellTime("2026-02-01", date_only=True),),
    ...     {0: (CellNumber(8.3),)}, {0: ("8,3",), 1: ("0,2",)})
    >>> log_from(body, example_tank(), {}).entries[0].cells["u"]
    '0.2'
    """
    notes: tuple[Message, ...] = ()
    body = named_apart(body)
    if len(body.having("value")) == 1:
        body, limits = with_limits(body)
        body, signs = with_signs(body)
        notes = (*limits, *signs)
    elif body.having("limit"):
        keys = ", ".join(column.key for column in body.having("limit"))
        text = f"{keys} is not used: it does not say which levels it belongs to."
        notes = (Message("LIMIT_OF_WHICH", text),)
    made = readings_from(body, tank, answers)
    timed = at_parts_of_day(made.entries, body, tank.zone, answers)
    found = with_uncertainties(timed.entries, body, answers)
    return replace(
        made,
        entries=found.entries,
        marks=(*made.marks, *timed.marks, *found.marks),
        notes=(*notes, *made.notes, *timed.notes, *found.notes),
        questions=(*made.questions, *timed.questions, *found.questions),
    )
