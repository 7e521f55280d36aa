"""The stock view as HTML: what to buy next, what stands on the shelf, who tested; and the list."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import pandas as pd

from reef_calc.bench.stock import KitStock
from reef_calc.show.shelf import RECENT_DAYS, Shelf
from reef_calc.show.tables import folded, table_html
from reef_calc.show.wording import MONTHS, escape

_LATER_DAYS = 182
STYLE = """
.rc-tall input,.rc-tall select{height:44px!important;font-size:16px!important}
.rc-tall button,button.rc-tall{min-height:44px!important;font-size:15px!important}
.rc-stock .rc-lead{font-size:17px;line-height:1.4;max-width:64ch}
.rc-stock h2{font-size:24px}.rc-stock h3{font-size:17px}
.rc-stock ul{font-size:16px}
.rc-stock .rc-shelf{font-size:15px;width:100%;max-width:1060px;margin:6px 0 10px}
.rc-stock .rc-shelf caption{text-align:left;color:var(--rc-muted);padding:0 0 6px}
.rc-stock .rc-shelf th,.rc-stock .rc-shelf td{padding:9px 16px 9px 0;
 border-bottom:1px solid var(--rc-grid)}
.rc-stock .rc-shelf thead th{color:var(--rc-muted);vertical-align:bottom;
 border-bottom-color:var(--rc-line)}
