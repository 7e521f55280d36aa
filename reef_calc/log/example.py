"""A little tank, invented for examples: the docstrings work on it."""

from __future__ import annotations

import datetime as dt
import tempfile
from pathlib import Path

from reef_calc.log.folder import start_tank
from reef_calc.log.tank import Tank, open_tank

_AIM = """
[aim.alkalinity]
unit = "dKH"
low = 7.2
aim = 8.0
high = 8.5
rise_per_day = 0.5
"""
_KITS = """
[kit.drops]
element = "alkalinity"
kind = "drop count"
unit = "dKH"
resolution = 0.1
repeatability = {sd = 0.1, from = "replicates"}
"""
_SUPPLEMENTS = """
[supplement."part one"]
label = {amount = 10, unit = "mL", litres = 100, raises = {alkalinity = "0.5 dKH"}}
strength_u = 0.02
"""
# Worked out with a use of 1.03 dKH a day and rounded to the kit's step after a little scatter.
_LEVELS = (8.2, 7.9, 7.9, 7.7, 7.7, 7.5, 7.6, 7.2, 7.4, 7.1, 7.2, 7.0)
_DAYS_BETWEEN = 4


def example_tank() -> Tank:
    """Return a little tank: 300 L, twelve readings of alkalinity, one supplement, weekly changes.

    A folder is written into a temporary place, opened and removed again. All of it is invented: from
    1 January 2026 60 mL of "part one" a day (1.0 dKH), every Sunday 30 L of new water that was tested
    once (8.0 dKH), readings every fourth day from 2 January to 15 February.

    Returns
    -------
    Tank
        The opened tank.

    Examples
    --------
    >>> example_tank()
    Tank “Example reef” (300 L net; readings.csv: 13 read, 0 flagged, 0 refused, ...)
    """
    first = dt.datetime(2026, 1, 2, 18)
    read = [
        f"{first + dt.timedelta(_DAYS_BETWEEN * i):%Y-%m-%dT%H:%M},tank,alkalinity,{level},dKH,drops"
        for i, level in enumerate(_LEVELS)
    ]
    changed = [f"{dt.date(2026, 1, 4) + dt.timedelta(7 * i)}T10:00,30" for i in range(6)]
    new_water = "2026-01-04T09:30,new water,alkalinity,8.0,dKH,drops"
    tables = {
        "readings.csv": ["time,water,element,value,unit,kit", read[0], new_water, *read[1:]],
        "additions.csv": [
            "start,end,supplement,amount,unit,how",
            "2026-01-01T00:00,,part one,60,mL,per day",
        ],
        "water_changes.csv": ["time,litres", *changed],
    }
    with tempfile.TemporaryDirectory(prefix="reef-") as place:
        folder = start_tank(Path(place) / "reef", "Example reef", 300.0, "Europe/Berlin")
        with (folder / "tank.toml").open("a", encoding="utf-8") as tank_toml:
            tank_toml.write(_AIM)
        (folder / "kits.toml").write_text(_KITS, encoding="utf-8")
        (folder / "supplements.toml").write_text(_SUPPLEMENTS, encoding="utf-8")
        for file, lines in tables.items():
            (folder / file).write_text("\n".join(lines) + "\n", encoding="utf-8")
        return open_tank(folder, now=dt.datetime(2026, 3, 1, tzinfo=dt.UTC))
