"""Which supplement of the tank each dose is of, as the file names it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from reef_calc.log.description import Description
from reef_calc.log.foreign.dose_amounts import without_rhythm
from reef_calc.log.foreign.dose_words import AMOUNT_UNITS, HEADING_FILLERS
from reef_calc.log.foreign.outcome import Answers, Choice, Question, Said

KEY = "supplement"
LEAVE = "leave out"
_BRACKETS = re.compile(r"[(\[{][^)\]}]*[)\]}]")


@dataclass(frozen=True)
class SupplementNames:
    """What each name of the file is called in the tank.

    Attributes
    ----------
    names : dict of str to str
        Name in the file to name in the tank; empty where it is not known or left out.
    said : dict of str to Said
        What is said of the doses of each name that is not known or left out.
    questions : tuple of Question
        What is asked.
    """

    names: dict[str, str]
    said: dict[str, Said]
    questions: tuple[Question, ...] = ()


def supplement_in_heading(heading: str, tank: Description) -> str:
    """Return the name of a supplement that stands in the heading of a column of amounts.

    Parameters
    ----------
    heading : str
        Heading, such as "Ca mL" or "Part one (mL/day)".
    tank : Description
        The tank with its supplements.

    Returns
    -------
    str
        The name of the tank where it fits, otherwise the heading without its unit and fillers;
        empty where nothing is left.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> tank = example_tank()
    >>> supplement_in_heading("Part One (mL/day)", tank), supplement_in_heading("Ca mL", tank)
    ('part one', 'Ca')
    >>> supplement_in_heading("Menge [mL]", tank)
    ''
    """
    if _known(heading, tank):
        return _known(heading, tank)
    text = without_rhythm(_BRACKETS.sub(" ", heading).replace("_", " "))
    words = text.replace("/", " ").split()
    while words and _is_filler(words[-1]):
        words.pop()
    while words and _is_filler(words[0]):
        words.pop(0)
    name = " ".join(words)
    return _known(name, tank) or name


def supplement_names(
    rows_of: Mapping[str, Sequence[int]],
    doses_of: Mapping[str, str],
    column: int | None,
    tank: Description,
    answers: Answers,
) -> SupplementNames:
    """Return which supplements of the tank the names of a file are.

    Parameters
    ----------
    rows_of : dict of str to sequence of int
        Names in the file, and the rows (from 1) that have them.
    doses_of : dict of str to str
        What the rows of each name amount to, in words, for the consequence.
    column : int or None
        Column of the names, counted from 0; None where they stand in headings.
    tank : Description
        The tank with its supplements.
    answers : dict of str to str
        Answers so far.

    Returns
    -------
    SupplementNames
        A name is taken where it is the same but for capitals and blanks; any other is asked.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> found = supplement_names({"Part  One": [2], "Ca": [3]}, {}, 0, example_tank(), {})
    >>> found.names, found.questions[0].text
    ({'Part  One': 'part one', 'Ca': ''}, 'Which supplement of the tank is “Ca”?')
    """
    names: dict[str, str] = {}
    told: dict[str, Said] = {}
    questions: list[Question] = []
    for name, rows in rows_of.items():
        names[name] = _known(name, tank)
        if names[name]:
            continue
        if not name:
            told[name] = Said(
                "refused", "NO_SUPPLEMENT", "Nothing says which supplement this is.",
                "Write its name into the row, or name the column.",
            )  # fmt: skip
            continue
        question = _question(name, rows, doses_of.get(name, ""), column, tank, answers)
        questions.append(question)
        if question.answered in tank.supplements:
            names[name] = question.answered
            continue
        if question.answered:
            told[name] = Said(
                "refused", "LEFT_OUT", f"“{name}” is left out as you chose.", chosen=True
            )
        else:
            told[name] = Said(
                "asked", "WHICH_SUPPLEMENT", f"Which supplement is “{name}”?", "", question.key
            )
    return SupplementNames(names, told, tuple(questions))


def _question(
    name: str,
    rows: Sequence[int],
    doses: str,
    column: int | None,
    tank: Description,
    answers: Answers,
) -> Question:
    key = f"{KEY}/{name}"
    text = f"Which supplement of the tank is “{name}”?"
    if not tank.supplements:
        text += " The tank has none yet: describe it in supplements.toml first."
    distinct = tuple(dict.fromkeys(rows))
    count = f"{len(distinct)} row{'' if len(distinct) == 1 else 's'}"
    choices = (
        *(
            Choice(one, f"It is “{one}”", f"{doses or count} count as doses of “{one}”.")
            for one in tank.supplements
        ),
        Choice(LEAVE, "Leave these out", f"{count} would not be counted as doses."),
    )
    given = answers.get(key, "")
    if given and given not in [choice.answer for choice in choices]:
        text += f" The answer “{given[:60]}” is none of these."
        given = ""
    return Question(key, text, choices, distinct, column, answered=given)


def _known(name: str, tank: Description) -> str:
    if name in tank.supplements:
        return name
    plain = _plain(name)
    fitting = [one for one in tank.supplements if _plain(one) == plain]
    return fitting[0] if len(fitting) == 1 and plain else ""


def _plain(name: str) -> str:
    return " ".join(name.casefold().replace("_", " ").split())


def _is_filler(word: str) -> bool:
    plain = word.casefold().strip("()[]:.,;")
    return not plain or plain in HEADING_FILLERS or plain in AMOUNT_UNITS
