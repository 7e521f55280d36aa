"""Containers that stay as they are set, in one table with those that the plan sets."""

from __future__ import annotations

import math

import numpy as np

from reef_calc.plan.dose_sizes import room_for_doses, step_of
from reef_calc.plan.from_tank import TankQuestion
from reef_calc.plan.solved import SolvedPlan


def with_kept_doses(question: TankQuestion, solved: SolvedPlan) -> tuple[np.ndarray, np.ndarray]:
    """Return amounts and doses a day of planned and kept containers.

    Parameters
    ----------
    question : TankQuestion
        What is set now, and which containers stay as they are.
    solved : SolvedPlan
        The answer for the others.

    Returns
    -------
    tuple of (ndarray, ndarray)
        Amounts (mL or g a day as set) and doses a day, both of shape (containers, phases).

    Examples
    --------
    See ``tests/plan/test_dose_plan.py``.
    """
    amounts, doses = np.asarray(solved.amounts, float), np.asarray(solved.doses_a_day, int)
    if not question.kept:
        return amounts, doses
    if not question.supplements:
        amounts, doses = (np.zeros((0, len(solved.phases)), x.dtype) for x in (amounts, doses))
    room = room_for_doses((*question.supplements.values(), *question.kept.values()))
    count = len(solved.phases)
    kept_amounts, kept_doses = [], []
    for name, supplement in question.kept.items():
        now = question.now[name]
        # Given evenly over the day: as many doses as the clock has room for, none below a pump step.
        step = step_of(supplement)
        most = math.floor(now.amount / step + 1e-9) if step > 0.0 else room
        kept_amounts.append([now.amount] * count)
        kept_doses.append([max(1, min(now.doses or room, room, most))] * count)
    return (
        np.vstack([amounts, kept_amounts]),
        np.vstack([doses, kept_doses]),
    )
