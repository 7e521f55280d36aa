"""What is said of the difference of two kits from the log: the answer, and what would help."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from reef_calc.compare.kit_names import kit_label
from reef_calc.compare.worth_in_pairs import (
    OVERLAPS,
    USUAL_OVERLAPS,
    half_after_pairs,
)
from reef_calc.numbers_in_words import decimals_for, fixed

if TYPE_CHECKING:
    from reef_calc.compare.from_the_log import LogDifference

NEW_WATER_TOO = ("magnesium", "potassium")
WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def counted(n: int, one: str, many: str = "") -> str:
    """Return a number of things in words.

    Parameters
    ----------
    n : int
        Number.
    one, many : str
        Name of one and of several; ``one`` with an s when not given.

    Returns
    -------
    str
        Such as "1 reading", "8 readings".

    Examples
    --------
    >>> counted(1, "reading"), counted(8, "reading")
    ('1 reading', '8 readings')
    """
    return f"{n} {one if n == 1 else many or one + 's'}"


def above_or_below(difference: float, low: float, high: float, unit: str, a: str, b: str) -> str:
    """Return in words how kit B reads against kit A.

    Parameters
    ----------
    difference, low, high : float
        B − A and its interval (unit).
    unit : str
        Unit.
    a, b : str
        What the kits are called.

    Returns
    -------
    str
        A sentence without its full stop.

    Examples
    --------
    >>> above_or_below(0.3, 0.13, 0.47, "dKH", "kit A", "kit B")
    'kit B reads 0.30 dKH above kit A (0.13 to 0.47)'
    >>> above_or_below(0.05, -0.08, 0.18, "dKH", "kit A", "kit B")
    'no difference between kit A and kit B shows: kit B reads from 0.08 dKH below to 0.18 above'
    """
    half = (high - low) / 2
    # Both ends are read on their own, so the half-width is told to two digits more often.
    decimals = decimals_for(half / 2) if half > 0 else 2
    if low <= 0.0 <= high:
        return (
            f"no difference between {a} and {b} shows: {b} reads from {_out(-low, decimals)} "
            f"{unit} below to {_out(high, decimals)} above"
        )
    near, far = sorted((abs(low), abs(high)))
    # Never an interval that seems to reach 0 where it does not.
    while float(f"{near:.{max(decimals, 0)}f}") == 0.0 and decimals < 6:
        decimals += 1
    side = "above" if difference > 0 else "below"
    return (
        f"{b} reads {fixed(abs(difference), decimals)} {unit} {side} {a} "
        f"({fixed(near, decimals)} to {fixed(far, decimals)})"
    )


def _out(value: float, decimals: int) -> str:
    """Return a bound rounded away from zero, so that what is said of it stays true."""
    step = 10.0**-decimals
    return fixed(math.ceil(value / step - 1e-9) * step, decimals)


def difference_sentence(found: LogDifference) -> str:
    """Return the answer in words.

    Parameters
    ----------
    found : LogDifference
        Result with its messages.

    Returns
    -------
    str
        Sentences; those of the refusal where there is no number.

    Examples
    --------
    See :func:`reef_calc.compare.from_the_log.difference_from_log`.
    """
    refused = [m.text for m in found.messages if m.kind == "refused"]
    if found.difference is None or found.low is None or found.high is None:
        return " ".join(refused)
    f, own = found.fit, found.table[found.table["of"] != ""]
    said = above_or_below(
        found.difference, found.low, found.high, found.unit, found.kit_a, found.kit_b
    )
    decimals = level_decimals(found)
    low, high = (fixed(x, decimals) for x in (own["expected"].min(), own["expected"].max()))
    at = f"levels from {low} to {high}" if low != high else f"a level of {low}"
    sentences = [
        f"{capital(said)}, at {at} {found.unit} on the scale of {found.kit_a}.",
        f"This comes from {counted(f.n_b, 'reading')} of {found.kit_b} and {f.n_a} of "
        f"{found.kit_a}; movement by use, doses and water changes is taken out.",
        _worth(f.worth),
    ]
    part = found.proportional
    if part is not None and part.low * part.high > 0:
        sentences.append(
            f"The difference {'grows' if part.slope > 0 else 'shrinks'} with the level: by "
            f"{_per_cent(part.slope, part.low, part.high)} of it."
        )
    sentences += [m.text for m in found.messages if m.code == "ONE_SIDED_IN_TIME"]
    return " ".join(sentences)


def _per_cent(slope: float, low: float, high: float) -> str:
    near, far = sorted((abs(low), abs(high)))
    decimals = max(decimals_for(50 * (far - near)), 0)
    return (
        f"{fixed(100 * abs(slope), decimals)} % "
        f"({fixed(100 * near, decimals)} to {fixed(100 * far, decimals)})"
    )


def _worth(worth: float) -> str:
    if worth < 0.95:
        return "That is worth less than one test of the same water with both."
    number = fixed(worth, 0 if worth >= 2.95 else 1).removesuffix(".0")
    return f"That is worth about {number} test{'' if number == '1' else 's'} of the same water with both."


def what_would_help(found: LogDifference) -> str:
    """Return what would make the difference clearer, with what it would bring.

    Parameters
    ----------
    found : LogDifference
        Result.

    Returns
    -------
    str
        A sentence or two.

    Examples
    --------
    See :func:`reef_calc.compare.from_the_log.difference_from_log`.
    """
    pairs = OVERLAPS.get(found.element, USUAL_OVERLAPS)
    f = found.fit
    after = half_after_pairs(f.half, f.worth, pairs)
    decimals = decimals_for(after)
    tests = f"{WORDS[pairs]} tests of the same water with both kits, on different days,"
    if found.difference is None:
        text = (
            f"{tests.capitalize()} would tell it to about ± {fixed(after, decimals)} {found.unit}"
        )
    elif fixed(f.half, decimals) == fixed(after, decimals):
        text = f"{tests.capitalize()} would hardly narrow ± {fixed(f.half, decimals)} {found.unit}"
    else:
        text = (
            f"{tests.capitalize()} would bring it from ± {fixed(f.half, decimals)} to about "
            f"± {fixed(after, decimals)} {found.unit}"
        )
    text += "."
    if found.element in NEW_WATER_TOO:
        text += " Test the new water with both kits as well, twice: that tells the most."
    t = found.table["day"]
    between = found.table[
        (found.table["of"] == "") & (t > found.when.last) & (t < found.when.first)
    ]
    if found.difference is None and len(between):
        names = dict.fromkeys(zip(between["kit"], between["lot"], strict=True))
        text += (
            f" In between was read with {listed(tuple(kit_label(*g) for g in names))}: compare one "
            "after the other."
        )
    return text


def level_decimals(found: LogDifference) -> int:
    """Return the decimals of the finer scale, or of the scatter where no step is known.

    Parameters
    ----------
    found : LogDifference
        Result with its table.

    Returns
    -------
    int
        Decimals of a level, from 0.

    Examples
    --------
    See :func:`reef_calc.compare.from_the_log.difference_from_log`.
    """
    steps = found.table.loc[found.table["of"] != "", "resolution"].to_numpy(float)
    finest = steps[steps > 0].min() if np.any(steps > 0) else found.fit.sd_a
    return max(0, math.ceil(-math.log10(finest) - 1e-9))


def listed(names: tuple[str, ...]) -> str:
    """Return names as a list in words.

    Parameters
    ----------
    names : tuple of str
        At least one name.

    Returns
    -------
    str
        Such as "Ida, Jo and Kim".

    Examples
    --------
    >>> listed(("Ida",)), listed(("Ida", "Jo", "Kim"))
    ('Ida', 'Ida, Jo and Kim')
    """
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def capital(text: str) -> str:
    """Return a text with its first letter as a sentence begins.

    Parameters
    ----------
    text : str
        Text.

    Returns
    -------
    str
        The same otherwise.

    Examples
    --------
    >>> capital("kit B reads")
    'Kit B reads'
    """
    return text[:1].upper() + text[1:]
