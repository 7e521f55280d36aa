"""Levels and aims in words, with the decimals that the kit justifies."""

from __future__ import annotations

import math
from typing import Any

from reef_calc.show.wording import fixed, is_known


def level_words(value: float | None, decimals: int, limit: str = "", upper: Any = None) -> str:
    """Return a level with the decimals its kit justifies.

    Parameters
    ----------
    value : float or None
        Level in its display unit; the kit's limit for a reading beyond it.
    decimals : int
        Decimals of the kit's step.
    limit : {'', '<', '>', 'between'}
        What the reading says about the value.
    upper : float, optional
        Upper end, same unit, for 'between'.

    Returns
    -------
    str
        "7.2", "below 0.02", "above 50", "0.02–0.05" or "no reading".

    Examples
    --------
    >>> level_words(0.02, 2, "<"), level_words(None, 1), level_words(8.0, 1)
    ('below 0.02', 'no reading', '8.0')
    """
    if value is None or not is_known(value):
        return "no reading"
    number = aim_number(value, decimals) if limit else fixed(value, decimals)
    if limit == "between":
        return f"{number}–{aim_number(upper, decimals)}" if is_known(upper) else number
    return {"<": "below ", ">": "above "}.get(limit, "") + number


def aim_number(value: float, decimals: int) -> str:
    """Return a limit as it was set: never with fewer digits than the person typed.

    Parameters
    ----------
    value : float
        Aim or limit in the display unit.
    decimals : int
        Decimals of the kit's step.

    Returns
    -------
    str
        The number.

    Examples
    --------
    >>> aim_number(7.0, 1), aim_number(0.025, 2)
    ('7.0', '0.025')
    """
    shown = fixed(value, decimals)
    if math.isclose(float(shown.replace("−", "-")), value, rel_tol=1e-9, abs_tol=1e-12):
        return shown
    return f"{value:.6g}".replace("-", "−")


def aim_words(low: float | None, high: float | None, decimals: int) -> str:
    """Return the aims as one short text.

    Parameters
    ----------
    low, high : float or None
        Ends of the aim in the display unit; None where not set.
    decimals : int
        Decimals of the kit's step.

    Returns
    -------
    str
        "aim 7.0–8.5", "aim from 7.0", "aim up to 0.10" or "no aim set".

    Examples
    --------
    >>> aim_words(7.0, 8.5, 1), aim_words(None, 0.1, 2), aim_words(None, None, 1)
    ('aim 7.0–8.5', 'aim up to 0.10', 'no aim set')
    """
    if low is not None and high is not None:
        return f"aim {aim_number(low, decimals)}–{aim_number(high, decimals)}"
    if low is not None:
        return f"aim from {aim_number(low, decimals)}"
    return f"aim up to {aim_number(high, decimals)}" if high is not None else "no aim set"
