"""Small invented tanks that are read with two kits, with a known difference."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

from reef_calc.log.tank import Tank
from tests.folders import dose, make_tank, reading

KITS = """
[kit.drops]
element = "alkalinity"
kind = "drop count"
unit = "dKH"
resolution = 0.1
repeatability = {sd = 0.1, from = "replicates"}

[kit.burette]
element = "alkalinity"
kind = "direct titration"
unit = "dKH"
resolution = 0.1
repeatability = {sd = 0.1, from = "replicates"}
"""
START = pd.Timestamp("2026-03-01T18:00")
ABOVE = 0.4


def scatter(i: int) -> float:
    """Return a scatter of 0.1 dKH that repeats."""
    return 0.1 * (((i * 7) % 5) - 2) / 1.4


def tank_of(
    path: Path,
    days_a: np.ndarray,
    days_b: np.ndarray,
    *,
    level: Callable[[float], float] = lambda day: 8.0,
    above: float = ABOVE,
    new_water: list[dict[str, object]] | None = None,
    kits: str = KITS,
    more: list[dict[str, object]] | None = None,
    cells_a: dict[str, object] | None = None,
    cells_b: dict[str, object] | None = None,
    **parts: object,
) -> Tank:
    """Return a tank that uses 1 dKH a day and gets it back, read with drops (A) and burette (B)."""
    rows = new_water or [
        reading("2026-02-25T12:00", "8.0", water="new water", kit="drops"),
    ]
    for kit, days, shift, cells in (
        ("drops", days_a, 0.0, cells_a or {}), ("burette", days_b, above, cells_b or {})
    ):  # fmt: skip
        for i, day in enumerate(days):
            at = START + pd.Timedelta(days=float(day))
            value = level(float(day)) + shift + scatter(i + (3 if kit == "burette" else 0))
            rows.append(reading(f"{at:%Y-%m-%dT%H:%M}", f"{value:.1f}", **{"kit": kit} | cells))
    changes = [
        {"time": f"{START + pd.Timedelta(days=7 * i + 2.75):%Y-%m-%dT%H:%M}", "litres": 30}
        for i in range(10)
    ]
    given: dict[str, object] = {
        "additions": [dose("2026-02-20", "60")], "water_changes": changes, "kits": kits,
    }  # fmt: skip
    return make_tank(path, readings=[*rows, *(more or [])], **given | parts)


EVERY_2 = np.arange(0.0, 60.0, 2.0)
BETWEEN = np.arange(11.0, 52.0, 8.0)
