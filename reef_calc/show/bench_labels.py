"""What is taken away from the bench: a recipe to print, labels for the bottles, a budget, one line."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from reef_calc.bench.recipes import Recipe
from reef_calc.bench.standards import StandardWater
from reef_calc.show.bench_standards import (
    STYLE,
    MadeFrom,
    level_with_u,
    recipe_html,
    weighing_words,
)
from reef_calc.show.page import page_html
from reef_calc.show.wording import element_name, escape

NEVER = "Never into the tank, never to drink. Keep it locked away, out of reach of children and animals."


def label_html(water: StandardWater, made: MadeFrom) -> str:
    """Return the label of a bottle.

    Parameters
    ----------
    water : StandardWater
        What is in the bottle.
    made : MadeFrom
        Name, day and person.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.bench.dilutions import stated_stock
    >>> stock = stated_stock("nitrate", 1000.0, "mg/L", 5.0)
    >>> "Never into the tank" in label_html(stock, MadeFrom(0.001, ""))
    True
    """
    lines = [
        f"<b>{escape(made.name or 'Name: ____________')}</b>",
        f"{escape(element_name(water.element))} {escape(level_with_u(water))} (k = 2)",
        f"Made {escape(made.made or '____________')}, by {escape(made.by or '____________')}",
        escape(NEVER),
        # The hazard of the salt stands second in the cautions of every weighed standard.
        *(f"Of the dry salt: {escape(one)}" for one in water.cautions[1:2]),
    ]
    return '<div class="rc-label">' + "".join(f"<p>{line}</p>" for line in lines) + "</div>"


def recipe_page(recipe: Recipe, made: MadeFrom) -> str:
    """Return recipe and labels as one page to print.

    Parameters
    ----------
    recipe : Recipe
        The recipe.
    made : MadeFrom
        Name, day, person, and what it was worked out with.

    Returns
    -------
    str
        A whole HTML document.

    Examples
    --------
    >>> from reef_calc.bench.recipes import plan_recipe
    >>> recipe = plan_recipe("potassium", 400.0, "mg/L", 1000.0, u_balance_g=0.001, u_flask_mL=0.6,
    ...                      pipettes={})
    >>> recipe_page(recipe, MadeFrom(0.001, "A balance.")).count("<b>Name")
    1
    """
    bottles = [("", recipe.water)]
    if recipe.stock is not None:
        bottles.append(("stock for ", recipe.stock))
    labels = ""
    for before, water in bottles:
        name = f"{before}{made.name}" if made.name else ""
        labels += label_html(water, replace(made, name=name))
    title = f"Test water: {made.name}" if made.name else f"Test water for {recipe.water.element}"
    body = recipe_html(recipe, made) + "<h3>Labels to cut out</h3>" + labels
    return page_html(title, [STYLE, f'<div class="rc">{body}</div>'])


def budget_csv(water: StandardWater) -> str:
    """Return an uncertainty budget as a table for a spreadsheet.

    Parameters
    ----------
    water : StandardWater
        The water.

    Returns
    -------
    str
        CSV with a decimal point.

    Examples
    --------
    >>> from reef_calc.bench.dilutions import stated_stock
    >>> budget_csv(stated_stock("nitrate", 1000.0, "mg/L", 5.0)).splitlines()[0]
    'source,value,u,sensitivity,contribution,share'
    """
    total = pd.DataFrame(
        [(f"level, {water.unit}", water.level, water.u, 1.0, water.u, 1.0)],
        columns=water.budget.columns,
    )
    table = pd.concat([water.budget, total], ignore_index=True)
    return str(table.to_csv(index=False, float_format="%.8g"))


def stored_recipe(recipe: Recipe, step_g: float, *, of_stock: bool = False) -> str:
    """Return a recipe in one line, as standards.toml keeps it.

    Parameters
    ----------
    recipe : Recipe
        The recipe.
    step_g : float
        Step of the balance (g).
    of_stock : bool, optional
        Whether the stock is meant and not what is diluted from it.

    Returns
    -------
    str
        Such as "0.763 g of potassium chloride to 1.000 L"; it says when nobody told what was weighed.

    Examples
    --------
    >>> from reef_calc.bench.recipes import plan_recipe
    >>> recipe = plan_recipe("potassium", 400.0, "mg/L", 1000.0, u_balance_g=0.001, u_flask_mL=0.6,
    ...                      pipettes={}, weighed_g=0.765)
    >>> stored_recipe(recipe, 0.001)
    '0.765 g of potassium chloride to 1.000 L'
    """
    words = weighing_words(recipe, step_g).removeprefix("Weighed: ").removeprefix("Weigh ")
    if recipe.weighed_g is None:
        words = f"as planned, not told what was weighed: {words}"
    litres = f"{recipe.water.volume_mL / 1000:.3f} L"
    words += f" to {litres}"
    if of_stock:
        return words
    if recipe.stock is not None:
        words += f", {recipe.taken_mL:g} mL of it to {litres}"
    if recipe.sodium_chloride_g:
        words += f", with {recipe.sodium_chloride_g:.1f} g of sodium chloride"
    return words
