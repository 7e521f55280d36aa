"""Readings as whole numbers of one small step, so that equal is equal."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np

from reef_calc.compare.fitted_line import Floats
from reef_calc.errors import InputError

# Readings without a step are taken as typed, to this many decimals.
MOST_DECIMALS = 6
# Quotients of two whole numbers below this are equal in floating point only if they are equal.
LARGEST = 2**26
ON_GRID = 1e-6


def on_one_grid(
    x: Floats, y: Floats, resolution_x: float, resolution_y: float
) -> tuple[Floats, Floats]:
    """Return the readings of two kits as whole numbers of one common step.

    Parameters
    ----------
    x, y : numpy.ndarray
        Readings of kit A and of kit B (one unit), shape (n,).
    resolution_x, resolution_y : float
        Steps of the two scales (same unit); 0 where there is none, then the decimals typed count.

    Returns
    -------
    tuple of numpy.ndarray
        The readings as whole numbers (a count), shape (n,) each; the readings themselves where one
        of them has no step and more than six decimals.

    Raises
    ------
    InputError
        If a step is negative, a reading does not lie on its scale, or the scales have no common
        step of use.

    Examples
    --------
    >>> a, b = on_one_grid(np.array([8.1, 8.4]), np.array([8.0, 8.25]), 0.1, 0.05)
    >>> a.tolist(), b.tolist()
    ([162.0, 168.0], [160.0, 165.0])
    """
    step_x, step_y = _step(x, resolution_x, "kit A"), _step(y, resolution_y, "kit B")
    if step_x is None or step_y is None:
        return x, y
    common = _common_step(step_x, step_y)
    counts = []
    for values, step, kit in ((x, step_x, "kit A"), (y, step_y, "kit B")):
        steps = values / float(step)
        whole = np.round(steps)
        off = np.flatnonzero(np.abs(steps - whole) > ON_GRID)
        if len(off):
            raise InputError(
                f"readings in steps of {float(step):.6g}",
                f"{values[off[0]]:.10g}",
                "Type the step of the scale as it is, or the reading as it was read.",
                kit,
            )
        counts.append(whole * int(step / common))
    if max(float(np.ptp(one)) for one in counts) >= LARGEST:
        raise InputError(
            "steps of two scales that go into each other",
            f"{float(step_x):.10g} and {float(step_y):.10g}",
            "Round both steps to a few digits.",
            "steps of the scales",
        )
    return counts[0], counts[1]


def _step(values: Floats, resolution: float, kit: str) -> Fraction | None:
    if not 0.0 <= resolution < math.inf:
        raise InputError("the step of the scale, 0 or more", resolution, "Type it.", kit)
    if resolution > 0.0:
        return Fraction(repr(float(resolution))).limit_denominator(10**9)
    for decimals in range(MOST_DECIMALS + 1):
        if np.allclose(np.round(values, decimals), values, rtol=1e-12, atol=1e-12):
            step = Fraction(1, 10**decimals)
            return step if np.ptp(values) / float(step) < LARGEST else None
    return None


def _common_step(one: Fraction, other: Fraction) -> Fraction:
    return Fraction(
        math.gcd(one.numerator * other.denominator, other.numerator * one.denominator),
        one.denominator * other.denominator,
    )
