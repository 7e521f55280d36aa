"""The invented year of the 540-litre display: what happened, and who tested it when."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
from log_tables import ZONE, Standing, Story, TankLog, at, days_from, stamp
from simulated_water import ELEMENTS, Chance, Course, Floats, simulate

SEED = 20251001
NET_L = 462.0
DAY_TO_DAY = 0.08
USE_FIRST, USE_LAST = 0.90, 1.00  # dKH per day, growing evenly over the year
# In the order of ELEMENTS: per unit of alkalinity used, and per day whatever the corals do.
# Ca and Sr as in coral aragonite; the others chosen for the demo.
PER_ALKALINITY = np.array([1.0, 7.06, 0.25, 0.0, 0.136, 0.0, 0.0, 0.0, 0.0])
ALWAYS = np.array([0.0, 0.0, 0.0, 0.10, 0.0, 0.0002, 0.0, 0.0, 0.0])
NITRATE, PHOSPHATE = ELEMENTS.index("nitrate"), ELEMENTS.index("phosphate")
PUPILS = ("LM", "TK", "SA", "NJ")
TECHNICIAN = "HB"

FIRST, LAST = dt.date(2025, 10, 1), dt.date(2026, 9, 30)
QUIET = (  # school holidays in which only the technician comes by
    (dt.date(2025, 12, 20), dt.date(2026, 1, 4)),
    (dt.date(2026, 6, 27), dt.date(2026, 8, 9)),
)
LOT_CHANGE = dt.date(2026, 1, 15)
KIT_B_ALONE = dt.date(2026, 5, 30)
PAIRS = {dt.date(2026, 5, day) for day in (4, 6, 8, 11, 13, 15, 18, 20)}
REPLICATES = {dt.date(2025, 11, 12), dt.date(2026, 3, 11), dt.date(2026, 9, 16)}
BIAS = {"A-1": -0.25, "A-2": 0.05, "B-1": 0.40}  # dKH that a lot reads above the true level
MISREAD, MISREAD_BY = dt.date(2026, 4, 15), 1.4
GAP = (at("2026-02-09", "09:00"), at("2026-02-16", "09:00"))
GAP_DOSES = (120.0, 100.0, 140.0, 110.0, 90.0, 150.0, 100.0)  # mL of carbonate stock, never written
GAP_NOTE = "pump away for repair; dosed by hand, amounts not written down"
CORALS = at("2026-08-20", "10:00")
RISE = 1.20
CALCIUM_PUMP = 0.94
NEW_WATER = np.array([7.4, 412.0, 1305.0, 398.0, 7.9, 0.055, 0.1, 0.004, 35.0])
NEW_WATER_SD = np.array([0.10, 3.0, 8.0, 2.0, 0.1, 0.003, 0.03, 0.001, 0.12])
CARBONATE_TIMES = ("00:00", "04:00", "08:00", "12:00", "16:00", "20:00")
CALCIUM_TIMES = ("02:00", "06:00", "10:00", "14:00", "18:00", "22:00")
SET_CHANGES = (at("2026-01-26", "16:15"), at("2026-06-24", "16:15"), at("2026-08-27", "16:15"))
CARBONATE_SET = (136.0, 139.0, 145.0, 167.5)
CALCIUM_SET = (152.0, 160.0, 166.0, 192.0)
HAND_DOSES = (
    ("2025-12-10", 60.0, "a little low"),
    ("2026-02-16", 120.0, "low after the winter holiday"),
    ("2026-08-26", 130.0, "fell since the new corals"),
    ("2026-08-27", 130.0, "and again"),
    ("2026-09-16", 130.0, "low again"),
)
CHECKS = (  # local day, bottle of test water, kit, lot
    ("2025-10-08", "check water 1", "kit A", "A-1"),
    ("2025-12-03", "check water 1", "kit A", "A-1"),
    ("2026-01-14", "check water 1", "kit A", "A-1"),
    ("2026-01-15", "check water 1", "kit A", "A-2"),
    ("2026-03-11", "check water 1", "kit A", "A-2"),
    ("2026-05-06", "check water 2", "kit A", "A-2"),
    ("2026-05-06", "check water 2", "kit B", "B-1"),
    ("2026-07-06", "check water 2", "kit B", "B-1"),
    ("2026-09-09", "check water 2", "kit B", "B-1"),
)
CHECK_WATER_TRUE = {"check water 1": 8.03, "check water 2": 7.98}


def _quiet(day: dt.date) -> bool:
    return any(first <= day <= last for first, last in QUIET)


def _kit(day: dt.date) -> tuple[str, str]:
    if day >= KIT_B_ALONE:
        return "kit B", "B-1"
    return "kit A", "A-2" if day >= LOT_CHANGE else "A-1"


def display(folder: Path) -> Story:
    """Return the year of the display."""
    start, stop = at(FIRST), at(LAST + dt.timedelta(1))
    log = TankLog(
        folder, NET_L, stop, Chance(SEED, "display kits"), {"calcium stock": CALCIUM_PUMP}
    )
    _doses(log, start)
    mixes = _water_changes(log)
    first = np.array([7.9, 426.0, 1312.0, 396.0, 8.0, 0.052, 5.5, 0.02, 35.0])
    course = simulate(start, stop, first, _use(), log.happenings, Chance(SEED, "display top-off"))
    _alkalinity_readings(log, course)
    _checks_and_new_water(log, mixes)
    _other_readings(log, course)
    _events(log)
    return Story(log, course, start, stop, _facts(log))


def _use() -> Callable[[dt.datetime, Floats], Floats]:
    chance = Chance(SEED, "display use of the day")
    factors = {day: 1.0 + chance.normal(DAY_TO_DAY) for day in days_from(FIRST, LAST)}
    factors[LAST + dt.timedelta(1)] = 1.0

    def use(time: dt.datetime, level: Floats) -> Floats:
        clock = time.astimezone(ZONE)
        age = (clock.date() - FIRST).days
        grown = USE_FIRST + (USE_LAST - USE_FIRST) * age / 365.0
        # Uptake in the light is twice that in the dark (from memory); mean 1 over the day.
        light = 4 / 3 if 9 <= clock.hour < 21 else 2 / 3
        calcified = grown * factors[clock.date()] * light * (RISE if time >= CORALS else 1.0)
        taken = calcified * PER_ALKALINITY + ALWAYS
        taken[NITRATE] = -(0.085 + 0.045 * age / 365.0)
        taken[PHOSPHATE] = -0.00095 + 0.0003 * age / 365.0 + 0.035 * level[PHOSPHATE]
        return taken

    return use


def _doses(log: TankLog, start: dt.datetime) -> None:
    starts = (start, *SET_CHANGES)
    stops = (*SET_CHANGES, None)
    notes = (
        "as in September",
        "raised",
        "raised before the holiday",
        "raised after the new corals",
    )
    for supplement, times, amounts in (
        ("carbonate stock", CARBONATE_TIMES, CARBONATE_SET),
        ("calcium stock", CALCIUM_TIMES, CALCIUM_SET),
    ):
        for begin, end, amount, note in zip(starts, stops, amounts, notes, strict=True):
            row = Standing(begin, end, supplement, amount, times, note)
            if supplement == "carbonate stock" and end and begin < GAP[0] < end:
                log.standing(replace(row, stop=GAP[0]))
                log.standing(Standing(*GAP, supplement, None, note=GAP_NOTE))
                row = replace(row, start=GAP[1], note="pump in use again")
            log.standing(row)
    log.standing(Standing(start, None, "magnesium stock", 5.0, note="evenly over the day"))
    log.standing(Standing(start, None, "strontium stock", 18.0, note="evenly over the day"))
    for day, amount in zip(days_from(GAP[0].date(), GAP[1].date()), GAP_DOSES, strict=False):
        log.by_hand(at(day, "12:00"), "carbonate stock", amount, written=False)
    for text, amount, note in HAND_DOSES:
        log.by_hand(at(text, "16:00"), "bicarbonate solution", amount, note)


def _water_changes(log: TankLog) -> dict[dt.date, Floats]:
    chance = Chance(SEED, "display new water")
    mixes: dict[dt.date, Floats] = {}
    for number, day in enumerate(days_from(dt.date(2025, 10, 3), LAST, every=7)):
        mix = NEW_WATER + NEW_WATER_SD * np.array([chance.normal(1.0) for _ in NEW_WATER])
        litres = 46.0 + 2.0 * round(chance.normal(0.6))
        if _quiet(day) and number % 2:
            continue
        mixes[day] = mix
        log.happenings.changes.append((at(day, "15:30"), litres / NET_L, mix))
        time = at(day, "15:30")
        cells = {"litres": f"{litres:g}", "salinity": f"{mix[-1]:.1f}"}
        log.write("water_changes.csv", time, time=stamp(time), **cells)
    return mixes


def _alkalinity_readings(log: TankLog, course: Course) -> None:
    chance = Chance(SEED, "display rota")
    for day in days_from(FIRST, LAST):
        if day.weekday() not in (0, 2, 4) or (_quiet(day) and day.weekday()):
            continue
        busy = chance.happens(0.12)
        if busy and day not in PAIRS | REPLICATES | {MISREAD}:
            continue
        who = TECHNICIAN if _quiet(day) else chance.choice(PUPILS)
        kit, lot = _kit(day)
        time = at(day, "13:31") + chance.minutes(75)
        count = 3 if day in REPLICATES else 1
        wrong = MISREAD_BY if day == MISREAD else 0.0
        level = course.level(time, "alkalinity")
        for number in range(1, count + 1):
            log.read(
                time,
                "alkalinity",
                level,
                kit,
                lot=lot,
                bias=BIAS[lot],
                typed_wrong_by=wrong,
                replicate=str(number) if count > 1 else "",
                by=who,
            )
        if day in PAIRS:
            later = time + dt.timedelta(minutes=7)
            level = course.level(later, "alkalinity")
            note = "same water as kit A"
            log.read(
                later, "alkalinity", level, "kit B", lot="B-1", bias=BIAS["B-1"], by=who, note=note
            )


def _checks_and_new_water(log: TankLog, mixes: dict[dt.date, Floats]) -> None:
    for text, bottle, kit, lot in CHECKS:
        for number in (1, 2):
            time = at(text, "12:10") + dt.timedelta(minutes=5 * number + (kit == "kit B"))
            log.read(
                time,
                "alkalinity",
                CHECK_WATER_TRUE[bottle],
                kit,
                water=f"standard {bottle}",
                lot=lot,
                bias=BIAS[lot],
                replicate=str(number),
                by=TECHNICIAN,
            )
    for day in list(mixes)[::4]:
        time = at(day, "15:05")
        later = time + dt.timedelta(minutes=8)
        for when, element, level, kit, lot in (
            (time, "alkalinity", mixes[day][0], *_kit(day)),
            (later, "calcium", mixes[day][1], "calcium kit", "C-1"),
        ):
            bias = BIAS.get(lot, 0.0)
            log.read(
                when, element, level, kit, water="new water", lot=lot, bias=bias, by=TECHNICIAN
            )


def _other_readings(log: TankLog, course: Course) -> None:
    chance = Chance(SEED, "display other rota")

    def test(day: dt.date, clock: str, element: str, kit: str, lot: str = "") -> None:
        time = at(day, clock) + chance.minutes(14)
        who = TECHNICIAN if _quiet(day) else chance.choice(PUPILS)
        log.read(time, element, course.level(time, element), kit, lot=lot, by=who)

    for day in days_from(FIRST, LAST):
        week, weekday = (day - FIRST).days // 7, day.weekday()
        if _quiet(day) and week % 2:
            continue
        if weekday == 0:
            test(day, "10:15", "salinity", "salinity meter")
        if weekday == 1:
            test(day, "14:15", "calcium", "calcium kit", "C-1")
            if day.day <= 7:
                test(day, "14:31", "magnesium", "magnesium kit")
            if week % 6 == 1:
                test(day, "15:01", "potassium", "potassium kit")
        if weekday == 3:
            test(day, "14:15", "nitrate", "nitrate kit")
            test(day, "14:31", "phosphate", "phosphate meter")
            if week % 2 == 0:
                time = at(day, "14:50")
                warmth = 25.2 + chance.normal(0.25)
                log.read(time, "temperature", warmth, "thermometer", by=TECHNICIAN)
                log.read(time, "pH", 8.16 + chance.normal(0.04), "pH meter", by=TECHNICIAN)
    for text in ("2025-11-04", "2026-05-05"):
        test(dt.date.fromisoformat(text), "09:00", "strontium", "strontium report")
    for text in ("2025-11-18", "2026-03-17", "2026-07-14"):
        test(dt.date.fromisoformat(text), "10:00", "iodine", "iodine kit")
    night = at("2025-10-25", "22:30")
    for hours, acidity in ((0, 8.12), (2, 8.05), (4, 8.00), (5, 7.98), (8, 7.95)):
        time = night + dt.timedelta(hours=hours)
        log.read(time, "pH", acidity, "pH meter", by="NJ", note="night of the open school")


def _events(log: TankLog) -> None:
    rows = (
        (at(LOT_CHANGE, "08:00"), "lot opened", "alkalinity", "kit A", "", "", "lot A-2"),
        (GAP[0], "other", "", "", "", "", "winter holiday; carbonate pump away for repair"),
        (at("2026-05-04", "08:00"), "lot opened", "alkalinity", "kit B", "", "", "lot B-1"),
        (at("2026-06-27", "12:00"), "other", "", "", "", "", "summer holiday begins"),
        (CORALS, "corals added", "", "", "", "", "fourteen fragments from the nursery"),
        (
            at("2026-09-23", "15:00"),
            "pump measured",
            "calcium",
            "calcium stock",
            f"{CALCIUM_PUMP:.2f}",
            "",
            "into a cylinder: 47 mL came for 50 mL set; setting left as it was",
        ),
    )
    for time, kind, element, refers_to, value, unit, note in rows:
        log.write(
            "events.csv",
            time,
            time=stamp(time),
            kind=kind,
            element=element,
            refers_to=refers_to,
            value=value,
            unit=unit,
            note=note,
        )


def _facts(log: TankLog) -> str:
    amount = sum(GAP_DOSES)
    rise = amount * log.rise_per_mL["carbonate stock"][0]
    days = (GAP[1] - GAP[0]) / dt.timedelta(days=1)
    misread = next(
        cells["time"]
        for _, cells in log.rows["readings.csv"]
        if cells["element"] == "alkalinity" and cells["time"].startswith(MISREAD.isoformat())
    )
    return f"""\
