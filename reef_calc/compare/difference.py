"""How far apart two kits read on the same waters: mean difference with its interval."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.stats import t as student

from reef_calc.compare.limit_factors import check_confidence
from reef_calc.compare.pairs import Pairs
from reef_calc.errors import InputError

Scale = Literal["absolute", "percent", "log"]
# Differences this close, as a share of the readings, differ by the arithmetic only.
_ARITHMETIC = 1e-9


@dataclass(frozen=True)
class MeanDifference:
    """Mean difference B − A with its interval.

    Attributes
    ----------
    scale : {"absolute", "percent", "log"}
        Unit of the readings; per cent of the mean of both kits; natural logarithm of B/A.
    n : int
        Number of waters.
    mean, sd, standard_error : float
        On that scale; the standard deviation has the divisor n − 1.
    low, high : float or None
        Ends of the interval; None when all differences are equal, for they show no scatter.
    t_statistic, p_value : float or None
        Of Student's t with n − 1 degrees of freedom, against no difference.
    confidence : float
        Probability of the interval.
    """

    scale: Scale
    n: int
    mean: float
    sd: float
    standard_error: float
    low: float | None
    high: float | None
    t_statistic: float | None
    p_value: float | None
    confidence: float

    @property
    def no_scatter(self) -> bool:
        """Whether all differences are equal, so that there is no interval."""
        return self.low is None

    @property
    def ratio(self) -> tuple[float, float | None, float | None]:
        """Geometric mean of B/A with its interval; ratios, on the logarithmic scale only.

        Raises
        ------
        InputError
            If the differences are on another scale.
        """
        if self.scale != "log":
            raise InputError(
                "a difference of logarithms",
                f"scale {self.scale}",
                "Work out the difference on the logarithmic scale first.",
                "ratio of the kits",
            )
        ends = [None if end is None else math.exp(end) for end in (self.low, self.high)]
        return math.exp(self.mean), ends[0], ends[1]


def mean_difference(
    differences: Sequence[float] | np.ndarray,
    *,
    not_averaged: float = 0.0,
    confidence: float = 0.95,
    scale: Scale = "absolute",
    size: float = 0.0,
) -> MeanDifference:
    """Return the mean of differences with its Student interval.

    d̄ ± t(n − 1)·√(s²/n + v) with v the variance that does not average away.

    Parameters
    ----------
    differences : sequence of float
        B − A of each water in any unit, shape (n,), n of 2 or more.
    not_averaged : float, optional
        Variance that more waters do not reduce, in the unit of the differences squared.
    confidence : float, optional
        Probability of the interval, between 0 and 1.
    scale : {"absolute", "percent", "log"}, optional
        What the differences are.
    size : float, optional
        Largest reading, in the unit of the differences: says what is equal but for the arithmetic.

    Returns
    -------
    MeanDifference
        In the unit of the differences.

    Raises
    ------
    InputError
        If there are fewer than two differences, one is no number, or the variance is negative.

    Notes
    -----
    Assumes that the differences of separate waters are independent and nearly normal. When all
    are equal there is no interval: the scatter is hidden below the steps of the scales.

    Examples
    --------
    >>> found = mean_difference([0.3, 0.1, 0.4, 0.2, 0.3])
    >>> round(found.mean, 2), round(found.low, 2), round(found.high, 2)
    (0.26, 0.12, 0.4)

    References
    ----------
    Student (1908), Biometrika 6, 1. Bland & Altman (1986), Lancet i, 307.
    """
    check_confidence(confidence)
    values = as_differences(differences)
    if not 0.0 <= not_averaged < math.inf:
        raise InputError(
            "a variance of 0 or more", not_averaged, "Leave it out if unknown.", "not averaged"
        )
    n = len(values)
    mean = float(values.mean())
    if no_scatter(values, size):
        return MeanDifference(
            scale, n, mean, 0.0, math.sqrt(not_averaged), None, None, None, None, confidence
        )
    sd = float(values.std(ddof=1))
    standard_error = math.sqrt(sd**2 / n + not_averaged)
    half = float(student.ppf((1.0 + confidence) / 2.0, n - 1)) * standard_error
    ratio = mean / standard_error
    return MeanDifference(
        scale, n, mean, sd, standard_error, mean - half, mean + half,
        ratio, float(2.0 * student.sf(abs(ratio), n - 1)), confidence,
    )  # fmt: skip


def difference_of_kits(
    pairs: Pairs,
    *,
    scale: Scale = "absolute",
    not_averaged: float = 0.0,
    confidence: float = 0.95,
) -> MeanDifference:
    """Return how far kit B reads above kit A on average, each water counted once.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits; repeats of one water are averaged first.
    scale : {"absolute", "percent", "log"}, optional
        In the unit of the pairs, in per cent of the mean of both, or as ln(B/A).
    not_averaged : float, optional
        Variance that more waters do not reduce, on that scale (unit squared).
    confidence : float, optional
        Probability of the interval, between 0 and 1.

    Returns
    -------
    MeanDifference
        On the scale asked for.

    Raises
    ------
    InputError
        If there is one water only, or a reading is 0 or less where a share of it is wanted.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> waters = tuple(Water(str(i), (a,), (b,)) for i, (a, b) in enumerate(
    ...     [(8.0, 8.4), (7.6, 8.1), (8.2, 8.4)]))
    >>> pairs = Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters)
    >>> round(difference_of_kits(pairs).mean, 3)
    0.367
    >>> [round(one, 3) for one in difference_of_kits(pairs, scale="log").ratio]
    [1.047, 0.996, 1.1]
    """
    differences, size = differences_on_scale(pairs, scale)
    return mean_difference(
        differences, not_averaged=not_averaged, confidence=confidence, scale=scale, size=size
    )


def differences_on_scale(pairs: Pairs, scale: Scale) -> tuple[np.ndarray, float]:
    """Return the difference of each water on a scale, and the size of the largest reading on it.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.
    scale : {"absolute", "percent", "log"}
        In the unit of the pairs, in per cent of the mean of both, or as ln(B/A).

    Returns
    -------
    tuple
        B − A of the means of each water, shape (n,), and the size (in that unit).

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> pairs = Pairs("calcium", "mg/L", "old", "new", 5, 5, (Water("1", (400.0,), (440.0,)),))
    >>> differences_on_scale(pairs, "percent")[0].round(2).tolist()
    [9.52]
    """
    on_a, on_b = readings_on_scale(pairs, scale)
    a = np.array([one.mean() for one in on_a])
    b = np.array([one.mean() for one in on_b])
    # On a relative scale the readings themselves are of the order of 1, or of 100 per cent.
    size = {"absolute": float(max(np.abs(a).max(), np.abs(b).max())), "percent": 100.0, "log": 1.0}
    return b - a, size[scale]


def readings_on_scale(
    pairs: Pairs, scale: Scale
) -> tuple[tuple[np.ndarray, ...], tuple[np.ndarray, ...]]:
    """Return all readings of both kits on a scale, water by water.

    Parameters
    ----------
    pairs : Pairs
        Waters read with both kits.
    scale : {"absolute", "percent", "log"}
        As read; in per cent of the water's mean of both kits; natural logarithms.

    Returns
    -------
    tuple
        Readings of kit A and of kit B, one array a water.

    Raises
    ------
    InputError
        If the scale is unknown, or a reading is 0 or less where a share of it is wanted.

    Examples
    --------
    >>> from reef_calc.compare.pairs import Water
    >>> pairs = Pairs("calcium", "mg/L", "old", "new", 5, 5, (Water("1", (380.0,), (420.0,)),))
    >>> [one[0].item() for one in readings_on_scale(pairs, "percent")]
    [95.0, 105.0]
    """
    if scale not in ("absolute", "percent", "log"):
        raise InputError(
            "the scale absolute, percent or log", scale, "Choose one of them.", "scale"
        )
    a = tuple(np.array(water.a, dtype=float) for water in pairs.waters)
    b = tuple(np.array(water.b, dtype=float) for water in pairs.waters)
    if scale == "absolute":
        return a, b
    for water in pairs.waters:
        for kit, readings in ((pairs.kit_a, water.a), (pairs.kit_b, water.b)):
            if min(readings) <= 0.0:
                raise InputError(
                    "readings above 0 for a difference in per cent",
                    f"{min(readings):g} {pairs.unit}".replace("-", "−"),
                    f"Compare in {pairs.unit} instead.",
                    f"water {water.name}, {kit}",
                )
    if scale == "log":
        return tuple(np.log(one) for one in a), tuple(np.log(one) for one in b)
    per_cent = 100.0 / pairs.means
    return (
        tuple(one * share for one, share in zip(a, per_cent, strict=True)),
        tuple(one * share for one, share in zip(b, per_cent, strict=True)),
    )


def as_differences(values: Sequence[float] | np.ndarray, fewest: int = 2) -> np.ndarray:
    """Return differences as an array, or refuse them.

    Parameters
    ----------
    values : sequence of float
        Differences in any unit.
    fewest : int, optional
        Number of differences that the question needs.

    Returns
    -------
    numpy.ndarray
        Shape (n,), in the same unit.

    Raises
    ------
    InputError
        If there are fewer, or one is no number.

    Examples
    --------
    >>> as_differences([1, 2]).tolist()
    [1.0, 2.0]
    """
    array = np.asarray(values, dtype=float)
    if array.ndim != 1 or len(array) < fewest:
        count = len(array) if array.ndim == 1 else "a table"
        needed = {2: "two", 3: "three"}.get(fewest, str(fewest))
        raise InputError(
            f"{needed} waters or more, each read with both kits",
            f"{count} water" if count == 1 else f"{count} waters",
            "Test another water with both kits.",
            "the pairs",
        )
    if not np.isfinite(array).all():
        raise InputError(
            "a number for every water", "a missing reading", "Leave that water out.", "the pairs"
        )
    return array


def no_scatter(values: np.ndarray, size: float = 0.0) -> bool:
    """Return whether values are equal but for the arithmetic.

    Parameters
    ----------
    values : numpy.ndarray
        Numbers in one unit, shape (n,).
    size : float, optional
        Largest number they were worked out from, in the same unit.

    Returns
    -------
    bool
        True also for 8.3 − 8.2 and 7.4 − 7.3, which differ in the last bits.

    Examples
    --------
    >>> import numpy as np
    >>> no_scatter(np.array([8.3 - 8.2, 7.4 - 7.3]), size=8.3)
    True
    """
    return bool(np.ptp(values) <= _ARITHMETIC * max(size, float(np.abs(values).max())))
