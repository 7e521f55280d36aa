"""What the lanes of a forecast show, what is read on them, and the key of their signs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from reef_calc.numbers_in_words import fixed
from reef_calc.plan.forecast import Forecast
from reef_calc.plan.problem import ElementToPlan
from reef_calc.plan.when_to_test import NextTest
from reef_calc.show.plan_drawing import hovers, text_room, words
from reef_calc.show.plan_lane import Lane, date_after, short_date
from reef_calc.show.plan_words import joined, level_decimals, level_words
from reef_calc.show.style import paint
from reef_calc.show.wording import escape

_MOST_READ_OUTS = 45


@dataclass(frozen=True)
class LevelsAhead:
    """What the lanes show.

    Attributes
    ----------
    ahead : Forecast
        Levels of the plan.
    start : datetime.date
        Its first day.
    phases : tuple of int
        First day of each phase, the first 0.
    unchanged : Forecast or None
        Levels when every dose stays as it is today.
    tests : mapping of str to NextTest
        When to test next, by element.
    """

    ahead: Forecast
    start: date
    phases: tuple[int, ...] = (0,)
    unchanged: Forecast | None = None
    tests: Mapping[str, NextTest] = field(default_factory=dict)


def drawn_elements(ahead: Forecast) -> list[int]:
    """Return which elements get a lane: those with aims.

    Parameters
    ----------
    ahead : Forecast
        The forecast.

    Returns
    -------
    list of int
        Places in ``ahead.problem.elements``.

    Examples
    --------
    See :func:`forecast_html`.
    """
    return [
        row
        for row, one in enumerate(ahead.problem.elements)
        if one.low is not None or one.high is not None
    ]


def changes_something(shown: LevelsAhead, row: int) -> bool:
    """Return whether the plan moves an element away from where the doses of today lead.

    Parameters
    ----------
    shown : LevelsAhead
        What the lanes show.
    row : int
        Number of the element.

    Returns
    -------
    bool
        False also when nothing is known of the doses of today.

    Examples
    --------
    See :func:`reef_calc.show.plan_forecast_figure.forecast_html`.
    """
    if shown.unchanged is None:
        return False
    apart = np.abs(shown.unchanged.levels[row] - shown.ahead.levels[row]).max()
    return bool(apart > 0.01 * shown.ahead.problem.elements[row].half)


def end_words(one: ElementToPlan, ahead: Forecast, row: int, day: int) -> str:
    """Return a forecast level with its interval, in words.

    Parameters
    ----------
    one : ElementToPlan
        The element.
    ahead : Forecast
        Where it goes.
    row, day : int
        Number of the element, and the day.

    Returns
    -------
    str
        Such as "8.0 ± 0.3"; "used up" below nothing.

    Examples
    --------
    See :func:`reef_calc.show.plan_forecast_figure.forecast_html`.
    """
    level = float(ahead.levels[row, day])
    if level < 0.0:
        return "used up"
    return level_words(one, level, float(ahead.low[row, day]), float(ahead.high[row, day]))


def read_outs(shown: LevelsAhead, row: int, lane: Lane, edge: float) -> str:
    """Return what each day of a lane says when it is pointed at, and the day to test next.

    Parameters
    ----------
    shown : LevelsAhead
        What the lanes show.
    row : int
        Number of the element.
    lane : Lane
        Its lane.
    edge : float
        Right end of the words (pixels).

    Returns
    -------
    str
        SVG.

    Examples
    --------
    See :func:`reef_calc.show.plan_forecast_figure.forecast_html`.
    """
    ahead, one = shown.ahead, shown.ahead.problem.elements[row]
    step = max(1, math.ceil((ahead.problem.days + 1) / _MOST_READ_OUTS))
    per_day = (lane.right - lane.left) / max(ahead.problem.days, 1)
    other = shown.unchanged if changes_something(shown, row) else None
    places = []
    for day in range(0, ahead.problem.days + 1, step):
        text = f"{short_date(date_after(shown.start, day))}: {end_words(one, ahead, row, day)} {one.unit}"
        chance = float(ahead.outside[row, day])
        if math.isfinite(chance):
            text += f", {percent(chance)} outside"
        if other is not None:
            text += f"; as today {end_words(one, other, row, day)}"
        wide = per_day * step
        places.append((lane.x(day) - wide / 2, lane.top, wide, lane.bottom - lane.top, text))
    return hovers(places, edge, lane.top - 9) + next_test_mark(shown, row, lane)


def percent(chance: float) -> str:
    """Return a chance in words.

    Parameters
    ----------
    chance : float
        Probability (0 to 1).

    Returns
    -------
    str
        Such as "12 % chance".

    Examples
    --------
    >>> percent(0.123), percent(0.001), percent(0.999)
    ('12 % chance', 'hardly a chance', 'almost surely')
    """
    if chance < 0.005:
        return "hardly a chance"
    return "almost surely" if chance > 0.995 else f"{100 * chance:.0f} % chance"


def next_test_mark(shown: LevelsAhead, row: int, lane: Lane) -> str:
    """Return the mark and the word of the day to test next; the Tab key stops at it.

    Parameters
    ----------
    shown : LevelsAhead
        What the lanes show.
    row : int
        Number of the element.
    lane : Lane
        Its lane.

    Returns
    -------
    str
        SVG inside the group of what can be pointed at; empty without such a day.

    Examples
    --------
    See :func:`reef_calc.show.plan_forecast_figure.forecast_html`.
    """
    ahead, one = shown.ahead, shown.ahead.problem.elements[row]
    test = shown.tests.get(one.name)
    if test is None:
        return ""
    level = float(ahead.levels[row, test.day])
    x, y = lane.x(test.day), lane.y(level)
    text = (
        "test first" if test.day == 0 else f"test {short_date(date_after(shown.start, test.day))}"
    )
    # The word stands on the side the line turns away from, where there is room for it.
    later = float(ahead.levels[row, min(test.day + 3, ahead.problem.days)])
    below = lane.bottom - y > 30 and (later > level or y - lane.top < 26)
    down = y + 24 if below else y - 12
    at = "start" if test.day == 0 else "middle"
    half = text_room([text]) / 2
    centre = x + 4 if test.day == 0 else min(max(x, lane.left + half), lane.right - half)
    # What is always seen, on paper too, stands outside the group of what is shown on hover.
    return (
        f'</g><g><path d="M{x:.1f} {y - 7.5:.1f}l7.5 7.5l-7.5 7.5l-7.5 -7.5z" '
        f'fill="{paint("paper")}" stroke="{paint("ink")}" stroke-width="2"/>'
        f"{words(centre, down, text, bold=True, at=at, halo=True)}</g>"
        f'<g class="rc-hover"><g tabindex="0" role="img" aria-label="{escape(test.words)}">'
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9"/></g>'
    )


def spoken_words(shown: LevelsAhead, rows: Sequence[int]) -> str:
    """Return what the picture shows, for those who do not see it.

    Parameters
    ----------
    shown : LevelsAhead
        What the lanes show.
    rows : sequence of int
        Elements that are drawn.

    Returns
    -------
    str
        One sentence.

    Examples
    --------
    See :func:`reef_calc.show.plan_forecast_figure.forecast_html`.
    """
    ahead, days = shown.ahead, shown.ahead.problem.days
    told = []
    for row in rows:
        one = ahead.problem.elements[row]
        text = (
            f"{one.name} from {fixed(float(ahead.levels[row, 0]), level_decimals(one))} to "
            f"{end_words(one, ahead, row, -1)} {one.unit}"
        )
        if changes_something(shown, row) and shown.unchanged is not None:
            text += f", with today's doses {end_words(one, shown.unchanged, row, -1)}"
        told.append(text)
    return f"Forecast over {days} days: {'; '.join(told)}."


def key_html(shown: LevelsAhead) -> str:
    """Return the key of the signs.

    Parameters
    ----------
    shown : LevelsAhead
        What the lanes show.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    See :func:`reef_calc.show.plan_forecast_figure.forecast_html`.
    """
    ink = paint("ink")
    signs = [
        (f'<path d="M1 8H27" stroke="{ink}" stroke-width="2.2"/>', "the plan"),
        (f'<path d="M1 2H27V14H1z" fill="{paint("interval")}"/>', "95 % interval"),
        (
            f'<path d="M1 2H27V14H1z" fill="{paint("band")}"/>'
            f'<path d="M1 2H27M1 14H27" stroke="{paint("bandedge")}"/>',
            "aims",
        ),
    ]
    if any(changes_something(shown, row) for row in drawn_elements(shown.ahead)):
        dashes = f'<path d="M1 8H27" stroke="{paint("kitA")}" stroke-width="1.4" stroke-dasharray="5 4"/>'
        signs.append((dashes, "if today's doses are kept"))
    if len(shown.phases) > 1:
        dots = f'<path d="M14 0V16" stroke="{paint("muted")}" stroke-dasharray="2 3"/>'
        dates = [short_date(date_after(shown.start, day)) for day in shown.phases[1:]]
        signs.append((dots, f"new setting, {joined(dates)}"))
    if shown.tests:
        mark = f'<path d="M14 1l7 7l-7 7l-7 -7z" fill="{paint("paper")}" stroke="{ink}" stroke-width="2"/>'
        signs.append((mark, "test next"))
    return (
        '<ul class="rc-key">'
        + "".join(
            f'<li><svg width="28" height="16" viewBox="0 0 28 16" aria-hidden="true">{sign}</svg>'
            f"{name}</li>"
            for sign, name in signs
        )
        + "</ul>"
    )
