"""Two kits on waters made to known levels: their difference, and what each shows of a step."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.special import fdtrc

from reef_calc.compare.bias_at import BiasAt, difference_at
from reef_calc.compare.fitted_line import Floats, Line
from reef_calc.compare.lines import ols_line
from reef_calc.compare.no_line import NoLineError
from reef_calc.compare.one_way import one_way
from reef_calc.compare.pairs import Pairs, Water
from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.numbers_in_words import fixed, with_interval

# Chance of a false word on bending, all tests of one study together.
UNLIKELY = 0.05
# Half-width of a recovery beyond which it says nothing (common practice, no source).
WIDEST_RECOVERY = 0.5


class LackOfFit(NamedTuple):
    """How far points stray from their line, against what repeats scatter.

    Attributes
    ----------
    subject : str
        Name of the kit, or ``difference``.
    ratio : float
        F, mean square around the line over mean square of repeats (ratio).
    df_line, df_repeats : float
        Its degrees of freedom (a count).
    probability : float
        Chance of so large a ratio if the line is straight (probability).
    """

    subject: str
    ratio: float
    df_line: float
    df_repeats: float
    probability: float


@dataclass(frozen=True)
class KnownLevels:
    """What a study with waters of known level says.

    Attributes
    ----------
    difference : Line
        B − A on the level the water was made to; its slope is the growth of the gap per unit.
    recovery_a, recovery_b : Line
        Each kit's reading on that level; the slope is the share of a step it shows (fraction).
    lack_of_fit : tuple of LackOfFit
        For the difference and for each kit, as far as repeats allow.
    messages : tuple of Message
        What it means and what limits it.
    """

    difference: Line
    recovery_a: Line
    recovery_b: Line
    lack_of_fit: tuple[LackOfFit, ...]
    messages: tuple[Message, ...]

    def bias_at(self, levels: Iterable[float]) -> tuple[BiasAt, ...]:
        """Return B − A at known levels.

        Parameters
        ----------
        levels : iterable of float
            Levels (unit of the levels).

        Returns
        -------
        tuple of BiasAt
            One for each level, with its interval.
        """
        return difference_at(self.difference, levels)


def known_levels(pairs: Pairs, *, confidence: float = 0.95) -> KnownLevels:
    """Return difference and recoveries of two kits from waters of known level.

    B − A = a + b·L and V = α + ρ·L by least squares on the means of each water; recovery ρ.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits, with the level each was made to.
    confidence : float, optional
        Probability of the intervals (fraction).

    Returns
    -------
    KnownLevels
        Lines with t-intervals, n − 2 degrees of freedom.

    Raises
    ------
    InputError
        If fewer than three waters have a known level.
    NoLineError
        If all were made to the same level.

    Notes
    -----
    The levels are taken as exact: an error that grows with them (strength of the spike) is in both
    recoveries, and not in the difference. Lack of fit is judged by waters made to the same level
    where there are such, mixing included; otherwise by repeats of one water, never taken to scatter
    less than the rounding of the scale, step²/12.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.compare.pairs import pairs_of
    >>> levels = [4.0, 6.0, 8.0, 10.0, 12.0]
    >>> read = pd.DataFrame({"water": list("1234512345"), "kit": ["old"] * 5 + ["new"] * 5,
    ...     "nominal": levels * 2,
    ...     "value": [4.1, 6.0, 8.0, 10.1, 12.0, 4.1, 6.4, 8.5, 10.8, 12.9]})
    >>> pairs = pairs_of(read, "old", "new", element="alkalinity", unit="dKH", resolution_a=0.1,
    ...                  resolution_b=0.1)
    >>> found = known_levels(pairs)
    >>> round(found.recovery_b.slope, 3), round(found.bias_at([8.0])[0].bias, 3)
    (1.1, 0.5)

    References
    ----------
    Analytical Methods Committee 2009, Technical Brief 37, for what additions cannot show.
    """
    waters = [water for water in pairs.waters if water.nominal is not None]
    if len(waters) < 3:
        raise InputError(
            "at least three waters of known level",
            f"{len(waters)}",
            "Write down the level each water was made to.",
            "known levels",
        )
    nominal = np.array([water.nominal for water in waters], dtype=float)
    if np.ptp(nominal) == 0.0:
        raise NoLineError(
            "DEGENERATE",
            f"All {len(waters)} waters were made to {nominal[0]:g} {pairs.unit}. To learn what the "
            "kits do at other levels, make some of another level.",
        )
    a = np.array([np.mean(water.a) for water in waters])
    b = np.array([np.mean(water.b) for water in waters])
    lines = [ols_line(nominal, one, confidence=confidence) for one in (b - a, a, b)]
    fits = _lack_of_fit(pairs, waters, nominal, lines)
    messages = _said(pairs, len(waters), nominal, lines, fits)
    return KnownLevels(lines[0], lines[1], lines[2], fits, messages)


def _lack_of_fit(
    pairs: Pairs, waters: Sequence[Water], nominal: Floats, lines: Sequence[Line]
) -> tuple[LackOfFit, ...]:
    if len(np.unique(nominal)) < 3:
        return ()
    readings = {pairs.kit_a: [w.a for w in waters], pairs.kit_b: [w.b for w in waters]}
    steps = {pairs.kit_a: pairs.resolution_a, pairs.kit_b: pairs.resolution_b}
    scatter = {kit: _scatter(read, steps[kit]) for kit, read in readings.items()}
    means = {kit: np.array([np.mean(one) for one in read]) for kit, read in readings.items()}
    a, b = means[pairs.kit_a], means[pairs.kit_b]
    columns = ("difference", b - a), (pairs.kit_a, a), (pairs.kit_b, b)
    found: list[LackOfFit | None] = []
    for line, (subject, values) in zip(lines, columns, strict=True):
        kits = [subject] if subject in readings else [pairs.kit_a, pairs.kit_b]
        floor = sum(_of_mean(steps[kit] ** 2 / 12.0, readings[kit]) for kit in kits)
        by_level = _by_level(subject, line, nominal, values, floor)
        if by_level is not None:
            found.append(by_level)
        elif all(scatter[kit][1] > 0 for kit in kits):
            parts = [(_of_mean(scatter[kit][0], readings[kit]), scatter[kit][1]) for kit in kits]
            found.append(_by_repeats(subject, line, nominal, values, parts))
    return tuple(one for one in found if one is not None)


def _scatter(readings: Sequence[Sequence[float]], step: float) -> tuple[float, int]:
    """Return the variance of one reading, never below that of rounding, and how well it is known."""
    found = one_way(readings)
    within = found.within_square or 0.0
    return max(within, step**2 / 12.0), found.df_within


def _of_mean(variance: float, readings: Sequence[Sequence[float]]) -> float:
    return variance * float(np.mean([1.0 / len(one) for one in readings]))


def _by_level(
    subject: str, line: Line, nominal: Floats, values: Floats, floor: float
) -> LackOfFit | None:
    """Judge the line by waters made to the same level."""
    groups = [values[nominal == level] for level in np.unique(nominal)]
    found = one_way(groups)
    if found.df_within == 0 or found.within_square is None:
        return None
    residual = [
        len(group) * (group.mean() - line.intercept - line.slope * level) ** 2
        for level, group in zip(np.unique(nominal), groups, strict=True)
    ]
    return _ratio(
        subject,
        float(sum(residual)),
        len(groups) - 2,
        max(found.within_square, floor),
        found.df_within,
    )


def _by_repeats(
    subject: str,
    line: Line,
    nominal: Floats,
    values: Floats,
    parts: Sequence[tuple[float, int]],
) -> LackOfFit | None:
    """Judge the line by repeats of one water; two kits' scatter with Satterthwaite's freedom."""
    residual = values - line.intercept - line.slope * nominal
    variance = sum(part for part, _ in parts)
    if variance == 0.0:
        return None
    df = variance**2 / sum(part**2 / known for part, known in parts)
    return _ratio(subject, float(residual @ residual), len(values) - 2, variance, df)


def _ratio(
    subject: str, squares: float, df_line: float, variance: float, df_repeats: float
) -> LackOfFit | None:
    if variance == 0.0 or df_line < 1:
        return None
    ratio = squares / df_line / variance
    return LackOfFit(subject, ratio, df_line, df_repeats, float(fdtrc(df_line, df_repeats, ratio)))


def _said(
    pairs: Pairs,
    used: int,
    nominal: Floats,
    lines: Sequence[Line],
    fits: Sequence[LackOfFit],
) -> tuple[Message, ...]:
    said = []
    if used < pairs.n:
        left = pairs.n - used
        whose = (
            "water has no known level and is" if left == 1 else "waters have no known level and are"
        )
        said.append(Message("LEFT_OUT", f"{left} {whose} left out here.", "qualified"))
    for kit, line in ((pairs.kit_a, lines[1]), (pairs.kit_b, lines[2])):
        said.append(_recovery(kit, line))
    said.append(
        Message(
            "STEPS_ONLY",
            "This tells how each kit reads the steps between the levels. If all levels were made "
            "from one water, an error in what that water itself held is in every level and does "
            "not show in either kit's recovery. The difference between the kits is not touched.",
        )
    )
    if lines[0].no_scatter:
        said.append(
            Message(
                "ZERO_SPREAD",
                "All differences between the kits lie exactly on one line, finer than their scales "
                "can show. So how well the difference is known cannot be told; an interval of no "
                "width would be false. Test more waters.",
                "qualified",
            )
        )
    levels = len(np.unique(nominal))
    if levels == 2:
        said.append(
            Message(
                "TWO_LEVELS",
                "Two levels always lie on a line. A third shows whether it bends.",
                "qualified",
            )
        )
    for fit in fits:
        if fit.probability < UNLIKELY / len(fits):
            said.append(_bent(fit, pairs))
    return tuple(said)


def _recovery(kit: str, line: Line) -> Message:
    if line.no_scatter:
        return Message(
            "RECOVERY",
            f"Of each step in level, {kit} shows {fixed(100.0 * line.slope, 1)} %. All its readings "
            "lie exactly on that line, finer than its scale can show, so how well this is known "
            "cannot be told. Test more waters.",
            "qualified",
        )
    low, high = 100.0 * line.slope_low, 100.0 * line.slope_high
    if (line.slope_high - line.slope_low) / 2.0 > WIDEST_RECOVERY:
        return Message(
            "RECOVERY",
            f"These waters do not tell how much of a step in level {kit} shows: "
            f"{fixed(low, 0)} to {fixed(high, 0)} %.",
            "qualified",
        )
    shown = with_interval(100.0 * line.slope, low, high)
    return Message("RECOVERY", f"Of each step in level, {kit} shows {shown} %.")


def _bent(fit: LackOfFit, pairs: Pairs) -> Message:
    whose = (
        "The difference between the kits does not lie"
        if fit.subject == "difference"
        else f"What {fit.subject} reads does not lie"
    )
    return Message(
        "NOT_STRAIGHT",
        f"{whose} on a straight line: it strays from it by more than repeats explain. Look at each "
        "level by itself; the kit may bend, or a water may be mixed wrongly.",
        "qualified",
    )
