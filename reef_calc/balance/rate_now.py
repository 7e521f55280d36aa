"""The mixture on one element's record: the rate now, with everything the log told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import pandas as pd

from reef_calc.balance.additions import moment
from reef_calc.balance.findings import FoundEvent, RateCurve
from reef_calc.balance.joined_fit import as_stated, scale_of_use, side_by_side
from reef_calc.balance.mixture_answer import CurrentRate
from reef_calc.balance.mixture_priors import Priors, session_noise
from reef_calc.balance.rate_mixture import current_rate
from reef_calc.balance.reading_noise import hour_and_date_noise
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.sampling import invisible_age
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.balance.told import Told
from reef_calc.balance.water_balance import BalanceColumns, WaterEvents, balance_columns

# A tank that grows: more weight on slow drift.
YOUNG_DRIFT = (0.75, 0.25)
STEP_BELIEVED = 0.8
LOOKED_BACK = 40


@dataclass(frozen=True)
class NowFit:
    """A record with the mixture fitted to it.

    Attributes
    ----------
    record : ElementRecord
        Sittings that were fitted.
    now : CurrentRate
        The mixture's answer.
    columns : tuple of KnownColumn
        Static columns beside the use: kits, lots, gaps, new water, and what was handed in.
    balance : BalanceColumns
        Columns of the balance.
    """

    record: ElementRecord
    now: CurrentRate
    columns: tuple[KnownColumn, ...]
    balance: BalanceColumns


def fit_now(
    record: ElementRecord,
    sd_worth: float,
    told: Told,
    *,
    young: bool = False,
    extra: tuple[KnownColumn, ...] = (),
    more_noise: np.ndarray | None = None,
) -> NowFit:
    """Return the mixture fitted to one element's record.

    Parameters
    ----------
    record : ElementRecord
        Sittings, doses and water changes.
    sd_worth : float
        Number of readings the kit's SD is worth.
    told : Told
        Declared events and decisions.
    young : bool, optional
        Whether the tank is young or grows fast.
    extra : tuple of KnownColumn, optional
        Further columns that pay, such as a weekly rhythm.
    more_noise : array (n,), optional
        Variance to add to each sitting (unit²).

    Returns
    -------
    NowFit
        The fit.

    Raises
    ------
    CannotTellError
        If the readings cannot tell the unknowns apart.

    Examples
    --------
    >>> from reef_calc.balance.record import element_record
    >>> from reef_calc.balance.told import told_of
    >>> from reef_calc.log.example import example_tank
    >>> tank, until = example_tank(), pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(tank, "alkalinity", "dKH", until)
    >>> fit = fit_now(record, 20.0, told_of(tank, "alkalinity", record))
    >>> f"{fit.now.rate:.2f}", fit.now.names
    ('1.03', ('new water',))
    """
    s = record.sessions
    last = s.iloc[-1]
    balance = record.balance()
    columns = [*record.offset_columns(), *record.gap_columns(), *extra]
    if np.any(balance.W != 0) and record.new_water.u != 0:
        columns.append(KnownColumn("new water", balance.W, 0.0, record.new_water.u))
    reference = float(np.hypot(last["sd"], last["resolution"] / np.sqrt(12)))
    own = np.hypot(s["sd"], s["resolution"] / np.sqrt(12)).to_numpy(float)
    noise = (own / reference) ** 2 * session_noise(s["n"].to_numpy(float))
    if more_noise is not None:
        noise = noise + more_noise / reference**2
    prior = Priors(sd_worth=sd_worth, slip_at_change=True)
    if young:
        prior = Priors(sd_worth=sd_worth, slip_at_change=True, drift_weights=YOUNG_DRIFT)
    if side_by_side(record):
        prior = replace(prior, lot_per_day=0.0)
    believed = np.array([bool(told.trusted.intersection(rows)) for rows in s["rows"]])

    def fit(relative: np.ndarray, scale: float | None) -> CurrentRate:
        return current_rate(
            s["day"].to_numpy(float),
            s["level"].to_numpy(float),
            record.events,
            sd=float(last["sd"]),
            resolution=float(last["resolution"]),
            noise=relative,
            prior=prior,
            declared_changes=told.changes,
            declared_lots=told.lots,
            believed=believed,
            quiet=told.quiet,
            columns=columns,
            balance=balance,
            rate_scale=scale,
        )

    now = fit(noise, scale_of_use(record, balance, columns, reference))
    hours = hour_and_date_noise(record, now.rate_scale)
    if np.any(hours > 0) or record.joins:
        columns = list(as_stated(record, columns, now.sd_found / now.reading_sd))
        now = fit(noise + hours / reference**2, now.rate_scale)
    return NowFit(record, now, tuple(columns), balance)


def curve_of(fit: NowFit, findings: tuple[FoundEvent, ...]) -> RateCurve:
    """Return the use over time for the rate lane.

    Parameters
    ----------
    fit : NowFit
        A fitted record.
    findings : tuple of FoundEvent
        What is told; the segments lie between its changes that were not rejected.

    Returns
    -------
    RateCurve
        Times in UTC, unit per day.

    Examples
    --------
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> from reef_calc.log.example import example_tank
    >>> curve = estimate_consumption(example_tank(), "alkalinity").curve
    >>> len(curve.time) == len(curve.rate), len(curve.segments)
    (True, 1)
    """
    history = fit.now.history
    at = pd.DatetimeIndex([moment(t) for t in history.times])
    turns = [f for f in findings if f.kind == "rate change" and f.decision != "rejected"]
    edges = [at[0], *(f.start + (f.stop - f.start) / 2 for f in turns), at[-1]]
    rows = []
    for start, stop in pairwise(edges):
        inside = np.flatnonzero((at >= start) & (at <= stop))
        if len(inside):
            k = inside[len(inside) // 2]
            rows.append((start, stop, history.rate[k], history.low[k], history.high[k]))
    return RateCurve(
        at,
        tuple(float(x) for x in history.rate),
        tuple(float(x) for x in history.low),
        tuple(float(x) for x in history.high),
        pd.DataFrame(rows, columns=["start", "stop", "rate", "low", "high"]),
    )


def step_columns(fit: NowFit, record: ElementRecord) -> tuple[KnownColumn, ...]:
    """Return a column for each step of the level that is believed, as the likelier of its two kinds.

    Parameters
    ----------
    fit : NowFit
        A fitted record.
    record : ElementRecord
        The sittings that the columns are wanted for.

    Returns
    -------
    tuple of KnownColumn
        Response of the level to a unit step: fading with water changes (dose) or not (lot).

    Examples
    --------
    See :func:`reef_calc.balance.consumption.estimate_consumption`, whose months use them.
    """
    found = []
    t = record.sessions["day"].to_numpy(float)
    for j, f in enumerate(fit.now.history.findings):
        if f.kind != "level step" or f.probability < STEP_BELIEVED:
            continue
        if f.p_dose > f.p_lot:
            events = record.events
            one = WaterEvents(
                dose_times=np.array([(f.start + f.stop) / 2]),
                dose_rises=np.ones(1),
                change_times=events.change_times,
                change_fractions=events.change_fractions,
                change_levels=np.zeros_like(events.change_levels),
            )
            values = balance_columns(t, one).D
        else:
            values = (t >= f.stop).astype(float)
        if np.ptp(values) > 0:
            found.append(KnownColumn(f"step {j}", values))
    return tuple(found)


def invisible_days(fit: NowFit) -> float | None:
    """Return how old a change of a quarter must be to show at the tank's own cadence.

    Parameters
    ----------
    fit : NowFit
        A fitted record; its last forty sittings are looked at.

    Returns
    -------
    float or None
        Days; None if none younger than the readings would show.

    Examples
    --------
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> from reef_calc.log.example import example_tank
    >>> estimate_consumption(example_tank(), "alkalinity", with_cross_checks=True).invisible_days
    8
    """
    s = fit.record.sessions.tail(LOOKED_BACK)
    last = s.iloc[-1]
    rate = max(fit.now.rate, fit.now.rate_scale)

    def seen(times: np.ndarray, levels: np.ndarray) -> float:
        return current_rate(
            times,
            levels,
            fit.record.events,
            sd=float(last["sd"]),
            resolution=float(last["resolution"]),
            rate_scale=rate,
        ).p_not_constant

    return invisible_age(
        s["day"].to_numpy(float), rate, fit.record.events, seen, start=float(s["level"].iloc[0])
    )
