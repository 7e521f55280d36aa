"""Slips among nutrients and traces, which have no usual level: only what stands alone is doubted."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from reef_calc.chem.elements import ELEMENTS
from reef_calc.log.foreign.explained import Explained
from reef_calc.log.foreign.surroundings import Floats, Surroundings
from reef_calc.log.foreign.taken_as import unit_factors
from reef_calc.log.foreign.usual_levels import in_unit

# A reading stands alone if it is this far from both neighbours, and they agree this well (ratios).
_ALONE, _AGREE, _AGREE_CLOSELY = 2.5, 1.5, 1.25
# What no tank holds may still be where a level has risen to, if it is this near to what one holds.
_LEADS_ON = 4.0
_POINT, _QUANTITY = 0.25, 0.12
_POWERS = (10.0, 100.0, 1000.0)
# Readings on each side of a change of unit, and how well both sides must hold (logarithms).
# From 0.01 to 0.03 on a scale with steps of 0.01 is no factor that could be told from another.
_COARSE = 0.15
_BESIDE, _HOLDS, _NEAR = 4, 0.3, 0.06


def lone_readings(seen: Surroundings) -> dict[int, Explained]:
    """Return readings a factor away from neighbours on both sides that agree with each other.

    Parameters
    ----------
    seen : Surroundings
        A column of an element without a usual level.

    Returns
    -------
    dict of int to Explained
        By index. The first and the last reading are never among them unless no tank can hold them:
        what follows a real jump is not known there.

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> column = Series(1, "NO3", "nitrate", "mg/L", (2, 3, 4, 5, 6), np.arange(5.0),
    ...                 np.array([5.0, 4.8, 50, 5.1, 5.0]), ("",) * 5)
    >>> lone_readings(surroundings(column))[2].level
    5.0
    """
    places = np.flatnonzero(seen.usable)
    if seen.usual is not None or places.size < 3:
        return {}
    y = seen.y[places]
    before, after = y[:-2], y[2:]
    off = y[1:-1] - (before + after) / 2
    apart = np.minimum(np.abs(y[1:-1] - before), np.abs(y[1:-1] - after))
    agree = np.abs(before - after)
    alone = (apart > math.log(_ALONE)) & (agree < math.log(_AGREE))
    suspects = {int(k) + 1: float(off[k]) for k in np.flatnonzero(alone)}
    highest = in_unit(ELEMENTS[seen.series.element].highest,
                      ELEMENTS[seen.series.element].store_unit, seen.unit, seen.series.element)  # fmt: skip
    possible = np.flatnonzero(y <= math.log(highest))
    for k in np.flatnonzero(y > math.log(highest)).tolist():
        beside = int(np.searchsorted(possible, k))
        near = possible[max(beside - 3, 0) : beside + 3]
        if near.size and k not in suspects and not _leads_on(y, possible, beside):
            suspects[k] = float(y[k] - np.median(y[near]))
    found = {}
    for k, factor in suspects.items():
        impossible = bool(y[k] > math.log(highest))
        one = _explained(seen, places, k, factor, impossible)
        if one is not None:
            found[int(places[k])] = one
    return found


def _leads_on(y: Floats, possible: NDArray[np.intp], beside: int) -> bool:
    """Whether what no tank holds, up to the next reading that one may, was reached step by step."""
    before = int(possible[beside - 1]) if beside > 0 else -1
    after = int(possible[beside]) if beside < possible.size else y.size
    edges = [(before, before + 1)] * (before >= 0) + [(after - 1, after)] * (after < y.size)
    return any(abs(y[i] - y[j]) <= math.log(_LEADS_ON) for i, j in edges)


def _explained(
    seen: Surroundings, places: NDArray[np.intp], k: int, off: float, impossible: bool
) -> Explained | None:
    value = float(np.asarray(seen.series.values, dtype=float)[places[k]])
    y = seen.y[places]
    ways: list[tuple[float, Explained]] = []
    for power in _POWERS:
        far = abs(abs(off) - math.log(power))
        if far < _POINT:
            digits = round(math.log10(power)) * (-1 if off > 0 else 1)
            ways.append((far, Explained("point", "", float(f"{value:.10g}e{digits}"))))
    beside = np.concatenate([y[max(k - 2, 0) : k], y[k + 1 : k + 3]])
    steady = beside.size == 4 and float(np.ptp(beside)) < math.log(_AGREE_CLOSELY)
    if steady or impossible:
        for words, ratio in unit_factors(seen.series.element, seen.series.unit):
            far = abs(off - math.log(ratio))
            if far < (_POINT if impossible else _QUANTITY):
                ways.append((far, Explained("quantity", words, value / ratio)))
    return min(ways, key=lambda way: (way[0], way[1].kind))[1] if ways else None


def unit_changes(seen: Surroundings) -> tuple[tuple[int, str, float], ...]:
    """Return where readings change by the factor between two units from one to the next and stay.

    Parameters
    ----------
    seen : Surroundings
        A column of an element without a usual level.

    Returns
    -------
    tuple of (int, str, float)
        Index of the first reading after each change, which numbers may be what, and the factor (no
        unit) to the readings before.

    Notes
    -----
    Four readings on each side must agree. A real fall by 4.4 between two tests can happen, so this
    is worth a word at its first reading, no more.

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> values = np.array([10.0, 10.2, 9.9, 10.1, 2.27, 2.25, 2.3, 2.24])
    >>> column = Series(1, "NO3", "nitrate", "mg/L", tuple(range(2, 10)), np.arange(8.0), values,
    ...                 ("",) * 8)
    >>> [(i, words) for i, words, _ in unit_changes(surroundings(column))]
    [(4, 'These may be nitrate-nitrogen.')]
    """
    places = np.flatnonzero(seen.usable)
    if seen.usual is not None or places.size < 2 * _BESIDE:
        return ()
    y = seen.y[places]
    values = np.exp(y)
    different = np.unique(values)
    if different.size < 2 or np.diff(different).min() > _COARSE * values.min():
        return ()
    blocks = np.lib.stride_tricks.sliding_window_view(y, _BESIDE)
    middles, spans = np.median(blocks, axis=1), np.ptp(blocks, axis=1)
    steps = middles[_BESIDE:] - middles[:-_BESIDE]
    steady = (spans[_BESIDE:] < _HOLDS) & (spans[:-_BESIDE] < _HOLDS)
    found: list[tuple[int, str, float]] = []
    for words, factor in unit_factors(seen.series.element, seen.series.unit):
        log = math.log(factor)
        for direction, which in ((1, "These"), (-1, "Those before")):
            for k in np.flatnonzero(steady & (np.abs(steps - direction * log) < _NEAR)):
                said = f"{which} may be {words}."
                found.append((int(places[k + _BESIDE]), said, math.exp(direction * log)))
    return tuple(sorted(found))[:4]
