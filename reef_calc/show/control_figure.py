"""The control chart of a kit on one level of standard: readings, their steps, and their sums."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from reef_calc.bench.lot_check import LevelChart
from reef_calc.show.lane_layout import CHARACTER, PT, runs
from reef_calc.show.level_lane import tick_level
from reef_calc.show.point_labels import at_right, beside_points
from reef_calc.show.style import PALETTE, RC_PARAMS
from reef_calc.show.svg import ReadOut, figure_svg, picture_prefix
from reef_calc.show.times import records
from reef_calc.show.wording import day_words, decimals_for, fixed

INK, MUTED, LINE, GRID = (PALETTE[role][0] for role in ("ink", "muted", "line", "grid"))
PAPER = PALETTE["paper"][0]
_TOP, _SPANS, _READ, _RANGE, _SUM, _GAP, _BOTTOM = 26.0, 24.0, 220.0, 84.0, 120.0, 34.0, 28.0
_ALARM = 5.0
# What is written beside a point; the whole sentences stand below the picture.
SHORT_RULES = {
    "beyond action": "outside the action limit",
    "range": "too far from the one before",
    "two of three": "two of three outside a warning limit",
    "nine on one side": "nine on one side",
    "six rising or falling": "six in a row one way",
}


def control_svg(charts: Sequence[LevelChart], *, kit: str, unit: str, zone: str, width: int) -> str:
    """Return the control chart of one level as inline SVG, its lots side by side.

    Parameters
    ----------
    charts : sequence of LevelChart
        One a lot, in the order of use, all of one level; at least one.
    kit, unit, zone : str
        Name of the kit, its unit, IANA zone of the tank.
    width : int
        Width in CSS pixels; the picture is drawn for it.

    Returns
    -------
    str
        One ``<svg>`` element.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.bench.kits import Kit
    >>> from reef_calc.bench.lot_check import check_lot
    >>> kit = Kit("drops", "alkalinity", "meter", "dKH", 0.0, 0.1, 0.0, "typed")
    >>> rows = pd.DataFrame({"row": [2], "time": pd.Timestamp("2026-01-02T12Z"), "standard": "eight",
    ...                      "read": 8.4, "level": 8.0, "level_u": 0.05})
    >>> svg = control_svg(check_lot(kit, "A1", rows).charts, kit="drops", unit="dKH", zone="UTC",
    ...                   width=600)
    >>> "outside the action limit" in svg, "lot A1" in svg
    (True, True)
    """
    with mpl.rc_context(RC_PARAMS):
        figure, places = _draw(charts, unit, zone, width)
        prefix = picture_prefix("control", kit, charts[0].level, width, [c.lot for c in charts])
        return figure_svg(figure, prefix=prefix, label=_label(charts, kit), read_outs=places)


def _label(charts: Sequence[LevelChart], kit: str) -> str:
    count = sum(len(chart.rows) for chart in charts)
    broken = sum(int((chart.chart.points["broken"] != "").sum()) for chart in charts)
    state = f"{broken} break a rule" if broken else "none breaks a rule"
    return (
        f"Control chart of {kit}: {count} reading{'s' if count != 1 else ''} of a standard, {state}. "
        "All numbers stand in the table below."
    )


def _draw(
    charts: Sequence[LevelChart], unit: str, zone: str, width: int
) -> tuple[Figure, list[ReadOut]]:
    left, right = (64.0, 132.0) if width >= 800 else (52.0, 118.0)
    height = _TOP + _SPANS + _READ + _RANGE + _SUM + 3 * _GAP + _BOTTOM
    figure = Figure(figsize=(width * PT / 72, height * PT / 72))
    starts = np.cumsum([0, *(len(chart.rows) for chart in charts)])
    count = int(starts[-1])
    places: dict[str, tuple[float, float]] = {}
    top = height - _TOP
    for name, tall in (("spans", _SPANS), ("read", _READ), ("range", _RANGE), ("sum", _SUM)):
        places[name] = (top - tall, tall)
        top -= tall + (6.0 if name == "spans" else _GAP)
    inner = width - left - right
    axes = {
        name: figure.add_axes((left / width, low / height, inner / width, tall / height))
        for name, (low, tall) in places.items()
    }
    for ax in axes.values():
        ax.set_xlim(-0.5, max(count, 4) - 0.5)
    per_step = inner / max(count, 4)
    _spans(axes["spans"], charts, starts, per_step)
    figure.text(left / width, 1 - 16 / height, f"Read minus standard, {unit}", fontweight="bold")
    axes["range"].set_title(f"Step from the reading before, {unit}", pad=6)
    axes["sum"].set_title("Sum of what departs from the centre, in scatters of one reading", pad=6)
    _readings(axes["read"], charts, starts, per_step, unit)
    _ranges(axes["range"], charts, starts, per_step)
    _sums(axes["sum"], charts, starts, per_step, zone)
    _dates(axes, charts, zone, per_step)
    for name in ("read", "range", "sum"):
        tick_level(axes[name], most=6 if name == "read" else 3)
    found = _read_outs(
        axes["read"], charts, starts, zone, unit, (left, right, width, height, places)
    )
    return figure, found


def _spans(ax: Axes, charts: Sequence[LevelChart], starts: Any, per_step: float) -> None:
    ax.axis("off")
    ax.set_ylim(0, 1)
    for chart, start, stop in zip(charts, starts[:-1], starts[1:], strict=True):
        ends = np.array([start - 0.42, stop - 0.58])
        ax.plot(ends, [0.18, 0.18], color=LINE, lw=1.2, marker="|", ms=7, mew=1.2)
        words = f"lot {chart.lot}" if chart.lot else "no lot written"
        room = int((stop - start) * per_step / CHARACTER)
        if len(words) > max(room, 3):
            words = words[: max(room, 3)].rstrip() + "…"
        ax.text(float(ends.mean()), 0.42, words, ha="center", va="bottom", fontsize=9, color=INK)


def _readings(
    ax: Axes, charts: Sequence[LevelChart], starts: Any, per_step: float, unit: str
) -> None:
    ends = [0.0]
    for one in charts:
        ends += [*one.chart.action, *one.chart.points["read"]]
    ax.axhline(0.0, color=MUTED, lw=0.9, ls=(0, (1, 2)), zorder=1)
    labels: list[tuple[float, float, str, bool]] = []
    for one, start in zip(charts, starts[:-1], strict=True):
        x = start + np.arange(len(one.rows))
        span = np.array([start - 0.42, start + len(one.rows) - 0.58])
        chart, read = one.chart, one.chart.points["read"].to_numpy(float)
        ax.plot(span, [chart.centre] * 2, color=INK, lw=1.1, zorder=2)
        for value in chart.warning:
            ax.plot(span, [value] * 2, color=LINE, lw=1.0, ls=(0, (5, 3)), zorder=2)
        for value in chart.action:
            ax.plot(span, [value] * 2, color=INK, lw=1.6, zorder=2)
        _points(ax, x, read, chart.points["broken"].str.replace("range", "").str.strip("; ") != "")
        for rule, words in SHORT_RULES.items():
            if rule == "range":
                continue
            hit = chart.points["broken"].str.split("; ").map(lambda all_of, r=rule: r in all_of)
            for first, _ in runs(hit.to_numpy(bool)):
                labels.append((x[first], read[first], words, bool(read[first] >= chart.centre)))
    below, above = (sum(side is up for *_, side in labels) for up in (False, True))
    room = max(ends) - min(ends)
    ax.set_ylim(
        min(ends) - (0.12 + 0.08 * min(below, 4)) * room,
        max(ends) + (0.12 + 0.08 * min(above, 4)) * room,
    )
    beside_points(ax, labels, per_step)
    _new_bottles(ax, charts, starts)
    last = charts[-1].chart
    at_right(
        ax,
        [
            (last.action[1], "action limit", INK), (last.warning[1], "warning limit", MUTED),
            (last.centre, "centre", INK), (last.warning[0], "warning limit", MUTED),
            (last.action[0], "action limit", INK),
        ]
        + ([] if charts[-1].on_standard else [(0.0, "the standard", MUTED)]),
    )  # fmt: skip


def _new_bottles(ax: Axes, charts: Sequence[LevelChart], starts: Any) -> None:
    """Mark where another bottle begins within a lot: a step there may be the bottle's."""
    for one, start in zip(charts, starts[:-1], strict=True):
        names = one.rows["standard"].tolist()
        for i in range(1, len(names)):
            if names[i] != names[i - 1]:
                ax.axvline(start + i - 0.5, color=LINE, lw=0.8, ls=(0, (1, 2)), zorder=1)
                ax.annotate(
                    "new bottle", (start + i - 0.5, 0.0), (3, 3), xycoords=("data", "axes fraction"),
                    textcoords="offset points", fontsize=9, color=MUTED,
                )  # fmt: skip


