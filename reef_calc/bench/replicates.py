"""Whether a few readings of one water agree as well as the kit repeats."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.stats import studentized_range

from reef_calc.errors import InputError


@cache
def critical_range_factor(count: int) -> float:
    """Return how many standard deviations a few readings may span, 95 times in a hundred.

    The 95 % point of the studentised range, with a standard deviation that is known.

    Parameters
    ----------
    count : int
        Number of readings, 2 or more.

    Returns
    -------
    float
        Factor without unit; 3.31 for three readings.

    Raises
    ------
    InputError
        If there are fewer than two readings.

    Examples
    --------
    >>> round(critical_range_factor(3), 2)
    3.31

    References
    ----------
    ISO 5725-6, critical range factors f(n), from memory: 2.8, 3.3, 3.6, 3.9, 4.0 for 2 to 6.
    """
    if count < 2:
        raise InputError("two readings or more", count, "Test once more.")
    return float(studentized_range.ppf(0.95, count, np.inf))


@dataclass(frozen=True)
class ReplicateCheck:
    """Whether readings of one water agree as well as the kit repeats.

    Attributes
    ----------
    range, critical_range : float
        Largest less smallest reading, and what the kit allows, in the unit of the readings.
    median, mean : float
        Of the readings, in their unit.
    agree : bool
        Whether the range is allowed.
    sentence : str
        What to do.
    """

    range: float
    critical_range: float
    median: float
    mean: float
    agree: bool
    sentence: str


def check_replicates(readings: Sequence[float], sd: float, unit: str = "") -> ReplicateCheck:
    """Return whether a few readings of one water agree.

    They do when largest − smallest ≤ f(n)·s.

    Parameters
    ----------
    readings : sequence of float
        Two or more readings, in one unit.
    sd : float
        Repeatability of the kit, one standard deviation in that unit.
    unit : str, optional
        The unit, for the sentence.

    Returns
    -------
    ReplicateCheck
        In the unit of the readings. Nothing is left out; the median is only offered.

    Raises
    ------
    InputError
        If there are fewer than two readings, one is not finite, or sd is not above 0.

    Notes
    -----
    With three readings a test for outliers such as Grubbs's can hardly ever find one.

    Examples
    --------
    >>> check_replicates([420.0, 425.0, 480.0], 5.0, "mg/L").sentence
    'The readings span 60 mg/L, more than the 17 mg/L the kit allows. Test again, or use the median,
    425 mg/L.'

    References
    ----------
    ISO 5725-6, 5.2 (from memory).
    """
    if not (math.isfinite(sd) and sd > 0.0):
        raise InputError("a repeatability above 0", sd, "Write the kit's repeatability.")
    if not all(map(math.isfinite, readings)):
        raise InputError("finite readings", list(readings), "Leave out what was not read.")
    critical = critical_range_factor(len(readings)) * sd
    span = max(readings) - min(readings)
    median, mean = float(np.median(readings)), float(np.mean(readings))
    suffix = f" {unit}" if unit else ""
    agree = span <= critical * (1 + 1e-12)
    if agree:
        sentence = f"The readings agree: they span {span:.3g}{suffix} of {critical:.2g} allowed."
    else:
        offer = f", or use the median, {median:.4g}{suffix}" if len(readings) > 2 else ""
        sentence = (
            f"The readings span {span:.3g}{suffix}, more than the {critical:.2g}{suffix} the kit "
            f"allows. Test again{offer}."
        )
    return ReplicateCheck(span, critical, median, mean, agree, sentence)
