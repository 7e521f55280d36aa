"""The unit of a column, a row or a cell: as written, assumed from its numbers, or asked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.unit_words import accepted_units, check_unit
from reef_calc.errors import InputError
from reef_calc.log.foreign.outcome import Answers, Choice, Question, Said
from reef_calc.log.foreign.unit_choices import Offered, offered_for
from reef_calc.log.foreign.unit_forms import repair_of, unit_form
from reef_calc.log.foreign.units_by_range import (
    POSSIBLE,
    TAKEN_FIRST,
    level_words,
    middle_of,
    units_that_fit,
)
from reef_calc.messages import Message

_OTHER_UNIT = "another unit"


@dataclass(frozen=True)
class UnitRead:
    """What a unit was understood as.

    Attributes
    ----------
    unit : str
        Unit word of the element; empty while it is not known.
    note : Message or None
        What was assumed, a sentence.
    question : Question or None
        What is asked, or what else it may be.
    said : Said or None
        What is said of the cells: asked or refused; None where the unit is known.
    """

    unit: str = ""
    note: Message | None = None
    question: Question | None = None
    said: Said | None = None


def with_species(unit: str, species: str) -> str:
    """Return a unit as written with the substance that the name beside it says is weighed.

    Parameters
    ----------
    unit : str
        Unit as written.
    species : str
        As ``species_named`` gives it; empty for none.

    Returns
    -------
    str
        Both; the unit alone where it counts moles or names a substance already; the species alone
        where there is no unit.

    Examples
    --------
    >>> with_species("µg/L", "PO4-P"), with_species("mg/L P", "PO4-P"), with_species("", "SG")
    ('µg/L PO4-P', 'mg/L P', 'SG')
    """
    if not species:
        return unit
    if not unit:
        return species
    if species == "TAC":
        return unit
    form = unit_form(unit, "")
    weighs = form in ("mg/L", "µg/L", "mg/kg", "µg/kg", "ppm", "ppb")
    return f"{unit} {species}" if weighs else unit


def unit_of_text(
    text: str,
    element: str,
    *,
    key: str,
    answers: Answers,
    rows: Sequence[int],
    values: Sequence[float] = (),
) -> UnitRead:
    """Return the unit that a text means for an element.

    Parameters
    ----------
    text : str
        Unit as written: in a heading, a row of units, a column of units or a cell.
    element : str
        Element of the closed list, or the symbol of another.
    key : str
        Key of the column, or the element in a long table.
    answers : dict of str to str
        Answers so far; the key here is ``unit TEXT/KEY``.
    rows : sequence of int
        Rows (counted from 1) that rest on it.
    values : sequence of float, optional
        Their numbers, as written in this unit, for the consequences and for what only the range
        tells.

    Returns
    -------
    UnitRead
        A unit word; or a question, and what is said of the cells until it is answered.

    Notes
    -----
    *Common practice, no source*: hand kits that say ppm mean mg/L, and ppb µg/L. That is taken, and
    offered for correction.

    Examples
    --------
    >>> read = unit_of_text("2 x", "calcium", key="Ca", answers={}, rows=(2,))
    >>> read.unit, read.said.fate
    ('', 'asked')
    >>> read = unit_of_text("ppm", "calcium", key="Ca", answers={}, rows=(2,), values=(420.0,))
    >>> read.unit, read.question.choices[1].consequence
    ('mg/L', '420 mg/kg = 429.8 mg/L')
    """
    form = unit_form(text, element)
    question_key = f"unit {text.strip()}/{key}"
    middle = middle_of(values)
    offered = offered_for(form, element, middle)
    if offered is None and element in ELEMENTS and form in accepted_units(element):
        return UnitRead(form, _read_as(text, form, element, key))
    if element not in ELEMENTS and form in _all_units(element):
        return UnitRead(form)
    two = tuple(unit_form(one, element) for one in text.split(" or "))
    if len(two) == 2 and element in ELEMENTS and set(two) <= set(accepted_units(element)):
        offered = Offered("the heading and the row below it name two units. Which holds?", two)
    repair = repair_of(form, element)
    if offered is None and repair:
        return UnitRead(said=Said("refused", "UNIT_NOT_KEPT", f"“{text}” cannot be kept.", repair))
    if offered is None:
        offered = Offered(_why_not(text, element), _all_units(element))
    return _asked(
        offered, f"{key}: {offered.text or f'“{text}” can be read in more than one way.'}",
        question_key, element, answers, rows, middle, written=text.strip(),
    )  # fmt: skip


def assumed_unit(
    element: str,
    values: Sequence[float],
    *,
    key: str,
    column: int | None,
    answers: Answers,
    rows: Sequence[int],
) -> UnitRead:
    """Return the unit of numbers that stand without one, for the whole column.

    Parameters
    ----------
    element : str
        Element of the closed list, or the symbol of another.
    values : sequence of float
        Numbers of the column, in the unit that is looked for; their median decides.
    key : str
        Key of the column, or the element in a long table.
    column : int or None
        Column (index from 0), for the question.
    answers : dict of str to str
        Answers so far; the key is ``unit/KEY``.
    rows : sequence of int
        Rows (counted from 1) that rest on it.

    Returns
    -------
    UnitRead
        A unit with a note where only one is possible; with a question beside it where another is
        less usual; a question alone where the numbers fit two.

    Notes
    -----
    *Common practice, no source*: the ranges are what healthy and neglected reef tanks hold.

    Examples
    --------
    >>> assumed_unit("alkalinity", [8.3, 8.1], key="KH", column=1, answers={}, rows=(2, 3)).note.text
    'KH: no unit is written; 8.1 is taken as dKH (as meq/L it would be 22.71 dKH).'
    >>> read = assumed_unit("alkalinity", [2.9], key="KH", column=1, answers={}, rows=(2,))
    >>> [choice.consequence for choice in read.question.choices]
    ['2.9 dKH', '2.9 meq/L = 8.131 dKH']
    """
    question_key = f"unit/{key}"
    if element == "pH":
        return UnitRead("pH")
    middle = middle_of(values)
    if element not in ELEMENTS:
        # Laboratories list traces in µg/L and the rest in mg/L, a thousandfold apart.
        offered = Offered(f"no unit is written for {element}.", ("mg/L", "µg/L"))
        return _asked(
            offered, f"{key}: {offered.text}", question_key, element, answers, rows, middle, column
        )
    fits = units_that_fit(element, middle)
    first = POSSIBLE[element][0].unit
    example = f"{middle:.10g}"
    none = f"{key}: no unit is written"
    apart = any("µ" in one for one in fits) and any("mg" in one for one in fits)
    scarce = element == "phosphate" and middle < 1.0
    one_scale = not apart or scarce or middle == 0.0
    if (fits and fits[0] == first) or fits == ("°F",):
        usual = element in TAKEN_FIRST or scarce or (element == "salinity" and middle < 43.0)
        if len(fits) == 1:
            read = UnitRead(fits[0], _taken(none, example, fits[0], element, middle))
            return _corrected(
                read, f"{none}.", question_key, element, answers, rows, column, middle
            )
        if usual and one_scale:
            return _asked(
                Offered("", fits, assumed=fits[0]), f"{none}; {example} is taken as {fits[0]}.",
                question_key, element, answers, rows, middle, column,
            )  # fmt: skip
    if not fits:
        every = tuple(one.unit for one in POSSIBLE[element])
        text = f"{none}, and {example} is no level of {element} in any usual one. Which is it?"
        return _asked(
            Offered("", every), text, question_key, element, answers, rows, middle, column
        )
    offered = Offered("", tuple(dict.fromkeys((*fits, first) if len(fits) == 1 else fits)))
    text = f"{none}. In which one is {example}?"
    return _asked(offered, text, question_key, element, answers, rows, middle, column)


def _taken(none: str, example: str, unit: str, element: str, middle: float) -> Message:
    text = f"{none}; {example} is taken as {unit}"
    if element == "alkalinity":
        text += (
            f" (as meq/L it would be {level_words(middle, 'meq/L', element).partition(' = ')[2]})"
        )
    return Message("UNIT_ASSUMED", text + ".")


def _corrected(
    read: UnitRead, text: str, key: str, element: str, answers: Answers, rows: Sequence[int],
    column: int | None, middle: float,
) -> UnitRead:  # fmt: skip
    """Let an answer that was given all the same overrule what is clear."""
    if not answers.get(key):
        return read
    offered = Offered("", _all_units(element), assumed=read.unit)
    return _asked(offered, text, key, element, answers, rows, middle, column)


def _asked(
    offered: Offered,
    text: str,
    key: str,
    element: str,
    answers: Answers,
    rows: Sequence[int],
    middle: float,
    column: int | None = None,
    written: str = "",
) -> UnitRead:
    units = (*offered.units, *offered.refused)
    choices = tuple(
        Choice(unit, unit, _consequence(unit, offered, element, middle, written)) for unit in units
    )
    given = answers.get(key, "")
    answered = given if given in units else _accepted(given, element)
    if given and not answered:
        text += f" “{given[:40]}” is none of them and is not used."
    question = Question(
        key, text, choices, tuple(rows), column, _OTHER_UNIT, offered.assumed, answered
    )
    if answered in offered.refused:
        said = Said(
            "refused", "UNIT_NOT_KEPT", f"{answered} cannot be kept.", offered.refused[answered]
        )
        return UnitRead(question=question, said=said)
    unit = answered or offered.assumed
    if unit:
        note = None
        column_key = key.removeprefix(f"unit {written}/" if written else "unit/")
        if not answered:
            what = (
                f"“{written}” is taken as {unit}."
                if written
                else text.removeprefix(f"{column_key}: ")
            )
            note = Message("UNIT_ASSUMED", f"{column_key}: {what}")
        return UnitRead(unit, note, question)
    said = Said("asked", "WHICH_UNIT", text, "Say which unit it is.", key)
    return UnitRead(question=question, said=said)


def _consequence(unit: str, offered: Offered, element: str, middle: float, written: str) -> str:
    if unit in offered.refused:
        return offered.refused[unit]
    example = middle if math.isfinite(middle) else offered.example
    if element not in ELEMENTS or not math.isfinite(example):
        return ""
    words = level_words(example, unit, element)
    if not written or written in unit or " = " not in words:
        return words
    return (
        words
        if math.isfinite(middle)
        else f"{example:.10g} {written} = {words.partition(' = ')[2]}"
    )


def _accepted(given: str, element: str) -> str:
    if not given:
        return ""
    if element not in ELEMENTS:
        return given if given in _all_units(element) else ""
    try:
        return check_unit(given, element)
    except InputError:
        return ""


def _all_units(element: str) -> tuple[str, ...]:
    if element not in ELEMENTS:
        return ("mg/L", "µg/L", "mg/kg", "µg/kg")
    usual = dict.fromkeys(one.unit for one in POSSIBLE[element])
    return tuple(usual | dict.fromkeys(accepted_units(element)))


def _read_as(text: str, unit: str, element: str, key: str) -> Message | None:
    try:
        check_unit(text, element)
    except InputError:
        return Message("UNIT_READ_AS", f"{key}: “{text.strip()}” is read as {unit}.")
    return None


def _why_not(text: str, element: str) -> str:
    why = ""
    if element in ELEMENTS:
        try:
            check_unit(text, element)
        except InputError as error:
            why = f" {error.repair}"
    return f"“{text.strip()[:40]}” is no unit of {element} that is known here.{why} What is meant?"
