"""Control charts of a kit on a standard: individuals, moving range, and a cumulative sum."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed

# Mean of |x − y| of two normal readings in standard deviations (tables print 1.128), and the share
# of the mean range that a single range passes once in some hundred (tables print 3.267).
RANGE_OVER_SD = 2.0 / math.sqrt(math.pi)
RANGE_LIMIT = 1.0 + 3.0 * math.sqrt(math.pi / 2.0 - 1.0)
_FEWEST = 5
_FEW = 20


@dataclass(frozen=True)
class ControlChart:
    """Readings of a standard in their order, with limits.

    Attributes
    ----------
    centre, sd : float
        Centre line and standard deviation of one reading, in the kit's unit.
    warning, action : tuple of float
        Limits at two and at three standard deviations, in the kit's unit.
    range_limit : float
        Action limit of the moving range, in the kit's unit.
    points : pandas.DataFrame
        One row a reading: read, range (NaN for the first), broken (rules, parted by semicolons).
    messages : tuple of Message
        What the chart says, in words.
    """

    centre: float
    sd: float
    warning: tuple[float, float]
    action: tuple[float, float]
    range_limit: float
    points: pd.DataFrame
    messages: tuple[Message, ...]

    @property
    def in_control(self) -> bool:
        """Whether no rule is broken."""
        return bool((self.points.broken == "").all())


# Rules in words; ISO 7870-2, from memory, where the numbers in a row are examples to choose from.
RULES = {
    "beyond action": "One reading lies outside the action limits (three standard deviations).",
    "range": "Two neighbouring readings lie further apart than their limit.",
    "two of three": "Two of three readings in a row lie outside the same warning limit.",
    "nine on one side": "Nine readings in a row lie on one side of the centre line.",
    "six rising or falling": "Six readings in a row rise, or fall, all the way.",
}


def individuals_chart(
    readings: Sequence[float],
    *,
    unit: str,
    baseline: int | None = None,
    centre: float | None = None,
    sd: float | None = None,
    resolution: float = 0.0,
) -> ControlChart:
    """Return a chart of individuals and moving range.

    centre ± 2s and ± 3s; s = mean|xᵢ − xᵢ₋₁|·√π/2, at least r/√12; range limit 3.267·mean range

    Parameters
    ----------
    readings : sequence of float
        Readings of one standard in their order, in ``unit``.
    unit : str
        The kit's unit.
    baseline : int, optional
        Number of first readings that set the limits; all when not given.
    centre : float, optional
        Level to hold instead of the mean (the standard's level), in ``unit``.
    sd : float, optional
        Scatter to use instead of that of the readings (the kit's repeatability), in ``unit``.
    resolution : float, optional
        Step of the reading, in ``unit``.

    Returns
    -------
    ControlChart
        Limits, points and sentences.

    Raises
    ------
    InputError
        If a reading is missing or a number cannot be used.
    CannotTellError
        If fewer than five readings must set the limits.

    Notes
    -----
    Limits found from few readings are rough: the scatter from n readings is uncertain by about
    0.91/√n of itself, and Shewhart's limits ask for twenty or more. Readings that change with one
    another (one drifting lot) make the range, and with it the limits, too narrow.

    Examples
    --------
    >>> chart = individuals_chart([8.0, 8.1, 7.9, 8.1, 8.0, 8.7], unit="dKH", baseline=5)
    >>> chart.in_control, chart.points.broken.iloc[5], round(chart.action[1], 2)
    (False, 'beyond action; range', 8.42)

    References
    ----------
    ISO 7870-2 (from memory); NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.
    """
    read = _checked(readings, resolution)
    used = read if baseline is None else read[:baseline]
    if (centre is None or sd is None) and len(used) < _FEWEST:
        raise CannotTellError(
            f"Limits cannot be set from {len(used)} readings. Read the standard until there are "
            f"{_FEWEST} or more ({_FEW} are better), or give the kit's scatter and the level."
        )
    spans = np.abs(np.diff(read))
    told = []
    if sd is None:
        found = float(np.abs(np.diff(used)).mean() / RANGE_OVER_SD)
        sd = max(found, resolution / math.sqrt(12.0))
        if sd > found:
            told.append(Message("COARSE", "The kit's step sets the scatter: readings hardly vary."))
        if len(used) < _FEW:
            told.append(
                Message(
                    "FEW",
                    f"The limits rest on {len(used)} readings. They are rough until there are {_FEW}.",
                    "qualified",
                )
            )
    if not 0 < sd < math.inf:
        raise InputError(
            "a scatter above 0", sd, "Give the kit's resolution: equal readings hide it."
        )
    centre = float(used.mean()) if centre is None else centre
    if not math.isfinite(centre):
        raise InputError("a centre line that is a number", centre, "Give the standard's level.")
    range_limit = RANGE_LIMIT * RANGE_OVER_SD * sd
    broken = _broken_rules((read - centre) / sd, spans > range_limit)
    points = pd.DataFrame(
        {"read": read, "range": np.r_[np.nan, spans], "broken": ["; ".join(one) for one in broken]}
    )
    told += _in_words(broken, centre, sd, unit)
    return ControlChart(
        centre, sd, (centre - 2 * sd, centre + 2 * sd), (centre - 3 * sd, centre + 3 * sd),
        range_limit, points, tuple(told),
    )  # fmt: skip


def _checked(readings: Sequence[float], resolution: float) -> np.ndarray:
    read = np.asarray(readings, dtype=float)
    if read.ndim != 1 or len(read) == 0 or not np.isfinite(read).all():
        raise InputError(
            "readings in their order, without gaps", readings, "Leave missing readings out."
        )
    if not 0 <= resolution < math.inf:
        raise InputError("a resolution of 0 or more", resolution, "Write the kit's step.")
    return read


def _broken_rules(z: np.ndarray, wide: np.ndarray) -> list[list[str]]:
    # A point exactly on a limit is inside: the grid of a kit would otherwise raise alarms.
    broken = []
    for i in range(len(z)):
        rules = []
        if abs(z[i]) > 3 + 1e-9:
            rules.append("beyond action")
        if i > 0 and wide[i - 1]:
            rules.append("range")
        three = z[max(0, i - 2) : i + 1]
        if any(side * z[i] > 2 + 1e-9 and (side * three > 2 + 1e-9).sum() >= 2 for side in (-1, 1)):
            rules.append("two of three")
        nine = z[max(0, i - 8) : i + 1]
        if len(nine) == 9 and ((nine > 0).all() or (nine < 0).all()):
            rules.append("nine on one side")
        steps = np.diff(z[max(0, i - 5) : i + 1])
        if len(steps) == 5 and ((steps > 0).all() or (steps < 0).all()):
            rules.append("six rising or falling")
        broken.append(rules)
    return broken


def _in_words(broken: list[list[str]], centre: float, sd: float, unit: str) -> list[Message]:
    decimals = decimals_for(sd)
    action = f"{fixed(centre - 3 * sd, decimals)} and {fixed(centre + 3 * sd, decimals)} {unit}"
    told = [Message("LIMITS", f"Action limits: {action}. Expect one reading in 370 outside.")]
    for rule, sentence in RULES.items():
        where = [str(i + 1) for i, rules in enumerate(broken) if rule in rules]
        if where:
            word = "Reading" if len(where) == 1 else "Readings"
            told.append(
                Message(
                    rule.upper().replace(" ", "_"),
                    f"{sentence} {word} {', '.join(where)}. Read a fresh bottle before correcting.",
                    "qualified",
                )
            )
    if not any(broken):
        told.append(
            Message("IN_CONTROL", "No rule is broken. That does not show the kit is right.")
        )
    return told
