"""Two kits on the same waters as part of a page, and as a page of its own to keep or print."""

from __future__ import annotations

from collections.abc import Sequence

from reef_calc.compare.comparison import Comparison
from reef_calc.compare.difference_words import percent_words, span_words
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed
from reef_calc.show.comparison_bias_figure import bias_svg
from reef_calc.show.comparison_difference_figure import DOT, difference_svg
from reef_calc.show.comparison_numbers import FEW
from reef_calc.show.comparison_scatter_figure import scatter_svg, waters_words
from reef_calc.show.comparison_scatter_of_kits import repeats_svg, residuals_svg
from reef_calc.show.comparison_style import STYLE
from reef_calc.show.comparison_tables import levels_html, numbers_html, waters_html
from reef_calc.show.comparison_waters import decimals_of_pairs
from reef_calc.show.page import page_html
from reef_calc.show.plan_drawing import tick_words
from reef_calc.show.tables import folded
from reef_calc.show.wording import element_name, escape

_SIDE_BY_SIDE = (
    "Waters that read alike stand side by side, less than a third of a step from their place"
)


def comparison_html(found: Comparison) -> str:
    """Return a comparison: the verdict, the numbers under it, pictures, and what would help.

    Parameters
    ----------
    found : Comparison
        The comparison.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` and ``comparison_style.STYLE`` on the page.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 3),)) for i in range(9))
    >>> found = compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters), allowed=0.6)
    >>> html = comparison_html(found)
    >>> html.index("They agree within") < html.index("<svg") < html.index("What would make this clearer")
    True
    """
    pairs = found.pairs
    title = f"{element_name(pairs.element)}: {pairs.kit_b} beside {pairs.kit_a}"
    return (
        f'<section class="rc"><h2>{escape(title)}</h2>'
        f'<p class="rc-kits-lead">{escape(found.sentence)}</p>'
        f'<p class="rc-kits-then">{escape(numbers_sentence(found))}</p>'
        f"{levels_html(found)}{limits_html(found.messages, 'comparison')}{_without(found)}"
        f"{_pictures(found)}{numbers_html(found)}{waters_html(found)}"
        f"{help_html(found.what_would_help)}</section>"
    )


def help_html(text: str) -> str:
    """Return the one thing that would make an answer clearer.

    Parameters
    ----------
    text : str
        The sentence; plain text.

    Returns
    -------
    str
        HTML; empty without a sentence.

    Examples
    --------
    >>> help_html("")
    ''
    """
    if not text:
        return ""
    return f'<p class="rc-kits-help"><b>What would make this clearer:</b> {escape(text)}</p>'


def numbers_sentence(found: Comparison) -> str:
    """Return the numbers that stand right under the verdict.

    Parameters
    ----------
    found : Comparison
        The comparison.

    Returns
    -------
    str
        Waters and their range, mean difference, and between which values single differences lie.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 3),)) for i in range(9))
    >>> numbers_sentence(compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)))
    '9 waters from 8.15 to 8.25 dKH. Mean difference 0.40 dKH above (95 %: 0.33 to 0.47 above). About
    19 of 20 single differences lie between 0.23 and 0.57 dKH (new less old).'
    """
    pairs, difference = found.pairs, found.difference
    averaged = decimals_of_pairs(pairs) + 1
    low, high = tick_words(
        [round(float(one), averaged) for one in (pairs.means.min(), pairs.means.max())]
    )
    where = f"near {low}" if low == high else f"from {low} to {high}"
    parts = [f"{waters_words(pairs.n)} {where} {pairs.unit}."]
    if difference.low is not None and difference.high is not None:
        decimals = max(decimals_for((difference.high - difference.low) / 2.0), 0)
        # An end that is not 0 is not told as 0: the interval would seem to hold "no difference".
        ends = (float(difference.low), float(difference.high))
        while (
            ends[0] * ends[1] > 0.0 and decimals < 6 and 0.0 in [round(e, decimals) for e in ends]
        ):
            decimals += 1
        size = fixed(abs(difference.mean), decimals)
        side = "" if float(size) == 0.0 else (" above" if difference.mean > 0.0 else " below")
        parts.append(
            f"Mean difference {size} {pairs.unit}{side} ({percent_words(found.confidence)}: "
            f"{span_words(difference.low, difference.high, decimals)})."
        )
    limits, trend = found.limits, found.trend
    sloped = trend is not None and (trend.clear or trend.spread_clear)
    if limits is not None and not limits.no_scatter and not sloped and pairs.n >= FEW:
        decimals = max(decimals_for(limits.sd), 0)
        parts.append(
            f"About 19 of 20 single differences lie between {fixed(limits.lower, decimals)} and "
            f"{fixed(limits.upper, decimals)} {pairs.unit} ({pairs.kit_b} less {pairs.kit_a})."
        )
    return " ".join(parts)


