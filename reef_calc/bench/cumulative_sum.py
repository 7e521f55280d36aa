"""The cumulative sum of a kit on a standard, for slow drift, and how soon it notices."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import stats

from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed


@dataclass(frozen=True)
class CumulativeSum:
    """A two-sided cumulative sum.

    Attributes
    ----------
    points : pandas.DataFrame
        One row a reading: read, upper and lower sum (standard deviations), signal ("", "high",
        "low").
    first_signal : int or None
        Row of the first signal (index from 0).
    began : int or None
        First row of the run that signalled: the shift may have begun there (index from 0).
    shift : float or None
        Estimated shift from the target in the kit's unit.
    messages : tuple of Message
        What it says, in words.
    """

    points: pd.DataFrame
    first_signal: int | None
    began: int | None
    shift: float | None
    messages: tuple[Message, ...]


def cumulative_sum(
    readings: Sequence[float],
    target: float,
    sd: float,
    *,
    unit: str,
    allowance: float = 0.5,
    decision: float = 5.0,
) -> CumulativeSum:
    """Return the two-sided cumulative sum of readings about a target.

    U = max(0, U + z − k), L = max(0, L − z − k), z = (read − target)/s; a signal above h

    Parameters
    ----------
    readings : sequence of float
        Readings of one standard in their order, in ``unit``.
    target, sd : float
        Level to hold and scatter of one reading, in ``unit``.
    unit : str
        The kit's unit.
    allowance, decision : float, optional
        k and h in standard deviations (no unit): half the shift to find, and the height of alarm.

    Returns
    -------
    CumulativeSum
        The sums and the first signal. They go on after a signal; start anew after a correction.

    Raises
    ------
    InputError
        If a reading is missing or a number cannot be used.

    Notes
    -----
    An error of the target itself looks like a shift: the standard's uncertainty should
    be below k·s. With k = 0.5 and h = 5 a kit in order alarms once in 465 readings, and a shift of one
    standard deviation is seen after about 10.

    Examples
    --------
    >>> found = cumulative_sum([8.0, 8.1, 8.3, 8.2, 8.3, 8.3], 8.0, 0.1, unit="dKH")
    >>> found.first_signal, found.began, round(found.shift, 3)
    (4, 1, 0.225)

    References
    ----------
    ISO 7870-4 (from memory); Montgomery, Introduction to Statistical Quality Control (from memory).
    """
    read = np.asarray(readings, dtype=float)
    if read.ndim != 1 or len(read) == 0 or not np.isfinite(read).all():
        raise InputError(
            "readings in their order, without gaps", readings, "Leave missing readings out."
        )
    if not (math.isfinite(target) and 0 < sd < math.inf and allowance >= 0 and decision > 0):
        raise InputError(
            "a target, a scatter above 0, an allowance of 0 or more and a height above 0",
            (target, sd, allowance, decision),
            "Take the standard's level and the kit's repeatability.",
        )
    sums = {"high": np.zeros(len(read)), "low": np.zeros(len(read))}
    starts = {"high": np.zeros(len(read), dtype=int), "low": np.zeros(len(read), dtype=int)}
    for side, sign in (("high", 1.0), ("low", -1.0)):
        height, start = 0.0, 0
        for i, z in enumerate(sign * (read - target) / sd):
            if height == 0.0:
                start = i
            height = max(0.0, height + z - allowance)
            sums[side][i], starts[side][i] = height, start
    signal = np.where(sums["high"] > decision, "high", np.where(sums["low"] > decision, "low", ""))
    points = pd.DataFrame(
        {"read": read, "upper": sums["high"], "lower": sums["low"], "signal": signal}
    )
    alarms = np.flatnonzero(signal != "")
    if len(alarms) == 0:
        quiet = Message(
            "NO_DRIFT", "The sum shows no slow drift. A small one may take many more readings."
        )
        return CumulativeSum(points, None, None, None, (quiet,))
    first = int(alarms[0])
    side = str(signal[first])
    began = int(starts[side][first])
    size = sd * (allowance + float(sums[side][first]) / (first - began + 1))
    text = (
        f"The readings have been {side} by about {fixed(size, decimals_for(sd))} {unit}, perhaps "
        f"since reading {began + 1}. The kit, the standard or the way of reading may have changed. "
        "Read a fresh bottle before correcting."
    )
    told = Message("DRIFT", text, "qualified")
    return CumulativeSum(points, first, began, size if side == "high" else -size, (told,))


def readings_until_alarm(
    shift: float, *, allowance: float = 0.5, decision: float = 5.0, two_sided: bool = True
) -> float:
    """Return after how many readings a cumulative sum alarms on average.

    The height as a Markov chain on a fine grid: (I − Q)·L = 1; two sides: 1/L = 1/L⁺ + 1/L⁻.

    Parameters
    ----------
    shift : float
        Shift of the kit from the target in standard deviations (no unit).
    allowance, decision : float, optional
        k and h in standard deviations (no unit).
    two_sided : bool, optional
        Whether both sides are watched.

    Returns
    -------
    float
        Mean count of readings from a start at 0.

    Raises
    ------
    InputError
        If a number cannot be used.

    Notes
    -----
    For independent normal readings with the scatter known. Right to about four digits.

    Examples
    --------
    >>> round(readings_until_alarm(0.0)), round(readings_until_alarm(1.0), 1)
    (465, 10.4)

    References
    ----------
    Brook and Evans (1972), Biometrika 59, 539; two sides: Kemp (1961); both from memory.
    """
    if not (math.isfinite(shift) and allowance >= 0 and 0 < decision < 50):
        raise InputError(
            "a shift, an allowance of 0 or more and a height between 0 and 50",
            (shift, allowance, decision),
            "The usual pair is 0.5 and 5.",
        )
    up = _one_side(shift, allowance, decision)
    return 1.0 / (1.0 / up + 1.0 / _one_side(-shift, allowance, decision)) if two_sided else up


def _one_side(shift: float, allowance: float, decision: float, cells: int = 200) -> float:
    # Cell 0 gathers everything down to zero; cell j is centred on j·w, and the alarm is at h.
    width = 2.0 * decision / (2 * cells - 1)
    middle = width * np.arange(cells)
    step = middle[None, :] - middle[:, None] + allowance - shift
    Q = stats.norm.cdf(step + width / 2) - stats.norm.cdf(step - width / 2)
    Q[:, 0] = stats.norm.cdf(step[:, 0] + width / 2)
    length = np.linalg.solve(np.eye(cells) - Q, np.ones(cells))[0]
    # Far from the target the matrix loses its digits; such a side never decides the two-sided mean.
    return float(length) if 0 < length < 1e14 else 1e14
