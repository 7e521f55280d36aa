"""A whole recipe of test water: weighed directly, or through a stock where the balance is too coarse."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd

from reef_calc.bench.dilutions import diluted
from reef_calc.bench.standard_salts import care_of, dissolves_g_per_L, standard_salts
from reef_calc.bench.standards import StandardWater, sodium_chloride_g_per_L, weighed_standard
from reef_calc.bench.weighing import budget_of, check_above_zero, combined_u
from reef_calc.chem.elements import element
from reef_calc.chem.salts import Salt, find_salt
from reef_calc.chem.seawater import check_within
from reef_calc.chem.substances import mass_for
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.numbers_in_words import fixed

WAYS = ("as the balance allows", "weighed directly", "through a stock")
# Above this share of the mass a stock is offered; a stock aims at half of it, and above three times
# of it nothing is made (common practice, no source).
WEIGHING_SHARE = 0.01
# A dilution of less than this gains nothing.
_LEAST_DILUTION = 5.0
# What was weighed may differ from the recipe by this factor before it is asked about.
_STRANGE = 1.25


@dataclass(frozen=True)
class Recipe:
    """How test water is made.

    Attributes
    ----------
    water : StandardWater
        What stands on the bench in the end.
    stock : StandardWater or None
        The stock it is diluted from; None when it is weighed directly.
    taken_mL : float
        How much of the stock is taken (mL); 0 without one.
    salt : Salt
        What is weighed.
    mass_g : float
        How much is weighed (g): what the recipe asks for.
    weighed_g : float or None
        What was weighed (g), where it was told; the levels follow from it.
    weighing_share : float
        Standard uncertainty of the weighing as a share of the mass (no unit).
    sodium_chloride_g : float
        Sodium chloride in the flask (g); 0 in purified water.
    notes : tuple of str
        What to know about this recipe, in sentences.
    """

    water: StandardWater
    stock: StandardWater | None
    taken_mL: float
    salt: Salt
    mass_g: float
    weighed_g: float | None
    weighing_share: float
    sodium_chloride_g: float
    notes: tuple[str, ...]


def plan_recipe(
    name: str,
    level: float,
    unit: str,
    flask_mL: float,
    *,
    u_balance_g: float,
    u_flask_mL: float,
    pipettes: Mapping[float, float],
    step_g: float | None = None,
    way: str = WAYS[0],
    salt: str | None = None,
    hydrate: int | None = None,
    weighed_g: float | None = None,
    purity: float = 1.0,
    purity_half_width: float | None = None,
    matching_salinity: float | None = None,
    blank: float = 0.0,
    u_blank: float = 0.0,
) -> Recipe:
    """Return the recipe of test water, through a stock where the mass is too small for the balance.

    Stock: Cs = Cw + (C − Cw)·Vf/Vt, the largest pipette Vt that lets the balance weigh to 0.5 %.

    Parameters
    ----------
    name : str
        Element.
    level : float
        Wanted level in ``unit``.
    unit : str
        Unit, per litre.
    flask_mL : float
        Volume of the flask (mL); a stock is made in the same flask.
    u_balance_g : float
        Standard uncertainty of a mass (g).
    u_flask_mL : float
        Standard uncertainty of the flask (mL).
    pipettes : mapping of float to float
        Standard uncertainty (mL) of each pipette at hand by its volume (mL).
    step_g : float, optional
        Step of the balance's display (g), for the digits of the recipe.
    way : str, optional
        One of ``WAYS``.
    salt, hydrate : str and int, optional
        Salt and its water of crystallisation; the usual salt of the element when not given.
    weighed_g : float, optional
        What was really weighed (g); the levels then follow from it.
    purity, purity_half_width : float, optional
        Share of the mass that is the salt, and ± how much (no unit; rectangular).
    matching_salinity : float, optional
        Practical salinity of the sodium chloride solution (no unit); purified water when not given.
    blank, u_blank : float, optional
        What the water itself holds of the element, in ``unit``, and its standard uncertainty.

    Returns
    -------
    Recipe
        Levels and uncertainties in ``unit``, masses in g.

    Raises
    ------
    InputError
        If a number cannot be used, the salt does not fit, the balance and the pipettes are too
        coarse, or more is asked for than dissolves.

    Notes
    -----
    One flask filled twice has one error, counted twice. Two flasks are a little better than that.

    Examples
    --------
    >>> recipe = plan_recipe("phosphate", 0.1, "mg/L", 1000.0, u_balance_g=0.001, u_flask_mL=0.6,
    ...                      pipettes={1.0: 0.01, 10.0: 0.02}, step_g=0.001)
    >>> round(recipe.stock.level, 1), recipe.taken_mL, recipe.water.steps[1]
    (100.0, 1.0, 'Weigh 0.143 g of potassium dihydrogen phosphate.')

    References
    ----------
    Eurachem/CITAC (2012), example A1; the two-step recipe: *common practice, no source*.
    """
    described = element(name)
    if way not in WAYS:
        raise InputError("one of " + ", ".join(WAYS), way, "Choose one of these.")
    cared = standard_salts(described.name)[0] if salt is None else care_of(find_salt(salt, hydrate))
    check_above_zero("the volume of the flask (mL)", flask_mL)
    if not (math.isfinite(level) and level > max(blank, 0.0)):
        raise InputError(
            f"a level above what the water itself holds ({blank:g} {unit})",
            level,
            "Choose a higher level or purer water.",
        )
    if matching_salinity is not None:
        check_within(
            matching_salinity, 5.0, 42.0, "a practical salinity",
            "A reading near 1.026 is a gravity and one near 53 a conductivity.",
        )  # fmt: skip
    if matching_salinity is not None and described.name in ("sodium", "chloride"):
        raise InputError(
            f"purified water for {described.name}", "sodium chloride solution",
            "The solution itself would bring what is measured.",
        )  # fmt: skip
    common: dict[str, Any] = {
        "u_balance_g": u_balance_g, "u_flask_mL": u_flask_mL, "salt": cared.salt.name,
        "purity": purity, "purity_half_width": purity_half_width,
    }  # fmt: skip
    own: dict[str, Any] = {"blank": blank, "u_blank": u_blank}
    wanted = mass_for(
        cared.salt.name, described.name, level - blank, unit, flask_mL / 1000.0,
        assay=purity,
    )  # fmt: skip
    stock, taken = None, 0.0
    direct = way == WAYS[1] or (way == WAYS[0] and u_balance_g <= WEIGHING_SHARE * wanted)
    if direct:
        mass = wanted
        water = weighed_standard(
            name, level, unit, flask_mL, mass_g=weighed_g, matching_salinity=matching_salinity,
            **common, **own,
        )  # fmt: skip
    else:
        taken = _part_of_stock(cared.salt, wanted, flask_mL, u_balance_g, pipettes)
        mass = wanted * flask_mL / taken
        stock_level = blank + (level - blank) * flask_mL / taken
        stock = weighed_standard(
            name, stock_level, unit, flask_mL, mass_g=weighed_g, **common, **own
        )
        once = diluted(
            stock, taken, flask_mL, u_taken_mL=pipettes[taken], u_flask_mL=u_flask_mL, **own
        )
        budget = _whole_budget(stock.budget, once.budget, taken / flask_mL)
        water = replace(once, budget=budget, u=combined_u(budget), cautions=stock.cautions)
        if matching_salinity is not None and blank > 0:
            # The sodium chloride brings the blank to the whole flask, and the stock has none of it.
            stock = weighed_standard(
                name, stock_level - blank, unit, flask_mL, mass_g=weighed_g, **common
            )
    sodium_chloride = 0.0
    if matching_salinity is not None:
        sodium_chloride = sodium_chloride_g_per_L(matching_salinity) * flask_mL / 1000.0
    share = u_balance_g / (weighed_g or mass)
    return Recipe(
        replace(
            water,
            steps=_steps(cared.drying, cared.salt, mass, flask_mL, taken, sodium_chloride, step_g),
        ),
        stock, taken, cared.salt, mass, weighed_g, share, sodium_chloride,
        _notes(described.name, unit, water, stock, cared.salt, mass, weighed_g, share),
    )  # fmt: skip


def _part_of_stock(
    salt: Salt, wanted_g: float, flask_mL: float, u_g: float, pipettes: Mapping[float, float]
) -> float:
    most = dissolves_g_per_L(salt)
    reachable = []
    for taken in sorted(pipettes, reverse=True):
        mass = wanted_g * flask_mL / taken
        if taken * _LEAST_DILUTION > flask_mL:
            continue
        if most is not None and mass > most * flask_mL / 1000.0:
            break
        reachable.append(taken)
        if u_g <= WEIGHING_SHARE / 2 * mass:
            return taken
    if reachable and u_g <= 3 * WEIGHING_SHARE * wanted_g * flask_mL / reachable[-1]:
        return reachable[-1]
    raise InputError(
        "a stock that this balance can weigh, one pipette can dilute and that dissolves",
        f"{wanted_g:.2g} g for the flask, pipettes of "
        + (", ".join(f"{one:g}" for one in sorted(pipettes)) or "no size")
        + " mL",
        "Use a finer balance or a larger flask, or make the stock first and dilute it twice.",
    )


def _whole_budget(stock: pd.DataFrame, dilution: pd.DataFrame, share: float) -> pd.DataFrame:
    """Return the budget of the diluted water with the stock's own sources in place of the stock."""
    parts: dict[str, tuple[float, float, float]] = {}
    for frame, factor in ((stock, share), (dilution, 1.0)):
        for row in frame.itertuples():
            if row.source.startswith("stock, ") or row.value == row.u == 0.0:
                continue
            # The same source in both, such as the flask, is one error that acts twice.
            before = parts.get(row.source, (0.0, 0.0, 0.0))[2]
            parts[row.source] = (row.value, row.u, before + factor * row.sensitivity)
    return budget_of(parts)


