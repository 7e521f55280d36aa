"""What one plan leads to, worked out once: forecast, tests, residue, pH, spills, cautions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from reef_calc.balance.uncertainty import HALF_WIDTH
from reef_calc.chem.carbonate_doses import after_adding
from reef_calc.chem.supplements import Supplement
from reef_calc.errors import CannotTellError, ReefError
from reef_calc.log.tank import Tank
from reef_calc.plan.caution_texts import Caution
from reef_calc.plan.cautions import cautions_for
from reef_calc.plan.containers import Container, Emptied, container_of
from reef_calc.plan.dose_plan import DosePlan
from reef_calc.plan.emptied import emptied
from reef_calc.plan.forecast import Forecast, forecast, forecast_if_nothing_changes
from reef_calc.plan.from_tank import TankQuestion
from reef_calc.plan.ph_of_doses import PhOfDoses, ph_of_doses
from reef_calc.plan.residue import Residue, residue_of_plan
from reef_calc.plan.when_to_test import NextTest, when_to_test

MONTHS = 6
# What flows out of a reactor carries bicarbonate.
REACTOR = "reactor"


@dataclass(frozen=True)
class PlanResults:
    """A plan with everything it leads to.

    Attributes
    ----------
    plan : DosePlan
        The plan.
    u_use_alone : dict of str to float
        Standard uncertainty of the use without pump and strength (unit per day), by element.
    ahead, unchanged : Forecast
        Levels under the plan, and when every dose stays as it is today.
    tests : dict of str to NextTest
        When to test next, by element with aims.
    boron : float or None
        Boron (mg/L) where it was typed.
    """

    plan: DosePlan
    u_use_alone: dict[str, float]
    ahead: Forecast
    unchanged: Forecast
    tests: dict[str, NextTest]
    boron: float | None

    @property
    def every(self) -> dict[str, Supplement]:
        """Every supplement that is dosed, those that stay as they are included."""
        return {**self.plan.supplements, **self.plan.kept}


def plan_results(tank: Tank, question: TankQuestion, plan: DosePlan) -> PlanResults:
    """Return where a plan leads, with the days to test.

    Parameters
    ----------
    tank : Tank
        The tank.
    question : TankQuestion
        What the plan was made from.
    plan : DosePlan
        The plan.

    Returns
    -------
    PlanResults
        Forecasts and tests; the rest is worked out by the functions of this module when shown.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.plan.dose_plan import dose_plan
    >>> from reef_calc.plan.from_tank import tank_question
    >>> tank = example_tank()
    >>> question = tank_question(tank, 14)
    >>> list(plan_results(tank, question, dose_plan(tank, question)).tests)
    ['alkalinity']
    """
    alone, scatter = {}, {}
    for name, point in question.points.items():
        estimate = point.estimate
        if estimate is None or estimate.rate is None or "typed" in point.basis:
            continue
        if estimate.against_dose is not None:
            low, high = estimate.against_dose
            alone[name] = (high - low) / 2 / HALF_WIDTH
        if len(estimate.used):
            scatter[name] = float(estimate.used["sd"].iloc[-1])
    ahead = forecast(plan.solved, u_use_alone=alone)
    tests = {}
    for one in plan.problem.elements:
        if one.low is not None and one.high is not None:
            sd = scatter.get(one.name)
            tests[one.name] = when_to_test(
                ahead, one.name, kit_sd=sd if sd and sd > 0.0 else None, start=plan.start
            )
    return PlanResults(
        plan,
        alone,
        ahead,
        forecast_if_nothing_changes(plan.problem, u_use_alone=alone),
        tests,
        tank.water_at(question.at).boron,
    )


def doses_of_plan(results: PlanResults) -> list[tuple[Supplement, float]]:
    """Return everything that is dosed in the last phase of a plan, with its amount a day.

    Parameters
    ----------
    results : PlanResults
        The plan.

    Returns
    -------
    list of (Supplement, float)
        Supplement and amount set (mL or g a day).

    Examples
    --------
    See the tests: a plan is needed.
    """
    settings = results.plan.settings
    last = settings[settings["phase"] == settings["phase"].max()]
    return [(results.every[row.container], float(row.per_day)) for row in last.itertuples()]


def residue_ahead(results: PlanResults, *, months: int = MONTHS, held: bool = False) -> Residue:
    """Return what the last phase of a plan leaves, had it gone on for months.

    Parameters
    ----------
    results : PlanResults
        The plan.
    months : int, optional
        Months of 30 days.
    held : bool, optional
        Whether salinity is held by swapping tank water for fresh water.

    Returns
    -------
    Residue
        Day by day.

    Examples
    --------
    See the tests: a plan is needed.
    """
    plan = results.plan
    return residue_of_plan(
        plan.problem,
        doses_of_plan(results),
        plan.net_L,
        months=months,
        salinity=plan.salinity,
        temperature_C=plan.temperature_C,
        salinity_held=held,
    )


def ph_of_plan(
    results: PlanResults,
    *,
    air_uatm: float | None = None,
    ph_now: float | None = None,
    kinds: Mapping[str, str] | None = None,
) -> PhOfDoses | str:
    """Return pH and saturation of a plan, or in words why they cannot be told.

    Parameters
    ----------
    results : PlanResults
        The plan.
    air_uatm : float, optional
        Carbon dioxide of the room air (µatm); of the tank folder when not given.
    ph_now : float, optional
        pH measured now, NBS scale (no unit).
    kinds : mapping of str to str, optional
        Kind of alkalinity where only a label is known.

    Returns
    -------
    PhOfDoses or str
        The states, or a sentence.

    Examples
    --------
    See the tests: a plan is needed.
    """
    plan = results.plan
    try:
        return ph_of_doses(
            plan.solved,
            list(plan.supplements.values()),
            plan.net_L,
            salinity=plan.salinity,
            temperature_C=plan.temperature_C,
            air_co2_uatm=plan.air_co2_uatm if air_uatm is None else air_uatm,
            boron_mg_per_L=results.boron,
            ph_nbs=ph_now,
            kinds={REACTOR: "bicarbonate"} | dict(kinds or {}),
        )
    except CannotTellError as error:
        return str(error)


def emptied_of_plan(
    results: PlanResults, extra: tuple[Container, ...] = ()
) -> tuple[tuple[Emptied, ...], dict[str, float]]:
    """Return what each container does when it runs in at once, and the pH where it can be told.

    Parameters
    ----------
    results : PlanResults
        The plan.
    extra : tuple of Container, optional
        Reservoirs beside the containers of the plan.

    Returns
    -------
    tuple of Emptied
        One a container.
    dict of str to float
        pH (NBS scale) right after, by container.

    Examples
    --------
    See the tests: a plan is needed.
    """
    plan = results.plan
    a_day = plan.settings.groupby("container")["per_day"].max()
    containers = [
        container_of(one, a_day=float(a_day.get(name, 0.0))) for name, one in results.every.items()
    ]
    found = tuple(
        emptied(
            one,
            plan.problem.elements,
            plan.net_L,
            salinity=plan.salinity,
            temperature_C=plan.temperature_C,
        )
        for one in (*containers, *extra)
    )
    return found, _ph_then(results, [*containers, *extra])


def cautions_of_plan(results: PlanResults) -> tuple[Caution, ...]:
    """Return the cautions that belong to a plan, the gravest first.

    Parameters
    ----------
    results : PlanResults
        The plan.

    Returns
    -------
    tuple of Caution
        Each with its place.

    Examples
    --------
    See the tests: a plan is needed.
    """
    every = list(results.every.values())
    return cautions_for(
        every,
        limewater=any("limewater" in one.name.casefold() for one in every),
        surprising=results.plan.problem.halve_first,
    )


def _ph_then(results: PlanResults, containers: list[Container]) -> dict[str, float]:
    now = ph_of_plan(results)
    if isinstance(now, str):
        return {}
    found = {}
    for one in containers:
        if one.full is None or not one.adds.get("alkalinity"):
            continue
        carbon = {"bicarbonate": 1.0, "carbonate": 0.5, "hydroxide": 0.0}.get(one.kind)
        if carbon is None:
            continue
        per_L = one.full / results.plan.net_L
        meq = one.adds["alkalinity"] * per_L
        try:
            then = after_adding(
                now.states, meq, carbon * meq, calcium_mg_per_L=one.adds.get("calcium", 0.0) * per_L
            )
        except ReefError:
            continue
        found[one.name] = float(np.asarray(then.ph_nbs).ravel()[0])
    return found
