"""The current rate of use as a model average that also finds changes, slips and steps.

Every reading may be nothing special, a gross error, or close an interval in which the use changed, an
unlogged dose was given or another lot was opened. Each combination is a small Kalman filter with its
evidence in closed form; what the tank uses now is the weighted mixture of what they say.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reef_calc.balance.mixture_answer import CurrentRate, answer
from reef_calc.balance.mixture_filter import (
    DIFFUSE,
    KEPT,
    WORST_KEPT,
    Floats,
    ScaledSeries,
    filter_mixture,
)
from reef_calc.balance.mixture_priors import Priors, branch_probabilities, ruled_out
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.balance.walk import huber_rate
from reef_calc.balance.water_balance import BalanceColumns, WaterEvents, balance_columns
from reef_calc.errors import CannotTellError, InputError

LEAST_READINGS = 3


def current_rate(
    times: ArrayLike,
    levels: ArrayLike,
    events: WaterEvents,
    *,
    sd: float,
    resolution: float = 0.0,
    noise: ArrayLike | None = None,
    prior: Priors = Priors(),  # noqa: B008 (frozen)
    declared_changes: ArrayLike = (),
    declared_lots: ArrayLike = (),
    believed: ArrayLike | None = None,
    quiet: ArrayLike = (),
    columns: Sequence[KnownColumn] = (),
    balance: BalanceColumns | None = None,
    rate_scale: float | None = None,
    kept: int = KEPT,
    worst_kept: float = WORST_KEPT,
) -> CurrentRate:
    """Return what the tank uses per day now, how sure that is, and what seems to have happened.

    a ← g·a + d − h·b; reading = a + c + X·θ + e. A component's use is t-distributed with ν degrees of
    freedom; the answer is the median and the 2.5 % and 97.5 % points of the mixture.

    Parameters
    ----------
    times : array_like, shape (n,)
        Reading times in days, not decreasing.
    levels : array_like, shape (n,)
        Levels read (concentration).
    events : WaterEvents
        Doses and water changes, same units.
    sd : float
        Repeatability SD of one reading (concentration), s.
    resolution : float, optional
        Step of the kit (concentration), r; s0² = s² + r²/12.
    noise : array_like, shape (n,), optional
        Variance of each reading relative to s0², R; all 1 when not given.
    prior : Priors, optional
        Beliefs before the readings.
    declared_changes, declared_lots : array_like, optional
        Times (days) at which the keeper says the use may have changed, or another lot or kit was
        opened. What lies outside the readings, or before the second, cannot be told and has no
        effect.
    believed : array_like of bool, shape (n,), optional
        Readings the keeper stands by: no gross error there.
    quiet : array_like, shape (k, 2), optional
        Spans (days) in which the keeper says that nothing happened: no change and no step there.
    columns : sequence of KnownColumn, optional
        Static factors estimated beside the use: new water, gaps of the log, kits, readers, rhythm.
    balance : BalanceColumns, optional
        Columns of the balance worked out before for these times and events.
    rate_scale : float, optional
        k0 (concentration per day); worked out from a robust fit when not given.
    kept : int, optional
        Number of components kept at most after each reading.
    worst_kept : float, optional
        Log ratio of weights to the best component beyond which none is kept.

    Returns
    -------
    CurrentRate
        Rate, interval and findings, full precision.

    Raises
    ------
    InputError
        If lengths differ, a number is not finite, times decrease, or SD, resolution or noise is
        impossible.
    CannotTellError
        With fewer than three readings, all at one time, or more free factors than readings tell.

    Notes
    -----
    A change of 25 % younger than about 5–8 days (alkalinity) or 17–24 days (calcium) cannot show yet.
    Averaged over a population of tanks the 95 % interval covers 94–95 %. Readings at equal times are
    harmless.

    Examples
    --------
    >>> now = current_rate([0, 7, 14, 21, 28], [8.1, 7.9, 8.2, 7.8, 8.0], WaterEvents(
    ...     rate_starts=[0.0], rate_stops=[28.0], rates=[1.0]), sd=0.15, resolution=0.1)
    >>> round(now.rate, 3), round(now.low, 3), round(now.high, 3)
    (1.004, 0.956, 1.049)

    References
    ----------
    Multi-process model, P. J. Harrison and C. F. Stevens, J. R. Stat. Soc. B 38 (1976) 205–247 (MEMORY).
    """
    t, y = np.atleast_1d(np.asarray(times, float)), np.atleast_1d(np.asarray(levels, float))
    if t.ndim != 1 or t.shape != y.shape or not np.all(np.isfinite(y)):
        raise InputError(
            "one finite level for each time",
            f"{t.shape} times, {y.shape} levels",
            "Leave out readings beyond the kit's limit before fitting.",
            "current_rate",
        )
    if not (np.isfinite(sd) and sd > 0 and np.isfinite(resolution) and resolution >= 0):
        raise InputError(
            "an SD above 0 and a resolution from 0",
            f"sd {sd:g}, resolution {resolution:g}",
            "Give the kit a repeatability.",
            "current_rate",
        )
    relative = np.ones(t.size) if noise is None else np.asarray(noise, dtype=float)
    if relative.shape != t.shape or not (np.all(np.isfinite(relative)) and np.all(relative > 0)):
        raise InputError(
            "one relative variance above 0 for each reading",
            relative,
            "Leave noise out if all readings are alike.",
            "current_rate, noise",
        )
    c = balance if balance is not None else balance_columns(t, events)
    if not np.array_equal(c.times, t):
        raise InputError(
            "a balance at the times of the readings",
            f"{c.times.size} times of the balance, {t.size} readings",
            "Work the balance out again.",
            "current_rate, balance",
        )
    if t.size < LEAST_READINGS or t[-1] == t[0]:
        raise CannotTellError(
            f"{t.size} readings over {t[-1] - t[0] if t.size else 0:g} days cannot tell a rate; "
            f"{LEAST_READINGS} readings on different days are the least."
        )
    s0 = float(np.sqrt(sd**2 + resolution**2 / 12))
    X, u, centre = _known(columns, t.size)
    told = _moments(declared_changes, "declared_changes"), _moments(declared_lots, "declared_lots")
    # Readings at one time have no order of their own; this one makes the result independent of it.
    order = np.lexsort((relative, y, t))
    free = np.column_stack([c.G, -c.H, X[:, ~np.isfinite(u)]])[order]
    z = (y - X @ centre)[order]
    counts = _counts(free)
    k0 = rate_scale if rate_scale is not None else robust_scale(z - c.D, free, s0, c, events)
    expected = np.isfinite(u)
    variances = np.square(np.where(expected, u, 0.0) / s0)
    variances[~expected] = DIFFUSE / np.abs(X[:, ~expected]).max(axis=0) ** 2
    series = ScaledSeries(
        times=t,
        y=z / s0,
        g=c.g,
        h=c.h,
        d=c.d / s0,
        p=c.p,
        noise=relative[order],
        columns=X[order],
        column_variances=variances,
        use=k0 / s0,
        counts=counts,
        branch_p=ruled_out(
            branch_probabilities(t, prior, *told), t, _trusted(believed, order), quiet
        ),
    )
    mixture = filter_mixture(series, prior, kept, worst_kept)
    names = tuple(column.name for column in columns)
    return answer(series, mixture, prior, order, s0, names, centre)


def _trusted(believed: ArrayLike | None, order: NDArray[np.intp]) -> NDArray[np.bool_]:
    trusted = np.zeros(order.size, bool) if believed is None else np.asarray(believed, dtype=bool)
    if trusted.shape != order.shape:
        raise InputError(
            "one yes or no for each reading", trusted, "Leave it out.", "current_rate, believed"
        )
    return trusted[order]


def robust_scale(
    z: Floats, free: Floats, s0: float, balance: BalanceColumns, events: WaterEvents
) -> float:
    """Return the scale k0 of the use: a robust rate that the doses keep from collapsing.

    k0 = max(|Huber rate|, 0.3 × mean scheduled dose, 10⁻⁶ s0 a day). Only priors are scaled by it.

    Parameters
    ----------
    z : array (n,)
        Levels less doses (concentration).
    free : array (n, q)
        Columns fitted without expectation: G, −H and any further ones.
    s0 : float
        SD of one reading (concentration).
    balance : BalanceColumns
        For the times.
    events : WaterEvents
        For the scheduled doses.

    Returns
    -------
    float
        Concentration per day.

    Examples
    --------
    >>> times = np.arange(5.0)
    >>> balance = balance_columns(times, WaterEvents())
    >>> free = np.column_stack([balance.G, -balance.H])
    >>> round(robust_scale(8 - times, free, 0.15, balance, WaterEvents()), 6)
    1.0
    """
    robust = abs(float(huber_rate(z, free, s0)[1]))
    first, last = balance.times[0], balance.times[-1]
    overlap = np.minimum(events.rate_stops, last) - np.maximum(events.rate_starts, first)
    scheduled = float((events.rates * np.maximum(overlap, 0)).sum() / (last - first))
    return max(robust, 0.3 * scheduled, 1e-6 * s0)


def _known(columns: Sequence[KnownColumn], n: int) -> tuple[Floats, Floats, Floats]:
    """Values, standard uncertainties (infinite if none) and expectations of the known columns."""
    X = np.empty((n, len(columns)))
    for j, column in enumerate(columns):
        values = np.asarray(column.values, dtype=float)
        if values.shape != (n,) or not np.all(np.isfinite(values)):
            raise InputError(
                f"{n} finite numbers",
                values,
                "Give the response at each reading.",
                f"current_rate, column “{column.name}”",
            )
        if column.u is not None and not (np.isfinite(column.u) and column.u >= 0):
            raise InputError(
                "a standard uncertainty from 0, or none",
                column.u,
                "Correct it.",
                f"current_rate, column “{column.name}”",
            )
        X[:, j] = values
    u = np.array([np.inf if column.u is None else column.u for column in columns], dtype=float)
    return X, u, np.array([column.centre for column in columns], dtype=float)


def _moments(days: ArrayLike, name: str) -> Floats:
    found = np.atleast_1d(np.asarray(days, dtype=float)).ravel()
    if not np.all(np.isfinite(found)):
        raise InputError(
            "finite times in days", found, "Correct the times.", f"current_rate, {name}"
        )
    return found


def _counts(free: Floats) -> Floats:
    """1 for readings that tell of the scatter, 0 for those that first place a free factor."""
    size = np.abs(free).max(axis=0)
    scaled = free / np.where(size > 0, size, 1.0)
    counts, rank = np.ones(len(free)), 0
    for i in range(len(free)):
        if np.linalg.matrix_rank(scaled[: i + 1]) > rank:
            rank, counts[i] = rank + 1, 0.0
            if rank == free.shape[1]:
                return counts
    raise CannotTellError(
        f"{len(free)} readings cannot tell {free.shape[1]} unknowns apart; more readings would."
    )
