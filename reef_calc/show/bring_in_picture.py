"""The readings that a file would bring in, drawn over time: the doubtful ones marked by shape."""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reef_calc.chem.elements import ELEMENTS
from reef_calc.errors import InputError
from reef_calc.log.foreign.local_times import LocalTimes
from reef_calc.log.foreign.outcome import Entry
from reef_calc.log.foreign.understood import Understood
from reef_calc.log.tank import Tank
from reef_calc.log.times import parse_time
from reef_calc.show.plan_drawing import padded, picture, words
from reef_calc.show.plan_lane import Lane, date_axis, level_axis
from reef_calc.show.style import paint
from reef_calc.show.wording import element_name, escape

_LANES, _POINTS, _NAMED = 8, 600, 4
_LANE_HEIGHT, _TITLE, _GAP, _AXIS = 92.0, 22.0, 16.0, 26.0
# How many times the middle spread a value may lie away before it is drawn at the edge instead.
_FAR = 8.0


@dataclass(frozen=True)
class _Point:
    when: dt.datetime
    value: float
    limit: str
    doubt: bool
    row: int


def picture_html(found: Understood, tank: Tank) -> str:
    r"""Return the readings of a file over time, one lane an element and unit, at two widths.

    Parameters
    ----------
    found : Understood
        The file as it was understood.
    tank : Tank
        The tank, for its zone and its aims.

    Returns
    -------
    str
        HTML with a key; empty where no reading would be added.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.understand import understand
    >>> tank = example_tank()
    >>> "<svg" in picture_html(understand("a.csv", b"date,KH dKH\n2026-02-01,8.3\n", tank), tank)
    True
    """
    lanes, years = _lanes(found, tank)
    if not lanes:
        return ""
    told = [
        "Filled circle: a reading. Cross: doubtful. Triangle: below or above what the kit shows; also "
        "a value so far away that it is drawn at the edge, with its number."
    ]
    if len(lanes) > _LANES:
        told.append(f"{len(lanes) - _LANES} more elements are not drawn.")
    if years:
        told.append(
            f"{years} {'reading has a year' if years == 1 else 'readings have years'} in doubt and "
            "are not drawn."
        )
    shown = dict(list(lanes.items())[:_LANES])
    wide, narrow = (_svg(shown, tank, width) for width in (980, 600))
    moments = [point.when for points in shown.values() for point in points]
    first, last = (pick(moments).astimezone(tank.zone).year for pick in (min, max))
    when = str(first) if first == last else f"{first} to {last}"
    return (
        '<div class="rc" data-view="Picture"><h2>What would be added, '
        f"{when}</h2>"
        f'<div class="rc-wide">{wide}</div><div class="rc-narrow">{narrow}</div>'
        f'<p class="rc-small">{escape(" ".join(told))}</p></div>'
    )


def _lanes(found: Understood, tank: Tank) -> tuple[dict[tuple[str, str], list[_Point]], int]:
    doubtful: set[tuple[int, int | None]] = set()
    years: set[int] = set()
    for mark in found.marks:
        if mark.said.fate == "flagged":
            doubtful.add((mark.row, mark.column))
            if "YEAR" in mark.said.code or mark.said.code in ("FUTURE", "LONG_AGO"):
                years.add(mark.row)
    groups: dict[tuple[str, str], list[_Point]] = defaultdict(list)
    moments: dict[str, dt.datetime | None] = {}
    local = LocalTimes(tank.zone)
    left_out = 0
    for entry in found.entries:
        if entry.table != "readings.csv" or entry.cells["water"] != "tank":
            continue
        if entry.row in years:
            left_out += 1
            continue
        # What is said of a whole row is said of each of its readings.
        doubt = not doubtful.isdisjoint(((entry.row, entry.column), (entry.row, None)))
        point = _point(entry, moments, local, doubt)
        if point is not None:
            groups[(entry.cells["element"], entry.cells["unit"])].append(point)
    order = [*ELEMENTS]
    keys = sorted(groups, key=lambda k: (order.index(k[0]) if k[0] in order else 99, k))
    return {key: groups[key] for key in keys}, left_out


def _point(
    entry: Entry, moments: dict[str, dt.datetime | None], local: LocalTimes, doubt: bool
) -> _Point | None:
    cells = entry.cells
    text = cells["time"]
    if text not in moments:
        moments[text] = _moment(text, local)
    when = moments[text]
    if when is None:
        return None
    return _Point(when, float(cells["value"]), cells.get("limit", ""), doubt, entry.row)


def _moment(text: str, local: LocalTimes) -> dt.datetime | None:
    # Most times of a long log are like this one; the zone is asked once a day for them.
    if len(text) == len("2026-02-01T14:30"):
        try:
            found = local.at(dt.datetime.fromisoformat(text)).utc
        except ValueError:
            found = None
        if found is not None:
            return found
    try:
        return parse_time(text, local.zone).utc
    except InputError:
        return None


