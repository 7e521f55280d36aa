"""The supplements a plan may use, as what one mL set does to this tank."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

import pandas as pd

from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.seawater import REFERENCE_SALINITY, density_kg_per_L
from reef_calc.chem.supplements import Supplement
from reef_calc.chem.units import convert
from reef_calc.errors import InputError
from reef_calc.log.description import Water
from reef_calc.log.tank import Tank
from reef_calc.messages import Message
from reef_calc.plan.dissolved_salt import salt_brought
from reef_calc.plan.dose_sizes import dose_limit, room_for_doses, step_of
from reef_calc.plan.doses_set import DoseSetNow, set_now
from reef_calc.plan.problem import SupplementToPlan
from reef_calc.plan.wishes import PlanWishes


def usable_supplements(
    tank: Tank, at: pd.Timestamp, wishes: PlanWishes
) -> tuple[dict[str, Supplement], dict[str, DoseSetNow]]:
    """Return the supplements of folder and wishes, those in use first, and what is set of each.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    at : pandas.Timestamp
        Start of the plan (UTC).
    wishes : PlanWishes
        Further supplements, and which may be used.

    Returns
    -------
    dict of str to Supplement
        In the order of preference: in use now, the rest of the folder, the further ones. Those not
        allowed are there too: ``allowed_names`` says which may be planned.
    dict of str to DoseSetNow
        By name.

    Raises
    ------
    InputError
        If a wish names a supplement that does not exist, or one exists twice.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> list(usable_supplements(example_tank(), pd.Timestamp.now("UTC"), PlanWishes())[0])
    ['part one']
    """
    every = dict(tank.supplements)
    for one in wishes.extra:
        if one.name in every:
            raise InputError(
                "a name of its own", one.name, "The folder has it already.", "wishes, extra"
            )
        every[one.name] = one
    asked: Iterable[str] = (*(wishes.allowed or ()), *wishes.most_per_day, *wishes.stock)
    for name in asked:
        if name not in every:
            raise InputError(
                f"one of {', '.join(every) or 'no supplement, for none is described'}",
                name,
                "Describe it in supplements.toml, or correct the name.",
                "wishes, supplements",
            )
    now = {name: set_now(tank, name, at) for name in every}
    order = sorted(every, key=lambda name: not now[name].lately)
    return {name: every[name] for name in order}, now


def allowed_names(
    every: Mapping[str, Supplement], now: Mapping[str, DoseSetNow], wishes: PlanWishes
) -> tuple[str, ...]:
    """Return the supplements that the plan may use.

    Parameters
    ----------
    every : mapping of str to Supplement
        All of them.
    now : mapping of str to DoseSetNow
        What is set of each.
    wishes : PlanWishes
        ``allowed`` and ``only_in_use``.

    Returns
    -------
    tuple of str
        Names in the order of ``every``.

    Examples
    --------
    >>> stock = Supplement("soda", {"alkalinity": 1.0})
    >>> allowed_names({"soda": stock}, {}, PlanWishes(allowed=()))
    ()
    """
    asked = every if wishes.allowed is None else wishes.allowed
    further = [one.name for one in wishes.extra]
    return tuple(
        name
        for name in every
        if name in asked and (not wishes.only_in_use or name in further or now[name].lately)
    )


def effect_on(
    supplement: Supplement, units: Mapping[str, str], water: Water
) -> tuple[dict[str, float], float]:
    """Return what one mL (or gram) set does to the levels of a tank, and the salt it leaves.

    effect = adds·delivered/V; salinity: all salt in balance with air/(V·ρ).

    Parameters
    ----------
    supplement : Supplement
        What is dosed.
    units : mapping of str to str
        Unit by element.
    water : Water
        Net volume, salinity, temperature.

    Returns
    -------
    dict of str to float
        Rise by element, in its unit.
    float
        Salt that stays (g/kg).

    Examples
    --------
    >>> import datetime as dt
    >>> water = Water(dt.datetime(2026, 1, 1, tzinfo=dt.UTC), 100.0, 1.0, 35.0, 25.0, 500.0)
    >>> effect, left = effect_on(Supplement("c", {"calcium": 35.0}), {"calcium": "mg/L"}, water)
    >>> round(effect["calcium"], 4), round(left, 6)
    (0.35, 0.000605)
    """
    share = supplement.delivered_over_set.value / water.net_L
    found: dict[str, float] = {}
    salt = salt_brought(supplement)
    per_kg = share / 1000.0 / float(density_kg_per_L(water.salinity, water.temperature_C))
    for name, unit in units.items():
        if name == "salinity":
            found[name] = salt.whole_mg * per_kg * 35.0 / REFERENCE_SALINITY
        elif supplement.adds.get(name):
            found[name] = float(
                convert(
                    supplement.adds[name] * share, ELEMENTS[name].store_unit, unit, name,
                    salinity=water.salinity, temperature_C=water.temperature_C,
                )
            )  # fmt: skip
    return found, salt.left_mg * per_kg


def supplements_to_plan(
    chosen: Mapping[str, Supplement],
    now: Mapping[str, DoseSetNow],
    units: Mapping[str, str],
    water: Water,
    wishes: PlanWishes,
    kept: Mapping[str, Supplement] | None = None,
) -> tuple[tuple[SupplementToPlan, ...], tuple[Message, ...]]:
    """Return the supplements as a plan needs them: effect on this tank and limits, in order.

    Parameters
    ----------
    chosen : mapping of str to Supplement
        Supplements to plan, the preferred first.
    now : mapping of str to DoseSetNow
        What is set of each.
    units : mapping of str to str
        Unit by element of the plan.
    water : Water
        Water of the tank at the start.
    wishes : PlanWishes
        Limits typed for this plan.
    kept : mapping of str to Supplement, optional
        Containers that stay as they are and need times of the day too.

    Returns
    -------
    tuple of SupplementToPlan
        Amounts in mL or g as set.
    tuple of Message
        What was taken where nothing is written.

    Raises
    ------
    InputError
        If there are more kinds of container than half hours in a day.

    Notes
    -----
    Single doses of alkalinity: 0.5 dKH, with hydroxide 0.2 dKH (*common practice, no source*).

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> tank, at = example_tank(), pd.Timestamp("2026-02-16", tz="UTC")
    >>> every, now = usable_supplements(tank, at, PlanWishes())
    >>> units = {"alkalinity": "dKH", "salinity": "PSU"}
    >>> (one,), told = supplements_to_plan(every, now, units, tank.water_at(at), PlanWishes())
    >>> round(one.effect["alkalinity"], 5), one.set_now, round(one.most_per_dose, 3)
    (0.01667, 60.0, 30.0)
    """
    doses = min(wishes.most_doses, room_for_doses((*chosen.values(), *(kept or {}).values())))
    found, messages = [], []
    for name, one in chosen.items():
        effect, left = effect_on(one, units, water)
        brought = salt_brought(one)
        if brought.assumed:
            messages.append(Message("SALT_ASSUMED", brought.assumed))
        messages += [Message("ASSUMED", f"{name}: {text}") for text in one.assumed]
        most, why = _most(one, wishes)
        step = step_of(one)
        if f"step_{one.unit}" not in one.limits:
            words = f"{name}: step_{one.unit} is not written: {step:g} {one.unit} is taken."
            messages.append(Message("STEP_TAKEN", words))
        delivered = one.delivered_over_set
        found.append(
            SupplementToPlan(
                name,
                effect,
                unit=one.unit,
                most_per_day=most,
                why_most=why,
                most_per_dose=min(
                    one.limits.get(f"{one.unit}_per_dose", math.inf), dose_limit(one, water.net_L)
                ),
                most_doses=doses,
                step=step,
                stock=wishes.stock.get(name, math.inf),
                residue=left,
                u_effect=math.hypot(one.strength_u, delivered.u / delivered.value),
                lag_days=one.lag_days if "alkalinity" in effect else 0.0,
                linked={other: ratio for other, ratio in one.linked.items() if other in chosen},
                set_now=now[name].amount,
            )
        )
        for other in one.linked:
            if other not in chosen:
                words = f"{name} is linked to {other}, which is not part of this plan."
                messages.append(Message("LINK_LEFT_OUT", words, "qualified"))
    return tuple(found), tuple(messages)


def stopped_supplements(
    stopped: Mapping[str, Supplement],
    now: Mapping[str, DoseSetNow],
    units: Mapping[str, str],
    water: Water,
) -> tuple[SupplementToPlan, ...]:
    """Return the supplements that are dosed today and of which the plan gives nothing.

    Parameters
    ----------
    stopped : mapping of str to Supplement
        What is dosed and may not be used.
    now : mapping of str to DoseSetNow
        What is set of each.
    units : mapping of str to str
        Unit by element of the plan.
    water : Water
        Water of the tank at the start.

    Returns
    -------
    tuple of SupplementToPlan
        With a largest amount of 0 mL (or g) a day.

    Notes
    -----
    They stand in the plan so that it says what today's doses would do, and that they are set to 0.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> tank, at = example_tank(), pd.Timestamp("2026-02-16", tz="UTC")
    >>> every, now = usable_supplements(tank, at, PlanWishes())
    >>> (one,) = stopped_supplements(every, now, {"alkalinity": "dKH"}, tank.water_at(at))
    >>> one.set_now, one.most_per_day
    (60.0, 0.0)
    """
    return tuple(
        SupplementToPlan(
            name,
            effect_on(one, units, water)[0],
            unit=one.unit,
            most_per_day=0.0,
            why_most="all that this plan may give",
            step=step_of(one),
            u_effect=math.hypot(
                one.strength_u, one.delivered_over_set.u / one.delivered_over_set.value
            ),
            lag_days=one.lag_days,
            set_now=now[name].amount,
        )
        for name, one in stopped.items()
    )


def _most(one: Supplement, wishes: PlanWishes) -> tuple[float, str]:
    """Return the largest amount a day and what sets it; the stricter of the two wins."""
    most, why = one.limits.get(f"{one.unit}_per_day", math.inf), "the limit in supplements.toml"
    if one.name in wishes.most_per_day and wishes.most_per_day[one.name][0] < most:
        most, why = wishes.most_per_day[one.name]
    return most, why or "the largest amount a day"
