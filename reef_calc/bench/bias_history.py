"""A kit's bias by lot and day from readings of standards, its drift, and when to read one next."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.bench.standard_readings import (
    StandardReadings,
    check_scatter,
    standard_covariance,
)
from reef_calc.errors import CannotTellError, InputError

_QUARTER = 90.0
_UNKNOWN_DRIFT_DAYS = 28.0
_LOTS_FOR_DRIFT = 3


@dataclass(frozen=True)
class BiasHistory:
    """What is known of a kit's bias.

    Attributes
    ----------
    bias : pandas.DataFrame
        One row a wanted lot and day: lot, day, bias, u, low, high (kit's unit; 95 %).
    covariance : numpy.ndarray
        Of the biases, in the order of the rows: they share the standards' errors.
    bottles : pandas.DataFrame
        One row a bottle: how much weaker than stated it seems (``error``) and its u (kit's unit).
    """

    bias: pd.DataFrame
    covariance: np.ndarray
    bottles: pd.DataFrame


def bias_history(
    readings: StandardReadings,
    wanted: Sequence[tuple[str, float]],
    *,
    lot_sd: float,
    drift_per_quarter: float,
) -> BiasHistory:
    """Return a kit's bias (read minus true) at wanted lots and days.

    read − S = b_lot(t) + η_bottle + e; cov(b, b') = [same lot]·(B₀² + d²·min(age, age'));
    η with the standards' covariance; e with s² + r²/12. The answer is the conditional normal.

    Parameters
    ----------
    readings : StandardReadings
        Readings of standards.
    wanted : sequence of (str, float)
        Lot and day (days) to answer for; a lot without a reading needs its day of opening.
    lot_sd : float
        B₀: how much the lots of this kind of kit differ (standard deviation, kit's unit).
    drift_per_quarter : float
        Drift of one lot in 90 days (standard deviation, kit's unit): d = it/√90.

    Returns
    -------
    BiasHistory
        Bias with standard uncertainty and 95 % interval in the kit's unit.

    Raises
    ------
    InputError
        If a lot is unknown, a day lies before its opening, or a number cannot be used.

    Notes
    -----
    The scatter is taken as known. More readings of one bottle cannot beat 1.96·u of the standard.
    A standard gives the bias at its own level. Do not subtract single deviations from readings.

    Examples
    --------
    >>> from reef_calc.bench.standard_readings import Bottle, standard_readings
    >>> one = standard_readings([0, 0], [8.3, 8.3], ["L1", "L1"], ["A", "A"],
    ...                         {"A": Bottle(8.0, 0.05)}, sd=0.15)
    >>> bias_history(one, [("L1", 0.0)], lot_sd=0.3, drift_per_quarter=0.0).bias.round(3).values
    array([['L1', 0.0, 0.26, 0.109, 0.046, 0.474]], dtype=object)

    References
    ----------
    Best linear prediction: Rasmussen and Williams (2006), Gaussian Processes, equation 2.23 (number
    from memory).
    """
    if not (0 < lot_sd < math.inf and 0 <= drift_per_quarter < math.inf):
        raise InputError(
            "a scatter between lots above 0 and a drift of 0 or more",
            (lot_sd, drift_per_quarter),
            "If nothing is known, take twice the kit's scatter for the lots.",
        )
    lots, days = [lot for lot, _ in wanted], np.array([day for _, day in wanted], dtype=float)
    for lot, day in wanted:
        if day < readings.opened.get(lot, math.inf):
            raise InputError(
                "a lot with its day of opening, and a day after it", f"lot {lot}, day {day:g}",
                "Name the day the lot was opened.",
            )  # fmt: skip
    drift = drift_per_quarter / math.sqrt(_QUARTER)
    here = _walk(
        readings, readings.lots, readings.days, readings.lots, readings.days, lot_sd, drift
    )
    there = _walk(readings, lots, days, readings.lots, readings.days, lot_sd, drift)
    prior = _walk(readings, lots, days, lots, days, lot_sd, drift)
    V = here + readings.noise
    weights = np.linalg.solve(V, np.column_stack([readings.deviations, there.T]))
    mean, covariance = there @ weights[:, 0], prior - there @ weights[:, 1:]
    u = np.sqrt(np.diag(covariance))
    bias = pd.DataFrame(
        {"lot": lots, "day": days, "bias": mean, "u": u, "low": mean - 1.96 * u,
         "high": mean + 1.96 * u}
    )  # fmt: skip
    names = list(dict.fromkeys(readings.bottle_names))
    n = len(readings.days)
    own = standard_covariance([*readings.bottle_names, *names], readings.bottles)
    cross = own[n:, :n]
    error = cross @ weights[:, 0]
    left = np.diag(own)[n:] - np.einsum("ij,ji->i", cross, np.linalg.solve(V, cross.T))
    bottles = pd.DataFrame({"bottle": names, "error": -error, "u": np.sqrt(np.maximum(left, 0.0))})
    return BiasHistory(bias, covariance, bottles)


@dataclass(frozen=True)
class Drift:
    """How much a lot of this kit wanders.

    Attributes
    ----------
    per_quarter, low, high : float
        Standard deviation of the drift in 90 days: median and 95 % interval (kit's unit).
    """

    per_quarter: float
    low: float
    high: float


def drift_from_lots(readings: StandardReadings, *, lot_sd: float) -> Drift:
    """Return the drift that the lots have shown, or refuse where there are too few.

    p(D | readings) ∝ N(deviations; 0, V(D)), D flat from 0 to 10 s, V as in ``bias_history``.

    Parameters
    ----------
    readings : StandardReadings
        Readings of standards.
    lot_sd : float
        How much lots differ (standard deviation, kit's unit).

    Returns
    -------
    Drift
        Standard deviation in 90 days, in the kit's unit.

    Raises
    ------
    CannotTellError
        With fewer than three lots that were read on two days or more.
    InputError
        If the scatter between lots is not above 0.

    Notes
    -----
    A drift of nothing shows as a low end near 0, never as 0: a standard deviation is not negative.

    Examples
    --------
    >>> from reef_calc.bench.standard_readings import Bottle, standard_readings
    >>> few = standard_readings([0, 90], [8.0, 8.3], ["L1", "L1"], ["A", "A"],
    ...                         {"A": Bottle(8.0, 0.05)}, sd=0.15)
    >>> drift_from_lots(few, lot_sd=0.3)
    Traceback (most recent call last):
        ...
    reef_calc.errors.CannotTellError: Drift cannot be told yet: 1 lot was read on two days or more,
    3 are needed. Read a standard every 4 weeks until then.

    References
    ----------
    Marginal likelihood: Rasmussen and Williams (2006), equation 2.30 (number from memory).
    """
    if not 0 < lot_sd < math.inf:
        raise InputError("a scatter between lots above 0", lot_sd, "Take twice the kit's scatter.")
    days_of = {lot: {d for d, one in zip(readings.days, readings.lots, strict=True) if one == lot}
               for lot in readings.lots}  # fmt: skip
    ready = sum(len(days) > 1 for days in days_of.values())
    if ready < _LOTS_FOR_DRIFT:
        counted = "1 lot was" if ready == 1 else f"{ready} lots were"
        raise CannotTellError(
            f"Drift cannot be told yet: {counted} read on two days or more, "
            f"{_LOTS_FOR_DRIFT} are needed. Read a standard every 4 weeks until then."
        )
    grid = np.linspace(0.0, 10.0 * readings.sd, 401)
    deviations, noise = readings.deviations, readings.noise
    lots, days = readings.lots, readings.days
    logs = np.empty_like(grid)
    for i, quarter in enumerate(grid):
        V = noise + _walk(readings, lots, days, lots, days, lot_sd, quarter / math.sqrt(_QUARTER))
        whole = deviations @ np.linalg.solve(V, deviations)
        logs[i] = -0.5 * (np.linalg.slogdet(V)[1] + whole)
    share = np.cumsum(np.exp(logs - logs.max()))
    low, middle, high = np.interp([0.025, 0.5, 0.975], share / share[-1], grid)
    return Drift(float(middle), float(low), float(high))


@dataclass(frozen=True)
class NextStandard:
    """When to read a standard next.

    Attributes
    ----------
    every_days : float
        Days between readings of a standard within a lot.
    most_readings : float
        From this many readings of one bottle on, more do not help (a count; may be infinite).
    sentence : str
        For the keeper.
    """

    every_days: float
    most_readings: float
    sentence: str


def next_standard(sd: float, u_standard: float, drift_per_quarter: float | None) -> NextStandard:
    """Return how often to read a standard, and how many readings of one bottle still help.

    w = (s/d)² = 90·(s/D)² days, 28 days where the drift is unknown; m = (s/u_S)²

    Parameters
    ----------
    sd : float
        Scatter of one reading, in the kit's unit.
    u_standard : float
        Standard uncertainty of the standard, in the kit's unit.
    drift_per_quarter : float or None
        Drift in 90 days (standard deviation, kit's unit); None where it is not known.

    Returns
    -------
    NextStandard
        Days and count.

    Raises
    ------
    InputError
        If a number cannot be used.

    Notes
    -----
    The rule makes the drift of one interval as large as the scatter of one reading; own derivation.

    Examples
    --------
    >>> next_standard(0.15, 0.045, 0.45).every_days, next_standard(0.15, 0.15, None).most_readings
    (10.0, 1.0)

    References
    ----------
    *Own derivation, no source.*
    """
    check_scatter(sd, 0.0)
    if not 0 <= u_standard < math.inf or (
        drift_per_quarter is not None and not 0 <= drift_per_quarter < math.inf
    ):
        raise InputError(
            "an uncertainty and a drift of 0 or more", (u_standard, drift_per_quarter),
            "Write None for a drift that is not known.",
        )  # fmt: skip
    worth = math.inf if u_standard == 0 else max(1.0, math.floor((sd / u_standard) ** 2 + 1e-9))
    if drift_per_quarter is None:
        days, often = _UNKNOWN_DRIFT_DAYS, "every 4 weeks, until three lots have shown the drift"
    elif drift_per_quarter == 0:
        days, often = math.inf, "not in between: the lots did not drift"
    else:
        days = max(1.0, _QUARTER * (sd / drift_per_quarter) ** 2)
        often = f"every {math.floor(days + 1e-9)} days" if days >= 2 else "every day"
    sentence = (
        f"Read the standard twice when a lot is opened and twice at its end. Between: {often}."
    )
    if math.isfinite(worth):
        sentence += f" More than {worth:.0f} readings of one bottle do not help; mix a new one."
    return NextStandard(days, worth, sentence)


def _walk(
    readings: StandardReadings,
    lots: Sequence[str],
    days: np.ndarray,
    other_lots: Sequence[str],
    other_days: np.ndarray,
    lot_sd: float,
    drift: float,
) -> np.ndarray:
    age = days - np.array([readings.opened[lot] for lot in lots])
    other_age = other_days - np.array([readings.opened[lot] for lot in other_lots])
    same = np.equal.outer(np.array(lots), np.array(other_lots))
    return same * (lot_sd**2 + drift**2 * np.minimum.outer(age, other_age))
