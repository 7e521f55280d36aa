"""Dilution series, spikes and blanks as HTML."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from reef_calc.bench.kits import Kit
from reef_calc.bench.spikes import SpikeRecovery
from reef_calc.bench.standards import StandardWater
from reef_calc.show.bench_standards import cautions_html, level_with_u
from reef_calc.show.tables import table_html
from reef_calc.show.wording import decimals_for, escape, fixed

# Kinds of kit whose titrant on purified water is the blank itself.
BLANK_KINDS = ("direct titration",)
_VERDICTS = {
    "differs": "Something differs by more than chance",
    "too rough": "Too rough to tell",
    "not shown": "No effect of this water is shown",
}


def series_frame(waters: Sequence[StandardWater], study: str) -> pd.DataFrame:
    """Return a dilution series as a table.

    Parameters
    ----------
    waters : sequence of StandardWater
        The mixed waters, n of them.
    study : str
        Name of the study; one word is enough.

    Returns
    -------
    pandas.DataFrame
        ``take_mL`` and ``fill_to_mL`` (mL), ``level`` and ``U`` (k = 2, in ``unit``), ``unit`` and
        ``water``, the name in readings.csv.

    Examples
    --------
    >>> from reef_calc.bench.dilutions import dilution_series, stated_stock
    >>> stock = stated_stock("nitrate", 1000.0, "mg/L", 5.0)
    >>> made = dilution_series(stock, [10.0], 1000.0, u_taken_mL=0.05, u_flask_mL=0.6)
    >>> list(series_frame(made, "first").water)
    ['study first 10']
    """
    return pd.DataFrame(
        {
            "take_mL": [float(one.budget.value[1]) for one in waters],
            "fill_to_mL": [one.volume_mL for one in waters],
            "level": [one.level for one in waters],
            "U": [2 * one.u for one in waters],
            "unit": [one.unit for one in waters],
            "water": [f"study {study} {one.level:.4g}" for one in waters],
        }
    )


def series_html(
    waters: Sequence[StandardWater],
    frame: pd.DataFrame,
    stock: StandardWater,
    u_taken_mL: float,
    medium: str,
) -> str:
    """Return what to mix for a dilution series.

    Parameters
    ----------
    waters : sequence of StandardWater
        The mixed waters.
    frame : pandas.DataFrame
        As ``series_frame`` returns it.
    stock : StandardWater
        The stock.
    u_taken_mL : float
        Standard uncertainty of the volume taken (mL), for the digits.
    medium : str
        What it is diluted with, in words.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.bench.dilutions import dilution_series, stated_stock
    >>> stock = stated_stock("nitrate", 1000.0, "mg/L", 5.0)
    >>> made = dilution_series(stock, [10.0], 1000.0, u_taken_mL=0.05, u_flask_mL=0.6)
    >>> text = series_html(made, series_frame(made, "a"), stock, 0.05, "purified water")
    >>> "10.00" in text, "study a 10" in text
    (True, True)
    """
    decimals = max(decimals_for(u_taken_mL), 0) if u_taken_mL > 0 else 3
    shared = max(one.u_stock / one.u for one in waters)
    rows = [
        (
            level_with_u(one),
            f"{fixed(row.take_mL, decimals)} mL",
            f"{row.fill_to_mL:g} mL",
            row.water,
        )
        for one, row in zip(waters, frame.itertuples(), strict=True)
    ]
    count = f"{len(rows)} levels" if len(rows) != 1 else "1 level"
    told = (
        f"All of them carry the same error of the stock ({100 * shared**2:.0f} % of the square of the "
        "uncertainty at most): it shifts the whole series and does not bend it."
    )
    taken = waters[0].budget.set_index("source").share["stock taken, mL"]
    if taken > 0.5:
        told += (
            " The pipette decides how well the lowest levels are known: a larger flask or a weaker "
            "stock lets you take more."
        )
    return (
        f"<h2>{count} of {escape(stock.element)} from a stock of {escape(level_with_u(stock))}</h2>"
        + cautions_html(stock.cautions)
        + table_html(
            f"Take so much of the stock and fill to the mark with {medium}; each one by itself",
            ("Level, k = 2", "Take of the stock", "Fill to", "Name in readings.csv"),
            rows,
        )
        + f"<p>{escape(told)}</p>"
        "<p>Mix every level from the stock and not from the level before it. Give the cups codes "
        "and read them in a mixed order, so that nobody knows which one comes next.</p>"
    )


def spike_html(stock: StandardWater, spike_mL: float, water_mL: float, rise: float) -> str:
    """Return how much of a known solution to add to a sample.

    Parameters
    ----------
    stock : StandardWater
        The known solution.
    spike_mL, water_mL : float
        Volumes of solution and of tank water (mL).
    rise : float
        Wanted rise, in the stock's unit.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.bench.dilutions import stated_stock
    >>> text = spike_html(stated_stock("nitrate", 1000.0, "mg/L", 5.0), 1.0152, 100.0, 10.0)
    >>> "Add 1.015 mL" in text
    True
    """
    share = spike_mL / (spike_mL + water_mL)
    parts = [
        f"<h2>Add {spike_mL:.4g} mL to {water_mL:g} mL of tank water</h2>",
        cautions_html(stock.cautions),
        f"<p>This raises {escape(stock.element)} by {rise:g} {escape(stock.unit)}. Do it in a cup, "
        "never in the tank. Test the water without the addition and the water with it, one right "
        "after the other, with the same kit and lot.</p>",
    ]
    if share > 0.05:
        parts.append(
            f"<p>The solution is {100 * share:.0f} % of the mixture and thins the sea water. A "
            "stronger solution disturbs less.</p>"
        )
    if spike_mL < 0.5:
        parts.append(
            "<p>So small a volume is hard to measure. Take more tank water, or a weaker solution."
            "</p>"
        )
    return "".join(parts)


def recovery_html(found: SpikeRecovery, unit: str, before: float, after: float) -> str:
    """Return what a kit found of an addition, and what that means.

    Parameters
    ----------
    found : SpikeRecovery
        The recovery.
    unit : str
        Unit of the readings.
    before, after : float
        Mean readings without and with the addition, in ``unit``.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> text = recovery_html(SpikeRecovery(0.9, 0.02, 10.0, "differs", "Found."), "mg/L", 5.0, 14.0)
    >>> "Something differs" in text
    True
    """
    verdict = _VERDICTS[found.verdict]
    percent = f"{100 * found.recovered:.0f} ± {200 * found.u:.0f} %"
    return (
        f"<h2>Found again: {percent}. {verdict}</h2>"
        f"<p>{escape(found.sentence)}</p>"
        f"<p class='rc-small'>Mean readings {before:.4g} and {after:.4g} {escape(unit)}; "
        f"{found.added:.4g} {escape(unit)} added to the mixture. ± is k = 2, about 95 %: scatter of "
        "the kit, volumes and the solution itself. An addition shows whether the kit's steps are "
        "right in this water. A fixed error in both readings does not show.</p>"
    )


def blank_html(kit: Kit, blank_mL: float, half_mL: float, count: int) -> str:
    """Return what a kit takes on purified water, and what that means for its kind.

    Parameters
    ----------
    kit : Kit
        A titration kit.
    blank_mL, half_mL : float
        Mean of the readings and half the width of its interval (mL).
    count : int
        Number of readings.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> kit = Kit("acid", "alkalinity", "direct titration", "dKH", sample_mL=5.0)
    >>> "blank_mL = 0.02" in blank_html(kit, 0.02, 0.01, 3)
    True
    """
    times = "once" if count == 1 else f"{count} times"
    head = (
        f"<h2>{escape(kit.name)} takes {blank_mL:.3f} ± {half_mL:.3f} mL on purified water</h2>"
        f"<p>Read {times}; ± is k = 2, about 95 %.</p>"
    )
    if kit.kind not in BLANK_KINDS:
        return head + f"<p>{escape(blank_words(kit.kind))}</p>"
    sure = (
        "It is more than chance. Keep it: every result from now on is worked out with it."
        if blank_mL > half_mL
        else "It cannot be told from nothing. Leave the blank at 0, or read more often."
    )
    before = "none" if kit.blank_mL is None else f"{kit.blank_mL:g} mL"
    return (
        f"{head}<p>{sure}</p><p>It goes into kits.toml, below [kit.…] of this kit: "
        f"<code>blank_mL = {blank_mL:.4g}</code>. Written there now: {before}. Levels that are "
        "in the log stay as they were worked out.</p>"
    )


def blank_words(kind: str) -> str:
    """Return what a reading of purified water means for a kind of kit.

    Parameters
    ----------
    kind : str
        Kind of kit.

    Returns
    -------
    str
        Plain sentences.

    Examples
    --------
    >>> blank_words("back titration")[:25]
    'On purified water nothing'
    """
    if kind == "direct titration":
        return (
            "Purified water holds none of what is measured. The titrant that the colour change takes "
            "there is the blank, and it is taken off every reading."
        )
    if kind == "back titration":
        return (
            "On purified water nothing takes up the precipitant, so all of it is titrated back: this "
            "is the zero point, the largest reading there is. It is not the blank and must not be "
            "written as blank_mL. It checks the two solutions against each other: the kit should "
            "work out 0 from it."
        )
    if kind == "two titrations":
        return (
            "Each of the two titrations has a blank of its own, and in the difference most of it "
            "goes. Read both on purified water; if the kit works out 0 from them, write no blank."
        )
    return (
        "This kind has no blank_mL. Read purified water as if it were tank water and note the level: "
        "a kit that does not show 0 there has an offset, which a correction with a date takes off."
    )
