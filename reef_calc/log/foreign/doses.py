"""Doses out of a foreign table: rows of ``additions.csv``, from a long or a wide layout."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from dataclasses import replace

from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body, Made
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.dose import Dose, DosesFound
from reef_calc.log.foreign.dose_amounts import rhythm_of
from reef_calc.log.foreign.dose_rhythm import how_question, once_at_a_time
from reef_calc.log.foreign.dose_rows import doses_of_rows
from reef_calc.log.foreign.dose_sums import amounts_worked_out
from reef_calc.log.foreign.dose_supplements import supplement_names
from reef_calc.log.foreign.dose_words import CLOCK_HEADINGS
from reef_calc.log.foreign.outcome import Answers, Entry, Mark, Said
from reef_calc.log.foreign.plain_numbers import number_text

TABLE = "additions.csv"
_CLOCK = re.compile(r"([01]?[0-9]|2[0-3])[:.h]([0-5][0-9])")


def additions_from(body: Body, tank: Description, answers: Answers) -> Made:
    """Return the doses of a table, in long layout or wide (one column a supplement).

    Parameters
    ----------
    body : Body
        The rows, cell by cell.
    tank : Description
        The tank they are for: its supplements.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Made
        One entry for each dose whose time, supplement, amount and unit are known, and whether it
        was given once or every day. Amounts of several doses a day are added up, amounts for
        several days divided; the note keeps what was written.

    Notes
    -----
    Drops need their volume; spoons, caps and ounces are refused.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.outcome import CellTime
    >>> columns = (Column(0, "date", "date"), Column(1, "part one", "amount", key="part one"))
    >>> body = Body("a.csv", columns, (2,), (CellTime("2026-02-01", date_only=True),), {},
    ...     {0: ("2026-02-01",), 1: ("2 x 10 mL daily",)})
    >>> entry = additions_from(body, example_tank(), {}).entries[0]
    >>> entry.cells["amount"], entry.cells["how"], entry.cells["note"]
    ('20', 'per day', 'written as 2 x 10 mL daily')
    """
    found = DosesFound(body, tank, answers)
    doses = doses_of_rows(found)
    doses = _supplements(doses, found)
    _rhythms(doses, found)
    doses = amounts_worked_out(doses, found)
    doses = [
        dose
        for dose in doses
        if dose.how and dose.unit and body.times[dose.at].iso and not _end_unread(body, dose.at)
    ]
    entries = []
    clocks, notes = _clock_column(body), body.having("note")
    for dose in once_at_a_time(doses, body, found.marks):
        entries.append(_entry(dose, clocks, notes, found))
    return Made(
        tuple(entries), tuple(found.marks), tuple(found.notes), tuple(found.questions.values())
    )


def _supplements(doses: list[Dose], found: DosesFound) -> list[Dose]:
    rows_of: dict[str, list[int]] = defaultdict(list)
    sums: dict[str, float] = defaultdict(float)
    for dose in doses:
        rows_of[dose.name].append(found.body.rows[dose.at])
        if not math.isnan(dose.number.value):
            sums[dose.name] += dose.number.value * dose.cell.doses
    words = {name: f"{len(rows)} doses, {sums[name]:g} in all," for name, rows in rows_of.items()}
    named = found.body.having("supplement")[:1]
    column = named[0].index if named else None
    read = supplement_names(rows_of, words, column, found.tank, found.answers)
    found.questions |= {question.key: question for question in read.questions}
    for dose in doses:
        dose.supplement = read.names[dose.name]
        if not dose.supplement:
            # The cell of the amount: other supplements of the same row are none the worse.
            found.mark(dose, read.said[dose.name])
    return [dose for dose in doses if dose.supplement]


def _rhythms(doses: list[Dose], found: DosesFound) -> None:
    """Set how each dose was given; ask once for all that do not say."""
    waiting: list[Dose] = []
    column = found.body.having("how")[:1]
    texts = found.body.texts[column[0].index] if column else ("",) * len(found.body.rows)
    for dose in doses:
        how, times, days = rhythm_of(texts[dose.at])
        if dose.cell.how:
            how, times, days = dose.cell.how, 1, dose.cell.days
        elif not how:
            how, times, days = rhythm_of(f"{dose.column.heading} {dose.column.unit_text}")
        if times > 1:
            # Whether 10 mL twice a day are 10 or 20 in all is not said by a cell beside it.
            said = Said(
                "refused", "EACH_OR_IN_ALL",
                f"{dose.number.value:g} may be each of {times} doses, or all of them.",
                f"Write the amount as {times} x {dose.number.value:g}, or as one sum.",
            )  # fmt: skip
            found.mark(dose, said)
            continue
        dose.how = how
        if days > dose.cell.days:
            dose.cell = replace(dose.cell, days=days)
        if not how:
            waiting.append(dose)
    if waiting:
        question = how_question(waiting, found.body, found.rows(waiting), found.answers)
        found.questions[question.key] = question
        chosen = question.answered or question.assumed
        said = Said("asked", "HOW", "Once, or every day?", "", question.key)
        for dose in waiting:
            dose.how = chosen
            if not chosen:
                found.mark(dose, said)


def _end_unread(body: Body, at: int) -> bool:
    """Return whether an end is written that could not be read: the dose did not run on for ever."""
    return bool(body.ends) and not body.ends[at].iso and bool(body.text("end", at).strip())


def _clock_column(body: Body) -> Column | None:
    for column in body.columns:
        if column.heading.casefold().strip() in CLOCK_HEADINGS:
            return column
    return None


def _entry(
    dose: Dose, clocks: Column | None, notes: tuple[Column, ...], found: DosesFound
) -> Entry:
    body = found.body
    written = body.texts[dose.column.index][dose.at]
    amount = "" if math.isnan(dose.amount) else number_text(dose.amount, written)
    cells = {
        "start": body.times[dose.at].iso,
        "end": body.ends[dose.at].iso if body.ends and dose.how != "once" else "",
        "supplement": dose.supplement,
        "amount": amount,
        "unit": dose.unit,
        "how": dose.how,
    }
    remarks = [body.texts[column.index][dose.at].strip() for column in notes]
    if clocks is not None and body.texts[clocks.index][dose.at].strip():
        text = body.texts[clocks.index][dose.at].strip()
        parts = [_CLOCK.fullmatch(part.strip()) for part in re.split(r"[;,|+\s]+", text) if part]
        if all(parts) and dose.how == "per day":
            cells["times"] = ";".join(f"{int(part[1]):02d}:{part[2]}" for part in parts if part)
        else:
            remarks.append(f"times: {text}")
            said = Said(
                "flagged", "CLOCK_TIMES", f"“{text[:60]}” is kept in the note only.",
                "Clock times are written as 06:00;18:00, for doses per day.",
            )  # fmt: skip
            found.marks.append(Mark(body.rows[dose.at], clocks.index, said))
    cells["note"] = "; ".join(filter(None, [*remarks, dose.number.remark, dose.remark]))
    # In a wide table several supplements share a row, and each dose is a row of its own.
    return Entry(
        body.rows[dose.at], dose.column.index, TABLE, {k: v for k, v in cells.items() if v}
    )
