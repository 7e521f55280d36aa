"""A small-step simulation of a well-mixed tank, for the invented demo only.

It walks through time a quarter of an hour at a go and knows nothing of the package's own balance, so
that the package's estimates can be held against what really happened here.
"""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from statistics import NormalDist

import numpy as np
import periodictable as pt
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ELEMENTS = (
    "alkalinity",
    "calcium",
    "magnesium",
    "potassium",
    "strontium",
    "iodine",
    "nitrate",
    "phosphate",
    "salinity",
)
UNITS = ("dKH", *("mg/L",) * 7, "PSU")
STEP = dt.timedelta(minutes=15)
STEP_DAYS = 1.0 / 96.0
MISSING_SD = 0.003  # share of the water that waits for top-off, 0.1 PSU
# 1 dKH is 10 mg/L of calcium oxide by definition, and the oxide neutralises two acids.
MEQ_PER_DKH = 20.0 / float(pt.formula("CaO").mass)
# What one formula unit brings: equivalents of alkalinity, or an element.
SALTS: dict[tuple[str, int], tuple[str, dict[str, int | str]]] = {
    ("sodium carbonate", 0): ("Na2CO3", {"alkalinity": 2}),
    ("sodium hydrogen carbonate", 0): ("NaHCO3", {"alkalinity": 1}),
    ("calcium chloride", 2): ("CaCl2(H2O)2", {"calcium": "Ca"}),
    ("magnesium chloride", 6): ("MgCl2(H2O)6", {"magnesium": "Mg"}),
    ("magnesium sulfate", 7): ("MgSO4(H2O)7", {"magnesium": "Mg"}),
    ("strontium chloride", 6): ("SrCl2(H2O)6", {"strontium": "Sr"}),
}


class Chance:
    """Normal deviates that never depend on the version of a library.

    Parameters
    ----------
    seed : int
        Seed of the whole demo.
    purpose : str
        What the deviates are for: each purpose has its own series, so that a change in one table
        leaves the others as they were.
    """

    def __init__(self, seed: int, purpose: str) -> None:
        self._random = random.Random(f"{seed} {purpose}")
        self._normal = NormalDist()

    def normal(self, sd: float) -> float:
        """Return a deviate of mean 0 and the standard deviation given (same unit)."""
        return sd * self._normal.inv_cdf(self._random.random())

    def happens(self, probability: float) -> bool:
        """Return True with the probability given."""
        return self._random.random() < probability

    def choice(self, items: tuple[str, ...]) -> str:
        """Return one of the items."""
        return items[int(self._random.random() * len(items))]

    def minutes(self, most: int) -> dt.timedelta:
        """Return a whole number of minutes below ``most``."""
        return dt.timedelta(minutes=int(self._random.random() * most))


def strength(supplement: dict, net_L: float) -> Floats:
    """Return what one mL raises each element by (in ``UNITS``) in a volume of ``net_L`` litres."""
    rise = dict.fromkeys(ELEMENTS, 0.0)
    for part in supplement.get("recipe", []):
        text, carries = SALTS[part["salt"], part["hydrate"]]
        grams = part["grams_per_L"] * part["assay"]
        mmol_per_mL = grams / float(pt.formula(text).mass)
        for name, what in carries.items():
            if isinstance(what, int):
                rise[name] += mmol_per_mL * what / MEQ_PER_DKH / net_L
            else:
                rise[name] += mmol_per_mL * float(pt.elements.symbol(what).mass) / net_L
    if label := supplement.get("label"):
        for name, text in label["raises"].items():
            rise[name] += float(text.split()[0]) * label["litres"] / label["amount"] / net_L
    return np.array([rise[name] for name in ELEMENTS])


@dataclass
class Happenings:
    """What was done to a tank, times in UTC on the quarter-hour.

    Attributes
    ----------
    doses : list of (time, rise as set, rise as delivered)
        Doses at a moment; rises in ``UNITS``.
    steady : list of (start, stop, rise as set, rise as delivered)
        Even dosing; rises in ``UNITS`` per day.
    changes : list of (time, fraction, new water)
        Water changes; new water in ``UNITS``.
    """

    doses: list[tuple[dt.datetime, Floats, Floats]] = field(default_factory=list)
    steady: list[tuple[dt.datetime, dt.datetime, Floats, Floats]] = field(default_factory=list)
    changes: list[tuple[dt.datetime, float, Floats]] = field(default_factory=list)


