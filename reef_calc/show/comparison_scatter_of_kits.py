"""How well each kit repeats, and what is left over by the answer: two plain pictures."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from reef_calc.compare.comparison import Comparison
from reef_calc.compare.pairs import Pairs
from reef_calc.compare.repeatability import Repeatability
from reef_calc.numbers_in_words import fixed
from reef_calc.show.comparison_bias_figure import levels_read
from reef_calc.show.comparison_drawing import (
    FIGURE,
    axis_across,
    level_line,
    read_outs,
    spots,
    spots_svg,
)
from reef_calc.show.comparison_scatter_figure import LEFT, READ, TITLE, UNDER, ring_svg
from reef_calc.show.comparison_waters import decimals_of_pairs, short, water_words
from reef_calc.show.plan_drawing import padded, picture, text_room, words
from reef_calc.show.plan_lane import Lane, labels_at_right, level_axis

_TALL_REPEATS, _GAP, _TALL_RESIDUALS = 150.0, 66.0, 220.0


class _Repeats(NamedTuple):
    kit: str
    scatter: Repeatability | None
    levels: np.ndarray
    away: np.ndarray
    told: list[str]


def repeats_svg(found: Comparison, *, width: int = FIGURE) -> str:
    """Return how far repeated readings lie from the mean of their water, one lane a kit.

    Parameters
    ----------
    found : Comparison
        The comparison.
    width : int, optional
        Width (pixels).

    Returns
    -------
    str
        One ``<svg>`` element; empty where no water was read more than once with one kit.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0 + i, 8.1 + i), (8.3 + i,)) for i in range(4))
    >>> svg = repeats_svg(compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)))
    >>> "new: no water was read more than once" in svg
    True
    """
    pairs = found.pairs
    both = [_repeats(pairs, 0, found.scatter_a), _repeats(pairs, 1, found.scatter_b)]
    if not any(one.away.size for one in both):
        return ""
    sizes = [float(np.abs(one.away).max()) for one in both if one.away.size]
    sizes += [one.scatter.sd for one in both if one.scatter is not None and one.away.size]
    step = max(pairs.resolution_a, pairs.resolution_b)
    edge = 1.12 * max([*sizes, step / 2.0, 1e-9])
    levels = np.concatenate([one.levels for one in both])
    first, last = padded(list(levels), least=4.0 * step)
    labels = [_labels(one, pairs) for one in both]
    room = text_room([text for lane in labels for _, text, *_ in lane]) + 14.0
    parts, reads, top = [], [], TITLE
    for one, said in zip(both, labels, strict=True):
        lane = Lane(LEFT, width - room, top, top + _TALL_REPEATS, first, last, -edge, edge)
        placed = spots(lane, one.levels, one.away)
        parts.append(_repeats_lane(one, lane, said))
        parts.append(spots_svg(lane, placed))
        reads.append(read_outs(lane, placed, one.told, width - 4.0, READ))
        top = lane.bottom + _GAP
    parts.append(axis_across(lane, f"mean of the water with that kit, {pairs.unit}"))
    counted = "; ".join(
        f"{one.kit} {one.away.size} readings of {len(set(one.levels))} waters"
        if one.away.size
        else f"{one.kit} none"
        for one in both
    )
    label = f"Repeated readings less the mean of their water, {pairs.unit}: {counted}."
    return picture(width, lane.bottom + UNDER, label, "".join(parts), reads="".join(reads))


def _repeats(pairs: Pairs, which: int, scatter: Repeatability | None) -> _Repeats:
    kit = (pairs.kit_a, pairs.kit_b)[which]
    levels, away, told = [], [], []
    decimals = decimals_of_pairs(pairs)
    for water in pairs.waters:
        readings = (water.a, water.b)[which]
        if len(readings) < 2:
            continue
        mean = float(np.mean(readings))
        for one in readings:
            levels.append(mean)
            away.append(one - mean)
            told.append(
                f"Water {short(water.name, 24)}: read {fixed(one, decimals)}, mean "
                f"{fixed(mean, decimals)} {pairs.unit}"
            )
    return _Repeats(kit, scatter, np.array(levels), np.array(away), told)


def _labels(one: _Repeats, pairs: Pairs) -> list[tuple[float, str, str, bool]]:
    found = [(0.0, "mean of a water", "muted", False)]
    if one.scatter is not None and one.away.size:
        decimals = decimals_of_pairs(pairs) + 1
        size = fixed(one.scatter.sd, decimals)
        found += [(side * one.scatter.sd, f"{sign}SD {size}", "ink", False)
                  for side, sign in ((1.0, "+ "), (-1.0, "− "))]  # fmt: skip
    return found


def _repeats_lane(one: _Repeats, lane: Lane, labels: list[tuple[float, str, str, bool]]) -> str:
    kit = short(one.kit, 32)
    if not one.away.size:
        return words(
            lane.left, lane.top - 10, f"{kit}: no water was read more than once", bold=True
        )
    parts = [level_axis(lane, 4), level_line(lane, 0.0, role="muted", dashes="2 4")]
    if one.scatter is not None:
        parts += [level_line(lane, side * one.scatter.sd, dashes="6 4") for side in (-1.0, 1.0)]
    parts.append(
        words(lane.left, lane.top - 10, f"{kit}, reading less mean of its water", bold=True)
    )
    parts.append(labels_at_right(lane, labels))
    return "".join(parts)


def residuals_of(found: Comparison) -> tuple[np.ndarray, np.ndarray, str]:
    """Return what is left over by the answer, water by water.

    Parameters
    ----------
    found : Comparison
        The comparison.

    Returns
    -------
    numpy.ndarray
        Levels (unit of the pairs), shape (n,).
    numpy.ndarray
        Difference less what the answer says at that level (same unit), shape (n,).
    str
        What is taken off, in words.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 2),)) for i in range(4))
    >>> found = compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters))
    >>> residuals_of(found)[1].round(3).tolist()
    [-0.05, 0.05, -0.05, 0.05]
    """
    pairs = found.pairs
    levels, _ = levels_read(found)
    known = found.chosen.known
    if found.chosen.method == "known levels" and known is not None:
        line = known.difference
        return levels, pairs.differences - line.intercept - line.slope * levels, "the line"
    if found.chosen.line is not None:
        between = found.chosen.line
        return levels, pairs.b - between.intercept - between.slope * pairs.a, "the line"
    return levels, pairs.differences - pairs.differences.mean(), "the mean difference"


def residuals_svg(found: Comparison, *, width: int = FIGURE) -> str:
    """Return how far each water lies from what the answer says, against the level.

    Parameters
    ----------
    found : Comparison
        The comparison.
    width : int, optional
        Width (pixels).

    Returns
    -------
    str
        One ``<svg>`` element; a water that does not fit has a ring and its name.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0 + i,), (8.3 + i,)) for i in range(4))
    >>> residuals_svg(compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)))[:4]
    '<svg'
    """
    pairs = found.pairs
    levels, left, what = residuals_of(found)
    known = np.isfinite(levels) & np.isfinite(left)
    if not known.any():
        return ""
    step = max(pairs.resolution_a, pairs.resolution_b)
    left = np.where(np.abs(left) < 1e-9, 0.0, left)
    edge = 1.12 * max(float(np.abs(left[known]).max()), step)
    # Nothing left over and no step: any scale will do, but not one of the computer's rounding.
    edge = edge if edge > 0.0 else 1.0
    first, last = padded(list(levels[known]), least=4.0 * step)
    label = f"on {what}"
    lane = Lane(LEFT, width - text_room([label]) - 14.0, TITLE, TITLE + _TALL_RESIDUALS, first, last,
                -edge, edge)  # fmt: skip
    placed = spots(lane, levels[known], left[known])
    parts = [level_axis(lane, 5), level_line(lane, 0.0, role="muted", dashes="2 4")]
    parts.append(spots_svg(lane, placed))
    if known.all():
        parts.append(ring_svg(found, lane, levels, left))
    parts.append(axis_across(lane, levels_read(found)[1]))
    title = f"difference less {what}, {pairs.unit}"
    parts.append(words(LEFT, TITLE - 10, title, bold=True))
    parts.append(labels_at_right(lane, [(0.0, label, "muted", False)]))
    told = [text for text, one in zip(water_words(pairs), known, strict=True) if one]
    named = found.outlier is not None and found.outlier.named
    which = pairs.waters[found.outlier.index].name if named and found.outlier is not None else ""
    fits = f"water {which} does not fit the others" if named else "no water stands out"
    return picture(
        width, lane.bottom + UNDER, f"How far each water lies from {what}: {fits}.",
        "".join(parts), reads=read_outs(lane, placed, told, width - 4.0, READ),
    )  # fmt: skip