[classroom_reef]
net_L = {NET_L}
day_to_day_variation = {DAY_TO_DAY}   # of use, one standard deviation, a new draw every local day

[classroom_reef.kit_bias_dKH]   # how much a lot reads above the true alkalinity
A-1 = {BIAS["A-1"]}
A-2 = {BIAS["A-2"]}
B-1 = {BIAS["B-1"]}

[classroom_reef.lot_change]
kit = "kit A"
date = {LOT_CHANGE}
step_dKH = {BIAS["A-2"] - BIAS["A-1"]:.2f}

[classroom_reef.kit_difference]   # kit B minus kit A (lot A-2)
difference_dKH = {BIAS["B-1"] - BIAS["A-2"]:.2f}
pairs = {len(PAIRS)}

[classroom_reef.check_water_dKH]   # what is really in the bottles
"check water 1" = {CHECK_WATER_TRUE["check water 1"]}
"check water 2" = {CHECK_WATER_TRUE["check water 2"]}

[classroom_reef.misread]
time = "{misread}"
typed_above_read_dKH = {MISREAD_BY}

[classroom_reef.not_logged]
start = "{stamp(GAP[0])}"
end = "{stamp(GAP[1])}"
supplement = "carbonate stock"
given_mL = {amount}
given_dKH = {rise:.3f}
given_dKH_per_day = {rise / days:.4f}

[classroom_reef.pump]   # delivered over set, the whole year
"carbonate stock" = 1.0
"calcium stock" = {CALCIUM_PUMP}

[classroom_reef.corals_added]
time = "{stamp(CORALS)}"
use_multiplied_by = {RISE}

[classroom_reef.calcium_per_alkalinity]   # mg/L per dKH, of what the corals take up
used = {PER_ALKALINITY[1]}
"""
