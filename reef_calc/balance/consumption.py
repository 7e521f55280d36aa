"""What a tank uses of one element per day, with its interval, from the tank folder."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pandas as pd

from reef_calc.balance.about_findings import set_aside_frame
from reef_calc.balance.additions import days, moment
from reef_calc.balance.between_elements import with_neighbours
from reef_calc.balance.cross_checks import cross_checks
from reef_calc.balance.dose_now import dose_now
from reef_calc.balance.finding_words import found_events
from reef_calc.balance.history_fit import (
    MONTH_COLUMNS,
    fit_record,
    monthly_use,
    months_frame,
    sd_worth,
)
from reef_calc.balance.joined_scale import joined_scale
from reef_calc.balance.level_now import expected_last, level_now
from reef_calc.balance.moments import end_of
from reef_calc.balance.paying_columns import paying_columns
from reef_calc.balance.qualify import TEST_NEW_WATER, all_messages, what_helps
from reef_calc.balance.rate_now import NowFit, curve_of, fit_now, invisible_days, step_columns
from reef_calc.balance.record import ElementRecord, element_record
from reef_calc.balance.refusals import bridged, mostly_beyond, too_few
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.balance.strength_check import strength_beside
from reef_calc.balance.told import told_of
from reef_calc.balance.uncertainty import (
    arithmetic,
    budget,
    delivery_u,
    other_kit_bound,
    widened,
)
from reef_calc.chem.elements import ELEMENTS
from reef_calc.chem.elements import element as find_element
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import Tank
from reef_calc.messages import Message

WINDOW_DAYS = 90
HISTORY_DAYS = 400
DOUBTED = 0.8
FEWEST_READINGS = 4
SHORTEST_DAYS = 7.0
COMFORTABLE_READINGS = 8
IN_RANGE = "test with a kit that covers this level"


def estimate_consumption(
    tank: Tank,
    element: str,
    until: str | pd.Timestamp | None = None,
    *,
    days_back: int = WINDOW_DAYS,
    unit: str | None = None,
    with_cross_checks: bool = False,
    leave_out: tuple[int, ...] = (),
) -> ConsumptionEstimate:
    """Return what the tank uses of one element per day now, or in words why that cannot be told.

    The rate is the median of a mixture of Kalman filters over the last 400 days in which every
    reading may be nothing special, a gross error, a change of use, an unlogged dose or another lot.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    element : str
        Element that is used up (alkalinity, calcium …) or moves by itself (nitrate, phosphate).
    until : str or pandas.Timestamp, optional
        Last day, ``2026-09-30`` in the tank's zone, or a time; the last reading when not given.
    days_back : int, optional
        Days that are judged for readings beyond the kit's limit; longer until they hold eight.
    unit : str, optional
        Unit of the level; the one of the aims when not given.
    with_cross_checks : bool, optional
        Whether to work out least squares and Huber beside it (imports statsmodels), and how young a
        change cannot be seen.
    leave_out : tuple of int, optional
        Rows of readings.csv to leave out: what if they had not been read?

    Returns
    -------
    ConsumptionEstimate
        Rate in the unit per day with its 95 % interval, findings, history, months, messages.

    Raises
    ------
    InputError
        For an unknown element, a date that is none, or a property that is not used up.

    Notes
    -----
    Needs 4 readings over 7 days. Uncertainty of pump and strength is added in quadrature where it is
    described; it does not touch the comparison of use with dose (``against_dose``). A change of use
    younger than about a week (alkalinity) or three (calcium) cannot show yet.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> use = estimate_consumption(example_tank(), "alkalinity", until="2026-02-15")
    >>> f"{use.rate:.2f} {use.unit} a day, {use.basis}"
    '1.03 dKH a day, from 12 readings over 44 days'
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
    rows = tuple(sorted(leave_out))

    def other(name: str, in_unit: str) -> tuple[ConsumptionEstimate, NowFit | None]:
        return _estimate(tank, name, in_unit, end, days_back, ())

    asked = (tank, facts.name, unit, end, days_back, rows)
    own, fit = _estimate(*asked)
    if with_cross_checks:
        own = _checked(*asked)
    return with_neighbours(tank, own, fit, other)


@lru_cache(maxsize=96)
def _checked(
    tank: Tank, name: str, unit: str, end: pd.Timestamp, days_back: int, leave_out: tuple[int, ...]
) -> ConsumptionEstimate:
    """Return the estimate with what stands beside it, worked out only where it is shown."""
    estimate, fit = _estimate(tank, name, unit, end, days_back, leave_out)
    if fit is None:
        return estimate
    clean = _clean(fit, estimate)
    worth = sd_worth(tank, fit.record)
    window = _since_last_change(estimate, clean)
    steady, columns, balance = fit_record(window, worth)
    others = (fit, steady, delivery_u(fit.record), other_kit_bound(fit.record))
    last = estimate.messages[len(all_messages(tank, estimate, *others)) :]
    estimate = replace(estimate, invisible_days=invisible_days(fit))
    estimate = replace(
        estimate,
        messages=(*all_messages(tank, estimate, *others), *last),
        beside=strength_beside(tank, fit.record, worth),
    )
    z = window.sessions["level"].to_numpy(float) - balance.D
    X = np.column_stack([balance.G, -balance.H, *(c.values for c in columns)])
    try:
        return replace(estimate, cross_checks=cross_checks(z, X))
    except CannotTellError:
        return estimate


