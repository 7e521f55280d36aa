"""How far two kits read apart at each level, beside what is allowed."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from reef_calc.compare.comparison import Comparison
from reef_calc.numbers_in_words import fixed
from reef_calc.show.comparison_difference_figure import (
    TALL,
    allowed_edges,
    allowed_labels,
    allowed_svg,
)
from reef_calc.show.comparison_drawing import (
    FIGURE,
    axis_across,
    curve,
    level_line,
    read_outs,
    shading,
    spots,
    spots_svg,
)
from reef_calc.show.comparison_scatter_figure import (
    LEFT,
    READ,
    TITLE,
    UNDER,
    bias_over,
    ring_svg,
    waters_words,
)
from reef_calc.show.comparison_waters import decimals_of_pairs, short, water_words
from reef_calc.show.plan_drawing import padded, picture, text_room, words
from reef_calc.show.plan_lane import Lane, labels_at_right, level_axis
from reef_calc.show.style import paint

_FAR = 2.5  # how much taller the allowed difference may make the picture


class LevelMark(NamedTuple):
    """One level asked about, with the interval its statement rests on.

    Attributes
    ----------
    level, bias, low, high : float
        Level, difference B − A and the ends of its interval (unit of the pairs).
    """

    level: float
    bias: float
    low: float
    high: float


def level_marks(found: Comparison) -> tuple[LevelMark, ...]:
    """Return the levels that are answered within the waters, with their intervals.

    Parameters
    ----------
    found : Comparison
        The comparison.

    Returns
    -------
    tuple of LevelMark
        With the interval of the verdict where there is one.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 3),)) for i in range(9))
    >>> found = compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters), levels=(8.1,))
    >>> [(one.level, round(one.bias, 2)) for one in level_marks(found)]
    [(8.1, 0.4)]
    """
    if found.verdicts:
        return tuple(
            LevelMark(one.level, one.estimate, one.low, one.high)
            for one in found.verdicts
            if one.level is not None
        )
    return tuple(
        LevelMark(one.level, one.bias, one.low, one.high)
        for one in found.bias
        if not one.extrapolated
    )


def levels_read(found: Comparison) -> tuple[np.ndarray, str]:
    """Return the level of each water as the answer counts it, and what that is in words.

    Parameters
    ----------
    found : Comparison
        The comparison.

    Returns
    -------
    numpy.ndarray
        Levels (unit of the pairs), shape (n,); not a number where a water's level is not known.
    str
        What stands under a picture.

    Examples
    --------
    See :func:`bias_svg`.
    """
    pairs = found.pairs
    if found.chosen.method == "known levels":
        return pairs.nominal, f"level the water was made to, {pairs.unit}"
    if found.chosen.line is not None:
        return pairs.a, f"{short(pairs.kit_a, 32)}, {pairs.unit}"
    return pairs.means, f"mean of both kits, {pairs.unit}"


def bias_svg(found: Comparison, *, width: int = FIGURE) -> str:
    """Return the difference at each level with its interval, and the allowed difference.

    Parameters
    ----------
    found : Comparison
        The comparison.
    width : int, optional
        Width (pixels).

    Returns
    -------
    str
        One ``<svg>`` element; empty where these waters answer for no level. Nothing is drawn beyond
        the waters.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (4.0 + i,), (4.3 + 1.1 * i + i % 2,), 4.0 + i) for i in range(9))
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)
    >>> bias_svg(compare_pairs(pairs, allowed=0.5))[:4]
    '<svg'
    """
    pairs = found.pairs
    levels, title = levels_read(found)
    known = np.isfinite(levels)
    if not known.any():
        return ""
    step = max(pairs.resolution_a, pairs.resolution_b)
    flat = found.chosen.method == "difference"
    reach = step if flat else 0.0
    over = bias_over(found, float(levels[known].min()) - reach, float(levels[known].max()) + reach)
    if not over:
        return ""
    marks = level_marks(found)
    lane, labels = _lane(found, levels[known], [one.low for one in over], [one.high for one in over],
                         width)  # fmt: skip
    across = [one.level for one in over]
    decimals = decimals_of_pairs(pairs) + 1
    last = over[-1].bias
    labels.append((last, f"mean {fixed(last, decimals)}" if flat else "line", "ink", True))
    room = text_room([text for _, text, *_ in labels]) + 14.0
    lane = Lane(LEFT, width - room, TITLE, TITLE + TALL, lane.first, lane.last, lane.low, lane.high)
    parts = [allowed_svg(found, lane, "fill")]
    parts.append(shading(lane, across, [one.low for one in over], [one.high for one in over]))
    parts += [allowed_svg(found, lane, "edges"), level_axis(lane, 6)]
    parts.append(level_line(lane, 0.0, role="muted", dashes="2 4"))
    parts.append(curve(lane, across, [one.bias for one in over]))
    placed = spots(lane, levels[known], pairs.differences[known])
    parts.append(f'<g opacity=".55">{spots_svg(lane, placed)}</g>')
    if known.all():
        parts.append(ring_svg(found, lane, levels, pairs.differences))
    parts += [_mark_svg(lane, one) for one in marks]
    name = f"{short(pairs.kit_b, 20)} less {short(pairs.kit_a, 20)}, {pairs.unit}"
    parts += [axis_across(lane, title), words(LEFT, TITLE - 10, name, bold=True)]
    parts.append(labels_at_right(lane, labels))
    told = [text for text, one in zip(water_words(pairs), known, strict=True) if one]
    reads = read_outs(lane, placed, told, width - 4.0, READ)
    return picture(width, TITLE + TALL + UNDER, _label(found), "".join(parts), reads=reads)


def _lane(
    found: Comparison, levels: np.ndarray, lower: list[float], upper: list[float], width: int
) -> tuple[Lane, list[tuple[float, str, str, bool]]]:
    pairs = found.pairs
    step = max(pairs.resolution_a, pairs.resolution_b)
    marks = [end for one in level_marks(found) for end in (one.low, one.high)]
    points = [*pairs.differences, 0.0]
    span = 3.0 * (max(points) - min(points)) or 1.0
    # An interval that is wider than anything read is held inside the picture.
    ends = [
        min(max(end, min(points) - span), max(points) + span) for end in (*lower, *upper, *marks)
    ]
    low, high = padded([*points, *ends], least=4.0 * step)
    first, last = padded(list(levels), least=4.0 * step)
    edges = allowed_edges(found, np.array([last]))
    if edges and edges[0] <= _FAR * max(abs(low), abs(high)):
        low, high = min(low, -1.06 * edges[0]), max(high, 1.06 * edges[0])
    labels = [(0.0, "read alike", "muted", False), *allowed_labels(found, last, low, high)]
    return Lane(LEFT, float(width), TITLE, TITLE + TALL, first, last, low, high), labels


def _mark_svg(lane: Lane, mark: LevelMark) -> str:
    x, y = lane.x(mark.level), lane.y(mark.bias)
    return (
        f'<path d="M{x:.1f} {lane.y(mark.low):.1f}V{lane.y(mark.high):.1f}" '
        f'stroke="{paint("ink")}" stroke-width="2.4"/>'
        f'<path d="M{x:.1f} {y - 7:.1f}l7 7l-7 7l-7 -7z" fill="{paint("paper")}" '
        f'stroke="{paint("ink")}" stroke-width="2"/>'
    )


def _label(found: Comparison) -> str:
    pairs = found.pairs
    decimals = decimals_of_pairs(pairs) + 1
    told = "; ".join(
        f"at {fixed(one.level, decimals - 1)} {pairs.unit} {fixed(one.bias, decimals)}, from "
        f"{fixed(one.low, decimals)} to {fixed(one.high, decimals)}"
        for one in level_marks(found)
    )
    more = f": {told}" if told else ""
    return (
        f"{pairs.kit_b} less {pairs.kit_a} against the level, {waters_words(pairs.n)}{more}. All "
        "numbers stand in the table below."
    )
