"""Further columns of the balance that pay: the week's rhythm, who read, and doses without an hour."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reef_calc.balance.additions import AdditionHistory, arriving, days, moment
from reef_calc.balance.record import ElementRecord
from reef_calc.balance.steady_use import KnownColumn
from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.errors import InputError

Floats = NDArray[np.float64]
SATURDAY, MONDAY = 5, 7
RHYTHM_SHARE = 0.2
RHYTHM_WEEKDAYS = 3
RHYTHM_DAYS = 28.0
READER_SDS = 2.0
READERS_RECORDED = 0.8
READER_SITTINGS = 3


def level_response(record: ElementRecord, doses: WaterEvents) -> Floats:
    """Return what doses alone would have made of the level at each sitting.

    The D of the balance, with the water changes of the record and new water of 0.

    Parameters
    ----------
    record : ElementRecord
        Sittings and water changes.
    doses : WaterEvents
        Doses as they arrive; water changes in it are not looked at.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Levels in the unit of the doses, 0 at the first sitting.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> dose = WaterEvents(dose_times=[20457.0], dose_rises=[1.0])
    >>> level_response(record, dose)[:4].round(2).tolist()  # a tenth is changed every Sunday
    [0.0, 0.9, 0.9, 0.81]
    """
    changes = record.events.change_times
    alone = WaterEvents(
        dose_times=doses.dose_times,
        dose_rises=doses.dose_rises,
        rate_starts=doses.rate_starts,
        rate_stops=doses.rate_stops,
        rates=doses.rates,
        change_times=changes,
        change_fractions=record.events.change_fractions,
        change_levels=np.zeros(changes.size),
    )
    return balance_columns(record.sessions["day"].to_numpy(float), alone).D


def dose_events(doses: AdditionHistory) -> WaterEvents:
    """Return doses as events of the balance, as they arrive, without water changes.

    Parameters
    ----------
    doses : AdditionHistory
        Doses as given.

    Returns
    -------
    WaterEvents
        Times as day numbers.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.additions import addition_history
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> dose_events(addition_history(example_tank(), "alkalinity", "dKH", until)).rates.tolist()
    [1.0]
    """
    there = arriving(doses)
    steps, shots = there.steps, there.shots
    if len(steps):
        steps = steps[~steps["at_times"].astype(bool)]
    none = np.empty(0)
    return WaterEvents(
        dose_times=shots["day"].to_numpy(float) if len(shots) else none,
        dose_rises=shots["rise"].to_numpy(float) if len(shots) else none,
        rate_starts=steps["start"].to_numpy(float) if len(steps) else none,
        rate_stops=steps["stop"].to_numpy(float) if len(steps) else none,
        rates=steps["rate"].to_numpy(float) if len(steps) else none,
    )


def weekly_rhythm(record: ElementRecord, rate: float) -> KnownColumn | None:
    """Return the column of a use that differs at the weekend; None where readings cannot show it.

    Use = k + x on Saturday and Sunday, k − 0.4·x on the other days, so k stays the week's mean;
    column = −(W − 0.4·(H − W)) with W the response to a unit use at weekends. x is expected 0 within
    0.2·k.

    Parameters
    ----------
    record : ElementRecord
        Sittings and water changes; days are those of its zone.
    rate : float
        Use, k, unit per day; only its size matters.

    Returns
    -------
    KnownColumn or None
        Factor x in unit per day. None unless readings fall on three or more days of the week and
        span 28 days or more.

    Raises
    ------
    InputError
        If the rate is not a finite number.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> column = weekly_rhythm(record, 1.0)
    >>> column.u, column.values[:3].round(2).tolist()  # Friday, Tuesday, Saturday
    (0.2, [0.0, -1.07, -0.52])
    >>> weekly_rhythm(record.since(20480.0), 1.0) is None  # 20 days are too short
    True

    References
    ----------
    Own simulations: it costs nothing where there is no rhythm. The prior is *common practice, no
    source*.
    """
    if not np.isfinite(rate):
        raise InputError("a finite rate", rate, "Fit the use first.", "weekly_rhythm")
    times = record.sessions["day"].to_numpy(float)
    local = [moment(t).tz_convert(record.zone) for t in times]
    seen = {t.day_of_week for t in local}
    if len(seen) < RHYTHM_WEEKDAYS or times[-1] - times[0] < RHYTHM_DAYS or rate == 0:
        return None
    monday = (local[0] - pd.Timedelta(days=local[0].day_of_week)).tz_localize(None).normalize()
    weeks = range(int((times[-1] - times[0]) // 7) + 2)
    starts, stops = (
        days(
            pd.DatetimeIndex([monday + pd.Timedelta(days=7 * w + day) for w in weeks]).tz_localize(
                record.zone, ambiguous=[True] * len(weeks), nonexistent="shift_forward"
            )
        )
        for day in (SATURDAY, MONDAY)
    )
    weekend = level_response(
        record, WaterEvents(rate_starts=starts, rate_stops=stops, rates=np.ones(len(weeks)))
    )
    return KnownColumn(
        "weekly rhythm", 0.4 * record.balance().H - 1.4 * weekend, 0.0, RHYTHM_SHARE * abs(rate)
    )


def reader_columns(record: ElementRecord, readers: Mapping[int, str]) -> list[KnownColumn]:
    """Return a column for every reader beside the most frequent one.

    Column = share of the sitting's readings that this person made; the factor is how much higher
    they read than the most frequent reader, expected 0 within 2·s0.

    Parameters
    ----------
    record : ElementRecord
        Sittings with the ``rows`` of their readings.
    readers : mapping of int to str
        Row of readings.csv to who read it (``by``); empty text for not recorded.

    Returns
    -------
    list of KnownColumn
        Names ``reader NAME``, factor in the unit of the record. Empty unless the reader is recorded
        for 80 % of the readings. A person with fewer than three sittings gets no column: their
        readings, and those without a name, count as the most frequent reader's.

    Notes
    -----
    A person who took over for good is no reader column but a new kit: the two look the same.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> who = {row: "Ida" if row % 3 else "Jo" for rows in record.sessions["rows"] for row in rows}
    >>> [(c.name, int(c.values.sum()), round(c.u, 3)) for c in reader_columns(record, who)]
    [('reader Jo', 3, 0.208)]
    >>> reader_columns(record, {2: "Ida"})
    []

    References
    ----------
    Own simulations; the prior is *common practice, no source*.
    """
    named = [
        [str(readers.get(row, "")).strip() for row in rows] for rows in record.sessions["rows"]
    ]
    total = sum(len(names) for names in named)
    recorded = sum(bool(name) for names in named for name in names)
    if total == 0 or recorded < READERS_RECORDED * total:
        return []
    sittings = Counter(name for names in named for name in set(names) if name)
    ranked = sorted(sittings, key=lambda name: (-sittings[name], name))
    sd = np.hypot(record.sessions["sd"], record.sessions["resolution"] / 12**0.5)
    return [
        KnownColumn(
            f"reader {name}",
            np.array([names.count(name) / len(names) for names in named]),
            0.0,
            READER_SDS * float(np.median(sd)),
        )
        for name in ranked[1:]
        if sittings[name] >= READER_SITTINGS
    ]


def date_only_dose_variance(record: ElementRecord) -> Floats:
    """Return variance to add to readings on days with a dose whose hour is not known.

    x²/12, x being all that was given on that date without an hour: the hour is taken as even over
    the day.

    Parameters
    ----------
    record : ElementRecord
        Sittings and doses; days are those of its zone.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Variances in unit². For readings without an hour it adds to what ``hour_and_date_noise``
        gives, which stands for the hour of the reading.

    Notes
    -----
    Doses of one date count as given together, the wider case. Delayed doses add nothing: their
    arrival is spread over more than the day. An hour in the log is better than any of this.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.balance.record import element_record
    >>> until = pd.Timestamp("2026-02-16", tz="UTC")
    >>> record = element_record(example_tank(), "alkalinity", "dKH", until)
    >>> shot = pd.DataFrame({"day": [20459.46], "rise": [0.6], "date_only": [True],
    ...                      "lag_days": [0.0]})  # 6 January, the day of the second reading
    >>> poured = replace(record, doses=replace(record.doses, shots=shot))
    >>> date_only_dose_variance(poured)[:3].round(3).tolist()
    [0.0, 0.03, 0.0]
    """
    shots = record.doses.shots
    if shots.empty:
        return np.zeros(len(record.sessions))
    unsure = shots[shots["date_only"].astype(bool) & (shots["lag_days"] == 0)]
    given = unsure["rise"].groupby(local_dates(unsure["day"], record.zone)).sum()
    on = local_dates(record.sessions["day"], record.zone)
    x = given.reindex(on, fill_value=0.0).to_numpy(float)
    return np.square(x) / 12


def local_dates(moments: pd.Series | Floats, zone: str) -> pd.DatetimeIndex:
    """Return the dates, in a zone, of day numbers.

    Parameters
    ----------
    moments : pandas.Series or array (n,)
        Day numbers (d).
    zone : str
        IANA zone.

    Returns
    -------
    pandas.DatetimeIndex
        Midnights without a zone.

    Examples
    --------
    >>> local_dates(np.array([20459.97]), "Europe/Berlin").strftime("%d %b").tolist()
    ['07 Jan']
    """
    times = pd.DatetimeIndex([moment(float(t)) for t in moments], tz="UTC")
    return times.tz_convert(zone).tz_localize(None).normalize()
