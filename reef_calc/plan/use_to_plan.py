"""The use that a plan goes by: typed, told by readings, or expected from another element."""

from __future__ import annotations

from dataclasses import dataclass

from reef_calc.balance.joint_uses import Estimate
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.stoichiometry import expected_uses
from reef_calc.balance.uncertainty import HALF_WIDTH
from reef_calc.chem.units import convert
from reef_calc.messages import Message
from reef_calc.numbers_in_words import with_interval

# Taken, and said, where a use is typed without its uncertainty (own choice).
TYPED_USE_SHARE = 0.25
EXPECTED = "expected from the use of alkalinity, not measured"


@dataclass(frozen=True)
class Use:
    """A use per day.

    Attributes
    ----------
    rate, u : float
        Use and its standard uncertainty, in the element's unit per day.
    basis : str
        Where it comes from, in words.
    """

    rate: float
    u: float
    basis: str


def use_to_plan(
    name: str,
    unit: str,
    estimate: ConsumptionEstimate | None,
    typed: tuple[float, float | None] | None = None,
    alkalinity: tuple[float | None, float | None, str] | None = None,
) -> tuple[Use | None, tuple[Message, ...]]:
    """Return the use of an element that a plan goes by, and what was taken for it.

    Parameters
    ----------
    name : str
        Element.
    unit : str
        Unit of its level.
    estimate : ConsumptionEstimate or None
        What the readings tell.
    typed : tuple of (float, float or None), optional
        Use and its standard uncertainty as typed, unit per day; it goes before everything else.
    alkalinity : tuple of (float or None, float or None, str), optional
        Use of alkalinity, its standard uncertainty and unit, for calcium.

    Returns
    -------
    Use or None
        None where nothing tells a use.
    tuple of Message
        What was taken, or that nothing is known.

    Examples
    --------
    >>> found, told = use_to_plan("calcium", "mg/L", None, None, (1.0, 0.05, "dKH"))
    >>> round(found.rate, 2), told[0].code
    (7.06, 'USE_FROM_ALKALINITY')
    """
    messages: list[Message] = []
    if typed is not None:
        return _typed(name, unit, typed, messages), tuple(messages)
    found = _told(estimate) or _expected(name, unit, alkalinity, messages)
    if found is None:
        messages.append(_no_use(name.capitalize(), estimate))
    return found, tuple(messages)


def _typed(name: str, unit: str, typed: tuple[float, float | None], messages: list[Message]) -> Use:
    use, u = typed
    if u is None:
        u = TYPED_USE_SHARE * abs(use)
        words = (
            f"{name.capitalize()}: a use of {use:g} {unit} a day was typed without its uncertainty; "
            f"± {u:.2g} (25 %) is taken."
        )
        messages.append(Message("USE_SPREAD_TAKEN", words))
    return Use(use, u, f"typed, {use:g} ± {u:.2g} {unit} a day")


def _told(estimate: ConsumptionEstimate | None) -> Use | None:
    """Return the use that the readings tell."""
    if estimate is None or estimate.rate is None:
        return None
    low, high = float(estimate.low or 0.0), float(estimate.high or 0.0)
    return Use(float(estimate.rate), (high - low) / 2 / HALF_WIDTH, estimate.basis)


def _expected(
    name: str,
    unit: str,
    alkalinity: tuple[float | None, float | None, str] | None,
    messages: list[Message],
) -> Use | None:
    """Return the calcium use that goes with the use of alkalinity."""
    if name != "calcium" or alkalinity is None or alkalinity[0] is None:
        return None
    per = float(convert(1.0, alkalinity[2], "dKH", "alkalinity", salinity=35.0, temperature_C=25.0))
    middle, half = alkalinity[0] * per, HALF_WIDTH * (alkalinity[1] or 0.0) * per
    if middle <= 0.0:
        return None
    found = expected_uses(Estimate(middle, max(middle - half, 0.0), middle + half))["calcium"]
    to = float(convert(1.0, "mg/L", unit, name, salinity=35.0, temperature_C=25.0))
    use, u = found.value * to, (found.high - found.low) * to / 2 / HALF_WIDTH
    words = with_interval(use, use - 2 * u, use + 2 * u)
    text = (
        f"Calcium: its own readings tell no use yet. {words} {unit} a day is what skeletons take "
        "with the alkalinity that is used. Test calcium within a week."
    )
    messages.append(Message("USE_FROM_ALKALINITY", text, "qualified"))
    return Use(use, u, EXPECTED)


def _no_use(title: str, estimate: ConsumptionEstimate | None) -> Message:
    why = next((m.text for m in estimate.messages if m.kind == "refused"), "") if estimate else ""
    why = f"{why.partition('. ')[0].rstrip('.')}." if why else ""
    return Message(
        "NO_USE",
        f"{title} is only reported: its use is not known. {why} It is shown as if it used what it "
        "gets now. Type a use to plan it; 0 is allowed.".replace("  ", " "),
        "qualified",
    )
