"""What a laboratory report cannot say by itself: its units by mass, its samples, its name."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from reef_calc.chem.units import convert
from reef_calc.log.description import Description
from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.outcome import Answers, Choice, Question
from reef_calc.log.foreign.waters import water_named, water_question

KIT_KEY, PARTS_KEY = "kit/file", "parts"
LEAVE = "leave out"
_KIND = "laboratory report"
_FRESH = frozenset(
    (
        "ro", "rodi", "ro/di", "ro water", "osmosis", "osmosis water", "reverse osmosis", "osmose",
        "osmosewasser", "umkehrosmose", "umkehrosmosewasser", "eau osmosée", "osmosis inversa",
        "osmosi", "tap", "tap water", "leitungswasser", "eau du robinet", "top up", "top-off",
        "nachfüllwasser", "fresh water", "freshwater", "süßwasser",
    )
)  # fmt: skip
_PARTS = {"ppm": ("mg/L", "mg/kg"), "ppb": ("µg/L", "µg/kg")}


def parts_question(
    word: str, values: Sequence[float], rows: tuple[int, ...], answers: Answers
) -> Question:
    """Return the question what ppm or ppb means in a report.

    Parameters
    ----------
    word : str
        ppm or ppb.
    values : sequence of float
        Values, in the unit that is asked for (mg/L or mg/kg).
    rows : tuple of int
        Their rows, counted from 1.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Question
        With the largest value read both ways, of water of salinity 35 at 25 °C.

    Examples
    --------
    >>> [choice.consequence for choice in parts_question("ppm", [420.0], (2,), {}).choices]
    ['420 mg/L.', '420 mg/kg, that is 429.8 mg/L.']
    """
    per_litre, per_kg = _PARTS[word]
    largest = max((value for value in values if not math.isnan(value)), default=1.0)
    # Any element will do: what a litre of the water weighs is the same for all of them.
    litre = convert(largest, "mg/kg", "mg/L", "calcium", salinity=35.0, temperature_C=25.0)
    choices = (
        Choice(per_litre, f"{per_litre}, in a litre of water", f"{largest:g} {per_litre}."),
        Choice(
            per_kg, f"{per_kg}, in a kilogram of water",
            f"{largest:g} {per_kg}, that is {litre:.4g} {per_litre}.",
        ),
    )  # fmt: skip
    question = Question(
        f"{PARTS_KEY}/{word}", f"What does {word} mean in this report?", choices, rows
    )
    return _chosen(question, answers)


def sample_question(
    column: Column, tank: Description, rows: tuple[int, ...], answers: Answers
) -> tuple[str, Question | None, str]:
    """Return which water a column of results is of.

    Parameters
    ----------
    column : Column
        One of several columns of results.
    tank : Description
        The tank.
    rows : tuple of int
        Rows of the report, counted from 1.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    tuple
        Water as in ``readings.csv``; the question where it is not clear; why the column is left out.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> sample_question(Column(1, "Tank", "value", key="Tank"), example_tank(), (2,), {})
    ('tank', None, '')
    >>> sample_question(Column(2, "RO water", "value", key="RO water"), example_tank(), (2,), {})[2]
    '“RO water” is fresh water and not used: the log keeps tank water and new salt water.'
    """
    name = column.heading.strip()
    water = column.water or (water_named(name, tank) if name else "")
    if water:
        return water, None, ""
    if " ".join(name.casefold().split()) in _FRESH:
        left = f"“{column.key}” is fresh water and not used: the log keeps tank water and new salt water."
        return "", None, left
    question = water_question(column.key, rows, column.index, answers)
    leave = Choice(LEAVE, "Leave this column out", f"{len(rows)} values are not taken.")
    question = _chosen(replace(question, choices=(*question.choices, leave)), answers)
    if question.answered == LEAVE:
        return "", question, f"“{column.key}” is left out as you chose."
    return question.answered, question, ""


def kit_question(tank: Description, rows: tuple[int, ...], answers: Answers) -> Question:
    """Return the question which laboratory a report is from.

    Parameters
    ----------
    tank : Description
        The tank with its kits.
    rows : tuple of int
        Rows of the report, counted from 1.
    answers : dict of str to str
        Answers so far; a name may be typed.

    Returns
    -------
    Question
        The tank's only laboratory is assumed, otherwise "laboratory".

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> kit_question(example_tank(), (2,), {}).assumed
    'laboratory'
    """
    known = [name for name, kit in tank.kits.items() if kit.kind == _KIND]
    choices = tuple(Choice(name, name, "One history with its other reports.") for name in known)
    given = " ".join(answers.get(KIT_KEY, "").split())[:80]
    return Question(
        KIT_KEY, "Which laboratory is this report from? Results of two are kept apart by their names.",
        choices, rows, None, "laboratory",
        assumed=known[0] if len(known) == 1 else "laboratory", answered=given,
    )  # fmt: skip


def _chosen(question: Question, answers: Answers) -> Question:
    given = answers.get(question.key, "")
    if given and given not in [choice.answer for choice in question.choices]:
        return replace(
            question,
            text=f"{question.text} The answer “{given[:60]}” is none of these.",
            answered="",
        )
    return replace(question, answered=given)
