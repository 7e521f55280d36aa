"""What would follow from a review: the change of a dose in its own unit, and the month without it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.units import convert
from reef_calc.log.tank import Tank
from reef_calc.plan.decision import LABEL_FIRST, PUMP_QUESTION
from reef_calc.plan.limits import largest_rise
from reef_calc.show.containers_now import ContainerNow, container_to_begin, containers_now
from reef_calc.show.outlook import Outlook, outlook
from reef_calc.show.standing import Standing

PLAN_PAGE = "03_supplement_plan.ipynb"
# Largest rise of alkalinity by one dose, dKH (common practice, no source).
LARGEST_DOSE = {"alkalinity": (0.5, "dKH")}


@dataclass(frozen=True)
class NewSetting:
    """One container set to another amount a day, in the container's own unit.

    Attributes
    ----------
    container : ContainerNow
        The container and what is set now.
    exact, low, high : float
        Amount a day that meets the use, and its 95 % interval.
    amount : float
        ``exact`` at the nearest settable step.
    others : tuple of str
        Further containers that bring the element and stay as they are.
    moves : tuple of (str, str, float)
        Other elements of the review that move with it: element, unit, change a day.
    brings : tuple of str
        What else it brings, outside the review.
    most_per_dose : float
        Largest single dose, mL or g: what is written for the container, or what one dose may raise.
    """

    container: ContainerNow
    exact: float
    low: float
    high: float
    amount: float
    others: tuple[str, ...] = ()
    moves: tuple[tuple[str, str, float], ...] = ()
    brings: tuple[str, ...] = ()
    most_per_dose: float = math.inf


@dataclass(frozen=True)
class Following:
    """What would follow for one element.

    Attributes
    ----------
    standing : Standing
        The element and what was decided.
    containers : tuple of ContainerNow
        What brings it now, the largest share first.
    setting : NewSetting or None
        The change suggested; None where none is.
    first : str
        What comes before the new setting, where the level itself has to be brought back.
    why_none : str
        Why no change is suggested; empty with one.
    outlook : Outlook or None
        The next 30 days if nothing is changed.
    why_no_outlook : str
        Why these cannot be told.
    in_steps : str
        The daily limit, where the change of the dose is larger.
    """

    standing: Standing
    containers: tuple[ContainerNow, ...]
    setting: NewSetting | None
    first: str
    why_none: str
    outlook: Outlook | None
    why_no_outlook: str
    in_steps: str = ""

    @property
    def cautions(self) -> tuple[str, ...]:
        """What is read before the change is made."""
        decision = self.standing.decision
        if self.setting is None:
            if not self.first:
                return ()
            # To bring a level back is to dose otherwise too, if only for days.
            asked = decision.action == "raise" and PUMP_QUESTION in decision.cautions
            return (PUMP_QUESTION, LABEL_FIRST) if asked else (LABEL_FIRST,)
        raised = self.setting.amount > self.setting.container.amount
        # Only a decision to raise knows whether the pump was measured lately.
        asked = raised and (decision.action != "raise" or PUMP_QUESTION in decision.cautions)
        return (PUMP_QUESTION, LABEL_FIRST) if asked else (LABEL_FIRST,)


def what_follows(
    tank: Tank, standings: tuple[Standing, ...], **options: Any
) -> tuple[Following, ...]:
    """Return what would follow for every element that is used up, those to change first.

    Nothing is estimated anew: the standings hold it all. A change is suggested only where the
    decision is to change the dose.

    Parameters
    ----------
    tank : Tank
        The opened tank folder.
    standings : tuple of Standing
        The elements of its review.
    **options
        ``now`` (pandas.Timestamp, UTC) for the outlook; the clock's when not given.

    Returns
    -------
    tuple of Following
        One an element that is used; in the order of the groups.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.show.review import review_month
    >>> tank = example_tank()
    >>> (one,) = what_follows(tank, review_month(tank, "2026-02").standings)
    >>> one.first.partition(":")[0]
    'Bring back 7.0 to 8.0'
    """
    order = ("change", "test", "leave")
    used = [s for s in standings if s.use is not None and s.use.behaviour == "used"]
    used.sort(key=lambda s: order.index(s.decision.group))
    return tuple(_following(tank, s, standings, **options) for s in used)


def _following(
    tank: Tank, standing: Standing, standings: tuple[Standing, ...], **options: Any
) -> Following:
    containers = containers_now(tank, standing)
    aim = tank.aims.get(standing.element)
    caution = (aim.never_below, aim.never_above) if aim else (None, None)
    ahead = outlook(standing, caution=caution, **options)
    why_no_outlook = "" if ahead is not None else _why_no_outlook(standing)
    first = standing.decision.headline.partition(";")[0] if _two_parts(standing) else ""
    setting, why = _setting(tank, standing, containers, standings)
    in_steps = _in_steps(tank, standing, setting) if setting is not None else ""
    return Following(standing, containers, setting, first, why, ahead, why_no_outlook, in_steps)


def _in_steps(tank: Tank, standing: Standing, setting: NewSetting) -> str:
    """Return the daily limit where the change of the dose is larger, in words."""
    aim, container = tank.aims.get(standing.element), setting.container
    raised = setting.amount > container.amount
    written = (aim.rise_per_day if raised else aim.fall_per_day) if aim else None
    limit = math.inf if written is None else written
    if raised:
        most = largest_rise(standing.element, standing.unit)
        limit = min(limit, float(most))
    if abs(setting.amount - container.amount) * container.per_amount <= limit:
        return ""
    return f"in steps of at most {limit:.3g} {standing.unit} a day"


def _two_parts(standing: Standing) -> bool:
    """Whether the decision brings the level back before it speaks of the dose."""
    return standing.decision.action in ("raise", "lower") and _level_outside(standing)


def _level_outside(standing: Standing) -> bool:
    use, told = standing.use, standing.readings[standing.readings["mark"] != "doubted"]
    if told.empty:
        return False
    last = told.iloc[-1]
    level = float(last["level"])
    if use is not None and use.level_now is not None and not last["limit"]:
        level = use.level_now[0]
    below = standing.low is not None and level < standing.low
    above = standing.high is not None and (
        level > standing.high or (last["limit"] == ">" and level >= standing.high)
    )
    return bool(below or above)


def _setting(
    tank: Tank,
    standing: Standing,
    containers: tuple[ContainerNow, ...],
    standings: tuple[Standing, ...],
) -> tuple[NewSetting | None, str]:
    """Return the new setting that the decision asks for, or why there is none."""
    decision, use = standing.decision, standing.use
    if decision.group == "leave":
        return None, f"Leave as it is. {decision.reason}"
    if decision.group == "test":
        return None, f"Test first. {decision.reason}"
    if use is None or decision.action not in ("raise", "lower"):
        return None, f"Find the cause first. {decision.reason}"
    if use.rate is None or use.low is None or use.high is None:
        return None, "The use is not known yet, so no daily amount follows."
    low, high = use.against_dose if use.against_dose else (use.low, use.high)
    dose = use.dose_now
    if dose is None:
        return None, "The log does not say what is dosed now."
    stop = high <= 0 and dose > 0 and not _two_parts(standing)
    if low <= 0 and not stop:
        return None, "No use is shown, so no daily amount follows."
    if _two_parts(standing) and dose > 0 and low <= dose <= high:
        return None, "Afterwards the dose may stay: the readings show no difference from the use."
    if dose <= 0 and decision.action == "lower":
        return None, "Nothing is dosed, so no dose can be lowered."
    if dose <= 0:
        begin = container_to_begin(tank, standing)
        if begin is None:
            return None, "No supplement in supplements.toml adds it."
        # Nothing was dosed: the error of strength and volume is not in the use, but is in the dose.
        exact = use.rate / begin.per_amount
        down = exact - math.hypot(use.rate - use.low, use.rate * 2 * begin.u) / begin.per_amount
        up = exact + math.hypot(use.high - use.rate, use.rate * 2 * begin.u) / begin.per_amount
        return _checked(tank, standing, standings, begin, (exact, max(down, 0.0), up), ())
    if not containers:
        return None, "The log does not say which container it comes from."
    main = containers[0]
    if stop:
        numbers: tuple[float, ...] = (0.0, 0.0, 0.0)
    else:
        numbers = tuple(main.amount + (x - dose) / main.per_amount for x in (use.rate, low, high))
    others = tuple(one.supplement for one in containers[1:])
    return _checked(tank, standing, standings, main, numbers, others)


def _checked(
    tank: Tank,
    standing: Standing,
    standings: tuple[Standing, ...],
    container: ContainerNow,
    numbers: tuple[float, ...],
    others: tuple[str, ...],
) -> tuple[NewSetting | None, str]:
    exact, low, high = numbers
    name, unit = container.supplement, container.unit
    if exact < 0:
        return None, f"{name} alone cannot be lowered so far: lower {', '.join(others)} too."
    amount = exact if container.step <= 0 else round(exact / container.step) * container.step
    move, wanted = amount - container.amount, exact - container.amount
    if move * wanted <= 0 or abs(move) < 1e-6 * max(amount, container.amount):
        return None, (
            f"The change is less than one step of {name} ({container.step:g} {unit} a day): {PLAN_PAGE} "
            "shows what else can be set."
        )
    limits = tank.supplements[name].limits
    most = limits.get(f"{unit}_per_day", math.inf)
    if amount > most:
        return None, (
            f"{exact:.3g} {unit} a day of {name} would be needed, more than the {most:g} {unit} a day "
            f"written for it: {PLAN_PAGE} shares it out."
        )
    moves, brings = _besides(tank, standing, standings, container, amount)
    largest = limits.get(f"{unit}_per_dose", math.inf)
    if standing.element in LARGEST_DOSE:
        rise, word = LARGEST_DOSE[standing.element]
        rise = float(convert(rise, word, standing.unit, standing.element))
        largest = min(largest, rise / container.per_amount)
    return (
        NewSetting(container, exact, max(low, 0.0), high, amount, others, moves, brings, largest),
        "",
    )


def _besides(
    tank: Tank,
    standing: Standing,
    standings: tuple[Standing, ...],
    container: ContainerNow,
    amount: float,
) -> tuple[tuple[tuple[str, str, float], ...], tuple[str, ...]]:
    """Return what the change does to other elements of the review, and what else it brings."""
    adds = tank.supplements[container.supplement].adds
    own = adds[standing.element]
    change = (amount - container.amount) * container.per_amount
    moves, reviewed = [], {standing.element}
    for other in standings:
        reviewed.add(other.element)
        if other.element != standing.element and adds.get(other.element):
            ratio = adds[other.element] / own * _unit_ratio(other, standing)
            moves.append((other.element, other.unit, change * ratio))
    return tuple(moves), tuple(
        name for name, value in adds.items() if value and name not in reviewed
    )


def _unit_ratio(other: Standing, standing: Standing) -> float:
    """Return display over store unit of one element, divided by that of another."""

    def one(s: Standing) -> float:
        return float(convert(1.0, ELEMENTS[s.element].store_unit, s.unit, s.element))

    return one(other) / one(standing)


def _why_no_outlook(standing: Standing) -> str:
    use, table = standing.use, standing.readings
    believed = table[table["mark"].isin(["used", "beyond limit"])]
    if use is None or believed.empty:
        return "no reading yet"
    if standing.decision.group == "test" and "days old" in standing.decision.headline:
        return "the last reading is too old"
    if believed.iloc[-1]["limit"]:
        return "the last reading is a range or beyond the kit’s limit"
    if use.rate is None:
        return "no use is known"
    if use.dose_now is None:
        return "today’s dose is not in the log"
    return (
        "the last reading is in doubt" if standing.decision.group == "test" else "too old a reading"
    )
