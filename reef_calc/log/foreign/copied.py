"""Readings that were perhaps not read: copied down, or worked out from another column."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from reef_calc.chem.elements import ELEMENTS
from reef_calc.log.foreign.surroundings import Surroundings

_FEWEST_EQUAL, _FEWEST_OTHERS = 10, 5
# Chance of such a run by accident below which it is named.
_CHANCE = 1e-4
# A kit is fine enough to ask where its smallest step is below this share of the level.
_FINE = 0.02
_FEWEST_ROWS, _FEWEST_LEVELS = 8, 4


def copied_down(seen: Surroundings) -> tuple[tuple[int, int], ...]:
    """Return runs of equal readings too long for how seldom this column repeats itself elsewhere.

    n·p^(L−1) < 10⁻⁴, p = (z + 1)/(m + 2) with z of m other steps without a change

    Parameters
    ----------
    seen : Surroundings
        A column.

    Returns
    -------
    tuple of (int, int)
        Index of the first reading and number of equal ones; only of what is used up, because
        temperature and salinity are held, and nutrients may stay below what a kit can tell.

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> values = np.concatenate([8.0 + 0.03 * np.arange(12) % 0.5, np.full(14, 8.2)])
    >>> column = Series(1, "KH", "alkalinity", "dKH", tuple(range(2, 28)), np.arange(26.0), values,
    ...                 ("",) * 26)
    >>> copied_down(surroundings(column))
    ((12, 14),)
    """
    places = np.flatnonzero(seen.usable)
    if ELEMENTS[seen.series.element].behaviour != "used" or places.size < _FEWEST_EQUAL:
        return ()
    values = np.asarray(seen.series.values, dtype=float)[places]
    different = np.unique(values)
    if different.size < 2 or np.diff(different).min() > _FINE * np.median(values):
        return ()
    starts = np.flatnonzero(np.concatenate([[True], values[1:] != values[:-1]]))
    lengths = np.diff(np.concatenate([starts, [values.size]]))
    long = lengths >= _FEWEST_EQUAL
    # Steps within a long run tell nothing about how often the kit repeats itself.
    others = int((lengths[~long]).sum())
    if not long.any() or others < _FEWEST_OTHERS:
        return ()
    same = int((lengths[~long] - 1).sum())
    chance = (same + 1) / (others + 2)
    return tuple(
        (int(places[start]), int(length))
        for start, length in zip(starts[long], lengths[long], strict=True)
        if values.size * chance ** (length - 1) < _CHANCE
    )


def worked_out(columns: Sequence[Surroundings]) -> tuple[tuple[int, int, float], ...]:
    """Return columns that are another column times one number, to the last digit.

    Parameters
    ----------
    columns : sequence of Surroundings
        Columns of one water.

    Returns
    -------
    tuple of (int, int, float)
        Index of the earlier and of the later column, and the later over the earlier (ratio).

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> dkh = 8.0 + 0.1 * (np.arange(10) % 4)
    >>> def column(at, unit, values):
    ...     return surroundings(Series(at, unit, "alkalinity", unit, tuple(range(2, 12)),
    ...                                np.arange(10.0), values, ("",) * 10))
    >>> both = [column(1, "dKH", dkh), column(2, "meq/L", np.round(dkh / 2.80385, 2))]
    >>> [(i, j, round(factor, 2)) for i, j, factor in worked_out(both)]
    [(0, 1, 0.36)]
    """
    found = []
    long = [i for i, seen in enumerate(columns) if len(seen.series.rows) >= _FEWEST_ROWS]
    for i, j in combinations(long, 2):
        first, second = columns[i], columns[j]
        if first.series.column == second.series.column:
            continue
        if first.series.rows == second.series.rows:
            a = b = np.arange(len(first.series.rows))
        else:
            _, a, b = np.intersect1d(first.series.rows, second.series.rows, return_indices=True)
        both = first.usable[a] & second.usable[b]
        x = np.asarray(first.series.values, dtype=float)[a][both]
        z = np.asarray(second.series.values, dtype=float)[b][both]
        if x.size < _FEWEST_ROWS or not _proportional(x[:50], z[:50]) or not _proportional(x, z):
            continue
        if (
            len(set(x[:1000].tolist())) < _FEWEST_LEVELS
            or len(set(z[:1000].tolist())) < _FEWEST_LEVELS
        ):
            continue
        found.append((i, j, float(np.sum(z) / np.sum(x))))
    return tuple(found)


def _proportional(x: np.ndarray, z: np.ndarray) -> bool:
    """Whether one number leads from all of one column to the other, but for the rounding of that."""
    return _leads_to(x, z) or _leads_to(z, x)


def _leads_to(x: np.ndarray, z: np.ndarray) -> bool:
    half = 0.5 * _step(z) * (1 + 1e-6)
    # Where the rounding is as wide as the movements, anything would fit.
    moves = float(np.ptp(z)) > 6 * half
    return moves and float(np.max((z - half) / x)) <= float(np.min((z + half) / x))


def _step(values: np.ndarray) -> float:
    """Smallest step in which numbers are written: 0.1 of 8.3 and 8.25's 0.01."""
    for decimals in range(6):
        if np.all(np.abs(values * 10**decimals - np.round(values * 10**decimals)) < 1e-6):
            return float(10.0**-decimals)
    return 1e-6
