"""The difference of two kits against the level: mean, limits, and what is allowed."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from reef_calc.compare.comparison import Comparison
from reef_calc.compare.difference_words import percent_words, plain
from reef_calc.compare.pairs import Pairs
from reef_calc.errors import InputError
from reef_calc.numbers_in_words import fixed
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
    MAY_MOVE,
    READ,
    TITLE,
    UNDER,
    ring_svg,
    waters_words,
)
from reef_calc.show.comparison_waters import decimals_of_pairs, short, water_words
from reef_calc.show.plan_drawing import padded, picture, text_room, words
from reef_calc.show.plan_lane import Lane, labels_at_right, level_axis
from reef_calc.show.style import paint

TALL = 300.0
DOT = "h0"  # of the places that the steps of the scales allow
_POINTS = 41
_MOST_GRID = 1600  # dots of possible readings
_GRID_ROOM = 9.0  # pixels from one to the next
_FAR = 2.5  # how much taller the allowed difference may make a picture


def difference_svg(found: Comparison, *, width: int = FIGURE) -> str:
    """Return the difference of the kits against the mean of both.

    Parameters
    ----------
    found : Comparison
        The comparison.
    width : int, optional
        Width (pixels).

    Returns
    -------
    str
        One ``<svg>`` element: a mark a water, 0, mean and limits with their intervals, the allowed
        difference, and dots where the steps of the scales allow a mark at all.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 3),)) for i in range(9))
    >>> svg = difference_svg(compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)))
    >>> "mean 0.40" in svg, "limit 0.57" in svg
    (True, True)
    """
    pairs = found.pairs
    lane, labels = _difference_lane(found, width)
    shades, lines = _limits_svg(found, lane)
    parts = [allowed_svg(found, lane, "fill"), shades, allowed_svg(found, lane, "edges")]
    parts += [level_axis(lane, 6), _grid_svg(pairs, lane)]
    parts += [level_line(lane, 0.0, role="muted", width=1.4, dashes="2 4"), lines]
    steps = [one for one in (pairs.resolution_a, pairs.resolution_b) if one > 0.0]
    placed = spots(
        lane, pairs.means, pairs.differences, room=MAY_MOVE * min(steps) if len(steps) == 2 else 0.0
    )
    parts += [spots_svg(lane, placed), ring_svg(found, lane, pairs.means, pairs.differences)]
    parts.append(axis_across(lane, f"mean of both kits, {pairs.unit}"))
    title = f"{short(pairs.kit_b, 20)} less {short(pairs.kit_a, 20)}, {pairs.unit}"
    parts += [words(LEFT, TITLE - 10, title, bold=True), labels_at_right(lane, labels)]
    reads = read_outs(lane, placed, water_words(pairs), width - 4.0, READ)
    return picture(
        width, TITLE + TALL + UNDER, _difference_label(found), "".join(parts), reads=reads
    )


def _difference_lane(
    found: Comparison, width: int
) -> tuple[Lane, list[tuple[float, str, str, bool]]]:
    """Return the scales, and the words at the right of what is drawn."""
    pairs, limits = found.pairs, found.limits
    decimals = decimals_of_pairs(pairs) + 1
    labels = [(0.0, "read alike", "muted", False)]
    core = [*pairs.differences, 0.0]
    sloped = _sloped(found)
    if sloped is None:
        mean = found.difference.mean
        labels.append((mean, f"mean {fixed(mean, decimals)}", "ink", True))
        if limits is not None and not limits.no_scatter:
            core += [limits.lower, limits.upper]
            labels += [
                (end, f"limit {fixed(end, decimals)}", "ink", False)
                for end in (limits.lower, limits.upper)
            ]
    else:
        _, middle, lower, upper = sloped
        core += [*lower, *upper]
        labels += [(middle[-1], "trend", "ink", True)]
        labels += [(end, "limit", "ink", False) for end in (lower[-1], upper[-1])]
    step = max(pairs.resolution_a, pairs.resolution_b)
    low, high = padded(core, least=4.0 * step)
    first, last = padded(list(pairs.means), least=4.0 * step)
    edges = allowed_edges(found, np.linspace(first, last, _POINTS))
    if edges and max(edges) <= _FAR * max(abs(low), abs(high)):
        low, high = min(low, -1.06 * max(edges)), max(high, 1.06 * max(edges))
    labels += allowed_labels(found, last, low, high)
    room = text_room([text for _, text, *_ in labels]) + 14.0
    lane = Lane(LEFT, width - room, TITLE, TITLE + TALL, first, last, low, high)
    return lane, labels


def allowed_labels(
    found: Comparison, last: float, low: float, high: float
) -> list[tuple[float, str, str, bool]]:
    """Return the words beside the edges of the allowed difference.

    Parameters
    ----------
    found : Comparison
        The comparison.
    last : float
        Right end of the scale of levels (unit of the pairs).
    low, high : float
        Ends of the scale of differences (unit of the pairs).

    Returns
    -------
    list of (float, str, str, bool)
        As ``labels_at_right`` takes them; empty without an allowed difference.

    Examples
    --------
    See :func:`difference_svg`.
    """
    edges = allowed_edges(found, np.array([last]))
    if not edges:
        return []
    percent = found.allowed.percent
    size = plain(edges[0]) if percent is None else f"{plain(percent)} %"
    if not (low <= -edges[0] and edges[0] <= high):
        return [(high, f"allowed {size}: beyond", "muted", False)]
    return [
        (side * edges[0], f"allowed {sign}{size}", "muted", False)
        for side, sign in ((1.0, ""), (-1.0, "−"))
    ]


def allowed_edges(found: Comparison, levels: np.ndarray) -> list[float]:
    """Return the allowed difference at levels.

    Parameters
    ----------
    found : Comparison
        The comparison.
    levels : numpy.ndarray
        Levels (unit of the pairs), shape (n,).

    Returns
    -------
    list of float
        In the same unit; empty without one, or where it is a share of a level that is not above 0.

    Examples
    --------
    See :func:`difference_svg`.
    """
    if not found.allowed.given:
        return []
    try:
        return [found.allowed.at(float(level)) for level in levels]
    except InputError:  # per cent of a level that is not above 0
        return []


def allowed_svg(found: Comparison, lane: Lane, part: Literal["fill", "edges"]) -> str:
    """Return the band of the allowed difference, sloped where it is a share of the level.

    Parameters
    ----------
    found : Comparison
        The comparison.
    lane : Lane
        Scales of the picture: level across, difference upwards.
    part : {"fill", "edges"}
        What is drawn: the fill goes under everything, the edges over other shading.

    Returns
    -------
    str
        SVG; empty without an allowed difference.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 3),)) for i in range(9))
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)
    >>> found = compare_pairs(pairs, allowed=0.5)
    >>> allowed_svg(found, Lane(0, 300, 0, 100, 7.0, 9.0, -1.0, 1.0), "edges").count("<path")
    2
    """
    across = [one for one in np.linspace(lane.first, lane.last, _POINTS) if one > 0.0]
    if found.allowed.absolute is not None:
        across = [lane.first, lane.last]
    edges = allowed_edges(found, np.array(across))
    if not edges:
        return ""
    if part == "fill":
        return shading(lane, across, [-one for one in edges], edges, "band")
    parts = []
    for side in (-1.0, 1.0):
        kept = [
            (a, side * e) for a, e in zip(across, edges, strict=True) if _inside(lane, side * e)
        ]
        if len(kept) > 1:
            parts.append(curve(lane, *zip(*kept, strict=True), role="bandedge", width=1.2))
    return "".join(parts)


def _inside(lane: Lane, value: float) -> bool:
    return lane.low <= value <= lane.high


def _sloped(found: Comparison) -> tuple[list[float], list[float], list[float], list[float]] | None:
    """Return levels, middle and limits where these change with the level."""
    trend = found.trend
    if trend is None or not (trend.clear or trend.spread_clear):
        return None
    levels = [float(one) for one in np.linspace(trend.lowest, trend.highest, _POINTS)]
    levels[-1] = trend.highest
    try:
        limits = [trend.limits_at(level) for level in levels]
    except InputError:  # the scatter would fall to nothing somewhere
        return None
    middle = [trend.difference.at(level) if trend.clear else trend.mean for level in levels]
    lower, upper = ([one[k] for one in limits] for k in (0, 1))
    return (levels, middle, lower, upper) if np.isfinite([*lower, *upper]).all() else None


def _limits_svg(found: Comparison, lane: Lane) -> tuple[str, str]:
    """Return the intervals of mean and limits as shading, and their lines."""
    sloped = _sloped(found)
    if sloped is not None:
        levels, middle, lower, upper = sloped
        return "", curve(lane, levels, middle) + "".join(
            curve(lane, levels, one, width=1.4, dashes="6 4") for one in (lower, upper)
        )
    across = [lane.first, lane.last]
    difference, limits = found.difference, found.limits
    intervals = None if limits is None else limits.pair_intervals
    shades = [shading(lane, across, [low] * 2, [high] * 2, "grid") for low, high in intervals or ()]
    if difference.low is not None and difference.high is not None:
        shades.append(shading(lane, across, [difference.low] * 2, [difference.high] * 2))
    lines = [level_line(lane, difference.mean, width=2.0)]
    if limits is not None and not limits.no_scatter:
        lines += [level_line(lane, end, dashes="6 4") for end in (limits.lower, limits.upper)]
    return "".join(shades), "".join(lines)


def _grid_svg(pairs: Pairs, lane: Lane) -> str:
    """Return a dot at every mean and difference that two rounded readings can have."""
    a_step, b_step = pairs.resolution_a, pairs.resolution_b
    single = all(len(one.a) == len(one.b) == 1 for one in pairs.waters)
    if not (single and a_step > 0.0 and b_step > 0.0):
        return ""
    per_x = (lane.right - lane.left) / (lane.last - lane.first)
    per_y = (lane.bottom - lane.top) / (lane.high - lane.low)
    # Dots that lie closer look like lines.
    if min(a_step, b_step) * min(per_x, per_y) < _GRID_ROOM:
        return ""
    reach = (lane.high - lane.low) / 2.0 + max(abs(lane.low), abs(lane.high))
    a = _readings(lane.first - reach, lane.last + reach, a_step)
    b = _readings(lane.first - reach, lane.last + reach, b_step)
    if a.size * b.size > 400 * _MOST_GRID:
        return ""
    mean, apart = (a[:, None] + b[None, :]) / 2.0, b[None, :] - a[:, None]
    inside = (mean > lane.first) & (mean < lane.last) & (apart > lane.low) & (apart < lane.high)
    if not 0 < inside.sum() <= _MOST_GRID:
        return ""
    dots = "".join(
        f"M{lane.x(x):.1f} {lane.y(y):.1f}{DOT}"
        for x, y in zip(mean[inside], apart[inside], strict=True)
    )
    return (
        f'<path d="{dots}" stroke="{paint("line")}" stroke-width="1.8" stroke-linecap="round" '
        'fill="none"/>'
    )


def _readings(low: float, high: float, step: float) -> np.ndarray:
    return step * np.arange(math.floor(low / step), math.ceil(high / step) + 1)


def _difference_label(found: Comparison) -> str:
    pairs, limits = found.pairs, found.limits
    decimals = decimals_of_pairs(pairs) + 1
    text = (
        f"{pairs.kit_b} less {pairs.kit_a} against the mean of both, {waters_words(pairs.n)}: mean "
        f"{fixed(found.difference.mean, decimals)} {pairs.unit}"
    )
    if limits is not None and not limits.no_scatter and _sloped(found) is None:
        text += (
            f", limits of single differences {fixed(limits.lower, decimals)} and "
            f"{fixed(limits.upper, decimals)}, intervals of {percent_words(found.confidence)} shaded"
        )
    return text + ". All numbers stand in the table below."
