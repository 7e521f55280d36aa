"""Several tanks on one page: a row for each element that needs something, one line for the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from reef_calc.plan.decision import GROUP_TITLES, LABEL_FIRST, PUMP_QUESTION, SIGNS
from reef_calc.show.wording import element_name, escape

_CAPTION = (
    "Only what needs something. Shaded: the aim, over 90 days. Days are counted to the end of the "
    "month, or to today while it runs. Open a tank’s own review before you act on a row."
)
_HEADS = ("Tank", "Element", "Level, 90 days", "Last reading", "Days since", "What to do")
FAILED = "Could not be read"


@dataclass(frozen=True)
class TankRow:
    """One element of one tank, or a tank or element that could not be read.

    Attributes
    ----------
    tank, folder : str
        Name of the tank (of the folder where it could not be opened) and path of the folder.
    group : {"change", "test", "leave", "failed"}
        Group on the page.
    element, unit : str
        Element and display unit; empty for a whole tank.
    action, headline, why : str
        The decision, and why; the reason of a failure.
    cautions : tuple of str
        What is read before dosing.
    level : float or None
        Last believed reading in ``unit``.
    limit : str
        What it says: empty, ``<``, ``>`` or ``between``.
    low, high : float or None
        Aims in ``unit``.
    day : str
        Date of that reading, as 2026-09-24.
    days_since : int or None
        Days from it to the end of the month, or to today.
    refused : int
        Rows and entries of the folder that could not be used.
    strip, last_html : str
        Pictures and words of the last reading as HTML; empty where the row is not shown.
    """

    tank: str
    folder: str
    group: str
    element: str = ""
    unit: str = ""
    action: str = ""
    headline: str = ""
    why: str = ""
    cautions: tuple[str, ...] = ()
    level: float | None = None
    limit: str = ""
    low: float | None = None
    high: float | None = None
    day: str = ""
    days_since: int | None = None
    refused: int = 0
    strip: str = ""
    last_html: str = ""

    @property
    def title(self) -> str:
        """Name of the tank with its folder, which tells two of one name apart."""
        name = Path(self.folder).name
        return self.tank if name == self.tank else f"{self.tank} ({name})"

    def cells(self) -> tuple[object, ...]:
        """Return the row as cells of the table that can be saved."""
        group = GROUP_TITLES.get(self.group, FAILED)
        return (
            self.tank, self.folder, self.element, self.unit, group, self.headline, self.why,
            self.level, self.limit, self.low, self.high, self.day, self.days_since, self.refused,
        )  # fmt: skip


def tanks_html(
    title: str, rows: Sequence[TankRow], quiet: Sequence[str], tanks: int, unread: int = 0
) -> str:
    """Return the table of several tanks.

    Parameters
    ----------
    title : str
        The answer in one line; plain text.
    rows : sequence of TankRow
        Every row, in the order of the folders.
    quiet : sequence of str
        Tanks of which nothing needs a decision.
    tanks, unread : int
        Folders that were read, and those left when the reading was stopped.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` on the page.

    Examples
    --------
    >>> "Leave as it is: 2 tanks" in tanks_html("All quiet", [], ["A", "B"], 2)
    True
    """
    count = f"{tanks} tank{'s' if tanks != 1 else ''} read"
    left = f"; stopped with {unread} not read yet" if unread else ""
    groups = "".join(
        _group_html(words, [row for row in rows if row.group == group])
        for group, words in {**GROUP_TITLES, "failed": FAILED}.items()
        if group != "leave"
    )
    head = "".join(f'<th scope="col" role="columnheader">{words}</th>' for words in _HEADS)
    table = (
        f'<table role="table"><caption>{_CAPTION}</caption><thead role="rowgroup">'
        f'<tr role="row">{head}</tr></thead>{groups}</table>'
        if groups
        else ""
    )
    return (
        '<section class="rc rc-tanks" aria-label="All tanks">'
        f'<h2>{escape(title)}</h2><p class="rc-sub">{count}{left}.</p>'
        f"{_before(rows)}{table}{_quiet_html(quiet)}</section>"
    )


def _before(rows: Sequence[TankRow]) -> str:
    carried = {caution for row in rows for caution in row.cautions}
    said = [text for text in (PUMP_QUESTION, LABEL_FIRST) if text in carried]
    if not said:
        return ""
    return f'<p class="rc-caution"><b>Before you dose:</b> {escape(" ".join(said))}</p>'


def _quiet_html(quiet: Sequence[str]) -> str:
    if not quiet:
        return ""
    words = f"{GROUP_TITLES['leave']}: {len(quiet)} tank{'s' if len(quiet) != 1 else ''}"
    return f"<p><b>{words}</b> <span class=rc-small>{escape(', '.join(quiet))}</span></p>"


def _group_html(title: str, rows: Sequence[TankRow]) -> str:
    if not rows:
        return ""
    return (
        '<tbody role="rowgroup"><tr class="rc-group" role="row">'
        f'<th colspan="{len(_HEADS)}" scope="rowgroup" role="rowheader" '
        f'aria-colspan="{len(_HEADS)}">{escape(title)} <span class="rc-small">{len(rows)}</span>'
        "</th></tr>" + "".join(_row_html(row) for row in rows) + "</tbody>"
    )


def _row_html(row: TankRow) -> str:
    refused = ""
    if row.refused:
        words = "rows" if row.refused != 1 else "row"
        refused = f'<span class="rc-small">{row.refused} {words} refused</span>'
    folder = Path(row.folder).name
    where = f'<span class="rc-small">{escape(folder)}</span>' if folder != row.tank else ""
    element = escape(element_name(row.element)) if row.element else "the whole tank"
    unit = f'<span class="rc-small">{escape(row.unit)}</span>' if row.unit else ""
    since = "–" if row.days_since is None else str(row.days_since)
    sign = SIGNS.get(row.action, "!")
    strip = row.strip or (
        '<span class="rc-small">no reading in 90 days</span>' if row.unit else "–"
    )
    cells = (
        f"<b>{element}</b>{unit}",
        strip,
        row.last_html or "–",
        since,
        f'<b><span class="rc-sign" aria-hidden="true">{sign}</span>'
        f"{escape(row.headline or FAILED)}</b><span>{escape(row.why)}</span>",
    )
    return (
        f'<tr class="rc-row" role="row"><th scope="row" role="rowheader">{escape(row.tank)}'
        f"{where}{refused}</th>"
        + "".join(
            f'<td role="cell"><span class="rc-label">{head}</span>{cell}</td>'
            for head, cell in zip(_HEADS[1:], cells, strict=True)
        )
        + "</tr>"
    )
