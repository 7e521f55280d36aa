"""A foreign table as it stands, each cell coloured and marked by its fate."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from reef_calc.log.foreign.columns import Column
from reef_calc.log.foreign.grid import column_letter, text_of
from reef_calc.log.foreign.outcome import FATES, Mark, Said, worst
from reef_calc.log.foreign.understood import Understood
from reef_calc.show.bring_in_style import SIGNS, WORDS
from reef_calc.show.wording import escape

ROWS_SHOWN, COLUMNS_SHOWN = 40, 60
_LONGEST = 60
_UNUSED = ("not used", "average", "unknown")


def fate_key_html(found: Understood) -> str:
    r"""Return how many rows became what, each with its colour, its sign and its word.

    Parameters
    ----------
    found : Understood
        The file as it was understood.

    Returns
    -------
    str
        A list as HTML.

    Examples
    --------
    >>> from reef_calc.log.foreign.understand import understand
    >>> from reef_calc.log.example import example_tank
    >>> found = understand("a.csv", b"date,KH dKH\n2026-02-01,8.3\n", example_tank())
    >>> "<b>1</b> row read as it stands" in fate_key_html(found)
    True
    """
    counts = found.counts
    numbers: dict[str, int] = {fate: getattr(counts, fate) for fate in FATES}
    numbers["not data"] = counts.headings + counts.not_read + counts.blank
    items = [
        f'<li class="rc-fate rc-is-{fate.replace(" ", "")}"><span aria-hidden="true">{SIGNS[fate]}'
        f"</span><span><b>{number:,}</b> {'row' if number == 1 else 'rows'} {WORDS[fate]}</span></li>"
        for fate, number in numbers.items()
    ]
    return f'<ul class="rc-fates">{"".join(items)}</ul>'


def preview_html(found: Understood, rows: Sequence[int]) -> str:
    r"""Return some rows of the table, each cell with its tint and sign.

    Parameters
    ----------
    found : Understood
        The file as it was understood.
    rows : sequence of int
        Rows to show, as a spreadsheet counts them, from 1.

    Returns
    -------
    str
        An HTML table; the columns say what they were understood as.

    Examples
    --------
    >>> from reef_calc.log.foreign.understand import understand
    >>> from reef_calc.log.example import example_tank
    >>> found = understand("a.csv", b"date,KH dKH\n2026-02-01,83\n", example_tank())
    >>> '<i aria-hidden="true">!</i>83' in preview_html(found, [2])
    True
    """
    at: dict[int, list[Mark]] = {}
    wanted = set(rows)
    for mark in found.marks:
        if mark.row in wanted:
            at.setdefault(mark.row, []).append(mark)
    by_index = {column.index: column for column in found.columns}
    width = max((len(found.grid.rows[row - 1]) for row in rows), default=0)
    width = max([width, *(index + 1 for index in by_index)])
    shown = [
        index
        for index in range(width)
        if index in by_index or any(_text(found, row, index) for row in rows)
    ]
    beyond = (
        ""
        if len(shown) <= COLUMNS_SHOWN
        else (
            f" {len(shown) - COLUMNS_SHOWN} more columns, from {column_letter(shown[COLUMNS_SHOWN])} on, "
            "are read but not shown."
        )
    )
    shown = shown[:COLUMNS_SHOWN]
    head = "".join(_heading(by_index.get(index), index) for index in shown)
    body = "".join(_row(found, row, shown, by_index, at.get(row, [])) for row in rows)
    return (
        '<div class="rc-scroll" tabindex="0" role="region" aria-label="Preview of the file">'
        '<table class="rc-sheet"><caption>Each cell as it stands in the file; colour and sign say '
        f'what becomes of it.{beyond}</caption><thead><tr><th scope="col">Row</th>{head}</tr></thead>'
        f"<tbody>{body}</tbody></table></div>"
    )


def rows_to_show(found: Understood, which: str, first: int = 1) -> list[int]:
    r"""Return which rows a preview shows.

    Parameters
    ----------
    found : Understood
        The file as it was understood.
    which : {"all", "doubtful"}
        All rows from ``first`` on, or rows with something said only.
    first : int, optional
        First row, counted from 1.

    Returns
    -------
    list of int
        At most ``ROWS_SHOWN`` rows.

    Examples
    --------
    >>> from reef_calc.log.foreign.understand import understand
    >>> from reef_calc.log.example import example_tank
    >>> found = understand("a.csv", b"date,KH dKH\n2026-02-01,83\n2026-02-02,8\n", example_tank())
    >>> rows_to_show(found, "all"), rows_to_show(found, "doubtful")
    ([1, 2, 3], [2])
    """
    if which == "all":
        wanted: Iterable[int] = range(max(first, 1), found.counts.lines + 1)
    else:
        said = {mark.row for mark in found.marks} | {row for row, _ in found.not_read}
        wanted = sorted(row for row in said if row >= first)
    return list(wanted)[:ROWS_SHOWN] if which != "all" else list(wanted[:ROWS_SHOWN])  # type: ignore[index]


def _text(found: Understood, row: int, index: int) -> str:
    cells = found.grid.rows[row - 1]
    return text_of(cells[index]) if index < len(cells) else ""


def _heading(column: Column | None, index: int) -> str:
    letter = column_letter(index)
    if column is None:
        return f'<th scope="col"><b>{letter}</b><span>no heading</span></th>'
    return (
        f'<th scope="col"><b>{escape(column.heading or letter)}</b>'
        f"<span>{escape(meaning_words(column))}</span></th>"
    )


def meaning_words(column: Column) -> str:
    """Return what a column was understood as, in a few words.

    Parameters
    ----------
    column : Column
        The column.

    Returns
    -------
    str
        Such as "alkalinity, dKH, kit A".

    Examples
    --------
    >>> meaning_words(Column(1, "KH", "value", "alkalinity", "dKH", kit="A"))
    'alkalinity, dKH, kit A'
    """
    role = {"value": column.element or "number", "unknown": "not known yet", "u": "uncertainty"}
    words = [role.get(column.role, column.role), column.unit if column.role == "value" else ""]
    words += [f"kit {column.kit}" if column.kit else "", f"lot {column.lot}" if column.lot else ""]
    words.append(column.water)
    return ", ".join(word for word in words if word)


def _row(
    found: Understood,
    row: int,
    shown: Sequence[int],
    by_index: dict[int, Column],
    marks: Sequence[Mark],
) -> str:
    fate = found.fates.get(row)
    whole = [mark.said for mark in marks if mark.column is None]
    cells: list[str] = []
    for index in shown:
        said = [mark.said for mark in marks if mark.column == index]
        # What is said of the whole row stands beside its number.
        cells.append(_cell(_text(found, row, index), fate, whole, said, by_index.get(index)))
    kind = "not data" if fate is None else fate
    return (
        f'<tr><th scope="row" class="rc-at rc-is-{kind.replace(" ", "")}">{row}'
        f' <i aria-hidden="true">{SIGNS[kind]}</i><span class="rc-hidden">{WORDS[kind]}</span></th>'
        f"{''.join(cells)}</tr>"
    )


def _cell(
    text: str, fate: str | None, whole: Sequence[Said], own: Sequence[Said], column: Column | None
) -> str:
    shown = escape(text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…")
    said = [*whole, *own]
    if fate is None or column is None or (column.role in _UNUSED and not said):
        return f'<td class="rc-is-notdata">{shown}</td>'
    found: str = worst(one.fate for one in said)
    if not text and found == "read":
        return "<td></td>"
    why = " ".join(one.reason for one in said)
    likely = next((one.likely for one in own if one.likely), "")
    title = f' title="{escape(why)}"' if why else ""
    struck = f"<s>{shown}</s>" if found == "refused" and shown else shown
    maybe = f"<em>{escape(likely)}?</em>" if likely else ""
    sign = heard = ""
    mine = worst(one.fate for one in own)
    if mine != "read":
        sign = f'<i aria-hidden="true">{SIGNS[mine]}</i>'
        heard = f'<span class="rc-hidden">{WORDS[mine]}</span>'
    return f'<td class="rc-is-{found}"{title}>{sign}{struck}{maybe}{heard}</td>'
