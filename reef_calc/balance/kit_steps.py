"""The differences between kits as columns of the balance: one shared offset for all that lies beyond.

A join says how much higher the newer kit reads than the older one. Readings are never rewritten: the
balance carries one factor for each join, expected as stored, and every reading, and every new water,
that lies beyond it moves by it together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reef_calc.balance.kit_joins import Group, KitJoin
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.balance.water_balance import BalanceColumns, WaterEvents, balance_columns

if TYPE_CHECKING:
    from reef_calc.balance.record import ElementRecord

# Nothing known of the difference: expected 0 within this many SDs of a reading.
WIDE_SDS = 10.0
OTHER_LOT_SDS = 4.0


@dataclass(frozen=True)
class StepBetweenKits:
    """One difference on the way from the kit in use to others.

    Attributes
    ----------
    column : KnownColumn
        Its column of the balance. The factor of a join is new − old; that of another lot, the lot
        less the one it hangs on.
    near, far : (kit, lot)
        Its two sides, seen from the kit in use.
    sign : float
        1 where the factor adds to readings of the far side, −1 where it takes away.
    beyond : tuple of (kit, lot)
        All whose readings it moves.
    join : KitJoin or None
        The stored join; None for a kit or lot that none is stored for.
    """

    column: KnownColumn
    near: Group
    far: Group
    sign: float
    beyond: tuple[Group, ...]
    join: KitJoin | None


def steps_between_kits(record: ElementRecord) -> list[StepBetweenKits]:
    """Return the differences on the ways from the kit in use to every other that was read with.

    A join's column is ∓Σ(B − Wn) over all kits beyond it: its own readings, less what new water on
    its scale did. A kit or lot without a join keeps an offset of its own, expected 0 within 4 SDs of
    a reading; another lot of a joined kit hangs on that kit.

    Parameters
    ----------
    record : ElementRecord
        With its joins.

    Returns
    -------
    list of StepBetweenKits
        Nearest to the kit in use first; steps that move nothing are left out.

    Notes
    -----
    Several joins add: a chain of replacements moves its oldest readings by all of them.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> steps_between_kits(element_record(example_tank(), "alkalinity", "dKH", until))
    []
    """
    s = record.sessions
    groups: list[Group] = list(zip(s["kit"], s["lot"], strict=True))
    if not groups:
        return []
    waters = record.new_water.by_change
    everyone = list(dict.fromkeys([*groups, *(g for g in waters if g is not None)]))
    usual = float(np.median(np.hypot(s["sd"], s["resolution"] / 12**0.5)))
    parents: dict[Group, tuple[Group, KitJoin | None]] = {}
    order = [groups[-1]]

    def follow_joins() -> None:
        for here in order:
            for join in record.joins:
                for one, other in ((join.new, join.old), (join.old, join.new)):
                    if one == here and other not in order:
                        parents[other] = (here, join)
                        order.append(other)

    follow_joins()
    joined = {side for join in record.joins for side in (join.new, join.old)}
    while left := [g for g in everyone if g not in order]:
        lots = [(g, h) for g in left for h in order if g[0] == h[0] and h in joined]
        far, near = lots[0] if lots else (left[-1], order[0])
        parents[far] = (near, None)
        order.append(far)
        follow_joins()
    beyond: dict[Group, list[Group]] = {g: [g] for g in order}
    for far in reversed(order[1:]):
        beyond[parents[far][0]] += beyond[far]
    moved = _moved_by_group(record, groups, order)
    level_shift = _shift_of_corrections(record, groups)
    found = []
    for far in order[1:]:
        near, join = parents[far]
        sign = -1.0 if join is not None and far == join.old else 1.0
        values = sign * np.sum([moved[g] for g in beyond[far]], axis=0)
        if not np.any(values != 0):
            continue
        if join is None:
            kind = "offset" if near == order[0] else "lot"
            column = KnownColumn(
                f"{kind} {' '.join(far)}".strip(), values, 0.0, OTHER_LOT_SDS * usual
            )
        elif join.mean is None or join.u is None:
            column = KnownColumn(join.name, values, 0.0, WIDE_SDS * usual)
        else:
            # Stored as read; what corrections of either kit changed since is not theirs any more.
            shift = level_shift.get(join.new, 0.0) - level_shift.get(join.old, 0.0)
            column = KnownColumn(join.name, values, join.mean + shift, join.u)
        found.append(StepBetweenKits(column, near, far, sign, tuple(beyond[far]), join))
    return found


def _moved_by_group(
    record: ElementRecord, groups: list[Group], order: list[Group]
) -> dict[Group, np.ndarray]:
    """Response of the readings to a kit that reads 1 too high: its readings, less its new water."""
    balance, waters = record.balance(), record.new_water.by_change
    found = {}
    for group in order:
        own = np.array([float(g == group) for g in groups])
        if waters and group != order[0]:
            own = own - new_water_share(
                balance, record.events, np.array([g == group for g in waters], dtype=bool)
            )
        found[group] = own
    return found


def _shift_of_corrections(record: ElementRecord, groups: list[Group]) -> dict[Group, float]:
    s = record.sessions
    if "corrected" not in s or "as_read" not in s:
        return {}
    moved = (s["corrected"] - s["as_read"]).to_numpy(float)
    return {
        group: float(moved[np.array([g == group for g in groups])].mean())
        for group in dict.fromkeys(groups)
    }


def new_water_share(
    balance: BalanceColumns, events: WaterEvents, on_its_scale: np.ndarray
) -> np.ndarray:
    """Return what new water of level 1 would have made of the level, at some of the changes only.

    The D of the balance with doses of 0, new water of 1 where it is on the kit's scale, 0 elsewhere.

    Parameters
    ----------
    balance : BalanceColumns
        At the readings; only its times are looked at.
    events : WaterEvents
        Water changes.
    on_its_scale : array of bool, shape (c,)
        Which changes' level is on the kit's scale, in the order of the events.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Wn, a share of 1.

    Examples
    --------
    >>> log = WaterEvents(change_times=[1.0, 3.0], change_fractions=[0.5, 0.5], change_levels=[8, 8])
    >>> new_water_share(balance_columns([0, 2, 4], log), log, np.array([False, True])).tolist()
    [0.0, 0.0, 0.5]
    """
    only = WaterEvents(
        change_times=events.change_times,
        change_fractions=events.change_fractions,
        change_levels=np.asarray(on_its_scale, dtype=float),
    )
    return balance_columns(balance.times, only).D
