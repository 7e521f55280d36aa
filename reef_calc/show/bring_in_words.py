"""What a foreign file would bring in, in words: the lead, the sums, and what is said of rows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from reef_calc.chem.elements import ELEMENTS
from reef_calc.log.foreign.grid import column_letter, text_of
from reef_calc.log.foreign.outcome import FATES, Mark
from reef_calc.log.foreign.understood import Understood
from reef_calc.show.bring_in_style import SIGNS, WORDS
from reef_calc.show.wording import escape

_THINGS = {
    "readings.csv": ("reading", "readings"),
    "additions.csv": ("dose", "doses"),
    "water_changes.csv": ("water change", "water changes"),
    "events.csv": ("event", "events"),
}
_GROUPS_SHOWN, _UNFOLDED = 60, 12


def counted(number: int, one: str, many: str) -> str:
    """Return a number with its word.

    Parameters
    ----------
    number : int
        Count.
    one, many : str
        Word for one, and for any other number.

    Returns
    -------
    str
        Such as "1 row" or "3 rows".

    Examples
    --------
    >>> counted(1, "row", "rows"), counted(1200, "row", "rows")
    ('1 row', '1,200 rows')
    """
    return f"{number:,} {one if number == 1 else many}"


def lead_words(found: Understood, already: int = 0, changed: int = 0) -> str:
    r"""Return what would be added now, in a sentence.

    Parameters
    ----------
    found : Understood
        The file as it was understood.
    already : int, optional
        Number of its entries that stand in the tank already.
    changed : int, optional
        Number of its entries that were brought in before and changed or deleted in the tank since.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> from reef_calc.log.foreign.understand import understand
    >>> from reef_calc.log.example import example_tank
    >>> lead_words(understand("a.csv", b"date,KH dKH\n2026-02-01,8.3\n", example_tank()))
    '1 reading of alkalinity would be added.'
    """
    if found.refusal:
        return found.refusal
    tables = Counter(entry.table for entry in found.entries)
    if not tables:
        return "Nothing can be added yet." if found.counts.data else "There is no row to read."
    parts = []
    for table, number in tables.items():
        one, many = _THINGS[table]
        words = counted(number, one, many)
        names = {entry.cells["element"] for entry in found.entries if "element" in entry.cells}
        if table == "readings.csv" and 0 < len(names) <= 4:
            order = [*ELEMENTS, *sorted(names - set(ELEMENTS))]
            listed = [name for name in order if name in names]
            words += " of " + " and ".join(filter(None, (", ".join(listed[:-1]), listed[-1])))
        elif table == "readings.csv":
            words += f" of {len(names)} elements"
        parts.append(words)
    read = " and ".join(parts)
    new = len(found.entries) - already - changed
    if not already and not changed:
        return f"{read} would be added."
    if already and already == len(found.entries):
        return (
            f"All that was read stands in the tank already: {counted(already, 'entry', 'entries')}."
        )
    text = f"{read} in this file: {new:,} would be added."
    if already:
        text += (
            f" {counted(already, 'entry stands', 'entries stand')} in the tank already: left out."
        )
    if changed:
        text += (
            f" {counted(changed, 'entry was', 'entries were')} brought in before and changed or "
        )
        text += "deleted in the tank since: left out, unless you tick below to add again."
    return text


def sums_words(found: Understood) -> str:
    r"""Return the rows of the file and what became of them, so that the sum can be checked.

    Parameters
    ----------
    found : Understood
        The file as it was understood.

    Returns
    -------
    str
        Plain text.

    Examples
    --------
    >>> from reef_calc.log.foreign.understand import understand
    >>> from reef_calc.log.example import example_tank
    >>> print(sums_words(understand("a.csv", b"date,KH dKH\n2026-02-01,8.3\n", example_tank())))
    2 rows in the file: 1 heading, 0 not data, 0 empty, 1 with data = 1 read + 0 flagged + 0 asked +
    0 refused.
    """
    c = found.counts
    return (
        f"{counted(c.lines, 'row', 'rows')} in the file: {c.headings:,} heading, {c.not_read:,} not "
        f"data, {c.blank:,} empty, {c.data:,} with data = {c.read:,} read + {c.flagged:,} flagged + "
        f"{c.asked:,} asked + {c.refused:,} refused."
    )


def leave_out_words(refused: int, waiting: int) -> str:
    """Return what is left out where a file is added although not all of it can be.

    Parameters
    ----------
    refused, waiting : int
        Rows with something refused, and rows with something that waits for an answer.

    Returns
    -------
    str
        Plain text. Other cells of such rows may be read, and are added.

    Examples
    --------
    >>> leave_out_words(1, 20)
    'Leave out what is refused in 1 row and what waits for an answer in 20 rows for now'
    """
    parts = [
        f"{what} in {counted(number, 'row', 'rows')}"
        for what, number in (("what is refused", refused), ("what waits for an answer", waiting))
        if number
    ]
    return f"Leave out {' and '.join(parts)} for now"


def rows_words(rows: Sequence[int], most: int = 6) -> str:
    """Return rows as a person lists them.

    Parameters
    ----------
    rows : sequence of int
        Rows, counted from 1.
    most : int, optional
        Number of rows that are named.

    Returns
    -------
    str
        Such as "row 3" or "rows 3, 7, 9 and 20 more".

    Examples
    --------
    >>> rows_words([3]), rows_words([3, 7]), rows_words(range(1, 11), 3)
    ('row 3', 'rows 3 and 7', 'rows 1, 2, 3 and 7 more')
    """
    if not rows:
        return ""
    listed = [str(row) for row in rows[:most]]
    if len(rows) > most:
        return f"rows {', '.join(listed)} and {len(rows) - most:,} more"
    if len(listed) == 1:
        return f"row {listed[0]}"
    return f"rows {', '.join(listed[:-1])} and {listed[-1]}"


def said_html(found: Understood) -> str:
    r"""Return everything that is said of rows and cells, the gravest first, equal reasons together.

    Parameters
    ----------
    found : Understood
        The file as it was understood.

    Returns
    -------
    str
        HTML; a sentence where nothing is said.

    Examples
    --------
    >>> from reef_calc.log.foreign.understand import understand
    >>> from reef_calc.log.example import example_tank
    >>> found = understand("a.csv", b"date,KH dKH\n2026-02-01,soft\n2026-02-02,8\n", example_tank())
    >>> "soft" in said_html(found)
    True
    """
    groups: dict[tuple[str, str, int | None, str, str], list[tuple[Mark, str]]] = {}
    for mark in sorted(found.marks, key=lambda m: (-FATES.index(m.said.fate), m.row)):
        said, text = mark.said, _written(found, mark)
        reason = said.reason.replace(f"“{text}”", "“…”") if text else said.reason
        key = (said.fate, said.code, mark.column, reason, said.repair)
        groups.setdefault(key, []).append((mark, text))
    headings = {column.index: column.key for column in found.columns}
    lines = []
    for (fate, _, column, reason, repair), group in list(groups.items())[:_GROUPS_SHOWN]:
        marks = [mark for mark, _ in group]
        place = rows_words([mark.row for mark in marks])
        if column is not None:
            place += f", {headings.get(column, 'column ' + column_letter(column))}"
        texts = list(dict.fromkeys(text for _, text in group))
        if len(texts) == 1:
            reason = marks[0].said.reason
        quoted = ", ".join(f"“{text}”" for text in texts[:3] if text)
        likely = "; ".join(dict.fromkeys(m.said.likely for m in marks[:3] if m.said.likely))
        lines.append(_item(fate, place, quoted, " ".join((reason, repair)), likely))
    for row, why in found.not_read[:_GROUPS_SHOWN]:
        text = " ".join(filter(None, map(text_of, found.grid.rows[row - 1])))[:60]
        lines.append(_item("not data", f"row {row}", f"“{text}”", f"{why[:1].upper()}{why[1:]}."))
    if not lines:
        return "<p>Nothing is doubtful: every row was read as it stands.</p>"
    more = len(groups) + len(found.not_read) - len(lines)
    rest = f'<p class="rc-small">{more:,} more kinds; take the list away below.</p>' if more else ""
    shown, folded = lines[:_UNFOLDED], lines[_UNFOLDED:]
    fold = (
        f"<details><summary>Show {len(folded):,} more kinds</summary>"
        f'<ul class="rc-said">{"".join(folded)}</ul>{rest}</details>'
    )
    return f'<ul class="rc-said">{"".join(shown)}</ul>{fold if folded else rest}'


def _item(fate: str, place: str, quoted: str, why: str, likely: str = "") -> str:
    perhaps = f" Perhaps {likely}." if likely and likely not in why else ""
    return (
        f'<li><span class="rc-fate rc-is-{fate.replace(" ", "")}"><span aria-hidden="true">'
        f"{SIGNS[fate]}</span>{fate}</span><div><b>{escape(place)}</b> {escape(quoted)}<br>"
        f"{escape(why.strip() + perhaps)}</div></li>"
    )


def said_csv(found: Understood) -> list[list[str]]:
    r"""Return everything that is said as the rows of a table to take away.

    Parameters
    ----------
    found : Understood
        The file as it was understood.

    Returns
    -------
    list of list of str
        A heading, then one line a mark and one line a row that is no data.

    Examples
    --------
    >>> from reef_calc.log.foreign.understand import understand
    >>> from reef_calc.log.example import example_tank
    >>> said_csv(understand("a.csv", b"date,KH dKH\n2026-02-01,8.3\n", example_tank()))[0][:3]
    ['row', 'column', 'text']
    """
    headings = {column.index: column.key for column in found.columns}
    lines = [["row", "column", "text", "fate", "reason", "what to do", "perhaps"]]
    for mark in sorted(found.marks, key=lambda m: m.row):
        said = mark.said
        column = "" if mark.column is None else headings.get(mark.column, "")
        lines.append(
            [
                str(mark.row),
                column,
                _written(found, mark),
                said.fate,
                said.reason,
                said.repair,
                said.likely,
            ]
        )
    for row, why in found.not_read:
        text = " ".join(filter(None, map(text_of, found.grid.rows[row - 1])))
        lines.append([str(row), "", text, "not data", why, "", ""])
    return lines


def _written(found: Understood, mark: Mark) -> str:
    cells = found.grid.rows[mark.row - 1]
    if mark.column is None:
        return " | ".join(filter(None, map(text_of, cells)))[:60]
    return text_of(cells[mark.column])[:60] if mark.column < len(cells) else ""


def fate_words(fate: str) -> str:
    """Return a fate in words.

    Parameters
    ----------
    fate : str
        As in ``FATES``, or "not data".

    Returns
    -------
    str
        Such as "read, but doubtful".

    Examples
    --------
    >>> fate_words("flagged")
    'read, but doubtful'
    """
    return WORDS[fate]
