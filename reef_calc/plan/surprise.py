"""Whether the last reading of an element has to be confirmed before it is acted on in full."""

from __future__ import annotations

import pandas as pd

from reef_calc.balance.refusals import day_text
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.chem.units import convert
from reef_calc.log.history import tank_readings
from reef_calc.log.tank import Tank
from reef_calc.numbers_in_words import decimals_for, level_text
from reef_calc.plan.confirm import confirm_first, doubted_last
from reef_calc.plan.decision import Situation
from reef_calc.plan.rule import old_days

# Step between two readings beyond which a second test comes first (common practice, no source).
JUMP = {"alkalinity": (0.5, "dKH"), "calcium": (20.0, "mg/L")}
SAME_SITTING = pd.Timedelta(hours=1)


def surprise(
    tank: Tank,
    estimate: ConsumptionEstimate,
    at: pd.Timestamp,
    low: float | None,
    high: float | None,
) -> str:
    """Return why the last reading should be confirmed first; empty where it may be acted on.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    estimate : ConsumptionEstimate
        What the balance says of the element.
    at : pandas.Timestamp
        Moment before which readings count (UTC).
    low, high : float or None
        Ends of the aims, in the unit of the estimate.

    Returns
    -------
    str
        One or two sentences, or nothing.

    Examples
    --------
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> from reef_calc.log.example import example_tank
    >>> tank, at = example_tank(), pd.Timestamp("2026-02-16", tz="UTC")
    >>> surprise(tank, estimate_consumption(tank, "alkalinity"), at, 7.2, 8.5)
    ''
    """
    name, unit, sessions = estimate.element, estimate.unit, estimate.record.sessions
    readings = tank_readings(tank, name, unit, until=at - pd.Timedelta(seconds=1))
    if readings.empty:
        return ""
    newest = readings.iloc[-1]
    aside = set(estimate.set_aside["row"]) | set(estimate.left_out["row"])
    if newest["limit"] == "" and newest["row"] in aside:
        words = (
            f"{_text(newest['level'], newest, unit)} on {day_text(newest['time'], str(tank.zone))}"
        )
        doubted = doubted_last(Situation(name, unit, estimate.behaviour, doubted=words))
        return doubted.reason if doubted else ""
    sessions = sessions[[not aside.intersection(rows) for rows in sessions["rows"]]]
    if sessions.empty:
        return ""
    last = sessions.iloc[-1]
    recent = sessions[sessions["time"] >= last["time"] - pd.Timedelta(days=old_days(name))]
    earlier = recent[recent["time"] < last["time"] - SAME_SITTING]
    level = float(last["level"])
    jump = None
    if name in JUMP:
        jump = float(convert(*JUMP[name], unit, name, salinity=35.0, temperature_C=25.0))
    where = "below" if low is not None and level < low else ""
    where = "above" if high is not None and level > high else where
    situation = Situation(
        name,
        unit,
        estimate.behaviour,
        level=level,
        decimals=_decimals(last),
        low=low,
        high=high,
        expected=estimate.expected_last,
        jump=jump,
        previous=float(earlier["level"].iloc[-1]) if len(earlier) else None,
        single=len(recent) == 1,
    )
    unsure = confirm_first(situation, where)
    return unsure.reason if unsure else ""


def _decimals(row: pd.Series) -> int:
    return max(decimals_for(max(float(row["sd"]), 1e-6)), 0)


def _text(level: float, row: pd.Series, unit: str) -> str:
    return level_text(float(level), _decimals(row), unit)
