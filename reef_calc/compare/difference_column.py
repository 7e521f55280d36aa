"""Difference of two kits from one history: a column of the mass balance beside level and use.

Kit B need not be read at the moment of kit A. The balance says what use, doses and water changes did
in between, so every reading of B tells of the difference, whatever the hour.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtrit

from reef_calc.balance.mixture import mixture_quantiles
from reef_calc.balance.rate_mixture import robust_scale
from reef_calc.balance.steady_use import (
    DAY_TO_DAY,
    DAY_TO_DAY_WEIGHTS,
    MEASURED_SD_WORTH,
    KnownColumn,
)
from reef_calc.balance.walk import whiten
from reef_calc.balance.water_balance import BalanceColumns, WaterEvents, balance_columns
from reef_calc.compare.kit_columns import kit_column, readings_of_two
from reef_calc.errors import CannotTellError, InputError

Floats = NDArray[np.float64]
# Nothing known of the difference: expected 0 within this many SDs of a reading of kit A.
PRIOR_SDS = 10.0
START, USE, DIFFERENCE = 0, 1, 2


@dataclass(frozen=True)
class KitDifference:
    """How much higher kit B reads than kit A.

    Attributes
    ----------
    difference, low, high : float
        Median and 95 % interval of B − A (unit of the levels).
    scale : float
        Scale of its t distribution, or of the one with the same interval (unit of the levels).
    use, use_low, use_high : float
        Use beside it, with its 95 % interval (unit per day).
    degrees_of_freedom : float
        Number of degrees of freedom ν.
    day_to_day, weights : array (m,)
        Variation of use from day to day (share) and what the readings leave of its weight.
    rate_scale : float
        k0, which the variation is a share of (unit per day).
    sd_a, sd_b : float
        SD of one reading of each kit as stated, with its step (unit).
    sd_ratio : float
        SD of the readings that their scatter supports over the stated one (ratio).
    n_a, n_b : int
        Number of readings of A and of B.
    factors : dict
        Median and ends of the 95 % interval of each further factor, by its name.
    level : array (n,)
        Level at each reading on the scale of kit A, from all readings (unit); empty where it was
        not worked out.
    """

    difference: float
    low: float
    high: float
    scale: float
    use: float
    use_low: float
    use_high: float
    degrees_of_freedom: float
    day_to_day: Floats
    weights: Floats
    rate_scale: float
    sd_a: float
    sd_b: float
    sd_ratio: float
    n_a: int
    n_b: int
    factors: dict[str, tuple[float, float, float]]
    level: Floats

    @property
    def half(self) -> float:
        """Half the width of the 95 % interval, in the unit."""
        return (self.high - self.low) / 2

    @property
    def u(self) -> float:
        """Standard uncertainty of a normal prior with the same 95 % interval, in the unit."""
        return self.half / float(stdtrit(1e9, 0.975))

    @property
    def worth(self) -> float:
        """Number of tests of one water with both kits that would tell as much."""
        pair = (self.sd_a**2 + self.sd_b**2) * self.sd_ratio**2
        return pair / self.scale**2

    @property
    def walk(self) -> float:
        """Day-to-day variation of the use that the readings support, unit per root day."""
        return self.rate_scale * float(np.sqrt(self.weights @ np.square(self.day_to_day)))


def kit_difference(
    times: ArrayLike,
    levels: ArrayLike,
    of_b: ArrayLike,
    events: WaterEvents,
    *,
    sd_a: float,
    sd_b: float | None = None,
    noise: ArrayLike | None = None,
    new_water_with_b: ArrayLike | None = None,
    expected: tuple[float, float] | None = None,
    columns: Sequence[KnownColumn] = (),
    day_to_day: ArrayLike = DAY_TO_DAY,
    weights: ArrayLike = DAY_TO_DAY_WEIGHTS,
    sd_worth: float = MEASURED_SD_WORTH,
    rate_scale: float | None = None,
) -> KitDifference:
    """Return how much higher kit B reads than kit A, from all readings of one steady history.

    y − D = C0·G − k·H + δ·(B − Wn) + walk + e, by generalised least squares for each variation of
    the use, averaged by evidence. V = R + (cv·k0/s0)²·P; all covariances carry one σ² ~ inverse
    gamma; t with ν = ν0 + n − p + (number of expectations).

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
    sd_a, sd_b : float
        SD of one reading with its step, √(s² + r²/12) (unit); that of A for both when not given.
    noise : array_like, shape (n,), optional
        Variance of each reading over that of one reading of its kit (ratio); 1 when not given.
    new_water_with_b : array_like of bool, shape (c,), optional
        Changes whose new water was read with B; none when not given.
    expected : tuple of float, optional
        Expectation of the difference and its standard uncertainty (unit), infinite for none; 0
        within 10 SDs of a reading when not given.
    columns : sequence of KnownColumn, optional
        Further factors: new water, gaps of the log, other lots.
    day_to_day, weights : array_like, shape (m,), optional
        Variations of the use (share) and their prior weights.
    sd_worth : float, optional
        Number of readings the stated SD is worth, ν0.
    rate_scale : float, optional
        k0 (unit per day); a robust fit with the kit's column when not given.

    Returns
    -------
    KitDifference
        Full precision.

    Raises
    ------
    InputError
        If lengths differ or a number is impossible.
    CannotTellError
        Without readings of both kits, or with fewer than unknowns.

    Notes
    -----
    Assumes a constant mean use and no gross error: see :mod:`reef_calc.compare.difference_mixture`.
    If B replaced A without overlap, an unlogged dose on that day goes into the difference unseen.

    Examples
    --------
    >>> read = kit_difference([0, 1, 2, 3, 4, 5], [8, 8.5, 6, 6.5, 4, 4.5], [0, 1, 0, 1, 0, 1],
    ...     WaterEvents(), sd_a=0.15, expected=(0.0, math.inf))
    >>> round(read.difference, 6), round(read.use, 6), read.n_b
    (1.5, 1.0, 3)

    References
    ----------
    Generalised least squares with a conjugate prior; textbook (MEMORY).
    """
    t, y, b = readings_of_two(times, levels, of_b)
    other = sd_a if sd_b is None else sd_b
    if not all(math.isfinite(s) and s > 0 for s in (sd_a, other)):
        raise InputError(
            "an SD above 0 for each kit", f"{sd_a:g} and {other:g}",
            "Give the kits a repeatability.", "kit_difference",
        )  # fmt: skip
    relative = np.ones(t.size) if noise is None else np.asarray(noise, dtype=float)
    if relative.shape != t.shape or not (np.all(np.isfinite(relative)) and np.all(relative > 0)):
        raise InputError(
            "one relative variance above 0 for each reading", relative,
            "Leave it out if all readings are alike.", "kit_difference, noise",
        )  # fmt: skip
    balance = balance_columns(t, events)
    by_b = np.zeros(events.change_times.size) if new_water_with_b is None else new_water_with_b
    x = kit_column(b, balance, events, by_b)
    mean, u = (0.0, PRIOR_SDS * sd_a) if expected is None else expected
    every = [KnownColumn("difference", x, mean, None if math.isinf(u) else u), *columns]
    X = np.column_stack([balance.G, -balance.H, *(c.values for c in every)])
    centre = np.r_[0.0, 0.0, [c.centre for c in every]]
    spread = np.r_[np.inf, np.inf, [np.inf if c.u is None else c.u for c in every]]
    free = ~np.isfinite(spread)
    if t.size < free.sum() or np.linalg.matrix_rank(X[:, free]) < free.sum():
        raise CannotTellError(
            f"{t.size} readings cannot tell {int(free.sum())} unknowns apart; more readings would."
        )
    z = y - balance.D - X @ centre
    if rate_scale is None:
        kept = free.copy()
        kept[DIFFERENCE] = True
        rate_scale = robust_scale(z, X[:, kept], sd_a, balance, events)
    R = np.where(b, (other / sd_a) ** 2, 1.0) * relative
    pull = np.diag(np.where(free, 0.0, 1 / np.where(free, 1.0, spread) ** 2))
    df = sd_worth + t.size - int(free.sum())
    cv, prior = np.asarray(day_to_day, dtype=float), np.asarray(weights, dtype=float)
    ratios = (cv * rate_scale / sd_a) ** 2
    fits = _fits(z / sd_a, X / sd_a, balance, ratios, R, pull)
    log_w = np.log(prior) + fits.log_density - df / 2 * np.log(sd_worth + fits.rss)
    w = np.exp(log_w - log_w.max())
    w /= w.sum()
    sigma2 = (sd_worth + fits.rss) / df
    factors = fits.factors + centre
    scales = np.sqrt(np.einsum("mii->mi", fits.inverses) * sigma2[:, None])
    tails = [0.025, 0.5, 0.975]
    low, middle, high = mixture_quantiles(tails, w, factors[:, DIFFERENCE], scales[:, 2], df)
    use = mixture_quantiles(tails, w, factors[:, USE], scales[:, USE], df)
    further = {
        c.name: mixture_quantiles([0.5, 0.025, 0.975], w, factors[:, j], scales[:, j], df)
        for j, c in enumerate(every[1:], start=DIFFERENCE + 1)
    }
    fitted = factors @ X.T + sd_a * fits.walks - factors[:, [DIFFERENCE]] * b
    level = balance.D + w @ fitted
    return KitDifference(
        difference=float(middle), low=float(low), high=float(high),
        scale=float((high - low) / 2 / stdtrit(df, 0.975)),
        use=float(use[1]), use_low=float(use[0]), use_high=float(use[2]),
        degrees_of_freedom=float(df), day_to_day=cv, weights=w, rate_scale=float(rate_scale),
        sd_a=sd_a, sd_b=other, sd_ratio=float(np.sqrt(w @ sigma2)),
        n_a=int((~b).sum()), n_b=int(b.sum()),
        factors={name: (float(q[0]), float(q[1]), float(q[2])) for name, q in further.items()},
        level=level,
    )  # fmt: skip


@dataclass(frozen=True)
class _Fits:
    """One fit a variation: factors in their own units, the rest in SDs of a reading of kit A."""

    factors: Floats
    inverses: Floats
    rss: Floats
    log_density: Floats
    walks: Floats


def _fits(
    z: Floats, X: Floats, balance: BalanceColumns, ratios: Floats, R: Floats, pull: Floats
) -> _Fits:
    n, p = X.shape
    white, log_v = whiten(np.column_stack([z, X, np.eye(n)]), balance.g, balance.p, ratios, R)
    wz, wX, root = white[:, :, 0], white[:, :, 1 : 1 + p], white[:, :, 1 + p :]
    A = np.einsum("mni,mnj->mij", wX, wX) + pull
    b = np.linalg.solve(A, np.einsum("mni,mn->mi", wX, wz)[:, :, None])[:, :, 0]
    error = wz - np.einsum("mni,mi->mn", wX, b)
    rss = (error**2).sum(axis=1) + np.einsum("mi,ij,mj->m", b, pull, b)
    # What is left of a residual when its own reading's scatter is taken off is the walk.
    walks = z - b @ X.T - R * np.einsum("mij,mi->mj", root, error)
    log_density = -0.5 * (log_v + np.linalg.slogdet(A)[1])
    return _Fits(b, np.linalg.inv(A), rss, log_density, walks)
