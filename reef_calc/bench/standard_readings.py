"""Readings of bottles of standards: how they and the standards are uncertain together."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from reef_calc.errors import InputError


@dataclass(frozen=True)
class Bottle:
    """One preparation of a standard.

    Attributes
    ----------
    level : float
        Level in the kit's unit.
    u : float
        Standard uncertainty of the level, in the kit's unit; one number for the whole bottle.
    stock : str
        Name of the stock it was diluted from; empty when it was weighed by itself.
    u_stock : float
        The part of ``u`` that all bottles of that stock share, in the kit's unit.
    """

    level: float
    u: float
    stock: str = ""
    u_stock: float = 0.0


def standard_covariance(names: Sequence[str], bottles: Mapping[str, Bottle]) -> np.ndarray:
    """Return how the levels of the standards behind the readings are uncertain together.

    Same bottle: u²; same stock: u_stock,i·u_stock,j; otherwise 0.

    Parameters
    ----------
    names : sequence of str
        Bottle of each reading, n of them.
    bottles : mapping of str to Bottle
        The bottles by name.

    Returns
    -------
    numpy.ndarray
        Covariance, n × n, in the square of the kit's unit.

    Raises
    ------
    InputError
        If a bottle is unknown, or its numbers cannot be used.

    Examples
    --------
    >>> standard_covariance(["a", "a", "b"], {"a": Bottle(8.0, 0.1), "b": Bottle(8.0, 0.2)}).round(2)
    array([[0.01, 0.01, 0.  ],
           [0.01, 0.01, 0.  ],
           [0.  , 0.  , 0.04]])

    References
    ----------
    JCGM 100:2008, F.1.2.3 (a common source makes estimates depend on each other).
    """
    for name in names:
        if name not in bottles:
            raise InputError(
                f"a bottle of the list ({', '.join(bottles)})", name, "Describe this bottle first."
            )
        one = bottles[name]
        if not (math.isfinite(one.level) and 0 <= one.u_stock <= one.u < math.inf):
            raise InputError(
                "a level, its uncertainty, and no more than that from the stock", one,
                "Check the numbers of the bottle.",
            )  # fmt: skip
    used = [bottles[name] for name in names]
    u = np.array([one.u for one in used])
    shared = np.array([one.u_stock for one in used])
    same = np.equal.outer(np.array(names), np.array(names))
    stocks = np.array([one.stock for one in used])
    same_stock = np.equal.outer(stocks, stocks) & (stocks != "")
    return np.where(same, np.outer(u, u), np.where(same_stock, np.outer(shared, shared), 0.0))


def check_scatter(sd: float, resolution: float) -> None:
    """Refuse a scatter or a resolution that a reading cannot have.

    Parameters
    ----------
    sd : float
        Standard deviation of one reading in the kit's unit, above 0.
    resolution : float
        Step of the reading in the kit's unit, 0 or more.

    Raises
    ------
    InputError
        If one of them cannot be used.

    Examples
    --------
    >>> check_scatter(0.15, 0.1)
    """
    if not (0 < sd < math.inf and 0 <= resolution < math.inf):
        raise InputError(
            "a scatter above 0 and a resolution of 0 or more", (sd, resolution),
            "Write the kit's repeatability, or read one water several times.",
        )  # fmt: skip


def reading_covariance(names: Sequence[str], sd: float, resolution: float) -> np.ndarray:
    """Return how readings scatter together: on their own, or in steps too coarse to average.

    V = s² I + r²/12·(I, or all readings of a bottle together where r > 3 s)

    Parameters
    ----------
    names : sequence of str
        Bottle of each reading, n of them.
    sd, resolution : float
        Standard deviation of one reading and its step, in the kit's unit.

    Returns
    -------
    numpy.ndarray
        Covariance, n × n, in the square of the kit's unit.

    Examples
    --------
    >>> reading_covariance(["a", "a"], 0.1, 0.6).round(2)
    array([[0.04, 0.03],
           [0.03, 0.04]])

    References
    ----------
    Step r²/12: JCGM 100:2008, F.2.2.1. The bound of 3 s: own simulation.
    """
    together = np.equal.outer(np.array(names), np.array(names)).astype(float)
    steps = together if resolution > 3 * sd else np.eye(len(names))
    return sd**2 * np.eye(len(names)) + resolution**2 / 12 * steps


def coverage_factor(u: float, u_kit: float, sd_df: float) -> float:
    """Return how many standard uncertainties make half a 95 % interval.

    t(0.975, ν), ν = ν_kit·u⁴/u_kit⁴

    Parameters
    ----------
    u, u_kit : float
        Standard uncertainty in all, and the part of the kit's scatter, in one unit.
    sd_df : float
        Degrees of freedom of the scatter (a count).

    Returns
    -------
    float
        Factor without unit, 1.96 or more.

    Examples
    --------
    >>> round(coverage_factor(1.0, 1.0, 20.0), 3), round(coverage_factor(1.0, 0.0, 20.0), 3)
    (2.086, 1.96)

    References
    ----------
    JCGM 100:2008, equation G.2b.
    """
    df = sd_df * (u / u_kit) ** 4 if u_kit > 0 else math.inf
    return float(stats.norm.ppf(0.975) if df > 1e6 else stats.t.ppf(0.975, df))


@dataclass(frozen=True)
class StandardReadings:
    """Readings of standards with one kit, in any order.

    Attributes
    ----------
    days : numpy.ndarray
        Time of each reading (days from any start), shape (n,).
    read : numpy.ndarray
        Readings in the kit's unit, shape (n,).
    lots, bottle_names : tuple of str
        Lot of the kit and bottle of the standard, n each.
    bottles : mapping of str to Bottle
        The bottles by name.
    sd, resolution : float
        Scatter of one reading and its step, in the kit's unit.
    opened : mapping of str to float
        Day each lot was opened (days); its first reading where a lot is not named.
    """

    days: np.ndarray
    read: np.ndarray
    lots: tuple[str, ...]
    bottle_names: tuple[str, ...]
    bottles: Mapping[str, Bottle]
    sd: float
    resolution: float
    opened: Mapping[str, float]

    @property
    def deviations(self) -> np.ndarray:
        """Read minus stated level of the bottle, in the kit's unit, shape (n,)."""
        return self.read - np.array([self.bottles[name].level for name in self.bottle_names])

    @property
    def noise(self) -> np.ndarray:
        """Covariance of the deviations without the kit's bias, n × n."""
        from_kit = reading_covariance(self.bottle_names, self.sd, self.resolution)
        return from_kit + standard_covariance(self.bottle_names, self.bottles)