def limits_html(messages: Sequence[Message], what: str) -> str:
    """Return what limits an answer, and folded what else belongs to it.

    Parameters
    ----------
    messages : sequence of Message
        Messages, in order of weight.
    what : str
        What they belong to, such as "comparison".

    Returns
    -------
    str
        HTML; empty without messages.

    Examples
    --------
    >>> limits_html([Message("FEW", "Nine waters are few.", "qualified")], "comparison")[:39]
    '<h3>What limits this comparison</h3><ul'
    """
    seen = {one.text: one for one in messages}
    parts = []
    limiting = [one for one in seen.values() if one.kind != "told"]
    told = [one for one in seen.values() if one.kind == "told"]
    if limiting:
        items = "".join(f"<li>{escape(one.text)}</li>" for one in limiting)
        parts.append(f"<h3>What limits this {what}</h3><ul>{items}</ul>")
    if told:
        items = "".join(f"<li>{escape(one.text)}</li>" for one in told)
        parts.append(folded(f"Also worth knowing ({len(told)})", f"<ul>{items}</ul>"))
    return "".join(parts)


def _without(found: Comparison) -> str:
    if found.without is None or found.outlier is None:
        return ""
    name = found.pairs.waters[found.outlier.index].name
    return (
        f"<h3>Without water {escape(name)}</h3><p>{escape(found.without.sentence)} "
        f"{escape(numbers_sentence(found.without))}</p>"
    )


def _pictures(found: Comparison) -> str:
    pairs, difference = found.pairs, difference_svg(found)
    shown = [
        ("One against the other", scatter_svg(found), _scatter_words(found)),
        (
            "Difference against the mean",
            difference,
            _difference_words(found, dots=DOT + "M" in difference),
        ),
    ]
    if found.chosen.method != "difference" or len(found.bias) > 1:
        words = f"Nothing is drawn beyond the waters. Shading: {percent_words(found.confidence)}."
        shown.append(("Difference at each level", bias_svg(found), words))
    more = [
        ("What is left over", residuals_svg(found), "A pattern here would say that the answer bends."),
        ("How well each kit repeats", repeats_svg(found),
         f"Readings of one water with one kit, less their mean, {pairs.unit}."),
    ]  # fmt: skip
    return _figures(shown) + folded("More pictures: what is left over, repeats", _figures(more))


def _figures(shown: Sequence[tuple[str, str, str]]) -> str:
    parts = [
        f"<figure><h3>{escape(title)}</h3>{svg}<figcaption>{escape(words)}</figcaption></figure>"
        for title, svg, words in shown
        if svg
    ]
    return f'<div class="rc-kits-pictures">{"".join(parts)}</div>' if parts else ""


def _scatter_words(found: Comparison) -> str:
    marks = f"{_SIDE_BY_SIDE}; where there is no room, one larger mark has their number."
    chosen = found.chosen
    if chosen.line is None:
        if chosen.method == "known levels":
            return f"{marks} No line: the answer goes by the levels the waters were made to."
        if chosen.gate is not None and chosen.gate.may_draw_line:
            return f"{marks} No line: the answer is the mean difference."
        return f"{marks} No line: these waters do not give one."
    return (
        f"{marks} The line is drawn over the waters only, shaded {percent_words(found.confidence)}."
    )


def _difference_words(found: Comparison, *, dots: bool) -> str:
    trend = found.trend
    confidence = percent_words(found.confidence)
    if trend is not None and (trend.clear or trend.spread_clear):
        text = "Difference or scatter change with the level, and so do the limits."
    elif found.limits is None:
        text = "All differences are equal, so no limits are drawn."
    elif found.pairs.n < FEW:
        text = (
            "Dashes: limits of single differences, hardly known from so few waters. Shading: "
            f"{confidence}."
        )
    else:
        text = f"Dashes: about 19 of 20 single differences lie between them. Shading: {confidence}."
    if dots:
        text += " Small dots: the only places that the steps allow."
    return text


def comparison_page(found: Comparison, *, made: str = "") -> str:
    """Return a comparison as one page with everything inside, ready for paper.

    Parameters
    ----------
    found : Comparison
        The comparison.
    made : str, optional
        When it was made, in words; plain text.

    Returns
    -------
    str
        A whole HTML document.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 3),)) for i in range(9))
    >>> found = compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters))
    >>> comparison_page(found).count("<h1>Two kits on the same waters</h1>")
    1
    """
    parts = [f"<style>{STYLE}</style>{comparison_html(found)}"]
    if made:
        parts.append(f'<section class="rc"><p class="rc-small">{escape(made)}</p></section>')
    return page_html("Two kits on the same waters", parts)
