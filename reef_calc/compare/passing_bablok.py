"""The line by the median of all slopes between two waters, which one misread water cannot move."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import bdtr, ndtri

from reef_calc.compare.fitted_line import Edge, Floats, Line, SlopeCounts, checked
from reef_calc.compare.integer_grid import on_one_grid
from reef_calc.compare.no_line import NoLineError, not_rising
from reef_calc.messages import Message

# Above this share of pairs with equal x the slopes say more of the scale than of the kits:
# a choice of our own, not tested as a limit.
MOST_TIES = 0.20
# From this share of equal slopes on, the steps of the scales decide where the median stands
# (own simulation, levels 4 to 14: 0.3 to 0.7 with both kits read to 0.5, up to 0.2 read to 0.1).
STUCK = 0.25


def passing_bablok_line(
    x: ArrayLike,
    y: ArrayLike,
    *,
    resolution_x: float = 0.0,
    resolution_y: float = 0.0,
    confidence: float = 0.95,
    most_ties: float = MOST_TIES,
) -> Line:
    """Return the line of Passing and Bablok between two kits.

    Slope: median of the slopes between every two waters, moved up by the number of slopes below
    −1. Intercept: median of y − slope·x.

    Parameters
    ----------
    x, y : array_like
        Levels read with kit A and with kit B (one unit), shape (n,), n ≥ 3.
    resolution_x, resolution_y : float, optional
        Steps of these levels (same unit); 0 to take the decimals as typed. For means of r repeats
        a step divided by r.
    confidence : float, optional
        Probability of the intervals (fraction).
    most_ties : float, optional
        Largest share of pairs with equal x (fraction) that still gets a line; 1 never refuses.

    Returns
    -------
    Line
        Intervals of slope and intercept by the rank rule of 1983 without a correction for ties; an
        end is infinite where too few slopes reach it. For the bias at a level there are edges: the
        sign interval of the median of y − slope·x at the slope and at both ends of its interval.

    Raises
    ------
    InputError
        If the columns or the steps cannot be used.
    NoLineError
        If too many waters read the same on kit A (TIES), or the kits do not rise together
        (DEGENERATE).

    Notes
    -----
    All comparisons are made in whole numbers of the step. Two waters equal on both kits are left
    out, and so are slopes of exactly −1; two waters equal on kit A only count as +∞; of an even
    number of slopes the arithmetic middle of the two inner ones is taken. Swapping the kits inverts
    the slope only where the number of slopes is odd and no two waters read the same.

    Coarse scales make many slopes equal and hold the median there (message STUCK); the edges are
    then moved out by the rounding of both scales. Leaving out one water shows nothing of this, and
    covered 0.30 to 0.92 instead of 0.95 in simulations of our own; the edges covered 0.94 to 1.00.

    Examples
    --------
    >>> found = passing_bablok_line([1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78])
    >>> found.slope, found.intercept, found.counts.slopes
    (4.0, 6.0, 21)

    References
    ----------
    Passing and Bablok 1983, Journal of Clinical Chemistry and Clinical Biochemistry 21, 709
    (MEMORY).
    """
    x, y = checked("the median of slopes", 3, x, y)
    a, b = on_one_grid(x, y, resolution_x, resolution_y)
    tied_x, tied_y = _tie_share(a), _tie_share(b)
    if tied_x > most_ties:
        raise _refusal(tied_x, most_ties)
    slopes = _slopes(a, b)
    offset = int(np.searchsorted(slopes, -1.0))
    slope = _middle(slopes, offset)
    if not 0.0 < slope < math.inf:
        raise not_rising(len(x))
    low, high = _ends(slopes, offset, len(x), confidence)
    intercept = _intercept(x, y, slope)
    from_high = _intercept(x, y, high) if math.isfinite(high) else -math.inf
    from_low = _intercept(x, y, low) if math.isfinite(low) else math.inf
    common, most_equal = _most_common(slopes)
    coarse = math.sqrt((resolution_x**2 + resolution_y**2) / 12.0)
    stuck = most_equal >= STUCK and coarse > 0.0
    normal = float(ndtri((1.0 + confidence) / 2.0))
    edges = _edges(x, y, (low, slope, high), confidence, normal * coarse if stuck else 0.0)
    return Line(
        method="passing_bablok",
        intercept=intercept,
        intercept_low=min(from_high, intercept),
        intercept_high=max(from_low, intercept),
        slope=slope,
        slope_low=low,
        slope_high=high,
        se_intercept=(from_low - from_high) / 2.0 / normal,
        se_slope=(high - low) / 2.0 / normal,
        covariance=None,
        df=float(len(x) - 2),
        confidence=confidence,
        n=len(x),
        x_low=float(x.min()),
        x_high=float(x.max()),
        messages=_said(
            tied_x,
            tied_y,
            low,
            high,
            common,
            most_equal if stuck else 0.0,
            endless=len(edges) == 1,
        ),
        counts=SlopeCounts(len(slopes), offset, tied_x, tied_y, most_equal),
        edges=edges,
    )


def _tie_share(counts: Floats) -> float:
    n = len(counts)
    repeats = np.unique(counts, return_counts=True)[1].astype(np.int64)
    return float((repeats * (repeats - 1)).sum() / (n * (n - 1)))


def _slopes(a: Floats, b: Floats) -> Floats:
    """Return the counted slopes in rising order."""
    first, second = np.triu_indices(len(a), 1)
    dx, dy = a[second] - a[first], b[second] - b[first]
    counts = dx != -dy  # leaves out −1, and waters equal on both
    dx, dy = dx[counts], dy[counts]
    slopes = np.where(dx == 0.0, math.inf, dy / np.where(dx == 0.0, 1.0, dx))
    slopes.sort()
    return slopes


def _most_common(slopes: Floats) -> tuple[float, float]:
    """Return the finite slope that comes most often, and its share."""
    values, counts = np.unique(slopes[np.isfinite(slopes)], return_counts=True)
    most = int(np.argmax(counts))
    return float(values[most]) + 0.0, float(counts[most] / len(slopes))


def _middle(slopes: Floats, offset: int) -> float:
    """Return the median of slopes in rising order, moved up by the offset."""
    n = len(slopes)
    upper = n // 2 + offset
    if n == 0 or upper >= n:
        return math.inf
    if n % 2:
        return float(slopes[upper])
    return float((slopes[upper - 1] + slopes[upper]) / 2)


def _ends(slopes: Floats, offset: int, waters: int, confidence: float) -> tuple[float, float]:
    n = len(slopes)
    reach = ndtri((1 + confidence) / 2) * math.sqrt(waters * (waters - 1) * (2 * waters + 5) / 18)
    from_below = round((n - reach) / 2)
    low, high = from_below + offset, n - from_below + 1 + offset
    return (
        float(slopes[low - 1]) if from_below >= 1 else -math.inf,
        float(slopes[high - 1]) if from_below >= 1 and high <= n else math.inf,
    )


def _intercept(x: Floats, y: Floats, slope: float) -> float:
    return float(np.median(y - slope * x))


def _edges(
    x: Floats, y: Floats, slopes: tuple[float, float, float], confidence: float, outwards: float
) -> tuple[Edge, ...]:
    """Return the sign interval of the median of y − slope·x at each slope."""
    n = len(x)
    outside = sum(bdtr(k, n, 0.5) <= (1.0 - confidence) / 2.0 for k in range(n // 2))
    if outside == 0 or not all(math.isfinite(one) for one in slopes):
        return (Edge(slopes[1], -math.inf, math.inf),)
    found = []
    for slope in slopes:
        residual = np.sort(y - slope * x)
        found.append(
            Edge(
                slope,
                float(residual[outside - 1]) - outwards,
                float(residual[n - outside]) + outwards,
            )
        )
    return tuple(found)


def _said(
    tied_x: float,
    tied_y: float,
    low: float,
    high: float,
    common: float,
    stuck: float,
    *,
    endless: bool = False,
) -> tuple[Message, ...]:
    said = []
    if stuck:
        said.append(
            Message(
                "STUCK",
                f"{100 * stuck:.0f} % of the slopes between two waters are exactly {common:.4g}, "
                "because the scales are read in steps. The median leans towards that, even if the "
                "true slope lies beside it, and the interval of the slope does not show it.",
                "qualified",
            )
        )
    if max(tied_x, tied_y) > 0.0:
        said.append(
            Message(
                "TIES",
                f"Pairs of waters that read the same: {_share(tied_x)} on kit A, "
                f"{_share(tied_y)} on kit B. They pull the slope towards the steps of the scale.",
            )
        )
    if math.isinf(low) or math.isinf(high):
        ends = {(True, True): "neither a lower nor an upper end", (True, False): "no lower end",
                (False, True): "no upper end"}[math.isinf(low), math.isinf(high)]  # fmt: skip
        said.append(
            Message(
                "UNBOUNDED",
                f"These waters give {ends} for the slope. Test more waters, with levels further "
                "apart.",
                "qualified",
            )
        )
    elif endless:
        said.append(
            Message(
                "UNBOUNDED",
                "So few waters give no interval of the difference that holds so surely. Test more "
                "waters, with levels further apart.",
                "qualified",
            )
        )
    return tuple(said)


def _share(share: float) -> str:
    if share == 0.0:
        return "none"
    return f"{100 * share:.0f} %" if share >= 0.005 else "less than 1 %"


def _refusal(tied_x: float, most_ties: float) -> NoLineError:
    decimals = next((k for k in range(3) if round(100 * tied_x, k) > round(100 * most_ties, k)), 3)
    return NoLineError(
        "TIES",
        f"{100 * tied_x:.{decimals}f} % of all pairs of waters read the same on kit A, more than "
        f"the {100 * most_ties:.{decimals}f} % up to which the median of slopes is used: it would "
        "say more about the steps of the scale than about the kits. Test waters whose levels lie "
        "further apart.",
    )
