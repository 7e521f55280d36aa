"""The unit of a dose and what makes it mL: units that are not written, and drops."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

from reef_calc.chem.numbers import parse_typed_number
from reef_calc.errors import InputError
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.dose_words import AMOUNT_UNITS
from reef_calc.log.foreign.outcome import Answers, Choice, Question

UNIT_KEY = "unit of doses"
DROP_KEY = "mL per drop"
# A drop from a nozzle of a bottle is some 0.02 to 0.1 mL (common practice, no source).
_SMALLEST_DROP, _LARGEST_DROP = 0.005, 0.3


@lru_cache(maxsize=4096)
def unit_in_words(text: str) -> str:
    """Return the unit of doses that a unit cell or a heading names.

    Parameters
    ----------
    text : str
        Text such as "mL/day" or "Ca (mL)".

    Returns
    -------
    str
        mL, L, g, kg or drops; empty where none or more than one stands there.

    Examples
    --------
    >>> unit_in_words("Ca (mL/day)"), unit_in_words("Dose"), unit_in_words("Tropfen")
    ('mL', '', 'drops')
    """
    plain = text.casefold().replace("/", " ").replace("_", " ")
    words = [word.strip("()[]:.,;") for word in plain.split()]
    # A unit of its own number size, such as mg, is read in a cell only; d and l alone mislead.
    found = {
        AMOUNT_UNITS[word][0]
        for word in words
        if word in AMOUNT_UNITS and AMOUNT_UNITS[word][1] == 1.0
    }
    return found.pop() if len(found) == 1 else ""


def unit_question(
    column: Column, values: Sequence[float], rows: tuple[int, ...], own: str, answers: Answers
) -> Question:
    """Return the question in which unit the amounts of a column are.

    Parameters
    ----------
    column : Column
        The column of amounts.
    values : sequence of float
        Amounts without a unit.
    rows : tuple of int
        Their rows, from 1.
    own : str
        Unit that all their supplements are described in; empty where they differ.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Question
        The supplements' own unit is assumed; with none it waits.

    Examples
    --------
    >>> unit_question(Column(1, "dose", "amount", key="dose"), [10.0], (2,), "mL", {}).assumed
    'mL'
    """
    key = f"{UNIT_KEY}/{column.key}"
    low, high = min(values, default=math.nan), max(values, default=math.nan)
    words = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    choices = tuple(
        Choice(unit, unit, f"The doses are {words} {unit}.")
        for unit in ("mL", "L", "g", "kg", "drops")
    )
    given = answers.get(key, "")
    text = f"In which unit are the doses of “{column.key}”? The file does not say."
    if given and given not in [choice.answer for choice in choices]:
        text += f" The answer “{given[:60]}” is none of these."
        given = ""
    return Question(key, text, choices, rows, column.index, assumed=own, answered=given)


def drop_question(
    supplement: str, drops: Sequence[float], rows: tuple[int, ...], answers: Answers
) -> tuple[Question, float]:
    """Return the question how much a drop of a supplement is, and the answer.

    Parameters
    ----------
    supplement : str
        Name in the tank.
    drops : sequence of float
        Doses, numbers of drops (no unit).
    rows : tuple of int
        Their rows, from 1.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    tuple
        Question, and mL per drop; NaN while it is not answered with a volume that a drop can have.

    Examples
    --------
    >>> drop_question("iodine", [5.0], (2,), {"mL per drop/iodine": "0,05"})[1]
    0.05
    """
    key = f"{DROP_KEY}/{supplement}"
    total = sum(drops)
    text = (
        f"How much is one drop of “{supplement}”? The file counts {total:g} drops in all; at 0.05 mL "
        f"that is {total * 0.05:g} mL. Count the drops of 1 mL and divide: 1 / 20 = 0.05."
    )
    given = answers.get(key, "").strip()
    volume = math.nan
    if given:
        try:
            volume = parse_typed_number(given.removesuffix("mL").removesuffix("ml"))
        except InputError:
            text += f" “{given[:60]}” is no number."
        if not math.isnan(volume) and not _SMALLEST_DROP <= volume <= _LARGEST_DROP:
            text += (
                f" {volume:g} mL is no drop: type a volume from {_SMALLEST_DROP:g} to "
                f"{_LARGEST_DROP:g} mL."
            )
            volume = math.nan
    answered = "" if math.isnan(volume) else given
    return Question(key, text, (), rows, None, "mL per drop", answered=answered), volume
