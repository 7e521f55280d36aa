"""The joint estimate of calcium and alkalinity in sentences."""

from __future__ import annotations

from typing import Literal

from reef_calc.balance.joint_rate import JointRate
from reef_calc.balance.joint_stories import CHANGED_ALKALINITY, CHANGED_BOTH, Story
from reef_calc.balance.joint_uses import Estimate
from reef_calc.balance.use_ratio import SPEAK, Trend, what_fits
from reef_calc.messages import Message
from reef_calc.numbers_in_words import upper_bound, with_interval

DOUBT = 2.0
POSSIBLE = 0.5
LEAST_SAID = 0.03
IF = {
    CHANGED_BOTH: "if calcification changed, and calcium with it",
    CHANGED_ALKALINITY: "if something other than growth changed the alkalinity use",
}


def percent(probability: float) -> str:
    """Return a probability in whole per cent, never as 0 % or 100 %.

    Parameters
    ----------
    probability : float
        Probability. Unlikely accounts are pruned, so a small one is only known to be small.

    Returns
    -------
    str
        Such as "88 %" or "less than 3 %".

    Examples
    --------
    >>> percent(0.878), percent(0.0), percent(1.0)
    ('88 %', 'less than 3 %', 'more than 97 %')
    """
    if probability < LEAST_SAID:
        return "less than 3 %"
    return "more than 97 %" if probability > 1 - LEAST_SAID else f"{100 * probability:.0f} %"


def joint_messages(
    found: JointRate,
    *,
    nitrate: Trend | None = None,
    salinity: Trend | None = None,
    magnesium_per_dKH: Estimate | None = None,
) -> tuple[Message, ...]:
    """Return what the joint estimate says, the use first, then what is in doubt.

    Parameters
    ----------
    found : JointRate
        The joint estimate.
    nitrate, salinity : {"rising", "steady", "falling"} or None, optional
        What they did in the same weeks; None when not known.
    magnesium_per_dKH : Estimate or None, optional
        Magnesium used per alkalinity used (mg/L per dKH).

    Returns
    -------
    tuple of Message
        Codes CALCIUM_JOINT, TWO_HUMPS, RATIO, RATIO_FITS, LOG_OR_RATIO_IN_DOUBT, PRECIPITATION.

    Examples
    --------
    >>> import numpy as np
    >>> from reef_calc.balance.joint_rate import ElementReadings, joint_rate
    >>> from reef_calc.balance.water_balance import WaterEvents
    >>> days = np.arange(0, 30, 3)
    >>> a = ElementReadings(days, 8 - 0.1 * days, WaterEvents(), sd=0.1, resolution=0.1)
    >>> c = ElementReadings(days, 430 - 0.7 * days, WaterEvents(), sd=7.0, resolution=5.0)
    >>> print(joint_messages(joint_rate(a, c))[0].text)
    The tank uses 0.70 ± 0.11 mg/L calcium a day, calcium and alkalinity readings taken together.
    Calcium readings alone say 0.7 ± 0.6. Most of what is known comes from the alkalinity readings.
    """
    said = [Message("CALCIUM_JOINT", _use_text(found))]
    if found.humps:
        said.append(Message("TWO_HUMPS", _humps_text(found.humps), "qualified"))
    said += _ratio_messages(found, nitrate, salinity, magnesium_per_dKH)
    # Calcium alone cannot see a young change, so after one the two must differ and nothing is wrong.
    differ = found.disagreement is not None and abs(found.disagreement) > DOUBT
    if differ and found.p_not_constant < POSSIBLE:
        said.append(
            Message(
                "LOG_OR_RATIO_IN_DOUBT",
                "Calcium readings alone and both together say different things. The calcium log, a "
                "reading, or the proportion of calcium to alkalinity is in doubt. Look for a dose that "
                "was not written down before changing anything.",
                "qualified",
            )
        )
    if found.p_precipitation > POSSIBLE:
        said.append(
            Message(
                "PRECIPITATION",
                f"Both levels may have moved at once ({percent(found.p_precipitation)}): a large dose of "
                "both that is not in the log, or carbonate that came out of solution. Look for cloudy "
                "water, and for crust on heater and pumps; unplug them before touching.",
                "qualified",
            )
        )
    return tuple(said)


def _use_text(found: JointRate) -> str:
    together = "calcium and alkalinity readings taken together"
    if found.calcium.low <= 0:
        most = upper_bound(found.calcium.high)
        text = f"No calcium use is shown, {together}. It is less than {most} mg/L a day."
    else:
        use = with_interval(*found.calcium)
        text = f"The tank uses {use} mg/L calcium a day, {together}."
    if found.calcium_alone is None:
        return text
    text += f" Calcium readings alone say {with_interval(*found.calcium_alone)}."
    share = found.share_from_alkalinity
    if share is None:
        text += " They look surer alone, but a young change cannot show in them."
    elif share > POSSIBLE:
        text += " Most of what is known comes from the alkalinity readings."
    return text


def _humps_text(humps: tuple[Story, ...]) -> str:
    each = [
        f"{with_interval(*story.calcium)} mg/L a day {IF.get(story.what, f'if {story.what}')} "
        f"({percent(story.weight)})"
        for story in humps
    ]
    return f"Calcium use is {', or '.join(each)}. A calcium test in a week will tell more."


def _ratio_messages(
    found: JointRate,
    nitrate: Trend | None,
    salinity: Trend | None,
    magnesium_per_dKH: Estimate | None,
) -> list[Message]:
    if found.ratio is None or found.ratio_with_doses is None:
        return [
            Message(
                "RATIO",
                "The alkalinity use may be nothing, so there is no ratio of calcium to alkalinity.",
                "refused",
            )
        ]
    low, high = found.p_ratio_low or 0.0, found.p_ratio_high or 0.0
    text = f"{with_interval(*found.ratio)} mg/L calcium go with each dKH by the readings"
    if found.ratio_with_doses != found.ratio:
        widened = found.ratio_with_doses
        text += f", {with_interval(*widened)} with what is not known about the doses"
    least, most = found.ratio_limits
    text += f". From {least:g} to {most:g} is unremarkable."
    kind: Literal["qualified", "told"] = "qualified" if max(low, high) > SPEAK else "told"
    fits = what_fits(
        low, high, nitrate=nitrate, salinity=salinity, magnesium_per_dKH=magnesium_per_dKH
    )
    return [Message("RATIO", text, kind), *(Message("RATIO_FITS", one, kind) for one in fits)]
