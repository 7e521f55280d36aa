"""The whole history in the lanes: the use over time, what was found, and two answers now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from numpy.typing import NDArray

from reef_calc.balance.findings import RateCurve
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.show.found_wording import (
    LEVEL_STEP,
    RATE_CHANGE,
    believed,
    change_label,
    doubt_words,
    step_label,
)
from reef_calc.show.lane_layout import LEVEL, RATE, label_rows, label_span, runs
from reef_calc.show.level_lane import INK, LINE, MUTED, PAPER, put
from reef_calc.show.marks import DOUBTED
from reef_calc.show.standing import Standing
from reef_calc.show.style import PALETTE
from reef_calc.show.times import day_numbers

_ROW = 16.0  # CSS px of one row of labels inside a lane
_INSIDE = 80.0  # CSS px; half a label or more fits
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class DrawnRate:
    """A rate over time as it is drawn; rates in the unit of the lane per day.

    Attributes
    ----------
    x, low, high : numpy.ndarray (n,)
        Corners of the band (days since 1970; unit per day); not a number breaks it.
    start, stop, rate : numpy.ndarray (m,)
        Steps of the bold line (days since 1970; unit per day).
    smooth : numpy.ndarray (n,) or None
        Thin line at ``x`` (unit per day).
    """

    x: Floats
    low: Floats
    high: Floats
    start: Floats
    stop: Floats
    rate: Floats
    smooth: Floats | None = None


def stepped(start: Floats, stop: Floats, rate: Floats, low: Floats, high: Floats) -> DrawnRate:
    """Return months as steps with a band of steps.

    Parameters
    ----------
    start, stop : numpy.ndarray, shape (m,)
        Days since 1970.
    rate, low, high : numpy.ndarray, shape (m,)
        Rates (unit per day); not a number where a month cannot tell.

    Returns
    -------
    DrawnRate
        What is drawn.

    Examples
    --------
    >>> one = np.array([1.0])
    >>> stepped(0 * one, 30 * one, one, 0.9 * one, 1.1 * one).low
    array([0.9, 0.9])
    """
    x = np.column_stack([start, stop]).ravel()
    return DrawnRate(x, np.repeat(low, 2), np.repeat(high, 2), start, stop, rate)


def curved(curve: RateCurve, period: tuple[float, float], sign: float) -> DrawnRate:
    """Return the use over time inside a period, as it is drawn.

    Parameters
    ----------
    curve : RateCurve
        The use over time.
    period : (float, float)
        Days since 1970.
    sign : float
        −1 where a rise is drawn upward, otherwise 1 (no unit).

    Returns
    -------
    DrawnRate
        What is drawn.

    Examples
    --------
    >>> days = pd.to_datetime([0, 5, 90], unit="D", utc=True)
    >>> steps = {"start": days[:1], "stop": days[2:], "rate": 1.0}
    >>> curve = RateCurve(days, (1.0, 1.1, 1.2), (0.9,) * 3, (1.3,) * 3, pd.DataFrame(steps))
    >>> curved(curve, (0.0, 30.0), 1.0).stop
    array([30.])
    """
    since, until = period
    x = day_numbers(curve.time)
    inside = (x >= since) & (x <= until)
    band = np.sort(np.array([curve.low, curve.high], dtype=float)[:, inside] * sign, axis=0)
    steps = curve.segments
    start, stop = day_numbers(steps["start"]), day_numbers(steps["stop"])
    shown = (stop > since) & (start < until)
    return DrawnRate(
        x[inside],
        band[0],
        band[1],
        np.clip(start, since, until)[shown],
        np.clip(stop, since, until)[shown],
        steps["rate"].to_numpy(dtype=float)[shown] * sign,
        np.array(curve.rate, dtype=float)[inside] * sign,
    )


def draw_history(ax: Axes, drawn: DrawnRate) -> None:
    """Draw the band, the thin line and the bold steps on an axis that is set.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The lane.
    drawn : DrawnRate
        What is drawn.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> one = np.array([1.0])
    >>> draw_history(Figure().add_subplot(), stepped(0 * one, one, one, 0.9 * one, 1.1 * one))
    """
    x, low, high = drawn.x, drawn.low, drawn.high
    for first, last in runs(np.isfinite(low) & np.isfinite(high)):
        part = slice(first, last + 1)
        ax.fill_between(x[part], low[part], high[part], facecolor=PALETTE["interval"][0],
                        edgecolor=LINE, lw=0.8, zorder=1.5)  # fmt: skip
    if drawn.smooth is not None:
        ax.plot(x, drawn.smooth, color=MUTED, lw=0.8, zorder=2.5)
    # Steps that meet are one line with a riser; a gap between them stays a gap.
    apart = np.flatnonzero(drawn.start[1:] > drawn.stop[:-1] + 1e-6) + 1
    known = np.where(np.isfinite(drawn.rate), drawn.rate, np.nan)
    corners = np.column_stack([drawn.start, drawn.stop]).ravel()
    ax.plot(
        np.insert(corners, 2 * apart, np.nan), np.insert(np.repeat(known, 2), 2 * apart, np.nan),
        color=INK, lw=2, zorder=3, solid_joinstyle="miter", solid_capstyle="butt",
    )  # fmt: skip
    bottom, top = ax.get_ylim()
    for outside, edge, marker in ((high > top, top, "^"), (low < bottom, bottom, "v")):
        for first, last in runs(outside):
            ax.plot([(x[first] + x[last]) / 2], [edge], ls="none", marker=marker, ms=5, mfc=PAPER,
                    mec=MUTED, mew=1, color=MUTED, zorder=6, clip_on=False)  # fmt: skip


def draw_now(ax: Axes, rates: Sequence[tuple[float, float, float]], pixels_per_day: float) -> None:
    """Draw the rate now at the right end with its interval; two possible rates side by side.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The lane, its axis set.
    rates : sequence of (float, float, float)
        Median and ends of the interval of each (unit per day).
    pixels_per_day : float
        CSS pixels.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> draw_now(Figure().add_subplot(), [(1.0, 0.9, 1.1), (1.2, 1.1, 1.3)], 10.0)
    """
    bottom, top = ax.get_ylim()
    for i, (rate, *ends) in enumerate(reversed(rates)):
        place = ax.get_xlim()[1] - 9 * i / pixels_per_day
        ax.plot([place, place], np.clip(np.sort(ends), bottom, top), color=INK, lw=2, zorder=4,
                solid_capstyle="butt", clip_on=False)  # fmt: skip
        ax.plot([place], [rate], ls="none", marker="o", ms=5.6, mfc=INK, mec=PAPER, mew=0.8,
                color=INK, zorder=5, clip_on=False)  # fmt: skip


def _inside(starts: Floats, stops: Floats, ax: Axes) -> NDArray[np.bool_]:
    left, right = ax.get_xlim()
    return np.asarray((stops >= left) & (starts <= right))


def _label_top(
    ax: Axes, places: Floats, words: list[str], pixels_per_day: float, height: float
) -> Floats:
    """Write labels in rows under a lane's upper edge, which is raised; return their heights."""
    left, right = ax.get_xlim()
    bottom, top = ax.get_ylim()
    end = (right - left) * pixels_per_day
    pixels = (np.clip(places, left, right) - left) * pixels_per_day
    rows = label_rows(pixels.tolist(), words, end)
    count = max(rows, default=-1) + 1
    room = count * _ROW + (5 if count else 0)  # clear of what reaches the upper edge already
    top += (top - bottom) * room / (height - room)
    ax.set_ylim(bottom, top)
    row_height = (top - bottom) * _ROW / height
    heights = top - (np.maximum(rows, 0) + 0.5) * row_height
    for place, pixel, y, row, text in zip(places, pixels, heights, rows, words, strict=True):
        if row >= 0:
            flipped = label_span(pixel, text, end)[0] < pixel
            ax.annotate(
                text, (np.clip(place, left, right), y), (-3 if flipped else 3, 0),
                textcoords="offset points", ha="right" if flipped else "left", va="center",
                fontsize=9, color=INK, zorder=6,
                bbox={"facecolor": PAPER, "edgecolor": "none", "linewidth": 0, "pad": 0.8},
            )  # fmt: skip
    return np.asarray(heights)


