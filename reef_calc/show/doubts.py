"""What to doubt: readings that do not fit, and what the folder's files could not be read for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

import pandas as pd

from reef_calc.balance.without_doubted import WithAndWithout
from reef_calc.show.level_wording import level_words
from reef_calc.show.marks import kit_names
from reef_calc.show.standing import Standing
from reef_calc.show.tables import table_html
from reef_calc.show.times import records
from reef_calc.show.with_and_without import with_and_without_html
from reef_calc.show.wording import day_words, element_name, escape, is_known, typed

SEVERITIES = {
    "refused": ("Refused", "These lines were not read. Repair them and run again."),
    "flagged": ("Flagged", "These lines were read. Look at them again."),
    "note": ("Notes", "Nothing to repair; worth knowing."),
}


def doubts_html(
    standings: Sequence[Standing],
    problems: Sequence[Any],
    counts: pd.DataFrame | None = None,
    compared: Sequence[WithAndWithout] = (),
) -> str:
    """Return the readings to doubt and the problems of the tank folder.

    Parameters
    ----------
    standings : sequence of Standing
        The elements.
    problems : sequence of objects
        Each with ``file``, ``row``, ``column``, ``text``, ``severity`` ('refused', 'flagged',
        'note'), ``reason`` and ``repair``.
    counts : pandas.DataFrame, optional
        Rows of each file by what became of them, shown as given; counted from the problems when
        not given.
    compared : sequence of WithAndWithout, optional
        The use of elements with flagged readings, with and without those.

    Returns
    -------
    str
        HTML; needs ``style.STYLESHEET`` on the page.

    Examples
    --------
    >>> "Nothing to doubt" in doubts_html([], [])
    True
    """
    doubted = _doubted_rows(standings)
    title = _title(len(doubted), [_severity(p) for p in problems])
    parts = [f'<section class="rc" aria-label="What to doubt"><h2>{escape(title)}</h2>']
    if doubted:
        heads = ("Element", "Date", "Reading", "Kit", "Why", "Row")
        parts.append(
            "<p class=rc-sub>Doubted readings stay in the file. They were not used for any number. "
            "Read the kit again before you believe them.</p>"
            + _block("Readings to doubt", table_html("", heads, doubted, numbers=(5,), texts=(4,)))
        )
    if compared:
        parts.append(with_and_without_html(compared, standings[0].zone if standings else "UTC"))
    for severity, rows in _problem_rows(problems).items():
        name, words = SEVERITIES.get(severity, (severity, ""))
        heads = ("File", "Row", "Column", "Text", "Why", "What to do")
        parts.append(
            _block(
                f"{name} ({len(rows)})",
                table_html(words, heads, rows, numbers=(1,), texts=(3, 4, 5)),
            )
        )
    parts.append(_counts_block(problems, counts))
    return "".join(parts) + "</section>"


def _title(doubted: int, severities: Sequence[str]) -> str:
    found = Counter(severities)
    parts = [f"{doubted} reading{'s' * (doubted != 1)} to doubt"] if doubted else []
    for severity, words in (("refused", "refused"), ("flagged", "flagged")):
        if number := found[severity]:
            parts.append(f"{number} line{'s' * (number != 1)} {words}")
    return ", ".join(parts) or "Nothing to doubt"


def _severity(problem: Any) -> str:
    word = str(problem.severity).lower()
    return "note" if word.startswith("note") else word


def _doubted_rows(standings: Sequence[Standing]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for s in standings:
        doubted = s.readings[s.readings["mark"] == "doubted"]
        for reading, kit in zip(records(doubted), kit_names(doubted), strict=True):
            level = level_words(reading.level, s.decimals, reading.limit, reading.upper)
            rows.append(
                (
                    element_name(s.element),
                    day_words(reading.time, s.zone),
                    f"{level} {s.unit}",
                    kit,
                    typed(reading.why),
                    f"{reading.row:.0f}" if is_known(reading.row) else "",
                )
            )
    return rows


def _cell(value: Any) -> str:
    """Return a value of a problem or a count as text; a missing one as an empty cell."""
    if value is None or (isinstance(value, float) and pd.isna(value)):
        return ""
    return f"{value:g}" if isinstance(value, float) else str(value)


def _problem_rows(problems: Sequence[Any]) -> dict[str, list[tuple[str, ...]]]:
    found: dict[str, list[tuple[str, ...]]] = {}
    order = list(SEVERITIES)
    ranked = sorted(
        problems, key=lambda p: order.index(_severity(p)) if _severity(p) in order else len(order)
    )
    for p in ranked:
        row = tuple(_cell(v) for v in (p.file, p.row, p.column, p.text, p.reason, p.repair))
        found.setdefault(_severity(p), []).append(row)
    return found


def _counts_block(problems: Sequence[Any], counts: pd.DataFrame | None) -> str:
    if counts is not None and len(counts):
        table = counts if counts.index.name is None else counts.reset_index()
        heads = [str(name).replace("_", " ") for name in table.columns]
        rows = [[_cell(v) for v in row] for row in table.itertuples(index=False)]
        flush = range(1, len(heads))
        return _block("Rows of the files", table_html("", heads, rows, numbers=flush))
    if not problems:
        return ""
    tally = Counter((str(p.file), _severity(p)) for p in problems)
    files = sorted({file for file, _ in tally})
    rows = [[file, *(str(tally[file, s]) for s in SEVERITIES)] for file in files]
    heads = ["File", "Refused", "Flagged", "Notes"]
    return _block("Counted by file", table_html("", heads, rows, numbers=(1, 2, 3)))


def _block(title: str, inner: str) -> str:
    return f'<div class="rc-block"><h3>{escape(title)}</h3>{inner}</div>'
