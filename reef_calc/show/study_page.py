"""A study of two kits on paper: the order to test in, the key to the cups, and what it will tell."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pandas as pd

from reef_calc.compare.difference_words import plain
from reef_calc.compare.order_sheet import key_table, order_table
from reef_calc.compare.study_design import Design
from reef_calc.compare.study_power import StudyOutlook
from reef_calc.log.studies import StoredStudy, Test
from reef_calc.numbers_in_words import decimals_for, fixed
from reef_calc.show.comparison_page import limits_html
from reef_calc.show.comparison_style import STYLE
from reef_calc.show.page import page_html
from reef_calc.show.study_power_figure import power_key_html, power_svg
from reef_calc.show.tables import table_html
from reef_calc.show.wording import element_name, escape

CAUTION = (
    "Solutions that are added to the cups, and the reagents of the kits: the label and the safety data "
    "sheet in hand, and local rules, come first. Goggles and gloves on. What was in a cup goes neither "
    "into the tank nor into a mouth: collect it as the kits' papers say."
)
BLIND = (
    "Read the cups in this order, top to bottom, and write each reading down before the next test. "
    "Whoever reads does not know what is in a cup: the key is a page of its own and stays with whoever "
    "mixed the cups until the last reading is written."
)
_DONE = "read"


def order_html(study: StoredStudy, done: Sequence[Test] = ()) -> str:
    """Return the list to test from, with blanks for the readings; it names no level.

    Parameters
    ----------
    study : StoredStudy
        The study.
    done : sequence of Test, optional
        Tests already read.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` and ``comparison_style.STYLE`` on the page.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.compare.order_sheet import plan_study
    >>> study = plan_study("spring", Design((0.5, 1.5), 2), element="alkalinity", unit="dKH",
    ...     kit_a="drops", kit_b="syringe", usual=8.0, made=dt.datetime(2026, 3, 1, tzinfo=dt.UTC),
    ...     seed=7)
    >>> order_html(study).count("rc-blank"), "12" in order_html(study).replace("<td>12", "")
    (8, False)
    """
    table = order_table(study, done)
    several = int(table["replicate"].max()) > 1
    heads = ["No.", "Cup", "Kit", *(["Reading no."] if several else []), f"Reading, {study.unit}"]
    rows, block = [], 0
    for row in table.itertuples(index=False):
        first = row.block != block
        block = row.block
        if first and int(table["block"].max()) > 1:
            rows.append(
                f'<tr class="rc-block"><th scope="rowgroup" colspan="{len(heads)}">Block {block}'
                "</th></tr>"
            )
        reading = _DONE if row.done else ""
        again = f"<td>{row.replicate}</td>" if several else ""
        rows.append(
            f"<tr><td>{row.number}</td><td><b>{escape(row.cup)}</b></td><td>{escape(row.kit)}</td>"
            f'{again}<td class="rc-blank">{reading}</td></tr>'
        )
    head = "".join(f'<th scope="col">{escape(one)}</th>' for one in heads)
    return (
        f'<table class="rc-data rc-order"><caption>{escape(_kits_words(study))}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>"
    )


def _kits_words(study: StoredStudy) -> str:
    count = len(study.cups)
    return (
        f"{element_name(study.element)} with {study.kit_a} and {study.kit_b}: "
        f"{count} cups, {len(study.tests)} tests."
    )


def order_sheet_page(study: StoredStudy, done: Sequence[Test] = ()) -> str:
    """Return the page to test from, ready for paper; it names no level.

    Parameters
    ----------
    study : StoredStudy
        The study.
    done : sequence of Test, optional
        Tests already read.

    Returns
    -------
    str
        A whole HTML document with nothing fetched from elsewhere.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.compare.order_sheet import plan_study
    >>> study = plan_study("spring", Design((1.0,), 2), element="alkalinity", unit="dKH",
    ...     kit_a="drops", kit_b="syringe", usual=None, made=dt.datetime(2026, 3, 1, tzinfo=dt.UTC),
    ...     seed=7)
    >>> order_sheet_page(study).count("<h1>Order of the tests, spring</h1>")
    1
    """
    body = (
        f'<style>{STYLE}</style><section class="rc"><p>{escape(BLIND)}</p>'
        f'<p class="rc-caution">{escape(CAUTION)}</p>'
        "<p>Date: ______________ Who reads: ______________ Water taken at: ______________</p>"
        f"{order_html(study, done)}</section>"
    )
    return page_html(f"Order of the tests, {study.name}", [body])


def key_page(study: StoredStudy) -> str:
    """Return what is in the cups, for whoever mixes them and not for whoever reads the kits.

    Parameters
    ----------
    study : StoredStudy
        The study.

    Returns
    -------
    str
        A whole HTML document with nothing fetched from elsewhere.

    Examples
    --------
    >>> import datetime as dt
    >>> from reef_calc.compare.order_sheet import plan_study
    >>> study = plan_study("spring", Design((0.5, 1.5), 2), element="alkalinity", unit="dKH",
    ...     kit_a="drops", kit_b="syringe", usual=8.0, made=dt.datetime(2026, 3, 1, tzinfo=dt.UTC),
    ...     seed=7)
    >>> key_page(study).count("<td>12</td>")
    2
    """
    rows = []
    for row in key_table(study).itertuples(index=False):
        known = row.level is not None and math.isfinite(row.level)
        level = plain(row.level, 6) if known else "tank water as it is"
        rows.append((row.cup, level, str(row.water), str(row.block)))
    heads = ("Cup", f"Level, {study.unit}", "Water of that level", "Block")
    caption = "Mix every water by itself; write its code on the cup and nothing else."
    body = (
        f'<style>{STYLE}</style><section class="rc"><p><b>For whoever mixes the cups only.</b> Whoever '
        "reads the kits must not see this page before the last reading is written.</p>"
        f'<p class="rc-caution">{escape(CAUTION)}</p>'
        f"{table_html(caption, heads, rows)}</section>"
    )
    return page_html(f"Key to the cups, {study.name}", [body])


def designs_html(table: pd.DataFrame, unit: str, *, chosen: Design | None = None) -> str:
    """Return the designs that so many tests allow, and how closely each tells the difference.

    Parameters
    ----------
    table : pandas.DataFrame
        As :func:`reef_calc.compare.study_design.designs_table` gives it.
    unit : str
        Unit of the levels.
    chosen : Design, optional
        The one that is planned with; it is marked.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.compare.kit_scatter import KitScatter
    >>> from reef_calc.compare.study_design import designs_table
    >>> fine = KitScatter(0.15, 0.1)
    >>> "says nothing" in designs_html(designs_table(20, fine, fine), "dKH")
    True
    """
    rows = []
    for row in table.to_dict("records"):
        notes = [
            text
            for text, shown in (
                ("shows a bend", row["shows_a_bend"]),
                ("gives how well the kits repeat", row["gives_repeatability"]),
            )
            if shown
        ]
        name = row["words"] + (
            " ◆ planned" if chosen is not None and row["design"] == chosen else ""
        )
        rows.append(
            (name, str(row["vials"]), _half(row["half_at_level"]), _half(row["half_away"]),
             ", ".join(notes))
        )  # fmt: skip
    heads = ("Design", "Tests", "At the usual level", "At 25 % from it", "Besides")
    caption = f"How closely each tells the difference: half of the 95 % interval, {unit}."
    return f'<div class="rc-kits-wrap">{table_html(caption, heads, rows, texts=(0, 4))}</div>'


def _half(value: float) -> str:
    if not (math.isfinite(value) and value > 0.0):
        return "says nothing"
    return f"± {fixed(value, max(decimals_for(value), 0))}"


def outlook_html(outlook: StudyOutlook, designs: pd.DataFrame | None = None) -> str:
    """Return what a study will be able to say, in words and as a picture.

    Parameters
    ----------
    outlook : StudyOutlook
        Half-widths, chances and sentences.
    designs : pandas.DataFrame, optional
        Other designs of as many tests, as
        :func:`reef_calc.compare.study_design.designs_table` gives them.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` and ``comparison_style.STYLE`` on the page.

    Examples
    --------
    >>> from reef_calc.compare.kit_scatter import KitScatter
    >>> from reef_calc.compare.study_power import study_outlook
    >>> fine = KitScatter(0.15, 0.1)
    >>> outlook = study_outlook(Design((1.0,), 10), fine, fine, unit="dKH", allowed=0.5)
    >>> outlook_html(outlook).count("<svg")
    5
    """
    lead, *rest = outlook.sentences
    more = "".join(f"<p>{escape(text)}</p>" for text in rest)
    picture = power_svg(outlook)
    table = ""
    if designs is not None:
        table = designs_html(designs, outlook.unit, chosen=outlook.design)
    key = caption = ""
    if picture:
        key = power_key_html()
        caption = (
            '<p class="rc-small">For a true difference on the lower scale, the height of each area is '
            "the chance that the study ends with that statement.</p>"
        )
    return (
        f'<section class="rc"><p class="rc-kits-lead">{escape(lead)}</p>{more}'
        f"{limits_html(outlook.messages, 'study')}{key}{picture}{caption}{table}</section>"
    )
