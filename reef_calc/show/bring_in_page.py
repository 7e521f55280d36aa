"""What a foreign file was understood as: lead, sums, assumptions, what is said, and files to take."""

from __future__ import annotations

import csv
import io

from reef_calc.log.back_out.safe_texts import looks_like_formula
from reef_calc.log.foreign.understood import Understood
from reef_calc.log.tables import COLUMNS
from reef_calc.show.bring_in_preview import fate_key_html
from reef_calc.show.bring_in_words import lead_words, said_csv, said_html, sums_words
from reef_calc.show.panels.common import download_html
from reef_calc.show.wording import escape

# Lines that a link of the page can hold without making it slow.
_MOST_LINES = 50_000


def found_html(found: Understood, already: int = 0, changed: int = 0) -> str:
    r"""Return what would be added, and the sums of the rows.

    Parameters
    ----------
    found : Understood
        The file as it was understood.
    already : int, optional
        Number of entries that stand in the tank already.
    changed : int, optional
        Number of entries that were brought in before and changed or deleted in the tank since.

    Returns
    -------
    str
        HTML: the answer first, then the sums.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.understand import understand
    >>> found = understand("a.csv", b"date,KH dKH\n2026-02-01,8.3\n", example_tank())
    >>> "would be added" in found_html(found)
    True
    """
    sheet = f", sheet {found.grid.sheet}" if found.grid.sheet else ""
    role = ' role="alert"' if found.refusal else ""
    return (
        f'<div class="rc" data-view="Understood"><h2>{escape(found.grid.file + sheet)}</h2>'
        f'<p class="rc-in-lead"{role}>{escape(lead_words(found, already, changed))}</p>'
        f'{fate_key_html(found)}<p class="rc-small">{escape(sums_words(found))}</p></div>'
    )


def why_html(found: Understood) -> str:
    r"""Return what is said of rows, and every assumption.

    Parameters
    ----------
    found : Understood
        The file as it was understood.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.understand import understand
    >>> found = understand("a.csv", b"date,KH dKH\n2026-02-01,8.3\n", example_tank())
    >>> "Nothing is doubtful" in why_html(found)
    True
    """
    notes = "".join(f"<li>{escape(note.text)}</li>" for note in found.notes)
    assumed = f"<ul>{notes}</ul>" if notes else "<p>Nothing had to be assumed.</p>"
    return (
        '<div class="rc" data-view="Why"><h2>What is doubtful, asked or not taken</h2>'
        f"{said_html(found)}<h2>How it was understood</h2>{assumed}</div>"
    )


def entries_csv(found: Understood) -> dict[str, str]:
    r"""Return what would be added, as CSV text by table.

    Parameters
    ----------
    found : Understood
        The file as it was understood.

    Returns
    -------
    dict of str to str
        Text by name of the table; the columns are those of a tank folder.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.understand import understand
    >>> found = understand("a.csv", b"date,KH dKH\n2026-02-01,8.3\n", example_tank())
    >>> entries_csv(found)["readings.csv"].splitlines()[1][:30]
    '2026-02-01,tank,alkalinity,8.3'
    """
    texts: dict[str, str] = {}
    for table in dict.fromkeys(entry.table for entry in found.entries):
        names = COLUMNS[table]
        lines = [list(names)]
        lines += [
            [entry.cells.get(name, "") for name in names]
            for entry in found.entries
            if entry.table == table
        ]
        texts[table] = _csv(lines)
    return texts


def take_away_html(found: Understood) -> str:
    r"""Return links that save what would be added, and what is said of rows.

    Parameters
    ----------
    found : Understood
        The file as it was understood.

    Returns
    -------
    str
        HTML with everything inside the links.

    Examples
    --------
    >>> from reef_calc.log.example import example_tank
    >>> from reef_calc.log.foreign.understand import understand
    >>> found = understand("a.csv", b"date,KH dKH\n2026-02-01,8.3\n", example_tank())
    >>> take_away_html(found).count("download=")
    2
    """
    if len(found.entries) + len(found.marks) > _MOST_LINES:
        return (
            f'<div class="rc"><p class="rc-small">{len(found.entries):,} entries are too many to save '
            "from here. Once they are added, “Take everything out” saves them.</p></div>"
        )
    links = [
        download_html(f"understood_{table}", text, f"What would be added ({table})", "text/csv")
        for table, text in entries_csv(found).items()
    ]
    said = _csv(said_csv(found))
    links.append(
        download_html(
            "what_is_said.csv", said, "Doubtful, asked and refused rows (CSV)", "text/csv"
        )
    )
    items = "".join(f"<li>{link}</li>" for link in links)
    return f'<div class="rc"><ul class="rc-links">{items}</ul></div>'


def _csv(lines: list[list[str]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    # What a spreadsheet would run is shown with an apostrophe; nothing here is read back.
    writer.writerows(
        [f"'{c}" if looks_like_formula(c) and not _number(c) else c for c in line] for line in lines
    )
    return text.getvalue()


def _number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True