def _svg(lanes: dict[tuple[str, str], list[_Point]], tank: Tank, width: int) -> str:
    every = [point.when for points in lanes.values() for point in points]
    start = min(every).astimezone(tank.zone).date()
    end = max(every).astimezone(tank.zone).date()
    days = max((end - start).days + 1, 7)
    origin = dt.datetime.combine(start, dt.time(0), tank.zone)
    parts, top = [], 0.0
    left, right = 58.0, width - 24.0
    for (element, unit), points in lanes.items():
        values = np.array([point.value for point in points])
        low, high = _ends(values)
        aim = tank.aims.get(element)
        if aim is not None and aim.unit == unit:
            low, high = min(low, aim.low), max(high, aim.high)
        low, high = padded([low, high])
        bottom = top + _TITLE + _LANE_HEIGHT
        lane = Lane(left, right, top + _TITLE, bottom, 0.0, float(days), low, high)
        if aim is not None and aim.unit == unit:
            parts.append(
                f'<rect x="{left:.1f}" y="{lane.y(aim.high):.1f}" width="{right - left:.1f}" '
                f'height="{lane.y(aim.low) - lane.y(aim.high):.1f}" fill="{paint("band")}"/>'
            )
        parts.append(level_axis(lane, 4))
        step = math.ceil(len(points) / _POINTS)
        many = "" if step == 1 else f", one in {step} drawn"
        if step > 1 and any(point.doubt for point in points):
            many += " and doubtful ones" if sum(p.doubt for p in points) <= _POINTS else ""
        title = f"{element_name(element)}, {unit}: {len(points):,} readings{many}"
        title = title.replace(": 1 readings", ": 1 reading")
        if aim is not None and aim.unit == unit:
            title += ", aims shaded"
        parts.append(words(left, top + 14, title, bold=True))
        parts.append(_points(lane, _drawn(points), origin))
        top = bottom + _GAP
    lane = Lane(left, right, 0.0, top, 0.0, float(days), 0.0, 1.0)
    parts.append(date_axis(lane, start, days, top - _GAP + 2))
    names = ", ".join(element_name(element) for element, _ in lanes)
    label = (
        f"Readings that would be added, over time from {start} to {end}: {names}. The numbers stand in "
        "the preview above."
    )
    return picture(width, top + _AXIS, label, "".join(parts))


def _drawn(points: Sequence[_Point]) -> list[_Point]:
    """Thin many readings for the eye; doubtful ones are all drawn while they are few."""
    step = math.ceil(len(points) / _POINTS)
    few = sum(point.doubt for point in points) <= _POINTS
    return [p for k, p in enumerate(points) if k % step == 0 or (p.doubt and few)]


def _ends(values: np.ndarray) -> tuple[float, float]:
    """Return the ends of the scale: a slip far away does not press the others into a line."""
    if values.size < 4:
        return float(values.min()), float(values.max())
    lower, middle, upper = np.quantile(values, [0.25, 0.5, 0.75])
    reach = _FAR * max(upper - lower, 0.02 * abs(middle), 1e-12)
    inside = values[(values >= middle - reach) & (values <= middle + reach)]
    return float(inside.min()), float(inside.max())


def _points(lane: Lane, points: Sequence[_Point], origin: dt.datetime) -> str:
    parts, named = [], 0
    for point in points:
        x = lane.x((point.when - origin).total_seconds() / 86400.0)
        y = lane.y(point.value)
        outside = not lane.low <= point.value <= lane.high
        ink = paint("ink" if point.doubt or outside else "kitA")
        if point.limit in ("<", ">") or outside:
            down = point.limit == "<" or (outside and point.value < lane.low)
            s = 5.0 if down else -5.0
            parts.append(
                f'<path d="M{x - 5:.1f} {y - s * 0.8:.1f}h10L{x:.1f} {y + s * 0.8:.1f}z" '
                f'fill="{paint("paper")}" stroke="{ink}" stroke-width="1.6"/>'
            )
        elif point.doubt:
            parts.append(
                f'<path d="M{x - 4.5:.1f} {y - 4.5:.1f}l9 9m0 -9l-9 9" stroke="{ink}" '
                'stroke-width="2" fill="none"/>'
            )
        else:
            parts.append(
                f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.4" fill="{ink}" stroke="{paint("paper")}"/>'
            )
        if (outside or point.doubt) and named < _NAMED:
            named += 1
            near_right = x > lane.right - 80
            parts.append(
                words(x + (-8 if near_right else 8), y + 4, f"{point.value:g}",
                      at="end" if near_right else "start")
            )  # fmt: skip
    return "".join(parts)
