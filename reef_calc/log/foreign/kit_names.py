"""The kits that a foreign table names, and which kits of the tank they are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.outcome import Answers, Choice, Question
from reef_calc.messages import Message

AS_WRITTEN = "(as written)"


@dataclass(frozen=True)
class KitNames:
    """What each kit of the file is called in the tank.

    Attributes
    ----------
    names : dict of str to str
        As written in the file, to the name it is kept under.
    notes, questions : tuple
        What was assumed and asked; kits are never joined by that.
    """

    names: dict[str, str]
    notes: tuple[Message, ...] = ()
    questions: tuple[Question, ...] = ()


def kit_questions(
    body: Body, tank: Description, answers: Answers, elements: Mapping[tuple[int, int], str]
) -> KitNames:
    """Return the kits that the file names and what they are called in the tank.

    Parameters
    ----------
    body : Body
        The rows.
    tank : Description
        The tank with its kits.
    answers : dict of str to str
        Answers so far.
    elements : dict of (int, int) to str
        Element of each number, by position of its row (index from 0) and column (index from 0).

    Returns
    -------
    KitNames
        A name that ``kits.toml`` has is taken, capitals aside; any other is kept as it is written
        until the keeper says which kit it is.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.columns import Column
    >>> from reef_calc.log.foreign.outcome import CellTime
    >>> body = Body("a.csv", (Column(0, "kit", "kit"), Column(1, "KH", "value")), (2,),
    ...     (CellTime("2026-02-01"),), {}, {0: ("Drops",), 1: ("8.3",)})
    >>> kit_questions(body, example_tank(), {}, {(0, 1): "alkalinity"}).names
    {'Drops': 'drops'}
    """
    by_name = {name.casefold(): name for name in tank.kits}
    rows: dict[str, set[int]] = defaultdict(set)
    read: dict[str, set[str]] = defaultdict(set)
    column_of = body.having("kit")[:1]
    texts = body.texts[column_of[0].index] if column_of else ()
    kit_of = {column.index: column.kit for column in body.columns}
    for (at, index), element in elements.items():
        kit = kit_of.get(index) or (texts[at] if texts else "")
        if kit:
            rows[kit].add(body.rows[at])
            read[kit].add(element)
    names: dict[str, str] = {}
    questions: list[Question] = []
    for kit in rows:
        if kit in tank.kits or kit.casefold() in by_name:
            names[kit] = kit if kit in tank.kits else by_name[kit.casefold()]
            continue
        question = _question(kit, tuple(sorted(rows[kit])), read[kit], tank, answers)
        questions.append(question)
        chosen = question.answered or question.assumed
        names[kit] = kit if chosen == AS_WRITTEN else chosen
    return KitNames(names, (), tuple(questions))


def _question(
    kit: str, rows: tuple[int, ...], read: set[str], tank: Description, answers: Answers
) -> Question:
    key = f"which kit/{kit}"
    fitting = [name for name, one in tank.kits.items() if not one.element or one.element in read]
    choices = (
        Choice(
            AS_WRITTEN,
            f"A kit of its own, “{kit}”",
            "Kept apart from the tank's other kits; describe it in kits.toml for its scatter.",
        ),
        *(Choice(name, f"It is “{name}” of this tank", "One history with it.") for name in fitting),
    )
    given = answers.get(key, "")
    fits = given in [choice.answer for choice in choices]
    return Question(
        key,
        f"Which kit is “{kit}”?",
        choices,
        rows,
        None,
        assumed=AS_WRITTEN,
        answered=given if fits else "",
    )
