"""Rows and other things listed in words, short however many there are."""

from __future__ import annotations

from collections.abc import Sequence


def in_words(things: Sequence[str], joint: str = "and") -> str:
    """Return things as a list in words.

    Parameters
    ----------
    things : sequence of str
        At least one thing.
    joint : str, optional
        Word before the last one.

    Returns
    -------
    str
        Commas between all but the last two.

    Examples
    --------
    >>> in_words(["a", "b", "c"]), in_words(["a", "b"], "or"), in_words(["a"])
    ('a, b and c', 'a or b', 'a')
    """
    *first, last = things
    return f"{', '.join(first)} {joint} {last}" if first else last


def rows_in_words(rows: Sequence[int], most: int = 5) -> str:
    """Return rows in words.

    Parameters
    ----------
    rows : sequence of int
        Rows, counted from 1; at least one.
    most : int, optional
        Number of rows that are named before the rest is only counted.

    Returns
    -------
    str
        "row 4", "rows 2 and 3", or the first of them and how many more.

    Examples
    --------
    >>> rows_in_words([4]), rows_in_words([2, 3]), rows_in_words(range(2, 50))
    ('row 4', 'rows 2 and 3', 'rows 2, 3, 4, 5, 6 and 43 more')
    """
    named = [str(row) for row in rows[:most]]
    if len(rows) > most:
        named.append(f"{len(rows) - most} more")
    return f"{'row' if len(rows) == 1 else 'rows'} {in_words(named)}"
