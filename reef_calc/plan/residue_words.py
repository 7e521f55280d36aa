"""What months of dosing do to the water, in one plain sentence for each thing that moves."""

from __future__ import annotations

from reef_calc.chem.stock_words import two_digits
from reef_calc.messages import Message, codes
from reef_calc.numbers_in_words import fixed
from reef_calc.plan.residue import Residue, sea_water_ratio

# Moves smaller than this are not seen by kit or meter (common practice, no source).
SALINITY_SEEN = 0.1
SHARE_SEEN = 0.01


def residue_words(residue: Residue) -> tuple[Message, ...]:
    """Return what the doses do to salinity, chloride : sulfate, sodium and magnesium.

    Parameters
    ----------
    residue : Residue
        The water over months.

    Returns
    -------
    tuple of Message
        ``SALINITY``, ``CHLORIDE_TO_SULFATE``, ``SODIUM`` and ``MAGNESIUM``, and ``USED_UP`` where a
        level would reach nothing, then the messages of the residue; each a sentence.

    Examples
    --------
    >>> from reef_calc.plan.left_over import sodium_chloride_left
    >>> from reef_calc.plan.residue import residue_of
    >>> left = sodium_chloride_left(0.5)
    >>> residue = residue_of({"sodium": left.sodium, "chloride": left.chloride}, left.g_per_kg)
    >>> residue_words(residue)[0].text
    'Salinity creeps from 35.0 to 36.8 in 6 months (0.30 a month at first), without water changes,
    if only evaporation is topped up.'
    """
    found = [
        Message("SALINITY", _salinity(residue)),
        *_sodium_and_ratio(residue),
        Message("MAGNESIUM", _moves(residue, "magnesium")),
    ]
    gone = [name for name, level in residue.levels.items() if (level <= 0.0).any()]
    if gone:
        found.append(
            Message(
                "USED_UP",
                f"At this pace {' and '.join(gone)} would be used up within the time: the use slows "
                "down before, so these months are not told.",
                "qualified",
            )
        )
    return (*found, *residue.messages)


def _sodium_and_ratio(residue: Residue) -> tuple[Message, Message]:
    if "IONS_NOT_KNOWN" in codes(residue.messages):
        return (
            Message(
                "CHLORIDE_TO_SULFATE",
                "Chloride : sulfate cannot be told while only a label is known.",
                "refused",
            ),
            Message("SODIUM", "Sodium cannot be told while only a label is known.", "refused"),
        )
    return (
        Message("CHLORIDE_TO_SULFATE", _ratio(residue)),
        Message("SODIUM", _moves(residue, "sodium")),
    )


def _changes(residue: Residue) -> str:
    if residue.change_share == 0.0:
        return "without water changes"
    every = "every day" if residue.every_days == 1 else f"every {residue.every_days} days"
    return f"with {100 * residue.change_share:.3g} % changed {every}"


def _time(residue: Residue) -> str:
    return "in 1 month" if residue.months == 1 else f"in {residue.months} months"


def _salinity(residue: Residue) -> str:
    first, last = float(residue.salinity[0]), float(residue.salinity[-1])
    if residue.salinity_held and residue.swapped > 0.0:
        thinned = two_digits(100 * (1.0 - float(residue.undosed[-1])))
        swapped = two_digits(100 * residue.swapped)
        return (
            f"To hold salinity at {fixed(first, 1)}, {swapped} % of the tank's volume is swapped for "
            f"fresh water {_time(residue)}, {_changes(residue)}. What is neither dosed nor used is "
            f"{thinned} % lower then."
        )
    if abs(last - first) < SALINITY_SEEN:
        return f"Salinity stays at {fixed(first, 1)} {_time(residue)}, {_changes(residue)}."
    monthly = float(residue.salinity[30]) - first
    verb = "creeps" if last > first else "falls"
    return (
        f"Salinity {verb} from {fixed(first, 1)} to {fixed(last, 1)} {_time(residue)} "
        f"({fixed(monthly, 2)} a month at first), {_changes(residue)}, if only evaporation is topped "
        "up."
    )


def _ratio(residue: Residue) -> str:
    sea = sea_water_ratio()
    first, last = float(residue.mass_ratio[0]), float(residue.mass_ratio[-1])
    if not (0.0 < first < float("inf") and 0.0 < last < float("inf")):
        return "Chloride : sulfate cannot be told, because one of them would be used up."
    off = last / sea - 1.0
    side = "above" if off > 0 else "below"
    beside = (
        f"sea water has {fixed(sea, 2)}"
        if abs(off) < SHARE_SEEN
        else f"{two_digits(100 * abs(off))} % {side} sea water's {fixed(sea, 2)}"
    )
    if abs(last / first - 1.0) < SHARE_SEEN:
        return f"Chloride : sulfate stays at {fixed(last, 2)} by mass {_time(residue)} ({beside})."
    return (
        f"Chloride : sulfate goes from {fixed(first, 2)} to {fixed(last, 2)} by mass "
        f"{_time(residue)} ({beside})."
    )


def _moves(residue: Residue, name: str) -> str:
    level = residue.levels[name]
    first, last = float(level[0]), float(level[-1])
    word = name.capitalize()
    if abs(last / first - 1.0) < SHARE_SEEN:
        return f"{word} stays near {fixed(first, -1)} mg/L {_time(residue)}."
    verb = "rises" if last > first else "falls"
    share = 100 * abs(last / first - 1.0)
    return (
        f"{word} {verb} from {fixed(first, -1)} to {fixed(last, -1)} mg/L {_time(residue)} "
        f"({two_digits(share)} %)."
    )
