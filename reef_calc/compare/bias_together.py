"""The biases of several kits and lots on the same bottles: what the bottles share is kept in mind."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import stats

from reef_calc.bench.standard_readings import Bottle, reading_covariance, standard_covariance
from reef_calc.errors import InputError


@dataclass(frozen=True)
class Contrast:
    """A sum of biases with its uncertainty.

    Attributes
    ----------
    value, u : float
        Value and standard uncertainty, in the unit of the biases.
    t : float
        Half-width of the interval in standard uncertainties (no unit).
    """

    value: float
    u: float
    t: float

    @property
    def half(self) -> float:
        """Half-width of the interval, in the unit of the biases."""
        return self.t * self.u

    @property
    def low(self) -> float:
        """Low end of the interval, in the unit of the biases."""
        return self.value - self.half

    @property
    def high(self) -> float:
        """High end of the interval, in the unit of the biases."""
        return self.value + self.half

    @property
    def shown(self) -> bool:
        """Whether the interval excludes 0."""
        return abs(self.value) > self.half


@dataclass(frozen=True)
class BiasTogether:
    """Biases (read minus standard) of kits that share bottles.

    Attributes
    ----------
    names : tuple of str
        Kit and lot of each.
    bias : numpy.ndarray
        In one unit, shape (K,).
    covariance : numpy.ndarray
        Of the biases, bottles included, shape (K, K).
    standard : numpy.ndarray
        The part of it that comes from the bottles, shape (K, K).
    sd_df : numpy.ndarray
        Degrees of freedom of the scatter of each (a count), shape (K,).
    scatter : numpy.ndarray
        The part of ``covariance`` that the scatter of each brings, shape (K, K, K): first index
        whose scatter.
    """

    names: tuple[str, ...]
    bias: np.ndarray
    covariance: np.ndarray
    standard: np.ndarray
    sd_df: np.ndarray
    scatter: np.ndarray

    def contrast(self, weights: dict[str, float], *, level: float = 0.95) -> Contrast:
        """Return a sum of biases, such as one less another.

        Parameters
        ----------
        weights : dict of str to float
            Weight (factor) of each name that enters.
        level : float, optional
            Confidence of the interval (probability).

        Returns
        -------
        Contrast
            In the unit of the biases.
        """
        w = np.array([weights.get(name, 0.0) for name in self.names])
        variance = float(w @ self.covariance @ w)
        parts = np.einsum("i,kij,j->k", w, self.scatter, w)
        squares = float((parts**2 / self.sd_df).sum())
        df = variance**2 / squares if squares > 0 else math.inf
        p = 0.5 + level / 2
        t = float(stats.norm.ppf(p) if df > 1e6 else stats.t.ppf(p, df))
        return Contrast(float(w @ self.bias), math.sqrt(max(variance, 0.0)), t)


def biases_together(
    readings: pd.DataFrame, moved_u: Mapping[str, float] | None = None
) -> BiasTogether:
    """Return the biases of kits and lots from readings of standards, all at once.

    read − S = b_name + η_bottle + e by generalised least squares, the b free, η with the standards'
    variance (one number a bottle), e with s² + r²/12 of each name.

    Parameters
    ----------
    readings : pandas.DataFrame
        One row a reading: ``name`` (kit and lot), ``bottle``, ``deviation`` (read minus stated level),
        ``u`` (standard uncertainty of the level), ``sd``, ``resolution``, all in one unit, and
        ``sd_df`` (degrees of freedom of ``sd``), the last three alike for a name.
    moved_u : mapping of str to float, optional
        How far the bias of each name may have drifted since (standard uncertainty, that unit).

    Returns
    -------
    BiasTogether
        In that unit.

    Raises
    ------
    InputError
        If there are no readings, or a number cannot be used.

    Notes
    -----
    Two kits read on one bottle share its error: it drops out of their difference and stays in each
    bias. All levels count as one, so hand in standards of about one level.

    Examples
    --------
    >>> read = pd.DataFrame({"name": ["A", "A", "B", "B"], "bottle": "eight", "u": 0.05,
    ...     "deviation": [0.0, 0.1, 0.4, 0.5], "sd": 0.1, "resolution": 0.0, "sd_df": 20.0})
    >>> found = biases_together(read)
    >>> apart = found.contrast({"B": 1.0, "A": -1.0})
    >>> found.bias.round(2), round(apart.value, 2), round(apart.u, 2)
    (array([0.05, 0.45]), 0.4, 0.1)

    References
    ----------
    Generalised least squares: Aitken (1935), from memory. Degrees of freedom: JCGM 100:2008,
    equation G.2b. A common source makes estimates depend on each other: JCGM 100:2008, F.1.2.3.
    """
    rows = readings.reset_index(drop=True)
    numbers = rows[["deviation", "u", "sd", "resolution"]].to_numpy(float)
    if rows.empty or not np.isfinite(numbers).all() or (rows["sd"] <= 0).any():
        raise InputError(
            "readings of standards with a scatter above 0", f"{len(rows)} readings",
            "Write the kit's repeatability, and leave out what has no number.", "biases together",
        )  # fmt: skip
    names = list(dict.fromkeys(rows["name"]))
    bottles = {str(one.bottle): Bottle(0.0, float(one.u)) for one in rows.itertuples()}
    of_bottles = standard_covariance([str(name) for name in rows["bottle"]], bottles)
    X = (rows["name"].to_numpy()[:, None] == np.array(names)[None, :]).astype(float)
    V = np.zeros((len(rows), len(rows)))
    own = []
    for name in names:
        at = np.flatnonzero(rows["name"] == name)
        first = rows.iloc[at[0]]
        block = np.zeros_like(V)
        block[np.ix_(at, at)] = reading_covariance(
            [str(bottle) for bottle in rows["bottle"].iloc[at]], float(first["sd"]),
            float(first["resolution"]),
        )  # fmt: skip
        own.append(block)
        V += block
    weights = np.linalg.solve(V + of_bottles, X)
    W = np.linalg.solve(X.T @ weights, weights.T)
    drifted = np.array([(moved_u or {}).get(name, 0.0) for name in names])
    return BiasTogether(
        tuple(names),
        W @ rows["deviation"].to_numpy(float),
        W @ (V + of_bottles) @ W.T + np.diag(drifted**2),
        W @ of_bottles @ W.T,
        np.array([float(rows.loc[rows["name"] == name, "sd_df"].iloc[0]) for name in names]),
        np.array([W @ block @ W.T for block in own]),
    )
