"""Difference of two kits while use may change, doses may be forgotten and readings may be slips."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit

from reef_calc.balance.mixture_answer import CurrentRate
from reef_calc.balance.mixture_priors import Priors
from reef_calc.balance.rate_mixture import current_rate, robust_scale
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.compare.difference_column import (
    PRIOR_SDS,
    Floats,
    KitDifference,
)
from reef_calc.compare.kit_columns import kit_column, readings_of_two

NAME = "difference"
# The kits carry their own columns, so nothing is left for an offset of whichever kit is in use.
PRIORS = Priors(lot_per_day=0.0, slip_at_change=True)


def difference_with_events(
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
    prior: Priors = PRIORS,
    declared_changes: ArrayLike = (),
    believed: ArrayLike | None = None,
    quiet: ArrayLike = (),
    rate_scale: float | None = None,
) -> tuple[KitDifference, CurrentRate]:
    """Return how much higher kit B reads than kit A, with slips, changes and doses found beside it.

    The column of :func:`reef_calc.compare.difference_column.kit_difference` in the mixture of
    :func:`reef_calc.balance.rate_mixture.current_rate`, whose branch for another lot is closed.

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
        SD of one reading with its step (unit); that of A for both when not given.
    noise : array_like, shape (n,), optional
        Variance of each reading over that of one reading of its kit (ratio).
    new_water_with_b : array_like of bool, shape (c,), optional
        Changes whose new water was read with B; none when not given.
    expected : tuple of float, optional
        Expectation of the difference and its standard uncertainty (unit); 0 within 10 SDs.
    columns : sequence of KnownColumn, optional
        Further factors: new water, gaps of the log, other lots.
    prior : Priors, optional
        Beliefs before the readings.
    declared_changes : array_like, optional
        Times (days) at which the use may have changed.
    believed : array_like of bool, shape (n,), optional
        Readings the keeper stands by.
    quiet : array_like, shape (k, 2), optional
        Spans (days) in which nothing happened.
    rate_scale : float, optional
        k0 (unit per day); a robust fit with the kits' columns when not given.

    Returns
    -------
    tuple of KitDifference and CurrentRate
        The difference (without ``level``), and all that the mixture says.

    Raises
    ------
    InputError
        If lengths differ or a number is impossible.
    CannotTellError
        Without readings of both kits, or with fewer than unknowns.

    Notes
    -----
    With B in place of A and no overlap, an unlogged dose on that day goes into the difference.

    Examples
    --------
    >>> t, b = np.arange(12.0), np.arange(12) % 2 == 1
    >>> y = 8 - 0.1 * t + 0.3 * b
    >>> y[5] += 2.0  # a slip
    >>> found, now = difference_with_events(t, y, b, WaterEvents(), sd_a=0.15)
    >>> round(found.difference, 1), int(now.p_gross.argmax())
    (0.3, 5)

    References
    ----------
    Multi-process model, P. J. Harrison and C. F. Stevens, J. R. Stat. Soc. B 38 (1976) 205–247 (MEMORY).
    """
    t, y, b = readings_of_two(times, levels, of_b)
    other = sd_a if sd_b is None else sd_b
    relative = np.where(b, (other / sd_a) ** 2, 1.0)
    if noise is not None:
        relative = relative * np.asarray(noise, dtype=float)
    balance = balance_columns(t, events)
    by_b = np.zeros(events.change_times.size) if new_water_with_b is None else new_water_with_b
    mean, u = (0.0, PRIOR_SDS * sd_a) if expected is None else expected
    own = KnownColumn(
        NAME, kit_column(b, balance, events, by_b), mean, u if np.isfinite(u) else None
    )
    every = [own, *columns]
    if rate_scale is None:
        # A step of some SDs between two kits must not pass for use.
        steps = [own, *(c for c in columns if c.u is None or c.name.startswith("offset "))]
        X = np.column_stack([balance.G, -balance.H, *_told_apart(balance.G, balance.H, steps)])
        z = y - balance.D - sum(c.centre * c.values for c in every)
        rate_scale = robust_scale(z, X, sd_a, balance, events)
    now = current_rate(
        t,
        y,
        events,
        sd=sd_a,
        noise=relative,
        prior=prior,
        declared_changes=declared_changes,
        believed=believed,
        quiet=quiet,
        columns=every,
        balance=balance,
        rate_scale=rate_scale,
    )
    middle, low, high = now.factor(NAME)
    df = now.degrees_of_freedom
    return KitDifference(
        difference=middle, low=low, high=high, scale=(high - low) / 2 / float(stdtrit(df, 0.975)),
        use=now.rate, use_low=now.low, use_high=now.high, degrees_of_freedom=df,
        day_to_day=now.day_to_day, weights=now.day_to_day_weights, rate_scale=now.rate_scale,
        sd_a=sd_a, sd_b=other, sd_ratio=now.sd_found / now.reading_sd,
        n_a=int((~b).sum()), n_b=int(b.sum()),
        factors={column.name: now.factor(column.name) for column in columns}, level=np.empty(0),
    ), now  # fmt: skip


def _told_apart(G: Floats, H: Floats, columns: Sequence[KnownColumn]) -> list[Floats]:
    """Columns that add something to those before them."""
    kept: list[Floats] = []
    for column in columns:
        X = np.column_stack([G, -H, *kept, column.values])
        if np.linalg.matrix_rank(X) == X.shape[1] and len(X) > X.shape[1]:
            kept.append(column.values)
    return kept
