"""What one element's use says of another's: calcium with alkalinity, expectations, their ratio."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from reef_calc.balance.additions import days
from reef_calc.balance.joined_fit import OFFSETS
from reef_calc.balance.joint_rate import JointRate, joint_rate
from reef_calc.balance.joint_readings import ElementReadings
from reef_calc.balance.joint_uses import Estimate
from reef_calc.balance.joint_words import joint_messages
from reef_calc.balance.mixture_answer import WeightedRate
from reef_calc.balance.mixture_priors import session_noise
from reef_calc.balance.qualify import about_size, by_weight, what_helps
from reef_calc.balance.rate_now import NowFit
from reef_calc.balance.results import Beside, ConsumptionEstimate
from reef_calc.balance.stoichiometry import calcifying_alkalinity, expected_uses
from reef_calc.balance.told import RAISES
from reef_calc.balance.uncertainty import delivery_u, other_kit_bound, widened
from reef_calc.balance.use_ratio import Trend
from reef_calc.chem.units import convert
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.tank import Tank

SHARED_DAYS = 180.0
CONSTANT_ENOUGH = 0.5
EXPECTED = ("magnesium", "strontium")
PairOf = Callable[[str, str], tuple[ConsumptionEstimate, NowFit | None]]


@dataclass(frozen=True)
class _Pair:
    alkalinity: NowFit
    calcium: NowFit


def with_neighbours(
    tank: Tank, estimate: ConsumptionEstimate, fit: NowFit | None, other: PairOf
) -> ConsumptionEstimate:
    """Return an estimate with what the other elements know of it.

    Calcium takes its rate from the joint filter, its own readings beside it; magnesium and strontium
    get the use that alkalinity lets one expect; alkalinity stands on its own.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    estimate : ConsumptionEstimate
        Estimate of one element from its own readings.
    fit : NowFit or None
        Its fit; None when refused.
    other : callable
        Takes an element and a unit, gives its estimate and fit up to the same moment.

    Returns
    -------
    ConsumptionEstimate
        The same with ``beside`` filled, and for calcium another rate.

    Examples
    --------
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> from reef_calc.log.example import example_tank
    >>> estimate_consumption(example_tank(), "magnesium", "2026-02-15").beside[0].title
    'Expected from alkalinity'
    """
    if estimate.element in EXPECTED:
        return _with_expectation(estimate, other("alkalinity", "dKH")[0])
    if estimate.element != "calcium" or fit is None:
        return estimate
    if estimate.unit != "mg/L":
        fit = other("calcium", "mg/L")[1]
    pair = other("alkalinity", "dKH")[1]
    if pair is None or fit is None:
        return estimate
    found = _joint(tank, _Pair(pair, fit), estimate)
    if found is None:
        return estimate
    return _with_joint(estimate, fit, found, other("nitrate", "mg/L")[0])


def _with_expectation(
    estimate: ConsumptionEstimate, alkalinity: ConsumptionEstimate
) -> ConsumptionEstimate:
    if alkalinity.rate is None or alkalinity.low is None or alkalinity.high is None:
        return estimate
    if alkalinity.low <= 0:
        return estimate
    expected = expected_uses(Estimate(alkalinity.rate, alkalinity.low, alkalinity.high))
    value, low, high = (_in_unit(x, estimate) for x in expected[estimate.element])
    words = (
        "If alkalinity were only taken up for skeletons: stony corals at the number, calcite builders "
        "such as coralline algae towards the ends. An expectation, not a measurement."
    )
    return replace(
        estimate,
        beside=(Beside("Expected from alkalinity", value, low, high, words, estimate.unit),),
    )


def _in_unit(level: float, estimate: ConsumptionEstimate) -> float:
    """Return a level in mg/L in the unit of an estimate."""
    return float(
        convert(level, "mg/L", estimate.unit, estimate.element, salinity=35.0, temperature_C=25.0)
    )


def _joint(tank: Tank, pair: _Pair, estimate: ConsumptionEstimate) -> JointRate | None:
    """Return the joint filter's answer from the last half-year, after any gap of the log."""
    end = float(days(estimate.until))
    gaps = [b for f in (pair.alkalinity, pair.calcium) for _, b in f.record.gaps()]
    since = max([end - SHARED_DAYS, *gaps])
    events = tank.events
    own = events["element"].isin(["", "calcium", "alkalinity"]) & events["kind"].isin(RAISES)
    declared = days(events.loc[own, "time"])
    alone = (pair.calcium.now.rate, pair.calcium.now.low, pair.calcium.now.high)
    shares = [
        delivery_u(f.record) / max(abs(f.now.rate), 1e-9) for f in (pair.alkalinity, pair.calcium)
    ]
    try:
        return joint_rate(
            _readings(pair.alkalinity, since),
            _readings(pair.calcium, since),
            declared_events=declared[(declared > since) & (declared < end)],
            dose_u=(shares[0], shares[1]),
            calcium_alone=lambda _: alone,
        )
    except (CannotTellError, InputError):
        return None


