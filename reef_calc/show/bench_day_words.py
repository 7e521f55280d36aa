"""The bench day in words: what it saves, what was assumed, its times."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import pandas as pd

from reef_calc.bench.kits import Kit
from reef_calc.bench.rest_of_day import DaySoFar
from reef_calc.bench.timetable import Timetable
from reef_calc.show.wording import count_words


@dataclass(frozen=True)
class ShownDay:
    """A timetable with what belongs beside it.

    Attributes
    ----------
    timetable : Timetable
        The day (minutes).
    kits : mapping
        Kit by the name of its test.
    notes : tuple of str
        What was shared or assumed, in sentences.
    start : pandas.Timestamp or None
        Clock time of minute 0, once the day has started.
    day : DaySoFar or None
        What has been done, once the day has started.
    now : float or None
        Present time (minutes).
    """

    timetable: Timetable
    kits: Mapping[str, Kit] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    start: pd.Timestamp | None = None
    day: DaySoFar | None = None
    now: float | None = None


def saved_words(timetable: Timetable) -> str:
    """Return how much shorter the day is than one test after the other.

    Parameters
    ----------
    timetable : Timetable
        The day (minutes).

    Returns
    -------
    str
        One sentence.

    Examples
    --------
    >>> from reef_calc.bench.timetable import BenchTest, order_search
    >>> saved_words(order_search([BenchTest("a", (2, 3), ((10, 12),)), BenchTest("c", (3,))]))
    '3 minutes saved against one test after the other (18 min).'
    """
    sequence = sum(test.shortest for test in timetable.tests)
    saved = round(sequence - timetable.end, 1)
    if len(timetable.tests) == 1:
        return "There is one test only, so nothing can be put into its waits."
    if saved < 0.1:
        return "As long as one test after the other: no test fits into the wait of another."
    unit = "minute" if saved == 1 else "minutes"
    return f"{saved:g} {unit} saved against one test after the other ({round(sequence, 1):g} min)."


def assumed_words(kit: Kit, minutes_typed: bool) -> str:
    """Return what was shared or assumed to make a kit into a chain of steps.

    Parameters
    ----------
    kit : Kit
        The kit, with its minutes of work.
    minutes_typed : bool
        Whether the minutes were typed on this page and do not stand in kits.toml.

    Returns
    -------
    str
        One or two sentences.

    Examples
    --------
    >>> assumed_words(Kit("probe", "pH", "meter", "pH", hands_min=2.0), False)
    'probe: no steps are written, so it is one piece of work of 2 min without a wait.'
    """
    minutes = f"{kit.hands_min:g} min"
    typed = " Its minutes were typed here; kits.toml has none." if minutes_typed else ""
    works = sum(bool(step.do) for step in kit.steps)
    if not kit.steps:
        words = f"no steps are written, so it is one piece of work of {minutes} without a wait."
    elif works <= 1:
        words = f"{minutes} of work in one step."
    else:
        words = f"{minutes} of work shared equally among its {count_words(works)} steps."
    if kit.steps and kit.steps[0].wait_min is not None and not kit.steps[0].do:
        words += " It begins with a wait: a step to start it was added and shares the minutes."
    if kit.steps and kit.steps[-1].wait_min is not None:
        words += " It ends with a wait: a step to read was added and shares the minutes."
    return f"{kit.name}: {words}{typed}"


def clock_words(shown: ShownDay, minute: float) -> str:
    """Return a time of the day: by the clock once it has started, else in minutes.

    Parameters
    ----------
    shown : ShownDay
        The day.
    minute : float
        Minutes from its start.

    Returns
    -------
    str
        Such as "19:42" or "12.5".

    Examples
    --------
    >>> from reef_calc.bench.timetable import BenchTest, order_search
    >>> clock_words(ShownDay(order_search([BenchTest("a", (2,))])), 12.5)
    '12.5'
    """
    if shown.start is None:
        return f"{round(minute, 1):g}"
    return f"{shown.start + pd.Timedelta(minutes=minute):%H:%M}"
