"""What a fit of a history with joins needs beside the columns: a scale of the use, and fair priors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from reef_calc.balance.rate_mixture import robust_scale
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.balance.water_balance import BalanceColumns

OFFSETS = ("join ", "offset ", "lot ")


def scale_of_use(
    record: ElementRecord, balance: BalanceColumns, columns: Sequence[KnownColumn], s0: float
) -> float | None:
    """Return the scale k0 of the use with the differences of kits fitted beside it.

    Without that, a step of three SDs between two kits would pass for use.

    Parameters
    ----------
    record : ElementRecord
        Sittings and events.
    balance : BalanceColumns
        Columns of the balance.
    columns : sequence of KnownColumn
        All that is fitted beside the use.
    s0 : float
        SD of one reading (unit).

    Returns
    -------
    float or None
        Unit per day; None where no joins are stored, so that nothing changes there.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> scale_of_use(record, record.balance(), (), 0.1) is None
    True
    """
    if not record.joins:
        return None
    X = [balance.G, -balance.H]
    for column in columns:
        unsure = column.u is None or column.u > s0
        if column.name.startswith(OFFSETS) and unsure:
            more = np.column_stack([*X, column.values])
            if len(more) > more.shape[1] and np.linalg.matrix_rank(more) == more.shape[1]:
                X.append(column.values)
    z = record.sessions["level"].to_numpy(float) - balance.D
    for column in columns:
        z = z - column.centre * column.values
    return robust_scale(z, np.column_stack(X), s0, balance, record.events)


def as_stated(
    record: ElementRecord, columns: Sequence[KnownColumn], found: float
) -> tuple[KnownColumn, ...]:
    """Return the columns with the stored differences as uncertain as stored, whatever the scatter.

    All uncertainties of a fit are stated for the stated SD of a reading and grow with the SD that is
    found; that of a difference from another study does not: u is handed over as u/found.

    Parameters
    ----------
    record : ElementRecord
        With its joins.
    columns : sequence of KnownColumn
        All that is fitted beside the use.
    found : float
        SD of a reading that the scatter supports over the stated one (ratio).

    Returns
    -------
    tuple of KnownColumn
        The same but for joins with a stored uncertainty.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> as_stated(element_record(example_tank(), "alkalinity", "dKH", until), (), 1.2)
    ()
    """
    stored = {join.name for join in record.joins if join.u is not None}
    return tuple(
        replace(c, u=c.u / found) if c.name in stored and c.u is not None else c for c in columns
    )


def side_by_side(record: ElementRecord) -> bool:
    """Return whether joined kits were in use at the same time.

    One offset of "whichever kit is in use" would move both there, so that none is looked for.

    Parameters
    ----------
    record : ElementRecord
        Sittings and joins.

    Returns
    -------
    bool
        True if the old one was still read after the new one was.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> side_by_side(element_record(example_tank(), "alkalinity", "dKH", until))
    False
    """
    s = record.sessions
    groups = list(zip(s["kit"], s["lot"], strict=True))
    for join in record.joins:
        new, old = (
            [t for t, g in zip(s["day"], groups, strict=True) if g == side]
            for side in (join.new, join.old)
        )
        if new and old and new[0] <= old[-1]:
            return True
    return False
