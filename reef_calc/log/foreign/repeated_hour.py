"""Rows of the hour that the clock showed twice, when it went back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from reef_calc.log.foreign.local_times import LocalTimes
from reef_calc.log.foreign.month_names import day_words
from reef_calc.log.foreign.outcome import Answers, CellTime, Choice, Question, Said
from reef_calc.log.foreign.rows_in_words import in_words, rows_in_words

_NEAR = dt.timedelta(hours=3)
_SAME = dt.timedelta(seconds=61)
_LABELS = {
    "apart": "One hour apart: first before, then after the clock went back",
    "before": "Before the clock went back",
    "after": "After the clock went back",
}


@dataclass(frozen=True, slots=True)
class Twice:
    """A row whose time the clock showed twice.

    Attributes
    ----------
    at : int
        Position of the row, an index from 0.
    row : int
        Row, counted from 1.
    local : datetime.datetime
        Local time without a zone.
    """

    at: int
    row: int
    local: dt.datetime


def repeated_hours(
    twice: Sequence[Twice],
    times: Sequence[CellTime],
    zone: LocalTimes,
    *,
    key: str,
    column: int,
    answers: Answers,
) -> tuple[dict[int, CellTime], tuple[Question, ...]]:
    """Return the times of rows that the clock showed twice, and what is asked of them.

    Parameters
    ----------
    twice : sequence of Twice
        Those rows, in the order of the file.
    times : sequence of CellTime
        Times of all rows, for the neighbours.
    zone : LocalTimes
        The zone.
    key : str
        Key of the column.
    column : int
        Column, an index from 0.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    tuple
        Times by position, without ``iso`` where they wait for an answer; one question a night.

    Notes
    -----
    Where one choice alone makes the steps from row to row equal, as a logger has them, it is assumed.

    Examples
    --------
    >>> from reef_calc.log.times import tank_zone
    >>> rows = [Twice(at, at + 2, dt.datetime(2026, 10, 25, 2, 30)) for at in (0, 1)]
    >>> found, questions = repeated_hours(rows, [CellTime()] * 2, LocalTimes(tank_zone("Europe/Berlin")),
    ...     key="time", column=0, answers={"repeated hour/time": "apart"})
    >>> found[0].iso, found[1].iso
    ('2026-10-25T02:30+02:00', '2026-10-25T02:30+01:00')
    """
    nights: dict[dt.date, list[Twice]] = {}
    for one in twice:
        nights.setdefault(one.local.date(), []).append(one)
    found: dict[int, CellTime] = {}
    questions = []
    for day, rows in sorted(nights.items()):
        name = f"repeated hour/{key}" if len(nights) == 1 else f"repeated hour/{key} {day}"
        ways = _ways(rows, times, zone)
        assumed = _equal_steps(rows, ways, times)
        given = answers.get(name, "")
        answered = given if given in ways else ""
        text = _asked(rows, key, day)
        if given and not answered:
            text = f"“{given[:40]}” is not one of the answers. {text}"
        choices = tuple(Choice(way, _label(way, rows), _told(rows, ways[way])) for way in ways)
        numbers = tuple(one.row for one in rows)
        questions.append(Question(name, text, choices, numbers, column, "", assumed, answered))
        chosen = answered or assumed
        for at, one in enumerate(rows):
            found[one.at] = ways[chosen][at] if chosen else _waiting(one, ways, at, name)
    return found, tuple(questions)


def _ways(
    rows: Sequence[Twice], times: Sequence[CellTime], zone: LocalTimes
) -> dict[str, list[CellTime]]:
    before, after = _neighbours(rows, times)
    falling = bool(before and after and before > after)
    walked = list(reversed(rows)) if falling else list(rows)
    second, seconds = False, []
    for last, one in zip([None, *walked], walked, strict=False):
        second = second or (last is not None and one.local <= last.local)
        seconds.append(second)
    if falling:
        seconds.reverse()
    plans = {"apart": seconds} if second else {}
    plans |= {"before": [False] * len(rows), "after": [True] * len(rows)}
    return {
        way: [zone.folded(one.local, late) for one, late in zip(rows, plan, strict=True)]
        for way, plan in plans.items()
    }


def _neighbours(
    rows: Sequence[Twice], times: Sequence[CellTime]
) -> tuple[dt.datetime | None, dt.datetime | None]:
    def known(places: Sequence[int]) -> dt.datetime | None:
        for place in places:
            time = times[place]
            if time.utc is not None and not time.date_only:
                return time.utc
        return None

    return (
        known(range(rows[0].at - 1, -1, -1)),
        known(range(rows[-1].at + 1, len(times))),
    )


def _equal_steps(
    rows: Sequence[Twice], ways: dict[str, list[CellTime]], times: Sequence[CellTime]
) -> str:
    before, after = _neighbours(rows, times)
    if before is None or after is None:
        return ""
    good = []
    for way, found in ways.items():
        moments = [before, *(time.utc for time in found if time.utc), after]
        steps = [b - a for a, b in pairwise(moments)]
        if before > after:
            steps = [-step for step in steps]
        if dt.timedelta(0) < min(steps) and max(steps) <= min(_NEAR, min(steps) + _SAME):
            good.append(way)
    return good[0] if len(good) == 1 else ""


def _asked(rows: Sequence[Twice], key: str, day: dt.date) -> str:
    clocks = list(dict.fromkeys(f"{one.local:%H:%M}" for one in rows))
    shown = in_words(clocks) if len(clocks) < 4 else f"{min(clocks)} to {max(clocks)}"
    verb = "says" if len(rows) == 1 else "say"
    return (
        f"{key}: {rows_in_words([one.row for one in rows])} {verb} {shown} on {day_words(day)}, when "
        "the clock went back and showed that hour twice. Which is meant?"
    )


def _label(way: str, rows: Sequence[Twice]) -> str:
    if way == "apart" or len(rows) == 1:
        return _LABELS[way]
    return f"{'Both' if len(rows) == 2 else 'All'} {_LABELS[way].lower()}"


def _told(rows: Sequence[Twice], found: Sequence[CellTime]) -> str:
    said = [f"Row {one.row} is {time.iso}" for one, time in zip(rows[:3], found, strict=False)]
    more = f" {len(rows) - 3} more rows." if len(rows) > 3 else ""
    return f"{'; '.join(said)}.{more}{_apart(rows, found)}"


def _apart(rows: Sequence[Twice], found: Sequence[CellTime]) -> str:
    if len(rows) != 2 or found[0].utc is None or found[1].utc is None:
        return ""
    minutes = round(abs((found[1].utc - found[0].utc).total_seconds()) / 60)
    if minutes == 60:
        return " One hour apart."
    return " The same moment." if minutes == 0 else f" {minutes} minutes apart."


def _waiting(one: Twice, ways: dict[str, list[CellTime]], at: int, name: str) -> CellTime:
    both = in_words([ways["before"][at].iso, ways["after"][at].iso], "or")
    reason = f"The clock showed {one.local:%H:%M} twice on {one.local.date().isoformat()}: {both}."
    return CellTime(said=(Said("asked", "REPEATED_HOUR", reason, "", name),))
