"""The level of a tank moved on from its last sitting to a later time, by doses, changes and use."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.balance.additions import addition_history, arriving, days
from reef_calc.balance.given_doses import mean_dose, water_events
from reef_calc.balance.mixture_priors import DECLARED, Priors
from reef_calc.balance.record import NEW_WATER_DEFAULT_U
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.told import RAISES
from reef_calc.balance.uncertainty import HALF_WIDTH
from reef_calc.balance.water_balance import balance_columns
from reef_calc.bench.kits import usual_sd
from reef_calc.chem.units import convert
from reef_calc.log.tank import Tank

BELIEFS = Priors()
LATELY = pd.Timedelta(days=30)


@dataclass(frozen=True)
class MovedOn:
    """A level at a later time, without the scatter of the next reading.

    Attributes
    ----------
    level, u : float
        Level and standard uncertainty, in the unit of the estimate.
    start, start_u : float
        Level at the sitting it starts from, and its standard uncertainty, in that unit.
    since : pandas.Timestamp
        That sitting (UTC).
    kit : str
        Kit of that sitting.
    days : float
        Days from there.
    used, dosed : float
        Use and doses of these days, in that unit; ``dosed`` is NaN where doses were not logged.
    changes : int
        Number of water changes in these days.
    kits_differ : bool
        Whether ``u`` allows for the difference between two kits.
    """

    level: float
    u: float
    start: float
    start_u: float
    since: pd.Timestamp
    kit: str
    days: float
    used: float
    dosed: float
    changes: int
    kits_differ: bool


def moved_on(
    tank: Tank, use: ConsumptionEstimate, at: pd.Timestamp, kit: str = ""
) -> MovedOn | None:
    """Return the level that doses, water changes and use lead to at a later time.

    y·g + d − k·h with u² = g²·u_y² + h²·u_k² + v²·k²·p + P·(0.30·k·h)²/3; v is how much the
    use differs from day to day as the readings tell it, P the chance that it changed since.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    use : ConsumptionEstimate
        An estimate from readings before ``at``.
    at : pandas.Timestamp
        Later time (UTC).
    kit : str, optional
        Kit of the next reading. If another one read last, its own last sitting is the start where
        that tells more than allowing for the difference between two kits. When not given, the kit
        of the last sitting, or any of several in use lately.

    Returns
    -------
    MovedOn or None
        In the unit of the estimate; None where the use is not told.

    Notes
    -----
    Where doses were not logged, as much as the use is taken, anywhere from none to twice that.

    Examples
    --------
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> from reef_calc.log.example import example_tank
    >>> tank = example_tank()
    >>> use = estimate_consumption(tank, "alkalinity")
    >>> found = moved_on(tank, use, pd.Timestamp("2026-02-17 18:00", tz="UTC"))
    >>> f"{found.level:.2f} ± {found.u:.2f} after {found.days:.1f} days, used {found.used:.2f}"
    '6.94 ± 0.12 after 2.0 days, used 2.11'
    """
    if use.rate is None or use.level_now is None:
        return None
    last = use.used.iloc[-1]
    level, u = use.level_now
    lately = use.used.loc[use.used["time"] > last["time"] - LATELY, "kit"]
    if (lately == last["kit"]).all() if not kit else last["kit"] == kit:
        return _moved(tank, use, at, last, level, u)
    starts = [_moved(tank, use, at, last, level, u, between_kits(use.element, level, use.unit))]
    own = use.used[use.used["kit"] == kit]
    if kit and len(own):
        row = own.iloc[-1]
        starts.append(_moved(tank, use, at, row, float(row["level"]), float(row["sd"])))
    return min(starts, key=lambda one: one.u)


def _moved(
    tank: Tank,
    use: ConsumptionEstimate,
    at: pd.Timestamp,
    start: pd.Series,
    level: float,
    u: float,
    kits_u: float = 0.0,
) -> MovedOn:
    record, rate = use.record, float(use.rate or 0.0)
    first, stop = float(days(start["time"])), float(days(at))
    doses = addition_history(tank, use.element, use.unit, at)
    events = water_events(tank, arriving(doses), record.new_water.levels)
    gaps = np.array(doses.gaps).reshape(-1, 2)
    balance = balance_columns([first, stop], events, gaps)
    g, h, d, p = (float(x[1]) for x in (balance.g, balance.h, balance.d, balance.p))
    not_logged = rate * float(balance.S[1].sum())
    low, high = use.against_dose or (use.low, use.high)
    u_rate = (float(high or 0.0) - float(low or 0.0)) / 2 / HALF_WIDTH
    chance = -math.expm1(-BELIEFS.change_per_day * (stop - first))
    told = tank.events
    if any(
        told["kind"].isin(RAISES)
        & told["element"].isin(["", use.element])
        & (told["time"] >= start["time"])
        & (told["time"] < at)
    ):
        chance = DECLARED
    variance = (
        (g * u) ** 2
        + (h * u_rate) ** 2
        + rate**2 * _daily_variation(use) * p
        + chance * (BELIEFS.change_size * rate * h) ** 2 / 3
        + not_logged**2 / 3
        + kits_u**2
    )
    back = _as_salty_as_last(use, start["time"])
    given = mean_dose(doses, first, stop)
    inside = (events.change_times >= first) & (events.change_times < stop)
    return MovedOn(
        level=back * (level * g + d - rate * h + not_logged),
        u=back * math.sqrt(variance),
        start=back * level,
        start_u=back * u,
        since=start["time"],
        kit=str(start["kit"]),
        days=stop - first,
        used=rate * (stop - first),
        dosed=math.nan if given is None else given * (stop - first),
        changes=int(inside.sum()),
        kits_differ=kits_u > 0.0,
    )


def _daily_variation(use: ConsumptionEstimate) -> float:
    """Return the mean square of what the use differs by from day to day, as a share of itself."""
    weights = use.weights["weight"]
    return float((weights * use.weights["cv"] ** 2).sum() / weights.sum())


def _as_salty_as_last(use: ConsumptionEstimate, time: pd.Timestamp) -> float:
    """Return the factor from levels scaled to one salinity to those of the water of a sitting."""
    sessions = use.record.sessions
    found = sessions[sessions["time"] == time]
    if not use.record.scaled or found.empty:
        return 1.0
    return float(found["corrected"].iloc[0] / found["level"].iloc[0])


def between_kits(element: str, level: float, unit: str) -> float:
    """Return by how much two kits may differ on one water, as a standard uncertainty.

    b/√3, b the bound of a kit's bias (MEMORY); for elements without one, two usual SDs of a reading.

    Parameters
    ----------
    element : str
        Element.
    level : float
        Level in ``unit``.
    unit : str
        Unit of the result.

    Returns
    -------
    float
        In that unit.

    Examples
    --------
    >>> round(between_kits("alkalinity", 8.0, "dKH"), 3), between_kits("salinity", 35.0, "PSU")
    (0.289, 0.7)
    """
    if element not in NEW_WATER_DEFAULT_U:
        return 2.0 * usual_sd(element, level, unit)
    bound, word = NEW_WATER_DEFAULT_U[element]
    return float(convert(bound, word, unit, element, salinity=35.0, temperature_C=25.0)) / 3**0.5