def _readings(fit: NowFit, since: float) -> ElementReadings:
    """Sittings without what the single fit found of other kits and of forgotten doses."""
    s = fit.record.sessions
    levels = s["level"].to_numpy(float).copy()
    for column in fit.columns:
        if column.name.startswith((*OFFSETS, "missing doses ")):
            levels = levels - fit.now.factor(column.name)[0] * column.values
    keep = s["day"].to_numpy(float) >= since
    if keep.sum() == 0:
        raise CannotTellError("no readings since the last gap of the log")
    last = s.iloc[-1]
    reference = float(np.hypot(last["sd"], last["resolution"] / np.sqrt(12)))
    own = np.hypot(s["sd"], s["resolution"] / np.sqrt(12)).to_numpy(float)
    noise = (own / reference) ** 2 * session_noise(s["n"].to_numpy(float))
    return ElementReadings(
        s["day"].to_numpy(float)[keep],
        levels[keep],
        fit.record.events,
        float(last["sd"]),
        float(last["resolution"]),
        noise[keep],
    )


def _with_joint(
    estimate: ConsumptionEstimate, fit: NowFit, found: JointRate, nitrate: ConsumptionEstimate
) -> ConsumptionEstimate:
    one = _in_unit(1.0, estimate)
    rate, low, high = (one * x for x in found.calcium)
    other_kit, delivery = one * other_kit_bound(fit.record), one * delivery_u(fit.record)
    alone = Beside(
        "Calcium readings alone",
        one * fit.now.rate,
        one * fit.now.low,
        one * fit.now.high,
        _share_words(found),
        estimate.unit,
    )
    beside = [alone]
    ratio = found.ratio_with_doses
    if ratio is not None and found.p_not_constant < CONSTANT_ENOUGH:
        factor, taken_out = _without_nitrate(found, nitrate)
        beside.append(
            Beside(
                "Calcium used per alkalinity used",
                factor * ratio.value,
                factor * ratio.low,
                factor * ratio.high,
                "Skeletons take 6.1 to 7.1. What lies between 6.3 and 7.8 is unremarkable."
                + taken_out,
                "mg/L per dKH",
            )
        )
    elif ratio is not None:
        beside.append(
            Beside(
                "Calcium used per alkalinity used",
                None,
                None,
                None,
                "Not told while use is changing.",
                "mg/L per dKH",
            )
        )
    steady = found.if_nothing_changed
    told = [
        m
        for m in joint_messages(found, nitrate=_trend(nitrate))
        if m.code != "CALCIUM_JOINT"
        and not (m.code.startswith("RATIO") and found.p_not_constant >= CONSTANT_ENOUGH)
    ]
    size = ("ROUGH", "NOT_DETERMINED", "ZERO_INSIDE", "RISES")
    kept = [m for m in estimate.messages if m.code not in size]
    joint = replace(
        estimate,
        rate=rate,
        low=widened(rate, low, high, delivery, other_kit)[0],
        high=widened(rate, low, high, delivery, other_kit)[1],
        against_dose=widened(rate, low, high, 0.0, other_kit),
        basis=f"{estimate.basis}, with what alkalinity knows",
        p_not_constant=found.p_not_constant,
        if_nothing_changed=None
        if steady is None
        else WeightedRate(1 - found.p_not_constant, *(one * x for x in steady)),
        humps=(),
        beside=(*beside, *estimate.beside),
    )
    return replace(
        joint,
        what_helps=what_helps(joint),
        messages=by_weight((*about_size(joint), *told, *kept)),
    )


