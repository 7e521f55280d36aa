"""Where a plan leads: one lane an element on one axis of dates."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reef_calc.show.plan_drawing import picture, text_room, words
from reef_calc.show.plan_forecast_reads import (
    LevelsAhead,
    changes_something,
    drawn_elements,
    end_words,
    key_html,
    read_outs,
    spoken_words,
)
from reef_calc.show.plan_lane import (
    Lane,
    date_axis,
    labels_at_right,
    level_axis,
)
from reef_calc.show.style import paint
from reef_calc.show.wording import element_name

WIDE, NARROW = 980, 600
_TALL, _TITLE, _CARE, _AXIS, _HEAD = 104.0, 34.0, 12.0, 26.0, 6.0
_ROOM = 0.8  # share of the span that shading and dashes may add at each end of a scale


def forecast_html(shown: LevelsAhead, *, width: int | None = WIDE) -> str:
    """Return the lanes with the key of their signs, as part of a page.

    Parameters
    ----------
    shown : LevelsAhead
        What they show.
    width : int or None, optional
        Width (pixels): 980 for a window of 1280, 600 for one of 800. None puts both on the page and
        shows the one that fits.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` and ``plan_style.STYLE`` on the page.

    Examples
    --------
    >>> from reef_calc.plan.forecast import forecast_if_nothing_changes
    >>> from datetime import date
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem
    >>> kh = ElementToPlan("alkalinity", "dKH", 8.0, use=0.1, low=7.0, aim=8.0, high=9.0, u_use=0.01)
    >>> ahead = forecast_if_nothing_changes(PlanProblem((kh,), (), 10))
    >>> forecast_html(LevelsAhead(ahead, date(2026, 10, 1))).count("<svg")
    4
    """
    if not drawn_elements(shown.ahead):
        return "<p>No element has aims, so there is nothing to draw. Write aims in tank.toml.</p>"
    if width is not None:
        pictures = forecast_svg(shown, width=width)
    else:
        pictures = (
            f'<div class="rc-wide">{forecast_svg(shown, width=WIDE)}</div>'
            f'<div class="rc-narrow">{forecast_svg(shown, width=NARROW)}</div>'
        )
    return f'<div class="rc-plan-lanes">{key_html(shown)}{pictures}</div>'


def forecast_svg(shown: LevelsAhead, *, width: int = WIDE) -> str:
    """Return one lane an element that has aims, on one axis of dates.

    Parameters
    ----------
    shown : LevelsAhead
        What they show.
    width : int, optional
        Width (pixels); the picture is drawn for it, not scaled to it.

    Returns
    -------
    str
        One ``<svg>`` element.

    Examples
    --------
    See :func:`forecast_html`.
    """
    ahead = shown.ahead
    rows = drawn_elements(ahead)
    days = ahead.problem.days
    told = [_right_labels(shown, row) for row in rows]
    left = 58.0 if width >= 800 else 46.0
    room = text_room([text for lane in told for _, text, *_ in lane])
    right = width - min(room + 12.0, width * 0.36)
    changes = [day for day, share in enumerate(ahead.problem.shares()) if share > 0.0]
    parts, reads, top = [], [], _HEAD
    lanes = []
    for row, labels in zip(rows, told, strict=True):
        low, high = _scale(shown, row)
        lane = Lane(left, right, top + _TITLE, top + _TITLE + _TALL, 0.0, float(days), low, high)
        lanes.append(lane)
        parts.append(_lane_svg(shown, row, lane, labels))
        reads.append(read_outs(shown, row, lane, width - 4.0))
        top = lane.bottom
    bottom = top
    if changes:
        shares = {round(100 * float(ahead.problem.shares()[day]), 1) for day in changes}
        size = f", {shares.pop():g} % each" if len(shares) == 1 else ""
        parts.append(words(left, bottom + 24, f"Water changes{size}", "muted"))
        y = bottom + 30
        parts += [
            f'<path d="M{lanes[0].x(day):.1f} {y:.1f}v{_CARE:.0f}" stroke="{paint("muted")}" '
            'stroke-width="2"/>'
            for day in changes
        ]
        bottom = y + _CARE
    parts.append(f'<path d="M{left:.1f} {bottom + 4:.1f}H{right:.1f}" stroke="{paint("line")}"/>')
    parts.append(date_axis(lanes[0], shown.start, days, bottom + 4))
    parts.append(_phase_lines(shown, lanes, bottom + 4))
    stops = any(ahead.problem.elements[row].name in shown.tests for row in rows)
    return picture(
        width, bottom + 4 + _AXIS, spoken_words(shown, rows), "".join(parts), reads="".join(reads),
        stops=stops,
    )  # fmt: skip


def _scale(shown: LevelsAhead, row: int) -> tuple[float, float]:
    """Return the ends of a scale: levels and aims whole, shading and dashes as far as there is room."""
    ahead, one = shown.ahead, shown.ahead.problem.elements[row]
    aims = [v for v in (one.low, one.high) if v is not None]
    values = [*ahead.levels[row], *aims]
    low, high = float(min(values)), float(max(values))
    span = (high - low) or abs(high) * 0.1 or 1.0
    wide = [ahead.low[row].min(), ahead.high[row].max()]
    if shown.unchanged is not None:
        levels = shown.unchanged.levels[row]
        wide += [levels.min(), levels.max()]
    low = max(min(low, *wide), low - _ROOM * span) - 0.05 * span
    high = min(max(high, *wide), high + _ROOM * span) + 0.05 * span
    return (max(low, 0.0) if min(values) >= 0.0 else low), high


def _right_labels(shown: LevelsAhead, row: int) -> list[tuple[float, str, str, bool]]:
    ahead, one = shown.ahead, shown.ahead.problem.elements[row]
    found = [
        (edge, f"aim, {name} {edge:g}", "muted", False)
        for edge, name in ((one.high, "high"), (one.low, "low"))
        if edge is not None
    ]
    end = float(ahead.levels[row, -1])
    found.append((end, f"plan {end_words(one, ahead, row, -1)}", "ink", True))
    if shown.unchanged is not None and changes_something(shown, row):
        other = float(shown.unchanged.levels[row, -1])
        low, high = _scale(shown, row)
        beyond = " ↓" if other < low else " ↑" if other > high else ""
        text = f"as today {end_words(one, shown.unchanged, row, -1)}{beyond}"
        found.append((other, text, "kitA", False))
    return found


def _lane_svg(
    shown: LevelsAhead, row: int, lane: Lane, labels: Sequence[tuple[float, str, str, bool]]
) -> str:
    ahead, one = shown.ahead, shown.ahead.problem.elements[row]
    across = list(range(ahead.problem.days + 1))
    # An aim with one end fills its side of the lane up to the edge.
    low = lane.low if one.low is None else one.low
    high = lane.high if one.high is None else one.high
    parts = [
        f'<path d="M{lane.left:.1f} {lane.y(high):.1f}H{lane.right:.1f}V{lane.y(low):.1f}'
        f'H{lane.left:.1f}z" fill="{paint("band")}"/>',
        level_axis(lane),
    ]
    if (ahead.high[row] > ahead.low[row]).any():
        area = lane.between(across, ahead.low[row], ahead.high[row])
        parts.append(f'<path d="{area}" fill="{paint("interval")}" fill-opacity=".75"/>')
    parts += [
        f'<path d="M{lane.left:.1f} {lane.y(edge):.1f}H{lane.right:.1f}" '
        f'stroke="{paint("bandedge")}" stroke-width="1.2"/>'
        for edge in (one.low, one.high)
        if edge is not None
    ]
    if shown.unchanged is not None and changes_something(shown, row):
        line = lane.line(*_seen(lane, across, shown.unchanged.levels[row]))
        parts.append(
            f'<path d="{line}" fill="none" stroke="{paint("kitA")}" stroke-width="1.4" '
            'stroke-dasharray="5 4"/>'
        )
    line = lane.line(across, ahead.levels[row])
    parts.append(
        f'<path d="{line}" fill="none" stroke="{paint("ink")}" stroke-width="2.2" '
        'stroke-linejoin="round"/>'
        f'<circle cx="{lane.x(0):.1f}" cy="{lane.y(ahead.levels[row, 0]):.1f}" r="4" '
        f'fill="{paint("ink")}" stroke="{paint("paper")}" stroke-width="1.2"/>'
    )
    title = f"{element_name(one.name)}, {one.unit}"
    parts.append(words(lane.left, lane.top - 9, title, bold=True))
    parts.append(labels_at_right(lane, labels))
    return "".join(parts)


def _seen(lane: Lane, across: Sequence[int], levels: np.ndarray) -> tuple[list[float], list[float]]:
    """Return a line as far as it runs inside a lane; it ends where it leaves it for good."""
    inside = [k for k, v in enumerate(levels) if lane.low <= v <= lane.high]
    last = inside[-1] if inside else 0
    x, y = [float(a) for a in across[: last + 1]], [float(v) for v in levels[: last + 1]]
    if last + 1 < len(levels):
        edge = lane.low if levels[last + 1] < lane.low else lane.high
        share = (edge - y[-1]) / ((float(levels[last + 1]) - y[-1]) or 1.0)
        x.append(x[-1] + min(max(share, 0.0), 1.0))
        y.append(edge)
    return x, y


def _phase_lines(shown: LevelsAhead, lanes: Sequence[Lane], bottom: float) -> str:
    parts = []
    # The lines stop at each title, which they would cross.
    spans = [(lane.top - 2, lane.bottom + 2) for lane in lanes] + [(bottom - 14, bottom)]
    for day in shown.phases[1:]:
        x = lanes[0].x(day)
        path = "".join(f"M{x:.1f} {top:.1f}V{end:.1f}" for top, end in spans)
        parts.append(f'<path d="{path}" stroke="{paint("muted")}" stroke-dasharray="2 3"/>')
    return "".join(parts)
