"""The history of one kit as read and as corrected, joined by thin stems."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

import matplotlib as mpl
import numpy as np
import pandas as pd
from matplotlib.dates import AutoDateLocator, num2date
from matplotlib.figure import Figure

from reef_calc.show.lane_layout import PT
from reef_calc.show.level_lane import tick_level
from reef_calc.show.point_labels import at_right
from reef_calc.show.style import PALETTE, RC_PARAMS
from reef_calc.show.svg import ReadOut, figure_svg, picture_prefix
from reef_calc.show.times import day_numbers, records
from reef_calc.show.wording import MONTHS, day_words, fixed

INK, MUTED, LINE = (PALETTE[role][0] for role in ("ink", "muted", "line"))
PAPER, BLUE = PALETTE["paper"][0], PALETTE["kitA"][0]
_TOP, _LEVEL, _BOTTOM = 28.0, 240.0, 30.0


def history_svg(
    history: pd.DataFrame,
    *,
    kit: str,
    unit: str,
    zone: str,
    decimals: int,
    width: int,
    aim: tuple[float, float] | None = None,
) -> str:
    """Return a kit's readings as read (open) and as corrected (filled) as inline SVG.

    Parameters
    ----------
    history : pandas.DataFrame
        As ``kit_history`` gives it; at least one reading.
    kit, unit, zone : str
        Name of the kit, its unit, IANA zone of the tank.
    decimals : int
        Decimals of the kit.
    width : int
        Width in CSS pixels.
    aim : (float, float), optional
        Low and high end of the aim, in the kit's unit.

    Returns
    -------
    str
        One ``<svg>`` element.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.kit_corrections import kit_history
    >>> tank = example_tank()
    >>> history = kit_history(tank, tank.kits["drops"])
    >>> svg = history_svg(history, kit="drops", unit="dKH", zone="UTC", decimals=1, width=600)
    >>> "12 readings with drops" in svg
    True
    """
    with mpl.rc_context(RC_PARAMS):
        figure, places = _draw(history, unit, zone, decimals, width, aim)
        prefix = picture_prefix("corrected", kit, width, len(history), history["corrected"].sum())
        moved = int((history["correction"] != "").sum())
        label = (
            f"{len(history)} readings with {kit}, {moved} of them corrected. "
            "All numbers stand in the table below."
        )
        return figure_svg(figure, prefix=prefix, label=label, read_outs=places)


def _draw(
    history: pd.DataFrame,
    unit: str,
    zone: str,
    decimals: int,
    width: int,
    aim: tuple[float, float] | None,
) -> tuple[Figure, list[ReadOut]]:
    left, right = (64.0, 120.0) if width >= 800 else (52.0, 104.0)
    height = _TOP + _LEVEL + _BOTTOM
    inner = width - left - right
    figure = Figure(figsize=(width * PT / 72, height * PT / 72))
    ax = figure.add_axes((left / width, _BOTTOM / height, inner / width, _LEVEL / height))
    days = day_numbers(history["time"])
    read = history["level"].to_numpy(float)
    right_level = history["corrected"].to_numpy(float)
    moved = (history["correction"] != "").to_numpy(bool)
    limit = history["limit"].to_numpy(object)
    ax.set_xlim(days.min() - 3, days.max() + 3)
    known = np.concatenate([read, right_level, list(aim or ())])
    known = known[np.isfinite(known)]
    room = 0.1 * np.ptp(known) or 0.05 * abs(float(known.max())) or 1.0
    ax.set_ylim(float(known.min()) - room, float(known.max()) + room)
    ax.set_title(f"Level, {unit}", pad=6)
    if aim is not None:
        ax.axhspan(*aim, facecolor=PALETTE["band"][0], edgecolor="none", lw=0, zorder=0)
        for value in aim:
            ax.axhline(value, color=PALETTE["bandedge"][0], lw=0.8, zorder=1)
    ax.vlines(days[moved], read[moved], right_level[moved], color=LINE, lw=0.9, zorder=2)
    for sign, marker in (("", "o"), ("between", "o"), ("<", "v"), (">", "^")):
        mine = limit == sign
        both = mine & moved
        style: dict[str, Any] = {"ls": "none", "marker": marker, "ms": 5.4, "clip_on": False}
        # Not corrected: read and corrected are one, a filled mark in ink.
        ax.plot(days[mine & ~moved], read[mine & ~moved], mfc=INK, mec=INK, color=INK, **style)
        ax.plot(days[both], read[both], mfc=PAPER, mec=INK, mew=1.1, color=INK, zorder=3, **style)
        ax.plot(days[both], right_level[both], mfc=BLUE, mec=BLUE, color=BLUE, zorder=4, **style)
    labels = []
    if aim is not None:
        labels = [
            (aim[1], f"aim, high {fixed(aim[1], decimals)}", MUTED),
            (aim[0], f"aim, low {fixed(aim[0], decimals)}", MUTED),
        ]
    if moved[-1]:
        labels += [(read[-1], "as read", INK), (right_level[-1], "as corrected", BLUE)]
    at_right(ax, labels)
    tick_level(ax)
    locator = AutoDateLocator(tz=ZoneInfo(zone), minticks=3, maxticks=8 if width >= 800 else 6)
    low, high = ax.get_xlim()
    ticks = [
        tick
        for tick in locator.tick_values(
            num2date(low, tz=ZoneInfo(zone)), num2date(high, tz=ZoneInfo(zone))
        )
        if low <= tick <= high
    ]
    moments = [num2date(tick, tz=ZoneInfo(zone)) for tick in ticks]
    ax.set_xticks(
        ticks,
        [
            f"{one.day} {MONTHS[one.month - 1][:3]}" + (f"\n{one.year}" if i == 0 else "")
            for i, one in enumerate(moments)
        ],
    )
    bottom, top = ax.get_ylim()
    found = []
    for row, day in zip(records(history), days, strict=True):
        if not np.isfinite(row.level):
            continue
        x = left + (day - low) / (high - low) * inner
        y = _BOTTOM + (row.level - bottom) / (top - bottom) * _LEVEL
        words = f"{day_words(row.time, zone)}: {row.limit} {fixed(row.level, decimals)} {unit}"
        if row.correction:
            words += f" as read, {fixed(row.corrected, decimals + 1)} as corrected"
        found.append(
            ReadOut(
                " ".join(words.split()), x * PT, y * PT, (width - 4) * PT, (height - 16) * PT,
                stop=bool(row.lot_remark),
            )
        )  # fmt: skip
    return figure, found