def draw_changes(
    ax: Axes, use: ConsumptionEstimate, pixels_per_day: float, *, words: bool = False
) -> None:
    """Draw each change of the use as a light upright span over the days it lies in.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The lane, its axis set; with words its upper end is raised to hold them.
    use : ConsumptionEstimate
        The estimate.
    pixels_per_day : float
        CSS pixels.
    words : bool, optional
        Whether to label the spans.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> from matplotlib.figure import Figure
    >>> draw_changes(Figure().add_subplot(), S(findings=()), 10.0)
    """
    events = believed(use, RATE_CHANGE)
    if not events:
        return
    start, stop = day_numbers([e.start for e in events]), day_numbers([e.stop for e in events])
    shown = _inside(start, stop, ax)
    if words:
        labels = [change_label(use, e) for e, seen in zip(events, shown, strict=True) if seen]
        # In a wide span the label stands inside, beside a narrow one it follows.
        wide = (stop - start) * pixels_per_day > _INSIDE
        _label_top(ax, np.where(wide, start, stop)[shown], labels, pixels_per_day, RATE)
    for first, last in zip(start[shown], stop[shown], strict=True):
        ax.axvspan(first, last, facecolor=PALETTE["grid"][0], edgecolor=LINE, lw=0.6, zorder=0.5)


