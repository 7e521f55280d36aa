"""What may have been meant by a number that was typed wrongly: points, digits left out or exchanged."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from functools import lru_cache
from typing import Literal

SlipKind = Literal["point", "exchanged", "twice"]
_POWERS = (1, -1, 2, -2, 3, -3)


@lru_cache(maxsize=65536)
def digit_slips(value: float) -> tuple[tuple[SlipKind, float], ...]:
    """Return the numbers that one slip of typing turns into a value.

    Parameters
    ----------
    value : float
        Number as it stands, above zero, in any unit.

    Returns
    -------
    tuple of (str, float)
        ``point``: the decimal point moved, or a zero left out or added. ``exchanged``: two
        neighbouring digits. ``twice``: a digit typed twice.

    Notes
    -----
    The digits are those of the shortest decimal form: a zero at the end of 8.30 is not known.

    Examples
    --------
    >>> ("exchanged", 470.0) in digit_slips(740.0), ("twice", 420.0) in digit_slips(4220.0)
    (True, True)
    >>> ("point", 8.4) in digit_slips(84.0)
    True
    """
    text = f"{value:.10g}"
    if "e" in text:
        return ()
    return (*_points(text), *_exchanged(text), *_twice(text))


def _points(text: str) -> Iterator[tuple[SlipKind, float]]:
    for power in _POWERS:
        # Through text, so that 0.83 tenfold is 8.3 and not 8.299999999999999.
        yield "point", float(f"{text}e{power}")


def _exchanged(text: str) -> Iterator[tuple[SlipKind, float]]:
    places = [i for i, sign in enumerate(text) if sign.isdigit()]
    for i, j in itertools.pairwise(places):
        if text[i] != text[j]:
            signs = [*text]
            signs[i], signs[j] = text[j], text[i]
            yield "exchanged", float("".join(signs))


def _twice(text: str) -> Iterator[tuple[SlipKind, float]]:
    for i, (one, other) in enumerate(itertools.pairwise(text)):
        if one == other and one.isdigit():
            yield "twice", float(text[:i] + text[i + 1 :])
