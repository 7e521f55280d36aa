"""The tables of a change of supplement: what else changes, what pH does, the days, and as CSV."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from reef_calc.chem.stock_words import two_digits
from reef_calc.chem.supplements import Supplement
from reef_calc.numbers_in_words import fixed
from reef_calc.show.set_amounts import dose_text, set_text, supply_decimals
from reef_calc.show.supplement_swap import Swap
from reef_calc.show.tables import table_html
from reef_calc.show.wording import MONTHS, element_name, escape


def effects_html(found: Swap) -> str:
    """Return what both bring of every element, as a table.

    Parameters
    ----------
    found : Swap
        The change.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.chem.supplements import Supplement
    >>> from reef_calc.show.dose_on_ph import WaterNow
    >>> from reef_calc.show.supplement_swap import swap
    >>> old, new = (Supplement(name, {"alkalinity": 1.0}) for name in ("old", "new"))
    >>> effects_html(swap(old, new, "alkalinity", "dKH", 40.0, WaterNow(100.0),
    ...              start=dt.date(2026, 3, 1))).count("<tr>")
    2
    """
    change = found.change
    rows = []
    for row in change.effects.itertuples():
        name = str(row.element)
        # A label tells of one element; of the rest nothing is known, which is not the same as none.
        dark = [_not_told(one, name) for one in (change.old, change.new)]
        amounts = [
            "not told" if hidden else two_digits(float(value))
            for hidden, value in zip(dark, (row.before, row.after), strict=True)
        ]
        moves = (
            ["not told"] * 2
            if any(dark)
            else [_signed(float(row.change)), _signed(float(row.in_30_days))]
        )
        rows.append((element_name(name), str(row.unit), *amounts, *moves))  # fmt: skip
    if change.salt_before is not None and change.salt_after is not None:
        more = change.salt_after - change.salt_before
        rows.append(
            (
                "Dissolved salt", "g/kg", two_digits(change.salt_before),
                two_digits(change.salt_after), _signed(more), _signed(30 * more),
            )
        )  # fmt: skip
    part = " for the part that is changed" if found.stays > 0.0 else ""
    caption = (
        f"What a day brings to the tank{part}, before use and water changes. A kit cannot tell small "
        "differences; chloride and sodium pile up until a water change takes them out."
    )
    heads = ("Element", "Unit", change.old.name, change.new.name, "Change a day", "In 30 days")
    return table_html(caption, heads, rows, numbers=(2, 3, 4, 5))


def _not_told(one: Supplement, element: str) -> bool:
    return one.dissolved_salt_mg is None and element not in one.adds


def ph_html(found: Swap) -> str:
    """Return what one dose of either does to pH, as a table, or why it is not told.

    Parameters
    ----------
    found : Swap
        The change.

    Returns
    -------
    str
        HTML; empty where neither moves pH.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.chem.supplements import Supplement
    >>> from reef_calc.show.dose_on_ph import WaterNow
    >>> from reef_calc.show.supplement_swap import swap
    >>> old, new = (Supplement(name, {"alkalinity": 1.0}) for name in ("old", "new"))
    >>> ph_html(swap(old, new, "alkalinity", "dKH", 40.0, WaterNow(100.0), start=dt.date(2026, 3, 1)))
    '<p>What a dose does to pH is not told: neither a plan nor an aim says the alkalinity of the tank.</p>'
    """
    words = f"<p>{escape(found.ph_words)}</p>" if found.ph_words else ""
    if not found.ph:
        return words
    rows = []
    for one in found.ph:
        ends = [_signed(end - one.before, 2) for end in (one.low, one.high)]
        known = fixed(one.low, 2) == fixed(one.high, 2)
        rows.append(
            (
                one.name, dose_text(one.amount, one.unit), fixed(one.before, 2),
                ends[0] if known else f"{ends[0]} to {ends[1]}, by what it is made of",
            )
        )  # fmt: skip
    caption = (
        "pH (NBS scale, as a meter shows it) right after one dose, mixed in the whole tank, before the "
        "air of the room evens it out. Where the dose runs in it is far more."
    )
    heads = ("Supplement", "One dose", "pH before", "Right after")
    return table_html(caption, heads, rows, texts=(3,)) + words


def days_html(found: Swap) -> str:
    """Return the days to follow as a table.

    Parameters
    ----------
    found : Swap
        The change.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.chem.supplements import Supplement
    >>> from reef_calc.show.dose_on_ph import WaterNow
    >>> from reef_calc.show.supplement_swap import swap
    >>> old, new = (Supplement(name, {"alkalinity": 1.0}) for name in ("old", "new"))
    >>> days_html(swap(old, new, "alkalinity", "dKH", 40.0, WaterNow(100.0), doses_old=4,
    ...              start=dt.date(2026, 3, 1), days=4)).count("4 × 5 mL")
    2
    """
    change, decimals = found.change, supply_decimals(found.supply)
    rows = [
        (
            "before" if row.day == 0 else str(row.day),
            day_text(row.date, year=False),
            _setting(row.old, found.doses_old, change.old.unit, found.step_old),
            _setting(row.new, found.doses_new, change.new.unit, found.step_new),
            fixed(row.arrives, decimals),
            _signed(row.drift, decimals),
        )
        for row in found.days().itertuples()
    ]
    last = int(change.days["day"].iloc[-1])
    caption = (
        f"Amounts a day as set; what arrives of {change.element} ({change.unit} a day); drift: how far "
        f"pump steps and delays have moved it in all ({change.unit}). The setting of day {last} stays."
    )
    heads = (
        "Day",
        "Date",
        change.old.name,
        change.new.name,
        "Arrives",
        "Drift",
    )
    return table_html(caption, heads, rows, numbers=(4, 5), long=len(rows) > 16)


def swap_csv(found: Swap) -> str:
    """Return the days to follow as CSV text.

    Parameters
    ----------
    found : Swap
        The change.

    Returns
    -------
    str
        Amounts a day as set and a dose; lines end with LF.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.chem.supplements import Supplement
    >>> from reef_calc.show.dose_on_ph import WaterNow
    >>> from reef_calc.show.supplement_swap import swap
    >>> old, new = (Supplement(name, {"alkalinity": 1.0}) for name in ("old", "new"))
    >>> found = swap(old, new, "alkalinity", "dKH", 40.0, WaterNow(100.0), start=dt.date(2026, 3, 1),
    ...              days=2)
    >>> print(swap_csv(found).splitlines()[2])
    1,2026-03-01,old,20,1,20,new,20,3,6.667,mL,mL,1.122,0
    """
    change = found.change
    table = found.days()
    frame = pd.DataFrame(
        {
            "day": table["day"],
            "date": table["date"],
            "from": change.old.name,
            "from_per_day": table["old"],
            "from_doses": found.doses_old,
            "from_per_dose": table["old"] / found.doses_old,
            "to": change.new.name,
            "to_per_day": table["new"],
            "to_doses": found.doses_new,
            "to_per_dose": table["new"] / found.doses_new,
            "from_unit": change.old.unit,
            "to_unit": change.new.unit,
            f"{change.element}_arrives_{change.unit}": table["arrives"],
            "drift": table["drift"].round(9) + 0.0,
        }
    )
    return str(frame.to_csv(index=False, float_format="%.4g", lineterminator="\n"))


def day_text(date: dt.date, *, year: bool = True) -> str:
    """Return a date as the pages write it.

    Parameters
    ----------
    date : datetime.date
        The date.
    year : bool, optional
        Whether the year is added.

    Returns
    -------
    str
        Such as "6 Oct 2026".

    Examples
    --------
    >>> import datetime as dt
    >>> day_text(dt.date(2026, 10, 6), year=False)
    '6 Oct'
    """
    return f"{date.day} {MONTHS[date.month - 1][:3]}" + (f" {date.year}" if year else "")


def _signed(value: float, decimals: int | None = None) -> str:
    """Return a difference with its sign; what rounds to nothing has none."""
    words = two_digits(value) if decimals is None else fixed(value, decimals)
    if abs(value) < 1e-6 or not words.strip("−0."):
        return "0"
    return words if value < 0.0 else f"+{words}"


def _setting(amount: float, doses: int, unit: str, step: float) -> str:
    """Return an amount a day, with the single dose where a pump can be set to it."""
    if amount <= 0.0:
        return "0"
    whole, each = set_text(amount, unit, step), amount / doses
    steps = each / step if step > 0.0 else 1.0
    if doses == 1 or abs(steps - round(steps)) > 1e-6:
        return whole
    return f"{whole} = {doses} × {set_text(each, unit, step)}"
