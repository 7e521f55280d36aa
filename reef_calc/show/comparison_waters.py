"""Waters that two kits read, in words: decimals, names short enough for a picture, each water."""

from __future__ import annotations

import numpy as np

from reef_calc.compare.pairs import Pairs
from reef_calc.numbers_in_words import decimals_for, fixed


def decimals_of_step(step: float) -> int:
    """Return how many decimals show every reading on a scale.

    Parameters
    ----------
    step : float
        Step of the scale, above 0 (any unit).

    Returns
    -------
    int
        Number of decimals, at most 6.

    Examples
    --------
    >>> decimals_of_step(0.25), decimals_of_step(5.0)
    (2, 0)
    """
    whole = (d for d in range(7) if abs(step * 10**d - round(step * 10**d)) < 1e-6 * step * 10**d)
    return next(whole, 6)


def decimals_of_pairs(pairs: Pairs) -> int:
    """Return how many decimals the mean of a water is told with.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.

    Returns
    -------
    int
        Those of the finer scale, and one more where readings are averaged.

    Examples
    --------
    >>> decimals_of_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.5, 0.1, ()))
    1
    """
    steps = [one for one in (pairs.resolution_a, pairs.resolution_b) if one > 0.0]
    averaged = any(max(len(one.a), len(one.b)) > 1 for one in pairs.waters)
    if steps:
        return min(max(decimals_of_step(one) for one in steps) + averaged, 6)
    sizes = [float(np.abs(pairs.a).mean()), float(np.abs(pairs.differences).mean())]
    size = min((one for one in sizes if one > 0.0), default=1.0)
    return min(max(decimals_for(size / 10.0), 0), 6)


def short(name: str, most: int = 18) -> str:
    """Return a name short enough for a picture.

    Parameters
    ----------
    name : str
        What a person typed.
    most : int, optional
        Largest number of letters.

    Returns
    -------
    str
        The name, or its beginning with "…".

    Examples
    --------
    >>> short("drops"), short("a kit with a very long name")
    ('drops', 'a kit with a very…')
    """
    return name if len(name) <= most else name[: most - 1].rstrip() + "…"


def water_words(pairs: Pairs) -> list[str]:
    """Return each water in words: what both kits read, and which of them reads higher.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.

    Returns
    -------
    list of str
        One a water.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> water_words(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, (Water("3", (8.0,), (8.4,)),)))
    ['Water 3: old 8.0, new 8.4 dKH, 0.4 above']
    """
    decimals = decimals_of_pairs(pairs)
    a_name, b_name = short(pairs.kit_a), short(pairs.kit_b)
    told = []
    for water, a, b in zip(pairs.waters, pairs.a, pairs.b, strict=True):
        apart = fixed(abs(float(b - a)), decimals)
        side = "alike" if float(apart) == 0.0 else f"{apart} {'above' if b > a else 'below'}"
        told.append(
            f"Water {short(water.name, 24)}: {a_name} {fixed(float(a), decimals)}, {b_name} "
            f"{fixed(float(b), decimals)} {pairs.unit}, {side}"
        )
    return told
