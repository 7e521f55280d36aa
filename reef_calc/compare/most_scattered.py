"""The water whose repeats with one kit disagree most: named, never removed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.special import fdtrc, fdtri

from reef_calc.compare.outlier import Outlier, check_level
from reef_calc.errors import InputError


def cochran_critical(groups: int, repeats: int, level: float = 0.05) -> float:
    """Return which share of all scatter the most scattered of equal groups may have.

    C = 1/(1 + (p − 1)/F), F the upper level/p point with (m − 1) and (p − 1)(m − 1) degrees of
    freedom.

    Parameters
    ----------
    groups : int
        Number of waters p, 2 or more.
    repeats : int
        Number of readings m of each, 2 or more.
    level : float, optional
        Probability of naming one though all scatter alike, between 0 and 1.

    Returns
    -------
    float
        Critical share of the sum of variances.

    Raises
    ------
    InputError
        If there are too few groups or readings, or the level is no share.

    Examples
    --------
    >>> round(cochran_critical(8, 2), 4)
    0.6798

    References
    ----------
    Cochran (1941), Ann. Eugenics 11, 47. ISO 5725-2, table 4 (from memory).
    """
    check_level(level)
    if groups < 2 or repeats < 2:
        raise InputError(
            "two waters or more, each read twice or more", f"{groups} waters, {repeats} readings",
            "Repeat some tests.", "Cochran's test",
        )  # fmt: skip
    f = float(fdtri(repeats - 1, (groups - 1) * (repeats - 1), 1.0 - level / groups))
    return 1.0 / (1.0 + (groups - 1) / f)


def most_scattered(
    repeats: Sequence[Sequence[float] | np.ndarray],
    *,
    resolution: float = 0.0,
    level: float = 0.05,
) -> Outlier | None:
    """Return the water whose repeats disagree most, and whether more than chance allows.

    Cochran's test where all waters were read equally often; else each variance against the pooled
    one of the others by F. The statistic is the water's share of all squared deviations.

    Parameters
    ----------
    repeats : sequence of sequence of float
        Readings of each water with one kit, in one unit.
    resolution : float, optional
        Step of the scale, in the same unit: readings one step apart are never named.
    level : float, optional
        Probability of naming one though all scatter alike, between 0 and 1.

    Returns
    -------
    Outlier or None
        ``index`` counts all waters, also those read once. None with fewer than two waters read
        more than once, or without scatter.

    Examples
    --------
    >>> found = most_scattered([[8.0, 8.1], [7.6, 7.7], [8.2, 8.1], [7.9, 7.8], [8.0, 8.9]])
    >>> found.index, round(found.statistic, 3), round(found.critical, 3), found.named
    (4, 0.953, 0.841, True)

    References
    ----------
    Cochran (1941), Ann. Eugenics 11, 47. 't Lam (2010), Anal. Chim. Acta 659, 68, for unequal
    numbers (from memory).
    """
    check_level(level)
    groups = [np.asarray(group, dtype=float) for group in repeats]
    used = [place for place, group in enumerate(groups) if len(group) > 1]
    if len(used) < 2:
        return None
    df = np.array([len(groups[place]) - 1 for place in used], dtype=float)
    squares = np.array([float(groups[place].var()) * len(groups[place]) for place in used])
    size = max(float(np.abs(groups[place]).max()) for place in used)
    if float(squares.max()) <= (1e-9 * size) ** 2:
        return None
    rest_df = df.sum() - df
    rest = squares.sum() - squares
    with np.errstate(divide="ignore"):
        f = (squares / df) / (rest / rest_df)
    tails = fdtrc(df, rest_df, f)
    worst = int(np.argmin(tails))
    f_critical = float(fdtri(df[worst], rest_df[worst], 1.0 - level / len(used)))
    group = groups[used[worst]]
    return Outlier(
        index=used[worst],
        statistic=float(squares[worst] / squares.sum()),
        critical=float(1.0 / (1.0 + rest_df[worst] / (df[worst] * f_critical))),
        p_value=min(1.0, float(tails[worst]) * len(used)),
        named=bool(f[worst] > f_critical and float(np.ptp(group)) > resolution * (1.0 + 1e-9)),
    )
