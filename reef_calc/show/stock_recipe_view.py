"""A stock solution as HTML: what to weigh, how near saturation it is, cautions, steps, its table."""

from __future__ import annotations

import math

from reef_calc.chem.limewater import limewater_g_per_L, rise_by_limewater
from reef_calc.chem.solubility import ADVISED_SHARE
from reef_calc.chem.stock_solutions import StockSolution
from reef_calc.chem.stock_words import two_digits
from reef_calc.chem.supplements import Supplement, level_rise
from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.numbers_in_words import fixed
from reef_calc.plan.cautions import cautions_for
from reef_calc.show.plan_safety import cautions_html
from reef_calc.show.set_amounts import dose_text
from reef_calc.show.stock_on_tank import Need, mL_per_day
from reef_calc.show.style import paint
from reef_calc.show.tables import folded, table_html
from reef_calc.show.wording import element_name, escape

STYLE = """
.rc .rc-big{font-size:22px;font-weight:650;line-height:1.3;max-width:none;margin:4px 0 2px}
.rc .rc-steps{font-size:16px;line-height:1.6}
.rc pre{font:13px/1.45 ui-monospace,"DejaVu Sans Mono",monospace;white-space:pre-wrap;color:inherit;
 overflow-wrap:anywhere;border:1px solid var(--rc-grid);padding:8px 12px;margin:4px 0 8px;
 background:none}
"""
# On a balance that shows 0.01 g this is good to 1 % (own choice).
HARD_TO_WEIGH_G = 1.0
_SIGNS = {"refused": "!", "qualified": "!", "told": "–"}


def stock_html(stock: StockSolution, need: Need, table: str) -> str:
    """Return a stock: what to weigh first, then what dissolves, cautions, steps, its table.

    Parameters
    ----------
    stock : StockSolution
        The stock.
    need : Need
        The tank and what it is to get.
    table : str
        Its lines of supplements.toml.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.chem.stock_solutions import stock_solution
    >>> from reef_calc.chem.stock_words import salt_part
    >>> from reef_calc.show.stock_on_tank import Need
    >>> soda = stock_solution("soda", [salt_part("soda ash")], 5.0, element="alkalinity",
    ...     rise=0.03, unit="dKH")
    >>> page = stock_html(soda, Need(300.0, None, "dKH"), "")
    >>> page.startswith("<h2>Weigh 284 g of sodium carbonate anhydrous, make up to 5 L</h2>")
    True
    """
    weigh = " and ".join(
        f"{grams_text(grams)} of {part.salt.name}"
        for part, grams in zip(stock.parts, stock.grams, strict=True)
    )
    assumed = "".join(f"<li>{escape(one)}</li>" for one in stock.assumed)
    steps = "".join(f"<li>{escape(one)}</li>" for one in stock.steps())
    cautions = cautions_for([stock.supplement])
    first = [one for one in cautions if one.where == "making up"]
    others = [one for one in cautions if one.where in ("emergencies", "containers", "disposal")]
    return "".join(
        [
            f"<h2>Weigh {escape(weigh)}, make up to {stock.volume_L:.4g} L</h2>",
            f'<p class="rc-big">{escape(stock.strength)}</p>',
            _strength_lines(stock, need),
            _saturation_html(stock),
            *(_line(message) for message in stock.messages),
            "<h3>Before you begin</h3>",
            cautions_html(first),
            "<h3>How to make it</h3>",
            f'<ol class="rc-steps">{steps}</ol>',
            "<h3>What is assumed</h3>",
            f"<ul>{assumed}</ul>",
            "<h3>What one mL adds</h3>",
            _ions_html(stock, need),
            folded("Emergencies, containers, disposal", cautions_html(others)),
            folded(
                "Its lines for supplements.toml", f"<pre>{escape(table)}</pre>" if table else ""
            ),
        ]
    )


def grams_text(grams: float) -> str:
    """Return a mass to weigh with three or four figures.

    Parameters
    ----------
    grams : float
        Mass (g).

    Returns
    -------
    str
        Such as "301 g"; below a tenth of a gram in mg.

    Examples
    --------
    >>> grams_text(300.66), grams_text(0.0421), grams_text(1234.0), grams_text(12.345)
    ('301 g', '42.1 mg', '1234 g', '12.3 g')
    """
    if grams < 0.1:
        return f"{1000 * grams:.3g} mg"
    return f"{fixed(grams, 0) if grams >= 100 else f'{grams:.3g}'} g"


def _strength_lines(stock: StockSolution, need: Need) -> str:
    per_mL = level_rise(stock.supplement, 1.0, "mL", stock.element, need.net_L, need.unit)
    lines = [
        f"1 mL raises this tank ({need.net_L:g} L) by {two_digits(per_mL)} {need.unit} of "
        f"{stock.element}."
    ]
    a_day = mL_per_day(stock, need)
    if a_day is not None:
        lasts = 1000.0 * stock.volume_L / a_day
        lines.append(
            f"For {two_digits(need.per_day or 0.0)} {need.unit} a day ({need.words}) the tank takes "
            f"{dose_text(a_day, 'mL')} a day: {stock.volume_L:.4g} L last {_days(lasts)}."
        )
        if a_day < 10.0:
            lines.append(
                "That is little for a pump: a weaker stock can be dosed more evenly and measured."
            )
    least = min(stock.grams)
    if least < HARD_TO_WEIGH_G:
        lines.append(
            f"{grams_text(least)} is hard to weigh: make a stronger stock and dilute it, or use a balance "
            "that shows mg."
        )
    return f"<p>{escape(' '.join(lines))}</p>"


