"""What else changes with a supplement, in words: other elements, companions, what piles up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reef_calc.bench.kits import usual_sd
from reef_calc.chem.composition import reference_levels
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.stock_words import two_digits
from reef_calc.chem.supplements import Supplement
from reef_calc.chem.units import convert
from reef_calc.messages import Message
from reef_calc.numbers_in_words import fixed

if TYPE_CHECKING:
    from reef_calc.plan.change_supplement import SupplementChange

# Of these the tank lives, so that less of them must be made up for; the others only pile up.
USED = ("alkalinity", "calcium", "magnesium", "potassium", "strontium", "iodine")


def amount_text(value: float, unit: str) -> str:
    """Return an amount to set, with its unit.

    Parameters
    ----------
    value : float
        Amount in ``unit``.
    unit : str
        mL or g.

    Returns
    -------
    str
        Text such as "22.5 mL".

    Examples
    --------
    >>> amount_text(22.46, "mL"), amount_text(20.0, "mL"), amount_text(0.333, "g")
    ('22.5 mL', '20 mL', '0.33 g')
    """
    return f"{two_digits(value) if value < 10 else fixed(value, 1).removesuffix('.0')} {unit}"


def what_is_missing(c: SupplementChange) -> list[Message]:
    """Return what must now be dosed by itself, and what is now brought twice.

    Parameters
    ----------
    c : SupplementChange
        The change.

    Returns
    -------
    list of Message
        One for each element that corals use and that changes.

    Examples
    --------
    >>> from reef_calc.plan.change_supplement import change_supplement
    >>> old = Supplement("formate", {"alkalinity": 2.0, "calcium": 40.08})
    >>> new = Supplement("soda", {"alkalinity": 1.0})
    >>> change = change_supplement(old, new, "alkalinity", 20.0, 100.0)
    >>> print(what_is_missing(change)[0].text)
    Calcium: formate brings 8.0 mg/L a day, soda 0. Dose 8.0 mg/L a day of it by itself, unless the
    tank does not use it.
    """
    found = []
    for row in c.effects.itertuples():
        if row.element not in USED or row.element == c.element:
            continue
        # An inflow that holds less than the tank takes away: such amounts are below 0.
        # What no kit would show in 30 days is not worth a pump of its own.
        if abs(row.in_30_days) <= usual_scatter(row.element, row.unit):
            continue
        old, new = (_with_counted(one, c.counted) for one in (c.old, c.new))
        both = (
            f"{row.element.capitalize()}: {old} brings {two_digits(row.before)}"
            f"{f' {row.unit} a day' if row.before else ''}, {new} {two_digits(row.after)}"
            f"{'' if row.before else f' {row.unit} a day'}. "
        )
        amount = f"{two_digits(abs(row.change))} {row.unit} a day"
        if row.change < 0:
            what = f"Dose {amount} of it by itself, unless the tank does not use it."
            found.append(Message("DOSE_SEPARATELY", both + what, "qualified"))
        else:
            what = f"Take {amount} off other doses of it, or the level rises."
            found.append(Message("BRINGS_MORE", both + what, "qualified"))
    return found


def about_companions(c: SupplementChange) -> list[Message]:
    """Return what becomes of supplements that are set in a fixed ratio to either of the two.

    Parameters
    ----------
    c : SupplementChange
        The change.

    Returns
    -------
    list of Message
        One for each, and one for those that are not counted.

    Examples
    --------
    >>> from reef_calc.plan.change_supplement import change_supplement
    >>> old = Supplement("soda", {"alkalinity": 1.0}, linked={"lime salt": 0.5})
    >>> new = Supplement("strong soda", {"alkalinity": 2.0})
    >>> change = change_supplement(old, new, "alkalinity", 40.0, 100.0)
    >>> print(about_companions(change)[0].text)
    lime salt was set in a fixed ratio to soda: 20 mL a day. That ratio ends with it; set lime salt
    by the use of what it brings.
    """
    found = []
    for name, ratio in c.old.linked.items():
        if name not in c.new.linked:
            found.append(
                Message(
                    "COMPANION_STOPS",
                    f"{name} was set in a fixed ratio to {c.old.name}: "
                    f"{amount_text(ratio * c.amount_now, 'mL')} a day. That ratio ends with it; set "
                    f"{name} by the use of what it brings.",
                    "qualified",
                )
            )
    for name, ratio in c.new.linked.items():
        found.append(
            Message(
                "COMPANION_NEEDED",
                f"{c.new.name} is given together with {name}: {amount_text(ratio * c.amount_then, 'mL')} "
                f"of {name} a day, in step with the days below, at least 30 minutes apart.",
                "qualified",
            )
        )
    absent = sorted({*c.old.linked, *c.new.linked} - c.counted)
    if absent:
        found.append(
            Message(
                "COMPANION_NOT_COUNTED",
                f"What {' and '.join(absent)} brings is not counted in these figures.",
                "qualified",
            )
        )
    return found


def what_piles_up(c: SupplementChange) -> list[Message]:
    """Return what else rises or falls within 30 days: other ions, chloride : sulfate, salt.

    Parameters
    ----------
    c : SupplementChange
        The change.

    Returns
    -------
    list of Message
        Only what is more than kits scatter.

    Examples
    --------
    >>> from reef_calc.plan.change_supplement import change_supplement
    >>> old = Supplement("soda", {"alkalinity": 1.0})
    >>> new = Supplement("nitrate soda", {"alkalinity": 1.0, "nitrate": 2.0})
    >>> change = change_supplement(old, new, "alkalinity", 40.0, 100.0)
    >>> print(what_piles_up(change)[0].text)
    Nitrate: 24 mg/L more in 30 days than with soda, before use and water changes. Test it then.
    """
    found = []
    for row in c.effects.itertuples():
        if row.element in USED or row.element in ("sodium", "chloride"):
            continue
        if abs(row.in_30_days) > 2 * usual_scatter(row.element, row.unit):
            found.append(
                Message(
                    "ALSO_CHANGES",
                    f"{row.element.capitalize()}: {two_digits(abs(row.in_30_days))} {row.unit} "
                    f"{'more' if row.change > 0 else 'less'} in 30 days than with {c.old.name}, "
                    "before use and water changes. Test it then.",
                    "qualified" if row.change > 0 else "told",
                )
            )
    if c.chloride_to_sulfate is not None:
        sea, old, new = c.chloride_to_sulfate
        if abs(new - old) > 0.005 * sea:
            found.append(
                Message(
                    "CHLORIDE_TO_SULFATE",
                    f"Chloride : sulfate: after 30 days without water changes {new:.2f} with "
                    f"{c.new.name} and {old:.2f} with {c.old.name} (sea water {sea:.2f}).",
                )
            )
    if c.salt_before is not None and c.salt_after is not None:
        more = 30 * (c.salt_after - c.salt_before)
        if abs(more) > 0.05:
            found.append(
                Message(
                    "SALT",
                    f"Dissolved salt: {two_digits(abs(more))} g/kg {'more' if more > 0 else 'less'} "
                    f"in 30 days than with {c.old.name}, before use and water changes.",
                )
            )
    return found


def known_by_label(c: SupplementChange) -> list[Message]:
    """Return which of the two is known by its label only.

    Parameters
    ----------
    c : SupplementChange
        The change.

    Returns
    -------
    list of Message
        One, or none.

    Examples
    --------
    >>> from reef_calc.plan.change_supplement import change_supplement
    >>> one = Supplement("soda", {"alkalinity": 1.0}, dissolved_salt_mg=53.0)
    >>> known_by_label(change_supplement(one, one, "alkalinity", 40.0, 100.0))
    []
    """
    names = [one.name for one in (c.old, c.new) if one.dissolved_salt_mg is None]
    if not names:
        return []
    return [
        Message(
            "LABEL_ONLY",
            f"Of {' and '.join(dict.fromkeys(names))} only a label strength is known: what else it "
            "brings cannot be told.",
            "qualified",
        )
    ]


def _with_counted(one: Supplement, counted: frozenset[str]) -> str:
    return " with ".join((one.name, *sorted(counted.intersection(one.linked))))


def usual_scatter(element: str, unit: str) -> float:
    """Return what a kit usually scatters by at the level of sea water.

    Parameters
    ----------
    element : str
        Element.
    unit : str
        Unit of the result.

    Returns
    -------
    float
        Standard deviation of one reading in ``unit``.

    Examples
    --------
    >>> usual_scatter("calcium", "mg/L")
    10.0
    """
    level = reference_levels().get(element)
    if level is None:
        return usual_sd(element, 0.0, unit)
    stored = level.meq_per_L if level.mg_per_L is None else level.mg_per_L
    at = convert(stored or 0.0, ELEMENTS[element].store_unit, unit, element)
    return usual_sd(element, at, unit)
