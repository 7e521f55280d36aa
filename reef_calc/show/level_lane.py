"""The lanes of the level: readings in their aim, water changes and single doses, events."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from reef_calc.show.found_wording import doubt_words
from reef_calc.show.lane_layout import Layout, label_rows, label_span
from reef_calc.show.level_wording import aim_number, level_words
from reef_calc.show.marks import ABOVE, BELOW, DOUBTED, LEFT_OUT, Mark, beyond, kit_marks, kit_names
from reef_calc.show.standing import Standing
from reef_calc.show.style import PALETTE
from reef_calc.show.times import day_numbers
from reef_calc.show.wording import day_words, decimals_for, fixed, is_known, typed

INK, MUTED, LINE, PAPER = (PALETTE[r][0] for r in ("ink", "muted", "line", "paper"))
Label = tuple[float, str, str, bool]
"""Place on the lane's axis, words, colour, bold."""


def put(ax: Axes, x: NDArray[np.float64], y: NDArray[np.float64], mark: Mark, scale: float) -> None:
    """Draw one kind of mark.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The lane.
    x, y : numpy.ndarray, shape (n,)
        Days since 1970 and levels in the display unit.
    mark : Mark
        Shape and colour.
    scale : float
        Factor on the size where readings stand close.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> put(Figure().add_subplot(), np.array([1.0]), np.array([8.0]), DOUBTED, 1.0)
    """
    colour = PALETTE[mark.role][0]
    # A set fill would stay in the picture of a mark that has no inside, in a colour of no palette.
    inside = "none" if mark.marker in "x+|" else colour if mark.filled else PAPER
    ax.plot(
        x, y, ls="none", marker=mark.marker, ms=mark.size * scale, mec=colour, mew=mark.rim,
        mfc=inside, color=colour, zorder=4, clip_on=False,
    )  # fmt: skip


def reading_words(standing: Standing, row: Any, kit: str) -> str:
    """Return what one reading says when it is pointed at.

    Parameters
    ----------
    standing : Standing
        The element.
    row : named tuple
        One of its readings.
    kit : str
        Name of the kit.

    Returns
    -------
    str
        Such as "24 Sep 2026: 7.0 ± 0.3 dKH, kit B"; ± is twice the kit's scatter.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> day = pd.Timestamp("2026-09-24T00Z")
    >>> row = S(time=day, level=7.0, sd=0.15, limit="", upper=None, mark="used")
    >>> reading_words(S(zone="UTC", unit="dKH", decimals=1), row, "kit B")
    '24 Sep 2026: 7.0 ± 0.3 dKH, kit B'
    """
    level = level_words(row.level, standing.decimals, row.limit, row.upper)
    if row.limit == "" and is_known(row.sd) and row.sd > 0:
        level += f" ± {fixed(2 * row.sd, max(decimals_for(2 * row.sd), 0))}"
    mark = "" if row.mark in ("used", "beyond limit") else f", {row.mark}"
    return f"{day_words(row.time, standing.zone)}: {level} {standing.unit}, {kit}{mark}"


