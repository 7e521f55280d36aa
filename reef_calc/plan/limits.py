"""How fast and how far a level may go: the keeper's limits, cut to what no tank should be given."""

from __future__ import annotations

import math
from dataclasses import dataclass

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.units import convert
from reef_calc.log.description import CAUTION_LEVELS, USUAL_CHANGE_PER_DAY, Aim, usual_limits
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed
from reef_calc.plan.wishes import PlanWishes

# Largest rise a day whatever is written (common practice, no source), in the display unit.
MOST_PER_DAY: dict[str, float] = {"alkalinity": 1.0, "calcium": 50.0, "magnesium": 100.0}
# For the others twice the usual rise: own choice, the ratio of the three above.
TIMES_USUAL = 2.0


@dataclass(frozen=True)
class LevelLimits:
    """Limits of one element in one unit.

    Attributes
    ----------
    low, aim, high : float or None
        Aims that the plan may follow; None where the element is only reported.
    rise_per_day, fall_per_day : float
        Largest change of the level a day; infinite where there is none.
    ceiling : float or None
        Level that must not be passed.
    messages : tuple of Message
        What was cut or refused.
    """

    low: float | None
    aim: float | None
    high: float | None
    rise_per_day: float
    fall_per_day: float
    ceiling: float | None
    messages: tuple[Message, ...]


def level_limits(name: str, unit: str, aim: Aim | None, wishes: PlanWishes) -> LevelLimits:
    """Return the limits that a plan keeps for one element.

    Parameters
    ----------
    name : str
        Element.
    unit : str
        Unit of the limits: that of the aims.
    aim : Aim or None
        Aims of the tank folder.
    wishes : PlanWishes
        Aims, rises and falls typed for this plan, in ``unit``.

    Returns
    -------
    LevelLimits
        In ``unit``.

    Notes
    -----
    *Common practice, no source*: largest changes a day and caution levels. Aims beyond the caution
    levels are followed only where ``wishes.confirmed`` names the element.

    Examples
    --------
    >>> found = level_limits("alkalinity", "dKH", Aim("dKH", 7.5, 8.0, 8.5, 3.0), PlanWishes())
    >>> found.rise_per_day, found.ceiling
    (1.0, 12.0)
    >>> found.messages[0].text
    'Alkalinity: 3 dKH a day is more than any tank should rise; the plan keeps to 1 dKH a day.'
    """
    messages: list[Message] = []
    band = wishes.aims.get(name, (aim.low, aim.aim, aim.high) if aim else None)
    usual = usual_limits(name, unit)
    rise = wishes.rise_per_day.get(name, (aim.rise_per_day if aim else None) or math.inf)
    if math.isinf(rise):
        rise = usual.get("rise_per_day", math.inf)
    most = largest_rise(name, unit)
    if math.isfinite(rise) and rise > most * (1 + 1e-6):
        messages.append(
            Message(
                "RISE_CUT",
                f"{name.capitalize()}: {rise:.3g} {unit} a day is more than any tank should rise; "
                f"the plan keeps to {most:.3g} {unit} a day.",
                "qualified",
            )
        )
        rise = most
    fall = wishes.fall_per_day.get(name, (aim.fall_per_day if aim else None) or math.inf)
    never_above = aim.never_above if aim else None
    never_below = aim.never_below if aim else None
    caution = (
        min(usual["never_above"], never_above or math.inf) if name in CAUTION_LEVELS else None,
        max(usual["never_below"], never_below or 0.0) if name in CAUTION_LEVELS else None,
    )
    ceiling = caution[0] if caution[0] is not None else never_above
    if band is not None:
        refused = _beyond(name, unit, band, (ceiling, caution[1]), name in wishes.confirmed)
        if refused is not None:
            messages.append(refused)
            band = None
        elif ceiling is not None and band[2] > ceiling:
            ceiling = band[2]
    if band is not None and math.isinf(rise):
        messages.append(
            Message(
                "NO_RISE_LIMIT",
                f"{name.capitalize()} is not corrected: no largest rise a day is known. Write "
                f"rise_per_day in tank.toml, aim.{name}.",
                "qualified",
            )
        )
        band = None
    low, middle, high = band or (None, None, None)
    return LevelLimits(low, middle, high, rise, fall, ceiling, tuple(messages))


