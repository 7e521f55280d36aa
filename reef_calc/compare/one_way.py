"""Scatter within and between groups: one-way analysis of variance, also with unequal groups."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reef_calc.errors import InputError


@dataclass(frozen=True)
class OneWay:
    """Means and scatter of groups of values.

    Attributes
    ----------
    mean : float
        Of all values, each counted once, in their unit.
    groups, values : int
        Number of groups and of values.
    between_square, within_square : float or None
        Mean squares (unit squared); None without degrees of freedom.
    size : float
        Number of values a group that the mean square between groups stands for.
    """

    mean: float
    groups: int
    values: int
    between_square: float | None
    within_square: float | None
    size: float

    @property
    def df_between(self) -> int:
        """Number of groups less one."""
        return self.groups - 1

    @property
    def df_within(self) -> int:
        """Number of values less number of groups."""
        return self.values - self.groups

    @property
    def between_variance(self) -> float:
        """Variance between groups, (MSB − MSW)/size, never below 0, in the unit squared.

        Raises
        ------
        InputError
            If there are fewer than two groups, or no group has repeats.
        """
        if self.between_square is None or self.within_square is None:
            raise InputError(
                "two groups, one of them with repeats",
                f"{self.groups} groups, {self.values} values",
                "Read some waters twice.",
                "scatter between waters",
            )
        return max(0.0, (self.between_square - self.within_square) / self.size)


def one_way(groups: Sequence[Sequence[float] | np.ndarray]) -> OneWay:
    """Return mean and scatter of groups, in two passes so that large means cost no digits.

    MSB = Σ m_i (x̄_i − x̄)²/(k − 1), MSW = ΣΣ (x_ij − x̄_i)²/(N − k), size = (N − Σ m_i²/N)/(k − 1).

    Parameters
    ----------
    groups : sequence of sequence of float
        Values of each group in one unit; single values count for the scatter between groups only.

    Returns
    -------
    OneWay
        In the unit of the values.

    Raises
    ------
    InputError
        If there is no group, one is empty, or a value is no number.

    Examples
    --------
    >>> found = one_way([[8.0, 8.2], [7.0, 7.0], [9.1, 8.9]])
    >>> round(found.within_square, 4), found.df_within, round(found.between_variance, 4)
    (0.0133, 3, 0.9967)

    References
    ----------
    Snedecor & Cochran, Statistical Methods, on unequal groups (from memory).
    """
    arrays = [np.asarray(group, dtype=float) for group in groups]
    if not arrays or any(one.ndim != 1 or len(one) == 0 for one in arrays):
        raise InputError(
            "a reading for every water", f"{len(arrays)} waters", "Leave out what was not read.",
            "repeats",
        )  # fmt: skip
    if not all(np.isfinite(one).all() for one in arrays):
        raise InputError(
            "readings that are numbers", "a missing reading", "Leave out what was not read.",
            "repeats",
        )  # fmt: skip
    sizes = np.array([len(one) for one in arrays])
    k, n = len(arrays), int(sizes.sum())
    origin = float(arrays[0][0])
    means = np.array([origin + float((one - origin).mean()) for one in arrays])
    mean = origin + float(sizes @ (means - origin)) / n
    within = sum(
        float(((one - centre) ** 2).sum()) for one, centre in zip(arrays, means, strict=True)
    )
    between = float(sizes @ (means - mean) ** 2)
    return OneWay(
        mean=mean,
        groups=k,
        values=n,
        between_square=between / (k - 1) if k > 1 else None,
        within_square=within / (n - k) if n > k else None,
        size=(n - float(sizes @ sizes) / n) / (k - 1) if k > 1 else float(n),
    )
