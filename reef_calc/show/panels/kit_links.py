"""Links that save a comparison as a page and as tables."""

from __future__ import annotations

from reef_calc.compare.comparison import Comparison
from reef_calc.show.comparison_numbers import numbers_frame, pairs_frame
from reef_calc.show.comparison_page import comparison_page
from reef_calc.show.panels.common import download_html


def take_away_html(found: Comparison) -> str:
    """Return links that save a comparison as one page, its numbers and its pairs.

    Parameters
    ----------
    found : Comparison
        What the pairs say.

    Returns
    -------
    str
        HTML with everything inside the links.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 3),)) for i in range(9))
    >>> found = compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters))
    >>> take_away_html(found).count("download=")
    3
    """
    name = f"{found.pairs.element}_two_kits"
    links = [
        download_html(f"{name}.html", comparison_page(found), "The comparison as one page (HTML)"),
        download_html(
            f"{name}_numbers.csv",
            numbers_frame(found).to_csv(index=False),
            "All numbers (CSV)",
            "text/csv",
        ),
        download_html(
            f"{name}_pairs.csv",
            pairs_frame(found).to_csv(index=False),
            "The pairs (CSV)",
            "text/csv",
        ),
    ]
    return f'<ul class="rc-links">{"".join(f"<li>{link}</li>" for link in links)}</ul>'
