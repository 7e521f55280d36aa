"""What is said of a change from one supplement to another."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from reef_calc.chem.stock_words import two_digits
from reef_calc.messages import Message
from reef_calc.plan.change_also import (
    USED,
    about_companions,
    amount_text,
    known_by_label,
    what_is_missing,
    what_piles_up,
)

if TYPE_CHECKING:
    from reef_calc.plan.change_supplement import SupplementChange

_SMALL = 0.01
_COARSE = 0.10
# What shows later than this nobody waits for (common practice, no source).
LONGEST_SIGN = 42.0
_MIXING = (
    "Never put the two into one container, hose or cylinder. Rinse hose and pump head with fresh "
    "water first, and measure the pump again with the new one."
)


def change_messages(
    change: SupplementChange,
    steps: tuple[float, float],
    old_left: float | None,
) -> tuple[Message, ...]:
    """Return what to know about a change, in order of weight.

    Parameters
    ----------
    change : SupplementChange
        The change.
    steps : tuple of float
        Smallest step of the amount a day, old and new (mL or g).
    old_left : float or None
        What is left of the old one (mL or g).

    Returns
    -------
    tuple of Message
        Limits first, then what is missing, what piles up, containers, tests, cautions.

    Examples
    --------
    >>> from reef_calc.chem.supplements import Supplement
    >>> from reef_calc.plan.change_supplement import change_supplement
    >>> old = Supplement("soda", {"alkalinity": 1.0})
    >>> new = Supplement("stronger soda", {"alkalinity": 2.0})
    >>> print(change_supplement(old, new, "alkalinity", 40.0, 100.0).messages[0].text)
    20 mL of stronger soda a day bring what 40 mL of soda bring: 1.1 dKH a day (± 18 %, by what is
    stated of strength and pump).
    """
    return (
        _equivalent(change),
        *_limits(change),
        *_steps(change, steps),
        *_late(change),
        *what_is_missing(change),
        *about_companions(change),
        *what_piles_up(change),
        *known_by_label(change),
        *_containers(change, old_left),
        _tests(change),
        *_cautions(change),
    )


def _equivalent(c: SupplementChange) -> Message:
    percent = 200 * c.u_equivalent
    return Message(
        "EQUIVALENT_DOSE",
        f"{amount_text(c.amount_then, c.new.unit)} of {c.new.name} a day bring what "
        f"{amount_text(c.amount_now, c.old.unit)} of {c.old.name} bring: {two_digits(c.supply)} {c.unit} "
        f"a day (± {percent:.0f} %, by what is stated of strength and pump).",
    )


def _limits(c: SupplementChange) -> list[Message]:
    most = c.new.limits.get(f"{c.new.unit}_per_day")
    if most is None or c.amount_then <= most * (1 + 1e-9):
        return []
    share = most / c.amount_then
    return [
        Message(
            "MORE_THAN_ALLOWED",
            f"{c.new.name} may be given at {amount_text(most, c.new.unit)} a day and no more. That is "
            f"{100 * share:.0f} % of what is needed: keep "
            f"{amount_text(c.amount_now * (1 - share), c.old.unit)} of {c.old.name} a day beside it, and "
            "do not follow the days below to their end.",
            "qualified",
        )
    ]


def _steps(c: SupplementChange, steps: tuple[float, float]) -> list[Message]:
    found = []
    able, step = (
        ("The pump can be set to", "One step of the pump")
        if c.new.unit == "mL"
        else ("What can be weighed is", "One step of the scales")
    )
    off = (c.setting_then / c.amount_then - 1) * c.supply
    if abs(off) > _SMALL * c.supply:
        word = "more" if off > 0 else "less"
        found.append(
            Message(
                "PUMP_STEP",
                f"{able} {amount_text(c.setting_then, c.new.unit)} a day: "
                f"that is {two_digits(abs(off))} {c.unit} a day {word} than before.",
                "qualified",
            )
        )
    if steps[1] > _COARSE * c.amount_then:
        times = math.ceil(steps[1] / (_COARSE * c.amount_then))
        remedy = (
            f"Dilute it {times} times, or use fewer doses a day."
            if c.new.unit == "mL"
            else "Weigh a week's amount and dose it dissolved."
        )
        found.append(
            Message(
                "COARSE_STEP",
                f"{step} is {100 * steps[1] / c.amount_then:.0f} % of the day's amount "
                f"of {c.new.name}. {remedy}",
                "qualified",
            )
        )
    worst = c.days["drift"].abs().max()
    if worst > 0.25 * c.supply:
        found.append(
            Message(
                "DRIFT",
                f"During the change the level drifts by up to {two_digits(worst)} {c.unit}, because "
                "of pump steps and delays.",
                "qualified",
            )
        )
    return found


def _days(number: float) -> str:
    return f"{number:.3g} day{'' if number == 1.0 else 's'}"


def _late(c: SupplementChange) -> list[Message]:
    wait = c.new.lag_days - c.old.lag_days
    if c.element != "alkalinity" or wait == 0.0:
        return []
    slow, sense = (
        (c.new, "starts before the old one is taken back")
        if wait > 0
        else (c.old, "starts later, since the old one still acts for a while")
    )
    others = [
        name for name in slow.adds if name != "alkalinity" and name in USED and slow.adds[name] > 0
    ]
    beside = (
        f" Its {' and '.join(others)} is there at once, so that this alone shifts by "
        f"{_days(abs(wait))}."
        if others
        else ""
    )
    return [
        Message(
            "ACTS_LATE",
            f"The alkalinity of {slow.name} appears about {_days(slow.lag_days)} after "
            f"the dose. So {c.new.name} {sense}.{beside}",
        )
    ]


def _containers(c: SupplementChange, old_left: float | None) -> list[Message]:
    found = []
    needed = amount_text(c.old_needed, c.old.unit) if c.old_needed > 0 else "none"
    if c.old_runs_out is not None and old_left is not None:
        found.append(
            Message(
                "OLD_RUNS_OUT",
                f"{c.old.name} runs out on day {c.old_runs_out}: {amount_text(old_left, c.old.unit)} are "
                f"left and the change takes {needed}. Make the change shorter, or get more."
                if old_left > 0
                else f"{c.old.name} is empty: change at once, in one day, and test daily.",
                "qualified",
            )
        )
    elif c.old_needed > 0:
        after = (
            f"; {amount_text(old_left - c.old_needed, c.old.unit)} are then left over"
            if old_left is not None and old_left - c.old_needed > 1e-9
            else ""
        )
        found.append(Message("OLD_NEEDED", f"The change takes {needed} of {c.old.name}{after}."))
    if c.new_lasts_days is not None:
        found.append(
            Message(
                "NEW_LASTS",
                f"A full container of {c.new.name} ({c.new.container_L:g} L) then lasts "
                f"{c.new_lasts_days:.0f} days.",
            )
        )
    return found


def _tests(c: SupplementChange) -> Message:
    last = int(c.days["day"].iloc[-1])
    often = max(1, min(7, math.floor(c.first_sign_days / 2)))
    every = "every day" if often == 1 else f"every {often} days"
    days = math.ceil(c.first_sign_days)
    falls = (
        f"If {c.new.name} is a quarter weaker than stated, the level falls by "
        f"{two_digits(0.25 * c.supply)} {c.unit} a day"
    )
    if c.first_sign_days > LONGEST_SIGN:
        return Message(
            "WHAT_TO_TEST",
            f"Test {c.element} before day 1 and {every} until day {last + round(LONGEST_SIGN)}, for a "
            f"gross fault. {falls}: this kit does not see that within {LONGEST_SIGN:g} days. Run the "
            "pump into a cylinder, and test the new one in a known dilution.",
            "qualified",
        )
    return Message(
        "WHAT_TO_TEST",
        f"Test {c.element} before day 1 and {every} until day {last + max(14, days)}. {falls}, and "
        f"that shows after about {_days(days)}. Readings over a week or more before day 1, and "
        f"over {_days(max(7, days))} or more after day {last}, four of each at least, tell how "
        "strong it is. Change nothing else in this time.",
    )


def _cautions(c: SupplementChange) -> list[Message]:
    found = []
    if c.new.name in c.old.keep_apart or c.old.name in c.new.keep_apart:
        found.append(
            Message(
                "KEEP_APART",
                f"{c.old.name} and {c.new.name} must be kept apart: at least 30 minutes between "
                "their doses, at two places in strong flow.",
                "qualified",
            )
        )
    found.append(Message("NEVER_MIX", _MIXING, "qualified"))
    found += [Message("HAZARD", hazard, "told") for hazard in dict.fromkeys(c.new.hazards)]
    return found