def _days(days: float) -> str:
    # What was asked for in whole days comes back a hair short of it.
    whole = int(days + 0.05)
    return f"{whole} day{'s' if whole != 1 else ''}" if whole else "less than a day"


def _saturation_html(stock: StockSolution) -> str:
    share = stock.share_of_saturation
    if share is None:
        return ""
    percent = "less than 1" if share < 0.005 else f"{100 * share:.0f}"
    words = (
        f"{percent} % of what dissolves at {stock.coldest_C:g} °C; "
        f"up to {100 * ADVISED_SHARE:.0f} % is advised"
    )
    width, full = 240.0, 240.0 / 1.2
    bar = (
        f'<svg role="img" aria-label="{escape(words)}" width="{width:.0f}" height="22" '
        f'viewBox="0 0 {width:.0f} 22">'
        f'<rect x="0.5" y="5.5" width="{full:.1f}" height="11" fill="none" '
        f'stroke="{paint("line")}"/>'
        f'<rect x="0.5" y="5.5" width="{min(share, 1.2) * full:.1f}" height="11" '
        f'fill="{paint("kitA")}"/>'
        f'<path d="M{ADVISED_SHARE * full:.1f} 1V21" stroke="{paint("ink")}" stroke-width="2"/></svg>'
    )
    return f"{bar}<p>{escape(words[0].upper() + words[1:])} (upright line; common practice).</p>"


def _line(message: Message) -> str:
    sign = _SIGNS[message.kind]
    return f'<p><span class="rc-sign" aria-hidden="true">{sign}</span>{escape(message.text)}</p>'


def _ions_html(stock: StockSolution, need: Need) -> str:
    a_day = mL_per_day(stock, need)
    rows = []
    for element, amount in sorted(stock.supplement.adds.items(), key=lambda one: -abs(one[1])):
        unit = "meq" if element == "alkalinity" else "mg"
        month = "" if a_day is None else f"{two_digits(30 * amount * a_day / need.net_L)} {unit}"
        rows.append((element_name(element), f"{two_digits(amount)} {unit}", month))
    heads = ("Element", "One mL adds", "30 days add to a litre of tank")
    caption = "Every ion of the recipe; before use and water changes"
    return table_html(
        caption, heads[: 2 if a_day is None else 3],
        [one[: 2 if a_day is None else 3] for one in rows], numbers=(1, 2),
    )  # fmt: skip


def limewater_html(reservoir_C: float, litres: float, need: Need, element: str) -> str:
    """Return limewater: how strong it is, what a litre adds, how much covers the need.

    Parameters
    ----------
    reservoir_C : float
        Temperature of the reservoir (°C).
    litres : float
        Volume to make (L).
    need : Need
        The tank and what it is to get.
    element : str
        Alkalinity or calcium.

    Returns
    -------
    str
        HTML.

    Raises
    ------
    InputError
        If the volume is not above 0, or the temperature outside 5–40 °C.

    Examples
    --------
    >>> page = limewater_html(25.0, 10.0, Need(300.0, None, "dKH"), "alkalinity")
    >>> "15 g dissolve in 10 L" in page
    True
    """
    if not 0.0 < litres < math.inf:
        raise InputError("a volume to make above 0 L", f"{litres:g} L", "Check it.", "Litres")
    strength = limewater_g_per_L(reservoir_C)
    rise = rise_by_limewater(1.0, need.net_L, strength, need.unit, element)
    words = (
        f"About {strength:.2g} g/L is all that dissolves at {reservoir_C:g} °C, less when warmer; "
        f"± 16 % (95 %). What lies at the bottom stays there: give the clear part only, in place of "
        f"top-off water, and close it. One litre raises this tank by {two_digits(rise)} {need.unit}."
    )
    cover = ""
    if need.per_day is not None and need.per_day > 0.0:
        cover = (
            f"<p>{escape(f'All of {two_digits(need.per_day)} {need.unit} a day ({need.words}) would take')}"
            f" {fixed(need.per_day / rise, 1)} L a day. No more can be given than evaporates: measure "
            "that first.</p>"
        )
    lime = Supplement("limewater", {"alkalinity": 1.0})
    cautions = [
        one
        for one in cautions_for([lime], limewater=True)
        if "not written" not in one.text and one.where in ("making up", "dosing", "emergencies")
    ]
    return (
        f"<h2>Limewater: {two_digits(strength * litres)} g dissolve in {litres:.4g} L</h2>"
        f"<p>{escape(words)}</p>{cover}<h3>Before you begin</h3>{cautions_html(cautions)}"
    )
