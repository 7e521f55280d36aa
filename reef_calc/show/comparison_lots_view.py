"""Lots, kits or readers on common waters: what can be said, effects with their intervals, pairs."""

from __future__ import annotations

import math

import numpy as np

from reef_calc.compare.lot_group import LotGroup, LotTable
from reef_calc.compare.lot_words import counted
from reef_calc.numbers_in_words import decimals_for, fixed
from reef_calc.show.comparison_drawing import axis_across
from reef_calc.show.comparison_page import limits_html
from reef_calc.show.comparison_time_figures import NARROW, both_widths
from reef_calc.show.comparison_waters import short
from reef_calc.show.plan_drawing import hovers, padded, picture, text_room, words
from reef_calc.show.plan_lane import Lane
from reef_calc.show.style import paint
from reef_calc.show.tables import folded, table_html
from reef_calc.show.wording import escape

_ROW, _TOP, _UNDER = 26.0, 40.0, 44.0
_WIDTH = 760


def lots_html(table: LotTable) -> str:
    """Return what readings on common waters say about lots, kits or readers.

    Parameters
    ----------
    table : LotTable
        The table.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` and ``comparison_style.STYLE`` on the page.

    Examples
    --------
    >>> import pandas as pd
    >>> from reef_calc.compare.lot_table import lot_table
    >>> read = pd.DataFrame({"water": [1, 1, 2, 2, 3, 3], "lot": list("ababab"),
    ...                      "level": [8.0, 8.4, 7.2, 7.5, 9.1, 9.6]})
    >>> lots_html(lot_table(read, unit="dKH")).count("<svg")
    2
    """
    lead, *rest = table.sentences or ("",)
    parts = [f'<section class="rc"><p class="rc-kits-lead">{escape(lead)}</p>' if lead else
             '<section class="rc">']  # fmt: skip
    parts += [f"<p>{escape(text)}</p>" for text in rest]
    for group in table.groups:
        wide, narrow = (lots_svg(group, table.unit, width=one) for one in (_WIDTH, NARROW))
        parts.append(both_widths(wide, narrow))
        parts.append(
            folded(f"Every two of these {len(group.names)}", _pairs_table(group, table.unit))
        )
    parts.append(limits_html(table.messages, "table"))
    return "".join(parts) + "</section>"


def lots_svg(group: LotGroup, unit: str, *, width: int = _WIDTH) -> str:
    """Return the effect of each lot against the mean of its group, with its interval.

    Parameters
    ----------
    group : LotGroup
        Lots that hang together.
    unit : str
        Unit of the effects.
    width : int, optional
        Width (pixels).

    Returns
    -------
    str
        One ``<svg>`` element; a mark without a whisker where there is no interval.

    Examples
    --------
    See :func:`lots_html`.
    """
    rows = list(group.effects.itertuples(index=False))
    ends = [
        float(one) for row in rows for one in (row.effect, row.low, row.high) if math.isfinite(one)
    ]
    first, last = padded([*ends, 0.0], least=1e-9 if any(abs(one) > 1e-9 for one in ends) else 1.0)
    names = [short(str(row.name), 22) for row in rows]
    told = [_effect_words(row, unit) for row in rows]
    left = 14.0 + text_room(names)
    right = width - 14.0 - text_room(told)
    bottom = _TOP + _ROW * len(rows) + 8.0
    lane = Lane(left, right, _TOP, bottom, first, last, 0.0, 1.0)
    zero = lane.x(0.0)
    parts = [
        f'<path d="M{zero:.1f} {_TOP - 6:.1f}V{bottom:.1f}" stroke="{paint("muted")}" '
        'stroke-dasharray="2 4"/>',
        words(zero, _TOP - 14, "mean of these", "muted", at="middle"),
    ]
    reads = []
    for k, (row, name, text) in enumerate(zip(rows, names, told, strict=True)):
        y = _TOP + _ROW * (k + 0.5)
        parts.append(words(left - 10, y + 4, name, bold=True, at="end"))
        if math.isfinite(row.low) and math.isfinite(row.high):
            parts.append(
                f'<path d="M{lane.x(row.low):.1f} {y:.1f}H{lane.x(row.high):.1f}" '
                f'stroke="{paint("ink")}" stroke-width="2"/>'
            )
        parts.append(
            f'<circle cx="{lane.x(row.effect):.1f}" cy="{y:.1f}" r="5" fill="{paint("ink")}" '
            f'stroke="{paint("paper")}"/>'
        )
        parts.append(words(right + 10, y + 4, text, "muted"))
        read = f"{name}: {counted(int(row.readings), 'reading')} of {counted(int(row.waters), 'water')}"
        reads.append((left, y - _ROW / 2, right - left, _ROW, read))
    parts.append(axis_across(lane, f"against the mean of these, {unit}"))
    label = "; ".join(f"{name} {text}" for name, text in zip(names, told, strict=True))
    return picture(
        width, bottom + _UNDER, f"Against their mean, {unit}: {label}.", "".join(parts),
        reads=hovers(reads, width - 4.0, 14.0),
    )  # fmt: skip


def _effect_words(row: object, unit: str) -> str:
    effect, low, high = (float(getattr(row, one)) for one in ("effect", "low", "high"))
    if not (math.isfinite(low) and math.isfinite(high) and high > low):
        return f"{fixed(effect, 2) if math.isfinite(effect) else ''} no interval".strip()
    decimals = max(decimals_for((high - low) / 2.0), 0)
    sign = "+" if effect > 0.0 and float(fixed(effect, decimals)) != 0.0 else ""
    return f"{sign}{fixed(effect, decimals)} ({fixed(low, decimals)} to {fixed(high, decimals)})"


def _pairs_table(group: LotGroup, unit: str) -> str:
    rows = []
    for row in group.pairs.itertuples(index=False):
        known = bool(np.isfinite([row.difference, row.low, row.high]).all()) and row.high > row.low
        decimals = max(decimals_for((row.high - row.low) / 2.0), 0) if known else 2
        size = (
            fixed(abs(row.difference), decimals) if math.isfinite(row.difference) else "not known"
        )
        side = "higher" if row.difference > 0.0 else "lower"
        if math.isfinite(row.difference):
            size = "the same" if float(size) == 0.0 else f"{size} {side}"
        interval = f"{fixed(row.low, decimals)} to {fixed(row.high, decimals)}" if known else "none"
        said = "no interval" if not known else "apart" if row.apart else "cannot be told apart"
        rows.append((str(row.other), str(row.one), size, interval, str(int(row.shared)), said))
    caption = (
        f"What the first reads beside the second, {unit}. The intervals allow for "
        f"{counted(group.comparisons, 'comparison')}. “Cannot be told apart” is not “equal”."
    )
    heads = ("Reads", "beside", "by", "Interval", "Waters of both", "Told apart")
    return f'<div class="rc-kits-wrap">{table_html(caption, heads, rows)}</div>'
