"""Invented columns of readings: honest histories of many kinds, and the same with planted faults."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reef_calc.log.foreign.plausible import Series

UNITS = {
    "alkalinity": "dKH", "calcium": "mg/L", "magnesium": "mg/L", "potassium": "mg/L",
    "nitrate": "mg/L", "phosphate": "mg/L", "salinity": "PSU", "temperature": "°C", "pH": "pH",
}  # fmt: skip
# Middle, spread between tanks, and decimals or step of the kit.
HONEST = {
    "alkalinity": (8.3, 0.12, (0.1, 0.3, 0.5)),
    "calcium": (425.0, 0.06, (2.0, 5.0, 20.0)),
    "magnesium": (1340.0, 0.05, (10.0, 20.0, 50.0)),
    "potassium": (395.0, 0.05, (5.0, 10.0)),
    "nitrate": (8.0, 0.9, (0.1, 0.5, 1.0)),
    "phosphate": (0.06, 0.8, (0.01, 0.02)),
    "salinity": (34.8, 0.02, (0.1, 0.5)),
    "temperature": (25.3, 0.02, (0.1, 0.5)),
    "pH": (8.15, 0.01, (0.01, 0.1)),
}
# Nutrients are read with a scatter of up to 10 %, the rest with up to 4 %.
NOISY = ("nitrate", "phosphate")


def column(
    values: Sequence[float] | np.ndarray,
    element: str = "alkalinity",
    unit: str | None = None,
    *,
    at: int = 1,
    key: str = "",
    limits: Sequence[str] | None = None,
    water: str = "tank",
) -> Series:
    """Return readings a week apart, from row 2 on."""
    n = len(values)
    return Series(
        at,
        key or element,
        element,
        UNITS[element] if unit is None else unit,
        tuple(range(2, n + 2)),
        np.arange(0.0, 7.0 * n, 7.0)[:n],
        np.array(values, dtype=float),
        tuple(limits or ("",) * n),
        water=water,
    )


def honest_levels(element: str, n: int, random: np.random.Generator) -> np.ndarray:
    """Return readings of a tank that drifts, jumps now and then, and is read with a kit's scatter."""
    middle, between, steps = HONEST[element]
    level = np.full(n, np.log(middle) + between * random.standard_normal())
    noisy = element in NOISY
    held = element in ("salinity", "temperature", "pH")
    drift = (0.05 if noisy else 0.0005 if held else 0.004) * np.cumsum(random.standard_normal(n))
    # No tank drifts for ever: nutrients stay within a factor of five of where they began.
    level += 1.6 * np.sin(drift / 1.6) if noisy else drift - drift.mean()
    for _ in range(random.poisson(0.7 + n / 100)):
        start = random.integers(0, n)
        if noisy:
            level[start:] += random.uniform(-1.6, 1.6)
        elif element == "alkalinity" and random.random() < 0.3:
            # A crash over a few readings, and the slow way back.
            depth, days = random.uniform(0.2, 0.47), int(random.integers(1, 5))
            shape = np.concatenate([np.linspace(0, 1, days + 1)[1:], np.linspace(1, 0, 8)])[
                : n - start
            ]
            level[start : start + shape.size] -= depth * shape
        else:
            widest = {"salinity": 0.06, "temperature": 0.1, "pH": 0.03}.get(element, 0.08)
            level[start:] += random.uniform(-widest, widest)
    scatter = random.uniform(0.01, 0.10 if noisy else 0.04)
    if held:
        scatter = random.uniform(0.002, 0.01)
    read = np.exp(level + scatter * random.standard_normal(n))
    step = random.choice(steps)
    return np.round(np.maximum(np.round(read / step), 1) * step, 4)


def honest_tank(random: np.random.Generator) -> list[Series]:
    """Return the columns of one invented tank with 10 to 400 rows; some cells are empty."""
    n = int(np.exp(random.uniform(np.log(10), np.log(400))))
    found = []
    for at, element in enumerate(HONEST, start=1):
        values = honest_levels(element, n, random)
        values[random.random(n) < random.choice([0.0, 0.1, 0.5])] = np.nan
        found.append(column(values.tolist(), element, at=at))
    return found
