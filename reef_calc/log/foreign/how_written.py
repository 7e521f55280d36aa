"""How the numbers of a column are written, so that what is said of them is written alike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reef_calc.log.foreign.surroundings import Surroundings
from reef_calc.log.foreign.usual_levels import is_gravity


@dataclass(frozen=True)
class SeenBeside:
    """How numbers of a column are written.

    Attributes
    ----------
    decimals : int
        Decimals of its readings at home; −1 where there are none to go by.
    unit : str
        Unit behind a number, with a blank before it; empty for pH and gravities.
    """

    decimals: int
    unit: str


def beside(seen: Surroundings) -> SeenBeside:
    """Return how numbers of a column are written.

    Parameters
    ----------
    seen : Surroundings
        A column.

    Returns
    -------
    SeenBeside
        Decimals and unit.

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> column = Series(1, "KH", "alkalinity", "dKH", (2,), np.zeros(1), np.array([8.25]), ("",))
    >>> beside(surroundings(column))
    SeenBeside(decimals=2, unit=' dKH')
    """
    at_home = np.asarray(seen.series.values, dtype=float)[seen.home][:200]
    decimals = [len(plain(value).partition(".")[2]) for value in at_home]
    return SeenBeside(max(decimals, default=-1), unit_behind(seen))


def unit_behind(seen: Surroundings) -> str:
    """Return the unit that stands behind a number of a column.

    Parameters
    ----------
    seen : Surroundings
        A column.

    Returns
    -------
    str
        With a blank before it; empty for pH and gravities.

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> column = Series(1, "pH", "pH", "pH", (2,), np.zeros(1), np.array([8.2]), ("",))
    >>> unit_behind(surroundings(column))
    ''
    """
    return "" if is_gravity(seen.unit) or seen.unit == "pH" else f" {seen.unit}"


def plain(value: float) -> str:
    """Return a number as it was typed, as far as that is known.

    Parameters
    ----------
    value : float
        Number in any unit.

    Returns
    -------
    str
        Without zeros at its end.

    Examples
    --------
    >>> plain(1300.0), plain(8.25)
    ('1300', '8.25')
    """
    return f"{value:.10g}"


def given(seen: Surroundings, index: int) -> str:
    """Return a reading as it was typed.

    Parameters
    ----------
    seen : Surroundings
        A column.
    index : int
        Index of the reading.

    Returns
    -------
    str
        Without its unit.

    Examples
    --------
    >>> from reef_calc.log.foreign.surroundings import Series, surroundings
    >>> column = Series(1, "KH", "alkalinity", "dKH", (2,), np.zeros(1), np.array([8.25]), ("",))
    >>> given(surroundings(column), 0)
    '8.25'
    """
    return plain(float(seen.series.values[index]))
