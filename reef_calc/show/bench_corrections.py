"""A kit's corrections on the page: those that are stored, and what a new one would do."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pandas as pd

from reef_calc.bench.corrections import Correction
from reef_calc.bench.kits import Kit
from reef_calc.bench.lot_check import LotCheck
from reef_calc.log.kit_checks import KitChecks
from reef_calc.numbers_in_words import is_known
from reef_calc.show.kit_verdict import decimals_of, how_to_put_right, kit_name, lot_name
from reef_calc.show.tables import table_html
from reef_calc.show.times import records
from reef_calc.show.wording import day_words, decimals_for, escape, fixed

_LAST = 8
ALL_LOTS = "all"


def correction_words(correction: Correction, unit: str) -> str:
    """Return a correction in words.

    Parameters
    ----------
    correction : Correction
        The correction.
    unit : str
        The kit's unit.

    Returns
    -------
    str
        Plain text; ± is twice its standard uncertainty.

    Examples
    --------
    >>> import datetime as dt
    >>> correction_words(Correction(dt.date(2026, 2, 1), "A1", 0.0, 0.951, 0.01, "eight", "factor"), "dKH")
    '× 0.95 ± 0.02, from 2026-02-01, lot A1, on the scale of eight'
    """
    u = correction.u
    decimals = 3 if u is None else decimals_for(2 * u)
    wide = "" if u is None else f" ± {fixed(2 * u, decimals)}"
    shift = fixed(correction.intercept, decimals)
    shift = shift if correction.intercept < 0 else f"+{shift}"
    if correction.form == "factor":
        said = f"× {fixed(correction.slope, decimals)}{wide}"
    elif correction.form == "offset":
        said = f"{shift} {unit}{wide}"
    else:
        said = f"× {fixed(correction.slope, 4)}, then {shift} {unit}"
        if correction.u_slope > 0:
            said += f" ({wide.strip()} at {correction.centre:.4g} read, more away from it)"
        elif wide:
            said += f" ({wide.strip()})"
    said += f", from {correction.start}"
    said += f", lot {correction.lot}" if correction.lot else ", every lot"
    said += f", on the scale of {correction.standard}" if correction.standard else ""
    return said if u is not None else f"{said}; how sure it is was not written"


def advice_html(checks: KitChecks, check: LotCheck | None, *, one_lot: bool) -> str:
    """Return whether to store a correction at all, and why not.

    Parameters
    ----------
    checks : KitChecks
        The kit's checks.
    check : LotCheck or None
        The lot's check; None where there is none.
    one_lot : bool
        Whether one lot is chosen.

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
    >>> "choose one lot" in advice_html(checks, None, one_lot=False)
    True
    """
    name = kit_name(checks.kit.name)
    if not one_lot:
        return (
            f"<h2>{escape(name)}: choose one lot above</h2><p>A correction belongs to the lot whose "
            "readings of a standard show it.</p>"
        )
    if check is None or check.bias is None:
        return (
            f"<h2>{escape(name)}: better not corrected</h2><p>"
            f"{escape('' if check is None else check.refusal)} No standard shows what to put right. You "
            "can type a correction that you know from elsewhere.</p>"
        )
    which = f"{name}, {lot_name(check.lot)}"
    stored = checks.stored.get(check.lot)
    if stored is not None and stored.puts_right:
        return (
            f"<h2>{escape(which)}: corrected already</h2><p>"
            f"{escape(correction_words(stored.correction, checks.kit.unit))}. With it the standard comes "
            "out right.</p>"
        )
    if not check.cautions:
        return (
            f"<h2>{escape(which)}: a correction is in order</h2><p>"
            f"{escape(how_to_put_right(check.bias, checks.kit.unit))}</p>"
        )
    items = "".join(f"<li>{escape(one.text)}</li>" for one in check.cautions)
    return f"<h2>{escape(which)}: better not corrected</h2><div class=rc-caution><ul>{items}</ul></div>"


def stored_html(kit: Kit) -> str:
    """Return the corrections that kits.toml holds for a kit.

    Parameters
    ----------
    kit : Kit
        The kit.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> "none" in stored_html(Kit("drops", "alkalinity", "meter", "dKH"))
    True
    """
    if not kit.corrections:
        return "<p>Stored corrections of this kit: none. Its readings count as read.</p>"
    items = "".join(
        f"<li>{escape(correction_words(one, kit.unit))}</li>"
        for one in sorted(kit.corrections, key=lambda one: (one.lot, one.start))
    )
    return (
        f"<h3>Stored corrections of this kit</h3><ul>{items}</ul><p class=rc-small>The latest that has "
        "begun holds; one of the reading's own lot goes before one for every lot. To take one back, "
        "delete its lines in kits.toml.</p>"
    )


def _why_none(before: pd.DataFrame, correction: Correction, zone: str) -> str:
    days = before["time"].dt.tz_convert(zone).dt.date
    meant = days >= correction.start
    if correction.lot:
        meant &= before["lot"] == correction.lot
    if not meant.any():
        return (
            "No reading of the tank changes: none was taken with this kit and lot since that day."
        )
    return (
        "No reading of the tank changes: a stored correction goes before this one. Let it begin later, "
        "or take the stored one out of kits.toml first."
    )


def effect_html(
    before: pd.DataFrame, after: pd.DataFrame, kit: Kit, correction: Correction, zone: str
) -> str:
    """Return what a correction would do to the tank's readings, before it is stored.

    Parameters
    ----------
    before, after : pandas.DataFrame
        The kit's history without and with it, same rows.
    kit : Kit
        The kit.
    correction : Correction
        The correction.
    zone : str
        IANA zone of the tank.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.kit_corrections import kit_history, with_correction
    >>> tank = example_tank()
    >>> kit, new = tank.kits["drops"], Correction(dt.date(2026, 2, 1), "", -0.2, 1.0, 0.1, "", "offset")
    >>> html = effect_html(kit_history(tank, kit), kit_history(with_correction(tank, "drops", new), kit),
    ...                    kit, new, "UTC")
    >>> "4 of 12 readings change" in html
    True
    """
    changed = (before["correction"] != after["correction"]).to_numpy(bool)
    count, n = int(changed.sum()), len(before)
    said = f"It would be: {correction_words(correction, kit.unit)}."
    if not count:
        return f"<p><b>{escape(said)}</b></p><p>{escape(_why_none(before, correction, zone))}</p>"
    decimals = decimals_of(kit, float(before["level"].iloc[-1]))
    rows = []
    last = [i for i in range(n) if changed[i]][-_LAST:]
    for old, new in zip(records(before.iloc[last]), records(after.iloc[last]), strict=True):
        sure = f" ± {fixed(2 * new.corrected_u, decimals + 1)}" if is_known(new.corrected_u) else ""
        rows.append(
            (
                day_words(old.time, zone), old.lot,
                f"{old.limit} {fixed(old.level, decimals)}".strip(),
                fixed(old.corrected, decimals + 1), f"{fixed(new.corrected, decimals + 1)}{sure}",
            )
        )  # fmt: skip
    below = after["corrected"].to_numpy(float) < 0
    warn = ""
    if not correction.lot and kit.lots:
        warn = "<p><b>Every lot: a standard speaks only for the lot it was read with.</b></p>"
    if (below & changed).any():
        warn += "<p><b>Some levels would fall below zero, which cannot be.</b></p>"
    verb, title = "change", f"The last {len(rows)} that change" if len(rows) < count else "Those"
    if count == 1:
        verb = "changes"
    heads = ("Read on", "Lot", "As read", "Counts now as", "Would count as")
    return (
        f"<p><b>{escape(said)}</b></p>{warn}<p>{count} of {n} readings {verb}, and with them use, doses "
        "and aims met or missed. The readings as read stay in readings.csv. Aims you set by this kit "
        "may have to move too.</p>"
        + table_html(f"{title}, {kit.unit}; ± is the correction's own (95 %)",
                     heads, rows, numbers=(2, 3))
    )  # fmt: skip


def proposal_fields(correction: Correction) -> dict[str, str]:
    """Return what the fields of the form hold for a correction.

    Parameters
    ----------
    correction : Correction
        The correction.

    Returns
    -------
    dict of str to str
        ``slope``, ``intercept``, ``u``, ``u_slope`` and ``centre``; empty where the form has none.

    Examples
    --------
    >>> import datetime as dt
    >>> proposal_fields(Correction(dt.date(2026, 2, 1), "A1", 0.0, 0.9512345, 0.01, "eight", "factor"))
    {'slope': '0.95123', 'intercept': '', 'u': '0.01', 'u_slope': '', 'centre': ''}
    """

    def shown(value: float | None) -> str:
        return "" if value is None or math.isnan(value) else f"{value:.5g}"

    line = correction.form == "line"
    return {
        "slope": shown(correction.slope) if correction.form != "offset" else "",
        "intercept": shown(correction.intercept) if correction.form != "factor" else "",
        "u": shown(correction.u),
        "u_slope": shown(correction.u_slope) if line else "",
        "centre": shown(correction.centre) if line else "",
    }


def lot_choices(lots: Sequence[str]) -> list[tuple[str, str]]:
    """Return the choices of a lot list, all lots first.

    Parameters
    ----------
    lots : sequence of str
        Names of lots; empty for readings without one.

    Returns
    -------
    list of (str, str)
        Words, and value for ``lot_of``.

    Examples
    --------
    >>> lot_choices(["A1", ""])
    [('all lots', 'all'), ('lot A1', 'lot A1'), ('no lot written', 'lot ')]
    """
    return [("all lots", ALL_LOTS), *((lot_name(lot), lot_value(lot)) for lot in lots)]


def lot_value(lot: str) -> str:
    """Return the value of a lot in a list; a list takes None for nothing chosen.

    Parameters
    ----------
    lot : str
        Name of the lot; empty for readings without one.

    Returns
    -------
    str
        Value for ``lot_of``.

    Examples
    --------
    >>> lot_value("A1")
    'lot A1'
    """
    return f"lot {lot}"


def lot_of(value: str | None) -> str | None:
    """Return the lot that a value of the list means, None for all lots.

    Parameters
    ----------
    value : str or None
        From ``lot_choices``.

    Returns
    -------
    str or None
        Name of the lot.

    Examples
    --------
    >>> lot_of("lot A1"), lot_of("all"), lot_of("lot ")
    ('A1', None, '')
    """
    return None if value in (None, ALL_LOTS) else str(value).removeprefix("lot ")
