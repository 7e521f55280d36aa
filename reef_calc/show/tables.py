"""The folded tables below a picture: months, readings, and how the numbers were worked out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from reef_calc.balance.mixture_answer import as_percent
from reef_calc.balance.results import ConsumptionEstimate
from reef_calc.show.level_wording import level_words
from reef_calc.show.marks import kit_names
from reef_calc.show.rate_wording import dose_number, rate_words
from reef_calc.show.standing import Standing
from reef_calc.show.times import records
from reef_calc.show.wording import (
    CANNOT_TELL,
    day_words,
    decimals_for,
    escape,
    fixed,
    is_known,
    month_words,
    typed,
    with_interval,
)

NARROWER = (
    "Least squares and Huber take the use to be the same every day. It is not: what differs from "
    "day to day adds up in the water, and they count it as if it did not. So their intervals come "
    "out narrower than the truth allows. They stand here to show that the middle agrees."
)


def table_html(
    caption: str,
    heads: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    numbers: Sequence[int] = (),
    texts: Sequence[int] = (),
    long: bool = False,
) -> str:
    """Return a table of escaped texts.

    Parameters
    ----------
    caption : str
        What the table holds; plain text.
    heads : sequence of str, shape (k,)
        Column heads; plain text.
    rows : iterable of sequences of str, shape (n, k)
        Cells; plain text.
    numbers, texts : sequence of int
        Columns set flush right; columns of sentences, which may break.
    long : bool
        Whether the table scrolls in a box of its own.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> table_html("", ["a"], [["<b>"]]).count("&lt;b&gt;")
    1
    """

    def cells(tag: str, words: Sequence[str], extra: str = "") -> str:
        parts = []
        for i, word in enumerate(words):
            kind = " class=rc-num" if i in numbers else " class=rc-text" if i in texts else ""
            parts.append(f"<{tag}{extra}{kind}>{escape(word)}</{tag}>")
        return "".join(parts)

    body = "".join(f"<tr>{cells('td', row)}</tr>" for row in rows)
    title = f"<caption>{escape(caption)}</caption>" if caption else ""
    # The box may scroll, so the Tab key has to reach it.
    box = f'class="rc-scroll{" rc-long" if long else ""}" tabindex="0" role="group"'
    return (
        f'<div {box} aria-label="{escape(caption or "Table")}">'
        f'<table class="rc-data">{title}<thead><tr>{cells("th", heads, " scope=col")}</tr></thead>'
        f"<tbody>{body}</tbody></table></div>"
    )


def folded(summary: str, inner: str) -> str:
    """Return a folded part of the page.

    Parameters
    ----------
    summary : str
        Line that opens it; plain text.
    inner : str
        HTML inside.

    Returns
    -------
    str
        HTML; empty when there is nothing inside.

    Examples
    --------
    >>> folded("More", "")
    ''
    """
    return f"<details><summary>{escape(summary)}</summary>{inner}</details>" if inner else ""


def months_html(standing: Standing) -> str:
    """Return the table "Month by month".

    Parameters
    ----------
    standing : Standing
        The element.

    Returns
    -------
    str
        HTML; empty without months.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> months_html(S(use=None))
    ''
    """
    use = standing.use
    if use is None or not len(use.months):
        return ""
    rows = []
    for month in records(use.months):
        difference = (month.difference, month.difference_low, month.difference_high)
        dosed = float(month.dosed)
        rows.append(
            (
                month_words(month.month),
                rate_words(month.rate, month.low, month.high, use.behaviour),
                "dose not logged" if not np.isfinite(dosed) else dose_number(use, dosed),
                with_interval(*difference) if is_known(*difference) else "–",
                f"{month.readings:.0f}",
                str(month.verdict),
            )
        )
    heads = (
        "Month",
        "Used" if use.behaviour == "used" else "Change",
        "Dosed a day",
        "Against the month before",
        "Readings",
        "Verdict",
    )
    caption = f"{standing.unit} a day, with the 95 % interval"
    return table_html(caption, heads, rows, numbers=(2, 3, 4))


def readings_html(standing: Standing) -> str:
    """Return the table of every reading, newest first.

    Parameters
    ----------
    standing : Standing
        The element.

    Returns
    -------
    str
        HTML; empty without readings.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> readings_html(S(readings=()))
    ''
    """
    table = standing.readings
    if not len(table):
        return ""
    rows = []
    for row, kit in reversed(list(zip(records(table), kit_names(table), strict=True))):
        known = is_known(row.sd) and row.sd > 0 and row.limit == ""
        rows.append(
            (
                day_words(row.time, standing.zone, clock=not row.date_only),
                level_words(row.level, standing.decimals, row.limit, row.upper),
                f"± {fixed(2 * row.sd, max(decimals_for(2 * row.sd), 0))}" if known else "",
                kit + (f", lot {typed(row.lot)}" if typed(row.lot) else ""),
                typed(row.by),
                "" if row.mark == "used" else f"{row.mark}. {typed(row.why)}".strip(),
                f"{row.row:.0f}" if is_known(row.row) else "",
            )
        )
    heads = ("Date", "Level", "Give or take", "Kit", "By", "Mark", "Row")
    caption = f"{standing.unit}; give or take: twice the scatter of one reading; row of the file"
    return table_html(caption, heads, rows, numbers=(1, 2, 6), texts=(5,), long=True)


def events_html(standing: Standing) -> str:
    """Return the table of the events that the picture marks, newest first.

    Parameters
    ----------
    standing : Standing
        The element.

    Returns
    -------
    str
        HTML; empty without events.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> events_html(S(events=()))
    ''
    """
    table = standing.events
    if not len(table):
        return ""
    rows = [
        (day_words(e.time, standing.zone), typed(e.kind), typed(e.note))
        for e in records(table.sort_values("time", ascending=False))
    ]
    return table_html("", ("Date", "Event", "Note"), rows, texts=(2,))


def cross_check_words(use: ConsumptionEstimate) -> str:
    """Return the visible line of the cross-checks.

    Parameters
    ----------
    use : ConsumptionEstimate
        The estimate.

    Returns
    -------
    str
        Plain text, such as "Cross-checks: least squares 1.03 ± 0.02, Huber 1.03 ± 0.02; see why
        they are narrower under How this was worked out."; empty when none was made.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> cross_check_words(S(cross_checks=()))
    ''
    """
    checks = use.cross_checks
    if not len(checks):
        return ""
    # Rounded as the use itself, so that the eye compares like with like.
    arm = (use.high - use.low) / 2 if use.low is not None and use.high is not None else 0.0
    least = min((half for c in records(checks) if (half := (c.high - c.low) / 2) > 0), default=arm)
    arm = least if arm > 0 and fixed(least, decimals_for(arm)).strip("0.") == "" else arm
    decimals = decimals_for(arm) if arm > 0 else None
    parts = [
        f"{c.method} {with_interval(c.rate, c.low, c.high, decimals=decimals)}"
        for c in records(checks)
    ]
    text = f"Cross-checks: {', '.join(parts)}"
    return text + (
        "; why they are narrower stands under “How this was worked out”." if _narrower(use) else "."
    )


def _narrower(use: ConsumptionEstimate) -> bool:
    if use.low is None or use.high is None:
        return False
    widths = (use.cross_checks["high"] - use.cross_checks["low"]).to_numpy(dtype=float)
    return bool(np.isfinite(widths).all() and (widths < use.high - use.low).all())


def worked_out_html(standing: Standing) -> str:
    """Return how the rate was worked out: arithmetic, uncertainty, cross-checks, averaged fits.

    Parameters
    ----------
    standing : Standing
        The element.

    Returns
    -------
    str
        HTML; empty without anything to show.

    Examples
    --------
    >>> from types import SimpleNamespace as S
    >>> worked_out_html(S(use=None, unit="dKH"))
    ''
    """
    use, unit = standing.use, standing.unit
    if use is None:
        return ""
    parts = []
    rows: list[tuple[str, ...]]
    heads: tuple[str, ...]
    if use.arithmetic:
        lines = "".join(f"<li>{escape(line)}</li>" for line in use.arithmetic)
        parts.append(f"<h3>The arithmetic</h3><ol>{lines}</ol>")
    if len(use.budget):
        rows = [
            (str(b.source), _two_digits(b.u, b.share), _share(b.share), typed(b.note))
            for b in records(use.budget)
        ]
        heads = ("Source", "Standard uncertainty", "Share", "Note")
        parts.append(
            "<h3>Where the uncertainty comes from</h3>"
            + table_html(
                f"{unit} a day; shares of the variance", heads, rows, numbers=(1, 2), texts=(3,)
            )
        )
    if len(use.cross_checks):
        rows = [
            (str(c.method), with_interval(c.rate, c.low, c.high), typed(c.note))
            for c in records(use.cross_checks)
        ]
        why = f"<p>{escape(NARROWER)}</p>" if _narrower(use) else ""
        parts.append(
            "<h3>Cross-checks</h3>"
            + why
            + table_html(
                f"{unit} a day, 95 % interval", ("Method", "Use", "Note"), rows, texts=(2,)
            )
        )
    if len(use.weights):
        rows = [(_percent(w.cv), as_percent(w.weight)) for w in records(use.weights)]
        heads = ("Use differs from day to day by", "Weight")
        parts.append(
            "<h3>What was averaged</h3>" + table_html("Each was tried", heads, rows, numbers=(0, 1))
        )
    return "".join(parts)


def _percent(share: float) -> str:
    return f"{fixed(100 * share, 0)} %" if is_known(share) else CANNOT_TELL


def _share(share: float) -> str:
    return "< 1 %" if is_known(share) and share < 0.005 else _percent(share)


def _two_digits(value: float, share: float = 1.0) -> str:
    if not is_known(value):
        return CANNOT_TELL
    if share < 0.005:
        return "negligible"
    return fixed(value, 1 - int(np.floor(np.log10(abs(value))))) if value else "0"
