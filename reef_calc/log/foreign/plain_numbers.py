"""Numbers as they are written into a table of the tank folder: the digits of the file, a point."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache

_FIRST_NUMBER = re.compile(r"[-−+]?[0-9]*[.,]?[0-9]+")
_DIGITS = re.compile(r"[+-]?[0-9]*[.,]?[0-9]*")


@lru_cache(maxsize=65_536)
def number_text(value: float, written: str = "") -> str:
    """Return a number with a decimal point, with the digits as they were written where they fit.

    Parameters
    ----------
    value : float
        The number, in any unit.
    written : str, optional
        The cell it came from.

    Returns
    -------
    str
        Empty for NaN. Trailing zeros are kept: 8.30 says more of a scale than 8.3.

    Examples
    --------
    >>> number_text(8.3, "8,30"), number_text(420.0), number_text(0.02, "< 0.020"), number_text(1e-05)
    ('8.30', '420', '0.020', '0.00001')
    """
    if math.isnan(value):
        return ""
    for part in written.replace("−", "-").replace("\u00a0", " ").split():
        cell = part.strip("<>~≤≥?()*")
        if cell and _DIGITS.fullmatch(cell):
            text = cell.replace(",", ".").lstrip("+")
            if text.count(".") <= 1 and text not in ("", ".", "-") and float(text) == value:
                return text
    if value == int(value) and abs(value) < 1e15:
        return str(int(value))
    text = repr(value)
    return f"{Decimal(text):f}" if "e-" in text and abs(value) > 1e-9 else text


def first_numbers(texts: Sequence[str]) -> list[float]:
    """Return the first number of each text that holds one.

    Parameters
    ----------
    texts : sequence of str
        Cells.

    Returns
    -------
    list of float
        In the order of the texts; a comma is taken as the decimal mark.

    Examples
    --------
    >>> first_numbers(["8,3", "none", "<0.02 mg"])
    [8.3, 0.02]
    """
    found = (_FIRST_NUMBER.search(text) for text in texts)
    return [float(one[0].replace(",", ".").replace("−", "-")) for one in found if one]
