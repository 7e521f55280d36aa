"""Words beside the points and lines of a picture, so that none covers another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes

from reef_calc.show.lane_layout import CHARACTER, LABEL_GAP, PT, spread
from reef_calc.show.style import PALETTE

INK, PAPER = PALETTE["ink"][0], PALETTE["paper"][0]


def beside_points(
    ax: Axes, labels: Sequence[tuple[float, float, str, bool]], per_step: float
) -> None:
    """Write words beside points, each moved away from its point until it covers no other.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The panel, with its limits set and its points drawn.
    labels : sequence of (float, float, str, bool)
        Place on both axes, words, and whether they stand above the point.
    per_step : float
        Width of one step of the x axis, CSS pixels.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> ax = Figure().add_subplot()
    >>> beside_points(ax, [(0.5, 0.5, "nine on one side", True)] * 2, 100.0)
    >>> len({text.get_position()[1] for text in ax.texts})
    2
    """
    low, high = ax.get_ylim()
    left, right = ax.get_xlim()
    tall = _height(ax)
    # A label covers no point either; lines with markers are what _points drew.
    taken = [
        ((x - left) * per_step - 4, (x - left) * per_step + 4, (y - low) / (high - low) * tall)
        for line in ax.get_lines()
        if line.get_marker() == "o"
        for x, y in np.asarray(line.get_xydata(), dtype=float).tolist()
    ]
    for x, y, words, above in labels:
        wide = CHARACTER * len(words)
        middle, across = (x - left) * per_step, (right - left) * per_step
        start = min(max(middle - wide / 2, 0.0), max(across - wide, 0.0))
        height = (y - low) / (high - low) * tall
        step = 14.0 if above else -14.0
        place = height + step * 0.9
        while any(
            start < end + 4 and begin < start + wide + 4 and abs(place - other) < 13.5
            for begin, end, other in taken
        ):
            place += step
        taken.append((start, start + wide, place))
        ax.text(
            start / across, place / tall, words, transform=ax.transAxes, fontsize=9, va="center",
            ha="left", color=INK, zorder=6,
            bbox={"facecolor": PAPER, "edgecolor": "none", "linewidth": 0, "pad": 0.6},
        )  # fmt: skip


def _height(ax: Axes) -> float:
    """Return how tall a panel is, CSS pixels."""
    figure = ax.get_figure(root=True)
    return 0.0 if figure is None else ax.get_position().height * figure.get_figheight() * 72 / PT


def at_right(ax: Axes, labels: Sequence[tuple[float, str, str]]) -> None:
    """Write names of lines at the right of a panel, none over another.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The panel, with its limits set.
    labels : sequence of (float, str, str)
        Place on the y axis, words, colour.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> ax = Figure().add_subplot()
    >>> at_right(ax, [(0.5, "centre", INK), (0.5, "the standard", INK)])
    >>> len(ax.texts)
    2
    """
    low, high = ax.get_ylim()
    tall = _height(ax)
    wished = [(value - low) / (high - low) * tall for value, _, _ in labels]
    for (_, words, colour), place in zip(labels, spread(wished, LABEL_GAP), strict=True):
        ax.annotate(
            words, (1.0, place / tall), (6, 0), xycoords="axes fraction",
            textcoords="offset points", fontsize=9, va="center", color=colour,
            annotation_clip=False,
        )  # fmt: skip
