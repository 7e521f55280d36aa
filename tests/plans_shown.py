"""A plan of our own for the pictures: the display tank of a school's marine-science room."""

from __future__ import annotations

from datetime import date

import numpy as np

from reef_calc.messages import Message
from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
from reef_calc.plan.recursion import levels_day_by_day
from reef_calc.plan.solved import Conflict, Limit, SolvedPlan

START = date(2026, 10, 1)
SOLVED_MESSAGES = (
    Message("HALF", "Half of the correction until a second test confirms.", "qualified"),
    Message("EVAPORATION", "Evaporation is topped up with fresh water.", "told"),
    Message("NO_RISE", "Strontium has no largest rise a day, so it is not corrected.", "refused"),
)


def school_problem(days: int = 30) -> PlanProblem:
    """Five elements, three containers, 10 % changed each week."""
    elements = (
        ElementToPlan("alkalinity", "dKH", 6.9, 0.98, 7.4, 7.5, 8.0, 8.5, 0.5, 0.5,
                      u_start=0.12, u_use=0.035, u_day=0.05),
        ElementToPlan("calcium", "mg/L", 408.0, 6.9, 415.0, 400.0, 420.0, 440.0, 20.0, 20.0,
                      u_start=5.0, u_use=0.35, u_day=0.3),
        ElementToPlan("magnesium", "mg/L", 1290.0, 0.9, 1310.0, 1270.0, 1320.0, 1370.0, 50.0, 50.0,
                      u_start=18.0, u_use=0.5),
        ElementToPlan("nitrate", "mg/L", 6.0, -0.15, 0.5, None, None, 10.0, u_start=0.6, u_use=0.05),
        ElementToPlan("sodium", "mg/L", 10700.0, 0.0, 10750.0),
    )  # fmt: skip
    supplements = (
        SupplementToPlan("carbonate stock", {"alkalinity": 0.0072, "sodium": 0.0592}, step=0.1,
                         most_per_dose=69.0, stock=4200.0, u_effect=0.02, set_now=120.0),
        SupplementToPlan("calcium <stock>", {"calcium": 0.062}, step=0.1, stock=8000.0,
                         u_effect=0.02, set_now=100.0),
        SupplementToPlan("magnesium stock", {"magnesium": 0.05}, step=0.5, u_effect=0.02),
    )  # fmt: skip
    exchanged = tuple(0.1 if day % 7 == 2 else 0.0 for day in range(days))
    return PlanProblem(elements, supplements, days, exchanged, 0.02)


def school_plan(days: int = 30) -> SolvedPlan:
    """A correction of three days, then what is used; one limit in the way, one only reached."""
    problem = school_problem(days)
    amounts = np.array([[205.2, 138.0], [120.0, 114.0], [24.0, 24.0]])
    doses = np.array([[6, 6], [4, 4], [2, 2]])
    phases = (0, 3)
    daily = np.repeat(amounts, [3, days - 3], axis=1)
    levels = levels_day_by_day(problem, daily)
    limits = (
        Limit("rise", "alkalinity", "alkalinity may rise by 0.5 dKH a day", True, 0.02),
        Limit("most a day", "magnesium stock", "the pump gives at most 24 mL a day", False),
    )
    bands = {"alkalinity": 2, "calcium": 0, "magnesium": 0}
    return SolvedPlan(
        problem, phases, amounts, amounts, doses, levels, limits, None, bands, 0.11, SOLVED_MESSAGES
    )


def school_conflict() -> SolvedPlan:
    """The same plan, asked for too early."""
    plan = school_plan()
    rise = Limit("rise", "alkalinity", "alkalinity may rise by 0.5 dKH a day", True)
    conflict = Conflict(
        (rise,),
        ("raise the limit from 0.5 to 0.7 dKH a day", "allow 4 days"),
        "Alkalinity at 7.5 dKH and a rise of at most 0.5 dKH a day cannot both be kept before day 2.",
    )
    bands = {"alkalinity": None, "calcium": 0, "magnesium": 0}
    return SolvedPlan(
        plan.problem, plan.phases, plan.amounts, plan.exact, plan.doses_a_day, plan.levels,
        plan.limits, conflict, bands, 0.4, plan.messages,
    )  # fmt: skip
