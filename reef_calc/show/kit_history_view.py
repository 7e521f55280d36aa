"""A kit's history as read and as corrected: a picture, a table, a file."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from reef_calc.bench.kits import Kit
from reef_calc.numbers_in_words import is_known
from reef_calc.show.correction_figure import history_svg
from reef_calc.show.kit_verdict import decimals_of
from reef_calc.show.tables import folded, table_html
from reef_calc.show.times import records
from reef_calc.show.wording import day_words, escape, fixed


def history_html(
    history: pd.DataFrame, kit: Kit, zone: str, aim: tuple[float, float] | None = None
) -> str:
    """Return a kit's history as read and as corrected: a picture, what to know, a table.

    Parameters
    ----------
    history : pandas.DataFrame
        As ``kit_history`` gives it.
    kit : Kit
        The kit.
    zone : str
        IANA zone of the tank.
    aim : (float, float), optional
        Low and high end of the aim, in the kit's unit.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.kit_corrections import kit_history
    >>> tank = example_tank()
    >>> html = history_html(kit_history(tank, tank.kits["drops"]), tank.kits["drops"], "UTC")
    >>> "as read = as corrected" in html
    True
    """
    known = history[history["level"].notna()]
    if known.empty:
        return "<p>The tank has no reading with this kit and lot yet.</p>"
    decimals = decimals_of(kit, float(known["level"].iloc[-1]))
    moved = int((known["correction"] != "").sum())
    title = (
        f"{moved} of {len(known)} readings are corrected"
        if moved
        else f"{len(known)} readings, none corrected: as read = as corrected"
    )
    parts = [f"<h2>{escape(title)}</h2>", _lots_to_know(known)]
    if hidden := len(history) - len(known):
        said = "1 reading has" if hidden == 1 else f"{hidden} readings have"
        parts.append(f"<p>{said} no level in {escape(kit.unit)}: only in the file below.</p>")
    if moved:
        below = " ▼: less than." if (known["limit"] == "<").any() else ""
        parts.append(f"<p class=rc-small>Open: as read. Filled blue: as corrected.{below}</p>")
    for width, kind in ((920, "rc-wide"), (600, "rc-narrow")):
        svg = history_svg(
            known, kit=kit.name, unit=kit.unit, zone=zone, decimals=decimals, width=width, aim=aim
        )
        parts.append(f'<div class="{kind}">{svg}</div>')
    heads = ("Row", "Read on", "Lot", f"As read, {kit.unit}", f"As corrected, {kit.unit}",
             "± of the correction (95 %)", "Correction", "To know of the lot")  # fmt: skip
    rows = []
    for row in records(known.iloc[::-1]):
        upper = f" to {fixed(row.upper_level, decimals)}" if row.limit == "between" else ""
        sign = "" if row.limit == "between" else row.limit
        sure = (
            fixed(2 * row.corrected_u, decimals + 1) if is_known(row.corrected_u) else "not written"
        )
        rows.append(
            (
                str(row.row), day_words(row.time, zone, clock=not row.date_only), row.lot,
                f"{sign} {fixed(row.level, decimals)}{upper}".strip(),
                f"{sign} {fixed(row.corrected, decimals + bool(row.correction))}".strip(),
                sure if row.correction else "", row.correction, row.lot_remark,
            )
        )  # fmt: skip
    table = table_html("Newest first", heads, rows, numbers=(0, 3, 4, 5), texts=(6, 7), long=True)
    return "".join(parts) + folded("Readings as a table", table)


def _lots_to_know(history: pd.DataFrame) -> str:
    said = history[history["lot_remark"] != ""]
    if said.empty:
        return ""
    items = []
    for text, same in said.groupby("lot_remark", sort=False):
        many = len(same) > 1
        items.append(
            f"<li>{escape(text)} {len(same)} reading{'s' if many else ''} "
            f"{'were' if many else 'was'} taken with it then.</li>"
        )
    return f"<div class=rc-caution><ul>{''.join(items)}</ul></div>"


def history_csv(history: pd.DataFrame, unit: str, zone: str) -> str:
    """Return both histories as CSV text.

    Parameters
    ----------
    history : pandas.DataFrame
        As ``kit_history`` gives it.
    unit : str
        The kit's unit.
    zone : str
        IANA zone of the tank.

    Returns
    -------
    str
        CSV text, times with their offset.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.kit_corrections import kit_history
    >>> tank = example_tank()
    >>> history_csv(kit_history(tank, tank.kits["drops"]), "dKH", "Europe/Berlin").splitlines()[1]
    '2,2026-01-02T18:00:00+01:00,drops,,,8.2,8.2,dKH,0.0,,'
    """
    columns: dict[str, Sequence[object]] = {
        "row": history["row"],
        "time": [one.tz_convert(zone).isoformat() for one in history["time"]],
        "kit": history["kit"],
        "lot": history["lot"],
        "limit": history["limit"],
        "as_read": history["level"].round(9),
        "as_corrected": history["corrected"].round(9),
        "unit": unit,
        "correction_u": history["corrected_u"].round(9),
        "correction": history["correction"],
        "to_know_of_the_lot": history["lot_remark"],
    }
    return pd.DataFrame(columns).to_csv(index=False, lineterminator="\n")
