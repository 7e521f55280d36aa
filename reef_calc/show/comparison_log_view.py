"""Difference of two kits from a tank's log, and which kit to believe, as parts of a page."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from reef_calc.compare.belief import Belief, KitBelief
from reef_calc.compare.difference_words import plain
from reef_calc.compare.from_the_log import LogDifference
from reef_calc.compare.verdict import statement_of
from reef_calc.numbers_in_words import decimals_for, fixed, with_interval
from reef_calc.show.comparison_page import help_html, limits_html
from reef_calc.show.comparison_time_figures import (
    NARROW,
    WIDE,
    both_widths,
    log_svg,
    standards_svg,
)
from reef_calc.show.tables import folded, table_html
from reef_calc.show.wording import day_words, element_name, escape


def log_difference_html(found: LogDifference, *, allowed: float | None = None) -> str:
    """Return how much higher one kit reads than another, from the log alone.

    Parameters
    ----------
    found : LogDifference
        The difference, told or not.
    allowed : float, optional
        How far the kits may differ, above 0 (unit of the difference).

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` and ``comparison_style.STYLE`` on the page.

    Examples
    --------
    >>> from types import SimpleNamespace as Some
    >>> import pandas as pd
    >>> none = np.array([], dtype=int)
    >>> columns = ["time", "day", "kit", "lot", "of", "level", "expected", "slip", "resolution"]
    >>> pairs = Some(index_a=none, index_b=none, days_apart=none, movement=none, plain=none,
    ...              differences=none, corrected=None, uncorrected=None, n=0)
    >>> found = Some(element="alkalinity", unit="dKH", zone="UTC", kit_a="old", kit_b="new", pairs=pairs,
    ...     difference=None, table=pd.DataFrame(columns=columns), sentence="It cannot be told.",
    ...     messages=(), what_would_help="Test with both kits.")
    >>> "It cannot be told." in log_difference_html(found)
    True
    """
    title = f"{element_name(found.element)}: {found.kit_b} beside {found.kit_a}, from the log"
    picture = both_widths(log_svg(found, width=WIDE), log_svg(found, width=NARROW))
    caption = ""
    if picture:
        caption = (
            '<p class="rc-small">The line is the level that all readings together expect on the scale '
            f"of {escape(found.kit_a)}; use, doses and water changes are in it. Thin lines join "
            "readings that were paired. A cross looks like a misreading.</p>"
        )
    return (
        f'<section class="rc"><h2>{escape(title)}</h2>'
        f'<p class="rc-kits-lead">{escape(found.sentence)}{_statement(found, allowed)}</p>'
        f"{limits_html(found.messages, 'difference')}"
        f"{picture}{caption}{_pairs_table(found)}{help_html(found.what_would_help)}</section>"
    )


def _statement(found: LogDifference, allowed: float | None) -> str:
    if allowed is None or found.low is None or found.high is None:
        return ""
    limit = f"{plain(allowed)} {found.unit}"
    said = {
        "within": f"They agree within the {limit} allowed.",
        "beyond": f"That is more than the {limit} allowed.",
        "differs": f"They differ, but whether by more than the {limit} allowed is open.",
        "cannot tell": f"Whether they differ, and whether by more than the {limit} allowed, cannot be "
        "told yet.",
    }
    return " " + escape(said[statement_of(found.low, found.high, allowed)])


def log_difference_csv(found: LogDifference) -> str:
    """Return the readings of both kits with what was expected, as a file.

    Parameters
    ----------
    found : LogDifference
        The difference, told or not.

    Returns
    -------
    str
        CSV text: time (UTC), kit, lot, which of the two, level as read, level expected on the scale
        of A, unit, whether it looks like a misreading; an empty cell where there is no number.

    Examples
    --------
    >>> from types import SimpleNamespace as Some
    >>> import pandas as pd
    >>> row = {"time": pd.Timestamp("2026-03-01T12Z"), "kit": "old", "lot": "", "of": "A", "level": 8.0,
    ...        "expected": 8.0321, "slip": False}
    >>> print(log_difference_csv(Some(table=pd.DataFrame([row]), unit="dKH")).splitlines()[1])
    2026-03-01T12:00:00Z,old,,A,8,8.0321,dKH,no
    """
    table = found.table
    out = pd.DataFrame(
        {
            "time": pd.DatetimeIndex(table["time"]).strftime("%Y-%m-%dT%H:%M:%SZ"),
            "kit": table["kit"],
            "lot": table["lot"],
            "of": table["of"],
            "level": table["level"],
            "expected_by_A": table["expected"],
            "unit": found.unit,
            "misreading": np.where(table["slip"].to_numpy(bool), "perhaps", "no"),
        }
    )
    return out.to_csv(index=False, float_format="%.10g")


def _pairs_table(found: LogDifference) -> str:
    pairs = found.pairs
    if not pairs.n:
        return ""
    times = found.table["time"].tolist()
    levels = found.table["level"].to_numpy(float)
    size = max(float(np.abs(pairs.differences).std()), 1e-3)
    decimals = max(decimals_for(size), 0)
    rows = [
        (
            day_words(times[int(i)], found.zone, clock=True), fixed(levels[int(i)], decimals),
            day_words(times[int(j)], found.zone, clock=True), fixed(levels[int(j)], decimals),
            fixed(float(moved), decimals), fixed(float(apart), decimals),
        )
        for i, j, moved, apart in zip(
            pairs.index_a, pairs.index_b, pairs.movement, pairs.differences, strict=True
        )
    ]  # fmt: skip
    caption = (
        f"Readings that lie nearest, each used once, {found.unit}. What the water moved by in between "
        "is taken off."
    )
    if pairs.corrected is not None:
        one = pairs.corrected
        caption += f" Their mean: {with_interval(one.difference, one.low, one.high)}."
    heads = (f"{found.kit_a} on", "read", f"{found.kit_b} on", "read", "Moved by", "Difference")
    table = table_html(caption, heads, rows, long=len(rows) > 20)
    name = "1 pair" if pairs.n == 1 else f"{pairs.n} pairs"
    return folded(f"The plain check: {name}", f'<div class="rc-kits-wrap">{table}</div>')


def belief_html(found: Belief, *, zone: str | ZoneInfo) -> str:
    """Return which kit to believe, what each read on standards, and what would make it clearer.

    Parameters
    ----------
    found : Belief
        Kits on the standards, and against each other.
    zone : str or zoneinfo.ZoneInfo
        IANA zone of the tank.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` and ``comparison_style.STYLE`` on the page.

    Examples
    --------
    >>> import pandas as pd
    >>> none = pd.DataFrame(columns=["time", "kit", "lot", "standard", "deviation", "level_u"])
    >>> found = Belief("alkalinity", "dKH", None, (), (), none, ("No standard was read.",),
    ...                "Read a standard.", ())
    >>> "Read a standard." in belief_html(found, zone="UTC")
    True
    """
    lead, *rest = found.sentences or ("",)
    head = f'<p class="rc-kits-lead">{escape(lead)}</p>' if lead else ""
    more = "".join(f"<p>{escape(text)}</p>" for text in rest)
    picture = both_widths(
        standards_svg(found, zone=zone, width=WIDE), standards_svg(found, zone=zone, width=NARROW)
    )
    caption = ""
    if picture:
        caption = (
            '<p class="rc-small">Every reading of a standard less what the standard holds; faint marks '
            "are of other lots. Shading, where there is any: how well the least certain standard is "
            "known, twice its standard uncertainty to either side.</p>"
        )
    return (
        f'<section class="rc"><h2>{escape(element_name(found.element))}: which kit to believe</h2>'
        f"{head}{more}{limits_html(found.messages, 'answer')}{_kits_table(found)}"
        f"{picture}{caption}{help_html(found.help)}</section>"
    )


def _kits_table(found: Belief) -> str:
    if not found.kits:
        return ""
    rows = []
    for one in found.kits:
        share = ""
        if one.recovery is not None:
            middle, low, high = (100.0 * part for part in one.recovery)
            share = f"{with_interval(middle, low, high)} %"
        bias = "not known"
        if one.bias is not None:
            bias = f"{with_interval(one.bias.value, one.bias.low, one.bias.high)} {found.unit}"
        rows.append((one.name, str(one.readings), bias, share, _quarter(one), one.refusal))
    heads = ["Kit", "Readings", "Reads less standard", "Share of the standard", "Drift in 90 days",
             "Why not"]  # fmt: skip
    caption = "Each kit with its lot on standards of one level."
    width = len(heads) if any(row[-1] for row in rows) else len(heads) - 1
    table = table_html(caption, heads[:width], [row[:width] for row in rows], texts=(5,))
    return f'<div class="rc-kits-wrap">{table}</div>'


def _quarter(one: KitBelief) -> str:
    if one.per_quarter is None or one.checks is None:
        return "not known"
    size = one.per_quarter
    unit = one.checks.kit.unit
    return "none shown" if size <= 0.0 else f"{fixed(size, max(decimals_for(size), 0))} {unit}"
