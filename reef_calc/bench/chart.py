"""A kit's own chart or colour card: from a reading to a level, and never beyond its ends."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from reef_calc.bench.kit_parts import number_pair
from reef_calc.bench.toml_reader import Keys
from reef_calc.errors import InputError

Chart = Sequence[tuple[float, float]]


class ColourRange(NamedTuple):
    """What a colour says about the level, all in the unit of the card.

    Attributes
    ----------
    level : float
        Step that was matched; the lower end where the colour lies between two steps.
    low, high : float
        The level lies between them with equal chance.
    u : float
        Standard uncertainty of ``level``; of the middle where the colour lies between two steps.
    """

    level: float
    low: float
    high: float
    u: float


def chart_from(keys: Keys) -> tuple[tuple[float, float], ...]:
    """Return the rows of a kit's chart, empty when there is none.

    Parameters
    ----------
    keys : Keys
        The kit's table, with the key ``chart``.

    Returns
    -------
    tuple of (float, float)
        Reading and level, in the order typed.

    Raises
    ------
    InputError
        If the rows are not pairs of numbers, or the level does not only rise or only fall.

    Examples
    --------
    >>> chart_from(Keys({"chart": [[0.1, 380], [0.2, 400]]}, "kits.toml, kit.calcium"))
    ((0.1, 380.0), (0.2, 400.0))
    """
    given = keys.value("chart")
    if given is None:
        return ()
    rows = [number_pair(row) for row in given] if isinstance(given, list) else [None]
    pairs = tuple(row for row in rows if row is not None)
    if len(pairs) != len(rows) or len(pairs) < 2:
        raise keys.refuse(
            "chart", "at least two rows of [reading, level]", "Write [[0.10, 380], [0.20, 400]]."
        )
    ordered = sorted(pairs)
    rising = ordered[-1][1] > ordered[0][1]
    for (x, y), (x2, y2) in itertools.pairwise(ordered):
        if x == x2 or y == y2 or (y2 > y) != rising:
            raise keys.refuse(
                "chart",
                "levels that only rise or only fall along the chart",
                f"Check the rows [{x:g}, {y:g}] and [{x2:g}, {y2:g}].",
            )
    return pairs


def sorted_chart(chart: Chart) -> tuple[np.ndarray, np.ndarray]:
    """Return the readings and levels of a chart in the order of the readings.

    Parameters
    ----------
    chart : sequence of (float, float)
        Reading (its own unit) and level (the kit's unit), in any order, rising or falling.

    Returns
    -------
    tuple of numpy.ndarray
        Rising readings, and their levels in the kit's unit.

    Raises
    ------
    InputError
        If there are fewer than two rows, or the level does not only rise or only fall; names the
        rows as typed, counted from 1.

    Examples
    --------
    >>> readings, levels = sorted_chart([(0.2, 400.0), (0.1, 380.0)])
    >>> readings.tolist(), levels.tolist()
    ([0.1, 0.2], [380.0, 400.0])
    """
    rows = np.asarray(chart, dtype=float)
    if rows.ndim != 2 or rows.shape[0] < 2 or rows.shape[1] != 2 or not np.isfinite(rows).all():
        raise InputError(
            "a chart of at least two rows of reading and level",
            f"{len(chart)} rows",
            "Type the chart from the kit's leaflet, such as [[0.10, 380], [0.20, 400]].",
        )
    order = np.argsort(rows[:, 0], kind="stable")
    readings, levels = rows[order, 0], rows[order, 1]
    rises = np.diff(levels)
    rising = levels[-1] > levels[0]
    wrong = (np.diff(readings) == 0.0) | ((rises <= 0.0) if rising else (rises >= 0.0))
    if wrong.any():
        at = int(np.argmax(wrong))
        first, second = int(order[at]) + 1, int(order[at + 1]) + 1
        raise InputError(
            "a chart whose levels only rise or only fall",
            f"row {first}: {readings[at]:g} is {levels[at]:g}, "
            f"row {second}: {readings[at + 1]:g} is {levels[at + 1]:g}",
            "One of the two rows was probably mistyped: compare them with the leaflet.",
        )
    return readings, levels


def level_from_chart(reading: float | np.ndarray, chart: Chart) -> float | np.ndarray:
    """Return the level of a reading by straight lines between the rows of a chart.

    Parameters
    ----------
    reading : float or numpy.ndarray
        Reading in the chart's own unit, any shape.
    chart : sequence of (float, float)
        Reading and level, in any order.

    Returns
    -------
    float or numpy.ndarray
        Level in the kit's unit; a float for a float.

    Raises
    ------
    InputError
        If the chart is not monotone, or a reading lies beyond its ends: nothing is extrapolated.

    Examples
    --------
    >>> falling = [(0.90, 300.0), (0.74, 350.0), (0.58, 400.0), (0.42, 450.0)]
    >>> round(level_from_chart(0.66, falling), 6)
    375.0
    """
    readings, levels = sorted_chart(chart)
    values = np.asarray(reading, dtype=float)
    outside = ~((values >= readings[0]) & (values <= readings[-1]))
    if outside.any():
        first = float(values[outside].flat[0]) if values.ndim else float(values)
        end = levels[0] if first < readings[0] else levels[-1]
        high = end == max(levels)
        raise InputError(
            f"a reading from {readings[0]:g} to {readings[-1]:g}, where the chart ends",
            first,
            f"The level is above {end:g}. Dilute the sample with pure water and test again, or "
            f"write it as > {end:g}."
            if high
            else f"The level is below {end:g}. Write it as < {end:g}, or check the reading.",
        )
    found = np.interp(values, readings, levels)
    return found if np.ndim(reading) else float(found)


def reading_from_level(level: float | np.ndarray, chart: Chart) -> float | np.ndarray:
    """Return the reading that a level would give; the inverse of ``level_from_chart``.

    Parameters
    ----------
    level : float or numpy.ndarray
        Level in the kit's unit, any shape.
    chart : sequence of (float, float)
        Reading and level, in any order.

    Returns
    -------
    float or numpy.ndarray
        Reading in the chart's own unit; a float for a float.

    Raises
    ------
    InputError
        If the chart is not monotone, or the level lies beyond its ends.

    Examples
    --------
    >>> reading_from_level(8.5, [(0.5, 8.0), (0.75, 9.0)])
    0.625
    """
    sorted_chart(chart)
    try:
        return level_from_chart(level, [(row[1], row[0]) for row in chart])
    except InputError as error:
        raise InputError(error.needed, error.given, "The chart does not reach it.") from error


def _card(steps: Chart) -> tuple[np.ndarray, np.ndarray]:
    numbers, levels = sorted_chart(steps)
    if levels[0] > levels[-1]:
        return numbers[::-1], levels[::-1]
    return numbers, levels


def _place(step: float, numbers: np.ndarray) -> int:
    found = np.flatnonzero(numbers == step)
    if not len(found):
        raise InputError(
            "a step of the card: " + ", ".join(f"{number:g}" for number in sorted(numbers)),
            step,
            "If the colour lies between two steps, give both.",
        )
    return int(found[0])


def level_from_colour(step: float, steps: Chart, second_step: float | None = None) -> ColourRange:
    """Return what a colour says about the level.

    A colour between two steps: anywhere between them. A colour that matches a step: anywhere from
    half-way to the step before to half-way to the step after; at an end of the card the missing
    half is taken as wide as the other one, but not below 0.

    Parameters
    ----------
    step : float
        Step that matches, without unit, as numbered in the kit's chart.
    steps : sequence of (float, float)
        Number and level of each step, level in the kit's unit.
    second_step : float, optional
        The neighbouring step, without unit, when the colour lies between the two.

    Returns
    -------
    ColourRange
        In the kit's unit.

    Raises
    ------
    InputError
        If there is no such step, or the two are not neighbours.

    Examples
    --------
    >>> card = [(1, 0.5), (2, 2.0), (3, 5.0), (4, 10.0)]
    >>> found = level_from_colour(2, card, 3)
    >>> found.low, found.high, round(found.u, 3)
    (2.0, 5.0, 0.866)
    >>> level_from_colour(3, card)[:3]
    (5.0, 3.5, 7.5)
    """
    numbers, levels = _card(steps)
    at = _place(step, numbers)
    if second_step is not None and second_step != step:
        other = _place(second_step, numbers)
        if abs(other - at) != 1:
            raise InputError(
                "two neighbouring steps",
                f"{step:g} and {second_step:g}",
                "Compare once more in daylight, against white.",
            )
        low, high = sorted((float(levels[at]), float(levels[other])))
        return ColourRange(low, low, high, (high - low) / math.sqrt(12.0))
    level = float(levels[at])
    gaps = np.abs(np.diff(levels))
    below, above = gaps[max(at - 1, 0)] / 2.0, gaps[min(at, len(gaps) - 1)] / 2.0
    low, high = level - float(below), level + float(above)
    if level >= 0.0:
        low = max(low, 0.0)
    # Second moment about the step itself, which is not the middle where the steps widen.
    u = math.sqrt(((high - level) ** 3 + (level - low) ** 3) / (3.0 * (high - low)))
    return ColourRange(level, low, high, u)
