"""All numbers of a comparison in rows: for a table in words, and for a file at full precision."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from reef_calc.compare.comparison import Comparison
from reef_calc.compare.fitted_line import Line
from reef_calc.compare.level_verdicts import level_decimals
from reef_calc.compare.repeatability import Repeatability
from reef_calc.numbers_in_words import fixed


@dataclass(frozen=True)
class NumberRow:
    """One number of a comparison.

    Attributes
    ----------
    quantity : str
        What it is.
    value, low, high : float or None
        Number and the ends of its interval; None where there is none.
    unit : str
        Unit; empty for none.
    note : str
        What belongs to it.
    """

    quantity: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    note: str = ""


FEW = 8  # waters, below which limits of single differences are not put into words
_NO_SLOPE = 1e6  # ratios beyond are those of a line that stands upright
_METHODS = {
    "ols": "least squares",
    "wls": "weighted least squares",
    "deming": "Deming",
    "weighted_deming": "weighted Deming",
    "york": "York",
    "passing_bablok": "Passing–Bablok",
}


def number_rows(found: Comparison) -> list[NumberRow]:
    """Return all numbers of a comparison, the answer first.

    Parameters
    ----------
    found : Comparison
        The comparison.

    Returns
    -------
    list of NumberRow
        At full precision; what is infinite or not known is None.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 3),)) for i in range(9))
    >>> found = compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters))
    >>> [row.quantity for row in number_rows(found)][:2]
    ['Difference near 8.2', 'Mean difference']
    """
    pairs, unit = found.pairs, found.pairs.unit
    rows = _answers(found)
    difference = found.difference
    rows.append(
        NumberRow("Mean difference", difference.mean, difference.low, difference.high, unit,
                  f"{pairs.n} waters; all differences are equal" if difference.no_scatter
                  else f"{pairs.n} waters")
    )  # fmt: skip
    if found.percent is not None:
        share = found.percent
        rows.append(
            NumberRow("Mean difference in per cent", share.mean, share.low, share.high, "%",
                      "of the mean of both kits")
        )  # fmt: skip
    rows.append(NumberRow("SD of the differences", difference.sd, None, None, unit))
    rows += _limits(found)
    for kit, one in ((pairs.kit_a, found.scatter_a), (pairs.kit_b, found.scatter_b)):
        rows += _scatter(kit, one, unit)
    rows += _lines(found)
    rows += _gate(found)
    return [_known(one) for one in rows]


def _known(row: NumberRow) -> NumberRow:
    value, low, high = (
        None if one is None or not math.isfinite(one) else float(one)
        for one in (row.value, row.low, row.high)
    )
    return NumberRow(row.quantity, value, low, high, row.unit, row.note)


def _answers(found: Comparison) -> list[NumberRow]:
    unit = found.pairs.unit
    rows = []
    if found.verdicts:
        for told in found.verdicts:
            place = "" if told.level is None else _place(found, told.level)
            note = f"allowed {told.allowed:.6g} {unit}"
            rows.append(
                NumberRow(f"Difference{place}", told.estimate, told.low, told.high, unit, note)
            )
    answered = {one.level for one in found.verdicts}
    for one in found.bias:
        if one.level in answered:
            continue
        note = "outside the waters: only if the line goes on straight" if one.extrapolated else ""
        rows.append(
            NumberRow(
                f"Difference{_place(found, one.level)}", one.bias, one.low, one.high, unit, note
            )
        )
    return rows


def _place(found: Comparison, level: float) -> str:
    near = "near" if found.chosen.method == "difference" else "at"
    return f" {near} {fixed(level, level_decimals(level, found.pairs))}"


def _limits(found: Comparison) -> list[NumberRow]:
    limits = found.limits
    if limits is None or limits.pair_intervals is None:
        return []
    return [
        NumberRow(f"{name} limit of single differences", end, *interval, found.pairs.unit,
                  f"hardly known from {found.pairs.n} waters" if found.pairs.n < FEW else
                  "about 19 of 20 single differences lie between the limits" if name == "Lower" else "")
        for name, end, interval in zip(("Lower", "Upper"), (limits.lower, limits.upper),
                                       limits.pair_intervals, strict=True)
    ]  # fmt: skip


def _scatter(kit: str, one: Repeatability | None, unit: str) -> list[NumberRow]:
    if one is None:
        return [NumberRow(f"Scatter of one reading, {kit}", None, None, None, unit,
                          "not known: no water was read more than once")]  # fmt: skip
    note = "as typed" if one.typed else f"from {one.waters} waters read more than once"
    if one.at_floor:
        note += "; not below what the steps of the scale make"
    return [NumberRow(f"Scatter of one reading, {kit}", one.sd, one.low, one.high, unit, note)]


def _lines(found: Comparison) -> list[NumberRow]:
    pairs, chosen = found.pairs, found.chosen
    rows = []
    if chosen.method == "known levels" and chosen.known is not None:
        rows += _line_rows("of the difference on the level", chosen.known.difference, pairs.unit)
    if chosen.line is not None:
        rows += _line_rows(f"of {pairs.kit_b} on {pairs.kit_a}", chosen.line, pairs.unit)
    if chosen.error_ratio is not None:
        note = "equal scatter was assumed" if chosen.ratio_assumed else ""
        name = f"Variance of {pairs.kit_a} over that of {pairs.kit_b}"
        rows.append(NumberRow(name, chosen.error_ratio, None, None, "", note))
    if chosen.known is not None:
        recoveries = (chosen.known.recovery_a, chosen.known.recovery_b)
        for kit, line in zip((pairs.kit_a, pairs.kit_b), recoveries, strict=True):
            rows.append(
                NumberRow(f"Share of a step shown, {kit}", 100 * line.slope, 100 * line.slope_low,
                          100 * line.slope_high, "%", "reading on known level")
            )  # fmt: skip
    return rows


def _line_rows(of_what: str, line: Line, unit: str) -> list[NumberRow]:
    reach = f"{_METHODS[line.method]}; from {line.x_low:.4g} to {line.x_high:.4g} {unit}"
    return [
        NumberRow(f"Slope {of_what}", line.slope, line.slope_low, line.slope_high, "", reach),
        NumberRow(f"Intercept {of_what}", line.intercept, line.intercept_low, line.intercept_high,
                  unit),
    ]  # fmt: skip


def _gate(found: Comparison) -> list[NumberRow]:
    gate = found.chosen.gate
    # Equal differences leave nothing but the arithmetic of the computer.
    if gate is None or found.difference.no_scatter:
        return []
    bracket = _ratio(gate.bracket_low), _ratio(gate.bracket_high)
    verdict = "wide enough for a line" if gate.may_draw_line else "no line is offered"
    return [
        NumberRow("Range of slopes for any error ratio", None, *bracket,
                  "", verdict),
        NumberRow("SD of the levels over SD of the differences", _ratio(gate.spread_ratio), None, None, ""),
        NumberRow("Half of the interval a slope would have", _ratio(gate.slope_half_width), None, None, ""),
    ]  # fmt: skip


def _ratio(value: float) -> float | None:
    """Return a ratio without what is left over by the arithmetic of the computer."""
    return round(value, 9) if abs(value) < _NO_SLOPE else None


def numbers_frame(found: Comparison) -> pd.DataFrame:
    """Return all numbers of a comparison as a table for a file.

    Parameters
    ----------
    found : Comparison
        The comparison.

    Returns
    -------
    pandas.DataFrame
        ``quantity``, ``value``, ``low``, ``high``, ``unit``, ``note``; an empty cell where there is
        no number.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 3),)) for i in range(9))
    >>> found = compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters))
    >>> round(float(numbers_frame(found)["value"].iloc[0]), 3)
    0.4
    """
    rows = [vars(one) for one in number_rows(found)]
    return pd.DataFrame(rows, columns=["quantity", "value", "low", "high", "unit", "note"])


def pairs_frame(found: Comparison) -> pd.DataFrame:
    """Return the waters as they were read, for a file.

    Parameters
    ----------
    found : Comparison
        The comparison.

    Returns
    -------
    pandas.DataFrame
        One row a water: ``water``, ``made_to`` (where known), the means of both kits, ``B_minus_A``
        (unit of the pairs, named in ``unit``), all readings, and hours between the kits.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 3),)) for i in range(9))
    >>> found = compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters))
    >>> float(pairs_frame(found)["B_minus_A"].iloc[0])
    0.3
    """
    pairs = found.pairs
    rows = [
        {
            "water": water.name,
            "made_to": water.nominal,
            "A": pairs.kit_a,
            "A_mean": float(f"{np.mean(water.a):.12g}"),
            "B": pairs.kit_b,
            "B_mean": float(f"{np.mean(water.b):.12g}"),
            "B_minus_A": float(f"{np.mean(water.b) - np.mean(water.a):.12g}"),
            "unit": pairs.unit,
            "A_readings": " ".join(f"{one:.12g}" for one in water.a),
            "B_readings": " ".join(f"{one:.12g}" for one in water.b),
            "hours_apart": water.hours_apart,
        }
        for water in pairs.waters
    ]
    return pd.DataFrame(rows)
