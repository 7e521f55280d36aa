"""The levels of a study: evenly spread, and off the steps of a coarse scale."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from reef_calc.errors import InputError

LEVELS = 5
SPAN = 0.5


def level_shares(count: int = LEVELS, span: float = SPAN) -> tuple[float, ...]:
    """Return equally spaced levels as shares of the usual one.

    Parameters
    ----------
    count : int, optional
        Number of levels, 2 or more.
    span : float, optional
        How far they reach to each side (share).

    Returns
    -------
    tuple of float
        From low to high.

    Examples
    --------
    >>> level_shares()
    (0.5, 0.75, 1.0, 1.25, 1.5)
    """
    return tuple(float(one) for one in np.linspace(1.0 - span, 1.0 + span, count))


def levels_off_the_grid(levels: Sequence[float], resolution: float) -> tuple[float, ...]:
    """Return levels moved by at most half a step so that they lie all over the steps of a scale.

    Level j of k lies at (a whole number + j/k)·r.

    Parameters
    ----------
    levels : sequence of float
        Wanted levels (unit).
    resolution : float
        Step r of the coarser kit's scale (unit); 0 changes nothing.

    Returns
    -------
    tuple of float
        Levels in the order given (unit), above 0.

    Raises
    ------
    InputError
        If the step is negative, or a level would come to lie at 0 or below.

    Notes
    -----
    Levels that are multiples of the step all round alike, and the rounding does not average out.

    Examples
    --------
    >>> [round(one, 2) for one in levels_off_the_grid([4.0, 6.0, 8.0, 10.0, 12.0], 0.5)]
    [4.0, 6.1, 8.2, 9.8, 11.9]

    References
    ----------
    Rounding with spread phases; own simulation.
    """
    if not 0.0 <= resolution < math.inf:
        raise InputError("a step of 0 or more", resolution, "Type the step of the scale.", "step")
    if resolution == 0.0:
        return tuple(float(one) for one in levels)
    phases = np.arange(len(levels)) / len(levels)
    moved = (np.round(np.asarray(levels, dtype=float) / resolution - phases) + phases) * resolution
    if not (moved > 0.0).all():
        raise InputError(
            f"levels well above the step of {resolution:g}",
            float(np.min(levels)),
            "Choose higher levels, or a kit with finer steps.",
            "levels of the study",
        )
    return tuple(float(one) for one in moved)
