"""What is said of a finished plan beside what question and solver say, and in which order."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping

import numpy as np
import pandas as pd

from reef_calc.log.description import Aim
from reef_calc.messages import Message
from reef_calc.plan.from_tank import TankQuestion
from reef_calc.plan.problem import ElementToPlan
from reef_calc.plan.solved import SolvedPlan

_WEIGHT = {"refused": 0, "qualified": 1, "told": 2}


def in_order(messages: tuple[Message, ...]) -> tuple[Message, ...]:
    """Return messages by weight: refusals, then what limits the plan, then what was taken.

    Parameters
    ----------
    messages : tuple of Message
        In any order; within one weight it stays.

    Returns
    -------
    tuple of Message
        Each text once.

    Examples
    --------
    >>> one, two = Message("A", "First."), Message("B", "Second.", "refused")
    >>> [m.code for m in in_order((one, two, one))]
    ['B', 'A']
    """
    once = {message.text: message for message in reversed(messages)}
    kept = [message for message in messages if once.get(message.text) is message]
    unique = list(dict.fromkeys(kept))
    return tuple(sorted(unique, key=lambda message: _WEIGHT[message.kind]))


def salinity_passed(one: ElementToPlan, levels: np.ndarray, start: dt.date) -> tuple[Message, ...]:
    """Return that the salt of needed doses passes the upper aim of salinity, and what to do.

    To starve the animals would be worse than a salinity that can be lowered with fresh water.

    Parameters
    ----------
    one : ElementToPlan
        Salinity with its ceiling (PSU).
    levels : ndarray, shape (days + 1,)
        Salinity (PSU) as planned without the ceiling.
    start : datetime.date
        First day.

    Returns
    -------
    tuple of Message
        Nothing where it does not pass.

    Examples
    --------
    >>> salt = ElementToPlan("salinity", "PSU", 35.9, ceiling=36.0)
    >>> salinity_passed(salt, np.array([35.9, 36.2]), dt.date(2026, 3, 1))[0].code
    'SALINITY_PASSES'
    """
    if one.ceiling is None or levels.max() <= one.ceiling:
        return ()
    day = start + dt.timedelta(days=int(np.argmax(levels > one.ceiling)))
    share = 100.0 * (1.0 - one.ceiling / float(levels.max()))
    words = (
        f"The doses that are needed take salinity above its upper aim of {one.ceiling:g} PSU, first on "
        f"{day.day} {day:%b %Y}. The plan gives them all the same: swap {share:.2g} % of the water for "
        "fresh water before, over several days, or make the water changes larger."
    )
    return (Message("SALINITY_PASSES", words, "qualified"),)


def further_messages(
    question: TankQuestion,
    solved: SolvedPlan,
    in_all: pd.DataFrame,
    aims: Mapping[str, Aim] | None = None,
) -> tuple[Message, ...]:
    """Return what is said of the containers and of levels that would go where nobody wants them.

    Parameters
    ----------
    question : TankQuestion
        The question of the tank.
    solved : SolvedPlan
        Its answer.
    in_all : pandas.DataFrame
        Totals of the containers, as ``doses.totals`` gives them.
    aims : mapping of str to Aim, optional
        Aims of the tank folder.

    Returns
    -------
    tuple of Message
        What to refill, what is not known of a container, when to dose alkalinity.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.plan.doses import totals
    >>> from reef_calc.plan.from_tank import tank_question
    >>> from reef_calc.plan.solver import solve_plan
    >>> question = tank_question(example_tank(), 7)
    >>> solved = solve_plan(question.problem)
    >>> told = further_messages(question, solved, totals((), {}))
    >>> [m.code for m in told]
    ['AT_NIGHT', 'MAKE_AGAIN']
    """
    found: list[Message] = []
    last = question.start + dt.timedelta(days=question.problem.days - 1)
    for row in in_all.itertuples(index=False):
        if row.total <= 0.0:
            continue
        if math.isnan(row.container_L):
            if row.unit == "mL":
                words = (
                    f"{row.container}: how much the container holds is not written. With container_L "
                    "in supplements.toml the plan says when it is empty."
                )
                found.append(Message("CONTAINER_UNKNOWN", words))
        elif row.runs_out is not None and row.runs_out <= last:
            words = (
                f"{row.container}: a container of {row.container_L:g} L that is full at the start "
                f"lasts {row.lasts_days:.0f} days. Refill it by "
                f"{row.runs_out.day} {row.runs_out:%b %Y}."
            )
            found.append(Message("REFILL", words))
    for row_number, one in enumerate(question.problem.elements):
        below = np.flatnonzero(solved.levels[row_number] < 0.0)
        if len(below) and one.name != "salinity":
            day = question.start + dt.timedelta(days=int(below[0]))
            words = (
                f"{one.name.capitalize()} would be used up by {day.day} {day:%b %Y} if it goes on "
                "like this; lower levels do not exist. Test it before."
            )
            found.append(Message("USED_UP", words, "qualified"))
    found += _outside_unplanned(question, solved, aims or {})
    if any(one.effect.get("alkalinity", 0.0) > 0.0 for one in question.problem.supplements):
        found.append(
            Message(
                "AT_NIGHT",
                "Alkalinity may go in at night too, when pH is lowest. Watch the first dose of every "
                "new setting.",
            )
        )
    found.append(Message("MAKE_AGAIN", "Make the plan again after the next reading."))
    return tuple(found)


def _outside_unplanned(
    question: TankQuestion, solved: SolvedPlan, aims: Mapping[str, Aim]
) -> list[Message]:
    """Return a message for each element the plan does not follow and that it leads out of its aims."""
    found = []
    end = question.start + dt.timedelta(days=question.problem.days)
    for row, one in enumerate(question.problem.elements):
        aim = aims.get(one.name)
        if one.aim is not None or aim is None or aim.unit != one.unit or one.name == "salinity":
            continue
        start, level = float(solved.levels[row, 0]), float(solved.levels[row, -1])
        below, above = level < min(aim.low, start), level > max(aim.high, start)
        if not (below or above):
            continue
        side = "below" if below else "above"
        # What is left alone still has its aims here; what is only reported has none.
        repair = "Look after it beside this plan, or allow what it needs."
        if one.low is not None:
            repair = "Test it before then and plan again, or type an aim to have it planned."
        text = (
            f"{one.name.capitalize()} is not planned and would be {max(level, 0.0):.3g} {one.unit} by "
            f"{end.day} {end:%b %Y}, {side} its aims of {aim.low:g} to {aim.high:g} {one.unit}. "
            f"{repair}"
        )
        found.append(Message("NOT_PLANNED_OUTSIDE", text, "qualified"))
    return found
