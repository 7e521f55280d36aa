"""Sentences about numbers in a wrong column, and about columns that were perhaps not read at all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reef_calc.log.foreign.exchanged import Misplaced
from reef_calc.log.foreign.how_written import given, plain, unit_behind
from reef_calc.log.foreign.outcome import Said
from reef_calc.log.foreign.surroundings import Surroundings

_LOOK = "Nothing was changed. Look at the original; correct the cells if they are exchanged."


def said_of_misplaced(columns: Sequence[Surroundings], one: Misplaced) -> Said:
    """Return what is said of a number that would be at home in another column.

    Parameters
    ----------
    columns : sequence of Surroundings
        The columns.
    one : Misplaced
        The number.

    Returns
    -------
    Said
        Flagged.

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> both = [surroundings(Series(at, key, name, "mg/L", (2,), np.zeros(1), np.array([x]), ("",)))
    ...         for at, key, name, x in ((1, "Ca", "calcium", 1300.0), (2, "Mg", "magnesium", 420.0))]
    >>> said_of_misplaced(both, Misplaced(0, 0, 1, 420.0)).reason
    '1300 mg/L is no usual calcium; the 420 under “Mg” would be. The two may be exchanged.'
    """
    here, there = columns[one.series], columns[one.other]
    typed, likely = given(here, one.index), plain(one.level)
    unit, key = unit_behind(here), there.series.key
    if not key or here.series.column == there.series.column:
        key = there.series.element
    if one.whole:
        reason = (
            f"In {one.whole} rows the numbers under “{here.series.key}” and “{key}” would fit if "
            f"they were exchanged: here {likely} in place of {typed}."
        )
        repair = "Nothing was changed. If the headings are exchanged, say so for both columns."
        return Said("flagged", "EXCHANGED_COLUMNS", reason, repair, likely=likely)
    start = f"{typed}{unit} is no usual {here.series.element} of this column"
    if np.isnan(here.around[one.index]):
        start = f"{typed}{unit} is no usual {here.series.element}"
    if one.shifted:
        reason = (
            f"{start}; the {likely} under “{key}” would be. The row may stand one column aside."
        )
        return Said("flagged", "SHIFTED_COLUMNS", reason, _LOOK, likely=likely)
    reason = f"{start}; the {likely} under “{key}” would be. The two may be exchanged."
    return Said("flagged", "EXCHANGED_COLUMNS", reason, _LOOK, likely=likely)


def said_of_copies(seen: Surroundings, index: int, length: int) -> Said:
    """Return what is said of the first of many equal readings.

    Parameters
    ----------
    seen : Surroundings
        The column.
    index : int
        Index of the first of them.
    length : int
        Number of equal readings.

    Returns
    -------
    Said
        Flagged.

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> seen = surroundings(Series(1, "KH", "alkalinity", "dKH", (2,), np.zeros(1), np.array([8.2]),
    ...                            ("",)))
    >>> said_of_copies(seen, 0, 14).reason
    'From row 2 on the same 8.2 dKH stands 14 times in a row. Elsewhere this column seldom repeats itself.'
    """
    reason = (
        f"From row {seen.series.rows[index]} on the same {given(seen, index)}{unit_behind(seen)} "
        f"stands {length} times in a row. Elsewhere this column seldom repeats itself."
    )
    repair = (
        "If it was copied down and not read, leave these rows out: they would look like no use."
    )
    return Said("flagged", "COPIED_DOWN", reason, repair)


def said_of_worked_out(first: Surroundings, second: Surroundings, factor: float) -> Said:
    """Return what is said of a column that is another one times a number.

    Parameters
    ----------
    first, second : Surroundings
        The earlier column, and the later one of which it is said.
    factor : float
        The later over the earlier (ratio).

    Returns
    -------
    Said
        Flagged.

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> one = surroundings(Series(1, "KH", "alkalinity", "dKH", (2,), np.zeros(1), np.array([8.0]),
    ...                           ("",)))
    >>> said_of_worked_out(one, one, 0.3567).reason
    'Every number of this column is 0.3567 times the one under “KH”: worked out, not read a second time.'
    """
    times = f"{factor:.4g} times the one" if abs(factor - 1) > 1e-6 else "the one"
    reason = (
        f"Every number of this column is {times} under “{first.series.key}”: worked out, not read a "
        "second time."
    )
    repair = "If so, leave one of the two columns out: one reading would count twice."
    return Said("flagged", "WORKED_OUT", reason, repair)
