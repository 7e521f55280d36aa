"""The years of dates that are written without one: asked once, and counted on from row to row."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from reef_calc.log.foreign.date_forms import EARLIEST, LATEST, shortened
from reef_calc.log.foreign.month_names import day_words
from reef_calc.log.foreign.outcome import Answers, Choice, Question
from reef_calc.log.foreign.yearless_cells import Yearless

KEY = "year"
ABOVE, NONE = "above", "none"
# Days back that are the turn of a year, and days ahead that are a row of the old year behind it.
_TURN, _SLIP = 182, 335
_YEAR = re.compile(r"(?<![0-9.,/])(?:19|20|21)[0-9]{2}(?![0-9]|[.,/][0-9])")
_LEAP = 2000


@dataclass(frozen=True, slots=True)
class Step:
    """A row with a date, in the order of the file.

    Attributes
    ----------
    row : int
        Row, counted from 1.
    text : str
        Its cell as written.
    month, day : int
        Month and day.
    year : int
        Year, where it is written; 0 where it is not.
    """

    row: int
    text: str
    month: int
    day: int
    year: int = 0


def in_steps(
    bare: dict[int, Yearless], days: Sequence[object], rows: Sequence[int], texts: Sequence[str],
    month_first: bool,
) -> list[Step]:  # fmt: skip
    """Return the dates of a column, those with and those without a year.

    Parameters
    ----------
    bare : dict of int to Yearless
        Dates without a year, by position (an index from 0).
    days : sequence
        Days of the other rows; anything else where there is none.
    rows : sequence of int
        Rows, counted from 1.
    texts : sequence of str
        Cells as written.
    month_first : bool
        Whether numbers have the month first.

    Returns
    -------
    list of Step
        In the order of the rows.

    Examples
    --------
    >>> in_steps({0: Yearless(1, 2, ".")}, [None], [2], ["1.2."], False)
    [Step(row=2, text='1.2.', month=2, day=1, year=0)]
    """
    steps = []
    for at, day in enumerate(days):
        if at in bare:
            of_month, month = bare[at].day_and_month(month_first)
            steps.append(Step(rows[at], texts[at], month, of_month))
        elif isinstance(day, dt.date) and not isinstance(day, dt.datetime):
            steps.append(Step(rows[at], texts[at], day.month, day.day, day.year))
    return steps


def years_of(steps: Sequence[Step], start: int) -> list[int]:
    """Return the year of each date, counted on from the first.

    Parameters
    ----------
    steps : sequence of Step
        Dates in the order of the file.
    start : int
        Year of the first of them.

    Returns
    -------
    list of int
        One more where the dates go back by more than half a year, from December to January; one
        less where the newest row comes first and they go ahead by as much. A written year holds.

    Examples
    --------
    >>> years_of([Step(2, "28.12.", 12, 28), Step(3, "4.1.", 1, 4)], 2025)
    [2025, 2026]
    """
    places = [dt.date(_LEAP, step.month, 1).toordinal() + step.day - 1 for step in steps]
    moves = [b - a for a, b in pairwise(places)]
    small = [move for move in moves if abs(move) <= _TURN]
    # Newest first is the same count with the signs turned.
    sign = -1 if sum(move < 0 for move in small) > sum(move > 0 for move in small) else 1
    years, year, turned = [], start, False
    for at, step in enumerate(steps):
        if step.year:
            year = step.year
        elif at:
            move = sign * moves[at - 1]
            # A row of the old year may stand behind the turn.
            year += sign if move < -_TURN else -sign if turned and move > _SLIP else 0
            turned = turned or move < -_TURN
        years.append(year)
    return years


def start_from_written(steps: Sequence[Step]) -> int:
    """Return the year of the first date that fits the first one whose year is written.

    Parameters
    ----------
    steps : sequence of Step
        Dates in the order of the file.

    Returns
    -------
    int
        0 where no year is written at all.

    Examples
    --------
    >>> start_from_written([Step(2, "28.12.", 12, 28), Step(3, "4.1.2026", 1, 4, 2026)])
    2025
    """
    first = next((at for at, step in enumerate(steps) if step.year), None)
    if first is None:
        return 0
    unwritten = [Step(s.row, s.text, s.month, s.day) for s in steps[: first + 1]]
    return steps[first].year - years_of(unwritten, 0)[-1]


def year_question(
    steps: Sequence[Step], hints: Sequence[tuple[int, str]], *, key: str, column: int,
    today: dt.date, sure: bool, answers: Answers,
) -> Question:  # fmt: skip
    """Return the question of which year the first row without one is.

    Parameters
    ----------
    steps : sequence of Step
        Dates in the order of the file, one of them without a year at least.
    hints : sequence of (int, str)
        Lines outside the rows, and names, with their rows counted from 1; 0 for a name.
    key : str
        Key of the column.
    column : int
        Column, an index from 0.
    today : datetime.date
        The present day.
    sure : bool
        Whether it is known which number is the month.
    answers : dict of str to str
        Answers so far; the key is ``year/KEY``.

    Returns
    -------
    Question
        Years in titles and names are offered. Where other rows have a year, what fits it is assumed:
        ``above`` where the first row has one.

    Examples
    --------
    >>> asked = year_question([Step(3, "1.2.", 2, 1)], [(1, "2025")], key="date", column=0,
    ...     today=dt.date(2026, 3, 1), sure=True, answers={})
    >>> asked.choices[0].consequence, asked.open
    ('It stands in row 1, “2025”. All of it is of 1 February 2025.', True)
    """
    first = next(step for step in steps if not step.year)
    rows = tuple(step.row for step in steps if not step.year)
    offered: dict[int, str] = {}
    if steps[0].year:
        return _goes_on(first, rows, steps, key, column, answers)
    written = start_from_written(steps)
    if written:
        offered[written] = "It fits the dates that have a year."
    for row, text in hints:
        if row > first.row:
            continue
        where = f"row {row}, “{shortened(text)}”" if row else f"the name “{shortened(text)}”"
        for year in _YEAR.findall(text):
            offered.setdefault(int(year), f"It stands in {where}.")
    if sure and not written:
        turns = years_of(steps, 0)
        latest = next(
            (y for y in range(today.year + 1, today.year - 2, -1) if _ahead(steps, y, today) == 0),
            today.year - max(turns),
        )
        offered.setdefault(latest, "The latest that is possible.")
    choices = []
    for year, why in offered.items():
        if not EARLIEST <= year <= LATEST:
            continue
        words = f"{why} {_span(steps, year)}" if sure else why
        if sure and (ahead := _ahead(steps, year, today)):
            words += f" {ahead} of {len(steps)} rows would lie in the future."
        choices.append(Choice(str(year), str(year), words))
    text = f"{key}: dates such as “{shortened(first.text)}” have no year. Of which year is row {first.row}?"
    if written:
        text += " A year that is written in a row holds from there on."
    text += " From December to January the year goes on."
    given = answers.get(f"{KEY}/{key}", "").strip()
    fits = re.fullmatch(r"[0-9]{4}", given) is not None and EARLIEST <= int(given) <= LATEST
    if given and not fits:
        text += f" “{given[:40]}” is no year from {EARLIEST} to {LATEST}."
    return Question(
        f"{KEY}/{key}", text, tuple(choices), rows, column, "year, such as 2025",
        assumed=str(written) if written and _in_order(steps, written) else "", answered=given if fits else "",
    )  # fmt: skip


def _goes_on(
    first: Step,
    rows: tuple[int, ...],
    steps: Sequence[Step],
    key: str,
    column: int,
    answers: Answers,
) -> Question:
    """Return the question whether the year of the rows above holds."""
    years = years_of(steps, 0)
    year = next(y for step, y in zip(steps, years, strict=True) if not step.year)
    many = "1 row is" if len(rows) == 1 else f"{len(rows)} rows are"
    choices = (
        Choice(
            ABOVE,
            "The year above goes on",
            f"Row {first.row}, “{shortened(first.text)}”, is of {year}.",
        ),
        Choice(NONE, "They have no date", f"{many} not taken."),
    )
    text = (
        f"{key}: dates such as “{shortened(first.text)}” have no year. Does the year above go on?"
    )
    given = answers.get(f"{KEY}/{key}", "").strip()
    fits = given in (ABOVE, NONE)
    if given and not fits:
        text += f" “{given[:40]}” is not one of the answers."
    return Question(
        f"{KEY}/{key}", text, choices, rows, column, assumed=ABOVE if _in_order(steps, 0) else "",
        answered=given if fits else "",
    )  # fmt: skip


def _in_order(steps: Sequence[Step], start: int) -> bool:
    """Return whether no date without a year goes back: 8.3 among dates may be a level."""
    years = years_of(steps, start)
    keys = [(y, s.month, s.day) for s, y in zip(steps, years, strict=True)]
    pairs = list(pairwise(zip(keys, steps, strict=True)))
    for sign in (True, False):
        if all(
            (a <= b) is sign or a == b
            for (a, one), (b, other) in pairs
            if not (one.year and other.year)
        ):
            return True
    return False


def _days(steps: Sequence[Step], start: int) -> list[dt.date]:
    days = []
    for step, year in zip(steps, years_of(steps, start), strict=True):
        try:
            days.append(dt.date(year, step.month, step.day))
        except ValueError:
            continue
    return days


def _ahead(steps: Sequence[Step], start: int, today: dt.date) -> int:
    return sum(day > today for day in _days(steps, start))


def _span(steps: Sequence[Step], start: int) -> str:
    days = _days(steps, start)
    if not days:
        return "No row would be a day that exists."
    if min(days) == max(days):
        return f"All of it is of {day_words(days[0])}."
    return f"From {day_words(min(days))} to {day_words(max(days))}."


def turns_in_words(steps: Sequence[Step], years: Sequence[int]) -> str:
    """Return where the year goes on, in words.

    Parameters
    ----------
    steps : sequence of Step
        Dates in the order of the file.
    years : sequence of int
        Their years.

    Returns
    -------
    str
        A sentence with the first row and each row where it changes, five of them at most.

    Examples
    --------
    >>> turns_in_words([Step(2, "28.12.", 12, 28), Step(3, "4.1.", 1, 4)], [2025, 2026])
    'Row 2 is of 2025; from row 3, “4.1.”, 2026.'
    """
    bare = [(s, y) for s, y in zip(steps, years, strict=True) if not s.year]
    turned = [
        f"from row {step.row}, “{shortened(step.text)}”, {year}"
        for (step, year), before in zip(
            list(zip(steps, years, strict=True))[1:], years, strict=False
        )
        if year != before and not step.year
    ]
    first, year = bare[0]
    if not turned:
        what = "rows without a year are" if len(bare) > 1 else "row without a year is"
        if len({y for _, y in bare}) == 1:
            return f"{len(bare)} {what} read as of {year}."
        return f"Row {first.row} is of {year}; the others take the year of the rows above."
    more = f"; {len(turned) - 5} more turns of the year" if len(turned) > 5 else ""
    return f"Row {first.row} is of {year}; {'; '.join(turned[:5])}{more}."
