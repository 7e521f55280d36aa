"""Two kits over time: readings of one tank with what the water did, and readings of standards."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from reef_calc.compare.belief import Belief
from reef_calc.compare.from_the_log import LogDifference
from reef_calc.numbers_in_words import fixed
from reef_calc.show.comparison_drawing import MOST_READ_OUTS, curve, level_line
from reef_calc.show.comparison_waters import decimals_of_step, short
from reef_calc.show.plan_drawing import padded, picture, text_room, words
from reef_calc.show.plan_lane import Lane, date_axis, labels_at_right, level_axis
from reef_calc.show.style import paint
from reef_calc.show.wording import day_words, element_name, escape

WIDE, NARROW = 980, 600
_TALL, _TITLE, _UNDER = 280.0, 46.0, 30.0
_KIT_ROLES = ("kitA", "kitB", "kitC")


def both_widths(wide: str, narrow: str) -> str:
    """Return one picture drawn for two widths, of which the page shows the one that fits.

    Parameters
    ----------
    wide, narrow : str
        The picture for 980 and for 600 pixels.

    Returns
    -------
    str
        HTML; empty without a picture.

    Examples
    --------
    >>> both_widths("", "")
    ''
    """
    if not wide:
        return ""
    return f'<div class="rc-wide">{wide}</div><div class="rc-narrow">{narrow}</div>'


def kit_mark(kit: int, x: float, y: float, size: float = 5.2) -> str:
    """Return the mark of a reading: a circle for the first kit, a diamond, a square.

    Parameters
    ----------
    kit : int
        Number of the kit, from 0; after the third they begin again.
    x, y : float
        Its centre (pixels).
    size : float, optional
        Half of its width (pixels).

    Returns
    -------
    str
        SVG.

    Examples
    --------
    >>> kit_mark(0, 5, 5)[:7], kit_mark(1, 5, 5)[:5]
    ('<circle', '<path')
    """
    role = paint(_KIT_ROLES[kit % 3])
    if kit % 3 == 0:
        return (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{size:.1f}" fill="{role}" '
            f'stroke="{paint("paper")}"/>'
        )
    s = size * (1.25 if kit % 3 == 1 else 0.9)
    shape = (
        f"M{x:.1f} {y - s:.1f}L{x + s:.1f} {y:.1f}L{x:.1f} {y + s:.1f}L{x - s:.1f} {y:.1f}z"
        if kit % 3 == 1
        else f"M{x - s:.1f} {y - s:.1f}H{x + s:.1f}V{y + s:.1f}H{x - s:.1f}z"
    )
    return f'<path d="{shape}" fill="{paint("paper")}" stroke="{role}" stroke-width="1.8"/>'


def _days(times: Any, zone: str) -> tuple[np.ndarray, date, int]:
    """Return days since the first midnight in local clock time, that day, and how many there are."""
    local = pd.DatetimeIndex(times).tz_convert(zone).tz_localize(None)
    start = local.min().normalize()
    days = np.asarray((local - start) / pd.Timedelta(days=1), dtype=float)
    return days, start.date(), max(math.ceil(float(days.max()) + 1e-9), 1)


def _years(times: Any, zone: str) -> str:
    years = pd.DatetimeIndex(times).tz_convert(zone).year
    first, last = int(years.min()), int(years.max())
    return str(first) if first == last else f"{first} to {last}"


def log_svg(found: LogDifference, *, width: int = WIDE) -> str:
    """Return the readings of both kits over time, with the level that all of them expect.

    Parameters
    ----------
    found : LogDifference
        Difference of two kits from a tank's log.
    width : int, optional
        Width (pixels).

    Returns
    -------
    str
        One ``<svg>`` element: readings of A and B, the expected level on the scale of A, the same on
        the scale of B where the difference is told, and thin lines between readings that make a pair.

    Examples
    --------
    See :func:`reef_calc.show.comparison_log_view.log_difference_html`.
    """
    table = found.table[found.table["of"].isin(["A", "B"])]
    if table.empty:
        return ""
    unit, decimals = found.unit, _decimals(table["resolution"])
    days, start, count = _days(table["time"], found.zone)
    level = table["level"].to_numpy(float)
    expected = table["expected"].to_numpy(float)
    told = found.difference is not None
    shift = found.difference or 0.0
    ends = [*level, *expected[np.isfinite(expected)]]
    low, high = padded(ends + ([float(np.nanmax(expected)) + shift] if told and
                               np.isfinite(expected).any() else []))  # fmt: skip
    names = [short(found.kit_a, 24), short(found.kit_b, 24)]
    labels = _log_labels(expected, shift, names, told=told)
    room = text_room([text for _, text, *_ in labels]) + 14.0
    lane = Lane(_left(width), width - min(room, 0.36 * width), _TITLE, _TITLE + _TALL, 0.0,
                float(count), low, high)  # fmt: skip
    parts = [level_axis(lane, 5)]
    known = np.isfinite(expected)
    if known.sum() > 1:
        parts.append(curve(lane, days[known], expected[known], role="kitA", width=1.4))
        if told:
            parts.append(
                curve(
                    lane, days[known], expected[known] + shift, role="kitB", width=1.4, dashes="5 4"
                )
            )
    parts.append(_pair_lines(found, lane, table, days))
    reads = []
    for k, row in enumerate(table.itertuples(index=False)):
        x, y = lane.x(float(days[k])), lane.y(float(level[k]))
        kit = 0 if row.of == "A" else 1
        if row.slip:
            parts.append(
                f'<path d="M{x - 5:.1f} {y - 5:.1f}l10 10m0 -10l-10 10" '
                f'stroke="{paint(_KIT_ROLES[kit])}" stroke-width="2"/>'
            )
        else:
            parts.append(kit_mark(kit, x, y))
        text = f"{day_words(row.time, found.zone)}: {names[kit]} {fixed(level[k], decimals)} {unit}"
        if known[k]:
            own = expected[k] + (shift if kit == 1 else 0.0)
            text += f", expected {fixed(own, decimals + 1)}" if kit == 0 or told else ""
        reads.append((x, y, text + (", looks like a misreading" if row.slip else "")))
    title = f"{element_name(found.element)}, {unit}, {_years(table['time'], found.zone)}"
    parts.append(words(lane.left, _TITLE - 10, title, bold=True))
    parts += [labels_at_right(lane, labels), _dates(lane, start, count)]
    said = (
        f"{_count(table, 'A')} readings of {found.kit_a} and {_count(table, 'B')} of {found.kit_b}"
    )
    label = (
        f"{element_name(found.element)} over time: {said}. All numbers stand in the table below."
    )
    return picture(width, lane.bottom + _UNDER, label, "".join(parts), reads=_hovers(reads, width))


def _left(width: int) -> float:
    return 58.0 if width >= 800 else 48.0


def _decimals(steps: pd.Series) -> int:
    known = [float(one) for one in steps if math.isfinite(one) and one > 0.0]
    return max((decimals_of_step(one) for one in set(known)), default=2)


def _count(table: pd.DataFrame, kit: str) -> int:
    return int((table["of"] == kit).sum())


def _log_labels(
    expected: np.ndarray, shift: float, names: Sequence[str], *, told: bool
) -> list[tuple[float, str, str, bool]]:
    known = expected[np.isfinite(expected)]
    if not known.size:
        return []
    last = float(known[-1])
    if not told:
        return [(last, f"expected, {names[0]}", "kitA", False)]
    return [
        (last, f"expected, {names[0]}", "kitA", False),
        (last + shift, f"the same, {names[1]}", "kitB", False),
    ]


def _pair_lines(found: LogDifference, lane: Lane, table: pd.DataFrame, days: np.ndarray) -> str:
    place = {int(row): k for k, row in enumerate(table.index)}
    parts = []
    for i, j in zip(found.pairs.index_a, found.pairs.index_b, strict=True):
        if int(i) not in place or int(j) not in place:
            continue
        ends = [place[int(i)], place[int(j)]]
        values = [float(table["level"].iloc[k]) for k in ends]
        parts.append(curve(lane, [float(days[k]) for k in ends], values, role="line", width=1.0))
    return "".join(parts)


def _dates(lane: Lane, start: date, count: int) -> str:
    y = lane.bottom
    line = f'<path d="M{lane.left:.1f} {y:.1f}H{lane.right:.1f}" stroke="{paint("line")}"/>'
    return line + date_axis(lane, start, count, y)


def _hovers(reads: Sequence[tuple[float, float, str]], width: int) -> str:
    if len(reads) > MOST_READ_OUTS:
        return ""
    return "".join(
        f'<g><circle cx="{x:.1f}" cy="{y:.1f}" r="7"/><text x="{width - 4}" y="14">{escape(text)}'
        "</text></g>"
        for x, y, text in reads
    )


def standards_svg(found: Belief, *, zone: str | ZoneInfo, width: int = WIDE) -> str:
    """Return what each kit read on standards, less their level, over time.

    Parameters
    ----------
    found : Belief
        Kits on the standards.
    zone : str or zoneinfo.ZoneInfo
        IANA zone of the tank.
    width : int, optional
        Width (pixels).

    Returns
    -------
    str
        One ``<svg>`` element; empty without readings of standards.

    Examples
    --------
    See :func:`reef_calc.show.comparison_log_view.belief_html`.
    """
    zone = str(zone)
    table = found.readings
    table = table[np.isfinite(table["deviation"].to_numpy(float))]
    if table.empty:
        return ""
    days, start, count = _days(table["time"], zone)
    away = table["deviation"].to_numpy(float)
    u = float(np.nan_to_num(table["level_u"].to_numpy(float)).max())
    kits = list(dict.fromkeys(one.kit for one in found.kits))
    kits += [one for one in dict.fromkeys(table["kit"]) if one not in kits]
    names = {one.kit: one.name for one in reversed(found.kits)}
    lots = {(one.kit, one.lot) for one in found.kits}
    judged = pd.Series(
        [(row.kit, row.lot) in lots for row in table.itertuples(index=False)], index=table.index
    )
    low, high = padded([*away, 0.0, 2.0 * u, -2.0 * u])
    labels = [(0.0, "the standard", "muted", False)]
    for number, kit in enumerate(kits):
        own = away[((table["kit"] == kit) & judged).to_numpy()]
        if own.size:
            labels.append((float(own[-1]), short(names[kit], 26), _KIT_ROLES[number % 3], True))
    room = text_room([text for _, text, *_ in labels]) + 14.0
    lane = Lane(_left(width), width - min(room, 0.36 * width), _TITLE, _TITLE + _TALL, 0.0,
                float(count), low, high)  # fmt: skip
    parts = []
    if u > 0.0:
        parts.append(
            f'<path d="M{lane.left:.1f} {lane.y(2 * u):.1f}H{lane.right:.1f}V{lane.y(-2 * u):.1f}'
            f'H{lane.left:.1f}z" fill="{paint("band")}"/>'
        )
    parts += [level_axis(lane, 5), level_line(lane, 0.0, role="muted", dashes="2 4")]
    decimals = min(_decimals_of(table), 6)
    reads = []
    for k, row in enumerate(table.itertuples(index=False)):
        x, y = lane.x(float(days[k])), lane.y(float(away[k]))
        mark = kit_mark(kits.index(row.kit), x, y)
        parts.append(mark if judged.iloc[k] else f'<g opacity=".4">{mark}</g>')
        lot = f", lot {short(str(row.lot), 14)}" if row.lot else ""
        size = fixed(abs(float(away[k])), decimals)
        side = "" if float(size) == 0.0 else (" above" if away[k] > 0.0 else " below")
        reads.append(
            (x, y, f"{day_words(row.time, zone)}: {short(str(row.kit), 20)}{lot}, "
             f"{size} {found.unit}{side} {short(str(row.standard), 20)}")
        )  # fmt: skip
    title = f"{element_name(found.element)}, read less standard, {found.unit}"
    title += f", {_years(table['time'], zone)}"
    parts.append(words(lane.left, _TITLE - 10, title, bold=True))
    parts += [labels_at_right(lane, labels), _dates(lane, start, count)]
    counts = ", ".join(f"{kit} {int((table['kit'] == kit).sum())}" for kit in kits)
    label = f"Readings of standards less their level, over time, by kit: {counts}."
    return picture(width, lane.bottom + _UNDER, label, "".join(parts), reads=_hovers(reads, width))


def _decimals_of(table: pd.DataFrame) -> int:
    """Return decimals that tell the usual deviation with two digits."""
    smallest = float(np.abs(table["deviation"]).median()) or 1.0
    return max(0, 2 - math.floor(math.log10(smallest)) - 1)
