"""The numbers of a comparison as one table."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from reef_calc.compare.comparison import Comparison

_Row = tuple[str, float, float | None, float | None, str]


def summary_table(found: Comparison) -> pd.DataFrame:
    """Return all numbers of a comparison, one a row, at full precision.

    Parameters
    ----------
    found : Comparison
        The comparison.

    Returns
    -------
    pandas.DataFrame
        ``quantity``, ``value``, ``low``, ``high`` (in ``unit``; missing where there is none),
        ``unit``.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.4 + 0.1 * (i % 2),)) for i in range(6))
    >>> table = summary_table(compare_pairs(Pairs("alkalinity", "dKH", "A", "B", 0.1, 0.1, waters)))
    >>> table["quantity"].tolist()[:2]
    ['mean difference', 'standard deviation of the differences']
    """
    unit = found.pairs.unit
    mean = found.difference
    rows: list[_Row] = [
        ("mean difference", mean.mean, mean.low, mean.high, unit),
        ("standard deviation of the differences", mean.sd, None, None, unit),
    ]
    if found.percent is not None:
        percent = found.percent
        rows.append(("mean difference", percent.mean, percent.low, percent.high, "%"))
    if found.limits is not None and found.limits.pair_intervals is not None:
        lower, upper = found.limits.pair_intervals
        rows.append(("lower limit of agreement", found.limits.lower, *lower, unit))
        rows.append(("upper limit of agreement", found.limits.upper, *upper, unit))
    rows += [
        (f"difference at {one.level:.6g} {unit}", one.bias, one.low, one.high, unit)
        for one in found.bias
    ]
    for kit, scatter in (
        (found.pairs.kit_a, found.scatter_a),
        (found.pairs.kit_b, found.scatter_b),
    ):
        if scatter is not None:
            rows.append((f"repeatability of {kit}", scatter.sd, scatter.low, scatter.high, unit))
    rows += _of_line(found)
    table = pd.DataFrame(rows, columns=["quantity", "value", "low", "high", "unit"])
    ends = ["low", "high"]
    table[ends] = table[ends].astype(float).where(table[ends].astype(float).abs() < math.inf)
    return table


def _of_line(found: Comparison) -> list[_Row]:
    unit, chosen = found.pairs.unit, found.chosen
    rows: list[_Row] = []
    if chosen.line is not None:
        line = chosen.line
        rows = [
            ("intercept", line.intercept, line.intercept_low, line.intercept_high, unit),
            ("slope", line.slope, line.slope_low, line.slope_high, ""),
        ]
        if chosen.error_ratio is not None:
            rows.append(("error ratio A over B", chosen.error_ratio, None, None, ""))
    elif chosen.known is not None and chosen.method == "known levels":
        line = chosen.known.difference
        rows = [
            (
                f"growth of the difference per {unit}",
                line.slope,
                line.slope_low,
                line.slope_high,
                "",
            )
        ]
    if chosen.known is not None:
        rows += [
            (f"recovery of {kit}", line.slope, line.slope_low, line.slope_high, "")
            for kit, line in (
                (found.pairs.kit_a, chosen.known.recovery_a),
                (found.pairs.kit_b, chosen.known.recovery_b),
            )
        ]
    if chosen.gate is not None and math.isfinite(chosen.gate.slope_half_width):
        half = chosen.gate.slope_half_width
        rows.append(("half-width a slope would have", half, None, None, ""))
    return rows
