"""The last readings of one water: as they were read, and what their spread lets expect of the next."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.stats import t as student_t

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.tank import Tank

SHOWN = 3
PRIOR_WORTH = 2.0  # own choice: the usual scatter counts like two readings


@dataclass(frozen=True)
class LastReading:
    """One earlier reading.

    Attributes
    ----------
    time : pandas.Timestamp
        When, UTC.
    level : float
        As read, in the unit asked for; the bound of a limit, the lower end of "between"; NaN where
        no level can be worked out.
    text : str
        As a person wrote it, with its unit.
    limit : {"", "<", ">", "between"}
        What the level is a bound of.
    kit : str
        Kit it was read with.
    doubted : bool
        Whether it is set aside as a gross error, or is no level that water can hold.
    """

    time: pd.Timestamp
    level: float
    text: str
    limit: str
    kit: str
    doubted: bool


def last_readings(
    tank: Tank,
    element: str,
    water: str,
    before: pd.Timestamp,
    unit: str,
    doubted: Collection[int] = (),
) -> tuple[LastReading, ...]:
    """Return up to three last readings of a water before a time, newest first.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element, water : str
        Element, and water as written in ``readings.csv``.
    before : pandas.Timestamp
        Only older readings count (UTC).
    unit : str
        Unit of the levels.
    doubted : collection of int, optional
        Rows that are set aside.

    Returns
    -------
    tuple of LastReading
        Levels in ``unit``.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> now = pd.Timestamp("2026-02-16", tz="UTC")
    >>> [one.text for one in last_readings(example_tank(), "alkalinity", "tank", now, "dKH")]
    ['7.0 dKH', '7.2 dKH', '7.1 dKH']
    """
    rows = tank.readings
    own = (rows["element"] == element) & (rows["water"] == water) & (rows["time"] < before)
    return tuple(
        LastReading(
            row.time,
            _level(tank, row, unit),
            _text(tank, row),
            row.limit,
            row.kit,
            bool(row.outside) or row.row in doubted,
        )
        for row in reversed(list(rows[own].tail(SHOWN).itertuples(index=False)))
    )


def _level(tank: Tank, row: pd.Series, unit: str) -> float:
    held = tank.water_at(row.time)
    try:
        return convert(
            row.level, ELEMENTS[row.element].store_unit, unit, row.element,
            salinity=held.salinity if math.isnan(row.salinity) else row.salinity,
            temperature_C=held.temperature_C if math.isnan(row.temperature) else row.temperature,
        )  # fmt: skip
    except InputError:
        return math.nan


def _text(tank: Tank, row: pd.Series) -> str:
    kit = tank.kits.get(row.kit)
    decimals = 0
    if kit is not None and kit.unit == row.unit and kit.resolution > 0:
        decimals = len(f"{kit.resolution:.6f}".rstrip("0").partition(".")[2])

    def number(value: float) -> str:
        plain = f"{value:.6g}"
        shown = f"{value:.{decimals}f}"
        return shown if float(shown) == float(plain) else plain

    if row.limit == "between":
        return f"{number(row.value)}–{number(row.upper)} {row.unit}"
    return f"{row.limit} {number(row.value)} {row.unit}".strip()


def spread_of(lows: np.ndarray, highs: np.ndarray, usual_sd: float) -> tuple[float, float]:
    """Return the 95 % range of the next reading from the spread of the last ones.

    low = mean(lows) − t·s·√(1 + 1/n), high likewise; s² = (2·s0² + Σ(y − mean)²)/(n + 1), n + 1
    degrees of freedom.

    Parameters
    ----------
    lows, highs : numpy.ndarray, shape (n,)
        Ends of what each reading says, n of 1 or more, in one unit: alike for a plain reading.
    usual_sd : float
        Scatter s0 that is usual from one such reading to the next, above 0, in that unit.

    Returns
    -------
    tuple of float
        Low and high in that unit.

    Raises
    ------
    InputError
        If there is no reading.

    Notes
    -----
    For a level that stays about where it is. Own choice: the usual scatter counts like two readings.

    Examples
    --------
    >>> y = np.array([8.0, 8.2, 7.9])
    >>> low, high = spread_of(y, y, 0.2)
    >>> round(low, 2), round(high, 2)
    (7.46, 8.6)

    References
    ----------
    Prediction interval of one further normal value, with a conjugate prior of its variance: textbook,
    *common practice, no source*.
    """
    n = len(lows)
    if n == 0:
        raise InputError("at least one reading", "none", "Read this water once.", "spread_of")
    df = n - 1 + PRIOR_WORTH
    reach = float(student_t.ppf(0.975, df)) * math.sqrt(1 + 1 / n)

    def s(y: np.ndarray) -> float:
        return math.sqrt((PRIOR_WORTH * usual_sd**2 + float(((y - y.mean()) ** 2).sum())) / df)

    return float(lows.mean()) - reach * s(lows), float(highs.mean()) + reach * s(highs)
