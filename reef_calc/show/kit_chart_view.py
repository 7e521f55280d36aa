"""The control charts of a kit with their rules in words, and the table of all its readings."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from reef_calc.bench.control import RULES
from reef_calc.bench.lot_check import LevelChart, LotCheck, level_groups
from reef_calc.log.kit_checks import KitChecks
from reef_calc.show.control_figure import SHORT_RULES, control_svg
from reef_calc.show.kit_verdict import decimals_of, kit_name, level_words, lot_name, stated_words
from reef_calc.show.tables import folded, table_html
from reef_calc.show.times import records
from reef_calc.show.wording import day_words, escape, fixed


def charts_html(checks: KitChecks, lot: str | None, zone: str) -> str:
    """Return the control charts of a kit with their rules in words.

    Parameters
    ----------
    checks : KitChecks
        The kit's checks.
    lot : str or None
        One lot, or None for all.
    zone : str
        IANA zone of the tank.

    Returns
    -------
    str
        HTML; a sentence where there is nothing to draw.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.kit_checks import kit_checks
    >>> charts_html(kit_checks(example_tank(), "drops", dt.date(2026, 3, 1)), None, "UTC")
    '<p>No reading of a standard can be drawn yet.</p>'
    """
    told = [one for one in checks.lots if one.charts and lot in (None, one.lot)]
    if not told:
        return "<p>No reading of a standard can be drawn yet.</p>"
    levels = _by_level(told)
    parts = []
    for charts in levels:
        state = "holds still" if all(one.holds_still for one in charts) else "has changed"
        at = f" at {level_words(checks.kit, charts[0].level)} {checks.kit.unit}"
        title = f"{kit_name(checks.kit.name)} {state}{at if len(levels) > 1 else ''}"
        parts.append(f"<h2>{escape(title)}</h2>" + _limits_words(charts))
        for width, kind in ((920, "rc-wide"), (600, "rc-narrow")):
            svg = control_svg(
                charts, kit=checks.kit.name, unit=checks.kit.unit, zone=zone, width=width
            )
            parts.append(f'<div class="{kind}">{svg}</div>')
        parts.append(_chart_messages(charts))
    rules = "".join(f"<li>{escape(sentence)}</li>" for sentence in RULES.values())
    parts.append(
        f"<h3>The rules</h3><ul>{rules}<li>The sums, in the lowest panel, add what departs from the "
        "centre by more than half a scatter. Beyond 5 scatters they signal a slow drift.</li></ul>"
        "<p class=rc-small>Solid: centre and action limits. Dashed: warning limits. Dotted: the standard. "
        "A ring with words: a rule is broken.</p>"
    )
    parts.append(folded("Readings of standards as a table", readings_table(checks, lot, zone)))
    return "".join(parts)


def _by_level(told: Sequence[LotCheck]) -> list[list[LevelChart]]:
    """Return the charts of all lots level by level; lots that differ a little share a level."""
    charts = [chart for one in told for chart in one.charts]
    groups = level_groups(np.array([one.level for one in charts]))
    return [
        [chart for chart, of in zip(charts, groups, strict=True) if of == group]
        for group in sorted(set(groups.tolist()))
    ]


def _limits_words(charts: Sequence[LevelChart]) -> str:
    items = [f"<li>{escape(f'{kit_name(lot_name(c.lot))}: {c.limits}')}</li>" for c in charts]
    return f"<ul class=rc-small>{''.join(items)}</ul>"


def _chart_messages(charts: Sequence[LevelChart]) -> str:
    items = []
    for one in charts:
        told = [m.text for m in (*one.chart.messages, *one.sums.messages) if m.kind == "qualified"]
        items += [f"<li>{escape(f'{kit_name(lot_name(one.lot))}: {text}')}</li>" for text in told]
    if not items:
        return "<p>No rule is broken. That does not show the kit is right.</p>"
    return f"<h3>What broke</h3><ul>{''.join(items)}</ul>"


def readings_table(checks: KitChecks, lot: str | None, zone: str) -> str:
    """Return all readings of standards with a kit as a table, those set aside too.

    Parameters
    ----------
    checks : KitChecks
        The kit's checks.
    lot : str or None
        One lot, or None for all.
    zone : str
        IANA zone of the tank.

    Returns
    -------
    str
        HTML; empty without readings.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.kit_checks import kit_checks
    >>> readings_table(kit_checks(example_tank(), "drops", dt.date(2026, 3, 1)), None, "UTC")
    ''
    """
    rows = checks.rows if lot is None else checks.rows[checks.rows["lot"] == lot]
    if rows.empty:
        return ""
    broken: dict[int, str] = {}
    numbers: dict[int, str] = {}
    for chart in (one for check in checks.lots for one in check.charts):
        broken |= dict(zip(chart.rows["row"], chart.chart.points["broken"], strict=True))
        numbers |= {row: str(i) for i, row in enumerate(chart.rows["row"], start=1)}
    cells = []
    for row in records(rows):
        at = row.level if not math.isnan(row.level) else row.read
        decimals = 0 if math.isnan(at) else decimals_of(checks.kit, at)
        read = {"": "", "between": ""}.get(row.limit, f"{row.limit} ")
        upper = f" to {fixed(row.upper, decimals)}" if row.limit == "between" else ""
        known = not math.isnan(row.level)
        difference = fixed(row.read - row.level, decimals) if known and not row.aside else ""
        cells.append(
            (
                numbers.get(row.row, ""), str(row.row), day_words(row.time, zone, clock=not row.date_only),
                row.lot, row.standard,
                stated_words(checks.kit, row.level, row.level_u) if known else "not known",
                "" if math.isnan(row.read) else f"{read}{fixed(row.read, decimals)}{upper}",
                difference, row.by, " ".join(one for one in (row.aside, row.said) if one),
                rules_words(broken.get(row.row, "")),
            )
        )  # fmt: skip
    unit = checks.kit.unit
    heads = ("No.", "Row", "Read on", "Lot", "Standard", f"Stated, {unit}", f"Read, {unit}", "Read − stated",
             "By", "To know", "Rules broken")  # fmt: skip
    return table_html(
        "As read; nothing corrected. No.: number in the control chart of its lot",
        heads,
        cells,
        numbers=(0, 1, 5, 6, 7),
        texts=(9, 10),
        long=True,
    )


def rules_words(broken: str) -> str:
    """Return the rules that a reading breaks, as the chart writes them.

    Parameters
    ----------
    broken : str
        Rules of ``bench.control``, parted by semicolons.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> rules_words("beyond action; range")
    'outside the action limit; too far from the one before'
    """
    return "; ".join(SHORT_RULES[rule] for rule in broken.split("; ") if rule)
