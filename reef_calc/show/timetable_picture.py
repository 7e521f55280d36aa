"""The bench day as a picture: one row a test, a row for the hands, a time axis."""

from __future__ import annotations

import pandas as pd

from reef_calc.bench.rest_of_day import DaySoFar
from reef_calc.bench.timetable import Timetable
from reef_calc.show.style import paint
from reef_calc.show.times import records
from reef_calc.show.wording import escape

_ROW, _BLOCK, _TOP = 60, 26, 16
_SIDES = {True: (176, 22), False: (118, 16)}  # left and right margins, wide and narrow
_LETTER = 7.3  # CSS pixels of a letter of 13 px, rather too much than too little
_TICKS = (1, 2, 5, 10, 15, 20, 30, 60, 120, 240)
_TICK_ROOM = 58  # CSS pixels between two ticks: a clock time and a gap


def timetable_svg(
    timetable: Timetable,
    *,
    width: int = 920,
    start: pd.Timestamp | None = None,
    day: DaySoFar | None = None,
    now: float | None = None,
) -> str:
    """Return the bench day as inline SVG; the table below it says the same.

    Parameters
    ----------
    timetable : Timetable
        The day (minutes).
    width : int, optional
        Width in CSS pixels; the picture is drawn for it, not scaled to it.
    start : pandas.Timestamp, optional
        Clock time of minute 0, once the day has started.
    day : DaySoFar, optional
        What has been done, once the day has started.
    now : float, optional
        Present time (minutes).

    Returns
    -------
    str
        One ``<svg>`` element.

    Examples
    --------
    >>> from reef_calc.bench.timetable import BenchTest, order_search
    >>> timetable_svg(order_search([BenchTest("kit A", (2, 3), ((10, 12),))])).count("<rect")
    6
    """
    drawing = _Drawing(timetable, width, start, day, now)
    rows = len(timetable.tests) + 1
    height = _TOP + rows * _ROW + (44 if start is not None else 28)
    label = (
        f"Timetable of {len(timetable.tests)} tests over {round(timetable.end):g} minutes, one row a "
        "test, the hands in the last row. All times stand in the table below."
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{label}" '
        f'width="{width}" height="{height}" viewBox="0 0 {width} {height}" font-size="13">'
        f"{drawing.axis(rows)}{drawing.tests()}{drawing.hands(rows - 1)}{drawing.present(rows)}</svg>"
    )


def numbers_in_turn(timetable: Timetable) -> dict[tuple[str, int], int]:
    """Return the number in the order of work of every step.

    Parameters
    ----------
    timetable : Timetable
        The day.

    Returns
    -------
    dict
        Test and step (from 1) to its number (from 1).

    Examples
    --------
    >>> from reef_calc.bench.timetable import BenchTest, order_search
    >>> numbers_in_turn(order_search([BenchTest("a", (2, 3), ((10, 12),)), BenchTest("c", (3,))]))
    {('a', 1): 1, ('c', 1): 2, ('a', 2): 3}
    """
    table = timetable.summary
    return {(row.test, row.step): i for i, row in enumerate(records(table), start=1)}


