"""The use per day with all readings, and without those that were flagged when they were read."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import pandas as pd

from reef_calc.balance.additions import days
from reef_calc.balance.consumption import HISTORY_DAYS, estimate_consumption
from reef_calc.balance.moments import end_of
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import Tank

BROUGHT_IN, DOUBT = "brought in", "doubt:"


@dataclass(frozen=True)
class WithAndWithout:
    """One fit with all readings of an element, and one without the flagged ones.

    Attributes
    ----------
    element, unit : str
        Element and unit of its level.
    flagged : pandas.DataFrame
        Flagged readings of the history: ``row``, ``time``, ``value``, ``unit``, ``outside``.
    with_all, without : ConsumptionEstimate or None
        The use with the flagged readings taken as they stand, and without all of them; None where
        it cannot be worked out at all.
    """

    element: str
    unit: str
    flagged: pd.DataFrame
    with_all: ConsumptionEstimate | None
    without: ConsumptionEstimate | None


def flagged_readings(
    tank: Tank, element: str, until: str | pd.Timestamp | None = None
) -> pd.DataFrame:
    """Return the readings of an element that were flagged when they were read or brought in.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element of the closed list.
    until : str or pandas.Timestamp, optional
        Last day, or a time; the last reading when not given.

    Returns
    -------
    pandas.DataFrame
        ``row``, ``time``, ``value``, ``unit``, ``outside``: readings of the tank's water that no
        water for a reef can hold, and those brought in with a doubt in their note, as far back as a
        fit looks.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> len(flagged_readings(example_tank(), "alkalinity"))
    0
    """
    rows = tank.readings
    own = rows[(rows["water"] == "tank") & (rows["element"] == element) & (rows["limit"] == "")]
    brought = own["source"].astype(str).str.startswith(BROUGHT_IN)
    doubted = brought & own["note"].astype(str).str.contains(DOUBT, regex=False)
    found = own[doubted | own["outside"].astype(bool)]
    if len(found):
        end = end_of(tank, until, element)
        since = float(days(end)) - HISTORY_DAYS
        found = found[(found["time"] < end) & (days(found["time"]) >= since)]
    return found[["row", "time", "value", "unit", "outside"]].reset_index(drop=True)


def with_and_without(
    tank: Tank, element: str, until: str | pd.Timestamp | None = None, *, unit: str | None = None
) -> WithAndWithout | None:
    """Return the use per day with all readings and without all flagged ones together.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element that is used up or moves by itself.
    until : str or pandas.Timestamp, optional
        Last day, or a time; the last reading when not given.
    unit : str, optional
        Unit of the level; the one of the aims when not given.

    Returns
    -------
    WithAndWithout or None
        None where nothing is flagged; then nothing is worked out.

    Notes
    -----
    The fit with all readings also takes those that water for a reef cannot hold, which no other
    number of a review does. It gives a reading that fits nothing little weight, so both fits often
    agree; then the flags do not matter for the use.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> with_and_without(example_tank(), "alkalinity") is None
    True
    """
    flagged = flagged_readings(tank, element, until)
    if flagged.empty:
        return None
    everything = _nothing_outside(tank) if flagged["outside"].any() else tank
    rows = tuple(int(row) for row in flagged["row"])
    both: list[ConsumptionEstimate | None] = []
    for one, leave_out in ((everything, ()), (tank, rows)):
        try:
            both.append(estimate_consumption(one, element, until, unit=unit, leave_out=leave_out))
        except (InputError, CannotTellError):
            both.append(None)
    shown = next((use.unit for use in both if use is not None), unit or "")
    return WithAndWithout(element, shown, flagged, *both)


@lru_cache(maxsize=8)
def _nothing_outside(tank: Tank) -> Tank:
    """Return the tank with readings taken as they stand that no water for a reef can hold."""
    return replace(tank, readings=tank.readings.assign(outside=False))
