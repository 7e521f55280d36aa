"""Days without an entry in a daily dose by hand: counted half, and said."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reef_calc.balance.additions import AdditionHistory, days
from reef_calc.balance.extra_columns import dose_events, level_response, local_dates
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.refusals import day_text
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed

Floats = NDArray[np.float64]
DAY = pd.Timedelta(days=1)
LEAST_DAYS = 14
LEAST_FILLED = 0.8
# A longer stretch is a pause or an undeclared gap, not days that were forgotten one by one.
LONGEST_HOLE = 3
NEIGHBOURS = 5


@dataclass(frozen=True)
class MissingDoses:
    """Days without an entry in the daily dose of one supplement.

    Attributes
    ----------
    supplement : str
        Its name.
    moments : array (h,)
        When the missing doses would have been given (day numbers).
    rises : array (h,)
        What each would have raised (unit): the median of the five nearest days with an entry.
    pattern_days : int
        Days of the daily pattern within the readings, with and without an entry.
    column : KnownColumn
        Response to all of them; its factor is the share that was given, expected one half.
    swing : float
        Use if all were given less use if half were, of the missing doses alone (unit per day).
    message : Message
        What a person reads.
    """

    supplement: str
    moments: Floats
    rises: Floats
    pattern_days: int
    column: KnownColumn
    swing: float
    message: Message


@dataclass(frozen=True)
class _Run:
    """Entries of one supplement without a stretch of more than three empty days, by date."""

    totals: pd.Series
    clock: float
    lag: float


def missing_doses(record: ElementRecord) -> tuple[MissingDoses, ...]:
    """Return the days without an entry in daily doses by hand, each to be counted half.

    Level = … + q·Σ x_i·G/G_i with q, the share given, expected 1/2 ± √(1/12 + 1/(6 n)),
    n = (Σx)²/Σx². Each missing dose then has variance x²/4, and those of one person go together: q
    may be anything from 0 to 1 with equal right.

    Parameters
    ----------
    record : ElementRecord
        Sittings, doses and water changes; days are those of its zone.

    Returns
    -------
    tuple of MissingDoses
        One a supplement with such days between the first and the last reading. A daily pattern is
        14 days or more with an entry on 80 % of them; up to three days in a row are counted half,
        longer stretches are :func:`dosing_breaks`. Days within a declared gap, and days on which a
        standing dose of the same supplement ran, are not missing. An entry of 0 is an entry.

    Notes
    -----
    Measured on 100 simulated histories each, use varying by 10 % from day to day, a tenth of the
    entries missing: the 95 % interval covers 95 % where none of the missing doses were given, 100 %
    where half were and 95 % where all were; counting none of them 90, 48 and 9 %.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> poured = [day for day in range(20455, 20500) if day % 9]
    >>> shots = pd.DataFrame({"day": [day + 0.8 for day in poured], "rise": 0.5,
    ...     "supplement": "hand dose", "u": 0.0, "standing": False, "date_only": False,
    ...     "lag_days": 0.0})
    >>> by_hand = replace(record, doses=replace(record.doses, shots=shots))
    >>> found = missing_doses(by_hand)[0]
    >>> found.column.centre, round(found.column.u, 2)
    (0.5, 0.35)
    >>> print(found.message.text)
    5 of 44 days have no entry of hand dose. Each is counted half, unless the readings say more. If
    all were given, the tank uses 0.03 dKH a day more than with half; if none were, as much less.
    Enter what was given, and 0 for days left out.

    References
    ----------
    Counting half: own simulations. Beta-binomial moments with an even share: standard theory, MEMORY.
    """
    if len(record.sessions) < 2:
        return ()
    first, last = (float(record.sessions["day"].iloc[i]) for i in (0, -1))
    end = local_dates(np.array([last]), record.zone)[0] + DAY
    found: list[MissingDoses] = []
    for supplement, runs in _runs(record).items():
        moments, rises, size = [], [], 0
        for i, run in enumerate(runs):
            if not _is_daily(run):
                continue
            stop = run.totals.index[-1] + DAY
            # Forgotten days may also be the last ones before the last reading.
            if i + 1 == len(runs) and 0 < (end - stop) / DAY <= LONGEST_HOLE:
                stop = end
            dates = pd.date_range(run.totals.index[0], stop - DAY, freq="D")
            at = _moments(dates, run.clock, record.zone)
            within = (at >= first) & (at < last)
            size += int(within.sum())
            empty = within & ~dates.isin(run.totals.index) & ~_explained(record, supplement, dates)
            usual = run.totals[run.totals > 0]
            for date, day in zip(dates[empty], at[empty], strict=True):
                distance = np.abs((usual.index - date) / DAY)
                nearest = np.argsort(distance, kind="stable")[:NEIGHBOURS]
                moments.append(float(day))
                rises.append(float(np.median(usual.to_numpy(float)[nearest])))
        if moments:
            found.append(
                _counted_half(
                    record, supplement, np.array(moments), np.array(rises), size, runs[0].lag
                )
            )
    return tuple(found)


def daily_by_hand(record: ElementRecord, stop: float, span: float) -> dict[str, float]:
    """Return the daily doses by hand, as a mean in which forgotten days count half.

    Parameters
    ----------
    record : ElementRecord
        Doses; days are those of its zone.
    stop, span : float
        Day number of the end, and days before it; fewer where the pattern began later.

    Returns
    -------
    dict of str to float
        Unit per day by supplement, 0 where the pattern ended; single corrections are not in it.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> daily_by_hand(record, 20500.0, 28.0)  # a pump gives it all
    {}
    """
    half = {m.supplement: (m.moments, m.rises / 2) for m in missing_doses(record)}
    found: dict[str, float] = {}
    for supplement, runs in _runs(record).items():
        at = _moments(runs[-1].totals.index, runs[-1].clock, record.zone)
        if not _is_daily(runs[-1]):
            continue
        if stop - at[-1] > LONGEST_HOLE + 1:
            found[supplement] = 0.0
            continue
        start = max(stop - span, at[0])
        moments, rises = half.get(supplement, (np.empty(0), np.empty(0)))
        given = runs[-1].totals[(at >= start) & (at < stop)].sum()
        given += rises[(moments >= start) & (moments < stop)].sum()
        found[supplement] = float(given) / (stop - start)
    return found


def dosing_breaks(record: ElementRecord) -> tuple[Message, ...]:
    """Return what is said of longer stretches without an entry after a daily dose by hand.

    Parameters
    ----------
    record : ElementRecord
        Sittings and doses; days are those of its zone.

    Returns
    -------
    tuple of Message
        One a stretch of more than three days within the readings; nothing is counted for them.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> shots = pd.DataFrame({"day": np.arange(20455.8, 20475.0), "rise": 0.5,
    ...     "supplement": "hand dose", "u": 0.0, "standing": False, "date_only": False,
    ...     "lag_days": 0.0})
    >>> stopped = replace(record, doses=replace(record.doses, shots=shots))
    >>> print(dosing_breaks(stopped)[0].text)
    No entry of hand dose from 22 Jan 2026 to 15 Feb 2026, after daily entries: taken as none given.
    If it was given, enter it or mark these days as not logged.
    """
    if len(record.sessions) < 2:
        return ()
    first, last = local_dates(record.sessions["day"].iloc[[0, -1]], record.zone)
    told: list[Message] = []
    for supplement, runs in _runs(record).items():
        for i, run in enumerate(runs):
            start = run.totals.index[-1] + DAY
            stop = runs[i + 1].totals.index[0] if i + 1 < len(runs) else last + DAY
            dates = pd.date_range(max(start, first), min(stop - DAY, last), freq="D")
            dates = dates[~_explained(record, supplement, dates)]
            if not _is_daily(run) or len(dates) <= LONGEST_HOLE:
                continue
            ends = [day_text(d.tz_localize("UTC"), "UTC") for d in (dates[0], dates[-1])]
            told.append(
                Message(
                    "DOSES_STOPPED",
                    f"No entry of {supplement} from {ends[0]} to {ends[1]}, after daily entries: "
                    "taken as none given. If it was given, enter it or mark these days as not "
                    "logged.",
                    "qualified",
                )
            )
    return tuple(told)


def _runs(record: ElementRecord) -> dict[str, list[_Run]]:
    """Entries of every supplement poured by hand, cut where more than three days are empty."""
    shots = record.doses.shots
    if shots.empty:
        return {}
    shots = shots[~shots["standing"].astype(bool)]
    found: dict[str, list[_Run]] = {}
    for supplement, own in shots.groupby("supplement", sort=True):
        dates = local_dates(own["day"], record.zone)
        totals = own["rise"].groupby(dates).sum()
        clock = own["day"].to_numpy(float) - _moments(dates, 0.0, record.zone)
        turns = np.flatnonzero(np.diff(totals.index) / DAY > LONGEST_HOLE + 1) + 1
        found[str(supplement)] = [
            _Run(
                totals.iloc[a:b],
                float(np.median(clock[dates.isin(totals.index[a:b])])),
                float(own["lag_days"].max()),
            )
            for a, b in zip([0, *turns], [*turns, len(totals)], strict=True)
        ]
    return found


def _is_daily(run: _Run) -> bool:
    span = int((run.totals.index[-1] - run.totals.index[0]) / DAY) + 1
    return (
        span >= LEAST_DAYS
        and len(run.totals) >= LEAST_FILLED * span
        and bool((run.totals > 0).any())
    )


def _moments(dates: pd.DatetimeIndex, clock: float, zone: str) -> Floats:
    """Day numbers of a share of the day after local midnight."""
    midnights = dates.tz_localize(zone, ambiguous=[True] * len(dates), nonexistent="shift_forward")
    return days(midnights) + clock


def _explained(
    record: ElementRecord, supplement: str, dates: pd.DatetimeIndex
) -> NDArray[np.bool_]:
    """Dates that a declared gap covers, or on which the supplement's standing dose ran."""
    known = list(record.doses.gaps)
    steps = record.doses.steps
    if len(steps):
        own = steps[(steps["supplement"] == supplement) & (steps["rate"] > 0)]
        known += list(zip(own["start"], own["stop"], strict=True))
    midnight = _moments(dates, 0.0, record.zone)
    covered = np.zeros(len(dates), dtype=bool)
    for start, stop in known:
        covered |= (midnight < stop) & (midnight + 1 > start)
    return covered