.rc-stock .rc-shelf b{font-weight:650}
.rc-stock .rc-shelf span{display:block;font-size:14px;color:var(--rc-muted)}
"""


def date_words(day: dt.date, *, year: bool = True) -> str:
    """Return a day as a keeper writes it.

    Parameters
    ----------
    day : datetime.date
        The day.
    year : bool, optional
        Whether to add the year.

    Returns
    -------
    str
        Such as "3 Nov 2026".

    Examples
    --------
    >>> date_words(dt.date(2026, 11, 3))
    '3 Nov 2026'
    """
    return f"{day.day} {MONTHS[day.month - 1][:3]}" + (f" {day.year}" if year else "")


def buying(shelf: Shelf) -> tuple[str, tuple[str, ...]]:
    """Return what to buy next as a heading, and why, one sentence a kit.

    Parameters
    ----------
    shelf : Shelf
        The kits.

    Returns
    -------
    (str, tuple of str)
        Plain texts.

    Examples
    --------
    >>> buying(Shelf(dt.date(2026, 2, 1), (), (), {}, pd.DataFrame(), ()))
    ('Nothing to buy by a known day', ())
    """
    due = [one for one in shelf.stocks if one.buy_by is not None]
    if not due:
        return "Nothing to buy by a known day", ()
    now = [one for one in due if one.buy_by is not None and one.buy_by <= shelf.today]
    soon = shelf.today + dt.timedelta(days=_LATER_DAYS)
    near = [one for one in due if one.buy_by is not None and one.buy_by <= soon] or due[:1]
    lines = tuple(_why(one, shelf.today) for one in near)
    if len(near) < len(due):
        later = ", ".join(one.kit.name for one in due[len(near) :])
        lines += (f"More than half a year away: {later}.",)
    if now:
        return "Buy now: " + ", ".join(one.kit.name for one in now), lines
    first = due[0]
    return f"Buy next: {first.kit.name}, by {_day(first.buy_by)}", lines


def _why(stock: KitStock, today: dt.date) -> str:
    name, by = stock.kit.name, _day(stock.buy_by)
    if stock.buy_by is not None and stock.buy_by <= today:
        by = "now"
    if stock.reason == "expires" and stock.expires is not None:
        did = "expired" if stock.expires < today else "expires"
        return f"{name}, {f'by {by}' if by != 'now' else by}: it {did} on {_day(stock.expires)}."
    if stock.left == 0:
        return f"{name}, now: no test is left."
    return (
        f"{name}, {f'by {by}' if by != 'now' else by}: it runs out about {_day(stock.runs_out)}, "
        f"perhaps as early as {_day(stock.soonest)}."
    )


def _day(day: dt.date | None) -> str:
    return "a day not known" if day is None else date_words(day)


def left_words(stock: KitStock) -> tuple[str, str]:
    """Return how many tests are left, and how that was counted.

    Parameters
    ----------
    stock : KitStock
        One kit.

    Returns
    -------
    (str, str)
        Such as "39 to 40" and "counted 55 on 1 Sep 2026, 15 tests since".

    Examples
    --------
    >>> from reef_calc.bench.kits import Kit
    >>> left_words(KitStock(Kit("acid", "alkalinity", "meter", "dKH")))
    ('not known', '')
    """
    kit = stock.kit
    if stock.left is None or kit.tests_left is None or kit.counted is None:
        return "not known", ""
    some = f"{stock.left - stock.unsure} to {stock.left}" if stock.unsure else f"{stock.left}"
    since = "1 test" if stock.since == 1 else f"{stock.since} tests"
    told = f"counted {kit.tests_left:g} on {date_words(kit.counted)}, {since} since"
    if stock.unsure:
        told += f"; {stock.unsure} on that day may be in the count or not"
    return some, told


def stock_html(shelf: Shelf) -> str:
    """Return the stock view: what to buy next, the shelf as a table, who tested.

    Parameters
    ----------
    shelf : Shelf
        The kits.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> page = stock_html(Shelf(dt.date(2026, 2, 1), (), (), {}, pd.DataFrame(), ()))
    >>> "No kit that can run out is described" in page
    True
    """
    title, lines = buying(shelf)
    listed = "".join(f"<li>{escape(line)}</li>" for line in lines)
    parts = [f"<h2>{escape(title)}</h2>", f"<ul>{listed}</ul>" if listed else ""]
    unknown: dict[str, list[str]] = {}
    for one in shelf.stocks:
        for sentence in one.unknown:
            unknown.setdefault(sentence, []).append(one.kit.name)
    if unknown:
        items = "".join(
            f"<li><b>{escape(', '.join(names))}</b>: {escape(sentence)}</li>"
            for sentence, names in unknown.items()
        )
        parts.append(f"<h3>Not known</h3><ul>{items}</ul>")
    told = list(shelf.told)
    if shelf.meters:
        told.append(f"Meters without a count or a lot: {', '.join(shelf.meters)}.")
    parts.append(_shelf_table(shelf))
    parts += [f'<p class="rc-small">{escape(sentence)}</p>' for sentence in told]
    return "".join(parts) + folded("Who tested", who_html(shelf.testers))


def _shelf_table(shelf: Shelf) -> str:
    if not shelf.stocks:
        return "<p>No kit that can run out is described in kits.toml.</p>"
    rows = "".join(_row(one, shelf) for one in shelf.stocks)
    heads = ("Kit", "Tests left", "Runs out", "Lot in use", "Last check with a standard", "Hazards")
    titles = "".join(f"<th scope=col>{head}</th>" for head in heads)
    return (
        "<h3>On the shelf</h3>"
        '<div class="rc-scroll" tabindex="0" role="group" aria-label="On the shelf">'
        f'<table class="rc-shelf"><caption>On {date_words(shelf.today)}. Hazards as typed from the '
        "label; the label itself and its safety data sheet come first.</caption>"
        f"<thead><tr>{titles}</tr></thead><tbody>{rows}</tbody></table></div>"
    )


def _row(stock: KitStock, shelf: Shelf) -> str:
    kit, check = stock.kit, shelf.checks.get(stock.kit.name)
    runs_out, early = "cannot tell", ""
    if stock.runs_out is not None and stock.soonest is not None:
        runs_out = f"about {date_words(stock.runs_out)}"
        early = f"hardly before {date_words(stock.soonest)}"
    if stock.left == 0:
        runs_out, early = "empty", ""
    checked = f"{date_words(check.day)}: {check.read}" if check else "none yet"
    against = f"“{check.standard}” holds {check.stated or 'what is not described'}" if check else ""
    hazards = "; ".join(kit.hazards) or "none typed yet: read the label"
    cells = (left_words(stock), (runs_out, early), _lot_words(stock, shelf.today),
             (checked, against), (hazards, ""))  # fmt: skip
    return (
        f"<tr><th scope=row><b>{escape(kit.name)}</b><span>{escape(kit.element)}</span></th>"
        + "".join(
            f"<td>{escape(first)}{f'<span>{escape(second)}</span>' if second else ''}</td>"
            for first, second in cells
        )
        + "</tr>"
    )


def _lot_words(stock: KitStock, today: dt.date) -> tuple[str, str]:
    lot = stock.lot
    if lot is None:
        return "not described", ""
    parts = [f"opened {date_words(lot.opened)}"] if lot.opened else []
    if lot.expires:
        parts.append(f"{'expired' if lot.expires < today else 'expires'} {date_words(lot.expires)}")
    return lot.name, ", ".join(parts)


def who_html(testers: pd.DataFrame) -> str:
    """Return who tested in the last 13 weeks as a table.

    Parameters
    ----------
    testers : pandas.DataFrame
        As ``who_tested`` returns it.

    Returns
    -------
    str
        HTML; a sentence where nobody did.

    Examples
    --------
    >>> who_html(pd.DataFrame())
    '<p>Nobody tested in the last 13 weeks.</p>'
    """
    if not len(testers):
        return "<p>Nobody tested in the last 13 weeks.</p>"
    rows = [
        (row.by or "no name written", f"{row.readings}", f"{row.days}", f"{row.kits}",
         date_words(row.last))
        for row in testers.itertuples()
    ]  # fmt: skip
    heads = ("Person", "Readings", "Days", "Kits", "Last")
    return table_html(
        "The last 13 weeks, whatever water was tested.", heads, rows, numbers=(1, 2, 3)
    )


def shopping_csv(stocks: Sequence[KitStock]) -> str:
    """Return the shopping list as CSV text, the first to buy first.

    Parameters
    ----------
    stocks : sequence of KitStock
        Kits; those without a day to buy by are listed last, with what is not known.

    Returns
    -------
    str
        CSV text; days as YYYY-MM-DD.

    Examples
    --------
    >>> shopping_csv([]).strip()
    'kit,element,buy_by,because,tests_left,runs_out,soonest,tests_in_13_weeks,lot,expires,hazards,not_known'
    """
    columns = ("kit", "element", "buy_by", "because", "tests_left", "runs_out", "soonest",
               "tests_in_13_weeks", "lot", "expires", "hazards", "not_known")  # fmt: skip
    rows = [
        (
            one.kit.name, one.kit.element, one.buy_by, one.reason, left_words(one)[0],
            one.runs_out, one.soonest,
            f"{RECENT_DAYS / one.cadence.days_per_test:.0f}" if one.cadence else "",
            one.lot.name if one.lot else "", one.expires, "; ".join(one.kit.hazards),
            " ".join(one.unknown),
        )
        for one in sorted(stocks, key=lambda one: one.buy_by or dt.date.max)
    ]  # fmt: skip
    table = pd.DataFrame(rows, columns=list(columns)).astype(object)
    return str(table.to_csv(index=False, lineterminator="\n"))
