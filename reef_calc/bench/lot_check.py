"""What readings of standards say about one lot of a kit: its bias, and whether it holds still."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import stats

from reef_calc.bench.bias_forms import KitBias
from reef_calc.bench.control import ControlChart, individuals_chart
from reef_calc.bench.cumulative_sum import CumulativeSum, cumulative_sum
from reef_calc.bench.kit_bias import bias_of_kit
from reef_calc.bench.kits import Kit
from reef_calc.bench.standard_readings import Bottle
from reef_calc.errors import InputError
from reef_calc.messages import Message
from reef_calc.numbers_in_words import decimals_for, fixed

_ONE_LEVEL = 0.05  # as in kit_bias: bottles within a twentieth are one level
_SCATTER_DF = 20.0
_FEWEST_FOR_CENTRE, _ENOUGH_FOR_SCATTER = 5, 20
# Common practice, no source: a reading this many scatters from its fellows is looked at first.
_FAR = 4.0
# Common practice, no source: a kit that takes a step a third too large or too small is not the
# likely story; a bottle that holds something else is.
_ODD_SLOPE = 0.3


@dataclass(frozen=True)
class LevelChart:
    """The control chart of one lot at one level of standard; levels are read minus standard.

    Attributes
    ----------
    lot : str
        Name of the lot; empty where none was written.
    level : float
        Mean stated level of the standards, in the kit's unit.
    rows : pandas.DataFrame
        The readings behind it, in order of time.
    chart : ControlChart
        Individuals and moving range, in the kit's unit.
    sums : CumulativeSum
        Cumulative sums about the chart's centre.
    on_standard : bool
        Whether the centre is the standard itself, because the readings are too few for their own.
    limits : str
        Where centre and limits come from, in words.
    """

    lot: str
    level: float
    rows: pd.DataFrame
    chart: ControlChart
    sums: CumulativeSum
    on_standard: bool
    limits: str

    @property
    def holds_still(self) -> bool:
        """Whether nothing shows that the lot changed; a steady bias is no change."""
        if self.on_standard:
            return not self.chart.points["broken"].str.contains("range").any()
        return self.chart.in_control and self.sums.first_signal is None


@dataclass(frozen=True)
class LotCheck:
    """What standards say about one lot.

    Attributes
    ----------
    lot : str
        Name of the lot; empty where none was written.
    rows : pandas.DataFrame
        Readings used, in order of time.
    bias : KitBias or None
        The bias, in the kit's unit; None where it cannot be told.
    refusal : str
        Why it cannot be told; empty where it can.
    charts : tuple of LevelChart
        One a level of standard, from low to high.
    sd, sd_df : float
        Scatter of one reading (kit's unit) and the degrees of freedom it is known with (a count).
    cautions : tuple of Message
        Reasons not to store a correction.
    """

    lot: str
    rows: pd.DataFrame
    bias: KitBias | None
    refusal: str
    charts: tuple[LevelChart, ...]
    sd: float
    sd_df: float
    cautions: tuple[Message, ...]


def level_groups(levels: np.ndarray) -> np.ndarray:
    """Return which of the readings belong to one level of standard.

    Parameters
    ----------
    levels : numpy.ndarray
        Stated levels in one unit, shape (n,).

    Returns
    -------
    numpy.ndarray
        Number of the level of each reading, from low to high, from 0 (no unit), shape (n,).

    Examples
    --------
    >>> level_groups(np.array([8.0, 12.0, 8.05]))
    array([0, 1, 0])
    """
    order = np.argsort(levels, kind="stable")
    ranked = levels[order]
    apart = np.diff(ranked) > _ONE_LEVEL * np.abs(ranked[1:])
    groups = np.empty(len(levels), dtype=int)
    groups[order] = np.r_[0, np.cumsum(apart)].astype(int)
    return groups


def check_lot(kit: Kit, lot: str, rows: pd.DataFrame) -> LotCheck:
    """Return what readings of standards say about one lot of a kit.

    The scatter is the kit's own; where readings of one level scatter clearly more
    (F test, 99 %), it is theirs. Bias as in ``bias_of_kit``, charts as in ``individuals_chart``.

    Parameters
    ----------
    kit : Kit
        The kit.
    lot : str
        Name of the lot; empty where none was written.
    rows : pandas.DataFrame
        Usable readings of that lot in order of time: ``row``, ``time``, ``standard``, ``read``,
        ``level``, ``level_u`` (standard uncertainty; NaN where not written), in the kit's unit.

    Returns
    -------
    LotCheck
        In the kit's unit.

    Raises
    ------
    InputError
        If the kit has no unit, or neither a scatter nor a step.

    Examples
    --------
    >>> kit = Kit("drops", "alkalinity", "meter", "dKH", repeatability_sd=0.1,
    ...           repeatability_from="typed")
    >>> rows = pd.DataFrame({"row": [2, 3, 4], "standard": "eight", "read": [8.4, 8.5, 8.4],
    ...                      "level": 8.0, "level_u": 0.05})
    >>> found = check_lot(kit, "A", rows)
    >>> found.bias.enough_to_correct, round(found.bias.difference, 2), found.cautions
    (True, 0.43, ())
    """
    if not kit.unit:
        raise InputError("a kit with one unit", kit.name, "Write element and unit in kits.toml.")
    rows = rows.reset_index(drop=True)
    if rows.empty:
        told = "No usable reading of a standard with this lot."
        return LotCheck(lot, rows, None, told, (), math.nan, math.nan, ())
    sd, df, cautions = _scatter(kit, rows)
    cautions += _far_readings(rows, math.hypot(sd_of_kit(kit, rows), kit.resolution / 12**0.5))
    bias, refusal = _bias(kit, rows, sd, df)
    charts = tuple(
        _level_chart(kit, lot, of_level)
        for _, of_level in rows.groupby(level_groups(rows["level"].to_numpy(float)))
    )
    if bias is not None:
        cautions += _about_bias(bias, rows, kit.unit)
    if not all(chart.holds_still for chart in charts):
        told = "The lot does not hold still (see the control chart). One correction may not fit it."
        cautions.append(Message("NOT_STILL", told, "qualified"))
    if rows["level_u"].isna().any():
        names = ", ".join(dict.fromkeys(rows.loc[rows["level_u"].isna(), "standard"]))
        told = (
            f"How sure {names} is, is not written. It was counted as exact, so the interval is too "
            "narrow. Write u in standards.toml."
        )
        cautions.append(Message("NO_U", told, "qualified"))
    return LotCheck(lot, rows, bias, refusal, charts, sd, df, tuple(cautions))


def sd_of_kit(kit: Kit, rows: pd.DataFrame) -> float:
    """Return the kit's own scatter at the mean level of the standards.

    Parameters
    ----------
    kit : Kit
        The kit.
    rows : pandas.DataFrame
        Readings with ``level``, in the kit's unit.

    Returns
    -------
    float
        Standard deviation of one reading in the kit's unit, above 0: the kit's step where its
        scatter is a share of a level of 0.

    Raises
    ------
    InputError
        If there is neither a scatter nor a step.

    Examples
    --------
    >>> kit = Kit("strip", "nitrate", "meter", "mg/L", 0.5, 0.0, 0.1, "typed")
    >>> sd_of_kit(kit, pd.DataFrame({"level": [0.0]})), sd_of_kit(kit, pd.DataFrame({"level": [20.0]}))
    (0.144, 2.0)
    """
    found = kit.sd(float(rows["level"].mean())) or kit.resolution / math.sqrt(12.0)
    if not 0 < found < math.inf:
        raise InputError(
            "a scatter of the kit above 0", found, "Write repeatability or resolution.", kit.name
        )
    return found


def _scatter(kit: Kit, rows: pd.DataFrame) -> tuple[float, float, list[Message]]:
    sd = sd_of_kit(kit, rows)
    deviation = (rows["read"] - rows["level"]).to_numpy(float)
    groups = level_groups(rows["level"].to_numpy(float))
    within = deviation - pd.Series(deviation).groupby(groups).transform("mean").to_numpy(float)
    df = len(rows) - len(set(groups))
    if df < 1:
        return sd, _SCATTER_DF, []
    seen = math.sqrt(float(within @ within) / df)
    whole = math.hypot(sd, kit.resolution / math.sqrt(12.0))
    if (seen / whole) ** 2 <= stats.f.ppf(0.99, df, _SCATTER_DF):
        return sd, _SCATTER_DF, []
    decimals = decimals_for(whole)
    told = (
        f"These readings scatter by {fixed(seen, decimals)} {kit.unit}, more than the "
        f"{fixed(whole, decimals)} of the kit. Their own scatter is used, so the interval is wide. "
        "Find out why first."
    )
    return seen, float(df), [Message("SCATTER", told, "qualified")]


def _far_readings(rows: pd.DataFrame, sd: float) -> list[Message]:
    deviation = (rows["read"] - rows["level"]).to_numpy(float)
    groups = level_groups(rows["level"].to_numpy(float))
    far = []
    for i, group in enumerate(groups):
        others = deviation[(groups == group) & (np.arange(len(rows)) != i)]
        if len(others) and abs(deviation[i] - np.median(others)) > _FAR * sd * math.sqrt(
            1 + 1 / len(others)
        ):
            far.append(str(rows["row"].iloc[i]))
    # Many that are far are no slips: the lot has moved, and the chart says so.
    if not far or len(far) > max(2, len(rows) // 5):
        return []
    many = len(far) > 1
    told = (
        f"Row{'s' if many else ''} {', '.join(far)} of readings.csv lie{'' if many else 's'} far "
        "from the other readings of the same level. Nothing was left out. Look at this first."
    )
    return [Message("FAR", told, "qualified")]


def _bias(kit: Kit, rows: pd.DataFrame, sd: float, df: float) -> tuple[KitBias | None, str]:
    bottles = {
        str(one.standard): Bottle(float(one.level), 0.0 if pd.isna(one.level_u) else one.level_u)
        for one in rows.itertuples()
    }
    try:
        bias = bias_of_kit(
            rows["read"].tolist(), [str(name) for name in rows["standard"]], bottles, sd=sd,
            unit=kit.unit, resolution=kit.resolution, sd_df=df,
        )  # fmt: skip
    except InputError as error:
        return None, f"The readings do not follow the standards. {error.repair}"
    return bias, ""


def _about_bias(bias: KitBias, rows: pd.DataFrame, unit: str) -> list[Message]:
    told = [one for one in bias.messages if one.code == "NOT_STRAIGHT"]
    if not bias.enough_to_correct and not told:
        sentence = "A bias is not shown. A correction would put the scatter of a few readings into"
        told.append(Message("NOT_SHOWN", f"{sentence} every level.", "qualified"))
    if len(rows) == 1:
        told.append(
            Message("ONE_READING", "One reading is no check. Read it once more.", "qualified")
        )
    form = bias.forms[-1]
    if form.form == "line" and abs(1.0 / form.slope - 1.0) > _ODD_SLOPE:
        sentence = (
            f"For each {unit} more in the standard the kit shows {1.0 / form.slope:.2f} {unit} more. "
            "That is much for a kit: a bottle may hold something else than written."
        )
        told.append(Message("ODD_SLOPE", sentence, "qualified"))
    return told


def _level_chart(kit: Kit, lot: str, rows: pd.DataFrame) -> LevelChart:
    rows = rows.reset_index(drop=True)
    deviation = (rows["read"] - rows["level"]).to_numpy(float)
    n, own = len(rows), sd_of_kit(kit, rows)
    sd: float | None = math.hypot(own, kit.resolution / math.sqrt(12.0))
    whose = _whose_scatter(kit)
    if n >= _ENOUGH_FOR_SCATTER and np.ptp(deviation) > 0:
        sd = None
        limits = f"Centre and limits come from these {n} readings."
    elif n >= _FEWEST_FOR_CENTRE:
        limits = (
            f"The centre is the mean of these {n} readings. The limits come from {whose}; the "
            f"readings can set them from {_ENOUGH_FOR_SCATTER} on."
        )
    else:
        limits = (
            f"Too few readings ({n}) for a centre of their own, so it is the standard: a steady bias "
            f"lies on one side. From {_FEWEST_FOR_CENTRE} readings on it is their mean. The limits "
            f"come from {whose}."
        )
    on_standard = n < _FEWEST_FOR_CENTRE
    chart = individuals_chart(
        deviation.tolist(), unit=kit.unit, centre=0.0 if on_standard else None, sd=sd,
        resolution=kit.resolution,
    )  # fmt: skip
    sums = cumulative_sum(deviation.tolist(), chart.centre, chart.sd, unit=kit.unit)
    return LevelChart(lot, float(rows["level"].mean()), rows, chart, sums, on_standard, limits)


def _whose_scatter(kit: Kit) -> str:
    if kit.sd_is_default:
        return "the usual scatter of such kits (common practice), because kits.toml has none"
    origin = {"replicates": "found from replicates", "standard": "found with a standard"}
    return f"the kit's repeatability, {origin.get(kit.repeatability_from, 'as typed')}"
