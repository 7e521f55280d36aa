"""Amounts to set and supplies, with the digits that somebody can set or tell apart."""

from __future__ import annotations

import math

from reef_calc.numbers_in_words import fixed
from reef_calc.plan.change_also import amount_text
from reef_calc.show.plan_words import decimals_of_step


def dose_text(amount: float, unit: str) -> str:
    """Return an amount to set, with no digits that nobody can set.

    Parameters
    ----------
    amount : float
        Amount in ``unit``.
    unit : str
        mL or g.

    Returns
    -------
    str
        From 1000 mL on in litres; halves stay.

    Examples
    --------
    >>> dose_text(167.5, "mL"), dose_text(776.72, "mL"), dose_text(4660.3, "mL"), dose_text(4.0, "g")
    ('167.5 mL', '777 mL', '4.66 L', '4 g')
    """
    if amount >= 999.5:
        return f"{fixed(amount / 1000.0, 2)} {'L' if unit == 'mL' else 'kg'}"
    if amount >= 100.0 and abs(2 * amount - round(2 * amount)) > 1e-6:
        return f"{fixed(amount, 0)} {unit}"
    text, _, word = amount_text(amount, unit).partition(" ")
    return f"{text.removesuffix('.0')} {word}"


def set_text(amount: float, unit: str, step: float) -> str:
    """Return an amount as it is set: to the pump's step, or with three digits.

    Parameters
    ----------
    amount : float
        Amount in ``unit``.
    unit : str
        mL or g.
    step : float
        Smallest step (``unit``); 0 where any amount can be set.

    Returns
    -------
    str
        From 1000 mL on in litres.

    Examples
    --------
    >>> set_text(2.1416, "mL", 0.0), set_text(2.25, "mL", 0.05), set_text(51.4, "mL", 0.0)
    ('2.14 mL', '2.25 mL', '51.4 mL')
    """
    if amount >= 999.5 or amount <= 0.0:
        return dose_text(amount, unit)
    decimals = decimals_of_step(step) if step > 0.0 else supply_decimals(amount)
    text = fixed(amount, max(decimals, 1) if amount < 100.0 else decimals)
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {unit}"


def supply_text(value: float) -> str:
    """Return a supply with three significant digits.

    Parameters
    ----------
    value : float
        Supply, 0 or more, in any unit.

    Returns
    -------
    str
        The number.

    Examples
    --------
    >>> supply_text(1.1452), supply_text(0.0), supply_text(12.0)
    ('1.15', '0', '12.0')
    """
    return fixed(value, supply_decimals(value)) if value else "0"


def supply_decimals(value: float) -> int:
    """Return the decimals of a supply with three significant digits.

    Parameters
    ----------
    value : float
        Supply above 0, in any unit.

    Returns
    -------
    int
        Decimals, none below 0.

    Examples
    --------
    >>> supply_decimals(1.1452)
    2
    """
    return max(0, 2 - math.floor(math.log10(abs(value)))) if value else 0
