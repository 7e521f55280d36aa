"""The line between two kits when the SD of every single point is known."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtrc

from reef_calc.compare.fitted_line import Floats, Line, checked, line_of_estimates
from reef_calc.compare.no_line import NoLineError
from reef_calc.errors import InputError
from reef_calc.messages import Message

TOLERANCE = 1e-12
MOST_ROUNDS = 1000
# Chance below which scatter is called larger than the stated SDs explain.
UNLIKELY = 0.05


def york_line(
    x: ArrayLike, y: ArrayLike, sd_x: ArrayLike, sd_y: ArrayLike, *, confidence: float = 0.95
) -> Line:
    """Return York's line through points with their own SD in x and in y.

    W = 1/(σy² + b²·σx²), b = Σ W·β·(y − ȳ)/Σ W·β·(x − x̄), β = W·((x − x̄)·σy² + b·(y − ȳ)·σx²)

    Parameters
    ----------
    x, y : array_like
        Levels read with kit A and with kit B (one unit), shape (n,), n ≥ 3.
    sd_x, sd_y : array_like
        Standard deviation of each level (same unit), 0 or more, shape (n,); not 0 in both.
    confidence : float, optional
        Probability of the intervals (fraction).

    Returns
    -------
    Line
        Method "york". Standard errors from the stated SDs, larger by √(S/(n − 2)) where the points
        scatter more than these say; then with the message SCATTERS_MORE if that is beyond chance.

    Raises
    ------
    InputError
        If the columns cannot be used, or an SD is negative or missing.
    NoLineError
        If all x or all y are the same (DEGENERATE) or the slope does not settle (NOT_CONVERGED).

    Notes
    -----
    Errors of x and y are taken to be independent. Stated SDs are never made smaller because the
    points happen to lie close to the line.

    Examples
    --------
    >>> found = york_line([4.0, 6.0, 8.0, 10.0], [4.1, 6.3, 8.1, 10.3], [0.1] * 4, [0.2] * 4)
    >>> round(found.intercept, 4), round(found.slope, 4)
    (0.0577, 1.0203)

    References
    ----------
    York 1966, Canadian Journal of Physics 44, 1079; York et al. 2004, American Journal of Physics
    72, 367, for the standard errors (both MEMORY).
    """
    where = "York's line"
    x, y, sd_x, sd_y = checked(where, 3, x, y, sd_x, sd_y)
    if min(sd_x.min(), sd_y.min()) < 0.0 or ((sd_x == 0.0) & (sd_y == 0.0)).any():
        raise InputError(
            "an SD above zero for every water, in one of the kits at least",
            f"{min(sd_x.min(), sd_y.min()):g}",
            "Type the SD of one reading for each kit.",
            where,
        )
    if np.ptp(x) == 0.0 or np.ptp(y) == 0.0:
        raise NoLineError(
            "DEGENERATE",
            f"All {len(x)} waters have the same level, so there is no line. Test waters whose "
            "levels lie further apart.",
        )
    slope = _settled_slope(x, y, sd_x**2, sd_y**2)
    W, mean_x, mean_y, beta = _terms(x, y, sd_x**2, sd_y**2, slope)
    intercept = mean_y - slope * mean_x
    # Points moved onto the line give the standard errors.
    on_line = mean_x + beta
    middle = float(W @ on_line / W.sum())
    v_slope = 1.0 / float(W @ (on_line - middle) ** 2)
    covariance = np.array(
        [
            [1.0 / W.sum() + middle**2 * v_slope, -middle * v_slope],
            [-middle * v_slope, v_slope],
        ]
    )
    df = len(x) - 2
    S = float(W @ (y - intercept - slope * x) ** 2)
    messages: tuple[Message, ...] = ()
    if chdtrc(df, S) < UNLIKELY:
        times = math.sqrt(S / df)
        messages = (
            Message(
                "SCATTERS_MORE",
                f"The waters scatter {times:.1f} times as much around the line as the stated SDs "
                "say. The intervals are widened by that factor; look for a misread water, or for "
                "SDs that are too small.",
                "qualified",
            ),
        )
    return line_of_estimates(
        "york",
        x,
        intercept,
        slope,
        covariance * max(1.0, S / df),
        confidence,
        messages=messages,
    )


def york_misfit(
    x: ArrayLike,
    y: ArrayLike,
    sd_x: ArrayLike,
    sd_y: ArrayLike,
    intercept: float,
    slope: float,
) -> float:
    """Return the weighted sum of squares that York's line makes smallest.

    S = Σ (y − a − b·x)²/(σy² + b²·σx²)

    Parameters
    ----------
    x, y : array_like
        Levels read with kit A and with kit B (one unit), shape (n,).
    sd_x, sd_y : array_like
        Standard deviation of each level (same unit), shape (n,).
    intercept, slope : float
        A line (unit of the levels; ratio).

    Returns
    -------
    float
        S (no unit); about n − 2 where the SDs are right.

    Examples
    --------
    >>> round(york_misfit([4.0, 8.0], [4.1, 8.2], [0.1, 0.1], [0.0, 0.1], 0.0, 1.0), 6)
    3.0
    """
    x, y, sd_x, sd_y = checked("York's line", 1, x, y, sd_x, sd_y)
    return float(np.sum((y - intercept - slope * x) ** 2 / (sd_y**2 + slope**2 * sd_x**2)))


def _terms(
    x: Floats, y: Floats, vx: Floats, vy: Floats, slope: float
) -> tuple[Floats, float, float, Floats]:
    W = 1.0 / (vy + slope**2 * vx)
    mean_x, mean_y = float(W @ x / W.sum()), float(W @ y / W.sum())
    beta = W * ((x - mean_x) * vy + slope * (y - mean_y) * vx)
    return W, mean_x, mean_y, beta


def _settled_slope(x: Floats, y: Floats, vx: Floats, vy: Floats) -> float:
    slope = float(np.polynomial.polynomial.polyfit(x - x.mean(), y, 1)[1])
    # Where y has no error at all a slope of 0 would give it infinite weight.
    slope = slope or float(np.ptp(y) / np.ptp(x))
    for _ in range(MOST_ROUNDS):
        W, mean_x, mean_y, beta = _terms(x, y, vx, vy, slope)
        below = float((W * beta) @ (x - mean_x))
        if below == 0.0:
            break
        now = float((W * beta) @ (y - mean_y)) / below
        if not math.isfinite(now) or (now == 0.0 and (vy == 0.0).any()):
            break
        if abs(now - slope) <= TOLERANCE * abs(now):
            return now
        slope = now
    raise NoLineError(
        "NOT_CONVERGED",
        f"The line through these {len(x)} waters does not settle. Test waters whose levels lie "
        "further apart.",
    )
