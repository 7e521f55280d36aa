"""What is said of kits on standards and of kits against each other; never which one is right."""

from __future__ import annotations

import math

from reef_calc.bench.bias_forms import sentence_on_difference
from reef_calc.compare.belief import KitBelief
from reef_calc.compare.bias_together import Contrast
from reef_calc.compare.lot_words import capital, counted, size_with_interval
from reef_calc.numbers_in_words import decimals_for, fixed, upper_bound

_MOST_WORTH = 20


def on_standard_words(
    name: str, bias: Contrast, u_standard: float, unit: str,
    recovery: tuple[float, float, float] | None,
) -> tuple[str, ...]:  # fmt: skip
    """Return what the standard says of one kit.

    Parameters
    ----------
    name : str
        Kit and lot.
    bias : Contrast
        Read minus standard, in ``unit``.
    u_standard : float
        Part of its uncertainty from the standard (``unit``).
    unit : str
        Unit.
    recovery : tuple of float or None
        Read over standard with its interval (share).

    Returns
    -------
    tuple of str
        Sentences.

    Examples
    --------
    >>> on_standard_words("drops, lot A", Contrast(0.2, 0.15, 1.96), 0.05, "dKH", None)
    ('On the standard drops, lot A reads 0.2 dKH high (± 0.3 dKH, of which ± 0.1 from the standard
    itself). That is not enough to correct it.',)
    """
    said = sentence_on_difference(bias.value, bias.u, u_standard, bias.t, unit, bias.shown)
    told = [said.replace("this kit", name, 1)]
    if recovery is not None:
        middle, low, high = (100.0 * share for share in recovery)
        decimals = max(0, decimals_for((high - low) / 4))
        told.append(
            f"It finds {fixed(middle, decimals)} % of what is in the standard "
            f"({fixed(low, decimals)} to {fixed(high, decimals)} %)."
        )
    return tuple(told)


def differ_words(
    one: str, other: str, difference: tuple[float, float, float], unit: str, waters: int
) -> str:
    """Return by how much two kits differ where no standard says more.

    Parameters
    ----------
    one, other : str
        Names.
    difference : tuple of float
        Other minus one with the ends of its interval (``unit``).
    unit : str
        Unit.
    waters : int
        Waters in common (a count); 0 where the difference comes from the whole log.

    Returns
    -------
    str
        One sentence.

    Examples
    --------
    >>> differ_words("kit A", "kit B", (0.35, 0.27, 0.43), "dKH", 8)
    'Kit B reads 0.35 dKH higher than kit A (0.27 to 0.43) on 8 waters.'
    >>> differ_words("kit A", "kit B", (0.05, -0.05, 0.15), "dKH", 1)
    'Kit A and kit B cannot be told apart on 1 water: a difference of up to 0.15 dKH is not excluded.'
    """
    value, low, high = difference
    where = f" on {counted(waters, 'water')}" if waters else " in the log"
    if low <= 0.0 <= high:
        most = upper_bound(max(abs(low), abs(high)))
        return (
            f"{capital(one)} and {other} cannot be told apart{where}: a difference of up to {most} "
            f"{unit} is not excluded."
        )
    amount, _, interval = size_with_interval(value, low, high, unit).partition(" (")
    return f"{capital(other)} reads {amount} than {one} ({interval}{where}."


def nearer_words(
    one: KitBelief, other: KitBelief, apart: Contrast, both: Contrast, level: float, unit: str
) -> tuple[str, str]:
    """Return which of two kits lies nearer to the standard, as far as that can be told.

    Parameters
    ----------
    one, other : KitBelief
        Two kits with a bias.
    apart, both : Contrast
        Bias of the other less that of the one, and their sum (``unit``).
    level : float
        Level of the standard (``unit``).
    unit : str
        Unit.

    Returns
    -------
    tuple of str
        Name of the nearer one, empty where it cannot be told, and the sentence.

    Notes
    -----
    One lies nearer when both the difference and the sum of the two biases are shown: |b₁| < |b₂| if
    and only if (b₂ − b₁)·(b₂ + b₁) > 0. Requiring both keeps the error of each.

    Examples
    --------
    >>> def kit(name, value):
    ...     return KitBelief(name, "", name, None, 3, None, Contrast(value, 0.05, 2.0), 0.0, None,
    ...                      math.inf, None, None, "", ())
    >>> nearer_words(kit("A", 0.0), kit("B", 0.4), Contrast(0.4, 0.07, 2.0), Contrast(0.4, 0.07, 2.0),
    ...              8.0, "dKH")
    ('A', 'A lies nearer to the standard of 8.0 dKH than B. At such levels believe A more.')
    """
    at = f"the standard of {fixed(level, _level_decimals(level, apart))} {unit}"
    if apart.shown and both.shown:
        far, near = (other, one) if apart.value * both.value > 0 else (one, other)
        said = f"{capital(near.name)} lies nearer to {at} than {far.name}."
        if near.bias is not None and near.bias.shown:
            return (
                near.name,
                f"{said} It is off too, by less. At such levels believe it more, not wholly.",
            )
        return near.name, f"{said} At such levels believe {near.name} more."
    if apart.shown:
        amount = size_with_interval(apart.value, apart.low, apart.high, unit)
        size, _, interval = amount.partition(" (")
        return "", (
            f"On {at} {other.name} reads {size} than {one.name} ({interval}, but which of the two lies "
            "nearer to it cannot be told."
        )
    most = upper_bound(max(abs(apart.low), abs(apart.high)))
    return "", (
        f"On {at} {one.name} and {other.name} cannot be told apart: a difference of up to {most} {unit} "
        "is not excluded. So neither is to be believed more."
    )


def _level_decimals(level: float, apart: Contrast) -> int:
    return max(0, min(3, decimals_for(apart.u))) if apart.u > 0 else 1


def readings_that_decide(contrast: Contrast, fixed_u: float, readings: int) -> int | None:
    """Return how many further readings with each kit would show a sum of biases as large as this.

    (u² − u_fixed²)·n/(n + m) + u_fixed² = (value/t)²

    Parameters
    ----------
    contrast : Contrast
        The sum of biases.
    fixed_u : float
        Part of its uncertainty that readings of the same bottles do not narrow (its unit).
    readings : int
        Readings n each kit has now (a count); of the kit with fewest.

    Returns
    -------
    int or None
        m; 0 where it is shown; None where no number of 20 or fewer does.

    Examples
    --------
    >>> readings_that_decide(Contrast(0.2, 0.15, 2.0), 0.05, 2)
    4
    >>> readings_that_decide(Contrast(0.05, 0.15, 2.0), 0.05, 2) is None
    True
    """
    if contrast.shown:
        return 0
    wanted = (contrast.value / contrast.t) ** 2 - fixed_u**2
    own = contrast.u**2 - fixed_u**2
    if wanted <= 0.0:
        return None
    more = math.ceil(readings * (own / wanted - 1.0) - 1e-9)
    return max(1, more) if more <= _MOST_WORTH else None
