"""Readings far from home, each with the slip or the quantity that would bring it back."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from reef_calc.log.foreign.digit_slips import digit_slips
from reef_calc.log.foreign.how_written import beside, plain
from reef_calc.log.foreign.surroundings import Surroundings
from reef_calc.log.foreign.taken_as import taken_as
from reef_calc.log.foreign.usual_levels import is_gravity, on_ratio_scale

# Largest difference (natural logarithm) of what may be meant from the readings around it. A slipped
# point is so large that the level may have moved meanwhile; exchanged digits explain too much.
_POINT, _QUANTITY, _DIGITS = 0.25, 0.15, 0.08
_MOST_DIGITS = 0.15
# Share of a column from which one explanation is one of the whole column.
WHOLE = 0.8


@dataclass(frozen=True)
class Explained:
    """How one reading may have come about.

    Attributes
    ----------
    kind : str
        ``quantity``, ``point``, ``exchanged`` or ``twice``.
    words : str
        Of a quantity, what the number would be; otherwise empty.
    level : float
        What may be meant (unit of the column).
    other : str
        Second explanation, a sentence; empty where there is none.
    """

    kind: str
    words: str
    level: float
    other: str = ""


def explained(seen: Surroundings) -> dict[int, Explained]:
    """Return readings that are far from home and would be at home if one slip is assumed.

    Parameters
    ----------
    seen : Surroundings
        A column of an element with a usual level.

    Returns
    -------
    dict of int to Explained
        By index; nothing of readings that lead on from their neighbours, such as a level in free
        fall, and nothing of what no slip explains.

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> column = Series(1, "Ca", "calcium", "mg/L", (2, 3, 4, 5), np.arange(4.0),
    ...                 np.array([480.0, 48, 470, 740]), ("", "", "", ""))
    >>> {i: (e.kind, e.level) for i, e in explained(surroundings(column)).items()}
    {1: ('point', 480.0), 3: ('exchanged', 470.0)}
    """
    if seen.usual is None:
        return {}
    at = np.flatnonzero(seen.odd)
    if at.size == 0:
        return {}
    values = np.asarray(seen.series.values, dtype=float)[at]
    found: dict[int, list[tuple[float, Explained]]] = {int(i): [] for i in at}
    middle = np.where(np.isnan(seen.around[at]), _middle(seen), seen.around[at])
    for taken in taken_as(values, seen.series.element, seen.series.unit):
        y = _scaled(seen, taken.levels)
        tolerance = min(_QUANTITY + 2 * seen.scatter, 0.3)
        for k in np.flatnonzero(seen.fits(taken.levels, at, tolerance)):
            one = Explained("quantity", taken.words, float(taken.levels[k]))
            found[int(at[k])].append((abs(float(y[k] - middle[k])), one))
    _by_digits(seen, at, values, middle, found)
    decimals = beside(seen).decimals
    chosen = {i: _chosen(ways, decimals) for i, ways in found.items() if ways}
    return _without_digit_runs(seen, _without_continued(seen, chosen))


def own_level(seen: Surroundings, chosen: dict[int, Explained]) -> bool:
    """Return whether a column is far from where tanks are, and no one slip explains it.

    Parameters
    ----------
    seen : Surroundings
        A column.
    chosen : dict of int to Explained
        As ``explained`` gives it.

    Returns
    -------
    bool
        True where this tank's own median should count as home.

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> column = Series(1, "Ca", "calcium", "mg/L", (2, 3, 4), np.arange(3.0),
    ...                 np.array([280.0, 281, 279]), ("", "", ""))
    >>> seen = surroundings(column)
    >>> own_level(seen, explained(seen))
    True
    """
    number = int(seen.usable.sum())
    if 2 * int(seen.home.sum()) >= number:
        return False
    alike = Counter((e.kind, e.words) for e in chosen.values()).most_common(1)
    outside = number - int(seen.home.sum())
    return not alike or alike[0][0][0] not in ("quantity", "point") or alike[0][1] < WHOLE * outside


def _middle(seen: Surroundings) -> float:
    if seen.usual is None:
        return math.nan
    return float(np.mean(_scaled(seen, np.array([seen.usual.low, seen.usual.high]))))


def _scaled(seen: Surroundings, levels: np.ndarray) -> np.ndarray:
    return on_ratio_scale(levels, seen.unit)


def _by_digits(
    seen: Surroundings,
    at: np.ndarray,
    values: np.ndarray,
    middle: np.ndarray,
    found: dict[int, list[tuple[float, Explained]]],
) -> None:
    different, which = np.unique(values, return_inverse=True)
    slips = [_slips(float(value), seen.unit) for value in different]
    number = np.array([len(one) for one in slips])
    if not number.any():
        return
    flat = [slip for one in slips for slip in one]
    meant, points = (
        np.array([level for _, level in flat]),
        np.array([k == "point" for k, _ in flat]),
    )
    starts = np.concatenate([[0], np.cumsum(number)[:-1]])
    where = np.repeat(np.arange(values.size), number[which])
    first = np.repeat(np.cumsum(number[which]) - number[which], number[which])
    slip = np.repeat(starts[which], number[which]) + np.arange(where.size) - first
    distance = np.abs(_scaled(seen, meant[slip]) - middle[where])
    digits = min(max(_DIGITS, 3 * seen.scatter), _MOST_DIGITS)
    fits = np.where(
        points[slip],
        seen.fits(meant[slip], at[where], _POINT),
        seen.fits(meant[slip], at[where], digits),
    )
    for j in np.flatnonzero(fits).tolist():
        kind, level = flat[slip[j]]
        found[int(at[where[j]])].append((float(distance[j]), Explained(kind, "", level)))


def _slips(value: float, unit: str) -> tuple[tuple[str, float], ...]:
    slips: tuple[tuple[str, float], ...] = digit_slips(value)
    if is_gravity(unit):
        # 1.264, 0.0264 and 26.4 for 1.0264: a zero left out, or only what stands behind the one.
        short = (1 + (value - 1) / 10, 1 + value, 1 + value / 1000)
        slips += tuple(("point", round(one, 6)) for one in short)
    return slips


def _chosen(ways: Iterable[tuple[float, Explained]], decimals: int) -> Explained:
    """Choose the plainest slip: a quantity or a point by nearness, then exchanged digits."""

    def order(way: tuple[float, Explained]) -> tuple[bool, bool, float, float]:
        distance, one = way
        # 442.5 is not meant by 4425 in a column of whole numbers where 425 would do.
        finer = one.kind == "point" and len(plain(one.level).partition(".")[2]) > decimals >= 0
        return finer, one.kind not in ("quantity", "point"), distance, one.level

    ranked = [one for _, one in sorted(ways, key=order)]
    first = ranked[0]
    slip = {"exchanged": "two digits are exchanged", "twice": "a digit is doubled"}
    for second in ranked[1:]:
        if first.kind == "quantity" and second.kind in slip:
            return replace(first, other=f"Or {slip[second.kind]}: {plain(second.level)}.")
    return first


def _without_continued(seen: Surroundings, chosen: dict[int, Explained]) -> dict[int, Explained]:
    """Leave out readings that lead on from a neighbour which is not explained: a real movement."""
    if seen.usual is None:
        return chosen
    left, jump = dict(chosen), math.log(seen.usual.jump)
    usable = np.flatnonzero(seen.usable)
    place = {int(i): p for p, i in enumerate(usable)}
    for direction in (1, -1):
        for i in sorted(left, reverse=direction < 0):
            p = place[i] - direction
            if not 0 <= p < usable.size or int(usable[p]) in left:
                continue
            if abs(seen.y[i] - seen.y[usable[p]]) <= jump:
                del left[i]
    return left


def _without_digit_runs(seen: Surroundings, chosen: dict[int, Explained]) -> dict[int, Explained]:
    """Leave out exchanged or doubled digits beside another strange reading: nobody slips in a row."""
    usable = np.flatnonzero(seen.usable)
    strange = seen.odd[usable]
    left = dict(chosen)
    for i, one in chosen.items():
        if one.kind not in ("exchanged", "twice"):
            continue
        p = int(np.searchsorted(usable, i))
        beside = strange[max(p - 1, 0) : p + 2].sum() - strange[p]
        if beside > 0 and usable.size > 4:
            del left[i]
    return left


def runs(seen: Surroundings, chosen: dict[int, Explained]) -> list[list[int]]:
    """Return explained readings that follow each other and have the same explanation.

    Parameters
    ----------
    seen : Surroundings
        A column.
    chosen : dict of int to Explained
        As ``explained`` gives it.

    Returns
    -------
    list of list of int
        Indexes, in order of time.

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> column = Series(1, "KH", "alkalinity", "dKH", (2, 3, 4, 5), np.arange(4.0),
    ...                 np.array([8.1, 8.0, 2.9, 2.8]), ("", "", "", ""))
    >>> seen = surroundings(column)
    >>> runs(seen, explained(seen))
    [[2, 3]]
    """
    usable = np.flatnonzero(seen.usable)
    labels = [(e.kind, e.words) if (e := chosen.get(int(i))) else None for i in usable]
    found = []
    for label, group in itertools.groupby(range(usable.size), key=lambda p: labels[p]):
        if label is not None:
            found.append([int(usable[p]) for p in group])
    return found
