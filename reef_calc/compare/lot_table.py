"""Lots, kits or readers at once: one model for all waters, and which pairs can be told apart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pandas as pd
from scipy import stats

from reef_calc.compare.additive_fit import AdditiveFit, additive_fit, connected
from reef_calc.compare.lot_group import LotGroup, LotTable
from reef_calc.compare.lot_messages import (
    group_messages,
    odd_one,
    outlier_words,
    refusal_words,
    table_messages,
)
from reef_calc.compare.lot_words import sentences_of
from reef_calc.errors import InputError
from reef_calc.messages import Message

# Readings of one water count as one mean where waters differ more than they with this chance. At a
# half the 5 % for the whole table holds for waters that differ little, much or not at all (own
# simulation: 2 to 6 %); pooling more readily makes it 9 %.
_WATERS_DIFFER = 0.5
_COARSE_WATERS, _COARSE_RANGE = 4, 3.0


@cache
def range_factor(count: int, df: int) -> float:
    """Return how many standard errors half an interval for one of all pairs is wide.

    q(0.95; K, ν)/√2, the studentised range; for two it is Student's t.

    Parameters
    ----------
    count : int
        Number K of names.
    df : int
        Degrees of freedom ν (a count).

    Returns
    -------
    float
        Factor without unit.

    Examples
    --------
    >>> round(range_factor(2, 7), 3), round(range_factor(3, 7), 3)
    (2.365, 2.945)

    References
    ----------
    Tukey–Kramer: Kramer (1956), Biometrics 12, 307 (from memory).
    """
    if count == 2:
        return float(stats.t.ppf(0.975, df))
    return float(stats.studentized_range.ppf(0.95, count, df)) / math.sqrt(2.0)


def lot_table(
    readings: pd.DataFrame,
    *,
    by: str = "lot",
    unit: str,
    planned: tuple[str, str] | None = None,
) -> LotTable:
    """Return how lots, kits or readers differ on the waters they have in common.

    One model, level = water + effect, the effects of a group adding up to 0; all pairs by
    Tukey–Kramer, so that in 95 of 100 such tables no pair is told apart wrongly.

    Parameters
    ----------
    readings : pandas.DataFrame
        One row a reading: ``water``, the column ``by``, ``level`` (``unit``); where known ``sd``
        (scatter of one reading, ``unit``; only how they compare counts), ``resolution`` (``unit``)
        and ``moved`` (what the water moved by since its first reading, ``unit``; it is taken off).
    by : str, optional
        Column with what is compared.
    unit : str
        Unit of the levels.
    planned : tuple of str, optional
        One pair chosen before the readings were seen; its interval allows for no other pair.

    Returns
    -------
    LotTable
        In ``unit``.

    Raises
    ------
    InputError
        If a column is missing, a level or ``sd`` cannot be used, or no water was read with two.

    Notes
    -----
    Where several readings of one water differ less than the waters do, they count as one mean.
    Steps that are coarse against the scatter do not average away: their r²/12 is added. Names that
    never met on a water are compared through others; every link adds its own scatter.

    Examples
    --------
    >>> read = pd.DataFrame({"water": [1, 1, 2, 2, 3, 3], "lot": list("ababab"),
    ...                      "level": [8.0, 8.4, 7.2, 7.5, 9.1, 9.6]})
    >>> lot_table(read, unit="dKH").sentences[0]
    'Lot b reads 0.40 dKH higher than lot a (0.15 to 0.65), from 3 waters.'

    References
    ----------
    Tukey–Kramer: Kramer (1956), Biometrics 12, 307 (from memory).
    """
    rows = _checked(readings, by, unit)
    names = list(dict.fromkeys(rows[by]))
    numbers = pd.Categorical(rows[by], names).codes
    waters = pd.factorize(rows["water"])[0]
    if planned is not None and (planned[0] == planned[1] or not set(planned) <= set(names)):
        raise InputError(
            f"two different names of the column {by}", planned, "Choose from: " + ", ".join(names)
            + ".", "planned",
        )  # fmt: skip
    member = connected(waters, numbers)
    groups, alone = [], []
    for group in range(member.max() + 1):
        inside = [name for name, one in zip(names, member, strict=True) if one == group]
        if len(inside) == 1:
            alone += inside
            continue
        groups.append(_group(rows[rows[by].isin(inside)], by, unit, inside, planned))
    if not groups:
        raise InputError(
            f"one water that was read with two of them ({by})", ", ".join(names),
            "Test the same water with both, within an hour.",
        )  # fmt: skip
    messages = table_messages(rows, by, unit, groups, alone, planned)
    sentences = tuple(one for group in groups for one in sentences_of(group, by, unit))
    return LotTable(by, unit, tuple(groups), tuple(alone), sentences, messages)


def _checked(readings: pd.DataFrame, by: str, unit: str) -> pd.DataFrame:
    for column in ("water", by, "level"):
        if column not in readings:
            raise InputError(
                f"a column {column}", ", ".join(map(str, readings.columns)), "Add it.", "lot table"
            )
        if readings[column].isna().any():
            row = readings[readings[column].isna()].index[0]
            raise InputError(
                f"no empty cell in {column}", "nothing", "Fill it, or leave the row out.",
                f"lot table, row {row}",
            )  # fmt: skip
    rows = readings.reset_index(drop=True)
    if rows.empty:
        raise InputError("readings", "none", "Test one water with two of them.", "lot table")
    rows = rows.assign(
        **{by: rows[by].astype(str), "water": rows["water"].astype(str)},
        own=rows["sd"].astype(float) if "sd" in rows else 1.0,
        known="sd" in rows,
        resolution=rows["resolution"].astype(float) if "resolution" in rows else 0.0,
    )
    moved = rows["moved"].astype(float) if "moved" in rows else 0.0
    rows["level"] = rows["level"].astype(float) - moved
    for column, shown, wanted, right in (
        ("level", "level", "a number", np.isfinite(rows["level"])),
        ("sd", "own", "a scatter above 0", np.isfinite(rows["own"]) & (rows["own"] > 0)),
        ("resolution", "resolution", "a step, 0 or more", rows["resolution"].between(0, 1e9)),
    ):
        if not right.all():
            bad = rows[~right].iloc[0]
            raise InputError(
                f"{wanted} in {column} ({unit})", f"{bad[shown]:g}", "Correct it, or leave the row out.",
                f"water {bad['water']}, {by} {bad[by]}",
            )  # fmt: skip
    steps = rows["resolution"] / math.sqrt(12.0) if "sd" in rows else 0.0
    return rows.assign(sd=np.hypot(rows["own"], steps))


def _group(
    rows: pd.DataFrame,
    by: str,
    unit: str,
    names: Sequence[str],
    planned: tuple[str, str] | None,
    *,
    again: bool = True,
) -> LotGroup:
    met = rows.groupby("water")[by].transform("nunique") > 1
    rows = rows[met].reset_index(drop=True)
    used, fit, by_water = _chosen_fit(rows, by, names)
    numbers = np.asarray(pd.Categorical(used[by], names).codes)
    waters = rows["water"].nunique()
    refusal = refusal_words(fit, waters)
    sd_of, own_of, step = (
        np.array([math.sqrt((used[one][numbers == i] ** 2).mean()) for i in range(len(names))])
        for one in ("sd", "own", "resolution")
    )
    coarse = _coarse(rows, fit.scale * sd_of, own_of, step)
    mean_out = np.eye(len(names)) - 1.0 / len(names)
    steps = mean_out @ np.diag(np.where(coarse, step**2 / 12, 0.0)) @ mean_out
    covariance = fit.scale**2 * fit.inverse + steps
    effects, pairs = _frames(rows, by, names, fit, covariance, planned, told=not refusal)
    effects["sd"] = math.nan if refusal else fit.scale * sd_of
    typed = float(np.sqrt((used["sd"] ** 2).mean()))
    odd = None if refusal else odd_one(used, by, fit, names)
    outlier = "" if odd is None else outlier_words(used, odd, by, fit, names, unit)
    found = LotGroup(
        tuple(names), effects, pairs, covariance, 0.0 if refusal else fit.scale * typed, fit.df,
        waters, len(rows), 1 if len(names) == 2 else len(pairs), by_water, refusal, outlier, (),
    )  # fmt: skip
    told = group_messages(found, by, unit, coarse, typed if rows["known"].all() else None, sd_of)
    if odd is not None and again:
        told += _without(rows, used.iloc[odd], by, unit, names, planned)
    return replace(found, messages=told)


def _coarse(rows: pd.DataFrame, found: np.ndarray, own: np.ndarray, step: np.ndarray) -> np.ndarray:
    """Return of which names the steps hide the scatter: too few levels for them to average away."""
    found = np.sqrt(np.maximum(found**2 - step**2 / 12, 0.0))
    finest = np.minimum(found, own) if rows["known"].all() else found
    few = rows["water"].nunique() < _COARSE_WATERS
    return (finest < step / 2) & (few | (np.ptp(rows["level"]) < _COARSE_RANGE * step))


def _without(
    rows: pd.DataFrame,
    odd: pd.Series,
    by: str,
    unit: str,
    names: Sequence[str],
    planned: tuple[str, str] | None,
) -> tuple[Message, ...]:
    away = rows["water"] == odd["water"]
    if len(names) > 2:
        away &= rows[by] == odd[by]
    rest = rows[~away]
    rest = rest[rest.groupby("water")[by].transform("nunique") > 1].reset_index(drop=True)
    if set(rest[by]) != set(names):
        return ()
    numbers = np.asarray(pd.Categorical(rest[by], names).codes)
    if connected(pd.factorize(rest["water"])[0], numbers).any():
        return ()
    group = _group(rest, by, unit, names, planned, again=False)
    said = " ".join(sentences_of(group, by, unit))
    return (Message("WITHOUT_OUTLIER", f"Without it: {said}", "told"),)


def _chosen_fit(
    rows: pd.DataFrame, by: str, names: Sequence[str]
) -> tuple[pd.DataFrame, AdditiveFit, bool]:
    whole = _fit(rows, by, names)
    cells = rows.groupby(["water", by], sort=False, as_index=False).agg(
        level=("level", "mean"), resolution=("resolution", "max"),
        **{one: (one, lambda x: math.sqrt((x**2).mean())) for one in ("sd", "own")},
    )  # fmt: skip
    df_within = len(rows) - len(cells)
    df_between = whole.df - df_within
    if df_within == 0 or df_between == 0:
        return rows, whole, False
    inside = rows["level"] - rows.groupby(["water", by])["level"].transform("mean")
    within = float(((inside / rows["sd"]) ** 2).sum())
    between = max(whole.sum_of_squares - within, 0.0)
    if within == 0.0:
        differ = between > 0.0
    else:
        ratio = (between / df_between) / (within / df_within)
        differ = bool(stats.f.sf(ratio, df_between, df_within) < _WATERS_DIFFER)
    return (cells, _fit(cells, by, names), True) if differ else (rows, whole, False)


def _fit(rows: pd.DataFrame, by: str, names: Sequence[str]) -> AdditiveFit:
    lots = np.asarray(pd.Categorical(rows[by], names).codes, dtype=int)
    return additive_fit(
        rows["level"].to_numpy(), pd.factorize(rows["water"])[0], lots, rows["sd"].to_numpy()
    )


def _frames(
    rows: pd.DataFrame,
    by: str,
    names: Sequence[str],
    fit: AdditiveFit,
    covariance: np.ndarray,
    planned: tuple[str, str] | None,
    *,
    told: bool,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    count = len(names)
    alone = float(stats.t.ppf(0.975, fit.df)) if told else math.nan
    of_pairs = range_factor(count, fit.df) if told else math.nan
    # The effects of two names are one number twice; more names share the 5 % among them.
    each = (
        float(stats.t.ppf(1 - 0.025 / (1 if count == 2 else count), fit.df)) if told else math.nan
    )
    se = np.sqrt(np.diag(covariance)) if told else np.full(count, math.nan)
    effects = pd.DataFrame({
        "name": names,
        "readings": [int((rows[by] == name).sum()) for name in names],
        "waters": [rows.loc[rows[by] == name, "water"].nunique() for name in names],
        "effect": fit.effects, "se": se,
        "low": fit.effects - each * se, "high": fit.effects + each * se,
    })  # fmt: skip
    read = {name: set(rows.loc[rows[by] == name, "water"]) for name in names}
    made = []
    for i in range(count):
        for j in range(i + 1, count):
            difference = float(fit.effects[j] - fit.effects[i])
            variance = covariance[i, i] + covariance[j, j] - 2 * covariance[i, j]
            error = math.sqrt(variance) if told else math.nan
            chosen = planned is not None and {names[i], names[j]} == set(planned)
            half = (alone if chosen else of_pairs) * error
            made.append({
                "one": names[i], "other": names[j], "difference": difference, "se": error,
                "half": half, "low": difference - half, "high": difference + half,
                "half_alone": alone * error, "planned": chosen, "apart": abs(difference) > half,
                "shared": len(read[names[i]] & read[names[j]]),
            })  # fmt: skip
    return effects, pd.DataFrame(made)
