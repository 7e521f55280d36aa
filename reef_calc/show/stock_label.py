"""The label of a stock, to print and to cut out: big, black on white, nothing fetched."""

from __future__ import annotations

import datetime as dt

from reef_calc.chem.stock_solutions import StockSolution
from reef_calc.show.wording import escape

_STYLE = """
:root{color-scheme:light}
@page{size:A4;margin:12mm}
body{margin:0;background:#FFFFFF;color:#000000;font:15pt/1.3 system-ui,"DejaVu Sans",Arial,sans-serif}
main{max-width:180mm;margin:0 auto;padding:4mm}
section{border:1mm solid #000000;padding:5mm 7mm;margin:0 0 8mm;break-inside:avoid;
 overflow-wrap:anywhere}
h1{font-size:34pt;line-height:1.1;margin:0 0 2mm}
p{margin:0 0 1.5mm}
.strong{font-size:21pt;font-weight:700}
.never{border-top:.6mm solid #000000;font-size:21pt;font-weight:700;padding-top:2mm;margin:3mm 0 0}
small{font-size:11pt}
"""
SHEET_FIRST = "The label of the salt and its safety data sheet come first."


def stock_label_page(stock: StockSolution, made_on: dt.date, made_by: str) -> str:
    """Return a page with the label of a stock.

    Parameters
    ----------
    stock : StockSolution
        The stock.
    made_on : datetime.date
        Day it was made.
    made_by : str
        Who made it; may be empty, then a line is left to write on.

    Returns
    -------
    str
        A whole HTML document; the label twice, for container and lid or a spare.

    Examples
    --------
    >>> from reef_calc.chem.stock_solutions import stock_solution
    >>> from reef_calc.chem.stock_words import salt_part
    >>> soda = stock_solution("soda <1>", [salt_part("soda ash")], 1.0, element="alkalinity",
    ...     rise=0.03, unit="dKH")
    >>> page = stock_label_page(soda, dt.date(2026, 9, 30), "LM")
    >>> page.count("<h1>soda &lt;1&gt;</h1>"), page.count("NOT FOR DRINKING")
    (2, 2)
    """
    name, contents, strength, made, hazard, away, never = stock.label(made_on, made_by)
    label = (
        f"<section><h1>{escape(name)}</h1>"
        f'<p class="strong">{escape(strength)}</p>'
        f"<p>{escape(contents)}, made up to volume</p><p>{escape(made)}</p>"
        f"<p>{escape(hazard)}</p><p>{escape(away)}</p>"
        f"<p><small>{escape(SHEET_FIRST)}</small></p>"
        f'<p class="never">{escape(never)}</p></section>'
    )
    title = f"Label: {stock.name}"
    return (
        '<!DOCTYPE html>\n<html lang="en-GB">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width,initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{_STYLE}</style>\n</head>\n"
        f"<body>\n<main>{label}{label}</main>\n</body>\n</html>\n"
    )