def _ranges(ax: Axes, charts: Sequence[LevelChart], starts: Any, per_step: float) -> None:
    room = (
        1.7
        if any(one.chart.points["broken"].str.contains("range").any() for one in charts)
        else 1.2
    )
    ax.set_ylim(0, room * max(_highest_range(one) for one in charts))
    labels = []
    for one, start in zip(charts, starts[:-1], strict=True):
        x = start + np.arange(len(one.rows))
        span = np.array([start - 0.42, start + len(one.rows) - 0.58])
        ax.plot(span, [one.chart.range_limit] * 2, color=INK, lw=1.6, zorder=2)
        steps = one.chart.points["range"].to_numpy(float)
        wide = one.chart.points["broken"].str.contains("range").to_numpy(bool)
        _points(ax, x[1:], steps[1:], wide[1:])
        labels += [(x[first], steps[first], SHORT_RULES["range"], True) for first, _ in runs(wide)]
    beside_points(ax, labels, per_step)
    at_right(ax, [(charts[-1].chart.range_limit, "action limit", INK)])


def _highest_range(one: LevelChart) -> float:
    steps = one.chart.points["range"].to_numpy(float)
    return float(max([one.chart.range_limit, *steps[np.isfinite(steps)]]))


def _sums(ax: Axes, charts: Sequence[LevelChart], starts: Any, per_step: float, zone: str) -> None:
    top = max(_ALARM, *(one.sums.points[["upper", "lower"]].to_numpy().max() for one in charts))
    ax.set_ylim(-1.5 * top, 1.5 * top)
    ax.axhline(0.0, color=LINE, lw=0.8, zorder=1)
    labels = []
    for one, start in zip(charts, starts[:-1], strict=True):
        x = start + np.arange(len(one.rows))
        span = np.array([start - 0.42, start + len(one.rows) - 0.58])
        for side in (-_ALARM, _ALARM):
            ax.plot(span, [side] * 2, color=INK, lw=1.6, zorder=2)
        points = one.sums.points
        for name, sign in (("upper", 1.0), ("lower", -1.0)):
            _points(ax, x, sign * points[name].to_numpy(float), points[name] > _ALARM)
        for name, sign, word in (("upper", 1.0, "reads high"), ("lower", -1.0, "reads low")):
            for first, _ in runs((points[name] > _ALARM).to_numpy(bool)):
                since = one.sums.began if first == one.sums.first_signal else None
                more = ""
                if since is not None:
                    more = f", perhaps since {day_words(one.rows['time'].iloc[since], zone)}"
                labels.append((x[first], sign * points[name].iloc[first], word + more, sign > 0))
    beside_points(ax, labels, per_step)
    at_right(ax, [(_ALARM, "alarm, high", INK), (-_ALARM, "alarm, low", INK)])


