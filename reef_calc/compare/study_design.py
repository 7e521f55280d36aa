"""How many waters, levels and replicates: what a study of two kits will be able to tell."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import stdtrit

from reef_calc.compare.kit_scatter import KitScatter, difference_sd, steps_not_averaged
from reef_calc.compare.study_levels import LEVELS, SPAN, level_shares
from reef_calc.errors import InputError

# Above so many vials a finer kit is the better answer (own simulation).
MOST_VIALS = 60
# Levels away from the usual one at which a study with set levels is judged, as shares of it.
AWAY = 0.25


@dataclass(frozen=True)
class Design:
    """Waters and readings of a study.

    Attributes
    ----------
    levels : tuple of float
        Levels as shares of the usual one; ``(1.0,)`` for waters as the tank gives them.
    waters : int
        Separately mixed waters at each level; days, where there is one level.
    replicates : int
        Readings of each water with each kit; a count.
    """

    levels: tuple[float, ...]
    waters: int
    replicates: int = 1

    def __post_init__(self) -> None:
        good = self.levels and all(0.0 < one < math.inf for one in self.levels)
        if not good or min(self.waters, self.replicates) < 1 or self.n < 2:
            raise InputError(
                "levels above 0, and at least two waters",
                f"{self.levels}, {self.waters} × {self.replicates}",
                "Take five levels with two waters each.",
                "design of the study",
            )

    @property
    def n(self) -> int:
        """Number of waters in all."""
        return len(self.levels) * self.waters

    @property
    def vials(self) -> int:
        """Number of tests in all, both kits together."""
        return 2 * self.n * self.replicates

    @property
    def is_line(self) -> bool:
        """Whether it has levels enough for a line."""
        return len(set(self.levels)) > 1

    @property
    def shows_a_bend(self) -> bool:
        """Whether a difference that bends with the level would show."""
        return len(set(self.levels)) > 2

    @property
    def words(self) -> str:
        """What it is, in words."""
        each = (
            "" if self.replicates == 1 else f", each read {_times(self.replicates)} with each kit"
        )
        if not self.is_line:
            return f"{self.n} waters at the usual level{each}"
        spread = f"{100 * min(self.levels):.0f} to {100 * max(self.levels):.0f} %"
        waters = "1 water" if self.waters == 1 else f"{self.waters} waters"
        return f"{len(self.levels)} levels from {spread}, {waters} at each{each}"


def _times(count: int) -> str:
    return "twice" if count == 2 else f"{count} times"


def leverage(design: Design, away: float = 0.0) -> float:
    """Return what multiplies the standard deviation of one difference in the standard error.

    One level: 1/√n. A line: √(1/n + (x − x̄)²/Sxx).

    Parameters
    ----------
    design : Design
        The study.
    away : float, optional
        How far from the usual level, as a share of it.

    Returns
    -------
    float
        Factor without unit; infinite away from the usual level where there is no line.

    Examples
    --------
    >>> round(leverage(Design((0.5, 0.75, 1.0, 1.25, 1.5), 2), 0.25), 4)
    0.3873

    References
    ----------
    Least squares: *common practice, no source*.
    """
    if not design.is_line:
        at_level = math.isclose(design.levels[0], 1.0 + away)
        return 1.0 / math.sqrt(design.n) if at_level else math.inf
    x = np.repeat(design.levels, design.waters)
    spread = float(((x - x.mean()) ** 2).sum())
    return math.sqrt(1.0 / design.n + (1.0 + away - float(x.mean())) ** 2 / spread)


def half_width(
    design: Design,
    kit_a: KitScatter,
    kit_b: KitScatter,
    *,
    away: float = 0.0,
    water_sd: float = 0.0,
    confidence: float = 0.95,
) -> float:
    """Return how closely a study will tell the difference, before a test is spent.

    h = t·√(s_d²·L² + v²), t with n − 1 or, for a line, n − 2 degrees of freedom. The steps v count
    whole only at one level: set levels are spread over the steps, which averages them out.

    Parameters
    ----------
    design : Design
        The study.
    kit_a, kit_b : KitScatter
        How finely the kits read.
    away : float, optional
        How far from the usual level, as a share of it.
    water_sd : float, optional
        How much the difference itself varies from water to water (unit).
    confidence : float, optional
        Confidence of the interval (share).

    Returns
    -------
    float
        Half of the interval (unit); infinite where the study says nothing.

    Examples
    --------
    >>> fine = KitScatter(0.15, 0.0)
    >>> round(half_width(Design((1.0,), 10), fine, fine) / 0.15, 2)
    1.01

    References
    ----------
    Least squares: *common practice, no source*.
    """
    freedom = design.n - (2 if design.is_line else 1)
    factor = leverage(design, away)
    if freedom < 1 or not math.isfinite(factor):
        return math.inf
    sd = difference_sd(kit_a, kit_b, design.replicates, water_sd=water_sd)
    u = math.hypot(sd * factor, 0.0 if design.is_line else steps_not_averaged(kit_a, kit_b))
    return float(stdtrit(freedom, (1.0 + confidence) / 2.0)) * u


def default_design(vials: int, *, only_usual_level: bool = False) -> Design:
    """Return the design that makes the most of so many vials.

    Parameters
    ----------
    vials : int
        Number of tests to spend, both kits together.
    only_usual_level : bool, optional
        Whether only the usual level is asked about: then waters of different days, not replicates.

    Returns
    -------
    Design
        Five levels from 50 to 150 % with as many separately mixed waters as there are vials for, or
        waters at the usual level alone.

    Raises
    ------
    InputError
        If there are too few vials: 10 for five levels, 6 for one level.

    Examples
    --------
    >>> default_design(20).words, default_design(20, only_usual_level=True).words
    ('5 levels from 50 to 150 %, 2 waters at each', '10 waters at the usual level')

    References
    ----------
    Own simulation: two ends alone gain 9 % and cannot show a bend; replicates cost 10 to 40 %.
    """
    least = 6 if only_usual_level else 2 * LEVELS
    if vials < least:
        raise InputError(
            f"{least} tests or more, both kits together",
            vials,
            "Spend more tests, or ask about the usual level only."
            if not only_usual_level
            else "Spend more tests.",
            "tests to spend",
        )
    if only_usual_level:
        return Design((1.0,), vials // 2)
    return Design(level_shares(), vials // (2 * LEVELS))


def designs_table(
    vials: int,
    kit_a: KitScatter,
    kit_b: KitScatter,
    *,
    water_sd: float = 0.0,
) -> pd.DataFrame:
    """Return the designs that so many vials allow, the recommended ones first.

    Parameters
    ----------
    vials : int
        Number of tests to spend, both kits together.
    kit_a, kit_b : KitScatter
        How finely the kits read.
    water_sd : float, optional
        How much the difference itself varies from water to water (unit).

    Returns
    -------
    pandas.DataFrame
        ``design`` (a ``Design``), ``words``, ``vials``, ``half_at_level`` and ``half_away`` (unit; at
        25 % below or above, infinite where nothing is said), ``shows_a_bend``,
        ``gives_repeatability``.

    Raises
    ------
    InputError
        If there are fewer than 10 vials.

    Examples
    --------
    >>> fine = KitScatter(0.15, 0.0)
    >>> table = designs_table(20, fine, fine)
    >>> table["words"].iloc[0], float(table["half_away"].iloc[0] / 0.15)
    ('5 levels from 50 to 150 %, 2 waters at each', 1.26)
    """
    designs = [default_design(vials), default_design(vials, only_usual_level=True)]
    ends = (1.0 - SPAN, 1.0 + SPAN)
    designs += [Design(level_shares(), vials // (4 * LEVELS), 2)] if vials >= 4 * LEVELS else []
    designs += [Design(ends, vials // 4)] if vials // 4 >= 2 else []
    designs += [Design((1.0,), vials // 4, 2)] if vials // 4 >= 3 else []
    rows = [
        {
            "design": one,
            "words": one.words,
            "vials": one.vials,
            "half_at_level": half_width(one, kit_a, kit_b, water_sd=water_sd),
            "half_away": half_width(one, kit_a, kit_b, away=AWAY, water_sd=water_sd),
            "shows_a_bend": one.shows_a_bend,
            "gives_repeatability": one.replicates > 1,
        }
        for one in designs
    ]
    return pd.DataFrame(rows)


def vials_needed(
    wanted: float,
    kit_a: KitScatter,
    kit_b: KitScatter,
    *,
    only_usual_level: bool = False,
    water_sd: float = 0.0,
) -> int | None:
    """Return how many tests tell the difference as closely as wanted.

    Parameters
    ----------
    wanted : float
        Wanted half of the interval, at the usual level or at 25 % from it (unit); half of the
        allowed difference gives good odds of the statement "within".
    kit_a, kit_b : KitScatter
        How finely the kits read.
    only_usual_level : bool, optional
        Whether only the usual level is asked about.
    water_sd : float, optional
        How much the difference itself varies from water to water (unit).

    Returns
    -------
    int or None
        Number of tests, both kits together; None above 60, where a finer kit is the better answer.

    Raises
    ------
    InputError
        If the wanted half-width is not a number above 0.

    Examples
    --------
    >>> fine = KitScatter(0.15, 0.1)
    >>> vials_needed(0.20, fine, fine), vials_needed(0.02, fine, fine)
    (20, None)
    """
    if not 0.0 < wanted < math.inf:
        raise InputError(
            "a wanted closeness above 0", wanted, "Half of the allowed difference.", "closeness"
        )
    step = 2 if only_usual_level else 2 * LEVELS
    for vials in range(max(6, step), MOST_VIALS + 1, step):
        design = default_design(vials, only_usual_level=only_usual_level)
        away = 0.0 if only_usual_level else AWAY
        if half_width(design, kit_a, kit_b, away=away, water_sd=water_sd) <= wanted:
            return vials
    return None
