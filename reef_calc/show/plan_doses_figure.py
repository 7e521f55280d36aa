"""The doses of one day: a strip of 24 hours, one row a container."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import pandas as pd

from reef_calc.show.plan_drawing import hovers, marker, picture, text_room, words
from reef_calc.show.plan_lane import Lane
from reef_calc.show.plan_words import plain_amount
from reef_calc.show.style import paint
from reef_calc.show.times import records
from reef_calc.show.timetable_picture import cut
from reef_calc.show.wording import escape

WIDE, NARROW = 980, 600
_ROW, _TOP, _AXIS = 34.0, 26.0, 26.0
_DAY = 24 * 60
_EVENLY = 2  # minutes: times this close to equal steps are called even


@dataclass(frozen=True)
class Dose:
    """One dose of a day.

    Attributes
    ----------
    minute : int
        Minutes after midnight.
    container : str
        What is given.
    amount : float
        Amount (``unit``).
    unit : str
        mL or g.
    """

    minute: int
    container: str
    amount: float
    unit: str = "mL"


def doses_of(table: pd.DataFrame) -> tuple[Dose, ...]:
    """Return the doses of one day from the rows of a day table.

    Parameters
    ----------
    table : pandas.DataFrame
        Columns ``time`` (hours and minutes), ``container``, ``amount`` and ``unit``; the rows of
        one phase.

    Returns
    -------
    tuple of Dose
        In the order of the day.

    Examples
    --------
    >>> row = {"time": "08:30", "container": "soda", "amount": 20.0, "unit": "mL"}
    >>> doses_of(pd.DataFrame([row]))
    (Dose(minute=510, container='soda', amount=20.0, unit='mL'),)
    """
    found = [
        Dose(_minute(row.time), str(row.container), float(row.amount), str(row.unit))
        for row in records(table)
    ]
    return tuple(sorted(found, key=lambda dose: (dose.minute, dose.container)))


def _minute(time: object) -> int:
    hours, minutes = str(time)[:5].split(":")
    return 60 * int(hours) + int(minutes)


def doses_of_a_day_html(
    doses: Sequence[Dose], *, width: int | None = WIDE, order: Sequence[str] = ()
) -> str:
    """Return the strip with the times in words and how close doses come.

    Parameters
    ----------
    doses : sequence of Dose
        Doses of one day.
    width : int or None, optional
        Width (pixels); None puts a wide and a narrow picture on the page and shows the one that
        fits.
    order : sequence of str, optional
        All containers, so that each keeps its mark from one picture to the next.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` and ``plan_style.STYLE`` on the page.

    Examples
    --------
    >>> "480" in doses_of_a_day_html([]), doses_of_a_day_html([])
    (False, '<p>No dose is given.</p>')
    """
    if not doses:
        return "<p>No dose is given.</p>"
    if width is not None:
        pictures = doses_of_a_day_svg(doses, width=width, order=order)
    else:
        pictures = (
            f'<div class="rc-wide">{doses_of_a_day_svg(doses, width=WIDE, order=order)}</div>'
            f'<div class="rc-narrow">{doses_of_a_day_svg(doses, width=NARROW, order=order)}</div>'
        )
    items = []
    for name in dict.fromkeys(dose.container for dose in doses):
        own = [dose for dose in doses if dose.container == name]
        when = times_words([dose.minute for dose in own])
        items.append(f"<li>{escape(name)}: {escape(_amounts(own))}, {escape(when)}</li>")
    return (
        f'<div class="rc-plan-lanes">{pictures}<ul>{"".join(items)}</ul>'
        f'<p class="rc-small">{escape(closest_words(doses))}</p></div>'
    )


def doses_of_a_day_svg(
    doses: Sequence[Dose], *, width: int = WIDE, order: Sequence[str] = ()
) -> str:
    """Return the doses of a day on a strip of 24 hours.

    Parameters
    ----------
    doses : sequence of Dose
        Doses of one day.
    width : int, optional
        Width (pixels); the picture is drawn for it, not scaled to it.
    order : sequence of str, optional
        All containers, so that each keeps its mark from one picture to the next.

    Returns
    -------
    str
        SVG; empty without doses.

    Examples
    --------
    >>> doses_of_a_day_svg([Dose(480, "soda", 20.0), Dose(1200, "soda", 20.0)]).count("<circle")
    3
    """
    used = dict.fromkeys(dose.container for dose in doses)
    if not used:
        return ""
    shapes = {name: shape for shape, name in enumerate(dict.fromkeys((*order, *used)))}
    containers = [name for name in shapes if name in used]
    given = {name: [d for d in doses if d.container == name] for name in containers}
    told = {name: _amounts(given[name]) for name in containers}
    left = min(text_room(containers) + 38.0, width * 0.26)
    right = width - min(text_room(list(told.values())) + 12.0, width * 0.26)
    bottom = _TOP + _ROW * len(containers)
    lane = Lane(left, right, _TOP, bottom, 0.0, float(_DAY), 0.0, 1.0)
    every = 2 if (right - left) / 12 >= 40 else 4
    parts = [
        f'<path d="M{lane.x(60 * hour):.1f} {_TOP - 6:.1f}V{bottom:.1f}" stroke="{paint("grid")}"/>'
        + words(lane.x(60 * hour), bottom + 18, f"{hour:02d}:00", "muted", at="middle")
        for hour in range(0, 25, every)
    ]
    reads = []
    for row, name in enumerate(containers):
        y = _TOP + _ROW * (row + 0.5)
        parts.append(f'<path d="M{left:.1f} {y:.1f}H{right:.1f}" stroke="{paint("line")}"/>')
        parts.append(marker(shapes[name], 8, y))
        parts.append(words(20, y + 4, cut(name, left - 28), bold=True))
        parts.append(words(right + 10, y + 4, told[name]))
        for dose in given[name]:
            x = lane.x(dose.minute)
            parts.append(marker(shapes[name], x, y))
            reads.append(
                (
                    x - 7,
                    y - 12,
                    14.0,
                    24.0,
                    f"{_clock(dose.minute)}, {name}: {plain_amount(dose.amount, dose.unit)}",
                )
            )
    spoken = "; ".join(
        f"{name} {times_words([d.minute for d in given[name]])}" for name in containers
    )
    return picture(
        width, bottom + _AXIS, f"Doses of a day: {spoken}", "".join(parts),
        reads=hovers(reads, right, _TOP - 12),
    )  # fmt: skip


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


def _amounts(doses: Sequence[Dose]) -> str:
    sizes = list(dict.fromkeys(plain_amount(dose.amount, dose.unit) for dose in doses))
    if len(sizes) > 1:
        return f"{len(doses)} doses"
    return f"{len(doses)} × {sizes[0]}"


def times_words(minutes: Sequence[int]) -> str:
    """Return times of a day in words, evenly spaced ones as one phrase.

    Parameters
    ----------
    minutes : sequence of int
        Minutes after midnight, in order.

    Returns
    -------
    str
        Such as "at 08:00 and 20:00" or "every hour, 00:30 to 23:30".

    Examples
    --------
    >>> times_words([480, 1200]), times_words(list(range(30, 1440, 60)))
    ('at 08:00 and 20:00', 'every hour, 00:30 to 23:30')
    """
    if not minutes:
        return "never"
    gaps = [b - a for a, b in pairwise(minutes)]
    if len(minutes) > 4 and max(gaps) - min(gaps) <= _EVENLY:
        step = round(sum(gaps) / len(gaps))
        about = "" if max(gaps) == min(gaps) else "about "
        every = f"{step} minutes" if step % 60 else "hour" if step == 60 else f"{step // 60} hours"
        return f"{about}every {every}, {_clock(minutes[0])} to {_clock(minutes[-1])}"
    clocks = [_clock(minute) for minute in minutes]
    head, last = clocks[:-1], clocks[-1]
    return f"at {', '.join(head)} and {last}" if head else f"at {last}"


def closest_words(doses: Sequence[Dose]) -> str:
    """Return how close doses of different containers come to each other.

    Parameters
    ----------
    doses : sequence of Dose
        Doses of one day.

    Returns
    -------
    str
        A sentence; empty with fewer than two containers.

    Examples
    --------
    >>> closest_words([Dose(480, "soda", 20.0), Dose(510, "calcium", 20.0)])
    'Closest together: soda at 08:00 and calcium at 08:30, 30 minutes apart.'
    """
    order = sorted(doses, key=lambda dose: dose.minute)
    pairs = [(b.minute - a.minute, a, b) for a, b in pairwise(order) if a.container != b.container]
    # Midnight is no border: the last dose of a day is followed by the first of the next.
    if order and order[0].container != order[-1].container:
        pairs.append((order[0].minute + _DAY - order[-1].minute, order[-1], order[0]))
    if not pairs:
        return ""
    gap, a, b = min(pairs, key=lambda pair: pair[0])
    return (
        f"Closest together: {a.container} at {_clock(a.minute)} and {b.container} at "
        f"{_clock(b.minute)}, {gap} minutes apart."
    )
