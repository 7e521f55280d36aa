"""A plan against what the log says was given, and against what was read since."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.errors import InputError
from reef_calc.log.history import replicate_sessions, tank_readings
from reef_calc.log.plan_rows import amount_text
from reef_calc.log.plans import ContainerPhase, StoredPlan
from reef_calc.log.tank import Tank
from reef_calc.log.times import window_edge
from reef_calc.numbers_in_words import decimals_for, fixed

DOSE_COLUMNS = ("container", "unit", "date_from", "date_to", "planned", "logged", "days_not_logged",
                "verdict")  # fmt: skip
LEVEL_COLUMNS = ("time", "element", "unit", "planned", "read", "low", "high", "difference",
                 "verdict")  # fmt: skip
WEEK = 7
# Differences of this share, or less, are as planned: a pump cannot be read closer (own choice).
CLOSE = 0.03
DAY = pd.Timedelta(days=1)
_TO_OWN = {"mL": 1.0, "ml": 1.0, "L": 1000.0, "l": 1000.0, "g": 1.0, "kg": 1000.0}


@dataclass(frozen=True)
class PlannedAndDone:
    """What was planned and what was done.

    Attributes
    ----------
    plan : StoredPlan
        The plan.
    doses : pandas.DataFrame
        One row a container and week: ``container``, ``unit``, ``date_from``, ``date_to``,
        ``planned``, ``logged`` (mL or g as set; NaN where nothing was written down),
        ``days_not_logged`` (days of the week that the log says were not written down), ``verdict``
        ("as planned", "more", "less", "not logged").
    levels : pandas.DataFrame
        One row a sitting: ``time`` (UTC), ``element``, ``unit``, ``planned``, ``read``, ``low``,
        ``high`` (95 % of the reading alone), ``difference``, ``verdict`` ("as planned", "higher",
        "lower").
    sentences : tuple of str
        One for each container and element.
    """

    plan: StoredPlan
    doses: pd.DataFrame
    levels: pd.DataFrame
    sentences: tuple[str, ...]


def planned_and_done(tank: Tank, plan: StoredPlan, until: str | dt.date) -> PlannedAndDone:
    """Return a plan beside what the log says was given and read.

    Parameters
    ----------
    tank : Tank
        An opened tank folder.
    plan : StoredPlan
        A plan that was kept.
    until : str or datetime.date
        Last day that counts.

    Returns
    -------
    PlannedAndDone
        Doses by container and week, levels by sitting, sentences.

    Raises
    ------
    InputError
        If the day cannot be read or lies before the plan begins.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> day, last = dt.date(2026, 2, 1), dt.date(2026, 2, 7)
    >>> one = ContainerPhase("part one", "mL", day, last, 60.0, 2, 30.0, ("08:00", "20:00"))
    >>> made = dt.datetime(2026, 1, 31, 18, tzinfo=dt.UTC)
    >>> plan = StoredPlan("Example reef", made, day, 7, 300.0, (one,), ())
    >>> planned_and_done(example_tank(), plan, "2026-02-07").sentences
    ('part one: 420 mL planned by 7 Feb 2026, 420 mL logged. As planned.',)
    """
    edge = window_edge(until, tank.zone, end=False)
    last = edge.tz_convert(tank.zone).date() if edge is not None else plan.start
    last = min(last, plan.start + dt.timedelta(days=plan.days - 1))
    if last < plan.start:
        raise InputError(
            f"a day from {plan.start.isoformat()} on",
            last.isoformat(),
            "The plan had not begun by then.",
            "planned_and_done, until",
        )
    doses = _doses(tank, plan, last)
    levels = _levels(tank, plan, last)
    return PlannedAndDone(plan, doses, levels, (*_dose_words(doses, last), *_level_words(levels)))


def _midnight(tank: Tank, day: dt.date) -> pd.Timestamp:
    return pd.Timestamp(day).tz_localize(tank.zone).tz_convert("UTC")


def _doses(tank: Tank, plan: StoredPlan, last: dt.date) -> pd.DataFrame:
    names = dict.fromkeys(one.container for one in plan.phases)
    begin, end = _midnight(tank, plan.start), _midnight(tank, last + dt.timedelta(days=1))
    given = tank.additions
    inside = (given["start"] < end) & (given["stop"].isna() | (given["stop"] >= begin))
    names |= dict.fromkeys(given.loc[inside, "supplement"])
    rows = []
    for name in names:
        own = [one for one in plan.phases if one.container == name]
        unit = own[0].unit if own else tank.supplements[name].unit
        found = []
        first = plan.start
        while first <= last:
            stop = min(first + dt.timedelta(days=WEEK - 1), last)
            planned = sum(one.per_day * _shared_days(one, first, stop) for one in own)
            logged, silent = _logged(
                tank, name, _midnight(tank, first), _midnight(tank, stop + dt.timedelta(days=1))
            )
            verdict = _verdict(planned, logged, silent)
            found.append((name, unit, first, stop, planned, logged, silent, verdict))
            first = stop + dt.timedelta(days=1)
        if any(row[4] > 0.0 or row[5] > 0.0 or row[6] > 0.0 for row in found):
            rows += found
    return pd.DataFrame(rows, columns=[*DOSE_COLUMNS])


def _shared_days(one: ContainerPhase, first: dt.date, last: dt.date) -> int:
    return max(0, (min(one.date_to, last) - max(one.date_from, first)).days + 1)


def _logged(tank: Tank, name: str, begin: pd.Timestamp, end: pd.Timestamp) -> tuple[float, float]:
    """Return what the log says was set and given, and the days it says were not written down."""
    total = silent = 0.0
    for row in tank.additions[tank.additions["supplement"] == name].itertuples(index=False):
        stop = end if pd.isna(row.stop) else min(row.stop, end)
        days = max((stop - max(row.start, begin)) / DAY, 0.0)
        if row.how == "not logged":
            silent += days
        elif row.how == "per day":
            # By the clock on the wall a day counts as one day, also where it has 23 or 25 hours.
            local = stop.tz_convert(tank.zone).tz_localize(None)
            since = max(row.start, begin).tz_convert(tank.zone).tz_localize(None)
            wall = max((local - since) / DAY, 0.0) if days > 0.0 else 0.0
            total += float(row.amount) * _TO_OWN[str(row.unit)] * wall
        elif begin <= row.start < end:
            total += float(row.amount) * _TO_OWN[str(row.unit)]
    return (math.nan if silent > 0.0 and total == 0.0 else total), silent


def _verdict(planned: float, logged: float, silent: float) -> str:
    if silent > 0.0 or math.isnan(logged):
        return "not logged"
    if abs(logged - planned) <= CLOSE * max(planned, logged):
        return "as planned"
    return "more" if logged > planned else "less"


def _levels(tank: Tank, plan: StoredPlan, last: dt.date) -> pd.DataFrame:
    begin, end = _midnight(tank, plan.start), _midnight(tank, last + dt.timedelta(days=1))
    edges = [
        _midnight(tank, plan.start + dt.timedelta(days=day)).timestamp()
        for day in range(plan.days + 1)
    ]
    rows = []
    for one in plan.levels:
        read = tank_readings(tank, one.element, one.unit, since=begin, until=end)
        read = read[(read["time"] < end) & (read["limit"] == "") & ~read["outside"].astype(bool)]
        for row in replicate_sessions(read).itertuples(index=False):
            planned = float(np.interp(row.time.timestamp(), edges, one.levels))
            sd = math.hypot(row.sd, row.resolution / math.sqrt(12)) / math.sqrt(row.n)
            level, half = float(row.corrected), 2.0 * math.hypot(sd, _or_zero(row.corrected_u))
            verdict = "as planned"
            if abs(level - planned) > half:
                verdict = "higher" if level > planned else "lower"
            rows.append(
                (
                    row.time, one.element, one.unit, planned, level, level - half, level + half,
                    level - planned, verdict,
                )
            )  # fmt: skip
    return pd.DataFrame(rows, columns=[*LEVEL_COLUMNS])


def _or_zero(value: float) -> float:
    return 0.0 if math.isnan(value) else float(value)


def _dose_words(doses: pd.DataFrame, last: dt.date) -> list[str]:
    found = []
    for name, own in doses.groupby("container", sort=False):
        planned, logged = float(own["planned"].sum()), float(own["logged"].sum())
        silent, unit = float(own["days_not_logged"].sum()), own["unit"].iloc[0]
        until = f"{last.day} {last:%b %Y}"
        head = (
            f"{name}: {_round(planned)} {unit} planned by {until}, {_round(logged)} {unit} logged."
        )
        if silent > 0.0:
            tail = f"{silent:.3g} days were not written down."
        elif planned == 0.0:
            head = f"{name}: not in the plan, {_round(logged)} {unit} logged by {until}."
            tail = "Make the plan again with it."
        elif (own["verdict"] == "as planned").all():
            tail = "As planned."
        elif _verdict(planned, logged, 0.0) == "as planned":
            tail = "As planned in all, not week by week."
        else:
            share = 100.0 * (logged / planned - 1.0)
            digits = f"{abs(share):.0f}" if abs(share) >= 10.0 else f"{abs(share):.2g}"
            tail = f"{digits} % {'more' if share > 0 else 'less'} than planned."
        found.append(f"{head} {tail}")
    return found


def _round(amount: float) -> str:
    return amount_text(round(amount, 1 if amount < 100.0 else 0))


def _level_words(levels: pd.DataFrame) -> list[str]:
    found = []
    for name, own in levels.groupby("element", sort=False):
        last = own.iloc[-1]
        half = float(last["high"] - last["read"])
        decimals = max(decimals_for(half), 0) if half > 0.0 else 1
        sentence = (
            f"{str(name).capitalize()}: last read {fixed(last['read'], decimals)} ± "
            f"{fixed(half, decimals)} {last['unit']}, planned {fixed(last['planned'], decimals)}."
        )
        if last["verdict"] == "as planned":
            found.append(f"{sentence} The reading does not speak against the plan.")
        else:
            found.append(f"{sentence} It is {last['verdict']} than planned: plan again with it.")
    return found
