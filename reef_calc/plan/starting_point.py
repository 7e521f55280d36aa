"""Where an element stands when a plan begins: its level, its use, and how well both are known."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import pandas as pd

from reef_calc.balance.consumption import estimate_consumption
from reef_calc.balance.moved_on import moved_on
from reef_calc.balance.refusals import day_text
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.uncertainty import HALF_WIDTH
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.description import USUAL_CHANGE_PER_DAY
from reef_calc.log.history import replicate_sessions, tank_readings
from reef_calc.log.tank import Tank
from reef_calc.messages import Message
from reef_calc.plan.doses_set import still_arriving
from reef_calc.plan.rule import old_days
from reef_calc.plan.use_to_plan import EXPECTED, Use, use_to_plan
from reef_calc.plan.wishes import PlanWishes

# Of the use, from day to day, where the readings do not tell (MEMORY, as in the level of now).
DAY_TO_DAY_SHARE = 0.16


@dataclass(frozen=True)
class StartingPoint:
    """One element at the start of a plan; levels in ``unit``, uses in that unit per day.

    Attributes
    ----------
    name, unit : str
        Element and unit.
    level, u_level : float
        Level at the start and its standard uncertainty.
    use, u_use : float or None
        Use and its standard uncertainty; None where no use is known.
    u_day : float
        Standard deviation of the use from day to day.
    basis : str
        Where the use comes from, in words.
    arriving : tuple of float
        What doses given before the start still bring on each day of the plan.
    estimate : ConsumptionEstimate or None
        What the balance says of it.
    read : bool
        Whether the level rests on readings; False where it was typed.
    """

    name: str
    unit: str
    level: float
    u_level: float
    use: float | None
    u_use: float | None
    u_day: float
    basis: str
    arriving: tuple[float, ...]
    estimate: ConsumptionEstimate | None
    read: bool

    @property
    def use_expected(self) -> bool:
        """Whether the use is only expected from another element, neither measured nor typed."""
        return self.basis == EXPECTED

    @property
    def u_use_alone(self) -> float | None:
        """Standard uncertainty of the use without pump, strength and volume; None if not measured."""
        estimate = self.estimate
        measured = estimate is not None and estimate.rate is not None
        if estimate is None or not measured or self.basis != estimate.basis:
            return None
        if estimate.against_dose is None or not estimate.dose_now:
            return None
        low, high = estimate.against_dose
        return (high - low) / 2 / HALF_WIDTH


def starting_point(
    tank: Tank,
    name: str,
    unit: str,
    at: pd.Timestamp,
    span: int,
    wishes: PlanWishes,
    alkalinity: StartingPoint | None = None,
) -> tuple[StartingPoint | None, tuple[Message, ...]]:
    """Return level and use of an element when a plan begins, or in words why it cannot be planned.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    name : str
        Element that is used up or moves by itself.
    unit : str
        Unit of everything.
    at : pandas.Timestamp
        Start of the plan (UTC).
    span : int
        Days of the plan.
    wishes : PlanWishes
        Typed levels and uses.
    alkalinity : StartingPoint, optional
        Alkalinity, from which a calcium use is expected where none is known.

    Returns
    -------
    StartingPoint or None
        None where there is no level to start from.
    tuple of Message
        What was taken, and what to test first.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> at = pd.Timestamp("2026-02-16", tz="UTC")
    >>> found, told = starting_point(example_tank(), "alkalinity", "dKH", at, 30, PlanWishes())
    >>> f"{found.level:.2f} dKH, uses {found.use:.2f} dKH a day"
    '6.99 dKH, uses 1.03 dKH a day'
    """
    found, told = _known(
        tank,
        name,
        unit,
        at,
        wishes.uses.get(name),
        wishes.levels.get(name),
        None if alkalinity is None else (alkalinity.use, alkalinity.u_use, alkalinity.unit),
    )
    if found is None or found.estimate is None:
        return found, told
    return replace(found, arriving=still_arriving(tank, name, unit, at, span)), told


# A plan is made again at every change of a field, and its starting points stay the same.
@lru_cache(maxsize=128)
def _known(
    tank: Tank,
    name: str,
    unit: str,
    at: pd.Timestamp,
    typed_use: tuple[float, float | None] | None,
    typed_level: tuple[float, float] | None,
    alkalinity: tuple[float | None, float | None, str] | None,
) -> tuple[StartingPoint | None, tuple[Message, ...]]:
    """Return everything but what is still arriving."""
    messages: list[Message] = []
    title = name.capitalize()
    try:
        estimate = _estimate(tank, name, unit, at)
    except InputError as error:
        messages.append(Message("CANNOT_ESTIMATE", f"{title}: {error}", "qualified"))
        estimate = None
    use, told = use_to_plan(name, unit, estimate, typed_use, alkalinity)
    messages += told
    level = typed_level
    if level is not None:
        _check_level(name, unit, level[0])
    if level is None:
        level = _level(tank, name, unit, at, estimate, use, messages)
    if level is None:
        return None, tuple(m for m in messages if m.code not in ("NO_USE", "USE_FROM_ALKALINITY"))
    found = StartingPoint(
        name,
        unit,
        level[0],
        level[1],
        None if use is None else use.rate,
        None if use is None else use.u,
        0.0 if use is None else abs(use.rate) * _day_to_day(estimate),
        "no use is known" if use is None else use.basis,
        (),
        estimate,
        typed_level is None,
    )
    return found, tuple(messages)


def _estimate(tank: Tank, name: str, unit: str, at: pd.Timestamp) -> ConsumptionEstimate:
    own = (tank.readings["element"] == name) & (tank.readings["water"] == "tank")
    newest = tank.readings.loc[own, "time"].max()
    # From all readings where none is later: then every caller asks for the same fit.
    until = None if pd.isna(newest) or at > newest else at
    return estimate_consumption(tank, name, until, unit=unit)


def _level(
    tank: Tank,
    name: str,
    unit: str,
    at: pd.Timestamp,
    estimate: ConsumptionEstimate | None,
    use: Use | None,
    messages: list[Message],
) -> tuple[float, float] | None:
    title, zone = name.capitalize(), str(tank.zone)
    readings = tank_readings(tank, name, unit, until=at - pd.Timedelta(seconds=1))
    sittings = replicate_sessions(readings[~readings["outside"].astype(bool)])
    if sittings.empty:
        words = f"{title} is left out: no reading of it that can be used. Test it first."
        messages.append(Message("TEST_FIRST", words, "qualified"))
        return None
    last = sittings.iloc[-1]
    plain = sittings[sittings["limit"] == ""]
    if last["limit"] in ("<", ">"):
        side = "below" if last["limit"] == "<" else "above"
        words = (
            f"{title} is left out: the last reading, on {day_text(last['time'], zone)}, lies {side} "
            f"what the kit can read ({last['level']:.3g} {unit}). Test with a kit that covers it."
        )
        messages.append(Message("BEYOND_LIMIT", words, "qualified"))
        return None
    read = estimate is not None and estimate.record is not None
    if estimate is not None and read and len(estimate.record.sessions) and use is not None:
        moved = moved_on(tank, _as_told(estimate, use), at)
        if moved is not None:
            _say_old(title, name, moved.since, at, zone, messages)
            if math.isnan(moved.dosed):
                words = f"{title}: what was dosed since the last reading is not logged."
                messages.append(Message("DOSE_NOT_LOGGED", words, "qualified"))
            return _not_below_zero(title, unit, moved.level, moved.u, messages)
    _say_old(title, name, last["time"], at, zone, messages)
    level = float(last["corrected"] if len(plain) else last["level"])
    sd = math.hypot(float(last["sd"]), float(last["resolution"]) / math.sqrt(12))
    if last["limit"] == "between":
        width = float(last["corrected_upper"]) - level
        level, sd = level + width / 2, math.hypot(sd, width / math.sqrt(12))
    # A level whose use is not known strays by about half of what a day should bring (own choice).
    return level, math.hypot(sd, _stray(name, level, unit))


def _as_told(estimate: ConsumptionEstimate, use: Use) -> ConsumptionEstimate:
    """Return the estimate with the use that the plan goes by, to bring the level forward with it."""
    rate, u = use.rate, use.u
    if estimate.rate is not None and estimate.level_now is not None and estimate.rate == rate:
        return estimate
    sessions = estimate.record.sessions
    last = sessions.iloc[-1]
    sd = math.hypot(float(last["sd"]), float(last["resolution"]) / math.sqrt(12))
    half = HALF_WIDTH * u
    return replace(
        estimate,
        rate=rate,
        low=rate - half,
        high=rate + half,
        against_dose=None,
        level_now=estimate.level_now or (float(last["level"]), sd),
        used=estimate.used if len(estimate.used) else sessions,
        weights=estimate.weights
        if len(estimate.weights)
        else pd.DataFrame({"cv": [DAY_TO_DAY_SHARE], "weight": [1.0]}),
    )


def _day_to_day(estimate: ConsumptionEstimate | None) -> float:
    if estimate is None or not len(estimate.weights):
        return DAY_TO_DAY_SHARE
    weights = estimate.weights["weight"]
    return math.sqrt(float((weights * estimate.weights["cv"] ** 2).sum() / weights.sum()))


def _say_old(
    title: str,
    name: str,
    since: pd.Timestamp,
    at: pd.Timestamp,
    zone: str,
    messages: list[Message],
) -> None:
    age = (at - since) / pd.Timedelta(days=1)
    if age > old_days(name):
        words = (
            f"{title}: the last reading is of {day_text(since, zone)}, {age:.0f} days before the "
            "plan begins. Its level is worked out over all these days and may be far off. Test it "
            "before you follow the plan."
        )
        messages.append(Message("OLD_READING", words, "qualified"))


def _not_below_zero(
    title: str, unit: str, level: float, u: float, messages: list[Message]
) -> tuple[float, float]:
    if level >= 0.0:
        return level, u
    words = (
        f"{title}: use and doses since the last reading lead below zero ({level:.2g} {unit}); 0 is "
        "taken. Test it again."
    )
    messages.append(Message("BELOW_ZERO", words, "qualified"))
    return 0.0, math.hypot(u, level)


def _stray(name: str, level: float, unit: str) -> float:
    change = USUAL_CHANGE_PER_DAY.get(name)
    if change is None:
        return 0.05 * abs(level)
    shown = ELEMENTS[name].display_unit
    return float(convert(change / 2, shown, unit, name, salinity=35.0, temperature_C=25.0))


def _check_level(name: str, unit: str, level: float) -> None:
    """Refuse a typed level that no water for a reef can hold."""
    facts = ELEMENTS[name]
    lowest, highest = (
        float(convert(end, facts.store_unit, unit, name, salinity=35.0, temperature_C=25.0))
        for end in (facts.lowest, facts.highest)
    )
    if not lowest * (1 - 1e-9) <= level <= highest * (1 + 1e-9):
        raise InputError(
            f"a level of {lowest:.3g} to {highest:.3g} {unit}",
            f"{level:g}",
            "Correct the number, or its unit.",
            f"Level of {name}",
        )
