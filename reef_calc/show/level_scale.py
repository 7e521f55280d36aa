"""One level on a line: aims as a band, what was expected in grey, earlier readings, this one."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reef_calc.numbers_in_words import decimals_for, fixed
from reef_calc.show.style import paint
from reef_calc.show.wording import escape

_WIDTH, _HEIGHT, _PAD, _LINE = 600.0, 118.0, 34.0, 62.0
_LETTER = 6.6  # CSS px of one letter at 12 px, widest of the fonts asked for


@dataclass(frozen=True)
class LevelScale:
    """What stands on the line, all in one unit.

    Attributes
    ----------
    unit : str
        Unit of everything.
    level, half_width : float or None
        This reading and its expanded uncertainty.
    expected, aims : tuple of (float or None, float or None)
        Lower and upper end; None where there is none.
    earlier : sequence of float
        Earlier readings, oldest first.
    """

    unit: str
    level: float | None = None
    half_width: float | None = None
    expected: tuple[float | None, float | None] = (None, None)
    aims: tuple[float | None, float | None] = (None, None)
    earlier: Sequence[float] = ()


def level_scale_svg(scale: LevelScale) -> str:
    """Return the line as a picture with its words.

    Parameters
    ----------
    scale : LevelScale
        What stands on it.

    Returns
    -------
    str
        SVG of 600 by 118 CSS pixels; empty when there is nothing to place.

    Examples
    --------
    >>> level_scale_svg(LevelScale("dKH"))
    ''
    >>> "this reading 8.2" in level_scale_svg(LevelScale("dKH", 8.2, 0.2, (7.9, 8.5), (7.0, 9.0)))
    True
    """
    ends = [v for pair in (scale.expected, scale.aims) for v in pair if v is not None]
    values = [v for v in (*ends, *scale.earlier, scale.level) if v is not None and math.isfinite(v)]
    if not values:
        return ""
    low, high = min(values), max(values)
    span = (high - low) or abs(high) * 0.1 or 1.0

    def across(value: float) -> float:
        return _PAD + (value - low) / span * (_WIDTH - 2 * _PAD)

    digits = decimals_for(span / 20.0)
    parts = [f'<path d="M0 {_LINE}H{_WIDTH:.0f}" stroke="{paint("line")}" stroke-width="1"/>']
    parts += _band(scale.aims, across, 44.0, 80.0, "band", "bandedge")
    parts += _band(scale.expected, across, 54.0, 70.0, "interval", "line")
    parts += [
        f'<circle cx="{across(v):.1f}" cy="{_LINE}" r="4" fill="{paint("paper")}" '
        f'stroke="{paint("ink")}" stroke-width="1.4"/>'
        for v in scale.earlier
    ]
    told_aims = [v for v in scale.aims if v is not None]
    below = []
    if told_aims:
        text = "aims " + " to ".join(fixed(v, digits) for v in told_aims)
        below.append((across(sum(told_aims) / len(told_aims)), text))
    lowest, highest = scale.expected
    expected = []
    if lowest is not None and highest is not None:
        text = f"expected {fixed(lowest, digits)} to {fixed(highest, digits)}"
        expected.append((across((lowest + highest) / 2), text))
    parts += [
        f'<path d="M{across(v):.1f} 80V86" stroke="{paint("line")}" stroke-width="1"/>'
        for v in told_aims
    ]
    parts += _labels(expected + below, (100.0, 114.0), "muted")
    words = []
    if scale.level is not None:
        x = across(scale.level)
        half = scale.half_width or 0.0
        if half and math.isfinite(half):
            left, right = (min(max(across(scale.level + s * half), 2.0), 598.0) for s in (-1, 1))
            parts.append(
                f'<path d="M{left:.1f} {_LINE}H{right:.1f}" stroke="{paint("ink")}" '
                'stroke-width="2.5"/>'
            )
        parts.append(
            f'<path d="M{x:.1f} {_LINE - 9}l9 9l-9 9l-9-9z" fill="{paint("ink")}" '
            f'stroke="{paint("paper")}" stroke-width="1.5"/>'
        )
        text = f"this reading {fixed(scale.level, digits)}"
        parts += _labels([(x, text)], (30.0,), "ink", bold=True)
        words.append(text)
    for name, pair in (("expected", scale.expected), ("aims", scale.aims)):
        told = [fixed(v, digits) for v in pair if v is not None]
        words += [f"{name} {' to '.join(told)}"] if told else []
    if scale.earlier:
        words.append("earlier readings " + ", ".join(fixed(v, digits) for v in scale.earlier))
    label = escape(f"Levels in {scale.unit}: " + "; ".join(words))
    return (
        f'<svg width="600" height="118" viewBox="0 0 600 118" role="img" aria-label="{label}" '
        f'font-size="12">{"".join(parts)}</svg>'
    )


def _band(
    pair: tuple[float | None, float | None],
    across: Callable[[float], float],
    top: float,
    bottom: float,
    fill: str,
    edge: str,
) -> list[str]:
    if pair[0] is None and pair[1] is None:
        return []
    left = 0.0 if pair[0] is None else across(pair[0])
    right = _WIDTH if pair[1] is None else across(pair[1])
    found = [f'<path d="M{left:.1f} {top}H{right:.1f}V{bottom}H{left:.1f}z" fill="{paint(fill)}"/>']
    found += [
        f'<path d="M{x:.1f} {top}V{bottom}" stroke="{paint(edge)}" stroke-width="1.2"/>'
        for x, end in ((left, pair[0]), (right, pair[1]))
        if end is not None
    ]
    return found


def _labels(
    wanted: list[tuple[float, str]], rows: tuple[float, ...], role: str, *, bold: bool = False
) -> list[str]:
    """Place each label in the first row where it does not touch another; else it is left out."""
    taken: dict[float, list[tuple[float, float]]] = {row: [] for row in rows}
    found = []
    for x, text in wanted:
        half = len(text) * _LETTER / 2
        middle = min(max(x, half + 1), _WIDTH - half - 1)
        for row, spans in taken.items():
            if all(middle + half < a - 4 or middle - half > b + 4 for a, b in spans):
                spans.append((middle - half, middle + half))
                weight = ' font-weight="650"' if bold else ""
                found.append(
                    f'<text x="{middle:.1f}" y="{row}" text-anchor="middle"{weight} '
                    f'fill="{paint(role)}">{escape(text)}</text>'
                )
                break
    return found
