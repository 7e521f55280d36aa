"""When to test next: the dates on which a reading tells most."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reef_calc.balance.sampling import DAY_TO_DAY, WaterChangeHabit, design_half_widths
from reef_calc.balance.sampling_outlook import PlannedElement
from reef_calc.balance.water_balance import balance_columns
from reef_calc.errors import InputError

Floats = NDArray[np.float64]
MONTH = 28
# A change of SD 30 % about every 250 days: as a slow walk, the variance a day brings to the use.
CHANGE_PER_DAY = 0.30**2 / 250
FIRST_GUESS = 0.5


def proposed_times(
    element: PlannedElement,
    start: float,
    readings: int,
    habit: WaterChangeHabit = WaterChangeHabit(),  # noqa: B008 (frozen)
    *,
    days: int = MONTH,
    day_to_day: float = DAY_TO_DAY,
) -> Floats:
    """Return the days of the coming weeks on which readings tell most about the use.

    The variance of a use that may change, averaged over the coming days, is made least: first by the
    one day that lowers it most, then by the next beside it, and so on. A reading too early repeats
    what is known; one too late leaves a change unseen.

    Parameters
    ----------
    element : PlannedElement
        Readings so far, kit and use.
    start : float
        Now (d); proposals fall on whole days after it.
    readings : int
        Number of readings to propose, from 1 to ``days``.
    habit : WaterChangeHabit, optional
        Water changes.
    days : int, optional
        Length of the calendar in days.
    day_to_day : float, optional
        Variation of the use from day to day (share of the use).

    Returns
    -------
    numpy.ndarray, shape (readings,)
        Times (d), rising.

    Raises
    ------
    InputError
        If more readings than days are asked for, or ``start`` lies before the last reading.

    Notes
    -----
    Not for catching accidents: keep the readings of the daily look at the tank beside it.

    Examples
    --------
    >>> calcium = PlannedElement("calcium", "mg/L", np.arange(0, 29, 7), 7.0, 7.0, 5.0)
    >>> proposed_times(calcium, 28.0, 4).tolist()
    [31.0, 35.0, 42.0, 49.0]

    References
    ----------
    Kalman filter of level and use, own choice of criterion.
    """
    past = np.atleast_1d(np.asarray(element.times, dtype=float))
    if not 1 <= readings <= days:
        raise InputError(
            f"1 to {days} readings", readings, "One reading a day is the most.", "proposed_times"
        )
    if past.size and start < past[-1]:
        raise InputError(
            f"a start from the last reading ({past[-1]:g}) on",
            start,
            "Start now.",
            "proposed_times",
        )
    coming = start + 1 + np.arange(days, dtype=float)
    chosen = np.zeros(days, dtype=bool)
    for _ in range(readings):
        free = np.flatnonzero(~chosen)
        # One column a candidate: what is chosen already, and that day.
        reads = np.repeat(chosen[:, None], free.size, axis=1)
        reads[free, np.arange(free.size)] = True
        chosen[free[np.argmin(_mean_variance(element, past, coming, reads, habit, day_to_day))]] = (
            True
        )
    return coming[chosen]


def _mean_variance(
    element: PlannedElement,
    past: Floats,
    coming: Floats,
    reads: NDArray[np.bool_],
    habit: WaterChangeHabit,
    day_to_day: float,
) -> Floats:
    """Variance of the use, averaged over the coming days, for each column of planned readings."""
    times = np.r_[past, coming]
    c = balance_columns(times, habit.events(times[0], times[-1]))
    apart = np.diff(times, prepend=times[0])
    error = element.sd**2 + element.resolution**2 / 12
    k2, plans = element.rate**2, reads.shape[1]
    level, use = np.full(plans, 1e6 * error), np.full(plans, FIRST_GUESS**2 * k2)
    both, total = np.zeros(plans), np.zeros(plans)
    for i in range(times.size):
        g, h, change = c.g[i], c.h[i], CHANGE_PER_DAY * k2 * apart[i]
        level = g**2 * level - 2 * g * h * both + h**2 * use
        level += day_to_day**2 * k2 * c.p[i] + change * h**2 / 3
        both, use = g * both - h * use - change * h / 2, use + change
        is_read = np.ones(plans) if i < past.size else reads[i - past.size].astype(float)
        gain = is_read / (level + error)
        level, both, use = (
            level - gain * level**2,
            both - gain * level * both,
            use - gain * both**2,
        )
        if i >= past.size:
            total += use
    return total / coming.size


def reading_calendar(
    elements: Sequence[PlannedElement],
    start: float,
    readings: Sequence[int],
    habit: WaterChangeHabit = WaterChangeHabit(),  # noqa: B008 (frozen)
    *,
    days: int = MONTH,
) -> pd.DataFrame:
    """Return the proposed dates of all elements, with what each element's readings will show.

    Parameters
    ----------
    elements : sequence of PlannedElement
        Elements, times from one origin.
    start : float
        Now (d).
    readings : sequence of int
        Number of readings wanted of each element.
    habit : WaterChangeHabit, optional
        Water changes.
    days : int, optional
        Length of the calendar in days.

    Returns
    -------
    pandas.DataFrame
        One row a proposed reading in order of time: ``time`` (d), ``element``, and ``half_width`` of
        a steady use after it (unit per day; infinite while readings are too few).

    Examples
    --------
    >>> dkh = PlannedElement("alkalinity", "dKH", np.arange(0, 29, 3.5), 1.0, 0.15, 0.1)
    >>> calcium = PlannedElement("calcium", "mg/L", np.arange(0, 29, 7), 7.0, 7.0, 5.0)
    >>> reading_calendar([dkh, calcium], 28.0, [3, 1])[["time", "element"]].to_numpy().tolist()
    [[35.0, 'alkalinity'], [42.0, 'alkalinity'], [42.0, 'calcium'], [49.0, 'alkalinity']]

    References
    ----------
    :func:`proposed_times` and :func:`reef_calc.balance.sampling.design_half_widths`.
    """
    rows = []
    for element, count in zip(elements, readings, strict=True):
        past = np.atleast_1d(np.asarray(element.times, dtype=float))
        times = proposed_times(element, start, count, habit, days=days)
        half = design_half_widths(
            np.r_[past, times], element.rate, element.sd, element.resolution, habit
        )[past.size :]
        rows.append(pd.DataFrame({"time": times, "element": element.name, "half_width": half}))
    table = pd.concat(rows, ignore_index=True)
    return table.sort_values("time", kind="stable", ignore_index=True)
