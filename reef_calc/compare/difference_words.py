"""A difference between two kits in words: which reads higher, by how much, from where to where."""

from __future__ import annotations

import numpy as np

from reef_calc.numbers_in_words import fixed


def reads_words(estimate: float, kit_a: str, kit_b: str, unit: str, decimals: int) -> str:
    """Return which kit reads higher, and by how much.

    Parameters
    ----------
    estimate : float
        Difference B − A (unit).
    kit_a, kit_b, unit : str
        Names of the kits, and the unit.
    decimals : int
        Number of decimals.

    Returns
    -------
    str
        Words without a full stop.

    Examples
    --------
    >>> reads_words(-0.25, "drops", "syringe", "dKH", 2)
    'syringe reads 0.25 dKH below drops'
    """
    # A digit or two more rather than "no difference" where the interval is wide.
    sizes = [fixed(abs(estimate), decimals + more) for more in range(3)]
    size = next((one for one in sizes if float(one) > 0.0), "")
    if not size:
        return f"{kit_b} reads the same as {kit_a} on average"
    return f"{kit_b} reads {size} {unit} {'above' if estimate > 0 else 'below'} {kit_a}"


def span_words(low: float, high: float, decimals: int) -> str:
    """Return an interval of a difference in words that need no sign.

    Parameters
    ----------
    low, high : float
        Ends of the interval (unit).
    decimals : int
        Number of decimals.

    Returns
    -------
    str
        Such as "0.10 below to 0.34 above".

    Examples
    --------
    >>> span_words(0.5, 0.74, 2), span_words(-0.74, -0.5, 2), span_words(-0.1, 0.34, 2)
    ('0.50 to 0.74 above', '0.50 to 0.74 below', '0.10 below to 0.34 above')
    """
    near, far = fixed(abs(low), decimals), fixed(abs(high), decimals)
    if low >= 0.0:
        return f"{near} to {far} above"
    if high <= 0.0:
        return f"{far} to {near} below"
    return f"{near} below to {far} above"


def plain(value: float, digits: int = 4) -> str:
    """Return a number with few digits and without an exponent.

    Parameters
    ----------
    value : float
        Number in any unit.
    digits : int, optional
        Number of significant digits.

    Returns
    -------
    str
        Such as "0.3" or "1290".

    Examples
    --------
    >>> plain(0.30000001), plain(1290.0), plain(0.00012)
    ('0.3', '1290', '0.00012')
    """
    return np.format_float_positional(
        float(f"{value:.{digits}g}"), trim="-", fractional=False
    ).replace("-", "−")


def percent_words(share: float) -> str:
    """Return a confidence in per cent, never rounded up to all.

    Parameters
    ----------
    share : float
        Confidence, a share below 1.

    Returns
    -------
    str
        Such as "95 %".

    Examples
    --------
    >>> percent_words(0.95), percent_words(0.965994), percent_words(0.999978)
    ('95 %', '96.6 %', '99.998 %')
    """
    whole = abs(100.0 * share - round(100.0 * share)) < 1e-9
    decimals = 0 if whole else 1
    while round(100.0 * share, decimals) >= 100.0 and decimals < 8:
        decimals += 1
    return f"{100.0 * share:.{decimals}f} %"
