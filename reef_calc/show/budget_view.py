"""Where the uncertainty of a level comes from: shares as bars, the budget, the arithmetic."""

from __future__ import annotations

from collections.abc import Sequence

from reef_calc.bench.readings import TestResult
from reef_calc.show.style import paint
from reef_calc.show.tables import folded, table_html
from reef_calc.show.wording import escape


def budget_html(result: TestResult) -> str:
    """Return where the uncertainty comes from: a picture of shares, the table, the arithmetic.

    Parameters
    ----------
    result : TestResult
        A level with its budget.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> budget_html(TestResult(8.0, float("nan"), "dKH", "<"))
    ''
    """
    lines = "".join(f"<li>{escape(line)}</li>" for line in result.steps_in_words)
    parts = [f"<ol>{lines}</ol>"] if lines else []
    if len(result.budget):
        rows = result.budget.sort_values("share", ascending=False)
        parts.append(shares_svg(list(rows["source"]), list(rows["share"])))
        cells = [
            (str(b.source), f"{b.value:.5g}", f"{b.u:.2g}", f"{b.sensitivity:.3g}",
             f"{abs(b.contribution):.2g}", _share(b.share))
            for b in rows.itertuples()
        ]  # fmt: skip
        heads = ("Source", "Value", "u", "Sensitivity", f"u in {result.unit}", "Share")
        parts.append(
            table_html(
                f"Uncertainty budget: u {result.u:.2g}, expanded U = 2u {result.U:.2g} {result.unit}",
                heads, cells, numbers=(1, 2, 3, 4, 5),
            )
        )  # fmt: skip
    return folded("How this was worked out, and where its uncertainty comes from", "".join(parts))


def _share(share: float) -> str:
    return "< 1 %" if share < 0.005 else f"{100 * share:.0f} %"


def shares_svg(names: Sequence[str], shares: Sequence[float]) -> str:
    """Return the shares of a budget as labelled bars.

    Parameters
    ----------
    names : sequence of str, shape (n,)
        Sources.
    shares : sequence of float, shape (n,)
        Shares of the variance, 0 to 1.

    Returns
    -------
    str
        SVG of 600 CSS pixels width; empty for fewer than two sources, where it would say nothing.

    Examples
    --------
    >>> shares_svg(["blank"], [1.0])
    ''
    """
    if len(names) < 2:
        return ""
    parts, height = [], 24 * len(names) + 4
    for i, (name, share) in enumerate(zip(names, shares, strict=True)):
        y = 24 * i + 2
        width = max(260.0 * share, 1.0)
        parts.append(
            f'<text x="236" y="{y + 14}" text-anchor="end" fill="{paint("ink")}">{escape(name)}</text>'
            f'<path d="M246 {y + 2}H{246 + width:.1f}V{y + 18}H246z" fill="{paint("line")}"/>'
            f'<text x="{254 + width:.1f}" y="{y + 14}" fill="{paint("ink")}">{_share(share)}</text>'
        )
    told = "; ".join(f"{n} {_share(s)}" for n, s in zip(names, shares, strict=True))
    return (
        f'<svg width="600" height="{height}" viewBox="0 0 600 {height}" role="img" font-size="12" '
        f'aria-label="Shares of the uncertainty: {escape(told)}">{"".join(parts)}</svg>'
    )
