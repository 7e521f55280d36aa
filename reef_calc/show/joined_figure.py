"""Old readings on the scale of the kit in use: a strip that moves as one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import matplotlib as mpl
import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.dates import AutoDateLocator, num2date
from matplotlib.figure import Figure
from numpy.typing import NDArray

from reef_calc.balance.kit_joins import group_name
from reef_calc.show.lane_layout import PT
from reef_calc.show.level_lane import tick_level
from reef_calc.show.point_labels import at_right
from reef_calc.show.standing import Standing
from reef_calc.show.style import PALETTE, RC_PARAMS
from reef_calc.show.svg import ReadOut, figure_svg, picture_prefix
from reef_calc.show.times import day_numbers, records
from reef_calc.show.wording import MONTHS, day_words, decimals_for, fixed

if TYPE_CHECKING:
    from reef_calc.compare.joined import JoinedHistory

INK, MUTED, LINE = (PALETTE[role][0] for role in ("ink", "muted", "line"))
PAPER, BLUE = PALETTE["paper"][0], PALETTE["kitA"][0]
_TOP, _LEVEL, _BOTTOM = 28.0, 240.0, 34.0
Floats = NDArray[np.float64]


def draw_strip(ax: Axes, days: Floats, shown: Floats, half: float) -> None:
    """Draw readings on another scale as one band with a line through them.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The lane; its level axis is opened where the strip needs it.
    days : numpy.ndarray, shape (n,)
        Days since 1970, rising.
    shown : numpy.ndarray, shape (n,)
        Levels on the scale of the kit in use (display unit).
    half : float
        Half the 95 % interval of the shift, one for all (same unit).

    Examples
    --------
    >>> ax = Figure().add_subplot()
    >>> draw_strip(ax, np.array([1.0, 2.0]), np.array([8.0, 8.2]), 0.2)
    >>> len(ax.collections), len(ax.lines)
    (1, 1)
    """
    bottom, top = ax.get_ylim()
    # One reading alone still makes a strip that can be seen.
    at = days if days.size > 1 else np.array([days[0] - 0.5, days[0] + 0.5])
    level = shown if days.size > 1 else np.repeat(shown, 2)
    ax.fill_between(
        at, level - half, level + half, facecolor=BLUE, alpha=0.16, edgecolor="none", lw=0,
        zorder=1.5,
    )  # fmt: skip
    ax.plot(at, level, color=BLUE, lw=1.0, zorder=2.5, solid_joinstyle="round")
    room = 0.04 * (top - bottom)
    ax.set_ylim(
        min(bottom, float((level - half).min()) - room),
        max(top, float((level + half).max()) + room),
    )


def draw_joined(ax: Axes, standing: Standing, shown: pd.DataFrame) -> None:
    """Draw, in the lane of the level, what older kits read on the scale of the kit in use.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The lane, with readings drawn as they were read.
    standing : Standing
        The element; nothing is drawn where no joins are stored.
    shown : pandas.DataFrame
        Readings of the period, in time order.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> ax = Figure().add_subplot()
    >>> draw_joined(ax, S(use=None), pd.DataFrame())
    >>> len(ax.collections)
    0
    """
    joined = standing.use.joined if standing.use is not None else None
    if joined is None:
        return
    plain = shown[(shown["mark"] == "used") & (shown["limit"] == "")]
    for moved in joined.moved:
        own = plain[(plain["kit"] == moved.group[0]) & (plain["lot"] == moved.group[1])]
        if not moved.by_join or own.empty:
            continue
        days = day_numbers(own["time"])
        draw_strip(ax, days, own["level"].to_numpy(dtype=float) + moved.shift, moved.half)
        left, right = ax.get_xlim()
        middle = len(days) // 2
        place = (days[middle] - left) / (right - left)
        ax.annotate(
            f"on the scale of {group_name(joined.in_use)}",
            (days[middle], float(own["level"].iloc[middle]) + moved.shift + moved.half),
            (0, 3), textcoords="offset points", va="bottom", fontsize=9, color=BLUE, zorder=5,
            ha="left" if place < 0.25 else "right" if place > 0.75 else "center",
            parse_math=False,
        )  # fmt: skip


def joined_svg(
    history: JoinedHistory,
    *,
    decimals: int,
    width: int = 980,
    aim: tuple[float, float] | None = None,
) -> str:
    """Return a joined history as inline SVG: as read (open), on one scale (filled, in a strip).

    Parameters
    ----------
    history : JoinedHistory
        As ``joined_history`` gives it.
    decimals : int
        Decimals that the kits' steps justify for a level.
    width : int, optional
        Width in CSS pixels.
    aim : (float, float), optional
        Low and high end of the aim (unit of the history).

    Returns
    -------
    str
        One ``<svg>`` element.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> from reef_calc.balance.joined_scale import JoinedScale, Moved
    >>> time = pd.to_datetime(["2026-05-01T18Z", "2026-05-05T18Z"])
    >>> table = pd.DataFrame({"time": time, "level": [8.0, 8.3], "shown": [8.3, 8.3],
    ...     "shift": [0.3, 0.0], "half": [0.2, 0.0], "kit": ["A", "B"], "strip": ["A", ""]})
    >>> one = S(table=table, element="alkalinity", unit="dKH", zone="UTC", in_use="B")
    >>> "A on the scale of B" in joined_svg(one, decimals=1, width=600)
    True
    """
    with mpl.rc_context(RC_PARAMS):
        figure, places = _draw(history, decimals, width, aim)
        table = history.table
        moved = list(dict.fromkeys(table.loc[table["strip"] != "", "strip"]))
        prefix = picture_prefix("joined", history.element, width, len(table), table["shown"].sum())
        label = (
            f"{len(table)} {history.element} readings; those with {' and '.join(moved)} on the scale "
            f"of {history.in_use}, in a strip that may be wrong as a whole."
            if moved
            else f"{len(table)} {history.element} readings with {history.in_use}."
        )
        return figure_svg(figure, prefix=prefix, label=label, read_outs=places)


def _draw(
    history: JoinedHistory, decimals: int, width: int, aim: tuple[float, float] | None
) -> tuple[Figure, list[ReadOut]]:
    table, unit, zone = history.table, history.unit, history.zone
    left, right = (64.0, 190.0) if width >= 800 else (52.0, 150.0)
    height = _TOP + _LEVEL + _BOTTOM
    inner = width - left - right
    figure = Figure(figsize=(width * PT / 72, height * PT / 72))
    ax = figure.add_axes((left / width, _BOTTOM / height, inner / width, _LEVEL / height))
    days, level = day_numbers(table["time"]), table["level"].to_numpy(float)
    strips = table["strip"].to_numpy(object)
    shown = table["shown"].to_numpy(float)
    ax.set_xlim(days.min() - 3, days.max() + 3)
    known = np.concatenate([level, shown[np.isfinite(shown)], list(aim or ())])
    room = 0.1 * np.ptp(known) or 0.05 * abs(float(known.max())) or 1.0
    ax.set_ylim(float(known.min()) - room, float(known.max()) + room)
    ax.set_title(f"Level, {unit}", pad=6)
    labels: list[tuple[float, str, str]] = []
    if aim is not None:
        ax.axhspan(*aim, facecolor=PALETTE["band"][0], edgecolor="none", lw=0, zorder=0)
        for value, word in zip(aim, ("low", "high"), strict=True):
            ax.axhline(value, color=PALETTE["bandedge"][0], lw=0.8, zorder=1)
            labels.append((value, f"aim, {word} {fixed(value, decimals)}", MUTED))
    own = strips == ""
    style: dict[str, Any] = {"ls": "none", "marker": "o", "ms": 5.0, "clip_on": False}
    ax.plot(days[own], level[own], mfc=INK, mec=INK, color=INK, zorder=4, **style)
    if own.any():
        labels.append((float(level[own][-1]), history.in_use, INK))
    for name in dict.fromkeys(strips[~own]):
        mine = strips == name
        ax.plot(
            days[mine], level[mine], mfc=PAPER, mec=MUTED, mew=1.0, color=MUTED, zorder=3, **style
        )
        labels.append((float(level[mine][-1]), f"{name} as read", MUTED))
        if np.isfinite(shown[mine]).all():
            half = float(table.loc[mine, "half"].iloc[0])
            draw_strip(ax, days[mine], shown[mine], half)
            ax.plot(days[mine], shown[mine], mfc=BLUE, mec=BLUE, color=BLUE, zorder=4, **style)
            labels.append(
                (float(shown[mine][-1]), f"{name} on the scale of {history.in_use}", BLUE)
            )
    at_right(ax, labels)
    tick_level(ax)
    _dates(ax, zone, width)
    low, high = ax.get_xlim()
    bottom, top = ax.get_ylim()
    found = []
    for row, day, number in zip(records(table), days, shown, strict=True):
        x = left + (day - low) / (high - low) * inner
        y = _BOTTOM + (row.level - bottom) / (top - bottom) * _LEVEL
        words = (
            f"{day_words(row.time, zone)}: {fixed(row.level, decimals)} {unit} as read, {row.kit}"
        )
        if row.strip and np.isfinite(number):
            places = decimals_for(row.half)
            words += (
                f"; {fixed(number, places)} ± {fixed(row.half, places)} on the scale of "
                f"{history.in_use}"
            )
        found.append(ReadOut(words, x * PT, y * PT, (width - 4) * PT, (height - 16) * PT))
    return figure, found


def _dates(ax: Axes, zone: str, width: int) -> None:
    local = ZoneInfo(zone)
    locator = AutoDateLocator(tz=local, minticks=3, maxticks=8 if width >= 800 else 6)
    low, high = ax.get_xlim()
    every = locator.tick_values(num2date(low, tz=local), num2date(high, tz=local))
    ticks = [tick for tick in every if low <= tick <= high]
    moments = [num2date(tick, tz=local) for tick in ticks]
    ax.set_xticks(
        ticks,
        [
            f"{one.day} {MONTHS[one.month - 1][:3]}" + (f"\n{one.year}" if i == 0 else "")
            for i, one in enumerate(moments)
        ],
    )