@dataclass
class Course:
    """The true course of a tank: row k is the moment ``start`` + k · 15 minutes.

    ``before`` and ``after`` are the levels before and after what happened at that moment; ``used``,
    ``delivered`` and ``set`` are running sums; ``thickening`` is what the level gains while water that
    evaporated has not been topped off yet (a factor near 1).
    """

    start: dt.datetime
    before: Floats
    after: Floats
    used: Floats
    delivered: Floats
    set: Floats
    thickening: Floats

    def index(self, time: dt.datetime) -> int:
        """Return the last row at or before a time."""
        return (time - self.start) // STEP

    def level(self, time: dt.datetime, name: str) -> float:
        """Return the level in the water at a time; at the moment of a dose, before it."""
        k = self.index(time)
        rows = self.before if self.start + k * STEP == time else self.after
        return float(rows[k, ELEMENTS.index(name)] * self.thickening[k])

    def mean_rate(self, sums: Floats, start: dt.datetime, stop: dt.datetime, name: str) -> float:
        """Return the mean rate per day of a running sum between two times."""
        first, last = self.index(start), self.index(stop)
        column = ELEMENTS.index(name)
        return float((sums[last, column] - sums[first, column]) / ((last - first) * STEP_DAYS))


def simulate(
    start: dt.datetime,
    stop: dt.datetime,
    first: Floats,
    use_per_day: Callable[[dt.datetime, Floats], Floats],
    happenings: Happenings,
    chance: Chance,
) -> Course:
    """Return the course of a tank from ``start`` to ``stop`` (UTC).

    Parameters
    ----------
    start, stop : datetime
        In UTC, on the quarter-hour.
    first : array
        Levels at the start in ``UNITS``.
    use_per_day : callable
        From time (UTC) and levels to use in ``UNITS`` per day; negative where a level rises.
    happenings : Happenings
        Doses and water changes.
    chance : Chance
        For the wobble of evaporation and top-off.

    Returns
    -------
    Course
        The truth.
    """
    n = (stop - start) // STEP + 1
    at_once, at_once_set = np.zeros((n, len(ELEMENTS))), np.zeros((n, len(ELEMENTS)))
    even, even_set = np.zeros((n, len(ELEMENTS))), np.zeros((n, len(ELEMENTS)))
    changes: dict[int, tuple[float, Floats]] = {}
    for time, as_set, as_delivered in happenings.doses:
        at_once_set[(time - start) // STEP] += as_set
        at_once[(time - start) // STEP] += as_delivered
    for begin, end, as_set, as_delivered in happenings.steady:
        rows = slice((begin - start) // STEP, (end - start) // STEP)
        even_set[rows] += as_set * STEP_DAYS
        even[rows] += as_delivered * STEP_DAYS
    for time, fraction, new_water in happenings.changes:
        changes[(time - start) // STEP] = (fraction, new_water)

    pull = STEP_DAYS / 3.0
    before, after = np.zeros_like(at_once), np.zeros_like(at_once)
    used = np.zeros_like(at_once)
    thickening = np.ones(n)
    level, missing = first.astype(float), 0.0
    for k in range(n):
        before[k] = level
        level = level + at_once[k]
        if k in changes:
            fraction, new_water = changes[k]
            level = (1.0 - fraction) * level + fraction * new_water
        after[k] = level
        thickening[k] = 1.0 + missing
        if k + 1 < n:
            taken = use_per_day(start + k * STEP, level) * STEP_DAYS
            used[k + 1] = used[k] + taken
            level = level + even[k] - taken
            # The share of water missing wanders back to nothing within about three days.
            missing += chance.normal(MISSING_SD * (2.0 * pull) ** 0.5) - missing * pull
    delivered, as_set = np.zeros_like(used), np.zeros_like(used)
    delivered[1:] = np.cumsum(at_once[:-1] + even[:-1], axis=0)
    as_set[1:] = np.cumsum(at_once_set[:-1] + even_set[:-1], axis=0)
    return Course(start, before, after, used, delivered, as_set, thickening)