class _Drawing:
    """The parts of one picture, which share its scale."""

    def __init__(
        self,
        timetable: Timetable,
        width: int,
        start: pd.Timestamp | None,
        day: DaySoFar | None,
        now: float | None,
    ) -> None:
        self.timetable, self.width, self.start, self.day = timetable, width, start, day
        self.now = now
        self.left, right = _SIDES[width >= 800]
        self.right_edge = width - right
        self.end = max(timetable.end, now or 0.0, 1.0)
        self.per_minute = (self.right_edge - self.left) / self.end
        self.numbers = numbers_in_turn(timetable)

    def x(self, minute: float) -> float:
        return self.left + min(max(minute, 0.0), self.end) * self.per_minute

    def axis(self, rows: int) -> str:
        step = next((t for t in _TICKS if t * self.per_minute >= _TICK_ROOM), _TICKS[-1])
        while step * self.per_minute < _TICK_ROOM:
            step *= 2
        bottom = _TOP + rows * _ROW
        parts = []
        minute = 0
        while minute <= self.end:
            x = self.x(minute)
            parts.append(
                f'<path d="M{x:.1f} {_TOP}V{bottom + 5}" stroke="{paint("grid")}"/>'
                f'<text x="{x:.1f}" y="{bottom + 19}" text-anchor="middle" fill="{paint("muted")}">'
                f"{minute}</text>"
            )
            if self.start is not None:
                clock = f"{self.start + pd.Timedelta(minutes=minute):%H:%M}"
                parts.append(
                    f'<text x="{x:.1f}" y="{bottom + 36}" text-anchor="middle" '
                    f'fill="{paint("ink")}">{clock}</text>'
                )
            minute += step
        parts.append(self.words(4, bottom + 19, "minutes", "muted"))
        if self.start is not None:
            parts.append(self.words(4, bottom + 36, "clock", "ink"))
        return "".join(parts)

    def tests(self) -> str:
        parts = []
        for i, test in enumerate(self.timetable.tests):
            top = _TOP + i * _ROW
            starts = self.timetable.starts[i]
            name = cut(test.name, self.left - 14)
            parts.append(self.words(4, top + 18, name, "ink", bold=True))
            for k, (start, hands) in enumerate(zip(starts, test.hands, strict=True)):
                later = starts[k + 1] if k + 1 < len(starts) else self.end
                parts.append(self.block(i, k, start, hands, top, always=True))
                text = test.texts[k] if test.texts else ""
                until = self.x(later) if k + 1 < len(starts) else self.width
                begin = min(self.x(start), self.width - 60.0)
                parts.append(self.words(begin, top + 46, cut(text, until - begin - 8), "muted"))
                if k + 1 < len(starts):
                    parts.append(self.wait(i, k, start + hands, later, top))
        return "".join(parts)

    def block(self, i: int, k: int, start: float, hands: float, top: float, *, always: bool) -> str:
        state = self.state(i, k)
        fill, ink = {"done": ("interval", "ink"), "in hand": ("kitA", "paper")}.get(
            state, ("ink", "paper")
        )
        x, width = self.x(start), max(self.x(start + hands) - self.x(start), 2.0)
        number = str(self.numbers[self.timetable.tests[i].name, k + 1])
        number += " ✓" if state == "done" else ""
        room = width >= len(number) * 8.5 + 4
        words = ""
        if room or always:
            y = top + (_BLOCK * 0.5 + 5 if room else -3)
            words = (
                f'<text x="{x + width / 2:.1f}" y="{y:.1f}" text-anchor="middle" font-weight="700" '
                f'fill="{paint(ink if room else "ink")}">{number}</text>'
            )
        # The rim in the colour of the paper parts two blocks that touch.
        return (
            f'<rect x="{x:.1f}" y="{top}" width="{width:.1f}" height="{_BLOCK}" '
            f'fill="{paint(fill)}" stroke="{paint("paper")}"/>{words}'
        )

    def state(self, i: int, k: int) -> str:
        if self.day is None:
            return ""
        if self.day.in_hand == (i, k):
            return "in hand"
        return "done" if k < len(self.day.ended[i]) else ""

    def wait(self, i: int, k: int, since: float, until: float, top: float) -> str:
        least, most = self.timetable.tests[i].waits[k]
        x, end, y = self.x(since), self.x(until), top + _BLOCK / 2
        done = self.day is not None and k + 1 < len(self.day.begun[i])
        words = f"{until - since:.0f} min" if done else f"{least:g}–{most:g} min"
        if len(words) * _LETTER > end - x - 6:
            words = words.removesuffix(" min")
        fits = len(words) * _LETTER <= end - x - 4
        part = f'<path d="M{x:.1f} {y}H{end:.1f}" stroke="{paint("line")}" stroke-width="1.5"/>'
        if fits:
            part += (
                f'<text x="{(x + end) / 2:.1f}" y="{y - 5}" text-anchor="middle" '
                f'fill="{paint("muted")}">{words}</text>'
            )
        if not done:
            first, last = self.x(since + least), self.x(since + most)
            part += (
                f'<rect x="{first:.1f}" y="{top + _BLOCK + 2}" height="4" '
                f'width="{max(last - first, 2.0):.1f}" fill="{paint("bandedge")}"/>'
            )
        return part

    def hands(self, row: int) -> str:
        top = _TOP + row * _ROW
        steps = sorted(
            (start, hands, i, k)
            for i, (test, starts) in enumerate(
                zip(self.timetable.tests, self.timetable.starts, strict=True)
            )
            for k, (start, hands) in enumerate(zip(starts, test.hands, strict=True))
        )
        parts = [
            f'<path d="M0 {top - 8}H{self.width}" stroke="{paint("line")}"/>',
            self.words(4, top + 18, "hands", "ink", bold=True),
            f'<rect x="{self.left}" y="{top}" width="{self.x(self.timetable.end) - self.left:.1f}" '
            f'height="{_BLOCK}" fill="none" stroke="{paint("line")}"/>',
        ]
        free = 0.0
        for start, hands, i, k in steps:
            words = f"free {round(start - free, 1):g}"
            if start > free and len(words) * _LETTER <= (start - free) * self.per_minute:
                middle = (self.x(free) + self.x(start)) / 2
                parts.append(
                    f'<text x="{middle:.1f}" y="{top + 18}" text-anchor="middle" '
                    f'fill="{paint("muted")}">{words}</text>'
                )
            parts.append(self.block(i, k, start, hands, top, always=False))
            free = start + hands
        return "".join(parts)

    def present(self, rows: int) -> str:
        if self.now is None:
            return ""
        x = self.x(self.now)
        return (
            f'<path d="M{x:.1f} {_TOP - 4}V{_TOP + rows * _ROW}" stroke="{paint("kitA")}" '
            f'stroke-width="2" stroke-dasharray="5 3"/>'
            f'<text x="{x:.1f}" y="{_TOP + rows * _ROW - 14}" dx="4" fill="{paint("kitA")}" '
            f'font-weight="700">now</text>'
        )

    @staticmethod
    def words(x: float, y: float, text: str, role: str, *, bold: bool = False) -> str:
        weight = ' font-weight="650"' if bold else ""
        return f'<text x="{x:.1f}" y="{y}"{weight} fill="{paint(role)}">{escape(text)}</text>'


def cut(text: str, room: float) -> str:
    """Return a text that fits into a width, cut with dots; empty where not even a word fits.

    Parameters
    ----------
    text : str
        Plain text.
    room : float
        Width in CSS pixels, for letters of 13 pixels.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> cut("Shake for one minute", 80.0), cut("Shake", 10.0), cut("Read", 80.0)
    ('Shake for…', '', 'Read')
    """
    letters = int(room / _LETTER)
    if len(text) <= letters:
        return text
    return text[: letters - 1].rstrip() + "…" if letters >= 4 else ""
