"""All checks of one kit: lot by lot what the standards say, and when to read one next."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.bench.bias_history import Drift, NextStandard, drift_from_lots, next_standard
from reef_calc.bench.corrections import Correction
from reef_calc.bench.kits import Kit
from reef_calc.bench.lot_check import LotCheck, check_lot, level_groups, sd_of_kit
from reef_calc.bench.standard_readings import Bottle, StandardReadings, standard_readings
from reef_calc.errors import CannotTellError
from reef_calc.log.standard_rows import standard_rows
from reef_calc.log.tank import Tank

_SOON_DAYS = 30
_QUIET_DAYS = 45  # a kit unused for longer is checked when it comes back into use
# A lot rarely lasts longer (common practice, no source): beyond, its opening and its end are enough.
_LONGEST_DAYS = 180.0
_FOR_LOTS = 2.0  # lots differ by about twice a reading's scatter where nothing is known


@dataclass(frozen=True)
class NextCheck:
    """When to read a standard next, and why.

    Attributes
    ----------
    due : datetime.date or None
        Day; None where no day follows.
    headline : str
        When, in one sentence.
    why : tuple of str
        Why, in short sentences.
    """

    due: dt.date | None
    headline: str
    why: tuple[str, ...]


@dataclass(frozen=True)
class StoredEffect:
    """What a stored correction makes of the readings of standards of one lot.

    Attributes
    ----------
    correction : Correction
        The correction.
    left : float
        Mean of corrected minus standard, in the kit's unit.
    half : float
        Half of the 95 % interval of the lot's bias, in the kit's unit; infinite where it is not told.
    """

    correction: Correction
    left: float
    half: float

    @property
    def puts_right(self) -> bool:
        """Whether what is left lies within the interval of the bias."""
        return abs(self.left) <= self.half


@dataclass(frozen=True)
class KitChecks:
    """What the log's readings of standards say about one kit.

    Attributes
    ----------
    kit : Kit
        The kit.
    rows : pandas.DataFrame
        All readings of standards with it, as ``standard_rows`` gives them.
    lots : tuple of LotCheck
        One a lot with readings, in the order of their first reading.
    lot_in_use : str
        Lot of the kit's latest reading of any water; empty where none was written.
    next : NextCheck
        When to read a standard next.
    stored : dict of str to StoredEffect or None
        By lot, the stored correction that holds for its last reading of a standard.
    """

    kit: Kit
    rows: pd.DataFrame
    lots: tuple[LotCheck, ...]
    lot_in_use: str
    next: NextCheck
    stored: dict[str, StoredEffect | None]

    def lot(self, name: str) -> LotCheck | None:
        """Return the check of one lot, or None when it has no reading of a standard.

        Parameters
        ----------
        name : str
            Name of the lot.

        Returns
        -------
        LotCheck or None
            The check.
        """
        return next((one for one in self.lots if one.lot == name), None)


def kit_checks(tank: Tank, kit_name: str, today: dt.date) -> KitChecks:
    """Return what the log's readings of standards say about one kit, lot by lot.

    Parameters
    ----------
    tank : Tank
        The tank.
    kit_name : str
        Name of a described kit with one element.
    today : datetime.date
        Present day in the tank's zone.

    Returns
    -------
    KitChecks
        In the kit's unit, as read.

    Raises
    ------
    InputError
        If the kit is not described, measures more than one element, or has neither scatter nor step.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> found = kit_checks(example_tank(), "drops", dt.date(2026, 3, 1))
    >>> found.lots, found.next.headline
    ((), 'Read a standard now, twice: this kit has none yet.')
    """
    rows = standard_rows(tank, kit_name)
    kit = tank.kits[kit_name]
    usable = rows[rows["aside"] == ""]
    lots = tuple(
        check_lot(kit, lot, usable[usable["lot"] == lot]) for lot in dict.fromkeys(rows["lot"])
    )
    all_mine = tank.readings[(tank.readings["kit"] == kit_name)]
    in_use = str(all_mine["lot"].iloc[-1]) if len(all_mine) else ""
    used = all_mine["time"].iloc[-1].tz_convert(tank.zone).date() if len(all_mine) else None
    due = _next(tank, kit, usable, in_use, used, today, read=len(rows) > 0)
    stored = {
        one.lot: _stored(kit, one, one.rows["time"].iloc[-1].tz_convert(tank.zone).date())
        for one in lots
        if len(one.rows)
    }
    return KitChecks(kit, rows, lots, in_use, due, stored)


def _stored(kit: Kit, check: LotCheck, day: dt.date) -> StoredEffect | None:
    correction = kit.correction_at(day, check.lot)
    if correction is None:
        return None
    put_right = check.rows["read"].map(correction.apply)
    left = float((put_right - check.rows["level"]).mean())
    half = math.inf if check.bias is None else check.bias.forms[0].t * check.bias.u
    return StoredEffect(correction, left, half)


def _next(
    tank: Tank,
    kit: Kit,
    usable: pd.DataFrame,
    in_use: str,
    used: dt.date | None,
    today: dt.date,
    *,
    read: bool,
) -> NextCheck:
    if usable.empty:
        count = "none that can be used" if read else "none yet"
        return NextCheck(today, f"Read a standard now, twice: this kit has {count}.", ())
    last = usable.iloc[-1]
    sd = math.hypot(sd_of_kit(kit, usable), kit.resolution / math.sqrt(12.0))
    u = 0.0 if math.isnan(last["level_u"]) else float(last["level_u"])
    drift, why_not = _drift(tank, kit, usable)
    rule = next_standard(sd, u, None if drift is None else drift.per_quarter)
    why = [why_not] if drift is None else [_drift_words(kit, drift)]
    why.append(rule.sentence)
    here = usable[usable["lot"] == in_use]
    name = f"Lot {in_use}" if in_use else "The lot in use"
    described = kit.lot(in_use)
    if described is not None and described.expires is not None:
        left = (described.expires - today).days
        if left < 0:
            why.insert(0, f"{name} expired on {described.expires}.")
        elif left <= _SOON_DAYS:
            why.insert(0, f"{name} expires on {described.expires}: read the standard twice before.")
    if used is not None and (today - used).days > _QUIET_DAYS:
        headline = (
            f"The kit was last used on {used}. Read the standard twice before it is used again."
        )
        return NextCheck(None, headline, tuple(why))
    if len(here) < 2:
        count = "has not been read on a standard" if here.empty else "was read on one only once"
        headline = f"Read the standard now: {name[0].lower() + name[1:]} is in use and {count}."
        return NextCheck(today, headline, tuple(why))
    if rule.every_days > _LONGEST_DAYS:
        return NextCheck(None, "Next standard: twice at the end of this lot.", tuple(why))
    day = here["time"].iloc[-1].tz_convert(tank.zone).date()
    due = day + dt.timedelta(days=math.floor(rule.every_days + 1e-9))
    headline = (
        f"Next standard: due since {due} ({(today - due).days} days)."
        if due < today
        else f"Next standard: {'today' if due == today else f'by {due}'}."
    )
    if _worn_out(rule, here, last["standard"]):
        headline += " Mix a new bottle first."
    return NextCheck(due, headline, tuple(why))


def _worn_out(rule: NextStandard, here: pd.DataFrame, bottle: str) -> bool:
    return int((here["standard"] == bottle).sum()) >= rule.most_readings


def _drift(tank: Tank, kit: Kit, usable: pd.DataFrame) -> tuple[Drift | None, str]:
    groups = level_groups(usable["level"].to_numpy(float))
    # A factor would pass for drift when levels change, so one level speaks: the one read most.
    most = usable[groups == np.bincount(groups).argmax()]
    sd = sd_of_kit(kit, most)
    try:
        return drift_from_lots(_arrays(tank, kit, most, sd), lot_sd=_FOR_LOTS * sd), ""
    except CannotTellError as error:
        return None, str(error)


def _arrays(tank: Tank, kit: Kit, rows: pd.DataFrame, sd: float) -> StandardReadings:
    start = rows["time"].iloc[0].tz_convert(tank.zone).normalize()
    opened = {}
    for lot in kit.lots:
        if lot.opened is not None and lot.name in set(rows["lot"]):
            opened[lot.name] = (pd.Timestamp(lot.opened, tz=tank.zone) - start).total_seconds()
    bottles = {
        str(row.standard): Bottle(float(row.level), 0.0 if pd.isna(row.level_u) else row.level_u)
        for row in rows.itertuples()
    }
    return standard_readings(
        ((rows["time"] - start).dt.total_seconds() / 86400.0).tolist(),
        rows["read"].tolist(),
        rows["lot"].tolist(),
        rows["standard"].tolist(),
        bottles,
        sd=sd,
        resolution=kit.resolution,
        opened={name: seconds / 86400.0 for name, seconds in opened.items()},
    )


def _drift_words(kit: Kit, drift: Drift) -> str:
    return (
        f"The lots of this kit drift by about {drift.per_quarter:.2g} {kit.unit} in 90 days "
        f"({drift.low:.2g} to {drift.high:.2g})."
    )
