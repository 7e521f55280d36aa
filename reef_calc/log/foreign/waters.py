"""Which water a row is about, as people write it."""

from __future__ import annotations

from reef_calc.log.description import Description
from reef_calc.log.foreign.outcome import Answers, Choice, Question

_TANK = (
    "tank", "display", "display tank", "aquarium", "aquarium water", "tank water", "becken",
    "beckenwasser", "aquariumwasser", "bac", "cuve", "acuario", "vasca", "acquario", "aquário",
    "bak", "zbiornik", "akwarium", "akvarium", "salt water", "saltwater", "salzwasser", "meerwasser",
)  # fmt: skip
_NEW = (
    "new water", "new salt water", "fresh salt water", "mixed water", "mixing tub", "neuwasser",
    "frisches salzwasser", "ansatzwasser", "eau neuve", "agua nueva", "acqua nuova", "nieuw water",
    "nowa woda", "nytt vatten", "nyt vand",
)  # fmt: skip
KEY = "which water"


def water_named(text: str, tank: Description) -> str:
    """Return the water that a text names, as ``readings.csv`` has it.

    Parameters
    ----------
    text : str
        Text of a cell or heading; nothing means the tank.
    tank : Description
        The tank, for its standards.

    Returns
    -------
    str
        ``tank``, ``new water``, ``standard NAME``, ``study NAME LEVEL``; empty where it is not known.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> water_named("Becken", example_tank()), water_named("tap", example_tank())
    ('tank', '')
    """
    plain = " ".join(text.casefold().replace("-", " ").split())
    if not plain or plain in _TANK or plain == tank.name.casefold():
        return "tank"
    if plain in _NEW:
        return "new water"
    first, _, rest = text.strip().partition(" ")
    if first in ("standard", "study") and rest:
        return text.strip()
    by_name = {name.casefold(): name for name in tank.standards}
    return f"standard {by_name[plain]}" if plain in by_name else ""


def water_question(
    text: str, rows: tuple[int, ...], column: int | None, answers: Answers
) -> Question:
    """Return the question which water a text means.

    Parameters
    ----------
    text : str
        As written.
    rows : tuple of int
        Rows that wait, counted from 1.
    column : int or None
        Column, counted from 0.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    Question
        Answered where an answer fits.

    Examples
    --------
    >>> water_question("tub", (2, 3), 1, {}).text
    'Which water is “tub”?'
    """
    key = f"{KEY}/{text}"
    choices = (
        Choice("tank", "The tank", "They count as readings of the tank."),
        Choice("new water", "New salt water", "They tell what a water change brings."),
    )
    given = answers.get(key, "")
    fits = given in [choice.answer for choice in choices]
    return Question(
        key, f"Which water is “{text}”?", choices, rows, column, answered=given if fits else ""
    )
