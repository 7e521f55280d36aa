"""Published sets for lines between two methods, and lines found without our formulas."""

from __future__ import annotations

from importlib.resources import files

import numpy as np
from scipy.optimize import minimize

Floats = np.ndarray

# Worked example of Deming regression in a statistics manual; error variances 0.032 and 0.008.
# PUBLISHED.
TEN_X = np.array([7.0, 8.3, 10.5, 9.0, 5.1, 8.2, 10.2, 10.3, 7.1, 5.9])
TEN_Y = np.array([7.9, 8.2, 9.6, 9.0, 6.5, 7.3, 10.2, 10.6, 6.3, 5.2])

# Duplicates of the same manual. PUBLISHED.
DUPLICATES_X = np.array([
    [34, 72, 83, 102, 122, 138, 152, 176, 186, 215],
    [35, 75, 85, 104, 125, 136, 152, 173, 182, 212],
], dtype=float)  # fmt: skip
DUPLICATES_Y = np.array([
    [31, 50, 52, 60, 84, 95, 101, 115, 132, 146],
    [30, 46, 56, 60, 84, 90, 99, 116, 133, 145],
], dtype=float)  # fmt: skip

# Sen 1968, Journal of the American Statistical Association 63, 1379. PUBLISHED.
SEN_X = [1, 2, 3, 4, 10, 12, 18]
SEN_Y = [9, 15, 19, 20, 45, 55, 78]

# Points of Pearson 1901 (PUBLISHED) with the weights of York 1966 (MEMORY).
YORK_X = np.array([0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
YORK_Y = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
YORK_SD_X = np.array([1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1.0]) ** -0.5
YORK_SD_Y = np.array([1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500]) ** -0.5

# An invented tank that hardly changed: fifteen days, two equal kits.
STABLE_TANK = np.array([
    (7.4, 7.6), (7.4, 8.0), (7.7, 8.0), (7.8, 7.4), (7.8, 7.8), (7.8, 7.9), (7.9, 7.5), (7.9, 8.0),
    (8.0, 7.8), (8.0, 7.9), (8.0, 8.2), (8.0, 8.3), (8.1, 7.6), (8.2, 8.3), (8.3, 8.0),
])  # fmt: skip


def norris() -> tuple[Floats, Floats]:
    """x and y of NIST StRD Norris, as shipped with scipy's tests. PUBLISHED."""
    text = files("scipy.stats").joinpath("tests/data/nist_linregress/Norris.dat").read_text()
    y, x = np.array([line.split() for line in text.splitlines()[60:96]], dtype=float).T
    return x, y


def nearest_line(
    x: Floats, y: Floats, variance_x: Floats, variance_y: Floats
) -> tuple[float, float]:
    """Intercept and slope of the smallest Σ (y − a − bx)²/(vy + b²·vx), by a general minimiser."""
    middle = x.mean()

    def misfit(line: Floats) -> float:
        residual = y - line[0] - line[1] * (x - middle)
        return float(np.sum(residual**2 / (variance_y + line[1] ** 2 * variance_x)))

    start = np.polyfit(x - middle, y, 1)[::-1]
    found = minimize(
        misfit, start, method="Nelder-Mead", options={"xatol": 1e-11, "fatol": 1e-14}
    ).x
    return float(found[0] - found[1] * middle), float(found[1])


def waters(seed: int, n: int = 12, slope: float = 1.05, sd: float = 0.1) -> tuple[Floats, Floats]:
    """Readings of two kits on n waters of 4 to 14."""
    random = np.random.default_rng(seed)
    level = random.uniform(4.0, 14.0, n)
    return level + random.normal(0, sd, n), slope * level + random.normal(0, sd, n)
