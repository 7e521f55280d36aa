"""Readings of several lots on several waters, taken apart into waters and lots."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

# Scatter below this share of the levels is rounding of the machine, not of a kit.
_NO_SCATTER = 1e-9


@dataclass(frozen=True)
class AdditiveFit:
    """Level = water + lot, the effects of the lots adding up to 0.

    Attributes
    ----------
    effects : numpy.ndarray
        Of the lots, in the unit of the levels, shape (K,).
    inverse : numpy.ndarray
        Covariance of the effects for a scale of 1, shape (K, K).
    residuals : numpy.ndarray
        Level minus fit, in the unit of the levels, shape (n,).
    leverage : numpy.ndarray
        Share of each reading that the fit takes up (share), shape (n,).
    sum_of_squares : float
        Of residuals over the readings' own ``sd`` (no unit where ``sd`` has the unit).
    df : int
        Degrees of freedom: readings − waters − lots + 1.
    """

    effects: np.ndarray
    inverse: np.ndarray
    residuals: np.ndarray
    leverage: np.ndarray
    sum_of_squares: float
    df: int

    @property
    def scale(self) -> float:
        """Factor between the scatter of the residuals and ``sd``; 0 where nothing scatters."""
        return (self.sum_of_squares / self.df) ** 0.5 if self.df > 0 else 0.0


def additive_fit(
    levels: np.ndarray, waters: np.ndarray, lots: np.ndarray, sd: np.ndarray
) -> AdditiveFit:
    """Return the effects of lots, by weighted least squares.

    y = water + lot + e, Σ lot = 0, var e = scale²·sd²

    Parameters
    ----------
    levels : numpy.ndarray
        Levels in one unit, shape (n,).
    waters, lots : numpy.ndarray
        Number of the water and of the lot of each level, from 0 (index), shape (n,). All lots hang
        together through common waters.
    sd : numpy.ndarray
        Scatter of each level against the others', in any one unit, shape (n,).

    Returns
    -------
    AdditiveFit
        Effects in the unit of the levels.

    Notes
    -----
    The waters are taken out first, so a thousand waters cost no more than their readings. The
    covariance is the one of readings that scatter on their own.

    Examples
    --------
    >>> found = additive_fit(np.array([8.0, 8.4, 7.2, 7.5]), np.array([0, 0, 1, 1]),
    ...                      np.array([0, 1, 0, 1]), np.ones(4))
    >>> found.effects.round(3), found.df
    (array([-0.175,  0.175]), 1)

    References
    ----------
    Two-way layout without interaction: Scheffé (1959), The Analysis of Variance, chapter 4 (from
    memory).
    """
    n_waters, n_lots = int(waters.max()) + 1, int(lots.max()) + 1
    weights = 1.0 / sd**2
    of_water = np.bincount(waters, weights, n_waters)
    table = np.zeros((n_waters, n_lots))
    np.add.at(table, (waters, lots), weights)
    centred = levels - np.average(levels, weights=weights)
    mean = np.bincount(waters, weights * centred, n_waters) / of_water
    information = np.diag(table.sum(axis=0)) - table.T @ (table / of_water[:, None])
    right = np.bincount(lots, weights * (centred - mean[waters]), n_lots)
    # A constant put on all effects alike makes the matrix regular and is taken off again.
    shift = np.trace(information) / n_lots**2 or 1.0
    inverse = np.linalg.inv(information + shift) - 1.0 / (shift * n_lots**2)
    inverse = (inverse + inverse.T) / 2
    effects = inverse @ right
    left = centred - effects[lots]
    residuals = left - (np.bincount(waters, weights * left, n_waters) / of_water)[waters]
    shares = table / of_water[:, None]
    at = np.eye(n_lots)[lots] - shares[waters]
    leverage = weights * (np.einsum("ij,jk,ik->i", at, inverse, at) + 1.0 / of_water[waters])
    total = float(weights @ residuals**2)
    if total <= float(weights @ np.full(len(levels), _NO_SCATTER * np.abs(levels).max()) ** 2):
        total = 0.0
    df = len(levels) - n_waters - n_lots + 1
    return AdditiveFit(effects, inverse, residuals, leverage, total, df)


def connected(waters: np.ndarray, lots: np.ndarray) -> np.ndarray:
    """Return which lots hang together through waters that more than one of them read.

    Parameters
    ----------
    waters, lots : numpy.ndarray
        Number of the water and of the lot of each reading, from 0 (index), shape (n,).

    Returns
    -------
    numpy.ndarray
        Number of the group of each lot, in the order of the first lot of each, shape (K,).

    Examples
    --------
    >>> connected(np.array([0, 0, 1, 1, 2]), np.array([0, 2, 1, 3, 0]))
    array([0, 1, 0, 1])
    """
    groups = np.arange(int(lots.max()) + 1)
    for water in np.unique(waters):
        together = np.unique(groups[lots[waters == water]])
        groups[np.isin(groups, together)] = together[0]
    return np.unique(groups, return_inverse=True)[1]