def standard_readings(
    days: Sequence[float],
    read: Sequence[float],
    lots: Sequence[str],
    bottle_names: Sequence[str],
    bottles: Mapping[str, Bottle],
    *,
    sd: float,
    resolution: float = 0.0,
    opened: Mapping[str, float] | None = None,
) -> StandardReadings:
    """Return checked readings of standards.

    Parameters
    ----------
    days, read : sequence of float
        Time (days from any start) and reading (kit's unit), n each.
    lots, bottle_names : sequence of str
        Lot of the kit and bottle of the standard, n each.
    bottles : mapping of str to Bottle
        The bottles by name.
    sd, resolution : float
        Scatter of one reading and its step, in the kit's unit.
    opened : mapping of str to float, optional
        Day each lot was opened (days).

    Returns
    -------
    StandardReadings
        The same, as arrays.

    Raises
    ------
    InputError
        If the columns differ in length, a number is missing, or a reading is older than its lot.

    Examples
    --------
    >>> standard_readings([0.0], [8.1], ["L1"], ["A"], {"A": Bottle(8.0, 0.05)}, sd=0.15).opened
    {'L1': 0.0}
    """
    when, what = np.asarray(days, dtype=float), np.asarray(read, dtype=float)
    lengths = {len(when), len(what), len(lots), len(bottle_names)}
    if len(lengths) != 1 or 0 in lengths:
        raise InputError(
            "a day, a reading, a lot and a bottle for each row", sorted(lengths),
            "Fill the empty cells.",
        )  # fmt: skip
    if not (np.isfinite(when).all() and np.isfinite(what).all()):
        raise InputError(
            "days and readings that are numbers", (days, read), "Leave empty rows out."
        )
    check_scatter(sd, resolution)
    first = {lot: min(float(d) for d, one in zip(when, lots, strict=True) if one == lot)
             for lot in dict.fromkeys(lots)}  # fmt: skip
    standard_covariance(bottle_names, bottles)  # refuses a bottle that is not described
    known = {**first, **(opened or {})}
    for lot, day in first.items():
        if day < known[lot]:
            raise InputError(
                f"readings of lot {lot} after it was opened (day {known[lot]:g})", f"day {day:g}",
                "Correct the day of opening or the lot of the reading.",
            )  # fmt: skip
    return StandardReadings(
        when, what, tuple(lots), tuple(bottle_names), dict(bottles), sd, resolution, known
    )
