"""Dilution series from a stock of known strength, each with its uncertainty."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from reef_calc.bench.standards import KEEP_SAFE, StandardWater
from reef_calc.bench.weighing import (
    budget_of,
    check_above_zero,
    check_not_negative,
    check_volumes,
    combined_u,
)
from reef_calc.chem.elements import element as find_element
from reef_calc.chem.salts import LABEL_FIRST
from reef_calc.chem.units import convert
from reef_calc.errors import InputError


def diluted(
    stock: StandardWater,
    taken_mL: float,
    flask_mL: float,
    *,
    u_taken_mL: float,
    u_flask_mL: float,
    blank: float = 0.0,
    u_blank: float = 0.0,
) -> StandardWater:
    """Return the water made by diluting a part of a stock.

    C = Cs·Vt/Vf + Cw·(1 − Vt/Vf)

    Parameters
    ----------
    stock : StandardWater
        The stock.
    taken_mL, flask_mL : float
        Volume of stock taken, and volume it is filled to (mL).
    u_taken_mL, u_flask_mL : float
        Their standard uncertainties (mL).
    blank, u_blank : float, optional
        What the diluting water holds, in the stock's unit, and its standard uncertainty.

    Returns
    -------
    StandardWater
        Level and uncertainties in the stock's unit; ``u_stock`` is shared by all its dilutions.

    Raises
    ------
    InputError
        If more is taken than the flask or the stock holds, or a number cannot be used.

    Examples
    --------
    >>> from reef_calc.bench.standards import weighed_standard
    >>> stock = weighed_standard("nitrate", 1000.0, "mg/L", 1000.0, u_balance_g=0.001,
    ...                          u_flask_mL=0.6)
    >>> ten = diluted(stock, 10.0, 1000.0, u_taken_mL=0.05, u_flask_mL=0.6)
    >>> round(ten.level, 2), round(ten.u, 3), round(ten.u_stock, 3)
    (10.0, 0.059, 0.03)

    References
    ----------
    Propagation: JCGM 100:2008, equation 10.
    """
    check_volumes(taken_mL, flask_mL, u_taken_mL, u_flask_mL)
    if not 0 < taken_mL <= min(flask_mL, stock.volume_mL):
        raise InputError(
            f"a part of the stock between 0 and {min(flask_mL, stock.volume_mL):g} mL",
            f"{taken_mL!r} mL",
            "Take less, or fill a larger flask.",
        )
    if not (blank >= 0 and u_blank >= 0):
        raise InputError("a blank of 0 or more", (blank, u_blank), "Write 0 for pure water.")
    share = taken_mL / flask_mL
    step = stock.level - blank
    budget = budget_of(
        {
            f"stock, {stock.unit}": (stock.level, stock.u, share),
            "stock taken, mL": (taken_mL, u_taken_mL, step / flask_mL),
            "volume of flask, mL": (flask_mL, u_flask_mL, -step * share / flask_mL),
            f"the water itself, {stock.unit}": (blank, u_blank, 1.0 - share),
        }
    )
    steps = (f"Take {taken_mL:g} mL of the stock and fill to the mark of {flask_mL:g} mL. Mix.",)
    return StandardWater(
        stock.element,
        stock.unit,
        stock.level * share + blank * (1.0 - share),
        combined_u(budget),
        stock.u * share,
        flask_mL,
        budget,
        steps,
        stock.cautions,
    )


def dilution_series(
    stock: StandardWater,
    levels: Sequence[float],
    flask_mL: float,
    *,
    u_taken_mL: float | Callable[[float], float],
    u_flask_mL: float,
    blank: float = 0.0,
    u_blank: float = 0.0,
) -> tuple[StandardWater, ...]:
    """Return separately mixed dilutions of one stock at the wanted levels.

    Vt = Vf·(C − Cw)/(Cs − Cw)

    Parameters
    ----------
    stock : StandardWater
        The stock.
    levels : sequence of float
        Wanted levels in the stock's unit, above the blank and up to the stock.
    flask_mL : float
        Volume of the flask (mL).
    u_taken_mL : float or callable
        Standard uncertainty of the part taken (mL); a function of the part where it depends on it.
    u_flask_mL : float
        Standard uncertainty of the flask (mL).
    blank, u_blank : float, optional
        What the diluting water holds, in the stock's unit, and its standard uncertainty.

    Returns
    -------
    tuple of StandardWater
        One for each level, in the order given.

    Raises
    ------
    InputError
        If a level lies outside what the stock can give.

    Examples
    --------
    >>> from reef_calc.bench.standards import weighed_standard
    >>> stock = weighed_standard("phosphate", 100.0, "mg/L", 1000.0, u_balance_g=0.0002,
    ...                          u_flask_mL=0.6)
    >>> series = dilution_series(stock, [0.05, 0.1], 1000.0, u_taken_mL=0.005, u_flask_mL=0.6)
    >>> [one.steps[0][:11] for one in series]
    ['Take 0.5 mL', 'Take 1 mL o']

    References
    ----------
    Mass balance; no source needed.
    """
    for level in levels:
        if not blank < level <= stock.level:
            raise InputError(
                f"a level above {blank:g} and up to {stock.level:g} {stock.unit}",
                level,
                "Choose another level, or make a stronger stock.",
            )
    made = []
    for level in levels:
        taken = flask_mL * (level - blank) / (stock.level - blank)
        u_taken = u_taken_mL(taken) if callable(u_taken_mL) else u_taken_mL
        made.append(
            diluted(
                stock, taken, flask_mL, u_taken_mL=u_taken, u_flask_mL=u_flask_mL,
                blank=blank, u_blank=u_blank,
            )
        )  # fmt: skip
    return tuple(made)


def levels_around(middle: float, span: float, count: float) -> list[float]:
    """Return equally spaced levels around one level.

    C_i = C·(1 − s + 2·s·i/(n − 1))

    Parameters
    ----------
    middle : float
        The level in the middle, above 0, any unit.
    span : float
        How far the levels reach to each side (share of the middle), above 0 and below 1.
    count : float
        Number of levels, a whole number from 2 to 20.

    Returns
    -------
    list of float
        Levels from low to high, in the unit of the middle.

    Raises
    ------
    InputError
        If a number cannot be used.

    Examples
    --------
    >>> levels_around(8.0, 0.5, 5)
    [4.0, 6.0, 8.0, 10.0, 12.0]

    References
    ----------
    Five levels over ± 50 % for a kit study: own simulation.
    """
    check_above_zero("the level in the middle", middle)
    if not 0 < span < 1:
        raise InputError(
            "a span above 0 and below 100 %", f"{100 * span:g} %", "Write 50 for half."
        )
    if count not in range(2, 21):
        raise InputError(
            "a number of levels from 2 to 20", count, "Five are enough for a kit study."
        )
    return [middle * (1.0 - span + 2.0 * span * i / (count - 1)) for i in range(int(count))]


def stated_stock(
    element: str, level: float, unit: str, u: float, *, volume_mL: float = math.inf
) -> StandardWater:
    """Return a solution of known strength that was bought, or made earlier, as a stock.

    Parameters
    ----------
    element : str
        Element.
    level : float
        Level above 0 in ``unit``.
    unit : str
        Unit, per litre.
    u : float
        Standard uncertainty of the level in ``unit``.
    volume_mL : float, optional
        How much there is (mL).

    Returns
    -------
    StandardWater
        The stock; its budget has one row.

    Raises
    ------
    InputError
        If the level or its uncertainty cannot be used, or the unit is not one of the element per
        litre.

    Examples
    --------
    >>> stated_stock("nitrate", 1000.0, "mg/L", 5.0).u
    5.0

    References
    ----------
    None needed: the numbers are those of the label.
    """
    check_above_zero("the level of the solution", level)
    check_not_negative("the standard uncertainty of the solution", u)
    described = find_element(element)
    convert(level, unit, described.store_unit, described.name)  # refuses units per kilogram
    budget = budget_of({f"the solution, {unit}": (level, u, 1.0)})
    return StandardWater(
        described.name, unit, level, u, 0.0, volume_mL, budget, (), (LABEL_FIRST, KEEP_SAFE)
    )
