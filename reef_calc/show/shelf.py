"""The kits of a tank on one day: what is left of each, its last check, and who tested."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import pandas as pd

from reef_calc.bench.stock import KitStock, stock_of_kit, who_tested
from reef_calc.log.stated import Standard
from reef_calc.log.tank import Tank
from reef_calc.show.wording import typed

RECENT_DAYS = 91


@dataclass(frozen=True)
class Check:
    """The last reading of a standard with a kit.

    Attributes
    ----------
    day : datetime.date
        Day of it.
    read : str
        What was read, with its unit.
    standard : str
        Name of the standard.
    stated : str
        What it holds, with its unit; empty where it is not described.
    """

    day: dt.date
    read: str
    standard: str
    stated: str = ""


@dataclass(frozen=True)
class Shelf:
    """The kits of a tank on one day.

    Attributes
    ----------
    today : datetime.date
        The day.
    stocks : tuple of KitStock
        Kits that can run out, the first to buy first.
    meters : tuple of str
        Meters for which nothing was counted.
    checks : dict of str to Check
        Last check with a standard, by kit.
    testers : pandas.DataFrame
        Who tested in the last 13 weeks.
    told : tuple of str
        What the counts leave out; sentences.
    """

    today: dt.date
    stocks: tuple[KitStock, ...]
    meters: tuple[str, ...]
    checks: dict[str, Check]
    testers: pd.DataFrame
    told: tuple[str, ...]


def shelf_of(tank: Tank, today: dt.date, ahead_days: float) -> Shelf:
    """Return what is left of each kit of a tank.

    Parameters
    ----------
    tank : Tank
        The tank.
    today : datetime.date
        The day that is asked for.
    ahead_days : float
        Days that buying takes.

    Returns
    -------
    Shelf
        Laboratory reports are left out; readings dated after the day are not counted, and said.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> shelf = shelf_of(example_tank(), dt.date(2026, 2, 1), 14)
    >>> len(shelf.stocks) + len(shelf.meters) <= len(example_tank().kits)
    True
    """
    readings = tank.readings.assign(day=tank.readings["time"].dt.tz_convert(tank.zone).dt.date)
    ahead = readings["day"] > today
    told = []
    if ahead.any():
        told.append(f"{_readings(int(ahead.sum()))} dated after today: not counted.")
    refused = int(tank.counts.set_index("file").loc["readings.csv", "refused"])
    if refused:
        told.append(f"{_readings(refused)} refused when the log was read: not counted as tests.")
    readings = readings[~ahead]
    stocks, meters = [], []
    for kit in tank.kits.values():
        own = readings[readings["kit"] == kit.name]
        if kit.kind == "meter" and kit.tests_left is None and not kit.lots:
            meters.append(kit.name)
        elif kit.kind != "laboratory report":
            days, lots = list(own["day"]), [typed(lot) for lot in own["lot"]]
            stocks.append(stock_of_kit(kit, days, lots, today, ahead_days=ahead_days))
    never = dt.date.max
    stocks.sort(key=lambda one: (one.buy_by or never, one.runs_out or never, one.kit.name))
    recent = readings[readings["day"] > today - dt.timedelta(days=RECENT_DAYS)]
    testers = who_tested(
        [typed(name).strip() for name in recent["by"]],
        list(recent["day"]),
        [typed(kit) for kit in recent["kit"]],
    )
    checks = _checks(readings, tank.standards)
    return Shelf(today, tuple(stocks), tuple(meters), checks, testers, tuple(told))


def _readings(count: int) -> str:
    return "1 reading is" if count == 1 else f"{count} readings are"


def _checks(readings: pd.DataFrame, standards: dict[str, Standard]) -> dict[str, Check]:
    found: dict[str, Check] = {}
    of_standards = readings[readings["water"].str.startswith("standard ")]
    for row in of_standards.sort_values("time", kind="stable").itertuples():
        name = str(row.water).removeprefix("standard ").strip()
        standard = standards.get(name)
        stated = ""
        if standard is not None:
            spread = f" ± {2.0 * standard.u:.2g}" if standard.u is not None else ""
            stated = f"{standard.value:g}{spread} {standard.unit}"
        limit = f"{typed(row.limit)} " if typed(row.limit) in ("<", ">") else ""
        read = f"{limit}{row.value:g} {row.unit}"
        found[str(row.kit)] = Check(row.day, read, name, stated)
    return found
