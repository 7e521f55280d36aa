"""What water changes do by themselves: bring an element, or dilute one."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from reef_calc.chem.continuous_inflow import inflow_volumes
from reef_calc.errors import CannotTellError, InputError

MOST_CHANGES = 1000


def brought_by_changes(level: float, new_water: float, share: float, every_days: int) -> float:
    """Return what regular water changes bring per day to a level that is held.

    b = w·(C_new − C)/n

    Parameters
    ----------
    level, new_water : float
        Level held and level of the new water, in one unit.
    share : float
        Share of the water changed each time (no unit, 0–1).
    every_days : int
        Whole days between changes.

    Returns
    -------
    float
        That unit per day; negative where the change takes away.

    Raises
    ------
    InputError
        For a share outside 0–1 or days that are not whole.

    Examples
    --------
    >>> round(brought_by_changes(8.0, 11.0, 0.15, 7), 4)  # dKH per day
    0.0643
    """
    check_days(every_days)
    _check_share(share, 0.0)
    return share * (new_water - level) / every_days


@dataclass(frozen=True)
class ChangesToReach:
    """Water changes that bring a level to where it is wanted.

    Attributes
    ----------
    count : int
        Number of changes.
    levels : ndarray, shape (count + 1,)
        Level now and after each change, in the unit of the level.
    in_one : float
        Share of the water of one single change that does the same (no unit).
    volumes_of_slow_change : float
        Tank volumes of a continuous change that do the same (no unit).
    """

    count: int
    levels: np.ndarray
    in_one: float
    volumes_of_slow_change: float


def changes_to_reach(
    level: float, wanted: float, share: float, *, new_water: float = 0.0
) -> ChangesToReach:
    """Return how many water changes bring a level to a wanted one, when nothing else moves it.

    k = ln((C* − C_new)/(C − C_new))/ln(1 − w), rounded up

    Parameters
    ----------
    level, wanted : float
        Level now and level wanted, in one unit.
    share : float
        Share of the water changed each time (no unit, 0–1).
    new_water : float, optional
        Level of the new water, same unit.

    Returns
    -------
    ChangesToReach
        The number of changes, the levels on the way, and other ways to do the same.

    Raises
    ------
    InputError
        For a share that is not above 0 and at most 1.
    CannotTellError
        If water changes never get there, because the new water lies on the wrong side.

    Notes
    -----
    How fast a level may move is another question. What feeding or use adds in between is not in it.

    Examples
    --------
    >>> way = changes_to_reach(40.0, 10.0, 0.2)
    >>> way.count, way.levels[[6, 7]].round(2).tolist(), way.in_one
    (7, [10.49, 8.39], 0.75)
    """
    _check_share(share, math.nextafter(0.0, 1.0))
    gap, left = level - new_water, wanted - new_water
    if not (math.isfinite(gap) and math.isfinite(left)):
        raise InputError("levels that are numbers", f"{level!r}, {wanted!r}", "Type them.", "")
    if left == gap:
        return ChangesToReach(0, np.array([level]), 0.0, 0.0)
    if gap == 0.0 or not 0.0 < left / gap < 1.0:
        raise CannotTellError(
            f"Water changes alone do not take {level:g} to {wanted:g}: they only bring it nearer to the "
            f"new water, {new_water:g}."
        )
    kept = left / gap
    count = 1 if share == 1.0 else math.ceil(math.log(kept) / math.log1p(-share) - 1e-9)
    if count > MOST_CHANGES:
        raise InputError(
            "a larger share", share, f"It would take {count} changes.", "Water changes"
        )
    levels = new_water + gap * (1.0 - share) ** np.arange(count + 1)
    return ChangesToReach(count, levels, 1.0 - kept, inflow_volumes(level, wanted, new_water))


def check_days(every_days: int) -> None:
    """Refuse days between changes that are not whole.

    Parameters
    ----------
    every_days : int
        Number of days.

    Raises
    ------
    InputError
        If they are not a whole number of 1 or more.

    Examples
    --------
    >>> check_days(7)
    """
    if isinstance(every_days, bool) or not isinstance(every_days, int) or every_days < 1:
        raise InputError(
            "whole days between changes, 1 or more", every_days, "Weekly is 7.", "Water changes"
        )


def _check_share(share: float, lowest: float) -> None:
    if not lowest <= share <= 1.0:
        raise InputError(
            "a share of 0 to 1" if lowest == 0.0 else "a share above 0, at most 1",
            share,
            "10 % is written 0.1.",
            "Water changes",
        )
