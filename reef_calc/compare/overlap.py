"""How well the difference of an old kit and a new one is known, and how many tests with both pay."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike
from scipy.special import stdtrit

from reef_calc.chem.elements import element as find_element
from reef_calc.errors import InputError
from reef_calc.numbers_in_words import decimals_for, fixed

NORMAL = 1.959964
# Tests of one water with both kits, and of one new water with both, before the old kit is empty.
TESTS_WITH_BOTH = {
    "alkalinity": (3, 0),
    "calcium": (5, 0),
    "magnesium": (3, 2),
    "potassium": (3, 2),
}
OTHERWISE = (5, 0)
LAST_TESTS = 5
# What a log without overlap tells of the difference, in tests of one water with both kits, halved.
LOG_WORTH = {"alkalinity": 0.85, "calcium": 4.0}
WITHOUT_OVERLAP = {"alkalinity": "about 8 %", "calcium": "20 to 40 %"}
WIDE_SDS = 10.0
MOST_SHOWN = 10


def u_of_study(standard_error: float, degrees_of_freedom: float) -> float:
    """Return the standard uncertainty to store for a difference that a small study found.

    u = SE·t(0.975, ν)/1.96: a normal belief with the 95 % interval of the study.

    Parameters
    ----------
    standard_error : float
        Standard error of the mean difference (unit), above 0.
    degrees_of_freedom : float
        ν of the study (number), above 0.

    Returns
    -------
    float
        u in the same unit.

    Raises
    ------
    InputError
        If one of them is not above 0.

    Examples
    --------
    >>> round(u_of_study(0.1, 5), 4), round(u_of_study(0.1, 1e6), 4)
    (0.1312, 0.1)

    References
    ----------
    Student t quantile: ``scipy.special.stdtrit``.
    """
    if not (0 < standard_error < math.inf and degrees_of_freedom > 0):
        raise InputError(
            "a standard error and degrees of freedom above 0",
            f"{standard_error:g} and {degrees_of_freedom:g}",
            "Test at least two waters with both kits.",
            "u_of_study",
        )
    return float(standard_error * stdtrit(degrees_of_freedom, 0.975) / NORMAL)


def combined_difference(
    mean: float, u: float, differences: ArrayLike, variance: float
) -> tuple[float, float]:
    """Return a difference from what was known of it and from waters tested with both kits.

    precision = 1/u² + m/v; the mean weighted by precision.

    Parameters
    ----------
    mean, u : float
        Expected difference and its standard uncertainty above 0 (unit); infinite for nothing known.
    differences : array_like, shape (m,)
        New kit less old kit, one a water (unit).
    variance : float
        Variance v of each of them, s0A² + s0B² (unit²), above 0.

    Returns
    -------
    tuple of float
        Mean and standard deviation (unit).

    Raises
    ------
    InputError
        If u or the variance is not above 0, a difference is no number, or nothing at all is known.

    Notes
    -----
    The readings must be other ones than those the expectation came from: none counts twice.

    Examples
    --------
    >>> m, sd = combined_difference(0.0, 1.5, [0.4, 0.5, 0.6], 2 * 0.152752523**2)
    >>> round(m, 4), round(sd, 4)
    (0.4966, 0.1243)

    References
    ----------
    Normal mean with a normal prior; textbook, *common practice, no source*.
    """
    d = np.atleast_1d(np.asarray(differences, dtype=float))
    fine = u > 0 and 0 < variance < math.inf and np.all(np.isfinite(d)) and math.isfinite(mean)
    precision = 1 / u**2 + d.size / variance if fine else 0.0
    if not precision > 0:
        raise InputError(
            "a variance and a standard uncertainty above 0, and finite differences",
            f"u {u:g}, variance {variance:g}, {d.size} differences",
            "Test one water with both kits, or state what was known.",
            "combined_difference",
        )
    total = mean / u**2 + float(d.sum()) / variance
    return total / precision, 1 / math.sqrt(precision)


def half_after_overlap(
    waters: int, sd_old: float, sd_new: float, *, u: float | None = None, log_worth: float = 0.0
) -> float:
    """Return half the 95 % interval of the difference after waters tested with both kits.

    1.96/√(1/u² + m/(sA² + sB²) + n0/(sA² + sB²)).

    Parameters
    ----------
    waters : int
        Number m of waters tested with both, from 0.
    sd_old, sd_new : float
        SD of one reading of each with its step (unit), above 0.
    u : float, optional
        What is known otherwise, as standard uncertainty (unit); 10 SDs when not given.
    log_worth : float, optional
        What the log tells without overlap, in waters tested with both (number n0).

    Returns
    -------
    float
        In the unit of the SDs.

    Raises
    ------
    InputError
        If a number is impossible.

    Notes
    -----
    Known scatter, one offset. In simulated logs the log alone was worth 0.85 waters for alkalinity
    and about 4 for calcium, with use that scatters by 10 % from day to day (COMPUTED).

    Examples
    --------
    >>> [round(half_after_overlap(m, 1.0, 1.0, log_worth=0.85), 1) for m in (0, 1, 3, 10)]
    [3.0, 2.0, 1.4, 0.8]

    References
    ----------
    Normal mean with a normal prior; textbook, *common practice, no source*.
    """
    prior = WIDE_SDS * max(sd_old, sd_new) if u is None else u
    if not (waters >= 0 and min(sd_old, sd_new, prior) > 0 and log_worth >= 0):
        raise InputError(
            "SDs above 0 and a number of waters from 0",
            f"{sd_old:g}, {sd_new:g}, {waters} waters",
            "Give the kits a repeatability.",
            "half_after_overlap",
        )
    pair = sd_old**2 + sd_new**2
    return NORMAL / math.sqrt(1 / prior**2 + (waters + log_worth) / pair)


@dataclass(frozen=True)
class OverlapAdvice:
    """What to do before an old kit is empty.

    Attributes
    ----------
    tank_waters, new_waters : int
        How many waters of the tank, and new waters, to test with both kits.
    can_do : int
        How many of all these the old kit still has tests for.
    table : pandas.DataFrame
        ``waters`` (number tested with both), ``half`` (half the 95 % interval of the difference,
        unit): what each further one pays.
    sentences : tuple of str
        In the order to read them.
    """

    tank_waters: int
    new_waters: int
    can_do: int
    table: pd.DataFrame
    sentences: tuple[str, ...]


def overlap_advice(
    element: str,
    unit: str,
    old: str,
    new: str,
    *,
    sd_old: float,
    sd_new: float,
    tests_left: float | None = None,
) -> OverlapAdvice:
    """Return how many waters to test with both kits before the old one is empty.

    Parameters
    ----------
    element, unit : str
        Element and unit of the SDs.
    old, new : str
        Names of the kits.
    sd_old, sd_new : float
        SD of one reading of each with its step (unit).
    tests_left : float, optional
        Number of tests left in the old kit; not known when not given.

    Returns
    -------
    OverlapAdvice
        Numbers and sentences.

    Raises
    ------
    InputError
        For an unknown element, an SD not above 0, or fewer than 0 tests.

    Examples
    --------
    >>> advice = overlap_advice("alkalinity", "dKH", "kit A", "kit B", sd_old=0.15, sd_new=0.15,
    ...                         tests_left=12)
    >>> print(advice.sentences[0])
    Keep the last 5 tests of kit A for kit B: test 3 waters of the tank with both, on different days.

    References
    ----------
    Own simulations: 3, 5, or 3 and 2 of the new water (COMPUTED).
    """
    name = find_element(element).name
    if tests_left is not None and not 0 <= tests_left < math.inf:
        raise InputError("tests left, 0 or more", tests_left, "Count them.", "overlap_advice")
    waters, fresh = TESTS_WITH_BOTH.get(name, OTHERWISE)
    wanted = waters + fresh
    left = wanted if tests_left is None else int(tests_left)
    can_do = min(wanted, left)
    worth = LOG_WORTH.get(name, 0.0)
    halves = [half_after_overlap(m, sd_old, sd_new, log_worth=worth) for m in range(MOST_SHOWN + 1)]
    table = pd.DataFrame({"waters": range(MOST_SHOWN + 1), "half": halves})
    said = []
    of_new = f" and {fresh} new waters" if fresh else ""
    if can_do == wanted:
        said.append(
            f"Keep the last {max(wanted, min(LAST_TESTS, left))} tests of {old} for {new}: test "
            f"{waters} waters of the tank{of_new} with both, on different days."
        )
    elif can_do:
        first = (
            "the new water first, for it tells most of the use, then the tank, "
            if fresh
            else "one water of the tank a test, "
        )
        tests = "The last test" if can_do == 1 else f"The last {can_do} tests"
        each = "" if can_do == 1 else ", on different days"
        said.append(f"{tests} of {old} should go beside {new}: {first}each with both kits{each}.")
    else:
        said.append(
            f"Nothing is left of {old}. Read a standard with {new} if {old} was read on it too."
        )
        if name in WITHOUT_OVERLAP:
            said.append(
                f"Without tests with both, the interval of the use is {WITHOUT_OVERLAP[name]} wider "
                "in the first two weeks, and the history before holds only if nothing unlogged was "
                "added or changed on the day of the change."
            )
    tank_tests = can_do if not fresh else min(waters, max(can_do - fresh, 0))
    if tank_tests:
        after, before = halves[tank_tests], halves[0]
        without = (
            f"; without, to about ± {fixed(before, decimals_for(before))}"
            if name in LOG_WORTH
            else " or better"
        )
        said.append(
            f"Then the difference should be known to about ± {fixed(after, decimals_for(after))} "
            f"{unit}{without}."
        )
    if name not in TESTS_WITH_BOTH:
        said.append(f"For {name} nobody has worked out how many pay; five is a careful choice.")
    return OverlapAdvice(waters, fresh, can_do, table, tuple(said))
