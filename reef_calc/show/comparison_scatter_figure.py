"""What one kit reads against what the other reads, on equal scales."""

from __future__ import annotations

import numpy as np

from reef_calc.compare.answer_at_levels import basis_of
from reef_calc.compare.bias_at import BiasAt
from reef_calc.compare.coarse_steps import steps_variance
from reef_calc.compare.comparison import Comparison
from reef_calc.compare.pairs import Pairs
from reef_calc.show.comparison_drawing import (
    FIGURE,
    axis_across,
    curve,
    read_outs,
    shading,
    spots,
    spots_svg,
)
from reef_calc.show.comparison_waters import short, water_words
from reef_calc.show.plan_drawing import padded, picture, text_room, words
from reef_calc.show.plan_lane import Lane, labels_at_right, level_axis
from reef_calc.show.style import paint

LEFT, TITLE, UNDER, READ = 58.0, 46.0, 44.0, 14.0
MAY_MOVE = 1 / 3  # share of a step that a mark may be moved by
_POINTS = 41


def scatter_svg(found: Comparison, *, width: int = FIGURE) -> str:
    """Return what kit B reads against what kit A reads, on equal scales.

    Parameters
    ----------
    found : Comparison
        The comparison.
    width : int, optional
        Width (pixels).

    Returns
    -------
    str
        One ``<svg>`` element: the diagonal of equal readings, a mark a water, and the line with its
        interval over the waters where there is one.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0 + i,), (8.3 + i,)) for i in range(4))
    >>> svg = scatter_svg(compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)))
    >>> "read alike" in svg, svg.count("<circle")
    (True, 8)
    """
    pairs, line = found.pairs, found.chosen.line
    over = [] if line is None else bias_over(found, line.x_low, line.x_high)
    ends = [one.level + one.bias for one in (over[:1] + over[-1:])]
    step = max(pairs.resolution_a, pairs.resolution_b)
    low, high = padded([*pairs.a, *pairs.b, *ends], least=4.0 * step)
    room = text_room(["read alike"]) + 16.0
    side = width - LEFT - room
    lane = Lane(LEFT, LEFT + side, TITLE, TITLE + side, low, high, low, high)
    parts = [level_axis(lane, 6)]
    labels = [(high, "read alike", "muted", False)]
    if over:
        across = [one.level for one in over]
        lower = [one.level + one.low for one in over]
        parts.append(shading(lane, across, lower, [one.level + one.high for one in over]))
    parts.append(curve(lane, [low, high], [low, high], role="muted", width=1.2, dashes="2 4"))
    if over:
        parts.append(curve(lane, across, [one.level + one.bias for one in over]))
        labels.append((ends[-1], "the line", "ink", True))
    placed = spots(lane, pairs.a, pairs.b, room=MAY_MOVE * pairs.resolution_a)
    parts += [spots_svg(lane, placed), ring_svg(found, lane, pairs.a, pairs.b)]
    parts.append(axis_across(lane, f"{short(pairs.kit_a, 32)}, {pairs.unit}"))
    parts.append(words(LEFT, TITLE - 10, f"{short(pairs.kit_b, 32)}, {pairs.unit}", bold=True))
    parts.append(labels_at_right(lane, labels))
    reads = read_outs(lane, placed, water_words(pairs), width - 4.0, READ)
    return picture(
        width, TITLE + side + UNDER, _scatter_label(pairs, line=bool(over)), "".join(parts),
        reads=reads,
    )  # fmt: skip


def _scatter_label(pairs: Pairs, *, line: bool) -> str:
    above = int((pairs.differences > 1e-9).sum())
    below = int((pairs.differences < -1e-9).sum())
    more = " The line between the kits is drawn over the waters that were read." if line else ""
    return (
        f"{pairs.kit_b} against {pairs.kit_a} on {waters_words(pairs.n)}: above the line of equal readings "
        f"on {above}, below it on {below}.{more} All numbers stand in the table below."
    )


def waters_words(n: int) -> str:
    """Return a number of waters in words.

    Parameters
    ----------
    n : int
        How many.

    Returns
    -------
    str
        Such as "12 waters".

    Examples
    --------
    >>> waters_words(1), waters_words(12)
    ('1 water', '12 waters')
    """
    return "1 water" if n == 1 else f"{n} waters"


def bias_over(found: Comparison, low: float, high: float) -> list[BiasAt]:
    """Return the difference at levels from a lower to an upper one, as the answer has it.

    Parameters
    ----------
    found : Comparison
        The comparison.
    low, high : float
        Ends of the levels (unit of the pairs).

    Returns
    -------
    list of BiasAt
        At equal distances, with the intervals of the answer; empty where there is none.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 2),)) for i in range(6))
    >>> found = compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters))
    >>> {round(one.bias, 2) for one in bias_over(found, 8.0, 8.1)}
    {0.35}
    """
    if not high > low:
        return []
    clear = found.trend is not None and found.trend.clear
    variance = steps_variance(found.pairs) if found.coarse else 0.0
    levels = tuple(float(one) for one in np.linspace(low, high, _POINTS))
    basis, _ = basis_of(
        found.pairs, found.chosen, found.difference, levels, variance, clear, found.confidence
    )
    return [one for one in basis.bias if np.isfinite([one.bias, one.low, one.high]).all()]


def ring_svg(found: Comparison, lane: Lane, x: np.ndarray, y: np.ndarray) -> str:
    """Return a ring and the name of a water that does not fit the others.

    Parameters
    ----------
    found : Comparison
        The comparison.
    lane : Lane
        Scales of the picture.
    x, y : numpy.ndarray
        Places of the waters on the two scales (units of the scales), shape (n,).

    Returns
    -------
    str
        SVG; empty where all fit.

    Examples
    --------
    See :func:`scatter_svg`.
    """
    if found.outlier is None or not found.outlier.named:
        return ""
    index = found.outlier.index
    across, down = lane.x(float(x[index])), lane.y(float(y[index]))
    text = f"water {short(found.pairs.waters[index].name)}"
    right = across + 12 + text_room([text]) > lane.right
    return (
        f'<circle cx="{across:.1f}" cy="{down:.1f}" r="9" fill="none" stroke="{paint("ink")}" '
        'stroke-width="1.5"/>'
        + words(across + (-12 if right else 12), down - 8, text, bold=True,
                at="end" if right else "start", halo=True)
    )  # fmt: skip