def decimals_of_step(step: float | None) -> int:
    """Return how many decimals a display with this step shows.

    Parameters
    ----------
    step : float or None
        Step of the display in any unit.

    Returns
    -------
    int
        Number of decimals; 4 where the step is not known.

    Examples
    --------
    >>> decimals_of_step(0.001), decimals_of_step(0.5), decimals_of_step(1.0)
    (3, 1, 0)
    """
    if step is None or not step > 0:
        return 4
    return min(6, max(0, math.ceil(-math.log10(step) - 1e-9)))


def _steps(
    drying: str, salt: Salt, mass: float, flask_mL: float, taken_mL: float, nacl_g: float,
    step_g: float | None,
) -> tuple[str, ...]:  # fmt: skip
    fill = f"fill with purified water to the mark of {flask_mL:g} mL near 20 °C. Close and mix."
    steps = [drying, f"Weigh {fixed(mass, decimals_of_step(step_g))} g of {salt.name}."]
    if taken_mL:
        steps += [
            f"Stock: dissolve it in purified water and {fill}",
            "Keep the stock in a clean, closed, labelled bottle and rinse the flask three times.",
        ]
    if nacl_g:
        steps.append(
            f"Weigh {fixed(nacl_g, 1)} g of sodium chloride without additives into the flask."
        )
    if taken_mL:
        steps.append(f"Put {taken_mL:g} mL of the stock into the flask with the pipette, never by "
                     f"mouth, and {fill}")  # fmt: skip
    else:
        steps.append(f"Dissolve all of it in the flask and {fill}")
    if nacl_g:
        steps.append(
            "Make the same sodium chloride solution once more without the salt and test it: that is "
            "the blank. Type it as what the water itself holds."
        )
    steps.append("Type what you really weighed: the level follows from it. Then save and label it.")
    return tuple(steps)