def _clean(fit: NowFit, estimate: ConsumptionEstimate) -> ElementRecord:
    return fit.record.without(frozenset(estimate.set_aside["row"]))


@lru_cache(maxsize=96)
def _estimate(
    tank: Tank,
    name: str,
    unit: str,
    end: pd.Timestamp,
    days_back: int,
    leave_out: tuple[int, ...],
) -> tuple[ConsumptionEstimate, NowFit | None]:
    everything = element_record(tank, name, unit, end)
    whole = everything.since(float(days(end)) - HISTORY_DAYS).without(frozenset(leave_out))
    since = _window_start(whole, end, days_back)
    empty = replace(_nothing_yet(whole, since, end), record=everything)
    beyond = mostly_beyond(whole.since(float(days(since))), since)
    if beyond:
        return replace(empty, messages=(beyond,), what_helps=IN_RANGE), None
    refused = too_few(whole, FEWEST_READINGS, SHORTEST_DAYS, end)
    if refused:
        return replace(empty, messages=(refused,)), None
    told = told_of(tank, name, whole)
    kept, gap_told = bridged(whole.without(told.doubted))
    refused = too_few(kept, FEWEST_READINGS, SHORTEST_DAYS, end)
    if refused:
        return replace(empty, messages=(refused, *gap_told)), None
    worth = sd_worth(tank, kept)
    young = tank.state == "young or fast growing"
    try:
        paying = paying_columns(tank, kept)
        fit = fit_now(
            kept, worth, told, young=young, extra=paying.columns, more_noise=paying.variance
        )
    except CannotTellError as error:
        told_why = Message("TOO_FEW", _why_not(kept, error), "refused")
        helps = TEST_NEW_WATER if _new_water_unknown(kept) else ""
        return replace(empty, messages=(told_why, *gap_told), what_helps=helps), None
    aside = set_aside_frame(whole, fit, told, DOUBTED)
    left_out = pd.concat([whole.left_out, aside], ignore_index=True)
    clean = kept.without(frozenset(aside["row"]))
    events = found_events(tank, fit, told)
    monthly = monthly_use(clean, worth, step_columns(fit, clean))
    estimate = replace(
        empty,
        left_out=left_out[left_out["time"] >= since].sort_values("time", ignore_index=True),
        set_aside=aside,
        months=months_frame(monthly, clean) if monthly else empty.months,
        monthly=monthly,
        findings=events,
        curve=curve_of(fit, events),
        p_not_constant=fit.now.p_not_constant,
        if_nothing_changed=fit.now.if_nothing_changed,
        humps=tuple((h.weight, h.rate, h.low, h.high) for h in fit.now.humps),
    )
    said = (*gap_told, *paying.messages)
    return _filled(tank, estimate, fit, clean, worth, said), fit


def _new_water_unknown(record: ElementRecord) -> bool:
    return record.new_water.u is None and len(record.new_water.levels) > 0


def _why_not(window: ElementRecord, error: CannotTellError) -> str:
    if _new_water_unknown(window):
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


def _nothing_yet(
    record: ElementRecord, since: pd.Timestamp, end: pd.Timestamp
) -> ConsumptionEstimate:
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
        dose_now=dose_now(record, float(days(end))),
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
    fit: NowFit,
    clean: ElementRecord,
    worth: float,
    gap_told: tuple[Message, ...],
) -> ConsumptionEstimate:
    now, span = fit.now, fit.record.sessions["time"]
    delivery, other_kit = delivery_u(fit.record), other_kit_bound(fit.record)
    against = widened(now.rate, now.low, now.high, 0.0, other_kit)
    low, high = widened(now.rate, now.low, now.high, delivery, other_kit)
    window = _since_last_change(estimate, clean)
    steady, _, balance = fit_record(window, worth)
    estimate = replace(
        estimate,
        rate=now.rate,
        low=low,
        high=high,
        against_dose=against,
        basis=f"from {len(span)} readings over {(span.iloc[-1] - span.iloc[0]).days} days",
        expected_last=expected_last(window, balance, steady),
        level_now=level_now(window, balance, now.rate),
        used=window.sessions[["time", "level", "sd", "n", "kit", "lot", "rows"]].assign(
            fitted=window.sessions["level"] - steady.residuals, residual=steady.innovations
        ),
        weights=pd.DataFrame({"cv": now.day_to_day, "weight": now.day_to_day_weights}),
        arithmetic=arithmetic(window, balance, steady, now.rate, low, high),
        budget=budget(window, steady, delivery, other_kit),
        joined=joined_scale(fit),
    )
    estimate = replace(estimate, what_helps=what_helps(estimate))
    return replace(
        estimate,
        messages=(
            *all_messages(tank, estimate, fit, steady, delivery, other_kit),
            *gap_told,
        ),
    )


def _since_last_change(estimate: ConsumptionEstimate, clean: ElementRecord) -> ElementRecord:
    """Return readings that plain fits may stand on: since the last believed change, else ninety days."""
    start = estimate.since
    changes = [
        f.stop for f in estimate.findings if f.kind == "rate change" and f.decision != "rejected"
    ]
    if changes and changes[-1] > start:
        start = changes[-1]
    window = clean.since(float(days(start)))
    t = window.sessions["day"].to_numpy(float)
    unknowns = 2 + len(window.offset_columns()) + len(window.gaps()) + 1
    if len(t) < max(FEWEST_READINGS, unknowns) or t[-1] - t[0] < SHORTEST_DAYS:
        return clean
    return window
