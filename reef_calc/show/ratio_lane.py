"""The lane of calcium per alkalinity: month by month, against what skeletons take."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from numpy.typing import NDArray

from reef_calc.show.level_lane import INK, MUTED, PAPER, Label
from reef_calc.show.standing import Standing
from reef_calc.show.style import PALETTE
from reef_calc.show.times import day_numbers
from reef_calc.show.wording import month_words, with_interval

SKELETON = (6.1, 7.1)
"""mg/L calcium per dKH: 15 mol% magnesium calcite to pure calcium carbonate (COMPUTED)."""
RATIO_TITLE = "Calcium used per alkalinity used, mg/L per dKH"
SKELETON_WORDS = "skeleton 6.1–7.1"
_WIDEST = (4.5, 9.0)  # a month that tells little must not flatten the others


def shown_ratio(standing: Standing, period: tuple[float, float]) -> pd.DataFrame | None:
    """Return the months whose ratio a picture shows.

    Parameters
    ----------
    standing : Standing
        The element.
    period : (float, float)
        Days since 1970.

    Returns
    -------
    pandas.DataFrame or None
        Rows of ``standing.ratio``; None for other elements than alkalinity and calcium, and where
        no month can tell.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> shown_ratio(S(element="magnesium"), (0.0, 30.0)) is None
    True
    """
    if standing.element not in ("alkalinity", "calcium") or standing.ratio is None:
        return None
    table = standing.ratio
    start, stop = day_numbers(table["start"]), day_numbers(table["stop"])
    numbers = table[["ratio", "low", "high"]].to_numpy(dtype=float)
    known = np.isfinite(numbers).all(axis=1)
    found = table[known & (stop > period[0]) & (start < period[1])]
    return found if len(found) else None


def ratio_middles(table: pd.DataFrame, period: tuple[float, float]) -> NDArray[np.float64]:
    """Return where the mark of each month stands.

    Parameters
    ----------
    table : pandas.DataFrame
        From :func:`shown_ratio`.
    period : (float, float)
        Days since 1970.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Middle of the part of the month that is shown, days since 1970.

    Examples
    --------
    >>> ends = {"start": [pd.Timestamp(0, tz="UTC")], "stop": [pd.Timestamp(30, unit="D", tz="UTC")]}
    >>> ratio_middles(pd.DataFrame(ends), (10.0, 90.0))
    array([20.])
    """
    ends = np.array([day_numbers(table["start"]), day_numbers(table["stop"])])
    return np.asarray(np.clip(ends, *period).mean(axis=0), dtype=float)


def draw_ratio(ax: Axes, table: pd.DataFrame, period: tuple[float, float]) -> list[Label]:
    """Draw the ratio of each month with its whisker over the band of skeletons.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The lane, with its dates already set.
    table : pandas.DataFrame
        From :func:`shown_ratio`.
    period : (float, float)
        Days since 1970.

    Returns
    -------
    list of (float, str, str, bool)
        Labels for the right margin.

    Notes
    -----
    Band: 2 equivalents of alkalinity a mole of calcium carbonate (stoichiometry) make 7.15 mg/L
    calcium per dKH; with 15 % of the calcium replaced by magnesium 6.07 (COMPUTED).

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> ends = {"start": [pd.Timestamp(0, tz="UTC")], "stop": [pd.Timestamp(30, unit="D", tz="UTC")]}
    >>> table = pd.DataFrame(ends | {"ratio": [7.0], "low": [6.5], "high": [7.5]})
    >>> [label[1] for label in draw_ratio(Figure().add_subplot(), table, (0.0, 30.0))]
    ['skeleton 6.1–7.1', '7.0 ± 0.5']
    """
    x = ratio_middles(table, period)
    ratio, low, high = table[["ratio", "low", "high"]].to_numpy(dtype=float).T
    values = np.concatenate([ratio, np.clip(np.concatenate([low, high]), *_WIDEST), SKELETON])
    room = 0.08 * (values.max() - values.min())
    bottom, top = float(values.min() - room), float(values.max() + room)
    ax.set_ylim(bottom, top)
    ax.axhspan(*SKELETON, facecolor=PALETTE["band"][0], edgecolor="none", lw=0, zorder=0)
    for edge in SKELETON:
        ax.axhline(edge, color=PALETTE["bandedge"][0], lw=0.8, zorder=1)
    least, most = bottom + room / 2, top - room / 2
    ax.vlines(x, np.maximum(low, least), np.minimum(high, most), color=INK, lw=1.2, zorder=3)
    for outside, end, marker in ((high > most, most, "^"), (low < least, least, "v")):
        ax.plot(x[outside], np.full(int(outside.sum()), end), ls="none", marker=marker, ms=5,
                mfc=PAPER, mec=MUTED, mew=1, color=MUTED, zorder=6, clip_on=False)  # fmt: skip
    ax.plot(x, ratio, ls="none", marker="s", ms=5, mfc=PAPER, mec=INK, mew=1.3, color=INK,
            zorder=4)  # fmt: skip
    return [
        (sum(SKELETON) / 2, SKELETON_WORDS, MUTED, False),
        (float(ratio[-1]), with_interval(ratio[-1], low[-1], high[-1]), INK, True),
    ]


def ratio_sentences(table: pd.DataFrame) -> list[str]:
    """Return what each month says when it is pointed at.

    Parameters
    ----------
    table : pandas.DataFrame
        From :func:`shown_ratio`.

    Returns
    -------
    list of str
        Such as "September 2026: 7.0 ± 0.5 mg/L calcium per dKH".

    Examples
    --------
    >>> row = {"month": "2026-09", "ratio": 7.0, "low": 6.5, "high": 7.5}
    >>> ratio_sentences(pd.DataFrame([row]))
    ['September 2026: 7.0 ± 0.5 mg/L calcium per dKH']
    """
    return [
        f"{month_words(row.month)}: {with_interval(row.ratio, row.low, row.high)} "
        "mg/L calcium per dKH"
        for row in table.itertuples()
    ]
