"""Rows whose numbers stand in each other's columns, or one column to the side."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

from reef_calc.log.foreign.explained import WHOLE
from reef_calc.log.foreign.surroundings import Surroundings

_FEWEST_WHOLE = 3
# So many rows are no slip; what stands where is then a question of the headings.
_MOST_SHIFTED = 5000


@dataclass(frozen=True)
class Misplaced:
    """One number that stands in another column than it should.

    Attributes
    ----------
    series, index : int
        Index of the series, and of the reading in it.
    other : int
        Index of the series whose column holds what should stand here.
    level : float
        What stands there (unit of this series, if it is moved here).
    whole : int
        Number of rows that are so, where nearly all are; 0 otherwise.
    shifted : bool
        Whether the row stands one column to the side; otherwise two numbers are exchanged.
    """

    series: int
    index: int
    other: int
    level: float
    whole: int = 0
    shifted: bool = False


def misplaced(columns: Sequence[Surroundings]) -> tuple[Misplaced, ...]:
    """Return numbers that would be at home in another column of their row, whose number would be here.

    Parameters
    ----------
    columns : sequence of Surroundings
        Columns of one water; only elements with a usual level take part.

    Returns
    -------
    tuple of Misplaced
        At least one number of each is far from home as it stands.

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> def column(at, name, values):
    ...     return surroundings(Series(at, name, name, "mg/L", (2, 3, 4), np.arange(3.0),
    ...                                np.array(values), ("", "", "")))
    >>> found = misplaced([column(1, "calcium", [420.0, 1300, 425]),
    ...                    column(2, "magnesium", [1310.0, 420, 1290])])
    >>> [(one.series, one.index, one.level) for one in found]
    [(0, 1, 420.0), (1, 1, 1300.0)]
    """
    settled = [i for i, seen in enumerate(columns) if seen.usual is not None]
    shifted = _shifted(columns, settled)
    # The last cell of a shifted row has nothing that would fit, and no other explanation is sought.
    aside = {columns[one.series].series.rows[one.index] for one in shifted}
    taken: set[tuple[int, int]] = set()
    found = list(shifted)
    of_element: dict[str, list[int]] = defaultdict(list)
    for i in settled:
        of_element[columns[i].series.element].append(i)
    pairs = sorted(
        (min(pair), max(pair))
        for first, second in combinations(of_element.values(), 2)
        for pair in product(first, second)
    )
    for a, b in pairs:
        for one in _exchanged(columns, a, b):
            row = columns[one.series].series.rows[one.index]
            if row not in aside and (one.series, one.index) not in taken:
                taken.add((one.series, one.index))
                found.append(one)
    return tuple(found)


def _exchanged(columns: Sequence[Surroundings], a: int, b: int) -> list[Misplaced]:
    first, second = columns[a], columns[b]
    if not (first.odd.any() or second.odd.any()):
        return []
    i, j = _same_rows(first, second)
    strange = first.odd[i] | second.odd[j]
    # Alkalinity in dKH and pH have like numbers: each must be far from its own neighbours.
    both = first.usable[i] & second.usable[j]
    strange &= first.apart[i] & second.apart[j]
    x, z = _values(first)[i], _values(second)[j]
    with np.errstate(invalid="ignore"):
        fits = strange & both & _near(second, x, j) & _near(first, z, i)
    number = int(fits.sum())
    whole = number if number >= _FEWEST_WHOLE and number >= WHOLE * both.sum() else 0
    found = []
    for k in np.flatnonzero(fits):
        found.append(Misplaced(a, int(i[k]), b, float(z[k]), whole))
        found.append(Misplaced(b, int(j[k]), a, float(x[k]), whole))
    return found


def _values(seen: Surroundings) -> NDArray[np.float64]:
    return np.asarray(seen.series.values, dtype=float)


def _near(
    seen: Surroundings, levels: NDArray[np.float64], at: NDArray[np.intp]
) -> NDArray[np.bool_]:
    jump = math.log(seen.usual.jump) if seen.usual is not None else 0.0
    return seen.fits(levels, at, jump)


def _same_rows(
    first: Surroundings, second: Surroundings
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Indexes of readings of one row, or of one time where each row holds a single element."""
    if first.series.column != second.series.column:
        keys = [np.array(seen.series.rows, dtype=float) for seen in (first, second)]
    else:
        keys = [np.asarray(seen.series.days, dtype=float) for seen in (first, second)]
    _, i, j = np.intersect1d(keys[0], keys[1], return_indices=True)
    return i, j


def _shifted(columns: Sequence[Surroundings], settled: Sequence[int]) -> list[Misplaced]:
    rows: dict[int, list[tuple[int, int, int]]] = defaultdict(list)
    strange: dict[int, int] = defaultdict(int)
    for s in settled:
        for index in np.flatnonzero(columns[s].odd):
            strange[columns[s].series.rows[index]] += 1
    wanted = {row for row, number in strange.items() if number >= 2}
    if not wanted or len(wanted) > _MOST_SHIFTED:
        return []
    for s in settled:
        seen = columns[s]
        for index in np.flatnonzero(seen.usable):
            row = seen.series.rows[index]
            if row in wanted:
                rows[row].append((seen.series.column, s, int(index)))
    found = []
    for cells in rows.values():
        cells.sort()
        if len({column for column, _, _ in cells}) == len(cells) >= 3:
            found += _one_row(columns, cells)
    return found


def _one_row(
    columns: Sequence[Surroundings], cells: Sequence[tuple[int, int, int]]
) -> list[Misplaced]:
    for step in (1, -1):
        moved = []
        for k, (_, s, index) in enumerate(cells):
            if not 0 <= k + step < len(cells):
                continue
            _, other, at = cells[k + step]
            level = float(_values(columns[other])[at])
            if not _near(columns[s], np.array([level]), np.array([index]))[0]:
                break
            moved.append(Misplaced(s, index, other, level, shifted=True))
        else:
            return moved
    return []
