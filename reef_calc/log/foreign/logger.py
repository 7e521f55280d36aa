"""A logger's file of thousands of rows, thinned to what a day's lowest, mean and highest tell."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.description import USUAL_CHANGE_PER_DAY, Description
from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.elements_of_rows import elements_of_rows
from reef_calc.log.foreign.kit_names import kit_questions
from reef_calc.log.foreign.logger_days import LoggerDay, logger_days, single_jumps
from reef_calc.log.foreign.logger_words import day_note, days_message, stuck_said, thinning_question
from reef_calc.log.foreign.outcome import Answers, Entry, Mark, Question, Said
from reef_calc.log.foreign.plain_numbers import number_text
from reef_calc.log.foreign.unit_texts import assumed_unit, unit_of_text
from reef_calc.messages import Message

TABLE = "readings.csv"
# Two readings nearer than this count as one sitting and would be averaged (``log/history.py``).
_SITTING_SECONDS = 1800.0
_FEWEST_STUCK = 12
_SAMPLE = 500
_MEAN_PH = Message("MEAN_PH", "A mean of pH is the mean of the numbers as they were logged.")


@dataclass
class _Found:
    entries: list[Entry] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    notes: list[Message] = field(default_factory=list)
    questions: dict[str, Question] = field(default_factory=dict)


def logger_from(body: Body, tank: Description, answers: Answers) -> Made:
    """Return the readings that a logger's file is thinned to.

    Parameters
    ----------
    body : Body
        The rows, cell by cell.
    tank : Description
        The tank they are for: zone and kits.
    answers : dict of str to str
        Answers so far; the key here is ``each day/COLUMN``.

    Returns
    -------
    Made
        For each day of the tank's zone the mean, and of pH and temperature also the lowest and the
        highest at their own times. Every entry stands at the day's first row.

    Notes
    -----
    Lowest and highest are chosen because they are extreme, so a fit of the use would take them for
    changes, and the plan would start from the one that came last. For what is worked with
    (everything but pH and temperature) only the mean becomes a reading, and the note keeps the
    others; the keeper may choose otherwise. None carries a mark of a replicate, and the mean keeps
    30 minutes from both, so the three are never averaged as one sitting. u stays empty: the swing of
    a day is no uncertainty of its mean.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.outcome import CellNumber, CellTime
    >>> hours = ("06", "15", "20")
    >>> times = tuple(CellTime(f"2026-02-01T{h}:00", dt.datetime(2026, 2, 1, int(h) - 1, tzinfo=dt.UTC))
    ...     for h in hours)
    >>> columns = (Column(0, "time", "date"), Column(1, "pH", "value", "pH", "pH", key="pH"))
    >>> body = Body("a.csv", columns, (2, 3, 4), times,
    ...     {1: (CellNumber(8.0), CellNumber(8.3), CellNumber(8.3))}, {1: ("8.0", "8.3", "8.3")})
    >>> [(entry.cells["time"], entry.cells["value"]) for entry in
    ...     logger_from(body, example_tank(), {}).entries]
    [('2026-02-01T06:00', '8.0'), ('2026-02-01', '8.20'), ('2026-02-01T15:00', '8.3')]
    """
    found = _Found()
    for column in body.having("value"):
        for (element, unit_text), positions in _groups(body, column, answers, found).items():
            _thin(body, column, element, unit_text, positions, tank, answers, found)
    return Made(
        tuple(found.entries), tuple(found.marks), tuple(dict.fromkeys(found.notes)),
        tuple(found.questions.values()),
    )  # fmt: skip


def _groups(
    body: Body, column: Column, answers: Answers, found: _Found
) -> dict[tuple[str, str], list[int]]:
    """Return the positions of usable numbers by element and unit as written."""
    names: Sequence[str] = ()
    if not column.element:
        read = elements_of_rows(body, answers)
        names = read.names
        found.marks += read.marks
        found.questions |= {one.key: one for one in read.questions}
    units = body.having("unit")[:1]
    texts = body.texts[units[0].index] if units else ()
    groups: dict[tuple[str, str], list[int]] = defaultdict(list)
    limited = Said(
        "refused", "LIMIT_IN_LOGGER", "A limit or a range has no place in a daily mean.",
        "Enter such readings by hand.",
    )  # fmt: skip
    for at, number in enumerate(body.numbers.get(column.index, ())):
        if number.value != number.value or not body.times[at].iso:
            continue
        if number.said and any(one.fate in ("asked", "refused") for one in number.said):
            continue
        if number.limit:
            found.marks.append(Mark(body.rows[at], column.index, limited))
            continue
        element = column.element or names[at]
        if element:
            text = number.unit or (texts[at] if texts else "") or column.unit
            groups[(element, text)].append(at)
    return groups


def _thin(
    body: Body,
    column: Column,
    element: str,
    unit_text: str,
    positions: list[int],
    tank: Description,
    answers: Answers,
    found: _Found,
) -> None:
    numbers = body.numbers[column.index]
    rows = [body.rows[at] for at in positions]
    values = np.array([numbers[at].value for at in positions])
    unit = _unit(column, element, unit_text, rows, values, answers, found)
    if not unit:
        return
    used = _in_range(values, element, unit, rows, column, found)
    kept = [positions[i] for i in used]
    if not kept:
        return
    values = values[used]
    # A time that has an iso text has a moment too.
    seconds = np.array(
        [time.utc.timestamp() if (time := body.times[at]).utc else 0.0 for at in kept]
    )
    timed = np.array([not body.times[at].date_only for at in kept])
    days = logger_days([body.times[at].iso[:10] for at in kept], seconds, values, timed, tank.zone)
    question = thinning_question(column, element, days, answers)
    found.questions[question.key] = question
    three = (question.answered or question.assumed) == "three"
    texts = body.texts[column.index]
    decimals = max(
        _decimals(numbers[at].value, texts[at]) for at in kept[:: len(kept) // _SAMPLE + 1]
    )
    for at in single_jumps(seconds, values, _leap(element, unit)):
        said = Said(
            "flagged", "JUMP", f"{values[at]:g} leaps away from the rows before and after.",
            "It is counted as it stands. Leave the row out if the sensor was out of the water.",
        )  # fmt: skip
        found.marks.append(Mark(body.rows[kept[at]], column.index, said))
    kit = _kit(body, column, element, kept[0], tank, answers, found)
    common = {
        "water": column.water or "tank", "element": element, "unit": unit, "kit": kit,
        "lot": column.lot,
    }  # fmt: skip
    last, whole = -math.inf, 0
    for day in days:
        _mark_day(day, body, column, kept, values, found)
        cells = common | {"note": day_note(day, body, kept, decimals, tank.zone)}
        # A highest before midnight and a lowest after it would be one sitting too.
        ends = sorted(float(seconds[at]) for at in (day.lowest_at, day.highest_at))
        extremes = three and ends[0] - last > _SITTING_SECONDS
        readings = _readings(day, body, kept, seconds, texts, decimals, extremes)
        if len(readings) > 1:
            last = ends[1]
            whole += 1
        for time, value, note in readings:
            one = cells | {"time": time, "value": value, "note": f"{note}; {cells['note']}"}
            found.entries.append(
                Entry(
                    body.rows[kept[day.first]],
                    column.index,
                    TABLE,
                    {k: v for k, v in one.items() if v},
                )
            )
    found.notes.append(days_message(column, element, len(positions), len(kept), days, whole))
    if element == "pH":
        found.notes.append(_MEAN_PH)


def _readings(
    day: LoggerDay,
    body: Body,
    kept: list[int],
    seconds: np.ndarray,
    texts: Sequence[str],
    decimals: int,
    three: bool,
) -> list[tuple[str, str, str]]:
    """Return time, value and note of what a day is thinned to."""
    mean = f"{day.mean:.{decimals + 1}f}"
    low, high = kept[day.lowest_at], kept[day.highest_at]
    apart = abs(float(seconds[day.highest_at] - seconds[day.lowest_at])) > _SITTING_SECONDS
    clocks = not body.times[low].date_only and not body.times[high].date_only
    middle = (day.day, mean, f"mean of {day.rows} readings")
    if not (three and day.highest > day.lowest and apart and clocks):
        return [middle]
    if "T" in (when := _free_time(day, body, low, high)):
        middle = (when, *middle[1:])
    return [
        (body.times[low].iso, number_text(day.lowest, texts[low]), "lowest of the day"),
        middle,
        (body.times[high].iso, number_text(day.highest, texts[high]), "highest of the day"),
    ]


def _free_time(day: LoggerDay, body: Body, low: int, high: int) -> str:
    """Return when the mean stands: the date, or a full hour where noon is next to an extreme."""
    clocks = [
        int(iso[11:13]) * 60 + int(iso[14:16])
        for iso in (body.times[low].iso, body.times[high].iso)
    ]
    for hour in (12, 14, 10, 16, 8):
        if all(abs(clock - 60 * hour) > 35 for clock in clocks):
            return day.day if hour == 12 else f"{day.day}T{hour:02d}:00"
    return day.day


def _unit(
    column: Column,
    element: str,
    text: str,
    rows: list[int],
    values: np.ndarray,
    answers: Answers,
    found: _Found,
) -> str:
    key = column.key if column.element else element
    sample = values[:: len(values) // _SAMPLE + 1].tolist()
    if text:
        read = unit_of_text(text, element, key=key, answers=answers, rows=rows, values=sample)
    elif column.unit_text and column.element:
        return ""  # asked with the heading
    else:
        read = assumed_unit(
            element, sample, key=key, column=column.index, answers=answers, rows=rows
        )
    if read.note is not None:
        found.notes.append(read.note)
    if read.question is not None:
        found.questions[read.question.key] = read.question
    if read.said is not None:
        found.marks += [Mark(row, column.index, read.said) for row in rows]
    return read.unit


def _in_range(
    values: np.ndarray, element: str, unit: str, rows: list[int], column: Column, found: _Found
) -> np.ndarray:
    """Return the positions of values that such water can hold; mark the others."""
    limits = _limits(element, unit)
    good = (values >= limits[0]) & (values <= limits[1])
    said: dict[float, Said] = {}
    for at in np.flatnonzero(~good):
        value = float(values[at])
        if value not in said:
            said[value] = Said(
                "refused", "NOT_OF_WATER",
                f"{value:g} {unit if unit != element else ''}".strip()
                + f" is no {element} of a reef tank: loggers write such numbers without their sensor.",
                "It is not counted in the day.",
            )  # fmt: skip
        found.marks.append(Mark(rows[at], column.index, said[value]))
    return np.flatnonzero(good)


def _limits(element: str, unit: str) -> tuple[float, float]:
    described = ELEMENTS.get(element)
    if described is None:
        return -math.inf, math.inf
    try:
        ends = [
            convert(end, described.store_unit, unit, element, salinity=35.0, temperature_C=25.0)
            for end in (described.lowest, described.highest)
        ]
    except InputError:
        return -math.inf, math.inf
    return min(ends), max(ends)


def _leap(element: str, unit: str) -> float:
    """Return the smallest leap from one row to the next that is told: the usual change of a day."""
    usual = USUAL_CHANGE_PER_DAY.get(element, 0.0)
    described = ELEMENTS.get(element)
    if described is None or unit == described.display_unit:
        return usual
    low, high = _limits(element, unit)
    span = described.highest - described.lowest
    return usual * (high - low) / span if math.isfinite(high - low) else usual


def _kit(
    body: Body,
    column: Column,
    element: str,
    at: int,
    tank: Description,
    answers: Answers,
    found: _Found,
) -> str:
    written = column.kit or body.text("kit", at)
    if not written:
        return ""
    kits = kit_questions(body, tank, answers, {(at, column.index): element})
    found.questions |= {question.key: question for question in kits.questions}
    found.notes += kits.notes
    return kits.names.get(written, written)


def _mark_day(
    day: LoggerDay,
    body: Body,
    column: Column,
    kept: list[int],
    values: np.ndarray,
    found: _Found,
) -> None:
    row = body.rows[kept[day.first]]
    if day.rows < 0.5 * day.expected:
        said = Said(
            "flagged", "INCOMPLETE_DAY",
            f"{day.day} has {day.rows} of about {day.expected:.0f} rows: its mean, lowest and highest "
            "may be others.",
            "Leave the day out if that matters.",
        )  # fmt: skip
        found.marks.append(Mark(row, column.index, said))
    if day.rows >= _FEWEST_STUCK and day.lowest == day.highest:
        found.marks.append(Mark(row, column.index, stuck_said(day)))


def _decimals(value: float, text: str) -> int:
    return len(number_text(value, text).partition(".")[2])
