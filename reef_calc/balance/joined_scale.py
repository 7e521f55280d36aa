"""Which readings are taken to the scale of the kit in use, by how much, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from reef_calc.balance.additions import moment
from reef_calc.balance.kit_joins import Group, KitJoin
from reef_calc.balance.kit_steps import StepBetweenKits, steps_between_kits

if TYPE_CHECKING:
    from reef_calc.balance.rate_now import NowFit


@dataclass(frozen=True)
class JoinFound:
    """A stored join, and what all readings make of it.

    Attributes
    ----------
    new, old : (kit, lot)
        Which took over, and from which.
    start : pandas.Timestamp
        From when the new one is in use (UTC).
    difference, low, high : float
        How much higher the new one reads: median and 95 % interval (unit).
    expected, u : float or None
        Difference and standard uncertainty as stored, for the levels worked with (unit); None where
        only the log tells.
    overlap : int
        Readings of the old kit since the first one of the new kit.
    """

    new: Group
    old: Group
    start: pd.Timestamp
    difference: float
    low: float
    high: float
    expected: float | None
    u: float | None
    overlap: int

    @property
    def half(self) -> float:
        """Half the width of the 95 % interval (unit)."""
        return (self.high - self.low) / 2


@dataclass(frozen=True)
class Moved:
    """Readings of one kit or lot that are taken to the scale of the kit in use.

    Attributes
    ----------
    group : (kit, lot)
        Whose readings.
    shift, half : float
        What is added to each of them, and half the 95 % interval of that (unit): one error for all.
    by_join : bool
        Whether a stored join takes part in it.
    """

    group: Group
    shift: float
    half: float
    by_join: bool = True


@dataclass(frozen=True)
class JoinedScale:
    """A history on the scale of one kit.

    Attributes
    ----------
    in_use : (kit, lot)
        Whose scale it is.
    joins : tuple of JoinFound
        The joins that bear on it.
    moved : tuple of Moved
        The other kits and lots, in the order of their first reading.
    """

    in_use: Group
    joins: tuple[JoinFound, ...]
    moved: tuple[Moved, ...]

    def of(self, kit: str, lot: str) -> Moved | None:
        """Return how readings of a kit and lot are moved.

        Parameters
        ----------
        kit, lot : str
            As in the readings.

        Returns
        -------
        Moved or None
            None for those of the kit in use, and for unknown ones.
        """
        return next((one for one in self.moved if one.group == (kit, lot)), None)


def joined_scale(fit: NowFit) -> JoinedScale | None:
    """Return the scale of the kit in use from a fitted record.

    shift = −Σ(±δ) over the steps between; halves add in quadrature. Differences of neighbours that
    the log tells share the readings of the kit between them, which makes the sum narrower than that.

    Parameters
    ----------
    fit : NowFit
        A fitted record.

    Returns
    -------
    JoinedScale or None
        None where no joins are stored.

    Examples
    --------
    >>> from reef_calc.balance.record import element_record
    >>> from reef_calc.balance.rate_now import fit_now
    >>> from reef_calc.balance.told import told_of
    >>> from reef_calc.log.example import example_tank
    >>> tank, until = example_tank(), pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(tank, "alkalinity", "dKH", until)
    >>> joined_scale(fit_now(record, 20.0, told_of(tank, "alkalinity", record))) is None
    True
    """
    record = fit.record
    if not record.joins:
        return None
    s = record.sessions
    groups: list[Group] = list(zip(s["kit"], s["lot"], strict=True))
    times = [float(t) for t in s["day"]]
    steps = steps_between_kits(record)
    told = {step.column.name: fit.now.factor(step.column.name) for step in steps}
    joins = tuple(
        _found(step, step.join, told[step.column.name], groups, times)
        for step in steps
        if step.join
    )
    moved = []
    for group in dict.fromkeys(groups):
        own = [step for step in steps if group in step.beyond]
        if own:
            shift = -sum(step.sign * told[step.column.name][0] for step in own)
            half = math.hypot(*((told[x.column.name][2] - told[x.column.name][1]) / 2 for x in own))
            moved.append(Moved(group, shift, half, any(step.join for step in own)))
    return JoinedScale(groups[-1], joins, tuple(moved))


def _found(
    step: StepBetweenKits,
    join: KitJoin,
    told: tuple[float, float, float],
    groups: list[Group],
    times: list[float],
) -> JoinFound:
    new, old = (
        [t for t, g in zip(times, groups, strict=True) if g == side]
        for side in (join.new, join.old)
    )
    overlap = sum(t >= new[0] for t in old) if new else 0
    sure = join.mean is not None and join.u is not None
    return JoinFound(
        join.new,
        join.old,
        moment(join.start),
        *told,
        step.column.centre if sure else None,
        join.u if sure else None,
        overlap,
    )
