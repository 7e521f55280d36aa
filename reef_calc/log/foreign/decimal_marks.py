"""Digits with marks between them: what they say if the point, or the comma, is the decimal mark."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

# As large as a double holds without loss is 1e15; no cell of a log needs more.
_LONGEST = 30
_WHOLE = re.compile(r"\d+")
_GROUPS = re.compile(r"\d{1,3}(?:([., '])\d{3})(?:\1\d{3})*")
# Indian: the last group has three digits, those before it two.
_INDIAN = re.compile(r"\d{1,2}([., '])(?:\d{2}\1)+\d{3}")
_MARKS = re.compile(r"[.,]")


@dataclass(frozen=True, slots=True)
class Numeral:
    """A number as it is written.

    Attributes
    ----------
    point, comma : float
        Its value if the point, or the comma, is the decimal mark, in whatever unit the column has; the
        same where it says so itself.
    mark : str
        Decimal mark that it shows; empty where it shows none.
    grouped : str
        Point or comma that parts its thousands beyond doubt; empty where there is none.
    """

    point: float
    comma: float
    mark: str = ""
    grouped: str = ""

    @property
    def clear(self) -> bool:
        """Whether it says the same under both marks."""
        return self.point == self.comma

    def value(self, decimal: str) -> float:
        """Return its value under a decimal mark.

        Parameters
        ----------
        decimal : str
            ``.`` or ``,``.

        Returns
        -------
        float
            In whatever unit its column has.

        Examples
        --------
        >>> numeral_of("1,234").value(".")
        1234.0
        """
        return self.comma if decimal == "," else self.point


def numeral_of(text: str) -> Numeral | None:
    """Return what digits with marks between them say.

    Parameters
    ----------
    text : str
        Digits 0 to 9, points, commas, apostrophes, single blanks, a sign before and an exponent behind.

    Returns
    -------
    Numeral or None
        None where it is no number, or one that is too large to be held.

    Notes
    -----
    One mark with one to three digits before it (no leading zero) and three behind it is undecided;
    everything else decides itself: 0,123 and 12,3456 and 1.234,5 and 1,23,456.

    Examples
    --------
    >>> numeral_of("8,3"), numeral_of("1.234").clear, numeral_of("1.234,5").value(".")
    (Numeral(point=8.3, comma=8.3, mark=',', grouped=''), False, 1234.5)
    >>> numeral_of("1.2.3") is None
    True
    """
    if len(text) > _LONGEST:
        return None
    sign = "-" if text.startswith("-") else ""
    body, _, exponent = text.lstrip("+-").lstrip().lower().partition("e")
    marks = _MARKS.findall(body)
    last = marks[-1] if marks else ""
    if not marks:
        return _made(sign, _together(body), "", exponent)
    whole, _, behind = body.rpartition(last)
    if len(marks) == 1:
        plain = _together(whole)
        if plain is None and whole:
            return None
        if behind and not _WHOLE.fullmatch(behind):
            return None
        plain = plain or "0"
        undecided = (
            len(behind) == 3 and not exponent and 1 <= len(whole) <= 3 and whole.isdigit()
            and not whole.startswith("0")
        )  # fmt: skip
        if undecided:
            decimal, grouped = float(f"{sign}{whole}.{behind}"), float(f"{sign}{whole}{behind}")
            return Numeral(decimal, grouped) if last == "." else Numeral(grouped, decimal)
        if not whole and not behind:
            return None
        return _made(sign, f"{plain}.{behind}", last if behind else "", exponent)
    if marks.count(last) == len(marks):
        together = _together(body)
        return None if together is None or exponent else _made(sign, together, "", "", last)
    other = "," if last == "." else "."
    if marks.count(last) > 1 or (behind and not _WHOLE.fullmatch(behind)):
        return None
    together = _together(whole)
    return None if together is None else _made(sign, f"{together}.{behind}", last, exponent, other)


def _together(whole: str) -> str | None:
    if _WHOLE.fullmatch(whole):
        return whole
    groups = _GROUPS.fullmatch(whole) or _INDIAN.fullmatch(whole)
    return re.sub(r"[., ']", "", whole) if groups and not whole.startswith("0") else None


def _made(
    sign: str, digits: str | None, mark: str, exponent: str, grouped: str = ""
) -> Numeral | None:
    if not digits:
        return None
    value = float(f"{sign}{digits}" + (f"e{exponent}" if exponent else ""))
    lost = value == 0 and any(digit in "123456789" for digit in digits)
    return None if math.isinf(value) or lost else Numeral(value, value, mark, grouped)


def decimal_mark(evidence: Mapping[tuple[str, str], int]) -> tuple[str, bool, bool]:
    """Return the decimal mark of a column, from its cells that show one.

    Parameters
    ----------
    evidence : dict of (str, str) to int
        Of numbers that decide themselves: ``mark`` and ``grouped``, with the number of their cells.

    Returns
    -------
    tuple of (str, bool, bool)
        The mark that more cells show, empty where none or both alike do; whether both occur; whether
        a mark is decimal in some cells and parts thousands in others, which cannot both be meant.

    Examples
    --------
    >>> decimal_mark({(",", ""): 2, (".", ""): 1}), decimal_mark({(".", ","): 2, (",", ""): 1})
    ((',', True, False), ('.', True, True))
    """
    votes = {".": 0, ",": 0}
    for (mark, grouped), cells in evidence.items():
        shown = shown_mark(mark, grouped)
        if shown:
            votes[shown] += cells
    contradict = bool({mark for mark, _ in evidence} & {grouped for _, grouped in evidence} - {""})
    both = votes["."] > 0 and votes[","] > 0
    more = "" if votes["."] == votes[","] else max(votes, key=lambda mark: votes[mark])
    return more, both, contradict


def shown_mark(mark: str, grouped: str) -> str:
    """Return the decimal mark that a number shows, also by what parts its thousands.

    Parameters
    ----------
    mark, grouped : str
        As in ``Numeral``.

    Returns
    -------
    str
        ``.``, ``,`` or empty.

    Examples
    --------
    >>> shown_mark("", "."), shown_mark("", "")
    (',', '')
    """
    if mark or not grouped:
        return mark
    return "," if grouped == "." else "."
