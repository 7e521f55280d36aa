"""The tables of a comparison: the levels asked about, all numbers, all waters."""

from __future__ import annotations

import math

import numpy as np

from reef_calc.compare.comparison import Comparison
from reef_calc.compare.difference_words import plain, span_words
from reef_calc.numbers_in_words import decimals_for, fixed
from reef_calc.show.comparison_numbers import NumberRow, number_rows
from reef_calc.show.comparison_waters import decimals_of_pairs, decimals_of_step
from reef_calc.show.tables import folded, table_html

_SAID = {
    "within": "– within",
    "beyond": "▲ beyond",
    "differs": "◇ differs, size open",
    "cannot tell": "? cannot tell yet",
}


def levels_html(found: Comparison) -> str:
    """Return the table of the levels asked about: difference, interval, allowed, statement.

    Parameters
    ----------
    found : Comparison
        The comparison.

    Returns
    -------
    str
        HTML; empty with one level only, which the sentence tells whole.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 3),)) for i in range(9))
    >>> found = compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters))
    >>> levels_html(found)
    ''
    """
    if len(found.bias) < 2:
        return ""
    unit = found.pairs.unit
    told = {one.level: one for one in found.verdicts}
    rows = []
    for one in found.bias:
        verdict = told.get(one.level)
        middle, low, high = (
            (one.bias, one.low, one.high)
            if verdict is None
            else (verdict.estimate, verdict.low, verdict.high)
        )
        decimals = _decimals(low, high, found)
        allowed = "" if verdict is None else f"± {plain(verdict.allowed)} {unit}"
        said = "" if verdict is None else _SAID[verdict.statement]
        if one.extrapolated:
            said = "outside the waters that were read: no statement"
        side = "alike" if float(fixed(abs(middle), decimals)) == 0.0 else (
            "above" if middle > 0.0 else "below"
        )  # fmt: skip
        size = "alike" if side == "alike" else f"{fixed(abs(middle), decimals)} {side}"
        rows.append(
            (f"{plain(one.level)} {unit}", size, span_words(low, high, decimals), allowed, said)
        )
    caption = (
        f"What {found.pairs.kit_b} reads beside {found.pairs.kit_a}, {unit}. Each level is judged "
        "for itself."
    )
    heads = ("Level", f"{found.pairs.kit_b} reads", "Interval", "Allowed", "Statement")
    return f'<div class="rc-kits-wrap">{table_html(caption, heads, rows, texts=(4,))}</div>'


def _decimals(low: float, high: float, found: Comparison) -> int:
    half = (high - low) / 2.0
    return max(decimals_for(half), 0) if half > 0.0 else decimals_of_pairs(found.pairs)


def numbers_html(found: Comparison) -> str:
    """Return all numbers of a comparison, folded.

    Parameters
    ----------
    found : Comparison
        The comparison.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 3),)) for i in range(9))
    >>> found = compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters))
    >>> "Mean difference" in numbers_html(found)
    True
    """
    rows = [(one.quantity, *number_words(one), one.note) for one in number_rows(found)]
    pairs = found.pairs
    caption = (
        f"Differences are {pairs.kit_b} less {pairs.kit_a}. The file of numbers holds them with all "
        "their digits."
    )
    table = table_html(caption, ("What", "Number", "Interval", "Besides"), rows, texts=(0, 3))
    return folded("All numbers", f'<div class="rc-kits-wrap">{table}</div>')


def number_words(row: NumberRow) -> tuple[str, str]:
    """Return a number and its interval in words, rounded by the interval.

    Parameters
    ----------
    row : NumberRow
        The number.

    Returns
    -------
    tuple of str
        Number with its unit, and interval; "not known" where there is none.

    Examples
    --------
    >>> number_words(NumberRow("slope", 1.0312, 0.982, 1.0804, ""))
    ('1.03', '0.98 to 1.08')
    >>> number_words(NumberRow("slopes", None, 0.3, None, ""))
    ('', '0.3 upwards')
    """
    ends = [one for one in (row.low, row.high) if one is not None]
    decimals = _decimals_of(row) if len(ends) == 2 else None

    def told(value: float) -> str:
        return plain(value, 3) if decimals is None else fixed(value, decimals)

    interval = ""
    if row.low is not None and row.high is not None:
        interval = f"{told(row.low)} to {told(row.high)}"
    elif ends:
        interval = f"{told(ends[0])} {'upwards' if row.low is not None else 'and less'}"
    if row.value is None:
        return ("" if ends else "not known"), interval
    unit = f" {row.unit}" if row.unit else ""
    return told(row.value) + unit, interval


def _decimals_of(row: NumberRow) -> int | None:
    """Return decimals by the interval; by its shorter arm where one arm is far longer."""
    if row.low is None or row.high is None or not row.high > row.low:
        return None
    by_half = decimals_for((row.high - row.low) / 2.0)
    arms = [] if row.value is None else [row.value - row.low, row.high - row.value]
    shorter = min((one for one in arms if one > 0.0), default=0.0)
    by_arm = decimals_for(shorter) if shorter > 0.0 else by_half
    return max(by_half, min(by_arm, by_half + 3), 0)


def waters_html(found: Comparison) -> str:
    """Return every water as it was read, folded, and what could not be used.

    Parameters
    ----------
    found : Comparison
        The comparison.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.compare.comparison import compare_pairs
    >>> from reef_calc.compare.pairs import Pairs, Water
    >>> waters = tuple(Water(str(i), (8.0,), (8.3 + 0.1 * (i % 3),)) for i in range(9))
    >>> found = compare_pairs(Pairs("alkalinity", "dKH", "old", "new", 0.1, 0.1, waters))
    >>> waters_html(found).count("<tr>")
    10
    """
    pairs = found.pairs
    decimals = decimals_of_pairs(pairs)
    repeats = any(max(len(one.a), len(one.b)) > 1 for one in pairs.waters)
    made = any(one.nominal is not None for one in pairs.waters)
    heads = ["Water", *(["made to"] if made else []), pairs.kit_a, pairs.kit_b, "Difference"]
    rows = []
    for one, a, b in zip(pairs.waters, pairs.a, pairs.b, strict=True):
        level = "" if one.nominal is None or not math.isfinite(one.nominal) else plain(one.nominal)
        rows.append(
            [one.name, *([level] if made else []), _read(one.a, pairs.resolution_a, decimals),
             _read(one.b, pairs.resolution_b, decimals), fixed(float(b - a), decimals)]
        )  # fmt: skip
    if found.outlier is not None and found.outlier.named:
        rows[found.outlier.index][0] += " ○ does not fit the others"
    caption = f"All in {pairs.unit}; the difference is {pairs.kit_b} less {pairs.kit_a}."
    if repeats:
        caption += " Of several readings the mean stands first."
    table = table_html(caption, heads, rows, long=len(rows) > 20)
    name = "1 water" if len(rows) == 1 else f"{len(rows)} waters"
    html = folded(f"What was read ({name})", f'<div class="rc-kits-wrap">{table}</div>')
    if pairs.dropped:
        table = table_html("", ("Not used, and why",), [(one,) for one in pairs.dropped],
                           texts=(0,), long=len(pairs.dropped) > 12)  # fmt: skip
        html += folded(f"Not used ({len(pairs.dropped)})", table)
    return html


def _read(readings: tuple[float, ...], step: float, decimals: int) -> str:
    own = [fixed(one, decimals_of_step(step)) if step > 0.0 else plain(one, 6) for one in readings]
    if len(readings) == 1:
        return own[0]
    return f"{fixed(float(np.mean(readings)), decimals)} ({', '.join(own)})"
