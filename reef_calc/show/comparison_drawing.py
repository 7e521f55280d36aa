"""Scales, lines and marks that the pictures of a comparison of two kits share."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reef_calc.show.plan_drawing import tick_words, ticks, words
from reef_calc.show.plan_lane import Lane
from reef_calc.show.style import paint
from reef_calc.show.wording import escape

FIGURE = 520
MOST_READ_OUTS = 300
_RADIUS, _WIDEST = 4.5, 15.0
_APART = 7.0  # pixels between marks drawn side by side


@dataclass(frozen=True)
class Spot:
    """One mark: a water, or several that read exactly alike.

    Attributes
    ----------
    x, y : float
        Its place on the two scales (units of the scales).
    members : tuple of int
        Which waters it stands for, counted from 0.
    """

    x: float
    y: float
    members: tuple[int, ...]

    @property
    def radius(self) -> float:
        """Radius of the mark (pixels); its area grows with the number of waters."""
        return min(_RADIUS * math.sqrt(len(self.members)), _WIDEST)


def spots(lane: Lane, x: np.ndarray, y: np.ndarray, *, room: float = 0.0) -> list[Spot]:
    """Return the marks of waters, so that none hides another of the same readings.

    Waters that read exactly alike stand side by side within the room that is allowed; where that
    would make them touch, one mark with a larger area stands for all.

    Parameters
    ----------
    lane : Lane
        Scales of the picture.
    x, y : numpy.ndarray
        Places on the two scales (units of the scales), shape (n,).
    room : float, optional
        How far a mark may be moved across, to either side (unit of the horizontal scale).

    Returns
    -------
    list of Spot
        The marks, the large ones first.

    Examples
    --------
    >>> lane = Lane(0, 300, 0, 300, 7.0, 9.0, 7.0, 9.0)
    >>> two = np.array([8.0, 8.0])
    >>> [len(spots(lane, two, two, room=room)) for room in (0.0, 0.03)]
    [1, 2]
    """
    alike: dict[tuple[float, float], list[int]] = {}
    for index, (across, down) in enumerate(zip(x, y, strict=True)):
        alike.setdefault((round(float(across), 9), round(float(down), 9)), []).append(index)
    pixels = room * (lane.right - lane.left) / ((lane.last - lane.first) or 1.0)
    found = []
    for (across, down), members in alike.items():
        count = len(members)
        if count > 1 and 2.0 * pixels >= _APART * (count - 1):
            # As near to their place as lets them be told apart.
            step = _APART * room / pixels
            for k, index in enumerate(members):
                found.append(Spot(across + (k - (count - 1) / 2.0) * step, down, (index,)))
        else:
            found.append(Spot(across, down, tuple(members)))
    return sorted(found, key=lambda one: -len(one.members))


def spots_svg(lane: Lane, found: Sequence[Spot]) -> str:
    """Return marks, with their number where one stands for several waters.

    Parameters
    ----------
    lane : Lane
        Scales of the picture.
    found : sequence of Spot
        The marks.

    Returns
    -------
    str
        SVG.

    Examples
    --------
    >>> spots_svg(Lane(0, 300, 0, 300, 7.0, 9.0, 7.0, 9.0), [Spot(8.0, 8.0, (0, 3))]).count(">2<")
    1
    """
    parts = []
    for one in found:
        x, y = lane.x(one.x), lane.y(one.y)
        parts.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{one.radius:.1f}" fill="{paint("ink")}" '
            f'fill-opacity=".82" stroke="{paint("paper")}"/>'
        )
        if len(one.members) > 1:
            parts.append(
                f'<text x="{x:.1f}" y="{y + 3.5:.1f}" text-anchor="middle" font-size="10" '
                f'font-weight="650" fill="{paint("paper")}">{len(one.members)}</text>'
            )
    return "".join(parts)


def read_outs(lane: Lane, found: Sequence[Spot], told: Sequence[str], edge: float, y: float) -> str:
    """Return what each mark says when it is pointed at.

    Parameters
    ----------
    lane : Lane
        Scales of the picture.
    found : sequence of Spot
        The marks.
    told : sequence of str
        Words of each water, shape (n,).
    edge, y : float
        Right end of the words and their base line (pixels).

    Returns
    -------
    str
        SVG; empty where there are so many marks that none could be pointed at.

    Examples
    --------
    >>> lane = Lane(0, 300, 0, 300, 7.0, 9.0, 7.0, 9.0)
    >>> "water 4" in read_outs(lane, [Spot(8.0, 8.0, (0,))], ["water 4: 8.0"], 300, 10)
    True
    """
    if len(found) > MOST_READ_OUTS:
        return ""
    parts = []
    for one in found:
        text = told[one.members[0]]
        if len(one.members) > 1:
            more = len(one.members) - 1
            text += f"; and {more} more alike"
        parts.append(
            f'<g><circle cx="{lane.x(one.x):.1f}" cy="{lane.y(one.y):.1f}" '
            f'r="{max(one.radius, 5.5):.1f}"/><text x="{edge:.1f}" y="{y:.1f}">{escape(text)}</text>'
            "</g>"
        )
    return "".join(parts)


def axis_across(lane: Lane, title: str, most: int = 6) -> str:
    """Return line, ticks, numbers and title under a picture.

    Parameters
    ----------
    lane : Lane
        Scales of the picture.
    title : str
        What is drawn across, with its unit; plain text.
    most : int, optional
        Largest number of ticks.

    Returns
    -------
    str
        SVG.

    Examples
    --------
    >>> axis_across(Lane(50, 300, 0, 100, 7.0, 9.0, 0.0, 1.0), "level, dKH").count("<text")
    6
    """
    values = ticks(lane.first, lane.last, most)
    y = lane.bottom
    parts = [f'<path d="M{lane.left:.1f} {y:.1f}H{lane.right:.1f}" stroke="{paint("line")}"/>']
    for value, text in zip(values, tick_words(values), strict=True):
        x = lane.x(value)
        parts.append(
            f'<path d="M{x:.1f} {y:.1f}v5" stroke="{paint("line")}"/>'
            + words(x, y + 18, text, "muted", at="middle")
        )
    parts.append(words((lane.left + lane.right) / 2, y + 36, title, at="middle"))
    return "".join(parts)


def level_line(
    lane: Lane, value: float, *, role: str = "ink", width: float = 1.4, dashes: str = ""
) -> str:
    """Return a line across a picture.

    Parameters
    ----------
    lane : Lane
        Scales of the picture.
    value : float
        Where it lies on the vertical scale (its unit); nothing is drawn outside of it.
    role : str, optional
        Colour of the palette.
    width : float, optional
        Width (pixels).
    dashes : str, optional
        Dashes and gaps of SVG; none for a whole line.

    Returns
    -------
    str
        SVG.

    Examples
    --------
    >>> level_line(Lane(0, 10, 0, 10, 0, 1, 0, 1), 0.5)[:18]
    '<path d="M0.0 5.0H'
    """
    if not lane.low <= value <= lane.high:
        return ""
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<path d="M{lane.left:.1f} {lane.y(value):.1f}H{lane.right:.1f}" fill="none" '
        f'stroke="{paint(role)}" stroke-width="{width:g}"{dashed}/>'
    )


def curve(
    lane: Lane,
    across: Sequence[float],
    values: Sequence[float],
    *,
    role: str = "ink",
    width: float = 2.0,
    dashes: str = "",
) -> str:
    """Return a line through points.

    Parameters
    ----------
    lane : Lane
        Scales of the picture.
    across, values : sequence of float
        Points on the two scales (units of the scales), shape (n,).
    role : str, optional
        Colour of the palette.
    width : float, optional
        Width (pixels).
    dashes : str, optional
        Dashes and gaps of SVG; none for a whole line.

    Returns
    -------
    str
        SVG.

    Examples
    --------
    >>> curve(Lane(0, 10, 0, 10, 0, 1, 0, 1), [0, 1], [0, 1])[:29]
    '<path d="M0.0 10.0L10.0 0.0" '
    """
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<path d="{lane.line(across, values)}" fill="none" stroke="{paint(role)}" '
        f'stroke-width="{width:g}"{dashed}/>'
    )


def shading(
    lane: Lane,
    across: Sequence[float],
    lower: Sequence[float],
    upper: Sequence[float],
    role: str = "interval",
) -> str:
    """Return the shading between two lines, held inside the picture.

    Parameters
    ----------
    lane : Lane
        Scales of the picture.
    across, lower, upper : sequence of float
        Points on the two scales (units of the scales), shape (n,).
    role : str, optional
        Colour of the palette.

    Returns
    -------
    str
        SVG; nothing where an end is no number.

    Examples
    --------
    >>> shading(Lane(0, 10, 0, 10, 0, 1, 0, 1), [0, 1], [0, 0], [1, 1])[:8]
    '<path d='
    """
    if not np.isfinite([*lower, *upper]).all():
        return ""
    return f'<path d="{lane.between(across, lower, upper)}" fill="{paint(role)}"/>'
