"""The five invented months of the 160-litre nursery: coarse kit, dates only, few readings."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import numpy as np
from display_year import ALWAYS, NITRATE, PER_ALKALINITY, SEED
from log_tables import ZONE, Story, TankLog, at, days_from, stamp
from simulated_water import Chance, Course, Floats, simulate

NET_L = 138.0
FIRST, LAST = dt.date(2026, 5, 1), dt.date(2026, 9, 30)
USE, DAY_TO_DAY = 0.36, 0.08  # dKH per day
NEW_WATER = np.array([7.9, 415.0, 1310.0, 398.0, 7.9, 0.055, 0.1, 0.004, 35.0])
ALKALINITY_DAYS = (4, 15, 26, 38, 47, 60, 75, 90, 104, 117, 124, 131, 138, 145, 151)
CALCIUM_DAYS = (15, 75, 138)
NITRATE_DAYS = (26, 60, 104, 145)
SALINITY_DAYS = (4, 47, 90, 131)
MAGNESIUM_DAYS = (60,)


def nursery(folder: Path) -> Story:
    """Return the five months of the nursery."""
    start, stop = at(FIRST), at(LAST + dt.timedelta(1))
    log = TankLog(folder, NET_L, stop, Chance(SEED, "nursery kits"))
    _care(log)
    first = np.array([8.1, 418.0, 1305.0, 397.0, 7.9, 0.05, 3.0, 0.02, 35.0])
    course = simulate(start, stop, first, _use(), log.happenings, Chance(SEED, "nursery top-off"))
    _readings(log, course)
    opened = at(FIRST)
    log.write(
        "events.csv",
        opened,
        time=stamp(opened, date_only=True),
        kind="lot opened",
        element="alkalinity",
        refers_to="drop kit",
        note="lot D-1",
    )
    facts = f"[nursery]\nnet_L = {NET_L}\nday_to_day_variation = {DAY_TO_DAY}\n"
    facts += "\n[nursery.kit_bias_dKH]\nD-1 = 0.0\n"
    facts += f"\n[nursery.new_water_dKH]   # never tested by the school\nvalue = {NEW_WATER[0]}\n"
    return Story(log, course, start, stop, facts)


def _use() -> Callable[[dt.datetime, Floats], Floats]:
    chance = Chance(SEED, "nursery use of the day")
    factors = {day: 1.0 + chance.normal(DAY_TO_DAY) for day in days_from(FIRST, LAST)}
    factors[LAST + dt.timedelta(1)] = 1.0

    def use(time: dt.datetime, level: Floats) -> Floats:
        taken = USE * factors[time.astimezone(ZONE).date()] * PER_ALKALINITY + ALWAYS
        taken[NITRATE] = -0.05
        return taken

    return use


def _care(log: TankLog) -> None:
    """Dose on three days a week after testing, change water every other Friday; dates only."""
    for day in days_from(FIRST, LAST):
        if day.weekday() in (0, 2, 4):
            log.by_hand(at(day, "16:30"), "bicarbonate solution", 23.0, date_only=True)
            log.by_hand(at(day, "16:45"), "calcium solution", 22.0, date_only=True)
    for day in days_from(dt.date(2026, 5, 8), LAST, every=14):
        time = at(day, "17:00")
        log.happenings.changes.append((time, 15.0 / NET_L, NEW_WATER))
        log.write("water_changes.csv", time, time=stamp(time, date_only=True), litres="15")


def _readings(log: TankLog, course: Course) -> None:
    chance = Chance(SEED, "nursery rota")
    for element, kit, lot, numbers in (
        ("alkalinity", "drop kit", "D-1", ALKALINITY_DAYS),
        ("calcium", "calcium kit", "", CALCIUM_DAYS),
        ("magnesium", "magnesium kit", "", MAGNESIUM_DAYS),
        ("nitrate", "nitrate kit", "", NITRATE_DAYS),
        ("salinity", "salinity meter", "", SALINITY_DAYS),
    ):
        for number in numbers:
            time = at(FIRST + dt.timedelta(number), "12:00") + chance.minutes(180)
            level = course.level(time, element)
            who = chance.choice(("EV", "OM"))
            log.read(time, element, level, kit, lot=lot, by=who, date_only=True)
