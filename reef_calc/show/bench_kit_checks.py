"""The page of kit checks: what the standards say, and what to do without one."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from reef_calc.bench.kits import Kit
from reef_calc.bench.lot_check import LotCheck
from reef_calc.log.kit_checks import KitChecks
from reef_calc.show.bench_corrections import correction_words
from reef_calc.show.kit_chart_view import readings_table
from reef_calc.show.kit_verdict import (
    decimals_of,
    form_words,
    how_to_put_right,
    kit_name,
    level_words,
    lot_name,
    short_verdict,
    stated_words,
    verdict,
)
from reef_calc.show.tables import folded, table_html
from reef_calc.show.wording import day_words, decimals_for, escape, fixed

STYLE = """
.rc .rc-lead{font-size:18px;line-height:1.4;margin:0 0 6px;max-width:60ch}
.rc.rc-kit h2{font-size:24px;line-height:1.25;max-width:40ch;margin:0 0 6px}
.rc.rc-kit .rc-next{font-size:16px;font-weight:650;margin:10px 0 4px}
.rc-kit .rc-data{font-size:14px}
.rc-tall input,.rc-tall select{height:44px!important;font-size:16px!important}
.rc-tall button{min-height:44px!important;font-size:15px!important}
"""


def kit_check_html(
    checks: KitChecks, lot: str | None, zone: str, latest: float | None = None
) -> str:
    """Return what standards say about a kit, the verdict first.

    Parameters
    ----------
    checks : KitChecks
        The kit's checks.
    lot : str or None
        One lot, or None for all.
    zone : str
        IANA zone of the tank.
    latest : float, optional
        Latest level of the tank read with this kit (kit's unit), to show what each way makes of it.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.kit_checks import kit_checks
    >>> checks = kit_checks(example_tank(), "drops", dt.date(2026, 3, 1))
    >>> "no reading of a standard can be used yet" in kit_check_html(checks, None, "UTC")
    True
    """
    kit = checks.kit
    told = [one for one in checks.lots if len(one.rows) and lot in (None, one.lot)]
    parts = [f"<h2>{escape(verdict(checks, lot))}</h2>"]
    if len(told) == 1 and told[0].bias is not None:
        parts.append(_one_lot(told[0], kit, latest))
        parts.append(_stored_words(checks, told[0].lot))
    elif len(told) == 1:
        parts.append(f"<p>{escape(told[0].refusal)}</p>{_cautions(told[0])}")
    elif told:
        parts.append(_lots_table(told, kit, zone))
        parts.append(
            "<p class=rc-small>Each lot stands for itself. Choose one above to see how to put it "
            "right.</p>"
        )
    parts.append(_next_html(checks))
    parts.append(_aside_html(checks, lot))
    parts.append(folded("Readings of standards as a table", readings_table(checks, lot, zone)))
    if told:
        parts.append(folded("How this was worked out", _worked_out(told, kit)))
    return "".join(parts)


def _one_lot(check: LotCheck, kit: Kit, latest: float | None) -> str:
    bias = check.bias
    if bias is None:
        return ""
    parts = []
    if ways := how_to_put_right(bias, kit.unit):
        parts.append(f"<p class=rc-lead>{escape(ways)}</p>")
    parts.append(f"<p>{escape(_scale_words(check, kit))}</p>")
    parts.append(_cautions(check))
    table = _ways_table(check, kit, latest)
    parts.append(table if ways else folded("What a correction would be", table))
    others = [m.text for m in bias.messages if m.code not in ("DIFFERENCE", "NOT_STRAIGHT")]
    parts += [f"<p>{escape(text)}</p>" for text in others]
    return "".join(parts)


def _scale_words(check: LotCheck, kit: Kit) -> str:
    bias = check.bias
    named = []
    for name, of_one in check.rows.groupby("standard", sort=False):
        first = of_one.iloc[0]
        level = stated_words(kit, first["level"], first["level_u"])
        named.append(f"{name} ({level} {kit.unit}, read {_times(len(of_one))})")
    kind = "standard" if len(named) == 1 else "standards"
    said = f"On the scale of {kind} {' and '.join(named)}."
    if bias is not None and bias.u_standard > 0:
        floor = _two(1.96 * bias.u_standard)
        said += (
            f" Of the interval, ± {floor} {kit.unit} is the standard itself; more readings of the same "
            "bottle do not get below that."
        )
    return said


def _stored_words(checks: KitChecks, lot: str) -> str:
    stored = checks.stored.get(lot)
    if stored is None:
        return ""
    unit = checks.kit.unit
    told = f"Stored and in use: {correction_words(stored.correction, unit)}."
    decimals = decimals_of(checks.kit, 1.0) + 1
    side = "high" if stored.left > 0 else "low"
    size = fixed(abs(stored.left), decimals)
    if stored.puts_right:
        told += " With it the standard comes out right."
    else:
        told += f" With it the standard still comes out {size} {unit} {side}."
    return f"<p><b>{escape(told)}</b> What stands above is as read.</p>"


def _two(number: float) -> str:
    return fixed(number, decimals_for(number)) if number > 0 else "0"


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _cautions(check: LotCheck) -> str:
    if not check.cautions:
        return ""
    items = "".join(f"<li>{escape(one.text)}</li>" for one in check.cautions)
    return f"<div class=rc-caution><p><b>Before a correction:</b></p><ul>{items}</ul></div>"


def _ways_table(check: LotCheck, kit: Kit, latest: float | None) -> str:
    bias = check.bias
    if bias is None:
        return ""
    read_at = [chart.level + float(chart.chart.points["read"].mean()) for chart in check.charts]
    shown = sorted({round(one, 9) for one in [*read_at, *([latest] if latest is not None else [])]})
    heads = ["Way", "Correction (95 %)"]
    for one in shown:
        note = " (tank, latest)" if latest is not None and abs(one - latest) < 1e-6 else ""
        heads.append(f"{level_words(kit, one)} read{note} becomes")
    rows = []
    for form in bias.forms:
        cells = [form.form, form_words(form, kit.unit)]
        for one in shown:
            half = form.t * form.u(one)
            decimals = max(decimals_for(half), 0)
            cells.append(f"{fixed(form.corrected(one), decimals)} ± {fixed(half, decimals)}")
        rows.append(cells)
    title = "Ways to put it right, side by side" if len(rows) > 1 else "The line that puts it right"
    html = table_html(f"{title}, {kit.unit}", heads, rows)
    outside = latest is not None and not 0.95 * read_at[0] <= latest <= 1.05 * read_at[-1]
    if bias.forms[0].form == "line" and outside:
        html += (
            "<p>The tank's latest reading lies outside these standards. The line is only drawn on to "
            "there: mix one near the tank's level.</p>"
        )
    if len(bias.forms) == 2 and latest is not None:
        apart = abs(bias.forms[0].corrected(latest) - bias.forms[1].corrected(latest))
        little = apart < 0.2 * bias.forms[0].t * bias.u
        said = (
            "it hardly matters which" if little else f"the two are {_two(apart)} {kit.unit} apart"
        )
        html += f"<p class=rc-small>At the tank's latest reading {said}.</p>"
    return html


def _lots_table(told: Sequence[LotCheck], kit: Kit, zone: str) -> str:
    rows = []
    for one in told:
        first, last = one.rows["time"].iloc[0], one.rows["time"].iloc[-1]
        still = all(chart.holds_still for chart in one.charts)
        rows.append(
            (
                lot_name(one.lot),
                f"{len(one.rows)}",
                f"{day_words(first, zone)} – {day_words(last, zone)}",
                short_verdict(one, kit),
                "holds still" if still else "does not hold still",
            )
        )
    heads = ("Lot", "Readings", "From – to", "On the standard", "Over time")
    return table_html("Lot by lot", heads, rows, numbers=(1,), texts=(3,))


def _next_html(checks: KitChecks) -> str:
    items = "".join(f"<li>{escape(text)}</li>" for text in checks.next.why)
    why = f"<ul class=rc-small>{items}</ul>" if items else ""
    return f"<p class=rc-next>{escape(checks.next.headline)}</p>{why}"


def _aside_html(checks: KitChecks, lot: str | None) -> str:
    rows = checks.rows if lot is None else checks.rows[checks.rows["lot"] == lot]
    aside, said = rows[rows["aside"] != ""], rows[(rows["said"] != "") & (rows["aside"] == "")]
    parts = []
    if len(aside):
        one = len(aside) == 1
        count = "One reading stands" if one else f"{len(aside)} readings stand"
        items = _grouped(aside, "aside")
        parts.append(f"<h3>{count} beside the numbers above</h3><ul>{items}</ul>")
    if len(said):
        parts.append(f"<h3>To know of the lots</h3><ul>{_grouped(said, 'said')}</ul>")
    return "".join(parts)


def _grouped(rows: pd.DataFrame, column: str) -> str:
    items = []
    for text, same in rows.groupby(column, sort=False):
        which = ", ".join(str(row) for row in same["row"])
        many = "s" if len(same) > 1 else ""
        items.append(f"<li>{escape(f'{text} (row{many} {which} of readings.csv)')}</li>")
    return "".join(items)


def _worked_out(told: Sequence[LotCheck], kit: Kit) -> str:
    lines = [
        "One level: mean of read minus standard; its uncertainty is the scatter of the readings and the "
        "standard's own, each bottle counted once. Factor = standard / mean read; offset = standard − "
        "mean read. Two levels or more: read = a + b · standard by generalised least squares.",
        "The standards are taken as made independently of each other. What they share (balance, salt) is "
        "not in the interval.",
        "A standard in purified water lacks the other ions of sea water: a kit may read the tank "
        "differently.",
    ]
    for one in told:
        known = "20" if one.sd_df == 20 else f"{one.sd_df:.0f}"
        whose = "of kits.toml" if not kit.sd_is_default else "usual for such kits (common practice)"
        if any(m.code == "SCATTER" for m in one.cautions):
            whose = "of these readings"
        lines.append(
            f"{kit_name(lot_name(one.lot))}: scatter of one reading {_two(one.sd)} {kit.unit}, {whose}, "
            f"counted with {known} degrees of freedom; step {kit.resolution:g} {kit.unit}."
        )
    return "<ul>" + "".join(f"<li>{escape(line)}</li>" for line in lines) + "</ul>"


def no_standard_html(name: str, kit: Kit | None, aim: str) -> str:
    """Return what to do with a kit that has no reading of a standard.

    Parameters
    ----------
    name : str
        Name of the kit.
    kit : Kit or None
        The kit; None where kits.toml does not describe it.
    aim : str
        The level to mix, with its unit; empty where the tank has no aim for it.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> "Describe it in kits.toml" in no_standard_html("strip", None, "")
    True
    """
    if kit is None:
        title = f"{kit_name(name)} is not described"
        steps = ["Describe it in kits.toml: element, kind, unit, resolution, repeatability."]
    elif not kit.unit:
        title = f"{kit_name(name)} reports many elements"
        steps = ["A kit check needs one element and one unit. Describe it once for each element."]
    else:
        title = f"{kit_name(name)}: no standard has been read with it yet"
        near = f" near {aim}" if aim else " near the level you keep"
        steps = [
            f"Mix test water{near}, and write down how sure it is (Standards, above).",
            "Read it twice with this kit, and save both with the water “standard NAME” and the lot.",
            "A second level, half or one and a half times as strong, tells a factor from an offset.",
            "Purified water alone shows an offset, never a factor.",
            "Test water never goes into the tank. Label it; keep it away from children and animals.",
        ]
    items = "".join(f"<li>{escape(step)}</li>" for step in steps)
    return f"<h2>{escape(title)}</h2><ol>{items}</ol>"
