"""What is said of pH and saturation: warnings with their numbers, and what was assumed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from reef_calc.chem.carbonate_water import CarbonateState
from reef_calc.chem.delayed_alkalinity import oxygen_cost
from reef_calc.chem.stock_words import two_digits
from reef_calc.messages import Message
from reef_calc.numbers_in_words import fixed
from reef_calc.plan.doses_for_ph import (
    ARAGONITE_SAID,
    ARAGONITE_SLOW,
    HIGHEST_PH_NBS,
    LARGEST_PH_STEP,
    MOST_DOSES,
)

if TYPE_CHECKING:
    from reef_calc.plan.ph_of_doses import PhOfDose

# A change smaller than this is rounding, and nobody sees it.
_VISIBLE = 5e-4
_PLACE = {"now": "now", "aim": "at the aim", "plan": "at the plan's highest alkalinity"}
STRONG_FLOW = (
    "Where a dose runs in, pH and saturation are far higher than in the mixed tank: drip it slowly "
    "into strong flow, away from animals, heaters, pumps and the other container's inlet."
)
STOP_FIRST = (
    "Cloudy water, a crust on heaters or pumps, or alkalinity that suddenly falls much faster than "
    "usual: stop dosing first, then test."
)


def about_dose(dose: PhOfDose) -> list[Message]:
    """Return what to say of one container's dose.

    Parameters
    ----------
    dose : PhOfDose
        Its states.

    Returns
    -------
    list of Message
        Warnings with their numbers.

    Examples
    --------
    >>> from reef_calc.chem.carbonate import state_in_air
    >>> from reef_calc.chem.carbonate_doses import after_dose
    >>> from reef_calc.chem.carbonate_water import CarbonateWater
    >>> from reef_calc.plan.ph_of_doses import PhOfDose
    >>> before = state_in_air(np.array([2.85]), 500.0, CarbonateWater())
    >>> after = after_dose(before, "hydroxide", 0.2)
    >>> about_dose(PhOfDose("lye", "hydroxide", "hydroxide", 20.0, "mL", 20.0, 1, 0.2, 0.0,
    ...     ("now",), before, after, before, {}, 2))[0].text
    'lye: one dose of 20 mL raises pH by 0.22 now, more than 0.2 at once.'
    """
    said = [*_label(dose), *_ph(dose), *_aragonite(dose)]
    if dose.late_meq_per_L > 0.0:
        said.append(_late(dose))
    if any(m.code in ("PH_ABOVE", "PH_STEP", "ARAGONITE_ABOVE_7") for m in said):
        said.append(_how_many(dose))
    return said


def _late(dose: PhOfDose) -> Message:
    water = dose.before.water
    formate, acetate = (
        oxygen_cost(
            salt,
            dose.late_meq_per_L,
            "meq/L",
            salinity=water.salinity,
            temperature_C=water.temperature_C,
        )
        for salt in ("calcium formate", "calcium acetate")
    )
    holds = fixed(formate.oxygen_mg_per_L / formate.of_saturated, 1)
    return Message(
        "DELAYED_ALKALINITY",
        f"{dose.name}: its alkalinity appears only when bacteria have taken it up, and is not in the "
        f"pH right after a dose. Until then it takes oxygen, and pH may fall first. One dose takes "
        f"up to {two_digits(formate.oxygen_mg_per_L)} mg/L of oxygen as formate, "
        f"{two_digits(acetate.oxygen_mg_per_L)} mg/L as acetate; water in balance with air holds "
        f"{holds} mg/L. Dose it where the water is well aired.",
    )


def _how_many(dose: PhOfDose) -> Message:
    if dose.enough_doses is not None:
        return Message(
            "DOSES_FOR_PH",
            f"{_name(dose)}: {_amount(dose, dose.per_day)} a day in {dose.enough_doses} equal "
            "doses or more keeps pH and saturation within these bounds, if the water is back in "
            "balance with the air before each, which takes hours, and no other container runs at the "
            "same time.",
        )
    before = dose.before
    beyond = np.max(before.ph_nbs) > HIGHEST_PH_NBS or np.max(before.aragonite) > ARAGONITE_SLOW
    why = (
        "no number of doses keeps within these bounds, since the water is beyond them before any. "
        "Choose a lower alkalinity."
        if beyond
        else f"not even {MOST_DOSES} doses a day keep within these bounds. Dose less, or take a "
        "supplement of bicarbonate."
    )
    return Message("DOSES_FOR_PH", f"{_name(dose)}: {why}", "qualified")


def _label(dose: PhOfDose) -> list[Message]:
    if not dose.possible:
        return []
    each = ", ".join(f"{kind} {_signed(change)}" for kind, change in dose.possible.items())
    return [
        Message(
            "ALKALINITY_KIND",
            f"{dose.name}: what carries its alkalinity is not written. One dose of "
            f"{_amount(dose, dose.amount)} changes pH by: {each}. Until you say which, the "
            f"strongest, {dose.taken_as}, is taken. Look at the safety data sheet.",
            "qualified",
        )
    ]


def _ph(dose: PhOfDose) -> list[Message]:
    said = []
    before, after = np.ravel(dose.before.ph_nbs), np.ravel(dose.right_after.ph_nbs)
    change = np.ravel(dose.ph_change)
    amount = _amount(dose, dose.amount)
    high = int(np.argmax(after))
    if after[high] > HIGHEST_PH_NBS and after[high] > before[high] + _VISIBLE:
        said.append(
            Message(
                "PH_ABOVE",
                f"{_name(dose)}: one dose of {amount} takes pH from {fixed(before[high], 2)} to "
                f"{_beyond(after[high], HIGHEST_PH_NBS)} (NBS scale) {_PLACE[dose.bases[high]]}, "
                f"above {HIGHEST_PH_NBS:g}.",
                "qualified",
            )
        )
    most = int(np.argmax(change))
    if change[most] > LARGEST_PH_STEP:
        said.append(
            Message(
                "PH_STEP",
                f"{_name(dose)}: one dose of {amount} raises pH by "
                f"{_beyond(change[most], LARGEST_PH_STEP)} {_PLACE[dose.bases[most]]}, more than "
                f"{LARGEST_PH_STEP:g} at once.",
                "qualified",
            )
        )
    return said


def _aragonite(dose: PhOfDose) -> list[Message]:
    before, after = np.ravel(dose.before.aragonite), np.ravel(dose.right_after.aragonite)
    high = int(np.argmax(after))
    if not after[high] > max(ARAGONITE_SAID, before[high] + _VISIBLE):
        return []
    slow = after[high] > ARAGONITE_SLOW
    limit = ARAGONITE_SLOW if slow else ARAGONITE_SAID
    text = (
        f"{_name(dose)}: one dose of {_amount(dose, dose.amount)} takes the aragonite saturation "
        f"from {fixed(before[high], 1)} to {_beyond(after[high], limit, 1)} "
        f"{_PLACE[dose.bases[high]]}, above {limit:g}."
    )
    if slow:
        text += (
            " Calcium carbonate may fall out through the whole tank: give smaller, slower doses."
        )
        return [Message("ARAGONITE_ABOVE_7", text, "qualified")]
    return [Message("ARAGONITE_ABOVE_5", f"{text} Dose slowly into strong flow.")]


def about_water(
    bases: tuple[str, ...],
    states: CarbonateState,
    day_in_one: CarbonateState | None,
    air_uatm: float,
    in_air: Mapping[float, CarbonateState],
    *,
    air_given: bool,
    boron_typed: bool,
    calcium_known: bool,
    ph_typed: float | None,
    adds_alkalinity: bool,
) -> list[Message]:
    """Return what to say of the water itself, and what was assumed.

    Parameters
    ----------
    bases : tuple of str
        Names of the states.
    states : CarbonateState
        Before any dose.
    day_in_one : CarbonateState or None
        After a whole day's doses without exchange of gas; None where nothing is dosed.
    air_uatm : float
        Carbon dioxide of the room air (µatm).
    in_air : mapping of float to CarbonateState
        The bases in balance with other air, by its carbon dioxide (µatm).
    air_given, boron_typed, calcium_known : bool
        Whether the tank says so itself.
    ph_typed : float or None
        Measured pH (no unit).
    adds_alkalinity : bool
        Whether any container adds alkalinity at once.

    Returns
    -------
    list of Message
        Warnings and what was assumed.

    Examples
    --------
    >>> from reef_calc.chem.carbonate import state_in_air
    >>> from reef_calc.chem.carbonate_water import CarbonateWater
    >>> states = state_in_air(np.array([5.0]), 400.0, CarbonateWater())
    >>> about_water(("now",), states, None, 400.0, {}, air_given=True, boron_typed=True,
    ...     calcium_known=True, ph_typed=None, adds_alkalinity=False)[0].code
    'ARAGONITE_WATER'
    """
    said = []
    omega, ph = np.ravel(states.aragonite), np.ravel(states.ph_nbs)
    high = int(np.argmax(omega))
    if omega[high] > ARAGONITE_SAID:
        limit = ARAGONITE_SLOW if omega[high] > ARAGONITE_SLOW else ARAGONITE_SAID
        said.append(
            Message(
                "ARAGONITE_WATER",
                f"The aragonite saturation is {_beyond(omega[high], limit, 1)} "
                f"{_PLACE[bases[high]]} before any dose, above {limit:g}: little more is needed "
                "for calcium carbonate to fall out. A lower alkalinity is safer.",
                "qualified",
            )
        )
    if np.max(ph) > HIGHEST_PH_NBS:
        at = int(np.argmax(ph))
        said.append(
            Message(
                "PH_WATER",
                f"pH is {_beyond(ph[at], HIGHEST_PH_NBS)} (NBS scale) {_PLACE[bases[at]]} before "
                f"any dose, above {HIGHEST_PH_NBS:g}: do not add hydroxide or carbonate.",
                "qualified",
            )
        )
    if day_in_one is not None and adds_alkalinity:
        day = np.ravel(day_in_one.ph_nbs)
        at = int(np.argmax(day))
        if day[at] > HIGHEST_PH_NBS:
            said.append(
                Message(
                    "PH_DAY",
                    "If no carbon dioxide came in all day, a day's doses together would take pH to "
                    f"{_beyond(day[at], HIGHEST_PH_NBS)} (NBS scale) {_PLACE[bases[at]]}. Room "
                    "air and animals bring some: spread the doses, and read pH before and after.",
                )
            )
    tank_uatm = float(np.ravel(states.pco2_uatm)[0])
    said.append(_carbon_dioxide(air_uatm, tank_uatm, in_air, air_given, ph_typed))
    boron = float(np.ravel(states.water.boron())[0])
    whose = "as typed" if boron_typed else "as in sea water of this salinity (Uppström 1974)"
    said.append(
        Message(
            "BORON",
            "Alkalinity is total alkalinity as a kit reads it, borate included. Boron is taken as "
            f"{fixed(boron, 1)} mg/L, {whose}."
            + ("" if boron_typed else " Write boron in tank.toml if you know it."),
        )
    )
    if not calcium_known:
        calcium = float(np.ravel(states.water.calcium())[0])
        said.append(
            Message(
                "CALCIUM_ASSUMED",
                "Calcium is not in this plan: the saturation is worked out with "
                f"{fixed(calcium, 0)} mg/L, as in sea water of this salinity.",
                "qualified",
            )
        )
    if day_in_one is not None:
        said += [Message("STRONG_FLOW", STRONG_FLOW), Message("STOP_FIRST", STOP_FIRST)]
    return said


def _carbon_dioxide(
    air_uatm: float,
    tank_uatm: float,
    in_air: Mapping[float, CarbonateState],
    air_given: bool,
    ph_typed: float | None,
) -> Message:
    if ph_typed is not None:
        tank = fixed(tank_uatm, min(0, 1 - math.floor(math.log10(tank_uatm))))
        return Message(
            "TANK_CO2",
            f"pH {fixed(ph_typed, 2)} and this alkalinity mean {tank} µatm of carbon "
            f"dioxide in the water; the room air is taken as {air_uatm:g} µatm. A pH that is 0.05 "
            "off changes the first number by about 13 %.",
        )
    span = ""
    if in_air:
        ph = [f"{fixed(float(np.ravel(in_air[end].ph_nbs)[0]), 2)}" for end in _ends(in_air)]
        span = (
            f" Between {min(in_air):g} and {max(in_air):g} µatm, airy and closed rooms, pH now "
            f"would be {ph[0]} to {ph[1]} (NBS scale)."
        )
    if air_given:
        text = f"The water is taken to be in balance with room air of {air_uatm:g} µatm carbon dioxide."
        return Message("AIR_CO2", f"{text}{span}")
    return Message(
        "AIR_CO2",
        f"The carbon dioxide of the room air is not written: {air_uatm:g} µatm is taken. Write "
        f"air_co2_uatm in tank.toml.{span}",
        "qualified",
    )


def _ends(in_air: Mapping[float, CarbonateState]) -> tuple[float, float]:
    return min(in_air), max(in_air)


def _name(dose: PhOfDose) -> str:
    return f"{dose.name} (taken as {dose.taken_as})" if dose.possible else dose.name


def _amount(dose: PhOfDose, value: float) -> str:
    # Three digits, and never as a power of ten.
    return f"{float(format(value, '.3g')):g} {dose.unit}"


def _signed(change: float) -> str:
    text = fixed(change, 2)
    return text if change < 0 or float(text) == 0.0 else f"+{text}"


def _beyond(value: float, limit: float, decimals: int = 2) -> str:
    """Return a number with as many decimals as it takes to see that it lies beyond a limit."""
    while round(value, decimals) == limit and decimals < 4:
        decimals += 1
    return fixed(value, decimals)
