"""A dosing plan: the solved question of one tank, as settings, table of the day, totals and levels."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from reef_calc.chem.supplements import Supplement
from reef_calc.errors import CannotTellError
from reef_calc.log.plans import ContainerPhase, PlannedLevels, StoredPlan
from reef_calc.log.tank import Tank
from reef_calc.messages import Message, codes
from reef_calc.plan.doses import container_phases, day_table, ions_per_day, shopping, totals
from reef_calc.plan.equal_phases import without_equal_phases
from reef_calc.plan.from_tank import TankQuestion, tank_question
from reef_calc.plan.kept_doses import with_kept_doses
from reef_calc.plan.plan_frames import settings_frame, summary_frame
from reef_calc.plan.plan_messages import further_messages, in_order, salinity_passed
from reef_calc.plan.problem import PlanProblem
from reef_calc.plan.pump_settings import pump_csv
from reef_calc.plan.solved import SolvedPlan
from reef_calc.plan.solver import solve_plan
from reef_calc.plan.wishes import PlanWishes


@dataclass(frozen=True)
class DosePlan:
    """A plan for one tank, ready to follow.

    Attributes
    ----------
    tank : str
        Name of the tank.
    zone : str
        Its IANA zone; all dates and times of day are there.
    start : datetime.date
        First day.
    days : int
        Number of days.
    made : datetime.datetime
        When it was made.
    problem : PlanProblem
        The question.
    solved : SolvedPlan
        The answer of the solver; its rows are ``problem.supplements``.
    phases : tuple of ContainerPhase
        What each container gives in each phase, those that stay as they are included.
    settings : pandas.DataFrame
        One row a container and phase: ``container``, ``phase`` (from 0), ``date_from``, ``date_to``,
        ``per_day``, ``doses``, ``per_dose``, ``unit`` (mL or g as set), ``set_now`` (a day), ``kept``.
    table : pandas.DataFrame
        The day table to follow, as ``doses.day_table`` gives it.
    totals : pandas.DataFrame
        What is taken of each container and how long it lasts, as ``doses.totals`` gives it.
    shopping : pandas.DataFrame
        What the whole plan needs, as ``doses.shopping`` gives it.
    ions : pandas.DataFrame
        What the doses of a day do to every ion, as ``doses.ions_per_day`` gives it.
    messages : tuple of Message
        What to know about the plan: refusals, then limits, then what was taken.
    summary : pandas.DataFrame
        One row an element: ``element``, ``unit``, ``followed``, ``now``, ``low``, ``aim``, ``high``,
        ``use``, ``use_u``, ``supply_now``, ``supply_planned`` (unit per day), ``level_end``,
        ``level_unchanged`` (at the end if today's doses stay), ``in_band_from`` (date or None),
        ``basis``.
    supplements : dict of str to Supplement
        Those that the plan sets, in the order of the problem; those that it stops are the last.
    kept : dict of str to Supplement
        Those that stay as they are set.
    net_L : float
        Net volume (L).
    salinity : float
        Practical salinity of the tank (no unit).
    temperature_C : float
        Temperature (°C).
    air_co2_uatm : float
        Carbon dioxide of the room air (µatm).
    set_now : dict of str to float
        Amount a day that is set today, by container (mL or g).
    """

    tank: str
    zone: str
    start: dt.date
    days: int
    made: dt.datetime
    problem: PlanProblem
    solved: SolvedPlan
    phases: tuple[ContainerPhase, ...]
    settings: pd.DataFrame
    table: pd.DataFrame
    totals: pd.DataFrame
    shopping: pd.DataFrame
    ions: pd.DataFrame
    messages: tuple[Message, ...]
    summary: pd.DataFrame
    supplements: dict[str, Supplement]
    kept: dict[str, Supplement]
    net_L: float
    salinity: float
    temperature_C: float
    air_co2_uatm: float
    set_now: dict[str, float]

    def date(self, day: int) -> dt.date:
        """Return the date of a day of the plan.

        Parameters
        ----------
        day : int
            Day from 0.

        Returns
        -------
        datetime.date
            Its date.
        """
        return self.start + dt.timedelta(days=day)

    def pump_csv(self) -> str:
        """Return the settings of a dosing pump as CSV text."""
        return pump_csv(self.phases)

    def stored(self) -> StoredPlan:
        """Return the plan as it is kept in the tank folder.

        Returns
        -------
        StoredPlan
            For ``log.plans.store_plan``.
        """
        levels = tuple(
            PlannedLevels(
                one.name,
                one.unit,
                tuple(float(level) for level in self.solved.levels[row]),
                one.use,
                one.low,
                one.aim,
                one.high,
            )
            for row, one in enumerate(self.problem.elements)
        )
        return StoredPlan(
            self.tank,
            self.made.replace(microsecond=0),
            self.start,
            self.days,
            self.net_L,
            self.phases,
            levels,
            dict(self.set_now),
            tuple(message.text for message in self.messages),
        )


def plan_doses(
    tank: Tank,
    days: int = 30,
    start: str | dt.date | None = None,
    *,
    wishes: PlanWishes | None = None,
    made: dt.datetime | None = None,
) -> DosePlan:
    """Return a dosing plan for a tank: what to set, when it changes, and where the levels go.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    days : int, optional
        Length of the plan.
    start : str or datetime.date, optional
        First day; the day after the last reading when not given.
    wishes : PlanWishes, optional
        What differs from the folder: aims, uses, levels, limits, supplements, water changes.
    made : datetime.datetime, optional
        When it is made, with a zone; the present when not given.

    Returns
    -------
    DosePlan
        The plan, never beyond a limit; ``messages`` says what it rests on.

    Raises
    ------
    InputError
        For a wish, a day or a number of days that cannot be used.
    CannotTellError
        If there is no element that can be planned; says what to test or to write.

    Notes
    -----
    Label and safety data sheet of every supplement come first. A plan is made again after the next
    reading: what a tank uses changes.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> plan = plan_doses(example_tank(), 14)
    >>> plan.start.isoformat(), plan.settings["container"].unique().tolist()
    ('2026-02-16', ['part one'])
    """
    return dose_plan(tank, tank_question(tank, days, start, wishes=wishes), made=made)


def dose_plan(
    tank: Tank,
    question: TankQuestion,
    *,
    solved: SolvedPlan | None = None,
    made: dt.datetime | None = None,
) -> DosePlan:
    """Return the dosing plan that answers the question of a tank.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    question : TankQuestion
        As ``tank_question`` gives it.
    solved : SolvedPlan, optional
        An answer that is there already; solved here when not given.
    made : datetime.datetime, optional
        When it is made, with a zone; the present when not given.

    Returns
    -------
    DosePlan
        The plan.

    Raises
    ------
    CannotTellError
        If there is no element that can be planned.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> tank = example_tank()
    >>> dose_plan(tank, tank_question(tank, 7)).days
    7
    """
    problem = question.problem
    codes_told = codes(question.messages)
    left_as_it_is = "NO_DIFFERENCE" in codes_told and "LEVEL_NOT_KNOWN" not in codes_told
    if not left_as_it_is and not any(one.aim is not None for one in problem.elements):
        raise CannotTellError(_nothing_to_plan(question.messages, aims=bool(tank.aims)))
    salt: tuple[Message, ...] = ()
    answer = solved if solved is not None else solve_plan(problem)
    if solved is None and _starved_by_salt(answer):
        problem, answer, salt = _without_salt_ceiling(question)
    answer = without_equal_phases(answer)
    every = {**question.supplements, **question.kept}
    amounts, doses = with_kept_doses(question, answer)
    spans = _spans(question.start, answer, problem.days)
    by_hand = any(question.now[name].by_hand for name in every)
    phases = container_phases(every, amounts, doses, spans, by_hand=by_hand)
    in_all = totals(phases, every)
    now = {name: question.now[name].amount for name in every}
    settings = settings_frame(phases, now, question.kept)
    net = question.water.net_L
    told = (
        *question.messages,
        *salt,
        *(m for m in answer.messages if m.code != "NOTHING_TO_DOSE" or not np.any(amounts > 0.0)),
        *further_messages(question, answer, in_all, tank.aims),
    )
    salinity = problem.elements[problem.element("salinity")].start
    return DosePlan(
        tank.name,
        str(tank.zone),
        question.start,
        problem.days,
        made or dt.datetime.now(tank.zone),
        problem,
        answer,
        phases,
        settings,
        day_table(phases),
        in_all,
        shopping(phases, every),
        ions_per_day(phases, every, net),
        in_order(told),
        summary_frame(problem, answer, question.start),
        dict(question.supplements),
        dict(question.kept),
        net,
        salinity,
        question.water.temperature_C,
        question.water.air_co2_uatm,
        now,
    )


def _nothing_to_plan(messages: tuple[Message, ...], *, aims: bool) -> str:
    refused = [m.text for m in messages if m.kind == "refused"]
    other = [m.text for m in messages if m.code not in ("START", "TOP_UP", "CHANGES", "ASSUMED")]
    none = [] if aims else ["tank.toml sets no aim: write one there, or under “Aims”."]
    return " ".join(["There is nothing to plan yet.", *none, *(refused or other)])


def _starved_by_salt(answer: SolvedPlan) -> bool:
    """Return whether the aims cannot be met because of the ceiling of salinity."""
    if answer.conflict is None:
        return False
    return any(one.kind == "ceiling" and one.name == "salinity" for one in answer.conflict.limits)


def _without_salt_ceiling(
    question: TankQuestion,
) -> tuple[PlanProblem, SolvedPlan, tuple[Message, ...]]:
    problem = question.problem
    place = problem.element("salinity")
    elements = list(problem.elements)
    elements[place] = replace(elements[place], ceiling=None)
    free = replace(problem, elements=tuple(elements))
    answer = solve_plan(free)
    told = salinity_passed(problem.elements[place], answer.levels[place], question.start)
    return free, answer, told


def _spans(start: dt.date, solved: SolvedPlan, days: int) -> list[tuple[dt.date, dt.date]]:
    ends = (*solved.phases[1:], days)
    return [
        (start + dt.timedelta(days=first), start + dt.timedelta(days=last - 1))
        for first, last in zip(solved.phases, ends, strict=True)
    ]
