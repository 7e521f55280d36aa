"""One lane of a hand-made picture: its scales, axes, lines, shading and labels at the right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from reef_calc.show.lane_layout import LABEL_GAP, spread
from reef_calc.show.plan_drawing import tick_words, ticks, words
from reef_calc.show.style import paint
from reef_calc.show.wording import MONTHS

_DAY_STEPS = (1, 2, 5, 7, 14, 28, 56, 91, 182)
_DATE_ROOM = 64.0  # CSS pixels from one date to the next


@dataclass(frozen=True)
class Lane:
    """One lane of a picture; places in CSS pixels from the upper left corner.

    Attributes
    ----------
    left, right, top, bottom : float
        Edges (pixels).
    first, last : float
        Ends of the horizontal scale (any unit).
    low, high : float
        Ends of the vertical scale (any unit).
    """

    left: float
    right: float
    top: float
    bottom: float
    first: float
    last: float
    low: float
    high: float

    def x(self, value: float) -> float:
        """Return a place across (pixels), held inside the lane.

        Parameters
        ----------
        value : float
            On the horizontal scale (any unit).

        Returns
        -------
        float
            Pixels.
        """
        inside = min(max(value, self.first), self.last)
        share = (inside - self.first) / ((self.last - self.first) or 1.0)
        return self.left + share * (self.right - self.left)

    def y(self, value: float) -> float:
        """Return a place down (pixels), held inside the lane.

        Parameters
        ----------
        value : float
            On the vertical scale (any unit).

        Returns
        -------
        float
            Pixels.
        """
        inside = min(max(value, self.low), self.high)
        share = (inside - self.low) / ((self.high - self.low) or 1.0)
        return self.bottom - share * (self.bottom - self.top)

    def line(self, across: Sequence[float], values: Sequence[float]) -> str:
        """Return the path through points.

        Parameters
        ----------
        across, values : sequence of float
            Points on the two scales (any unit), shape (n,).

        Returns
        -------
        str
            Data of an SVG path.
        """
        points = [f"{self.x(a):.1f} {self.y(v):.1f}" for a, v in zip(across, values, strict=True)]
        return "M" + "L".join(points)

    def between(
        self, across: Sequence[float], lower: Sequence[float], upper: Sequence[float]
    ) -> str:
        """Return the closed path between two lines.

        Parameters
        ----------
        across, lower, upper : sequence of float
            Points on the two scales (any unit), shape (n,).

        Returns
        -------
        str
            Data of an SVG path.
        """
        there = self.line(across, upper)
        back = self.line(list(across)[::-1], list(lower)[::-1])
        return f"{there}L{back[1:]}z"


def date_axis(lane: Lane, start: date, days: int, y: float) -> str:
    """Return ticks and dates under a picture.

    Parameters
    ----------
    lane : Lane
        Its horizontal scale counts days from ``start``.
    start : datetime.date
        Day 0.
    days : int
        Length of the scale.
    y : float
        Upper end of the ticks (pixels).

    Returns
    -------
    str
        SVG.

    Examples
    --------
    >>> lane = Lane(0, 300, 0, 100, 0, 10, 0, 1)
    >>> date_axis(lane, date(2026, 10, 1), 10, 100).count("<text")
    3
    """
    per_day = (lane.right - lane.left) / max(days, 1)
    step = next((s for s in _DAY_STEPS if s * per_day >= _DATE_ROOM), _DAY_STEPS[-1])
    parts = []
    for day in range(0, days + 1, step):
        x = lane.x(day)
        parts.append(
            f'<path d="M{x:.1f} {y:.1f}v5" stroke="{paint("line")}"/>'
            + words(x, y + 18, short_date(date_after(start, day)), "muted", at="middle")
        )
    return "".join(parts)


def date_after(start: date, days: int) -> date:
    """Return the date a number of days later.

    Parameters
    ----------
    start : datetime.date
        Day 0.
    days : int
        Number of days.

    Returns
    -------
    datetime.date
        The date.

    Examples
    --------
    >>> date_after(date(2026, 10, 1), 3)
    datetime.date(2026, 10, 4)
    """
    return start + timedelta(days=days)


def short_date(day: date) -> str:
    """Return a date as it stands under a picture.

    Parameters
    ----------
    day : datetime.date
        The date.

    Returns
    -------
    str
        Such as "4 Oct".

    Examples
    --------
    >>> short_date(date(2026, 10, 4))
    '4 Oct'
    """
    return f"{day.day} {MONTHS[day.month - 1][:3]}"


def level_axis(lane: Lane, most: int = 4) -> str:
    """Return grid lines and numbers at the left of a lane.

    Parameters
    ----------
    lane : Lane
        The lane.
    most : int, optional
        Largest number of ticks.

    Returns
    -------
    str
        SVG.

    Examples
    --------
    >>> level_axis(Lane(50, 300, 0, 100, 0, 10, 7.0, 9.0)).count("<text")
    5
    """
    values = ticks(lane.low, lane.high, most)
    parts = []
    for value, text in zip(values, tick_words(values), strict=True):
        y = lane.y(value)
        parts.append(
            f'<path d="M{lane.left:.1f} {y:.1f}H{lane.right:.1f}" stroke="{paint("grid")}"/>'
            + words(lane.left - 8, y + 4, text, "muted", at="end")
        )
    return "".join(parts)


def labels_at_right(lane: Lane, labels: Sequence[tuple[float, str, str, bool]]) -> str:
    """Return words at the right of a lane, none over another.

    Parameters
    ----------
    lane : Lane
        The lane.
    labels : sequence of (float, str, str, bool)
        Value on the vertical scale (its unit), words, colour and whether they are bold.

    Returns
    -------
    str
        SVG.

    Examples
    --------
    >>> lane = Lane(0, 300, 0, 100, 0, 10, 0, 1)
    >>> labels_at_right(lane, [(0.5, "a", "ink", True), (0.5, "b", "muted", False)]).count("<text")
    2
    """
    places = spread([-lane.y(value) for value, *_ in labels], LABEL_GAP)
    # Many labels near an edge would leave the lane; the whole column is moved back into it.
    down = [-float(p) for p in places]
    if down:
        over = max(max(down) - lane.bottom - 2, 0.0) or min(min(down) - lane.top + 4, 0.0)
        down = [y - over for y in down]
    return "".join(
        words(lane.right + 8, y + 4, text, role, bold=bold)
        for y, (_, text, role, bold) in zip(down, labels, strict=True)
    )