def _trend(e: ConsumptionEstimate) -> Trend | None:
    if e.low is None or e.high is None:
        return None
    return "falling" if e.low > 0 else "rising" if e.high < 0 else "steady"


def _without_nitrate(found: JointRate, nitrate: ConsumptionEstimate) -> tuple[float, str]:
    """Return by what the ratio is multiplied once the alkalinity that nitrate took is left out."""
    trend = _trend(nitrate)
    if trend not in ("rising", "falling") or nitrate.rate is None:
        return 1.0, ""
    use = found.alkalinity.value
    calcifying = calcifying_alkalinity(use, -nitrate.rate)
    if calcifying <= 0 or use <= 0:
        return 1.0, ""
    return use / calcifying, (
        f" Nitrate is {trend}; the alkalinity that goes with it ({abs(use - calcifying):.2g} dKH a day, "
        "if it comes from food) is taken out."
    )


def _share_words(found: JointRate) -> str:
    if found.share_from_alkalinity is None:
        return (
            "The calcium kit alone is too coarse to see a young change. The line over time is drawn "
            "from the calcium readings alone."
        )
    share = 100 * max(found.share_from_alkalinity, 0.0)
    return (
        f"About {share:.0f} % of what is known comes from the alkalinity readings. The line over time "
        "is drawn from the calcium readings alone."
    )


def monthly_ratio(calcium: ConsumptionEstimate, alkalinity: ConsumptionEstimate) -> pd.DataFrame:
    """Return calcium used per alkalinity used month by month, with Fieller's interval.

    Parameters
    ----------
    calcium, alkalinity : ConsumptionEstimate
        Estimates with months, calcium in mg/L and alkalinity in any of its units.

    Returns
    -------
    pandas.DataFrame
        ``month``, ``start``, ``stop``, ``ratio``, ``low``, ``high`` in mg/L per dKH; months whose
        alkalinity use may be nothing are left out.

    Examples
    --------
    >>> from reef_calc.balance.consumption import estimate_consumption
    >>> from reef_calc.log.example import example_tank
    >>> tank = example_tank()
    >>> len(monthly_ratio(estimate_consumption(tank, "calcium"),
    ...                   estimate_consumption(tank, "alkalinity")))
    0
    """
    from reef_calc.balance.use_ratio import ratio_by_fieller

    rows = []
    per_dkh = float(
        convert(1.0, alkalinity.unit, "dKH", "alkalinity", salinity=35.0, temperature_C=25.0)
    )
    both = calcium.months.merge(alkalinity.months, on="month", suffixes=("", "_alk"))
    for m in both.dropna(subset=["rate", "rate_alk"]).itertuples(index=False):
        u, u_alk = (m.high - m.low) / 3.92, (m.high_alk - m.low_alk) / 3.92 * per_dkh
        try:
            found = ratio_by_fieller(m.rate, u, m.rate_alk * per_dkh, u_alk)
        except (CannotTellError, InputError):
            continue
        rows.append((m.month, m.start, m.stop, *found))
    return pd.DataFrame(rows, columns=["month", "start", "stop", "ratio", "low", "high"])