def held_aim(
    name: str, unit: str, limits: LevelLimits, level: float, u_level: float
) -> tuple[float | None, tuple[Message, ...]]:
    """Return the aim of an element, or its level where readings cannot tell the one from the other.

    |level − aim| ≤ 2u, and no further from it than half way to the nearer end of the aims

    Parameters
    ----------
    name, unit : str
        Element and unit.
    limits : LevelLimits
        Its aims.
    level, u_level : float
        Level and standard uncertainty, in ``unit``.

    Returns
    -------
    float or None
        What the plan aims for, in ``unit``.
    tuple of Message
        That it is held.

    Examples
    --------
    >>> aims = level_limits("alkalinity", "dKH", Aim("dKH", 7.5, 8.0, 8.5), PlanWishes())
    >>> [held_aim("alkalinity", "dKH", aims, level, 0.3)[0] for level in (7.9, 7.6)]
    [7.9, 8.0]
    """
    low, aim, high = limits.low, limits.aim, limits.high
    if low is None or aim is None or high is None:
        return aim, ()
    # Near the ends of the aims a correction is worth its while, however little is known.
    end = high if level > aim else low
    if abs(level - aim) > min(2.0 * u_level, abs(end - aim) / 2):
        return aim, ()
    decimals = max(decimals_for(max(u_level, 1e-6)), 0)
    words = (
        f"{name.capitalize()} is held where it is, at {fixed(level, decimals)} {unit}: readings cannot "
        f"tell that from its aim of {aim:g} {unit}."
    )
    return level, (Message("HELD", words),)


def nearest_inside(
    name: str, unit: str, limits: LevelLimits, level: float
) -> tuple[float | None, tuple[Message, ...]]:
    """Return a level well inside the aims that lies nearest, where an element's own use is not known.

    A quarter of the aims away from their nearer end, or further where the level lies further.

    Parameters
    ----------
    name, unit : str
        Element and unit.
    limits : LevelLimits
        Its aims.
    level : float
        Level, in ``unit``.

    Returns
    -------
    float or None
        What the plan aims for, in ``unit``; None without aims.
    tuple of Message
        That it is brought no further.

    Examples
    --------
    >>> aims = level_limits("calcium", "mg/L", Aim("mg/L", 400.0, 420.0, 440.0), PlanWishes())
    >>> nearest_inside("calcium", "mg/L", aims, 390.0)[0]
    410.0
    """
    if limits.low is None or limits.high is None:
        return limits.aim, ()
    quarter = (limits.high - limits.low) / 4
    aim = min(max(level, limits.low + quarter), limits.high - quarter)
    words = (
        f"{name.capitalize()} is only brought well inside its aims, to {aim:.4g} {unit}, until its own "
        "readings tell its use."
    )
    return aim, (Message("NEAREST_INSIDE", words, "qualified"),)


def largest_rise(name: str, unit: str) -> float:
    """Return the largest rise a day that any tank should be given.

    Parameters
    ----------
    name : str
        Element.
    unit : str
        Unit of the result, per day.

    Returns
    -------
    float
        Infinite where practice has no number.

    Notes
    -----
    *Common practice, no source*; beyond the three with a number of their own, twice the usual rise.

    Examples
    --------
    >>> largest_rise("alkalinity", "dKH"), largest_rise("potassium", "mg/L")
    (1.0, 20.0)
    """
    usual = usual_limits(name, unit).get("rise_per_day")
    if usual is None:
        return math.inf
    times = TIMES_USUAL
    if name in MOST_PER_DAY:
        times = MOST_PER_DAY[name] / USUAL_CHANGE_PER_DAY[name]
    return usual * times


def _beyond(
    name: str,
    unit: str,
    band: tuple[float, float, float],
    caution: tuple[float | None, float | None],
    confirmed: bool,
) -> Message | None:
    """Return the refusal of aims that no water, or no confirmed wish, should have."""
    low, _, high = band
    facts = ELEMENTS[name]
    lowest, highest = (
        convert(end, facts.store_unit, unit, name, salinity=35.0, temperature_C=25.0)
        for end in (facts.lowest, facts.highest)
    )
    if high > highest * (1 + 1e-9) or low < lowest * (1 - 1e-9):
        return Message(
            "AIMS_IMPOSSIBLE",
            f"{name.capitalize()}: aims of {low:g} to {high:g} {unit} are beyond what water for a "
            "reef can hold. Correct the aims, or their unit.",
            "refused",
        )
    if confirmed:
        return None
    above, below = caution
    if above is not None and high > above * (1 + 1e-9):
        side, level = "above", above
    elif below is not None and low < below * (1 - 1e-9):
        side, level = "below", below
    else:
        return None
    return Message(
        "CAUTION_LEVEL",
        f"{name.capitalize()} is not corrected: aims of {low:g} to {high:g} {unit} reach {side} the "
        f"caution level of {level:g} {unit}. Confirm once more that this is meant, or change the "
        "aims.",
        "refused",
    )
