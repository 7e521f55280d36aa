"""Whether the difference of two kits grows with the level, as far as one history tells."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from reef_calc.balance.steady_use import MEASURED_SD_WORTH, KnownColumn
from reef_calc.balance.water_balance import WaterEvents
from reef_calc.compare.difference_column import KitDifference, kit_difference
from reef_calc.compare.kit_columns import Floats, readings_of_two
from reef_calc.errors import CannotTellError

# Less spread of the level, in SDs of a reading, or a wider interval, tells nothing of use.
LEAST_SPREAD_SDS = 5.0
WIDEST_HALF = 0.15
LEAST_READINGS = 5
NAME = "proportional part"
# A variance that takes a reading out of a fit and leaves its place in it.
NOT_LOOKED_AT = 1e8


@dataclass(frozen=True)
class ProportionalPart:
    """How the difference of two kits grows with the level.

    Attributes
    ----------
    slope, low, high : float
        Growth of B − A for each unit of the level, with its 95 % interval (ratio).
    centre : float
        Mean level at the readings of B, on the scale of A (unit).
    difference : float
        B − A at that level (unit).
    spread : float
        SD of the level at the readings of B (unit).
    """

    slope: float
    low: float
    high: float
    centre: float
    difference: float
    spread: float


def proportional_part(
    times: ArrayLike,
    levels: ArrayLike,
    of_b: ArrayLike,
    events: WaterEvents,
    steady: KitDifference,
    *,
    noise: ArrayLike | None = None,
    new_water_with_b: ArrayLike | None = None,
    columns: Sequence[KnownColumn] = (),
    sd_worth: float = MEASURED_SD_WORTH,
) -> ProportionalPart | None:
    """Return how the difference grows with the level; None where the readings do not tell.

    A further column B·(Ĉ − mean Ĉ), Ĉ being the level at B's readings as all others foretell it.

    Parameters
    ----------
    times : array_like, shape (n,)
        Times of the readings of both kits (days), not decreasing.
    levels : array_like, shape (n,)
        Levels as read (one unit).
    of_b : array_like of bool, shape (n,)
        Which readings are of kit B.
    events : WaterEvents
        Doses and water changes, same units.
    steady : KitDifference
        The fit without this column.
    noise : array_like, shape (n,), optional
        Variance of each reading over that of one reading of its kit (ratio).
    new_water_with_b : array_like of bool, shape (c,), optional
        Changes whose new water was read with B.
    columns : sequence of KnownColumn, optional
        Further factors of the fit.
    sd_worth : float, optional
        Number of readings the stated SD is worth.

    Returns
    -------
    ProportionalPart or None
        None below 5 readings of B, with a spread of the level below 5 SDs of a reading, or a
        half-width above 0.15.

    Notes
    -----
    Ĉ leaves the readings of B out: with them in, their errors pass for a slope (+0.16 where the
    level spreads over 1.8 SDs of a reading, against −0.01 without them; COMPUTED, 100 series).

    Examples
    --------
    >>> t, b = np.arange(24.0), np.arange(24) % 2 == 1
    >>> level = np.where(t < 12, 8 - 0.2 * t, 5.6 + 0.2 * (t - 12))
    >>> log = WaterEvents(rate_starts=[12.0], rate_stops=[24.0], rates=[0.4])
    >>> fit = kit_difference(t, level + 0.1 * b * level, b, log, sd_a=0.05)
    >>> round(proportional_part(t, level + 0.1 * b * level, b, log, fit).slope, 2)
    0.1

    References
    ----------
    Regression on a predicted level; own simulations.
    """
    t, y, b = readings_of_two(times, levels, of_b)
    if b.sum() < LEAST_READINGS:
        return None
    relative = np.ones(t.size) if noise is None else np.asarray(noise, dtype=float)

    def fit(weight: Floats, further: Sequence[KnownColumn]) -> KitDifference:
        return kit_difference(
            t, y, b, events,
            sd_a=steady.sd_a, sd_b=steady.sd_b, noise=weight, new_water_with_b=new_water_with_b,
            columns=[*columns, *further], sd_worth=sd_worth, rate_scale=steady.rate_scale,
        )  # fmt: skip

    try:
        foretold = fit(np.where(b, NOT_LOOKED_AT, 1.0) * relative, ()).level
        centre, spread = float(foretold[b].mean()), float(foretold[b].std(ddof=1))
        if not math.isfinite(spread) or spread < LEAST_SPREAD_SDS * steady.sd_a:
            return None
        found = fit(relative, [KnownColumn(NAME, b * (foretold - centre))])
    except CannotTellError:
        return None
    slope, low, high = found.factors[NAME]
    if (high - low) / 2 > WIDEST_HALF:
        return None
    return ProportionalPart(slope, low, high, centre, found.difference, spread)
