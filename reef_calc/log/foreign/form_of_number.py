"""What a text in a column of numbers can be, before the column decides its decimal mark."""

from __future__ import annotations

from dataclasses import dataclass

from reef_calc.log.foreign.decimal_marks import Numeral
from reef_calc.log.foreign.outcome import Said


@dataclass(frozen=True, slots=True)
class NumberForm:
    """What a text in a column of numbers is.

    Attributes
    ----------
    kind : str
        ``number``, ``<``, ``>``, ``between``; ``empty``, ``missing``, ``not found`` (below a limit that
        is not told), ``too much``; ``unclear`` (to be asked by itself), ``refused``.
    numerals : tuple of Numeral
        Its number, or the ends of an interval.
    unit, remark : str
        As in ``CellNumber``.
    said : Said or None
        What is said of it by itself.
    meant : tuple of (str, str)
        For ``unclear``: what may be meant, as typed, and in words.
    name : str
        Name that stands before the number; it must be that of the column.
    """

    kind: str
    numerals: tuple[Numeral, ...] = ()
    unit: str = ""
    remark: str = ""
    said: Said | None = None
    meant: tuple[tuple[str, str], ...] = ()
    name: str = ""


EMPTY = NumberForm("empty")


def shortened(text: str, most: int = 40) -> str:
    """Return a text that fits into a sentence.

    Parameters
    ----------
    text : str
        Any text.
    most : int, optional
        Number of characters that are kept.

    Returns
    -------
    str
        On one line; cut with an ellipsis.

    Examples
    --------
    >>> shortened("soft" * 20, 10)
    'softsofts…'
    """
    line = " ".join(text[: most * 4].split())
    return line if len(line) <= most and len(text) <= most * 4 else line[: most - 1] + "…"


def refused(text: str, code: str, why: str, repair: str = "") -> NumberForm:
    """Return the form of a text that is no number.

    Parameters
    ----------
    text, code, why : str
        The text, the code of what is said, and what the text is, to stand behind it in a sentence.
    repair : str, optional
        What to do.

    Returns
    -------
    NumberForm
        Refused.

    Examples
    --------
    >>> refused("soft", "NOT_A_NUMBER", "is no number").said.reason
    '“soft” is no number.'
    """
    repair = repair or "Write the number alone, or leave the cell empty."
    return NumberForm("refused", said=Said("refused", code, f"“{shortened(text)}” {why}.", repair))


def unclear(text: str, code: str, why: str, *meant: tuple[str, str]) -> NumberForm:
    """Return the form of a text that has to be asked by itself.

    Parameters
    ----------
    text, code, why : str
        The text, the code of what is said, and why it is unclear, to stand behind it in a sentence.
    *meant : tuple of (str, str)
        What may be meant, as typed, and in words.

    Returns
    -------
    NumberForm
        Unclear; that there is no reading is always among what may be meant.

    Examples
    --------
    >>> unclear("8.3-", "SIGN_BEHIND", "has its minus behind the number").said.reason
    '“8.3-” has its minus behind the number.'
    """
    said = Said("asked", code, f"“{shortened(text)}” {why}.", "Say what was measured.")
    return NumberForm("unclear", said=said, meant=(*meant, ("missing", "there is no reading")))
