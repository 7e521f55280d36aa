"""Test water as HTML: level, cautions, what to weigh, the steps, and the uncertainty budget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from reef_calc.bench.recipes import Recipe, decimals_of_step
from reef_calc.bench.standards import StandardWater
from reef_calc.show.budget_view import shares_svg
from reef_calc.show.tables import folded, table_html
from reef_calc.show.wording import escape, fixed, with_interval

STYLE = """<style>
.rc .rc-big{font-size:26px;font-weight:650;line-height:1.3;max-width:none;margin:4px 0 2px}
.rc .rc-big2{font-size:18px;max-width:none;margin:0 0 8px}
.rc .rc-recipe{font-size:16px;line-height:1.6}
.rc .rc-label{border:2px solid var(--rc-ink);padding:10px 14px;margin:8px 0;max-width:32em;
 font-size:16px;break-inside:avoid}
.rc .rc-label p{margin:2px 0}
.rc-standards button{min-height:44px}
.rc-standards input,.rc-standards select{min-height:40px}
</style>"""

NO_SEA_WATER = "This is no sea water: other salts are missing, and a kit may read it differently."


@dataclass(frozen=True)
class MadeFrom:
    """What a recipe was worked out with, in the words of the page.

    Attributes
    ----------
    step_g : float
        Step of the balance (g).
    words : str
        One sentence: balance, glass, assay, water.
    name, made, by : str
        Name of the standard, day it was made, and who made it; empty where not told yet.
    """

    step_g: float
    words: str
    name: str = ""
    made: str = ""
    by: str = ""


def level_with_u(water: StandardWater) -> str:
    """Return the level of test water with its expanded uncertainty.

    Parameters
    ----------
    water : StandardWater
        The water.

    Returns
    -------
    str
        Such as "8.00 ± 0.05 dKH"; k = 2.

    Examples
    --------
    >>> from reef_calc.bench.dilutions import stated_stock
    >>> level_with_u(stated_stock("nitrate", 1000.0, "mg/L", 5.0))
    '1000 ± 10 mg/L'
    """
    value = with_interval(water.level, water.level - 2 * water.u, water.level + 2 * water.u)
    return f"{value} {water.unit}"


def cautions_html(cautions: Sequence[str]) -> str:
    """Return cautions as a marked list.

    Parameters
    ----------
    cautions : sequence of str
        Plain sentences.

    Returns
    -------
    str
        HTML; empty without cautions.

    Examples
    --------
    >>> cautions_html(["Gloves."]).count("<li>")
    1
    """
    if not cautions:
        return ""
    lines = "".join(f"<li>{escape(one)}</li>" for one in cautions)
    return f'<h3>Before you begin</h3><div class="rc-caution"><ul>{lines}</ul></div>'


def weighing_words(recipe: Recipe, step_g: float) -> str:
    """Return what to weigh, or what was weighed.

    Parameters
    ----------
    recipe : Recipe
        The recipe.
    step_g : float
        Step of the balance (g).

    Returns
    -------
    str
        Such as "Weigh 0.240 g of sodium hydrogen carbonate".

    Examples
    --------
    >>> from reef_calc.bench.recipes import plan_recipe
    >>> recipe = plan_recipe("potassium", 400.0, "mg/L", 1000.0, u_balance_g=0.001, u_flask_mL=0.6,
    ...                      pipettes={})
    >>> weighing_words(recipe, 0.001)
    'Weigh 0.763 g of potassium chloride'
    """
    if recipe.weighed_g is not None:
        told = f"{recipe.weighed_g:.6g}"
        return f"Weighed: {told} g of {recipe.salt.name}"
    return f"Weigh {fixed(recipe.mass_g, decimals_of_step(step_g))} g of {recipe.salt.name}"


def recipe_html(recipe: Recipe, made: MadeFrom) -> str:
    """Return a recipe: level and mass big, cautions, the steps, the budget as picture and table.

    Parameters
    ----------
    recipe : Recipe
        The recipe.
    made : MadeFrom
        What it was worked out with.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.bench.recipes import plan_recipe
    >>> recipe = plan_recipe("potassium", 400.0, "mg/L", 1000.0, u_balance_g=0.001, u_flask_mL=0.6,
    ...                      pipettes={})
    >>> text = recipe_html(recipe, MadeFrom(0.001, "A balance."))
    >>> text.index("Before you begin") < text.index("<ol")
    True
    """
    water = recipe.water
    heading = f"Test water for {water.element}: {level_with_u(water)}"
    end = f"make up to {water.volume_mL / 1000:.3f} L"
    if recipe.stock is not None:
        end = f"stock to {water.volume_mL / 1000:.3f} L; then {recipe.taken_mL:g} mL of it again"
    about = recipe.salt.assay_note[:1].upper() + recipe.salt.assay_note[1:]
    parts = [
        f'<h2 class="rc-big">{escape(heading)}</h2>',
        '<p class="rc-sub">The number after ± is the expanded uncertainty (k = 2, about 95 %).</p>',
        cautions_html(water.cautions),
        f'<p class="rc-big">{escape(weighing_words(recipe, made.step_g))}</p>',
        f'<p class="rc-big2">{escape(end[0].upper() + end[1:])}.</p>',
        "".join(f"<p>{escape(one)}</p>" for one in recipe.notes),
        f"<p>{NO_SEA_WATER}</p>",
        "<h3>How to make it</h3>",
        '<ol class="rc-recipe">'
        + "".join(f"<li>{escape(s)}</li>" for s in water.steps).replace(" °C", "\u00a0°C")
        + "</ol>",
        f'<p class="rc-small">Worked out with: {escape(made.words)}</p>',
        "<h3>Where the uncertainty comes from</h3>",
        _shares(water.budget),
        folded("The budget as a table", budget_html(water)),
        folded(f"About {recipe.salt.name}", about and f"<p>{escape(about)}.</p>"),
    ]
    if recipe.stock is not None:
        stock = level_with_u(recipe.stock)
        parts.insert(2, f"<p>By way of a stock of {escape(stock)}.</p>")
    return "".join(parts)


def _shares(budget: pd.DataFrame) -> str:
    rows = budget.sort_values("share", ascending=False, kind="stable")
    return shares_svg([str(one).rpartition(", ")[0] for one in rows["source"]], list(rows["share"]))


def budget_html(water: StandardWater) -> str:
    """Return an uncertainty budget as a table.

    Parameters
    ----------
    water : StandardWater
        The water.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.bench.dilutions import stated_stock
    >>> budget_html(stated_stock("nitrate", 1000.0, "mg/L", 5.0)).count("<tr>")
    3
    """
    unit = water.unit
    rows = [
        (
            row.source,
            f"{row.value:.6g}",
            f"{row.u:.2g}",
            f"{row.sensitivity:.3g}".replace("-", "−"),
            f"{row.contribution:.2g}",
            f"{100 * row.share:.0f} %",
        )
        for row in water.budget.itertuples()
    ]
    total = ("all together", f"{water.level:.6g}", f"{water.u:.2g}", "", f"{water.u:.2g}", "100 %")
    heads = (
        "Source", "Value", "Standard uncertainty", f"{unit} per unit of it", f"Adds, {unit}",
        "Share",
    )  # fmt: skip
    caption = f"Uncertainty budget of {fixed_level(water)}; shares are of the squares"
    return table_html(caption, heads, [*rows, total], numbers=(1, 2, 3, 4, 5))


def fixed_level(water: StandardWater) -> str:
    """Return the level of test water with its unit and without its uncertainty.

    Parameters
    ----------
    water : StandardWater
        The water.

    Returns
    -------
    str
        With the digits that the uncertainty justifies.

    Examples
    --------
    >>> from reef_calc.bench.dilutions import stated_stock
    >>> fixed_level(stated_stock("alkalinity", 8.0, "dKH", 0.025))
    '8.00 dKH'
    """
    number, _, unit = level_with_u(water).partition(" ± ")
    return f"{number} {water.unit}" if unit else number
