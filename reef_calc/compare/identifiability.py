"""Whether the waters differ enough to say anything about a slope."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from reef_calc.compare.fitted_line import SAME, Floats, checked, quantile
from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed

# COMPUTED by simulation: opens for no stable tank and for every wide range, coverage then 0.95.
WIDEST_SLOPE = 0.15
WIDEST_BRACKET = 0.30
FEWEST_WATERS = 8
# Half of such a level is no water that a kit for the tank is made for.
NOT_TO_BE_HALVED = ("pH", "PSU", "SG", "°C", "ppt")


@dataclass(frozen=True)
class Identifiability:
    """Whether a line may be drawn through these waters.

    Attributes
    ----------
    bracket_low, bracket_high : float
        Least-squares slope of B on A, and one over that of A on B (ratio): every error ratio gives
        a slope between them. The upper one is infinite where the kits do not rise together.
    spread_ratio : float
        SD of the true levels over SD of the differences (ratio).
    slope_half_width : float
        Half-width the interval of the slope would have (ratio); infinite where the levels do not
        differ beyond the kit's scatter.
    true_sd : float
        SD of the true levels (unit of the levels).
    may_draw_line : bool
        Whether a line is offered.
    reason : str
        ``WIDE_ENOUGH``, ``NARROW_RANGE``, ``FEW`` or ``DEGENERATE``.
    variances_known : bool
        Whether the kits' own scatter was given; otherwise that of the differences stood in for it.
    messages : tuple of Message
        Why there is no line, and what would help.
    """

    bracket_low: float
    bracket_high: float
    spread_ratio: float
    slope_half_width: float
    true_sd: float
    may_draw_line: bool
    reason: Literal["WIDE_ENOUGH", "NARROW_RANGE", "FEW", "DEGENERATE"]
    variances_known: bool
    messages: tuple[Message, ...]

    @property
    def bracket_width(self) -> float:
        """Width of the bracket (ratio)."""
        return self.bracket_high - self.bracket_low


def identifiability(
    x: ArrayLike,
    y: ArrayLike,
    *,
    unit: str,
    kit_a: str = "Kit A",
    variance_x: float | None = None,
    variance_y: float | None = None,
    confidence: float = 0.95,
    widest_slope: float = WIDEST_SLOPE,
    widest_bracket: float = WIDEST_BRACKET,
) -> Identifiability:
    """Return whether waters lie far enough apart for a line between two kits.

    R = SD of true levels/SD of differences, h = t(n − 2)·√(vx + vy)/(SD of true levels·√(n − 1)),
    true variance = max(0, var(x) − vx)

    Parameters
    ----------
    x, y : array_like
        Levels read with kit A and with kit B (``unit``), means of a water; shape (n,), n ≥ 3.
    unit : str
        Unit of the levels.
    kit_a : str, optional
        Name of kit A in the sentences.
    variance_x, variance_y : float, optional
        Error variances of these means (square of ``unit``). Without both, the scatter of the
        differences around their trend stands in for them, which shuts rather than opens.
    confidence : float, optional
        Probability of the interval of the slope (fraction).
    widest_slope : float, optional
        Largest half-width of the slope (ratio) that still gets a line.
    widest_bracket : float, optional
        Largest width of the bracket (ratio) that still gets a line.

    Returns
    -------
    Identifiability
        The three numbers, the decision, and its reason.

    Raises
    ------
    InputError
        If the columns or the variances cannot be used.

    Notes
    -----
    The limits 0.15 and 0.30 come from simulations of our own and may be tightened.

    Examples
    --------
    >>> x = [4.1, 5.0, 6.2, 7.1, 8.0, 9.1, 10.0, 11.2, 12.1, 13.0]
    >>> y = [4.3, 5.1, 6.2, 7.4, 8.3, 9.1, 10.4, 11.4, 12.2, 13.4]
    >>> found = identifiability(x, y, unit="dKH", variance_x=0.02, variance_y=0.02)
    >>> found.may_draw_line, round(found.slope_half_width, 3), found.reason
    (True, 0.051, 'WIDE_ENOUGH')
    """
    x, y = checked("the range of the waters", 3, x, y)
    n = len(x)
    vx, vy, known = _variances(x, y, variance_x, variance_y)
    spread = math.sqrt(max(0.0, float(x.var(ddof=1)) - vx))
    if spread <= SAME * float(np.abs(x).max()):
        spread = 0.0
    of_differences = float((y - x).std(ddof=1))
    ratio = spread / of_differences if of_differences > 0.0 else math.inf
    half = math.inf
    if spread > 0.0:
        half = quantile(n - 2, confidence) * math.sqrt(vx + vy) / (spread * math.sqrt(n - 1))
    low, high = _bracket(x, y)
    code: Literal["WIDE_ENOUGH", "NARROW_RANGE", "FEW", "DEGENERATE"] = "WIDE_ENOUGH"
    if n < FEWEST_WATERS:
        code = "FEW"
    elif spread == 0.0 or half > widest_slope or (high - low > widest_bracket and high < math.inf):
        code = "NARROW_RANGE"
    elif math.isinf(high):
        code = "DEGENERATE"
    messages = () if code == "WIDE_ENOUGH" else (_why(code, x, y, unit, kit_a),)
    return Identifiability(
        low, high, ratio, half, spread, code == "WIDE_ENOUGH", code, known, messages
    )


def _variances(
    x: Floats, y: Floats, variance_x: float | None, variance_y: float | None
) -> tuple[float, float, bool]:
    if variance_x is not None and variance_y is not None:
        for variance, kit in ((variance_x, "kit A"), (variance_y, "kit B")):
            if not 0.0 <= variance < math.inf:
                raise InputError(
                    "the square of an SD, 0 or more",
                    variance,
                    "Work it out from repeats of one water.",
                    kit,
                )
        return variance_x, variance_y, True
    means, differences = (x + y) / 2, y - x
    from_mean = means - means.mean()
    spread = float(from_mean @ from_mean)
    slope = float(from_mean @ differences) / spread if spread > 0.0 else 0.0
    residual = differences - differences.mean() - slope * from_mean
    # All of it is laid to A as well, so that narrow ranges stay narrow whatever the share.
    both = float(residual @ residual) / (len(x) - 2)
    return both, 0.0, False


def _bracket(x: Floats, y: Floats) -> tuple[float, float]:
    dx, dy = x - x.mean(), y - y.mean()
    sxx, syy, sxy = float(dx @ dx), float(dy @ dy), float(dx @ dy)
    if sxx <= len(x) * (SAME * float(np.abs(x).max())) ** 2:
        return -math.inf, math.inf
    if sxy <= 0.0:
        return sxy / sxx, math.inf
    return sxy / sxx, syy / sxy


def _why(code: str, x: Floats, y: Floats, unit: str, kit_a: str) -> Message:
    decimals = max(0, decimals_for(float(np.abs(np.concatenate([x, y])).max()) / 20 or 1.0))
    usual = float(np.median(x))
    low, high, middle = (fixed(one, decimals) for one in (x.min(), x.max(), usual))
    if code == "FEW":
        return Message(
            "FEW",
            f"{len(x)} waters are too few for a line; {FEWEST_WATERS} are needed, with levels well "
            "apart. They can say how far apart the kits are at the levels tested.",
            "qualified",
        )
    if code == "DEGENERATE":
        return Message(
            "DEGENERATE",
            f"The waters differ ({kit_a} read {low} to {high} {unit}), and yet the two kits do not "
            "rise together. Check that no two waters were swapped.",
            "qualified",
        )
    apart = (
        f"{kit_a} read {low} {unit} every time"
        if low == high
        else f"{kit_a} read {low} to {high} {unit}, and that is close together for the scatter of "
        "these kits"
    )
    reach = ""
    if usual > 0.0 and unit not in NOT_TO_BE_HALVED:
        reach = (
            f", from about {fixed(0.5 * usual, decimals)} to {fixed(1.5 * usual, decimals)} {unit}"
        )
    return Message(
        "NARROW_RANGE",
        f"{apart}. So these waters can say how far apart the kits are near {middle} {unit}, but "
        "not whether the gap grows at higher or lower levels. To learn that, mix waters of at "
        f"least five levels in cups{reach}. Never change the tank for it.",
        "qualified",
    )
