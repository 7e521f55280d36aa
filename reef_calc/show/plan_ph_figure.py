"""What one dose does to pH and to the saturation of aragonite: a row of marks a container."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reef_calc.numbers_in_words import fixed
from reef_calc.plan.doses_for_ph import (
    ARAGONITE_SAID,
    ARAGONITE_SLOW,
    HIGHEST_PH_NBS,
    LARGEST_PH_STEP,
)
from reef_calc.show.plan_drawing import hovers, marker, picture, text_room, tick_words, ticks
from reef_calc.show.plan_drawing import words as put
from reef_calc.show.plan_lane import Lane
from reef_calc.show.style import paint
from reef_calc.show.timetable_picture import cut

WIDE, NARROW = 980, 600
_ROW, _TOP = 44.0, 40.0
CIRCLE, DIAMOND, SQUARE = 0, 1, 2


@dataclass(frozen=True)
class DosePh:
    """pH and saturation around one dose of one container.

    Attributes
    ----------
    name : str
        The container.
    dose : str
        The dose in words, such as "23 mL, +0.17 dKH".
    before, after, settled : float
        pH (NBS scale): before, right after the dose is mixed in, and in balance with air again.
    air_low, air_high : float
        ``before`` (pH, NBS scale) in balance with room air of 1000 and of 400 µatm carbon dioxide.
    to_total : float
        What turns a pH of the NBS scale into the total scale when added (pH, no unit).
    aragonite_before, aragonite_after, aragonite_settled : float
        Saturation of aragonite (ratio) at the same three moments.
    """

    name: str
    dose: str
    before: float
    after: float
    settled: float
    air_low: float
    air_high: float
    to_total: float
    aragonite_before: float
    aragonite_after: float
    aragonite_settled: float


def ph_svg(rows: Sequence[DosePh], *, width: int = WIDE) -> str:
    """Return pH before, after one dose, and in balance with air, one row a container.

    Parameters
    ----------
    rows : sequence of DosePh
        One a container.
    width : int, optional
        Width (pixels); the picture is drawn for it, not scaled to it.

    Returns
    -------
    str
        SVG; empty without rows.

    Examples
    --------
    >>> row = DosePh("soda", "20 mL, +0.2 dKH", 8.1, 8.2, 8.11, 7.9, 8.2, -0.13, 3.0, 3.6, 3.1)
    >>> "one dose +0.10" in ph_svg([row])
    True
    """
    if not rows:
        return ""
    values = [v for r in rows for v in (r.before, r.after, r.air_low, r.air_high)]
    values += [HIGHEST_PH_NBS, *(r.before + LARGEST_PH_STEP for r in rows)]
    low, high = min(values) - 0.05, max(values) + 0.05
    told = [f"one dose {_signed(r.after - r.before)}" for r in rows]
    warns = [
        _warning(r.after > HIGHEST_PH_NBS, r.after - r.before > LARGEST_PH_STEP + 1e-9)
        for r in rows
    ]
    right_words = [f"{a}{b}" for a, b in zip(told, warns, strict=True)]
    lane = _lane(rows, right_words, width, low, high)
    to_total = sum(r.to_total for r in rows) / len(rows)
    marks = ticks(low, high, 8 if width >= 800 else 5)
    parts = [put(lane.left, 14, "pH", bold=True)]
    parts += [
        _tick(lane, v, t, f"{v + to_total:.2f}")
        for v, t in zip(marks, tick_words(marks), strict=True)
    ]
    parts.append(put(8, lane.bottom + 18, "NBS scale", "muted"))
    parts.append(put(8, lane.bottom + 34, "total scale", "muted"))
    parts.append(_upright(lane, HIGHEST_PH_NBS, f"warn above {HIGHEST_PH_NBS:g}"))
    reads = []
    for k, (row, words) in enumerate(zip(rows, right_words, strict=True)):
        y = _TOP + _ROW * (k + 0.5)
        # The range for air from much to little carbon dioxide lies under the marks.
        parts.append(
            f'<path d="M{lane.x(row.air_low):.1f} {y:.1f}H{lane.x(row.air_high):.1f}" '
            f'stroke="{paint("interval")}" stroke-width="10"/>'
        )
        x = lane.x(row.before + LARGEST_PH_STEP)
        parts.append(
            f'<path d="M{x:.1f} {y - 10:.1f}v20" stroke="{paint("muted")}" stroke-width="1.4"/>'
            + put(x, y - 13, f"+{LARGEST_PH_STEP:g}", "muted", at="middle")
        )
        parts.append(_dots(lane, y, row.before, row.after, row.settled))
        parts.append(_names(lane, row, y) + put(lane.right + 10, y + 4, words, bold=bool(warns[k])))
        reads.append(
            (lane.left, y - _ROW / 2, lane.right - lane.left, _ROW,
             f"{row.name}: {row.before:.2f}, after one dose {row.after:.2f}, then {row.settled:.2f}")
        )  # fmt: skip
    spoken = "; ".join(
        f"{r.name} {r.before:.2f} to {r.after:.2f}, then {r.settled:.2f}{w}"
        for r, w in zip(rows, warns, strict=True)
    )
    return picture(
        width, lane.bottom + 42, f"pH (NBS scale) around one dose: {spoken}.", "".join(parts),
        reads=hovers(reads, lane.right, 14),
    )  # fmt: skip


def aragonite_svg(rows: Sequence[DosePh], *, width: int = WIDE) -> str:
    """Return the saturation of aragonite before, after one dose, and in balance with air.

    Parameters
    ----------
    rows : sequence of DosePh
        One a container.
    width : int, optional
        Width (pixels); the picture is drawn for it, not scaled to it.

    Returns
    -------
    str
        SVG; empty without rows.

    Examples
    --------
    >>> row = DosePh("soda", "20 mL, +0.2 dKH", 8.1, 8.2, 8.11, 7.9, 8.2, -0.13, 3.0, 7.6, 3.1)
    >>> "slow the dose" in aragonite_svg([row])
    True
    """
    if not rows:
        return ""
    values = [v for r in rows for v in (r.aragonite_before, r.aragonite_after, r.aragonite_settled)]
    low, high = min(1.0, *values), max(ARAGONITE_SLOW + 0.5, max(values) + 0.3)
    told = []
    for r in rows:
        text = f"after one dose {r.aragonite_after:.1f}"
        if r.aragonite_after > ARAGONITE_SLOW:
            text += ": slow the dose"
        elif r.aragonite_after > ARAGONITE_SAID:
            text += ": high"
        told.append(text)
    lane = _lane(rows, told, width, low, high)
    marks = ticks(low, high, 8)
    parts = [put(lane.left, 14, "Saturation of aragonite", bold=True)]
    parts += [_tick(lane, v, t) for v, t in zip(marks, tick_words(marks), strict=True)]
    for mark, text in zip(
        (ARAGONITE_SAID, ARAGONITE_SLOW),
        (f"{ARAGONITE_SAID:g}: high", f"{ARAGONITE_SLOW:g}: slow down"),
        strict=True,
    ):
        parts.append(_upright(lane, mark, text))
    for k, (row, text) in enumerate(zip(rows, told, strict=True)):
        y = _TOP + _ROW * (k + 0.5)
        parts.append(
            _dots(lane, y, row.aragonite_before, row.aragonite_after, row.aragonite_settled)
        )
        heavy = row.aragonite_after > ARAGONITE_SAID
        parts.append(_names(lane, row, y) + put(lane.right + 10, y + 4, text, bold=heavy))
    spoken = "; ".join(
        f"{r.name} {r.aragonite_before:.1f}, {text}" for r, text in zip(rows, told, strict=True)
    )
    return picture(width, lane.bottom + 26, f"Saturation of aragonite: {spoken}.", "".join(parts))


def _signed(change: float) -> str:
    text = fixed(change, 2)
    return text if text.startswith("−") else f"+{text}"


def _warning(too_high: bool, too_far: bool) -> str:
    if too_high:
        return f": above {HIGHEST_PH_NBS:g}"
    return ": too far" if too_far else ""


def _lane(rows: Sequence[DosePh], told: Sequence[str], width: int, low: float, high: float) -> Lane:
    names = [word for row in rows for word in (row.name, row.dose)]
    left = min(text_room(names) + 18.0, width * 0.26)
    right = width - min(text_room(told) + 14.0, width * 0.3)
    return Lane(left, right, _TOP, _TOP + _ROW * len(rows), low, high, 0.0, 1.0)


def _names(lane: Lane, row: DosePh, y: float) -> str:
    room = lane.left - 18
    return put(8, y - 3, cut(row.name, room), bold=True) + put(
        8, y + 13, cut(row.dose, room), "muted"
    )


def _tick(lane: Lane, value: float, text: str, second: str = "") -> str:
    x = lane.x(value)
    found = f'<path d="M{x:.1f} {lane.top:.1f}V{lane.bottom:.1f}" stroke="{paint("grid")}"/>' + put(
        x, lane.bottom + 18, text, "muted", at="middle"
    )
    return found + (put(x, lane.bottom + 34, second, "muted", at="middle") if second else "")


def _upright(lane: Lane, value: float, text: str) -> str:
    x = lane.x(value)
    half = text_room([text]) / 2
    middle = min(max(x, lane.left + half), lane.right - half)
    return (
        f'<path d="M{x:.1f} {lane.top - 6:.1f}V{lane.bottom:.1f}" stroke="{paint("ink")}" '
        f'stroke-width="1.4" stroke-dasharray="6 3"/>'
        + put(middle, lane.top - 10, text, at="middle")
    )


def _dots(lane: Lane, y: float, before: float, after: float, settled: float) -> str:
    return (
        f'<path d="M{lane.x(before):.1f} {y:.1f}H{lane.x(after):.1f}" stroke="{paint("ink")}" '
        'stroke-width="1.6"/>'
        + marker(SQUARE, lane.x(settled), y, filled=False, size=6.5)
        + marker(CIRCLE, lane.x(before), y, filled=False, size=4.0)
        + marker(DIAMOND, lane.x(after), y)
    )
