"""What every line between two kits is: its numbers, its reach, and why there may be none."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtrit

from reef_calc.errors import InputError
from reef_calc.messages import Message

Floats = NDArray[np.float64]
Method = Literal["ols", "wls", "deming", "weighted_deming", "york", "passing_bablok"]
# Levels that differ by less than this share of themselves differ by rounding of the computer only.
SAME = 1e-12
# A standard error of the slope below this comes from the arithmetic alone.
ARITHMETIC = 1e-9


class SlopeCounts(NamedTuple):
    """What the median of slopes between two waters counted.

    Attributes
    ----------
    slopes : int
        Number of slopes that were counted.
    offset : int
        Number of slopes below −1, by which the median is moved.
    tied_x, tied_y : float
        Share of all pairs of waters that read the same on kit A, on kit B (fraction).
    most_equal : float
        Share of the counted slopes that are all the same (fraction), for the most common one.
    """

    slopes: int
    offset: int
    tied_x: float
    tied_y: float
    most_equal: float


class Edge(NamedTuple):
    """One of several lines that together bound where the line may lie.

    Attributes
    ----------
    slope : float
        Its slope (ratio).
    intercept_low, intercept_high : float
        Lowest and highest intercept with that slope (unit of the levels).
    """

    slope: float
    intercept_low: float
    intercept_high: float


@dataclass(frozen=True)
class Line:
    """A line y = intercept + slope·x through the waters, x read with kit A and y with kit B.

    Attributes
    ----------
    method : str
        How it was found.
    intercept, intercept_low, intercept_high : float
        Intercept and its interval (unit of the levels); an end is infinite where there is none.
    slope, slope_low, slope_high : float
        Slope and its interval (a ratio); an end is infinite where there is none.
    se_intercept, se_slope : float
        Their standard errors (unit of the levels; ratio); for "passing_bablok" half their interval
        over the normal quantile.
    covariance : float or None
        Of intercept and slope (unit of the levels); None where ``edges`` take its place.
    df : float
        Degrees of freedom of their t-intervals (a count).
    confidence : float
        Probability of the intervals (fraction).
    n : int
        Number of waters.
    x_low, x_high : float
        Lowest and highest x (unit of the levels); beyond them nothing is known.
    scatter : float or None
        SD of the residuals in y, divisor n − 2 (unit of the levels); None where weights have no
        unit.
    error_ratio : float or None
        Variance of x over variance of y (ratio) that was used; None where none is needed.
    messages : tuple of Message
        What limits the line.
    counts : SlopeCounts or None
        For "passing_bablok", what it counted.
    edges : tuple of Edge
        For "passing_bablok", between which lines the true one lies; otherwise empty.
    """

    method: Method
    intercept: float
    intercept_low: float
    intercept_high: float
    slope: float
    slope_low: float
    slope_high: float
    se_intercept: float
    se_slope: float
    covariance: float | None
    df: float
    confidence: float
    n: int
    x_low: float
    x_high: float
    scatter: float | None = None
    error_ratio: float | None = None
    messages: tuple[Message, ...] = ()
    counts: SlopeCounts | None = None
    edges: tuple[Edge, ...] = ()

    @property
    def no_scatter(self) -> bool:
        """Whether all waters lie exactly on the line, so that its intervals mean nothing."""
        return self.se_slope <= ARITHMETIC * max(1.0, abs(self.slope))


def line_of_estimates(
    method: Method,
    x: Floats,
    intercept: float,
    slope: float,
    covariance: Floats,
    confidence: float,
    *,
    scatter: float | None = None,
    error_ratio: float | None = None,
    messages: tuple[Message, ...] = (),
) -> Line:
    """Return a line with t-intervals of n − 2 degrees of freedom.

    Parameters
    ----------
    method : str
        How it was found.
    x : numpy.ndarray
        Levels read with kit A (unit of the levels), shape (n,).
    intercept, slope : float
        The line (unit of the levels; ratio).
    covariance : numpy.ndarray
        Of intercept and slope, shape (2, 2).
    confidence : float
        Probability of the intervals (fraction).
    scatter : float, optional
        SD of the residuals in y (unit of the levels).
    error_ratio : float, optional
        Variance of x over variance of y (ratio) that was used.
    messages : tuple of Message, optional
        What limits the line.

    Returns
    -------
    Line
        The line with its intervals.

    Examples
    --------
    >>> found = line_of_estimates("ols", np.array([4.0, 8.0, 12.0, 16.0]), 0.1, 1.0,
    ...                           np.diag([0.04, 0.0004]), 0.95)
    >>> round(found.slope_low, 3), round(found.slope_high, 3)
    (0.914, 1.086)
    """
    df = len(x) - 2
    t = quantile(df, confidence)
    u_intercept, u_slope = (math.sqrt(covariance[i, i]) for i in (0, 1))
    return Line(
        method=method,
        intercept=float(intercept),
        intercept_low=float(intercept - t * u_intercept),
        intercept_high=float(intercept + t * u_intercept),
        slope=float(slope),
        slope_low=float(slope - t * u_slope),
        slope_high=float(slope + t * u_slope),
        se_intercept=u_intercept,
        se_slope=u_slope,
        covariance=float(covariance[0, 1]),
        df=float(df),
        confidence=confidence,
        n=len(x),
        x_low=float(x.min()),
        x_high=float(x.max()),
        scatter=scatter,
        error_ratio=error_ratio,
        messages=messages,
    )


def quantile(df: float, confidence: float) -> float:
    """Return the t that a two-sided interval of that confidence reaches to.

    Parameters
    ----------
    df : float
        Degrees of freedom, above zero (a count).
    confidence : float
        Probability inside the interval (fraction), between 0 and 1.

    Returns
    -------
    float
        Quantile of Student's t (no unit).

    Raises
    ------
    InputError
        If the confidence does not lie between 0 and 1.

    Examples
    --------
    >>> round(quantile(8, 0.95), 4)
    2.306
    """
    if not 0.0 < confidence < 1.0:
        raise InputError(
            "a confidence between 0 and 1", confidence, "Type 0.95 for 95 %.", "confidence"
        )
    return float(stdtrit(df, (1.0 + confidence) / 2.0))


def checked(where: str, waters: int, *columns: ArrayLike) -> tuple[Floats, ...]:
    """Return columns as arrays of equal length, after a look at every number.

    Parameters
    ----------
    where : str
        Who asks, for the error.
    waters : int
        Smallest number of waters that will do.
    *columns : array_like
        Levels, shape (n,) each (unit of the levels).

    Returns
    -------
    tuple of numpy.ndarray
        The columns, shape (n,) each (unit of the levels).

    Raises
    ------
    InputError
        If they are not of equal length, too short, or hold something that is no finite number.

    Examples
    --------
    >>> checked("line", 3, [8.0, 8.2, 8.4], [8.1, 8.2, 8.6])[1].tolist()
    [8.1, 8.2, 8.6]
    """
    arrays = tuple(np.asarray(column, dtype=float) for column in columns)
    lengths = [one.shape[0] if one.ndim == 1 else one.shape for one in arrays]
    if any(one.ndim != 1 for one in arrays) or len(set(lengths)) > 1:
        raise InputError(
            "columns of equal length",
            " and ".join(str(one) for one in lengths),
            "Give one number a water in each.",
            where,
        )
    if len(arrays[0]) < waters:
        words = {2: "two", 3: "three"}.get(waters, str(waters))
        raise InputError(
            f"at least {words} waters",
            f"{len(arrays[0])}",
            "Test more waters, with levels well apart.",
            where,
        )
    for one in arrays:
        bad = np.flatnonzero(~np.isfinite(one))
        if len(bad):
            raise InputError(
                "a number for every water",
                f"{one[bad[0]]} for water {bad[0] + 1}",
                "Leave that water out or type its reading.",
                where,
            )
    return arrays


def checked_ratio(error_ratio: float, where: str) -> float:
    """Return an error ratio after a look at it.

    Parameters
    ----------
    error_ratio : float
        Variance of one reading of kit A over that of kit B (ratio).
    where : str
        Who asks, for the error.

    Returns
    -------
    float
        The same (ratio).

    Raises
    ------
    InputError
        If it is not a finite number of 0 or more.

    Examples
    --------
    >>> checked_ratio(4.0, "line")
    4.0
    """
    if not (math.isfinite(error_ratio) and error_ratio >= 0.0):
        raise InputError(
            "the square of (SD of kit A divided by SD of kit B), 0 or more",
            error_ratio,
            "Work it out from repeats of one water, or type the SD of each kit.",
            where,
        )
    return float(error_ratio)
