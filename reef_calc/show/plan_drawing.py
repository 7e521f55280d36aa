"""Pieces of hand-made pictures: ticks, words, marks, and what is read on them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from reef_calc.show.lane_layout import CHARACTER
from reef_calc.show.style import paint
from reef_calc.show.wording import escape

_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
# Corners of the marks in half-widths; none for the circle.
_CORNERS: tuple[tuple[tuple[float, float], ...], ...] = (
    (),
    ((0, -1.2), (1.2, 0), (0, 1.2), (-1.2, 0)),
    ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)),
    ((0, -1.1), (1.15, 0.9), (-1.15, 0.9)),
    ((0, 1.1), (1.15, -0.9), (-1.15, -0.9)),
    ((-1, -0.4), (1, -0.4), (1, 0.4), (-1, 0.4)),
)


def ticks(low: float, high: float, most: int = 5) -> list[float]:
    """Return round numbers inside a range.

    Parameters
    ----------
    low, high : float
        Ends of the range (any unit).
    most : int, optional
        Largest number of them.

    Returns
    -------
    list of float
        At equal steps of 1, 2, 2.5 or 5 times a power of ten.

    Examples
    --------
    >>> ticks(7.1, 9.4)
    [7.5, 8.0, 8.5, 9.0]
    """
    span = high - low
    if not (math.isfinite(span) and span > 0.0):
        return [low]
    power = 10.0 ** math.floor(math.log10(span / most))
    step = next(s * power for s in _STEPS if span / (s * power) <= most)
    return [
        round(k * step, 10)
        for k in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)
    ]


def tick_words(values: Sequence[float]) -> list[str]:
    """Return the words of ticks, with as many decimals as tell them apart.

    Parameters
    ----------
    values : sequence of float, shape (n,)
        Ticks (any unit).

    Returns
    -------
    list of str
        One a tick.

    Examples
    --------
    >>> tick_words([7.5, 8.0])
    ['7.5', '8.0']
    """
    decimals = next((d for d in range(6) if all(abs(round(v, d) - v) < 1e-9 for v in values)), 6)
    return [f"{v:.{decimals}f}".replace("-", "−") for v in values]


def words(
    x: float,
    y: float,
    text: str,
    role: str = "ink",
    *,
    at: str = "start",
    bold: bool = False,
    halo: bool = False,
) -> str:
    """Return words in a picture.

    Parameters
    ----------
    x, y : float
        Place on the base line (pixels).
    text : str
        Plain text; it is escaped.
    role : str, optional
        Colour of the palette.
    at : {"start", "middle", "end"}, optional
        Which part of the words stands at ``x``.
    bold : bool, optional
        Whether they are bold.
    halo : bool, optional
        Whether a rim of paper parts them from what lies under them.

    Returns
    -------
    str
        SVG.

    Examples
    --------
    >>> words(1, 2, "a < b")
    '<text x="1.0" y="2.0" fill="var(--rc-ink,#1F2428)">a &lt; b</text>'
    """
    weight = ' font-weight="650"' if bold else ""
    anchor = "" if at == "start" else f' text-anchor="{at}"'
    if halo:
        anchor += f' paint-order="stroke" stroke="{paint("paper")}" stroke-width="3"'
    return (
        f'<text x="{x:.1f}" y="{y:.1f}"{anchor}{weight} fill="{paint(role)}">{escape(text)}</text>'
    )


def text_room(texts: Sequence[str]) -> float:
    """Return the width that the longest of some words needs.

    Parameters
    ----------
    texts : sequence of str
        Words of 12 px.

    Returns
    -------
    float
        Pixels.

    Examples
    --------
    >>> text_room(["aim 8", "aim, high 9"]) > text_room(["aim 8"])
    True
    """
    return CHARACTER * max((len(text) for text in texts), default=0)


def hovers(places: Sequence[tuple[float, float, float, float, str]], x: float, y: float) -> str:
    """Return boxes that say something when they are pointed at.

    Parameters
    ----------
    places : sequence of (float, float, float, float, str)
        Left, top, width and height (pixels) and words of each.
    x, y : float
        Right end of the words (pixels).

    Returns
    -------
    str
        SVG.

    Examples
    --------
    >>> hovers([(0, 0, 5, 5, "8.0 dKH")], 100, 10).count("<rect")
    1
    """
    return "".join(
        f'<g><rect x="{left:.1f}" y="{top:.1f}" width="{wide:.1f}" height="{tall:.1f}"/>'
        f'<text x="{x:.1f}" y="{y:.1f}">{escape(text)}</text></g>'
        for left, top, wide, tall, text in places
    )


def marker(shape: int, x: float, y: float, *, filled: bool = True, size: float = 5.0) -> str:
    """Return one of six marks that differ in shape.

    Parameters
    ----------
    shape : int
        Number of the shape; after the sixth they begin again, hollow.
    x, y : float
        Its centre (pixels).
    filled : bool, optional
        Whether it is filled.
    size : float, optional
        Half of its width (pixels).

    Returns
    -------
    str
        SVG.

    Examples
    --------
    >>> marker(0, 10, 10)[:7], marker(1, 10, 10)[:5]
    ('<circle', '<path')
    """
    corners = _CORNERS[shape % len(_CORNERS)]
    fill = "ink" if filled and shape < len(_CORNERS) else "paper"
    look = f'fill="{paint(fill)}" stroke="{paint("ink")}" stroke-width="1.4"'
    if not corners:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{size:.1f}" {look}/>'
    path = "L".join(f"{x + size * a:.1f} {y + size * b:.1f}" for a, b in corners)
    return f'<path d="M{path}z" {look}/>'


def picture(
    width: float, height: float, label: str, body: str, *, reads: str = "", stops: bool = False
) -> str:
    """Return a whole picture.

    Parameters
    ----------
    width, height : float
        Size (pixels).
    label : str
        What it shows, for those who do not see it; plain text.
    body, reads : str
        SVG of the picture, and of what can be pointed at.
    stops : bool, optional
        Whether the Tab key stops inside it.

    Returns
    -------
    str
        One ``<svg>`` element.

    Examples
    --------
    >>> picture(10, 10, "nothing", "")[:36]
    '<svg xmlns="http://www.w3.org/2000/s'
    """
    hover = f'<g class="rc-hover">{reads}</g>' if reads else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="{"group" if stops else "img"}" '
        f'aria-label="{escape(label)}" width="{width:.0f}" height="{height:.0f}" '
        f'viewBox="0 0 {width:.0f} {height:.0f}" font-size="12">{body}{hover}</svg>'
    )


def padded(values: Sequence[float], least: float = 0.0, share: float = 0.08) -> tuple[float, float]:
    """Return the ends of a scale that holds some values.

    Parameters
    ----------
    values : sequence of float
        Values (any unit).
    least : float, optional
        Least span, same unit.
    share : float, optional
        Share of the span left free at both ends (no unit).

    Returns
    -------
    (float, float)
        Ends, same unit.

    Examples
    --------
    >>> padded([8.0, 9.0], share=0.1)
    (7.9, 9.1)
    """
    known = np.array([v for v in values if math.isfinite(v)] or [0.0, 1.0])
    low, high = float(known.min()), float(known.max())
    short = max(least - (high - low), 0.0) / 2 or (0.0 if high > low else abs(high) * 0.05 or 1.0)
    low, high = low - short, high + short
    room = share * (high - low)
    return low - room, high + room
