"""A foreign table of several tanks: which of them is the one that rows are brought into."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from reef_calc.log.description import Description
from reef_calc.log.foreign.body import Body
from reef_calc.log.foreign.outcome import Answers, Choice, Mark, Question, Said

KEY = "tank/file"


@dataclass(frozen=True)
class RowsOfTank:
    """Which rows are of the tank that is brought in.

    Attributes
    ----------
    of_it : tuple of bool
        For each row, whether it is of this tank; False too while that is asked.
    marks, questions : tuple
        What is said of the other rows, and what is asked.
    """

    of_it: tuple[bool, ...]
    marks: tuple[Mark, ...] = ()
    questions: tuple[Question, ...] = ()


def rows_of_tank(body: Body, tank: Description, answers: Answers) -> RowsOfTank:
    """Return which rows are of the tank that rows are brought into.

    Parameters
    ----------
    body : Body
        The rows.
    tank : Description
        The tank.
    answers : dict of str to str
        Answers so far; ``tank/file`` names the tank in the words of the file.

    Returns
    -------
    RowsOfTank
        Readings of two tanks are never one series: with several names in the file it is asked, unless
        one of them is the name of the tank.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.columns import Column
    >>> from reef_calc.log.foreign.outcome import CellTime
    >>> body = Body("a.csv", (Column(0, "tank", "tank"),), (2, 3), (CellTime("2026-02-01"),) * 2, {},
    ...     {0: ("1", "2")})
    >>> rows_of_tank(body, example_tank(), {"tank/file": "2"}).of_it
    (False, True)
    """
    columns = body.having("tank")
    if not columns:
        return RowsOfTank((True,) * len(body.rows))
    index = columns[0].index
    texts = body.texts[index]
    rows_by_name: dict[str, list[int]] = defaultdict(list)
    for row, text in zip(body.rows, texts, strict=True):
        rows_by_name[text].append(row)
    names = [name for name in rows_by_name if name]
    if not names:
        return RowsOfTank((True,) * len(body.rows))
    given = answers.get(KEY, "")
    own = next((name for name in names if name.casefold() == tank.name.casefold()), "")
    question = Question(
        KEY,
        f"The file speaks of {len(names)} {'tank' if len(names) == 1 else 'tanks'}. Which of them is "
        f"“{tank.name}”?",
        tuple(Choice(name, f"“{name}”", _of_it(len(rows_by_name[name]))) for name in names),
        body.rows,
        index,
        assumed=own or (names[0] if len(names) == 1 else ""),
        answered=given if given in names else "",
    )
    chosen = question.answered or question.assumed
    marks = []
    for name, rows in rows_by_name.items():
        if name == chosen:
            continue
        if not name:
            said = Said("refused", "NO_TANK", "The cell of the tank is empty.", "Fill it in.")
        elif chosen:
            said = Said(
                "refused", "OTHER_TANK", f"Another tank, “{name}”: left out. Bring the file into that "
                "tank's own folder too.", chosen=True,
            )  # fmt: skip
        else:
            said = Said("asked", "WHICH_TANK", f"Is “{name}” this tank?", "", KEY)
        marks += [Mark(row, index if not name else None, said) for row in rows]
    return RowsOfTank(tuple(text == chosen for text in texts), tuple(marks), (question,))


def _of_it(rows: int) -> str:
    return f"{rows} {'row is' if rows == 1 else 'rows are'} of it; others are left out."
