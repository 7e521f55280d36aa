"""Sentences about what a rate rests on: new water, delivery, readings, salinity."""

from __future__ import annotations

import numpy as np
import pandas as pd

from reef_calc.balance.reading_noise import hour_varies
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.steady_use import SteadyUse
from reef_calc.balance.usable_readings import SALINITY_STEP
from reef_calc.chem.elements import ELEMENTS
from reef_calc.log.tank import Tank
from reef_calc.messages import Message

REFUSE_OTHER_KIT = 0.10


def about_new_water(
    record: ElementRecord, fit: SteadyUse, other_kit: float, e: ConsumptionEstimate
) -> list[Message]:
    """Return what is known of the new water and what a test of it would buy.

    Parameters
    ----------
    record : ElementRecord
        The window.
    fit : SteadyUse
        Its averaged fit.
    other_kit : float
        Bound from new water read with another kit, unit per day.
    e : ConsumptionEstimate
        The estimate.

    Returns
    -------
    list of Message
        Sentences.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> tank = example_tank()
    >>> use = estimate_consumption(tank, "alkalinity")
    >>> from reef_calc.balance.history_fit import fit_record
    >>> fit, _, _ = fit_record(use.record, sd_worth=20.0)
    >>> about_new_water(use.record, fit, 0.0, use)  # tested with the kit in use
    []
    >>> about_new_water(use.record, fit, 0.007, use)[0].code
    'NEW_WATER_OTHER_KIT'
    """
    water, found = record.new_water, []
    if not len(water.levels):
        return []
    if water.source != "measured" and "new water" in fit.names:
        line = e.budget.loc[e.budget["source"] == "new water", "share"]
        share = float(line.iloc[0]) if len(line) else 0.0
        gain = 1 - float(np.sqrt(max(1 - share, 0.0)))
        what = (
            f"only known from a label (± {water.u:g} {record.unit})"
            if water.source == "label"
            else "not known at all"
        )
        worth = (
            f"One test of it would make the interval about {100 * gain:.0f} % narrower."
            if gain >= 0.02
            else "A test of it would hardly narrow the interval."
        )
        found.append(
            Message("NEW_WATER_UNKNOWN", f"The new water's level is {what}. {worth}", "qualified")
        )
    if water.borrowed:
        found.append(
            Message(
                "NEW_WATER_ASSUMED",
                "The water change before the first test of new water was given its level."
                if water.borrowed == 1
                else f"{water.borrowed} water changes before the first test of new water were given "
                "its level.",
            )
        )
    if other_kit > 0 and e.rate is not None:
        share = other_kit / abs(e.rate) if e.rate else np.inf
        found.append(
            Message(
                "NEW_WATER_OTHER_KIT",
                f"The new water was not read with the kit and lot in use: the rate may be off by up "
                f"to {other_kit:.2g} {e.unit} a day, which is in the interval."
                + (
                    " That is more than a tenth of it: read one new water with the kit in use."
                    if share > REFUSE_OTHER_KIT
                    else ""
                ),
                "qualified",
            )
        )
    return found


def about_refused_rows(tank: Tank) -> list[Message]:
    """Return what is missing from the balance because rows of the log were refused.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.

    Returns
    -------
    list of Message
        At most one.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> tank = example_tank()
    >>> about_refused_rows(tank)
    []
    >>> from dataclasses import replace
    >>> spoilt = replace(tank, counts=tank.counts.assign(refused=[0, 2, 0, 0]))
    >>> print(about_refused_rows(spoilt)[0].text)
    Rows that could not be used are missing from the balance (2 of additions.csv): ...
    """
    counts = tank.counts.set_index("file")["refused"]
    bad = {f: int(counts.get(f, 0)) for f in ("additions.csv", "water_changes.csv")}
    if not any(bad.values()):
        return []
    what = " and ".join(f"{n} of {file}" for file, n in bad.items() if n)
    return [
        Message(
            "ROWS_REFUSED",
            f"Rows that could not be used are missing from the balance ({what}): the rate is wrong "
            "by whatever they moved. Repair them first; they stand under “Readings to doubt”.",
            "qualified",
        )
    ]