def _counted_half(
    record: ElementRecord,
    supplement: str,
    moments: Floats,
    rises: Floats,
    size: int,
    lag: float,
) -> MissingDoses:
    shots = pd.DataFrame(
        {
            "day": moments,
            "rise": rises,
            "supplement": supplement,
            "u": 0.0,
            "standing": False,
            "date_only": True,
            "lag_days": lag,
        }
    )
    given = dose_events(AdditionHistory(pd.DataFrame(), shots, ()))
    equal = float(rises.sum() ** 2 / np.square(rises).sum())
    column = KnownColumn(
        f"missing doses {supplement}",
        level_response(record, given),
        0.5,
        float(np.sqrt(1 / 12 + 1 / (6 * equal))),
    )
    span = float(record.sessions["day"].iloc[-1] - record.sessions["day"].iloc[0])
    swing = float(rises.sum()) / 2 / span
    amount = f"{fixed(swing, decimals_for(swing))} {record.unit} a day"
    return MissingDoses(
        supplement,
        moments,
        rises,
        size,
        column,
        swing,
        Message(
            "DOSES_MISSING",
            f"{moments.size} of {size} days have no entry of {supplement}. Each is counted half, "
            f"unless the readings say more. If all were given, the tank uses {amount} more than with "
            "half; if none were, as much less. Enter what was given, and 0 for days left out.",
            "qualified",
        ),
    )