def draw_found_levels(
    ax: Axes, standing: Standing, shown: pd.DataFrame, pixels_per_day: float
) -> None:
    """Draw steps of the level, and doubt about readings that are still used.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The lane of the level, its axis set.
    standing : Standing
        The element.
    shown : pandas.DataFrame
        Readings of the period, in time order.
    pixels_per_day : float
        CSS pixels.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> from matplotlib.figure import Figure
    >>> draw_found_levels(Figure().add_subplot(), S(use=None), pd.DataFrame(), 10.0)
    """
    if standing.use is None or not standing.use.findings or not len(shown):
        return
    days, level = day_numbers(shown["time"]), shown["level"].to_numpy(dtype=float)
    used = (shown["mark"] == "used").to_numpy(dtype=bool)
    marks: list[tuple[float, str, float, float]] = []  # place, words, foot, head
    for row, text in doubt_words(standing.use).items():
        for i in np.flatnonzero(used & (shown["row"] == row).to_numpy(dtype=bool)):
            marks.append((days[i], text, level[i], level[i]))
    left, right = ax.get_xlim()
    for event in believed(standing.use, LEVEL_STEP) if used.any() else []:
        start, stop = day_numbers([event.start, event.stop])
        if stop >= left and start <= right:
            foot = float(np.interp(start, days[used], level[used]))
            marks.append(((start + stop) / 2, step_label(event), foot, foot + event.size))
    if not marks:
        return
    marks.sort()
    places, words = np.array([mark[0] for mark in marks]), [mark[1] for mark in marks]
    tops = _label_top(ax, places, words, pixels_per_day, LEVEL)
    for (place, _, foot, head), top in zip(marks, tops, strict=True):
        high = max(foot, head)
        ax.vlines([place], [high], [max(top, high)], color=INK, lw=0.8, ls=(0, (1, 2)), zorder=3)
        if foot == head:
            put(ax, np.array([place]), np.array([foot]), DOUBTED, 1.0)
        else:
            ax.plot([place, place], [foot, head], color=INK, lw=1.5, marker="_", ms=7, mew=1.5,
                    mfc="none", mec=INK, zorder=4.5)  # fmt: skip
