"""Invented tank folders with a change of kit in the middle, and a known truth."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np

from reef_calc.balance.water_balance import WaterEvents, balance_columns
from reef_calc.log.joins import Join
from reef_calc.log.joins_file import add_join
from reef_calc.log.tank import Tank, open_tank
from tests.folders import dose, make_folder, reading

FIRST = np.datetime64("2026-03-01T18:00")
CHANGE_DAY = dt.date(2026, 4, 30)
KITS = """
[kit."kit A"]
element = "alkalinity"
kind = "drop count"
unit = "dKH"
resolution = 0.1
repeatability = {sd = 0.15, from = "replicates"}

[kit."kit B"]
element = "alkalinity"
kind = "drop count"
unit = "dKH"
resolution = 0.1
repeatability = {sd = 0.15, from = "replicates"}
"""
# A strength of 0.5 dKH for 10 mL in 100 L, 300 L, 1 dKH a day: 60 mL a day.
DOSE = dose("2026-02-20", "60")


def _when(day: float) -> str:
    return str(FIRST + np.timedelta64(round(day * 1440), "m"))[:16]


def joined_folder(
    path: Path,
    rng: np.random.Generator,
    *,
    higher: float = 0.5,
    use: float = 1.0,
    change: float = 60.0,
    length: float = 74.0,
    step: float = 2.0,
    overlap: int = 0,
    new_water_by: str = "kit in use",
    cv: float = 0.1,
    extra_dose: float = 0.0,
) -> Path:
    """Return a folder: kit A until the change, kit B (reading higher) after it, weekly changes."""
    t = np.arange(0.0, length + 0.1, step)
    days = np.arange(0.0, length + 1)
    daily = use * (1 + cv * rng.standard_normal(days.size))
    changes = np.arange(2.5, length, 7.0)
    events = WaterEvents(
        dose_times=[change - 1.0],
        dose_rises=[extra_dose],
        rate_starts=[0.0],
        rate_stops=[length + 1],
        rates=[1.0],
        change_times=changes,
        change_fractions=np.full(changes.size, 0.1),
        change_levels=np.full(changes.size, 8.0),
    )
    c = balance_columns(t, events, np.column_stack([days, days + 1]))
    truth = 8.0 * c.G + c.D - c.S @ daily

    def read(level: float, by: str) -> str:
        level += higher if by == "kit B" else 0.0
        return f"{np.round((level + 0.15 * rng.standard_normal()) / 0.1) * 0.1:.2f}"

    rows = []
    both = np.flatnonzero(t < change)[len(t[t < change]) - overlap :] if overlap else []
    for i, (day, level) in enumerate(zip(t, truth, strict=True)):
        by = "kit A" if day < change else "kit B"
        rows.append(reading(_when(day), read(level, by), kit=by))
        if i in both:
            rows.append(reading(_when(day), read(level, "kit B"), kit="kit B"))
    exact = {"kit A": f"{8.0:.2f}", "kit B": f"{8.0 + higher:.2f}"}
    readers = {"kit in use": ("kit A", "kit B"), "old kit": ("kit A",), "new kit": ("kit B",)}
    for by, day in zip(readers[new_water_by], (0.1, change + 0.1), strict=False):
        rows.append(reading(_when(day), exact[by], kit=by, water="new water"))
    return make_folder(
        path,
        readings=rows,
        additions=[DOSE],
        water_changes=[{"time": _when(day), "litres": 30} for day in changes],
        kits=KITS,
        zone="UTC",
    )


def stored(
    folder: Path, mean: float | None = None, u: float | None = None, scale: str = "kit in use"
) -> Tank:
    """Return the tank with a join of kit A and kit B stored."""
    source = "log" if mean is None else "study"
    add_join(
        folder,
        Join("alkalinity", CHANGE_DAY, "kit B", "", "kit A", "", mean, u, "dKH", source, scale),
    )
    return open_tank(folder)