def draw_level(ax: Axes, standing: Standing, shown: pd.DataFrame, density: float) -> list[Label]:
    """Draw the aim, the joining line and every reading; set the axis of the level.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The lane, with its dates already set.
    standing : Standing
        The element.
    shown : pandas.DataFrame
        Readings of the period, in time order.
    density : float
        Mean distance of the readings, CSS pixels.

    Returns
    -------
    list of (float, str, str, bool)
        Labels for the right margin.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> from matplotlib.figure import Figure
    >>> row = {"time": pd.Timestamp("2026-09-24T00Z"), "level": 7.1, "kit": "a", "limit": ""}
    >>> table = pd.DataFrame([row | {"upper": 0, "mark": "used"}])
    >>> tank = S(low=7.0, high=8.5, decimals=1, readings=table)
    >>> [label[1] for label in draw_level(Figure().add_subplot(), tank, table, 20.0)]
    ['aim, high 8.5', 'aim, low 7.0', 'last 7.1']
    """
    days, level = day_numbers(shown["time"]), shown["level"].to_numpy(dtype=float)
    mark = shown["mark"].to_numpy(dtype=object)
    low_side, high_side = beyond(shown, "<"), beyond(shown, ">")
    told = (mark == "used") | low_side | high_side
    between = told & (shown["limit"] == "between").to_numpy(dtype=bool)
    upper = np.where(between, shown["upper"].to_numpy(dtype=float), level)
    middle = np.where(between, (level + upper) / 2, level)

    aims = [v for v in (standing.low, standing.high) if v is not None]
    bottom, top = _level_range(
        np.concatenate([level[told], upper[told], aims]), bool(low_side.any())
    )
    ax.set_ylim(bottom, top)
    band = (standing.low if standing.low is not None else bottom,
            standing.high if standing.high is not None else top)  # fmt: skip
    if aims:
        ax.axhspan(*band, facecolor=PALETTE["band"][0], edgecolor="none", lw=0, zorder=0)
    for value in aims:
        ax.axhline(value, color=PALETTE["bandedge"][0], lw=0.8, zorder=1)

    ax.plot(days[told], middle[told], color=LINE, lw=0.8, zorder=2, solid_joinstyle="round")
    ax.vlines(
        days[low_side], max(bottom, 0.0), level[low_side], color=MUTED, lw=0.8, ls=(0, (1, 2))
    )
    ax.vlines(days[between], level[between], upper[between], color=INK, lw=1.5)
    scale = float(np.clip(density / 6.5, 0.6, 1.0))
    names = np.array(kit_names(shown), dtype=object)
    for kit, kind in kit_marks(standing.readings).items():
        mine = (names == kit) & told & ~low_side & ~high_side
        if mine.any():
            put(ax, days[mine], middle[mine], kind, scale)
    for which, kind in ((low_side, BELOW), (high_side, ABOVE), (mark == "left out", LEFT_OUT)):
        if which.any():
            put(ax, days[which], mark_heights(level[which], bottom, top), kind, scale)
    _draw_doubted(ax, standing, shown[mark == "doubted"])

    labels: list[Label] = []
    for word, aim in (("high", standing.high), ("low", standing.low)):
        if aim is not None:
            number = aim_number(aim, standing.decimals)
            labels.append((aim, f"aim, {word} {number}", MUTED, False))
    if told.any():
        last = shown[told].iloc[-1]
        words = level_words(last["level"], standing.decimals, last["limit"], last["upper"])
        labels.append((float(middle[told][-1]), f"last {words}", INK, True))
    return labels


def _level_range(values: NDArray[np.float64], from_zero: bool) -> tuple[float, float]:
    if not values.size:
        return 0.0, 1.0
    low, high = float(values.min()), float(values.max())
    room = 0.12 * (high - low) or 0.05 * abs(high) or 1.0
    return (0.0 if from_zero else low - room), high + room


def mark_heights(level: NDArray[np.float64], bottom: float, top: float) -> NDArray[np.float64]:
    """Return where marks stand; one beyond the axis is brought inside, and its words say so.

    Parameters
    ----------
    level : numpy.ndarray, shape (n,)
        Levels in the display unit.
    bottom, top : float
        Ends of the axis, same unit.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Heights in the display unit.

    Examples
    --------
    >>> mark_heights(np.array([8.0, 16.0]), 6.0, 10.0)
    array([8. , 9.4])
    """
    room = 0.15 * (top - bottom)
    inside = np.where(level > top, top - room, np.where(level < bottom, bottom + room / 3, level))
    return np.asarray(inside, dtype=float)


def _draw_doubted(ax: Axes, standing: Standing, doubted: pd.DataFrame) -> None:
    """Draw doubted readings; one far away stands at the edge with its value and an arrow."""
    if not len(doubted):
        return
    days, level = day_numbers(doubted["time"]), doubted["level"].to_numpy(dtype=float)
    how_sure = doubt_words(standing.use)
    words = [how_sure.get(row, "doubted") for row in doubted["row"]]
    bottom, top = ax.get_ylim()
    # The axis opens for a doubted reading only so far that the others stay readable.
    bottom, top = (
        max(min(bottom, level.min() - 0.05 * (top - bottom)), bottom - 0.5 * (top - bottom)),
        min(max(top, level.max() + 0.16 * (top - bottom)), top + 0.5 * (top - bottom)),
    )
    ax.set_ylim(bottom, top)
    heights = mark_heights(level, bottom, top)
    put(ax, days, heights, DOUBTED, 1.0)
    left, right = ax.get_xlim()
    for day, value, height, word in zip(days, level, heights, words, strict=True):
        far = "" if bottom <= value <= top else " ↑" if value > top else " ↓"
        number = f" {fixed(value, standing.decimals)}{far}" if far else ""
        place = (day - left) / (right - left)
        ax.annotate(
            f"{word}{number}",
            (day, height),
            (0, 6), textcoords="offset points", va="bottom", fontsize=9, color=INK, zorder=6,
            ha="left" if place < 0.05 else "right" if place > 0.95 else "center",
        )  # fmt: skip


