"""What a tank uses of one element per day, with its interval, from the tank folder."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from reef_calc.balance.additions import days, moment
from reef_calc.balance.cross_checks import cross_checks
from reef_calc.balance.given_doses import mean_dose, standing_rate
from reef_calc.balance.history_fit import (
    MONTH_COLUMNS,
    fit_record,
    months_frame,
    sd_worth,
    settle,
)
from reef_calc.balance.last_month import last_month_alone
from reef_calc.balance.level_now import expected_last, level_now
from reef_calc.balance.qualify import all_messages, doubted, what_helps
from reef_calc.balance.record import ElementRecord, element_record
from reef_calc.balance.refusals import bridged, mostly_beyond, too_few
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.steady_use import (
    KnownColumn,
    SteadyUse,
)
from reef_calc.balance.uncertainty import (
    arithmetic,
    budget,
    delivery_u,
    other_kit_bound,
    widened,
)
from reef_calc.balance.water_balance import BalanceColumns
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.elements import element as find_element
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import Tank
from reef_calc.messages import Message

WINDOW_DAYS = 90
HISTORY_DAYS = 400
FEWEST_READINGS = 4
SHORTEST_DAYS = 7.0
COMFORTABLE_READINGS = 8


def estimate_consumption(
    tank: Tank,
    element: str,
    until: str | pd.Timestamp | None = None,
    *,
    days_back: int = WINDOW_DAYS,
    unit: str | None = None,
    with_cross_checks: bool = False,
) -> ConsumptionEstimate:
    """Return what the tank uses of one element per day, or in words why that cannot be told.

    The rate is the steady use over the window, the average of six generalised least-squares fits of
    the mass balance; where the months inside the window differ at 95 %, the last month stands alone.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element that is used up (alkalinity, calcium …) or moves by itself (nitrate, phosphate).
    until : str or pandas.Timestamp, optional
        Last day, ``2026-09-30`` in the tank's zone, or a time; the last reading when not given.
    days_back : int, optional
        Length of the window in days; longer, up to 400, until it holds eight readings.
    unit : str, optional
        Unit of the level; the one of the aims when not given.
    with_cross_checks : bool, optional
        Whether to work out least squares and Huber beside it (imports statsmodels).

    Returns
    -------
    ConsumptionEstimate
        Rate in the unit per day with its 95 % interval, months, messages.

    Raises
    ------
    InputError
        For an unknown element, a date that is none, or a property that is not used up.

    Notes
    -----
    Needs 4 readings over 7 days. Doubted readings (probability of a gross error from 0.8) are set
    aside and named. Uncertainty of pump and strength is added in quadrature where it is described.


    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> use = estimate_consumption(example_tank(), "alkalinity", until="2026-02-15")
    >>> f"{use.rate:.2f} ({use.low:.2f} to {use.high:.2f}) {use.unit} a day, {use.basis}"
    '1.03 (0.94 to 1.12) dKH a day, steady use, 44 days, 12 readings'
    >>> too_early = estimate_consumption(example_tank(), "alkalinity", until="2026-01-07")
    >>> too_early.rate is None, too_early.messages[0].code
    (True, 'TOO_FEW')
    """
    facts = find_element(element)
    if facts.behaviour == "state":
        raise InputError(
            "an element that is used up or moves by itself",
            facts.name,
            "Choose one of: " + ", ".join(e for e, f in ELEMENTS.items() if f.behaviour != "state"),
            "estimate_consumption, element",
        )
    aim = tank.aims.get(facts.name)
    unit = unit or (aim.unit if aim else facts.display_unit)
    end = end_of(tank, until, facts.name)
    whole_since = end - pd.Timedelta(days=HISTORY_DAYS)
    everything = element_record(tank, facts.name, unit, end)
    whole = everything.since(float(days(end)) - HISTORY_DAYS)
    since = _window_start(whole, end, days_back)
    empty = replace(_nothing_yet(whole, since, end), record=everything)
    if len(whole.sessions) < FEWEST_READINGS:
        refused = mostly_beyond(whole, whole_since) or too_few(
            whole, FEWEST_READINGS, SHORTEST_DAYS, end
        )
        return replace(empty, messages=(refused,) if refused else ())
    worth = sd_worth(tank, whole)
    whole, set_aside, monthly = settle(whole, worth)
    left_out = pd.concat([whole.left_out, set_aside], ignore_index=True)
    estimate = replace(
        empty,
        left_out=left_out[left_out["time"] >= since].sort_values("time", ignore_index=True),
        months=months_frame(monthly, whole) if monthly else empty.months,
        monthly=monthly,
        set_aside=set_aside,
        messages=doubted(set_aside, unit, str(tank.zone), facts.name),
    )
    window = whole.since(float(days(since)))
    refused = mostly_beyond(window, since)
    refused = refused or too_few(window, FEWEST_READINGS, SHORTEST_DAYS, end)
    if refused:
        return replace(estimate, messages=(refused, *estimate.messages))
    window, gap_told = bridged(window)
    refused = too_few(window, FEWEST_READINGS, SHORTEST_DAYS, end)
    if refused:
        return replace(estimate, messages=(refused, *gap_told, *estimate.messages))
    try:
        fit, columns, balance = fit_record(window, worth)
    except CannotTellError as error:
        told = Message("TOO_FEW", _why_not(window, error), "refused")
        return replace(estimate, messages=(told, *gap_told, *estimate.messages))
    return _filled(tank, estimate, window, fit, columns, balance, gap_told, with_cross_checks)


def _why_not(window: ElementRecord, error: CannotTellError) -> str:
    if window.new_water.u is None and len(window.new_water.levels):
        return (
            "No rate: the new water's level is not known, and readings that always fall at the same "
            "point between water changes cannot tell it from the use. One test of the new water "
            "with the kit in use would."
        )
    return str(error)


def _window_start(record: ElementRecord, end: pd.Timestamp, days_back: int) -> pd.Timestamp:
    """Start of the window, earlier where an element is tested seldom."""
    day = float(days(end)) - days_back
    t = record.sessions["day"].to_numpy(float)
    if len(t) > COMFORTABLE_READINGS and (t >= day).sum() < COMFORTABLE_READINGS:
        day = t[-COMFORTABLE_READINGS]
    elif (t >= day).sum() < COMFORTABLE_READINGS:
        day = min(day, float(t[0])) if len(t) else day
    return moment(day)


def end_of(tank: Tank, until: str | pd.Timestamp | None, element: str) -> pd.Timestamp:
    """Return the end of the day asked for as a time (UTC), or that of the last reading.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    until : str, pandas.Timestamp or None
        Day in the tank's zone, or a time.
    element : str
        Element whose last reading counts when nothing is asked for.

    Returns
    -------
    pandas.Timestamp
        Time in UTC.

    Raises
    ------
    InputError
        If the text is not a day.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> end_of(example_tank(), "2026-02-28", "alkalinity").isoformat()  # midnight in Berlin
    '2026-02-28T23:00:00+00:00'
    >>> end_of(example_tank(), None, "alkalinity").isoformat()  # last reading on 15 February
    '2026-02-15T23:00:00+00:00'
    """
    zone = str(tank.zone)
    if isinstance(until, pd.Timestamp):
        return (until.tz_localize(zone) if until.tzinfo is None else until).tz_convert("UTC")
    if until is None:
        own = tank.readings[
            (tank.readings["element"] == element) & (tank.readings["water"] == "tank")
        ]["time"]
        last = own.max() if len(own) else pd.Timestamp("1970-01-01", tz="UTC")
        day = last.tz_convert(zone).tz_localize(None).normalize()
    else:
        try:
            day = pd.Timestamp(pd.to_datetime(until, format="%Y-%m-%d"))
        except (ValueError, TypeError) as error:
            raise InputError(
                "a day such as 2026-09-30", until, "Write year, month and day.", "until"
            ) from error
    return (day + pd.Timedelta(days=1)).tz_localize(zone).tz_convert("UTC")


def _nothing_yet(
    record: ElementRecord, since: pd.Timestamp, end: pd.Timestamp
) -> ConsumptionEstimate:
    day = float(days(end))
    dose = standing_rate(record.doses, day - 1e-6)
    if dose == 0.0:
        dose = mean_dose(record.doses, day - 28, day)
    shown = record.left_out[record.left_out["time"] >= since].reset_index(drop=True)
    return ConsumptionEstimate(
        element=record.element,
        unit=record.unit,
        behaviour=ELEMENTS[record.element].behaviour,
        zone=record.zone,
        since=since,
        until=end,
        rate=None,
        low=None,
        high=None,
        basis="",
        dose_now=dose,
        used=record.sessions.iloc[:0],
        left_out=shown,
        months=pd.DataFrame(columns=MONTH_COLUMNS),
        cross_checks=pd.DataFrame(columns=["method", "rate", "low", "high", "note"]),
        budget=pd.DataFrame(columns=["source", "u", "share", "note"]),
        weights=pd.DataFrame(columns=["cv", "weight", "rate", "scale", "degrees_of_freedom"]),
        arithmetic=(),
        messages=(),
    )


def _filled(
    tank: Tank,
    estimate: ConsumptionEstimate,
    window: ElementRecord,
    fit: SteadyUse,
    columns: list[KnownColumn],
    balance: BalanceColumns,
    gap_told: tuple[Message, ...],
    with_checks: bool,
) -> ConsumptionEstimate:
    rate, low, high = fit.factor("use")
    step = expected_last(window, balance, fit)
    span = window.sessions["time"]
    basis = f"steady use, {(span.iloc[-1] - span.iloc[0]).days} days, {len(span)} readings"
    alone = last_month_alone(estimate.monthly, window)
    if alone is not None:
        rate, low, high, basis = alone.rate, alone.low, alone.high, alone.basis
    delivery = delivery_u(window)
    other_kit = other_kit_bound(window)
    low, high = widened(rate, low, high, delivery, other_kit)
    estimate = replace(
        estimate,
        rate=rate,
        low=low,
        high=high,
        basis=basis,
        expected_last=step,
        level_now=level_now(window, balance, rate),
        used=window.sessions[["time", "level", "sd", "n", "kit", "lot", "rows"]].assign(
            fitted=window.sessions["level"] - fit.residuals, residual=fit.innovations
        ),
        weights=pd.DataFrame(
            {
                "cv": fit.day_to_day,
                "weight": fit.weights,
                "rate": fit.factors[:, 1],
                "scale": np.sqrt(fit.covariances[:, 1, 1]),
                "degrees_of_freedom": fit.degrees_of_freedom,
            }
        ),
        arithmetic=arithmetic(window, balance, fit, rate, low, high),
        budget=budget(window, fit, delivery, other_kit),
    )
    estimate = replace(estimate, what_helps=what_helps(estimate))
    told = all_messages(tank, estimate, window, fit, delivery, other_kit, alone)
    estimate = replace(estimate, messages=(*told, *gap_told, *estimate.messages))
    if with_checks:
        z = window.sessions["level"].to_numpy(float) - balance.D
        X = np.column_stack([balance.G, -balance.H, *(c.values for c in columns)])
        try:
            estimate = replace(estimate, cross_checks=cross_checks(z, X))
        except CannotTellError:
            return estimate
    return estimate
