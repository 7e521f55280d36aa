"""What each dose of a plan does to pH and aragonite saturation, mixed in the whole tank."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from reef_calc.chem.alkalinity_kinds import (
    AlkalinityShares,
    alkalinity_kind,
    alkalinity_shares,
)
from reef_calc.chem.carbonate import state_from_ph, state_in_air
from reef_calc.chem.carbonate_constants import range_words
from reef_calc.chem.carbonate_doses import after_adding
from reef_calc.chem.carbonate_water import CarbonateState, CarbonateWater, per_L_from_umol_per_kg
from reef_calc.chem.supplements import Supplement
from reef_calc.chem.units import convert
from reef_calc.errors import CannotTellError, InputError
from reef_calc.messages import Message
from reef_calc.plan.doses_for_ph import doses_for_ph
from reef_calc.plan.ph_words import about_dose, about_water
from reef_calc.plan.solved import SolvedPlan

USUAL_AIR_UATM = 500.0
AIR_SHOWN_UATM = (400.0, 500.0, 700.0, 1000.0)
LABEL_MAY_MEAN = ("bicarbonate", "carbonate", "hydroxide")


@dataclass(frozen=True)
class PhOfDose:
    """One dose of one container; states are arrays over ``bases``.

    Attributes
    ----------
    name, kind : str
        Supplement, and what carries its alkalinity.
    taken_as : str
        Kind it was worked out with; the strongest possible where only a label is known.
    amount, unit : float and str
        Largest single dose of the plan as set (mL or g).
    per_day : float
        Largest amount a day as set (mL or g).
    doses_a_day : int
        Number of doses in which the plan gives it on the day of the largest single dose.
    rise_meq_per_L, late_meq_per_L : float
        Alkalinity of one dose at once, and what appears later (meq/L).
    bases : tuple of str
        "now", "aim", "plan": at which alkalinity the dose falls in.
    before, right_after, settled : CarbonateState
        Before; mixed in and no gas exchanged; back in balance with room air.
    possible : dict of str to float
        Change of pH now by what the label may mean; empty where the kind is known.
    enough_doses : int or None
        Number of equal doses a day from which all limits are kept; None where none do.
    """

    name: str
    kind: str
    taken_as: str
    amount: float
    unit: str
    per_day: float
    doses_a_day: int
    rise_meq_per_L: float
    late_meq_per_L: float
    bases: tuple[str, ...]
    before: CarbonateState
    right_after: CarbonateState
    settled: CarbonateState
    possible: dict[str, float]
    enough_doses: int | None

    @property
    def ph_change(self) -> np.ndarray:
        """Change of pH right after the dose at each base (pH units)."""
        return np.asarray(self.right_after.ph_total - self.before.ph_total)


@dataclass(frozen=True)
class PhOfDoses:
    """pH and saturation of a plan.

    Attributes
    ----------
    bases : tuple of str
        "now", and "aim" and "plan" where there are such.
    states : CarbonateState
        Before any dose; arrays over ``bases``.
    air_uatm : float
        Carbon dioxide of the room (µatm).
    in_air : dict of float to CarbonateState
        The bases in balance with rooms of other air, by its carbon dioxide (µatm).
    doses : tuple of PhOfDose
        One for each container that the plan uses.
    day_in_one : CarbonateState
        Each base after a whole day's doses of all containers, if no gas were exchanged and nothing
        used: the other extreme to water that is back in balance before each dose.
    messages : tuple of Message
        Warnings first.
    """

    bases: tuple[str, ...]
    states: CarbonateState
    air_uatm: float
    in_air: dict[float, CarbonateState]
    doses: tuple[PhOfDose, ...]
    day_in_one: CarbonateState
    messages: tuple[Message, ...]


def ph_of_doses(
    solved: SolvedPlan,
    supplements: Sequence[Supplement],
    net_L: float,
    *,
    salinity: float = 35.0,
    temperature_C: float = 25.0,
    air_co2_uatm: float | None = None,
    boron_mg_per_L: float | None = None,
    ph_nbs: float | None = None,
    kinds: Mapping[str, str] | None = None,
) -> PhOfDoses:
    """Return pH and aragonite saturation now, at the aim, under the plan, and after each dose.

    Parameters
    ----------
    solved : SolvedPlan
        Amounts, doses a day and levels.
    supplements : sequence of Supplement
        With recipes; those of the plan by name.
    net_L : float
        Net volume (L), above 0.
    salinity : float, optional
        Practical salinity (no unit).
    temperature_C : float, optional
        Temperature (°C).
    air_co2_uatm : float, optional
        Carbon dioxide of the room air (µatm); 500 is taken and said when not given.
    boron_mg_per_L : float, optional
        Boron (mg/L); by salinity and said when not given.
    ph_nbs : float, optional
        pH measured now, NBS scale (no unit). The tank then keeps the carbon dioxide it shows.
    kinds : mapping of str to str, optional
        "bicarbonate", "carbonate" or "hydroxide" by supplement where only a label is known.

    Returns
    -------
    PhOfDoses
        States, number of doses that keep the limits, and messages.

    Raises
    ------
    CannotTellError
        Without alkalinity in the plan, or without the carbonate extra.
    InputError
        If a supplement of the plan is not handed in, or a number cannot be.

    Notes
    -----
    Doses are mixed in the whole tank, where they run in all is far higher. Magnesium, phosphate and
    organic matter, which slow precipitation, are not counted. The dose is worked out as if the
    water stood in balance before it; ``day_in_one`` is the other extreme.

    Examples
    --------
    >>> from reef_calc.chem.supplements import supplement_from_table
    >>> from reef_calc.plan.problem import ElementToPlan, PlanProblem, SupplementToPlan
    >>> soda = supplement_from_table("soda", {"recipe": [
    ...     {"salt": "soda ash", "hydrate": 0, "grams_per_L": 53.0}]})
    >>> problem = PlanProblem((ElementToPlan("alkalinity", "dKH", 8.0, use=0.5, aim=8.0),),
    ...     (SupplementToPlan("soda", {"alkalinity": 0.028}),), 1)
    >>> plan = SolvedPlan(problem, (0,), np.array([[17.8326]]), np.array([[17.8326]]),
    ...     np.array([[1]]), np.array([[8.0, 8.0]]), (), None, {}, 0.0)
    >>> found = ph_of_doses(plan, [soda], 100.0, air_co2_uatm=500.0)
    >>> round(float(found.doses[0].ph_change[0]), 2), found.doses[0].enough_doses
    (0.1, 1)
    """
    if not 0.0 < net_L < float("inf"):
        raise InputError("a net volume above 0 L", net_L, "Write the water without rock and sand.")
    names = [e.name for e in solved.problem.elements]
    if "alkalinity" not in names:
        raise CannotTellError("pH needs alkalinity, and this plan does not hold it: test it.")
    air = USUAL_AIR_UATM if air_co2_uatm is None else air_co2_uatm
    bases, levels, calcium = _bases(solved)
    water = CarbonateWater(salinity, temperature_C, calcium, boron_mg_per_L)
    if ph_nbs is None:
        states = state_in_air(levels, air, water)
    else:
        only_now = CarbonateWater(salinity, temperature_C, boron_mg_per_L=boron_mg_per_L)
        now = state_from_ph(float(levels[0]), ph_nbs, only_now)
        states = state_in_air(levels, now.pco2_uatm, water)
    doses = []
    whole_alkalinity = whole_carbon = whole_calcium = whole_boron = 0.0
    for place, one in enumerate(solved.problem.supplements):
        if not np.any(solved.amounts[place] > 0.0):
            continue
        supplement = _named(supplements, one.name)
        dose, per_L = _one(
            supplement, solved, place, net_L, states, bases, air, (kinds or {}).get(one.name)
        )
        doses.append(dose)
        day = dose.per_day * supplement.delivered_over_set.value / net_L
        whole_alkalinity += per_L.at_once_meq * day
        whole_carbon += per_L.carbon_mmol * day
        whole_calcium += per_L.calcium_mg * day
        whole_boron += per_L.boron_mg * day
    day_in_one = after_adding(
        states,
        whole_alkalinity,
        whole_carbon,
        calcium_mg_per_L=whole_calcium,
        boron_mg_per_L=whole_boron,
    )
    in_air = {uatm: state_in_air(levels, uatm, water) for uatm in AIR_SHOWN_UATM}
    said = [message for dose in doses for message in about_dose(dose)]
    said += about_water(
        bases,
        states,
        day_in_one if doses else None,
        air,
        in_air,
        air_given=air_co2_uatm is not None,
        boron_typed=boron_mg_per_L is not None,
        calcium_known="calcium" in names,
        ph_typed=ph_nbs,
        adds_alkalinity=whole_alkalinity > 0.0,
    )
    said += range_words(salinity, temperature_C)
    return PhOfDoses(
        bases,
        states,
        air,
        in_air,
        tuple(doses),
        day_in_one,
        tuple(sorted(said, key=lambda message: message.kind == "told")),
    )


def _bases(solved: SolvedPlan) -> tuple[tuple[str, ...], np.ndarray, np.ndarray | None]:
    """Return the places at which a dose may fall in, their alkalinity (meq/L) and calcium (mg/L)."""
    problem = solved.problem
    row = problem.element("alkalinity")
    alkalinity = problem.elements[row]
    found = {"now": alkalinity.start, "plan": float(np.max(solved.levels[row]))}
    if alkalinity.aim is not None:
        found = {"now": found["now"], "aim": alkalinity.aim, "plan": found["plan"]}
    levels = np.array(
        [convert(level, alkalinity.unit, "meq/L", "alkalinity") for level in found.values()]
    )
    if not any(e.name == "calcium" for e in problem.elements):
        return tuple(found), levels, None
    row = problem.element("calcium")
    one = problem.elements[row]
    highest = float(np.max(solved.levels[row]))
    by_base = {"now": one.start, "aim": one.start if one.aim is None else one.aim, "plan": highest}
    calcium = [convert(by_base[base], one.unit, "mg/L", "calcium") for base in found]
    return tuple(found), levels, np.array(calcium)


def _named(supplements: Sequence[Supplement], name: str) -> Supplement:
    for one in supplements:
        if one.name == name:
            return one
    raise InputError(
        f"the recipe or label of {name}", "nothing", "Write it in supplements.toml.", ""
    )


def _one(
    supplement: Supplement,
    solved: SolvedPlan,
    place: int,
    net_L: float,
    states: CarbonateState,
    bases: tuple[str, ...],
    air: float,
    told: str | None,
) -> tuple[PhOfDose, AlkalinityShares]:
    """Return one container's dose, and what a mL of it adds."""
    amounts, number = solved.amounts[place], np.maximum(solved.doses_a_day[place], 1)
    largest = int(np.argmax(amounts / number))
    single, per_day = float(amounts[largest] / number[largest]), float(np.max(amounts))
    kind, shares = alkalinity_kind(supplement), alkalinity_shares(supplement)
    taken_as, possible = kind, {}
    delivered = supplement.delivered_over_set.value / net_L
    if shares is None:
        taken_as = told or "hydroxide"
        if taken_as not in LABEL_MAY_MEAN:
            raise InputError(
                f"one of {', '.join(LABEL_MAY_MEAN)}", taken_as, "Read the label.", supplement.name
            )
        shares = _as(supplement, taken_as)
        if told is None:
            for each in LABEL_MAY_MEAN:
                after = _after(states, _as(supplement, each), single * delivered)
                possible[each] = float(np.ravel(after.ph_total - states.ph_total)[0])
    right_after = _after(states, shares, single * delivered)
    late = shares.meq.get("delayed", 0.0) * single * delivered
    water = right_after.water
    at_rest = per_L_from_umol_per_kg(
        right_after.alkalinity_umol_per_kg, water.salinity, water.temperature_C
    )
    dose = PhOfDose(
        supplement.name,
        kind,
        taken_as,
        single,
        supplement.unit,
        per_day,
        int(number[largest]),
        shares.at_once_meq * single * delivered,
        late,
        bases,
        states,
        right_after,
        state_in_air(at_rest + late, air, water),
        possible,
        doses_for_ph(shares, per_day * delivered, states),
    )
    return dose, shares


def _as(supplement: Supplement, kind: str) -> AlkalinityShares:
    """Return what a mL adds if its alkalinity is all of one kind."""
    adds = supplement.adds
    return AlkalinityShares(
        {kind: adds["alkalinity"]}, adds.get("calcium", 0.0), adds.get("boron", 0.0)
    )


def _after(states: CarbonateState, shares: AlkalinityShares, per_L: float) -> CarbonateState:
    return after_adding(
        states,
        shares.at_once_meq * per_L,
        shares.carbon_mmol * per_L,
        calcium_mg_per_L=shares.calcium_mg * per_L,
        boron_mg_per_L=shares.boron_mg * per_L,
    )
