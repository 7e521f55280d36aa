"""Two kits on the same waters: what was read, water by water."""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pandas as pd

from reef_calc.errors import InputError

# A reading lies on the grid of its kit within this share of a step.
ON_GRID = 1e-6
# Readings of one water further apart than this may be of another water.
SAME_WATER_HOURS = 1.0


class Water(NamedTuple):
    """One water that both kits read.

    Attributes
    ----------
    name : str
        What it is called.
    a, b : tuple of float
        Readings of kit A and of kit B, in one unit.
    nominal : float or None
        Level it was made to, where it is known.
    hours_apart : float or None
        Hours between the readings of the two kits; None without times.
    """

    name: str
    a: tuple[float, ...]
    b: tuple[float, ...]
    nominal: float | None = None
    hours_apart: float | None = None


@dataclass(frozen=True)
class Pairs:
    """Readings of two kits on the same waters; differences are B − A.

    Attributes
    ----------
    element, unit : str
        Element and unit of everything.
    kit_a, kit_b : str
        Names of the kits, or lots, or persons.
    resolution_a, resolution_b : float
        Steps of their scales; 0 where there is none.
    waters : tuple of Water
        Complete pairs, in the order given.
    dropped : tuple of str
        What could not be used, and why, in sentences.
    """

    element: str
    unit: str
    kit_a: str
    kit_b: str
    resolution_a: float
    resolution_b: float
    waters: tuple[Water, ...]
    dropped: tuple[str, ...] = ()

    @property
    def n(self) -> int:
        """Number of waters."""
        return len(self.waters)

    @property
    def a(self) -> np.ndarray:
        """Mean of kit A for each water, shape (n,)."""
        return np.array([np.mean(w.a) for w in self.waters], dtype=float)

    @property
    def b(self) -> np.ndarray:
        """Mean of kit B for each water, shape (n,)."""
        return np.array([np.mean(w.b) for w in self.waters], dtype=float)

    @property
    def differences(self) -> np.ndarray:
        """B − A for each water, shape (n,)."""
        return self.b - self.a

    @property
    def means(self) -> np.ndarray:
        """Mean of both kits for each water, shape (n,)."""
        return (self.a + self.b) / 2

    @property
    def nominal(self) -> np.ndarray:
        """Level each water was made to, NaN where it is not known, shape (n,)."""
        return np.array(
            [math.nan if w.nominal is None else w.nominal for w in self.waters], dtype=float
        )


def pairs_of(
    readings: pd.DataFrame,
    kit_a: Hashable,
    kit_b: Hashable,
    *,
    element: str,
    unit: str,
    resolution_a: float,
    resolution_b: float,
) -> Pairs:
    """Return the complete pairs of two kits, and what was left out.

    Parameters
    ----------
    readings : pandas.DataFrame
        One row a reading: ``water``, ``kit``, ``value`` (``unit``), and where known ``nominal``
        (``unit``) and ``time``.
    kit_a, kit_b : str
        The two kits; differences are B − A.
    element, unit : str
        Element and unit of all readings.
    resolution_a, resolution_b : float
        Steps of the scales (``unit``), 0 or more; 0 for no step.

    Returns
    -------
    Pairs
        Waters read with both; the rest in ``dropped``.

    Raises
    ------
    InputError
        If a column is missing, a kit is compared with itself, a step is not a number of 0 or more,
        a water was made to two levels, or no water was read with both.

    Examples
    --------
    >>> read = pd.DataFrame({"water": ["1", "1", "2"], "kit": ["old", "new", "old"],
    ...     "value": [8.2, 8.9, 8.0]})
    >>> found = pairs_of(read, "old", "new", element="alkalinity", unit="dKH", resolution_a=0.1,
    ...     resolution_b=0.1)
    >>> found.differences.round(3).tolist(), found.dropped
    ([0.7], ('Water 2 was read with old only.',))
    """
    if kit_a == kit_b:
        raise InputError(
            "two different kits", str(kit_a), "Choose another one to compare with.", "kits"
        )
    steps = {kit_a: resolution_a, kit_b: resolution_b}
    for kit, step in steps.items():
        if not 0.0 <= step < math.inf:
            raise InputError("the step of the scale, 0 or more", step, "Type it.", str(kit))
    for column in ("water", "kit", "value"):
        if column not in readings:
            raise InputError(
                "the columns water, kit and value",
                ", ".join(map(str, readings.columns)),
                f"Add the column {column}.",
                "table of readings",
            )
    own = readings[readings["kit"].isin([kit_a, kit_b])]
    dropped = [
        f"A reading of {kit} has no water beside it." for kit in own.loc[own["water"].isna(), "kit"]
    ]
    waters = []
    for name, rows in own.groupby("water", sort=False):
        read: dict[Hashable, tuple[float, ...]] = {}
        for kit, step in steps.items():
            good = []
            for given in rows.loc[rows["kit"] == kit, "value"]:
                value, fault = _value(given, step, unit, kit)
                if fault:
                    dropped.append(f"Water {name}: {fault}")
                else:
                    good.append(value)
            read[kit] = tuple(good)
        if read[kit_a] and read[kit_b]:
            waters.append(_water(str(name), rows, read[kit_a], read[kit_b], kit_a, kit_b))
        elif read[kit_a] or read[kit_b]:
            dropped.append(f"Water {name} was read with {kit_a if read[kit_a] else kit_b} only.")
    if not waters:
        raise InputError(
            f"waters read with both {kit_a} and {kit_b}",
            "; ".join(dropped) or "no readings of these kits",
            "Test the same water with both, within an hour.",
            "table of readings",
        )
    return Pairs(
        element, unit, str(kit_a), str(kit_b), resolution_a, resolution_b, tuple(waters),
        tuple(dropped),
    )  # fmt: skip


def _value(given: object, step: float, unit: str, kit: Hashable) -> tuple[float, str]:
    """Return a reading as a number, or what is wrong with it."""
    try:
        value = float(given)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return math.nan, f"“{given}” is no number."
    if not math.isfinite(value):
        return math.nan, f"a reading of {kit} is missing."
    if step > 0.0 and abs(value / step - round(value / step)) > ON_GRID:
        return math.nan, f"{value:.10g} is no reading of {kit}, whose step is {step:g} {unit}."
    return value, ""


def _water(
    name: str,
    rows: pd.DataFrame,
    a: tuple[float, ...],
    b: tuple[float, ...],
    kit_a: Hashable,
    kit_b: Hashable,
) -> Water:
    nominal = None
    if "nominal" in rows and rows["nominal"].notna().any():
        levels = rows["nominal"].dropna().unique()
        if len(levels) > 1:
            raise InputError(
                "one level that the water was made to",
                " and ".join(f"{level:g}" for level in levels),
                "Give each level a water of its own.",
                f"water {name}",
            )
        nominal = float(levels[0])
    apart = None
    if "time" in rows and rows["time"].notna().all():
        middle = [rows.loc[rows["kit"] == kit, "time"].mean() for kit in (kit_a, kit_b)]
        apart = abs((middle[1] - middle[0]) / pd.Timedelta(hours=1))
    return Water(name, a, b, nominal, apart)
