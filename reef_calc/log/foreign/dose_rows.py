"""The doses of a table, cell by cell: number, unit and the name that stands beside or above."""

from __future__ import annotations

from dataclasses import replace

from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.cell_numbers import read_numbers
from reef_calc.log.foreign.dose import Dose, DosesFound
from reef_calc.log.foreign.dose_amounts import DoseCell, dose_cell, rhythm_of
from reef_calc.log.foreign.dose_supplements import supplement_in_heading
from reef_calc.log.foreign.dose_units import unit_in_words
from reef_calc.log.foreign.outcome import CellNumber, Mark, Said


def doses_of_rows(found: DosesFound) -> list[Dose]:
    """Return every dose with its number and, where it is written, its unit.

    Parameters
    ----------
    found : DosesFound
        The table; marks, notes and questions are added to it.

    Returns
    -------
    list of Dose
        Doses whose amount can be read, and rows that say that nothing was logged.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.columns import Column
    >>> from reef_calc.log.foreign.outcome import CellTime
    >>> body = Body("a.csv", (Column(0, "Ca", "amount", key="Ca"),), (2,), (CellTime("2026-02-01"),),
    ...     {}, {0: ("12 mL",)})
    >>> dose = doses_of_rows(DosesFound(body, example_tank(), {}))[0]
    >>> dose.name, dose.number.value, dose.unit
    ('Ca', 12.0, 'mL')
    """
    body = found.body
    amounts = body.having("amount") or body.having("value")
    named = body.having("supplement")[:1]
    units = body.having("unit")[:1]
    doses: list[Dose] = []
    filled: set[int] = set()
    for column in amounts:
        texts = body.texts[column.index]
        cells = [dose_cell(text) for text in texts]
        read = read_numbers(
            [cell.number for cell in cells], body.rows, key=column.key, column=column.index,
            heading=column.heading, separator=body.separator, answers=found.answers,
        )  # fmt: skip
        found.notes += read.notes
        found.questions |= {question.key: question for question in read.questions}
        heading = supplement_in_heading(column.heading, found.tank)
        for at, (text, cell, number) in enumerate(zip(texts, cells, read.numbers, strict=True)):
            name = body.texts[named[0].index][at].strip() if named else heading
            if named and len(amounts) > 1 and heading:
                name = f"{name} {heading}".strip()
            dose = Dose(at, column, name or ("" if named else column.key), cell, number)
            if not text.strip() and not (named and rhythm_is_unlogged(body, at)):
                continue
            filled.add(at)
            said = cell.said or _no_amount(cell, number)
            if said is not None:
                found.mark(dose, said)
            elif not any(one.fate in ("asked", "refused") for one in number.said):
                for one in number.said:
                    found.mark(dose, one)
                dose.unit = cell.unit or (
                    unit_in_words(body.texts[units[0].index][at]) if units else ""
                ) or unit_in_words(f"{column.unit_text} {column.heading}")  # fmt: skip
                if units and not cell.unit and _unusable(found, dose, units[0].index):
                    continue
                doses.append(dose)
            else:
                for one in number.said:
                    found.mark(dose, one)
    if not amounts:
        said = Said("refused", "NO_AMOUNT", "No column holds the amounts.", "Say which one does.")
    else:
        said = Said(
            "refused", "NO_AMOUNT", "No amount is written.", "Write it, or leave the row out."
        )
    found.marks += [Mark(row, None, said) for at, row in enumerate(body.rows) if at not in filled]
    return doses


def rhythm_is_unlogged(body: Body, at: int) -> bool:
    """Return whether a row says that its doses were not logged.

    Parameters
    ----------
    body : Body
        The rows.
    at : int
        Position of the row, an index from 0.

    Returns
    -------
    bool
        Whether its column ``how`` says so.

    Examples
    --------
    >>> rhythm_is_unlogged(Body("a.csv", (), (2,), ()), 0)
    False
    """
    return rhythm_of(body.text("how", at))[0] == "not logged"


def _unusable(found: DosesFound, dose: Dose, unit_column: int) -> bool:
    text = found.body.texts[unit_column][dose.at].strip()
    if not text or unit_in_words(text):
        return False
    cell = dose_cell(f"1 {text}")
    if cell.said is None and cell.unit:
        # A unit such as mg, which is a thousandth of one that is kept.
        dose.unit = cell.unit
        dose.cell = replace(dose.cell, factor=cell.factor, how=dose.cell.how or cell.how)
        return False
    said = cell.said if cell.said and cell.said.code != "DOSE_UNREADABLE" else None
    found.mark(
        dose,
        said
        or Said("refused", "UNIT", f"“{text[:60]}” is no unit of a dose.", "Write mL, L, g or kg."),
    )
    return True


def _no_amount(cell: DoseCell, number: CellNumber) -> Said | None:
    if cell.how == "not logged" or any(one.fate in ("asked", "refused") for one in number.said):
        return None
    if number.limit:
        return Said(
            "refused", "NO_SINGLE_AMOUNT", "A dose needs one amount, not a limit or a range.",
            "Write how much it was.",
        )  # fmt: skip
    if cell.number and number.value < 0.0:
        return Said(
            "refused", "BELOW_ZERO", f"{number.value:g}: a dose below zero does not exist.",
            "Check sign and number.",
        )  # fmt: skip
    return None
