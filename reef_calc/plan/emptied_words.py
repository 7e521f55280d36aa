"""What is said of a container that could run into the tank at once, and of what stops it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from reef_calc.chem.stock_words import two_digits
from reef_calc.messages import Message
from reef_calc.numbers_in_words import fixed
from reef_calc.plan.containers import Emptied, Rise
from reef_calc.plan.problem import ElementToPlan

# Elements named in one sentence, and the share of the tank's volume that can overflow unseen
# (common practice, no source).
NAMED = 3
OVERFLOW = 0.02


def emptied_words(
    found: Emptied, elements: Sequence[ElementToPlan], net_L: float
) -> tuple[Message, ...]:
    """Return what an emptied container does, how much to keep, and what stops a stuck pump.

    Parameters
    ----------
    found : Emptied
        The container run in; its messages are not read.
    elements : sequence of ElementToPlan
        Elements of the tank, with their limits.
    net_L : float
        Net volume of water (L).

    Returns
    -------
    tuple of Message
        In order of weight.

    Examples
    --------
    >>> from reef_calc.plan.containers import Container
    >>> from reef_calc.plan.emptied import emptied
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, rise_per_day=0.5)
    >>> lime = Container("limewater", {"alkalinity": 0.04319}, 20000.0, kind="hydroxide",
    ...     dissolved_salt_mg=1.6, reservoir=True)
    >>> for message in emptied_words(emptied(lime, [kh], 300.0), [kh], 300.0)[:2]:
    ...     print(message.text)
    If all 20 L of limewater ran in at once: alkalinity from 8.0 to 15.1 dKH (as hydroxide; +8.1 dKH
    if the water does not rise), salinity from 35.0 to 33.0, once mixed and before lime falls out.
    Keep no more than 1.2 L of limewater within reach of its pump: all of it then moves alkalinity by
    no more than 0.5 dKH, what a day allows.
    """
    without = [
        one.name
        for one in elements
        if found.container.adds.get(one.name, 0.0) > 0.0 and math.isinf(one.rise_per_day)
    ]
    one = found.container
    harmless = (
        one.full is not None
        and one.full <= found.keep < math.inf
        and one.full < found.never
        and not without
    )
    said = [_what_happens(found), *_beside(found)]
    if harmless:
        said.append(
            Message(
                "MAY_STAND",
                f"All of the {one.name} stays within what a day allows: it may stand full.",
            )
        )
    else:
        said += _how_much(found, elements)
        said += _never(found, elements)
        said += _what_stops(found, net_L)
    if without:
        said.append(
            Message(
                "NO_DAILY_LIMIT",
                f"No daily limit is set for {' and '.join(without)}: write rise_per_day in tank.toml. "
                "Until then the usual most for a day is taken, if practice has one.",
                "qualified",
            )
        )
    return tuple(said)


def _amount(amount: float, unit: str, *, down: bool = False) -> str:
    """Return an amount with two digits; rounded down where it is a bound."""
    if amount >= 1000.0:
        amount, unit = amount / 1000.0, "L" if unit == "mL" else "kg"
    if amount <= 0.0:
        return f"0 {unit}"
    decimals = 1 - math.floor(math.log10(amount))
    if down:
        amount = math.floor(amount * 10.0**decimals + 1e-9) / 10.0**decimals
    else:
        decimals += 1
    text = fixed(amount, decimals)
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {unit}"


def _level(rise: Rise) -> str:
    most = max(abs(rise.before), abs(rise.after))
    decimals = max(0, 2 - math.floor(math.log10(most))) if most > 0.0 else 0
    return f"from {fixed(rise.before, decimals)} to {fixed(rise.after, decimals)} {rise.unit}"


def _what_happens(found: Emptied) -> Message:
    one = found.container
    if one.full is None:
        repair = (
            "write container_L in supplements.toml" if one.unit == "mL" else "weigh what is in it"
        )
        return Message(
            "SIZE_NOT_KNOWN",
            f"How much does the container of {one.name} hold? Nobody has said, so what it would do is "
            f"not known: {repair}.",
            "qualified",
        )
    weight = {
        name: abs(rise.after - rise.before) / (abs(rise.before) or 1.0)
        if math.isinf(rise.limit)
        else abs(rise.added) / rise.limit
        for name, rise in found.rises.items()
        if rise.added != 0.0
    }
    beside = _added_beside(found)
    parts = []
    for name in sorted(weight, key=lambda x: -weight[x])[:NAMED]:
        rise = found.rises[name]
        notes = []
        if name == "alkalinity" and one.kind not in ("none", "mixed", "not known"):
            notes.append(
                "later, as bacteria take up oxygen for it"
                if one.kind == "delayed"
                else f"as {one.kind}"
            )
        grown = rise.added - (rise.after - rise.before)
        if grown > 0.05 * abs(rise.added):
            digits = max(0, 1 - math.floor(math.log10(abs(rise.added))))
            plus = fixed(rise.added, digits)
            plus = plus if rise.added < 0.0 else f"+{plus}"
            notes.append(f"{plus} {rise.unit} if the water does not rise")
        parts.append(f"{name} {_level(rise)}" + (f" ({'; '.join(notes)})" if notes else ""))
    if (
        found.salinity_after is not None
        and abs(found.salinity_after - found.salinity_before) > 0.05
    ):
        parts.append(
            f"salinity from {fixed(found.salinity_before, 1)} to {fixed(found.salinity_after, 1)}"
        )
    parts += [f"{name} by +{two_digits(one_added)} {unit}" for name, one_added, unit in beside]
    happens = ", ".join(parts) or "nothing known of it moves by more than a day allows"
    if {"alkalinity", "calcium"}.intersection((*weight, *(name for name, _, _ in beside))):
        happens += ", once mixed and before lime falls out"
    return Message(
        "EMPTIED", f"If all {_amount(one.full, one.unit)} of {one.name} ran in at once: {happens}."
    )


def _added_beside(found: Emptied) -> list[tuple[str, float, str]]:
    """Return the elements that the plan does not follow and that move by more than a day allows."""
    moved = [
        (one.added / one.limit, name, one.added, one.unit)
        for name, one in found.beside.items()
        if one.added is not None and one.added > one.limit
    ]
    return [(name, added, unit) for _, name, added, unit in sorted(moved, reverse=True)[:NAMED]]


def _beside(found: Emptied) -> list[Message]:
    heeded = [
        name
        for name, one in found.beside.items()
        if name == found.keep_for or (one.added is not None and one.added > one.limit)
    ]
    if not heeded:
        return []
    names = " and ".join(heeded)
    return [
        Message(
            "NOT_FOLLOWED",
            f"The plan does not follow {names}: the usual most for a day is taken as the limit.",
            "qualified",
        )
    ]


def _how_much(found: Emptied, elements: Sequence[ElementToPlan]) -> list[Message]:
    one = found.container
    if math.isinf(found.keep) or found.keep == 0.0:
        return []
    units = {name: beside.unit for name, beside in found.beside.items()}
    units |= {e.name: e.unit for e in elements if e.name != "salinity"}
    limit = f"{found.keep_limit:.3g} {units.get(found.keep_for, '')}".strip()
    keep = _amount(found.keep, one.unit, down=True)
    said = [
        Message(
            "KEEP",
            f"Keep no more than {keep} of {one.name} within reach of its pump: all of it then moves "
            f"{found.keep_for} by no more than {limit}, {_why(found, elements)}.",
        )
    ]
    if one.a_day > found.keep:
        said.append(
            Message(
                "DAY_IS_MORE",
                f"A day takes {_amount(one.a_day, one.unit)}, more than that. A second stop that does "
                "not depend on the first must protect the tank, or a weaker solution.",
                "qualified",
            )
        )
    elif one.a_day > 0.0:
        days = math.floor(found.keep / one.a_day)
        said.append(
            Message("LASTS", f"That lasts {days} day{'' if days == 1 else 's'} at today's plan.")
        )
    return said


def _why(found: Emptied, elements: Sequence[ElementToPlan]) -> str:
    if found.keep_for == found.never_for and found.keep == found.never:
        return "up to what must not be passed"
    allowed = {e.name: e.rise_per_day for e in elements}.get(found.keep_for, math.inf)
    if found.keep_for in found.beside or (math.isinf(allowed) and found.keep_for != "salinity"):
        return "the usual most for a day"
    if found.keep_for == "alkalinity" and found.keep_limit < allowed * (1 - 1e-9):
        kind = found.container.kind
        return (
            "the most hydroxide at once"
            if kind == "hydroxide"
            else "the most at once where hydroxide may be in it"
        )
    return "what a day allows"


def _never(found: Emptied, elements: Sequence[ElementToPlan]) -> list[Message]:
    one = found.container
    if not found.never_for or (one.full is not None and one.full < found.never):
        return []
    ceiling, unit = {e.name: (e.ceiling, e.unit) for e in elements}[found.never_for]
    if found.never == 0.0:
        text = (
            f"{found.never_for.capitalize()} is already at {ceiling:.4g} {unit} or above: nothing of "
            f"{one.name} should stand within reach of a pump."
        )
    else:
        text = (
            f"{_amount(found.never, one.unit, down=True)} of it is enough to take {found.never_for} "
            f"to {ceiling:.4g} {unit}, which must not be passed."
        )
    return [Message("NEVER_ABOVE", text, "qualified")]


def _what_stops(found: Emptied, net_L: float) -> list[Message]:
    one = found.container
    if one.reservoir:
        text = (
            "A reservoir that holds no more than may run in, filled by hand, and a mechanical float "
            "valve behind the pump stop what a stuck switch cannot. Its outlet stands above the "
            "water, so that nothing siphons."
        )
    else:
        text = (
            "A pump that does not stop is stopped by an empty container: a smaller one within reach, "
            "the rest on the shelf. Its outlet stands above the water, so that nothing siphons."
        )
    said = [Message("MECHANICAL_STOP", text)]
    if one.full is not None and one.unit == "mL" and one.full / 1000.0 > OVERFLOW * net_L:
        said.append(
            Message(
                "OVERFLOW",
                f"{_amount(one.full, one.unit)} more in the tank may run over: look where it would go, "
                "and keep plugs and sockets above it.",
            )
        )
    return said