def _points(ax: Axes, x: Any, y: Any, broken: Any) -> None:
    ax.plot(x, y, color=LINE, lw=0.9, marker="o", ms=4.6, mfc=INK, mec=PAPER, mew=0.7, zorder=4)
    ringed = np.asarray(broken, dtype=bool)
    if ringed.any():
        ax.plot(
            np.asarray(x)[ringed], np.asarray(y)[ringed], ls="none", marker="o", ms=10.5,
            mfc="none", mec=INK, mew=1.5, color=INK, zorder=5, clip_on=False,
        )  # fmt: skip


def _dates(axes: dict[str, Axes], charts: Sequence[LevelChart], zone: str, per_step: float) -> None:
    times = [time for one in charts for time in one.rows["time"]]
    words = [day_words(time, zone, year=False) for time in times]
    kept: list[int] = []
    for i in range(len(times)):
        new_day = i == 0 or words[i] != words[i - 1]
        if new_day and (not kept or (i - kept[-1]) * per_step > 52):
            kept.append(i)
    labels = [words[i] for i in kept]
    years = [day_words(times[i], zone)[-4:] for i in kept]
    if years and len(set(years)) > 1:
        labels = [
            f"{label}\n{year}" if i == 0 or year != years[i - 1] else label
            for i, (label, year) in enumerate(zip(labels, years, strict=True))
        ]
    for name, ax in axes.items():
        if name == "spans":
            continue
        ax.set_xticks(kept, labels)
        ax.tick_params(axis="x", length=3, labelbottom=name == "sum")


def _read_outs(
    ax: Axes, charts: Sequence[LevelChart], starts: Any, zone: str, unit: str, page: Any
) -> list[ReadOut]:
    left, right, width, height, places = page
    bottom, tall = places["read"]
    low, high = ax.get_ylim()
    first, last = ax.get_xlim()
    found = []
    for one, start in zip(charts, starts[:-1], strict=True):
        for i, (row, point) in enumerate(
            zip(records(one.rows), records(one.chart.points), strict=True)
        ):
            x = left + (start + i - first) / (last - first) * (width - left - right)
            y = bottom + (point.read - low) / (high - low) * tall
            broken = [SHORT_RULES[rule] for rule in point.broken.split("; ") if rule]
            told = f"No. {i + 1}, {reading_of_standard(row, unit, zone, one.chart.sd)}"
            text = "; ".join([told, *broken])
            found.append(
                ReadOut(
                    text, x * PT, y * PT, (width - 4) * PT, (height - 16) * PT, stop=bool(broken)
                )
            )
    return found


def reading_of_standard(row: Any, unit: str, zone: str, sd: float) -> str:
    """Return one reading of a standard in words.

    Parameters
    ----------
    row : named tuple
        With ``time``, ``read``, ``level`` and ``standard``; levels in ``unit``.
    unit, zone : str
        The kit's unit; IANA zone of the tank.
    sd : float
        Scatter of one reading in ``unit``, for the decimals.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> row = S(time="2026-01-02T12Z", read=8.4, level=8.0, standard="eight")
    >>> reading_of_standard(row, "dKH", "UTC", 0.1)
    '2 Jan 2026: 8.40 dKH, 0.40 above eight (8.00)'
    """
    decimals = max(decimals_for(sd), 0)
    difference = row.read - row.level
    side = "above" if difference >= 0 else "below"
    return (
        f"{day_words(row.time, zone)}: {fixed(row.read, decimals)} {unit}, "
        f"{fixed(abs(difference), decimals)} {side} {row.standard} ({fixed(row.level, decimals)})"
    )
