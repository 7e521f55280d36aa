"""What the salts on the shelf allow, as HTML: stocks, days they last, what to keep apart, what to buy."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from reef_calc.chem.shelf import SaltOnShelf, ShelfAnswer, apart, to_buy
from reef_calc.chem.stock_solutions import StockSolution
from reef_calc.chem.stock_words import two_digits
from reef_calc.show.set_amounts import dose_text
from reef_calc.show.stock_on_tank import Need
from reef_calc.show.stock_recipe_view import grams_text
from reef_calc.show.tables import table_html
from reef_calc.show.wording import element_name, escape

HEAD = "<h2>What I have on the shelf</h2>"


def shelf_html(
    answers: Sequence[ShelfAnswer],
    needs: Mapping[str, Need],
    shelf: Sequence[SaltOnShelf],
    days: int,
) -> str:
    """Return the stocks that the shelf allows, how long they last, and what to buy for a plan.

    Parameters
    ----------
    answers : sequence of ShelfAnswer
        One for each element that is dosed.
    needs : mapping of str to Need
        What the tank is to get, by element.
    shelf : sequence of SaltOnShelf
        Jars.
    days : int
        Days that the salts are wanted for.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.chem.salts import find_salt
    >>> from reef_calc.chem.shelf import recipes_from_shelf
    >>> shelf = [SaltOnShelf(find_salt("soda ash"), 100.0)]
    >>> found = recipes_from_shelf(shelf, "alkalinity", 0.5, "dKH", 300.0, mL_per_day=50.0)
    >>> page = shelf_html([found], {"alkalinity": Need(300.0, 0.5, "dKH")}, shelf, 30)
    >>> "Alkalinity: 100 g of sodium carbonate anhydrous last 35 days" in page
    True
    """
    if not shelf:
        return ""
    parts, rows, best = [], [], []
    for answer in answers:
        name = element_name(answer.element)
        need = needs[answer.element]
        for place, one in enumerate(answer.recipes):
            a_litre = " + ".join(
                f"{grams_text(grams)} {part.salt.name}"
                for part, grams in zip(one.stock.parts, one.stock.grams, strict=True)
            )
            if place == 0:
                best.append(one.stock)
                parts.append(_headline(name, one.stock, one.litres, one.days, days))
            rows.append(
                (
                    name, a_litre, f"{dose_text(one.mL_per_day, 'mL')}",
                    f"{two_digits(one.litres)} L", f"{one.days:.0f}",
                )
            )  # fmt: skip
        if not answer.recipes:
            parts.append(
                f"<p>{escape(name)} ({two_digits(need.per_day or 0.0)} {escape(need.unit)} a day): "
                "no salt of the shelf makes a stock for it.</p>"
            )
        parts += [
            f"<p>{escape(f'{name}, {salt}: {why}')}</p>" for salt, why in answer.left_out.items()
        ]
    if rows:
        heads = ("For", "One litre of stock", "A day", "Makes", "Lasts, days")
        caption = "Each stock stays below 60 % of saturation (common practice) at the coldest place"
        parts.append(table_html(caption, heads, rows, numbers=(2, 3, 4)))
    parts += [f"<p>! {escape(sentence)}</p>" for sentence in apart(best)]
    return "".join(parts)


def _headline(name: str, stock: StockSolution, litres: float, lasts: float, days: int) -> str:
    grams = " and ".join(
        f"{grams_text(g * litres)} of {part.salt.name}"
        for part, g in zip(stock.parts, stock.grams, strict=True)
    )
    words = f"{name}: {grams} last {lasts:.0f} days"
    if lasts < days:
        more = " and ".join(
            f"{grams_text(g * litres * (days / lasts - 1))} of {part.salt.name}"
            for part, g in zip(stock.parts, stock.grams, strict=True)
        )
        words += f". For {days} days buy {more} more"
    return f"<p><b>{escape(words)}.</b></p>"


def to_buy_html(stock: StockSolution, shelf: Sequence[SaltOnShelf]) -> str:
    """Return what is missing on the shelf for the stock above it.

    Parameters
    ----------
    stock : StockSolution
        The stock.
    shelf : sequence of SaltOnShelf
        Jars; only those of the recipe's assay count.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.chem.stock_solutions import stock_solution
    >>> from reef_calc.chem.stock_words import salt_part
    >>> soda = stock_solution("soda", [salt_part("soda ash")], 5.0, element="alkalinity",
    ...     rise=0.03, unit="dKH")
    >>> to_buy_html(soda, [])
    '<p>For the stock above still to buy: 284 g of sodium carbonate anhydrous.</p>'
    """
    missing = to_buy(stock, shelf)
    if not missing:
        return "<p>For the stock above everything is there.</p>"
    names = {part.salt.name: part.assay for part in stock.parts}
    words = " and ".join(
        f"{grams_text(grams)} of {name}"
        + (f" ({100 * names[name]:.3g} % pure)" if names[name] != 1.0 else "")
        for name, grams in missing.items()
    )
    return f"<p>For the stock above still to buy: {escape(words)}.</p>"
