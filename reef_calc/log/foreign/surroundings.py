"""One column of readings in time, and what the readings around each one let expect."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from reef_calc.chem.elements import ELEMENTS
from reef_calc.log.foreign.usual_levels import Usual, on_ratio_scale, usual_range

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
_EACH_SIDE = 3
# Relative scatter that is taken where too few readings show it; *common practice, no source*.
_SCATTER = 0.03
# Beyond these no slip of a digit leads back to water.
_LEAST, _MOST = 1e-9, 1e9


@dataclass(frozen=True)
class Series:
    """Readings of one element in one column of a foreign table.

    Attributes
    ----------
    column : int
        Column counted from 0.
    key : str
        What the column is called.
    element : str
        Element of the closed list, or another symbol, of which nothing is said.
    unit : str
        Unit word of the element; empty where it is not known, then the usual one is taken.
    rows : tuple of int
        Rows as a spreadsheet shows them.
    days : numpy.ndarray, shape (n,)
        Times (days, from any start); NaN where unknown.
    values : numpy.ndarray, shape (n,)
        Readings (unit); NaN where there is none.
    limits : tuple of str
        As in ``readings.csv``; whatever is not empty is left out of all judging.
    kit, water : str
        As the column says.
    """

    column: int
    key: str
    element: str
    unit: str
    rows: tuple[int, ...]
    days: Floats
    values: Floats
    limits: tuple[str, ...]
    kit: str = ""
    water: str = "tank"


@dataclass(frozen=True)
class Surroundings:
    """A series in order of time, seen on a scale of ratios.

    Attributes
    ----------
    series : Series
        The readings in order of time.
    unit : str
        Unit in words.
    usual : Usual or None
        What tanks usually hold (unit); None for what has no usual level.
    usable : numpy.ndarray of bool, shape (n,)
        Whether there is a plain number above zero, of a size that a slip may give.
    y : numpy.ndarray, shape (n,)
        Logarithms (no unit); NaN where nothing is dissolved.
    home : numpy.ndarray of bool, shape (n,)
        Whether the reading is where this tank, or any, usually is.
    around : numpy.ndarray, shape (n,)
        Median logarithm of up to six readings at home around each one, without it; NaN where none.
    scatter : float
        Relative standard deviation of readings at home from those around them (ratio).
    """

    series: Series
    unit: str
    usual: Usual | None
    usable: Flags
    y: Floats
    home: Flags
    around: Floats
    scatter: float

    @property
    def apart(self) -> Flags:
        """Whether each reading is far from those around it; True where there are none."""
        if self.usual is None:
            return np.zeros(self.y.size, dtype=bool)
        with np.errstate(invalid="ignore"):
            return ~(np.abs(self.y - self.around) <= math.log(self.usual.jump))

    @property
    def odd(self) -> Flags:
        """Whether each reading is far from home and from those around it."""
        return self.usable & ~self.home & self.apart

    def fits(self, levels: Floats, at: NDArray[np.intp], tolerance: float) -> Flags:
        """Return whether other levels would fit where readings stand.

        Parameters
        ----------
        levels : numpy.ndarray, shape (k,)
            Levels (unit).
        at : numpy.ndarray of int, shape (k,)
            Index of the reading each would stand for.
        tolerance : float
            Largest difference from the readings around it (natural logarithm, no unit).

        Returns
        -------
        numpy.ndarray of bool, shape (k,)
            Without readings around, whether tanks usually hold that level.

        Examples
        --------
        >>> seen = surroundings(Series(1, "KH", "alkalinity", "dKH", (2, 3, 4), np.arange(3.0),
        ...                            np.array([8.4, 84.0, 8.2]), ("", "", "")))
        >>> seen.fits(np.array([8.4, 4.7]), np.array([1, 1]), 0.25).tolist()
        [True, False]
        """
        usual = self.usual
        if usual is None:
            return np.zeros(len(levels), dtype=bool)
        y, around = on_ratio_scale(levels, self.unit), self.around[at]
        inside = (levels >= usual.low) & (levels <= usual.high)
        alone = np.isnan(around)
        close = np.abs(y - around) <= tolerance
        return np.where(alone, inside, close & (inside | _extended(self, y)))


def surroundings(
    series: Series, aims: Mapping[str, tuple[float, float]] | None = None, *, own: bool = False
) -> Surroundings:
    """Return a series with what the readings around each one let expect.

    Parameters
    ----------
    series : Series
        Readings of an element of the closed list.
    aims : mapping of str to (float, float), optional
        Aims of the tank by element (display unit).
    own : bool, optional
        Whether this tank's own median counts as home too, although other tanks are elsewhere.

    Returns
    -------
    Surroundings
        In order of time.

    Examples
    --------
    >>> seen = surroundings(Series(1, "Ca", "calcium", "mg/L", (2, 3, 4, 5), np.arange(4.0),
    ...                            np.array([480.0, 48, 470, 740]), ("", "", "", "")))
    >>> seen.odd.tolist(), np.exp(seen.around).round().tolist()
    ([False, True, False, True], [470.0, 475.0, 480.0, 475.0])
    """
    series = _in_time(series)
    unit = series.unit or ELEMENTS[series.element].display_unit
    low, high = (aims or {}).get(series.element, (math.nan, math.nan))
    usual = usual_range(series.element, unit, low, high)
    plain = np.array([limit == "" for limit in series.limits], dtype=bool)
    values = np.asarray(series.values, dtype=float)
    with np.errstate(invalid="ignore"):
        usable = plain & (values > _LEAST) & (values < _MOST)
    y = on_ratio_scale(np.where(usable, values, np.nan), unit)
    if usual is None:
        home = usable
    else:
        home = usable & (values >= usual.low) & (values <= usual.high)
        if own and usable.any() and np.isfinite(y).any():
            home = home | (usable & (np.abs(y - np.nanmedian(y)) < math.log(usual.jump)))
    around = _around(y, home)
    off = np.abs(y - around)[home]
    off = off[np.isfinite(off)]
    scatter = 1.4826 * float(np.median(off)) if off.size >= 6 else _SCATTER
    return Surroundings(series, unit, usual, usable, y, home, around, scatter)


def _in_time(series: Series) -> Series:
    days = np.asarray(series.days, dtype=float)
    if not np.isfinite(days).all() or np.all(days[1:] >= days[:-1]):
        return series
    order = np.argsort(days, kind="stable")
    return replace(
        series,
        rows=tuple(series.rows[i] for i in order),
        days=days[order],
        values=np.asarray(series.values, dtype=float)[order],
        limits=tuple(series.limits[i] for i in order),
    )


def _extended(seen: Surroundings, y: Floats) -> Flags:
    """Whether levels are where this tank's own readings at home are."""
    at_home = seen.y[seen.home]
    if at_home.size == 0:
        return np.zeros(y.size, dtype=bool)
    found: Flags = (y >= at_home.min() - 1e-9) & (y <= at_home.max() + 1e-9)
    return found


def _around(y: Floats, home: Flags) -> Floats:
    places = np.flatnonzero(home)
    if places.size == 0:
        return np.full(y.size, np.nan)
    pad = np.full(_EACH_SIDE, np.nan)
    held = np.concatenate([pad, y[places], pad])
    before = np.searchsorted(places, np.arange(y.size)) + _EACH_SIDE
    # A reading at home is not its own neighbour.
    steps = [before - k for k in range(1, _EACH_SIDE + 1)]
    steps += [before + home + k for k in range(_EACH_SIDE)]
    padded = np.concatenate([held, pad])
    near = np.sort(padded[np.stack(steps, axis=1)], axis=1)
    known = np.isfinite(near).sum(axis=1)
    rows = np.arange(y.size)
    last = np.maximum(known - 1, 0)
    middle = (near[rows, last // 2] + near[rows, np.maximum(known, 1) // 2 - (known == 0)]) / 2
    return np.where(known > 0, middle, np.nan)