def _notes(
    name: str, unit: str, water: StandardWater, stock: StandardWater | None, salt: Salt,
    mass: float, weighed: float | None, share: float,
) -> tuple[str, ...]:  # fmt: skip
    described = element(name)
    notes = []
    if weighed is not None and not 1 / _STRANGE < weighed / mass < _STRANGE:
        notes.append(
            f"What you weighed is {weighed / mass:.2g} times what the recipe asks for. Check the "
            "decimal point and the pan; the level below follows from what you typed."
        )
    if stock is not None:
        notes.append(
            "It goes through a stock, because so little salt cannot be weighed well enough. The "
            f"stock has {stock.level:.4g} {unit} and is {stock.level / water.level:.4g} times as "
            "strong: label both bottles."
        )
    if share > WEIGHING_SHARE:
        way = "a finer balance or a larger flask"
        notes.append(
            f"The balance alone leaves ± {200 * share:.2g} % of the level open; "
            + (f"{way} is better." if stock else f"a stock that is diluted, {way} is better.")
        )
    level = convert(water.level, unit, described.store_unit, name)
    if level > described.highest:
        notes.append(
            "This is stronger than any water in a reef tank. No kit reads it as it stands: use it "
            "as a stock only."
        )
    elif level < described.lowest:
        notes.append("This is weaker than any water in a reef tank; a kit may not read it.")
    if dissolves_g_per_L(salt) is None:
        notes.append(
            f"How much {salt.name} dissolves is not in the tables here. If anything stays at the "
            "bottom, the level does not hold."
        )
    return tuple(notes)
