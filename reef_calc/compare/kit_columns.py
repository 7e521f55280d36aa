"""Readings of two kits in one history, and the column of the balance that tells them apart."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reef_calc.balance.water_balance import BalanceColumns, WaterEvents, balance_columns
from reef_calc.errors import CannotTellError, InputError

Floats = NDArray[np.float64]


def new_water_response(
    balance: BalanceColumns, events: WaterEvents, read_with_it: ArrayLike
) -> Floats:
    """Return what new water of level 1 would have made of the level, at some of the changes only.

    The D of the balance with doses of 0, new water of 1 where it was read with the kit, 0 elsewhere.

    Parameters
    ----------
    balance : BalanceColumns
        At the readings; only its times are looked at.
    events : WaterEvents
        Water changes.
    read_with_it : array_like of bool, shape (c,)
        Which changes' new water was read with the kit, in the order of the events.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Wn, a share of 1.

    Raises
    ------
    InputError
        If there is not one yes or no for each change.

    Examples
    --------
    >>> log = WaterEvents(change_times=[1.0, 3.0], change_fractions=[0.5, 0.5], change_levels=[8, 8])
    >>> new_water_response(balance_columns([0, 2, 4], log), log, [False, True]).tolist()
    [0.0, 0.0, 0.5]
    """
    own = np.atleast_1d(np.asarray(read_with_it, dtype=bool))
    if own.shape != events.change_times.shape:
        raise InputError(
            f"a yes or no for each of the {events.change_times.size} water changes",
            own.tolist(),
            "Say which new water was read with the kit.",
            "new_water_response",
        )
    only = WaterEvents(
        change_times=events.change_times,
        change_fractions=events.change_fractions,
        change_levels=own.astype(float),
    )
    return balance_columns(balance.times, only).D


def kit_column(
    of_kit: ArrayLike, balance: BalanceColumns, events: WaterEvents, new_water_with_it: ArrayLike
) -> Floats:
    """Return the column of a kit's difference: its own readings, less what its new water did.

    x = B − Wn. Where the kit read the new water, the difference moved what doses and changes are
    taken to have done, and the other way round.

    Parameters
    ----------
    of_kit : array_like of bool, shape (n,)
        Which readings are the kit's.
    balance : BalanceColumns
        At the readings.
    events : WaterEvents
        Water changes.
    new_water_with_it : array_like of bool, shape (c,)
        Which changes' new water was read with the kit.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Response of the readings to a difference of 1 (ratio).

    Examples
    --------
    >>> log = WaterEvents(change_times=[1.0], change_fractions=[0.1], change_levels=[8.0])
    >>> kit_column([False, True], balance_columns([0, 2], log), log, [True]).tolist()
    [0.0, 0.9]
    """
    return np.asarray(of_kit, dtype=float) - new_water_response(balance, events, new_water_with_it)


def readings_of_two(
    times: ArrayLike, levels: ArrayLike, of_b: ArrayLike
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Return times, levels and whose they are as arrays, checked.

    Parameters
    ----------
    times, levels : array_like, shape (n,)
        Times (days) and levels as read (one unit).
    of_b : array_like of bool, shape (n,)
        Which readings are of kit B.

    Returns
    -------
    tuple of numpy.ndarray
        Times (days), levels (unit), and True for kit B.

    Raises
    ------
    InputError
        If lengths differ or a level is no number.
    CannotTellError
        Without readings of both kits.

    Examples
    --------
    >>> readings_of_two([0, 1], [8.0, 8.3], [0, 1])[2].tolist()
    [False, True]
    """
    t, y = np.atleast_1d(np.asarray(times, float)), np.atleast_1d(np.asarray(levels, float))
    b = np.atleast_1d(np.asarray(of_b, dtype=bool))
    if not t.shape == y.shape == b.shape or not np.all(np.isfinite(y)):
        raise InputError(
            "one finite level, and whether it is kit B's, for each time",
            f"{t.shape} times, {y.shape} levels, {b.shape} kits",
            "Leave out readings beyond the kit's limit.",
            "kit_difference",
        )
    if b.all() or not b.any():
        raise CannotTellError(
            f"There are {int((~b).sum())} readings of kit A and {int(b.sum())} of kit B; "
            "a difference needs readings of both."
        )
    return t, y, b
