"""Texts reduced to their plain words, so that case, accents, brackets and dots do not matter."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

# Letters that do not come apart into a plain letter and an accent.
_LETTERS = str.maketrans(
    {"ł": "l", "ø": "o", "æ": "ae", "œ": "oe", "ß": "ss", "đ": "d", "μ": "µ", "ı": "i"}
    | {chr(0x2080 + digit): str(digit) for digit in range(10)}
)
_CHARGE = re.compile("[⁰¹²³⁴-⁹⁺⁻]+|(?<=[A-Za-z])(?:[0-9][+\u2212-]|[+])(?![A-Za-z0-9])")
_NO_WORD = re.compile(r"[^0-9a-z%‰µα-ωа-я]+")


@lru_cache(maxsize=8192)
def plain(text: str) -> str:
    """Return the words of a text in small letters, parted by single blanks.

    Parameters
    ----------
    text : str
        Text as written.

    Returns
    -------
    str
        Without accents, charges of ions, brackets, dots, hyphens and underscores.

    Examples
    --------
    >>> plain("Alkalinität_(kit A)"), plain("PO₄-P"), plain("Ca²⁺ [mg]"), plain("Wapń")
    ('alkalinitat kit a', 'po4 p', 'ca mg', 'wapn')
    """
    text = _CHARGE.sub(" ", text).translate(_LETTERS)
    text = unicodedata.normalize("NFD", text).casefold().translate(_LETTERS)
    text = "".join(letter for letter in text if not unicodedata.combining(letter))
    return _NO_WORD.sub(" ", text).strip()


def without(words: str, phrase: str) -> str:
    """Return words without one phrase, where it stands as whole words.

    Parameters
    ----------
    words : str
        Plain words.
    phrase : str
        Plain words to take away, once.

    Returns
    -------
    str
        The rest.

    Examples
    --------
    >>> without("alkalinity kit a", "alkalinity"), without("kit b", "b")
    ('kit a', 'kit')
    """
    return " ".join(f" {words} ".replace(f" {phrase} ", " ", 1).split())


def holds(words: str, phrase: str) -> bool:
    """Return whether a phrase stands among words as whole words.

    Parameters
    ----------
    words, phrase : str
        Plain words.

    Returns
    -------
    bool
        True where it does.

    Examples
    --------
    >>> holds("total alkalinity", "alkalinity"), holds("alk", "al")
    (True, False)
    """
    return f" {phrase} " in f" {words} "
