"""Salinity in a plan: only reported, with its upper aim as a level that doses must not pass."""

from __future__ import annotations

import math
from collections.abc import Mapping

import pandas as pd

from reef_calc.balance.refusals import day_text
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.formulas import molar_mass
from reef_calc.chem.seawater import REFERENCE_SALINITY, density_kg_per_L
from reef_calc.chem.units import convert
from reef_calc.log.description import Water
from reef_calc.log.history import tank_readings
from reef_calc.log.tank import Tank
from reef_calc.messages import Message
from reef_calc.plan.changes_ahead import UNKNOWN_SALINITY_U, new_water_level
from reef_calc.plan.dissolved_salt import CARRIER
from reef_calc.plan.problem import ElementToPlan
from reef_calc.plan.rule import old_days
from reef_calc.plan.starting_point import StartingPoint
from reef_calc.plan.wishes import PlanWishes


def salinity_ahead(
    tank: Tank,
    at: pd.Timestamp,
    points: Mapping[str, StartingPoint],
    water: Water,
    wishes: PlanWishes,
) -> tuple[ElementToPlan, tuple[Message, ...]]:
    """Return salinity as a plan follows it: reported, its upper aim a ceiling for doses.

    Doses bring salt as ``supplements_of_tank.effect_on`` counts it; skeletons take bicarbonate, calcium and
    strontium out again. A tank that is in balance is left with sodium and chloride.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    at : pandas.Timestamp
        Start of the plan (UTC).
    points : mapping of str to StartingPoint
        Uses of the elements.
    water : Water
        Net volume, salinity and temperature.
    wishes : PlanWishes
        Typed level and aims (PSU).

    Returns
    -------
    ElementToPlan
        In PSU, whatever unit the aims have.
    tuple of Message
        What was taken.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> tank, at = example_tank(), pd.Timestamp("2026-02-16", tz="UTC")
    >>> one, told = salinity_ahead(tank, at, {}, tank.water_at(at), PlanWishes())
    >>> one.start, told[1].text
    (35.0, 'No reading of salinity: 35 PSU of tank.toml is taken. Test it.')
    """
    messages = [
        Message(
            "TOP_UP",
            "Evaporated water is taken to be topped up with fresh water, so that only doses and "
            "water changes move salinity.",
        )
    ]
    read = tank_readings(tank, "salinity", "PSU", until=at - pd.Timedelta(seconds=1))
    read = read[(read["limit"] == "") & ~read["outside"].astype(bool)]
    if "salinity" in wishes.levels:
        level, u = wishes.levels["salinity"]
    elif len(read):
        last = read.iloc[-1]
        level = float(last["corrected"])
        u = math.hypot(float(last["sd"]), float(last["resolution"]) / math.sqrt(12))
        age = (at - last["time"]) / pd.Timedelta(days=1)
        if age > old_days("salinity"):
            day = day_text(last["time"], str(tank.zone))
            words = f"Salinity was last read on {day}, {age:.0f} days before the plan begins."
            messages.append(Message("OLD_READING", words, "qualified"))
    else:
        level, u = water.salinity, UNKNOWN_SALINITY_U
        words = f"No reading of salinity: {level:g} PSU of tank.toml is taken. Test it."
        messages.append(Message("SALINITY_TAKEN", words, "qualified"))
    aim = tank.aims.get("salinity")
    ceiling = None
    if "salinity" in wishes.aims:
        ceiling = wishes.aims["salinity"][2]
    elif aim is not None:
        ceiling = float(
            convert(aim.high, aim.unit, "PSU", "salinity", temperature_C=water.temperature_C)
        )
    if ceiling is not None and level >= ceiling:
        words = (
            f"Salinity, {level:.1f} PSU, is at its upper aim of {ceiling:g} PSU or above already. Bring "
            "it down first: a little less salt water, a little more fresh water, over days. The plan "
            "does not keep to this aim."
        )
        messages.append(Message("SALINITY_HIGH", words, "qualified"))
        ceiling = None
    new = new_water_level(tank, "salinity", "PSU", at, level)
    one = ElementToPlan(
        "salinity", "PSU", level, use=salt_taken(points, water), new_water=new.level,
        ceiling=ceiling, u_start=u, u_new_water=new.u, basis="salt that skeletons take",
    )  # fmt: skip
    return one, tuple(messages)


def salt_taken(points: Mapping[str, StartingPoint], water: Water) -> float:
    """Return by how much what is used lowers salinity a day: bicarbonate, calcium and strontium.

    Parameters
    ----------
    points : mapping of str to StartingPoint
        Uses of the elements.
    water : Water
        Salinity and temperature, for the density.

    Returns
    -------
    float
        PSU a day.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> salt_taken({}, example_tank().waters[0])
    0.0
    """
    mg = 0.0
    for name, point in points.items():
        if name not in ("alkalinity", "calcium", "strontium") or point.use is None:
            continue
        facts = ELEMENTS[name]
        use = float(
            convert(
                point.use, point.unit, facts.store_unit, name,
                salinity=water.salinity, temperature_C=water.temperature_C,
            )
        )  # fmt: skip
        mg += use * (molar_mass(CARRIER) if name == "alkalinity" else 1.0)
    kg = density_kg_per_L(water.salinity, water.temperature_C)
    return mg / 1000.0 / kg * 35.0 / REFERENCE_SALINITY
