"""Years that stand as titles between rows whose dates have none: they set nothing, but may contradict."""

from __future__ import annotations

import re
from collections.abc import Sequence

from reef_calc.log.foreign.dates_without_year import Step

_YEAR = re.compile("(?:19|20|21)[0-9]{2}")


def years_in_titles(hints: Sequence[tuple[int, str]]) -> list[tuple[int, int]]:
    """Return rows that hold a year and nothing else.

    Parameters
    ----------
    hints : sequence of (int, str)
        Rows, counted from 1, and their text.

    Returns
    -------
    list of (int, int)
        Row and year, in order.

    Examples
    --------
    >>> years_in_titles([(9, "2026"), (1, "Log of 2025"), (0, "2025")])
    [(9, 2026)]
    """
    plain = [(row, text.strip(" -–:#*")) for row, text in hints if row]
    return sorted((row, int(text)) for row, text in plain if _YEAR.fullmatch(text))


def against_titles(
    steps: Sequence[Step], years: Sequence[int], hints: Sequence[tuple[int, str]]
) -> dict[int, tuple[int, int]]:
    """Return the rows below a title whose year is not theirs.

    Parameters
    ----------
    steps : sequence of Step
        Dates in the order of the file.
    years : sequence of int
        Their years.
    hints : sequence of (int, str)
        Rows, counted from 1, and their text.

    Returns
    -------
    dict of int to (int, int)
        By row: the row of the title and its year. A title that the first row below it follows is
        none: the year may go on under it.

    Examples
    --------
    >>> against_titles([Step(3, "4.5.", 5, 4)], [2025], [(2, "2026")])
    {3: (2, 2026)}
    """
    titles = years_in_titles(hints)
    found: dict[int, tuple[int, int]] = {}
    for at, (row, year) in enumerate(titles):
        end = (
            titles[at + 1][0]
            if at + 1 < len(titles)
            else max((s.row for s in steps), default=0) + 1
        )
        below = [(s, y) for s, y in zip(steps, years, strict=True) if row < s.row < end]
        if below and below[0][1] != year:
            found |= {s.row: (row, year) for s, y in below if y != year and not s.year}
    return found
