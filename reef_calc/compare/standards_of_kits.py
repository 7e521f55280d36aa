"""Readings of standards of several kits in one unit, and what each kit's own lots have shown."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.bench.bias_history import BiasHistory, bias_history, drift_from_lots
from reef_calc.bench.lot_check import LotCheck, level_groups
from reef_calc.bench.standard_readings import Bottle, standard_readings
from reef_calc.chem.units import convert
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.kit_checks import KitChecks
from reef_calc.log.tank import Tank

_ROOM_TEMPERATURE_C = 25.0
_FOR_LOTS = 2.0  # lots differ by about twice a reading's scatter where nothing is known
_COLUMNS = (
    "row", "time", "kit", "lot", "standard", "level", "level_u", "read", "deviation", "sd",
    "resolution", "sd_df",
)  # fmt: skip


@dataclass(frozen=True)
class OverTime:
    """What a kit's readings of standards of one level show over time.

    Attributes
    ----------
    history : BiasHistory or None
        Bias at each reading of a standard, in the kit's unit; None below two readings.
    per_quarter : float or None
        Drift in 90 days (standard deviation, kit's unit); None where not known.
    """

    history: BiasHistory | None
    per_quarter: float | None


def standards_in_unit(tank: Tank, checks: KitChecks, unit: str) -> pd.DataFrame:
    """Return the usable readings of standards with one kit, in one unit.

    Parameters
    ----------
    tank : Tank
        The tank.
    checks : KitChecks
        The kit's checks.
    unit : str
        Unit wanted.

    Returns
    -------
    pandas.DataFrame
        In order of time: ``row``, ``time`` (UTC), ``kit``, ``lot``, ``standard``, ``level``,
        ``level_u`` (0 where not written), ``read``, ``deviation`` (read − level), ``sd``,
        ``resolution`` (``unit``) and ``sd_df`` (a count).

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.kit_checks import kit_checks
    >>> tank = example_tank()
    >>> len(standards_in_unit(tank, kit_checks(tank, "drops", dt.date(2026, 3, 1)), "meq/L"))
    0
    """
    kit = checks.kit
    conditions = tank.readings.set_index("row")[["salinity", "temperature"]]
    made = []
    for row in checks.rows[checks.rows["aside"] == ""].itertuples(index=False):
        salinity, warmth = conditions.loc[row.row]
        of_lot = checks.lot(str(row.lot))
        if of_lot is None or not of_lot.sd > 0:
            continue

        def to(value: float, salinity: float = salinity, warmth: float = warmth) -> float:
            return value if kit.unit == unit else convert(
                value, kit.unit, unit, kit.element,
                salinity=None if math.isnan(salinity) else salinity,
                temperature_C=_ROOM_TEMPERATURE_C if math.isnan(warmth) else warmth,
            )  # fmt: skip

        level, read = to(float(row.level)), to(float(row.read))
        u = 0.0 if math.isnan(row.level_u) else float(row.level_u)
        made.append({
            "row": row.row, "time": row.time, "kit": kit.name, "lot": row.lot,
            "standard": row.standard, "level": level, "read": read, "deviation": read - level,
            "level_u": abs(to(float(row.level) + u) - level),
            "sd": abs(to(float(row.read) + of_lot.sd) - read),
            "resolution": abs(to(float(row.read) + kit.resolution) - read),
            "sd_df": of_lot.sd_df,
        })  # fmt: skip
    return pd.DataFrame(made, columns=[*_COLUMNS])


def one_level(rows: pd.DataFrame, usual: float | None) -> pd.DataFrame:
    """Return the readings of the one level of standard at which the kits are compared.

    Parameters
    ----------
    rows : pandas.DataFrame
        Readings with ``kit`` and ``level``.
    usual : float or None
        Usual level of the tank, in the unit of the levels; None where not known.

    Returns
    -------
    pandas.DataFrame
        Those of the level that most kits read; of several the nearest to the usual level.

    Examples
    --------
    >>> rows = pd.DataFrame({"kit": ["A", "B", "A"], "level": [8.0, 8.0, 12.0]})
    >>> one_level(rows, 7.5)["level"].tolist()
    [8.0, 8.0]
    """
    if rows.empty:
        return rows
    groups = level_groups(rows["level"].to_numpy(float))

    def worth(group: int) -> tuple[int, float, int]:
        own = rows[groups == group]
        away = abs(float(own["level"].mean()) - usual) if usual is not None else 0.0
        return own["kit"].nunique(), -away, len(own)

    best = max(range(int(groups.max()) + 1), key=worth)
    return rows[groups == best]


def over_time(tank: Tank, checks: KitChecks, rows: pd.DataFrame) -> OverTime:
    """Return how the bias of a kit's lots went, and how far its lots drift.

    Parameters
    ----------
    tank : Tank
        The tank.
    checks : KitChecks
        The kit's checks.
    rows : pandas.DataFrame
        Its readings of standards of one level, as ``checks.rows``, in the kit's unit.

    Returns
    -------
    OverTime
        History and drift; a drift that is not known yet counts as none in the history.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.kit_checks import kit_checks
    >>> tank = example_tank()
    >>> checks = kit_checks(tank, "drops", dt.date(2026, 3, 1))
    >>> over_time(tank, checks, checks.rows).history is None
    True
    """
    if len(rows) < 2:
        return OverTime(None, None)
    start = rows["time"].min().tz_convert(tank.zone).normalize()
    day = pd.Timedelta(days=1)
    sd = min(lot.sd for lot in checks.lots if lot.lot in set(rows["lot"]) and lot.sd > 0)
    opened = {
        lot.name: (pd.Timestamp(lot.opened, tz=tank.zone) - start) / day
        for lot in checks.kit.lots
        if lot.opened is not None and lot.name in set(rows["lot"])
    }
    bottles = {
        str(row.standard): Bottle(float(row.level), 0.0 if pd.isna(row.level_u) else row.level_u)
        for row in rows.itertuples()
    }
    days = ((rows["time"] - start) / day).tolist()
    try:
        read = standard_readings(
            days, rows["read"].tolist(), rows["lot"].tolist(), rows["standard"].tolist(), bottles,
            sd=sd, resolution=checks.kit.resolution, opened=opened,
        )  # fmt: skip
    except InputError:  # a reading older than its lot: the kit's own page says so
        return OverTime(None, None)
    try:
        drift: float | None = drift_from_lots(read, lot_sd=_FOR_LOTS * sd).per_quarter
    except CannotTellError:
        drift = None
    wanted = list(dict.fromkeys(zip(rows["lot"], days, strict=True)))
    history = bias_history(read, wanted, lot_sd=_FOR_LOTS * sd, drift_per_quarter=drift or 0.0)
    when = [start + one * day for one in history.bias["day"]]
    timed = history.bias.assign(time=pd.DatetimeIndex(when).tz_convert("UTC"))
    return OverTime(BiasHistory(timed, history.covariance, history.bottles), drift)


def days_since(times: Sequence[pd.Timestamp], today: pd.Timestamp) -> float:
    """Return how long ago readings were taken, in the mean.

    Parameters
    ----------
    times : sequence of pandas.Timestamp
        Times with a zone.
    today : pandas.Timestamp
        Present time.

    Returns
    -------
    float
        Days, 0 or more.

    Examples
    --------
    >>> now = pd.Timestamp("2026-03-05", tz="UTC")
    >>> days_since([pd.Timestamp("2026-03-01", tz="UTC"), pd.Timestamp("2026-03-03", tz="UTC")], now)
    3.0
    """
    apart = [(today - one) / pd.Timedelta(days=1) for one in times]
    return max(0.0, float(np.mean(apart)))


def judged_lot(checks: KitChecks, wanted: str | None) -> tuple[str, LotCheck | None, str]:
    """Return the lot of a kit that is judged, its check, and why it cannot be judged.

    Parameters
    ----------
    checks : KitChecks
        The kit's checks.
    wanted : str or None
        Lot asked for; None for the lot in use.

    Returns
    -------
    tuple of (str, LotCheck or None, str)
        Lot, check where there is a usable one, and a sentence where there is none.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.kit_checks import kit_checks
    >>> judged_lot(kit_checks(example_tank(), "drops", dt.date(2026, 3, 1)), None)
    ('', None, 'No standard was read with drops.')
    """
    lot = checks.lot_in_use if wanted is None else wanted
    check = checks.lot(lot)
    if check is not None and len(check.rows):
        return lot, check, ""
    if check is not None:
        return lot, None, f"The readings of standards with {checks.kit.name} cannot be used."
    if not checks.lots:
        return lot, None, f"No standard was read with {checks.kit.name}."
    which = f"Lot {lot}" if lot else "The lot in use"
    return lot, None, (
        f"{which} of {checks.kit.name} was not read on a standard. What other lots showed does not "
        "hold for it."
    )  # fmt: skip