def about_delivery(delivery: float, e: ConsumptionEstimate) -> list[Message]:
    """Return what is known of pump and strength.

    Parameters
    ----------
    delivery : float
        Standard uncertainty of the use from pump and strength, unit per day.
    e : ConsumptionEstimate
        The estimate.

    Returns
    -------
    list of Message
        Sentences.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> tank = example_tank()
    >>> use = estimate_consumption(tank, "alkalinity")
    >>> about_delivery(0.0447, use)[0].text
    'Strength and pump are known to ± 0.089 dKH a day (2 u), which is in the interval.'
    >>> about_delivery(0.0, use)[0].code
    'DOSE_AS_STATED'
    """
    if delivery > 0:
        return [
            Message(
                "PUMP_UNCERTAINTY",
                f"Strength and pump are known to ± {2 * delivery:.2g} {e.unit} a day (2 u), which is "
                "in the interval.",
            )
        ]
    if e.dose_now:
        return [
            Message(
                "DOSE_AS_STATED",
                "Doses are taken as set: an error of pump or strength passes 1:1 into the use.",
            )
        ]
    return []


def about_readings(tank: Tank, record: ElementRecord, fit: SteadyUse) -> list[Message]:
    """Return what limits the readings themselves.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    record : ElementRecord
        The window.
    fit : SteadyUse
        Its averaged fit.

    Returns
    -------
    list of Message
        Sentences.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> tank = example_tank()
    >>> use = estimate_consumption(tank, "alkalinity")
    >>> from reef_calc.balance.history_fit import fit_record
    >>> fit, _, _ = fit_record(use.record, sd_worth=20.0)
    >>> about_readings(tank, use.record, fit)  # one kit, one hour, no replicates
    []
    >>> use.record.sessions["resolution"] = 0.5
    >>> [m.code for m in about_readings(tank, use.record, fit)]
    ['COARSE_RESOLUTION']
    """
    sessions, found = record.sessions, []
    last = sessions.iloc[-1]
    if last["resolution"] > 0 and last["sd"] < last["resolution"] / 3:
        found.append(
            Message(
                "COARSE_RESOLUTION",
                f"The kit's step ({last['resolution']:g} {record.unit}) is coarse against its "
                "scatter: replicates will not help, a finer kit or a longer span will.",
                "qualified",
            )
        )
    if hour_varies(record, fit.rate_scale):
        found.append(
            Message(
                "HOUR_VARIES",
                "Readings were taken at different hours and use is fast: test at one hour of the "
                "day. Each reading was given 5 % of a day's use more scatter.",
                "qualified",
            )
        )
    if sessions["date_only"].any():
        hourless = int(sessions["date_only"].sum())
        which = "has no time and is" if hourless == 1 else "have no time and are"
        found.append(
            Message(
                "DATE_ONLY",
                f"{hourless} of {len(sessions)} readings {which} taken at 12:00. On days with a dose "
                "at once or a water change that adds a scatter of up to 0.29 of a day's use.",
                "qualified" if sessions["date_only"].mean() > 0.3 else "told",
            )
        )
    if (sessions["n"] > 1).any():
        several = int((sessions["n"] > 1).sum())
        found.append(
            Message(
                "REPLICATES",
                "One sitting has replicates: their mean counts a little more than one reading."
                if several == 1
                else f"{several} sittings have replicates: each mean counts a little more than one reading.",
            )
        )
    if ELEMENTS[record.element].scales_with_salinity:
        found += _salinity(tank, record)
    return found


def _salinity(tank: Tank, record: ElementRecord) -> list[Message]:
    r = tank.readings
    first, last = record.sessions["time"].iloc[0], record.sessions["time"].iloc[-1]
    salt = r[
        (r["element"] == "salinity")
        & (r["water"] == "tank")
        & (r["limit"] == "")
        & (r["time"] >= first - pd.Timedelta(days=3))
        & (r["time"] <= last + pd.Timedelta(days=3))
    ]["level"]
    if len(salt) < 2 or float(salt.max() - salt.min()) <= SALINITY_STEP:
        return []
    moved = float(salt.max() - salt.min())
    return [
        Message(
            "SALINITY_MOVED",
            f"Salinity moved by {moved:.1f} between readings: {record.element} moves with it. "
            + (
                "Levels are scaled to one salinity inside the balance."
                if record.scaled
                else "Too few readings have a salinity to scale them, so part of the scatter is salt."
            ),
            "qualified",
        )
    ]
