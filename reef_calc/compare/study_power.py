"""What a study will be able to say, before a drop is spent."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import chdtri, ndtr, stdtrit

from reef_calc.compare.chance_to_say import chance_words
from reef_calc.compare.difference_words import plain
from reef_calc.compare.kit_scatter import KitScatter, difference_sd, steps_not_averaged
from reef_calc.compare.study_design import (
    AWAY,
    MOST_VIALS,
    Design,
    half_width,
    leverage,
    vials_needed,
)
from reef_calc.compare.verdict import statement_of
from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed

# Points of the distribution of a standard deviation that are averaged over.
_POINTS = 400


@dataclass(frozen=True)
class StudyOutlook:
    """What a study will be able to say.

    Attributes
    ----------
    design : Design
        Its waters and readings.
    unit : str
        Unit of everything.
    half_at_level, half_away : float
        Half of the interval of the difference at the usual level, and at 25 % from it (unit);
        infinite where the study says nothing.
    allowed : float or None
        Allowed difference (unit).
    chances : pandas.DataFrame or None
        One row a true difference: ``true_difference`` (unit), and the chance of each statement at the
        usual level, ``within``, ``beyond``, ``differs``, ``cannot_tell`` (share); None without an
        allowed difference.
    sentences : tuple of str
        For the keeper, the most important first.
    messages : tuple of Message
        What limits it: COARSE, FEW, NOT_ENOUGH_TESTS, FINER_KIT.
    """

    design: Design
    unit: str
    half_at_level: float
    half_away: float
    allowed: float | None
    chances: pd.DataFrame | None
    sentences: tuple[str, ...]
    messages: tuple[Message, ...]


def statement_chances(
    true_difference: float | np.ndarray,
    allowed: float,
    *,
    u: float,
    freedom: int,
    u_not_averaged: float = 0.0,
    confidence: float = 0.95,
) -> pd.DataFrame:
    """Return the chance of each of the four statements at the end of a study.

    The estimate is normal around the truth, its standard error follows the chi-squared distribution;
    the chances are averaged over 400 points of the latter.

    Parameters
    ----------
    true_difference : float or numpy.ndarray
        What is taken to be true (unit), shape (k,).
    allowed : float
        Allowed difference, above 0 (unit).
    u : float
        True standard error of the estimate, above 0, without the part that is not averaged (unit).
    freedom : int
        Degrees of freedom, a count of 1 or more.
    u_not_averaged : float, optional
        Part of the standard error that more waters do not lessen (unit).
    confidence : float, optional
        Confidence of the interval (share).

    Returns
    -------
    pandas.DataFrame
        Rows as the true differences: ``true_difference`` (unit), ``within``, ``beyond``, ``differs``,
        ``cannot_tell`` (share; they add up to 1).

    Raises
    ------
    InputError
        If the allowed difference or the standard error cannot be used.

    Examples
    --------
    >>> found = statement_chances(0.0, 0.75, u=20**-0.5, freedom=19)
    >>> round(float(found["within"].iloc[0]), 2)
    0.78

    References
    ----------
    Distribution of mean and variance of normal readings; no source needed.
    """
    statement_of(0.0, 0.0, allowed)
    if not (0.0 < u < math.inf and freedom >= 1):
        raise InputError(
            "a standard error above 0 and two waters or more", (u, freedom), "Plan more waters.",
            "study",
        )  # fmt: skip
    tails = (np.arange(_POINTS) + 0.5) / _POINTS
    ratio = np.sqrt(chdtri(freedom, tails) / freedom)
    # What is not averaged is a part of the truth as well as of the interval.
    spread = math.hypot(u, u_not_averaged)
    t = float(stdtrit(freedom, (1.0 + confidence) / 2.0))
    half = t * np.hypot(u * ratio, u_not_averaged)
    truth = np.atleast_1d(np.asarray(true_difference, dtype=float))[:, None]

    def below(end: np.ndarray | float) -> np.ndarray:
        return ndtr((end - truth) / spread)

    within = np.maximum(below(allowed - half) - below(half - allowed), 0.0).mean(axis=1)
    beyond = (1.0 - below(allowed + half) + below(-allowed - half)).mean(axis=1)
    excludes = (1.0 - below(half) + below(-half)).mean(axis=1)
    # Intervals that exclude 0 and lie within: their estimates lie between half and allowed − half.
    upper = np.maximum(allowed - half, half)
    both = (below(upper) - below(half) + below(-half) - below(-upper)).mean(axis=1)
    differs = np.clip(excludes - beyond - both, 0.0, 1.0)
    rest = np.clip(1.0 - within - beyond - differs, 0.0, 1.0)
    return pd.DataFrame(
        {
            "true_difference": truth[:, 0],
            "within": within,
            "beyond": beyond,
            "differs": differs,
            "cannot_tell": rest,
        }
    )


def study_outlook(
    design: Design,
    kit_a: KitScatter,
    kit_b: KitScatter,
    *,
    unit: str,
    allowed: float | None = None,
    water_sd: float = 0.0,
    tests_left_a: float | None = None,
    tests_left_b: float | None = None,
    names: tuple[str, str] = ("kit A", "kit B"),
) -> StudyOutlook:
    """Return what a study will be able to say, in numbers and in words.

    Parameters
    ----------
    design : Design
        Its waters and readings.
    kit_a, kit_b : KitScatter
        How finely the kits read.
    unit : str
        Unit of everything.
    allowed : float, optional
        Allowed difference, above 0 (unit).
    water_sd : float, optional
        How much the difference itself varies from water to water (unit).
    tests_left_a, tests_left_b : float, optional
        Number of tests left of each kit.
    names : (str, str), optional
        Names of the kits.

    Returns
    -------
    StudyOutlook
        Half-widths, chances and sentences.

    Raises
    ------
    InputError
        If the allowed difference is not above 0, or the study has too few waters to say anything.

    Examples
    --------
    >>> fine = KitScatter(0.15, 0.1)
    >>> five = Design((0.5, 0.75, 1.0, 1.25, 1.5), 2)
    >>> study_outlook(five, fine, fine, unit="dKH", allowed=0.5).sentences
    ('With 20 tests this study tells the difference to ± 0.16 dKH at the usual level and to ± 0.19 dKH
    at 25 % below or above it.', 'If the kits read alike, the chance is more than 19 in 20 that it will
    show they agree within 0.5 dKH at the usual level.')
    """
    at_level = half_width(design, kit_a, kit_b, water_sd=water_sd)
    away = half_width(design, kit_a, kit_b, away=AWAY, water_sd=water_sd)
    if not math.isfinite(at_level):
        raise InputError(
            "three waters or more, or waters at the usual level",
            design.words,
            "Add waters, or test at the usual level.",
            "design of the study",
        )
    sentences = [_closeness_words(design, at_level, away, unit)]
    messages = _limits(design, kit_a, kit_b, unit, tests_left_a, tests_left_b, names)
    chances = None
    if allowed is not None:
        sd = difference_sd(kit_a, kit_b, design.replicates, water_sd=water_sd)
        chances = statement_chances(
            np.linspace(0.0, 3.0, 31) * allowed,
            allowed,
            u=sd * leverage(design),
            freedom=design.n - (2 if design.is_line else 1),
            u_not_averaged=0.0 if design.is_line else steps_not_averaged(kit_a, kit_b),
        )
        alike = float(chances["within"].iloc[0])
        sentences.append(
            f"If the kits read alike, the chance is {chance_words(alike)} that it will show they agree "
            f"within {plain(allowed)} {unit}{' at the usual level' if design.is_line else ''}."
        )
        if max(at_level, away if design.is_line else 0.0) > allowed / 2.0:
            messages.append(_more_tests(design, kit_a, kit_b, allowed, water_sd, unit))
    return StudyOutlook(
        design, unit, at_level, away, allowed, chances, tuple(sentences), tuple(messages)
    )


def _closeness_words(design: Design, at_level: float, away: float, unit: str) -> str:
    decimals = max(decimals_for(at_level), 0)
    near = (
        f"With {design.vials} tests this study tells the difference to ± {fixed(at_level, decimals)} "
        f"{unit} at the usual level"
    )
    if not math.isfinite(away):
        return f"{near}, and nothing about other levels."
    return f"{near} and to ± {fixed(away, decimals)} {unit} at 25 % below or above it."


def _more_tests(
    design: Design,
    kit_a: KitScatter,
    kit_b: KitScatter,
    allowed: float,
    water_sd: float,
    unit: str,
) -> Message:
    needed = vials_needed(
        allowed / 2.0, kit_a, kit_b, only_usual_level=not design.is_line, water_sd=water_sd
    )
    if needed is None:
        return Message(
            "FINER_KIT",
            f"For good odds within {plain(allowed)} {unit} more than {MOST_VIALS} tests would be "
            "needed: a finer kit would help, not more tests.",
            "qualified",
        )
    without = "" if design.replicates == 1 else ", each water read once with each kit"
    return Message(
        "NOT_ENOUGH_TESTS",
        f"For good odds within {plain(allowed)} {unit} plan {needed} tests{without}.",
        "qualified",
    )


def _limits(
    design: Design,
    kit_a: KitScatter,
    kit_b: KitScatter,
    unit: str,
    left_a: float | None,
    left_b: float | None,
    names: tuple[str, str],
) -> list[Message]:
    found = []
    each = design.vials // 2
    for name, left in zip(names, (left_a, left_b), strict=True):
        if left is not None and left < each:
            found.append(
                Message(
                    "TOO_FEW_LEFT",
                    f"The study takes {each} tests of {name}; {plain(max(left, 0.0))} are left.",
                    "qualified",
                )
            )
    for name, kit in zip(names, (kit_a, kit_b), strict=True):
        if kit.coarse:
            remedy = (
                "The levels are laid off the steps, so that the rounding averages out."
                if design.is_line
                else "They may not average out on water that hardly changes, so they are counted "
                "whole. A study with set levels gets around them."
            )
            found.append(
                Message(
                    "COARSE",
                    f"The steps of {name}, {plain(kit.resolution)} {unit}, are wide beside its "
                    f"scatter of {plain(kit.sd, 2)} {unit}. {remedy}",
                    "qualified",
                )
            )
    if design.is_line and design.n < 8:
        found.append(
            Message(
                "FEW",
                f"{design.n} waters are few for a line. Eight are the least, ten are better.",
                "qualified",
            )
        )
    return found
