"""Rows whose date has no year, among the other rows of their column."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from reef_calc.log.foreign.clock_times import NO_CLOCK, Clock
from reef_calc.log.foreign.date_forms import Written, day_of
from reef_calc.log.foreign.date_orders import Ordered, consequence, date_in_order
from reef_calc.log.foreign.dates_without_year import (
    ABOVE,
    KEY,
    NONE,
    in_steps,
    start_from_written,
    turns_in_words,
    year_question,
    years_of,
)
from reef_calc.log.foreign.grid import Cell
from reef_calc.log.foreign.outcome import Answers, Question, Said
from reef_calc.log.foreign.year_titles import against_titles
from reef_calc.log.foreign.yearless_cells import Yearless, yearless_date
from reef_calc.messages import Message

Hints = Sequence[tuple[int, str]]
Found = list[tuple[dt.date | dt.datetime | None, Clock, Said | None]]
_NO_YEAR = ("NO_YEAR", "NO_DATE", "MORE_THAN_A_DATE")
_ORDERS = ("day first", "month first")


@dataclass(frozen=True)
class WithoutYear:
    """Rows without a year.

    Attributes
    ----------
    cells : dict of int to Yearless
        Their dates by position, an index from 0.
    rows : sequence of int
        Rows of the whole column, counted from 1.
    texts : list of str
        Cells of the whole column as written; empty for what is no text.
    hints : sequence of (int, str)
        Lines outside the rows, and names, with their rows counted from 1; 0 for a name.
    key : str
        Key of the column.
    column : int
        Column, an index from 0.
    today : datetime.date
        The present day.
    answers : dict of str to str
        Answers so far.
    """

    cells: dict[int, Yearless]
    rows: Sequence[int]
    texts: list[str]
    hints: Hints
    key: str
    column: int
    today: dt.date
    answers: Answers

    def to_order(self, written: Sequence[Written]) -> list[Ordered]:
        """Return dates of two numbers, to be put in order with the others of the column.

        Parameters
        ----------
        written : sequence of Written
            What each cell of the column says.

        Returns
        -------
        list of Ordered
            With the year of the first row as it was answered; none while no year at all is known.

        Examples
        --------
        >>> without_year(["1.2."], [Written()], [2], (), key="date", column=0,
        ...     today=dt.date(2026, 3, 1), answers={}).to_order([Written()])
        []
        """
        known = any(one.date or one.parts for one in written)
        if not self._year() and not known:
            return []
        numbers = [one for one in self.cells.values() if one.month_first is None]
        order = _ORDERS[bool(_only_month_first(numbers))]
        separator = {self.rows[at]: one.separator for at, one in self.cells.items()}
        rows = {self.rows[at] for at, one in self.cells.items() if one.month_first is None}
        return [
            replace(one, written=replace(one.written, separator=separator[one.row]))
            for one in self._days_in(order, written)
            if one.row in rows
        ]

    def _year(self) -> int:
        given = self.answers.get(f"{KEY}/{self.key}", "").strip()
        return int(given) if len(given) == 4 and given.isascii() and given.isdigit() else 0

    def with_consequences(self, question: Question, written: Sequence[Written]) -> Question:
        """Return a question for the order whose choices say the days with their own years.

        Parameters
        ----------
        question : Question
            For the order of day and month.
        written : sequence of Written
            What each cell of the column says.

        Returns
        -------
        Question
            As it was for an order that has the year first.

        Examples
        --------
        >>> rows = without_year(["5/6"], [Written()], [2], (), key="date", column=0,
        ...     today=dt.date(2026, 3, 1), answers={})
        >>> rows.with_consequences(Question("day or month/date", "Which?"), [Written()]).choices
        ()
        """
        choices = []
        for choice in question.choices:
            if choice.answer in _ORDERS:
                days = self._days_in(choice.answer, written)
                words = consequence(days, choice.answer, self.today)
                choice = replace(choice, consequence=words)
            choices.append(choice)
        return replace(question, choices=tuple(choices))

    def _days_in(self, order: str, written: Sequence[Written]) -> list[Ordered]:
        days: list[object] = []
        for one, text in zip(written, self.texts, strict=True):
            days.append(date_in_order(one, order, text) if one.parts else one.date)
        steps = in_steps(self.cells, days, self.rows, self.texts, order == "month first")
        start = self._year() or start_from_written(steps) or self.today.year
        found = []
        for step, year in zip(steps, years_of(steps, start), strict=True):
            pair = (step.month, step.day) if order == "month first" else (step.day, step.month)
            found.append(Ordered(step.row, step.text, Written(parts=(*pair, year))))
        return found

    def fill(
        self, found: Found, order: str, waits: str, notes: list[Message], questions: list[Question]
    ) -> None:
        """Set the days of the rows, or say what they wait for.

        Parameters
        ----------
        found : list
            Day, clock and what is said of each row; those without a year are replaced.
        order : str
            Order of day, month and year; empty where it is not known.
        waits : str
            Key of the question for it.
        notes : list of Message
            Takes what was assumed.
        questions : list of Question
            Takes what is asked.

        Examples
        --------
        >>> found, asked = [(None, NO_CLOCK, None)], []
        >>> without_year(["1.2."], [Written(said=Said("refused", "NO_YEAR", ""))], [2], (), key="date",
        ...     column=0, today=dt.date(2026, 3, 1), answers={}).fill(found, "", "", [], asked)
        >>> asked[0].key, asked[0].choices[0].answer
        ('year/date', '2026')
        """
        numbers = [one for one in self.cells.values() if one.month_first is None]
        month_first = order == "month first" if order else _only_month_first(numbers)
        sure = month_first is not None
        steps = in_steps(
            self.cells, [day for day, _, _ in found], self.rows, self.texts, bool(month_first)
        )
        question = year_question(
            steps, self.hints, key=self.key, column=self.column, today=self.today, sure=sure,
            answers=self.answers,
        )  # fmt: skip
        questions.append(question)
        chosen = question.answered or question.assumed
        if not chosen or not sure:
            for at in self.cells:
                said = Said(
                    "asked", "WHICH_YEAR", f"“{self.texts[at]}” has no year.", "", question.key
                )
                if chosen:
                    reason = f"“{self.texts[at]}” may have the day or the month first."
                    said = Said("asked", "DATE_ORDER", reason, "", waits)
                found[at] = (None, NO_CLOCK, said)
            return
        if chosen == NONE:
            for at in self.cells:
                reason = f"“{self.texts[at]}” has no year."
                left = Said("refused", "NO_YEAR", reason, "Write its year.", "", chosen=True)
                found[at] = (None, NO_CLOCK, left)
            return
        years = years_of(steps, 0 if chosen == ABOVE else int(chosen))
        by_row = {step.row: year for step, year in zip(steps, years, strict=True)}
        titles = against_titles(steps, years, self.hints)
        for at, one in self.cells.items():
            row = self.rows[at]
            of_month, month = one.day_and_month(bool(month_first))
            text = f"{self.texts[at]} of {by_row[row]}"
            day = day_of(by_row[row], month, of_month, text)
            if isinstance(day, Said):
                found[at] = (None, NO_CLOCK, day)
                continue
            other = titles.get(row)
            doubt = None
            if other:
                reason = (
                    f"Row {other[0]} above says {other[1]}; the dates count on to {by_row[row]}."
                )
                doubt = Said("flagged", "YEAR_OF_TITLE", reason, "Write the year in this row.")
            found[at] = (day, one.clock, doubt)
        notes.append(Message("NO_YEAR", f"{self.key}: {turns_in_words(steps, years)}"))


def _only_month_first(numbers: Sequence[Yearless]) -> bool | None:
    """Return whether two numbers can only have the month first; None where both orders fit."""
    if all(one.separator == "." for one in numbers):
        return False
    day_first = all(one.second <= 12 for one in numbers)
    month_first = all(one.first <= 12 for one in numbers)
    return None if day_first == month_first else month_first


def without_year(
    cells: Sequence[Cell], written: Sequence[Written], rows: Sequence[int], hints: Hints, *,
    key: str, column: int, today: dt.date, answers: Answers,
) -> WithoutYear:  # fmt: skip
    """Return the rows of a column whose dates have no year.

    Parameters
    ----------
    cells : sequence of Cell
        Cells of the column.
    written : sequence of Written
        What each says of a date.
    rows : sequence of int
        Their rows, counted from 1.
    hints : sequence of (int, str)
        Lines outside the rows, and names, with their rows counted from 1; 0 for a name.
    key : str
        Key of the column.
    column : int
        Column, an index from 0.
    today : datetime.date
        The present day.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    WithoutYear
        Without rows where none is so, and where “Feb 26” in all of them is a month of 2026.

    Examples
    --------
    >>> cells = ["5/14", "2026-05-14"]
    >>> written = [Written(said=Said("refused", "NO_YEAR", "")), Written(dt.date(2026, 5, 14))]
    >>> list(without_year(cells, written, [2, 3], (), key="date", column=0,
    ...     today=dt.date(2026, 6, 1), answers={}).cells)
    [0]
    """
    found: dict[int, Yearless] = {}
    for at, one in enumerate(written):
        if one.said is not None and one.said.code in _NO_YEAR:
            read = yearless_date(cells[at])
            if read is not None:
                found[at] = read
    months = {one.first for one in found.values() if one.month_first}
    numbers = {one.second for one in found.values() if one.month_first}
    if len(months) > 1 and len(numbers) == 1:
        found = {at: one for at, one in found.items() if not one.month_first}
    texts = [cell.strip() if isinstance(cell, str) else "" for cell in cells] if found else []
    return WithoutYear(found, rows, texts, hints, key, column, today, answers)
