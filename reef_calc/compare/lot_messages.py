"""Why a table of lots says no more than it does."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pandas as pd
from scipy import stats

from reef_calc.compare.additive_fit import AdditiveFit
from reef_calc.compare.lot_group import LotGroup
from reef_calc.compare.lot_words import capital, counted, named, noun
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed

_FEW = 5
_READINGS_OF_STANDARD = 3
_WATERS = ("tank", "new", "standard", "study", "water")


def refusal_words(fit: AdditiveFit, waters: int) -> str:
    """Return why there are no intervals, or nothing where there are.

    Parameters
    ----------
    fit : AdditiveFit
        The fit.
    waters : int
        Waters in common (a count).

    Returns
    -------
    str
        Sentences.

    Examples
    --------
    >>> from reef_calc.compare.additive_fit import additive_fit
    >>> one = additive_fit(np.array([8.0, 8.4]), np.zeros(2, int), np.array([0, 1]), np.ones(2))
    >>> refusal_words(one, 1)
    'Cannot tell yet: 1 water in common shows no scatter to judge a difference by. Read one more
    water with all of them.'
    """
    if fit.df < 1:
        said = "shows" if waters == 1 else "show"
        return (
            f"Cannot tell yet: {counted(waters, 'water')} in common {said} no scatter to judge a "
            "difference by. Read one more water with all of them."
        )
    if fit.sum_of_squares == 0.0:
        return (
            "Cannot tell how sure the differences are: they are exactly the same in every water. Steps "
            "of the scale may hide the scatter. Read waters at other levels."
        )
    return ""


def odd_one(rows: pd.DataFrame, by: str, fit: AdditiveFit, names: Sequence[str]) -> int | None:
    """Return which reading does not fit the others, if there is one.

    Externally studentised residuals, at most one named, 5 % for the whole table (Bonferroni).

    Parameters
    ----------
    rows : pandas.DataFrame
        Readings of the fit: ``water``, the column ``by``, ``level``, ``sd``.
    by : str
        What is compared.
    fit : AdditiveFit
        Their fit.
    names : sequence of str
        What is compared, in order.

    Returns
    -------
    int or None
        Place of the row (index); None where all fit.

    Examples
    --------
    >>> from reef_calc.compare.additive_fit import additive_fit
    >>> few = pd.DataFrame({"water": ["1", "1"], "lot": ["a", "b"], "level": [8.0, 8.4], "sd": 1.0})
    >>> fit = additive_fit(few["level"].to_numpy(), np.zeros(2, int), np.array([0, 1]), np.ones(2))
    >>> odd_one(few, "lot", fit, ["a", "b"]) is None
    True

    References
    ----------
    Cook and Weisberg (1982), Residuals and Influence in Regression, 2.2 (from memory).
    """
    if fit.df < 2:
        return None
    free = 1.0 - fit.leverage
    usable = free > 1e-6
    size = (fit.residuals / rows["sd"].to_numpy()) ** 2
    rest = fit.sum_of_squares * free - size  # of the others, times free
    rest = np.maximum(rest, 1e-12 * fit.sum_of_squares)
    squared = np.where(usable, size * (fit.df - 1) / rest, 0.0)
    at = int(np.argmax(squared))
    tests = int(usable.sum()) / (2 if len(names) == 2 else 1)  # of two readings both say the same
    chance = 2.0 * float(stats.t.sf(math.sqrt(squared[at]), fit.df - 1)) * tests
    return at if chance < 0.05 else None


def outlier_words(
    rows: pd.DataFrame, odd: int, by: str, fit: AdditiveFit, names: Sequence[str], unit: str
) -> str:
    """Return which reading does not fit, in words.

    Parameters
    ----------
    rows : pandas.DataFrame
        Readings of the fit: ``water``, the column ``by``, ``sd``.
    odd : int
        Place of the row (index).
    by : str
        What is compared.
    fit : AdditiveFit
        Their fit.
    names : sequence of str
        What is compared; of two only the water can be told.
    unit : str
        Unit of the levels.

    Returns
    -------
    str
        Such as "lot B on water 3 (0.9 dKH higher than the others make likely)".

    Examples
    --------
    >>> from reef_calc.compare.additive_fit import additive_fit
    >>> few = pd.DataFrame({"water": ["1", "1"], "lot": ["a", "b"], "level": [8.0, 8.4], "sd": 1.0})
    >>> fit = additive_fit(few["level"].to_numpy(), np.zeros(2, int), np.array([0, 1]), np.ones(2))
    >>> outlier_words(few, 0, "lot", fit, ["a", "b"], "dKH")
    'water 1'
    """
    row = rows.iloc[odd]
    water = str(row["water"])
    water = water if water.split(" ")[0] in _WATERS else f"water {water}"
    if len(names) == 2:
        return water
    off = float(fit.residuals[odd] / (1.0 - fit.leverage[odd]))
    size = fixed(abs(off), decimals_for(fit.scale * float(row["sd"])))
    side = "higher" if off > 0 else "lower"
    return f"{named(by, row[by])} on {water} ({size} {unit} {side} than the others make likely)"


def group_messages(
    group: LotGroup,
    by: str,
    unit: str,
    coarse: np.ndarray,
    typed: float | None,
    sd_of: np.ndarray,
) -> tuple[Message, ...]:
    """Return what limits one group.

    Parameters
    ----------
    group : LotGroup
        The group.
    by : str
        What is compared.
    unit : str
        Unit of the table.
    coarse : numpy.ndarray
        Whether the steps of each name are coarse, shape (K,).
    typed : float or None
        Scatter that the readings came with, in ``unit``; None where they came without.
    sd_of : numpy.ndarray
        The same for each name, in ``unit``, shape (K,).

    Returns
    -------
    tuple of Message
        Sentences.

    Examples
    --------
    >>> from reef_calc.compare.lot_table import lot_table
    >>> read = pd.DataFrame({"water": [1, 1, 2, 2, 3, 3], "lot": list("ababab"),
    ...                      "level": [8.0, 8.4, 7.2, 7.5, 9.1, 9.6]})
    >>> [one.code for one in lot_table(read, unit="dKH").groups[0].messages]
    ['FEW']
    """
    told: list[Message] = []
    if group.refusal:
        return (Message("NO_INTERVAL", group.refusal, "refused"),)
    if group.outlier:
        told.append(Message(
            "OUTLIER", f"One does not fit the others: {group.outlier}. Nothing was left out. Look at "
            "this first.", "qualified",
        ))  # fmt: skip
    if coarse.any():
        which = ", ".join(named(by, n) for n, c in zip(group.names, coarse, strict=True) if c)
        told.append(Message(
            "COARSE", f"The steps of the scale are coarse against the scatter ({which}), and few "
            "different levels were read. Such steps do not average away; their share was added. "
            "Read waters at other levels.", "qualified",
        ))  # fmt: skip
    if group.by_water:
        told.append(Message(
            "BY_WATER", f"Each water counts once for each {noun(by)}, however often it was read. That "
            "allows for differences that change from water to water.", "told",
        ))  # fmt: skip
    if group.waters == 1:
        told.append(Message(
            "ONE_WATER", "All of this comes from one water. It does not show whether the differences "
            "are the same in another.", "qualified",
        ))  # fmt: skip
    decimals = decimals_for(group.s)
    if typed is not None and (group.s / typed) ** 2 > stats.f.ppf(0.99, group.df, 20.0):
        told.append(Message(
            "SCATTER", f"The readings scatter by {fixed(group.s, decimals)} {unit}, more than the "
            f"{fixed(typed, decimals)} {unit} that is known of them. Their own scatter is used. Find "
            "out why first.", "qualified",
        ))  # fmt: skip
    if typed is not None and sd_of.max() > 2.0 * sd_of.min():
        told.append(Message(
            "RATIO_ASSUMED", f"They do not scatter alike. How they compare "
            f"({fixed(float(sd_of.min()), decimals_for(float(sd_of.min())))} to "
            f"{fixed(float(sd_of.max()), decimals_for(float(sd_of.min())))} {unit}) is taken as "
            "written for the kits, not found here.", "qualified",
        ))  # fmt: skip
    if group.df < _FEW:
        told.append(Message(
            "FEW", "The scatter is hardly known from so few readings, so the intervals are wide. One "
            "more water read with all of them narrows them most.", "qualified",
        ))  # fmt: skip
    far = group.pairs[group.pairs["shared"] == 0]
    if len(far):
        told.append(Message("CHAIN", _chain_words(group, far, by, unit), "qualified"))
    return tuple(told)


def _chain_words(group: LotGroup, far: pd.DataFrame, by: str, unit: str) -> str:
    worst = far.loc[far["half"].idxmax()]
    near = float(group.pairs.loc[group.pairs["shared"] > 0, "half"].min())
    decimals = decimals_for(near)
    told = (
        f"{capital(named(by, worst['one']))} and {named(by, worst['other'])} were never read on the "
        f"same water. Their difference goes through others and is known to ± "
        f"{fixed(worst['half'], decimals)} {unit}, against ± {fixed(near, decimals)} {unit} for the best "
        "known pair."
    )
    kept = group.s * (2.0 / _READINGS_OF_STANDARD) ** 0.5 * float(worst["half"] / worst["se"])
    if kept < 0.95 * worst["half"]:
        told += (
            f" A chain forgets, a kept standard does not: {_READINGS_OF_STANDARD} readings of one "
            f"standard with each would give ± {fixed(kept, decimals)} {unit}, if the standard keeps."
        )
    return told


def table_messages(
    rows: pd.DataFrame,
    by: str,
    unit: str,
    groups: Sequence[LotGroup],
    alone: Sequence[str],
    planned: tuple[str, str] | None,
) -> tuple[Message, ...]:
    """Return what limits the whole table, after what limits its groups.

    Parameters
    ----------
    rows : pandas.DataFrame
        All readings: ``water`` and the column ``by``.
    by : str
        What is compared.
    unit : str
        Unit of the table.
    groups : sequence of LotGroup
        Its groups.
    alone : sequence of str
        Names without a water in common with another.
    planned : tuple of str or None
        The pair chosen beforehand.

    Returns
    -------
    tuple of Message
        Sentences.

    Examples
    --------
    >>> table_messages(pd.DataFrame({"water": ["1"], "lot": ["a"]}), "lot", "dKH", [], ["a"], None)[0].text
    'Lot a has no water in common with another and cannot be compared.'
    """
    told = [message for group in groups for message in group.messages]
    if len(groups) > 1:
        lists = "; ".join(", ".join(named(by, name) for name in one.names) for one in groups)
        told.append(Message(
            "NOT_CONNECTED", f"No water links these {len(groups)} sets of {noun(by, 2)}, so each is a "
            f"table of its own: {lists}. One water read with one of each would link them.", "qualified",
        ))  # fmt: skip
    if alone:
        names = ", ".join(named(by, name) for name in alone)
        have = "has" if len(alone) == 1 else "have"
        told.append(Message(
            "ALONE", f"{capital(names)} {have} no water in common with another and cannot be compared.",
            "qualified",
        ))  # fmt: skip
    single = int((rows.groupby("water")[by].nunique() < 2).sum())
    if single and groups:
        said = "was" if single == 1 else "were"
        told.append(Message(
            "ONE_ONLY", f"{counted(single, 'water')} {said} read with one {noun(by)} only and "
            f"{'says' if single == 1 else 'say'} nothing about differences.", "told",
        ))  # fmt: skip
    if planned is not None and groups and all(g.pair(*planned) is None for g in groups):
        told.append(Message(
            "PLANNED_APART", f"{capital(named(by, planned[0]))} and {named(by, planned[1])} were to be "
            "compared, but no water links them.", "refused",
        ))  # fmt: skip
    if any(len(one.names) > 2 for one in groups):
        told.append(Message(
            "MEAN_OF_TABLE", f"Effects are against the mean of the {noun(by, 2)} in this table. The "
            f"mean changes when one is added. The differences between {noun(by, 2)} are what lasts.",
            "told",
        ))  # fmt: skip
    return tuple(told)