def event_words(events: pd.DataFrame) -> list[str]:
    """Return the label of each event.

    Parameters
    ----------
    events : pandas.DataFrame
        Events of a standing.

    Returns
    -------
    list of str
        Its kind; "other" is no word that helps, so the note is taken, cut at 24 letters, or
        "event" where there is none in letters that every font has.

    Examples
    --------
    >>> event_words(pd.DataFrame({"kind": ["corals added", "other"], "note": ["", "new pump"]}))
    ['corals added', 'new pump']
    """
    words = []
    for kind, note in zip(events["kind"], events["note"], strict=True):
        text = typed(note).strip()
        if kind != "other":
            words.append(typed(kind))
        elif text and text.isprintable() and max(text) < "\u0250":
            words.append(text if len(text) <= 24 else text[:23].rstrip() + "…")
        else:
            words.append("event")
    return words


def draw_care(ax: Axes, changes: NDArray[np.float64], doses: NDArray[np.float64]) -> None:
    """Draw water changes as ticks and single doses as small triangles in one thin lane.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The lane.
    changes, doses : numpy.ndarray
        Days since 1970.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> draw_care(Figure().add_subplot(), np.array([1.0]), np.array([2.0]))
    """
    ax.set_ylim(0, 1)
    ax.axis("off")
    if changes.size:
        ax.plot(changes, np.full(changes.size, 0.62), ls="none", marker="|", ms=9, mew=1.2,
                mec=MUTED, mfc="none", color=MUTED)  # fmt: skip
    if doses.size:
        ax.plot(doses, np.full(doses.size, 0.6 if not changes.size else 0.14), ls="none",
                marker="^", ms=5.5, mec=PALETTE["kitA"][0], mfc=PALETTE["kitA"][0], mew=0.6,
                color=PALETTE["kitA"][0], clip_on=False)  # fmt: skip


def draw_events(ax: Axes, places: NDArray[np.float64], words: list[str], page: Layout) -> None:
    """Draw labelled ticks, in two rows at most.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The lane, with its dates already set.
    places : numpy.ndarray, shape (n,)
        Days since 1970, in rising order.
    words : list of str, shape (n,)
        Labels.
    page : Layout
        The picture.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> from reef_calc.show.lane_layout import layout
    >>> ax, page = Figure().add_subplot(), layout(980, care=0, event_rows=1, rate=0, labels=[])
    >>> draw_events(ax, np.array([0.5]), ["lot opened"], page)
    >>> ax.texts[0].get_text()
    'lot opened'
    """
    left, right = ax.get_xlim()
    pixels = (places - left) / (right - left) * page.inner
    end = page.inner + page.right - 8
    rows = label_rows(pixels.tolist(), words, end)
    count = max(max(rows, default=0), 0) + 1
    ax.set_ylim(count, 0)
    ax.axis("off")
    ax.vlines(places, 0, [max(r, 0) + 0.85 for r in rows], color=LINE, lw=0.8)
    for day, pixel, row, text in zip(places, pixels, rows, words, strict=True):
        if row >= 0:
            flipped = label_span(pixel, text, end)[0] < pixel
            ax.annotate(
                text, (day, row + 0.5), (-3 if flipped else 3, 0), textcoords="offset points",
                ha="right" if flipped else "left", va="center", fontsize=9, color=MUTED,
                bbox={"facecolor": PAPER, "edgecolor": "none", "linewidth": 0, "pad": 0.8},
            )  # fmt: skip


def tick_level(ax: Axes, most: int = 6) -> None:
    """Set few and round ticks on a lane's upright axis.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The lane.
    most : int, optional
        Number of steps between ticks at most.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> tick_level(Figure().add_subplot())
    """
    ax.yaxis.set_major_locator(MaxNLocator(nbins=most, steps=[1, 2, 5, 10]))
    ax.tick_params(axis="y", length=3, pad=4)
